"""Cell voltages from Gibbs energies: Nernst, temperature slopes, heat that a cell must give off.

Formation properties come as arguments; they stand in the reference table `thermodynamics`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from aerode.errors import RangeError
from aerode.physics.checked_inputs import Floats, above_zero, finite
from aerode.physics.constants import FARADAY, GAS_CONSTANT

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import ArrayLike

__all__ = [
    "STANDARD_PRESSURE",
    "STANDARD_TEMPERATURE",
    "heat_rate",
    "nernst_potential",
    "potential_at",
    "reaction_property",
    "standard_potential",
    "standard_potential_slope",
    "thermoneutral_voltage",
    "water_activity_term",
]

STANDARD_PRESSURE = 1.0e5  # Pa, standard pressure of the formation properties (nbs_tables)
STANDARD_TEMPERATURE = 298.15  # K, temperature of the formation properties (nbs_tables)


def reaction_property(stoichiometry: Mapping[str, float], formation: Mapping[str, float]) -> float:
    """A Gibbs energy, enthalpy or entropy of a reaction from those of its species.

    Parameters
    ----------
    stoichiometry : mapping of str to float
        Species and their numbers, products positive, educts negative.
    formation : mapping of str to float [J/mol]
        The property of each species (J/mol, or J/(mol K) for entropies).

    Returns
    -------
    float [J/mol]

    Raises
    ------
    RangeError
        A species without a value.

    Notes
    -----
    Delta X = sum nu_i X_i (Hess).

    Examples
    --------
    >>> reaction_property({"a": -1.0, "b": 2.0}, {"a": 10.0, "b": 4.0})
    -2.0
    """
    missing = sorted(set(stoichiometry) - set(formation))
    if missing:
        raise RangeError(
            f"no formation value for {', '.join(missing)}",
            allowed=", ".join(sorted(formation)),
            next_step="add the missing species",
        )
    return sum(number * formation[species] for species, number in stoichiometry.items())


def standard_potential(gibbs_energy: float, electrons: float) -> float:
    """The standard potential that a reaction Gibbs energy stands for.

    Parameters
    ----------
    gibbs_energy : float [J/mol]
        Gibbs energy of the reduction, or of the whole cell reaction.
    electrons : float
        Electrons passed per reaction as written.

    Returns
    -------
    float [V]

    Raises
    ------
    RangeError
        Electrons not above zero.

    Notes
    -----
    E0 = -Delta G / (n F).

    Examples
    --------
    >>> round(standard_potential(4 * -157244.0 - 2 * -237129.0, 4), 4)
    0.4009
    """
    return -gibbs_energy / (float(above_zero("electrons", electrons)) * FARADAY)


def standard_potential_slope(entropy: float, electrons: float) -> float:
    """The temperature slope of a standard potential.

    Parameters
    ----------
    entropy : float [J/(mol K)]
        Entropy of the reaction; for a half cell against the standard hydrogen electrode include
        the hydrogen side (n/2 H2 -> n H+).
    electrons : float
        Electrons passed per reaction as written.

    Returns
    -------
    float [V/K]

    Raises
    ------
    RangeError
        Electrons not above zero.

    Notes
    -----
    dE0/dT = Delta S / (n F); constant heat capacities neglected, good for 0 to 60 degC.

    Examples
    --------
    >>> round(standard_potential_slope(2 * 69.91 - 205.138 - 2 * 130.684, 4) * 1e3, 3)
    -0.846
    """
    return entropy / (float(above_zero("electrons", electrons)) * FARADAY)


def potential_at(potential: float, slope: float, temperature: ArrayLike) -> Floats:
    """A standard potential away from 25 degC, by its slope.

    Parameters
    ----------
    potential : float [V]
        Standard potential at 298.15 K.
    slope : float [V/K]
        Its temperature slope.
    temperature : array_like [K]
        Temperature, 273 to 333 K.

    Returns
    -------
    ndarray [V]

    Raises
    ------
    RangeError
        A temperature not above zero.

    Notes
    -----
    E0(T) = E0 + (T - 298.15 K) dE0/dT.

    Examples
    --------
    >>> round(float(potential_at(0.4009, -1.682e-3, 308.15)), 4)
    0.3841
    """
    return potential + slope * (above_zero("temperature", temperature) - STANDARD_TEMPERATURE)


def nernst_potential(
    potential: ArrayLike, electrons: float, temperature: ArrayLike, log_quotient: ArrayLike
) -> Floats:
    """A potential away from standard activities.

    Parameters
    ----------
    potential : array_like [V]
        Standard potential at the temperature.
    electrons : float
        Electrons passed per reaction as written.
    temperature : array_like [K]
        Temperature.
    log_quotient : array_like
        Natural logarithm of the activity quotient (products over educts).

    Returns
    -------
    ndarray [V]

    Raises
    ------
    RangeError
        A value that is not finite, or a temperature or electrons not above zero.

    Notes
    -----
    E = E0 - (R T/n F) ln Q (Nernst).

    Examples
    --------
    >>> round(float(nernst_potential(0.0, 1, 298.15, -2.302585)), 5)
    0.05916
    """
    kelvin = above_zero("temperature", temperature)
    scale = GAS_CONSTANT * kelvin / (float(above_zero("electrons", electrons)) * FARADAY)
    return np.asarray(
        finite("potential", potential) - scale * finite("ln Q", log_quotient), dtype=np.float64
    )


def water_activity_term(oxygen_pressure: ArrayLike, water_activity: ArrayLike) -> Floats:
    """ln Q of 4 Al + 3 O2 + 6 H2O -> 4 Al(OH)3, twelve electrons.

    Parameters
    ----------
    oxygen_pressure : array_like [Pa]
        Oxygen partial pressure.
    water_activity : array_like
        Water activity of the electrolyte.

    Returns
    -------
    ndarray

    Raises
    ------
    RangeError
        A value not above zero.

    Notes
    -----
    ln Q = -3 ln(p_O2/p0) - 6 ln a_w.

    Examples
    --------
    >>> round(float(water_activity_term(1.0e5, 1.0)), 6) + 0.0
    0.0
    """
    pressure = above_zero("oxygen pressure", oxygen_pressure) / STANDARD_PRESSURE
    activity = above_zero("water activity", water_activity)
    return np.asarray(-3.0 * np.log(pressure) - 6.0 * np.log(activity), dtype=np.float64)


def thermoneutral_voltage(enthalpy: float, electrons: float) -> float:
    """The voltage at which a cell would give off no heat.

    Parameters
    ----------
    enthalpy : float [J/mol]
        Enthalpy of the cell reaction.
    electrons : float
        Electrons passed per reaction as written.

    Returns
    -------
    float [V]

    Raises
    ------
    RangeError
        Electrons not above zero.

    Notes
    -----
    E_tn = -Delta H / (n F).

    Examples
    --------
    >>> round(thermoneutral_voltage(-285830.0, 2), 3)
    1.481
    """
    return -enthalpy / (float(above_zero("electrons", electrons)) * FARADAY)


def heat_rate(current: ArrayLike, voltage: ArrayLike, thermoneutral: float) -> Floats:
    """The heat that the wanted reaction gives off under load.

    Parameters
    ----------
    current : array_like [A]
        Current drawn.
    voltage : array_like [V]
        Voltage at the cell.
    thermoneutral : float [V]
        Thermoneutral voltage.

    Returns
    -------
    ndarray [W]
        Without the heat of corrosion, which comes on top.

    Raises
    ------
    RangeError
        A value that is not finite.

    Notes
    -----
    P = I (E_tn - V).

    Examples
    --------
    >>> float(heat_rate(1.0, 1.0, 3.0))
    2.0
    """
    return finite("current", current) * (thermoneutral - finite("voltage", voltage))
