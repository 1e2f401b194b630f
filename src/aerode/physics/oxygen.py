"""Oxygen dissolved in electrolytes: how much, how salt drives it out, how fast it diffuses.

Coefficients come as arguments; they stand in the reference table `oxygen`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from aerode.physics.checked_inputs import Floats, above_zero, not_negative
from aerode.physics.water import ZERO_CELSIUS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike

__all__ = [
    "diffusivity_in_water",
    "diffusivity_scaled",
    "pressure_factor",
    "salting_out_factor",
    "solubility_davis",
    "solubility_garcia_gordon",
]


def solubility_garcia_gordon(
    temperature: ArrayLike,
    salinity: ArrayLike,
    coefficients: Sequence[float],
    *,
    scale_ratio: float,
) -> Floats:
    """Oxygen in water or sea water under water-saturated air at 101.325 kPa.

    Parameters
    ----------
    temperature : array_like [K], any shape
        Temperature on ITS-90, 273 to 313 K.
    salinity : array_like
        Practical salinity, 0 to 42; for strong brine use 0 here and `salting_out_factor`.
    coefficients : sequence of float, shape (11,)
        a0..a5, b0..b3, c0 for a result in umol/kg.
    scale_ratio : float
        Temperature in degC on IPTS-68 over that on ITS-90.

    Returns
    -------
    ndarray [mol/kg]
        Moles per kilogram of solution.

    Raises
    ------
    RangeError
        A temperature not above zero, or a negative salinity.

    Notes
    -----
    ln C = sum a_i s^i + S sum b_i s^i + c0 S^2, s = ln((298.15 - t)/(273.15 + t)), t in degC on
    IPTS-68 (garcia_gordon_1992, eq. 8, the fit to benson_krause_1984).

    Examples
    --------
    >>> a = (5.80871, 3.20291, 4.17887, 5.10006, -9.86643e-2, 3.80369)
    >>> b = (-7.01577e-3, -7.70028e-3, -1.13864e-2, -9.51519e-3)
    >>> c = solubility_garcia_gordon(298.15, 0.0, (*a, *b, -2.75915e-7), scale_ratio=1.00024)
    >>> round(float(c) * 1e6, 2)
    258.97
    """
    t = (above_zero("temperature", temperature) - ZERO_CELSIUS) * scale_ratio
    salt = not_negative("salinity", salinity)
    s = np.log((298.15 - t) / (273.15 + t))
    values = np.asarray(coefficients, dtype=np.float64)
    fresh = np.polynomial.polynomial.polyval(s, values[:6])
    saline = np.polynomial.polynomial.polyval(s, values[6:10])
    return np.asarray(1e-6 * np.exp(fresh + salt * saline + values[10] * salt**2), dtype=np.float64)


def pressure_factor(
    oxygen_fraction: float,
    pressure: ArrayLike,
    water_pressure: ArrayLike,
    saturation: ArrayLike,
    standard_pressure: float,
) -> Floats:
    """How the room's air differs from water-saturated air at standard pressure.

    Parameters
    ----------
    oxygen_fraction : float
        Mole fraction of oxygen in the dry gas over that of air (1 for air, 4.77 for pure oxygen).
    pressure : array_like [Pa]
        Barometric pressure.
    water_pressure : array_like [Pa]
        Water vapour pressure of the gas at the electrode.
    saturation : array_like [Pa]
        Vapour pressure of pure water at the temperature.
    standard_pressure : float [Pa]
        Pressure of the solubility table, 101 325 Pa.

    Returns
    -------
    ndarray
        Factor on the tabulated solubility.

    Raises
    ------
    RangeError
        More water vapour than pressure, or a negative value.

    Notes
    -----
    (x/x_air)(p - p_w)/(p0 - p_sat): Henry, the dry part of the pressure alone carries oxygen.

    Examples
    --------
    >>> round(float(pressure_factor(1.0, 84000.0, 3169.9, 3169.9, 101325.0)), 3)
    0.823
    """
    dry = above_zero("pressure", pressure) - not_negative("water pressure", water_pressure)
    standard = standard_pressure - not_negative("saturation", saturation)
    ratio = above_zero("dry pressure", dry) / above_zero("standard dry pressure", standard)
    return float(above_zero("oxygen share", oxygen_fraction)) * ratio


def salting_out_factor(
    molarities: Sequence[ArrayLike],
    ion_parameters: Sequence[float],
    temperature: ArrayLike,
    *,
    gas_parameter: float,
    gas_slope: float,
    reference_temperature: float,
) -> Floats:
    """The share of the solubility in water that the ions leave.

    Parameters
    ----------
    molarities : sequence of array_like [mol/m^3]
        Molarity of each ion.
    ion_parameters : sequence of float [m^3/mol]
        h of each ion.
    temperature : array_like [K]
        Temperature, 273 to 363 K.
    gas_parameter : float [m^3/mol]
        h of the gas at the reference temperature.
    gas_slope : float [m^3/(mol K)]
        Its temperature slope.
    reference_temperature : float [K]
        298.15 K.

    Returns
    -------
    ndarray
        c/c0, by volume of solution; up to 2 to 5 mol/L.

    Raises
    ------
    RangeError
        A negative molarity, or a temperature not above zero.

    Notes
    -----
    log10(c0/c) = sum (h_i + h_G) c_i, h_G = h_G0 + h_T (T - T0) (schumpe_1993, weisenberger_1996).

    Examples
    --------
    >>> h = {"gas_parameter": 0.0, "gas_slope": 0.0, "reference_temperature": 298.15}
    >>> round(float(salting_out_factor([1000.0, 1000.0], [1.171e-4, 3.34e-5], 298.15, **h)), 3)
    0.707
    """
    kelvin = above_zero("temperature", temperature)
    gas = gas_parameter + gas_slope * (kelvin - reference_temperature)
    exponent = np.zeros_like(gas)
    for c, h in zip(molarities, ion_parameters, strict=True):
        exponent = exponent + (h + gas) * not_negative("molarity", c)
    return np.asarray(10.0 ** (-exponent), dtype=np.float64)


def solubility_davis(molarity: ArrayLike, solubility: float, slope: float) -> Floats:
    """Oxygen in potassium hydroxide at 25 degC under pure oxygen at 101.325 kPa.

    Parameters
    ----------
    molarity : array_like [mol/m^3], any shape
        Molarity of potassium hydroxide, 0 to 12 000 mol/m^3.
    solubility : float [mol/m^3]
        Solubility in water.
    slope : float [m^3/mol]
        Decadic salting-out coefficient.

    Returns
    -------
    ndarray, same shape [mol/m^3]

    Raises
    ------
    RangeError
        A negative molarity.

    Notes
    -----
    c = c0 10^(-k M) (davis_1967, abstract).

    Examples
    --------
    >>> round(float(solubility_davis(4000.0, 1.26, 1.746e-4)), 3)
    0.252
    """
    return np.asarray(
        solubility * 10.0 ** (-slope * not_negative("molarity", molarity)), dtype=np.float64
    )


def diffusivity_in_water(temperature: ArrayLike, a: float, b: float, c: float) -> Floats:
    """The diffusivity of oxygen in water.

    Parameters
    ----------
    temperature : array_like [K], any shape
        Temperature, 272.7 to 368 K.
    a, b, c : float
        Coefficients for a result in cm^2/s.

    Returns
    -------
    ndarray, same shape [m^2/s]

    Raises
    ------
    RangeError
        A temperature not above zero.

    Notes
    -----
    log10 D = a + b/T - (c/T)^2 (han_bartels_1996, abstract).

    Examples
    --------
    >>> round(float(diffusivity_in_water(298.15, -4.410, 773.8, 506.4)) * 1e9, 3)
    1.998
    """
    kelvin = above_zero("temperature", temperature)
    return np.asarray(1e-4 * 10.0 ** (a + b / kelvin - (c / kelvin) ** 2), dtype=np.float64)


def diffusivity_scaled(
    water_diffusivity: ArrayLike,
    water_viscosity: ArrayLike,
    viscosity: ArrayLike,
    exponent: float,
) -> Floats:
    """The diffusivity of oxygen in a solution, from that in water and the viscosities.

    Parameters
    ----------
    water_diffusivity : array_like [m^2/s]
        Diffusivity in water at the temperature.
    water_viscosity : array_like [Pa s]
        Viscosity of water.
    viscosity : array_like [Pa s]
        Viscosity of the solution.
    exponent : float
        1 is Stokes-Einstein, a lower bound for oxygen in salt solutions; 0.6 an upper bound.

    Returns
    -------
    ndarray [m^2/s]

    Raises
    ------
    RangeError
        A value not above zero.

    Notes
    -----
    D = D_w (mu_w/mu)^n. No measured set for NaCl solutions was found: carry both bounds.

    Examples
    --------
    >>> round(float(diffusivity_scaled(2.0e-9, 0.89e-3, 1.78e-3, 1.0)) * 1e9, 3)
    1.0
    """
    ratio = above_zero("water viscosity", water_viscosity) / above_zero("viscosity", viscosity)
    return above_zero("diffusivity", water_diffusivity) * ratio**exponent
