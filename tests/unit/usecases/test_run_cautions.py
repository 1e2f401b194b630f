"""What can hurt is said before the cell is wetted."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from aerode.cautions import lookup
from aerode.cautions.collectors import ATTACKED
from aerode.records.electrodes import Cell, Electrode
from aerode.records.marks import Entry
from aerode.records.materials import Aluminium, Electrolyte, MeshCard
from aerode.records.places import Airing, Room
from aerode.reference import wetted_metals
from aerode.store.bench_file import BenchFile
from aerode.usecases.cautions import what_can_hurt
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


def _steel(bench: BenchFile, mesh: str, salt: str) -> None:
    bench.put(MeshCard(name="M", material=mesh))
    bench.put(Electrode(name="S1", mesh="M", wetted_area=Entry(value=9e-4)))
    bench.put(Electrolyte(name="liquid", salt=salt, mass_fraction=Entry(value=0.1)))
    area = Entry(value=9e-4)
    cell = Cell(name="cell S1", electrode="S1", electrolyte="liquid", aluminium="foil", aluminium_area=area)  # fmt: skip
    bench.put(cell)


def test_plain_steel_in_salt_water_is_told_before_it_is_wetted(bench: BenchFile) -> None:
    """The row of the table of materials, with its source, beside the usual words on hydrogen."""
    _steel(bench, "mild steel", "NaCl")
    (row,) = wetted_metals("plain steel mesh", electrolyte="chloride")
    found = before_a_run(bench, "S1")
    (caution,) = [one for one in found.cautions if one.hazard == ATTACKED]

    assert caution.level.value == "FIRST"
    assert row.effect in caution.headline
    assert row.unloaded in caution.basis
    assert caution.source == (lookup.cite_key(row.source),)
    assert caution.unverified
    assert found.standing or any(one.hazard == "hydrogen" for one in found.cautions)


def test_the_mesh_alone_does_not_hush_the_usual_words(bench: BenchFile) -> None:
    """In a room where hydrogen is a NOTE only, the FIRST on the mesh stands beside the usual words."""
    _steel(bench, "mild steel", "NaCl")
    bench.put(Room(name="shed", volume=Entry(value=40.0), airing=Airing.WINDOW))
    found = before_a_run(bench, "S1")

    assert [one.hazard for one in found.cautions] == [ATTACKED]
    assert "jar stays open" in " ".join(found.standing)


@pytest.mark.parametrize(
    ("mesh", "salt"), [("mild steel", "KOH"), ("stainless steel mesh", "NaCl")]
)
def test_a_mesh_that_the_table_does_not_refuse_is_passed_over(
    bench: BenchFile, mesh: str, salt: str
) -> None:
    """Plain steel stays passive in lye, stainless serves in salt water: no such FIRST."""
    _steel(bench, mesh, salt)
    sheet = what_can_hurt(bench, "cell:cell S1")

    assert ATTACKED not in {one.hazard for one in sheet.cautions}


def test_without_a_cell_the_mesh_of_the_piece_is_still_told(bench: BenchFile) -> None:
    """Beside the usual words: that salt water rusts it overnight."""
    bench.put(Electrode(name="S2", mesh="plain steel mesh"))

    assert "rusts overnight" in before_a_run(bench, "S2").lines()[-1]
