"""Where each condition that blocks a comparison can be put right: the record, and its field."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerode.errors import some_of
from aerode.records.electrodes import Cell
from aerode.records.materials import Electrolyte
from aerode.records.runs import Run
from aerode.usecases.run_cells import cell_of_bench_run, cells_of_run

if TYPE_CHECKING:
    from aerode.records.comparisons import Comparison
    from aerode.records.results import ConditionLine
    from aerode.store.bench_file import BenchFile

__all__ = ["Cause", "Cure", "cause_of", "cures_of"]

_OF_THE_CELL = {"aluminium": "aluminium", "gap": "gap", "salinity": "electrolyte"}
"""Conditions that the cell of a run tells, and its field."""
_SHORT = {"aluminium": "aluminium", "gap": "gap", "salinity": "water"}
"""The same in one word each, for a sentence that names several."""
_FIELDS = {"aluminium": "lot of aluminium", "gap": "gap", "electrolyte": "electrolyte", "mass_fraction": "salt", "wetted_area": "wetted area"}  # fmt: skip
_MOST = 8
"""Places that are named for one condition; more are the same act again."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cure:
    """One place where a condition can be put down."""

    words: str
    kind: str
    """The kind of the record: cell, electrolyte, electrode, run."""
    name: str
    """Its name; "" for one that has to be entered, of the electrode in `of`."""
    field: str
    of: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause:
    """What lies behind several conditions that block, and where it is put right first."""

    sentence: str
    cure: Cure


def cause_of(bench: BenchFile, found: Comparison) -> Cause | None:
    """The one cause behind what blocks a comparison: that pieces were read without a cell on the bench.

    The first page and the comparison both say it, and both lead to the same place.

    Parameters
    ----------
    bench : BenchFile
        Open.
    found : Comparison

    Returns
    -------
    Cause or None
        None where every run has its cell, and on a bench that knows no cells at all: there a word
        on what was the same for all is the shorter way.
    """
    if not bench.count(Cell):
        return None
    lacking: dict[str, Cure] = {}
    unknown: list[str] = []
    for line in found.conditions:
        if not line.blocks or line.key not in _OF_THE_CELL:
            continue
        missing = [one for one in _cures(bench, line) if one.kind == "cell" and not one.name]
        lacking |= {one.of: one for one in missing if one.of not in lacking}
        unknown += [_SHORT[line.key]] if missing else []
    if not lacking:
        return None
    has = "has no cell" if len(lacking) == 1 else "have no cell"
    what = " and ".join(filter(None, (", ".join(unknown[:-1]), unknown[-1])))
    their, are = "its" if len(lacking) == 1 else "their", "is" if len(unknown) == 1 else "are"
    return Cause(
        sentence=f"Blocked: {some_of(list(lacking), 3)} {has} on this bench, so {their} {what} {are} not known.",
        cure=next(iter(lacking.values())),
    )  # fmt: skip


def cures_of(bench: BenchFile, found: Comparison) -> dict[str, tuple[Cure, ...]]:
    """For each condition that blocks, by its key, where it can be put down: one place for each run that lacks it.

    Parameters
    ----------
    bench : BenchFile
        Open.
    found : Comparison

    Returns
    -------
    dict of str to tuple of Cure
        Runs of one cell share one place.
    """
    return {
        line.key: tuple(dict.fromkeys(_cures(bench, line)))[:_MOST]
        for line in found.conditions
        if line.blocks and line.key
    }


def _cures(bench: BenchFile, line: ConditionLine) -> list[Cure]:
    if line.key == "area":
        return [
            Cure(words=f"{name}: its wetted area", kind="electrode", name=name, field="wetted_area")
            for name in line.runs
        ]
    found: list[Cure] = []
    for name in line.runs:
        run = bench.find(Run, name)
        if run is not None:
            found.append(_of_run(bench, run, line))
    return found


def _of_run(bench: BenchFile, run: Run, line: ConditionLine) -> Cure:
    field = _OF_THE_CELL.get(line.key, "")
    if not field:
        return Cure(
            words=f"{run.name}: {line.condition}", kind="run", name=run.name, field=line.key
        )
    cell = cell_of_bench_run(bench, run).cell
    if cell is None and run.electrode and not cells_of_run(bench, run):
        return Cure(
            words=f"Enter the cell of {run.electrode}", kind="cell", name="", field=field,
            of=run.electrode,
        )  # fmt: skip
    if cell is None:
        return Cure(
            words=f"{run.name}: which cell it was in", kind="run", name=run.name, field="cell"
        )
    filled = bench.find(Electrolyte, cell.electrolyte) if line.key == "salinity" else None
    if filled is not None:
        return Cure(words=f"{filled.name}: its salt", kind="electrolyte", name=filled.name, field="mass_fraction")  # fmt: skip
    return Cure(
        words=f"{cell.name}: its {_FIELDS[field]}", kind="cell", name=cell.name, field=field
    )
