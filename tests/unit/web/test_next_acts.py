"""The next act has its button, on the first page, in the comparison and beside a curve."""

from __future__ import annotations

import inspect
import re
from dataclasses import replace
from html import unescape
from typing import TYPE_CHECKING, Any

import pytest

from aerode.measure import fit_advice
from aerode.measure.comparison.next_steps import ACTS
from aerode.measure.run_plans import loads_without_air
from aerode.records.comparisons import ActAt, NextAct
from aerode.records.electrodes import Cell, Electrode, Outcome
from aerode.records.marks import Condition, Entry, Known
from aerode.records.runs import Reading, Run, RunSort, Settling
from aerode.store.bench_file import BenchFile
from aerode.usecases.compare import compare
from aerode.usecases.fit import FitQuestion, fit_bench_run
from aerode.usecases.run_conditions import CONDITIONS
from aerode.web.pages.next_acts import place_said, way_of_advice, ways_to_act

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.testclient import TestClient


def _loads(name: str, order: int, electrode: str, gain: float, sort: RunSort = RunSort.LOADS) -> Run:  # fmt: skip
    volts = {"100 ohm": 0.80, "33 ohm": 0.70, "10 ohm": 0.52}
    readings = [Reading(load=load, voltage=gain * volt, waited=120.0, settling=Settling.SETTLED, text="x") for load, volt in volts.items()]  # fmt: skip
    same: dict[str, Any] = {one: Condition(known=Known.SAME) for one in CONDITIONS}
    return Run(
        name=name, electrode=electrode, cell=f"cell {electrode}", sort=sort, session="2026-05-09", order=order,
        meter="meter 1", readings=tuple(readings), planned_loads=tuple(volts), finished=True,
        **same,
    )  # fmt: skip


@pytest.fixture
def measured_place(bench_place: Path) -> Path:
    """Two recipes of two pieces each, read in turn and far apart, so that the verdict is "shown"."""
    area = Entry(value=9e-4, standard_uncertainty=1e-5)
    with BenchFile.open(bench_place) as bench:
        for order, (name, gain) in enumerate({"A1": 1.0, "B1": 0.75, "B2": 0.76, "A2": 1.01}.items()):  # fmt: skip
            bench.put(Electrode(name=name, recipe=name[0], wetted_area=area, outcome=Outcome.WHOLE))
            bench.put(Cell(name=f"cell {name}", electrode=name))
            bench.put(_loads(f"{name} loads", order + 1, name, gain))
    return bench_place


def _link(page: str, words: str) -> str:
    found = re.search(rf'href="([^"]*)"[^>]*>{re.escape(words)}<', page)
    assert found, words
    return unescape(found[1])


def test_a_taped_air_face_is_one_tap_from_the_advice(inside: TestClient, measured_place: Path) -> None:  # fmt: skip
    """Beside a curve the advice has a button, its form is filled, three loads are planned, and the end says what it found."""
    page = inside.get("/runs/A1 loads").text
    assert "Tape over the air face of A1" in page
    form = inside.get(_link(page, "Begin three loads of A1 without air")).text
    assert 'name="electrode" value="A1"' in form
    assert 'value="sealed face" selected' in form

    inside.post("/runs/start", data={"electrode": "A1", "kind": "sealed face"})
    with BenchFile.open(measured_place, read_only=True) as bench:
        run = bench.all(Run)[-1]
    assert (run.sort, len(run.planned_loads)) == (RunSort.SEALED_FACE, 3)
    begun = inside.get(f"/runs/{run.name}").text
    assert "Tape over the air face first, all of it" in begun
    assert "less than the 0." in begun  # what air gives is not what to expect
    assert "open mark" not in begun
    assert f"{run.name}" in inside.get("/").text  # begun, and not forgotten on the first page

    for text in ("0.05", "0.02", "0.01"):
        inside.post(f"/runs/{run.name}", data={"act": "take", "reading": f"{text} V", "sure": "yes"})  # fmt: skip
    inside.post(f"/runs/{run.name}", data={"act": "finish"})
    told = inside.get(f"/runs/{run.name}").text.replace("\N{NO-BREAK SPACE}", " ")
    assert "Without air 2 % of the current is left at 10 ohm: it is the air that feeds A1" in told
    assert "Tape over the air face of A1" not in inside.get("/runs/A1 loads").text


def test_first_page_and_comparison_offer_the_button_of_their_act(
    inside: TestClient, measured_place: Path
) -> None:
    """What the comparison names next has its button on both pages, to the same filled form; later acts have theirs."""
    with BenchFile.open(measured_place, read_only=True) as bench:
        found = compare(bench, try_changes=False)
    assert found.next_act is not None
    assert found.next_act.sealed == "A1"

    for place in ("/", "/compare"):
        page = inside.get(place).text
        assert _link(page, "Begin three loads of A1 without air") == "/runs/start?electrode=A1&kind=sealed+face"  # fmt: skip
    control = inside.get(_link(inside.get("/compare").text, "Begin a run of A1 as control")).text
    assert 'name="control" value="yes" checked' in control
    assert 'name="electrode" value="A1"' in control


def test_the_order_proposes_the_control_that_is_advised(
    inside: TestClient, measured_place: Path
) -> None:
    """No control is kept: the piece that the comparison names is chosen beforehand, and its run is one of the control."""
    page = inside.get("/compare/order").text
    assert "<option selected>A1</option>" in page
    assert "A1 is proposed" in page

    drawn = inside.post("/compare/order", data={"session": "next", "control": "A1"}).text
    assert _link(drawn, "Measure A1") == "/runs/start?electrode=A1&control=yes"

    with BenchFile.open(measured_place) as bench:
        bench.put(replace(bench.get(Electrode, "B2"), control=True))
    kept = inside.get("/compare/order").text
    assert "<option selected>B2</option>" in kept
    assert "is proposed" not in kept


def test_units_of_a_result_are_written_as_in_print(inside: TestClient, measured_place: Path) -> None:  # fmt: skip
    """Advice, warnings and assumptions beside a curve say mA/cm², as the figures do."""
    with BenchFile.open(measured_place, read_only=True) as bench:
        advice = fit_bench_run(bench, "A1 loads", FitQuestion()).advice
    assert any("mA/cm^2" in line for line in advice)
    shown = re.sub(r"<[^>]+>", " ", inside.get("/runs/A1 loads").text)
    assert "mA/cm²" in shown
    assert not re.findall(r"\^\d|cm2\b", shown)


def test_every_act_has_a_button_or_a_sentence(measured_place: Path) -> None:
    """Nothing is advised on a page without saying where it is done."""
    with BenchFile.open(measured_place, read_only=True) as bench:
        for at in ActAt:
            act = NextAct(do="do it", why="why", at=at, sealed="A1" if at is ActAt.LOG else "")
            assert at is ActAt.NOWHERE or ways_to_act(bench, act), at
        assert all(one.rereads or one.at is not ActAt.NOWHERE for one in ACTS)
    assert place_said(NextAct(do="", why="", at=ActAt.LEADS))


def test_advice_beside_a_curve_has_its_button() -> None:
    """Every sentence that `fit_advice.advice` can begin has one, but the one that no load can help."""
    text = inspect.getsource(fit_advice.advice) + inspect.getsource(fit_advice._to_show_the_limit)  # pyright: ignore[reportPrivateUsage]
    begun = re.findall(r'(?:append\(\s*|return \(\s*)f?"([a-z][^"]+)"', text)
    assert len(begun) >= 6
    for line in begun:
        assert way_of_advice(line, "A1") or line.startswith("even 0.1 ohm"), line
    assert way_of_advice("get a resistor of 0.33 ohm", "A1") == ("Enter resistors", "/shelf/resistors")  # fmt: skip
    assert (way_of_advice("measure down to 4.7 ohm", "A1") or ("",))[0] == "Measure A1 again"


def test_the_taped_face_is_read_where_air_was_read() -> None:
    """Only at the same loads can two runs be compared; three of them, the smallest among them."""
    parts = {"100 ohm": 100.0, "47 ohm": 47.0, "22 ohm": 22.0, "10 ohm": 10.0, "1 ohm": 1.0}

    assert loads_without_air(parts, {"open", *list(parts)[:4]}) == ("100 ohm", "22 ohm", "10 ohm")
    assert len(loads_without_air(parts)) == 3
