"""The one caution engine: a situation in, cautions out, hardest first."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from aerode.cautions.collectors import collector_cautions
from aerode.cautions.electrical import electrical_cautions
from aerode.cautions.heating import heating_cautions
from aerode.cautions.hydrogen import hydrogen_cautions
from aerode.cautions.liquids import liquid_cautions
from aerode.cautions.lye import lye_cautions
from aerode.cautions.overvoltage import overvoltage_cautions
from aerode.cautions.people import people_cautions, waste_cautions
from aerode.cautions.powders import powder_cautions
from aerode.cautions.reading import still_acknowledged, waiting_for
from aerode.cautions.shorting import shorting_cautions
from aerode.cautions.spent_cells import spent_cell_cautions
from aerode.cautions.vapour import vapour_cautions
from aerode.records.cautions import Acknowledgement, Caution, CautionLevel, CautionSheet

if TYPE_CHECKING:
    from collections.abc import Iterable

    from aerode.cautions.situation import Situation

__all__ = ["RANK", "assess", "caution_sheet", "headline_of"]

RANK = {CautionLevel.STOP: 0, CautionLevel.FIRST: 1, CautionLevel.NOTE: 2}
_RULES = (
    people_cautions,
    vapour_cautions,
    liquid_cautions,
    heating_cautions,
    lye_cautions,
    powder_cautions,
    hydrogen_cautions,
    collector_cautions,
    electrical_cautions,
    shorting_cautions,
    overvoltage_cautions,
    waste_cautions,
    spent_cell_cautions,
)


def assess(situation: Situation) -> tuple[Caution, ...]:
    """Every caution that a situation carries, hardest first.

    Parameters
    ----------
    situation : Situation
        What is about to be done, with what is not known left None.

    Returns
    -------
    tuple of Caution
        STOP before FIRST before NOTE; within a level people, vapour, heat, lye, powders, hydrogen,
        the mesh, electricity, waste. One for each key: the hardest.

    Examples
    --------
    >>> from aerode.cautions.situation import Air, CellPlan, Situation
    >>> one = CellPlan(name="A", salt="sodium chloride", aluminium_area=0.002)
    >>> found = assess(Situation(air=Air(volume=40.0, airing="window ajar"), cells=(one,)))
    >>> [(c.level.value, c.hazard) for c in found]
    [('NOTE', 'hydrogen')]
    """
    hardest: dict[str, Caution] = {}
    for rule in _RULES:
        for caution in rule(situation):
            held = hardest.get(caution.key)
            if held is None or RANK[caution.level] < RANK[held.level]:
                hardest[caution.key] = caution
    return tuple(sorted(hardest.values(), key=lambda c: RANK[c.level]))


def headline_of(cautions: Iterable[Caution], about: tuple[str, ...]) -> str:
    """The verdict in at most 100 characters; never that something is harmless.

    Parameters
    ----------
    cautions : iterable of Caution
        What was found.
    about : tuple of str
        Names of what it is about.

    Returns
    -------
    str
    """
    kept = list(cautions)
    counts = Counter(c.level for c in kept)
    name = ", ".join(about) or "this"
    if not kept:
        # judgement: one line
        return f"{name}: no rule on file speaks to it; that is no clearance."[:100]
    words = {CautionLevel.FIRST: "to do FIRST"}
    parts = [f"{counts[level]} {words.get(level, level.value)}" for level in RANK if counts[level]]
    said = f"{name}: {', '.join(parts)}"
    lead = f"; {kept[0].hazard}" if counts[CautionLevel.STOP] else ""
    return f"{said}{lead}."[:100]  # judgement: one line


def caution_sheet(
    situation: Situation, acknowledgements: Iterable[Acknowledgement] = ()
) -> CautionSheet:
    """All cautions for a situation, with the acknowledgements that still hold.

    Parameters
    ----------
    situation : Situation
        What is about to be done.
    acknowledgements : iterable of Acknowledgement
        Everything that was acknowledged or read before; what no longer holds is left out.

    Returns
    -------
    CautionSheet
        `waiting` holds the keys of STOPs that nobody has acknowledged as they stand now.
    """
    cautions = assess(situation)
    kept = still_acknowledged(cautions, acknowledgements)
    return CautionSheet(
        headline=headline_of(cautions, situation.about),
        about=situation.about,
        cautions=cautions,
        acknowledged=kept,
        waiting=waiting_for(cautions, kept),
    )
