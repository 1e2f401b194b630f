"""What a reading may still move by, where it was taken early and nobody watched it stand still."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from aerode.errors import RangeError
from aerode.measure.run_plans import WAITING_TIME
from aerode.measure.run_readings import was_taken_back
from aerode.measure.settling import (
    FEWEST_TO_FOLLOW,
    LARGEST_UNCERTAINTY,
    LEAST_WATCHED,
    approach,
    moves_by,
    settled_voltage,
)
from aerode.records.runs import Reading, Run, Settling

__all__ = ["WORTH_SAYING", "Movement", "may_still_move", "movement_of"]

WORTH_SAYING = (
    0.001  # judgement [V]: less than a step of a usual meter is counted and not spoken of
)

_STILL_TO_GO = 0.010
"""[V]; judgement: what a voltage still moves by from the moment a load is put on, where no load of the run was watched."""
_TIME_CONSTANT = 40.0  # judgement [s]: two minutes are three of them
_SHORTEST, _LONGEST = 5.0, WAITING_TIME  # judgement [s]
_SOON = 60.0  # judgement [s]: a load first read later says nothing of the first seconds


@dataclass(frozen=True, slots=True)
class Movement:
    """How the loads of a run come to rest.

    Parameters
    ----------
    size : float [V]
        What is still to come at the moment the load is put on.
    time_constant : float [s]
    loads : int
        The watched loads that it was learnt from; 0 where it is a judgement.
    """

    size: float = _STILL_TO_GO
    time_constant: float = _TIME_CONSTANT
    loads: int = 0

    def after(self, waited: float) -> float:
        """What is still to come so long after the load was put on [V]; nothing from two minutes on.

        size·(exp(-t/τ) - exp(-T/τ))/(1 - exp(-T/τ)), T the waiting time of the plan.

        >>> [round(1e3 * Movement().after(t), 1) for t in (0.0, 8.0, 60.0, 120.0)]
        [10.0, 8.1, 1.8, 0.0]
        """
        if waited >= WAITING_TIME:
            return 0.0
        end = math.exp(-WAITING_TIME / self.time_constant)
        return self.size * (math.exp(-waited / self.time_constant) - end) / (1.0 - end)


def movement_of(run: Run, count: float = 0.001) -> Movement:  # judgement: a usual meter
    """How the loads of a run came to rest, from those that were watched; a judgement where none was.

    Parameters
    ----------
    run : Run
        With its readings.
    count : float [V]
        One step of the meter's last digit: less than it is not seen to move.

    Returns
    -------
    Movement
        Root of the mean square over the loads, the judgement counted as one more of them, widened
        for their number n by (1 + 1/n): one load that stood still says little of the others.
    """
    seen = [
        one for reading in run.readings
        if reading.load != "open" and not was_taken_back(reading) and (one := _seen(reading, count)) is not None
    ]  # fmt: skip
    if not seen:
        return Movement()
    n = len(seen)
    squares = _STILL_TO_GO**2 + sum(size**2 for size, _ in seen)
    size = math.sqrt(squares / (n + 1) * (1.0 + 1.0 / n))
    constant = math.exp(sum(math.log(constant) for _, constant in seen) / n)
    return Movement(size, constant, n)


def _seen(reading: Reading, count: float) -> tuple[float, float] | None:
    """Size [V] and time constant [s] of one watched load; None where it does not tell."""
    trace = sorted(reading.trace)
    if len(trace) < 2 or trace[0][0] > _SOON:
        return None
    end = settled_voltage(trace, count=count).voltage
    if end is None:
        return None
    constant = _TIME_CONSTANT
    moved = abs(end - trace[0][1])
    if moved > 2.0 * count and len(trace) >= FEWEST_TO_FOLLOW:
        begin = trace[0][0]
        try:
            found = approach([t - begin for t, _ in trace], [v for _, v in trace], floor=count)
            constant = min(max(found.time_constant, _SHORTEST), _LONGEST)
        except RangeError:  # fewer than three different moments
            constant = _TIME_CONSTANT
    return max(moved, count) / Movement(1.0, constant).after(trace[0][0]), constant


# judgement: a usual meter
def may_still_move(reading: Reading, movement: Movement, count: float = 0.001) -> float | None:
    """What a reading may still move by, as a standard uncertainty; None where no curve can use it.

    Parameters
    ----------
    reading : Reading
    movement : Movement
        Of its run.
    count : float [V]
        One step of the meter's last digit.

    Returns
    -------
    float or None [V]
        0 where somebody says that it had settled, where it was watched to its rest or carried on to
        it, and where it was read after the waiting time of the plan or nobody knows when. A reading
        that was watched too briefly to tell counts as one that nobody watched; if it was seen to
        move, as what it does in one time constant more, where that is more.

    Examples
    --------
    >>> round(1e3 * may_still_move(Reading(load="a", voltage=0.6, waited=8.0), Movement()), 1)
    8.1
    >>> may_still_move(Reading(load="a", voltage=0.6, waited=120.0), Movement())
    0.0
    """
    if reading.load == "open" or reading.voltage is None or reading.settling is Settling.SETTLED:
        return 0.0
    if not reading.trace:
        if reading.settling is Settling.NOT_SETTLED:
            return None
        return 0.0 if reading.waited is None else movement.after(reading.waited)
    return _while_watched(reading.trace, movement, count)


def _while_watched(
    trace: Sequence[tuple[float, float]], movement: Movement, count: float
) -> float | None:
    if settled_voltage(trace, count=count).voltage is not None:
        return 0.0
    times = [t for t, _ in trace]
    brief = max(times) - min(times) < LEAST_WATCHED
    if len(trace) >= FEWEST_TO_FOLLOW and not brief:
        return None
    moving = 0.0
    values = [v for _, v in trace]
    if max(values) - min(values) > 1.01 * count:  # numerical
        moving = moves_by(trace) * movement.time_constant
    found = max(movement.after(max(times)), moving)
    return found if found <= LARGEST_UNCERTAINTY else None
