"""Who is in the room: pregnancy, children, a class; and waste, which meets whoever comes after."""

from __future__ import annotations

from aerode.cautions import lookup
from aerode.cautions.breathing import organic_liquids
from aerode.cautions.liquids import does_not_light, wet_substances
from aerode.cautions.policy import AROMATICS, FLUOROPOLYMERS, HOUSE_SOURCE, NOT_FOR_A_CLASS
from aerode.cautions.powders import lye_is_there
from aerode.cautions.situation import Situation
from aerode.records.cautions import Caution, CautionLevel
from aerode.reference.rows import Status

__all__ = ["people_cautions", "waste_cautions"]


def _unborn(situation: Situation) -> Caution | None:
    rows = [
        (name, row)
        for name in wet_substances(situation)
        if (row := lookup.remark(name, "health: fertility")) is not None
    ]
    if not rows:
        return None
    published = any(row.status is not Status.UNVERIFIED for _, row in rows)
    level = CautionLevel.NOTE
    if situation.pregnancy:
        level = CautionLevel.STOP if published else CautionLevel.FIRST
    return Caution(
        key="people.unborn",
        level=level,
        hazard="unborn child",
        headline="; ".join(f"{name}: {row.note}" for name, row in rows),
        source=tuple(dict.fromkeys(lookup.cite(row) for _, row in rows)),
        unverified=not published,
        do="Leave it to someone else, and stay out of the room until it is aired."
        if situation.pregnancy
        else "If pregnancy is possible, leave it to someone else; tell everyone in the room.",
        would_change="another solvent",
        about=situation.about,
    )


def _refused_for_a_class(situation: Situation) -> list[str]:
    wet = wet_substances(situation)
    found = ["lye"] if lye_is_there(situation) else []
    found += [n for n in wet if n in AROMATICS or n in NOT_FOR_A_CLASS]
    heated = any(not heating.cold for heating in situation.heatings)
    hot = [lookup.known_name(p.substance) for p in situation.polymers] if heated else []
    found += [f"hot {n}" for n in hot if n in FLUOROPOLYMERS]
    found += ["hot plastic of unknown kind"] if None in hot else []
    found += [
        f"unwashed {p.name}" for p in situation.powders if p.recovered and p.water_soluble is None
    ]
    return list(dict.fromkeys(found))


def _class(situation: Situation) -> Caution | None:
    if not situation.class_mode:
        return None
    refused = _refused_for_a_class(situation)
    if not refused:
        return None
    return Caution(
        key="people.class",
        level=CautionLevel.STOP,
        hazard="class",
        headline=f"not for a class: {', '.join(refused)}",
        basis="the worst of the bench is refused for a class outright, whatever the figures say",
        source=(lookup.cite_key(HOUSE_SOURCE),),
        do="Use brine, ethanol or water, known polymers, bought or washed powders; or ready-made pieces.",
        would_change="another recipe",
        about=situation.about,
    )


def _children(situation: Situation) -> Caution | None:
    """With children near but no class: whatever is open, hot or caustic is not for them."""
    if not situation.children or situation.class_mode:
        return None
    open_things = [name or liquid.name for liquid, name in organic_liquids(situation)]
    open_things += [h.name for h in situation.heatings if not h.cold]
    open_things += ["lye"] if lye_is_there(situation) else []
    if not open_things:
        return None
    return Caution(
        key="people.children",
        level=CautionLevel.FIRST,
        hazard="children",
        headline=f"children in the room: {', '.join(dict.fromkeys(open_things))}",
        basis="limits are made for grown workers; children breathe more for their weight and touch more",
        source=(lookup.cite_key(HOUSE_SOURCE),),
        do="First children out and the door shut, until it is put away and aired.",
        would_change="nobody under age in the room",
        about=situation.about,
    )


def people_cautions(situation: Situation) -> list[Caution]:
    """Cautions for some of the people in the room.

    Parameters
    ----------
    situation : Situation
        What is about to be done, and who is there.

    Returns
    -------
    list of Caution
        Empty where nothing present carries one.
    """
    found = [_class(situation), _children(situation), _unborn(situation)]
    return [c for c in found if c is not None]


def waste_cautions(situation: Situation) -> list[Caution]:
    """What is left over and may not go down the drain (of liquids that burn: see the liquid itself).

    Parameters
    ----------
    situation : Situation
        What is about to be done.

    Returns
    -------
    list of Caution
        Empty where there is no lye and no organic liquid but those that burn.
    """
    names = dict.fromkeys(name for _, name in organic_liquids(situation) if name)
    left = [_leftovers(situation, name) for name in names if does_not_light(situation, name)]
    return [*left, *_spent_lye(situation)]


def _leftovers(situation: Situation, name: str) -> Caution:
    """Rags and leftovers of a liquid that does not light in a room."""
    return Caution(
        key=f"waste.liquid.{name}",
        level=CautionLevel.NOTE,
        hazard="waste",
        headline=f"{name}: its leftovers and wet rags are waste, though it does not light in a room",
        source=(lookup.cite_key(HOUSE_SOURCE),),
        do="Leftovers and rags closed and labelled to the waste point: not the drain, and drying in the air is no disposal. "
        "Rags apart from oxidisers.",
        would_change="another solvent",
        about=situation.about,
    )


def _spent_lye(situation: Situation) -> list[Caution]:
    if not lye_is_there(situation):
        return []
    line = lookup.rule("waste_limit", "corrosive, pH at least")
    said = f"pH {line.value:g}" if line else "the line of the waste rules"
    return [
        Caution(
            key="waste.lye",
            level=CautionLevel.NOTE,
            hazard="waste",
            headline=f"spent lye and its sludge: corrosive waste from {said}, and still gassing",
            limit=said,
            source=(line.source if line else lookup.cite_key(HOUSE_SOURCE),),
            do="Keep it under a loose lid until no bubble rises; then the waste point. Not the drain; your "
            "local rule decides.",
            would_change="brine instead of lye",
            about=situation.about,
        )
    ]
