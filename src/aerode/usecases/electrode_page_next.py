"""What comes next for an electrode on its way from the mesh to the first reading: one judgement for every page."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from aerode.measure.comparison.entrants import recipe_of
from aerode.physics.heat_gates import Dryness
from aerode.records.electrodes import Cell, Electrode, Outcome, RecipeState
from aerode.records.materials import Aluminium, Electrolyte
from aerode.records.runs import Run, RunSort
from aerode.usecases.electrode_page_dryness import dryness_of
from aerode.usecases.newest_pieces import RECENT
from aerode.usecases.off_shelf import offered

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.store.bench_file import BenchFile
    from aerode.usecases.electrode_page_dryness import DryLook

__all__ = ["MAKING", "PieceAct", "PieceNext", "cell_next", "next_for_piece"]


class PieceAct(StrEnum):
    """The acts that bring one piece from the bare mesh to its reading, in the order of the job."""

    COAT = "coat the piece"
    WEIGH = "weigh the drying piece"
    PRESS = "press the piece"
    ALUMINIUM = "enter the aluminium"
    ELECTROLYTE = "enter the electrolyte"
    CELL = "enter the cell"
    MEASURE = "measure an electrode"


MAKING = (PieceAct.COAT, PieceAct.WEIGH, PieceAct.PRESS)
"""What is done to the piece itself: no meter and no cell is needed for it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceNext:
    """The next act on one piece."""

    act: PieceAct
    why: str = ""
    instead: PieceAct | None = None
    """What follows for who never presses it; None where nothing is pressed next."""
    like: str = ""
    """The newest cell of another piece, where a cell is entered next: most of it is the same again."""
    read: bool = False
    """Whether it has its readings already and only a record is missing."""


@dataclass(frozen=True, slots=True)
class _Fellows:
    """How other pieces like it were made: that says what is still ahead of this one."""

    pressed: bool
    """Whether one like it is pressed; where there is none like it, any piece of the bench."""
    went_without: frozenset[PieceAct]
    """Stages that none of those that were measured went through: they are not asked for."""


def next_for_piece(bench: BenchFile, electrode: Electrode) -> PieceNext:
    """The next act on a piece, as the first page and its own page both say it.

    Bare mesh is coated; a coat is weighed until its weight is constant; a dry piece is pressed,
    unless those like it were measured without; then its cell is entered, and it is measured.

    Parameters
    ----------
    bench : BenchFile
        Open.
    electrode : Electrode
        As it stands on the bench.

    Returns
    -------
    PieceNext
        A bought or failed piece, one in a later state and one whose layers nobody named are not made
        here: their cell comes next, or their reading. A stage that no measured piece like it went
        through is left out, a piece that has its cell is not asked about heat, and one that has a
        run is measured.
    """
    if _has_run(bench, electrode.name):
        return PieceNext(act=PieceAct.MEASURE)
    rest = _to_read(bench, electrode.name)
    if not _is_made_here(electrode):
        return rest
    like = _fellows(bench, electrode)
    if not _coated(electrode):
        if electrode.mesh_mass is None and PieceAct.COAT in like.went_without:
            return rest
        return PieceNext(act=PieceAct.COAT, why=_WHY_COAT)
    if electrode.press or bench.all(Cell, of=electrode.name):
        return rest
    return _before_heat(dryness_of(bench, electrode), electrode, like, rest)


_WHY_COAT = "No coat of it is noted yet: weigh each one, wet or dry, and the sum is its loading."
_WHY_PRESS = "Its weight is constant: it may be pressed, warm or cold."
_AS_THE_OTHERS = "Other pieces here were pressed: an unpressed one is another thing."


def _before_heat(dry: DryLook, electrode: Electrode, like: _Fellows, rest: PieceNext) -> PieceNext:
    """Whether a coated piece is dry, and whether it is pressed at all."""
    answer = dry.answer.dryness if dry.answer is not None else None
    constant = answer is not None and answer.finding == Dryness.DRY
    known = constant or electrode.mass is not None
    skips = PieceAct.PRESS in like.went_without and not like.pressed
    if skips and (known or PieceAct.WEIGH in like.went_without):
        return rest
    if not known:
        why = dry.gate or (f"{dry.answer.headline}." if dry.answer else "")
        return PieceNext(act=PieceAct.WEIGH, why=why)
    if not like.pressed and not constant:
        return rest  # its finished mass was entered, and nobody here presses
    why = _AS_THE_OTHERS if like.pressed else _WHY_PRESS
    if dry.doubt:
        why = f"{why} But {dry.doubt}."
    return PieceNext(act=PieceAct.PRESS, why=why, instead=rest.act)


def _is_made_here(electrode: Electrode) -> bool:
    """Whether it is on its way from a weighed mesh, or named layers, to a finished piece."""
    named = any(layer.mix or layer.batch for layer in electrode.layers)
    done = electrode.recipe_state is not RecipeState.MIX or electrode.outcome is not Outcome.WHOLE
    return (named or electrode.mesh_mass is not None) and not done and not electrode.storage


def _coated(electrode: Electrode) -> bool:
    """Whether anything says that a coat is on it."""
    if electrode.mass is not None or electrode.press:
        return True
    if any(layer.coats or layer.dry_mass for layer in electrode.layers):
        return True
    bare = electrode.mesh_mass.value if electrode.mesh_mass is not None else 0.0
    return any(one.mass / one.pieces > bare for one in electrode.weighings)


def _fellows(bench: BenchFile, electrode: Electrode) -> _Fellows:
    """Those of its recipe and its settings; where there is none yet, what is pressed on this bench."""
    all_others = [one for one in bench.latest(Electrode, count=RECENT) if one.piece != electrode.piece]  # fmt: skip
    own = (recipe_of(electrode), electrode.factors)
    like = [one for one in all_others if (recipe_of(one), one.factors) == own]
    runs: Sequence[Run] = bench.latest(Run, count=4 * RECENT)
    read = {run.electrode for run in runs if run.sort is RunSort.LOADS and run.readings}
    pressed = any(one.press for one in like or all_others)
    measured = [one for one in like if one.name in read]
    seen = {
        PieceAct.COAT: any(_coated(one) for one in measured),
        PieceAct.WEIGH: any(one.weighings for one in measured),
        PieceAct.PRESS: any(one.press for one in measured),
    }
    return _Fellows(pressed, frozenset(act for act, met in seen.items() if measured and not met))


def _has_run(bench: BenchFile, name: str) -> bool:
    """Whether a run of it, or of a cell of it, is on the bench."""
    of = [name, *(cell.name for cell in bench.all(Cell, of=name))]
    return any(run.electrode in ("", name) for one in of for run in bench.all(Run, of=one))


def _to_read(bench: BenchFile, name: str) -> PieceNext:
    """What is missing before the first reading of a finished piece, in the order of the job.

    A bench that was measured without cells is not asked for them piece by piece: there the comparison
    says what it lacks.
    """
    if bench.count(Run) and not bench.count(Cell):
        return PieceNext(act=PieceAct.MEASURE)
    if not offered(bench, Aluminium):
        return PieceNext(
            act=PieceAct.ALUMINIUM,
            why="Two electrodes opposite different aluminium cannot be compared: name the sheet it is cut from.",
        )
    if not offered(bench, Electrolyte):
        return PieceNext(
            act=PieceAct.ELECTROLYTE,
            why="Salt in the water changes every reading: weighed once, it is known for all cells filled from it.",
        )
    return PieceNext(act=PieceAct.MEASURE) if bench.all(Cell, of=name) else cell_next(bench, name)


def cell_next(bench: BenchFile, name: str) -> PieceNext:
    """That the cell of a piece is entered next, whether it has been read already or not."""
    return PieceNext(
        act=PieceAct.CELL,
        why="What stands opposite what, in which water, how far apart: then no comparison has to ask for it.",
        like=next((one.name for one in bench.latest(Cell, count=1)), ""),
        read=any(run.readings for run in bench.all(Run, of=name)),
    )
