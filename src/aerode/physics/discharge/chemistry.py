"""Which substances a discharge moves, and in what proportion: one table of reactions.

The run counts how far each reaction has gone; amounts follow from this table, so nothing can be
lost between them.
"""

from __future__ import annotations

from enum import IntEnum, StrEnum

import numpy as np

from aerode.errors import RangeError
from aerode.physics.checked_inputs import Floats

__all__ = [
    "Electrolyte",
    "Process",
    "Species",
    "amounts_changed",
    "composition",
    "stoichiometry",
]


class Electrolyte(StrEnum):
    """Where the product goes: dissolved in lye, or straight into gel in neutral brine."""

    LYE = "lye"
    BRINE = "brine"


class Species(IntEnum):
    """What is counted, in mol. The last five stand outside the cell and count what was exchanged."""

    ALUMINIUM = 0
    WATER = 1
    HYDROXIDE = 2
    ALUMINATE = 3
    CARBONATE = 4
    PEROXIDE = 5
    SOLID = 6
    OXYGEN_OUTSIDE = 7
    HYDROGEN_OUTSIDE = 8
    CARBON_DIOXIDE_OUTSIDE = 9
    VAPOUR_OUTSIDE = 10
    WATER_SUPPLY = 11


class Process(IntEnum):
    """How far each process has gone: the first eight in mol, then charge [C] and three heats [J]."""

    DISCHARGE = 0
    CORROSION_BY_WATER = 1
    CORROSION_BY_OXYGEN = 2
    PRECIPITATION = 3
    CARBONATION = 4
    PEROXIDE_DECAY = 5
    EVAPORATION = 6
    REFILL = 7
    CHARGE = 8
    ENERGY = 9
    HEAT_MADE = 10
    HEAT_PASSED_ON = 11


REACTIONS = 8


def stoichiometry(electrolyte: Electrolyte, electrons: float) -> Floats:
    """How much of each substance each process makes (positive) or takes (negative).

    Parameters
    ----------
    electrolyte : Electrolyte
        Lye or brine.
    electrons : float [1]
        Electrons per oxygen molecule, 2 to 4; what is short of 4 leaves peroxide.

    Returns
    -------
    ndarray, shape (12 species, 8 processes) [mol/mol]
        Per mol of aluminium, of solid, of carbon dioxide, of peroxide or of water.

    Raises
    ------
    RangeError
        Electrons outside 2 to 4.

    Notes
    -----
    Lye: Al + (3/n) O2 + 1.5 H2O + (6/n - 0.5) OH- -> Al(OH)4- + (6/n - 1.5) HO2-;
    Al + 3 H2O + OH- -> Al(OH)4- + 1.5 H2; Al(OH)4- -> Al(OH)3 + OH-; CO2 + 2 OH- -> CO3(2-) + H2O;
    HO2- -> OH- + 0.5 O2. Brine: Al + (3/n) O2 + (6/n) H2O -> Al(OH)3 + (6/n - 1.5) H2O2;
    Al + 3 H2O -> Al(OH)3 + 1.5 H2; H2O2 -> H2O + 0.5 O2. Corrosion by oxygen counts four electrons.
    Balanced by hand from O2 + 2 H2O + 4 e -> 4 OH- and O2 + H2O + 2 e -> HO2- + OH-; the tests
    count the atoms.

    Examples
    --------
    >>> table = stoichiometry(Electrolyte.LYE, 4.0)
    >>> float(table[Species.WATER, Process.DISCHARGE])
    -1.5
    """
    if not 2.0 <= electrons <= 4.0:
        raise RangeError(f"{electrons:g} electrons per oxygen", where="electrons", allowed="2 to 4")
    table = np.zeros((len(Species), REACTIONS))
    for process, electrons_here in (
        (Process.DISCHARGE, electrons),
        (Process.CORROSION_BY_OXYGEN, 4.0),
    ):
        _reduce_oxygen(table[:, process], electrolyte, electrons_here)
    _with_water(table[:, Process.CORROSION_BY_WATER], electrolyte)
    _add(table[:, Process.PRECIPITATION], {Species.ALUMINATE: -1, Species.SOLID: 1})
    table[Species.HYDROXIDE, Process.PRECIPITATION] = 1.0
    _add(
        table[:, Process.CARBONATION],
        {
            Species.CARBON_DIOXIDE_OUTSIDE: -1,
            Species.HYDROXIDE: -2,
            Species.CARBONATE: 1,
            Species.WATER: 1,
        },
    )
    left = Species.HYDROXIDE if electrolyte is Electrolyte.LYE else Species.WATER
    _add(
        table[:, Process.PEROXIDE_DECAY],
        {Species.PEROXIDE: -1, left: 1, Species.OXYGEN_OUTSIDE: 0.5},
    )
    _add(table[:, Process.EVAPORATION], {Species.WATER: -1, Species.VAPOUR_OUTSIDE: 1})
    _add(table[:, Process.REFILL], {Species.WATER: 1, Species.WATER_SUPPLY: -1})
    return table


def _add(column: Floats, parts: dict[Species, float]) -> None:
    for species, number in parts.items():
        column[species] += number


def _reduce_oxygen(column: Floats, electrolyte: Electrolyte, electrons: float) -> None:
    peroxide = 6.0 / electrons - 1.5
    parts = {Species.ALUMINIUM: -1, Species.OXYGEN_OUTSIDE: -3.0 / electrons}
    if electrolyte is Electrolyte.LYE:
        ions = {Species.HYDROXIDE: -(1.0 + peroxide), Species.ALUMINATE: 1}
        _add(column, {**parts, **ions, Species.WATER: -1.5, Species.PEROXIDE: peroxide})
    else:
        made = {Species.SOLID: 1, Species.PEROXIDE: peroxide}
        _add(column, {**parts, **made, Species.WATER: -6.0 / electrons})


def _with_water(column: Floats, electrolyte: Electrolyte) -> None:
    _add(column, {Species.ALUMINIUM: -1, Species.WATER: -3, Species.HYDROGEN_OUTSIDE: 1.5})
    if electrolyte is Electrolyte.LYE:
        _add(column, {Species.HYDROXIDE: -1, Species.ALUMINATE: 1})
    else:
        _add(column, {Species.SOLID: 1})


def composition(electrolyte: Electrolyte) -> Floats:
    """Atoms and charge of each substance, for the balances.

    Parameters
    ----------
    electrolyte : Electrolyte
        Peroxide is HO2- in lye and H2O2 in brine.

    Returns
    -------
    ndarray, shape (12 species, 5) [1]
        Aluminium, oxygen, hydrogen, carbon atoms and charge number.

    Notes
    -----
    Formulas as in `stoichiometry`.

    Examples
    --------
    >>> composition(Electrolyte.LYE)[Species.ALUMINATE].tolist()
    [1.0, 4.0, 4.0, 0.0, -1.0]
    """
    peroxide = [0, 2, 1, 0, -1] if electrolyte is Electrolyte.LYE else [0, 2, 2, 0, 0]
    return np.array(
        [
            [1, 0, 0, 0, 0],
            [0, 1, 2, 0, 0],
            [0, 1, 1, 0, -1],
            [1, 4, 4, 0, -1],
            [0, 3, 0, 1, -2],
            peroxide,
            [1, 3, 3, 0, 0],
            [0, 2, 0, 0, 0],
            [0, 0, 2, 0, 0],
            [0, 2, 0, 1, 0],
            [0, 1, 2, 0, 0],
            [0, 1, 2, 0, 0],
        ],
        dtype=np.float64,
    )


def amounts_changed(table: Floats, extents: Floats) -> Floats:
    """How much of each substance has come or gone.

    Parameters
    ----------
    table : ndarray, shape (12, 8) [mol/mol]
        From `stoichiometry`.
    extents : ndarray, shape (..., 8 or more) [mol]
        How far each process has gone; what stands beyond the eighth is left out.

    Returns
    -------
    ndarray, shape (..., 12) [mol]

    Notes
    -----
    A sum of products: exact but for rounding.

    Examples
    --------
    >>> table = stoichiometry(Electrolyte.BRINE, 4.0)
    >>> float(amounts_changed(table, np.eye(8)[Process.DISCHARGE])[Species.SOLID])
    1.0
    """
    return np.asarray(extents[..., :REACTIONS] @ table.T, dtype=np.float64)
