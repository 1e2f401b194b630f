"""What is said of heat that is past: each pressing for itself, and nothing cried out that is done and kept to."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from aerode.cautions.engine import assess
from aerode.cautions.situation import Heating, Polymer, Situation, Weighings
from aerode.records.electrodes import Coat, Electrode, Layer, Press, Weighing
from aerode.records.marks import Entry, Share
from aerode.records.materials import Solution
from aerode.records.mixes import Ingredient, Mix, Portion
from aerode.store.bench_file import BenchFile
from aerode.usecases.cautions import CautionQuestion, what_can_hurt

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from aerode.records.cautions import Caution

ZERO = 273.15
PVB = (Polymer(name="B", substance="PVB"),)


def press(celsius: float, **more: object) -> Heating:
    """A pressing with plates of this temperature, done already."""
    plain: dict[str, object] = {
        "name": "press", "plate_temperature": ZERO + celsius, "done": True, "last_solvents": ("ethanol",),
    }  # fmt: skip
    return Heating(**{**plain, **more})  # pyright: ignore[reportArgumentType]


def said(*heatings: Heating) -> list[tuple[str, str, str]]:
    """Level, hazard and figure of what is told, in its order."""
    found = assess(Situation(polymers=PVB, heatings=heatings))
    return [(c.level.value, c.hazard, c.figure) for c in found]


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[BenchFile]:
    """A mix bound with PVB out of ethanol, and a piece of it that was pressed at 85 °C, not weighed."""
    with BenchFile.create(tmp_path / "b.aerode", title="Shed") as made:
        made.put(Solution(name="cup", polymer="PVB", liquid=(Share(of="ethanol", fraction=1.0),), solids=Entry(value=0.2)))  # fmt: skip
        portion = Portion(of="cup", shelf=Ingredient.SOLUTION, mass=Entry(value=0.01))
        made.put(Mix(name="M", portions=(portion,)))
        hot = Press(plate_temperature=Entry(value=ZERO + 85.0))
        made.put(Electrode(name="P", layers=(Layer(mix="M", coats=(Coat(wet_mass=1e-3),)),), press=(hot,)))  # fmt: skip
        yield made


def _of(bench: BenchFile, hazard: str, question: CautionQuestion | None = None) -> Caution:
    sheet = what_can_hurt(bench, "P", question)
    return next(c for c in sheet.cautions if c.hazard == hazard)


def test_a_later_hotter_pressing_is_heard() -> None:
    """70 °C, then 190 °C in the same press: the hottest stands first, the other is not lost."""
    assert [one for one in said(press(70.0), press(190.0)) if one[1] == "polymer heat"] == [
        ("FIRST", "polymer heat", "190 °C"), ("NOTE", "polymer heat", "70 °C"),
    ]  # fmt: skip


def test_each_heating_has_a_key_of_its_own_and_the_same_words_stand_once() -> None:
    """The key of the first stays what it was; three like pressings do not say the same three times."""
    twice = assess(Situation(polymers=PVB, heatings=(press(70.0), press(190.0))))
    assert {c.key for c in twice if c.hazard == "polymer heat"} == {"heat.polymer.PVB", "heat.polymer.PVB.2"}  # fmt: skip
    assert said(press(85.0), press(85.0), press(85.0)) == said(press(85.0))


def test_inside_the_house_rule_and_past_is_a_note() -> None:
    """PVB has no published line: 85 °C is inside our own of 120 °C, and it is over."""
    done = assess(Situation(polymers=PVB, heatings=(press(85.0),)))
    assert {c.level.value for c in done} == {"NOTE"}
    heat = next(c for c in done if c.hazard == "polymer heat")
    assert "charred" not in heat.do
    assert heat.do.startswith("It is done. Before the next heat: not above 120 °C")


def test_a_heating_to_come_is_asked_as_hard_as_ever() -> None:
    """The same 85 °C, planned: weigh it twice and look for the data sheet first; 121 °C stays a STOP."""
    ahead = replace(press(85.0), done=False)
    assert [one[:2] for one in said(ahead)] == [("FIRST", "dry enough"), ("FIRST", "polymer heat"), ("NOTE", "burnt hands")]  # fmt: skip
    hot = replace(press(121.0), done=False)
    assert ("STOP", "polymer heat", "121 °C") in said(hot)
    assert ("FIRST", "polymer heat", "121 °C") in said(press(121.0))


def test_nobody_weighed_it_is_told_of_the_past(bench: BenchFile) -> None:
    """In the past tense, with what holds before the next heat, and never "do not heat it yet"."""
    dry = _of(bench, "dry enough")
    assert dry.level.value == "NOTE"
    assert dry.headline == "press 1: nobody noted two weighings before this heat"
    assert dry.do == "It is done. Before the next heat: weigh it twice, 10 min apart or more."
    ahead = _of(bench, "dry enough", CautionQuestion(plate="85 °C"))
    assert ahead.level.value == "FIRST"
    assert ahead.do.startswith("Do not heat it yet")


def test_a_coat_after_the_press_opens_the_question(bench: BenchFile) -> None:
    """What came since the heat is wet, whatever was pressed before: FIRST, as before any heat."""
    piece = bench.get(Electrode, "P")
    layer = piece.layers[0]
    bench.put(replace(piece, layers=(replace(layer, coats=(*layer.coats, Coat(wet_mass=1e-3))),)))
    assert _of(bench, "dry enough").level.value == "FIRST"
    bench.put(replace(bench.get(Electrode, "P"), note="blue jar"))
    assert _of(bench, "dry enough").level.value == "FIRST"


def test_a_weighing_that_was_begun_opens_the_question(bench: BenchFile) -> None:
    """One weighing is a question half asked; a piece that still loses weight is a STOP."""
    piece = bench.get(Electrode, "P")
    one = Weighing(mass=5e-3, at="2026-05-02T10:00")
    bench.put(replace(piece, weighings=(one,)))
    assert _of(bench, "dry enough").level.value == "FIRST"
    wet = Weighings(first=5.5e-3, second=5.0e-3, interval=900.0, coating=2e-3, resolution=1e-5)
    assert ("STOP", "dry enough") in [one[:2] for one in said(press(85.0, weighings=wet))]


def test_a_closed_oven_that_is_past_is_told_of_the_past() -> None:
    """Nobody knows what solvent went in: a NOTE; solvent that is known to be left stays in the way."""
    oven = press(60.0, appliance="oven", closed_volume=0.02)
    past = next(one for one in said(oven) if one[1] == "flash in the closed space")
    assert past[0] == "NOTE"
    left = replace(oven, retained_solvent=3e-3)
    assert ("STOP", "flash in the closed space") in [one[:2] for one in said(left)]


def test_what_holds_for_the_piece_is_said_once_whatever_heated_it() -> None:
    """Pressed twice with two tools: one word on its dryness, two on the heat that its binder saw."""
    both = said(press(70.0, name="iron"), press(190.0, name="clamps"))
    assert [one[1] for one in both].count("dry enough") == 1
    assert [one[1] for one in both].count("polymer heat") == 2
