"""Electricity: how many volts a hand meets, and what a shorted string does."""

from __future__ import annotations

from aerode.cautions import lookup
from aerode.cautions.comparing import Band, compare
from aerode.cautions.policy import HOUSE_SOURCE
from aerode.cautions.situation import CellPlan, Situation
from aerode.records.cautions import Caution, CautionLevel, Finding
from aerode.reference.figures import select

__all__ = ["electrical_cautions"]


# The two halves of an aluminium-air cell in alkali, by name: a row more on file changes nothing.
_OXYGEN_COUPLE = "O2 + 2 H2O + 4 e = 4 OH-"
_ALUMINIUM_COUPLE = "Al(OH)4- + 3 e = Al + 4 OH-"


def _highest_voltage() -> float | None:
    """No aluminium-air cell passes this [V]: its reversible voltage in alkali, from the potentials on file."""
    up = select("oxygen", "standard_potential", couple=_OXYGEN_COUPLE)
    down = select("aluminium", "standard_potential", couple=_ALUMINIUM_COUPLE)
    if not up or not down or up[0].value is None or down[0].value is None:
        return None
    return up[0].value - down[0].value


def _string_voltage(cell: CellPlan) -> tuple[Band, bool] | None:
    """Open-circuit voltage of one string [V] and whether it was measured."""
    if cell.open_circuit_voltage is not None:
        v = cell.open_circuit_voltage
        return Band(v.low * cell.in_series, v.high * cell.in_series), True
    top = _highest_voltage()
    return None if top is None else (Band(0.0, top * cell.in_series), False)


def _touch(situation: Situation, cell: CellPlan) -> Caution | None:
    low = lookup.rule("touch_voltage", "wet or salty hands")
    high = lookup.rule("touch_voltage", "extra-low voltage, separated")
    found = _string_voltage(cell)
    if low is None or high is None or found is None:
        return None
    voltage, measured = found
    if voltage.high <= low.value:
        return None
    finding = compare(voltage.over(high.value if voltage.low > high.value else low.value))
    level = CautionLevel.FIRST
    if voltage.low > high.value and high.published:
        level = CautionLevel.STOP
    shown = f"{voltage.high:.3g} V" if measured else f"at most {voltage.high:.3g} V"
    limit = high if level is CautionLevel.STOP else low
    return Caution(
        key=f"electrical.touch.{cell.name}",
        level=level,
        hazard="touch voltage",
        headline=f"{cell.in_series} cells in series, {shown}: "
        + ("licensed practice" if level is CautionLevel.STOP else "more than wet hands may touch"),
        finding=finding,
        figure=shown,
        limit=f"{low.shown} with wet or salty hands, {high.shown} extra-low voltage; none if immersed",
        basis="salt and lye make skin conduct; open-circuit voltage counts, not the loaded one",
        source=(limit.source,),
        do="Do not build it by yourself: shorter strings, or a licensed electrician."
        if level is CautionLevel.STOP
        else "Dry hands, one hand, covered terminals, a switch made for direct current; shorter strings are better.",
        missing=_missing(finding, measured),
        would_change="fewer cells in series, the open-circuit voltage measured",
        about=situation.about,
    )


def _missing(finding: Finding, measured: bool) -> tuple[str, ...]:
    """What decides a voltage that reaches over its limit."""
    if not measured:
        return ("the open-circuit voltage of one cell",)
    return () if finding is Finding.ABOVE else ("the open-circuit voltage of the string itself",)


def _stack(situation: Situation, cell: CellPlan) -> Caution | None:
    if cell.cells < 2 or cell.fused:
        return None
    parallel = cell.strings > 1
    return Caution(
        key=f"electrical.stack.{cell.name}",
        level=CautionLevel.FIRST if parallel else CautionLevel.NOTE,
        hazard="stack current",
        headline=f"{cell.cells} cells without a fuse: current burns, not voltage",
        finding=Finding.PLAIN,
        basis="a short makes heat, hydrogen and hot electrolyte; in parallel the good strings feed the bad one",
        source=(lookup.cite_key(HOUSE_SOURCE),),
        do="A fuse rated for direct current at the source of each string. No rings or bracelets; the meter "
        "not left in its 10 A socket (a dead short).",
        would_change="a fuse in each string",
        about=situation.about,
    )


def electrical_cautions(situation: Situation) -> list[Caution]:
    """Every caution on touch voltage and stack current.

    Parameters
    ----------
    situation : Situation
        What is about to be done.

    Returns
    -------
    list of Caution
        Empty for single cells.
    """
    found: list[Caution | None] = []
    for cell in situation.cells:
        found += [_touch(situation, cell), _stack(situation, cell)]
    return [c for c in found if c is not None]
