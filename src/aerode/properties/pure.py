"""Pure liquids by their published equations: water, solvents, oxygen in water and air."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from aerode.errors import RangeError
from aerode.physics import oxygen, vapour_pressure, water
from aerode.properties.answers import PropertyAnswer, computed_answer, si_value
from aerode.reference import published, select, substance

if TYPE_CHECKING:
    from collections.abc import Callable

    from aerode.reference import PublishedRow

__all__ = ["EQUATIONS", "equation_answer", "water_density", "water_saturation", "water_viscosity"]


def _needed(temperature: float | None, what: str) -> float:
    if temperature is None:
        raise RangeError(
            f"{what} needs a temperature",
            where="temperature",
            allowed="a temperature in K",
            next_step="give temperature=298.15 for 25 degC",
        )
    return temperature


def water_density(temperature: float) -> PropertyAnswer:
    """The density of water.

    Parameters
    ----------
    temperature : float [K]
        Temperature.

    Returns
    -------
    PropertyAnswer [kg/m^3]

    Examples
    --------
    >>> round(water_density(298.15).value, 2)
    997.04
    """
    row = published("water", "density", equation="Kell")
    *numerator, denominator = row.values
    value = float(water.water_density(temperature, numerator, denominator))
    return computed_answer(value, "kg/m^3", [row], {"temperature": temperature})


def water_viscosity(temperature: float) -> PropertyAnswer:
    """The viscosity of water.

    Parameters
    ----------
    temperature : float [K]
        Temperature.

    Returns
    -------
    PropertyAnswer [Pa s]

    Examples
    --------
    >>> round(water_viscosity(298.15).value * 1e3, 3)
    0.89
    """
    row = published("water", "viscosity", equation="Laliberte")
    value = float(water.water_viscosity(temperature, *row.values))
    return computed_answer(value, "Pa s", [row], {"temperature": temperature})


def water_saturation(temperature: float) -> PropertyAnswer:
    """The vapour pressure of water.

    Parameters
    ----------
    temperature : float [K]
        Temperature.

    Returns
    -------
    PropertyAnswer [Pa]

    Examples
    --------
    >>> round(water_saturation(298.15).value)
    3170
    """
    row = published("water", "vapour_pressure", equation="Wagner-Pruss")
    critical = published("water", "critical_temperature"), published("water", "critical_pressure")
    kelvin, pascal = (si_value(r.value or 0.0, r.unit) for r in critical)
    value = float(water.saturation_pressure(temperature, kelvin, pascal, row.values))
    return computed_answer(value, "Pa", [row, *critical], {"temperature": temperature})


def _antoine(row: PublishedRow, temperature: float, base: float) -> PropertyAnswer:
    value = float(vapour_pressure.antoine_pressure(temperature, *row.values, base=base))
    return computed_answer(value, "Pa", [row], {"temperature": temperature})


def _perry_density(row: PublishedRow, temperature: float) -> PropertyAnswer:
    c1, c2, c3, c4 = row.values
    if temperature >= c3:
        raise RangeError(
            f"{temperature:g} K is at or above the critical temperature {c3:g} K",
            where="temperature",
            allowed=f"below {c3:g} K",
            next_step="ask for the liquid",
        )
    mass = substance(row.substance).molar_mass
    if mass is None:
        raise RangeError(f"no molar mass of {row.substance} on file", where="molar_mass")
    value = mass * c1 / c2 ** (1.0 + (1.0 - temperature / c3) ** c4)
    return computed_answer(value, "kg/m^3", [row], {"temperature": temperature})


def _perry_evaporation(row: PublishedRow, temperature: float) -> PropertyAnswer:
    """Heat of evaporation, c1 (1 - Tr)^(c2 + c3 Tr + c4 Tr^2), and none at the critical point."""
    c1, c2, c3, c4, critical = row.values
    if temperature >= critical:
        raise RangeError(
            f"{temperature:g} K is at or above the critical temperature {critical:g} K",
            where="temperature",
            allowed=f"below {critical:g} K",
            next_step="ask for the liquid",
        )
    reduced = temperature / critical
    power = c2 + c3 * reduced + c4 * reduced**2
    value = si_value(c1 * (1.0 - reduced) ** power, row.unit)
    return computed_answer(value, "J/mol", [row], {"temperature": temperature})


def _han_bartels(row: PublishedRow, temperature: float) -> PropertyAnswer:
    value = float(oxygen.diffusivity_in_water(temperature, *row.values))
    return computed_answer(value, "m^2/s", [row], {"temperature": temperature})


# Equation name in the condition of a row → how it is worked out.
EQUATIONS: dict[str, Callable[[PublishedRow, float], PropertyAnswer]] = {
    "Kell": lambda _, temperature: water_density(temperature),
    "Laliberte": lambda _, temperature: water_viscosity(temperature),
    "Wagner-Pruss": lambda _, temperature: water_saturation(temperature),
    "Antoine": lambda row, temperature: _antoine(row, temperature, 10.0),
    "Antoine, natural": lambda row, temperature: _antoine(row, temperature, math.e),
    "Perry 105": _perry_density,
    "Perry 106": _perry_evaporation,
    "Han-Bartels": _han_bartels,
}


def equation_answer(
    name: str, quantity: str, temperature: float | None, *, source: str = ""
) -> PropertyAnswer | None:
    """The property of a pure substance by the preferred equation on file, None where there is none.

    Parameters
    ----------
    name, quantity : str
        Substance and quantity.
    temperature : float [K], optional
        Temperature.
    source : str
        Only this source.

    Returns
    -------
    PropertyAnswer or None

    Raises
    ------
    RangeError
        An equation is on file, but no temperature was given.

    Examples
    --------
    >>> round(equation_answer("toluene", "vapour_pressure", 298.15).value)
    3789
    """
    for row in select(name, quantity, source=source):
        work = EQUATIONS.get(row.conditions.get("equation", ""))
        if work is not None and (row.substance == "water" or "Laliberte" not in row.condition):
            return work(row, _needed(temperature, f"{quantity} of {name}"))
    return None
