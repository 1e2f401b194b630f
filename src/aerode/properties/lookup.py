"""The one look-up: substance and state to a quantity with source, range and status.

Order: a salt solution where a strength is given, then the preferred equation on file, then the
preferred row of a table. Naming a source keeps to that source.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.errors import RangeError, ReferenceDataError
from aerode.physics.water import ZERO_CELSIUS
from aerode.properties import conduction, dissolved_oxygen, pure, solution_water, solutions
from aerode.properties.answers import PropertyAnswer, answer_from_row, missing
from aerode.quantities import Reason
from aerode.reference import PublishedRow, quantities_of, quantity_words, resolve, select
from aerode.reference import sources_for as _sources_for

if TYPE_CHECKING:
    from collections.abc import Callable

    from aerode.properties.solutions import Solution

__all__ = ["SOLUTION_PROPERTIES", "lookup", "properties_of", "sources_for"]

# Word of the vocabulary → how it is worked out for a salt solution.
SOLUTION_PROPERTIES: dict[str, Callable[[Solution], PropertyAnswer]] = {
    "density": solutions.density,
    "viscosity": solutions.viscosity,
    "conductivity": conduction.conductivity,
    "water_activity": solution_water.water_activity,
    "activity_coefficient": solution_water.activity_coefficient,
    "vapour_pressure": solution_water.water_vapour_pressure,
    "freezing_temperature": solution_water.freezing_temperature,
    "oxygen_solubility": dissolved_oxygen.oxygen_solubility,
    "diffusivity": dissolved_oxygen.oxygen_diffusivity,
}
_STRENGTHS = (
    "mass_fraction", "molality", "molarity", "salt_per_water", "grams_per_100_ml_water",
    "practical_salinity",
)  # fmt: skip


def sources_for(substance: str, quantity: str) -> tuple[str, ...]:
    """Which sources know this, preferred first.

    Parameters
    ----------
    substance, quantity : str
        Name, alias or CAS number; a word of the vocabulary.

    Returns
    -------
    tuple of str
        Source keys.

    Raises
    ------
    ReferenceDataError
        An unknown substance or quantity.

    Examples
    --------
    >>> sources_for("toluene", "density")
    ('crc_organic', 'perry_8')
    """
    return _sources_for(substance, quantity)


def properties_of(substance: str) -> tuple[str, ...]:
    """The quantities that can be asked for a substance, in alphabetical order.

    Parameters
    ----------
    substance : str
        Name, alias or CAS number.

    Returns
    -------
    tuple of str

    Raises
    ------
    ReferenceDataError
        An unknown substance.

    Examples
    --------
    >>> "conductivity" in properties_of("KOH")
    True
    """
    found = set(quantities_of(substance))
    if resolve(substance) in solutions.SALTS:
        found |= set(SOLUTION_PROPERTIES)
    return tuple(sorted(found))


def lookup(
    substance: str,
    quantity: str,
    *,
    source: str = "",
    temperature: float | None = None,
    conditions: dict[str, str] | None = None,
    **strength: float,
) -> PropertyAnswer:
    """A property of a substance in a state, with all that stands behind it.

    Parameters
    ----------
    substance : str
        Name, alias or CAS number.
    quantity : str
        A word of the vocabulary, as in "density".
    source : str
        Only this source key.
    temperature : float [K], optional
        Temperature; needed for solutions and equations.
    conditions : dict of str, optional
        Words the row's condition must hold, as in {"compilation": "IEC"}.
    **strength : float
        One strength of a salt solution: mass_fraction, molality [mol/kg], molarity [mol/m^3],
        salt_per_water [kg/kg], grams_per_100_ml_water, practical_salinity.

    Returns
    -------
    PropertyAnswer
        In SI. Nothing on file gives an answer without a number, never zero. Outside the valid
        range the number is given and `warnings` names the range.

    Raises
    ------
    ReferenceDataError
        An unknown substance or quantity, or a source that does not know it.
    RangeError
        A state that cannot be, or one that is missing.

    Examples
    --------
    >>> lookup("NaCl", "density", temperature=293.15, mass_fraction=0.035).quantity.written()
    '1023.03 ± 0.59 kg/m^3'
    >>> lookup("67-64-1", "flash_point").quantity.value
    253.14999999999998
    >>> lookup("beeswax", "flash_point").quantity.value is None
    True
    """
    name = resolve(substance)
    unknown = set(strength) - set(_STRENGTHS)
    if unknown:
        raise RangeError(
            f"{', '.join(sorted(unknown))} is no strength of a solution",
            where="strength",
            allowed=", ".join(_STRENGTHS),
            next_step="give one of those",
        )
    if strength and name in solutions.SALTS and not source:
        return _of_solution(name, quantity, temperature, strength)
    if not source and not conditions:
        found = pure.equation_answer(name, quantity, temperature) if temperature else None
        if found is not None:
            return found
    return _of_table(name, quantity, source, temperature, conditions or {})


def _of_solution(
    salt: str, quantity: str, temperature: float | None, strength: dict[str, float]
) -> PropertyAnswer:
    work = SOLUTION_PROPERTIES.get(quantity)
    if work is None:
        raise ReferenceDataError(
            f"{quantity} is not on file for solutions",
            allowed=", ".join(SOLUTION_PROPERTIES),
            next_step="ask for one of those, or leave the strength out",
        )
    if temperature is None:
        raise RangeError(
            "a solution needs a temperature",
            where="temperature",
            allowed="a temperature in K",
            next_step="give temperature=298.15 for 25 degC",
        )
    return work(solutions.solution(salt, temperature, **strength))


def _of_table(
    name: str,
    quantity: str,
    source: str,
    temperature: float | None,
    conditions: dict[str, str],
) -> PropertyAnswer:
    rows = select(name, quantity, source=source, **conditions)
    rows = tuple(row for row in rows if not row.coefficients)
    if not rows and source and select(name, quantity):
        raise ReferenceDataError(
            f"{source} holds no tabulated {quantity} of {name}",
            where="source",
            allowed=", ".join(_sources_for(name, quantity)),
            next_step="ask one of those",
        )
    if not rows:
        unit = quantity_words()[quantity]["unit"]
        return missing((unit or ["1"])[0].removeprefix("1") or "", Reason.NO_SOURCE)
    row = _nearest(rows, temperature)
    state = {} if temperature is None else {"temperature": temperature}
    return answer_from_row(row, state, _apart(row, temperature))


def _row_temperature(row: PublishedRow) -> float | None:
    """The temperature a row stands at [K], None where it names none."""
    text = row.conditions.get("temperature", "")
    number, _, unit = text.partition(" ")
    if unit != "degC":
        return None
    return float(number) + ZERO_CELSIUS


def _nearest(rows: tuple[PublishedRow, ...], temperature: float | None) -> PublishedRow:
    """The preferred row; among equally preferred ones that name a temperature, the nearest."""
    best = [row for row in rows if row.preference == rows[0].preference]
    placed = [(at, row) for row in best if (at := _row_temperature(row)) is not None]
    if temperature is None or not placed:
        return rows[0]
    return min(placed, key=lambda pair: abs(pair[0] - temperature))[1]


def _apart(row: PublishedRow, temperature: float | None) -> tuple[str, ...]:
    at = _row_temperature(row)
    if at is None or temperature is None or abs(at - temperature) < 0.5:
        return ()
    return (f"the figure stands at {at:g} K, not at {temperature:g} K",)
