"""How well salt solutions conduct, and the strength behind a conductivity reading.

Coefficients come as arguments; they stand in the reference table `electrolyte_conductivity`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import brentq

from aerode.errors import RangeError
from aerode.physics.checked_inputs import Floats, above_zero, not_negative
from aerode.physics.water import ZERO_CELSIUS

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import ArrayLike

__all__ = [
    "cell_constant",
    "concentration_at_conductivity",
    "conductivity_gilliam",
    "conductivity_nacl",
    "conductivity_sen_goode",
    "molar_conductivity_mccleskey",
    "molar_conductivity_polynomial",
    "temperature_ratio",
]

_LITRE = 1.0e-3  # m^3, exact; by definition


def molar_conductivity_polynomial(molarity: ArrayLike, coefficients: Sequence[float]) -> Floats:
    """The molar conductivity as a polynomial in the root of the molarity.

    Parameters
    ----------
    molarity : array_like [mol/m^3], any shape
        Molarity inside the fitted span; outside it a polynomial must not be used.
    coefficients : sequence of float, shape (n,)
        Rising powers of the root of the molarity in mol/L, for a result in S cm2/mol.

    Returns
    -------
    ndarray, same shape [S m^2/mol]

    Raises
    ------
    RangeError
        A negative molarity.

    Notes
    -----
    Lambda = sum p_i c^(i/2) (nacl_fit).

    Examples
    --------
    >>> round(float(molar_conductivity_polynomial(0.0, (114.54, -78.7))) * 1e4, 2)
    114.54
    """
    root = np.sqrt(not_negative("molarity", molarity) * _LITRE)
    values = np.polynomial.polynomial.polyval(root, np.asarray(coefficients, dtype=np.float64))
    return np.asarray(1e-4 * values, dtype=np.float64)


def molar_conductivity_mccleskey(
    molality: ArrayLike, temperature: ArrayLike, coefficients: Sequence[float]
) -> Floats:
    """The molar conductivity of a dilute salt by McCleskey.

    Parameters
    ----------
    molality : array_like [mol/kg], any shape
        Molality up to 1 mol/kg: it reads twofold too high near saturated NaCl.
    temperature : array_like [K]
        Temperature, 278 to 363 K.
    coefficients : sequence of float, shape (7,)
        l0, l1, l2, a0, a1, a2, b for a result in S cm2/mol.

    Returns
    -------
    ndarray [S m^2/mol]

    Raises
    ------
    RangeError
        A negative molality, or a temperature not above zero.

    Notes
    -----
    Lambda = l0 + l1 t + l2 t^2 - (a0 + a1 t + a2 t^2) sqrt(m)/(1 + b sqrt(m)), t in degC
    (mccleskey_2011, eq. 8).

    Examples
    --------
    >>> nacl = (67.03, 2.196, 0.008967, 44.55, 1.762, 0.00726, 1.3)
    >>> round(float(molar_conductivity_mccleskey(0.1, 298.15, nacl)) * 1e4, 1)
    106.7
    """
    root = np.sqrt(not_negative("molality", molality))
    t = above_zero("temperature", temperature) - ZERO_CELSIUS
    l0, l1, l2, a0, a1, a2, b = coefficients
    limiting = l0 + l1 * t + l2 * t**2
    fall = (a0 + a1 * t + a2 * t**2) * root / (1.0 + b * root)
    return np.asarray(1e-4 * (limiting - fall), dtype=np.float64)


def temperature_ratio(
    molality: ArrayLike,
    temperature: ArrayLike,
    coefficients: Sequence[float],
    *,
    reference_temperature: float,
    start_molality: float,
    end_molality: float,
) -> Floats:
    """How much more a salt solution conducts than at a reference temperature.

    Parameters
    ----------
    molality : array_like [mol/kg]
        Molality, 0 to `end_molality`.
    temperature : array_like [K]
        Temperature.
    coefficients : sequence of float, shape (7,)
        McCleskey coefficients.
    reference_temperature : float [K]
        Temperature of the polynomial.
    start_molality : float [mol/kg]
        Upper end of the span of the McCleskey equation, where the blend begins.
    end_molality : float [mol/kg]
        Molality at which the limiting ratio is reached.

    Returns
    -------
    ndarray
        Dimensionless.

    Raises
    ------
    RangeError
        A negative molality, or a temperature not above zero.

    Notes
    -----
    Up to `start_molality` the ratio of McCleskey's molar conductivities; above, linear in molality to the
    ratio of the limiting conductivities at `end_molality` (nacl_fit: a choice made after looking
    at the saturated table, so that table is no independent check).

    Examples
    --------
    >>> nacl = (67.03, 2.196, 0.008967, 44.55, 1.762, 0.00726, 1.3)
    >>> span = {"reference_temperature": 293.15, "start_molality": 1.0, "end_molality": 6.15}
    >>> float(temperature_ratio(3.0, 293.15, nacl, **span))
    1.0
    """
    m = not_negative("molality", molality)

    def ratio(at: ArrayLike) -> Floats:
        warm = molar_conductivity_mccleskey(at, temperature, coefficients)
        return warm / molar_conductivity_mccleskey(at, reference_temperature, coefficients)

    dilute = ratio(np.minimum(m, start_molality))
    weight = np.clip((m - start_molality) / (end_molality - start_molality), 0.0, 1.0)
    return np.asarray(dilute + weight * (ratio(0.0) - dilute), dtype=np.float64)


def conductivity_nacl(
    molarity_20: ArrayLike,
    molality: ArrayLike,
    temperature: ArrayLike,
    *,
    polynomial: Sequence[float],
    mccleskey: Sequence[float],
    start_molality: float,
    end_molality: float,
) -> Floats:
    """The conductivity of sodium chloride solutions from dilute to saturated.

    Parameters
    ----------
    molarity_20 : array_like [mol/m^3]
        Molarity at 20 degC, up to 5420 mol/m^3.
    molality : array_like [mol/kg]
        Molality of the same solution.
    temperature : array_like [K]
        Temperature, 278 to 313 K.
    polynomial : sequence of float
        Molar conductivity at 20 degC, as in `molar_conductivity_polynomial`.
    mccleskey : sequence of float, shape (7,)
        McCleskey coefficients of the salt.
    start_molality, end_molality : float [mol/kg]
        As in `temperature_ratio`.

    Returns
    -------
    ndarray [S/m]

    Raises
    ------
    RangeError
        A negative concentration, or a temperature not above zero.

    Notes
    -----
    kappa = c20 Lambda20(c20) R(T, m) (nacl_fit). Not for sea water, nor above 40 degC (5 % high
    at 50 degC).

    Examples
    --------
    >>> p = (114.54, -78.71627, 84.97300, -60.88326, 20.30151, -2.60843)
    >>> m = (67.03, 2.196, 0.008967, 44.55, 1.762, 0.00726, 1.3)
    >>> blend = {"start_molality": 1.0, "end_molality": 6.15}
    >>> k = conductivity_nacl(885.0, 0.9006, 293.15, polynomial=p, mccleskey=m, **blend)
    >>> round(float(k), 2)
    6.99
    """
    c = not_negative("molarity", molarity_20)
    ratio = temperature_ratio(
        molality,
        temperature,
        mccleskey,
        reference_temperature=20.0 + ZERO_CELSIUS,
        start_molality=start_molality,
        end_molality=end_molality,
    )
    return c * molar_conductivity_polynomial(c, polynomial) * ratio


def conductivity_sen_goode(
    molality: ArrayLike, temperature: ArrayLike, coefficients: Sequence[float]
) -> Floats:
    """A second opinion on the conductivity of sodium chloride solutions.

    Parameters
    ----------
    molality : array_like [mol/kg]
        Molality.
    temperature : array_like [K]
        Temperature.
    coefficients : sequence of float, shape (6,)
        a0, a1, a2, b0, b1, d for a result in S/m.

    Returns
    -------
    ndarray [S/m]

    Raises
    ------
    RangeError
        A negative molality, or a temperature not above zero.

    Notes
    -----
    kappa = (a0 + a1 t + a2 t^2) m - (b0 + b1 t)/(1 + d sqrt(m)) m^1.5, t in degC
    (sen_goode_1992). Misses CRC at 20 degC by -4.6 to +4.8 %.

    Examples
    --------
    >>> c = (5.6, 0.27, -1.5e-4, 2.36, 0.099, 0.214)
    >>> round(float(conductivity_sen_goode(0.1728, 293.15, c)), 2)
    1.6
    """
    m = not_negative("molality", molality)
    t = above_zero("temperature", temperature) - ZERO_CELSIUS
    a0, a1, a2, b0, b1, d = coefficients
    rise = (a0 + a1 * t + a2 * t**2) * m
    fall = (b0 + b1 * t) / (1.0 + d * np.sqrt(m)) * m**1.5
    return np.asarray(rise - fall, dtype=np.float64)


def conductivity_gilliam(
    molarity: ArrayLike, temperature: ArrayLike, coefficients: Sequence[float]
) -> Floats:
    """The conductivity of potassium hydroxide solutions.

    Parameters
    ----------
    molarity : array_like [mol/m^3]
        Molarity, 0 to 12 000 mol/m^3.
    temperature : array_like [K]
        Temperature, 273 to 373 K.
    coefficients : sequence of float, shape (6,)
        a to f for a result in S/cm.

    Returns
    -------
    ndarray [S/m]

    Raises
    ------
    RangeError
        A negative molarity, or a temperature not above zero.

    Notes
    -----
    kappa = a M + b M^2 + c M T + d M/T + e M^3 + f M^2 T^2, M in mol/L (gilliam_2007, eq. 8).
    3 to 7 % above older tables below 4.5 mol/L.

    Examples
    --------
    >>> g = (-2.041, -0.0028, 0.005332, 207.2, 0.001043, -3e-7)
    >>> round(float(conductivity_gilliam(4000.0, 298.15, g)), 1)
    57.0
    """
    molar = not_negative("molarity", molarity) * _LITRE
    kelvin = above_zero("temperature", temperature)
    a, b, c, d, e, f = coefficients
    per_molar = a + b * molar + c * kelvin + d / kelvin + e * molar**2 + f * molar * kelvin**2
    return np.asarray(100.0 * molar * per_molar, dtype=np.float64)


def cell_constant(reference_conductivity: float, conductance: float) -> float:
    """The constant of a conductivity cell from a reading in a standard solution.

    Parameters
    ----------
    reference_conductivity : float [S/m]
        Conductivity of the standard at the temperature of the reading.
    conductance : float [S]
        Conductance read; for a meter that shows a conductivity, that reading (the result is then
        its correction factor).

    Returns
    -------
    float [1/m]

    Raises
    ------
    RangeError
        A value not above zero.

    Notes
    -----
    K = kappa/G (ASTM D1125; common practice).

    Examples
    --------
    >>> round(cell_constant(1.28246, 0.0128246), 3)
    100.0
    """
    kappa = float(above_zero("reference conductivity", reference_conductivity))
    return kappa / float(above_zero("conductance", conductance))


def concentration_at_conductivity(
    conductivity: float, curve: Callable[[float], float], low: float, high: float
) -> float:
    """The concentration at which a rising conductivity curve reaches a reading.

    Parameters
    ----------
    conductivity : float [S/m]
        Reading, corrected with the cell constant.
    curve : callable
        Conductivity [S/m] at a concentration.
    low, high : float
        Span of concentrations on the rising side of the curve.

    Returns
    -------
    float
        Concentration, in the unit of `low` and `high`.

    Raises
    ------
    RangeError
        The curve does not pass the reading in the span, or it turns round inside it (lye conducts
        best at some strength, so two strengths share a reading).

    Notes
    -----
    Bracketed root of curve(x) - kappa (Brent). The span must end before the maximum.

    Examples
    --------
    >>> round(concentration_at_conductivity(2.0, lambda x: 10.0 * x, 0.0, 1.0), 6)
    0.2
    """
    kappa = float(not_negative("conductivity", conductivity))
    values = np.array([curve(float(x)) for x in np.linspace(low, high, 33)])
    if np.any(np.diff(values) <= 0.0):
        raise RangeError(
            "the conductivity does not rise over the whole span, so a reading has two answers",
            where="low, high",
            allowed="a span on one side of the maximum",
            next_step="tell whether the solution is weaker or stronger than the maximum",
        )
    if not values[0] <= kappa <= values[-1]:
        raise RangeError(
            f"{kappa:g} S/m is not reached in the span",
            where="conductivity",
            allowed=f"{values[0]:g} to {values[-1]:g} S/m",
            next_step="look at the unit of the reading (mS/cm is a tenth of S/m) and the temperature",
        )
    return float(brentq(lambda x: curve(x) - kappa, low, high, xtol=1e-12, rtol=1e-12))
