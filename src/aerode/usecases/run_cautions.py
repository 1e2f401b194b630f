"""What can hurt at a run, said before the cell is wetted."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerode.cautions.collectors import ATTACKED, refused_mesh
from aerode.errors import AerodeError
from aerode.records.cautions import CautionLevel
from aerode.records.electrodes import Cell, Electrode
from aerode.usecases.cautions import CautionQuestion, mesh_metal, what_can_hurt
from aerode.usecases.usual_words import BEFORE_MEASURING

if TYPE_CHECKING:
    from aerode.records.cautions import Caution
    from aerode.store.bench_file import BenchFile

__all__ = ["RunCautions", "before_a_run"]


@dataclass(frozen=True, slots=True, kw_only=True)
class RunCautions:
    """What to read before the cell is wetted.

    `item` is the cell that `cautions` speak about, "" where no cell is described: then `standing`
    holds the usual words, and `why` says what describing the cell would tell.
    """

    item: str
    cautions: tuple[Caution, ...]
    standing: tuple[str, ...]
    why: str

    def lines(self) -> list[str]:
        """For a terminal, hardest first."""
        told = [
            f"{one.level.value} {one.hazard}: {one.headline}. {one.do}" for one in self.cautions
        ]
        return [*told, *(f"NOTE {text}" for text in self.standing)]


def before_a_run(bench: BenchFile, electrode: str) -> RunCautions:
    """What can hurt at a run of an electrode.

    Parameters
    ----------
    bench : BenchFile
        Open.
    electrode : str
        Its name; "" or an unknown one if it is not entered yet.

    Returns
    -------
    RunCautions
        The STOP and FIRST of its newest cell; where no cell is described, or the engine cannot
        judge it, the usual words (common practice, no source).
    """
    cells = bench.all(Cell, of=electrode) if electrode else []
    if not cells:
        why = "What this cell does in numbers is told once it is described: electrolyte, aluminium, jar."
        standing = (*BEFORE_MEASURING, *_of_mesh(bench, electrode))
        return RunCautions(item="", cautions=(), standing=standing, why=why)
    item = f"cell:{cells[-1].name}"
    try:
        sheet = what_can_hurt(bench, item, CautionQuestion())
    except AerodeError as problem:
        return RunCautions(
            item=item, cautions=(), standing=BEFORE_MEASURING, why=f"{problem.what}."
        )
    hard = tuple(one for one in sheet.cautions if one.level is not CautionLevel.NOTE)
    spoken = any(one.hazard != ATTACKED for one in hard)  # of hydrogen the mesh says little
    return RunCautions(
        item=item, cautions=hard, standing=() if spoken else BEFORE_MEASURING, why=""
    )


def _of_mesh(bench: BenchFile, electrode: str) -> tuple[str, ...]:
    """That salt water attacks the mesh of a piece whose cell is not described."""
    piece = bench.find(Electrode, electrode) if electrode else None
    found = None if piece is None else refused_mesh(mesh_metal(bench, piece), "chloride")
    if found is None:
        return ()
    row, serves = found
    return (
        f"Its mesh is {row.metal}, which serves {serves}. In salt water it {row.unloaded}: {row.effect}.",
    )
