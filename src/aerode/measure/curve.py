"""The polarization curve of a whole cell, and the current that a load or a voltage draws from it.

    V = A - b ln i - i R + b ln(1 - i/i_L)

Currents are those of the whole electrode [A]; an area enters only where results are given per area.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from aerode.errors import CannotTellError
from aerode.quantities import Reason

__all__ = [
    "Curve",
    "current_at_voltage",
    "current_through",
    "largest_power",
    "log_current_at_voltage",
    "voltage_at_current",
    "voltage_of_each",
]

Floats = NDArray[np.float64]

_MOST_STEPS = 60  # numerical
_LEAST_LOG_CURRENT = -690.0  # numerical: so that no current is zero and every one has a logarithm


@dataclass(frozen=True, slots=True)
class Curve:
    """One or many polarization curves; each field has one entry a curve.

    Parameters
    ----------
    intercept : array (m,) [V]
        A: the kinetic line at one ampere, without resistance.
    slope : array (m,) [V]
        b: volts per e-fold of current; times ln 10 it is the slope per decade.
    resistance : array (m,) [ohm]
        R: all that is linear in the current.
    limiting_current : array (m,) [A]
        i_L: above the current of every reading.
    """

    intercept: Floats
    slope: Floats
    resistance: Floats
    limiting_current: Floats

    @classmethod
    def of(
        cls,
        intercept: ArrayLike,
        slope: ArrayLike,
        resistance: ArrayLike,
        limiting_current: ArrayLike,
    ) -> Curve:
        """Curves from plain numbers or arrays.

        Parameters
        ----------
        intercept : float or array (m,) [V]
        slope : float or array (m,) [V]
        resistance : float or array (m,) [ohm]
        limiting_current : float or array (m,) [A]

        Returns
        -------
        Curve
        """
        given = [
            np.atleast_1d(np.asarray(x, dtype=np.float64))
            for x in (intercept, slope, resistance, limiting_current)
        ]
        a, b, r, limit = np.broadcast_arrays(*given)
        return cls(a, b, r, limit)


def _depth(k: Floats, c: Floats) -> Floats:
    """The root y <= 0 of y + k σ(y) = c, for c <= k/2 and k >= 0; σ is the logistic function.

    Where y < 0 the left side is convex and rises, so Newton's step from any place right of the root
    goes down to it without passing it; a step from the left lands right of it. The start is the
    root of y + k exp(y) = c (a Lambert function, to about two per cent), which lies left of it.
    """
    ceiling = np.minimum(c, 0.0)
    with np.errstate(divide="ignore"):
        log_z = np.log(k) + c
    near = np.logaddexp(0.0, log_z)
    y = np.minimum(c - near * (1.0 - np.log1p(near) / (2.0 + near)), ceiling)
    for _ in range(_MOST_STEPS):
        e = np.exp(y)
        left = 1.0 / (1.0 + e)
        part = k * e * left
        step = (y + part - c) / (1.0 + part * left)
        y = np.minimum(y - step, ceiling)
        # numerical: quadratic, so the error after this step is below 1e-13
        if np.abs(step).max(initial=0.0) < 1e-7:
            break
    return y


def _limited_log_current(limit: Floats, slope: Floats, drive: Floats, resistance: Floats) -> Floats:
    """ln of the current i in (0, limit) with drive = b ln(i/(1 - i/limit)) + i R, all broadcast."""
    k = limit * resistance / slope
    log_limit = np.log(limit)
    c = drive / slope - log_limit
    mirrored = c > 0.5 * k
    y = _depth(k, np.where(mirrored, k - c, c))
    return log_limit + np.where(mirrored, 0.0, y) - np.log1p(np.exp(y))


def current_through(curve: Curve, total_resistance: ArrayLike) -> Floats:
    """The current that each curve drives through each load.

    Parameters
    ----------
    curve : Curve
        m curves.
    total_resistance : array (n,) [ohm]
        Everything outside the electrode's tab: load, leads, contacts.

    Returns
    -------
    array (m, n) [A]
        The root of i·R_total = A - b ln i - i R + b ln(1 - i/i_L), which always exists and is the
        only one; relative error below 1e-12.

    Notes
    -----
    The unknown is ln(i/(i_L - i)); its equation is monotone, convex on one side and concave on the
    other, so that Newton's steps from the right side cannot miss it. It holds for any load above 0.
    The curve's form is that of first-order kinetics: one `b` for kinetics and for transport.

    Examples
    --------
    >>> curve = Curve.of(0.30, 0.055, 3.75, 0.06)
    >>> i = current_through(curve, [47.0, 10.0])[0]
    >>> bool(np.allclose(i * [47.0, 10.0], voltage_at_current(curve, i)))
    True
    """
    total = np.asarray(total_resistance, dtype=np.float64)
    limit = curve.limiting_current[:, None]
    logs = _limited_log_current(
        limit, curve.slope[:, None], curve.intercept[:, None], curve.resistance[:, None] + total
    )
    return np.minimum(np.exp(logs), limit)


def current_at_voltage(curve: Curve, voltage: ArrayLike) -> Floats:
    """The current of each curve at each voltage at the electrode's tab.

    Parameters
    ----------
    curve : Curve
        m curves.
    voltage : array (n,) [V]

    Returns
    -------
    array (m, n) [A]

    Examples
    --------
    >>> curve = Curve.of(0.30, 0.055, 3.75, 0.06)
    >>> round(float(current_at_voltage(curve, [0.40])[0, 0]), 5)
    0.0223
    """
    return np.exp(np.maximum(log_current_at_voltage(curve, voltage), _LEAST_LOG_CURRENT))


def log_current_at_voltage(curve: Curve, voltage: ArrayLike) -> Floats:
    """ln of the current of each curve at each voltage: finite also where the current underflows.

    Parameters
    ----------
    curve : Curve
        m curves.
    voltage : array (n,) [V]

    Returns
    -------
    array (m, n) [ln A]

    Examples
    --------
    >>> curve = Curve.of(0.30, 0.0005, 3.75, 0.06)
    >>> round(float(log_current_at_voltage(curve, [0.80])[0, 0]))
    -1000
    """
    wanted = np.asarray(voltage, dtype=np.float64)
    return _limited_log_current(
        curve.limiting_current[:, None],
        curve.slope[:, None],
        curve.intercept[:, None] - wanted,
        np.broadcast_to(curve.resistance[:, None], (curve.slope.size, wanted.size)),
    )


def voltage_at_current(curve: Curve, current: ArrayLike) -> Floats:
    """The voltage of each curve at each current.

    Parameters
    ----------
    curve : Curve
        m curves.
    current : array (n,) [A]
        Above zero and below every curve's limiting current.

    Returns
    -------
    array (m, n) [V]

    Raises
    ------
    CannotTellError
        At or beyond a limiting current, where no steady state exists.

    Examples
    --------
    >>> curve = Curve.of(0.30, 0.055, 3.75, 0.06)
    >>> round(float(voltage_at_current(curve, [0.020])[0, 0]), 4)
    0.4179
    """
    asked = np.asarray(current, dtype=np.float64)
    used = asked / curve.limiting_current[:, None]
    _refuse_beyond(asked, used)
    b = curve.slope[:, None]
    kinetic = b * (np.log1p(-used) - np.log(asked))
    return curve.intercept[:, None] + kinetic - asked * curve.resistance[:, None]


def voltage_of_each(curve: Curve, current: ArrayLike) -> Floats:
    """The voltage of each curve at a current of its own.

    Parameters
    ----------
    curve : Curve
        m curves.
    current : float or array (m,) [A]

    Returns
    -------
    array (m,) [V]

    Raises
    ------
    CannotTellError
        At or beyond a limiting current.

    Examples
    --------
    >>> round(float(voltage_of_each(Curve.of(0.30, 0.055, 3.75, 0.06), 0.020)[0]), 4)
    0.4179
    """
    asked = np.asarray(current, dtype=np.float64)
    used = asked / curve.limiting_current
    _refuse_beyond(asked, used)
    kinetic = curve.slope * (np.log1p(-used) - np.log(asked))
    return curve.intercept + kinetic - asked * curve.resistance


def _refuse_beyond(current: Floats, used: Floats) -> None:
    if not (np.all(current > 0.0) and np.all(used < 1.0)):
        raise CannotTellError(str(Reason.BEYOND_LIMIT), where="current")


def largest_power(curve: Curve) -> tuple[Floats, Floats]:
    """The largest power of each curve, and the current at which it is given.

    Parameters
    ----------
    curve : Curve
        m curves.

    Returns
    -------
    power : array (m,) [W]
    current : array (m,) [A]

    Notes
    -----
    At the summit of i·V the load equals the slope resistance of the cell, so that
    A - b ln i + b ln(1 - i/i_L) - 2 i R - b - b i/(i_L - i) = 0: it falls all the way from +inf to
    -inf as ln(i/(i_L - i)) rises, and is solved by bisection in that variable, then polished.

    Examples
    --------
    >>> power, current = largest_power(Curve.of(0.30, 0.055, 3.75, 0.06))
    >>> round(1e3 * float(power[0]), 2), round(1e3 * float(current[0]), 1)
    (10.73, 37.4)
    """
    b, r, limit = curve.slope, curve.resistance, curve.limiting_current
    drive = curve.intercept / b - np.log(limit) - 1.0
    k = 2.0 * r * limit / b
    # numerical: from 1e-26 of the limit to within 6e-6 of it
    low, high = np.full(b.shape, -60.0), np.full(b.shape, 12.0)
    for _ in range(50):  # numerical: the bracket shrinks to 1e-13 of itself
        middle = 0.5 * (low + high)
        e = np.exp(middle)
        rising = drive - middle - k * e / (1.0 + e) - e > 0.0
        low, high = np.where(rising, middle, low), np.where(rising, high, middle)
    e = np.exp(0.5 * (low + high))
    current = limit * e / (1.0 + e)
    kinetic = b * (-np.log1p(e) - np.log(current))
    return current * (curve.intercept + kinetic - current * r), current
