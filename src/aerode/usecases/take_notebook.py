"""A table of old notebook lines: each line a run of its own, with whatever was noted and nothing more."""

from __future__ import annotations

import difflib
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from aerode.devices.table_moments import iso, read_moment
from aerode.devices.table_times import date_order
from aerode.devices.tables import is_open, read_table
from aerode.errors import AerodeError, FieldFault, RecordError, TableError, some_of
from aerode.measure.impossible import impossible_current, impossible_voltage
from aerode.records.electrodes import Cell, Electrode
from aerode.records.instruments import Instrument
from aerode.records.runs import Reading, Run, RunPlan, RunSort
from aerode.records.tables import TableColumn, TablePreview, TableRun
from aerode.usecases.bench_headings import field_of_heading
from aerode.usecases.run_conditions import CONDITIONS, condition
from aerode.usecases.run_keeping import unused
from aerode.usecases.table_hints import as_options

if TYPE_CHECKING:
    from pathlib import Path

    from aerode.devices.tables import Column, Table
    from aerode.records.marks import Condition
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.take_table import TableQuestion

__all__ = ["NotebookTaking", "understand_notebook"]

_WHOSE = {
    "electrode",
    "piece",
    "name",
    "build",
    "elektrode",
    "stück",
    "électrode",
    "sample",
    "probe",
}
_NOTE = {"note", "notes", "remark", "remarks", "comment", "bemerkung", "notiz", "remarque"}
_METER = {"meter", "multimeter", "messgerät"}
_CONDITION_WORDS = {
    "salt": "salinity", "salinity": "salinity", "salz": "salinity",
    "temperature": "temperature", "temp": "temperature", "temperatur": "temperature",
    "hours wet": "hours_wet", "wet": "hours_wet", "gap": "gap", "abstand": "gap",
    "age": "electrolyte_age", "electrolyte age": "electrolyte_age",
    "charge before": "charge_before", "aluminium charge": "aluminium_charge",
}  # fmt: skip


@dataclass(slots=True)
class NotebookTaking:
    """Notebook lines that were understood. `take` stores them, all or none."""

    preview: TablePreview
    runs: list[Run]
    file: str

    def close(self) -> None:
        """Nothing waits anywhere."""

    def take(self, bench: BenchFile, *, who: str = "") -> TablePreview:
        """Store every line as a run, in one transaction."""
        bench.put_all(self.runs, why=f"entered from a notebook, {self.file}", who=who)
        return replace(
            self.preview,
            headline=f"Taken: {len(self.runs)} lines of {self.file}, each a run of its own"[:100],
            confirmed=True,
        )


def understand_notebook(
    bench: BenchFile, file: Path, question: TableQuestion, *, checksum: str
) -> NotebookTaking:
    """What a table of old lines is understood as. Nothing is stored.

    Each line names an electrode (unless `question` does) and holds a voltage or a current; the
    resistor, the date and every condition may be missing, and stay not known.

    Parameters
    ----------
    bench : BenchFile
        An open bench with the electrodes.
    file : Path
        The table.
    question : TableQuestion
        What a person says of it.
    checksum : str
        SHA-256 of the file, kept with every run.

    Raises
    ------
    TableError
        It cannot be read, or can be read in two ways.
    RecordError
        Lines that cannot be taken, all of them with their places: nothing is taken in part.
    """
    saying = question.saying(None)
    with as_options():
        table = read_table(
            file, name=file.name, mapping=saying.mapping, units=saying.units, decimal=saying.decimal,
            delimiter=saying.delimiter, dates=saying.dates, encoding=saying.encoding, clock="go on",
        )  # fmt: skip
        lines = _Lines(bench, table, question, checksum)
        runs = lines.runs()
    return NotebookTaking(preview=_preview(lines, runs, checksum), runs=runs, file=file.name)


class _Lines:
    """The lines of one table on their way to runs."""

    def __init__(
        self, bench: BenchFile, table: Table, question: TableQuestion, checksum: str
    ) -> None:
        self.table = table
        self.question = question
        self.checksum = checksum
        self.electrodes = bench.names(Electrode)
        self.resistors = set(bench.names(Instrument))
        self.cells = {cell.electrode: cell.name for cell in bench.all(Cell)}
        self.before = {run.name: run for run in bench.all(Run)}
        self.taken = set(self.before)
        self.faults: list[FieldFault] = []
        self.whose = self._named(_WHOSE)
        self.voltage, self.current = table.find("voltage"), table.find("current")
        self.load = table.find("resistance") or self._named({"load", "last", "charge", "resistor"})
        self.time = table.find("time")
        self.notes = [c for c in table.columns if c.heading.casefold().strip() in _NOTE]
        self.meter = self._named(_METER)
        self.conditions = self._condition_columns()
        self.order = (
            date_order(self.time.raw, told=question.dates, where=table.name) if self.time else ""
        )
        if self.voltage is None and self.current is None:
            table.column("voltage")  # refuses, and says which columns there are

    def _named(self, words: set[str]) -> Column | None:
        return next(
            (c for c in self.table.columns if c.heading.casefold().strip(" :") in words and not c.role),
            None,
        )  # fmt: skip

    def _condition_columns(self) -> dict[str, tuple[Column, str]]:
        """Condition of a run → its column, and the unit in its heading."""
        found: dict[str, tuple[Column, str]] = {}
        for column in self.table.columns:
            named = field_of_heading(Run, column.heading)
            word = column.heading.casefold().split("(")[0].split("[")[0].strip()
            name = str(named[0][0]) if named else _CONDITION_WORDS.get(word, "")
            unit = named[1] if named else column.unit
            if name in CONDITIONS:
                found.setdefault(name, (column, unit or _bracket(column.heading)))
        return found

    def runs(self) -> list[Run]:
        """One run for each line.

        Raises
        ------
        RecordError
            With every line that cannot be taken.
        """
        for refused in self.table.refused:
            if self.load and refused.column == self.load.heading and refused.raw in self.resistors:
                continue  # the name of a resistor among numbers of ohms
            self.faults.append(FieldFault(refused.where, refused.why, refused.allowed, refused.raw))
        runs = [run for row in range(len(self.table.lines)) if (run := self._run(row)) is not None]
        if self.faults:
            raise _refusal(self.table.name, self.faults)
        return runs

    def words(self) -> dict[int, str]:
        """Place of a column → what it is in a line, where its heading is no quantity."""
        found = {c.place: name for name, (c, _) in self.conditions.items()}
        named = {"electrode": self.whose, "meter": self.meter, "resistance": self.load}
        found |= {c.place: word for word, c in named.items() if c is not None}
        return found | {c.place: "note" for c in self.notes}

    def _place(self, row: int) -> str:
        return f"{self.table.name}, line {self.table.lines[row]}"

    def _run(self, row: int) -> Run | None:
        reading = self._reading(row)
        electrode = self._electrode(row)
        day = self._day(row)
        conditions = self._conditions(row)
        if reading is None or electrode is None or day is None:
            return None
        name = unused(f"{electrode} retro {day}".strip(), self.taken)
        run = Run(
            name=name,
            cell=self.cells.get(electrode, ""),
            electrode=electrode,
            sort=RunSort.SHORT_CIRCUIT if reading.voltage is None else RunSort.LOADS,
            plan=RunPlan.RETRO,
            session=day[:10],
            started=day,
            readings=(reading,),
            meter=(self.meter.raw[row] if self.meter else "") or self.question.meter,
            wait_rule="not known: from a notebook",
            finished=True,
            note="; ".join(t for t in (*(c.raw[row] for c in self.notes), self.question.note, f"SHA-256 {self.checksum}") if t),
        )  # fmt: skip
        self.taken.add(name)
        return replace(run, **{**dict(self.question.conditions), **conditions})

    def _electrode(self, row: int) -> str | None:
        typed = self.whose.raw[row] if self.whose else ""
        name = typed or self.question.electrode
        if name in self.electrodes:
            return name
        near = difflib.get_close_matches(name, self.electrodes, n=3, cutoff=0.4)
        what = f"no electrode is called {name!r}" if name else "it names no electrode"
        allowed = " or ".join(near) or some_of(self.electrodes, 8) or "an electrode of this bench"
        self.faults.append(FieldFault(self._place(row), what, allowed, name))
        return None

    def _day(self, row: int) -> str | None:
        """The date of the line, "" where none was noted."""
        cell = self.time.raw[row] if self.time else ""
        if not cell.strip(" -?"):
            return ""
        moment = read_moment(cell, self.order)
        if moment is None or not moment.dated:
            self.faults.append(FieldFault(self._place(row), f"{cell!r} is no date", "2025-03-12", cell))  # fmt: skip
            return None
        text = iso(moment.micros, moment.zone)
        return text[:10] if text[11:] == "00:00:00" else text

    def _reading(self, row: int) -> Reading | None:
        volts = self.voltage.values[row] if self.voltage else None
        amps = self.current.values[row] if self.current else None
        if volts is None and amps is None:
            refused = {r.line for r in self.table.refused}
            if self.table.lines[row] not in refused:
                self.faults.append(FieldFault(self._place(row), "it holds no reading", "a voltage or a current"))  # fmt: skip
            return None
        load, resistance = self._load(row)
        doubt = ""
        if volts is not None and load != "open":
            doubt = impossible_voltage(volts)
        elif amps is not None:
            doubt = impossible_current(amps)
        text = "; ".join(c.raw[row] for c in self.table.columns if c.raw[row])
        return Reading(
            load=load, resistance=resistance, voltage=volts, current=amps, text=text, doubt=doubt
        )

    def _load(self, row: int) -> tuple[str, float | None]:
        if self.load is None:
            return "", None
        cell = self.load.raw[row]
        if is_open(cell):
            return "open", None
        if self.load.role and cell not in self.resistors:
            return "", self.load.values[row]
        if cell and cell not in self.resistors:
            near = difflib.get_close_matches(cell, sorted(self.resistors), n=3, cutoff=0.4)
            self.faults.append(FieldFault(self._place(row), f"no resistor is called {cell!r}", " or ".join(near) or "a resistor of this bench, or a number of ohms", cell))  # fmt: skip
        return cell, None

    def _conditions(self, row: int) -> dict[str, Condition]:
        """What was noted; what was not stays free to differ, which is the truth of old lines."""
        found: dict[str, Condition] = {}
        for name, (column, unit) in self.conditions.items():
            cell = column.raw[row].strip()
            if not cell.strip("-?"):
                continue
            target, _ = CONDITIONS[name]
            has_unit = cell[-1].isalpha() or cell[-1] in "%°"
            text = cell if has_unit or not unit else f"{cell} {unit}"
            try:
                found[name] = condition(
                    text, target, f"{self._place(row)}, {column.heading!r}", old=True
                )
            except AerodeError as error:
                self.faults.append(FieldFault(self._place(row), f"{column.heading}: {error.what}", error.allowed, cell))  # fmt: skip
        return found


def _bracket(heading: str) -> str:
    head, opened, rest = heading.replace("[", "(").replace("]", ")").partition("(")
    return rest.partition(")")[0].strip() if opened and head else ""


def _refusal(name: str, faults: list[FieldFault]) -> RecordError:
    count = (
        "one place cannot be taken" if len(faults) == 1 else f"{len(faults)} places cannot be taken"
    )
    listed = [
        f"  {f.field}: {f.what}" + (f" (allowed: {f.allowed})" if f.allowed else "") for f in faults
    ]
    error = RecordError(
        "\n".join([f"{count}; nothing was stored", *listed]), tuple(faults), where=name,
        next_step="mend the named lines and take the file again",
    )  # fmt: skip
    error.allowed = ""  # it stands behind each fault already
    return error


def _preview(lines: _Lines, runs: list[Run], checksum: str) -> TablePreview:
    table = lines.table
    words = lines.words()
    columns = tuple(
        TableColumn(
            heading=c.heading, place=c.place, quantity=c.role or words.get(c.place, ""),
            unit=c.unit if c.role else "", si=c.si,
            of="each line" if c.role in {"voltage", "current"} else "",
            taken=sum(1 for cell in c.raw if cell), missing=sum(1 for cell in c.raw if not cell),
        )
        for c in table.columns if c.heading
    )  # fmt: skip
    shown = tuple(
        TableRun(
            run=run.name, electrode=run.electrode, sort=str(run.sort), started=run.started,
            readings=len(run.readings), doubt=run.readings[0].doubt,
        )
        for run in runs
    )  # fmt: skip
    if not runs:
        raise TableError(
            "there is no line in it", where=table.name, allowed="a line for each reading"
        )
    return TablePreview(
        headline=f"{table.name}: {len(runs)} old lines understood; nothing is stored yet"[:100],
        file=table.name,
        checksum=checksum,
        rows=len(runs),
        rows_refused=0,
        cells_refused=0,
        columns=columns,
        runs=shown,
        understood=tuple(s for s in table.understood if "backwards" not in s),
    )
