"""What is asked of an electrode before it is stored: plates past a line, coats too heavy."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from aerode.records.electrodes import Coat, Electrode, Layer, Press
from aerode.records.marks import Entry, Share
from aerode.records.materials import Function, PowderLot, Solution
from aerode.records.mixes import Ingredient, Mix, Portion
from aerode.store.bench_file import BenchFile
from aerode.usecases.electrode_page import look_at_electrode
from aerode.usecases.electrode_page_acts import add_coat, add_press, add_weighing
from aerode.usecases.entering import enter

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

NOW = "2026-05-02T10:00:00"


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[BenchFile]:
    """A piece of 9.5 cm² with one coat of a mix bound with PVB, a third of it solids."""
    with BenchFile.create(tmp_path / "shed.aerode", title="Net shed") as made:
        made.put(PowderLot(name="char", substance="biochar", function=Function.ACTIVE_CARBON))
        made.put(Solution(name="jar", polymer="PVB", liquid=(Share(of="ethanol", fraction=1.0),),
                          solids=Entry(value=0.1)))  # fmt: skip
        made.put(Mix(name="M", portions=(
            Portion(of="char", mass=Entry(value=2.7e-3)),
            Portion(of="jar", shelf=Ingredient.SOLUTION, mass=Entry(value=7.3e-3)),
        )))  # fmt: skip
        made.put(Electrode(name="T3", wetted_area=Entry(value=9.5e-4),
                           layers=(Layer(mix="M", coats=(Coat(wet_mass=1.163e-3),)),)))  # fmt: skip
        yield made


def test_a_plate_past_the_house_rule_is_asked_about_with_its_caution(bench: BenchFile) -> None:
    """190 °C on PVB: the STOP as it stands before the act; nothing is stored until it is answered."""
    asked = add_press(bench, "T3", {"plate_temperature": "190 °C"})
    assert asked.record is None
    assert asked.ask.startswith("STOP polymer heat: PVB: no published heat line on file")
    assert "house rule: not above 120 °C without one" in asked.ask
    assert "A plate of 190 °C would be stored as done. Was it so hot?" in asked.ask
    assert bench.get(Electrode, "T3").press == ()
    other = add_press(bench, "T3", {"plate_temperature": "195 °C", "sure": asked.ask})
    assert other.record is None  # a yes to 190 is none to 195
    assert add_press(bench, "T3", {"plate_temperature": "190 °C", "sure": asked.ask}).record


def _dry(bench: BenchFile) -> None:
    """Two weighings of T3, an hour apart, that agree."""
    for after in ("0 min", "60 min"):
        assert add_weighing(bench, "T3", {"mass": "0.60 g", "after": after}, at=NOW).record


def test_heat_on_a_coat_not_known_to_be_dry_is_asked_back(bench: BenchFile) -> None:
    """95 °C after ONE weighing: inside the line of the binder, and still nobody knows the solvent is out."""
    add_weighing(bench, "T3", {"mass": "0.60 g"}, at=NOW)
    typed = {"plate_temperature": "95 °C", "means": "steel plates"}
    asked = add_press(bench, "T3", typed)
    assert asked.record is None
    assert asked.ask.startswith(
        "FIRST dry enough: steel plates: nobody knows yet whether the coat is dry"
    )
    assert "Do not heat it yet: weigh it twice, 22 min apart or more" in asked.ask
    assert "A hot pressing at 95 °C would be stored as done. Was it?" in asked.ask
    assert bench.get(Electrode, "T3").press == ()
    assert add_press(bench, "T3", {"appliance": "household oven"}).ask  # heat without a figure
    assert add_press(bench, "T3", {"plate_temperature": "95 °C", "means": "a kiln"}).ask
    assert not add_press(bench, "T3", {"means": "clamps", "firmness": "firm"}).ask
    assert add_press(bench, "T3", {**typed, "sure": asked.ask}).record


def test_a_coat_still_losing_weight_is_a_stop_and_a_dry_one_no_question(bench: BenchFile) -> None:
    """By the engine's own gate: 60 mg lost in an hour, then no change over an hour."""
    for mass, after in (("0.66 g", "0 min"), ("0.60 g", "60 min")):
        add_weighing(bench, "T3", {"mass": mass, "after": after}, at=NOW)
    assert add_press(bench, "T3", {"plate_temperature": "95 °C"}).ask.startswith("STOP dry enough")
    add_weighing(bench, "T3", {"mass": "0.60 g", "after": "60 min"}, at=NOW)
    assert look_at_electrode(bench, "T3").before_heat == ()
    assert add_press(bench, "T3", {"plate_temperature": "95 °C"}).record


@pytest.mark.parametrize("plate", ["85 °C", "120 °C", ""])
def test_a_plate_inside_the_rule_is_not_asked_about(bench: BenchFile, plate: str) -> None:
    """The line itself is inside, on a dry coat; a cold press has no plate."""
    if plate:
        _dry(bench)
    assert add_press(bench, "T3", {"plate_temperature": plate, "means": "clamps"}).record


def test_a_piece_of_unknown_plastic_is_asked_above_the_house_rule(bench: BenchFile) -> None:
    """A bought piece: nobody knows what it is; a stated kiln is meant so."""
    bench.put(Electrode(name="bought", recipe_state="bought, not known"))  # pyright: ignore[reportArgumentType]
    assert "unknown kind" in add_press(bench, "bought", {"plate_temperature": "150 °C"}).ask
    assert not add_press(bench, "bought", {"plate_temperature": "60 °C"}).ask
    kiln = {"plate_temperature": "150 °C", "means": "a small kiln"}
    assert add_press(bench, "bought", kiln).record


def test_the_form_of_the_record_asks_the_same(bench: BenchFile) -> None:
    """Typed in the long form; what stands there already is not asked about again."""
    typed = {"press.0.plate_temperature": "190 °C"}
    asked = enter(bench, "electrode", typed, name="T3")
    assert "STOP polymer heat" in asked.ask
    assert enter(bench, "electrode", typed, name="T3", sure=True).record
    assert enter(bench, "electrode", {"note": "dark"}, name="T3").record


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ({"wet_mass": "163 g"}, "163 g wet: the others of this piece are about 1.16 g"),
        ({"wet_mass": "0.12 g"}, "0.12 g wet: the others of this piece are about 1.16 g"),
        ({"dry_mass": "26.4 g"}, "26.4 g dry: that is 2.78 g on every cm²"),
        ({"wet_mass": "1.3 g", "dry_mass": "0.27 g"}, ""),
        ({"wet_mass": "0.4 g"}, ""),
    ],
)
def test_a_coat_unlike_any_is_asked_about(
    bench: BenchFile, typed: dict[str, str], told: str
) -> None:
    """Against the other coats of the piece, and against its area."""
    acted = add_coat(bench, "T3", typed, at=NOW)
    assert (told in acted.ask) if told else acted.record is not None
    assert bool(acted.ask) is bool(told)
    if told:
        assert add_coat(bench, "T3", {**typed, "sure": acted.ask}, at=NOW).record


def test_a_coat_on_a_piece_of_unknown_size(bench: BenchFile) -> None:
    """Nothing to hold it against: more than a whole piece weighs is asked about, a big coat is not."""
    bench.put(Electrode(name="new"))
    assert "more than a whole piece weighs" in add_coat(bench, "new", {"wet_mass": "163 g"}, at=NOW).ask  # fmt: skip
    assert add_coat(bench, "new", {"wet_mass": "20 g"}, at=NOW).record


def test_a_coat_unlike_the_solids_of_its_mix_is_noted(bench: BenchFile) -> None:
    """22.7 % dry over wet where the mix holds about 34 %; a coat that fits says nothing."""
    bench.put(Electrode(name="E", layers=(Layer(mix="M", coats=(
        Coat(wet_mass=1.163e-3, dry_mass=0.2642e-3), Coat(wet_mass=1.163e-3, dry_mass=0.40e-3),
    )),)))  # fmt: skip
    (mind,) = look_at_electrode(bench, "E").coat_minds
    assert mind.startswith("coat 1: 0.264 g dry of 1.16 g wet is 22.7 % solids, and M has ")


def test_the_step_of_the_scale_excuses_a_thin_coat(bench: BenchFile) -> None:
    """0.02 g dry on a kitchen scale is known to a hundredth of a gram: no note."""
    coat = Coat(wet_mass=0.10e-3, dry_mass=0.02e-3)
    bench.put(Electrode(name="E", layers=(Layer(mix="M", coats=(coat,)),)))
    assert look_at_electrode(bench, "E").coat_minds == ()


def test_a_plate_too_cool_to_bind_is_noted(bench: BenchFile) -> None:
    """PVB begins to soften at about 72 °C; a cold press is meant so."""

    def minds(*plates: float) -> tuple[str, ...]:
        layers = (Layer(mix="M"),)
        pressed = tuple(Press(plate_temperature=Entry(value=273.15 + one)) for one in plates)
        bench.put(Electrode(name="E", layers=layers, press=pressed))
        return look_at_electrode(bench, "E").press_minds

    (mind,) = minds(60.0)
    assert mind.startswith("60 °C: the plate was too cool to soften what binds M, which begins at about 72 °C")  # fmt: skip
    assert minds(85.0) == ()
    assert minds(21.0) == ()
    assert minds(85.0, 60.0)[0].startswith("pressing 2, 60 °C")
