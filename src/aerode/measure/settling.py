"""A voltage that is still on its way: where it is going, how well that is known, or "wait"."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from aerode.errors import RangeError

__all__ = [
    "Saturation",
    "SettledVoltage",
    "has_settled",
    "saturation",
    "settled_voltage",
]

Floats = NDArray[np.float64]

STEADY_RATE = 0.001 / 60.0
"""Slower than one millivolt a minute counts as settled [V/s]."""

_FEWEST = 4
_LEAST_SPAN = 0.7
"""Shortest trace that is extrapolated, in time constants: half of the way must have been seen."""
_LARGEST_UNCERTAINTY = 0.015
"""[V]; above it the extrapolated value is no better than a guess between two loads."""
_GRID = 401
_READING_SPREAD = 0.0003
"""Spread of a single timed reading that is assumed where the trace cannot show it [V]."""


@dataclass(frozen=True, slots=True)
class Saturation:
    """The least-squares curve b1·(1 - exp(-b2·t)), with an offset where asked for.

    Parameters
    ----------
    rise : float [same as y]
        b1.
    rise_uncertainty : float [same as y]
        Its standard deviation.
    rate : float [1/unit of t]
        b2, one over the time constant.
    rate_uncertainty : float [1/unit of t]
    offset : float [same as y]
        Value at t = 0; zero where it was not fitted.
    offset_uncertainty : float [same as y]
    sum_of_squares : float [y^2]
        Of the residuals.
    final_uncertainty : float [same as y]
        Standard deviation of offset + rise.
    """

    rise: float
    rise_uncertainty: float
    rate: float
    rate_uncertainty: float
    offset: float
    offset_uncertainty: float
    sum_of_squares: float
    final_uncertainty: float

    @property
    def final(self) -> float:
        """Where it is going."""
        return self.offset + self.rise


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
        Why there is no value, and how much longer to wait; "" where there is one.
    """

    voltage: float | None
    standard_uncertainty: float = 0.0
    time_constant: float | None = None
    extrapolated: bool = False
    reason: str = ""


def _basis(t: Floats, rates: Floats, offset: bool) -> Floats:
    """Columns of the model for every rate: (k, n, 1) or (k, n, 2)."""
    rise = -np.expm1(-rates[:, None] * t)
    return np.stack([rise, np.ones_like(rise)], axis=-1) if offset else rise[..., None]


def _linear(basis: Floats, y: Floats) -> tuple[Floats, Floats]:
    """For every rate the best linear parameters (k, p) and the sum of squares (k,)."""
    q, r = np.linalg.qr(basis)
    onto: Floats = np.asarray(np.einsum("knp,n->kp", q, y))
    best: Floats = np.asarray(np.linalg.solve(r, onto[..., None]), dtype=np.float64)[..., 0]
    residual = y - np.einsum("knp,kp->kn", basis, best)
    return best, np.square(residual).sum(axis=1)


def saturation(time: ArrayLike, value: ArrayLike, *, offset: bool = False) -> Saturation:
    """The least-squares fit of an exponential approach to a final value; no start is needed.

    Parameters
    ----------
    time : array (n,) [any]
        Not negative, at least three different.
    value : array (n,) [any]
        What was read.
    offset : bool
        Also fit the value at t = 0: a + b1·(1 - exp(-b2·t)).

    Returns
    -------
    Saturation

    Raises
    ------
    RangeError
        If there are too few points, or the two lengths differ.

    Notes
    -----
    For a given rate the rest is linear, so only the rate is searched: a grid in its logarithm, then
    Gauss-Newton steps on the whole problem, each kept only if it lowers the sum of squares.
    Standard deviations are those of linear regression at the minimum, with n - p degrees of freedom.

    Examples
    --------
    >>> import numpy as np
    >>> t = np.arange(0.0, 60.0, 10.0)
    >>> fit = saturation(t, 0.61 + 0.13 * (1 - np.exp(-t / 20.0)), offset=True)
    >>> round(fit.final, 6), round(1 / fit.rate, 4)
    (0.74, 20.0)
    """
    t, y = _checked(time, value, fewest=4 if offset else 3)
    span = float(t.max())
    grid = np.geomspace(
        0.003 / span, 30.0 / max(float(np.diff(np.unique(t)).min()), 1e-3 * span), 400
    )
    linear, squares = _linear(_basis(t, grid, offset), y)
    best = int(np.argmin(squares))
    parameters = np.concatenate([linear[best], [np.log(grid[best])]])
    parameters, jacobian, residual = _polish(t, y, parameters, offset)
    return _saturation(parameters, jacobian, residual, offset)


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


def _model(t: Floats, p: Floats, offset: bool) -> tuple[Floats, Floats]:
    """Value and derivatives by rise, (offset,) ln rate."""
    rate = np.exp(p[-1])
    fading = np.exp(-rate * t)
    columns = [-np.expm1(-rate * t)]
    if offset:
        columns.append(np.ones_like(t))
    linear = np.stack(columns, axis=1)
    return linear @ p[:-1], np.column_stack([linear, p[0] * rate * t * fading])


def _polish(t: Floats, y: Floats, p: Floats, offset: bool) -> tuple[Floats, Floats, Floats]:
    value, jacobian = _model(t, p, offset)
    residual = y - value
    for _ in range(100):
        move = np.linalg.lstsq(jacobian, residual, rcond=None)[0]
        for _ in range(30):
            fresh = p + move
            value, fresh_jacobian = _model(t, fresh, offset)
            if np.square(y - value).sum() <= np.square(residual).sum():
                break
            move = 0.5 * move
        else:
            break
        p, residual, jacobian = fresh, y - value, fresh_jacobian
        if np.abs(move[-1]) < 1e-12:
            break
    return p, jacobian, residual


def _saturation(p: Floats, jacobian: Floats, residual: Floats, offset: bool) -> Saturation:
    freedom = max(residual.size - p.size, 1)
    squares = float(np.square(residual).sum())
    covariance = np.linalg.pinv(jacobian.T @ jacobian) * squares / freedom
    sd = np.sqrt(np.diagonal(covariance))
    rate = float(np.exp(p[-1]))
    last = np.array([1.0, 1.0, 0.0] if offset else [1.0, 0.0])
    return Saturation(
        rise=float(p[0]),
        rise_uncertainty=float(sd[0]),
        rate=rate,
        rate_uncertainty=float(rate * sd[-1]),
        offset=float(p[1]) if offset else 0.0,
        offset_uncertainty=float(sd[1]) if offset else 0.0,
        sum_of_squares=squares,
        final_uncertainty=float(np.sqrt(last @ covariance @ last)),
    )


def has_settled(trace: Sequence[tuple[float, float]], count: float = 0.001) -> bool:
    """True where the last part of a trace moves by less than a millivolt a minute.

    Parameters
    ----------
    trace : sequence of (float, float) [s, V]
        Time since the load was put on, and the reading.
    count : float [V]
        One step of the meter's last digit: a change of one step alone does not show a movement.

    Returns
    -------
    bool
        False for fewer than three readings: nothing can be said of a movement.

    Notes
    -----
    The rule of 1 mV a minute is common practice, no source. The slope is that of a straight line
    through the last half of the trace, but at least three readings.

    Examples
    --------
    >>> has_settled([(0, 0.700), (30, 0.702), (60, 0.702), (90, 0.702)])
    True
    >>> has_settled([(0, 0.61), (60, 0.63), (120, 0.65), (180, 0.66)])
    False
    """
    if len(trace) < 3:
        return False
    points = np.array(trace, dtype=np.float64)
    points = points[np.argsort(points[:, 0])]
    last = points[-max(3, (len(trace) + 1) // 2) :]
    span = float(np.ptp(last[:, 0]))
    if span <= 0.0:
        return False
    t = last[:, 0] - last[:, 0].mean()
    slope = float(t @ last[:, 1] / (t @ t))
    return abs(slope) < STEADY_RATE or (
        float(np.ptp(last[:, 1])) <= 1.01 * count and count / span < 2.0 * STEADY_RATE
    )


def settled_voltage(
    trace: Sequence[tuple[float, float]], *, count: float = 0.001
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
        else a reason with the time still to wait.

    Notes
    -----
    V(t) = a + c·(1 - exp(-t/τ)). The final value is averaged over every τ that the trace allows:
    weight |XᵀX|^(-1/2)·S^(-(n-2)/2) on a fine grid in ln τ (flat prior in ln τ up to eight times
    the time watched), a t distribution at each; S is not let fall below what rounding to `count`
    leaves. This is wider and more honest than a linearised error where less than two time constants
    were seen. Refused: fewer than four readings, less than 0.7 τ watched, or more than 15 mV of
    standard uncertainty. Do not use it where the voltage first moves one way, then the other.

    Examples
    --------
    >>> import math
    >>> trace = [(t, 0.74 - 0.13 * math.exp(-t / 60)) for t in range(0, 181, 20)]
    >>> s = settled_voltage(trace)
    >>> round(s.voltage, 3), s.extrapolated
    (0.74, True)
    >>> settled_voltage(trace[:3]).reason
    'still moving, and 3 timed readings are too few to extrapolate: read at least 4, 20 s apart'
    """
    if has_settled(trace, count):
        points = np.array(trace, dtype=np.float64)
        last = points[np.argsort(points[:, 0])][-3:]
        return SettledVoltage(voltage=float(last[:, 1].mean()))
    if len(trace) < _FEWEST:
        said = f"{len(trace)} timed reading" + ("" if len(trace) == 1 else "s")
        return SettledVoltage(
            None,
            reason=f"still moving, and {said} are too few to extrapolate: "
            f"read at least {_FEWEST}, 20 s apart",
        )
    points = np.array(trace, dtype=np.float64)
    return _extrapolated(points[:, 0] - points[:, 0].min(), points[:, 1], count)


def _extrapolated(t: Floats, y: Floats, count: float) -> SettledVoltage:
    span = float(t.max())
    constants = np.geomspace(span / 60.0, 8.0 * span, _GRID)
    basis = _basis(t, 1.0 / constants, offset=True)
    linear, squares = _linear(basis, y)
    squares = squares + t.size * max(count**2 / 12.0, _READING_SPREAD**2)
    normal: Floats = np.asarray(np.einsum("knp,knq->kpq", basis, basis))
    freedom = t.size - 2
    log_weight = -0.5 * np.linalg.slogdet(normal)[1] - 0.5 * freedom * np.log(squares)
    weight = np.exp(log_weight - log_weight.max())
    weight /= weight.sum()
    final = linear.sum(axis=1)
    inverse: Floats = np.asarray(np.linalg.inv(normal), dtype=np.float64)
    spread = inverse.sum(axis=(1, 2)) * squares / max(freedom - 2, 1)
    mean = float(weight @ final)
    sd = float(np.sqrt(weight @ (spread + np.square(final - mean))))
    constant = float(np.exp(weight @ np.log(constants)))
    if span < _LEAST_SPAN * constant or sd > _LARGEST_UNCERTAINTY:
        longer = max(2.0 * constant - span, 0.5 * span)
        return SettledVoltage(
            None,
            time_constant=constant,
            reason=f"still moving and watched for {span:.0f} s only (its time constant is about "
            f"{constant:.0f} s): wait about {_round_up(longer):.0f} s more",
        )
    return SettledVoltage(mean, sd, constant, extrapolated=True)


def _round_up(seconds: float) -> float:
    step = 10.0 if seconds < 120.0 else 60.0
    return float(np.ceil(seconds / step) * step)
