"""How a mixed surface meets the electrolyte, and the head of liquid that its widest pore holds."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerode import properties, reference, units
from aerode.errors import RangeError, ReferenceDataError
from aerode.physics import wetting
from aerode.records.processes import ProcessAnswer, WettingFinding
from aerode.reference.process_figures import process_figure
from aerode.usecases.process import Desk, band_of, ends_of, sources_of
from aerode.usecases.property_words import surface_tension

if TYPE_CHECKING:
    from aerode.records.processes import Band

__all__ = ["WettingQuestion", "head_held"]

_ROOM = 298.15


@dataclass(frozen=True, slots=True, kw_only=True)
class WettingQuestion:
    """What is asked, as typed; "" where it was not said."""

    covering: str
    share: str = ""
    base: str = "carbon black"
    covering_angle: str = ""
    base_angle: str = ""
    pore: str = ""
    salt: str = ""
    mass_fraction: str = ""
    temperature: str = ""
    head: str = ""


def _covering_angle(question: WettingQuestion, desk: Desk) -> tuple[float, float]:
    """The angle of the wet-proofer, typed or on file [rad]; a single one is taken as it is."""
    typed = desk.above_zero(question.covering_angle, "rad", "angle of the covering", ("degree",))
    if typed is not None:
        return typed, typed
    row = reference.published(question.covering, "contact_angle")
    shown = math.radians(row.centre or 0.0)
    desk.say(f"angle of {question.covering}", row.shown, "--covering-angle", row.source)
    return shown, shown


def _base_angle(question: WettingQuestion, desk: Desk) -> tuple[float, float]:
    typed = desk.above_zero(question.base_angle, "rad", "angle of the base", ("degree",))
    if typed is not None:
        return typed, typed
    try:
        row = process_figure(reference.resolve(question.base), "contact_angle_of_base")
    except ReferenceDataError as unknown:
        raise ReferenceDataError(
            f"no contact angle of {question.base} on file", where="base",
            allowed="carbon black, activated carbon",
            next_step="lay a drop on a pressed pellet and type the angle: --base-angle",
        ) from unknown  # fmt: skip
    desk.take(row, f"angle of {question.base}", "--base-angle")
    return ends_of(row)


def head_held(question: WettingQuestion) -> ProcessAnswer:
    """The contact angle of a covered surface, and the head of liquid that its widest pore holds.

    Parameters
    ----------
    question : WettingQuestion
        As typed.

    Returns
    -------
    ProcessAnswer
        With `wetting` filled.

    Raises
    ------
    InputError
        Something typed cannot be taken.
    ReferenceDataError
        No contact angle on file.

    Examples
    --------
    >>> answer = head_held(WettingQuestion(covering="PTFE", share="100 %", pore="1 um"))
    >>> round(answer.wetting.pressure.high / 1e3)
    94
    """
    desk = Desk()
    covering, base = _covering_angle(question, desk), _base_angle(question, desk)
    share = desk.read(question.share, "", "covered share")
    if share is None:
        share = 1.0
        desk.say("covered share of the surface", "all of it", "--share")
    if not 0.0 <= share <= 1.0:
        raise RangeError(f"a share of {share:g}", where="share", allowed="0 to 100 %")
    angles = [
        wetting.mixed_contact_angle([share, 1.0 - share], [c, b])
        for c, b in zip(covering, base, strict=True)
    ]
    tension, density = _liquid(question, desk)
    pores = _pores(question, desk)
    low = wetting.breakthrough_pressure(tension, min(angles), pores[1])
    high = wetting.breakthrough_pressure(tension, max(angles), pores[0])
    needed = _needed(covering, base)
    found = WettingFinding(
        angle=band_of(min(angles), None, max(angles), "rad", "of the covered surface"),
        covering_needed=needed,
        pressure=band_of(low, None, high, "Pa", "that the widest pore holds"),
        head=band_of(
            wetting.water_head(low, density), None, wetting.water_head(high, density), "m"
        ),
        surface_tension=tension,
    )
    wanted = desk.above_zero(question.head, "m", "head wanted")
    return ProcessAnswer(
        headline=_headline(question, found, wanted),
        process="wetting",
        about=(question.covering,),
        wetting=found,
        warnings=(
            "a crack, a pinhole or a bare edge is wider than any pore: only a leak test tells",
            "lye, soap and peroxide lower the angle with time; share of the surface, not of the mass",
            *desk.warnings,
        ),
        assumed=tuple(desk.assumed),
        sources=sources_of(desk.assumed, "iapws_surface_tension"),
        understood=tuple(desk.understood),
    )


def _liquid(question: WettingQuestion, desk: Desk) -> tuple[float, float]:
    """Surface tension [N/m] and density [kg/m^3] of the electrolyte."""
    temperature = desk.above_zero(question.temperature, "K", "temperature") or _ROOM
    strength = desk.read(question.mass_fraction, "", "mass fraction")
    if not question.salt or strength is None:
        tension = surface_tension("water", temperature).value
        density = properties.lookup("water", "density", temperature=temperature).value
        desk.say("liquid", "pure water", "--salt, --mass-fraction", "iapws_surface_tension")
        return tension, density
    brine = properties.solution(question.salt, temperature, mass_fraction=strength)
    found = surface_tension(question.salt, temperature, strength)
    desk.warnings += [w for w in found.warnings if "lies outside" in w or "taken as" in w]
    return found.value, properties.density(brine).value


def _pores(question: WettingQuestion, desk: Desk) -> tuple[float, float]:
    pore = desk.above_zero(question.pore, "m", "pore")
    if pore is not None:
        return pore, pore
    row = desk.take(process_figure("coat", "pore_diameter"), "widest pore", "--pore")
    return ends_of(row)


def _needed(covering: tuple[float, float], base: tuple[float, float]) -> Band | None:
    """Share of the surface to cover before it turns water away; None where it never does or needs none."""
    right = math.pi / 2.0
    if covering[0] <= right or base[0] >= right:
        return None
    ends = [
        wetting.covering_needed(c, b) if b < right else 0.0
        for c, b in zip(covering, base, strict=True)
    ]
    return band_of(min(ends), None, max(ends), "", "share of the surface to cover")


def _headline(question: WettingQuestion, found: WettingFinding, wanted: float | None) -> str:
    low, high = found.head.low or 0.0, found.head.high or 0.0
    name = question.covering
    if high <= 0.0:
        return f"{name}: wets as covered now: it holds no head and draws the liquid in"
    if wanted is not None:
        said = (
            "is below what it holds" if wanted < low
            else "is above what it holds" if wanted > high
            else "may be too much: it cannot be told"
        )  # fmt: skip
        return f"{name}: {_head(wanted)} {said}; the band is {_head(low)} to {_head(high)}"
    return f"{name}: the widest pore holds {_head(low)} to {_head(high)} of liquid head"


def _head(metres: float) -> str:
    if metres >= 1.0:
        return units.write(metres, "m", digits=2)
    return units.write(100.0 * metres, "cm", digits=2)
