"""Heating a coated piece: dry enough, flash in a closed space, plates, ovens, and the polymers."""

from __future__ import annotations

from dataclasses import replace

from aerode import units
from aerode.cautions import lookup
from aerode.cautions.comparing import Band, compare, level_of
from aerode.cautions.heated import as_done, minutes_apart
from aerode.cautions.policy import (
    COLD_PLATE_MARGIN,
    CONSTANT_WEIGHT_INTERVAL,
    CONSTANT_WEIGHT_PER_AREA,
    CONSTANT_WEIGHT_SHARE,
    HOT_TO_TOUCH,
    HOUSE_SOURCE,
)
from aerode.cautions.polymers import lowest_line, polymer_cautions
from aerode.cautions.sheets import fire_of, name_of
from aerode.cautions.situation import Heating, Situation
from aerode.cautions.waits import later
from aerode.physics.flammability import flash_share, lower_limit_at
from aerode.physics.heat_gates import Dryness, dry_enough, surface_ceiling
from aerode.physics.water import ZERO_CELSIUS
from aerode.records.cautions import Caution, CautionLevel, Finding

__all__ = ["heating_cautions"]


def _celsius(kelvin: float) -> str:
    return f"{kelvin - ZERO_CELSIUS:.0f} °C"


def _is_cold(situation: Situation, heating: Heating) -> bool:
    room = situation.air.temperature if situation.air else 298.15  # judgement: a room of 25 degC
    plate = heating.plate_temperature
    return plate is not None and plate <= room + COLD_PLATE_MARGIN


def _solvents(situation: Situation, heating: Heating) -> list[str]:
    """What the coat was wet with, but water: the name on file, else the name as it was typed."""
    named = [name_of(situation, s, s) or s or "a liquid" for s in heating.last_solvents]
    return [n for n in dict.fromkeys(named) if n != "water"]


def _dryness(heating: Heating) -> tuple[Dryness, str]:
    w = heating.weighings
    if w is None:
        return Dryness.CANNOT_TELL, f"two weighings of the piece, {minutes_apart(heating)}"
    dry, why = dry_enough(
        w.first, w.second, w.interval, minimum_interval=CONSTANT_WEIGHT_INTERVAL,
        relative_change=CONSTANT_WEIGHT_SHARE, mass_per_area=CONSTANT_WEIGHT_PER_AREA,
        coating=w.coating, area=w.area, resolution=w.resolution,
    )  # fmt: skip
    return dry, why.replace(*later(heating.wait))


def _change(lost: float) -> str:
    """A change of mass [kg] for people: milligrams up to a gram."""
    word = "gained" if lost < 0.0 else "lost"
    grams = abs(lost) >= 1e-3  # kg, judgement: where grams read better
    shown = f"{1e3 * abs(lost):.3g} g" if grams else f"{1e6 * abs(lost):.3g} mg"
    return f"{shown} {word}"


def _cited(appliance: str) -> tuple[str, ...]:
    """The source of the remark on an appliance, empty where there is none on file."""
    row = lookup.remark("constant", appliance)
    return () if row is None else (lookup.cite(row),)


def _over(heating: Heating) -> str:
    """Over what time the change counts: the rule's, or between weighings as far apart as this scale needs."""
    shortest = CONSTANT_WEIGHT_INTERVAL / 60
    longer = heating.wait is not None and heating.wait > shortest
    return f"between weighings {minutes_apart(heating)}" if longer else f"in {shortest:g} min"


def _dry_caution(situation: Situation, heating: Heating) -> Caution:
    dry, why = _dryness(heating)
    w = heating.weighings
    level = {
        Dryness.DRY: CautionLevel.NOTE,
        Dryness.WET: CautionLevel.STOP,
        Dryness.CANNOT_TELL: CautionLevel.FIRST,
    }[dry]
    finding = {
        Dryness.DRY: Finding.BELOW,
        Dryness.WET: Finding.ABOVE,
        Dryness.CANNOT_TELL: Finding.STRADDLES,
    }[dry]
    figure = (
        "not weighed twice"
        if w is None
        else f"{_change(w.first - w.second)} in {w.interval / 60:.3g} min"
        + (f", a piece ({w.pieces} weighed together)" if w.pieces > 1 else "")
        + (
            f", on a scale with steps of {1e3 * w.resolution * w.pieces:g} g"
            if dry is Dryness.CANNOT_TELL
            else ""
        )
    )
    act = {
        Dryness.DRY: "Heat it soon. Weigh it twice again if it was left in a damp or solvent-laden place.",
        Dryness.WET: "Do not heat it. Dry it at room temperature and weigh it twice again.",
        Dryness.CANNOT_TELL: f"Do not heat it yet: weigh it twice, {minutes_apart(heating)} or more."
        if w is None
        else f"Do not heat it yet. What settles it: {why}.",
    }[dry]
    told = {
        Dryness.DRY: "the weight of the coat is constant",
        Dryness.WET: "the coat is still losing weight",
        Dryness.CANNOT_TELL: "whether the coat is dry cannot be told yet",
    }[dry]
    return Caution(
        key=f"heat.dry.{heating.name}",
        level=level,
        hazard="dry enough",
        headline=f"{heating.name}: {told}"
        if w is not None
        else f"{heating.name}: nobody knows yet whether the coat is dry",
        finding=finding,
        figure=figure,
        limit=f"{units.per_cent(CONSTANT_WEIGHT_SHARE)} of the coating or {100 * CONSTANT_WEIGHT_PER_AREA:g} mg/cm² "
        f"{_over(heating)}",
        basis="constant weight as a house rule; a skin on the coat can lock solvent in all the same"
        + ("; taken that all pieces on the scale dry alike" if w and w.pieces > 1 else ""),
        source=(lookup.cite_key(HOUSE_SOURCE), *_cited("unvented oven")),
        do=act,
        missing=(why,) if dry is Dryness.CANNOT_TELL else (),
        would_change="a later pair of weighings",
        about=situation.about,
    )


def _flash_of(
    situation: Situation, heating: Heating, name: str, temperature: float
) -> tuple[float, lookup.Figure, float] | None:
    """Share of vapour over the warm lower limit for one solvent: (ratio, limit, warm limit)."""
    limit, mass = fire_of(situation, name).lower, lookup.molar_mass(name)
    slope = lookup.rule("flammable_limit_temperature_slope", "line=gates")
    if (limit is None or mass is None or slope is None or heating.retained_solvent is None
            or heating.closed_volume is None):  # fmt: skip
        return None
    warm = lower_limit_at(limit.value, temperature, slope.value)
    share = flash_share(heating.retained_solvent, mass, temperature, heating.closed_volume)
    return share / warm, limit, warm


def _flash_caution(situation: Situation, heating: Heating, names: list[str]) -> Caution | None:
    """The vapour budget of a closed space against the warm lower limit."""
    if heating.closed_volume is None or heating.plate_temperature is None:
        return None
    if heating.retained_solvent is None:
        if _dryness(heating)[0] is Dryness.DRY:
            return None
        return _flash_unknown(situation, heating, "the solvent still in the coat")
    found = [
        (n, f) for n in names if (f := _flash_of(situation, heating, n, heating.plate_temperature))
    ]
    unknown = "the lower flammable limit of what it was wet with"
    if not found:
        return _flash_unknown(situation, heating, unknown)
    alarm = lookup.rule("flammable_limit_alarm_share", "rule=hazardous atmosphere")
    stop = lookup.rule("flammable_limit_alarm_share", "rule=oven exhaust")
    slope = lookup.rule("flammable_limit_temperature_slope", "line=gates")
    if alarm is None or stop is None or slope is None:
        return _flash_unknown(situation, heating, "the share of the limit at which to stop")
    name, (ratio, limit, warm) = max(found, key=lambda item: item[1][0])
    if len(found) < len(names) and ratio <= stop.value:  # the rest is no pass, whatever this one is
        return _flash_unknown(situation, heating, unknown)
    if ratio < alarm.value:
        return None
    finding = compare(Band(ratio, ratio).over(stop.value))
    level = level_of(finding, published=limit.published and stop.published and slope.published)
    level = CautionLevel.FIRST if level is CautionLevel.NOTE else level
    return Caution(
        key=f"heat.flash.{heating.name}",
        level=level,
        hazard="flash in the closed space",
        headline=f"{name}: all at once it makes {units.per_cent(ratio * warm)} of vapour, {units.plain(ratio)} times "
        "what can burn",
        finding=finding,
        figure=f"{units.per_cent(ratio * warm, 3)} by volume, {units.plain(ratio, 3)} times the lower limit",
        limit=f"{units.per_cent(warm, 3)} at {_celsius(heating.plate_temperature)} ({limit.shown} at 25 °C); "
        f"stop at {units.per_cent(stop.value)} of it",
        basis=f"{1e3 * heating.retained_solvent:.3g} g flashed into "
        f"{1e3 * heating.closed_volume:.3g} L, none of it leaving; the limit falls with temperature",
        source=(limit.source, slope.source, stop.source),
        do="Do not heat it in there. Dry it to constant weight in moving air first.",
        would_change="the mass of solvent still in the coat, the free volume, a vented oven",
        about=situation.about,
    )


def _flash_unknown(situation: Situation, heating: Heating, missing: str) -> Caution:
    plate = heating.plate_temperature
    return Caution(
        key=f"heat.flash.{heating.name}",
        level=CautionLevel.FIRST,
        hazard="flash in the closed space",
        headline=f"{heating.name}: whether the vapour in it could burn cannot be told",
        finding=Finding.NO_FIGURE,
        figure="no figure on file" + (f"; plates at {_celsius(plate)}" if plate else ""),
        basis="a closed space with a coat that may be wet",
        source=(lookup.cite_key(HOUSE_SOURCE),),
        do="Dry it to constant weight in moving air before it goes in.",
        missing=(missing,),
        would_change=missing,
        about=situation.about,
    )


def _plate_caution(situation: Situation, heating: Heating, name: str) -> Caution | None:
    """The plate against the temperature at which the vapour lights itself."""
    plate = heating.plate_temperature
    if plate is None:
        return None
    lights = fire_of(situation, name).autoignition
    share = lookup.rule("autoignition_surface_share", "explosive atmosphere")
    margin = lookup.rule("heat_margin", "heated dip liquid below the autoignition temperature")
    if lights is None or share is None:
        return Caution(
            key=f"heat.plate.{heating.name}.{name}",
            level=CautionLevel.FIRST,
            hazard="ignition by the plate",
            headline=f"{name}: at what temperature it lights itself is not on file",
            finding=Finding.NO_FIGURE,
            figure=_celsius(plate),
            limit="none on file",
            source=(lookup.cite_key(HOUSE_SOURCE),),
            do="Look up the autoignition temperature in the safety data sheet before the plates are hot.",
            missing=(f"the autoignition temperature of {name}",),
            would_change="its autoignition temperature",
            about=situation.about,
        )
    distance = margin.value if margin else None
    ceiling, ignition = surface_ceiling(lights.value, share=share.value, margin=distance)
    if plate < ceiling:
        return None
    published = lights.published and share.published
    rule = f"{units.per_cent(share.value)} of {lights.shown}"
    if (
        distance is not None and ceiling >= lights.value - distance
    ):  # the margin is the stricter one
        rule = f"{distance:.0f} K below {lights.shown}"
    return Caution(
        key=f"heat.plate.{heating.name}.{name}",
        level=CautionLevel.STOP if published else CautionLevel.FIRST,
        hazard="ignition by the plate",
        headline=f"{name} lights itself at {_celsius(ignition)}; the plates are at {_celsius(plate)}",
        finding=Finding.ABOVE,
        figure=_celsius(plate),
        limit=f"{_celsius(ceiling)}: {rule}",
        basis="a hot surface lights vapour without a spark; the coat was wet with it last",
        source=(lights.source, share.source),
        unverified=not published,
        do=_cooler(situation, ceiling),
        would_change="cooler plates, another last solvent",
        about=situation.about,
    )


def _cooler(situation: Situation, ceiling: float) -> str:
    """How cool the plates have to be: one temperature for all that is in the piece, the lowest."""
    named, lowest = lowest_line(situation) or ("", ceiling)
    line = min(ceiling, lowest)
    why = f" (for {named})" if lowest < ceiling else ""
    return f"Keep the plates below {_celsius(line)}{why}, whatever the weighings say: a skin locks solvent in."


def _appliance_caution(situation: Situation, heating: Heating) -> Caution | None:
    if heating.appliance not in {"household oven", "heat gun"}:
        return None
    oven = heating.appliance == "household oven"
    row = lookup.remark("constant", heating.appliance)
    return Caution(
        key=f"heat.appliance.{heating.name}",
        level=CautionLevel.STOP if oven else CautionLevel.FIRST,
        hazard="household oven" if oven else "heat gun",
        headline=f"{heating.name}: a {heating.appliance} must not see a coat that was wet with an organic liquid",
        figure=_celsius(heating.plate_temperature) if heating.plate_temperature else "",
        basis=row.note if row is not None else "a source of ignition beside vapour",
        source=_cited(heating.appliance) or (lookup.cite_key(HOUSE_SOURCE),),
        do="Use plates in moving air, or an oven made and vented for solvents.",
        would_change="another appliance",
        about=situation.about,
    )


def _no_temperature(situation: Situation, heating: Heating) -> Caution:
    return Caution(
        key=f"heat.plate.{heating.name}",
        level=CautionLevel.FIRST,
        hazard="heat",
        headline=f"{heating.name}: what the heat does cannot be told, as how hot it gets is missing",
        finding=Finding.STRADDLES,
        figure="plate temperature not known",
        basis="every gate on heat compares with the plate",
        source=(lookup.cite_key(HOUSE_SOURCE),),
        do="Measure the plate itself, with a probe between the closed plates, before anything wet or plastic goes under it.",
        missing=("the plate temperature",),
        would_change="the plate temperature",
        about=situation.about,
    )


def _to_the_hand(situation: Situation, heating: Heating) -> Caution | None:
    """That what was heated burns the hand, while it is pressed and long after; None once it is done."""
    plate = heating.plate_temperature
    if heating.done or (plate is not None and plate < HOT_TO_TOUCH):
        return None
    said = f"plates of {_celsius(plate)}" if plate is not None else "hot plates"
    return Caution(
        key=f"heat.touch.{heating.name}",
        level=CautionLevel.NOTE,
        hazard="burnt hands",
        headline=f"{heating.name}: {said} burn skin at a touch, and long after the heat is off",
        figure=_celsius(plate) if plate is not None else "",
        basis="thick metal gives its heat to the hand at once and cools slowly",
        source=(lookup.cite_key(HOUSE_SOURCE),),
        do="Heat gloves for both hands, and a place that stands heat, before it is switched on. It cools closed and watched; touch "
        f"nothing before it reads below {_celsius(HOT_TO_TOUCH)}. A burn: cool running water for 20 min, then a doctor.",
        would_change="cooler plates",
        about=situation.about,
    )


def _cold_press(situation: Situation, heating: Heating) -> Caution:
    return Caution(
        key=f"heat.cold.{heating.name}",
        level=CautionLevel.NOTE,
        hazard="heat",
        headline=f"{heating.name}: cold, as no plate temperature is entered",
        basis="a force, torque or firmness alone, and nothing that heats",
        source=(lookup.cite_key(HOUSE_SOURCE),),
        do="If it is to be heated, enter the plate temperature first and read what it says then.",
        would_change="a plate temperature, something that heats",
        about=situation.about,
    )


def heating_cautions(situation: Situation) -> list[Caution]:
    """Every caution on heating: the gates before heat, the appliance, the polymers.

    Parameters
    ----------
    situation : Situation
        What is about to be done.

    Returns
    -------
    list of Caution
        Of the hottest heating first, each with cautions of its own; what two of them would say in the
        same words stands once. Empty where nothing is heated; a plate at room temperature heats nothing.
    """
    found: list[tuple[float, Caution]] = []
    earlier: set[str] = set()
    for number, heating in enumerate(situation.heatings, start=1):
        said = [as_done(one, heating) for one in _of(situation, heating) if one is not None]
        plate = heating.plate_temperature or 0.0
        found += [(plate, _told_apart(one, number, earlier)) for one in said]
        earlier |= {one.key for one in said}
    found.sort(key=lambda pair: -pair[0])
    kept: list[Caution] = []
    for _, one in found:
        if not any(
            replace(one, key=other.key) == other or _of_the_piece(one, other) for other in kept
        ):
            kept.append(one)
    return kept


def _of_the_piece(one: Caution, other: Caution) -> bool:
    """Whether both say the same of the piece as it is now, whatever it was heated with."""
    told = (one.hazard, one.level, one.do, one.figure)
    return one.hazard == "dry enough" and told == (
        other.hazard,
        other.level,
        other.do,
        other.figure,
    )


def _told_apart(caution: Caution, number: int, earlier: set[str]) -> Caution:
    """Under a key of its own where an earlier heating speaks of the same thing: each heating is heard."""
    return replace(caution, key=f"{caution.key}.{number}") if caution.key in earlier else caution


def _of(situation: Situation, heating: Heating) -> list[Caution | None]:
    """What one heating asks, as before the act."""
    if _is_cold(situation, heating):
        return []
    if heating.cold and heating.plate_temperature is None:
        return [_cold_press(situation, heating)]
    found: list[Caution | None] = []
    if heating.plate_temperature is None:
        found.append(_no_temperature(situation, heating))
    solvents = _solvents(situation, heating)
    if solvents:
        found.append(_appliance_caution(situation, heating))
        found.append(_dry_caution(situation, heating))
        found.append(_flash_caution(situation, heating, solvents))
        found += [_plate_caution(situation, heating, name) for name in solvents]
    return [*found, *polymer_cautions(situation, heating), _to_the_hand(situation, heating)]
