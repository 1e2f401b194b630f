"""A reading taken that shows the one before to be wrong: that one is moved to its resistor, or taken back, in one act."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from aerode.errors import ConflictError
from aerode.measure.run_readings import doubt_of_taken_back, was_taken_back
from aerode.usecases.log_foretold import was_read
from aerode.usecases.take_readings import refuse_other_load

if TYPE_CHECKING:
    from aerode.records.logs import LogAnswer
    from aerode.usecases.run_at_bench import RunAtBench

__all__ = ["take_and_mend"]


def take_and_mend(
    at: RunAtBench,
    text: str,
    place: int,
    other: str = "",
    *,
    load: str | None = None,
    waited: float | None = None,
) -> LogAnswer:
    """Take a reading, and move an earlier one to the resistor that was on then, or take it back.

    Both are stored at once. The resistor of the earlier one is to be read then; what stood there is kept.

    Parameters
    ----------
    at : RunAtBench
    text : str
        The reading of the load that is on, as typed.
    place : int
        Of the earlier reading in the run, counted from 0.
    other : str
        The resistor that it was taken with; "" to take it back.
    load, waited
        As of `take_reading`.

    Raises
    ------
    UnitError, RangeError
        The new reading cannot be read, or cannot be right; then nothing is changed.
    ConflictError
        The earlier reading was changed meanwhile, or the other resistor was read meanwhile.
    """
    refuse_other_load(at, load, text)
    step, readings = at.next_step(), list(at.run.readings)
    if step is None or not _can_be_mended(at, place, other):
        raise ConflictError(
            f"the earlier reading cannot be put down at {other}" if other else "that reading cannot be taken back",
            where=at.run.name,
            next_step="look at the readings below; nothing was changed",
        )  # fmt: skip
    old = readings[place]
    if other:
        readings.append(replace(old, load=other, replaces=place))
    else:
        readings[place] = replace(old, doubt=doubt_of_taken_back(old.doubt))
    trace = at.trace()
    if trace:
        now = at.volts_for_correction(step.load, text)
        trace = (*trace, (round(max(waited or 0.0, trace[-1][0] + 0.1), 1), now))
    at.run, at.waited, at.watched = replace(at.run, readings=tuple(readings)), waited, None
    return at.take_at(step.load, text, trace)


def _can_be_mended(at: RunAtBench, place: int, other: str) -> bool:
    if not 0 <= place < len(at.run.readings):
        return False
    old = at.run.readings[place]
    stands = not was_taken_back(old) and all(one.replaces != place for one in at.run.readings)
    free = not other or (other in at.resistors and was_read(at, other) is None)
    return stands and free
