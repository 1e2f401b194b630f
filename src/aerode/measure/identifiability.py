"""What one run can tell of each parameter: a value with its interval, a bound, or the reason and the load that would show it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from aerode.measure.curve import Curve, current_through, largest_power, voltage_of_each
from aerode.measure.curve_posterior import CurvePosterior
from aerode.quantities import Reason
from aerode.records.results import Estimate
from aerode.stats.weighted import weighted_quantile

__all__ = [
    "LIMIT_RESOLVED",
    "Spread",
    "estimate",
    "intercept",
    "limit_is_resolved",
    "limiting_current",
    "load_that_shows_the_limit",
    "peak_power",
    "resistance",
    "scatter",
    "tafel_slope",
    "withheld",
]

Floats = NDArray[np.float64]

LIMIT_RESOLVED = 0.15  # judgement
"""Largest standard deviation of ln i_L at which a limiting current is given as a value. Beyond it
the interval would hang on what was assumed: the prior alone has about 0.6."""
_WOULD_SHOW = 0.06  # judgement
"""Standard deviation of ln i_L by Fisher information at which a run resolves it in nearly every draw
of its errors (`benchmarks/coverage_fit`): what a further load is chosen for."""
_WIDTH_KEPT = 0.35  # judgement
"""A parameter narrower than this share of its prior was found by the readings."""
_SCATTER_KEPT = 0.6  # judgement
_RELATIVE_WIDTH = 0.35  # judgement
"""The same for what has a flat prior: relative to its value."""
_INTERCEPT_WIDTH = 0.05  # judgement
"""[V]"""
_PEAK_SEEN = 0.9  # judgement
"""Probability, on the fitted curves, that the summit of the power lies inside what was measured."""
_PEAK_MARGIN = 1.1  # judgement
_BOUND = 0.01  # judgement
"""Probability left below a lower bound. One in a hundred, so that it holds in 95 of 100 also where
the bound is most delicate, just before the limit is resolved (`benchmarks/coverage_fit`)."""

# The loads people have, a sixth of a decade apart and smaller [ohm] (the E6 series of IEC 60063).
_SERIES = (1.0, 1.5, 2.2, 3.3, 4.7, 6.8)  # by definition
_SMALLEST_LOAD = 0.1  # judgement


@dataclass(frozen=True, slots=True)
class Spread:
    """One quantity on every curve, with the curves' weights.

    Parameters
    ----------
    values : array (m,) [any]
    weights : array (m,) [1]
        Summing to one.
    """

    values: Floats
    weights: Floats

    @property
    def mean(self) -> float:
        """[same as values]"""
        return float(self.weights @ self.values)

    @property
    def standard_deviation(self) -> float:
        """[same as values]"""
        return float(np.sqrt(self.weights @ np.square(self.values - self.mean)))

    def quantile(self, probability: float) -> float:
        """[same as values]"""
        return float(weighted_quantile(self.values, self.weights, probability))

    def middle_and_interval(self) -> tuple[float, float, float]:
        """Median, and both ends of the 95 % interval with equal tails [same as values]."""
        # the usual level: judgement
        low, middle, high = weighted_quantile(self.values, self.weights, [0.025, 0.5, 0.975])
        return float(middle), float(low), float(high)


def estimate(spread: Spread, unit: str, meaning: str = "") -> Estimate:
    """A spread as a printed estimate: median, standard deviation, interval with equal tails.

    Parameters
    ----------
    spread : Spread [unit]
    unit : str
    meaning : str
        What the number is, in words.

    Returns
    -------
    Estimate
    """
    middle, low, high = spread.middle_and_interval()
    return Estimate(
        value=middle,
        unit=unit,
        standard_uncertainty=spread.standard_deviation,
        interval_95=(low, high),
        meaning=meaning,
    )


def withheld(
    unit: str, reason: str, *, meaning: str = "", lower_bound: float | None = None
) -> Estimate:
    """No value, and why; a lower bound where one can be told.

    Parameters
    ----------
    unit : str
    reason : str
        What happened and what to do.
    meaning : str
        What the number would be.
    lower_bound : float, optional [unit]

    Returns
    -------
    Estimate
    """
    return Estimate(
        value=None,
        unit=unit,
        identifiable=False,
        reason=reason,
        lower_bound=lower_bound,
        meaning=meaning,
    )


def _spread(posterior: CurvePosterior, values: Floats) -> Spread:
    return Spread(values, posterior.weights)


def limit_is_resolved(posterior: CurvePosterior) -> bool:
    """Whether the readings themselves say where the limiting current is.

    Parameters
    ----------
    posterior : CurvePosterior

    Returns
    -------
    bool
    """
    logs = _spread(posterior, np.log(posterior.curve.limiting_current))
    return logs.standard_deviation <= LIMIT_RESOLVED


def tafel_slope(posterior: CurvePosterior) -> Estimate:
    """The effective slope of the kinetics, b ln 10.

    Parameters
    ----------
    posterior : CurvePosterior

    Returns
    -------
    Estimate [V/decade]
        Without a value where the readings hardly narrowed what was assumed of it.
    """
    meaning = (
        "effective slope of the whole cell's kinetics, that is of what the voltage loses to drive "
        "the reactions themselves; it may be a doubled one"
    )
    logs = _spread(posterior, np.log(posterior.curve.slope))
    if logs.standard_deviation > _WIDTH_KEPT * posterior.priors.slope_spread:
        return withheld("V", str(Reason.PRIOR_KEPT), meaning=meaning)
    # a decade, by definition
    return estimate(_spread(posterior, posterior.curve.slope * np.log(10.0)), "V", meaning)


def resistance(posterior: CurvePosterior, area: Floats | float, unit: str) -> Estimate:
    """The linear resistance, under the name of what is really known of it.

    Parameters
    ----------
    posterior : CurvePosterior
    area : float or array (m,) [cm^2]
        One where the resistance of the whole electrode is asked for.
    unit : str
        "ohm cm^2" or "ohm".

    Returns
    -------
    Estimate
        R where the limiting current is resolved, R + b/i_L otherwise; `meaning` says which.
    """
    if limit_is_resolved(posterior):
        values = posterior.curve.resistance
        meaning = "of the whole cell, all that rises in proportion to the current"
    else:
        values = posterior.resistance_apparent
        meaning = (
            "of the whole cell and part of the air supply: no load came near the limiting "
            "current, so that part cannot be told apart"
        )
    spread = _spread(posterior, values * area)
    if spread.standard_deviation > _RELATIVE_WIDTH * spread.mean:
        return withheld(unit, str(Reason.PRIOR_KEPT), meaning=meaning)
    return estimate(spread, unit, meaning)


def limiting_current(
    posterior: CurvePosterior, per: Floats | float, unit: str, *, as_noted: float
) -> Estimate:
    """The limiting current as a value, or as a lower bound.

    A bound is never below the largest current that was read: it was drawn. Per area that one is taken
    over the area as noted, as every reading is; how well the area is known moves both alike.

    Parameters
    ----------
    posterior : CurvePosterior
    per : float or array (m,) [mA or mA/cm^2, per A]
        Factor from ampere of the whole electrode to `unit`.
    unit : str
    as_noted : float [mA or mA/cm^2, per A]
        The same factor for what was read.

    Returns
    -------
    Estimate
    """
    meaning = "current at which oxygen no longer keeps up"
    spread = _spread(posterior, posterior.curve.limiting_current * per)
    if limit_is_resolved(posterior):
        told = estimate(spread, unit, meaning)
        # a thin tail of large limits stays possible: it would rule a plain standard deviation
        relative = _spread(posterior, np.log(spread.values)).standard_deviation
        return replace(told, standard_uncertainty=relative * (told.value or 0.0))
    _, seen = posterior.data.tab_points()
    bound = max(spread.quantile(_BOUND), as_noted * float(seen.max()))
    return withheld(unit, str(Reason.LIMIT_NOT_REACHED), meaning=meaning, lower_bound=bound)


def peak_power(posterior: CurvePosterior, per: Floats | float, unit: str) -> Estimate:
    """The largest power, where the measured loads went past it; a lower bound otherwise.

    A power that the readings themselves never saw fall is not given as a value, whatever the fitted
    curve says beyond the last load.

    Parameters
    ----------
    posterior : CurvePosterior
    per : float or array (m,) [mW or mW/cm^2, per W]
        Factor from watt of the whole electrode to `unit`.
    unit : str

    Returns
    -------
    Estimate
    """
    meaning = "largest power at the tab, of the whole cell"
    power, current = largest_power(posterior.curve)
    volts_read, seen = posterior.data.tab_points()
    top = float(seen.max())
    rising = float(seen[np.argmax(volts_read * seen)]) >= top  # no smaller load has shown it fall
    inside = float(posterior.weights @ (current <= _PEAK_MARGIN * top))
    if inside >= _PEAK_SEEN and not rising:
        return estimate(_spread(posterior, power * per), unit, meaning)
    reached = np.minimum(top, 0.999 * posterior.curve.limiting_current)  # numerical
    volts = voltage_of_each(posterior.curve, reached)
    bound = _spread(posterior, reached * volts * per).quantile(0.05)  # the usual level: judgement
    reason = "still rising at the smallest resistor; measure smaller ones until it falls again"
    return withheld(unit, reason, meaning=meaning, lower_bound=bound)


def intercept(posterior: CurvePosterior, current: Floats | float, words: str) -> Estimate:
    """The kinetic line at a stated current, with neither resistance nor transport.

    Parameters
    ----------
    posterior : CurvePosterior
    current : float or array (m,) [A]
    words : str
        The stated current in words ("1 mA/cm^2").

    Returns
    -------
    Estimate [V]
    """
    meaning = f"kinetic line at {words}, without resistance and transport; never open circuit"
    values = posterior.curve.intercept - posterior.curve.slope * np.log(current)
    spread = _spread(posterior, values)
    if spread.standard_deviation > _INTERCEPT_WIDTH:
        return withheld("V", str(Reason.PRIOR_KEPT), meaning=meaning)
    return estimate(spread, "V", meaning)


def scatter(posterior: CurvePosterior) -> Estimate:
    """The scatter of single readings about the curve.

    Parameters
    ----------
    posterior : CurvePosterior

    Returns
    -------
    Estimate [V]
    """
    meaning = "standard deviation of a single reading about the curve"
    logs = _spread(posterior, np.log(posterior.scatter))
    if logs.standard_deviation > _SCATTER_KEPT * posterior.priors.scatter_spread:
        return withheld("V", str(Reason.TOO_FEW_POINTS), meaning=meaning)
    return estimate(_spread(posterior, posterior.scatter), "V", meaning)


def load_that_shows_the_limit(
    posterior: CurvePosterior, *, exact_resistors: bool = False
) -> tuple[float, float] | None:
    """The largest further resistor that would resolve the limiting current, if it is where it may well be.

    Parameters
    ----------
    posterior : CurvePosterior
    exact_resistors : bool
        As if every resistor had been measured.

    Returns
    -------
    tuple of float, or None
        Resistor [ohm] down to which to measure, and the limiting current [A] that this would show:
        the median of those still possible. None if no load down to 0.1 ohm would.

    Notes
    -----
    Loads of the E6 series (IEC 60063) below the smallest one are added one by one; the standard
    deviation of ln i_L follows from the Fisher information of all readings on the curve of posterior
    medians, with the run's own scatter and its shared errors.
    """
    middle = Curve.of(
        *(
            _spread(posterior, values).quantile(0.5)
            for values in (
                posterior.curve.intercept,
                posterior.curve.slope,
                posterior.curve.resistance,
                posterior.curve.limiting_current,
            )
        )
    )
    tab, seen = posterior.data.tab_points()
    loads = list(tab / seen)
    noise = _spread(posterior, posterior.scatter).quantile(0.5)
    parts = posterior.data.part_uncertainty
    part = 0.0 if exact_resistors or not parts.size else float(np.median(parts))
    for extra in _smaller_loads(float(min(loads)) - posterior.data.lead_resistance):
        loads.append(extra + posterior.data.lead_resistance)
        if _information_sd(middle, np.array(loads), noise, posterior, part) <= _WOULD_SHOW:
            return extra, float(middle.limiting_current[0])
    return None


def _smaller_loads(smallest: float) -> list[float]:
    decades = (10.0**n for n in range(5, -2, -1))
    series = [step * decade for decade in decades for step in reversed(_SERIES)]
    return [load for load in series if _SMALLEST_LOAD <= load < 0.95 * smallest]  # judgement


def _information_sd(
    curve: Curve, loads: Floats, scatter: float, posterior: CurvePosterior, part: float
) -> float:
    """Standard deviation of ln i_L from the Fisher information of readings at these loads."""
    step = 1e-5  # numerical
    center = np.array([curve.intercept[0], curve.slope[0], curve.resistance[0], 0.0])
    scale = np.array([1.0, curve.slope[0], max(float(curve.resistance[0]), 0.1), 1.0])  # numerical
    moves = np.concatenate([np.eye(4), -np.eye(4)]) * step * scale + center
    limit = curve.limiting_current[0] * np.exp(moves[:, 3])
    rows = Curve.of(moves[:, 0], moves[:, 1], moves[:, 2], limit)
    volts = current_through(rows, loads) * loads
    slope = (volts[:4] - volts[4:]).T / (2.0 * step)
    up = current_through(curve, loads * (1.0 + step))[0] * loads * (1.0 + step)
    by_part = (up - current_through(curve, loads)[0] * loads) / step * part
    variance = scatter**2 + float(np.mean(np.square(posterior.data.noise))) + np.square(by_part)
    information = (slope / variance[:, None]).T @ slope
    information[1, 1] += 1.0 / posterior.priors.slope_spread**2
    covariance: Floats = np.asarray(np.linalg.pinv(information), dtype=np.float64)
    return float(np.sqrt(covariance[3, 3]))
