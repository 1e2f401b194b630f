"""A mesh that the electrolyte attacks: it rusts or dissolves, and what it leaves eats at the aluminium."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.cautions import lookup
from aerode.cautions.policy import LYES
from aerode.records.cautions import Caution, CautionLevel
from aerode.reference.materials import bench_uses, wetted_metals
from aerode.reference.rows import Status

if TYPE_CHECKING:
    from aerode.cautions.situation import CellPlan, Situation
    from aerode.reference.materials import WettedMetal

__all__ = ["ATTACKED", "collector_cautions", "refused_mesh"]

ATTACKED = "mesh that is attacked"
"""The hazard of these cautions."""
_LIQUIDS = {"chloride": "salt water", "lye": "lye"}
_CHLORIDES = ("chloride", "sea", "salt", "brine")


def _kind(salt: str) -> str:
    """ "chloride", "lye", or "" where the salt is neither or not said."""
    name = lookup.known_name(salt) or salt.casefold()
    if name in LYES:
        return "lye"
    return "chloride" if any(word in name for word in _CHLORIDES) else ""


def refused_mesh(metal: str, electrolyte: str) -> tuple[WettedMetal, str] | None:
    """What an electrolyte does to a mesh that the table of materials refuses in it.

    Parameters
    ----------
    metal : str
        Name or alias of the metal.
    electrolyte : str
        "chloride" or "lye".

    Returns
    -------
    tuple or None
        The row and what the metal serves for; None where the table does not refuse it, and where the
        metal is not on file.

    Examples
    --------
    >>> refused_mesh("mild steel", "chloride")[0].unloaded
    'rusts overnight'
    >>> refused_mesh("mild steel", "lye") is None
    True
    """
    name = lookup.known_name(metal)
    if name is None or not electrolyte:
        return None
    uses = bench_uses(name, function="collector")
    rows = wetted_metals(name, electrolyte=electrolyte)
    refusals = ("not at all", f"not in {electrolyte}", "only where nothing wet")
    if not uses or not rows or not uses[0].serves.startswith(refusals):
        return None
    return rows[0], uses[0].serves


def _caution(situation: Situation, cell: CellPlan) -> Caution | None:
    found = refused_mesh(cell.collector, _kind(cell.salt))
    if found is None:
        return None
    row, serves = found
    return Caution(
        key=f"collector.{cell.name}",
        level=CautionLevel.FIRST,
        hazard=ATTACKED,
        headline=f"{row.metal} in {_LIQUIDS[row.electrolyte]}: {row.effect}",
        basis=f"wet at rest: {row.unloaded}; under load: {row.loaded}; as a collector it serves {serves}",
        source=(lookup.cite_key(row.source),),
        unverified=row.status is Status.UNVERIFIED,
        do="Another mesh for this liquid: look it up under the materials. If it is wetted all the same: the aluminium "
        "may make more hydrogen than is reckoned here, so open jar and moving air; never leave it wet; fresh "
        "liquid and a fresh plate for the next piece.",
        would_change="another mesh, another electrolyte",
        about=situation.about,
    )


def collector_cautions(situation: Situation) -> list[Caution]:
    """That the electrolyte attacks the mesh, cell by cell.

    Parameters
    ----------
    situation : Situation
        What is about to be done.

    Returns
    -------
    list of Caution
        Empty where the mesh or the electrolyte is not said, and where the table does not refuse the two.
    """
    return [one for cell in situation.cells if (one := _caution(situation, cell)) is not None]
