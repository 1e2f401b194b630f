"""The first page from an empty bench to the verdict: two mixes, five pieces, each step once and in turn."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from html import unescape
from typing import TYPE_CHECKING, Any

import pytest
from starlette.testclient import TestClient

from aerode.records.electrodes import Cell, Coat, Electrode, Layer, Press, Weighing
from aerode.records.instruments import Instrument, MeterRange, Sort
from aerode.records.marks import Condition, Entry, Known, Share
from aerode.records.materials import (
    Aluminium,
    Electrolyte,
    Function,
    MeshCard,
    PowderLot,
    Solution,
)
from aerode.records.mixes import Batch, Mix
from aerode.records.runs import Reading, Run, Settling
from aerode.store.bench_file import BenchFile
from aerode.usecases.run_conditions import CONDITIONS
from aerode.usecases.what_next import NextStep, Step, what_next

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path


OF_THE_CELL = ("aluminium", "gap", "salinity")
VOLTS = {"100 ohm": 0.80, "33 ohm": 0.70, "10 ohm": 0.52}
FIRST_PAIR = [
    (Step.METER, ""), (Step.RESISTORS, ""), (Step.SCALE, ""), (Step.POWDER, ""), (Step.CATALYST, ""),
    (Step.BINDER, ""), (Step.MIX, ""), (Step.POT, "A"), (Step.MESH, ""), (Step.ELECTRODE, "A"),
    (Step.COAT, "A1"), (Step.POT, "B"), (Step.ELECTRODE, "B"), (Step.COAT, "B1"),
    (Step.WEIGH, "A1"), (Step.PRESS, "A1"), (Step.WEIGH, "B1"), (Step.PRESS, "B1"),
    (Step.ALUMINIUM, ""), (Step.ELECTROLYTE, ""),
    (Step.CELL, "A1"), (Step.MEASURE, "A1"), (Step.CELL, "B1"), (Step.MEASURE, "B1"),
]  # fmt: skip
"""What is asked until each recipe has one piece read; common practice, no source for the order."""


@dataclass
class Maker:
    """Somebody who does just what the first page says."""

    bench: BenchFile
    read: int = 0
    made: list[str] = field(default_factory=list[str])
    planned: tuple[str, ...] = ("A", "B")
    """The mixes that are planned at the first mix; the one of a second comes when it is asked for."""

    def do(self, now: NextStep) -> None:
        """The step, as it would be entered."""
        act: dict[Step, Callable[[str], Any]] = {
            Step.COAT: self._coat, Step.WEIGH: self._weigh, Step.PRESS: self._press, Step.MEASURE: self._measure,
            Step.ELECTRODE: self.piece, Step.CELL: self._cell,
            Step.POT: lambda mix: self.bench.put(Batch(name=f"{mix} pot 1", mix=mix)),
            Step.MIX: lambda _: self.bench.put_all([Mix(name=name) for name in self.planned]),
            Step.SECOND: lambda piece: self.piece(piece[0]),
            Step.SECOND_MIX: lambda mix: self.bench.put(Mix(name="B", after=mix)),
        }  # fmt: skip
        if now.step in act:
            act[now.step](now.about)
        else:
            self.bench.put_all(THINGS[now.step])

    def piece(self, mix: str) -> None:
        """The next piece of a mix: A1, A2, ..."""
        name = f"{mix}{sum(one[0] == mix for one in self.made) + 1}"
        self.made.append(name)
        self.bench.put(Electrode(
            name=name, recipe=mix, mesh="gauze", mesh_mass=Entry(value=4e-4), layers=(Layer(mix=mix, batch=f"{mix} pot 1"),),
            wetted_area=Entry(value=9e-4, standard_uncertainty=1e-5),
        ))  # fmt: skip

    def _change(self, name: str, **fields: Any) -> None:
        self.bench.put(replace(self.bench.get(Electrode, name), **fields))

    def _coat(self, name: str) -> None:
        layer = self.bench.get(Electrode, name).layers[0]
        self._change(name, layers=(replace(layer, coats=(Coat(wet_mass=1e-3),)),))

    def _weigh(self, name: str) -> None:
        self._change(name, weighings=(Weighing(mass=6e-4), Weighing(mass=6e-4, after=7200.0)))

    def _press(self, name: str) -> None:
        self._change(name, press=(Press(means="two plates"),))

    def _cell(self, name: str) -> None:
        self.bench.put(Cell(name=f"cell {name}", electrode=name, aluminium="sheet", electrolyte="brine",
                            gap=Entry(value=4e-3), aluminium_area=Entry(value=2e-3)))  # fmt: skip

    def _measure(self, name: str) -> None:
        self.read += 1
        gain = (1.0 if name[0] == "A" else 0.75) + 0.004 * int(name[1])
        read = tuple(Reading(load=load, voltage=gain * volt, waited=120.0, settling=Settling.SETTLED, text="x") for load, volt in VOLTS.items())  # fmt: skip
        same: dict[str, Any] = {one: Condition(known=Known.SAME) for one in CONDITIONS if one not in OF_THE_CELL}  # fmt: skip
        self.bench.put(Run(name=f"{name} loads", electrode=name, cell=f"cell {name}", session="day", order=self.read,
                           meter="meter", readings=read, planned_loads=tuple(VOLTS), finished=True, **same))  # fmt: skip


_RANGE = MeterRange(name="2 V", full_scale=2.0, count=0.001, of_reading=0.005, counts=2.0)
THINGS: dict[Step, list[Any]] = {
    Step.METER: [Instrument(name="meter", sort=Sort.MULTIMETER, ranges=(_RANGE,))],
    Step.RESISTORS: [
        Instrument(name=f"{ohms:g} ohm", sort=Sort.RESISTOR, nominal_resistance=ohms, tolerance=0.01)
        for ohms in (100.0, 33.0, 10.0)
    ],
    Step.SCALE: [Instrument(name="scale", sort=Sort.SCALE, resolution=1e-5)],
    Step.POWDER: [PowderLot(name="char", substance="biochar", function=Function.CONDUCTOR)],
    Step.CATALYST: [PowderLot(name="ore", substance="manganese dioxide", function=Function.CATALYST)],
    Step.BINDER: [Solution(name="jar", polymer="PVB", liquid=(Share(of="ethanol", fraction=1.0),), label_solids=Entry(value=0.1))],
    Step.MIX: [Mix(name="A"), Mix(name="B")],
    Step.MESH: [MeshCard(name="gauze", material="nickel")],
    Step.ALUMINIUM: [Aluminium(name="sheet")],
    Step.ELECTROLYTE: [Electrolyte(name="brine", salt="sodium chloride", mass_fraction=Entry(value=0.1))],
}  # fmt: skip


@pytest.fixture
def place(empty_place: Path) -> Path:
    """The empty bench."""
    return empty_place


@pytest.fixture
def home(newcomer: TestClient) -> TestClient:
    """A browser that is in, on the empty bench."""
    return newcomer


def _walked(home: TestClient, place: Path, until: Step, planned: tuple[str, ...] = ("A", "B")) -> list[tuple[Step, str]]:  # fmt: skip
    """Do what the first page says, step by step, and look at its button each time."""
    met: list[tuple[Step, str]] = []
    with BenchFile.open(place) as bench:
        maker = Maker(bench, made=bench.names(Electrode), read=bench.count(Run), planned=planned)
        while (now := what_next(bench)).step is not until:
            assert (now.step, now.about) not in met, f"{now.step} {now.about} is asked for twice"
            met.append((now.step, now.about))
            page = home.get("/").text
            found = re.search(r'<p class="actions"><a class="button" href="([^"]+)"', page)
            assert found is not None
            form = home.get(unescape(found[1]))
            assert form.status_code == 200, found[1]
            shown = now.about[:1] if now.step is Step.SECOND else now.about
            assert shown in form.text
            maker.do(now)
    return met


def test_from_the_empty_bench_to_one_piece_of_each_recipe(home: TestClient, place: Path) -> None:
    """No step is left out, none comes twice; the second recipe is made while the first dries."""
    assert _walked(home, place, Step.BUILD) == FIRST_PAIR


def test_the_second_mix_is_planned_after_the_first_was_measured_twice(
    home: TestClient, place: Path
) -> None:
    """One recipe is compared with nothing: home asks for a second mix, and leads it to its reading."""
    _walked(home, place, Step.SECOND_MIX, planned=("A",))
    page = home.get("/").text
    with BenchFile.open(place, read_only=True) as bench:
        now = what_next(bench)

    assert (now.step, now.about) == (Step.SECOND_MIX, "A")
    assert "Next: plan a second mix to compare with A</h2>" in page
    assert 'class="button" href="/mixes/A/copy">Plan a second mix<' in page
    # by hand: all voltages differ by 0.4 %, so at 0.6 V by 2.4 mV; the slope between the loads of 33
    # and 10 ohm is 5.8 mV/mA at some 38 mA: 0.4 + 1.1 %, told as 2 %
    assert now.best == "Two builds of A lie 2 % apart: that is how builds scatter"
    assert "not shown" not in page

    met = _walked(home, place, Step.COMPARE)
    assert met[:3] == [(Step.SECOND_MIX, "A"), (Step.POT, "B"), (Step.ELECTRODE, "B")]
    assert (Step.MEASURE, "B1") in met


def test_a_piece_of_the_second_mix_begins_with_all_that_is_known(
    home: TestClient, place: Path
) -> None:
    """Recipe, pot and mesh stand in the form of the first piece of a second recipe."""
    _walked(home, place, Step.SECOND_MIX, planned=("A",))
    with BenchFile.open(place) as bench:
        bench.put_all([Mix(name="B"), Batch(name="B pot 1", mix="B")])
    page = home.get("/").text

    assert "Next: coat a piece of B</h2>" in page
    found = re.search(r'<p class="actions"><a class="button" href="([^"]+)"', page)
    assert found is not None
    assert "recipe=B&layers.0.mix=B&layers.0.batch=B+pot+1&mesh=gauze" in unescape(found[1])


def test_a_planned_second_mix_has_its_turn_after_a_reading(home: TestClient, place: Path) -> None:
    """B waits without a pot, A1 is read already: B is asked for, and no second piece of A."""
    _walked(home, place, Step.SECOND, planned=("A",))
    with BenchFile.open(place) as bench:
        bench.put(Mix(name="B"))
        now = what_next(bench)

    assert (now.step, now.about) == (Step.POT, "B")


def test_three_more_pieces_are_made_before_they_are_read_in_turn(
    home: TestClient, place: Path
) -> None:
    """Coats first, then drying and pressing, then cell and reading of each; recipes take turns; then the verdict."""
    _walked(home, place, Step.BUILD)
    with BenchFile.open(place) as bench:
        maker = Maker(bench, made=bench.names(Electrode))
        for mix in ("A", "B", "A"):
            maker.piece(mix)
    met = _walked(home, place, Step.COMPARE)

    assert [about for step, about in met if step is Step.COAT] == ["A2", "B2", "A3"]
    acts = [step for step, _ in met]
    assert max(place for place, step in enumerate(acts) if step is Step.PRESS) < acts.index(
        Step.CELL
    )
    assert met[acts.index(Step.CELL) :] == [
        (Step.CELL, "A2"), (Step.MEASURE, "A2"), (Step.CELL, "B2"), (Step.MEASURE, "B2"),
        (Step.CELL, "A3"), (Step.MEASURE, "A3"),
    ]  # fmt: skip
    with BenchFile.open(place, read_only=True) as bench:
        assert what_next(bench).best.startswith("It is shown that recipe A gives more")


def test_a_piece_that_is_begun_is_made_before_another_is_read(
    home: TestClient, place: Path
) -> None:
    """B1 is ready, A1 is not coated yet: A1 comes first, with why, and B1 may be read meanwhile."""
    with BenchFile.open(place) as bench:
        maker = Maker(bench)
        for step in (Step.METER, Step.RESISTORS, Step.SCALE, Step.MIX, Step.MESH):
            bench.put_all(THINGS[step])
        maker.piece("A")
        bench.put(Electrode(name="B1", recipe="B"))
        bench.put(Cell(name="cell B1", electrode="B1"))
        bench.put_all([*THINGS[Step.ALUMINIUM], *THINGS[Step.ELECTROLYTE]])
        bench.put(
            Run(name="A0 loads", electrode="A0", readings=(Reading(load="10 ohm", voltage=0.5),))
        )
        bench.put(Electrode(name="A0", recipe="A"))
        now = what_next(bench)

    assert (now.step, now.about, now.ready) == (Step.COAT, "A1", "B1")
    assert "B1 is ready to be read; what is begun is made first" in now.why
    assert 'href="/runs/start?electrode=B1">Measure B1 meanwhile<' in home.get("/").text


def test_the_first_planned_mix_is_weighed_first(home: TestClient, place: Path) -> None:
    """Who planned A and then B weighs A, is told why B waits, and may still begin with B."""
    with BenchFile.open(place) as bench:
        for step in (Step.METER, Step.RESISTORS, Step.SCALE, Step.POWDER, Step.BINDER, Step.MIX):
            bench.put_all(THINGS[step])
        now = what_next(bench)

    assert (now.step, now.about) == (Step.POT, "A")
    assert "A was planned first, B has its turn while the first coat dries" in now.why
    assert 'href="/mixes/B/pots/new">The pot of B first<' in home.get("/").text


def test_a_new_pot_leads_to_a_piece_of_it_and_not_to_another_pot(
    home: TestClient, place: Path
) -> None:
    """One more of A is wanted: its pot first, then a piece of that pot, then the coat of that piece."""
    _walked(home, place, Step.BUILD)
    with BenchFile.open(place) as bench:
        mix = what_next(bench).about
        before = _buttons(home)
        bench.put(Batch(name=f"{mix} pot 2", mix=mix))
    after = _buttons(home)
    said = home.get("/").text.replace("\xa0", " ")

    assert before[0] == (f"Weigh a new pot of {mix}", f"/mixes/{mix}/pots/new")
    assert f"layers.0.batch={mix}+pot+1" in before[1][1]
    assert after[0][0] == f"Coat a piece of {mix} pot 2"
    for told in (f"recipe={mix}&", f"layers.0.batch={mix}+pot+2", "mesh=gauze"):
        assert told in after[0][1]
    assert after[1][0] == f"Enter one more like {mix}1"
    assert f"layers.0.batch={mix}+pot+2" in after[1][1]
    assert f"{mix} pot 2 is weighed, and no piece is coated from it yet" in said
    assert f'value="{mix} pot 2"' in home.get(after[0][1]).text

    with BenchFile.open(place) as bench:
        piece = Electrode(
            name=f"{mix}2", recipe=mix, mesh="gauze", mesh_mass=Entry(value=4e-4),
            layers=(Layer(mix=mix, batch=f"{mix} pot 2"),), wetted_area=Entry(value=9e-4),
        )  # fmt: skip
        bench.put(piece)
        now = what_next(bench)
    assert (now.step, now.about) == (Step.COAT, f"{mix}2")


def test_a_run_that_is_read_to_its_end_is_closed_first(home: TestClient, place: Path) -> None:
    """Left without closing it, the first page and the list of runs both ask for that; closed, they go on."""
    _walked(home, place, Step.SECOND, planned=("A",))
    with BenchFile.open(place) as bench:
        bench.put(replace(bench.get(Run, "A1 loads"), finished=False))
        now = what_next(bench)
    page, measure = (home.get(there).text.replace("\xa0", " ") for there in ("/", "/runs"))

    assert (now.step, now.about) == (Step.CLOSE, "A1 loads")
    assert "Next: close the run: A1 loads</h2>" in page
    assert _buttons(home)[0] == ("Go to A1 loads, and close it", "/runs/A1%20loads")
    assert '<b>A1 loads</b><span class="small">every load is read: close it' in page
    assert "A1 loads: every load is read, close it</h1>" in measure
    assert "it is closed" not in measure
    run = home.get("/runs/A1%20loads").text
    assert "A1 loads: every load is read</h1>" in run.replace("\xa0", " ")
    assert 'value="finish">Close the run<' in run

    once = re.search(r'name="once" value="([^"]+)"', run)
    assert once is not None
    home.post("/runs/A1%20loads", data={"act": "finish", "once": once[1]})
    assert "One run, and it is closed</h1>" in home.get("/runs").text.replace("\xa0", " ")
    with BenchFile.open(place, read_only=True) as bench:
        assert what_next(bench).step is Step.SECOND


def test_the_piece_to_measure_once_more_is_named_once(home: TestClient, place: Path) -> None:
    """All of A on one half of the day, all of B on the other: the heading names the piece once."""
    _walked(home, place, Step.BUILD)
    with BenchFile.open(place) as bench:
        maker = Maker(bench, made=bench.names(Electrode))
        for mix in ("A", "B"):
            maker.piece(mix)
    _walked(home, place, Step.COMPARE)
    with BenchFile.open(place) as bench:
        for order, name in enumerate(("A1", "A2", "B1", "B2"), start=1):
            bench.put(replace(bench.get(Run, f"{name} loads"), order=order))
        now = what_next(bench)
    heading = re.search(r'<h2 id="next">([^<]+)</h2>', home.get("/").text.replace("\xa0", " "))

    assert now.step is Step.MEASURE
    assert heading is not None
    assert "so that the day cannot be the difference" in heading[1]
    assert heading[1].split().count(now.about) == 1


def _buttons(home: TestClient) -> list[tuple[str, str]]:
    """The buttons of the next step on the first page: words and places."""
    actions = home.get("/").text.split('<p class="actions">')[1].split("</p>")[0]
    found = re.findall(r'href="([^"]+)">([^<]+)<', actions)
    return [(unescape(words).replace("\xa0", " "), unescape(place)) for place, words in found]
