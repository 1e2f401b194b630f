"""Aluminium and air: equilibrium voltages, thermoneutral voltages, capacity, bands of published anodes."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from aerode.errors import RangeError
from aerode.physics import aluminium, thermodynamics
from aerode.physics.constants import ATMOSPHERE
from aerode.properties import solution_water
from aerode.properties.answers import (
    PropertyAnswer,
    answer_from_row,
    computed_answer,
    si_uncertainty,
    si_value,
)
from aerode.properties.dissolved_oxygen import air_oxygen_pressure
from aerode.reference import PublishedRow, ValidRange, published, select, substance

if TYPE_CHECKING:
    from aerode.properties.solutions import Solution

__all__ = [
    "COUPLES",
    "PRODUCTS",
    "anode_bands",
    "cell_emf",
    "charge_balance",
    "couple_potential",
    "standard_emf",
    "theoretical_capacity",
    "thermoneutral",
]

# Cell reactions per twelve electrons: 4 Al + 3 O2 + 6 H2O (+ 4 OH-) -> 4 product.
PRODUCTS = {
    "gibbsite": "gibbsite",
    "amorphous": "amorphous aluminium hydroxide",
    "aluminate": "aluminate ion",
}
# Reductions: species and numbers, electrons. Electrons and H+ carry zero by convention.
COUPLES: dict[str, tuple[dict[str, float], int]] = {
    "O2/OH-": ({"oxygen": -1, "water": -2, "hydroxide ion": 4}, 4),
    "O2/H2O": ({"oxygen": -1, "hydrogen ion": -4, "water": 2}, 4),
    "H2O/H2": ({"water": -2, "hydrogen": 1, "hydroxide ion": 2}, 2),
    "Al3+/Al": ({"aluminium ion": -1, "aluminium": 1}, 3),
    "Al(OH)4-/Al": ({"aluminate ion": -1, "aluminium": 1, "hydroxide ion": 4}, 3),
    "gibbsite/Al": ({"gibbsite": -1, "aluminium": 1, "hydroxide ion": 3}, 3),
    "amorphous/Al": ({"amorphous aluminium hydroxide": -1, "aluminium": 1, "hydroxide ion": 3}, 3),
}


def _stoichiometry(product: str) -> dict[str, float]:
    if product not in PRODUCTS:
        raise RangeError(
            f"no product {product!r}",
            where="product",
            allowed=", ".join(PRODUCTS),
            next_step="amorphous is what forms first in brine, gibbsite what it ages to",
        )
    reaction = {"aluminium": -4.0, "oxygen": -3.0, "water": -6.0, PRODUCTS[product]: 4.0}
    if product == "aluminate":
        reaction["hydroxide ion"] = -4.0
    return reaction


def _formation(
    stoichiometry: dict[str, float], quantity: str
) -> tuple[float, float, list[PublishedRow]]:
    """The sum over a reaction in SI, its standard uncertainty from the stated ones, and the rows."""
    rows = {species: published(species, quantity) for species in stoichiometry}
    values = {species: si_value(row.centre or 0.0, row.unit) for species, row in rows.items()}
    total = thermodynamics.reaction_property(stoichiometry, values)
    spread = math.hypot(
        *(
            stoichiometry[species] * (si_uncertainty(row.standard_uncertainty(), row.unit) or 0.0)
            for species, row in rows.items()
        )
    )
    return total, spread, list(rows.values())


def couple_potential(couple: str, temperature: float = 298.15) -> PropertyAnswer:
    """The standard potential of a couple, computed from formation properties.

    Parameters
    ----------
    couple : str
        One of `COUPLES`.
    temperature : float [K]
        Temperature; the slope is taken against the standard hydrogen electrode at that
        temperature.

    Returns
    -------
    PropertyAnswer [V]

    Raises
    ------
    RangeError
        An unknown couple.

    Examples
    --------
    >>> round(couple_potential("O2/OH-").value, 3)
    0.401
    """
    if couple not in COUPLES:
        raise RangeError(
            f"no couple {couple!r}", where="couple", allowed=", ".join(COUPLES),
            next_step="take one of those",
        )  # fmt: skip
    reaction, electrons = COUPLES[couple]
    gibbs, spread, rows = _formation(reaction, "gibbs_energy_of_formation")
    value = thermodynamics.standard_potential(gibbs, electrons)
    if temperature != thermodynamics.STANDARD_TEMPERATURE:
        slope, more = _couple_slope(couple)
        value = float(thermodynamics.potential_at(value, slope, temperature))
        rows = [*rows, *more]
    return _potential_answer(
        value, spread / (electrons * thermodynamics.FARADAY), rows, temperature
    )


def _couple_slope(couple: str) -> tuple[float, list[PublishedRow]]:
    """dE0/dT of a couple against SHE, with the rows used."""
    reaction, electrons = COUPLES[couple]
    whole = dict(reaction)
    whole["hydrogen"] = whole.get("hydrogen", 0.0) - electrons / 2.0
    whole["hydrogen ion"] = whole.get("hydrogen ion", 0.0) + electrons
    entropy, _, rows = _formation(whole, "standard_entropy")
    return thermodynamics.standard_potential_slope(entropy, electrons), rows


def _potential_answer(
    value: float, spread: float, rows: list[PublishedRow], temperature: float
) -> PropertyAnswer:
    weakest = sorted(rows, key=lambda row: -row.preference)
    return computed_answer(
        value,
        "V",
        weakest,
        {"temperature": temperature},
        standard_uncertainty=spread or None,
        valid_range=(ValidRange("temperature", 273.15, 333.15, "K"),),
    )


def standard_emf(product: str, temperature: float = 298.15) -> PropertyAnswer:
    """The standard voltage of aluminium and oxygen with a named product.

    Parameters
    ----------
    product : str
        "gibbsite", "amorphous" or "aluminate".
    temperature : float [K]
        Temperature. For the amorphous solid no entropy is on file: that of gibbsite stands in.

    Returns
    -------
    PropertyAnswer [V]

    Raises
    ------
    RangeError
        An unknown product.

    Examples
    --------
    >>> [round(standard_emf(p).value, 4) for p in ("aluminate", "gibbsite")]
    [2.7374, 2.7611]
    """
    reaction = _stoichiometry(product)
    gibbs, spread, rows = _formation(reaction, "gibbs_energy_of_formation")
    electrons = aluminium.CELL_ELECTRONS
    value = thermodynamics.standard_potential(gibbs, electrons)
    if temperature != thermodynamics.STANDARD_TEMPERATURE:
        stand_in = "gibbsite" if product == "amorphous" else product
        entropy, _, more = _formation(_stoichiometry(stand_in), "standard_entropy")
        slope = thermodynamics.standard_potential_slope(entropy, electrons)
        value = float(thermodynamics.potential_at(value, slope, temperature))
        rows = [*rows, *more]
    return _potential_answer(
        value, spread / (electrons * thermodynamics.FARADAY), rows, temperature
    )


def thermoneutral(product: str) -> PropertyAnswer:
    """The voltage at which the cell would give off no heat.

    Parameters
    ----------
    product : str
        "gibbsite" or "aluminate"; for the amorphous solid no enthalpy is on file.

    Returns
    -------
    PropertyAnswer [V]
        The heat of a cell is current times (this - voltage), plus the heat of corrosion.

    Raises
    ------
    ReferenceDataError
        No enthalpy on file.

    Examples
    --------
    >>> [round(thermoneutral(p).value, 3) for p in ("gibbsite", "aluminate")]
    [2.986, 2.915]
    """
    enthalpy, spread, rows = _formation(_stoichiometry(product), "enthalpy_of_formation")
    electrons = aluminium.CELL_ELECTRONS
    value = thermodynamics.thermoneutral_voltage(enthalpy, electrons)
    return _potential_answer(value, spread / (electrons * thermodynamics.FARADAY), rows, 298.15)


def cell_emf(
    brine: Solution,
    product: str,
    *,
    pressure: float = ATMOSPHERE,
    aluminate_activity: float = 0.1,
) -> PropertyAnswer:
    """The equilibrium voltage of aluminium against air in a given electrolyte.

    Parameters
    ----------
    brine : Solution
        Electrolyte and temperature; its water activity sets the vapour over it.
    product : str
        "gibbsite" or "amorphous" for brine, "aluminate" for lye.
    pressure : float [Pa]
        Barometric pressure.
    aluminate_activity : float
        Activity of Al(OH)4-, for the product aluminate.

    Returns
    -------
    PropertyAnswer [V]
        An upper bound that no bench cell shows. In brine the two faces do not share one pH, which
        alone costs about half a volt: never a denominator for an efficiency.

    Raises
    ------
    RangeError
        Aluminate asked for without a lye.

    Examples
    --------
    >>> from aerode.properties.solutions import solution
    >>> brine = solution("NaCl", 298.15, mass_fraction=0.035)
    >>> round(cell_emf(brine, "gibbsite").value, 3)
    2.751
    """
    standard = standard_emf(product, brine.temperature)
    activity = solution_water.water_activity(brine)
    wet = solution_water.water_vapour_pressure(brine).value
    air = air_oxygen_pressure(brine.temperature, pressure=pressure, water_pressure=wet).value
    if product == "aluminate":
        gamma = solution_water.activity_coefficient(brine)
        if gamma.quantity.value is None:
            raise RangeError(
                f"aluminate forms in lye, not in {brine.salt}",
                where="product",
                allowed="potassium or sodium hydroxide",
                next_step="ask for gibbsite or amorphous",
            )
        value = aluminium.aluminate_emf(
            standard.value,
            brine.temperature,
            air,
            activity.value,
            hydroxide_activity=gamma.value * brine.molality,
            aluminate_activity=aluminate_activity,
        )
    else:
        value = aluminium.hydroxide_emf(standard.value, brine.temperature, air, activity.value)
    return _with_value(standard, float(value), activity)


def _with_value(standard: PropertyAnswer, value: float, activity: PropertyAnswer) -> PropertyAnswer:
    """The answer of a standard voltage moved to a state."""
    return replace(
        standard,
        quantity=replace(standard.quantity, value=value),
        warnings=(
            *standard.warnings,
            *activity.warnings,
            "an upper bound: no bench cell shows it, and it is no denominator for an efficiency",
        ),
    )


def theoretical_capacity() -> PropertyAnswer:
    """The charge in a kilogram of aluminium, three electrons an atom.

    Returns
    -------
    PropertyAnswer [C/kg]

    Examples
    --------
    >>> theoretical_capacity().quantity.written(to="Ah/g", digits=4)
    '2.980 Ah/g'
    """
    row = published("constant", "physical_constant", name="Faraday constant")
    value = aluminium.capacity(_molar_mass("aluminium"))
    return computed_answer(value, "C/kg", [row], {}, standard_uncertainty=0.0)


def _molar_mass(name: str) -> float:
    mass = substance(name).molar_mass
    if mass is None:
        raise RangeError(f"no molar mass of {name} on file", where="molar_mass")
    return mass


def charge_balance(charge: float) -> aluminium.Balance:
    """Aluminium, water and oxygen used and dry hydroxide made by a charge, corrosion left out.

    Parameters
    ----------
    charge : float [C]
        Charge drawn.

    Returns
    -------
    Balance
        Masses [kg].

    Raises
    ------
    RangeError
        A negative charge.

    Examples
    --------
    >>> round(charge_balance(3600.0).aluminium * 1e3, 4)
    0.3356
    """
    return aluminium.charge_balance(
        charge,
        aluminium=_molar_mass("aluminium"),
        water=_molar_mass("water"),
        oxygen=_molar_mass("oxygen"),
        hydroxide=_molar_mass("gibbsite"),
    )


def anode_bands(quantity: str, grade: str = "aluminium") -> tuple[PropertyAnswer, ...]:
    """Published ranges of an anode property, each bound to its own conditions.

    Parameters
    ----------
    quantity : str
        "corrosion_current_density", "open_circuit_potential", "anode_efficiency", ...
    grade : str
        "aluminium", "aluminium 1xxx" or "activated aluminium alloy".

    Returns
    -------
    tuple of PropertyAnswer
        One for each row; read `condition`. They are ranges to plan with, never constants.

    Raises
    ------
    ReferenceDataError
        An unknown quantity or grade.

    Examples
    --------
    >>> anode_bands("anode_efficiency", "activated aluminium alloy")[0].condition
    'electrolyte=2 mol/L NaCl'
    """
    return tuple(answer_from_row(row, {}) for row in select(grade, quantity))
