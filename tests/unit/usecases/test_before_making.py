"""What is read on a form before a pot is weighed, a piece is coated, or plates are heated."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from aerode.records.electrodes import Electrode, Layer, Press
from aerode.records.marks import Entry, Share
from aerode.records.materials import Function, PowderLot, Solution
from aerode.records.mixes import Batch, Ingredient, Mix, Portion
from aerode.store.bench_file import BenchFile
from aerode.usecases.before_making import before_electrode, before_pot, before_press
from aerode.usecases.cautions import what_can_hurt
from aerode.usecases.electrode_page_acts import typed_press
from aerode.usecases.electrode_page_heat import heat_lines
from aerode.usecases.mix import MixQuestion
from aerode.usecases.mix_preview import look_at_mix
from aerode.usecases.unlikely_pieces import ask_of_press
from aerode.usecases.usual_words import BEFORE_MAKING

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[BenchFile]:
    """A mix bound with PVB in ethanol, and a pot of it."""
    with BenchFile.create(tmp_path / "shed.aerode", title="Net shed") as made:
        portions = (
            Portion(of="soot", mass=Entry(value=8e-3)),
            Portion(of="glue", shelf=Ingredient.SOLUTION, mass=Entry(value=1e-2)),
        )
        made.put_all([
            PowderLot(name="soot", substance="carbon black", function=Function.CONDUCTOR),
            Solution(name="glue", polymer="PVB", solids=Entry(value=0.1), dry_density=Entry(value=1080.0),
                     liquid=(Share(of="ethanol", fraction=1.0),)),
            Mix(name="M", portions=portions),
            Batch(name="M pot 1", mix="M", portions=portions),
        ])  # fmt: skip
        yield made


def test_a_pot_stands_under_the_cautions_of_its_mix(bench: BenchFile) -> None:
    """The very sheet that the page of the mix shows, for the amounts of the dose sheet where one is followed."""
    ((mix, sheet),) = before_pot(bench, "M").sheets
    assert (mix, sheet) == ("M", what_can_hurt(bench, "mix:M"))
    assert {one.hazard for one in sheet.cautions} >= {"flammable liquid", "dust"}

    dose = MixQuestion(area="9 cm^2", loading="25 mg/cm^2", electrodes=8)
    ((_, of_dose),) = before_pot(bench, "M", dose).sheets
    assert of_dose == look_at_mix(bench, "M", dose).sheet
    assert of_dose != sheet


@pytest.mark.parametrize("mix", ["", "nobody's mix"])
def test_a_pot_of_no_known_mix_stands_under_the_usual_words(bench: BenchFile, mix: str) -> None:
    """Never under nothing."""
    found = before_pot(bench, mix)
    assert (found.sheets, found.usual) == ((), BEFORE_MAKING)


@pytest.mark.parametrize("field", [{"layers.0.mix": "M"}, {"layers.1.batch": "M pot 1"}])
def test_a_piece_is_told_of_its_mix_and_of_the_plate(bench: BenchFile, field: dict[str, str]) -> None:  # fmt: skip
    """By its mix or its pot; the same line on heat as on the page of a piece that stands on the bench."""
    found = before_electrode(bench, field)
    batch = field.get("layers.1.batch", "")
    assert [mix for mix, _ in found.sheets] == ["M"]
    assert found.usual == ()
    layer = Layer(mix=field.get("layers.0.mix", ""), batch=batch)
    assert found.heat == heat_lines(bench, Electrode(name="E", layers=(layer,)))
    assert "72 °C to 120 °C" in found.heat[0].said


def test_a_piece_of_nothing_named_stands_under_the_usual_words(bench: BenchFile) -> None:
    """A blank form, and one with a mix that is being typed."""
    for texts in ({}, {"layers.0.mix": "M pl"}):
        found = before_electrode(bench, texts)
        assert (found.sheets, found.usual, found.heat) == ((), BEFORE_MAKING, ())


def test_a_piece_that_is_made_is_told_of_heat_alone(bench: BenchFile) -> None:
    """Its coat is on; a plate may still come."""
    found = before_electrode(bench, {"layers.0.mix": "M"}, made=True)
    assert (found.sheets, found.usual) == ((), ())
    assert found.heat


def test_a_plate_past_the_line_is_told_while_it_is_typed(bench: BenchFile) -> None:
    """190 degC on PVB: the same cautions of which it is asked before it is stored; 100 degC says nothing."""
    piece = Electrode(name="E", layers=(Layer(mix="M"),))
    (hot,) = before_press(bench, piece, {"plate_temperature": "190 °C"})
    assert hot.level.value == "STOP"
    assert hot.headline in ask_of_press(bench, piece, _press("190 °C"))
    found = before_electrode(bench, {"layers.0.mix": "M", "press.0.plate_temperature": "190 °C"})
    assert [one.headline for one in found.past] == [
        hot.headline, "press 1: nobody knows yet whether the coat is dry",
    ]  # fmt: skip

    assert before_press(bench, piece, {"plate_temperature": "100 °C"}) == ()
    assert before_press(bench, piece, {"plate_temperature": "190 °C", "means": "muffle kiln"}) == ()


def test_what_is_half_typed_says_nothing(bench: BenchFile) -> None:
    """No refusal stands between two keys."""
    piece = Electrode(name="E", layers=(Layer(mix="M"),))
    for text in ("", "1x", "190 °C ±"):
        assert before_press(bench, piece, {"plate_temperature": text}) == ()


def _press(plate: str) -> Press:
    press, _ = typed_press({"plate_temperature": plate})
    assert press is not None
    return press
