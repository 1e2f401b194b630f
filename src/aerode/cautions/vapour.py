"""Vapour in the room: what is breathed, and what could burn. Health limit and fire limit always both."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerode import units
from aerode.cautions import lookup
from aerode.cautions.breathing import (
    Breathed,
    Source,
    at_centre,
    breathed,
    organic_liquids,
    sources_of,
)
from aerode.cautions.comparing import Band, compare, level_of, per_cent, plain, span
from aerode.cautions.limits import DAY, Governing
from aerode.cautions.policy import HOUSE_SOURCE
from aerode.cautions.rooms import (
    exhaust_words,
    flows_of,
    left_by_exhaust,
    room_at_centre,
    room_deciders,
)
from aerode.cautions.sheets import fire_of, limits_of
from aerode.physics.exposure import mole_fraction
from aerode.physics.flammability import mixture_lower_limit
from aerode.physics.room_air import flow_needed_for_dose, purge_time
from aerode.records.cautions import Caution, CautionLevel, Finding

if TYPE_CHECKING:
    from collections.abc import Callable

    from aerode.cautions.situation import Air, Situation

__all__ = ["vapour_cautions"]

_KINDS = ("day", "quarter hour", "instant", "escape")
_MASK = (
    "An organic-vapour cartridge holds back vapour for a while and does nothing for dust or lack of "
    "oxygen; it does not make this exposure fit to go on with."
)
_OVER = {
    "day": "as the mean of the day",
    "quarter hour": "as the mean of the worst 15 min",
    "instant": "at its peak",
}
"""What an amount is taken over, so that it is not read beside one that is taken over something else."""
_ADVISED = ("NIOSH REL", "ACGIH TLV", "AIHA WEEL", "EU IOELV")
"""Bodies whose limits are recommendations by their own name."""
_LAW = ("OSHA PEL", "Ontario", "DE TRGS")
"""Bodies whose limits are law where they hold."""
_NO_ROOM = "cannot tell, the room is not entered"
_HARDER = {Finding.BELOW: 0, Finding.STRADDLES: 1, Finding.ABOVE: 2}


@dataclass(frozen=True, slots=True)
class _Kind:
    """One kind of limit summed over the mixture, with the limits it rests on."""

    kind: str
    ratio: Band
    limits: tuple[Governing, ...]


def _band(air: Breathed, kind: str) -> Band:
    return {"day": air.day, "quarter hour": air.quarter_hour}.get(kind, air.instant)


def _sums(situation: Situation, airs: dict[str, Breathed], *, memory: bool) -> list[_Kind]:
    """The additive mixture rule, one entry for each kind of limit that is on file at all."""
    found: list[_Kind] = []
    for kind in _KINDS:
        low, high = 0.0, 0.0
        held: list[Governing] = []
        for name, air in airs.items():
            limits = limits_of(situation, name, kind)
            limit = limits.strictest if memory else limits.published
            if limit is None:
                continue
            ratio = _band(air, kind).over(limit.value)
            low, high = low + ratio.low, high + ratio.high
            held.append(limits)
        if held:
            found.append(_Kind(kind, Band(low, high), tuple(held)))
    return found


def _worst(sums: list[_Kind]) -> _Kind:
    """The kind that stands hardest against its limit; among equals the highest band."""
    return max(sums, key=lambda s: (_HARDER[compare(s.ratio)], s.ratio.low, s.ratio.high))


def _no_limit(situation: Situation, liquid_name: str, substance: str) -> Caution:
    return Caution(
        key=f"vapour.no-limit.{substance or liquid_name}",
        level=CautionLevel.FIRST,
        hazard="vapour breathed",
        headline=f"{liquid_name}: no limit on file, treat as unresolved",
        finding=Finding.NO_LIMIT,
        figure="vapour of unknown harm",
        limit="none on file",
        basis="a substance without a limit on file is not harmless, it is unresolved",
        source=(lookup.cite_key(HOUSE_SOURCE),),
        do="Read the safety data sheet, sections 2, 3 and 8, before it is opened; outdoors until then.",
        missing=(f"what is in {liquid_name}, and its exposure limit",),
        would_change="the exposure limit of its safety data sheet",
        about=situation.about,
    )


def _deciders(
    situation: Situation, sources: list[Source], ratio: Callable[[dict[str, Breathed]], Band | None]
) -> tuple[str, ...]:
    """What would decide a band that straddles its limit, the strongest input first.

    The source is fixed at its centre: if the band no longer straddles, a weigh-loss decides. Then
    the room is, as far as it is stated. What decides by itself stands first.
    """
    measured = all(s.measured for s in sources)
    room = room_deciders(situation.air)
    scale = () if measured else ("a weigh-loss of the wet piece (grams lost over minutes)",)
    area = () if measured or situation.open_area else ("the open area of pot and pieces",)

    def decides(kept: list[Source], air: Air | None) -> bool:
        again = ratio({s.substance: breathed(s, air, situation.stay) for s in kept})
        return again is not None and compare(again) is not Finding.STRADDLES

    if scale and decides([at_centre(s) for s in sources], situation.air):
        return (*scale, *area, *room)
    if room and situation.air and decides(sources, room_at_centre(situation.air)):
        return (*room, *scale, *area)
    return (*room, *scale, *area) or ("a measurement of the air itself (badge or detector tube)",)


def _find_out(missing: tuple[str, ...]) -> str:
    """What to find out before it is opened, named there; where nothing is missing, what else to do.

    >>> _find_out(("the air changes of the room, more closely", "a weigh-loss"))
    'Before it is opened, work outdoors or find out: the air changes of the room, more closely; a weigh-loss.'
    """
    if not missing:
        return "Before it is opened, work outdoors, or take less of it."
    return f"Before it is opened, work outdoors or find out: {'; '.join(missing)}."


def _advice(situation: Situation, sources: list[Source], airs: dict[str, Breathed]) -> str:
    """Ventilation and waiting time for the chosen share of the day's limit."""
    share = situation.target_share
    need = 0.0
    for s in sources:
        limit = limits_of(situation, s.substance, "day").strictest
        if limit is not None:
            escapes = s.mass * left_by_exhaust(situation.air).high
            need += flow_needed_for_dose(escapes, limit.value, DAY, share=share)
    parts: list[str] = []
    flows = flows_of(situation.air)
    if need > 0.0:
        text = f"{plain(need * 3600)} m³/h of fresh air keeps the room's day below {units.per_cent(share)} of the limit"
        if 0.0 < flows.volume < math.inf:
            text += f" ({plain(need * 3600 / flows.volume)} air changes an hour)"
        parts.append(text)
    airing = flows.low or flows.high  # the least that is known, else the most a closed room has
    if 0.0 < airing < math.inf:
        waits = [
            purge_time(air.far_peak.high, share * limit.value, airing, flows.volume)
            for name, air in airs.items()
            if (limit := limits_of(situation, name, "day").strictest)
            and 0.0 < air.far_peak.high < math.inf
        ]
        if waits and max(waits) > 0.0:
            parts.append(f"after drying stay out for {plain(max(waits) / 3600)} h of airing")
    return "; ".join(parts)


def _burn_share(
    situation: Situation, airs: dict[str, Breathed]
) -> tuple[Band, lookup.Figure] | None:
    """Near-field vapour in units of the lower flammable limit of the mixture; None: no figure."""
    # judgement: a room of 25 degC
    temperature = situation.air.temperature if situation.air else 298.15
    lows: list[float] = []
    highs: list[float] = []
    limits: list[lookup.Figure] = []
    for name, air in airs.items():
        molar_mass, lower = lookup.molar_mass(name), fire_of(situation, name).lower
        if molar_mass is None or lower is None:
            return None
        lows.append(mole_fraction(air.instant.low, molar_mass, temperature))
        bounded = math.isfinite(air.instant.high)
        highs.append(
            mole_fraction(air.instant.high, molar_mass, temperature) if bounded else math.inf
        )
        limits.append(lower)
    if sum(highs) <= 0.0:
        return None
    strict = min(limits, key=lambda f: f.value)
    known = math.isfinite(sum(highs))
    mixed = mixture_lower_limit(highs, [f.value for f in limits]) if known else strict.value
    return Band(sum(lows), sum(highs)).over(mixed), strict


def _alike(kind: str) -> str:
    """The kind over which a limit is compared: one to escape by is held against the peak.

    >>> _alike("escape"), _alike("day")
    ('instant', 'day')
    """
    return "instant" if kind == "escape" else kind


def _amount(worst: _Kind, sums: list[_Kind], airs: dict[str, Breathed]) -> str:
    """What is breathed, for people: ppm of a single vapour, per cent of the limit of a mixture.

    Whichever limit leads, the quarter hour and the peak stand in this order, so that one line can be
    read beside the next; the mean of the day follows where its limit leads.
    """
    kinds = ["quarter hour", "instant", *(["day"] if worst.kind == "day" else [])]
    mass = lookup.molar_mass(next(iter(airs)))
    if len(airs) > 1 or mass is None:
        told = {kind: [s for s in sums if _alike(s.kind) == kind] for kind in kinds}
        return ", ".join(
            f"{per_cent(_worst(told[kind]).ratio)} of the mixture {_OVER[kind]}"
            for kind in kinds
            if told[kind]
        )

    def ppm(kind: str) -> str:
        band = _band(next(iter(airs.values())), kind)
        high = mole_fraction(band.high, mass) if math.isfinite(band.high) else math.inf
        low = mole_fraction(band.low, mass)
        return f"{span(Band(1e6 * low, 1e6 * high), 'ppm')} {_OVER[kind]}"

    return ", ".join(map(ppm, kinds))


def _limit_words(shown: str) -> str:
    """A limit for people: advised by a body, or law.

    >>> _limit_words("250 ppm over 10 h, NIOSH REL"), _limit_words("1000 ppm over 8 h, OSHA PEL")
    ('advised limit of 250 ppm over 10 h (NIOSH REL)', 'legal limit of 1000 ppm over 8 h (OSHA PEL)')
    """
    figure, _, body = shown.rpartition(", ")
    for whose, bodies in (("advised ", _ADVISED), ("legal ", _LAW)):
        if body.startswith(bodies):
            return f"{whose}limit of {figure} ({body})"
    return f"limit of {figure} ({body})"


def _bound_alone(situation: Situation, finding: Finding, band: Band) -> bool:
    """True where a lower end is all there is, as nobody said which room it is."""
    no_room = math.isnan(flows_of(situation.air).volume)
    return finding is Finding.STRADDLES and no_room and math.isinf(band.high)


def _weighed(sources: list[Source], area: float | None = None) -> str:
    """The amounts that the figures are for: "4.1 g of ethanol, 0.5 g of acetone over 36 cm²"."""
    named = ", ".join(f"{plain(1e3 * one.mass)} g of {one.substance}" for one in sources)
    weighed = any(one.measured for one in sources)
    return named if area is None or weighed else f"{named} over {plain(1e4 * area)} cm²"


def _breathed_caution(
    situation: Situation, sources: list[Source], airs: dict[str, Breathed]
) -> Caution | None:
    published, strict = _sums(situation, airs, memory=False), _sums(situation, airs, memory=True)
    if not strict:
        return None
    from_memory = not published or (
        _HARDER[compare(_worst(strict).ratio)] > _HARDER[compare(_worst(published).ratio)]
    )
    sums = strict if from_memory else published
    worst = _worst(sums)
    finding = compare(worst.ratio)
    level = level_of(finding, published=not from_memory)
    straddles = finding is Finding.STRADDLES
    figures = [g.strictest if from_memory else g.published for g in worst.limits]
    kept = [f for f in figures if f is not None]
    burn = _burn_share(situation, airs)
    fire_text = (
        f"; {per_cent(burn[0])} of the lower flammable limit, {burn[1].shown}"
        if burn
        else "; no flammable limit on file"
    )
    names = _weighed(sources, situation.open_area)
    said = {
        Finding.ABOVE: "above",
        Finding.BELOW: "below",
        Finding.STRADDLES: "cannot tell if above",
    }
    advice = _advice(situation, sources, airs) if level is not CautionLevel.NOTE else ""
    mask = f" {_MASK}" if level is not CautionLevel.NOTE else ""
    rooms = flows_of(situation.air)
    amount = _amount(worst, sums, airs)

    def health(air: dict[str, Breathed]) -> Band:
        return _worst(_sums(situation, air, memory=from_memory)).ratio

    missing = _deciders(situation, sources, health) if straddles else ()
    found = f"{said[finding]} the limit, {amount}"
    against = ", against the peak" if _alike(worst.kind) == "instant" else ""
    spread = not sources[0].measured and situation.open_area is None
    tail = "; the open area is not known" if spread else ""
    if _bound_alone(situation, finding, worst.ratio):
        found, tail = _NO_ROOM, ""
    act = {
        CautionLevel.STOP: "Do not do this here. Outdoors, or less of it, or another solvent.",
        CautionLevel.FIRST: _find_out(missing),
        CautionLevel.NOTE: "Keep the airing as it is stated.",
    }[level]
    return Caution(
        key="vapour.breathed",
        level=level,
        hazard="vapour breathed",
        headline=f"{names}: {found}; {' + '.join(_limit_words(f.shown) for f in kept)}{against}{tail}",
        finding=finding,
        figure=f"{amount} from {names}, {per_cent(worst.ratio)} of the health limit{fire_text}",
        limit="; ".join(f.shown for f in kept),
        basis=f"source: {sources[0].how}; room: {rooms.how}{exhaust_words(situation.air)}; near field and far field, half to "
        "double for the agreement of such models with measurements; these assumptions hold the answer",
        source=tuple(dict.fromkeys([*(f.source for f in kept), *([burn[1].source] if burn else []),
                                    lookup.cite_key("ist_two_zone")])),
        unverified=from_memory,
        do=f"{act}{' ' + advice[0].upper() + advice[1:] + '.' if advice else ''}{mask}",
        missing=missing,
        would_change="a weigh-loss, the air changes, the amount"
        if not sources[0].measured
        else "the air changes, the amount",
        about=situation.about,
    )  # fmt: skip


def _vapour_fire(
    situation: Situation, sources: list[Source], airs: dict[str, Breathed]
) -> Caution | None:
    alarm = lookup.rule("flammable_limit_alarm_share", "rule=hazardous atmosphere")
    stop = lookup.rule("flammable_limit_alarm_share", "rule=vapour area")
    burn = _burn_share(situation, airs)
    if burn is None or alarm is None or stop is None or burn[0].high < alarm.value:
        return None
    finding = compare(burn[0].over(stop.value))
    level = level_of(finding, published=burn[1].published and stop.published)
    level = CautionLevel.FIRST if level is CautionLevel.NOTE else level
    share = stop.value

    def fire(air: dict[str, Breathed]) -> Band | None:
        again = _burn_share(situation, air)
        return again[0].over(share) if again else None

    near = f"{per_cent(burn[0])} of the lower flammable limit near the wet thing"
    if _bound_alone(situation, finding, burn[0]):
        near = f"{_NO_ROOM}; near the wet thing it may burn"
    return Caution(
        key="vapour.fire",
        level=level,
        hazard="flammable vapour",
        headline=f"{_weighed(sources, situation.open_area)}: {near}",
        finding=finding,
        figure=f"{per_cent(burn[0])} of the lower flammable limit",
        limit=f"{units.per_cent(alarm.value)} alarm, {units.per_cent(stop.value)} stop, of {burn[1].shown}",
        basis="the same air as for breathing, at its peak, near field",
        source=(burn[1].source, stop.source, alarm.source),
        do="No flame, spark, switch, heater or motor in the room, or do it outdoors with less. Solvent "
        "vapour sinks: air low. Fresh air for breathing is far more than for fire.",
        missing=_deciders(situation, sources, fire) if finding is Finding.STRADDLES else (),
        would_change="a weigh-loss, the air changes, the amount",
        about=situation.about,
    )


def vapour_cautions(situation: Situation) -> list[Caution]:
    """What open liquids do to the air: breathed, and burning in the room.

    Parameters
    ----------
    situation : Situation
        What is about to be done.

    Returns
    -------
    list of Caution
        Empty where nothing but water is open.
    """
    found: list[Caution | None] = []
    for liquid, name in organic_liquids(situation):
        kinds = [limits_of(situation, name, kind) for kind in _KINDS] if name else []
        if name is None or not any(g.strictest for g in kinds):
            found.append(_no_limit(situation, liquid.name, name or ""))
        if name is not None and not liquid.mass:
            found.append(_no_amount(situation, liquid.name))
    sources = sources_of(situation)
    airs = {s.substance: breathed(s, situation.air, situation.stay) for s in sources}
    if airs:
        found.append(_breathed_caution(situation, sources, airs))
        found.append(_vapour_fire(situation, sources, airs))
    return [c for c in found if c is not None]


def _no_amount(situation: Situation, name: str) -> Caution:
    return Caution(
        key=f"vapour.no-amount.{name}",
        level=CautionLevel.FIRST,
        hazard="vapour breathed",
        headline=f"{name}: cannot tell, its amount is missing",
        finding=Finding.STRADDLES,
        figure="amount not known",
        basis="what is breathed follows from the mass that evaporates",
        source=(lookup.cite_key(HOUSE_SOURCE),),
        do="Write down how much goes into the pot before it is opened.",
        missing=(f"the amount of {name}",),
        would_change="the amount",
        about=situation.about,
    )
