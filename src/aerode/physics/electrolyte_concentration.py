"""How much salt: conversions between the ways of saying it, sea water's scale among them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from aerode.errors import RangeError
from aerode.physics.checked_inputs import Floats, above_zero, not_negative, share

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import ArrayLike

__all__ = [
    "mass_fraction_from_molality",
    "mass_fraction_from_molarity",
    "mass_fraction_from_salinity",
    "mass_fraction_from_salt_per_water",
    "molality_from_mass_fraction",
    "molarity_from_mass_fraction",
    "practical_salinity",
    "salinity_from_mass_fraction",
    "salt_per_water_from_mass_fraction",
]

_MOST_STEPS = 200  # far more than the 30 that a salt of this program needs; numerical


def molality_from_mass_fraction(mass_fraction: ArrayLike, molar_mass: float) -> Floats:
    """Moles of salt per kilogram of water.

    Parameters
    ----------
    mass_fraction : array_like, any shape
        Salt over solution.
    molar_mass : float [kg/mol]
        Molar mass of the salt.

    Returns
    -------
    ndarray, same shape [mol/kg]

    Raises
    ------
    RangeError
        A share outside 0 to 1, or a molar mass not above zero.

    Notes
    -----
    m = w/((1 - w) M).

    Examples
    --------
    >>> round(float(molality_from_mass_fraction(0.035, 0.058443)), 3)
    0.621
    """
    w = share("mass fraction", mass_fraction)
    return w / ((1.0 - w) * float(above_zero("molar mass", molar_mass)))


def mass_fraction_from_molality(molality: ArrayLike, molar_mass: float) -> Floats:
    """Salt over solution from moles per kilogram of water.

    Parameters
    ----------
    molality : array_like [mol/kg], any shape
        Molality.
    molar_mass : float [kg/mol]
        Molar mass of the salt.

    Returns
    -------
    ndarray, same shape

    Raises
    ------
    RangeError
        A negative molality, or a molar mass not above zero.

    Notes
    -----
    w = m M/(1 + m M).

    Examples
    --------
    >>> round(float(mass_fraction_from_molality(0.9006, 0.058443)), 4)
    0.05
    """
    salt = not_negative("molality", molality) * float(above_zero("molar mass", molar_mass))
    return salt / (1.0 + salt)


def molarity_from_mass_fraction(
    mass_fraction: ArrayLike, density: ArrayLike, molar_mass: float
) -> Floats:
    """Moles of salt per volume of solution.

    Parameters
    ----------
    mass_fraction : array_like, any shape
        Salt over solution.
    density : array_like [kg/m^3]
        Density of the solution at the temperature meant.
    molar_mass : float [kg/mol]
        Molar mass of the salt.

    Returns
    -------
    ndarray [mol/m^3]

    Raises
    ------
    RangeError
        A share outside 0 to 1, or another value not above zero.

    Notes
    -----
    c = w rho/M.

    Examples
    --------
    >>> round(float(molarity_from_mass_fraction(0.05, 1034.0, 0.058443)), 0)
    885.0
    """
    w = share("mass fraction", mass_fraction)
    return w * above_zero("density", density) / float(above_zero("molar mass", molar_mass))


def mass_fraction_from_molarity(
    molarity: float, molar_mass: float, density: Callable[[float], float]
) -> float:
    """Salt over solution from moles per volume, with the density of the solution.

    Parameters
    ----------
    molarity : float [mol/m^3]
        Molarity.
    molar_mass : float [kg/mol]
        Molar mass of the salt.
    density : callable
        Density of the solution [kg/m^3] at a mass fraction.

    Returns
    -------
    float

    Raises
    ------
    RangeError
        More salt than solution.

    Notes
    -----
    w = c M/rho(w), repeated from water on; each step shrinks the miss by w rho'/rho, about a
    third for the salts here.

    Examples
    --------
    >>> round(mass_fraction_from_molarity(885.0, 0.058443, lambda w: 998.2 + 716.0 * w), 4)
    0.05
    """
    salt = float(not_negative("molarity", molarity)) * float(above_zero("molar mass", molar_mass))
    w = 0.0
    for _ in range(_MOST_STEPS):
        again = salt / float(above_zero("density", density(w)))
        if again >= 1.0:
            break
        if abs(again - w) <= 1e-13:  # numerical
            return again
        w = again
    raise RangeError(
        f"{molarity:g} mol/m^3 is more salt than a solution holds",
        where="molarity",
        allowed="a molarity of a real solution",
        next_step="look at the unit (mol/L is a thousand mol/m^3)",
    )


def salt_per_water_from_mass_fraction(mass_fraction: ArrayLike) -> Floats:
    """Kilograms of salt to weigh for each kilogram of water.

    Parameters
    ----------
    mass_fraction : array_like, any shape
        Salt over solution.

    Returns
    -------
    ndarray, same shape [kg/kg]

    Raises
    ------
    RangeError
        A share outside 0 to 1.

    Notes
    -----
    s = w/(1 - w). "3.5 g per 100 mL of water" is 0.0351 kg/kg at 20 degC and 3.39 % of solution.

    Examples
    --------
    >>> round(float(salt_per_water_from_mass_fraction(0.035)), 5)
    0.03627
    """
    w = share("mass fraction", mass_fraction)
    return w / (1.0 - w)


def mass_fraction_from_salt_per_water(salt_per_water: ArrayLike) -> Floats:
    """Salt over solution from kilograms of salt per kilogram of water.

    Parameters
    ----------
    salt_per_water : array_like [kg/kg], any shape
        Salt per water; grams per 100 mL over ten times the density of water in g/mL.

    Returns
    -------
    ndarray, same shape

    Raises
    ------
    RangeError
        A negative value.

    Notes
    -----
    w = s/(1 + s).

    Examples
    --------
    >>> round(float(mass_fraction_from_salt_per_water(0.03627)), 4)
    0.035
    """
    s = not_negative("salt per water", salt_per_water)
    return s / (1.0 + s)


def practical_salinity(
    conductivity: float,
    temperature: float,
    coefficients: Sequence[float],
    *,
    standard_conductivity: float,
    scale_ratio: float,
) -> float:
    """The practical salinity of sea water from its conductivity at the surface.

    Parameters
    ----------
    conductivity : float [S/m]
        Conductivity at atmospheric pressure.
    temperature : float [K]
        Temperature on ITS-90, 271 to 308 K.
    coefficients : sequence of float, shape (18,)
        a0..a5, b0..b5, k, c0..c4 of the scale.
    standard_conductivity : float [S/m]
        Conductivity of sea water of salinity 35 at 15 degC on IPTS-68.
    scale_ratio : float
        Temperature in degC on IPTS-68 over that on ITS-90.

    Returns
    -------
    float
        Practical salinity; valid from 2 to 42. Not for brine of pure sodium chloride.

    Raises
    ------
    RangeError
        A conductivity or temperature not above zero.

    Notes
    -----
    R_t = C/(C(35, 15, 0) r_t), S = sum a_i R_t^(i/2) + (t - 15)/(1 + k (t - 15)) sum b_i R_t^(i/2)
    (pss_78).

    Examples
    --------
    >>> pss = (0.0080, -0.1692, 25.3851, 14.0941, -7.0261, 2.7081, 0.0005, -0.0056, -0.0066,
    ...        -0.0375, 0.0636, -0.0144, 0.0162, 0.6766097, 2.00564e-2, 1.104259e-4, -6.9698e-7,
    ...        1.0031e-9)
    >>> scale = {"standard_conductivity": 4.2914, "scale_ratio": 1.00024}
    >>> round(practical_salinity(5.3071032, 298.15, pss, **scale), 3)
    35.0
    """
    a, b = np.asarray(coefficients[:6], float), np.asarray(coefficients[6:12], float)
    k, c = coefficients[12], np.asarray(coefficients[13:], float)
    t = (float(above_zero("temperature", temperature)) - 273.15) * scale_ratio
    kappa = float(above_zero("conductivity", conductivity))
    root = float(np.sqrt(kappa / standard_conductivity / _series(t, c)))
    warm = (t - 15.0) / (1.0 + k * (t - 15.0))
    return _series(root, a) + warm * _series(root, b)


def _series(x: float, coefficients: Floats) -> float:
    """A polynomial in rising powers."""
    return float(np.polynomial.polynomial.polyval(x, coefficients))


def mass_fraction_from_salinity(salinity: ArrayLike, per_salinity: float) -> Floats:
    """Mass of sea salt over mass of sea water.

    Parameters
    ----------
    salinity : array_like, any shape
        Practical salinity.
    per_salinity : float
        Mass fraction per unit of practical salinity (teos_10: 35.16504 g/kg at 35).

    Returns
    -------
    ndarray, same shape

    Raises
    ------
    RangeError
        A negative salinity.

    Notes
    -----
    w = S per_salinity, for sea water of the reference composition only.

    Examples
    --------
    >>> round(float(mass_fraction_from_salinity(35.0, 35.16504e-3 / 35)), 6)
    0.035165
    """
    return not_negative("salinity", salinity) * float(above_zero("scale", per_salinity))


def salinity_from_mass_fraction(mass_fraction: ArrayLike, per_salinity: float) -> Floats:
    """The practical salinity of sea water from its mass fraction of salt.

    Parameters
    ----------
    mass_fraction : array_like, any shape
        Sea salt over sea water.
    per_salinity : float
        Mass fraction per unit of practical salinity.

    Returns
    -------
    ndarray, same shape

    Raises
    ------
    RangeError
        A share outside 0 to 1.

    Notes
    -----
    Inverse of `mass_fraction_from_salinity`. Artificial brine of the same mass fraction has
    another conductivity.

    Examples
    --------
    >>> round(float(salinity_from_mass_fraction(0.03516504, 35.16504e-3 / 35)), 6)
    35.0
    """
    return share("mass fraction", mass_fraction) / float(above_zero("scale", per_salinity))
