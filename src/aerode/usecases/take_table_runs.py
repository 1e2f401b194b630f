"""What becomes of the tables of a file: runs with readings, or runs with a series."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import timedelta
from typing import TYPE_CHECKING, Any

from aerode import units
from aerode.devices.table_blocks import read_tables
from aerode.errors import RecordError, TableError
from aerode.measure.impossible import impossible_voltage
from aerode.records import adapter
from aerode.records.electrodes import Cell
from aerode.records.instruments import Instrument
from aerode.records.runs import Reading, Run, RunSort
from aerode.records.tables import TableColumn, TableRefusal, TableRun
from aerode.store.series_spool import SeriesSpool
from aerode.usecases.bench_readings import readings_of
from aerode.usecases.dates import read_date
from aerode.usecases.run_instruments import usual_meter
from aerode.usecases.run_keeping import unused
from aerode.usecases.take_table_whose import OWN, shares, told_owners

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime
    from pathlib import Path

    from aerode.devices.tables import Column, Saying, Table
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.take_table import TableQuestion

__all__ = ["MOST_READINGS", "Plan", "PlannedRun", "Runs", "planned_tables"]

MOST_READINGS = 500
"""So many rows at most become readings of the run; more are kept as its series."""
_SHOWN = 50


@dataclass(slots=True)
class PlannedRun:
    """A run as it will be stored, the rows of its series where it has one, and how it is shown."""

    run: Run
    shown: TableRun
    spool: SeriesSpool | None = None


@dataclass(slots=True)
class Plan:
    """Everything that would be stored of a file, and everything that would not."""

    rows: int = 0
    rows_refused: int = 0
    cells_refused: int = 0
    columns: tuple[TableColumn, ...] = ()
    refused: tuple[TableRefusal, ...] = ()
    refused_for: dict[str, int] = field(default_factory=dict[str, int])
    understood: tuple[str, ...] = ()
    runs: list[PlannedRun] = field(default_factory=list[PlannedRun])
    undated: bool = False
    """Whether a run of it has no date, neither from the file nor from the person."""

    def refuse(self, line: int, column: str, raw: str, why: str) -> None:
        """Note what is left out."""
        if column:
            self.cells_refused += 1
        else:
            self.rows_refused += 1
        self.refused_for[why] = self.refused_for.get(why, 0) + 1
        if len(self.refused) < _SHOWN:
            self.refused = (*self.refused, TableRefusal(line=line, column=column, raw=raw, why=why))


class Runs:
    """Makes the runs of one file: names, conditions, meter and load are the same for all of them."""

    def __init__(self, bench: BenchFile, question: TableQuestion, moment: datetime) -> None:
        self.bench = bench
        self.question = question
        self.moment = moment
        self.begun = read_date(question.begun, field="begun").iso
        self.undated = False
        self.instruments = {part.name for part in bench.all(Instrument)}
        self._names = {run.name for run in bench.all(Run)}
        self._load, self._resistance = self._constant_load(question.load)

    def _constant_load(self, text: str) -> tuple[str, float | None]:
        if not text:
            return "", None
        if text in self.instruments or text == "open":
            return text, None
        return "", units.read(text, "ohm", field="--load").value

    def at_load(self) -> dict[str, Any]:
        """The load that was on all the time, as fields of a reading."""
        if self._load:
            return {"load": self._load}
        return {} if self._resistance is None else {"resistance": self._resistance}

    def run(self, electrode: str, sort: RunSort, started: str, lasted: float | None = None) -> Run:
        """A run without its readings. One that brings no date cannot end after today."""
        started = started or self.begun
        self.undated = self.undated or not started
        ended_now = self.moment - timedelta(seconds=lasted or 0.0)
        day = started[:10] or ended_now.date().isoformat()
        word = "loads" if sort is RunSort.LOADS else "log"
        name = unused(f"{electrode} {word} {day}", self._names)
        self._names.add(name)
        cells = [cell.name for cell in self.bench.all(Cell) if cell.electrode == electrode]
        run = Run(
            name=name,
            cell=cells[-1] if cells else "",
            electrode=electrode,
            sort=sort,
            session=day,
            control=self.question.control,
            meter=self.question.meter or usual_meter(self.bench),
            started=started or day,
            finished=True,
            note=self.question.note,
        )
        return replace(run, **dict(self.question.conditions))

    def load_said(self) -> str:
        """The load for the note of a run whose rows are a series."""
        if self._load:
            return f"load {self._load}"
        return "" if self._resistance is None else f"load {self._resistance:g} ohm"


def planned_tables(
    bench: BenchFile, file: Path, question: TableQuestion, saying: Saying, *, moment: datetime
) -> Plan:
    """The runs of a file of moderate size: every habit, several series, blocks and channels.

    Raises
    ------
    TableError, InputError
        It cannot be taken, or needs a word more.
    """
    from aerode.usecases.take_table import pairs

    tables = read_tables(file, name=file.name, saying=saying)
    told = told_owners(bench, pairs(question.of, "of", "T6=CH1 (mV)"), question.electrode)
    runs = Runs(bench, question, moment)
    plan = Plan()
    merged = _by_channel(tables)
    for table in tables:
        for refused in table.refused:
            plan.refuse(refused.line, refused.column, refused.raw, refused.why)
        plan.rows += len(table.lines)
        plan.understood += tuple(s for s in table.understood if s not in plan.understood)
    try:
        for table in merged:
            owners = shares(bench, table.columns, table.part, told, question.electrode, file.name)
            owned = {place: owner for owner, places in owners.items() for place in places}
            plan.columns += tuple(_shown_column(c, owned.get(n, "")) for n, c in enumerate(table.columns) if c.heading or c.role)  # fmt: skip
            for electrode, places in owners.items():
                own = replace(table, columns=tuple(table.columns[place] for place in places) + _words(table))  # fmt: skip
                plan.runs.append(_planned(runs, own, electrode, plan))
        if not plan.runs:
            tables[0].column("voltage")  # refuses, and says which columns there are
    except BaseException:
        for planned in plan.runs:
            if planned.spool is not None:
                planned.spool.close()
        raise
    plan.undated = runs.undated
    return plan


def _words(table: Table) -> tuple[Column, ...]:
    return tuple(column for column in table.columns if not column.role)


def _by_channel(tables: list[Table]) -> list[Table]:
    """Channels of one quantity each, read at the same moments, side by side again: U and T of a cell."""
    first = tables[0]
    times = [table.find("time") for table in tables]
    roles = [{c.role for c in table.columns} - {"", "time"} for table in tables]
    alike = all(
        t is not None and times[0] is not None and t.values == times[0].values for t in times
    )
    if len(tables) < 2 or not alike or len(set[str]().union(*roles)) != sum(map(len, roles)):
        return tables
    others = [c for table in tables[1:] for c in table.columns if c.role and c.role != "time"]
    return [replace(first, part="", columns=(*first.columns, *others))]


def _shown_column(column: Column, owner: str) -> TableColumn:
    numbers = [value for value in column.values if value is not None]
    known = bool(column.role)
    return TableColumn(
        heading=column.heading,
        place=column.place,
        quantity=column.role,
        unit=column.unit if known else "",
        si=column.si,
        of=owner if column.role in OWN else "",
        taken=len(numbers) if known else 0,
        missing=len(column.values) - len(numbers) if known else 0,
        low=min(numbers) if numbers and known else None,
        high=max(numbers) if numbers and known else None,
    )


def _planned(runs: Runs, table: Table, electrode: str, plan: Plan) -> PlannedRun:
    time = table.find("time")
    loads = table.find("resistance") is not None or any(
        c.heading.casefold().strip() == "load" for c in table.columns
    )
    if len(table.lines) > MOST_READINGS:
        if time is None:
            raise TableError(
                f"{len(table.lines)} rows without a time are no log and too many for a run of load steps",
                where=table.name,
                allowed=f"a column of the time, or up to {MOST_READINGS} rows",
                next_step='say which column is the time: column "time=HEADING"',
            )
        return _logged(runs, table, electrode, time, plan)
    sort = RunSort.LOADS if loads or time is None else RunSort.RUN_DOWN
    run = runs.run(electrode, sort, table.started, _duration(time))
    readings = _readings(runs, table, plan)
    return PlannedRun(
        run=replace(run, readings=tuple(readings)),
        shown=TableRun(
            run=run.name, electrode=electrode, part=table.part, sort=str(sort), started=run.started,
            readings=len(readings), duration=_duration(time),
            doubt=next((r.doubt for r in readings if r.doubt), ""),
        ),
    )  # fmt: skip


def _readings(runs: Runs, table: Table, plan: Plan) -> list[Reading]:
    """The readings of a table; what cannot be one is left out by name."""
    taken = readings_of(table, table.name)
    for fault in taken.faults[len(table.refused) :]:
        plan.refuse(0, fault.field, fault.raw, fault.what)
    found: list[Reading] = []
    for line, plain in zip(taken.lines, taken.plain, strict=True):
        if not plain.keys() & {"voltage", "current"}:
            continue
        load = plain.get("load", "")
        if load and load != "open" and load not in runs.instruments:
            plan.refuse(line, "", str(load), f"no resistor of the bench is called {load!r}")
            continue
        try:
            reading = adapter.read(Reading, {**runs.at_load(), **plain})
        except RecordError as error:
            plan.refuse(line, "", plain.get("text", ""), error.faults[0].what)
            continue
        doubt = ""
        if reading.voltage is not None and reading.load != "open":
            doubt = impossible_voltage(reading.voltage)
        found.append(replace(reading, doubt=reading.doubt or doubt))
    return found


def _logged(runs: Runs, table: Table, electrode: str, time: Column, plan: Plan) -> PlannedRun:
    """The rows of a long table as the series of a run; rows without a time in order are left out."""
    kept: list[int] = []
    last = float("-inf")
    for row, at in enumerate(time.values):
        if at is not None and at >= last:
            kept.append(row)
            last = at
        elif at is not None:
            plan.refuse(table.lines[row], time.heading, time.raw[row], "the clock has gone backwards here")  # fmt: skip
    spool = SeriesSpool()
    columns: Mapping[str, Sequence[float | None]] = {
        "time": [time.values[row] for row in kept],
        **{
            c.role: [c.values[row] for row in kept]
            for c in table.columns
            if c.role and c is not time
        },
    }
    spool.add(columns)
    volts = [v for v in columns.get("voltage", ()) if v is not None]
    return logged_run(
        runs, electrode, spool, part=table.part, started=table.started,
        duration=_duration(time), highest=max(volts, default=None),
    )  # fmt: skip


def logged_run(
    runs: Runs, electrode: str, spool: SeriesSpool, *, part: str, started: str,
    duration: float | None, highest: float | None,
) -> PlannedRun:  # fmt: skip
    """A run whose rows are a series of the same name."""
    run = runs.run(electrode, RunSort.RUN_DOWN, started, duration)
    said = "; ".join(text for text in (run.note, runs.load_said()) if text)
    return PlannedRun(
        run=replace(run, note=said),
        shown=TableRun(
            run=run.name, electrode=electrode, part=part, sort=str(run.sort), started=run.started,
            series=run.name, rows=spool.rows, duration=duration,
            doubt=impossible_voltage(highest) if highest is not None and highest > 0 else "",
        ),
        spool=spool,
    )  # fmt: skip


def _duration(time: Column | None) -> float | None:
    there = [at for at in time.values if at is not None] if time else []
    return max(there) - min(there) if there else None
