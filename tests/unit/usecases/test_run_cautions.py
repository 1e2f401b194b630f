"""What can hurt is said before the cell is wetted."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from aerode.records.electrodes import Cell, Electrode
from aerode.records.marks import Entry
from aerode.records.materials import Aluminium, Electrolyte
from aerode.store.bench_file import BenchFile
from aerode.usecases.run_cautions import before_a_run

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[BenchFile]:
    """One electrode and a jar of lye."""
    with BenchFile.create(tmp_path / "shed.aerode", title="Net shed") as made:
        made.put(Electrode(name="E1", wetted_area=Entry(value=9e-4)))
        made.put(Electrolyte(name="lye", salt="KOH", mass_fraction=Entry(value=0.2)))
        made.put(Aluminium(name="foil"))
        yield made


def test_the_usual_words_stand_where_no_cell_is_described(bench: BenchFile) -> None:
    """Hydrogen, lye and heat are named, and what describing the cell would tell."""
    for name in ("E1", "not entered yet", ""):
        found = before_a_run(bench, name)
        assert found.item == ""
        assert [line[:5] for line in found.lines()] == ["NOTE "] * 3
        assert "jar stays open" in found.lines()[0]
        assert "goggles" in found.lines()[1]
        assert "described" in found.why


def test_a_described_cell_speaks_for_itself(bench: BenchFile) -> None:
    """A cell of lye is judged by the engine: its hard cautions stand there with what to do first."""
    bench.put(Cell(name="cell E1", electrode="E1", electrolyte="lye", aluminium="foil"))
    found = before_a_run(bench, "E1")

    assert found.item == "cell:cell E1"
    assert found.cautions
    assert {one.level.value for one in found.cautions} <= {"STOP", "FIRST"}
    assert any("lye" in line.lower() for line in found.lines())
    assert found.standing == ()
