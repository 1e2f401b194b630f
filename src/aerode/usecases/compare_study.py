"""What a comparison looks at, read from the bench: all of a small one, and of a large one what bears on it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from aerode.measure.comparison.study import Study
from aerode.records.electrodes import Cell, Electrode, RecipeState
from aerode.records.instruments import Instrument
from aerode.records.materials import Electrolyte, PowderLot, Solution
from aerode.records.mixes import Batch, Mix
from aerode.records.runs import Run, RunSort
from aerode.usecases.log_charge import charges_logged
from aerode.usecases.newest_pieces import RECENT
from aerode.usecases.run_cells import first_stored
from aerode.usecases.shares_as_typed import in_per_cent
from aerode.usecases.weighed_dry import with_dry_weight

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.store.bench_file import BenchFile

__all__ = ["first_start", "study_of"]

_BLANK = (RecipeState.BLANK, RecipeState.BARE_MESH)
_MOST_OWNERS = 400
"""Electrodes and cells whose runs are read one by one; with more of them everything is read at once."""


def study_of(bench: BenchFile, electrodes: Sequence[str] = ()) -> Study:
    """The electrodes asked for and everything on the bench that bears on comparing them.

    Parameters
    ----------
    bench : BenchFile
    electrodes : sequence of str
        None for all that have a run of load steps, blanks and controls apart.

    Returns
    -------
    Study
        Of a large bench only the runs of the electrodes asked for, of controls and of blanks: others
        bear on nothing. A constant weight stands as the mass of a piece whose mass was not entered.

    Raises
    ------
    NotFoundError
        If an electrode is not on the bench.
    """
    found = _found(bench, electrodes)
    told = [with_dry_weight(in_per_cent(one, found)) for one in found.electrodes]
    return replace(found, electrodes=tuple(told))


def _found(bench: BenchFile, electrodes: Sequence[str]) -> Study:
    names = list(dict.fromkeys(electrodes))
    if names and bench.count(Electrode) > RECENT:
        part = _part_of_a_large_bench(bench, names)
        if part is not None:
            return part
    known = bench.all(Electrode)
    runs = bench.all(Run)
    cells = {cell.name: cell for cell in bench.all(Cell)}
    of_run = {run.name: run.electrode or _electrode_of(cells, run.cell) for run in runs}
    controls = {of_run[run.name] for run in runs if run.control}
    controls |= {e.name for e in known if e.control}
    if names:
        asked = [bench.get(Electrode, name) for name in names]
    else:
        measured = {of_run[run.name] for run in runs if run.sort is RunSort.LOADS}
        tried = measured | {of_run[run.name] for run in runs if run.sort is RunSort.SHORT_CIRCUIT}
        asked = [e for e in known if e.name in tried - controls and e.recipe_state not in _BLANK]
    return Study(
        electrodes=tuple(asked),
        controls=tuple(e for e in known if e.name in controls),
        runs=tuple(runs),
        cells=cells,
        blanks=tuple(e for e in known if e.recipe_state in _BLANK),
        entered=first_stored(bench, runs, cells.values()),
        logged=charges_logged(bench, runs),
        **_shelf(bench),
    )


def _shelf(bench: BenchFile) -> dict[str, Any]:
    return {
        "instruments": {i.name: i for i in bench.all(Instrument)},
        "mixes": {m.name: m for m in bench.all(Mix)},
        "batches": {b.name: b for b in bench.all(Batch)},
        "powders": {p.name: p for p in bench.all(PowderLot)},
        "solutions": {s.name: s for s in bench.all(Solution)},
        "electrolytes": {e.name: e for e in bench.all(Electrolyte)},
    }


def _electrode_of(cells: dict[str, Cell], cell: str) -> str:
    return cells[cell].electrode if cell in cells else ""


def _part_of_a_large_bench(bench: BenchFile, names: list[str]) -> Study | None:
    """The study from those records alone that bear on it; None where these are too many."""
    asked = [bench.get(Electrode, name) for name in names]
    controls = _controls(bench)
    blanks = [one for state in _BLANK for one in bench.saying(Electrode, "recipe_state", state.value)]  # fmt: skip
    pieces = {*names, *controls, *(one.name for one in blanks)}
    if len(pieces) > _MOST_OWNERS:
        return None
    cells = {
        cell.name: cell
        for cell in bench.around(Cell, sorted(pieces), (Electrode,), field="electrode")
    }
    if len(cells) > _MOST_OWNERS:
        return None
    owners = sorted(pieces | cells.keys())
    found = bench.around(Run, owners, (Electrode, Cell), field="electrode")
    for run in found:  # of a cell that belongs to another electrode than the run says
        if run.cell and run.cell not in cells and (cell := bench.find(Cell, run.cell)):
            cells[cell.name] = cell
    runs = [run for run in found if (run.electrode or _electrode_of(cells, run.cell)) in pieces]
    standing = [one for name in controls if (one := bench.find(Electrode, name)) is not None]
    return Study(
        electrodes=tuple(asked), controls=tuple(standing), runs=tuple(runs), cells=cells,
        blanks=tuple(blanks[::-1]), entered=first_stored(bench, runs, cells.values()),
        logged=charges_logged(bench, runs), **_shelf(bench),
    )  # fmt: skip


def _controls(bench: BenchFile) -> list[str]:
    """The electrodes that are controls by their own word or by that of one of their runs, oldest first."""
    said = [one.name for one in bench.saying(Electrode, "control", True)]
    for run in bench.saying(Run, "control", True):
        cell = bench.find(Cell, run.cell) if run.cell and not run.electrode else None
        said.append(run.electrode or (cell.electrode if cell else ""))
    return list(dict.fromkeys(name for name in said[::-1] if name))


def first_start(bench: BenchFile, study: Study) -> tuple[Run, ...]:
    """The runs whose dates say whether a claim came first: all of the bench.

    Of a large bench the study holds only some.
    """
    return study.runs if len(study.runs) == bench.count(Run) else tuple(bench.all(Run))
