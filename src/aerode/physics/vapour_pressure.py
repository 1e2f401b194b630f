"""Vapour over liquids: Antoine, water over a solution, the humidity a solution keeps."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from aerode.physics.checked_inputs import Floats, above_zero, not_negative
from aerode.physics.constants import GAS_CONSTANT

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

__all__ = [
    "antoine_enthalpy",
    "antoine_pressure",
    "antoine_temperature",
    "oxygen_partial_pressure",
    "solution_pressure",
]


def antoine_pressure(
    temperature: ArrayLike,
    a: float,
    b: float,
    c: float,
    *,
    base: float = 10.0,  # decimal logarithm, by definition
) -> Floats:
    """The vapour pressure of a liquid by the Antoine equation.

    Parameters
    ----------
    temperature : array_like [K], any shape
        Temperature inside the range of the coefficients; outside it the equation must not be used.
    a, b, c : float
        Coefficients for a result in Pa.
    base : float
        10 for log10 coefficients, e for natural ones.

    Returns
    -------
    ndarray, same shape [Pa]

    Raises
    ------
    RangeError
        A temperature not above zero.

    Notes
    -----
    log_base p = a - b/(T + c) (poling_2001, appendix A; landolt).

    Examples
    --------
    >>> round(float(antoine_pressure(298.15, 9.05043, 1327.62, -55.525)))
    3789
    """
    kelvin = above_zero("temperature", temperature)
    return np.asarray(base ** (a - b / (kelvin + c)), dtype=np.float64)


def antoine_temperature(
    pressure: ArrayLike,
    a: float,
    b: float,
    c: float,
    *,
    base: float = 10.0,  # decimal logarithm, by definition
) -> Floats:
    """The temperature at which a liquid reaches a vapour pressure, the inverse of Antoine.

    Parameters
    ----------
    pressure : array_like [Pa], any shape
        Vapour pressure.
    a, b, c : float
        Coefficients for pressures in Pa.
    base : float
        10 for log10 coefficients, e for natural ones.

    Returns
    -------
    ndarray, same shape [K]

    Raises
    ------
    RangeError
        A pressure not above zero.

    Notes
    -----
    T = b/(a - log_base p) - c (poling_2001).

    Examples
    --------
    >>> round(float(antoine_temperature(101325.0, 9.05043, 1327.62, -55.525)) - 273.15, 1)
    110.6
    """
    logarithm = np.log(above_zero("pressure", pressure)) / np.log(base)
    return np.asarray(b / (a - logarithm) - c, dtype=np.float64)


def antoine_enthalpy(
    temperature: ArrayLike,
    b: float,
    c: float,
    *,
    base: float = 10.0,  # decimal logarithm, by definition
) -> Floats:
    """The heat of evaporation that the slope of the Antoine equation stands for.

    Parameters
    ----------
    temperature : array_like [K], any shape
        Temperature well below the boiling temperature.
    b, c : float
        Antoine coefficients.
    base : float
        10 for log10 coefficients, e for natural ones.

    Returns
    -------
    ndarray, same shape [J/mol]

    Raises
    ------
    RangeError
        A temperature not above zero.

    Notes
    -----
    dH = R T^2 d(ln p)/dT = R b ln(base) (T/(T + c))^2: Clausius and Clapeyron for an ideal vapour,
    the liquid volume neglected. A check of tabulated heats, 1 to 3 % high near boiling.

    Examples
    --------
    >>> round(float(antoine_enthalpy(298.15, 1327.62, -55.525)) / 1e3, 1)
    38.4
    """
    kelvin = above_zero("temperature", temperature)
    slope = GAS_CONSTANT * b * np.log(base) * (kelvin / (kelvin + c)) ** 2
    return np.asarray(slope, dtype=np.float64)


def solution_pressure(water_activity: ArrayLike, saturation: ArrayLike) -> Floats:
    """The water vapour pressure over a solution; its activity is the humidity it keeps.

    Parameters
    ----------
    water_activity : array_like, any shape
        Water activity.
    saturation : array_like [Pa]
        Vapour pressure of pure water at the same temperature.

    Returns
    -------
    ndarray [Pa]

    Raises
    ------
    RangeError
        A negative value.

    Notes
    -----
    p = a_w p_sat (definition of the activity; fugacity taken as pressure). Air drier than a_w
    dries the solution, moister air waters it.

    Examples
    --------
    >>> round(float(solution_pressure(0.9795, 3169.9)), 1)
    3104.9
    """
    return not_negative("water activity", water_activity) * above_zero("saturation", saturation)


def oxygen_partial_pressure(
    oxygen_fraction: float, pressure: ArrayLike, water_pressure: ArrayLike
) -> Floats:
    """The oxygen partial pressure of moist air.

    Parameters
    ----------
    oxygen_fraction : float
        Mole fraction of oxygen in dry air.
    pressure : array_like [Pa]
        Barometric pressure.
    water_pressure : array_like [Pa]
        Water vapour pressure of that air.

    Returns
    -------
    ndarray [Pa]

    Raises
    ------
    RangeError
        More water vapour than pressure, or a negative value.

    Notes
    -----
    p_O2 = x (p - p_w), ideal gas.

    Examples
    --------
    >>> round(float(oxygen_partial_pressure(0.2095, 101325.0, 3104.9)))
    20577
    """
    dry = above_zero("pressure", pressure) - not_negative("water vapour pressure", water_pressure)
    return oxygen_fraction * above_zero("pressure of the dry air", dry)
