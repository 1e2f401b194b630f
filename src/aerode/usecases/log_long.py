"""A log that a program posts for hours: one load, many rows, kept as the series of its run."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode import units
from aerode.errors import ConflictError, FieldFault, NotFoundError, RecordError
from aerode.measure.impossible import impossible_voltage
from aerode.records.instruments import Instrument
from aerode.records.logs import LogAnswer
from aerode.records.runs import Run, RunSort
from aerode.store.series_tail import at_the_end, pack_waiting, rows_of

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from aerode.store.bench_file import BenchFile
    from aerode.store.series_tail import LogEnd, Row
    from aerode.usecases.take_posted import PostedReading
    from aerode.usecases.take_readings import RunAtBench

__all__ = [
    "close_log",
    "is_log",
    "load_note",
    "load_of",
    "log_stands",
    "rows_logged",
    "take_logged",
]

_LOAD = "load "


def is_log(run: Run) -> bool:
    """Whether the rows of a run are a series that may still grow, and no readings."""
    return run.sort is RunSort.RUN_DOWN and not run.readings


def load_note(bench: BenchFile, text: str) -> str:
    """What is noted of the load that is on all the time: a resistor of the bench, or its value.

    Parameters
    ----------
    bench : BenchFile
        Open.
    text : str
        "15 ohm", the name of a resistor, "open" for none.

    Raises
    ------
    UnitError
        It is no resistance.
    """
    if text in {"open", "none", "no load"}:
        return f"{_LOAD}open"
    if bench.find(Instrument, text) is not None:
        return f"{_LOAD}{text}"
    return f"{_LOAD}{units.read(text, 'ohm', bare=('ohm',), field='load').value:g} ohm"


def load_of(run: Run) -> str:
    """The load that was on, as it stands in the note of the run; "" where it was not said."""
    parts = (part.strip() for part in run.note.split(";"))
    return next((p.removeprefix(_LOAD) for p in parts if p.startswith(_LOAD)), "")


def rows_logged(bench: BenchFile, run: Run) -> tuple[int, float | None]:
    """How many rows the log of a run holds by now, and the moment of the newest one [s]."""
    try:
        return rows_of(bench, run.name) if is_log(run) else (0, None)
    except NotFoundError:
        return 0, None


def log_stands(bench: BenchFile, run: Run) -> LogAnswer:
    """Where a log stands: how many rows, over what time."""
    count, last = rows_logged(bench, run)
    if not count:
        said = f"{run.name} waits for its first reading"
    else:
        over = units.write(last or 0.0, "s", to="h", digits=3) if (last or 0.0) > 7200 else f"{last or 0.0:.0f} s"  # fmt: skip
        said = f"{run.name}: {count:,} reading{'' if count == 1 else 's'} over {over}"
    closed = "; closed" if run.finished else ""
    return LogAnswer(headline=f"{said}{closed}.", run=run.name, finished=run.finished)


def take_logged(
    at: RunAtBench, posted: Sequence[PostedReading], *, stored: Callable[[int], object]
) -> LogAnswer:
    """Take rows in the order they were sent: all of them, on disk when this answers, or none.

    Parameters
    ----------
    at : RunAtBench
        A run-down that is open.
    posted : sequence of PostedReading
        Without `waited` the moment is that of our own clock. A row that was sent already and still
        waits to be packed is passed over.
    stored : callable
        Told how many of them are on disk by now.

    Returns
    -------
    LogAnswer

    Raises
    ------
    RecordError
        Some cannot be taken: each is named, nothing is stored.
    ConflictError
        The sender believes another load to be on.
    """
    load = load_of(at.run)
    other = next((one.load for one in posted if one.load is not None and one.load != load), None)
    if other is not None:
        raise ConflictError(
            f"{load or 'no load that was said'} is on in this run, not {other or 'an ammeter'}",
            where=at.run.name, next_step="leave the load out, or begin another run-down",
        )  # fmt: skip
    with at_the_end(at.bench, at.run.name) as end:
        end.add(_rows(at, end, posted))
    stored(len(posted))
    return log_stands(at.bench, at.run)


def _rows(at: RunAtBench, end: LogEnd, posted: Sequence[PostedReading]) -> list[Row]:
    now, last = at.elapsed() or 0.0, end.last
    rows: list[Row] = []
    faults: list[FieldFault] = []
    for place, one in enumerate(posted):
        name = f"readings.{place}"
        moment = max(now, last or 0.0) if one.waited is None else one.waited
        row: Row = (moment, one.voltage, one.current)
        if one.voltage is None:
            faults.append(FieldFault(f"{name}.voltage", "a voltage is wanted here", "a number in SI", ""))  # fmt: skip
        elif not one.keep_doubtful and (why := _impossible(one.voltage)):
            faults.append(FieldFault(f"{name}.voltage", why, "0 to 2.7 V", repr(one.voltage)))
        elif end.is_known(row):
            continue
        elif last is not None and moment < last:
            faults.append(FieldFault(f"{name}.waited", "the time goes backwards here", f"{last:g} s or later", repr(moment)))  # fmt: skip
        else:
            rows.append(row)
            last = moment
    if faults:
        raise RecordError(
            f"{len(faults)} of {len(posted)} readings cannot be taken", tuple(faults),
            where=at.run.name, next_step="mend them, or send them with keep_doubtful; nothing was stored",
        )  # fmt: skip
    return rows


def _impossible(voltage: float) -> str:
    return "" if voltage == 0.0 else impossible_voltage(voltage)  # a run-down may end at nothing


def close_log(bench: BenchFile, run: Run) -> None:
    """Pack the rows that still wait, before the run is closed."""
    if is_log(run):
        pack_waiting(bench, run.name)
