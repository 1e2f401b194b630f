"""In which cell a run was taken, and what the cell tells of it."""

from __future__ import annotations

import pytest

from aerode.measure.comparison.wording import shortened
from aerode.measure.run_cells import FROM_CELL, cell_of_run, from_the_cell, lot_of
from aerode.records.electrodes import Cell
from aerode.records.marks import Condition, Entry, Known
from aerode.records.runs import Run

ONE = Cell(name="one", electrode="T1", aluminium="sheet 1", gap=Entry(value=0.005))
TWO = Cell(name="two", electrode="T1", aluminium="sheet 2")
OTHER = Cell(name="other", electrode="T2")
RUN = Run(name="r", electrode="T1", started="2026-05-09T12:00:00+00:00")


def test_what_the_run_names_goes_first() -> None:
    """A named cell is taken without a word; one that is not on the bench is no cell."""
    named = Run(name="r", electrode="T1", cell="two")
    assert cell_of_run(named, [ONE, TWO]).cell is TWO
    assert cell_of_run(named, [ONE, TWO]).how == ""
    assert cell_of_run(named, [ONE]).cell is None


def test_the_only_cell_of_the_electrode_is_taken_and_said() -> None:
    """A cell of another electrode is never taken."""
    found = cell_of_run(RUN, [OTHER, ONE])
    assert (found.cell, found.how) == (ONE, "the only cell of T1 on this bench")
    assert cell_of_run(RUN, [OTHER]).cell is None


@pytest.mark.parametrize(
    ("entered", "name"),
    [
        ({"one": "2026-05-09T11:00:00Z", "two": "2026-05-09T13:00:00Z"}, "one"),
        ({"one": "2026-05-09T10:00:00Z", "two": "2026-05-09T11:00:00Z"}, ""),
        ({"one": "2026-05-09T13:00:00Z", "two": "2026-05-09T14:00:00Z"}, ""),
        ({}, ""),
    ],
)
def test_of_several_cells_only_one_may_fit_in_time(entered: dict[str, str], name: str) -> None:
    """One that was there before the run, and no other: else nobody knows."""
    found = cell_of_run(RUN, [ONE, TWO], entered)
    assert (found.cell.name if found.cell else "") == name
    assert bool(found.how) == bool(name)


def test_the_cell_tells_gap_and_lot_unless_the_run_does() -> None:
    """The gap comes with the record it is from; a lot noted of the run goes before the cell's."""
    told = from_the_cell("gap", ONE, None)
    assert told is not None
    assert (told.value, told.how, told.known) == (0.005, FROM_CELL, Known.MEASURED)
    assert from_the_cell("gap", TWO, None) is None
    assert lot_of(RUN, ONE) == "sheet 1"
    noted = Run(name="r", electrode="T1", aluminium=Condition(text="can"))
    assert lot_of(noted, ONE) == "can"


@pytest.mark.parametrize("length", range(12, 60))
def test_a_line_is_never_cut_within_an_interval(length: int) -> None:
    """Whatever the length: no bracket is left open, and no ratio stands without its interval."""
    cut = shortened(
        "nor do the pieces differ: B1 over A1 1.28 [0.96, 1.70] in current density.", length
    )
    assert cut.count("[") == cut.count("]")
    assert ("1.28" in cut) == ("[0.96, 1.70]" in cut)
