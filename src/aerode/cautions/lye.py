"""Lye: burns, make-up heat, and what it does to aluminium and to some polymers."""

from __future__ import annotations

from aerode import units
from aerode.cautions import lookup
from aerode.cautions.policy import HOUSE_SOURCE, LYES
from aerode.cautions.powders import lye_is_there
from aerode.cautions.situation import LyeMakeUp, Situation
from aerode.errors import ReferenceDataError
from aerode.physics.heat_gates import make_up_temperature
from aerode.physics.water import ZERO_CELSIUS
from aerode.records.cautions import Caution, CautionLevel, Finding
from aerode.reference.figures import select
from aerode.reference.rows import Status

__all__ = ["lye_cautions"]

# Specific heat of water near room temperature [J/(kg K)], a textbook value.
WATER_HEAT = 4184.0  # from memory


def _lyes(situation: Situation) -> list[str]:
    salts = [cell.salt for cell in situation.cells] + [made.salt for made in situation.make_ups]
    named = [lookup.known_name(salt) for salt in salts]
    return list(dict.fromkeys(n for n in named if n in LYES))


def _burns(situation: Situation, name: str) -> Caution:
    row = lookup.remark(name, "with aluminium")
    return Caution(
        key="lye.burns",
        level=CautionLevel.FIRST,
        hazard="lye",
        headline=f"{name}: burns skin and blinds; the pain comes late",
        basis=row.note if row else "strong alkali",
        source=(lookup.cite_key(HOUSE_SOURCE), *((lookup.cite(row),) if row else ())),
        do="First goggles and a face shield (spectacles do not keep a splash out), and running water "
        "within reach. Lye into cold water a little at a time, never water onto lye. On the eye or skin: "
        "running water at once, eyes first, no vinegar, and keep it running until medical care takes over.",
        would_change="brine instead of lye",
        about=situation.about,
    )


def _heat_of_solution(name: str) -> tuple[float, str] | None:
    """Heat that one mole sets free on dissolving [J/mol, positive] and its source; None: not on file."""
    try:
        rows = select(name, "enthalpy_of_reaction")
    except ReferenceDataError:
        return None
    for row in rows:
        if "solution" in row.condition and row.value is not None:
            factor = 1e3 if row.unit == "kJ/mol" else 1.0  # kJ, by definition
            return abs(row.value) * factor, lookup.cite(row)
    return None


def _make_up(situation: Situation, made: LyeMakeUp) -> Caution | None:
    name = lookup.known_name(made.salt)
    if name not in LYES:
        return None
    heat, mass = _heat_of_solution(name), lookup.molar_mass(name)
    share = made.solute / (made.solute + made.water)
    common = {
        "key": f"lye.make-up.{name}",
        "level": CautionLevel.FIRST,
        "hazard": "lye make-up",
        "do": "Ice-cold water in a wide, unsealed plastic jug in a cold bath; the lye in many small portions, "
        "stirring, each cooled before the next. Never in glass that cannot stand heat, never capped.",
        "would_change": "weaker lye, smaller portions",
        "about": situation.about,
    }
    if heat is None or mass is None:
        return Caution(
            **common,  # pyright: ignore[reportArgumentType]
            headline=f"{units.per_cent(share)} {name}: how hot it gets is not on file; strong lye can boil",
            finding=Finding.NO_FIGURE,
            figure="no figure on file",
            source=(lookup.cite_key(HOUSE_SOURCE),),
            missing=(f"the heat of solution of {name}",),
        )
    hottest = make_up_temperature(
        made.solute, mass, made.water, heat_of_solution=heat[0], specific_heat=WATER_HEAT,
        start=made.start_temperature,
    )  # fmt: skip
    boils = hottest >= ZERO_CELSIUS + 100.0  # water boils, by definition of the old scale
    return Caution(
        **common,  # pyright: ignore[reportArgumentType]
        headline=f"{units.per_cent(share)} {name} made up at once could reach {hottest - ZERO_CELSIUS:.0f} °C"
        + (": it can boil and spit" if boils else ""),
        finding=Finding.ABOVE if boils else Finding.BELOW,
        figure=f"{hottest - ZERO_CELSIUS:.0f} °C",
        limit="100 °C, where water boils",
        basis="all of it at once, no heat lost, the specific heat of water",
        source=(heat[1],),
    )


def _polymer(situation: Situation) -> Caution | None:
    for polymer in situation.polymers:
        name = lookup.known_name(polymer.substance)
        row = lookup.remark(name, "with strong alkali") if name else None
        if row is not None:
            return Caution(
                key=f"lye.polymer.{name}",
                level=CautionLevel.FIRST,
                hazard="lye on a polymer",
                headline=f"{polymer.name} in lye: {row.note}",
                source=(lookup.cite(row),),
                unverified=row.status is Status.UNVERIFIED,
                do="Read the chemical resistance sheet of the polymer before it stands in lye.",
                missing=(f"the resistance of {polymer.name} to lye from its data sheet",),
                would_change="another binder, brine instead of lye",
                about=situation.about,
            )
    return None


def lye_cautions(situation: Situation) -> list[Caution]:
    """Every caution on lye.

    Parameters
    ----------
    situation : Situation
        What is about to be done.

    Returns
    -------
    list of Caution
        Empty where there is no sodium or potassium hydroxide.
    """
    if not lye_is_there(situation):
        return []
    found: list[Caution | None] = [_burns(situation, _lyes(situation)[0])]
    found += [_make_up(situation, made) for made in situation.make_ups]
    found.append(_polymer(situation))
    return [c for c in found if c is not None]
