"""Salt solutions: one description of the strength, and every property of it on file.

    brine = solution("NaCl", 298.15, mass_fraction=0.035)
    conductivity(brine).quantity.written(to="mS/cm")

Salts: sodium chloride, potassium hydroxide, sodium hydroxide, potassium chloride (calibration and
freezing only) and sea water (by practical salinity).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from aerode.errors import RangeError
from aerode.physics import electrolyte, electrolyte_concentration
from aerode.physics.water import ZERO_CELSIUS
from aerode.properties import pure, sea_water
from aerode.properties.answers import (
    PropertyAnswer,
    computed_answer,
    si_value,
)
from aerode.reference import PublishedRow, published, resolve, select, substance

__all__ = [
    "SALTS",
    "Solution",
    "density",
    "solution",
    "viscosity",
]

SALTS = ("sodium chloride", "potassium hydroxide", "sodium hydroxide", "potassium chloride", "sea water")  # fmt: skip


_HANDBOOK_SPREAD = 0.01  # relative, judgement: the last digit of crc_102 and half the correction


@dataclass(frozen=True, slots=True, kw_only=True)
class Solution:
    """One salt in water at one temperature [K]; `mass_fraction` is salt over solution.

    For sea water `practical_salinity` is kept beside it; otherwise it is None.
    """

    salt: str
    temperature: float
    mass_fraction: float
    practical_salinity: float | None = None

    @property
    def molar_mass(self) -> float:
        """Molar mass of the salt [kg/mol]; for sea water that of sodium chloride stands in."""
        mass = substance(self.salt).molar_mass
        return mass if mass is not None else _sodium_chloride_mass()

    @property
    def molality(self) -> float:
        """Moles of salt per kilogram of water [mol/kg]."""
        convert = electrolyte_concentration.molality_from_mass_fraction
        return float(convert(self.mass_fraction, self.molar_mass))

    @property
    def molarity(self) -> float:
        """Moles of salt per volume of solution at its temperature [mol/m^3]."""
        return self.molarity_at(self.temperature)

    def molarity_at(self, temperature: float) -> float:
        """Moles of salt per volume of solution at a temperature [K]; [mol/m^3]."""
        rho = density(self.at(temperature)).value
        convert = electrolyte_concentration.molarity_from_mass_fraction
        return float(convert(self.mass_fraction, rho, self.molar_mass))

    @property
    def salt_per_water(self) -> float:
        """Kilograms of salt per kilogram of water [kg/kg]."""
        convert = electrolyte_concentration.salt_per_water_from_mass_fraction
        return float(convert(self.mass_fraction))

    @property
    def grams_per_100_ml_water(self) -> float:
        """Grams of salt for each 100 mL of water at the temperature: what a kitchen measures."""
        return self.salt_per_water * pure.water_density(self.temperature).value * 0.1

    @property
    def state(self) -> dict[str, float]:
        """The state for range checks."""
        known = {"temperature": self.temperature, "mass_fraction": self.mass_fraction}
        if self.practical_salinity is not None:
            known["practical_salinity"] = self.practical_salinity
        return known

    def at(self, temperature: float) -> Solution:
        """The same solution at another temperature [K]."""
        return Solution(
            salt=self.salt,
            temperature=temperature,
            mass_fraction=self.mass_fraction,
            practical_salinity=self.practical_salinity,
        )


def _sodium_chloride_mass() -> float:
    mass = substance("sodium chloride").molar_mass
    if mass is None:
        raise RangeError("no molar mass of sodium chloride on file", where="molar_mass")
    return mass


def solution(
    salt: str,
    temperature: float,
    *,
    mass_fraction: float | None = None,
    molality: float | None = None,
    molarity: float | None = None,
    salt_per_water: float | None = None,
    grams_per_100_ml_water: float | None = None,
    practical_salinity: float | None = None,
) -> Solution:
    """A salt solution from any one way of saying how strong it is.

    Parameters
    ----------
    salt : str
        Name, alias or CAS number of a salt, or "sea water".
    temperature : float [K]
        Temperature.
    mass_fraction : float
        Salt over solution.
    molality : float [mol/kg]
        Moles per kilogram of water.
    molarity : float [mol/m^3]
        Moles per volume of solution at the temperature.
    salt_per_water : float [kg/kg]
        Salt over water.
    grams_per_100_ml_water : float
        Grams of salt for each 100 mL of water at the temperature.
    practical_salinity : float
        For sea water only.

    Returns
    -------
    Solution

    Raises
    ------
    RangeError
        Not exactly one strength, or one that does not fit the salt.

    Examples
    --------
    >>> round(solution("NaCl", 298.15, mass_fraction=0.035).molality, 3)
    0.621
    >>> round(solution("KOH", 298.15, molarity=4000.0).mass_fraction, 4)
    0.1908
    """
    name = resolve(salt)
    if name not in SALTS:
        raise RangeError(
            f"no solutions of {name} are on file",
            where="salt",
            allowed=", ".join(SALTS),
            next_step="take one of those",
        )
    given = {
        "mass_fraction": mass_fraction, "molality": molality, "molarity": molarity,
        "salt_per_water": salt_per_water, "grams_per_100_ml_water": grams_per_100_ml_water,
        "practical_salinity": practical_salinity,
    }  # fmt: skip
    said = {word: value for word, value in given.items() if value is not None}
    if len(said) != 1:
        raise RangeError(
            f"{len(said)} strengths given" + (f": {', '.join(said)}" if said else ""),
            where="strength",
            allowed="exactly one of " + ", ".join(given),
            next_step="keep the one that was weighed or read",
        )
    ((word, value),) = said.items()
    if name == "sea water":
        return _sea_water(temperature, word, value)
    if word == "practical_salinity":
        raise RangeError(
            "practical salinity is for sea water",
            where="practical_salinity",
            allowed="salt='sea water'",
            next_step="give the mass fraction of the brine",
        )
    return Solution(
        salt=name,
        temperature=temperature,
        mass_fraction=_mass_fraction(name, temperature, word, value),
    )


def _sea_water(temperature: float, word: str, value: float) -> Solution:
    if word == "practical_salinity":
        salinity = value
    elif word == "mass_fraction":
        salinity = sea_water.salinity_from_mass_fraction(value)
    else:
        raise RangeError(
            f"{word} says nothing about sea water",
            where=word,
            allowed="practical_salinity or mass_fraction",
            next_step="measure the conductivity, or weigh a dried sample",
        )
    return Solution(
        salt="sea water",
        temperature=temperature,
        mass_fraction=sea_water.mass_fraction_from_salinity(salinity),
        practical_salinity=salinity,
    )


def _mass_fraction(salt: str, temperature: float, word: str, value: float) -> float:
    mass = substance(salt).molar_mass or 0.0
    if word == "mass_fraction":
        if not 0.0 <= value < 1.0:
            raise RangeError(
                f"a mass fraction of {value:g}",
                where="mass_fraction",
                allowed="0 to less than 1 (0.035 is 3.5 %)",
                next_step="divide per cent by 100",
            )
        return value
    if word == "molality":
        return float(electrolyte_concentration.mass_fraction_from_molality(value, mass))
    if word == "molarity":
        return electrolyte_concentration.mass_fraction_from_molarity(
            value,
            mass,
            lambda w: density(Solution(salt=salt, temperature=temperature, mass_fraction=w)).value,
        )
    per_water = value
    if word == "grams_per_100_ml_water":
        per_water = value / (0.1 * pure.water_density(temperature).value)
    return float(electrolyte_concentration.mass_fraction_from_salt_per_water(per_water))


def density(brine: Solution) -> PropertyAnswer:
    """The density of a solution.

    Parameters
    ----------
    brine : Solution
        Salt, strength and temperature.

    Returns
    -------
    PropertyAnswer [kg/m^3]
        Laliberte 2009; sea water by the one-atmosphere equation of state.

    Raises
    ------
    ReferenceDataError
        No equation on file for that salt.

    Examples
    --------
    >>> round(density(solution("NaCl", 293.15, mass_fraction=0.035)).value, 1)
    1023.0
    """
    if brine.practical_salinity is not None:
        return sea_water.density(brine.temperature, brine.practical_salinity)
    row = published(brine.salt, "density", equation="Laliberte")
    volume = electrolyte.salt_apparent_volume(brine.mass_fraction, brine.temperature, row.values)
    water = pure.water_density(brine.temperature)
    value = float(electrolyte.solution_density([brine.mass_fraction], water.value, [volume]))
    return computed_answer(value, "kg/m^3", [row], brine.state)


def viscosity(brine: Solution) -> PropertyAnswer:
    """The viscosity of a solution.

    Parameters
    ----------
    brine : Solution
        Salt, strength and temperature.

    Returns
    -------
    PropertyAnswer [Pa s]
        Laliberte 2009. For lyes the equation is scaled at each strength to pass through the
        handbook rows at 20 degC, since it falls below water for weak sodium hydroxide.

    Raises
    ------
    ReferenceDataError
        No equation on file for that salt.

    Examples
    --------
    >>> round(viscosity(solution("NaOH", 293.15, mass_fraction=0.01)).value * 1e3, 3)
    1.054
    """
    row = published(brine.salt, "viscosity", equation="Laliberte")
    nodes = _handbook_rows(brine.salt, "viscosity")
    value = _laliberte_viscosity(row, brine.mass_fraction, brine.temperature)
    if not nodes:
        return computed_answer(value, "Pa s", [row], brine.state)
    strengths = [0.0, *(w for w, _ in nodes)]
    scale = [1.0, *(_scale_to(row, w, node) for w, node in nodes)]
    factor = float(np.interp(brine.mass_fraction, strengths, scale))
    spread = abs(value * factor) * (_HANDBOOK_SPREAD + 0.5 * abs(factor - 1.0))
    beyond = ()
    if brine.mass_fraction > strengths[-1]:
        beyond = (
            f"beyond {strengths[-1]:g} by mass no handbook row checks the equation; "
            "it is scaled as there",
        )
    return computed_answer(
        value * factor,
        "Pa s",
        [row, *(node for _, node in nodes)],
        brine.state,
        standard_uncertainty=spread,
        warnings=beyond,
    )


def _laliberte_viscosity(row: PublishedRow, mass_fraction: float, temperature: float) -> float:
    salt = electrolyte.salt_viscosity(mass_fraction, temperature, row.values)
    water = pure.water_viscosity(temperature).value
    return float(electrolyte.solution_viscosity([mass_fraction], water, [salt]))


def _scale_to(row: PublishedRow, mass_fraction: float, node: PublishedRow) -> float:
    """What the equation must be multiplied by to pass through a handbook row at 20 degC."""
    at_20 = _laliberte_viscosity(row, mass_fraction, 20.0 + ZERO_CELSIUS)
    return si_value(node.value or 0.0, node.unit) / at_20


def _handbook_rows(salt: str, quantity: str) -> list[tuple[float, PublishedRow]]:
    """The rows of a salt that stand at one mass fraction each, by that mass fraction."""
    found = [
        (float(row.conditions["mass_fraction"]), row)
        for row in select(salt, quantity)
        if "mass_fraction" in row.conditions and row.value is not None and row.source == "crc_102"
    ]
    return sorted(found, key=lambda pair: pair[0])
