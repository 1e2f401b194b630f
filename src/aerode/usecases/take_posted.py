"""Readings that a program or a microcontroller sends: many at once, each taken or watched, none twice."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerode.errors import ConflictError, FieldFault, InputError, RangeError, RecordError
from aerode.measure.impossible import impossible_voltage
from aerode.measure.run_plans import OPEN
from aerode.records.logs import LogAnswer
from aerode.records.runs import RunSort
from aerode.usecases.log_long import is_log, take_logged
from aerode.usecases.log_run import AMMETER
from aerode.usecases.take_readings import keep_anyway, look_at_load, take_reading, watch_many

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from aerode.usecases.take_readings import RunAtBench

__all__ = ["MOST_TIMED", "PostedReading", "take_posted"]

MOST_TIMED = 240
"""Timed readings that are kept for one load of a guided run; a run-down keeps them all."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PostedReading:
    """One reading off a logger [V, A, s]. Without `take` it is watched: the load stays on."""

    voltage: float | None = None
    current: float | None = None
    waited: float | None = None
    """Since this load was put on; our own clock where it is not said."""
    load: str | None = None
    """The load it believes is on; refused where the run has gone on."""
    take: bool = False
    keep_doubtful: bool = False
    """Whether a reading that cannot be is kept, doubted, instead of refused."""


def take_posted(
    at: RunAtBench, posted: Sequence[PostedReading], *, stored: Callable[[int], object]
) -> LogAnswer:
    """Take readings in the order they were sent. Those that cannot be are found before the first is stored.

    Parameters
    ----------
    at : RunAtBench
    posted : sequence of PostedReading
    stored : callable
        Told how many of them are on disk by now.

    Returns
    -------
    LogAnswer
        Where the run stands after the last one.

    Raises
    ------
    RecordError
        Some of them cannot be taken: each is named, nothing is stored.
    RangeError
        One of them cannot be, beside those before it: these are stored, it and the rest are not.
    ConflictError
        The run is closed, or every load is taken.
    """
    if at.run.finished or at.run.sort is RunSort.SEEP:
        raise ConflictError("this run takes no readings", where=at.run.name, next_step="open it again, or begin another")  # fmt: skip
    if is_log(at.run):
        return take_logged(at, posted, stored=stored)
    faults = [fault for k, one in enumerate(posted) if (fault := _fault(at, k, one))]
    if faults:
        raise RecordError(
            f"{len(faults)} of {len(posted)} readings cannot be taken", tuple(faults),
            where=at.run.name, next_step="mend them, or send them with keep_doubtful; nothing was stored",
        )  # fmt: skip
    answer, done = at.standing(), 0
    while done < len(posted):
        watched = _watched_together(at, posted[done:])
        if watched:
            timed = [(_waited(at, one), one.voltage or 0.0) for one in watched]
            answer = watch_many(at, timed, f"{timed[-1][1]!r} V")
        else:
            answer = _take(at, posted[done])
        done += max(1, len(watched))
        stored(done)
    return answer


def _watched_together(at: RunAtBench, waiting: Sequence[PostedReading]) -> Sequence[PostedReading]:
    """The readings at the head that are watched at the load that is on: they are stored at once."""
    step = at.next_step()
    if step is None or step.moments or step.load == AMMETER:
        return ()
    room = MOST_TIMED - len(at.trace())
    count = 0
    for one in waiting[:room]:
        plain = not one.take and not one.keep_doubtful and one.load in {None, step.load}
        if not plain or one.voltage is None:
            break
        count += 1
    return waiting[:count]


def _waited(at: RunAtBench, one: PostedReading) -> float:
    return at.since(at.clock()) if one.waited is None else one.waited


def _fault(at: RunAtBench, place: int, one: PostedReading) -> FieldFault | None:
    name = f"readings.{place}"
    step = at.next_step()
    current = step is not None and step.load == AMMETER
    value = one.current if current else one.voltage
    if value is None:
        wanted = "current" if current else "voltage"
        return FieldFault(f"{name}.{wanted}", f"a {wanted} is wanted here", "a number in SI", "")
    if one.keep_doubtful or current:
        return None
    why = (
        "" if step is not None and step.load == OPEN and value == 0.0 else impossible_voltage(value)
    )
    return FieldFault(f"{name}.voltage", why, "0 to 2.7 V", repr(value)) if why else None


def _take(at: RunAtBench, one: PostedReading) -> LogAnswer:
    step = at.next_step()
    if step is None:
        raise ConflictError("every planned load is taken", where=at.run.name, next_step="close the run")  # fmt: skip
    text = _text(one, current=step.load == AMMETER)
    waited = _waited(at, one)
    try:
        if one.take or step.load == AMMETER:
            return take_reading(at, text, load=one.load, waited=waited)
        if len(at.trace()) >= MOST_TIMED:
            raise InputError(
                f"{MOST_TIMED} timed readings are kept for one load", where=step.load or at.run.name,
                next_step="send this one with take, or send fewer; for hours at one load begin a run-down",
            )  # fmt: skip
        return look_at_load(at, text, load=one.load, waited=waited)
    except RangeError as refusal:
        if not one.keep_doubtful:
            raise
        return keep_anyway(at, text, refusal.what, load=one.load)


def _text(one: PostedReading, *, current: bool) -> str:
    if current:
        return f"{one.current!r} A"
    volts = f"{one.voltage!r} V"
    return f"{volts} {one.current!r} A" if one.current is not None and one.take else volts
