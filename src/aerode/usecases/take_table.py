"""A table of readings or a long log from a file: what is understood is shown, and taken once confirmed."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING

from aerode.devices.table_blocks import headings_of
from aerode.devices.tables import Saying
from aerode.errors import InputError, TableError, some_of
from aerode.records.runs import Run
from aerode.records.tables import TableHabit, TablePreview
from aerode.store.series import put_logged
from aerode.store.series_habits import habits, remember
from aerode.usecases.table_hints import as_options
from aerode.usecases.take_table_log import planned_log
from aerode.usecases.take_table_runs import planned_tables

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from datetime import datetime

    from aerode.records.marks import Condition
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.take_table_runs import Plan, PlannedRun

__all__ = ["TableQuestion", "TableTaking", "new_checksum", "pairs", "understand_table"]

LONG = 2 * 1024 * 1024
"""A file from this size on is read as a stream [bytes]."""


@dataclass(frozen=True, slots=True)
class TableQuestion:
    """What a person says of a table. Everything is as typed, and "" where nothing is said.

    `of` holds "T6=CH1 (mV)": the electrode, and the heading, channel or block that is its; `columns`
    holds "voltage=U cell", `units` "voltage=mV". `load` is a resistor of the bench, or its value.
    """

    electrode: str = ""
    of: tuple[str, ...] = ()
    columns: tuple[str, ...] = ()
    units: tuple[str, ...] = ()
    decimal: str = ""
    dates: str = ""
    clock: str = ""
    delimiter: str = ""
    encoding: str = ""
    load: str = ""
    meter: str = ""
    note: str = ""
    source: str = ""
    begun: str = ""
    """When it began, as typed, where the file brings no date."""
    control: bool = False
    conditions: Mapping[str, Condition] = field(default_factory=dict[str, "Condition"])

    def saying(self, habit: TableHabit | None) -> Saying:
        """What goes to the reader: what is said now goes before what was said the last time."""
        before = habit or TableHabit(headings=())
        columns = {**before.columns, **pairs(self.columns, "column", "voltage=U cell")}
        return Saying(
            mapping={role: int(at) if at.isdigit() else at for role, at in columns.items()},
            units={**before.units, **pairs(self.units, "unit", "voltage=mV")},
            decimal=self.decimal or before.decimal,
            delimiter=self.delimiter or before.delimiter,
            encoding=self.encoding or before.encoding,
            dates=self.dates or before.dates,
            clock=self.clock or before.clock,
        )


def pairs(texts: Sequence[str], option: str, example: str) -> dict[str, str]:
    """ "voltage=mV" as quantity → word.

    Raises
    ------
    InputError
        Without its equals sign.
    """
    found: dict[str, str] = {}
    for text in texts:
        what, equals, said = text.partition("=")
        if not equals or not what.strip() or not said.strip():
            raise InputError(
                f"{text!r} does not say what is what",
                where=f"--{option}",
                allowed=f'something like "{example}"',
                next_step="write the word, an equals sign, and what it is",
            )
        found[what.strip().replace(" ", "_") if option != "of" else what.strip()] = said.strip()
    return found


@dataclass(slots=True)
class TableTaking:
    """A table that was understood. `take` stores it; `close` lets go of it."""

    preview: TablePreview
    runs: list[PlannedRun]
    habit: TableHabit
    file: str
    undated: bool = False
    """Whether neither the file nor the person says when it began."""

    def close(self) -> None:
        """Let go of rows that wait to be confirmed."""
        for run in self.runs:
            if run.spool is not None:
                run.spool.close()

    def take(self, bench: BenchFile, *, who: str = "") -> TablePreview:
        """Store every run, with its readings or its log, in one transaction; and the habit.

        Returns
        -------
        TablePreview
            The same as was shown, now confirmed.

        Raises
        ------
        StoreError
            Nothing was stored.
        """
        put_logged(
            bench,
            [run.run for run in self.runs],
            {run.run.name: run.spool.chunks() for run in self.runs if run.spool is not None},
            why=f"taken from {self.file}",
            who=who,
        )
        if self.habit.headings:
            remember(bench, self.habit)
        names = some_of((run.run.name for run in self.runs), 3)
        return replace(
            self.preview,
            headline=f"Taken: {self.preview.rows} rows of {self.file} as {names}"[:100],
            confirmed=True,
        )


def understand_table(
    bench: BenchFile,
    file: Path,
    question: TableQuestion,
    *,
    moment: datetime,
    progress: Callable[[float], None] = lambda share: None,
) -> TableTaking:
    """What a file of readings is understood as. Nothing is stored.

    Parameters
    ----------
    bench : BenchFile
        An open bench with the electrodes.
    file : Path
        A text table of any habit; a long one is read as a stream.
    question : TableQuestion
        What a person says of it.
    moment : datetime
        Now; the day of runs that bring no date.
    progress : callable
        Told the share that is read.

    Returns
    -------
    TableTaking
        With the preview to be shown, and the way to take it.

    Raises
    ------
    TableError
        It cannot be read, or can be read in two ways; the option that ends the doubt is named.
    InputError
        Whose run it is is not told; or the same file was taken before.
    NotFoundError
        No such electrode.
    """
    checksum = new_checksum(bench, file)
    headings = _headings(file, question)
    habit = _habit(bench, headings, question)
    saying = question.saying(habit)
    with as_options():
        if file.stat().st_size > LONG:
            plan = planned_log(bench, file, question, saying, moment=moment, progress=progress)
        else:
            plan = planned_tables(bench, file, question, saying, moment=moment)
    note = f"from {file.name}, SHA-256 {checksum}"
    runs = [
        replace(one, run=replace(one.run, note=f"{one.run.note}; {note}" if one.run.note else note))
        for one in plan.runs
    ]
    return TableTaking(
        preview=_preview(file, checksum, plan, habit), runs=runs, file=file.name,
        habit=_habit_of(headings, question, saying, moment), undated=plan.undated,
    )  # fmt: skip


def new_checksum(bench: BenchFile, file: Path) -> str:
    """The SHA-256 of a file that was not taken before.

    Raises
    ------
    TableError
        It cannot be read.
    InputError
        It was taken before; the runs are named.
    """
    checksum = _checksum(file)
    known = [run.name for run in bench.all(Run) if checksum in run.note]
    if known:
        raise InputError(
            f"this file was taken before, as {some_of(known, 4)}",
            where=file.name,
            next_step=f'look at it: aerode bench show run "{known[0]}"',
        )
    return checksum


def _checksum(file: Path) -> str:
    try:
        with file.open("rb") as content:
            return hashlib.file_digest(content, "sha256").hexdigest()
    except OSError as problem:
        raise TableError(
            f"it cannot be read: {problem.strerror or problem}",
            where=str(file),
            next_step="name a file that is there and may be read",
        ) from problem


def _headings(file: Path, question: TableQuestion) -> tuple[str, ...]:
    """The headings as they stand in the file, whatever they mean."""
    with file.open("rb") as content:
        head = content.read(64 * 1024)
    end = max(head.rfind(b"\n"), head.rfind(b"\r"))
    return headings_of(head[: end + 1] or head, name=file.name, saying=question.saying(None))


def _habit(
    bench: BenchFile, headings: tuple[str, ...], question: TableQuestion
) -> TableHabit | None:
    """The newest habit with these headings."""
    return next(
        (
            habit
            for habit in habits(bench)
            if headings and habit.headings == headings and question.source in {"", habit.source}
        ),
        None,
    )


def _habit_of(
    headings: tuple[str, ...], question: TableQuestion, saying: Saying, moment: datetime
) -> TableHabit:
    return TableHabit(
        headings=headings,
        source=question.source or question.meter,
        columns={role: str(at) for role, at in saying.mapping.items()},
        units=dict(saying.units),
        decimal=saying.decimal,
        dates=saying.dates,
        clock=saying.clock,
        delimiter=saying.delimiter,
        encoding=saying.encoding,
        said=moment.date().isoformat(),
    )


def _preview(file: Path, checksum: str, plan: Plan, habit: TableHabit | None) -> TablePreview:
    refused = plan.rows_refused
    cells = plan.cells_refused
    taken = f"{plan.rows} rows understood"
    lost = f"{refused} rows and {cells} cells refused" if refused or cells else "none refused"
    remembered = ""
    if habit is not None:
        remembered = f"{habit.source or 'a file with the same headings'}, {habit.said}"
    return TablePreview(
        headline=f"{file.name}: {taken}, {lost}; nothing is stored yet"[:100],
        file=file.name,
        checksum=checksum,
        rows=plan.rows,
        rows_refused=refused,
        cells_refused=cells,
        columns=plan.columns,
        runs=tuple(run.shown for run in plan.runs),
        refused=plan.refused,
        refused_for=plan.refused_for,
        understood=plan.understood,
        remembered=remembered,
    )
