"""From the records of a bench to a sheet, by the use-case and by the command line."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner

from aerode.cli.cautions import command
from aerode.errors import InputError, NotFoundError, RangeError, StoppedError, UnitError
from aerode.records.cautions import Acknowledgement, Caution, CautionLevel, CautionSheet
from aerode.records.electrodes import Cell, Electrode, Layer, Press, RecipeState
from aerode.records.marks import Entry, Share
from aerode.records.materials import (
    Aluminium,
    Dish,
    Electrolyte,
    Function,
    PowderLot,
    Solution,
    SolventLot,
)
from aerode.records.mixes import Ingredient, Mix, Portion
from aerode.records.places import Airing, People, Room
from aerode.store.bench_file import BenchFile
from aerode.usecases.cautions import (
    CautionQuestion,
    acknowledge,
    caution_lines,
    mark_read,
    refuse_unacknowledged,
    situation_of,
    what_can_hurt,
)

ZERO = 273.15


def grams(value: float) -> Entry:
    """A mass."""
    return Entry(value=value * 1e-3)


@pytest.fixture
def bench(tmp_path: Path):
    """A small bench: a shed, an ethanol mix, a toluene mix, an electrode, a cell."""
    records = [
        Room(name="shed", volume=Entry(value=60.0), airing=Airing.WINDOW),
        Room(name="bedroom", volume=Entry(value=30.0), airing=Airing.CLOSED),
        Room(name="school", volume=Entry(value=200.0), air_changes=Entry(value=4 / 3600),
             people=(People.CLASS,)),
        PowderLot(name="char", substance="biochar", function=Function.ACTIVE_CARBON),
        PowderLot(name="paste", substance="EMD", function=Function.CATALYST, recovered=True),
        Solution(
            name="film PVB",
            polymer="PVB",
            liquid=(Share(of="ethanol", fraction=1.0),),
            dishes=(Dish(empty=0.005, wet=0.015, dried=0.0062),),
            density=Entry(value=850.0),
        ),
        Solution(name="cup PS", polymer="polystyrene", liquid=(Share(of="toluene", fraction=0.9),),
                 solids=Entry(value=0.2)),
        SolventLot(name="thinner", substance="ethanol"),
        Mix(name="E", portions=(
            Portion(of="char", mass=grams(5)),
            Portion(of="film PVB", shelf=Ingredient.SOLUTION, volume=Entry(value=1e-5)),
            Portion(of="thinner", shelf=Ingredient.SOLVENT, volume=Entry(value=1e-6)),
        )),
        Mix(name="T", portions=(
            Portion(of="paste", mass=grams(2)),
            Portion(of="cup PS", shelf=Ingredient.SOLUTION, mass=grams(300)),
        )),
        Mix(name="W", wanted=(Share(of="char", fraction=0.8), Share(of="film PVB", fraction=0.2))),
        Electrode(name="E1", layers=(Layer(mix="E"),),
                  press=(Press(plate_temperature=Entry(value=ZERO + 85), means="iron"),)),
        Electrode(name="bought", recipe_state=RecipeState.BOUGHT),
        Electrode(name="T1", layers=(Layer(mix="T"),)),
        Electrolyte(name="lye", salt="potassium hydroxide", mass_fraction=Entry(value=0.2)),
        Aluminium(name="can", thickness=Entry(value=1e-4)),
        Cell(name="A1", electrode="E1", electrolyte="lye", aluminium="can",
             aluminium_area=Entry(value=1e-3)),
        Cell(name="P1", electrode="T1", electrolyte="lye", aluminium_area=Entry(value=1e-3)),
    ]  # fmt: skip
    place = tmp_path / "b.aerode"
    with BenchFile.create(place, title="test") as made:
        made.put_all(records)
        yield made


def levels(sheet: CautionSheet) -> dict[str, str]:
    """Hazard to its hardest level."""
    found: dict[str, str] = {}
    for caution in sheet.cautions:
        found.setdefault(caution.hazard, caution.level.value)
    return found


def named(sheet: CautionSheet, hazard: str) -> Caution:
    """The first caution on a hazard."""
    return next(c for c in sheet.cautions if c.hazard == hazard)


def test_a_mix_becomes_its_liquids_powders_and_polymers(bench: BenchFile) -> None:
    """Solution liquid by its dishes and density, thinner by its published density, one ethanol."""
    found = situation_of(bench, "E", CautionQuestion(room="shed"))
    (ethanol,) = found.liquids
    assert ethanol.mass == pytest.approx(0.0085 * 0.88 + 0.789e-3, rel=0.01)
    assert [p.mass for p in found.powders] == [pytest.approx(5e-3)]
    assert [p.substance for p in found.polymers] == ["PVB"]
    assert found.air is not None
    assert found.air.airing == "window ajar"


def test_an_unnamed_rest_of_a_liquid_is_no_pass(bench: BenchFile) -> None:
    """The tenth of the polystyrene cement that nobody named has no limit on file."""
    sheet = what_can_hurt(bench, "T", CautionQuestion(room="bedroom", area="600 cm^2"))
    assert named(sheet, "vapour breathed").level is CautionLevel.STOP
    assert any("not named" in c.headline for c in sheet.cautions)


def test_a_mix_without_amounts_asks_for_them(bench: BenchFile) -> None:
    """Only wanted shares: the amount is what is missing; the portions of a dose sheet supply it."""
    question = CautionQuestion(room="shed")
    sheet = what_can_hurt(bench, "W", question)
    assert any("the amount of ethanol" in c.missing for c in sheet.cautions)
    dosed = CautionQuestion(
        room="shed",
        portions=(
            Portion(of="char", mass=grams(4)),
            Portion(of="film PVB", shelf=Ingredient.SOLUTION, mass=grams(8)),
        ),
    )
    assert not any(
        "the amount of ethanol" in c.missing for c in what_can_hurt(bench, "W", dosed).cautions
    )


def test_an_electrode_brings_its_press_and_what_it_was_wet_with(bench: BenchFile) -> None:
    """Before it is heated again and not weighed: FIRST; weighed constant, with a data sheet: two notes."""
    first = what_can_hurt(bench, "E1", CautionQuestion(room="shed", plate="85 °C"))
    assert levels(first) == {"dry enough": "FIRST", "polymer heat": "FIRST", "burnt hands": "NOTE"}
    past = what_can_hurt(bench, "E1", CautionQuestion(room="shed"))
    assert levels(past) == {"dry enough": "NOTE", "polymer heat": "NOTE"}
    weighed = CautionQuestion(
        room="shed",
        weighed_twice="12.43 g, 12.43 g, 15 min",
        coating="2.1 g",
        sheets=("PVB=150 °C, maker's sheet",),
    )
    assert levels(what_can_hurt(bench, "E1", weighed)) == {
        "dry enough": "NOTE",
        "polymer heat": "NOTE",
        "burnt hands": "NOTE",
    }


def test_a_bought_electrode_is_unknown_plastic(bench: BenchFile) -> None:
    """Planned heat on it is refused."""
    sheet = what_can_hurt(bench, "bought", CautionQuestion(room="shed", plate="80 °C"))
    assert levels(sheet) == {"polymer heat": "STOP", "burnt hands": "NOTE"}


def test_a_cell_brings_its_electrolyte_aluminium_and_layer(bench: BenchFile) -> None:
    """Capped lye with 0.27 g of aluminium; and a layer of unwashed paste in lye is refused."""
    sheet = what_can_hurt(bench, "A1", CautionQuestion(room="shed", capped=True, headspace="0.1 L"))
    assert levels(sheet)["closed container"] == "STOP"
    assert "+372 kPa" in named(sheet, "closed container").figure
    assert levels(what_can_hurt(bench, "P1", CautionQuestion(room="shed")))["ammonia"] == "STOP"


def test_the_airing_is_asked_for_down_to_a_chosen_share(bench: BenchFile) -> None:
    """A quarter of the limit asks for twice the air of a half; above the limit is refused."""

    def air(target: str) -> float:
        question = CautionQuestion(room="bedroom", area="600 cm^2", target=target)
        return float(
            named(what_can_hurt(bench, "T", question), "vapour breathed")
            .do.split(" m³/h")[0]
            .rsplit(" ", 1)[-1]
        )

    assert air("25 %") == pytest.approx(2 * air(""), rel=0.05)
    with pytest.raises(RangeError):
        air("150 %")


def test_people_come_with_the_room_and_the_class_with_the_switch(bench: BenchFile) -> None:
    """A school room is a class; so is the switch anywhere."""
    assert levels(what_can_hurt(bench, "A1", CautionQuestion(room="school")))["class"] == "STOP"
    switched = CautionQuestion(room="shed", class_mode=True)
    assert levels(what_can_hurt(bench, "A1", switched))["class"] == "STOP"


def test_several_rooms_and_none_named_is_no_room(bench: BenchFile) -> None:
    """The room is what is missing."""
    line = named(what_can_hurt(bench, "E"), "vapour breathed")
    assert line.level is CautionLevel.FIRST
    assert "room" in line.missing[0]


def test_a_stop_is_kept_in_the_history_with_its_reason(bench: BenchFile) -> None:
    """Blocked, refused without a reason, acknowledged, still there, blocked again when it changes."""
    question = CautionQuestion(room="bedroom", area="600 cm^2")
    with pytest.raises(StoppedError):
        refuse_unacknowledged(bench, "T", question)
    with pytest.raises(InputError, match="reason"):
        acknowledge(bench, "T", "vapour.breathed", "", made="2026-05-01", question=question)
    sheet = acknowledge(
        bench,
        "T",
        "vapour.breathed",
        "done under a measured hood",
        made="2026-05-01",
        question=question,
    )
    assert sheet.waiting == ()
    assert (
        named(refuse_unacknowledged(bench, "T", question), "vapour breathed").level
        is CautionLevel.STOP
    )
    (kept,) = bench.all(Acknowledgement)
    assert kept.reason == "done under a measured hood"
    assert "STOP" in " ".join(caution_lines(bench, "T", question))
    assert bench.history(Acknowledgement)
    with pytest.raises(StoppedError):
        refuse_unacknowledged(bench, "T", CautionQuestion(room="bedroom", area="2 m^2"))


def test_reading_folds_and_never_marks_a_stop(bench: BenchFile) -> None:
    """Read once: every FIRST and NOTE folds; the STOP still waits."""
    question = CautionQuestion(room="bedroom", area="600 cm^2")
    before = caution_lines(bench, "T", question)
    sheet = mark_read(bench, "T", made="2026-05-01", question=question)
    assert sheet.waiting == ("vapour.breathed",)
    assert len(caution_lines(bench, "T", question)) < len(before)


def test_a_caution_that_is_not_there_cannot_be_acknowledged(bench: BenchFile) -> None:
    """The keys on the sheet are listed."""
    with pytest.raises(InputError, match="no caution"):
        acknowledge(
            bench, "E", "heat.flash", "because so", made="", question=CautionQuestion(room="shed")
        )


def test_names_that_are_not_there_or_could_be_two_things(bench: BenchFile) -> None:
    """Near names are listed; two kinds of one name ask which."""
    with pytest.raises(NotFoundError, match="no mix, electrode or cell"):
        what_can_hurt(bench, "zzz")
    bench.put(Mix(name="E1", portions=(Portion(of="char", mass=grams(1)),)))
    with pytest.raises(InputError, match="a mix and a electrode"):
        what_can_hurt(bench, "E1")
    assert what_can_hurt(bench, "electrode:E1", CautionQuestion(room="shed")).about == ("E1",)


@pytest.mark.parametrize(
    "question",
    [
        CautionQuestion(weigh_loss="1.2 g"),
        CautionQuestion(plate="80 °C", weighed_twice="1 g, 2 g"),
        CautionQuestion(plate="80 °C", sheets=("PVB",)),
        CautionQuestion(area="12 V"),
    ],
)
def test_what_cannot_be_read_is_refused(bench: BenchFile, question: CautionQuestion) -> None:
    """Each with an example of what can."""
    with pytest.raises(UnitError):
        what_can_hurt(bench, "E", question)


def _run(bench: BenchFile, *arguments: str) -> str:
    done = CliRunner().invoke(
        command, [*arguments, "--bench", str(bench.path)], catch_exceptions=False
    )
    assert done.exit_code == 0, done.output
    return done.output


def test_the_command_prints_the_verdict_first(bench: BenchFile) -> None:
    """Verdict, cautions, standing text; JSON with its schema first; full tells more."""
    text = _run(bench, "E", "--room", "shed", "--area", "40 cm^2").splitlines()
    assert text[0] == "E: 1 to do FIRST, 2 NOTE."
    assert text[1].startswith("FIRST flammable liquid: ethanol")
    assert text[-1] == "them."
    full = _run(bench, "E", "--room", "shed", "--area", "40 cm^2", "--full").splitlines()
    assert len(full) > len(text)
    plain = json.loads(_run(bench, "E", "--room", "shed", "--json"))
    assert next(iter(plain)) == "schema"
    assert plain["schema"] == "aerode.cautions/1"
    assert {"level", "hazard", "figure", "limit", "basis", "source", "do", "missing"} <= set(
        plain["cautions"][0]
    )


def test_the_command_acknowledges_and_folds(bench: BenchFile) -> None:
    """One call with a reason, one that marks the rest as read, then short lines."""
    where = ("--room", "bedroom", "--area", "600 cm^2")
    said = _run(
        bench, "T", *where, "--acknowledge", "vapour.breathed", "--reason", "in a fume hood"
    )
    assert "Acknowledged: in a fume hood." in " ".join(said.split())
    assert "No bench sheet is printed" not in said
    short = _run(bench, "T", *where, "--read")
    assert len(short.splitlines()) < len(said.splitlines())


def test_what_was_measured_of_a_cell_stands_in_place_of_what_is_assumed(bench: BenchFile) -> None:
    """Mass lost, gas caught, the record's own figure; and the open-circuit voltage of the string."""
    ends: list[tuple[float, float]] = []
    cell = bench.get(Cell, "A1")
    bench.put(replace(cell, corrosion=Entry(value=20.0, standard_uncertainty=2.0, how="jar")))
    asked = ("", "10 mg in 1 h", "4.564 mL in 1 h")
    for corroded in asked:
        (plan,) = situation_of(bench, "A1", CautionQuestion(corroded=corroded, scale="1 mg")).cells
        assert plan.corrosion is not None
        ends.append((plan.corrosion.low, plan.corrosion.high))
    assert ends[0] == (16.0, 24.0)
    assert ends[1] == (pytest.approx(26.82, rel=1e-3), pytest.approx(32.78, rel=1e-3))
    assert ends[2] == (pytest.approx(9.0, rel=1e-3), pytest.approx(11.0, rel=1e-3))
    gas = named(what_can_hurt(bench, "A1", CautionQuestion(corroded="4 mL in 1 h")), "hydrogen")
    assert not gas.unverified
    assert "as measured (gas caught)" in gas.basis
    tall = CautionQuestion(open_circuit="1.6 V ± 0.05 V", series=40)
    touch = named(what_can_hurt(bench, "A1", tall), "touch voltage")
    assert (touch.level, touch.figure) == (CautionLevel.FIRST, "68 V")
    with pytest.raises(UnitError, match="no corrosion"):
        situation_of(bench, "A1", CautionQuestion(corroded="34 mg"))
    bench.put(replace(cell, aluminium_area=None))
    with pytest.raises(InputError, match="wetted area"):
        situation_of(bench, "A1", CautionQuestion(corroded="34 mg in 1 h"))
