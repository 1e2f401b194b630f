"""From fitted curves to logarithms at one voltage or current density, with every shared input named."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from aerode.errors import CannotTellError, InputError
from aerode.measure.area import Area, area_from_entry
from aerode.measure.comparison.entrants import temperature_of
from aerode.measure.curve import Curve, current_at_voltage, voltage_at_current
from aerode.measure.curve_posterior import CurvePosterior
from aerode.measure.fitted import fitted
from aerode.measure.readings import NOT_MEASURED, read_run
from aerode.measure.run_data import ReadingKind
from aerode.quantities import Reason
from aerode.records.electrodes import Sensing
from aerode.records.marks import Entry

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from aerode.measure.comparison.entrants import Entrant
    from aerode.records.instruments import Instrument

__all__ = [
    "Measured",
    "Response",
    "SharedInput",
    "TemperatureCoefficient",
    "gather_inputs",
    "lead_is_known",
    "lead_shift",
    "lead_to_take",
    "measure_run",
]

CUTTING_DIE = 0.03
"""Relative standard uncertainty of areas cut with one die and not measured. Common practice, no source."""
_LEADS_DIFFER = 0.4 / 12.0**0.5  # common practice, no source
"""[ohm] Standard uncertainty of what lies evenly between 0.1 and 0.5 ohm."""
_UNMEASURED_LEAD = Entry(value=0.3, standard_uncertainty=_LEADS_DIFFER, how=NOT_MEASURED)
"""[ohm] 0.1 to 0.5 ohm, evenly. Common practice, no source."""
_PART_OF_THE_CELL = Entry(value=0.0, standard_uncertainty=_LEADS_DIFFER, how=NOT_MEASURED)
"""[ohm] Nothing is taken off; the leads differ from piece to piece as far as `_UNMEASURED_LEAD` may."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TemperatureCoefficient:
    """How the response changes per kelvin, as stated by the person, with its standard uncertainty [1/K]."""

    value: float
    standard_uncertainty: float
    reference: float = 298.15  # judgement: a room of 25 degC
    """[K]; the temperature to which all values are brought."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Response:
    """What is compared: the current density at one voltage, or the voltage at one current density.

    Parameters
    ----------
    voltage : float or None [V]
        At the electrode's tab.
    current_density : float or None [A/m^2]
        Per wetted area. Exactly one of the two is given.
    per_area : bool
        False where the areas are only said to be alike: then the current of the whole piece.
    """

    voltage: float | None = None
    current_density: float | None = None
    per_area: bool = True

    def __post_init__(self) -> None:
        if (self.voltage is None) == (self.current_density is None):
            raise InputError(
                "a comparison is at one voltage or at one current density",
                where="at",
                allowed="one of the two, as in 0.45 V or 2 mA/cm^2",
            )
        if self.current_density is not None and not self.per_area:
            raise InputError(
                "without wetted areas nothing can be compared at one current density",
                where="at",
                next_step="measure the areas (ruler or photo, 5 min), or compare at a voltage",
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """One run brought to the common point.

    Parameters
    ----------
    entrant : Entrant
    fit : CurvePosterior
    area : Area or None
    log_value : float [ln(A/m^2), ln(A) or ln(V)]
    own : float [1]
        Standard deviation that this run shares with no other.
    shared : mapping of str to float
        d ln value per unit of each shared error ("noted or shown too high").
    area_slope : float [1]
        d ln value / d ln area.
    steps : mapping of str to float [1]
        By how much each correction moved it, as ratios after to before.
    """

    entrant: Entrant
    fit: CurvePosterior = field(repr=False)
    area: Area | None
    log_value: float
    own: float
    shared: Mapping[str, float]
    area_slope: float
    steps: Mapping[str, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class SharedInput:
    """An input that may be wrong, and what the logarithms of all runs do if it is noted larger.

    Parameters
    ----------
    name : str
        In words.
    sort : str
        "area", "area scale", "lead", "gain", "part", "burden", "temperature coefficient".
    unit : str
        SI unit of the change: "1" for relative, "ohm", "1/K".
    uncertainty : float [unit]
    slope : array (n,) [1/unit]
        Change of each logarithm per unit.
    """

    name: str
    sort: str
    unit: str
    uncertainty: float
    slope: NDArray[np.float64]


def lead_is_known(entrant: Entrant) -> bool:
    """Whether the resistance between tab and point of reading was measured."""
    tab = entrant.electrode.tab
    return (entrant.cell is not None and entrant.cell.lead_resistance is not None) or (
        tab is not None and tab.resistance is not None
    )


def lead_to_take(entrant: Entrant, *, some_known: bool) -> Entry | None:
    """What stands for the resistance between tab and point of reading; None where it was measured.

    Parameters
    ----------
    entrant : Entrant [record]
    some_known : bool
        Whether that of any other piece of the comparison was measured, so that all are brought to
        the tab.

    Returns
    -------
    Entry or None [ohm]
        Where nobody's was measured, voltages at the clips stay as they were read and the leads count
        as part of each cell, as in the fit of one run; how they differ is left open. With a sense
        wire the lead is in series with the load and cannot be left out.
    """
    if lead_is_known(entrant):
        return None
    sensing = Sensing.CLIPS if entrant.cell is None else entrant.cell.sensing
    return _PART_OF_THE_CELL if sensing is Sensing.CLIPS and not some_known else _UNMEASURED_LEAD


def measure_run(
    entrant: Entrant,
    instruments: Mapping[str, Instrument],
    response: Response,
    *,
    mean_area: float | None = None,
    temperature: TemperatureCoefficient | None = None,
    lead: Entry | None = None,
    seed: int = 1,
) -> Measured:
    """The fair value of one run: its fitted curve, read at the common point, per wetted area.

    Parameters
    ----------
    entrant : Entrant [record]
    instruments : mapping of name to Instrument
    response : Response
    mean_area : float, optional [m^2]
        The area that a person would take who did not measure each; for the table of corrections.
    temperature : TemperatureCoefficient, optional
        Stated by the person; the run must then have a measured temperature.
    lead : Entry, optional [ohm]
        Takes the place of the lead resistance of cell and tab: that of `lead_to_take`.
    seed : int [1]
        Of the dice that sample the curve.

    Returns
    -------
    Measured

    Raises
    ------
    CannotTellError
        With too few readings, outside what was measured, or without the wetted area.
    """
    data = read_run(
        entrant.run, instruments, electrode=entrant.electrode, cell=entrant.cell, lead=lead
    )
    area = data.area
    if response.per_area and area is None:
        raise CannotTellError(str(Reason.AREA_MISSING), where=entrant.electrode.name)
    fit = fitted(data, seed)
    at = _at_voltage(fit, response, area) if response.voltage else _at_current(fit, response, area)
    log_value, own, shared, area_slope = at
    steps = _steps(fit, response, area, mean_area)
    if temperature is not None:
        warmer = _temperature_of(entrant) - temperature.reference
        log_value -= temperature.value * warmer
        own = float(np.hypot(own, temperature.value * _temperature_uncertainty(entrant)))
        steps["temperature"] = float(np.exp(-temperature.value * warmer))
    return Measured(
        entrant=entrant,
        fit=fit,
        area=area,
        log_value=log_value,
        own=own,
        shared=shared,
        area_slope=area_slope,
        steps=steps,
    )


def _at_voltage(
    fit: CurvePosterior, response: Response, area: Area | None
) -> tuple[float, float, dict[str, float], float]:
    voltage = response.voltage or 0.0
    mean, _ = fit.log_current_at_voltage(voltage)
    value = mean - np.log(area.value) if response.per_area and area is not None else mean
    return (
        float(value),
        fit.independent_sd(voltage),
        fit.sensitivities_to_shared(voltage),
        -1.0,
    )


def _at_current(
    fit: CurvePosterior, response: Response, area: Area | None
) -> tuple[float, float, dict[str, float], float]:
    assert area is not None
    current = (response.current_density or 0.0) * area.value
    mean, sd = fit.voltage_at_current(current)
    if mean <= 0:
        raise CannotTellError(str(Reason.BEYOND_LIMIT), where=fit.data.source)
    q = _log_voltages(fit, current, mean)
    answer = fit.reading_response(q)
    shared = {e.name: float(answer @ e.effect) for e in fit.shared}
    known = sum((slope * fit.shared_uncertainties[name]) ** 2 for name, slope in shared.items())
    noise = float(np.square(answer) @ np.square(fit.data.noise))
    own = float(np.sqrt(max((sd / mean) ** 2 - known, noise)))
    step = 1e-3  # numerical
    wider = _log_voltages(fit, current * (1.0 + step), mean)
    slope = float(fit.weights @ (wider - q)) / float(np.log1p(step))
    return float(fit.weights @ q), own, shared, slope


def _log_voltages(fit: CurvePosterior, current: float, mean: float) -> NDArray[np.float64]:
    """ln V at a current on every curve; the mean stands in on the few curves that do not reach it."""
    reached = fit.curve.limiting_current > current * (1.0 + 1e-9)  # numerical
    q = np.full(reached.shape, np.log(mean))
    kept = Curve(
        fit.curve.intercept[reached],
        fit.curve.slope[reached],
        fit.curve.resistance[reached],
        fit.curve.limiting_current[reached],
    )
    volts = voltage_at_current(kept, [current])[:, 0]
    q[reached] = np.log(np.maximum(volts, 0.1 * mean))
    return q


def _steps(
    fit: CurvePosterior, response: Response, area: Area | None, mean_area: float | None
) -> dict[str, float]:
    """The corrections as ratios after to before: meter, lead, area."""
    steps = {"meter": _meter_step(fit, response, area), "lead": _lead_step(fit, response, area)}
    if response.per_area and area is not None and mean_area is not None:
        relative = area.value / mean_area
        if response.voltage is not None:
            steps["area"] = 1.0 / relative
        else:
            density = response.current_density or 0.0
            steps["area"] = _median_voltage(fit, density * area.value) / _median_voltage(
                fit, density * mean_area
            )
    return steps


def _median_voltage(fit: CurvePosterior, current: float) -> float:
    mean, _ = fit.voltage_at_current(current) if fit.covers_current(current) else (1.0, 0.0)
    return mean


def _lead_step(fit: CurvePosterior, response: Response, area: Area | None) -> float:
    """What reading at the tab instead of the clips changes: I r is added to the voltage."""
    if fit.data.sensing is Sensing.SENSE_WIRE or fit.data.lead_resistance <= 0:
        return 1.0
    behind = Curve(
        fit.curve.intercept,
        fit.curve.slope,
        fit.curve.resistance + fit.data.lead_resistance,
        fit.curve.limiting_current,
    )
    if response.voltage is not None:
        at_tab = np.log(current_at_voltage(fit.curve, [response.voltage])[:, 0])
        at_clip = np.log(current_at_voltage(behind, [response.voltage])[:, 0])
        return float(np.exp(fit.weights @ (at_tab - at_clip)))
    assert area is not None
    current = (response.current_density or 0.0) * area.value
    volts, _ = fit.voltage_at_current(current)
    return volts / max(volts - current * fit.data.lead_resistance, 0.1 * volts)


def lead_shift(one: Measured, response: Response, change: float) -> float:
    """What a tab and lead noted larger would change, for a voltage read at the clips.

    Parameters
    ----------
    one : Measured
    response : Response
    change : float [ohm]
        By how much the noted resistance would be larger.

    Returns
    -------
    float [1]
        Change of the logarithm.

    Notes
    -----
    The voltage at the tab rises by I times the change, so that every curve loses that much of its
    own resistance (down to nothing: a cell's resistance is not negative).
    """
    curve, weights = one.fit.curve, one.fit.weights
    lighter = Curve(
        curve.intercept,
        curve.slope,
        np.maximum(curve.resistance - change, 0.0),
        curve.limiting_current,
    )
    if response.voltage is not None:
        before, after = (
            np.log(current_at_voltage(c, [response.voltage])[:, 0]) for c in (curve, lighter)
        )
        return float(weights @ (after - before))
    assert one.area is not None
    current = (response.current_density or 0.0) * one.area.value
    volts, _ = one.fit.voltage_at_current(current)
    return float(np.log(max(volts + current * change, 1e-3 * volts) / volts))


def _meter_step(fit: CurvePosterior, response: Response, area: Area | None) -> float:
    """What the voltmeter's own current adds, or a burden takes: the meter is always in the circuit."""
    if (fit.data.kind == ReadingKind.AMMETER).any():
        return 1.0  # an ammeter across the cell is a point at its own burden; nothing is added
    if response.voltage is not None:
        mean, _ = fit.log_current_at_voltage(response.voltage)
        load = response.voltage / float(np.exp(mean))
        return 1.0 + load / fit.data.input_resistance
    return 1.0


def _temperature_of(entrant: Entrant) -> float:
    found = temperature_of(entrant.run)
    if found is None:
        raise CannotTellError(
            "a temperature coefficient was stated, but this run has no temperature",
            where=entrant.run.name,
            next_step="enter the temperature of the run, or leave the coefficient out",
        )
    return found


def _temperature_uncertainty(entrant: Entrant) -> float:
    stated = entrant.run.temperature.standard_uncertainty
    return 1.0 if stated is None else stated


def gather_inputs(
    measured: Sequence[Measured],
    *,
    per_area: bool = True,
    temperature: TemperatureCoefficient | None = None,
) -> tuple[SharedInput, ...]:
    """Every input that more than one number hangs on, once, with its slope for all runs.

    The area and the lead of an electrode are inputs of all its runs; the gain of a meter range and
    the value of each resistor are inputs of all runs that used them; the scale of a printed marker
    sheet is one input of all areas found by photo.

    Parameters
    ----------
    measured : sequence of n Measured
    per_area : bool
        False where areas are only said to be alike: then each has the spread of a cutting die.
    temperature : TemperatureCoefficient, optional

    Returns
    -------
    tuple of SharedInput
    """
    found: dict[str, SharedInput] = {}
    n = len(measured)

    def add(name: str, sort: str, unit: str, uncertainty: float, k: int, slope: float) -> None:
        if name not in found:
            found[name] = SharedInput(
                name=name, sort=sort, unit=unit, uncertainty=uncertainty, slope=np.zeros(n)
            )
        found[name].slope[k] = slope

    for k, one in enumerate(measured):
        _area_inputs(one, k, per_area, add)
        sizes = one.fit.shared_uncertainties
        for name, slope in one.shared.items():
            sort = name.split(" ", 1)[0]
            unit = "ohm" if sort == "lead" else "1"
            add(name, sort, unit, sizes[name], k, slope)
        if temperature is not None:
            add(
                "temperature coefficient",
                "temperature coefficient",
                "1/K",
                temperature.standard_uncertainty,
                k,
                temperature.reference - _temperature_of(one.entrant),
            )
    return tuple(entry for entry in found.values() if entry.uncertainty > 0)


def _area_inputs(one: Measured, k: int, per_area: bool, add: object) -> None:
    assert callable(add)
    electrode = one.entrant.electrode.name
    if not per_area:
        add(f"area of {electrode}", "area", "1", CUTTING_DIE, k, one.area_slope)
        return
    if one.area is None:
        return
    shared = one.area.shared_relative_uncertainty
    own = float(np.sqrt(max(one.area.relative_uncertainty**2 - shared**2, 0.0)))
    add(f"area of {electrode}", "area", "1", own, k, one.area_slope)
    if shared > 0:
        add(f"scale of the areas by {one.area.how}", "area scale", "1", shared, k, one.area_slope)


def area_of(entrant: Entrant) -> Area | None:
    """The wetted area of an entrant's electrode, None where it has none."""
    entry = entrant.electrode.wetted_area
    return None if entry is None else area_from_entry(entry)
