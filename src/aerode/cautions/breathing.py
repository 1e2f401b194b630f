"""What is breathed over a dish and in its room, as bands over everything that is not known.

Source: a weigh-loss if there is one, else the band of the evaporation models, else the two extremes
(all at once, or spread over 8 h however long the stay, so that a longer one never tells of less).
Room: a near zone and the room, decoupled (Nicas 2024), so that a room without any fresh air is in
reach too. The ends of the band are the corners of all
spans, widened by the published agreement of the model with measurements (half to double).

Some models and defaults are from memory. A STOP rests on the low end of a band alone, and there they
only make it lower: without them the fixed coefficient, which is published, would stand there.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from aerode.cautions import lookup
from aerode.cautions.comparing import Band, plain
from aerode.cautions.limits import DAY, QUARTER
from aerode.cautions.policy import NEAR_FIELD_RADIUS
from aerode.cautions.rooms import OPEN_AIR, flows_of, left_by_exhaust
from aerode.cautions.sheets import name_of
from aerode.physics.evaporation import evaporation_band, weigh_loss_rate
from aerode.physics.near_field import near_field_volume
from aerode.physics.room_air import Stage, well_mixed_average, well_mixed_history

if TYPE_CHECKING:
    from aerode.cautions.rooms import Flows
    from aerode.cautions.situation import Air, OpenLiquid, Situation

__all__ = [
    "Breathed",
    "Source",
    "all_at_once",
    "at_centre",
    "breathed",
    "organic_liquids",
    "sources_of",
]

_ALL_AT_ONCE = 60.0  # s, the shortest time in which everything is let evaporate; judgement


@dataclass(frozen=True, slots=True)
class Source:
    """One liquid going into the air: mass [kg] and low, centre and high rate [kg/s]."""

    substance: str
    mass: float
    low: float
    centre: float
    high: float
    measured: bool
    how: str


def organic_liquids(situation: Situation) -> list[tuple[OpenLiquid, str | None]]:
    """Every open liquid but water, with its name on file or in a data sheet (None: in neither)."""
    named = [(q, name_of(situation, q.substance, q.name)) for q in situation.liquids]
    return [(liquid, name) for liquid, name in named if name != "water"]


def _mole_share(situation: Situation, name: str) -> float:
    """Mole fraction among the open liquids, 1 where an amount or a molar mass is missing."""
    moles: dict[str, float] = {}
    for liquid in situation.liquids:
        known = lookup.known_name(liquid.substance)
        mass = lookup.molar_mass(known) if known else None
        if known is None or mass is None or liquid.mass is None:
            return 1.0
        moles[known] = moles.get(known, 0.0) + liquid.mass / mass
    total = sum(moles.values())
    return moles.get(name, 0.0) / total if total > 0 else 1.0


def _air_speeds(situation: Situation) -> tuple[float, float] | None:
    slowest = lookup.rule("exposure_model_figure", "lowest air speed used")
    quiet = lookup.rule("exposure_model_figure", "air speed, quiet room")
    if situation.air_speed is not None:
        floor = slowest.value if slowest else situation.air_speed.low
        return max(floor, situation.air_speed.low), max(floor, situation.air_speed.high)
    if slowest is None or quiet is None:
        return None
    return slowest.value, max(quiet.value, slowest.value)


def _modelled(situation: Situation, name: str, mass: float) -> Source | None:
    """The band of the evaporation models; None where a property or the wet area is missing."""
    # judgement: a room of 25 degC
    temperature = situation.air.temperature if situation.air else 298.15
    pressure = lookup.vapour_pressure(name, temperature)
    diffusivity = lookup.diffusivity_in_air(name, temperature)
    molar_mass = lookup.molar_mass(name)
    still = lookup.rule("exposure_model_figure", "mass transfer of water, still room")
    pool = lookup.rule("exposure_model_figure", "mass transfer of water, outdoor pool")
    speeds = _air_speeds(situation)
    if (situation.open_area is None or pressure is None or diffusivity is None or molar_mass is None
            or still is None or pool is None or speeds is None):  # fmt: skip
        return None
    band = evaporation_band(
        molar_mass, pressure.value, temperature, situation.open_area, slow_air=speeds[0],
        fast_air=speeds[1], diffusivity=diffusivity, still_coefficient=still.value,
        pool_coefficient=pool.value,
    )  # fmt: skip
    # Raoult for a mixture at the low end and the centre; at the high end as if it were pure
    share = _mole_share(situation, name)
    how = f"five evaporation models over {plain(situation.open_area * 1e4)} cm²"
    return Source(name, mass, share * band.low, share * band.centre, band.high, False, how)


def sources_of(situation: Situation) -> list[Source]:
    """The source of each open organic liquid that is on file and whose amount is known."""
    held: dict[str, float] = {}
    for liquid, name in organic_liquids(situation):
        if name and liquid.mass:
            held[name] = held.get(name, 0.0) + liquid.mass
    total = sum(held.values())
    loss = situation.weigh_loss
    peak = lookup.rule_span("exposure_model_figure", "drying peak over mean")
    found: list[Source] = []
    for name, mass in held.items():
        if loss is not None:
            rate, spread = weigh_loss_rate(loss.lost, loss.over, loss.resolution)
            share = mass / total
            low, high = max(0.0, rate - 2 * spread), rate + 2 * spread
            high *= peak[1].value if peak else 1.0
            how = "the weigh-loss of the wet piece"
            found.append(Source(name, mass, low * share, rate * share, high * share, True, how))
            continue
        modelled = _modelled(situation, name, mass)
        if modelled is None:
            slow, fast = mass / DAY, mass / _ALL_AT_ONCE
            modelled = Source(
                name, mass, slow, math.sqrt(slow * fast), fast, False,
                "anything between all at once and 8 h",
            )  # fmt: skip
        found.append(modelled)
    return found


@dataclass(frozen=True, slots=True)
class Breathed:
    """Bands of concentration [kg/m^3] in the near field: instant, quarter hour, day; far field peak.

    Infinite high ends mean that the volume of the room is missing.
    """

    instant: Band
    quarter_hour: Band
    day: Band
    far_peak: Band


def _exchanges(air: Air | None) -> tuple[float, float]:
    """Near-field exchange between its ends [m^3/s]."""
    outdoors = air is not None and air.airing == OPEN_AIR
    names = ("moderate", "high") if outdoors else ("low", "moderate")
    spans = [lookup.rule_span("exposure_model_figure", f"near-field exchange, {n}") for n in names]
    ends = [f.value for span in spans if span for f in span]
    return (min(ends), max(ends)) if ends else (0.0, math.inf)


def _zone(rate: float, flow: float, volume: float, emitting: float, stay: float) -> list[float]:
    """One well-mixed zone: peak, worst quarter hour, day's mean [kg/m^3]."""
    emitting = min(emitting, stay)
    if math.isinf(flow):
        return [0.0, 0.0, 0.0]
    if math.isnan(volume):
        return [math.inf, math.inf, math.inf]
    if flow == 0.0 and volume == 0.0:
        return [math.inf] * 3
    peak = well_mixed_history([Stage(emitting, rate, flow)], volume)[0]
    lead = max(0.0, emitting - QUARTER)
    start = well_mixed_history([Stage(lead, rate, flow)], volume)[0] if lead > 0 else 0.0
    burst = min(emitting, QUARTER)
    window = [Stage(burst, rate, flow), Stage(QUARTER - burst, 0.0, flow)]
    quarter = well_mixed_average(
        [s for s in window if s.duration > 0], volume, QUARTER, initial=start
    )
    stages = [Stage(emitting, rate, flow), Stage(stay - emitting, 0.0, flow)]
    window_of_day = max(DAY, stay)
    day = well_mixed_average([s for s in stages if s.duration > 0], volume, window_of_day)
    return [peak, quarter, day * window_of_day / DAY]


def _corner(
    source: Source, rate: float, flow: float, exchange: float, volume: float, stay: float
) -> list[float]:
    """Near-field peak, quarter hour and day, and far-field peak, for one corner of the spans."""
    if rate <= 0.0:
        return [0.0, 0.0, 0.0, 0.0]
    emitting = max(1.0, source.mass / rate)
    rate = source.mass / emitting
    far = _zone(rate, flow, volume, emitting, stay)
    near = _zone(rate, exchange, near_field_volume(NEAR_FIELD_RADIUS), emitting, stay)
    return [f + n for f, n in zip(far, near, strict=True)] + [far[0]]


def _sizes(flows: Flows) -> tuple[float, ...]:
    """The volumes that the room may have, each once."""
    same = flows.smallest == flows.largest or math.isnan(flows.volume)
    return (flows.volume,) if same else (flows.smallest, flows.largest)


def breathed(source: Source, air: Air | None, stay: float) -> Breathed:
    """What one liquid does to the air that is breathed, as bands.

    Parameters
    ----------
    source : Source
        The liquid.
    air : Air or None
        The room.
    stay : float
        How long the person stays, over the dish all the time [s].

    Returns
    -------
    Breathed
        Ends over all corners of rate, fresh air, exchange and volume, times what a local exhaust
        leaves and the published agreement.
    """
    flows = flows_of(air)
    exchanges = _exchanges(air)
    corners = [
        _corner(source, rate, flow, exchange, volume, stay)
        for rate, flow, exchange, volume in itertools.product(
            (source.low, source.centre, source.high), {flows.low, flows.high}, exchanges,
            _sizes(flows),
        )
    ]  # fmt: skip
    agreement = lookup.rule_span("exposure_model_figure", "modelled over measured")
    ends = (agreement[0].value, agreement[1].value) if agreement else (1.0, 1.0)
    left = left_by_exhaust(air)
    bands = [
        Band(min(c[i] for c in corners), max(c[i] for c in corners)).widened(
            left.low / ends[1], left.high / ends[0]
        )
        for i in range(4)
    ]
    return Breathed(*bands)


def all_at_once(source: Source) -> bool:
    """Whether nothing bounds how fast it goes, but that all of it may go at once.

    Parameters
    ----------
    source : Source
        One liquid.

    Returns
    -------
    bool
    """
    return source.high * _ALL_AT_ONCE >= source.mass * (1.0 - 1e-9)  # numerical


def at_centre(source: Source) -> Source:
    """The same source with its rate fixed at the centre, to see whether a weigh-loss would decide."""
    return replace(source, low=source.centre, high=source.centre)
