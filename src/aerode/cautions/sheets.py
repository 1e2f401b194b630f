"""Hazard figures of one situation: those on file, tightened or filled in by the data sheets in hand.

A sheet never loosens a published figure. Where nothing is on file it is what there is, and it stands
as the source; a sheet that is not named counts like a figure from memory.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from aerode.cautions import lookup
from aerode.cautions.limits import Governing, governing, held_over_a_quarter
from aerode.physics.exposure import mass_concentration
from aerode.physics.water import ZERO_CELSIUS
from aerode.reference.rows import Status

if TYPE_CHECKING:
    from aerode.cautions.lookup import Figure, Fire
    from aerode.cautions.situation import SheetFigures, Situation

__all__ = ["fire_of", "limits_of", "name_of", "sheet_key", "short_limits_of"]


def sheet_key(name: str) -> str:
    """One spelling for a substance, whichever of its names was typed."""
    return lookup.known_name(name) or name.strip().casefold()


def _sheets(situation: Situation, name: str) -> list[SheetFigures]:
    wanted = sheet_key(name)
    return [s for s in situation.sheets if sheet_key(s.of) == wanted]


def name_of(situation: Situation, substance: str, called: str) -> str | None:
    """The name on file; without one the name that a sheet speaks of; else None."""
    known = lookup.known_name(substance)
    if known is not None:
        return known
    for name in (substance, called):
        if name.strip() and _sheets(situation, name):
            return name
    return None


def _figure(value: float, shown: str, sheet: SheetFigures) -> Figure:
    status = Status.SECONDARY if sheet.named else Status.UNVERIFIED
    return lookup.Figure(value, f"{shown}, data sheet", sheet.said, status)


def _lowest(held: Figure | None, more: list[Figure]) -> Figure | None:
    """The lowest of all that are published; one from memory only where nothing else is there."""
    every = [f for f in (held, *more) if f is not None]
    published = [f for f in every if f.published]
    return min(published or every, key=lambda f: f.value, default=None)


def fire_of(situation: Situation, name: str) -> Fire:
    """The cautious end of each fire figure, on file or in the sheets in hand."""
    found = lookup.fire(name)
    flash: list[Figure] = []
    lights: list[Figure] = []
    lower: list[Figure] = []
    for sheet in _sheets(situation, name):
        for kelvin, kept in ((sheet.flash, flash), (sheet.autoignition, lights)):
            if kelvin is not None:
                kept.append(_figure(kelvin, f"{kelvin - ZERO_CELSIUS:.0f} °C", sheet))
        if sheet.lower is not None:
            lower.append(_figure(sheet.lower, f"{100 * sheet.lower:g} %", sheet))
    return replace(
        found,
        flash=_lowest(found.flash, flash),
        autoignition=_lowest(found.autoignition, lights),
        lower=_lowest(found.lower, lower),
    )


def _limits(sheet: SheetFigures, kind: str, mass: float | None) -> list[Figure]:
    """The limits of one kind that a sheet gives [kg/m^3]."""
    given = {
        "day": (sheet.day, sheet.day_by_volume, "8 h"),
        "quarter hour": (sheet.quarter_hour, sheet.quarter_hour_by_volume, "15 min"),
    }.get(kind)
    if given is None:
        return []
    by_mass, by_volume, over = given
    found: list[Figure] = []
    if by_mass is not None:
        found.append(_figure(by_mass, f"{1e6 * by_mass:.4g} mg/m³ over {over}", sheet))
    if by_volume is not None and mass is not None:
        shown = f"{1e6 * by_volume:.4g} ppm over {over}"
        found.append(_figure(mass_concentration(by_volume, mass), shown, sheet))
    return found


def short_limits_of(situation: Situation, name: str) -> Governing:
    """The limits over 15 min; where there is none at all, that of the day held over 15 min.

    Parameters
    ----------
    situation : Situation
        With its sheets.
    name : str
        A name on file, or one that a sheet speaks of.

    Returns
    -------
    Governing
    """
    short = limits_of(situation, name, "quarter hour")
    if short.strictest is not None:
        return short
    return held_over_a_quarter(limits_of(situation, name, "day"))


def limits_of(situation: Situation, name: str, kind: str) -> Governing:
    """The limits of one kind for a substance, on file or in the sheets in hand.

    Parameters
    ----------
    situation : Situation
        With its sheets.
    name : str
        A name on file, or one that a sheet speaks of.
    kind : str
        "day", "quarter hour", "instant" or "escape".

    Returns
    -------
    Governing
        Both fields None: no limit on file and none in a sheet.
    """
    known = lookup.known_name(name) is not None
    held = (
        governing(name, kind)
        if known
        else Governing(substance=name, kind=kind, published=None, memory=None)
    )
    mass = lookup.molar_mass(name)
    more = [f for s in _sheets(situation, name) for f in _limits(s, kind, mass)]
    if not more:
        return held
    every = [f for f in (held.published, held.memory, *more) if f is not None]
    published = min((f for f in every if f.published), key=lambda f: f.value, default=None)
    memory = min((f for f in every if not f.published), key=lambda f: f.value, default=None)
    if memory is not None and published is not None and memory.value >= published.value:
        memory = None
    return replace(held, published=published, memory=memory)
