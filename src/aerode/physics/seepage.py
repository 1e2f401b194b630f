"""How a layer fills: creeping along pores that wet, pores filling with pressure, flow once it is full."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerode.errors import RangeError
from aerode.physics.checked_scalars import above_zero, not_negative
from aerode.physics.wetting import STANDARD_GRAVITY, refuse_angle

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = [
    "PoreClass",
    "darcy_velocity",
    "falling_head_time",
    "filled_share",
    "flooded_share",
    "saturation",
    "wicking_distance",
    "wicking_time",
]


def wicking_distance(
    time: float, surface_tension: float, contact_angle: float, radius: float, viscosity: float
) -> float:
    """How far a liquid creeps along a layer that draws it in.

    Parameters
    ----------
    time : float [s]
        Time.
    surface_tension : float [N/m]
        Of the liquid.
    contact_angle : float [rad]
        Below pi/2.
    radius : float [m]
        Radius of the pores.
    viscosity : float [Pa s]
        Of the liquid.

    Returns
    -------
    float [m]

    Raises
    ------
    RangeError
        A value that is not above zero, a negative time, or an angle at or above 90 degrees.

    Notes
    -----
    x^2 = sigma r cos(theta) t/(2 mu): Lucas (1918), Washburn (1921). Level, fed from a pool, no
    drying on the way; a bundle of equal pores stands for the layer, so it is an order of size.

    Examples
    --------
    >>> round(wicking_distance(60.0, 0.072, 0.0, 1e-6, 8.9e-4) * 1e3, 1)
    49.3
    """
    not_negative(time=time)
    above_zero(surface_tension=surface_tension, radius=radius, viscosity=viscosity)
    refuse_angle("contact angle", contact_angle)
    drive = surface_tension * radius * math.cos(contact_angle) / (2.0 * viscosity)
    if drive <= 0.0:
        raise RangeError(
            "a layer that turns water away does not wick", where="contact angle",
            allowed="below 90 degrees", next_step="ask for its breakthrough pressure",
        )  # fmt: skip
    return math.sqrt(drive * time)


def wicking_time(
    distance: float, surface_tension: float, contact_angle: float, radius: float, viscosity: float
) -> float:
    """How long a liquid takes to creep a distance.

    Parameters
    ----------
    distance : float [m]
        Distance.
    surface_tension : float [N/m]
        Of the liquid.
    contact_angle : float [rad]
        Below pi/2.
    radius : float [m]
        Radius of the pores.
    viscosity : float [Pa s]
        Of the liquid.

    Returns
    -------
    float [s]

    Raises
    ------
    RangeError
        As `wicking_distance`.

    Notes
    -----
    The inverse of `wicking_distance` (Lucas 1918, Washburn 1921).

    Examples
    --------
    >>> round(wicking_time(0.01, 0.072, 0.0, 1e-6, 8.9e-4), 2)
    2.47
    """
    not_negative(distance=distance)
    in_a_second = wicking_distance(1.0, surface_tension, contact_angle, radius, viscosity)
    return (distance / in_a_second) ** 2


def filled_share(
    capillary_pressure: float,
    *,
    median_radius: float,
    spread: float,
    contact_angle: float,
    surface_tension: float,
) -> float:
    """The share of one kind of pores that liquid fills.

    Parameters
    ----------
    capillary_pressure : float [Pa]
        Pressure of the liquid less that of the gas.
    median_radius : float [m]
        Half of the pore volume lies in pores wider than this.
    spread : float [1]
        Standard deviation of the logarithm of the radius, above zero.
    contact_angle : float [rad]
        In these pores.
    surface_tension : float [N/m]
        Of the liquid.

    Returns
    -------
    float [1]
        Pores that wet are full at any pressure of 0 or more, pores that do not are empty at 0 or
        less; between, the pores on one side of r_c = -2 sigma cos(theta)/p_c are full.

    Raises
    ------
    RangeError
        A value outside its range.

    Notes
    -----
    Bundle of capillaries with log-normal radii (after Weber & Newman 2003; form from memory,
    unverified). No hysteresis: a layer that was once flooded empties at a far lower pressure.

    Examples
    --------
    >>> import math
    >>> dry = dict(median_radius=1e-6, spread=0.5, contact_angle=math.radians(108),
    ...            surface_tension=0.072)
    >>> round(filled_share(2 * 0.072 * -math.cos(math.radians(108)) / 1e-6, **dry), 3)
    0.5
    """
    above_zero(median_radius=median_radius, spread=spread, surface_tension=surface_tension)
    refuse_angle("contact angle", contact_angle)
    wets = math.cos(contact_angle) > 0.0
    if wets and capillary_pressure >= 0.0:
        return 1.0
    if not wets and capillary_pressure <= 0.0:
        return 0.0
    border = -2.0 * surface_tension * math.cos(contact_angle) / capillary_pressure
    if border <= 0.0:  # at 90 degrees any pressure fills
        return 1.0
    place = math.log(border / median_radius) / (math.sqrt(2.0) * spread)
    return 0.5 * math.erfc(-place if wets else place)


@dataclass(frozen=True, slots=True, kw_only=True)
class PoreClass:
    """One kind of pores: its share of the void, radius [m], spread and contact angle [rad]."""

    share: float
    median_radius: float
    spread: float
    contact_angle: float


def saturation(
    capillary_pressure: float, classes: Sequence[PoreClass], surface_tension: float
) -> float:
    """The share of the whole void that liquid fills.

    Parameters
    ----------
    capillary_pressure : float [Pa]
        Pressure of the liquid less that of the gas.
    classes : sequence of PoreClass
        Shares that add up to 1.
    surface_tension : float [N/m]
        Of the liquid.

    Returns
    -------
    float [1]

    Raises
    ------
    RangeError
        Shares that do not add up to 1, or a value outside its range.

    Notes
    -----
    Sum of `filled_share` over the classes, with its limits.

    Examples
    --------
    >>> import math
    >>> pores = [PoreClass(share=0.4, median_radius=1e-6, spread=0.5, contact_angle=0.5),
    ...          PoreClass(share=0.6, median_radius=1e-6, spread=0.5, contact_angle=1.9)]
    >>> saturation(0.0, pores, 0.072)
    0.4
    """
    if abs(sum(pores.share for pores in classes) - 1.0) > 1e-6:  # numerical
        raise RangeError("the shares of the pores do not add up to 1", where="classes")
    return sum(
        pores.share
        * filled_share(
            capillary_pressure,
            median_radius=pores.median_radius,
            spread=pores.spread,
            contact_angle=pores.contact_angle,
            surface_tension=surface_tension,
        )
        for pores in classes
    )


def flooded_share(time: float, *, start: float, end: float, time_constant: float) -> float:
    """How a layer floods over hours and weeks.

    Parameters
    ----------
    time : float [s]
        Time since it was wetted.
    start, end : float [1]
        Saturation at first and at last.
    time_constant : float [s]
        Fitted from repeated curves of one electrode; no theory gives it.

    Returns
    -------
    float [1]

    Raises
    ------
    RangeError
        A negative time, a time constant not above zero, or a saturation outside 0 to 1.

    Notes
    -----
    s = s_end - (s_end - s_start) exp(-t/tau): a description, not a model.

    Examples
    --------
    >>> round(flooded_share(86400.0, start=0.2, end=0.6, time_constant=86400.0), 3)
    0.453
    """
    not_negative(time=time)
    above_zero(time_constant=time_constant)
    for share in (start, end):
        if not 0.0 <= share <= 1.0:
            raise RangeError(f"a saturation of {share:g}", where="saturation", allowed="0 to 1")
    return end - (end - start) * math.exp(-time / time_constant)


def darcy_velocity(
    permeability: float, viscosity: float, pressure: float, thickness: float
) -> float:
    """How fast a liquid is pressed through a layer that it fills.

    Parameters
    ----------
    permeability : float [m^2]
        Of the layer.
    viscosity : float [Pa s]
        Of the liquid.
    pressure : float [Pa]
        Across the layer.
    thickness : float [m]
        Of the layer.

    Returns
    -------
    float [m/s]
        Volume per area and time.

    Raises
    ------
    RangeError
        A value that is not above zero, or a negative pressure.

    Notes
    -----
    Darcy's law, q = (K/mu) dp/L, for a layer full of liquid. A dry, wet-proofed layer lets nothing
    through below its breakthrough pressure: a seep there is a breakthrough, not a permeability.

    Examples
    --------
    >>> f"{darcy_velocity(1e-14, 8.9e-4, 997 * 9.81 * 0.2, 5e-4):.3e}"
    '4.396e-05'
    """
    above_zero(permeability=permeability, viscosity=viscosity, thickness=thickness)
    not_negative(pressure=pressure)
    return permeability * pressure / (viscosity * thickness)


def falling_head_time(
    permeability: float,
    viscosity: float,
    thickness: float,
    *,
    density: float,
    tube_area: float,
    layer_area: float,
    head_ratio: float,
) -> float:
    """How long the level in a tube over a wet layer takes to fall.

    Parameters
    ----------
    permeability : float [m^2]
        Of the layer.
    viscosity : float [Pa s]
        Of the liquid.
    thickness : float [m]
        Of the layer.
    density : float [kg/m^3]
        Of the liquid.
    tube_area, layer_area : float [m^2]
        Of the tube and of the wetted layer.
    head_ratio : float [1]
        Head at the start over head at the end, above 1.

    Returns
    -------
    float [s]
        mu L a/(K rho g A) ln(h0/h1).

    Raises
    ------
    RangeError
        A value that is not above zero, or a ratio that is not above 1.

    Notes
    -----
    The falling-head test of soil mechanics; the inverse gives K from a stopwatch.

    Examples
    --------
    >>> round(falling_head_time(1e-14, 8.9e-4, 5e-4, density=997.0, tube_area=1e-4, layer_area=4e-4,
    ...                         head_ratio=2.0))
    789
    """
    above_zero(permeability=permeability, viscosity=viscosity, thickness=thickness,
               density=density, tube_area=tube_area, layer_area=layer_area)  # fmt: skip
    if not head_ratio > 1.0:
        raise RangeError(f"a head ratio of {head_ratio:g}", where="head_ratio", allowed="above 1")
    lets = permeability * density * STANDARD_GRAVITY * layer_area
    return viscosity * thickness * tube_area / lets * math.log(head_ratio)
