"""Liquid water: density, also of sea water, viscosity, saturation pressure. The coefficients come as arguments.

They stand in the reference table `water`; `aerode.properties` puts the two together.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from aerode.physics.checked_inputs import Floats, above_zero, not_negative

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike

__all__ = [
    "ZERO_CELSIUS",
    "saturation_pressure",
    "seawater_density",
    "water_density",
    "water_viscosity",
]

ZERO_CELSIUS = 273.15  # K, exact by definition of the degree Celsius


def water_density(temperature: ArrayLike, numerator: Sequence[float], denominator: float) -> Floats:
    """The density of air-free water at atmospheric pressure.

    Parameters
    ----------
    temperature : array_like [K], any shape
        Temperature; the published span is 273.15 to 423.15 K, liquid at 1 atm to 373 K.
    numerator : sequence of float, shape (n,)
        Coefficients in rising powers of the temperature in degC.
    denominator : float [1/K]
        Coefficient of the denominator.

    Returns
    -------
    ndarray, same shape [kg/m^3]

    Raises
    ------
    RangeError
        A temperature not above zero.

    Notes
    -----
    rho = sum n_i t^i / (1 + d t), t in degC (kell_1975). Do not use above 1 MPa.

    Examples
    --------
    >>> kell = (999.83952, 16.945176, -7.9870401e-3, -46.170461e-6, 105.56302e-9, -280.54253e-12)
    >>> round(float(water_density(298.15, kell, 16.879850e-3)), 2)
    997.04
    """
    t = above_zero("temperature", temperature) - ZERO_CELSIUS
    top = np.polynomial.polynomial.polyval(t, np.asarray(numerator, dtype=np.float64))
    return np.asarray(top / (1.0 + denominator * t), dtype=np.float64)


def water_viscosity(temperature: ArrayLike, a: float, b: float, c: float, d: float) -> Floats:
    """The viscosity of water at atmospheric pressure.

    Parameters
    ----------
    temperature : array_like [K], any shape
        Temperature, 273 to 368 K.
    a, b, c, d : float
        Coefficients for a result in mPa s.

    Returns
    -------
    ndarray, same shape [Pa s]

    Raises
    ------
    RangeError
        A temperature not above zero.

    Notes
    -----
    mu [mPa s] = (t + a)/((b t + c) t + d), t in degC (laliberte_2007).

    Examples
    --------
    >>> round(float(water_viscosity(298.15, 246.0, 0.05594, 5.2842, 137.37)) * 1e3, 5)
    0.89017
    """
    t = above_zero("temperature", temperature) - ZERO_CELSIUS
    return np.asarray(1e-3 * (t + a) / ((b * t + c) * t + d), dtype=np.float64)


def saturation_pressure(
    temperature: ArrayLike,
    critical_temperature: float,
    critical_pressure: float,
    coefficients: Sequence[float],
) -> Floats:
    """The vapour pressure of pure liquid water.

    Parameters
    ----------
    temperature : array_like [K], any shape
        Temperature, triple point to critical point.
    critical_temperature : float [K]
        Critical temperature.
    critical_pressure : float [Pa]
        Critical pressure.
    coefficients : sequence of float, shape (6,)
        a1 to a6.

    Returns
    -------
    ndarray, same shape [Pa]

    Raises
    ------
    RangeError
        A temperature not above zero.

    Notes
    -----
    ln(p/pc) = (Tc/T)(a1 s + a2 s^1.5 + a3 s^3 + a4 s^3.5 + a5 s^4 + a6 s^7.5), s = 1 - T/Tc
    (wagner_pruss_2002, eq. 2.5).

    Examples
    --------
    >>> a = (-7.85951783, 1.84408259, -11.7866497, 22.6807411, -15.9618719, 1.80122502)
    >>> round(float(saturation_pressure(298.15, 647.096, 22.064e6, a)), 0)
    3170.0
    """
    kelvin = above_zero("temperature", temperature)
    s = 1.0 - kelvin / critical_temperature
    powers = (1.0, 1.5, 3.0, 3.5, 4.0, 7.5)
    total = sum(
        (a * s**power for a, power in zip(coefficients, powers, strict=True)),
        start=np.zeros_like(s),
    )
    exponent = critical_temperature / kelvin * total
    return np.asarray(critical_pressure * np.exp(exponent), dtype=np.float64)


def seawater_density(
    temperature: ArrayLike,
    salinity: ArrayLike,
    coefficients: Sequence[float],
    *,
    scale_ratio: float,
) -> Floats:
    """The density of sea water at the surface.

    Parameters
    ----------
    temperature : array_like [K], any shape
        Temperature on ITS-90, 271 to 313 K.
    salinity : array_like
        Practical salinity, 0 to 42. Not for brine of pure sodium chloride.
    coefficients : sequence of float, shape (15,)
        w0..w5, a0..a4, b0..b2, c0.
    scale_ratio : float
        Temperature in degC on IPTS-68 over that on ITS-90.

    Returns
    -------
    ndarray [kg/m^3]

    Raises
    ------
    RangeError
        A temperature not above zero, or a negative salinity.

    Notes
    -----
    rho = w(t) + S a(t) + S^1.5 b(t) + c0 S^2 (pss_78, the one-atmosphere equation of state).

    Examples
    --------
    >>> w = (999.842594, 6.793952e-2, -9.095290e-3, 1.001685e-4, -1.120083e-6, 6.536332e-9)
    >>> a = (0.824493, -4.0899e-3, 7.6438e-5, -8.2467e-7, 5.3875e-9)
    >>> c = (*w, *a, -5.72466e-3, 1.0227e-4, -1.6546e-6, 4.8314e-4)
    >>> round(float(seawater_density(298.15, 35.0, c, scale_ratio=1.00024)), 1)
    1023.3
    """
    t = (above_zero("temperature", temperature) - ZERO_CELSIUS) * scale_ratio
    s = not_negative("salinity", salinity)
    values = np.asarray(coefficients, dtype=np.float64)
    parts = (values[:6], values[6:11], values[11:14])
    fresh, first, root = (np.polynomial.polynomial.polyval(t, part) for part in parts)
    return np.asarray(fresh + s * first + s**1.5 * root + values[14] * s**2, dtype=np.float64)
