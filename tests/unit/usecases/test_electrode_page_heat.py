"""What a plate may do to a piece, said before it is heated."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from aerode.records.electrodes import Electrode, Layer
from aerode.records.marks import Entry, Share
from aerode.records.materials import Function, PowderLot, Solution
from aerode.records.mixes import Ingredient, Mix, Portion
from aerode.store.bench_file import BenchFile
from aerode.usecases.electrode_page_heat import heat_lines

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[BenchFile]:
    """Two mixes: one bound with polystyrene, one with a plastic that is not on file."""
    with BenchFile.create(tmp_path / "shed.aerode", title="Net shed") as made:
        made.put(PowderLot(name="soot", substance="carbon black", function=Function.CONDUCTOR))
        for jar, polymer in (("jar", "polystyrene"), ("odd jar", "bottle label")):
            made.put(
                Solution(
                    name=jar, polymer=polymer, liquid=(Share(of="ethyl acetate", fraction=1.0),),
                    solids=Entry(value=0.1), dry_density=Entry(value=1050.0),
                )
            )  # fmt: skip
            portions = (
                Portion(of="soot", mass=Entry(value=8e-3)),
                Portion(of=jar, shelf=Ingredient.SOLUTION, mass=Entry(value=10e-3)),
            )
            made.put(Mix(name=f"mix of {jar}", portions=portions))
        yield made


def _piece(*mixes: str) -> Electrode:
    return Electrode(name="E1", layers=tuple(Layer(mix=mix) for mix in mixes))


def test_the_window_stands_there_before_anything_was_pressed(bench: BenchFile) -> None:
    """Polystyrene softens at 100 degC and has its line at 200 degC: both with their status."""
    (line,) = heat_lines(bench, _piece("mix of jar", "mix of jar"))

    assert "100 °C to 200 °C" in line.said
    assert line.known
    assert line.rests[0].startswith("polystyrene: ")
    assert "verified" in line.rests[0]


def test_what_is_not_on_file_is_no_heat(bench: BenchFile) -> None:
    """No line for the plastic: said as such, beside the layer that has one."""
    lines = heat_lines(bench, _piece("mix of jar", "mix of odd jar"))

    assert [line.known for line in lines] == [True, False]
    assert lines[1].said.startswith("no heat")


def test_a_piece_of_nothing_named_says_nothing(bench: BenchFile) -> None:
    """A bought piece has no window."""
    assert heat_lines(bench, Electrode(name="E2")) == ()
