"""A long log: read once as a stream into waiting chunks, in flat memory, before anybody has confirmed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.devices.table_log import LogReader
from aerode.records.tables import TableColumn, TableRefusal
from aerode.store.series_spool import SeriesSpool
from aerode.usecases.take_table_runs import Plan, Runs, logged_run
from aerode.usecases.take_table_whose import OWN, shares, told_owners

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime
    from pathlib import Path

    from aerode.devices.tables import Saying
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.take_table import TableQuestion

__all__ = ["planned_log"]

_SHOWN = 50


def planned_log(
    bench: BenchFile,
    file: Path,
    question: TableQuestion,
    saying: Saying,
    *,
    moment: datetime,
    progress: Callable[[float], None],
) -> Plan:
    """The runs of a long log, one for each electrode, with their rows waiting in packed chunks.

    Raises
    ------
    TableError, InputError
        It cannot be taken, or needs a word more.
    """
    from aerode.usecases.take_table import pairs

    reader = LogReader(file, saying, progress=progress)
    told = told_owners(bench, pairs(question.of, "of", "T6=CH1 (mV)"), question.electrode)
    owners = shares(bench, reader.columns, "", told, question.electrode, file.name)
    if not owners:
        reader.head.column("voltage")  # refuses, and says which columns there are
    spools = {electrode: SeriesSpool() for electrode in owners}
    try:
        for block in reader.blocks():
            for electrode, places in owners.items():
                names = {reader.columns[p].role: reader.columns[p].name for p in places}
                rows = {role: block.columns[name] for role, name in names.items()}
                spools[electrode].add({"time": block.columns["time"], **rows})
    except BaseException:
        for spool in spools.values():
            spool.close()
        raise
    runs = Runs(bench, question, moment)
    plan = _plan(reader, {p: owner for owner, places in owners.items() for p in places})
    for electrode, spool in spools.items():
        volts = [
            reader.columns[p] for p in owners[electrode] if reader.columns[p].role == "voltage"
        ]
        plan.runs.append(
            logged_run(
                runs, electrode, spool, part="", started=reader.head.started,
                duration=reader.duration, highest=volts[0].high if volts else None,
            )
        )  # fmt: skip
    plan.undated = runs.undated
    return plan


def _plan(reader: LogReader, owned: dict[int, str]) -> Plan:
    cells = sum(n for (column, _), n in reader.counted.items() if column)
    by_why: dict[str, int] = {}
    for (_, why), count in reader.counted.items():
        by_why[why] = by_why.get(why, 0) + count
    time = next(c for c in reader.head.columns if c.role == "time")
    columns = [
        TableColumn(
            heading=time.heading, place=time.place, quantity="time", unit=time.unit, si="s",
            taken=reader.rows, low=0.0, high=reader.duration,
        )
    ]  # fmt: skip
    for place, column in enumerate(reader.columns):
        there = reader.rows > column.missing
        head = next(c for c in reader.head.columns if c.place == column.place + 1)
        columns.append(
            TableColumn(
                heading=column.heading, place=column.place + 1, quantity=column.role, unit=head.unit,
                si=head.si, of=owned.get(place, "") if column.role in OWN else "", taken=reader.rows - column.missing,
                missing=column.missing, low=column.low if there else None,
                high=column.high if there else None,
            )
        )  # fmt: skip
    left = [c for c in reader.head.columns if not c.role and c.heading]
    columns += [TableColumn(heading=c.heading, place=c.place, quantity="") for c in left]
    said = [s for s in reader.head.understood if "midnight" not in s and "backwards" not in s]
    if reader.midnights:
        said.append(f"the time passes midnight {reader.midnights} times")
    if reader.restarts:
        said.append(f"the clock goes backwards {reader.restarts} times: the run goes on with the step it had")  # fmt: skip
    return Plan(
        rows=reader.rows,
        rows_refused=reader.rows_refused,
        cells_refused=cells,
        columns=tuple(columns),
        refused=tuple(
            TableRefusal(line=r.line, column=r.column, raw=r.raw, why=r.why)
            for r in reader.refused[:_SHOWN]
        ),
        refused_for=by_why,
        understood=tuple(said),
    )
