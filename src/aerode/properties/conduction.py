"""The conductivity of salt solutions, and the strength behind a conductivity reading."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from aerode.errors import RangeError
from aerode.physics import electrolyte_conductivity
from aerode.physics.water import ZERO_CELSIUS
from aerode.properties import sea_water
from aerode.properties.answers import (
    PropertyAnswer,
    computed_answer,
    missing,
    range_warnings,
    si_value,
    worst_status,
)
from aerode.properties.solutions import Solution, solution
from aerode.quantities import Basis, Quantity, Reason
from aerode.reference import PublishedRow, ValidRange, published, select

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = [
    "calibration_conductivity",
    "calibration_factor",
    "conductivity",
    "second_opinion",
    "strength_from_conductivity",
]

_ONE_TEMPERATURE = 0.05  # K, judgement: so far a value tabulated at one temperature holds (0.1 %)
_KOHLRAUSCH_TEMPERATURE = 18.0 + ZERO_CELSIUS  # temperature of that table, named in its rows


def conductivity(brine: Solution) -> PropertyAnswer:
    """The conductivity of a solution, with its stated uncertainty.

    Parameters
    ----------
    brine : Solution
        Sodium chloride, potassium hydroxide, sodium hydroxide or sea water.

    Returns
    -------
    PropertyAnswer [S/m]
        NaCl: fit to handbook rows, +-2 %. KOH: Gilliam, +-7 %. NaOH: McCleskey to 1 mol/kg,
        above it a table from memory to 40 % by mass, beyond it no number. Sea water: the practical salinity scale.

    Examples
    --------
    >>> conductivity(solution("NaCl", 298.15, mass_fraction=0.035)).quantity.written(to="mS/cm")
    '56.13 ± 0.65 mS/cm'
    """
    if brine.practical_salinity is not None:
        return sea_water.conductivity(brine.temperature, brine.practical_salinity)
    if brine.salt == "sodium chloride":
        return _sodium_chloride(brine)
    if brine.salt == "potassium hydroxide":
        return _potassium_hydroxide(brine)
    if brine.salt == "sodium hydroxide":
        return _sodium_hydroxide(brine)
    return missing("S/m", Reason.NO_SOURCE)


def _mccleskey(salt: str) -> tuple[PublishedRow, float]:
    """The McCleskey row of a salt and the upper end of its span [mol/kg]."""
    row = published(salt, "conductivity", equation="McCleskey")
    spans = {span.variable: span for span in row.valid_range}
    return row, spans["molality"].high


def _sodium_chloride(brine: Solution) -> PropertyAnswer:
    lead = published("sodium chloride", "conductivity", equation="molar polynomial at 20 degC")
    dilute, start = _mccleskey("sodium chloride")
    end = published("sodium chloride", "conductivity_blend_molality")
    value = electrolyte_conductivity.conductivity_nacl(
        brine.molarity_at(20.0 + ZERO_CELSIUS),
        brine.molality,
        brine.temperature,
        polynomial=lead.values,
        mccleskey=dilute.values,
        start_molality=start,
        end_molality=si_value(end.value or 0.0, end.unit),
    )
    return computed_answer(float(value), "S/m", [lead, dilute, end], brine.state)


def second_opinion(brine: Solution) -> PropertyAnswer:
    """Another equation for the conductivity of sodium chloride solutions, to compare.

    Parameters
    ----------
    brine : Solution
        A sodium chloride solution.

    Returns
    -------
    PropertyAnswer [S/m]
        Sen and Goode 1992, +-5 %; no number for other salts.

    Examples
    --------
    >>> round(second_opinion(solution("NaCl", 293.15, mass_fraction=0.01)).value, 2)
    1.6
    """
    if brine.salt != "sodium chloride":
        return missing("S/m", Reason.NO_SOURCE)
    row = published("sodium chloride", "conductivity", equation="Sen-Goode")
    value = electrolyte_conductivity.conductivity_sen_goode(
        brine.molality, brine.temperature, row.values
    )
    state = brine.state | {"molality": brine.molality}
    return computed_answer(float(value), "S/m", [row], state)


def _potassium_hydroxide(brine: Solution) -> PropertyAnswer:
    row = published("potassium hydroxide", "conductivity", equation="Gilliam")
    molarity = brine.molarity
    value = electrolyte_conductivity.conductivity_gilliam(molarity, brine.temperature, row.values)
    state = brine.state | {"molarity": molarity}
    return computed_answer(float(value), "S/m", [row], state)


def _sodium_hydroxide(brine: Solution) -> PropertyAnswer:
    dilute, end = _mccleskey("sodium hydroxide")
    state = brine.state | {"molality": brine.molality}
    if brine.molality <= end:
        per_mole = electrolyte_conductivity.molar_conductivity_mccleskey(
            brine.molality, brine.temperature, dilute.values
        )
        return computed_answer(float(per_mole) * brine.molarity, "S/m", [dilute], state)
    strengths, values, rows = _kohlrausch(brine.temperature)
    edge = solution("sodium hydroxide", brine.temperature, molality=end)
    table = [(w, k) for w, k in zip(strengths, values, strict=True) if w > edge.mass_fraction]
    nodes = [edge.mass_fraction, *(w for w, _ in table)]
    spans = (
        ValidRange("temperature", 278.15, 313.15, "K"),
        ValidRange("mass_fraction", 0.0, nodes[-1], "1"),
    )
    if not spans[1].holds(brine.mass_fraction):
        return _beyond(rows, spans, state)
    heights = [_sodium_hydroxide(edge).value, *(k for _, k in table)]
    value = float(np.interp(brine.mass_fraction, nodes, heights))
    return computed_answer(
        value,
        "S/m",
        [*rows, dilute],
        state,
        valid_range=spans,
        warnings=("above 1 mol/kg from a table at 18 degC and its temperature coefficients",),
    )


def _beyond(
    rows: list[PublishedRow], spans: tuple[ValidRange, ...], state: dict[str, float]
) -> PropertyAnswer:
    """No number outside a table: its end value is not kept and no line is drawn on from it."""
    outside = range_warnings(spans, state)
    return PropertyAnswer(
        quantity=Quantity(
            value=None,
            unit="S/m",
            basis=Basis.PUBLISHED,
            source=rows[0].source,
            reason=f"{'; '.join(outside)}: {Reason.OUTSIDE_VALIDITY}",
        ),
        valid_range=spans,
        status=worst_status(rows),
        warnings=outside,
        place=rows[0].place,
        condition=rows[0].condition,
        note=rows[0].note,
    )


def _kohlrausch(temperature: float) -> tuple[list[float], list[float], list[PublishedRow]]:
    """Mass fractions, conductivities [S/m] at the temperature, and rows of the 18 degC table."""
    rows = select("sodium hydroxide", "conductivity", source="kohlrausch_naoh")
    slopes = select("sodium hydroxide", "conductivity_temperature_coefficient")
    known = sorted((float(r.conditions["mass_fraction"]), r.value or 0.0) for r in slopes)
    pairs = sorted(
        (float(r.conditions["mass_fraction"]), si_value(r.value or 0.0, r.unit)) for r in rows
    )
    strengths = [w for w, _ in pairs]
    slope = np.interp(strengths, [w for w, _ in known], [a for _, a in known])
    warmer = 1.0 + slope * (temperature - _KOHLRAUSCH_TEMPERATURE)
    values = [float(k * f) for (_, k), f in zip(pairs, warmer, strict=True)]
    return strengths, values, [*rows, *slopes]


def calibration_conductivity(molality: float, temperature: float) -> PropertyAnswer:
    """The conductivity of a potassium chloride calibration solution.

    Parameters
    ----------
    molality : float [mol/kg]
        0.01, 0.1 or 1 mol/kg.
    temperature : float [K]
        Temperature.

    Returns
    -------
    PropertyAnswer [S/m]
        Between tabulated temperatures interpolated, from 0 to 50 degC. Outside there is no number,
        and the reason names the span.

    Raises
    ------
    RangeError
        A molality that is not tabulated.

    Examples
    --------
    >>> calibration_conductivity(0.1, 333.15).quantity.value is None
    True
    >>> round(calibration_conductivity(0.1, 298.15).value, 5)
    1.28246
    """
    rows = select("potassium chloride", "conductivity", molality=f"{molality:g}")
    if not rows:
        raise RangeError(
            f"no calibration solution of {molality:g} mol/kg on file",
            where="molality",
            allowed="0.01, 0.1 or 1 mol/kg",
            next_step="7.4551 g of dry KCl in 1 kg of water is 0.1 mol/kg",
        )
    pairs = sorted(
        (float(r.conditions["temperature"].split()[0]) + ZERO_CELSIUS, si_value(r.value or 0.0, r.unit))
        for r in rows
    )  # fmt: skip
    kelvins, values = [t for t, _ in pairs], [k for _, k in pairs]
    slack = _ONE_TEMPERATURE if len(kelvins) == 1 else 0.0
    spans = (ValidRange("temperature", kelvins[0] - slack, kelvins[-1] + slack, "K"),)
    state = {"temperature": temperature}
    if not spans[0].holds(temperature):
        return _beyond(list(rows), spans, state)
    value = float(np.interp(temperature, kelvins, values))
    return computed_answer(value, "S/m", rows, state, valid_range=spans)


def calibration_factor(reading: float, molality: float, temperature: float) -> float:
    """What a meter's conductivity readings must be multiplied by.

    Parameters
    ----------
    reading : float [S/m]
        What the meter shows in the calibration solution.
    molality : float [mol/kg]
        Molality of potassium chloride.
    temperature : float [K]
        Temperature of the solution; the meter's own compensation switched off.

    Returns
    -------
    float

    Raises
    ------
    RangeError
        A reading not above zero, or a molality that is not tabulated.
    CannotTellError
        A temperature outside the table.

    Examples
    --------
    >>> round(calibration_factor(1.2, 0.1, 298.15), 4)
    1.0687
    """
    return electrolyte_conductivity.cell_constant(
        calibration_conductivity(molality, temperature).value, reading
    )


def strength_from_conductivity(
    salt: str,
    reading: float,
    temperature: float,
    *,
    factor: float = 1.0,
    below: float | None = None,
) -> Solution:
    """The solution behind a conductivity reading.

    Parameters
    ----------
    salt : str
        Sodium chloride, potassium hydroxide, sodium hydroxide or sea water.
    reading : float [S/m]
        What the meter shows.
    temperature : float [K]
        Temperature of the sample; the meter's own compensation switched off.
    factor : float
        From `calibration_factor`.
    below : float, optional
        Mass fraction below which the answer is sought; default the maximum of the curve. Lye
        conducts best near a quarter by mass, so a strong one reads like a weak one.

    Returns
    -------
    Solution

    Raises
    ------
    RangeError
        The reading is not reached below that strength.
    CannotTellError
        `below` lies outside the table of that salt.

    Examples
    --------
    >>> round(strength_from_conductivity("NaCl", 5.61, 298.15).mass_fraction, 4)
    0.035
    """
    true = factor * reading
    trial = solution(salt, temperature, mass_fraction=0.0)
    if trial.practical_salinity is not None:
        salinity = sea_water.practical_salinity(true, temperature).value
        return solution("sea water", temperature, practical_salinity=salinity)

    def curve(mass_fraction: float) -> float:
        return conductivity(solution(salt, temperature, mass_fraction=mass_fraction)).value

    top = below if below is not None else _maximum(trial.salt, curve)
    found = electrolyte_conductivity.concentration_at_conductivity(true, curve, 0.0, top)
    return solution(salt, temperature, mass_fraction=found)


def _maximum(salt: str, curve: Callable[[float], float]) -> float:
    """The mass fraction at which a conductivity curve stops rising, within its span."""
    ends = {"sodium chloride": 0.26, "potassium hydroxide": 0.40, "sodium hydroxide": 0.30}
    strengths = np.linspace(0.0, ends[salt], 105)
    heights = np.array([curve(float(w)) for w in strengths])
    falls = np.flatnonzero(np.diff(heights) <= 0.0)
    return float(strengths[falls[0]] if falls.size else strengths[-1])
