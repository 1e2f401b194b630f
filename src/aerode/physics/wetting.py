"""Water at a porous layer: the angle it makes with a mixed surface, and the head it takes to get in.

Contact angle above 90 degrees: the pore keeps water out up to a pressure. Below: it draws water in
and holds nothing back.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from aerode.errors import RangeError
from aerode.physics.checked_inputs import Floats
from aerode.physics.checked_inputs import above_zero as positive
from aerode.physics.checked_scalars import above_zero, not_negative

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike

__all__ = [
    "STANDARD_GRAVITY",
    "breakthrough_pressure",
    "capillary_rise",
    "covering_needed",
    "holding_pore",
    "mixed_contact_angle",
    "refuse_angle",
    "salted_surface_tension",
    "water_head",
    "water_surface_tension",
]

STANDARD_GRAVITY = 9.80665  # m/s^2, exact by definition


def refuse_angle(name: str, value: float) -> None:
    """Refuse a contact angle that cannot be.

    Parameters
    ----------
    name : str
        What it is, for the refusal.
    value : float [rad]
        The angle.

    Raises
    ------
    RangeError
        Outside 0 to pi.

    Examples
    --------
    >>> refuse_angle("contact angle", 1.9)
    """
    if not 0.0 <= value <= math.pi:
        raise RangeError(
            f"{name} of {value:g} rad", where=name, allowed="0 to pi rad (0 to 180 degrees)",
            next_step="type the unit, as in 108 degree",
        )  # fmt: skip


def mixed_contact_angle(
    shares: Sequence[float], angles: Sequence[float], *, air: float = 0.0
) -> float:
    """The contact angle of a surface that is made of several materials.

    Parameters
    ----------
    shares : sequence of float [1]
        Share of the surface of each material; with `air` they add up to 1.
    angles : sequence of float [rad]
        Contact angle of each on its own, smooth.
    air : float [1]
        Share of the surface that is air under the drop.

    Returns
    -------
    float [rad]

    Raises
    ------
    RangeError
        Shares that do not add up to 1, or an angle outside 0 to pi.

    Notes
    -----
    cos theta = sum f_i cos theta_i - f_air: Cassie (1948), Discuss. Faraday Soc. 3:11; with air,
    Cassie & Baxter (1944), Trans. Faraday Soc. 40:546. Patches far smaller than the drop, at
    equilibrium; a real drop sticks, and its advancing and receding angles lie 20 to 60 degrees
    apart. Share of the SURFACE, not of the volume: a binder that sits between grains covers less.

    Examples
    --------
    >>> import math
    >>> round(math.degrees(mixed_contact_angle([0.5, 0.5], [math.radians(108), math.radians(60)])), 1)
    84.5
    """
    if len(shares) != len(angles) or not shares:
        raise RangeError(
            "each share needs its angle", where="shares", allowed="lists of one length"
        )
    for angle in angles:
        refuse_angle("contact angle", angle)
    for share in (*shares, air):
        not_negative(share=share)
    total = sum(shares) + air
    if abs(total - 1.0) > 1e-6:  # numerical
        raise RangeError(
            f"the shares of the surface add up to {total:.4g}", where="shares", allowed="a sum of 1",
            next_step="count the air under the drop too, if there is any",
        )  # fmt: skip
    cosine = sum(f * math.cos(a) for f, a in zip(shares, angles, strict=True)) - air
    return math.acos(min(1.0, max(-1.0, cosine)))


def covering_needed(covering: float, base: float) -> float:
    """How much of a surface must be covered before it turns water away.

    Parameters
    ----------
    covering : float [rad]
        Contact angle of the wet-proofer, above pi/2.
    base : float [rad]
        Contact angle of what it covers, below pi/2.

    Returns
    -------
    float [1]
        Share of the surface at which the mixed angle passes 90 degrees.

    Raises
    ------
    RangeError
        A covering that wets by itself (it never gets there), or a base that needs none.

    Notes
    -----
    f = cos theta_base/(cos theta_base - cos theta_covering), from `mixed_contact_angle` (Cassie
    1948) at 90 degrees.

    Examples
    --------
    >>> import math
    >>> [round(covering_needed(math.radians(108), math.radians(b)), 2) for b in (80, 60)]
    [0.36, 0.62]
    """
    refuse_angle("contact angle", covering)
    refuse_angle("contact angle", base)
    if not covering > math.pi / 2.0 > base:
        raise RangeError(
            f"{math.degrees(covering):.0f} degrees over {math.degrees(base):.0f} degrees",
            where="contact angle",
            allowed="a covering above 90 degrees on a base below 90",
            next_step="most soluble binders lie at 90 or below: add wax, PTFE or silicone",
        )
    return math.cos(base) / (math.cos(base) - math.cos(covering))


def water_surface_tension(
    temperature: ArrayLike, scale: float, slope: float, power: float, critical: float
) -> Floats:
    """The surface tension of water.

    Parameters
    ----------
    temperature : array_like [K]
        From freezing to the critical temperature.
    scale, slope, power : float [N/m], [1], [1]
        Coefficients B, b and mu.
    critical : float [K]
        Critical temperature.

    Returns
    -------
    ndarray [N/m]

    Raises
    ------
    RangeError
        A temperature that is not between zero and the critical one.

    Notes
    -----
    sigma = B tau^mu (1 + b tau), tau = 1 - T/T_c (IAPWS R1-76(2014), equation 1). Soap, grease or
    alcohol at the parts-per-million level brings it down by half.

    Examples
    --------
    >>> round(float(water_surface_tension(298.15, 0.2358, -0.625, 1.256, 647.096)) * 1e3, 2)
    71.97
    """
    kelvin = positive("temperature", temperature)
    if np.any(kelvin >= critical):
        raise RangeError("no surface above the critical temperature", allowed=f"below {critical} K")
    tau = 1.0 - kelvin / critical
    return np.asarray(scale * tau**power * (1.0 + slope * tau), dtype=np.float64)


def salted_surface_tension(
    of_water: float, salinity: float, temperature: float, constant: float, warm: float
) -> float:
    """The surface tension of sea water or brine from that of water.

    Parameters
    ----------
    of_water : float [N/m]
        Of pure water at the temperature.
    salinity : float [g/kg]
        Grams of salt in a kilogram of solution.
    temperature : float [degC]
        In degrees Celsius, as the equation has it.
    constant, warm : float [kg/g], [kg/(g degC)]
        Coefficients.

    Returns
    -------
    float [N/m]

    Raises
    ------
    RangeError
        A negative salinity or a surface tension that is not above zero.

    Notes
    -----
    sigma (1 + A S + B S t), Nayar and others (2014), J. Phys. Chem. Ref. Data 43, 043103; 0 to
    131 g/kg, 1 to 92 degC, deviations up to 0.6 %.

    Examples
    --------
    >>> round(salted_surface_tension(0.07197, 35.0, 25.0, 3.766e-4, 2.347e-6) * 1e3, 2)
    73.07
    """
    above_zero(of_water=of_water)
    not_negative(salinity=salinity)
    return of_water * (1.0 + constant * salinity + warm * salinity * temperature)


def breakthrough_pressure(
    surface_tension: float, contact_angle: float, pore_diameter: float
) -> float:
    """The pressure at which water is pushed into a pore that turns it away.

    Parameters
    ----------
    surface_tension : float [N/m]
        Of the liquid.
    contact_angle : float [rad]
        Advancing contact angle in the pore.
    pore_diameter : float [m]
        Diameter of the WIDEST pore that goes through: one crack decides.

    Returns
    -------
    float [Pa]
        -4 sigma cos(theta)/d; 0 at or below 90 degrees, where nothing is held back.

    Raises
    ------
    RangeError
        A value that is not above zero, or an angle outside 0 to pi.

    Notes
    -----
    Young and Laplace for a round straight pore. Pores that widen and narrow give way earlier or
    later, so a real layer stands within about a factor of two of it.

    Examples
    --------
    >>> import math
    >>> round(breakthrough_pressure(0.072, math.radians(108), 1e-6) / 1e3, 1)
    89.0
    """
    above_zero(surface_tension=surface_tension, pore_diameter=pore_diameter)
    refuse_angle("contact angle", contact_angle)
    return max(0.0, -4.0 * surface_tension * math.cos(contact_angle) / pore_diameter)


def holding_pore(surface_tension: float, contact_angle: float, pressure: float) -> float:
    """The widest pore that still holds a pressure back.

    Parameters
    ----------
    surface_tension : float [N/m]
        Of the liquid.
    contact_angle : float [rad]
        Above pi/2.
    pressure : float [Pa]
        Pressure to hold.

    Returns
    -------
    float [m]
        Its diameter.

    Raises
    ------
    RangeError
        An angle at or below 90 degrees: no pore holds then, however narrow.

    Notes
    -----
    The inverse of `breakthrough_pressure` (Young and Laplace).

    Examples
    --------
    >>> import math
    >>> round(holding_pore(0.072, math.radians(108), 2000.0) * 1e6, 1)
    44.5
    """
    above_zero(surface_tension=surface_tension, pressure=pressure)
    refuse_angle("contact angle", contact_angle)
    if math.cos(contact_angle) >= 0.0:
        raise RangeError(
            "a pore that wets holds no water back", where="contact angle",
            allowed="above 90 degrees", next_step="cover more of the surface with a wet-proofer",
        )  # fmt: skip
    return -4.0 * surface_tension * math.cos(contact_angle) / pressure


def water_head(pressure: float, density: float) -> float:
    """The height of liquid that makes a pressure.

    Parameters
    ----------
    pressure : float [Pa]
        Pressure.
    density : float [kg/m^3]
        Of the liquid.

    Returns
    -------
    float [m]

    Raises
    ------
    RangeError
        A negative pressure, or a density that is not above zero.

    Notes
    -----
    h = p/(rho g) with the standard acceleration of gravity.

    Examples
    --------
    >>> round(water_head(88997.0, 1000.0), 2)
    9.08
    """
    not_negative(pressure=pressure)
    above_zero(density=density)
    return pressure / (density * STANDARD_GRAVITY)


def capillary_rise(
    surface_tension: float, contact_angle: float, radius: float, density: float
) -> float:
    """How high a liquid stands in a pore that draws it up.

    Parameters
    ----------
    surface_tension : float [N/m]
        Of the liquid.
    contact_angle : float [rad]
        In the pore.
    radius : float [m]
        Radius of the pore.
    density : float [kg/m^3]
        Of the liquid.

    Returns
    -------
    float [m]
        2 sigma cos(theta)/(rho g r); negative where the pore pushes it down.

    Raises
    ------
    RangeError
        A value that is not above zero, or an angle outside 0 to pi.

    Notes
    -----
    Jurin's law; a radius well below the capillary length, 2.7 mm for water.

    Examples
    --------
    >>> round(capillary_rise(0.0728, 0.0, 2e-4, 1000.0), 3)
    0.074
    """
    above_zero(surface_tension=surface_tension, radius=radius, density=density)
    refuse_angle("contact angle", contact_angle)
    return 2.0 * surface_tension * math.cos(contact_angle) / (density * STANDARD_GRAVITY * radius)
