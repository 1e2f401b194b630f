"""A voltage that is still on its way: where it is going, how well that is known, or "wait"."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from aerode import units
from aerode.errors import RangeError

__all__ = [
    "FEWEST_TO_FOLLOW",
    "LARGEST_UNCERTAINTY",
    "LEAST_WATCHED",
    "STANDS_STILL",
    "Approach",
    "SettledVoltage",
    "approach",
    "has_settled",
    "moves_by",
    "read_at_once",
    "settled_voltage",
]

Floats = NDArray[np.float64]

STEADY_RATE = 0.001 / 60.0  # judgement
"""Slower than one millivolt a minute counts as settled [V/s]."""

LEAST_WATCHED = 30.0
"""[s]; watched for less, nothing is said to stand still, however alike the readings are. Common practice, no source."""
STANDS_STILL = (
    "two readings alike, half a minute apart, show that it moves less than 1 mV in a minute"
)
"""The rule of `has_settled` in words, the same wherever somebody waits for a reading."""
FEWEST_TO_FOLLOW = 4
"""Timed readings from which a voltage that moves is followed to where it is going."""
_FLICKERS = 3  # judgement: so many readings tell a flicker of the last digit from a movement
_LEAST_SPAN = 0.7  # judgement
"""Shortest trace that is extrapolated, in time constants: half of the way must have been seen."""
LARGEST_UNCERTAINTY = 0.015  # judgement
"""[V]; above it the extrapolated value is no better than a guess between two loads."""
_KNOWN = 0.5  # judgement
"""Largest standard uncertainty of ln τ from which a wait is told: a factor of 1.6 either way."""
_ONCE_MORE = 60.0  # judgement
"""[s]; what still moves is read again so much later where no better wait is known."""
_WAITS = (20.0, 40.0, *(60.0 * k for k in range(1, 21)))  # judgement
"""[s]; the waits that are tried, up to twenty minutes."""
_GRID = 401  # numerical
_READING_SPREAD = 0.0003  # judgement
"""Spread of a single timed reading that is assumed where the trace cannot show it [V]."""


@dataclass(frozen=True, slots=True)
class Approach:
    """Where an exponential approach ends, averaged over every time constant that the readings allow.

    Parameters
    ----------
    final : float [same as the values]
    standard_uncertainty : float [same as the values]
    time_constant : float [same as the times]
        Geometric mean.
    time_constant_spread : float [1]
        Standard deviation of its logarithm, over every time constant that the readings allow.
    """

    final: float
    standard_uncertainty: float
    time_constant: float
    time_constant_spread: float


@dataclass(frozen=True, slots=True)
class SettledVoltage:
    """Where a voltage is going, or why that cannot be told yet.

    Parameters
    ----------
    voltage : float or None [V]
        The settled value; None where there is a reason.
    standard_uncertainty : float [V]
        Of the extrapolation alone; 0 where it stood still by itself.
    time_constant : float or None [s]
        Of the approach, where one was seen.
    extrapolated : bool
        True where the value is not one that was read.
    reason : str
        Why there is no value, how fast it moves, and when to read again; "" where there is one.
    """

    voltage: float | None
    standard_uncertainty: float = 0.0
    time_constant: float | None = None
    extrapolated: bool = False
    reason: str = ""


def approach(
    time: ArrayLike, value: ArrayLike, *, offset: bool = True, floor: float = 0.0
) -> Approach:
    """The end of an exponential approach a + c·(1 - exp(-t/τ)), with its uncertainty.

    Parameters
    ----------
    time : array (n,) [any]
        Not negative, three or more different.
    value : array (n,) [any]
        n at least 4, 3 without an offset.
    offset : bool
        False where the approach is known to begin at zero.
    floor : float [same as value]
        Standard deviation of a single value that is taken for certain, whatever the residuals say.

    Returns
    -------
    Approach

    Raises
    ------
    RangeError
        With too few points.

    Notes
    -----
    For a given τ the rest is linear. The end is averaged over τ with the weight
    |XᵀX|^(-1/2)·S^(-(n-p)/2), S the sum of squares and p the number of linear parameters: flat
    priors on a, c and ln τ, 1/σ on the scatter; a t distribution at each τ. τ from a sixtieth to
    eight times the time watched; the grid is laid twice, the second time over the part that carries
    weight, so that it is never coarser than what it describes. Wider and more honest than a
    linearised error where less than two time constants were seen.

    Examples
    --------
    >>> import numpy as np
    >>> t = np.arange(0.0, 60.0, 10.0)
    >>> end = approach(t, 0.61 + 0.13 * (1 - np.exp(-t / 20.0)), floor=0.0003)
    >>> round(end.final, 2), round(end.time_constant)
    (0.74, 20)
    """
    t, y = _checked(time, value, fewest=4 if offset else 3)
    span = float(t.max())
    constants = np.geomspace(span / 60.0, 8.0 * span, _GRID)
    _, _, log_weight = _at_each(t, y, constants, offset, floor)
    carrying = np.flatnonzero(log_weight > log_weight.max() - 30.0)  # numerical
    low, high = max(carrying[0] - 1, 0), min(carrying[-1] + 1, _GRID - 1)
    constants = np.geomspace(constants[low], constants[high], _GRID)
    final, variance, log_weight = _at_each(t, y, constants, offset, floor)
    weight = np.exp(log_weight - log_weight.max())
    weight[[0, -1]] *= 0.5
    weight /= weight.sum()
    mean = float(weight @ final)
    sd = float(np.sqrt(weight @ (variance + np.square(final - mean))))
    middle = float(weight @ np.log(constants))
    spread = float(np.sqrt(weight @ np.square(np.log(constants) - middle)))
    return Approach(mean, sd, float(np.exp(middle)), spread)


def _checked(time: ArrayLike, value: ArrayLike, fewest: int) -> tuple[Floats, Floats]:
    t, y = np.asarray(time, dtype=np.float64), np.asarray(value, dtype=np.float64)
    if t.shape != y.shape or t.ndim != 1:
        raise RangeError(
            "times and values differ in number", where="trace", allowed="one value a time"
        )
    if t.size < fewest or np.unique(t).size < 3 or float(t.min()) < 0.0:
        raise RangeError(
            f"{t.size} timed readings are too few for an approach to a final value",
            where="trace",
            allowed=f"{fewest} or more, at three or more different times from 0 on",
            next_step="read again every 20 seconds",
        )
    return t, y


def _at_each(
    t: Floats, y: Floats, constants: Floats, offset: bool, floor: float
) -> tuple[Floats, Floats, Floats]:
    """For every time constant: the end, its variance, and the logarithm of its weight."""
    rise = -np.expm1(-t / constants[:, None])
    basis = np.stack([rise, np.ones_like(rise)], axis=-1) if offset else rise[..., None]
    freedom = t.size - basis.shape[-1]
    normal: Floats = np.asarray(np.einsum("knp,knq->kpq", basis, basis))
    inverse: Floats = np.asarray(np.linalg.inv(normal), dtype=np.float64)
    onto: Floats = np.asarray(np.einsum("knp,n->kp", basis, y))
    best: Floats = np.asarray(np.einsum("kpq,kq->kp", inverse, onto))
    residual = y - np.asarray(np.einsum("knp,kp->kn", basis, best))
    squares = np.square(residual).sum(axis=1) + t.size * floor**2
    log_weight = -0.5 * (np.linalg.slogdet(normal)[1] + freedom * np.log(squares))
    variance = inverse.sum(axis=(1, 2)) * squares / max(freedom - 2, 1)
    return best.sum(axis=1), variance, np.asarray(log_weight, dtype=np.float64)


# judgement: a usual meter
def has_settled(trace: Sequence[tuple[float, float]], count: float = 0.001) -> bool:
    """True where the last part of a trace moves by less than a millivolt a minute.

    Parameters
    ----------
    trace : sequence of (float, float) [s, V]
        Time since the load was put on, and the reading.
    count : float [V]
        One step of the meter's last digit: a change of one step alone, to and fro, does not show a
        movement.

    Returns
    -------
    bool
        False where it was watched for less than half a minute.

    Notes
    -----
    The rule of 1 mV a minute is common practice, no source. The slope is that of a straight line
    through the last half of the trace, carried back to half a minute at least: so two readings
    alike, half a minute apart, are enough. Of two alike on a meter of 1 mV the movement is below
    2 mV a minute for certain, and below 1 mV a minute more often than not.

    Examples
    --------
    >>> has_settled([(0, 0.700), (30, 0.702), (60, 0.702)])
    True
    >>> has_settled([(0, 0.702), (20, 0.702)])
    False
    >>> has_settled([(0, 0.61), (60, 0.63), (120, 0.65), (180, 0.66)])
    False
    """
    last = _watched_part(trace)
    if last is None:
        return False
    span = float(np.ptp(last[:, 0]))
    flickers = len(last) >= _FLICKERS and float(np.ptp(last[:, 1])) <= 1.01 * count  # numerical
    return abs(_slope(last)) < STEADY_RATE or (flickers and count / span < 2.0 * STEADY_RATE)


def _watched_part(trace: Sequence[tuple[float, float]]) -> Floats | None:
    """The last half of a trace in its order, carried back to half a minute; None where it is shorter."""
    if len(trace) < 2:
        return None
    points = np.array(sorted(trace), dtype=np.float64)
    long_enough = np.flatnonzero(points[-1, 0] - points[:, 0] >= LEAST_WATCHED)
    if not long_enough.size:
        return None
    return points[min(int(long_enough[-1]), len(points) // 2) :]


def moves_by(trace: Sequence[tuple[float, float]]) -> float:
    """How fast a trace moved over its last part, up or down [V/s]; 0 for a single reading.

    >>> round(60e3 * moves_by([(0, 0.61), (60, 0.63), (120, 0.65)]))
    20
    """
    return abs(_slope(_last_part(np.array(sorted(trace), dtype=np.float64))))


def _last_part(points: Floats) -> Floats:
    """The last half of a trace in its order, but at least three readings."""
    return points[-max(3, (len(points) + 1) // 2) :]


def _slope(points: Floats) -> float:
    """Slope of the straight line through (time, value) [V/s]; 0 where all were read at one moment."""
    t = points[:, 0] - points[:, 0].mean()
    size = float(t @ t)
    return float(t @ points[:, 1] / size) if size > 0.0 else 0.0


def settled_voltage(
    trace: Sequence[tuple[float, float]],
    *,
    count: float = 0.001,  # judgement: a usual meter
) -> SettledVoltage:
    """The voltage that a timed trace is going to, with its uncertainty, or "wait".

    Parameters
    ----------
    trace : sequence of (float, float) [s, V]
        Time since the load was put on, and the reading.
    count : float [V]
        One step of the meter's last digit.

    Returns
    -------
    SettledVoltage
        The last readings' mean where they stand still; else the limit of the exponential approach;
        else a reason with how fast it moves and when to read again.

    Notes
    -----
    The extrapolation is that of `approach`. Refused: fewer than four readings that move, less than 0.7 τ
    watched, or more than 15 mV of standard uncertainty. Do not use it where the voltage first moves
    one way, then the other.

    A wait is told only where ln τ is known to 0.5 (a factor of 1.6): the shortest after which the
    same approach, read once a minute on its way, would be taken. Where τ is mostly noise there is
    no wait to tell, and the load is to be read again in a minute.

    Examples
    --------
    >>> import math
    >>> trace = [(t, 0.74 - 0.13 * math.exp(-t / 60)) for t in range(0, 181, 20)]
    >>> s = settled_voltage(trace)
    >>> round(s.voltage, 3), s.extrapolated
    (0.74, True)
    >>> settled_voltage(trace[:3]).reason
    'still moving by 95 mV a minute: read it again in half a minute'
    """
    if has_settled(trace, count):
        last = _watched_part(trace)
        assert last is not None
        return SettledVoltage(voltage=float(last[-3:, 1].mean()))
    at_once = read_at_once(trace, count=count)
    if len(trace) < FEWEST_TO_FOLLOW or at_once:
        return SettledVoltage(None, reason=_too_brief(trace, at_once=at_once))
    points = np.array(trace, dtype=np.float64)
    t = points[:, 0] - points[:, 0].min()
    # rectangular width, by definition
    floor = max(count / float(np.sqrt(12.0)), _READING_SPREAD)
    end = approach(t, points[:, 1], floor=floor)
    if _may_be_taken(float(t.max()), end):
        return SettledVoltage(
            end.final, end.standard_uncertainty, end.time_constant, extrapolated=True
        )
    return SettledVoltage(
        None, time_constant=end.time_constant, reason=_why_not_yet(points, end, floor)
    )


def read_at_once(
    trace: Sequence[tuple[float, float]],
    *,
    count: float = 0.001,  # judgement: a usual meter
) -> bool:
    """Whether readings are alike, and all within half a minute: several looks that count as one.

    >>> read_at_once([(1, 0.67), (3, 0.67), (5, 0.671)]), read_at_once([(1, 0.67), (40, 0.67)])
    (True, False)
    """
    values = [value for _, value in trace]
    alike = max(values) - min(values) <= 1.01 * count  # numerical
    return alike and _span(trace) < LEAST_WATCHED


def _span(trace: Sequence[tuple[float, float]]) -> float:
    times = [t for t, _ in trace]
    return max(times) - min(times)


def _too_brief(trace: Sequence[tuple[float, float]], *, at_once: bool) -> str:
    """What too few readings, or a moment of watching, show, and when to read again."""
    if len(trace) < 2:
        return "not seen to stand still yet: read it again in half a minute"
    if at_once:
        return f"alike for {_span(trace):.0f} s only: watch it for half a minute"
    moves = units.plain(1e3 * 60.0 * moves_by(trace), 2)
    return f"still moving by {moves} mV a minute: read it again in half a minute"


def _may_be_taken(span: float, end: Approach) -> bool:
    enough = span >= _LEAST_SPAN * end.time_constant
    return enough and end.standard_uncertainty <= LARGEST_UNCERTAINTY


def _why_not_yet(points: Floats, end: Approach, floor: float) -> str:
    """How fast it moves and when to read again; a wait in seconds only where the time constant is known."""
    points = points[np.argsort(points[:, 0])]
    moves = 1e3 * 60.0 * abs(_slope(_last_part(points)))
    said = f"still moving by {units.plain(moves, 2)} mV a minute"
    if end.time_constant_spread > _KNOWN:
        return f"{said}: read it again in a minute"
    said += f" (it goes two thirds of its way in about {end.time_constant:.0f} s)"
    longer = _wait(points, end, floor)
    if longer is None:
        return (
            f"{said}: it would take more than {_WAITS[-1] / 60.0:.0f} minutes to tell where it goes"
        )
    return f"{said}: wait about {longer:.0f} s more"


def _wait(points: Floats, end: Approach, floor: float) -> float | None:
    """The shortest wait after which this approach could be taken [s]; None where twenty minutes are too few."""
    t = points[:, 0] - points[:, 0].min()
    span = float(t.max())
    going = end.final - float(points[-1, 1])
    for wait in _WAITS:
        later = np.append(np.arange(_ONCE_MORE, wait, _ONCE_MORE), wait)
        expected = end.final - going * np.exp(-later / end.time_constant)
        then = approach(np.append(t, span + later), np.append(points[:, 1], expected), floor=floor)
        if _may_be_taken(span + wait, then):
            return wait
    return None
