"""A load that a fresh row gives more volts than it is made for: a lamp glows out, a cell in it is overcharged."""

from __future__ import annotations

from aerode.cautions import lookup
from aerode.cautions.comparing import plain
from aerode.cautions.policy import HOUSE_SOURCE
from aerode.cautions.situation import CellPlan, Situation
from aerode.records.cautions import Caution, CautionLevel

__all__ = ["TOLERATED", "overvoltage_cautions"]

TOLERATED = 1.15  # judgement
"""Over the voltage of a load, up to which nothing is said: many take a tenth more, few a fifth."""


def _over(situation: Situation, cell: CellPlan) -> Caution | None:
    gets, wanted = cell.load_gets, cell.load_voltage
    if gets is None or wanted is None or gets.high <= TOLERATED * wanted:
        return None
    instead = f"{cell.gentler}, or " if cell.gentler else ""
    return Caution(
        key=f"electrical.overvoltage.{cell.name}",
        level=CautionLevel.FIRST,
        hazard="overvoltage",
        headline=f"fresh, the load gets about {plain(gets.low)} V, up to {plain(gets.high)} V, not {plain(wanted)} V",
        figure=f"{plain(gets.low)} V, up to {plain(gets.high)} V",
        limit=f"what its data sheet allows; here {plain(TOLERATED * wanted)} V, {100 * (TOLERATED - 1):.0f} % more (a judgement)",
        basis="the curve of the next builds at the current of the load, what the leads take counted",
        source=(lookup.cite_key(HOUSE_SOURCE),),
        do=f"First read on its data sheet the most it takes. If that is less: {instead}a regulator between. Too much burns "
        "out a lamp, and makes a lithium cell in a device burn.",
        would_change="fewer cells with more electrodes in each, a regulator",
        about=situation.about,
    )


def overvoltage_cautions(situation: Situation) -> list[Caution]:
    """Every caution on a load that gets too many volts.

    Parameters
    ----------
    situation : Situation
        What is about to be done.

    Returns
    -------
    list of Caution
        Empty where something stands between, or nobody worked out what the load gets.
    """
    found = [_over(situation, cell) for cell in situation.cells]
    return [c for c in found if c is not None]
