"""Salt solutions: density, viscosity, water activity, mean activity coefficient.

Coefficients come as arguments; they stand in the reference tables `electrolyte_density_viscosity`
and `water_activity`. Concentrations are mass fractions or molalities [mol/kg].
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from aerode.physics.checked_inputs import Floats, above_zero, not_negative, share
from aerode.physics.water import ZERO_CELSIUS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike

__all__ = [
    "interpolated_activity_coefficient",
    "interpolated_water_activity",
    "salt_apparent_volume",
    "salt_viscosity",
    "solution_density",
    "solution_viscosity",
]


def salt_apparent_volume(
    mass_fraction: ArrayLike, temperature: ArrayLike, coefficients: Sequence[float]
) -> Floats:
    """The volume that a kilogram of dissolved salt seems to take up.

    Parameters
    ----------
    mass_fraction : array_like, any shape
        All salt over all solution (for a mixture: of all salts together).
    temperature : array_like [K]
        Temperature.
    coefficients : sequence of float, shape (5,)
        c0 to c4 of the salt.

    Returns
    -------
    ndarray [m^3/kg]

    Raises
    ------
    RangeError
        A mass fraction outside 0 to 1, or a temperature not above zero.

    Notes
    -----
    v = (w + c2 + c3 t)/((c0 w + c1) exp(1e-6 (t + c4)^2)), t in degC (laliberte_2004, eq. 10).

    Examples
    --------
    >>> nacl = (-0.00324112223655149, 0.0636354335906616, 1.01371399467365, 0.0145951015210159,
    ...         3317.34854426537)
    >>> round(float(salt_apparent_volume(0.1, 298.15, nacl)) * 1e3, 4)
    0.3287
    """
    w = share("mass fraction", mass_fraction)
    t = above_zero("temperature", temperature) - ZERO_CELSIUS
    c0, c1, c2, c3, c4 = coefficients
    volume = (w + c2 + c3 * t) / ((c0 * w + c1) * np.exp(1e-6 * (t + c4) ** 2))
    return np.asarray(volume, dtype=np.float64)


def solution_density(
    mass_fractions: Sequence[ArrayLike],
    water_density: ArrayLike,
    apparent_volumes: Sequence[ArrayLike],
) -> Floats:
    """The density of a solution of one or more salts.

    Parameters
    ----------
    mass_fractions : sequence of array_like
        Mass fraction of each salt.
    water_density : array_like [kg/m^3]
        Density of pure water at the temperature.
    apparent_volumes : sequence of array_like [m^3/kg]
        Apparent volume of each salt, at the total mass fraction.

    Returns
    -------
    ndarray [kg/m^3]

    Raises
    ------
    RangeError
        No water left, or a value of the wrong sign.

    Notes
    -----
    1/rho = w_w/rho_w + sum w_i v_i (laliberte_2004, eq. 6).

    Examples
    --------
    >>> round(float(solution_density([0.1], 997.045, [3.287e-4])), 1)
    1068.9
    """
    salts = [not_negative("mass fraction", w) for w in mass_fractions]
    water = 1.0 - sum(salts, start=np.zeros(()))
    specific = above_zero("water fraction", water) / above_zero("water density", water_density)
    for w, v in zip(salts, apparent_volumes, strict=True):
        specific = specific + w * np.asarray(v, dtype=np.float64)
    return 1.0 / above_zero("specific volume", specific)


def salt_viscosity(
    mass_fraction: ArrayLike, temperature: ArrayLike, coefficients: Sequence[float]
) -> Floats:
    """The viscosity that a dissolved salt stands for in the mixing rule of Laliberte.

    Parameters
    ----------
    mass_fraction : array_like, any shape
        All salt over all solution.
    temperature : array_like [K]
        Temperature.
    coefficients : sequence of float, shape (6,)
        v1 to v6 of the salt.

    Returns
    -------
    ndarray [Pa s]

    Raises
    ------
    RangeError
        A mass fraction outside 0 to 1, or a temperature not above zero.

    Notes
    -----
    mu_s [mPa s] = exp((v1 w^v2 + v3)/(v4 t + 1))/(v5 w^v6 + 1), w the salt fraction, t in degC
    (laliberte_2007, eq. 12).

    Examples
    --------
    >>> nacl = (16.221788633396, 1.32293086770011, 1.48485985010431, 0.00746912559657377,
    ...         30.7802007540575, 2.05826852322558)
    >>> round(float(salt_viscosity(0.1, 298.15, nacl)) * 1e3, 3)
    5.274
    """
    w = share("mass fraction", mass_fraction)
    t = above_zero("temperature", temperature) - ZERO_CELSIUS
    v1, v2, v3, v4, v5, v6 = coefficients
    top = np.exp((v1 * w**v2 + v3) / (v4 * t + 1.0))
    return np.asarray(1e-3 * top / (v5 * w**v6 + 1.0), dtype=np.float64)


def solution_viscosity(
    mass_fractions: Sequence[ArrayLike],
    water_viscosity: ArrayLike,
    salt_viscosities: Sequence[ArrayLike],
) -> Floats:
    """The viscosity of a solution of one or more salts.

    Parameters
    ----------
    mass_fractions : sequence of array_like
        Mass fraction of each salt.
    water_viscosity : array_like [Pa s]
        Viscosity of pure water at the temperature.
    salt_viscosities : sequence of array_like [Pa s]
        Viscosity of each salt in the mixing rule, at the total mass fraction.

    Returns
    -------
    ndarray [Pa s]

    Raises
    ------
    RangeError
        No water left, or a value of the wrong sign.

    Notes
    -----
    ln mu = w_w ln mu_w + sum w_i ln mu_i (laliberte_2007, eq. 8).

    Examples
    --------
    >>> round(float(solution_viscosity([0.1], 0.890e-3, [5.274e-3])) * 1e3, 3)
    1.063
    """
    salts = [not_negative("mass fraction", w) for w in mass_fractions]
    water = above_zero("water fraction", 1.0 - sum(salts, start=np.zeros(())))
    logarithm = water * np.log(above_zero("water viscosity", water_viscosity))
    for w, mu in zip(salts, salt_viscosities, strict=True):
        logarithm = logarithm + w * np.log(above_zero("salt viscosity", mu))
    return np.asarray(np.exp(logarithm), dtype=np.float64)


def interpolated_water_activity(
    molality: ArrayLike, nodes: Sequence[float], activities: Sequence[float]
) -> Floats:
    """The water activity between published molalities.

    Parameters
    ----------
    molality : array_like [mol/kg]
        Molality, 0 to the last node; the last slope goes on beyond, which must be flagged.
    nodes : sequence of float [mol/kg], shape (n,)
        Published molalities, rising, above zero.
    activities : sequence of float, shape (n,)
        Published water activities.

    Returns
    -------
    ndarray

    Raises
    ------
    RangeError
        A negative molality.

    Notes
    -----
    ln(a_w)/m is nearly straight in m (it is -2 phi M_w for a 1:1 salt), so that quotient is
    interpolated, not the activity. Below a first node of 0.5 mol/kg it is kept, which costs less
    than 0.0001 (against `ion_interaction.ion_interaction_osmotic`).

    Examples
    --------
    >>> round(float(interpolated_water_activity(2.5, [2.0, 3.0], [0.9314, 0.8929])), 4)
    0.9125
    """
    m = not_negative("molality", molality)
    at = np.asarray(nodes, dtype=np.float64)
    quotient = np.log(np.asarray(activities, dtype=np.float64)) / at
    return np.asarray(np.exp(m * _straight_on(m, at, quotient)), dtype=np.float64)


def interpolated_activity_coefficient(
    molality: ArrayLike, nodes: Sequence[float], coefficients: Sequence[float]
) -> Floats:
    """The mean activity coefficient between published molalities.

    Parameters
    ----------
    molality : array_like [mol/kg]
        Molality between the first and the last node.
    nodes : sequence of float [mol/kg], shape (n,)
        Published molalities, rising.
    coefficients : sequence of float, shape (n,)
        Published mean molal activity coefficients.

    Returns
    -------
    ndarray

    Raises
    ------
    RangeError
        A negative molality.

    Notes
    -----
    ln(gamma) is taken straight in molality between nodes. Below the first node the value of the
    first node is kept, far too low in dilute lye: see `ion_interaction` for what holds there.

    Examples
    --------
    >>> round(float(interpolated_activity_coefficient(4.5, [4.0, 5.0], [1.350, 1.722])), 3)
    1.525
    """
    m = not_negative("molality", molality)
    at = np.asarray(nodes, dtype=np.float64)
    logs = np.log(np.asarray(coefficients, dtype=np.float64))
    return np.asarray(np.exp(_straight_on(m, at, logs)), dtype=np.float64)


def _straight_on(m: Floats, nodes: Floats, values: Floats) -> Floats:
    """Linear between nodes, the first value before them, the last slope after them."""
    inside = np.interp(m, nodes, values)
    slope = (values[-1] - values[-2]) / (nodes[-1] - nodes[-2]) if nodes.size > 1 else 0.0
    return np.asarray(inside + slope * np.maximum(m - nodes[-1], 0.0), dtype=np.float64)
