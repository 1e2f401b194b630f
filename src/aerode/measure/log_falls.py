"""After how long a voltage that is run down fell under a level, with what the meter and the rows leave open."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from aerode.measure.log_drawn import clean_rows

__all__ = ["USUAL_LEVELS", "Fall", "FallsOfLog", "falls_of_log"]

Floats = NDArray[np.float64]

USUAL_LEVELS = (0.8, 0.6, 0.4, 0.2)  # judgement
"""[V]; told where nobody named a level: those that the log passes, and the next one below it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fall:
    """When a voltage fell under one level, counted from the first reading of its log.

    Parameters
    ----------
    level : float [V]
    after : float or None [s]
        Where the straight line between two readings passes it first; 0 where it began below; None
        where it never fell so far.
    low, high : float or None [s]
        The meter may be wrong by so much, and between two readings nobody looked; `high` is None
        where the log ends before it is past doubt.
    back : bool
        Whether it stood at or above the level again at the end of the log.
    """

    level: float
    after: float | None
    low: float | None = None
    high: float | None = None
    back: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class FallsOfLog:
    """The falls of a log, highest level first; its length [s], lowest reading [V], usual time between rows [s]."""

    falls: tuple[Fall, ...]
    duration: float
    lowest: float
    apart: float


def falls_of_log(
    chunks: Iterable[Mapping[str, Floats]],
    levels: Sequence[float] = (),
    *,
    meter_uncertainty: float = 0.0,
    count: float = 0.001,  # judgement: a usual meter
) -> FallsOfLog | None:
    """When the voltage of a log fell under each level; readings of a lead that came off are left out.

    Parameters
    ----------
    chunks : iterable of mapping
        Columns "time" [s], in order, and "voltage" [V]; arrays (n,).
    levels : sequence of float [V]
        None for the usual ones.
    meter_uncertainty : float [1]
        Relative standard uncertainty of the meter's gain.
    count : float [V]
        One step of its last digit.

    Returns
    -------
    FallsOfLog or None
        None with fewer than two readings.

    Notes
    -----
    The range is that of two standard uncertainties: from the first moment under level + 2u to the
    last one above level - 2u, and never narrower than the two readings between which it passed.
    u = √((gain·level)² + count²/12), a rectangular last digit (JCGM 100:2008, 4.3.7).

    Examples
    --------
    >>> hours = np.linspace(0.0, 36000.0, 601)
    >>> found = falls_of_log([{"time": hours, "voltage": 0.9 - 0.5 * hours / 36000.0}], [0.65])
    >>> round(found.falls[0].after / 3600.0, 2)
    5.0
    """
    time, volts = clean_rows(chunks)
    if time.size < 2:
        return None
    time = time - time[0]
    chosen = sorted(set(levels), reverse=True) or _passed(volts)
    return FallsOfLog(
        falls=tuple(_fall(time, volts, level, meter_uncertainty, count) for level in chosen),
        duration=float(time[-1]),
        lowest=float(volts.min()),
        apart=float(np.median(np.diff(time))),
    )


def _passed(volts: Floats) -> list[float]:
    """The usual levels below the first reading: those that were passed, and the next one."""
    below = [level for level in USUAL_LEVELS if level < volts[0]]
    passed = [level for level in below if level > volts.min()]
    return below[: len(passed) + 1]


def _fall(time: Floats, volts: Floats, level: float, gain: float, count: float) -> Fall:
    under = np.flatnonzero(volts < level)
    if not under.size:
        return Fall(level=level, after=None)
    first = int(under[0])
    back = bool(volts[-1] >= level)
    if first == 0:
        return Fall(level=level, after=0.0, back=back)
    before, now = float(volts[first - 1]), float(volts[first])
    share = (before - level) / (before - now)
    after = float(time[first - 1] + share * (time[first] - time[first - 1]))
    reach = 2.0 * float(np.hypot(gain * level, count / 12.0**0.5))
    early = np.flatnonzero(volts < level + reach)
    low = float(time[max(int(early[0]) - 1, 0)])
    sure = np.flatnonzero(volts >= level - reach)
    last = int(sure[-1])
    high = float(time[last + 1]) if last + 1 < time.size else None
    return Fall(level=level, after=after, low=min(low, after), high=high, back=back)
