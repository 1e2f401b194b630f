"""From the readings of one run to the whole answer of `fit`: parameters, curve with its band, losses, advice."""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from aerode import units
from aerode.errors import CannotTellError
from aerode.measure import identifiability as known
from aerode.measure.curve_posterior import CurvePosterior
from aerode.measure.fit_advice import advice, how_to_repeat, repeats_apart, warnings_of
from aerode.measure.fitted import fitted
from aerode.measure.identifiability import Spread, estimate, withheld
from aerode.measure.losses import loss_shares
from aerode.measure.run_data import Point, RunData
from aerode.quantities import Basis, Reason
from aerode.records.fits import CurveBand, Fit, FitPoint, LossShare, VoltageAt
from aerode.records.results import Estimate

__all__ = ["AskedCurrent", "fit"]

Floats = NDArray[np.float64]

_BAND_POINTS = 32  # numerical
_AREA_ALONE = 4
"""The stream of dice for the area, apart from the curve's."""
_ROUND = (1.0, 2.0, 5.0)  # by definition: round figures
_MOST_ROUND = 4
_USUAL_DENSITY, _USUAL_CURRENT = 1.0, 10.0  # judgement
"""Where headlines read the curve if they can, so that those of two runs can be read side by side [mA/cm^2], [mA]."""
_INSIDE = 0.95  # judgement
_LONGEST = 100
"""Characters of a headline; judgement."""
_TWO_SIDED = 1.96
"""Standard deviations to either end of a 95 % interval of a normal distribution, by definition."""


@dataclass(frozen=True, slots=True)
class AskedCurrent:
    """One current at which the voltage is asked for.

    Parameters
    ----------
    value : float [A or A/m^2]
    per_area : bool
        True for a current density.
    """

    value: float
    per_area: bool


@dataclass(frozen=True, slots=True)
class _Scale:
    """How results are given: per square centimetre where the area is known, else per electrode."""

    area: float | None
    """[m^2]"""
    spread: Floats | float
    """Factor on the area for each curve."""

    @property
    def per_area(self) -> bool:
        return self.area is not None

    @property
    def current_unit(self) -> str:
        return "mA/cm^2" if self.per_area else "mA"

    @property
    def power_unit(self) -> str:
        return "mW/cm^2" if self.per_area else "mW"

    @property
    def square_centimetres(self) -> Floats | float:
        """Area of each curve [cm^2]; one without an area."""
        return 1.0 if self.area is None else 1e4 * self.area * self.spread

    @property
    def milli(self) -> Floats | float:
        """Factor from A or W to `current_unit` or `power_unit`."""
        return 1e3 / self.square_centimetres  # by definition: mA

    @property
    def milli_noted(self) -> float:
        """The same for what was read: over the area as noted."""
        return 1e3 if self.area is None else 1e3 / (1e4 * self.area)  # by definition: mA

    def shown(self, current: float) -> str:
        """A current of the electrode in words [A]."""
        return f"{self.milli_noted * current:.3g} {self.current_unit}"


def fit(
    data: RunData,
    *,
    at: tuple[AskedCurrent, ...] = (),
    seed: int = 1,
    at_hand: Collection[float] = (),
) -> Fit:
    """What one run tells: each parameter with its interval or the reason why it cannot be told.

    Parameters
    ----------
    data : RunData
        The readings.
    at : tuple of AskedCurrent
        Where the voltage is asked for; round currents inside the range otherwise.
    seed : int [1]
        Of the dice: equal seeds give equal answers.
    at_hand : collection of float [ohm]
        The resistors that the person owns, for the advice; none where that is not known.

    Returns
    -------
    Fit
        Also where the sample is too poor for intervals: then every parameter carries the reason.

    Raises
    ------
    CannotTellError
        With fewer than three usable loads.

    Notes
    -----
    Everything is fitted in currents of the whole electrode; the area multiplies afterwards, with
    its own uncertainty. Without an area the per-area keys carry the reason, the others their value.

    Examples
    --------
    >>> from aerode.measure.readings import read_run
    >>> from aerode.records.runs import Reading, Run
    >>> volts = {470: 0.649, 220: 0.597, 100: 0.540, 47: 0.467, 22: 0.381, 10: 0.270, 4.7: 0.168}
    >>> run = Run(name="A", readings=tuple(
    ...     Reading(resistance=r, voltage=v) for r, v in volts.items()))
    >>> answer = fit(read_run(run, {}, resistor_tolerance=0.01))
    >>> answer.parameters["tafel_slope_V_decade"].identifiable
    True
    >>> answer.parameters["peak_power_density_mW_cm2"].reason[:26]
    'no wetted area is known, s'
    """
    posterior = fitted(data, seed)
    scale = _scale(data, posterior, seed)
    if posterior.reason is not None:
        return _withheld_fit(data, posterior, posterior.reason)
    asked = at or _round_currents(data, scale)
    losses_at = _losses_at(posterior, asked, scale)
    told = _parameters(posterior, scale)
    more = advice(posterior, told, scale.shown, at_hand)
    why = _why_no_limit(told, more)
    parameters = {key: _with_why(one, why) for key, one in told.items()}
    voltage_at = tuple(_voltage_at(posterior, one, scale) for one in asked)
    return Fit(
        headline=_headline(data, parameters, voltage_at, scale, asked=bool(at)),
        source=data.source,
        electrode=data.electrode,
        wetted_area_cm2=_area(data),
        parameters=parameters,
        voltage_at=voltage_at,
        losses=tuple(
            replace(part, voltage=_with_why(part.voltage, why))
            for part in _losses(posterior, losses_at, scale)
        ),
        losses_at=_asked_estimate(losses_at, scale),
        points=tuple(_fit_point(p) for p in data.points),
        curve=_band(posterior, scale),
        effective_sample_size=round(posterior.effective_sample_size, 1),
        advice=more,
        warnings=warnings_of(posterior),
        assumptions=(*data.assumptions, *_model_said(posterior)),
    )


def _why_no_limit(told: dict[str, Estimate], more: tuple[str, ...]) -> str:
    """Why there is no limiting current, with what the advice says of it; "" where there is one."""
    if told["limiting_current_mA"].value is not None:
        return ""
    return f"{str(Reason.LIMIT_NOT_REACHED).partition(';')[0]}; {more[0]}"


def _with_why(one: Estimate, why: str) -> Estimate:
    """What lacks the limiting current says the same of it as the advice does."""
    lacks = bool(why) and one.reason == str(Reason.LIMIT_NOT_REACHED)
    return replace(one, reason=why) if lacks else one


def _scale(data: RunData, posterior: CurvePosterior, seed: int) -> _Scale:
    if data.area is None:
        return _Scale(None, 1.0)
    dice = np.random.default_rng([seed, _AREA_ALONE])
    sigma = math.sqrt(math.log1p(data.area.relative_uncertainty**2))
    spread = np.exp(sigma * dice.standard_normal(posterior.weights.size) - 0.5 * sigma**2)
    return _Scale(data.area.value, spread)


def _area(data: RunData) -> Estimate:
    if data.area is None:
        return withheld("cm^2", str(Reason.AREA_MISSING), meaning="wetted area")
    value, u = 1e4 * data.area.value, 1e4 * data.area.standard_uncertainty
    return Estimate(
        value=value,
        unit="cm^2",
        standard_uncertainty=u,
        interval_95=(value - _TWO_SIDED * u, value + _TWO_SIDED * u),
        meaning="wetted area" + (f", {data.area.how}" if data.area.how else ""),
        basis=Basis.ASSUMED if data.area.assumed else Basis.MEASURED,
    )


_AREA_KEYS = {
    "area_specific_resistance_ohm_cm2": "ohm cm^2",
    "limiting_current_density_mA_cm2": "mA/cm^2",
    "peak_power_density_mW_cm2": "mW/cm^2",
}


def _parameters(posterior: CurvePosterior, scale: _Scale) -> dict[str, Estimate]:
    """Every key of the answer: whole-electrode figures always, per-area ones with their reason."""
    cm2, per = scale.square_centimetres, scale.milli
    one_milliampere = 1e-3 * cm2
    milli = 1e3  # by definition
    found = {
        "tafel_slope_V_decade": known.tafel_slope(posterior),
        "resistance_ohm": known.resistance(posterior, 1.0, "ohm"),
        "limiting_current_mA": known.limiting_current(posterior, milli, "mA", as_noted=milli),
        "peak_power_mW": known.peak_power(posterior, milli, "mW"),
        "intercept_V": known.intercept(posterior, one_milliampere, f"1 {scale.current_unit}"),
        "scatter_V": known.scatter(posterior),
    }
    if scale.per_area:
        found["area_specific_resistance_ohm_cm2"] = known.resistance(posterior, cm2, "ohm cm^2")
        found["limiting_current_density_mA_cm2"] = known.limiting_current(
            posterior, per, "mA/cm^2", as_noted=scale.milli_noted
        )
        found["peak_power_density_mW_cm2"] = known.peak_power(posterior, per, "mW/cm^2")
    else:
        for key, unit in _AREA_KEYS.items():
            found[key] = withheld(unit, str(Reason.AREA_MISSING))
    return {key: found[key] for key in _ORDER}


_ORDER = (
    "tafel_slope_V_decade",
    "area_specific_resistance_ohm_cm2",
    "resistance_ohm",
    "limiting_current_density_mA_cm2",
    "limiting_current_mA",
    "peak_power_density_mW_cm2",
    "peak_power_mW",
    "intercept_V",
    "scatter_V",
)


def _round_currents(data: RunData, scale: _Scale) -> tuple[AskedCurrent, ...]:
    """Round figures inside the measured range, the larger ones first to be kept."""
    _, seen = data.tab_points()
    low, high = 1e3 * float(seen.min()), 1e3 * _INSIDE * float(seen.max())  # by definition: mA
    if scale.area is not None:
        low, high = low / (1e4 * scale.area), high / (1e4 * scale.area)
    decades = range(math.floor(math.log10(low)), math.ceil(math.log10(high)) + 1)
    inside = [d * 10.0**n for n in decades for d in _ROUND if low <= d * 10.0**n <= high]
    kept = inside[-_MOST_ROUND:] or [math.sqrt(low * high)]
    factor = 10.0 if scale.per_area else 1e-3  # by definition, A/m^2 of mA/cm^2 and A of mA
    return tuple(AskedCurrent(value * factor, scale.per_area) for value in kept)


def _in_amperes(one: AskedCurrent, scale: _Scale) -> float | None:
    """The current of the whole electrode [A]; None for a density without an area."""
    if not one.per_area:
        return one.value
    return None if scale.area is None else one.value * scale.area


def _spread_of(one: AskedCurrent, scale: _Scale) -> Floats | float:
    """A density is exact, so the electrode's current carries the area's uncertainty; a current does not."""
    return scale.spread if one.per_area else 1.0


def _asked_estimate(one: AskedCurrent, scale: _Scale) -> Estimate:
    if one.per_area:
        return Estimate(value=0.1 * one.value, unit="mA/cm^2", basis=Basis.ASSUMED, meaning="asked")
    return Estimate(value=1e3 * one.value, unit="mA", basis=Basis.ASSUMED, meaning="asked")


def _voltage_at(posterior: CurvePosterior, one: AskedCurrent, scale: _Scale) -> VoltageAt:
    shown = _asked_estimate(one, scale)
    power_unit = "mW/cm^2" if one.per_area else "mW"
    current = _in_amperes(one, scale)
    try:
        if current is None:
            raise CannotTellError(str(Reason.AREA_MISSING))
        values, weights = posterior.voltages_at(current, _spread_of(one, scale))
    except CannotTellError as refusal:
        said = refusal.what + (f" (measured: {refusal.allowed})" if refusal.allowed else "")
        return VoltageAt(
            current=shown, voltage=withheld("V", said), power=withheld(power_unit, said)
        )
    volts = Spread(values, weights)
    power = Spread(values * (shown.value or 0.0), weights)
    return VoltageAt(
        current=shown,
        voltage=estimate(volts, "V", "at the tab, whole cell"),
        power=estimate(power, power_unit),
    )


def _losses_at(
    posterior: CurvePosterior, asked: tuple[AskedCurrent, ...], scale: _Scale
) -> AskedCurrent:
    """The largest asked current that can be told; the largest measured one if there is none."""
    inside = [
        one
        for one in asked
        if (current := _in_amperes(one, scale)) is not None and posterior.tells_voltage_at(current)
    ]
    if inside:
        return max(inside, key=lambda one: _in_amperes(one, scale) or 0.0)
    _, seen = posterior.data.tab_points()
    limits = Spread(posterior.curve.limiting_current, posterior.weights)
    top = min(float(seen.max()), _INSIDE * limits.quantile(1.0 - _INSIDE))
    return AskedCurrent(top if scale.area is None else top / scale.area, scale.per_area)


def _losses(posterior: CurvePosterior, one: AskedCurrent, scale: _Scale) -> tuple[LossShare, ...]:
    _, seen = posterior.data.tab_points()
    current = _in_amperes(one, scale) or float(seen.max())
    return loss_shares(posterior, current, _spread_of(one, scale), scale.shown(float(seen.min())))


def _band(posterior: CurvePosterior, scale: _Scale) -> CurveBand:
    _, seen = posterior.data.tab_points()
    current = np.geomspace(float(seen.min()), float(seen.max()), _BAND_POINTS)
    rows = [
        Spread(
            np.maximum(posterior.voltages_or_none(float(i), scale.spread)[0], 0.0),
            posterior.weights,
        ).middle_and_interval()
        for i in current
    ]
    shown = current if scale.area is None else current / scale.area
    return CurveBand(
        per_area=scale.per_area,
        current=tuple(float(i) for i in shown),
        voltage=tuple(middle for middle, _, _ in rows),
        voltage_low=tuple(low for _, low, _ in rows),
        voltage_high=tuple(high for _, _, high in rows),
    )


def _fit_point(point: Point) -> FitPoint:
    return FitPoint(
        load=point.load,
        load_resistance=point.load_resistance,
        voltage=point.voltage,
        voltage_uncertainty=point.voltage_uncertainty,
        current=point.current,
        current_uncertainty=point.current_uncertainty,
        corrected_voltage=point.tab_voltage,
        used=point.used,
        why_not=point.why_not,
        text=point.text,
    )


def _headline(
    data: RunData,
    parameters: dict[str, Estimate],
    voltage_at: tuple[VoltageAt, ...],
    scale: _Scale,
    *,
    asked: bool,
) -> str:
    """The verdict: a voltage, the peak, what is not known; at most a hundred characters."""
    parts: list[str] = []
    told = [v for v in voltage_at if v.voltage.value is not None]
    if told:
        usual = _USUAL_DENSITY if scale.per_area else _USUAL_CURRENT
        first = told[0] if asked else min(told, key=lambda one: _away(one.current.value, usual))
        volts = units.write(first.voltage.value or 0.0, "V", first.voltage.standard_uncertainty)
        parts.append(f"{volts} at {first.current.value:g} {first.current.unit}")
    if apart := repeats_apart(data):
        parts.append(apart)
    peak = parameters["peak_power_density_mW_cm2" if scale.per_area else "peak_power_mW"]
    if peak.value is not None:
        parts.append("peak " + units.write(peak.value, peak.unit, peak.standard_uncertainty))
    elif peak.lower_bound is not None:
        parts.append(f"peak at least {units.bound(peak.lower_bound)} {peak.unit}, still rising")
    limit = parameters[
        "limiting_current_density_mA_cm2" if scale.per_area else "limiting_current_mA"
    ]
    if limit.lower_bound is not None:
        parts.append(f"limit above {units.bound(limit.lower_bound)} {limit.unit}")
    name = data.electrode or data.source
    text = f"{name}: " + ", ".join(parts)
    while len(text) > _LONGEST and len(parts) > 1:
        parts.pop()
        text = f"{name}: " + ", ".join(parts)
    return text[:_LONGEST]


def _away(current: float | None, usual: float) -> float:
    """How far a current is from the usual one, in logarithms: headlines are read side by side."""
    return abs(math.log(current / usual)) if current else math.inf


def _model_said(posterior: CurvePosterior) -> tuple[str, ...]:
    priors = posterior.priors
    low, high = (
        1e3 * math.log(10) * priors.slope_median * math.exp(sign * _TWO_SIDED * priors.slope_spread)
        for sign in (-1.0, 1.0)
    )
    return (
        "one curve for the whole cell: a steep start (slope b), a straight part (resistance R) and a bend "
        "where the air no longer keeps up (limiting current i_L): V = A - b ln i - i R + b ln(1 - i/i_L)",
        f"before the readings: slope {low:.0f} to {high:.0f} mV/decade (95 %), limiting current "
        f"anywhere up to {priors.largest_limiting_current:.3g} A, smaller ones likelier "
        f"(density of ln i_L falls as i_L^-{priors.limit_fall:g})",
    )


def _withheld_fit(data: RunData, posterior: CurvePosterior, reason: str) -> Fit:
    """The answer without intervals: every parameter with the reason."""
    unit = {**_AREA_KEYS, "tafel_slope_V_decade": "V", "resistance_ohm": "ohm",
            "limiting_current_mA": "mA", "peak_power_mW": "mW", "intercept_V": "V", "scatter_V": "V"}  # fmt: skip
    return Fit(
        headline=f"{data.electrode or data.source}: no honest interval from these readings"[
            :_LONGEST
        ],
        source=data.source,
        electrode=data.electrode,
        wetted_area_cm2=_area(data),
        parameters={key: withheld(unit[key], reason) for key in _ORDER},
        points=tuple(_fit_point(p) for p in data.points),
        effective_sample_size=round(posterior.effective_sample_size, 1),
        advice=(how_to_repeat(data),),
        warnings=data.warnings,
        assumptions=data.assumptions,
    )
