"""From a clamp, a dial or weights to the pressure on a coat, and what pressure does to its voids.

A torque tells a force to a factor of about two: nine tenths of it go into friction. So a force is
always a band here, and pressing is comparable within one bench only.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from aerode.errors import CannotTellError, RangeError
from aerode.physics.checked_scalars import above_zero, not_negative
from aerode.physics.wetting import STANDARD_GRAVITY

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = [
    "HeatWindow",
    "HeckelLine",
    "clamp_force",
    "gauge_force",
    "heat_window",
    "heckel_density",
    "heckel_fit",
    "heckel_pressure",
    "mean_pressure",
    "screw_force",
    "weight_force",
]


def weight_force(mass: float) -> float:
    """The force of weights.

    Parameters
    ----------
    mass : float [kg]
        Laid on the plate, the plate itself counted.

    Returns
    -------
    float [N]

    Raises
    ------
    RangeError
        A mass that is not above zero.

    Notes
    -----
    m g with the standard acceleration of gravity; local gravity differs by 0.3 % at most.

    Examples
    --------
    >>> round(weight_force(20.0), 1)
    196.1
    """
    above_zero(mass=mass)
    return mass * STANDARD_GRAVITY


def gauge_force(pressure: float, ram_area: float) -> float:
    """The force of a hydraulic press from its dial.

    Parameters
    ----------
    pressure : float [Pa]
        On the dial.
    ram_area : float [m^2]
        Of the piston, not of the plate.

    Returns
    -------
    float [N]

    Raises
    ------
    RangeError
        A value that is not above zero.

    Notes
    -----
    p A; the piston's seal takes a few per cent, and a cheap dial is off by 2 to 5 % of its scale.

    Examples
    --------
    >>> round(gauge_force(2e6, 5e-4))
    1000
    """
    above_zero(pressure=pressure, ram_area=ram_area)
    return pressure * ram_area


def clamp_force(torque: float, nut_factor: float, diameter: float) -> float:
    """The force of a bolt or a screw clamp from the torque on it, by the short formula of the trade.

    Parameters
    ----------
    torque : float [N m]
        Force on the handle times its length.
    nut_factor : float [1]
        About 0.2 for dry steel as it comes, 0.1 greased, 0.3 rusty.
    diameter : float [m]
        Nominal diameter of the thread.

    Returns
    -------
    float [N]

    Raises
    ------
    RangeError
        A value that is not above zero.

    Notes
    -----
    F = T/(K d). K holds all the friction and is known to a factor of two at best.

    Examples
    --------
    >>> round(clamp_force(82.0, 0.2, 0.012) / 1e3, 1)
    34.2
    """
    above_zero(torque=torque, nut_factor=nut_factor, diameter=diameter)
    return torque / (nut_factor * diameter)


def screw_force(
    torque: float,
    *,
    mean_diameter: float,
    lead: float,
    friction: float,
    half_angle: float = 0.0,
    collar_diameter: float = 0.0,
    collar_friction: float = 0.0,
) -> float:
    """The force of a screw clamp or vice from its torque, thread by thread.

    Parameters
    ----------
    torque : float [N m]
        On the screw.
    mean_diameter : float [m]
        Of the thread.
    lead : float [m]
        Way of one turn.
    friction : float [1]
        Coefficient of friction in the thread.
    half_angle : float [rad]
        Half the angle between the flanks: 0 for a square thread, 30 degrees for a metric one.
    collar_diameter : float [m]
        Mean diameter of the foot that turns under load, 0 for a ball.
    collar_friction : float [1]
        Friction there.

    Returns
    -------
    float [N]

    Raises
    ------
    RangeError
        A value outside its range, or friction so high that the thread locks.

    Notes
    -----
    T = F d/2 (l + pi f d/cos a)/(pi d - f l/cos a) + F f_c d_c/2: the wedge of the power screw, in
    every text on machine elements.

    Examples
    --------
    >>> import math
    >>> round(screw_force(8.75, mean_diameter=0.012, lead=0.008, friction=0.27))
    2851
    """
    above_zero(torque=torque, mean_diameter=mean_diameter, lead=lead)
    not_negative(friction=friction, collar_diameter=collar_diameter,
                 collar_friction=collar_friction)  # fmt: skip
    if not 0.0 <= half_angle < math.pi / 3.0:
        raise RangeError(
            f"a flank of {half_angle:g} rad", where="half_angle", allowed="0 to 60 degrees"
        )
    wedge = friction / math.cos(half_angle)
    around = math.pi * mean_diameter
    if around <= wedge * lead:
        raise RangeError(
            "so much friction locks the thread", where="friction",
            allowed=f"below {around / lead * math.cos(half_angle):.3g}",
        )  # fmt: skip
    arm = mean_diameter / 2.0 * (lead + wedge * around) / (around - wedge * lead)
    return torque / (arm + collar_friction * collar_diameter / 2.0)


def mean_pressure(force: float, area: float, count: int = 1) -> float:
    """The mean pressure on what is pressed.

    Parameters
    ----------
    force : float [N]
        Of one clamp.
    area : float [m^2]
        That carries the load: the coated area where the plates are wider than the coat.
    count : int
        Clamps of equal force.

    Returns
    -------
    float [Pa]
        The mean. Below a clamp's foot it is higher, at the rim of a thin plate far lower.

    Raises
    ------
    RangeError
        A value that is not above zero.

    Notes
    -----
    n F/A.

    Examples
    --------
    >>> round(mean_pressure(2000.0, 36e-4, 2) / 1e6, 2)
    1.11
    """
    above_zero(force=force, area=area, count=float(count))
    return count * force / area


@dataclass(frozen=True, slots=True)
class HeckelLine:
    """A recipe's own densification line: slope [1/Pa], intercept, and its worst misfit."""

    slope: float
    intercept: float
    misfit: float
    """Largest distance of a measured relative density from the line."""
    pressures: tuple[float, float]
    """Span of the pressures it was found from [Pa]."""


def heckel_density(pressure: float, slope: float, intercept: float) -> float:
    """The share of solid in a pressed layer, 1 - porosity.

    Parameters
    ----------
    pressure : float [Pa]
        Mean pressure.
    slope, intercept : float [1/Pa], [1]
        Of the recipe, from `heckel_fit`.

    Returns
    -------
    float [1]

    Raises
    ------
    RangeError
        A negative pressure, or a line that falls.

    Notes
    -----
    ln(1/(1 - D)) = k P + A, Heckel (1961), Trans. Metall. Soc. AIME 221:671. There are no
    universal k and A; at low pressure, where grains still slide, real layers lie below the line.

    Examples
    --------
    >>> round(heckel_density(2e6, 1e-7, 0.4), 3)
    0.451
    """
    not_negative(pressure=pressure, slope=slope, intercept=intercept)
    return -math.expm1(-(slope * pressure + intercept))


def heckel_pressure(density: float, slope: float, intercept: float) -> float:
    """The pressure that brings a recipe to a share of solid.

    Parameters
    ----------
    density : float [1]
        Share of solid wanted, 1 - porosity.
    slope, intercept : float [1/Pa], [1]
        Of the recipe.

    Returns
    -------
    float [Pa]

    Raises
    ------
    RangeError
        A density outside 0 to 1, or one the layer has already without pressing.

    Notes
    -----
    The inverse of `heckel_density` (Heckel 1961).

    Examples
    --------
    >>> round(heckel_pressure(0.451188, 1e-7, 0.4) / 1e6, 2)
    2.0
    """
    above_zero(slope=slope)
    loose = -math.expm1(-intercept)
    if not loose <= density < 1.0:
        raise RangeError(
            f"a share of solid of {density:g}", where="density",
            allowed=f"{loose:.3f} (unpressed) to below 1", next_step="ask for less void",
        )  # fmt: skip
    return (-math.log1p(-density) - intercept) / slope


def heckel_fit(pressures: Sequence[float], densities: Sequence[float]) -> HeckelLine:
    """A recipe's densification line from pressed coupons.

    Parameters
    ----------
    pressures : sequence of float [Pa]
        Mean pressure on each coupon; three of them or more, not all alike.
    densities : sequence of float [1]
        Share of solid of each, 1 - porosity, by weight and thickness.

    Returns
    -------
    HeckelLine
        For this recipe, press and plate; not beyond the span of the pressures.

    Raises
    ------
    CannotTellError
        Fewer than three coupons, or pressures that are alike.
    RangeError
        A density outside 0 to 1 or a pressure that is negative.

    Notes
    -----
    Least squares of ln(1/(1 - D)) against P, equal weights (Heckel 1961).

    Examples
    --------
    >>> line = heckel_fit([0.0, 1e6, 2e6], [0.3297, 0.3935, 0.4512])
    >>> round(line.slope * 1e6, 3), round(line.intercept, 3)
    (0.1, 0.4)
    """
    if len(pressures) != len(densities) or len(set(pressures)) < 3:
        raise CannotTellError(
            "a densification line needs three coupons pressed differently",
            where="coupons",
            allowed="three or more pressures, each with its porosity",
            next_step="press one coupon lightly, one firmly, one hard, weigh and measure each",
        )
    for pressure, density in zip(pressures, densities, strict=True):
        not_negative(pressure=pressure)
        if not 0.0 < density < 1.0:
            raise RangeError(f"a share of solid of {density:g}", allowed="0 to 1")
    x, y = np.asarray(pressures), -np.log1p(-np.asarray(densities))
    centred = x - x.mean()
    slope = float(np.sum(centred * y) / np.sum(centred**2))
    intercept = float(y.mean() - slope * x.mean())
    misfit = float(np.max(np.abs(-np.expm1(-(slope * x + intercept)) - np.asarray(densities))))
    return HeckelLine(slope, intercept, misfit, (min(pressures), max(pressures)))


@dataclass(frozen=True, slots=True)
class HeatWindow:
    """Plate temperatures between which binders flow and nothing gives off gas [K].

    `low` is None where no softening temperature is on file, `high` None where no upper line is:
    unknown is never a pass.
    """

    low: float | None
    high: float | None

    @property
    def open(self) -> bool:
        """True where both ends are known and there is room between them."""
        return self.low is not None and self.high is not None and self.low < self.high


def heat_window(softening: Sequence[float | None], lines: Sequence[float | None]) -> HeatWindow:
    """The window of plate temperatures for all polymers of a layer together.

    Parameters
    ----------
    softening : sequence of float or None [K]
        Where each polymer begins to flow; None where no figure is on file.
    lines : sequence of float or None [K]
        The lowest line above which each must not go; None where no figure is on file.

    Returns
    -------
    HeatWindow
        From the highest softening to the lowest line. One unknown makes that end unknown.

    Raises
    ------
    RangeError
        No polymer at all, or a temperature that is not above zero.

    Notes
    -----
    An intersection of spans. Onsets are published for neat resin: carbon, oxides and metal lower
    them, which is why the lines must carry their margin already.

    Examples
    --------
    >>> window = heat_window([335.15, 373.15], [453.15, None])
    >>> window.low, window.high, window.open
    (373.15, None, False)
    """
    if not softening or len(softening) != len(lines):
        raise RangeError("no polymer to press", where="softening", allowed="one entry for each")
    for value in (*softening, *lines):
        if value is not None:
            above_zero(temperature=value)
    known_low = [t for t in softening if t is not None]
    known_high = [t for t in lines if t is not None]
    return HeatWindow(
        max(known_low) if len(known_low) == len(softening) else None,
        min(known_high) if len(known_high) == len(lines) else None,
    )
