"""What stands in the cells of a battery when it is spent: hydroxide, aluminate or brine, the rest of the metal."""

from __future__ import annotations

from aerode.cautions import lookup
from aerode.cautions.comparing import plain
from aerode.cautions.policy import HOUSE_SOURCE, LYES
from aerode.cautions.situation import CellPlan, Situation
from aerode.records.cautions import Caution, CautionLevel

__all__ = ["spent_cell_cautions"]

_BRINE = (
    "Not the drain: the solid settles in it. Let the sludge settle and dry to the rubbish or the waste point; the "
    "brine not onto soil, plants or into a ditch. It still gasses: a loose lid until no bubble rises. Your local rule decides."
)
_LYE = (
    "Goggles and gloves, plastic, a loose lid until no bubble rises; whole to the waste point. Not the drain, no water "
    "or acid into it to make it harmless: it heats, spits and sets. Your local rule decides."
)


def _spent(situation: Situation, cell: CellPlan) -> Caution | None:
    if cell.hydroxide is None:
        return None
    lye = lookup.known_name(cell.salt) in LYES
    line = lookup.rule("waste_limit", "corrosive, pH at least")
    mass = cell.hydroxide * cell.cells
    solid = f"{plain(mass)} kg" if mass >= 1.0 else f"{plain(1e3 * mass)} g"
    corrosive = f"pH {line.value:g}" if line and lye else ""
    unknown = not cell.salt.strip()
    what = "aluminate and aluminium hydroxide in lye" if lye else "aluminium hydroxide in brine"
    if unknown:
        what = "aluminium hydroxide in a liquid that nobody named"
    return Caution(
        key=f"waste.spent.{cell.name}",
        level=CautionLevel.FIRST if lye or unknown else CautionLevel.NOTE,
        hazard="spent cells",
        headline=f"{cell.name}: up to {solid} of solid (dry; wet several times that) leaves it as sludge: {what}",
        figure=f"up to {solid} dry",
        limit=f"corrosive waste from {corrosive}; no solid that chokes a sewer" if corrosive
        else "no solid that chokes a sewer",
        basis="Faraday's law over the whole time, corrosion counted at its high end; what the alloy and the layer shed is in it too",
        source=(
            *((line.source,) if line and lye else ()),
            lookup.cite_key("cfr_40_403"),
            lookup.cite_key(HOUSE_SOURCE),
        ),
        do=f"First a vessel and a place for it. {_LYE}" if lye or unknown else _BRINE,
        would_change="a shorter run, less corrosion" if not lye else "brine instead of lye, a shorter run",
        about=situation.about,
    )  # fmt: skip


def spent_cell_cautions(situation: Situation) -> list[Caution]:
    """What is left in the cells and where it may not go.

    Parameters
    ----------
    situation : Situation
        What is about to be done.

    Returns
    -------
    list of Caution
        Empty where nobody worked out how much solid the cells make.
    """
    found = [_spent(situation, cell) for cell in situation.cells]
    return [c for c in found if c is not None]
