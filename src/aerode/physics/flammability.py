"""When vapour can burn: how much air a liquid needs, closed spaces that flash, air over a jar.

Shares are by volume of vapour in vapour and air. No figure is looked up here: limits, slopes and
factors come in as arguments.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from enum import StrEnum

from aerode.errors import RangeError
from aerode.physics.checked_scalars import above_zero, proper_share
from aerode.physics.constants import ATMOSPHERE, GAS_CONSTANT

__all__ = [
    "Headspace",
    "air_volume_at_share",
    "flash_share",
    "headspace",
    "lower_limit_at",
    "mixture_lower_limit",
    "saturated_share",
    "source_flow",
    "vapour_volume",
]


def vapour_volume(
    mass: float,
    molar_mass: float,
    temperature: float = 298.15,  # judgement: a room of 25 degC
    pressure: float = ATMOSPHERE,
) -> float:
    """The volume of pure vapour that a mass of liquid makes.

    Parameters
    ----------
    mass : float [kg]
        Liquid that evaporates.
    molar_mass : float [kg/mol]
        Its molar mass.
    temperature : float [K]
        Temperature of the vapour.
    pressure : float [Pa]
        Total pressure.

    Returns
    -------
    float [m^3]

    Raises
    ------
    RangeError
        A negative mass, or another value not above zero.

    Notes
    -----
    V = m R T / (M p), ideal gas.

    Examples
    --------
    >>> round(vapour_volume(0.8669e-3, 0.09214) * 1e3, 4)
    0.2302
    """
    if not (math.isfinite(mass) and mass >= 0.0):
        raise RangeError(f"mass is {mass}", allowed="zero or more")
    above_zero(molar_mass=molar_mass, temperature=temperature, pressure=pressure)
    return mass * GAS_CONSTANT * temperature / (molar_mass * pressure)


def air_volume_at_share(vapour: float, share: float) -> float:
    """The volume of room that a volume of vapour fills up to a share.

    Parameters
    ----------
    vapour : float [m^3]
        Pure vapour.
    share : float [1]
        Share by volume, as a quarter of the lower flammable limit.

    Returns
    -------
    float [m^3]
        Vapour and air together.

    Raises
    ------
    RangeError
        A volume that is not above zero, or a share outside 0 to 1.

    Notes
    -----
    V = vapour / share, evenly mixed; before it is mixed some of it is richer than that.

    Examples
    --------
    >>> round(air_volume_at_share(0.2302e-3, 0.011) * 1e3, 1)
    20.9
    """
    above_zero(vapour=vapour)
    proper_share(share=share)
    return vapour / share


def flash_share(
    mass: float,
    molar_mass: float,
    temperature: float,
    free_volume: float,
    pressure: float = ATMOSPHERE,
) -> float:
    """The share of vapour in a closed space if all retained solvent flashes into it at once.

    Parameters
    ----------
    mass : float [kg]
        Solvent still in the layer.
    molar_mass : float [kg/mol]
        Its molar mass.
    temperature : float [K]
        Temperature of the space.
    free_volume : float [m^3]
        Air volume of the space.
    pressure : float [Pa]
        Total pressure.

    Returns
    -------
    float [1]
        May pass 1, which means: more vapour than the space holds.

    Raises
    ------
    RangeError
        A negative mass, or another value not above zero.

    Notes
    -----
    y = (m/M) R T / (p V): the vapour pushes air out at constant pressure and none of it leaves.
    Errs high for a vented oven and low for the corner where the wet thing lies.

    Examples
    --------
    >>> round(100 * flash_share(0.003, 0.09214, 373.15, 0.020), 3)
    4.985
    """
    above_zero(free_volume=free_volume)
    return vapour_volume(mass, molar_mass, temperature, pressure) / free_volume


def lower_limit_at(limit: float, temperature: float, slope: float) -> float:
    """The lower flammable limit of a warm space.

    Parameters
    ----------
    limit : float [1]
        Lower flammable limit at 25 degC, as a share by volume.
    temperature : float [K]
        Temperature; below 25 degC the limit at 25 degC is kept.
    slope : float [1/K]
        Relative fall for each kelvin.

    Returns
    -------
    float [1]

    Raises
    ------
    RangeError
        A share outside 0 to 1, a negative slope, or a temperature at which the line reaches zero.

    Notes
    -----
    LFL(T) = LFL25 (1 - s (T - 25 degC)), the Burgess-Wheeler form; s = 0.000784 draws the line to
    zero at 1300 degC, larger values were found for small molecules and are the cautious choice.

    Examples
    --------
    >>> round(100 * lower_limit_at(0.011, 373.15, 0.00114), 3)
    1.006
    """
    proper_share(limit=limit)
    above_zero(temperature=temperature)
    if not slope >= 0.0:
        raise RangeError(f"a slope of {slope}", allowed="zero or more")
    # limits are stated at 25 degC: burgess_wheeler_review
    factor = 1.0 - slope * max(0.0, temperature - 298.15)
    if factor <= 0.0:
        raise RangeError(
            f"at {temperature:g} K the line of the lower flammable limit has reached zero",
            allowed="a lower temperature",
        )
    return limit * factor


def mixture_lower_limit(shares: Sequence[float], limits: Sequence[float]) -> float:
    """The lower flammable limit of a mixture of vapours.

    Parameters
    ----------
    shares : sequence of float (n,) [1]
        Share of each among the vapours (by mole); scaled to add up to 1.
    limits : sequence of float (n,) [1]
        Lower flammable limit of each.

    Returns
    -------
    float [1]

    Raises
    ------
    RangeError
        Lengths that differ, nothing in the mixture, a negative share or a limit outside 0 to 1.

    Notes
    -----
    1/LFL = sum(y_i / LFL_i), Le Chatelier's rule of the textbooks; for vapours that burn alike,
    not for hydrogen with dust.

    Examples
    --------
    >>> round(100 * mixture_lower_limit([0.5, 0.5], [0.011, 0.025]), 3)
    1.528
    """
    if len(shares) != len(limits):
        raise RangeError("shares and limits differ in number", allowed="as many of each")
    for share, limit in zip(shares, limits, strict=True):
        if not (math.isfinite(share) and share >= 0.0):
            raise RangeError(f"a share of {share}", allowed="zero or more")
        proper_share(limit=limit)
    total = sum(shares)
    above_zero(sum_of_shares=total)
    return total / sum(share / limit for share, limit in zip(shares, limits, strict=True))


def saturated_share(vapour_pressure: float, pressure: float = ATMOSPHERE) -> float:
    """The share of vapour in the still air over a liquid.

    Parameters
    ----------
    vapour_pressure : float [Pa]
        Vapour pressure at the liquid's temperature.
    pressure : float [Pa]
        Total pressure.

    Returns
    -------
    float [1]
        At most 1 (boiling).

    Raises
    ------
    RangeError
        A value that is not above zero.

    Examples
    --------
    >>> round(100 * saturated_share(3800.0), 2)
    3.75
    """
    above_zero(vapour_pressure=vapour_pressure, pressure=pressure)
    return min(1.0, vapour_pressure / pressure)


class Headspace(StrEnum):
    """How the still air over a liquid stands to its flammable band."""

    BELOW = "below the lower limit"
    INSIDE = "inside the flammable band"
    ABOVE = "above the upper limit, and through the band as it thins out"


def headspace(share: float, lower: float, upper: float) -> Headspace:
    """Whether the still air over a liquid can burn.

    Parameters
    ----------
    share : float [1]
        Share of vapour over the liquid.
    lower, upper : float [1]
        Flammable limits.

    Returns
    -------
    Headspace
        ABOVE is no comfort: where the vapour thins out it passes through the band.

    Raises
    ------
    RangeError
        A share outside 0 to 1, or limits that are crossed.

    Examples
    --------
    >>> headspace(0.0375, 0.010, 0.078).name, headspace(0.303, 0.025, 0.143).name
    ('INSIDE', 'ABOVE')
    """
    if not 0.0 <= share <= 1.0:
        raise RangeError(f"a share of {share}", allowed="between 0 and 1")
    proper_share(lower=lower, upper=upper)
    if lower >= upper:
        raise RangeError("the flammable limits are crossed", allowed="lower below upper")
    if share < lower:
        return Headspace.BELOW
    return Headspace.INSIDE if share <= upper else Headspace.ABOVE


def source_flow(
    emission: float,
    molar_mass: float,
    limit: float,
    share: float,
    *,
    temperature: float = 298.15,  # judgement: a room of 25 degC
    pressure: float = ATMOSPHERE,
    heat_factor: float = 1.0,
) -> float:
    """The fresh air that keeps a steady source below a share of its lower flammable limit.

    Parameters
    ----------
    emission : float [kg/s]
        Source.
    molar_mass : float [kg/mol]
        Its molar mass.
    limit : float [1]
        Lower flammable limit.
    share : float [1]
        Share of the limit to stay below, as 0.25.
    temperature : float [K]
        Temperature of the air.
    pressure : float [Pa]
        Pressure.
    heat_factor : float [1]
        Factor on the limit in a hot space, at most 1.

    Returns
    -------
    float [m^3/s]

    Raises
    ------
    RangeError
        A negative source, or a share outside 0 to 1.

    Notes
    -----
    Q = (G/M) R T / p / (share B LFL): in mixed units the Q = 403 SG 100 ER S / (MW LEL B) of the
    ventilation texts with S = 1/share. It protects against fire alone; the health limit of most
    solvents asks for far more air.

    Examples
    --------
    >>> round(source_flow(1e-6, 0.09214, 0.011, 0.25) * 3600, 3)
    0.348
    """
    proper_share(limit=limit)
    if not 0.0 < share <= 1.0 or not 0.0 < heat_factor <= 1.0:
        raise RangeError("share and heat factor", allowed="above 0 and at most 1")
    rate = vapour_volume(emission, molar_mass, temperature, pressure)
    return rate / (share * heat_factor * limit)
