"""Oxygen in a solution: solubility with salting out, pressure and humidity; diffusivity."""

from __future__ import annotations

import math

from aerode.physics import oxygen, vapour_pressure
from aerode.physics.constants import ATMOSPHERE
from aerode.properties import pure, solution_water, solutions
from aerode.properties.answers import PropertyAnswer, computed_answer, si_value
from aerode.properties.solutions import Solution
from aerode.reference import PublishedRow, ValidRange, published

__all__ = [
    "air_oxygen_pressure",
    "oxygen_diffusivity",
    "oxygen_solubility",
]

_IONS = {
    "sodium chloride": ("sodium ion", "chloride ion"),
    "potassium chloride": ("potassium ion", "chloride ion"),
    "potassium hydroxide": ("potassium ion", "hydroxide ion"),
    "sodium hydroxide": ("sodium ion", "hydroxide ion"),
}
_SALT_SPREAD = 0.05  # relative: how far schumpe_1993 and weisenberger_1996 lie apart
_SALT_SPREAD_AT = 5000.0  # mol/m^3, where they lie so far apart (schumpe_1993)


def air_oxygen_pressure(
    temperature: float,
    *,
    pressure: float = ATMOSPHERE,
    water_pressure: float | None = None,
) -> PropertyAnswer:
    """The oxygen partial pressure of the air at the electrode.

    Parameters
    ----------
    temperature : float [K]
        Temperature.
    pressure : float [Pa]
        Barometric pressure at the place, not reduced to sea level.
    water_pressure : float [Pa], optional
        Water vapour pressure of that air; default saturated over pure water.

    Returns
    -------
    PropertyAnswer [Pa]
        Its uncertainty is that of the mole fraction of the air alone, not of the barometer.

    Examples
    --------
    >>> air_oxygen_pressure(298.15).quantity.written()
    '20563.5 ± 5.7 Pa'
    """
    row = published("oxygen", "oxygen_fraction_of_air")
    wet = pure.water_saturation(temperature).value if water_pressure is None else water_pressure
    value = float(vapour_pressure.oxygen_partial_pressure(row.value or 0.0, pressure, wet))
    # p = x (P - p_water): the stated uncertainty of the mole fraction, times the dry pressure
    spread = (row.standard_uncertainty() or 0.0) * (pressure - wet)
    return computed_answer(
        value, "Pa", [row], {"temperature": temperature}, standard_uncertainty=spread
    )


def oxygen_solubility(
    brine: Solution,
    *,
    pressure: float = ATMOSPHERE,
    water_pressure: float | None = None,
    oxygen_share: float = 1.0,
) -> PropertyAnswer:
    """Dissolved oxygen at equilibrium with the air over the solution.

    Parameters
    ----------
    brine : Solution
        Salt, strength and temperature.
    pressure : float [Pa]
        Barometric pressure.
    water_pressure : float [Pa], optional
        Water vapour pressure of the gas; default that over the solution.
    oxygen_share : float
        Oxygen in the dry gas over that in air: 1 for air.

    Returns
    -------
    PropertyAnswer [mol/m^3]
        Benson and Krause for water (sea water by its salinity), times the salting-out factor
        of Schumpe 1993 with the temperature slope of 1996, times the pressure factor.

    Raises
    ------
    RangeError
        More water vapour than pressure.

    Examples
    --------
    >>> water = solutions.solution("NaCl", 298.15, mass_fraction=0.0)
    >>> round(oxygen_solubility(water).value, 4)
    0.2582
    """
    base = published("oxygen", "oxygen_solubility", equation="Garcia-Gordon")
    scale = published("sea water", "density").coefficient["ipts"]
    saturation = pure.water_saturation(brine.temperature).value
    wet = _water_pressure(brine) if water_pressure is None else water_pressure
    factor = float(oxygen.pressure_factor(oxygen_share, pressure, wet, saturation, ATMOSPHERE))
    sea = brine.practical_salinity
    per_mass = oxygen.solubility_garcia_gordon(
        brine.temperature, sea or 0.0, base.values, scale_ratio=scale
    )
    if sea is not None:
        volume = solutions.density(brine).value
        value = float(per_mass) * volume * factor
        return computed_answer(value, "mol/m^3", [base], brine.state)
    salted, rows = _salting_out(brine)
    water = pure.water_density(brine.temperature).value
    value = float(per_mass) * water * salted * factor
    lead_share = (base.uncertainty or 0.0) / math.sqrt(3.0)
    salt_share = _SALT_SPREAD / math.sqrt(3.0) * brine.molarity / _SALT_SPREAD_AT
    return computed_answer(
        value,
        "mol/m^3",
        [base, *rows],
        brine.state | {"molarity": brine.molarity},
        standard_uncertainty=value * math.hypot(lead_share, salt_share),
        valid_range=(
            ValidRange("temperature", 273.15, 313.15, "K"),
            ValidRange("molarity", 0.0, 5000.0, "mol/m^3"),
        ),
    )


def _water_pressure(brine: Solution) -> float:
    """Over the solution where its activity is on file, else over water (below 1 % apart)."""
    found = solution_water.water_vapour_pressure(brine).quantity.value
    return pure.water_saturation(brine.temperature).value if found is None else found


def _salting_out(brine: Solution) -> tuple[float, list[PublishedRow]]:
    """The salting-out factor and the rows it rests on."""
    ions = [published(ion, "salting_out", set="1993") for ion in _IONS[brine.salt]]
    gas = published("oxygen", "salting_out", set="1993")
    slope = published("oxygen", "salting_out_temperature_slope")
    factor = oxygen.salting_out_factor(
        [brine.molarity, brine.molarity],
        [si_value(row.value or 0.0, row.unit) for row in ions],
        brine.temperature,
        gas_parameter=si_value(gas.value or 0.0, gas.unit),
        gas_slope=si_value(slope.value or 0.0, slope.unit),
        reference_temperature=298.15,
    )
    return float(factor), [*ions, gas, slope]


def oxygen_diffusivity(brine: Solution) -> PropertyAnswer:
    """The diffusivity of oxygen in a solution.

    Parameters
    ----------
    brine : Solution
        Salt, strength and temperature; sea water is taken as NaCl of the same mass fraction.

    Returns
    -------
    PropertyAnswer [m^2/s]
        Han and Bartels for water times the viscosity ratio (Stokes-Einstein). `interval_95` spans
        what is believable: for NaCl and NaOH up to the exponent 0.6, for KOH down to the product
        that Davis and others measured, about 27 % lower.

    Examples
    --------
    >>> brine = solutions.solution("NaCl", 298.15, mass_fraction=0.035)
    >>> round(oxygen_diffusivity(brine).value * 1e9, 3)
    1.896
    """
    base = published("oxygen", "diffusivity", medium="water")
    power = published("oxygen", "stokes_einstein_exponent")
    stand_in: tuple[str, ...] = ()
    salt = brine
    if brine.practical_salinity is not None:
        salt = solutions.solution(
            "sodium chloride", brine.temperature, mass_fraction=brine.mass_fraction
        )
        stand_in = ("sea water taken as sodium chloride of the same mass fraction",)
    in_water = oxygen.diffusivity_in_water(brine.temperature, *base.values)
    water, mixed = pure.water_viscosity(brine.temperature).value, solutions.viscosity(salt)
    low_power, high_power = power.low or 0.0, power.high or 1.0
    value = float(oxygen.diffusivity_scaled(in_water, water, mixed.value, high_power))
    other = float(oxygen.diffusivity_scaled(in_water, water, mixed.value, low_power))
    rows = [base, power]
    if brine.salt == "potassium hydroxide":
        product = published("potassium hydroxide", "diffusivity_viscosity_product")
        rows = [base, product]
        other = si_value(product.value or 0.0, product.unit) / mixed.value
    if brine.mass_fraction == 0.0:
        rows, other = [base], value
    spread = abs(other - value) / math.sqrt(3.0)
    own = value * (base.uncertainty or 0.0) / math.sqrt(3.0)
    return computed_answer(
        value,
        "m^2/s",
        rows,
        brine.state,
        standard_uncertainty=math.hypot(spread, own),
        interval=(min(value, other) - 2.0 * own, max(value, other) + 2.0 * own),
        warnings=(*stand_in, *(w for w in mixed.warnings if "lies outside" in w)),
    )
