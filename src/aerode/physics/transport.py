"""What a porous layer leaves of a conductivity or a diffusivity, and the bounds no layer can pass.

`share` is a volume share of the layer: 0.6 means that 60 % of it conducts. No exponent here is a
property of your layer; a measured one replaces it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from aerode.errors import RangeError
from aerode.physics.checked_inputs import Floats, above_zero, finite, not_negative
from aerode.physics.constants import GAS_CONSTANT

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

__all__ = [
    "bosanquet",
    "bruggeman",
    "effective_gas_diffusivity",
    "effective_ionic_conductivity",
    "gas_diffusivity_at",
    "hashin_shtrikman",
    "knudsen_diffusivity",
    "percolation",
    "refuse_above_bound",
    "tortuosity_factor",
]

BRUGGEMAN = 1.5
"""Exponent of a random packing of spheres that do not conduct (Bruggeman 1935, exact for its model)."""
_WET_EXPONENT = 2.0  # gas past liquid in the pores, 1.5 to 3 (from_memory; unverified)
_GAS_POWER = (
    # poling_2001
    1.75  # diffusivity in a dilute gas with temperature (Fuller, Schettler & Giddings 1966)
)


def _shares(name: str, value: ArrayLike) -> Floats:
    values = not_negative(name, value)
    if np.any(values > 1.0):
        raise RangeError(
            f"{name} above 1", where=name, allowed="0 to 1 (0.6 is 60 %)",
            next_step="divide per cent by 100",
        )  # fmt: skip
    return values


def bruggeman(share: ArrayLike, exponent: float = BRUGGEMAN) -> Floats:
    """What a porous layer leaves of the conductivity of what fills its pores.

    Parameters
    ----------
    share : array_like, any shape [1]
        Volume share that conducts.
    exponent : float [1]
        1.5 for packed grains; 2.5 to 3 for pressed, binder-rich layers (from memory, unverified).

    Returns
    -------
    ndarray, same shape [1]
        share ** exponent.

    Raises
    ------
    RangeError
        A share outside 0 to 1, or an exponent below 1, which no layer has.

    Notes
    -----
    Bruggeman (1935), Ann. Phys. 24:636, the differential scheme for spheres of all sizes. Agrees
    with the Hashin-Shtrikman bound to first order in the solid share, and lies below it.

    Examples
    --------
    >>> round(float(bruggeman(0.5)), 5)
    0.35355
    """
    if not exponent >= 1.0:
        raise RangeError(
            f"an exponent of {exponent:g}", where="exponent", allowed="1 (straight pores) or more"
        )
    return np.asarray(_shares("share", share) ** exponent, dtype=np.float64)


def hashin_shtrikman(
    share: ArrayLike, conducting: float, other: float = 0.0
) -> tuple[Floats, Floats]:
    """The lowest and highest conductivity that any isotropic layer of two phases can have.

    Parameters
    ----------
    share : array_like, any shape [1]
        Volume share of the phase that conducts better.
    conducting : float [unit of your choice]
        Conductivity (or diffusivity) of that phase.
    other : float [same unit]
        Conductivity of the rest, at most `conducting`; 0 for an insulator.

    Returns
    -------
    tuple of ndarray, same shape [same unit]
        Lower and upper bound. With an insulator the upper one is 2 share/(3 - share).

    Raises
    ------
    RangeError
        A share outside 0 to 1, or phases that are crossed.

    Notes
    -----
    Hashin & Shtrikman (1962), J. Appl. Phys. 33:3125, in three dimensions. Holds for any shape of
    pores as long as the layer is alike in all directions; a rolled, flaky layer is not.

    Examples
    --------
    >>> low, high = hashin_shtrikman(0.5, 1.0)
    >>> float(low), float(high)
    (0.0, 0.4)
    """
    better = float(above_zero("conductivity", conducting))
    worse = float(not_negative("conductivity of the rest", other))
    if worse > better:
        raise RangeError(
            "the phases are crossed", where="other", allowed=f"at most {better:g}",
            next_step="name the better conductor first",
        )  # fmt: skip
    one = _shares("share", share)
    rest, step = 1.0 - one, better - worse
    upper = better - 3.0 * better * rest * step / (3.0 * better - one * step)
    bottom = 3.0 * worse + rest * step
    whole = bottom <= 0.0  # the other phase is absent and does not conduct
    lower = worse + 3.0 * worse * one * step / np.where(whole, 1.0, bottom)
    return np.where(whole, better, lower), upper


def refuse_above_bound(ratio: float, share: float) -> None:
    """Refuse a measured ratio that no isotropic layer can have.

    Parameters
    ----------
    ratio : float [1]
        Conductivity of the layer over that of what fills its pores.
    share : float [1]
        Volume share of the pores.

    Raises
    ------
    RangeError
        The ratio lies above 2 share/(3 - share): a slip of units, thickness or area.

    Notes
    -----
    The upper bound of `hashin_shtrikman` for an insulating solid.

    Examples
    --------
    >>> refuse_above_bound(0.3, 0.5)
    """
    bound = float(hashin_shtrikman(share, 1.0)[1])
    if not 0.0 <= ratio <= bound * (1.0 + 1e-9):  # numerical
        raise RangeError(
            f"a ratio of {ratio:g} at a pore share of {share:g}",
            where="ratio",
            allowed=f"0 to {bound:.3g}, the bound for any layer that is alike in all directions",
            next_step="look again at thickness, area, units, and for a short through a bare spot",
        )


def tortuosity_factor(ratio: float, share: float) -> float:
    """The one number that says how much worse than straight pores a layer is.

    Parameters
    ----------
    ratio : float [1]
        Conductivity of the layer over that of what fills its pores.
    share : float [1]
        Volume share of the pores.

    Returns
    -------
    float [1]
        share/ratio: 1 for straight pores; for packed grains 1/sqrt(share).

    Raises
    ------
    RangeError
        A ratio that is not above zero or lies above the bound.

    Notes
    -----
    A definition; some authors call its root the tortuosity.

    Examples
    --------
    >>> round(tortuosity_factor(0.35355, 0.5), 3)
    1.414
    """
    refuse_above_bound(ratio, share)
    return share / float(above_zero("ratio", ratio))


def effective_gas_diffusivity(
    diffusivity: ArrayLike,
    porosity: ArrayLike,
    saturation: ArrayLike = 0.0,
    *,
    exponent: float = BRUGGEMAN,
    wet_exponent: float = _WET_EXPONENT,
    slower: float = 1.0,
) -> Floats:
    """The diffusivity of a gas through a layer whose pores are partly filled with liquid.

    Parameters
    ----------
    diffusivity : array_like [m^2/s], any shape
        In the pores, molecular and wall collisions together (`bosanquet`).
    porosity : array_like [1]
        Share of void.
    saturation : array_like [1]
        Share of the void that holds liquid.
    exponent : float [1]
        As for `bruggeman`.
    wet_exponent : float [1]
        Power of the dry part of the void; 1.5 to 3 (from memory, unverified).
    slower : float [1]
        Extra factor on the tortuosity, 1 or more; 1 to 3 is usual (from memory, unverified).

    Returns
    -------
    ndarray [m^2/s]
        D eps^exponent (1 - s)^wet_exponent / slower.

    Raises
    ------
    RangeError
        A number outside its range.

    Notes
    -----
    The form of the fuel cell and gas-diffusion literature. Near s = 1 the gas path breaks at a
    threshold that a power law does not have: it errs high there.

    Examples
    --------
    >>> f"{float(effective_gas_diffusivity(2.05e-5, 0.6, 0.3)):.3g}"
    '4.67e-06'
    """
    dry = 1.0 - _shares("saturation", saturation)
    if not (wet_exponent >= 1.0 and slower >= 1.0):
        raise RangeError("an exponent or a factor below 1", allowed="1 or more")
    base = above_zero("diffusivity", diffusivity) * bruggeman(porosity, exponent)
    return np.asarray(base * dry**wet_exponent / slower, dtype=np.float64)


def effective_ionic_conductivity(
    conductivity: ArrayLike,
    porosity: ArrayLike,
    saturation: ArrayLike = 1.0,
    *,
    exponent: float = BRUGGEMAN,
    slower: float = 1.0,
) -> Floats:
    """The conductivity of the electrolyte in the pores of a layer.

    Parameters
    ----------
    conductivity : array_like [S/m], any shape
        Of the electrolyte in the open.
    porosity : array_like [1]
        Share of void.
    saturation : array_like [1]
        Share of the void that holds liquid.
    exponent : float [1]
        As for `bruggeman`.
    slower : float [1]
        Extra factor on the tortuosity, 1 or more.

    Returns
    -------
    ndarray [S/m]
        kappa (eps s)^exponent / slower.

    Raises
    ------
    RangeError
        A number outside its range.

    Notes
    -----
    Bruggeman (1935) with the liquid as the share that conducts.

    Examples
    --------
    >>> round(float(effective_ionic_conductivity(5.61, 0.6, 0.7)), 2)
    1.53
    """
    if not slower >= 1.0:
        raise RangeError(f"a factor of {slower:g}", where="slower", allowed="1 or more")
    wet = _shares("porosity", porosity) * _shares("saturation", saturation)
    kappa = not_negative("conductivity", conductivity)
    return np.asarray(kappa * bruggeman(wet, exponent) / slower, dtype=np.float64)


def percolation(
    share: ArrayLike, threshold: float, exponent: float, conductivity: float = 1.0
) -> Floats:
    """The electronic conductivity of a layer in which only one kind of grain conducts.

    Parameters
    ----------
    share : array_like, any shape [1]
        Volume share of the conductor in the whole layer, voids counted as part of it.
    threshold : float [1]
        Share below which no path goes through, at least 0 and below 1.
    exponent : float [1]
        About 2 in three dimensions; carbon blacks from 1.7 to 6.4 have been found.
    conductivity : float [S/m]
        Of the pressed conductor alone.

    Returns
    -------
    ndarray, same shape [S/m]
        0 below the threshold.

    Raises
    ------
    RangeError
        A number outside its range.

    Notes
    -----
    sigma = sigma_0 ((phi - phi_c)/(1 - phi_c))^t: percolation scaling, made to give sigma_0 for the
    conductor alone. Threshold and exponent belong to one powder in one binder (Balberg, lecture on
    carbon black composites: 0.10 with 1.7 to 1.95, 0.39 with 6.4), so this is a band, never a
    number. Not a power law far above the threshold.

    Examples
    --------
    >>> [round(float(x), 3) for x in percolation([0.05, 0.2, 1.0], 0.10, 1.95)]
    [0.0, 0.014, 1.0]
    """
    if not 0.0 <= threshold < 1.0:
        raise RangeError(f"a threshold of {threshold:g}", where="threshold", allowed="0 to below 1")
    power, alone = float(above_zero("exponent", exponent)), above_zero("conductivity", conductivity)
    above = np.maximum(0.0, (_shares("share", share) - threshold) / (1.0 - threshold))
    return np.asarray(alone * above**power, dtype=np.float64)


def knudsen_diffusivity(
    pore_diameter: ArrayLike, temperature: ArrayLike, molar_mass: float
) -> Floats:
    """The diffusivity of a gas in a pore so narrow that it meets the wall before another molecule.

    Parameters
    ----------
    pore_diameter : array_like [m]
        Diameter of the pore.
    temperature : array_like [K]
        Temperature.
    molar_mass : float [kg/mol]
        Of the gas.

    Returns
    -------
    ndarray [m^2/s]
        (d/3) sqrt(8 R T/(pi M)).

    Raises
    ------
    RangeError
        A value that is not above zero.

    Notes
    -----
    Knudsen (1909); kinetic theory with diffuse reflection in a long round pore.

    Examples
    --------
    >>> f"{float(knudsen_diffusivity(1e-7, 298.0, 0.031998)):.3e}"
    '1.480e-05'
    """
    mass = float(above_zero("molar mass", molar_mass))
    speed = np.sqrt(8.0 * GAS_CONSTANT * above_zero("temperature", temperature) / (np.pi * mass))
    return np.asarray(above_zero("pore diameter", pore_diameter) / 3.0 * speed, dtype=np.float64)


def bosanquet(molecular: ArrayLike, knudsen: ArrayLike) -> Floats:
    """The diffusivity of a gas that meets both other molecules and the wall.

    Parameters
    ----------
    molecular : array_like [m^2/s]
        In the open gas.
    knudsen : array_like [m^2/s]
        Against the wall, from `knudsen_diffusivity`.

    Returns
    -------
    ndarray [m^2/s]
        1/(1/D_m + 1/D_K): below either of them.

    Raises
    ------
    RangeError
        A diffusivity that is not above zero.

    Notes
    -----
    Bosanquet's formula (Pollard & Present 1948). With Fick's law it is not consistent for a
    mixture at rest (Bertei & Nicolella 2015, J. Power Sources 279:133); the error is smaller than
    what is not known about the pores.

    Examples
    --------
    >>> f"{float(bosanquet(2.05e-5, 1.48e-5)):.3g}"
    '8.59e-06'
    """
    open_gas, wall = above_zero("molecular", molecular), above_zero("knudsen", knudsen)
    return np.asarray(open_gas * wall / (open_gas + wall), dtype=np.float64)


def gas_diffusivity_at(
    diffusivity: float,
    temperature: ArrayLike,
    pressure: ArrayLike,
    *,
    known_temperature: float,
    known_pressure: float,
) -> Floats:
    """A gas diffusivity taken from one temperature and pressure to another.

    Parameters
    ----------
    diffusivity : float [m^2/s]
        What is known.
    temperature, pressure : array_like [K], [Pa]
        Where it is wanted.
    known_temperature, known_pressure : float [K], [Pa]
        Where it is known.

    Returns
    -------
    ndarray [m^2/s]
        D (T/T_known)^1.75 (p_known/p).

    Raises
    ------
    RangeError
        A value that is not above zero.

    Notes
    -----
    Fuller, Schettler & Giddings (1966), Ind. Eng. Chem. 58(5), 19; low pressure, moderate
    temperature.

    Examples
    --------
    >>> warm = gas_diffusivity_at(2.05e-5, 313.15, 101325.0, known_temperature=298.15,
    ...                           known_pressure=101325.0)
    >>> f"{float(warm):.3g}"
    '2.23e-05'
    """
    warm = above_zero("temperature", temperature) / float(above_zero("T", known_temperature))
    dense = above_zero("pressure", pressure) / float(above_zero("p", known_pressure))
    known = finite("diffusivity", above_zero("diffusivity", diffusivity))
    return np.asarray(known * warm**_GAS_POWER / dense, dtype=np.float64)
