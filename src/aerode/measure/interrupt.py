"""A current interrupt: the resistance it shows, what it lumps in, and what it cannot see.

When the current stops, a straight resistance vanishes at once. But the first reading comes late: a
flat electrode has then lost part of its activation too, which is counted as resistance. And a
porous electrode shows only its two rails side by side, so most of its ionic resistance is missed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import minimize_scalar

from aerode.errors import CannotTellError, RangeError
from aerode.physics.checked_scalars import above_zero
from aerode.physics.impedance import two_rail_instant_resistance, two_rail_slow_resistance
from aerode.quantities import Basis, Quantity, Reason

__all__ = [
    "InterruptReading",
    "activation_gone",
    "missed_in_pores",
    "order_of_resistances",
    "read_interrupt",
]

Floats = NDArray[np.float64]

_FEWEST = 5
_OHM = "ohm m^2"
_APART = 2.0  # standard uncertainties beyond which an order counts as broken


def activation_gone(
    time: ArrayLike, *, tafel_slope: float, capacitance: float, current_density: float
) -> Floats:
    """The activation loss that a flat electrode has given up before a reading.

    Parameters
    ----------
    time : array_like, any shape [s]
        Since the current stopped.
    tafel_slope : float [V]
        Potential per e-fold of current.
    capacitance : float [F/m^2]
        Of its double layer.
    current_density : float [A/m^2]
        Before the interrupt.

    Returns
    -------
    ndarray, same shape [V]
        Counted as ohmic by whoever takes that reading for the first.

    Raises
    ------
    RangeError
        A time below zero, or another value not above zero.

    Notes
    -----
    b ln(1 + t/tau), tau = b C/i: a Tafel reaction discharging its own double layer (exact for a
    flat electrode whose capacitance does not change).

    Examples
    --------
    >>> air = {"tafel_slope": 0.05, "capacitance": 1e3, "current_density": 100.0}
    >>> round(1e3 * float(activation_gone(0.1, **air)), 1)
    9.1
    """
    above_zero(tafel_slope=tafel_slope, capacitance=capacitance, current_density=current_density)
    t = np.asarray(time, dtype=np.float64)
    if not np.isfinite(t).all() or bool((t < 0.0).any()):
        raise RangeError("a time before the interrupt", where="time", allowed="0 s or more")
    tau = tafel_slope * capacitance / current_density
    return np.asarray(tafel_slope * np.log1p(t / tau), dtype=np.float64)


def missed_in_pores(ionic_resistance: float, electronic_resistance: float = 0.0) -> float:
    """The part of a porous electrode's resistance that no interrupt shows at once.

    Parameters
    ----------
    ionic_resistance, electronic_resistance : float [ohm m^2]
        Thickness over each effective conductivity.

    Returns
    -------
    float [ohm m^2]
        A third of their sum, less the two side by side.

    Raises
    ------
    RangeError
        A resistance of the wrong sign.

    Notes
    -----
    (R_i + R_e)/3 - R_i R_e/(R_i + R_e), for a reaction spread evenly through the depth; with a
    crowded reaction less is lost in steady operation, so less is missed.

    Examples
    --------
    >>> round(missed_in_pores(3e-4) * 1e4, 3)  # ohm cm2
    1.0
    """
    slow = two_rail_slow_resistance(ionic_resistance, electronic_resistance)
    return slow - two_rail_instant_resistance(ionic_resistance, electronic_resistance)


@dataclass(frozen=True, slots=True, kw_only=True)
class InterruptReading:
    """What an interrupt shows, read in three ways.

    Parameters
    ----------
    first_reading : Quantity
        From the first voltage after the interrupt, nothing extrapolated: too high [ohm m^2].
    porous : Quantity
        Extrapolated to no time along the square root of time, as pores relax [ohm m^2].
    flat : Quantity
        Extrapolated along ln(1 + t/tau), as a flat electrode relaxes [ohm m^2].
    first_time : float
        Of the first reading [s].
    words : tuple of str
        What these numbers hold and miss.
    """

    first_reading: Quantity
    porous: Quantity
    flat: Quantity
    first_time: float
    words: tuple[str, ...]


def read_interrupt(
    time: ArrayLike,
    voltage: ArrayLike,
    *,
    voltage_before: float,
    current_density: float,
    voltage_uncertainty: float,
    used: int = 8,
) -> InterruptReading:
    """The resistance behind the jump of a cell's voltage when its current is cut.

    Parameters
    ----------
    time : array_like, shape (n,) [s]
        After the interrupt, rising, above zero; at least five.
    voltage : array_like, shape (n,) [V]
        Of the cell at these times.
    voltage_before : float [V]
        Under load, settled.
    current_density : float [A/m^2]
        That was cut.
    voltage_uncertainty : float [V]
        Standard uncertainty of one reading.
    used : int [1]
        How many of the first readings are extrapolated.

    Returns
    -------
    InterruptReading

    Raises
    ------
    RangeError
        Times that do not rise from above zero, or values not finite.
    CannotTellError
        Fewer than five readings.

    Notes
    -----
    Porous: V = V0 + s sqrt(t) by straight least squares (charge spreading into pores, de Levie;
    status: unverified, from memory). Flat: V = V0 + b ln(1 + t/tau) by least squares with tau
    searched, given only where the readings hold it. A hand switch and a logger of ten readings a second see
    neither: the extrapolation then starts after the flat electrode is gone.

    Examples
    --------
    >>> t = np.array([1e-4, 2e-4, 4e-4, 8e-4, 1.6e-3, 3.2e-3])
    >>> seen = read_interrupt(t, 0.9 + 0.02 + 0.5 * np.sqrt(t), voltage_before=0.9,
    ...     current_density=100.0, voltage_uncertainty=1e-4)
    >>> round(seen.porous.value * 1e4, 3), seen.first_reading.value > seen.porous.value
    (2.0, True)
    """
    t, rise = _trace(time, voltage, voltage_before)
    above_zero(current_density=current_density, voltage_uncertainty=voltage_uncertainty)
    t, rise = t[: max(used, _FEWEST)], rise[: max(used, _FEWEST)]
    # The reading before the cut enters every jump with its own error.
    both = math.sqrt(2.0) * voltage_uncertainty
    first = _resistance(float(rise[0]), both, current_density)
    porous = _along_root(t, rise, voltage_uncertainty, current_density)
    flat = _along_logarithm(t, rise, voltage_uncertainty, current_density)
    return InterruptReading(
        first_reading=first,
        porous=porous,
        flat=flat,
        first_time=float(t[0]),
        words=_words(float(t[0]), first, porous, flat),
    )


def _trace(time: ArrayLike, voltage: ArrayLike, before: float) -> tuple[Floats, Floats]:
    t = np.asarray(time, dtype=np.float64)
    v = np.asarray(voltage, dtype=np.float64)
    if t.ndim != 1 or t.shape != v.shape:
        raise RangeError("not one voltage for each time", where="interrupt")
    if not (np.isfinite(t).all() and np.isfinite(v).all() and math.isfinite(before)):
        raise RangeError("a value is not finite", where="interrupt")
    if t.size < _FEWEST:
        raise CannotTellError(
            str(Reason.TOO_FEW_POINTS), where=f"{t.size} readings after the interrupt"
        )
    if not t[0] > 0.0 or bool((np.diff(t) <= 0.0).any()):
        raise RangeError(
            "times do not rise from above zero", where="interrupt", allowed="s since the cut"
        )
    return t, v - before


def _resistance(jump: float, uncertainty: float, current_density: float) -> Quantity:
    return Quantity(
        value=jump / current_density,
        unit=_OHM,
        standard_uncertainty=uncertainty / current_density,
        basis=Basis.MEASURED,
    )


def _along_root(t: Floats, rise: Floats, each: float, current_density: float) -> Quantity:
    table = np.column_stack([np.ones_like(t), np.sqrt(t)])
    inverse = np.linalg.inv(table.T @ table)
    fitted = inverse @ (table.T @ rise)
    left = rise - table @ fitted
    scatter = max(each, math.sqrt(float(left @ left) / (t.size - 2)))
    # Independent scatter of the readings, and the one error of the reading before the cut.
    uncertainty = math.hypot(scatter * math.sqrt(float(inverse[0, 0])), each)
    return _resistance(float(fitted[0]), uncertainty, current_density)


def _along_logarithm(t: Floats, rise: Floats, each: float, current_density: float) -> Quantity:
    """For every tau the rest is a straight line, so only tau is searched."""

    def straight(log_tau: float) -> tuple[float, Floats, Floats]:
        table = np.column_stack([np.ones_like(t), np.log1p(t / math.exp(log_tau))])
        fitted = np.asarray(np.linalg.lstsq(table, rise, rcond=None)[0], dtype=np.float64)
        left = rise - table @ fitted
        return float(left @ left), fitted, table

    grid = np.linspace(math.log(1e-2 * float(t[0])), math.log(1e2 * float(t[-1])), 61)
    at = int(np.argmin([straight(float(x))[0] for x in grid]))
    if at in (0, grid.size - 1):
        return Quantity.missing(_OHM, Reason.PRIOR_KEPT)
    found = minimize_scalar(
        lambda x: straight(float(x))[0],
        bounds=(float(grid[at - 1]), float(grid[at + 1])),
        method="bounded",
        options={"xatol": 1e-10},  # numerical
    )
    square, fitted, table = straight(float(found.x))
    tau = math.exp(float(found.x))
    slope = np.column_stack([table, -fitted[1] * t / (t + tau)])
    scatter = max(each, math.sqrt(square / (t.size - 3)))
    _, singular, axes = np.linalg.svd(slope, full_matrices=False)
    seen = np.maximum(singular, 1e-12 * float(singular[0]))
    spread = scatter * math.sqrt(float(np.sum((axes[:, 0] / seen) ** 2)))
    jump = float(fitted[0])
    if fitted[1] <= 0.0 or spread > 0.5 * abs(jump):
        return Quantity.missing(_OHM, Reason.PRIOR_KEPT)
    return _resistance(jump, math.hypot(spread, each), current_density)


def _words(first_time: float, first: Quantity, porous: Quantity, flat: Quantity) -> tuple[str, ...]:
    said = [
        f"the first reading came {first_time:.3g} s after the cut; what relaxed before it is "
        "counted as resistance",
        "a porous electrode shows only liquid and solid side by side at once: about a third of its "
        "ionic resistance is missing from every one of these",
    ]
    if first_time > 1e-3:  # judgement
        said.append(
            "later than 1 ms a flat metal electrode has given up most of its activation: "
            "this resistance holds part of the anode's kinetics"
        )
    if flat.value is None:
        said.append(f"no flat-electrode extrapolation: {flat.reason}")
    if first.value is not None and porous.value is not None and flat.value is not None:
        least, most = sorted((porous.value, flat.value))
        spread = most - least
        if spread > 0.1 * abs(most):
            said.append("the two extrapolations differ by more than a tenth: sample faster")
    return tuple(said)


def order_of_resistances(
    *, steady: Quantity, interrupt: Quantity, high_frequency: Quantity
) -> tuple[str, ...]:
    """Whether three resistances of one cell stand in the only order they can.

    Parameters
    ----------
    steady : Quantity [ohm m^2]
        Straight part of the settled curve.
    interrupt : Quantity [ohm m^2]
        From a current interrupt.
    high_frequency : Quantity [ohm m^2]
        From a spectrum, where it crosses the real axis.

    Returns
    -------
    tuple of str
        What is out of order beyond its uncertainty; empty where all is in order or not known.

    Notes
    -----
    steady >= interrupt >= high frequency: each sees all that the next one sees. Two standard
    uncertainties of the difference are allowed, taken as independent.

    Examples
    --------
    >>> ohm = lambda x: Quantity(value=x, unit="ohm m^2", standard_uncertainty=1e-6)
    >>> order_of_resistances(steady=ohm(5e-4), interrupt=ohm(4e-4), high_frequency=ohm(3e-4))
    ()
    """
    faults: list[str] = []
    for name, larger, other, smaller in (
        ("steady curve", steady, "interrupt", interrupt),
        ("interrupt", interrupt, "high frequency", high_frequency),
        ("steady curve", steady, "high frequency", high_frequency),
    ):
        if larger.value is None or smaller.value is None:
            continue
        spread = math.hypot(larger.standard_uncertainty or 0.0, smaller.standard_uncertainty or 0.0)
        if smaller.value - larger.value > _APART * spread:
            faults.append(
                f"the resistance of the {name} is smaller than that of the {other}, which cannot be: "
                "one of the two was taken in another state, or with other leads"
            )
    return tuple(faults)
