"""Powders: dust in the room, oxidiser beside fuel, what comes out of old cells, ammonia with lye."""

from __future__ import annotations

import math

from aerode import units
from aerode.cautions import lookup
from aerode.cautions.comparing import Band, compare, per_cent
from aerode.cautions.limits import DAY, governing, limit_words
from aerode.cautions.policy import HOUSE_SOURCE, LYES
from aerode.cautions.rooms import flows_of
from aerode.cautions.sheets import limits_of
from aerode.cautions.situation import Powder, Situation
from aerode.records.cautions import Caution, CautionLevel, Finding
from aerode.reference.substances import substance

__all__ = ["lye_is_there", "powder_cautions"]

_UNLISTED = "particulates not otherwise regulated"
_MANGANESE = "manganese compounds"
_PASTE = "in recovered dry-cell paste"
_FUELS = {"carbon", "polymer", "wax"}
_SHARE_RAISED = "dust raised, share"


def _is_manganese(name: str) -> bool:
    return "manganese" in name


def lye_is_there(situation: Situation) -> bool:
    """True if a cell or a make-up of the situation holds sodium or potassium hydroxide."""
    salts = [cell.salt for cell in situation.cells] + [made.salt for made in situation.make_ups]
    return any(lookup.known_name(salt) in LYES for salt in salts)


def _dust_limit(
    situation: Situation, powder: Powder, name: str
) -> tuple[lookup.Figure | None, float]:
    """The strictest limit of a day for a powder and the share of its mass that the limit counts.

    A limit in a data sheet counts the whole powder, as nobody knows what its maker counted.
    """
    held, share = _limit_on_file(name)
    said = limits_of(situation, powder.substance or powder.name, "day")
    sheet = said.strictest
    if sheet is None or (held is not None and held.value / share <= sheet.value):
        return held, share
    return sheet, 1.0


def _limit_on_file(name: str) -> tuple[lookup.Figure | None, float]:
    if _is_manganese(name):
        share = lookup.rule("mass_fraction_of_manganese", "as MnO2")
        return governing(_MANGANESE, "day").strictest, share.value if share else 1.0
    own = governing(name, "day").strictest
    return own or governing(_UNLISTED, "day").strictest, 1.0


def _breathing_volume(situation: Situation) -> Band | None:
    """Air that dilutes a puff of dust over a day [m^3]: the room at least, its fresh air at most."""
    flows = flows_of(situation.air)
    if math.isnan(flows.volume) or math.isinf(flows.volume):
        return None
    return Band(max(flows.smallest, flows.low * DAY), max(flows.largest, flows.high * DAY))


def _dust_ratio(
    powders: list[tuple[Powder, str]], situation: Situation
) -> tuple[Band, lookup.Figure] | None:
    """A day's dust over its limits, summed, and the limit that counts most; None: cannot be worked out."""
    raised = lookup.rule_span("exposure_model_figure", _SHARE_RAISED)
    air = _breathing_volume(situation)
    if raised is None or air is None:
        return None
    low, high = 0.0, 0.0
    parts: list[tuple[float, lookup.Figure]] = []
    for powder, name in powders:
        limit, share = _dust_limit(situation, powder, name)
        if limit is None or powder.mass is None:
            return None
        load = share * powder.mass / limit.value
        low += raised[0].value * load / air.high
        high += raised[1].value * load / air.low
        parts.append((load, limit))
    return Band(low, high), max(parts, key=lambda part: part[0])[1]


def _dust(situation: Situation) -> Caution | None:
    powders = [
        (p, lookup.known_name(p.substance) or _UNLISTED) for p in situation.powders if p.loose
    ]
    if not powders:
        return None
    found = _dust_ratio(powders, situation)
    manganese = any(_is_manganese(name) for _, name in powders)
    finding = compare(found[0]) if found else Finding.NO_FIGURE
    missing: tuple[str, ...] = ()
    if found is None:
        missing = (
            tuple(f"the mass of {p.name}" for p, _ in powders if p.mass is None)
            or flows_of(situation.air).missing
        )
        # in the open air there is nothing to compare with, and the same advice holds
        finding = Finding.NO_FIGURE if missing else Finding.PLAIN
    elif finding is Finding.STRADDLES:
        missing = ("how much dust is raised (nobody knows; keep it wet)",)
    unknown = finding in {Finding.STRADDLES, Finding.NO_FIGURE}
    watched = situation.class_mode or situation.children
    first = unknown or watched or (found is None and manganese)
    names = ", ".join(p.name for p, _ in powders)
    nerves = lookup.remark(_MANGANESE, "health: nerves") if manganese else None
    together = "limits together, above all the " if len(powders) > 1 else ""
    said = (
        f"{names}: dry dust comes to {per_cent(found[0])} of the {together}{limit_words(found[1].shown)}"
        if found
        else f"{names}: dust"
    )
    return Caution(
        key="powder.dust",
        level=CautionLevel.FIRST if first else CautionLevel.NOTE,
        hazard="dust",
        headline=said + (f"; {nerves.note}" if nerves else ""),
        finding=finding,
        figure=f"{per_cent(found[0])} of the limit over a day" if found else "not worked out",
        limit=found[1].shown + (f" {found[1].note}" if found[1].note else "") if found else "",
        basis="a share of the powder between one in a hundred thousand and one in a hundred goes up "
        "(from memory), diluted in the room over a day; a puff over 15 min is not reckoned; conductive dust also shorts meters",
        source=tuple(
            s for s in (
                found[1].source if found else lookup.cite_key(HOUSE_SOURCE),
                lookup.cite(nerves) if nerves else "",
            ) if s
        ),
        unverified=True,
        do="Wet it in the jar before it is stirred. Wipe wet, never sweep or blow. A P3 or P100 filter "
        "stops particles and no vapour.",
        missing=missing,
        would_change="a wet paste instead of a dry powder, less of it, more air",
        about=situation.about,
    )  # fmt: skip


def _oxidiser(situation: Situation) -> Caution | None:
    oxidisers = [
        (p, row)
        for p in situation.powders
        if (p.loose or situation.heatings)
        and (name := lookup.known_name(p.substance)) is not None
        and (row := lookup.remark("manganese dioxide" if _is_manganese(name) else name, "oxidiser"))
    ]
    if not oxidisers:
        return None
    others = [lookup.known_name(p.substance) for p in situation.powders]
    kinds = {substance(n).kind for n in others if n}
    if situation.polymers:
        kinds.add("polymer")
    metal = "aluminium" in kinds
    if not metal and not kinds & _FUELS:
        return None
    row = oxidisers[0][1]
    line = lookup.rule("decomposition_temperature", "oxidiser")
    plates = [h.plate_temperature for h in situation.heatings if h.plate_temperature is not None]
    hot = line is not None and any(plate >= line.value for plate in plates)
    level = CautionLevel.STOP if metal or hot else CautionLevel.NOTE
    return Caution(
        key="powder.oxidiser",
        level=level,
        hazard="oxidiser and fuel",
        headline=f"{oxidisers[0][0].name} beside {'aluminium powder' if metal else 'carbon or plastic'}: "
        f"{row.note}",
        source=(lookup.cite(row),),
        do="Never put these powders together." if metal
        else "No dry grinding together, no flame, no hydrochloric acid (chlorine). Mix wet.",
        would_change="another catalyst",
        about=situation.about,
    )  # fmt: skip


def _recovered(situation: Situation) -> Caution | None:
    old = [p for p in situation.powders if p.recovered and p.loose]
    if not old:
        return None
    row = lookup.remark("ammonium chloride", _PASTE)
    washed = all(p.water_soluble is not None for p in old)
    pregnant = situation.pregnancy
    level = CautionLevel.STOP if pregnant else (CautionLevel.NOTE if washed else CautionLevel.FIRST)
    said = ", ".join(
        p.name
        if p.water_soluble is None
        else f"{p.name} ({units.per_cent(p.water_soluble)} water-soluble)"
        for p in old
    )
    return Caution(
        key="powder.recovered",
        level=level,
        hazard="recovered powder",
        headline=f"{said}: {row.note if row else 'what it carries is not known'}",
        finding=Finding.PLAIN if washed else Finding.NO_FIGURE,
        figure="" if washed else "what it carries was not measured",
        source=(lookup.cite(row) if row else lookup.cite_key(HOUSE_SOURCE),),
        do="Leave it to someone else: lead." if pregnant
        else "Gloves, wet work, hands washed before food. Wash it until the water is neutral and no longer "
        "conducts, and weigh the dried wash water. Wash water holds zinc and lead: not down the drain.",
        missing=() if washed else ("its water-soluble part, and the pH of its wash water",),
        would_change="a wash whose water is clean, bought powder",
        about=situation.about,
    )  # fmt: skip


def _ammonia(situation: Situation) -> Caution | None:
    if not lye_is_there(situation):
        return None
    row = lookup.remark("ammonium chloride", "with lye")
    if row is None:
        return None
    plain = [p for p in situation.powders if lookup.known_name(p.substance) == "ammonium chloride"]
    old = [p for p in situation.powders if p.recovered and p not in plain]
    if not plain and not old:
        return None
    unwashed = [p for p in old if p.water_soluble is None]
    if plain or unwashed:
        names = ", ".join(p.name for p in (*plain, *unwashed))
        return Caution(
            key="powder.ammonia",
            level=CautionLevel.STOP,
            hazard="ammonia",
            headline=f"{names} with lye: sets ammonia free",
            finding=Finding.PLAIN if plain else Finding.NO_FIGURE,
            figure="" if plain else "ammonium salt in it not measured",
            limit=limit.shown if (limit := governing("ammonia", "quarter hour").strictest) else "",
            basis="ammonium salts and lye make ammonia gas, textbook chemistry; no figure is needed to refuse it",
            source=(lookup.cite(row),),
            do="Keep it away from lye. Wash it first, weigh what the wash water leaves, enter that.",
            missing=() if plain else ("its water-soluble part after washing",),
            would_change="a washed powder with its water-soluble part measured, brine instead of lye",
            about=situation.about,
        )
    return _ammonia_washed(situation, old, lookup.cite(row))


def _ammonia_washed(situation: Situation, old: list[Powder], said: str) -> Caution:
    """What is left after washing, all of it counted as ammonium chloride, against the room."""
    ammonia, salt = lookup.molar_mass("ammonia"), lookup.molar_mass("ammonium chloride")
    limit = governing("ammonia", "quarter hour").strictest
    flows = flows_of(situation.air)
    masses = [(p.mass or math.nan) * (p.water_soluble or 0.0) for p in old]
    worked = (
        ammonia is not None and salt is not None and limit is not None
        and not math.isnan(sum(masses)) and math.isfinite(flows.volume)
    )  # fmt: skip
    ratio = Band(0.0, math.inf)
    if worked and ammonia and salt and limit:
        ratio = Band(0.0, sum(masses) * ammonia / salt / flows.smallest / limit.value)
    below = compare(ratio) is Finding.BELOW
    missing = () if below else ("the mass of the powder, its wash, and the volume of the room",)
    return Caution(
        key="powder.ammonia",
        level=CautionLevel.FIRST,
        hazard="ammonia",
        headline="washed powder with lye: what salt is left still makes ammonia",
        finding=compare(ratio),
        figure=f"{per_cent(ratio)} of the limit if all of it were ammonium chloride",
        limit=limit.shown if limit else "none on file",
        basis="all that dissolves counted as ammonium chloride, all at once, in the whole room",
        source=(said, *((limit.source,) if limit else ())),
        unverified=True,
        do="Bring lye and powder together outdoors or under extraction, a little at a time; go away at the smell.",
        missing=missing,
        would_change="one more wash, a larger room",
        about=situation.about,
    )


def powder_cautions(situation: Situation) -> list[Caution]:
    """Every caution on powders.

    Parameters
    ----------
    situation : Situation
        What is about to be done.

    Returns
    -------
    list of Caution
        Empty where no powder is handled.
    """
    found = [_dust(situation), _oxidiser(situation), _recovered(situation), _ammonia(situation)]
    return [c for c in found if c is not None]
