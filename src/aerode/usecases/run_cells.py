"""The cell of a run: which one it was, which runs may have been in one, and putting it down afterwards."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from aerode.errors import InputError
from aerode.measure.comparison.conditions import CONDITIONS as KINDS_OF_CONDITION
from aerode.measure.comparison.conditions import FIRST_SESSION_OF
from aerode.measure.comparison.entrants import session_of
from aerode.measure.comparison.study import OF_A_LOAD
from aerode.measure.run_cells import SAID_SAME, CellOfRun, cell_of_run, from_the_cell
from aerode.records.electrodes import Cell, Electrode
from aerode.records.marks import Condition, Known
from aerode.records.materials import Electrolyte
from aerode.records.runs import Run
from aerode.usecases.run_keeping import keep_run, read_run

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from aerode.store.bench_file import BenchFile

__all__ = [
    "OnFile",
    "cell_of_bench_run",
    "cells_of_run",
    "counted_without_answer",
    "first_stored",
    "name_cell",
    "on_file_of_run",
    "runs_without_cell",
    "taken_cell_words",
]


def first_stored(bench: BenchFile, runs: Iterable[Run], cells: Iterable[Cell]) -> dict[str, str]:
    """When each cell was first stored, of the electrodes that have several and a run that names none.

    Parameters
    ----------
    bench : BenchFile
        Open.
    runs : iterable of Run [record]
    cells : iterable of Cell [record]

    Returns
    -------
    dict of str to str
        Cell to moment, ISO 8601.
    """
    asked = {run.electrode for run in runs if run.electrode and not run.cell}
    own: dict[str, list[str]] = {}
    for cell in cells:
        if cell.electrode in asked:
            own.setdefault(cell.electrode, []).append(cell.name)
    several = [name for names in own.values() if len(names) > 1 for name in names]
    return {name: bench.history(Cell, name)[0].at for name in several}


def cells_of_run(bench: BenchFile, run: Run) -> list[Cell]:
    """The cells that a run can have been in: the one it names and those of its electrode."""
    own = bench.all(Cell, of=run.electrode) if run.electrode else []
    named = bench.find(Cell, run.cell) if run.cell else None
    return own if named is None or named in own else [named, *own]


def cell_of_bench_run(bench: BenchFile, run: Run) -> CellOfRun:
    """The cell of a run: the one it names, else the only one it can have been; and why."""
    cells = cells_of_run(bench, run)
    return cell_of_run(run, cells, first_stored(bench, [run], cells))


@dataclass(frozen=True, slots=True, kw_only=True)
class OnFile:
    """What other records of the bench tell of a condition that a run leaves open."""

    words: str
    """The value and where it is from, for people."""
    known: Known
    kind: str = ""
    """The kind of the record that tells it, and its name; "" where the runs of the bench do."""
    name: str = ""


def on_file_of_run(bench: BenchFile, run: Run) -> dict[str, OnFile]:
    """What the cell of a run, and the electrolyte in it, tell of its conditions, by condition.

    A condition of which the run states a value is not in it: that goes first. The mere word "same"
    does not: what is known stands beside it.

    Parameters
    ----------
    bench : BenchFile
        Open.
    run : Run [record]

    Returns
    -------
    dict of str to OnFile
    """
    at = cell_of_bench_run(bench, run)
    cell = at.cell
    found = _fresh(bench, run)
    if cell is None:
        return found
    electrolyte = bench.find(Electrolyte, cell.electrolyte) if cell.electrolyte else None
    where = f"{cell.name}, {at.how}" if at.how else cell.name
    for kind in KINDS_OF_CONDITION:
        stated: Condition = getattr(run, kind.field)
        told = from_the_cell(kind.field, cell, electrolyte)
        if stated.value is not None or told is None or told.value is None:
            continue
        salt = kind.field == "salinity" and electrolyte is not None
        of = f"{electrolyte.name} in {where}" if salt and electrolyte is not None else where
        found[kind.field] = OnFile(
            words=f"{kind.shown(told.value)} {kind.unit}, {told.how} ({of})", known=told.known,
            kind="electrolyte" if salt else "cell",
            name=electrolyte.name if salt and electrolyte is not None else cell.name,
        )  # fmt: skip
    if cell.aluminium and run.aluminium.text.lower() in {"", *SAID_SAME}:
        found["aluminium"] = OnFile(
            words=f"lot {cell.aluminium}, from the cell's record ({where})", known=Known.MEASURED,
            kind="cell", name=cell.name,
        )  # fmt: skip
    return found


def _fresh(bench: BenchFile, run: Run) -> dict[str, OnFile]:
    """What is told by the first session of a piece: it was fresh that day, as a comparison takes it too."""
    piece = bench.find(Electrode, run.electrode) if run.electrode else None
    if piece is None or run.sort not in OF_A_LOAD:
        return {}
    states = dict.fromkeys((piece.piece, piece.name))
    loaded = [one for name in states for one in bench.all(Run, of=name) if one.sort in OF_A_LOAD]
    if not loaded or session_of(loaded[0]) != session_of(run):
        return {}
    fields = ("hours_wet", "charge_before")
    told = OnFile(words=FIRST_SESSION_OF.format("this piece"), known=Known.SAME)
    return {field: told for field in fields if getattr(run, field).known is Known.MAY_DIFFER}


def runs_without_cell(bench: BenchFile, cell: Cell) -> tuple[str, ...]:
    """The runs of a cell's electrode that name no cell: they may have been in this one, oldest first."""
    return tuple(run.name for run in bench.all(Run, of=cell.electrode) if not run.cell)


def counted_without_answer(bench: BenchFile, cell: Cell) -> str:
    """Which runs that name no cell count as in this one all the same, and why, in one sentence; "" for none."""
    counted = [
        (name, how)
        for name in runs_without_cell(bench, cell)
        if (how := _taken_as(bench, name, cell))
    ]
    if not counted:
        return ""
    names = ", ".join(name for name, _ in counted)
    counts = "counts" if len(counted) == 1 else "count"
    return f"As long as nobody says otherwise, {names} {counts} as taken in {cell.name}: it is {counted[0][1]}"


def _taken_as(bench: BenchFile, run: str, cell: Cell) -> str:
    at = cell_of_bench_run(bench, bench.get(Run, run))
    return at.how if at.cell is not None and at.cell.name == cell.name else ""


def taken_cell_words(bench: BenchFile, run: Run) -> str:
    """In which cell a run counts as taken although nobody said so, in one sentence; "" where somebody did.

    Parameters
    ----------
    bench : BenchFile
        Open.
    run : Run [record]
    """
    at = cell_of_bench_run(bench, run)
    if at.cell is not None and at.how:
        return f"No cell was named: this run counts as taken in {at.cell.name}, {at.how}"
    own = bench.all(Cell, of=run.electrode) if run.electrode else []
    if len(own) < 2 or run.readings or run.cell != own[-1].name:
        return ""
    return f"Put down as in {run.cell}, the newest of {len(own)} cells of {run.electrode}"


def name_cell(bench: BenchFile, cell: str, runs: Sequence[str]) -> tuple[str, ...]:
    """Put down that these runs were in this cell.

    Parameters
    ----------
    bench : BenchFile
        Open for writing.
    cell : str
    runs : sequence of str

    Returns
    -------
    tuple of str
        The runs that were changed; one that names this cell already is left as it is.

    Raises
    ------
    NotFoundError
        No cell, or no run, of that name.
    InputError
        A run is of another electrode than the cell; nothing is stored then.
    """
    found = bench.get(Cell, cell)
    stored = [read_run(bench, name) for name in runs]
    for one in stored:
        if one.run.electrode and one.run.electrode != found.electrode:
            raise InputError(
                f"{one.run.name} was of {one.run.electrode}, and {cell} holds {found.electrode}",
                where="cell",
                allowed=f"a cell of {one.run.electrode}",
                next_step=f"enter the cell of {one.run.electrode}, or choose another",
            )
    changed = [one for one in stored if one.run.cell != cell]
    for one in changed:
        keep_run(bench, replace(one.run, cell=cell), one, why=f"it was in {cell}")
    return tuple(one.run.name for one in changed)
