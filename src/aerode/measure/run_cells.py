"""In which cell a run was taken: the one it names, or the only one it can have been; and what that cell tells of it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from aerode.records.marks import Condition, Known

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from aerode.records.electrodes import Cell
    from aerode.records.materials import Electrolyte
    from aerode.records.runs import Run

__all__ = [
    "FROM_CELL",
    "FROM_ELECTROLYTE",
    "SAID_SAME",
    "CellOfRun",
    "cell_of_run",
    "from_the_cell",
    "lot_of",
]

SAID_SAME = frozenset({"same", "same for all"})
"""Words by which a run says that a condition was as in the other runs; they are no name of a lot."""
FROM_CELL = "from the cell's record"
FROM_ELECTROLYTE = "from the electrolyte's record"


@dataclass(frozen=True, slots=True)
class CellOfRun:
    """The cell of a run, and why it is that one.

    Parameters
    ----------
    cell : Cell or None [record]
    how : str
        "" where the run names it itself; else why it can only be this one.
    """

    cell: Cell | None = None
    how: str = ""


def cell_of_run(run: Run, cells: Iterable[Cell], entered: Mapping[str, str] | None = None) -> CellOfRun:  # fmt: skip
    """The cell that a run names; else the one cell of its electrode, or the only one there was when it began.

    Parameters
    ----------
    run : Run [record]
    cells : iterable of Cell [record]
    entered : mapping of cell name to moment, optional
        When each cell was first stored, ISO 8601; asked only where an electrode has several.

    Returns
    -------
    CellOfRun
        With no cell where the run names none and several, or none, are possible.

    Examples
    --------
    >>> from aerode.records.electrodes import Cell
    >>> from aerode.records.runs import Run
    >>> cell_of_run(Run(name="r", electrode="T1"), [Cell(name="c", electrode="T1")]).how
    'the only cell of T1 on this bench'
    """
    every = list(cells)
    if run.cell:
        return CellOfRun(next((cell for cell in every if cell.name == run.cell), None))
    own = [cell for cell in every if run.electrode and cell.electrode == run.electrode]
    if len(own) == 1:
        return CellOfRun(own[0], f"the only cell of {run.electrode} on this bench")
    began = _moment(run.started)
    there = [
        cell for cell in own
        if began is not None and (at := _moment((entered or {}).get(cell.name, ""))) and at <= began
    ]  # fmt: skip
    if len(there) == 1:
        return CellOfRun(there[0], f"the only cell of {run.electrode} when the run began")
    return CellOfRun()


def _moment(text: str) -> datetime | None:
    """A moment with its time; a date alone tells no order within the day."""
    if "T" not in text:
        return None
    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        return None
    return found if found.tzinfo is not None else found.replace(tzinfo=UTC)


def from_the_cell(
    field: str, cell: Cell | None, electrolyte: Electrolyte | None
) -> Condition | None:
    """What the cell of a run, or the electrolyte in it, tells of a condition that the run leaves open.

    Parameters
    ----------
    field : str
        Of the run: "gap", "salinity".
    cell : Cell or None [record]
    electrolyte : Electrolyte or None [record]
        The batch that the cell names, where it is on the shelf.

    Returns
    -------
    Condition or None
        Measured, with `how` saying from which record; None where nothing is told.
    """
    if field == "gap" and cell is not None and cell.gap is not None:
        told, how = cell.gap, FROM_CELL
    elif field == "salinity" and electrolyte is not None and electrolyte.mass_fraction is not None:
        told, how = electrolyte.mass_fraction, FROM_ELECTROLYTE
    else:
        return None
    return Condition(
        known=Known.MEASURED, value=told.value, standard_uncertainty=told.standard_uncertainty, how=how
    )  # fmt: skip


def lot_of(run: Run, cell: Cell | None) -> str:
    """The lot of aluminium of a run: as noted of the run, else as its cell names it; "" where neither does."""
    text = run.aluminium.text
    if text and text.lower() not in SAID_SAME:
        return text
    return cell.aluminium if cell is not None else ""
