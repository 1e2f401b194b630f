"""Liquids themselves: the air over a jar, rags, skin, cancer."""

from __future__ import annotations

from aerode import units
from aerode.cautions import lookup
from aerode.cautions.breathing import organic_liquids
from aerode.cautions.policy import HOUSE_SOURCE
from aerode.cautions.sheets import fire_of, name_of
from aerode.cautions.situation import Situation
from aerode.physics.flammability import Headspace, headspace, saturated_share
from aerode.physics.water import ZERO_CELSIUS
from aerode.records.cautions import Caution, CautionLevel, Finding
from aerode.reference.rows import Status

__all__ = ["does_not_light", "liquid_cautions", "wet_substances"]

_DO = (
    "Put out every flame and spark first; jar closed between strokes. Wet rags and leftovers into a "
    "closed metal can and to the waste point: not the drain, and drying in the air is no disposal."
)


def _jar(situation: Situation, name: str) -> Caution | None:
    """The air over one open liquid; None where it cannot burn at this temperature."""
    # judgement: a room of 25 degC
    temperature = situation.air.temperature if situation.air else 298.15
    found, pressure = fire_of(situation, name), lookup.vapour_pressure(name, temperature)
    if found.lower is None or found.upper is None or pressure is None:
        return _by_flash(situation, name, found.flash, temperature)
    flash, share = found.flash, saturated_share(pressure.value)
    stands = headspace(share, found.lower.value, found.upper.value)
    low_flash = flash is not None and flash.value <= temperature
    if stands is Headspace.BELOW and not low_flash:
        if _is_cool(flash):
            return None
        said = f"{name}: burns once warmed past {flash.shown if flash else 'its flash point'}"
        cited = (found.lower.source, *((flash.source,) if flash else ()))
        return _liquid(situation, name, said, f"{units.per_cent(share)} over the liquid", found.lower.shown,
                       Finding.BELOW, CautionLevel.NOTE, cited, _DO, ())  # fmt: skip
    said = f"{name}: the air over the jar is {stands.value}"
    cited = (found.lower.source, found.upper.source)
    if stands is Headspace.BELOW and flash is not None:
        said, cited = f"{name}: flashes at {flash.shown}, which this room has", (flash.source,)
    return _liquid(
        situation, name, said, f"{units.per_cent(share)} over the liquid",
        f"{found.lower.shown} to {found.upper.shown}", Finding.ABOVE, CautionLevel.FIRST, cited, _DO, (),
    )  # fmt: skip


def _is_cool(flash: lookup.Figure | None) -> bool:
    """True for a flash point above the line at which the waste rules call a liquid ignitable."""
    line = lookup.rule("waste_limit", "ignitable liquid, flash point below")
    return flash is not None and line is not None and flash.value > line.value


def does_not_light(situation: Situation, name: str) -> bool:
    """Whether a liquid has no line on its fire, since it lights only far above a room.

    Parameters
    ----------
    situation : Situation
        With its sheets.
    name : str
        A name on file, or one that a sheet speaks of.

    Returns
    -------
    bool
    """
    return _jar(situation, name) is None


def _by_flash(
    situation: Situation, name: str, flash: lookup.Figure | None, temperature: float
) -> Caution | None:
    """A liquid whose air cannot be worked out: its flash point decides, if there is one."""
    if flash is None:
        said = f"{name}: no fire figure on file, treat as flammable"
        return _liquid(situation, name, said, "", "none on file", Finding.NO_FIGURE, CautionLevel.FIRST,
                       (lookup.cite_key(HOUSE_SOURCE),), _DO, ("its flash point",))  # fmt: skip
    if _is_cool(flash):
        return None
    hot = flash.value <= temperature
    said = f"{name}: flashes at {flash.shown}" + (", which this room has" if hot else "")
    return _liquid(
        situation, name, said, f"{temperature - ZERO_CELSIUS:.0f} °C in the room", flash.shown,
        Finding.ABOVE if hot else Finding.BELOW, CautionLevel.FIRST if hot else CautionLevel.NOTE,
        (flash.source,), _DO, (),
    )  # fmt: skip


def _nobody_knows(situation: Situation, name: str) -> Caution | None:
    """A liquid that neither the tables nor a sheet speak of: treated as one that burns."""
    # judgement: a room of 25 degC
    temperature = situation.air.temperature if situation.air else 298.15
    return _by_flash(situation, name, None, temperature)


def _liquid(situation: Situation, name: str, headline: str, figure: str, limit: str, finding: Finding,
            level: CautionLevel, source: tuple[str, ...], do: str, missing: tuple[str, ...]) -> Caution:  # fmt: skip
    return Caution(
        key=f"vapour.liquid.{name}",
        level=level,
        hazard="flammable liquid",
        headline=headline,
        finding=finding,
        figure=figure,
        limit=limit,
        basis="saturated air over the liquid at room temperature, against its flammable band",
        source=tuple(dict.fromkeys(source)),
        do=do,
        missing=missing,
        would_change="a colder room, another solvent",
        about=situation.about,
    )


def _rags(situation: Situation, name: str) -> Caution | None:
    row = lookup.remark(name, "self-heating")
    if row is None:
        return None
    return Caution(
        key=f"vapour.rags.{name}",
        level=CautionLevel.FIRST,
        hazard="self-heating rags",
        headline=f"{name}: {row.note}",
        source=(lookup.cite(row),),
        do="Have a closed metal can with water in it ready before the first rag is wet.",
        would_change="another solvent",
        about=situation.about,
    )


def _skin(situation: Situation, names: tuple[str, ...]) -> Caution | None:
    rows = [
        (name, row)
        for name in names
        for condition in ("health: skin", "health: sensitiser")
        if (row := lookup.remark(name, condition)) is not None
    ]
    if not rows:
        return None
    return Caution(
        key="vapour.skin",
        level=CautionLevel.NOTE,
        hazard="skin",
        headline="; ".join(f"{name}: {row.note}" for name, row in rows),
        source=tuple(dict.fromkeys(lookup.cite(row) for _, row in rows)),
        unverified=all(row.status is Status.UNVERIFIED for _, row in rows),
        do="Thin nitrile gloves hold a splash, not a soak: change them at once. "
        "Laminate or the polymer of the glove maker's table holds longer. Wash skin with soap.",
        would_change="another solvent",
        about=situation.about,
    )


def _cancer(situation: Situation, name: str) -> Caution | None:
    row = lookup.remark(name, "health: cancer")
    if row is None:
        return None
    return Caution(
        key=f"vapour.cancer.{name}",
        level=CautionLevel.STOP if row.status is not Status.UNVERIFIED else CautionLevel.FIRST,
        hazard="cancer",
        headline=f"{name}: {row.note}",
        source=(lookup.cite(row),),
        do="Do not handle it at home. A cartridge does not hold it: above the limit only supplied air does.",
        would_change="another solvent",
        about=situation.about,
    )


def wet_substances(situation: Situation) -> tuple[str, ...]:
    """Organic liquids that are open or that a piece to be heated was wet with, on file, each once."""
    named = [name for _, name in organic_liquids(situation) if name]
    for heating in situation.heatings:
        named += [
            n for s in heating.last_solvents if (n := name_of(situation, s, s)) and n != "water"
        ]
    return tuple(dict.fromkeys(named))


def liquid_cautions(situation: Situation) -> list[Caution]:
    """Cautions on the open liquids themselves, and on what a coat to be heated was wet with.

    Parameters
    ----------
    situation : Situation
        What is about to be done.

    Returns
    -------
    list of Caution
        Empty where nothing but water is wet.
    """
    open_names = tuple(dict.fromkeys(n for _, n in organic_liquids(situation) if n))
    unknown = dict.fromkeys(liquid.name for liquid, n in organic_liquids(situation) if n is None)
    wet = wet_substances(situation)
    found = [
        *(_jar(situation, name) for name in open_names),
        *(_nobody_knows(situation, name) for name in unknown),
        *(_rags(situation, name) for name in open_names),
        _skin(situation, wet),
        *(_cancer(situation, name) for name in wet),
    ]
    return [c for c in found if c is not None]
