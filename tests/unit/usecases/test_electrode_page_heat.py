"""What a plate may do to a piece, said before it is heated."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from aerode.records.electrodes import Appliance, Electrode, Layer, Press, StorageState
from aerode.records.marks import Entry, Share
from aerode.records.materials import DataSheet, Function, PowderLot, Solution
from aerode.records.mixes import Ingredient, Mix, Portion
from aerode.store.bench_file import BenchFile
from aerode.usecases.electrode_page_heat import heat_lines, hurt_title

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
    assert line.rests[0].startswith(
        "polystyrene softens at about 100 °C and must stay below 200 °C"
    )
    assert line.limits_at == ()


def test_a_house_rule_leads_to_the_field_that_takes_its_place(bench: BenchFile) -> None:
    """PVB has no published line: said in plain words, with its jar; a stored limit then counts."""
    jar = Solution(name="glue", polymer="PVB", solids=Entry(value=0.1), liquid=(Share(of="ethanol", fraction=1.0),))  # fmt: skip
    portions = (Portion(of="soot", mass=Entry(value=8e-3)), Portion(of="glue", shelf=Ingredient.SOLUTION, mass=Entry(value=1e-2)))  # fmt: skip
    bench.put_all([jar, Mix(name="M", portions=portions)])
    (line,) = heat_lines(bench, _piece("M"))
    assert line.limits_at == (("PVB", "solution", "glue"),)
    assert (
        "our own rule of 120 °C stands until the limit of its data sheet is entered"
        in line.rests[0]
    )
    assert "72 °C to 120 °C" in line.said

    bench.put(replace(jar, data_sheet=DataSheet(title="Maker Z", heat_limit=Entry(value=423.15))))
    (line,) = heat_lines(bench, _piece("M"))
    assert line.limits_at == ()
    assert "72 °C to 150 °C" in line.said


def test_what_is_not_on_file_is_no_heat(bench: BenchFile) -> None:
    """No line for the plastic: said as such, beside the layer that has one."""
    lines = heat_lines(bench, _piece("mix of jar", "mix of odd jar"))

    assert [line.known for line in lines] == [True, False]
    assert lines[1].said.startswith("no heat")


def test_a_piece_of_nothing_named_says_nothing(bench: BenchFile) -> None:
    """A bought piece has no window."""
    assert heat_lines(bench, Electrode(name="E2")) == ()


HOT = Press(plate_temperature=Entry(value=373.15))
COOL = Press(plate_temperature=Entry(value=295.0), means="clamp")


@pytest.mark.parametrize(
    ("press", "wetted", "coated_since", "title"),
    [
        ((), False, False, "Before heat or water touches it"),
        ((COOL,), False, False, "Before heat or water touches it"),
        ((HOT,), False, False, "It was heated; before water touches it"),
        ((Press(appliance=Appliance.HEAT_GUN),), False, False, "It was heated; before water touches it"),
        ((), True, False, "It was wetted; before heat touches it"),
        ((HOT,), True, False, "It was heated and wetted; what holds for the next time"),
        ((HOT,), False, True, "A coat was put on since it was heated; before heat or water touches it again"),
    ],
)  # fmt: skip
def test_the_heading_says_what_was_done_already(
    press: tuple[Press, ...], *, wetted: bool, coated_since: bool, title: str
) -> None:
    """Nothing that was done is announced as still to come; a clamp in a cold room is no heat."""
    piece = Electrode(name="E1", press=press)
    assert hurt_title(piece, wetted=wetted, coated_since=coated_since) == title


def test_a_rinsed_piece_was_wetted() -> None:
    """Water went over it before any run."""
    piece = Electrode(name="E1", storage=(StorageState(state="washed", rinsed=True),))
    assert hurt_title(piece, wetted=False) == "It was wetted; before heat touches it"
