"""How fast a liquid goes into the air: from a scale, or as a band over published models.

The models disagree about fivefold over a dish on a bench, so the band (low, centre, high) is the
answer and never one of them; what a scale shows is preferred to all of them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from aerode.errors import RangeError
from aerode.physics.checked_scalars import above_zero
from aerode.physics.evaporation_models import (
    laminar_plate_rate,
    mass_transfer_rate,
    open_pool_rate,
    penetration_rate,
    still_room_rate,
    turbulent_pool_rate,
)

__all__ = ["EvaporationBand", "evaporation_band", "weigh_loss_rate"]

_SLOW_AIR = 100.0 * 0.3048 / 60.0  # m/s, 100 feet per minute; the foot by definition


@dataclass(frozen=True, slots=True)
class EvaporationBand:
    """Low, centre and high evaporation rate [kg/s], and every model's own answer.

    `rates` maps the model to its rate at the low and the high air speed.
    """

    low: float
    centre: float
    high: float
    rates: dict[str, tuple[float, float]]


def _each_model(
    molar_mass: float,
    vapour_pressure: float,
    temperature: float,
    area: float,
    air_speed: float,
    diffusivity: float,
    still: float,
    pool: float,
) -> dict[str, float]:
    liquid = (molar_mass, vapour_pressure, temperature, area)
    slow = air_speed <= _SLOW_AIR
    return {
        "fixed coefficient": still_room_rate(*liquid, water_coefficient=still),
        "open pool": open_pool_rate(*liquid, air_speed, water_coefficient=pool),
        "turbulent pool": turbulent_pool_rate(*liquid, air_speed, diffusivity),
        "laminar plate": laminar_plate_rate(*liquid, air_speed, diffusivity),
        "penetration or mass transfer": penetration_rate(*liquid, air_speed)
        if slow
        else mass_transfer_rate(*liquid, air_speed),
    }


def evaporation_band(
    molar_mass: float,
    vapour_pressure: float,
    temperature: float,
    area: float,
    *,
    slow_air: float,
    fast_air: float,
    diffusivity: float,
    still_coefficient: float,
    pool_coefficient: float,
) -> EvaporationBand:
    """The evaporation rate as low, centre and high over the published models and the air speeds.

    Parameters
    ----------
    molar_mass : float [kg/mol]
        Molar mass of the liquid.
    vapour_pressure : float [Pa]
        Vapour pressure at the liquid's temperature.
    temperature : float [K]
        Temperature of liquid and air.
    area : float [m^2]
        Wet area.
    slow_air, fast_air : float [m/s]
        Lowest and highest air speed over it.
    diffusivity : float [m^2/s]
        Diffusivity of the vapour in air.
    still_coefficient, pool_coefficient : float [m/s]
        Mass transfer coefficient of water in a still room, and over a pool at 1 m/s.

    Returns
    -------
    EvaporationBand
        Low: the lowest model in the slowest air. Centre: the laminar plate at the geometric mean
        of the speeds. High: the highest model in the fastest air.

    Raises
    ------
    RangeError
        A value that is not above zero, or air speeds that are crossed.

    Notes
    -----
    The pools err low over a dish and the fixed coefficient and the penetration model err high
    (see each). Cooling and the skin on a drying polymer solution are left out; the skin makes the
    late drying slower and leaves solvent in the layer.

    Examples
    --------
    >>> band = evaporation_band(
    ...     0.09214, 3800.0, 298.15, 0.01, slow_air=0.05, fast_air=0.05, diffusivity=8.45e-6,
    ...     still_coefficient=0.0083, pool_coefficient=0.0067)
    >>> [round(x * 6e7) for x in (band.low, band.centre, band.high)]
    [32, 98, 408]
    """
    above_zero(slow_air=slow_air, fast_air=fast_air)
    if slow_air > fast_air:
        raise RangeError("the air speeds are crossed", allowed="slow_air at most fast_air")
    ends = [
        _each_model(molar_mass, vapour_pressure, temperature, area, speed, diffusivity,
                    still_coefficient, pool_coefficient)
        for speed in (slow_air, fast_air)
    ]  # fmt: skip
    centre = laminar_plate_rate(
        molar_mass, vapour_pressure, temperature, area, math.sqrt(slow_air * fast_air), diffusivity
    )
    return EvaporationBand(
        low=min(centre, *ends[0].values()),
        centre=centre,
        high=max(centre, *ends[1].values()),
        rates={model: (ends[0][model], ends[1][model]) for model in ends[0]},
    )


def weigh_loss_rate(lost: float, over: float, resolution: float = 0.0) -> tuple[float, float]:
    """The evaporation rate that a scale shows, with its standard uncertainty.

    Parameters
    ----------
    lost : float [kg]
        Loss in mass between two readings.
    over : float [s]
        Time between them.
    resolution : float [kg]
        Smallest step of the scale.

    Returns
    -------
    tuple of float [kg/s]
        Mean rate and its standard uncertainty from the two roundings.

    Raises
    ------
    RangeError
        No time passed, or a negative loss or resolution.

    Notes
    -----
    G = dm/dt. Each rounding is rectangular with half width resolution/2, so
    u = resolution sqrt(2/12) / dt (JCGM 100:2008, 4.3.7 and F.2.2.1). The first minutes of drying
    run above the mean.

    Examples
    --------
    >>> rate, spread = weigh_loss_rate(0.0012, 600.0, 1e-5)
    >>> f"{rate * 6e7:.0f} +- {spread * 6e7:.1f} mg/min"
    '120 +- 0.4 mg/min'
    """
    above_zero(over=over)
    if not (lost >= 0.0 and resolution >= 0.0 and math.isfinite(lost + resolution)):
        raise RangeError(f"a loss of {lost} kg", allowed="zero or more")
    return lost / over, resolution * math.sqrt(2.0 / 12.0) / over
