"""What a battery of like cells takes and makes: cells in series, charge, aluminium lost to corrosion, its heat.

The discharge of one cell in time is in `physics.discharge`; here are the whole sums that size one.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from aerode.errors import RangeError
from aerode.physics.aluminium import ELECTRONS
from aerode.physics.checked_scalars import above_zero, not_negative
from aerode.physics.constants import FARADAY

__all__ = [
    "Corroded",
    "cells_in_series",
    "corrosion_balance",
    "current_of_each_cell",
    "smoothing_capacitance",
]

WATER_PER_ALUMINIUM = 3  # 2 Al + 6 H2O -> 2 Al(OH)3 + 3 H2
_WHOLE = 1e-9  # numerical: three cells of 0.5 V are enough for 1.5 V


def cells_in_series(voltage: float, cell_voltage: float) -> int:
    """The fewest cells in a row that reach a voltage.

    Parameters
    ----------
    voltage : float [V]
        That the load, or the converter before it, needs at least.
    cell_voltage : float [V]
        Of one cell under load.

    Returns
    -------
    int [1]

    Raises
    ------
    RangeError
        A voltage not above zero.

    Examples
    --------
    >>> cells_in_series(0.9, 0.45), cells_in_series(0.91, 0.45), cells_in_series(0.3, 0.45)
    (2, 3, 1)
    """
    above_zero(voltage=voltage, cell_voltage=cell_voltage)
    return max(1, math.ceil(voltage / cell_voltage - _WHOLE))


def current_of_each_cell(
    power: float, in_series: int, cell_voltage: float, lead: float = 0.0
) -> float:
    """The current through a row of like cells that together give a power.

    Parameters
    ----------
    power : float [W]
        Taken from the cells: the load's, over the share that the converter passes on.
    in_series : int [1]
    cell_voltage : float [V]
        Before the lead.
    lead : float [ohm]
        In series with each cell.

    Returns
    -------
    float [A]
        The smaller root of (U - I r) I = P/n.

    Raises
    ------
    RangeError
        A value not above zero, or more power than the lead lets through: U^2/(4 r) of each cell.

    Examples
    --------
    >>> round(1e3 * current_of_each_cell(0.024, 2, 0.45), 1)
    26.7
    >>> round(1e3 * current_of_each_cell(0.024, 2, 0.45, 0.5), 1)
    27.5
    """
    above_zero(power=power, in_series=in_series, cell_voltage=cell_voltage)
    not_negative(lead=lead)
    each = power / in_series
    inside = cell_voltage**2 - 4.0 * lead * each
    if inside < 0.0:
        raise RangeError(
            f"a lead of {lead:g} ohm lets no {each:g} W through at {cell_voltage:g} V", where="lead",
            allowed=f"up to {cell_voltage**2 / (4.0 * each):.3g} ohm",
        )  # fmt: skip
    return 2.0 * each / (cell_voltage + math.sqrt(inside))


@dataclass(frozen=True, slots=True, kw_only=True)
class Corroded:
    """What aluminium that corrodes takes and makes."""

    charge: float
    """Hydrogen it makes, as charge [C]."""
    water: float
    """[kg]"""
    hydroxide: float
    """Solid, dry [kg]."""


def corrosion_balance(mass: float, *, aluminium: float, water: float, hydroxide: float) -> Corroded:
    """Hydrogen, water and solid of aluminium that is eaten without giving current.

    Parameters
    ----------
    mass : float [kg]
        Aluminium lost.
    aluminium, water, hydroxide : float [kg/mol]
        Molar masses of Al, H2O and Al(OH)3.

    Returns
    -------
    Corroded

    Raises
    ------
    RangeError
        A negative mass, or a molar mass not above zero.

    Notes
    -----
    2 Al + 6 H2O -> 2 Al(OH)3 + 3 H2. In brine a part of the corrosion is driven by oxygen and makes
    no gas: the hydrogen is the most there can be.

    Examples
    --------
    >>> gone = corrosion_balance(1e-3, aluminium=26.9815e-3, water=18.015e-3, hydroxide=78.004e-3)
    >>> round(gone.charge / 3600.0, 3), round(gone.water * 1e3, 3), round(gone.hydroxide * 1e3, 3)
    (2.98, 2.003, 2.891)
    """
    not_negative(mass=mass)
    above_zero(aluminium=aluminium, water=water, hydroxide=hydroxide)
    amount = mass / aluminium
    return Corroded(
        charge=ELECTRONS * FARADAY * amount,
        water=WATER_PER_ALUMINIUM * amount * water,
        hydroxide=amount * hydroxide,
    )


def smoothing_capacitance(current: float, duration: float, drop: float) -> float:
    """The capacitance across a load that carries a burst of current alone.

    Parameters
    ----------
    current : float [A]
        Above what the cells give meanwhile.
    duration : float [s]
    drop : float [V]
        By which the voltage may fall.

    Returns
    -------
    float [F]

    Raises
    ------
    RangeError
        A negative current or duration, or a drop not above zero.

    Examples
    --------
    >>> round(smoothing_capacitance(0.06, 0.1, 0.3), 3)
    0.02
    """
    not_negative(current=current, duration=duration)
    above_zero(drop=drop)
    return current * duration / drop
