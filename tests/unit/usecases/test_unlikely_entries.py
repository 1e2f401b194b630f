"""What is asked before it is stored, and lists of fixed words as people write them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from aerode.records.instruments import Instrument, Sort
from aerode.records.materials import Function, PowderLot, Solution
from aerode.records.places import People, Room
from aerode.store.bench_file import BenchFile
from aerode.usecases.entering import enter
from aerode.usecases.on_file import on_file

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[BenchFile]:
    """An empty bench."""
    with BenchFile.create(tmp_path / "shed.aerode", title="Net shed") as made:
        yield made


def test_more_than_the_whole_echoes_what_was_typed(bench: BenchFile) -> None:
    """A field in per cent names its bounds in per cent, and never offers 0.07."""
    powder = {"name": "char", "substance": "biochar", "function": "active carbon"}
    (fault,) = enter(bench, "powder", {**powder, "moisture": "120 %"}).faults
    assert fault.what == "120 % is more than the whole"
    assert fault.allowed == "0 to 100 %, with its sign, as in 7 %"


def test_a_share_typed_as_a_part_of_one_is_asked_about(bench: BenchFile) -> None:
    """0.07 % of moisture: was 7 % meant? Nothing is stored until somebody is sure; 7 % is not asked about."""
    powder = {"name": "char", "substance": "biochar", "function": "active carbon"}
    asked = enter(bench, "powder", {**powder, "moisture": "0.07 %"})
    assert asked.record is None
    assert asked.ask == "The moisture would be stored as 0.07 %. Was 7 % meant?"
    assert bench.find(PowderLot, "char") is None
    assert enter(bench, "powder", {**powder, "moisture": "0.07 %"}, sure=True).record is not None
    again = enter(bench, "powder", {"note": "sieved"}, name="char")
    assert again.record is not None  # what stands already is not asked about again
    assert not enter(bench, "powder", {**powder, "name": "char 2", "moisture": "7 %"}).ask


def test_a_dish_finer_than_any_scale_is_asked_about(bench: BenchFile) -> None:
    """Typed to 1 mg where the only scale shows whole grams."""
    bench.put(Instrument(name="kitchen", sort=Sort.SCALE, resolution=1e-3))
    dish = {"dishes.0.empty": "5.213 g", "dishes.0.wet": "7.884 g", "dishes.0.dried": "5.476 g"}
    asked = enter(bench, "solution", {"name": "jar", "polymer": "PVB", **dish})
    assert (
        "Dish 1 empty is 5.213 g, and the finest scale of this bench shows steps of 1 g"
        in asked.ask
    )
    bench.put(Instrument(name="letter", sort=Sort.SCALE, resolution=1e-6))
    assert enter(bench, "solution", {"name": "jar", "polymer": "PVB", **dish}).record is not None
    assert bench.get(Solution, "jar").dishes


@pytest.mark.parametrize(
    "typed", ["adults, children", "adults; children", "adults and children", "Children, and adults", "adults/children"]
)  # fmt: skip
def test_fixed_words_are_listed_as_people_do(bench: BenchFile, typed: str) -> None:
    """Commas, semicolons, a stroke and the word and."""
    made = enter(bench, "room", {"name": "kitchen", "people": typed}).record
    assert isinstance(made, Room)
    assert set(made.people) == {People.ADULTS, People.CHILDREN}


def test_a_wrong_word_is_a_fault_of_its_list(bench: BenchFile) -> None:
    """No place in a list is numbered to a person: the field is "people"."""
    (fault,) = enter(bench, "room", {"name": "kitchen", "people": "adults, cats"}).faults
    assert (fault.field, fault.raw) == ("people", "cats")
    one = enter(bench, "room", {"name": "kitchen", "people": "pregnancy possible"}).record
    assert isinstance(one, Room)
    assert one.people == (People.PREGNANCY,)


@pytest.mark.parametrize(
    ("typed", "function", "near"),
    [
        ("soot", "conductor", ("carbon black",)),
        ("bone char", "active carbon", ("biochar", "activated carbon")),
        ("old soot", "catalyst", ("carbon black",)),
        ("quux", "conductor", ()),
        ("salt of the sea", "conductor", ()),
    ],
)
def test_everyday_words_first_and_nothing_far_fetched(
    typed: str, function: str, near: tuple[str, ...]
) -> None:
    """Names of the fitting kind alone; below a likeness none is offered (common practice, no source)."""
    lot = PowderLot(name="x", substance=typed, function=Function(function))
    assert on_file(lot)[0].near == near


def test_a_yes_to_one_question_is_no_yes_to_another(bench: BenchFile) -> None:
    """The question comes back for a share that was changed since, and for a second unlikely one; all are asked at once."""
    powder = {"name": "soot", "substance": "carbon black", "function": "conductor", "moisture": "0.07 %"}  # fmt: skip
    asked = enter(bench, "powder", powder).ask
    changed = {**powder, "moisture": "0.08 %"}
    assert "0.08 %" in enter(bench, "powder", changed, sure=asked).ask
    two = enter(bench, "powder", {**powder, "assay": "0.9 %"}, sure=asked).ask
    assert "moisture" in two
    assert "assay" in two
    assert enter(bench, "powder", powder, sure="yes").record is None
    assert enter(bench, "powder", powder, sure=asked.replace(" ", "\r\n")).record is not None


def test_a_scale_without_its_step_is_asked_back_once(bench: BenchFile) -> None:
    """Its step is what it is entered for; a meter has none, and a stored scale is not asked about again."""
    scale = {"name": "S", "sort": "scale"}
    asked = enter(bench, "instrument", scale)
    assert asked.record is None
    assert asked.ask.startswith("S would be stored without its smallest step")
    assert "0.01 g" in asked.ask
    assert enter(bench, "instrument", scale, sure=asked.ask).record is not None
    assert enter(bench, "instrument", {"note": "grey"}, name="S").record is not None
    assert enter(bench, "instrument", {**scale, "name": "S2", "resolution": "0.01 g"}).record
    assert enter(bench, "instrument", {"name": "M", "sort": "multimeter"}).record
