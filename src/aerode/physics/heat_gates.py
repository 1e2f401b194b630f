"""What has to hold before a coated piece is heated: dry enough, plates cool enough, polymer cool enough.

Pure comparisons: every threshold comes in as an argument.
"""

from __future__ import annotations

import math
from enum import StrEnum

from aerode.errors import RangeError
from aerode.physics.checked_scalars import above_zero
from aerode.physics.water import ZERO_CELSIUS

__all__ = [
    "Dryness",
    "HeatStep",
    "dry_enough",
    "heat_step",
    "long_enough",
    "make_up_temperature",
    "mixed_temperature_rise",
    "surface_ceiling",
]


class Dryness(StrEnum):
    """What two weighings say."""

    DRY = "weight constant"
    WET = "still losing weight"
    CANNOT_TELL = "cannot tell"


def dry_enough(
    first: float,
    second: float,
    interval: float,
    *,
    minimum_interval: float,
    relative_change: float,
    mass_per_area: float,
    coating: float | None = None,
    area: float | None = None,
    resolution: float = 0.0,
) -> tuple[Dryness, str]:
    """Whether two weighings show a coat that has stopped losing solvent.

    Parameters
    ----------
    first, second : float [kg]
        Mass of the piece at the two readings.
    interval : float [s]
        Time between them.
    minimum_interval : float [s]
        Shortest time that counts.
    relative_change : float [1]
        Largest change that counts as constant, as a share of the coating.
    mass_per_area : float [kg/m^2]
        Largest change that counts as constant, per coated area.
    coating : float, optional [kg]
        Mass of the coating.
    area : float, optional [m^2]
        Coated area.
    resolution : float [kg]
        Smallest step of the scale.

    Returns
    -------
    tuple
        `(Dryness, why)`; the second says what would decide where the first is CANNOT_TELL.

    Raises
    ------
    RangeError
        A mass that is not above zero, or a negative resolution.

    Notes
    -----
    Two rounded readings may hide a change of one step, so the step is added to the change before
    it counts as constant, and taken off before it counts as wet; a scale too coarse for the
    criterion answers CANNOT_TELL, never DRY. Where the display shows no change, what one step
    may hide went on over all the time between: no change on a coarse scale counts once the interval
    is long enough (`long_enough`). Constant weight is no proof: a skin can lock solvent
    in. Gain in weight (water from the air) is a change too.

    Examples
    --------
    >>> gate = {"minimum_interval": 600.0, "relative_change": 0.01, "mass_per_area": 0.005}
    >>> dry_enough(5.00e-3, 5.00e-3, 900.0, coating=2e-3, resolution=1e-5, **gate)[0].name
    'DRY'
    >>> dry_enough(5.00e-3, 5.00e-3, 900.0, coating=2e-4, resolution=1e-5, **gate)[0].name
    'CANNOT_TELL'
    """
    above_zero(first=first, second=second, minimum_interval=minimum_interval)
    if not (math.isfinite(resolution) and resolution >= 0.0):
        raise RangeError(f"a resolution of {resolution}", allowed="zero or more")
    allowed = max(
        relative_change * coating if coating else 0.0, mass_per_area * area if area else 0.0
    )
    change = abs(first - second)
    if allowed <= 0.0:
        return Dryness.CANNOT_TELL, "the mass of the coating or the coated area"
    if change - resolution > allowed:
        return Dryness.WET, ""
    if interval < minimum_interval * (1.0 - 1e-9):  # numerical
        return (
            Dryness.CANNOT_TELL,
            f"a second weighing at least {minimum_interval / 60:g} min later",
        )
    still = change < 0.5 * resolution  # no change on the display
    lost = resolution * minimum_interval / interval if still else change + resolution
    if lost > allowed * (1.0 + 1e-9):  # numerical
        return Dryness.CANNOT_TELL, _ways(allowed, resolution, minimum_interval)
    return Dryness.DRY, ""


def long_enough(allowed: float, resolution: float, minimum_interval: float) -> float:
    """After what time no change on a scale shows a constant weight.

    Parameters
    ----------
    allowed : float [kg]
        Largest change in `minimum_interval` that counts as constant, above zero.
    resolution : float [kg]
        Smallest step of the scale.
    minimum_interval : float [s]
        Shortest time that counts.

    Returns
    -------
    float [s]
        The step over the allowed loss per time, and never less than `minimum_interval`.

    Examples
    --------
    >>> round(long_enough(4.5e-6, 1e-5, 600.0) / 60, 1)
    22.2
    """
    above_zero(allowed=allowed, minimum_interval=minimum_interval)
    return minimum_interval * max(1.0, resolution / allowed)


def _ways(allowed: float, resolution: float, minimum_interval: float) -> str:
    """What settles it with this scale, and with another."""
    minutes = math.ceil(long_enough(allowed, resolution, minimum_interval) / 60 - 1e-9)  # numerical
    said = f"no change on this scale over {minutes} min or more"
    if resolution <= allowed:
        return said
    pieces = math.ceil(resolution / allowed - 1e-9)  # numerical
    return f"{said}, or {pieces} such pieces weighed together, or a scale with steps of {allowed * 1e6:.2g} mg or less"


def surface_ceiling(
    autoignition: float, *, share: float, margin: float | None = None
) -> tuple[float, float]:
    """How hot a plate may be beside a vapour that lights itself.

    Parameters
    ----------
    autoignition : float [K]
        Autoignition temperature of the vapour.
    share : float [1]
        Share of it, counted in degrees Celsius, that a surface may reach.
    margin : float, optional [K]
        Distance below it that another rule asks for.

    Returns
    -------
    tuple of float [K]
        `(ceiling, autoignition)`: the lower of the rules, and the temperature itself.

    Raises
    ------
    RangeError
        A share outside 0 to 1, or a temperature at or below 0 degC.

    Notes
    -----
    ceiling = share times the autoignition temperature in degC, the explosion-protection rule. An
    autoignition temperature belongs to the vessel and the hold time it was found with; a long
    stay on a rough, catalytic surface lights earlier.

    Examples
    --------
    >>> round(surface_ceiling(237.0 + 273.15, share=0.8)[0] - 273.15, 1)
    189.6
    """
    if not 0.0 < share <= 1.0:
        raise RangeError(f"a share of {share}", allowed="above 0 and at most 1")
    celsius = autoignition - ZERO_CELSIUS
    above_zero(autoignition_in_celsius=celsius)
    ceiling = ZERO_CELSIUS + share * celsius
    return (ceiling if margin is None else min(ceiling, autoignition - margin)), autoignition


class HeatStep(StrEnum):
    """Where a plate stands on the ladder of a polymer."""

    COOL = "below softening"
    SOFT = "softens"
    WARN = "past the warning line"
    STOP = "past the stop line"
    NO_FIGURE = "no figure on file"


def heat_step(
    temperature: float,
    *,
    softening: float | None,
    warn: float | None,
    stop: float | None,
) -> HeatStep:
    """Where a plate temperature stands on the ladder of one polymer.

    Parameters
    ----------
    temperature : float [K]
        Plate temperature.
    softening, warn, stop : float, optional [K]
        The rungs that are on file.

    Returns
    -------
    HeatStep
        NO_FIGURE where no stop line is on file, however cool: unknown is never a pass.

    Raises
    ------
    RangeError
        A temperature that is not above zero.

    Notes
    -----
    Standing on a line counts as past it. Onsets are published for neat resin; carbon, oxides and
    metal in the layer move them down.

    Examples
    --------
    >>> heat_step(610.15, softening=600.15, warn=573.15, stop=603.15).name
    'STOP'
    >>> heat_step(350.0, softening=None, warn=None, stop=None).name
    'NO_FIGURE'
    """
    above_zero(temperature=temperature)
    if stop is None:
        return HeatStep.NO_FIGURE
    if temperature >= stop:
        return HeatStep.STOP
    if warn is not None and temperature >= warn:
        return HeatStep.WARN
    return HeatStep.SOFT if softening is not None and temperature >= softening else HeatStep.COOL


def mixed_temperature_rise(heat: float, mass: float, specific_heat: float) -> float:
    """How much a liquid warms up when a heat stays in it.

    Parameters
    ----------
    heat : float [J]
        Heat set free.
    mass : float [kg]
        Everything that warms up.
    specific_heat : float [J/(kg K)]
        Its specific heat.

    Returns
    -------
    float [K]

    Raises
    ------
    RangeError
        A negative heat, or another value not above zero.

    Notes
    -----
    dT = q/(m c), no loss to the vessel or the air: the most it can warm.

    Examples
    --------
    >>> round(mixed_temperature_rise(4184.0, 0.1, 4184.0), 3)
    10.0
    """
    if not (math.isfinite(heat) and heat >= 0.0):
        raise RangeError(f"a heat of {heat}", allowed="zero or more")
    above_zero(mass=mass, specific_heat=specific_heat)
    return heat / (mass * specific_heat)


def make_up_temperature(
    solute: float,
    molar_mass: float,
    water: float,
    *,
    heat_of_solution: float,
    specific_heat: float,
    start: float,
) -> float:
    """The temperature that dissolving lye all at once can reach.

    Parameters
    ----------
    solute, water : float [kg]
        What is put together.
    molar_mass : float [kg/mol]
        Of the solute.
    heat_of_solution : float [J/mol]
        Heat set free by one mole, as a positive number.
    specific_heat : float [J/(kg K)]
        Of the solution.
    start : float [K]
        Temperature before.

    Returns
    -------
    float [K]
        Without any loss; above boiling it means: it can spit.

    Raises
    ------
    RangeError
        A value that is not above zero.

    Notes
    -----
    T = T0 + (m/M) q / ((m + w) c). The heat at infinite dilution is on the high side for strong
    lye, the specific heat of water on the low side for the rise.

    Examples
    --------
    >>> t = make_up_temperature(0.040, 0.04, 0.96, heat_of_solution=44500.0, specific_heat=4184.0,
    ...                         start=293.15)
    >>> round(t - 293.15, 1)
    10.6
    """
    above_zero(solute=solute, water=water, molar_mass=molar_mass, start=start)
    heat = solute / molar_mass * heat_of_solution
    return start + mixed_temperature_rise(heat, solute + water, specific_heat)
