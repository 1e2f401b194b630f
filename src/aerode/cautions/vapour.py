"""Vapour in the room: what is breathed, and what could burn. Health limit and fire limit always both."""

from __future__ import annotations

import math
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
from aerode.cautions.finding_out import AIR_ITSELF, OPEN_AREA, WEIGH_LOSS, find_out, how_to_find_out
from aerode.cautions.fresh_air import airing_words, fresh_air_words
from aerode.cautions.policy import HOUSE_SOURCE, SMALL_ROOM
from aerode.cautions.rooms import (
    OPEN_AIR,
    exhaust_words,
    flows_of,
    room_at_centre,
    room_deciders,
)
from aerode.cautions.sheets import fire_of, limits_of
from aerode.cautions.situation import Air
from aerode.cautions.vapour_limits import (
    KINDS,
    Standing,
    alike,
    band_of,
    held_words,
    most_of,
    others_words,
    standing,
)
from aerode.physics.exposure import mole_fraction
from aerode.physics.flammability import mixture_lower_limit
from aerode.records.cautions import Caution, CautionLevel, Finding

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from aerode.cautions.situation import Situation
    from aerode.cautions.vapour_limits import Held

__all__ = ["vapour_cautions"]

_NO_MASK = "A mask with a cartridge does not make it fit to go on with."
_MASK = (
    "An organic-vapour cartridge holds back vapour for a while and does nothing for dust or lack of "
    "oxygen; it does not make this exposure fit to go on with."
)
_OVER = {
    "day": "as the mean of 8 h",
    "quarter hour": "as the mean of the worst 15 min",
    "instant": "at its peak",
}
"""What an amount is taken over, so that it is not read beside one that is taken over something else."""
_SHORT = {"day": "over 8 h", "quarter hour": "over 15 min", "instant": "at its peak"}
"""The same in a line that tells the high ends alone."""
_NO_ROOM = "cannot be told, as the room is not entered"
_SHUT = Air(name="a small room", volume=SMALL_ROOM, air_changes=0.0)
"""What a room may be that nobody described."""


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
    scale = () if measured else (WEIGH_LOSS,)
    area = () if measured or situation.open_area else (OPEN_AREA,)

    def decides(kept: list[Source], air: Air | None) -> bool:
        again = ratio({s.substance: breathed(s, air, situation.stay) for s in kept})
        return again is not None and compare(again) is not Finding.STRADDLES

    if scale and decides([at_centre(s) for s in sources], situation.air):
        return (*scale, *area, *room)
    if room and situation.air and decides(sources, room_at_centre(situation.air)):
        return (*room, *scale, *area)
    return (*room, *scale, *area) or (AIR_ITSELF,)


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


def _amount(stands: Standing, airs: dict[str, Breathed], *, most: bool = False) -> str:
    """What is breathed, for people: ppm of a single vapour, per cent of the limit of a mixture.

    Whichever limit leads, the quarter hour and the peak stand in this order, so that one line can be
    read beside the next; the mean of 8 h follows where its limit leads. `most`: the high ends alone.
    """
    days = any(one.kind == "day" for one in stands.named)
    kinds = ["quarter hour", "instant", *(["day"] if days else [])]
    mass = lookup.molar_mass(next(iter(airs)))
    over = _SHORT if most else _OVER
    if len(airs) > 1 or mass is None:
        told = {kind: [s for s in stands.every if alike(s.kind) == kind] for kind in kinds}
        return ", ".join(
            f"{per_cent(_high(most_of(told[kind]).ratio, most=most))} of the limit of the mixture {over[kind]}"
            for kind in kinds
            if told[kind]
        )

    def ppm(kind: str) -> str:
        band = _high(band_of(next(iter(airs.values())), kind), most=most)
        high = mole_fraction(band.high, mass) if math.isfinite(band.high) else math.inf
        low = mole_fraction(band.low, mass)
        return f"{span(Band(1e6 * low, 1e6 * high), 'ppm')} {over[kind]}"

    return ", ".join(map(ppm, kinds))


def _high(band: Band, *, most: bool) -> Band:
    """The band, or its high end alone."""
    return Band(band.high, band.high) if most else band


def _in_a_shut_room(situation: Situation, sources: list[Source]) -> dict[str, Breathed]:
    """What is breathed where nobody said which room it is, told of a small one with everything shut."""
    return {s.substance: breathed(s, _SHUT, situation.stay) for s in sources}


def _bound_alone(situation: Situation, finding: Finding, band: Band) -> bool:
    """True where a lower end is all there is, as nobody said which room it is."""
    no_room = math.isnan(flows_of(situation.air).volume)
    return finding is Finding.STRADDLES and no_room and math.isinf(band.high)


def _weighed(sources: list[Source], area: float | None = None) -> str:
    """The amounts that the figures are for: "4.1 g of ethanol, 0.5 g of acetone over 36 cm²"."""
    named = ", ".join(f"{plain(1e3 * one.mass)} g of {one.substance}" for one in sources)
    weighed = any(one.measured for one in sources)
    return named if area is None or weighed else f"{named} over {plain(1e4 * area)} cm²"


def _said(stands: Standing, amount: str, *, several: bool) -> str:
    """What is breathed beside the limits that lead, as a sentence without its subject and point."""
    its = "their" if several else "its"
    limits = _listed(stands.named)
    if stands.finding is Finding.BELOW:
        most = per_cent(_high(stands.worst.ratio, most=True))
        return (
            f"{its} vapour is reckoned below every limit on file, with {amount}; the nearest, reached to {most} at "
            f"most, is {limits}"
        )
    if stands.finding is Finding.STRADDLES:
        return f"whether {its} vapour stays below {limits} cannot be told, with {amount}"
    above = [one for one in stands.named if compare(one.ratio) is Finding.ABOVE]
    may = [one for one in stands.named if one not in above]
    acts = [f"may pass {_listed(may)}"] if may else []
    acts.insert(0 if stands.dangerous in above else len(acts), f"is above {_listed(above)}")
    return f"{its} vapour {', and '.join(acts)}, with {amount}"


def _listed(held: Sequence[Held]) -> str:
    """Limits for people: "the level dangerous at once of ... and the legal limit of ..."."""
    return " and ".join(f"the {held_words(one)}" for one in held)


def _said_without_a_room(amount: str, limits: str) -> str:
    """The same where nobody said which room it is: what it may come to in a small one."""
    return (
        f"what is breathed {_NO_ROOM}; in a shut room of {SMALL_ROOM:g} m³ it may be up to {amount}, beside "
        f"{limits}"
    )


def _advice(
    situation: Situation, sources: list[Source], airs: dict[str, Breathed], told: Standing,
    missing: tuple[str, ...],
) -> tuple[str, str]:  # fmt: skip
    """Ventilation, waiting time and that a mask is no way, each with its limit; then how, and the rest."""
    lead, others = fresh_air_words(situation, sources)
    acts = (lead, airing_words(situation, airs), _NO_MASK)
    rest = (others_words(told), how_to_find_out(missing), others, _MASK)
    return " ".join(one for one in acts if one), " ".join(one for one in rest if one)


def _breathed_caution(
    situation: Situation, sources: list[Source], airs: dict[str, Breathed]
) -> Caution | None:
    stands = standing(situation, airs)
    if stands is None:
        return None
    finding, level = stands.finding, stands.level
    no_room = _bound_alone(situation, finding, stands.worst.ratio)
    shown = _in_a_shut_room(situation, sources) if no_room else airs
    told = (standing(situation, shown, stops=False) if no_room else None) or stands
    named = (
        tuple(dict.fromkeys((told.dangerous or told.worst, told.worst))) if no_room else told.named
    )
    kept = list(dict.fromkeys(f for one in named for f in one.figures))
    unverified = level is not CautionLevel.STOP and not all(one.published for one in named)
    burn = _burn_share(situation, shown)
    up_to = "up to " if no_room else ""
    fire_text = (
        f"; {up_to}{per_cent(_high(burn[0], most=no_room))} of the lower flammable limit, {burn[1].shown}"
        if burn
        else "; no flammable limit on file"
    )
    names = _weighed(sources, situation.open_area)
    amount = _amount(told, shown, most=no_room)

    def health(air: dict[str, Breathed]) -> Band | None:
        again = standing(situation, air)
        return again and again.lead.ratio

    missing = _deciders(situation, sources, health) if finding is Finding.STRADDLES else ()
    said = (
        _said_without_a_room(amount, _listed(named))
        if no_room
        else _said(told, amount, several=len(sources) > 1)
    )
    share = _high(told.worst.ratio, most=no_room)
    spread = not sources[0].measured and situation.open_area is None
    outdoors = situation.air is not None and situation.air.airing == OPEN_AIR
    act = {
        CautionLevel.STOP: "Do not do this here. Outdoors, or less of it, or another solvent.",
        CautionLevel.FIRST: find_out(missing, outdoors=outdoors),
        CautionLevel.NOTE: "Keep the airing as it is stated.",
    }[level]
    advice, further = ("", "") if level is CautionLevel.NOTE else _advice(situation, sources, airs, told, missing)  # fmt: skip
    place = f" in a shut room of {SMALL_ROOM:g} m³" if no_room else ""
    return Caution(
        key="vapour.breathed",
        level=level,
        hazard="vapour breathed",
        headline=f"{names}: {said}{'; wet area unknown: all at once is counted' if spread else ''}",
        finding=finding,
        figure=f"{up_to}{amount}{place} from {names}, {up_to}{per_cent(share)} of the health limit{fire_text}",
        limit="; ".join(f.shown for f in kept),
        basis=f"source: {sources[0].how}; room: {flows_of(situation.air).how}{exhaust_words(situation.air)}; near field and far field, half to "
        "double for the agreement of such models with measurements; these assumptions hold the answer",
        source=tuple(dict.fromkeys([*(f.source for f in kept), *([burn[1].source] if burn else []),
                                    lookup.cite_key("ist_two_zone")])),
        unverified=unverified,
        do=f"{act} {advice}".strip(),
        further=further,
        missing=missing,
        share=share.high if math.isfinite(share.high) else None,
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

    told = burn[0]
    share_said = f"{per_cent(told)} of the lower flammable limit"
    near = f"{share_said} near the wet thing"
    if _bound_alone(situation, finding, burn[0]):
        shut = _burn_share(situation, _in_a_shut_room(situation, sources)) or burn
        told = shut[0]
        share_said = f"up to {per_cent(_high(told, most=True))} of the lower flammable limit in a shut room of {SMALL_ROOM:g} m³"
        near = f"whether its vapour can burn near the wet thing {_NO_ROOM}; {share_said}"
    return Caution(
        key="vapour.fire",
        level=level,
        hazard="flammable vapour",
        headline=f"{_weighed(sources, situation.open_area)}: {near}",
        finding=finding,
        figure=share_said,
        share=told.high / share if math.isfinite(told.high) else None,
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
        kinds = [limits_of(situation, name, kind) for kind in KINDS] if name else []
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
        headline=f"{name}: what is breathed cannot be told, as its amount is missing",
        finding=Finding.STRADDLES,
        figure="amount not known",
        basis="what is breathed follows from the mass that evaporates",
        source=(lookup.cite_key(HOUSE_SOURCE),),
        do="Before it is opened, write down how much goes into the pot: weigh the closed bottle, pour, weigh it again.",
        missing=(f"the amount of {name}",),
        would_change="the amount",
        about=situation.about,
    )
