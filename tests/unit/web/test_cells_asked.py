"""The cell of each piece is asked for, with most of it filled in; where one lacks, both pages say that it blocks."""

from __future__ import annotations

import re
from html import unescape
from typing import TYPE_CHECKING, Any

import pytest

from aerode.records.electrodes import Cell, Electrode, Outcome
from aerode.records.marks import Condition, Entry, Known
from aerode.records.materials import Aluminium, Electrolyte
from aerode.records.runs import Reading, Run, Settling
from aerode.store.bench_file import BenchFile
from aerode.usecases.run_conditions import CONDITIONS
from aerode.usecases.what_next import Step, what_next

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.testclient import TestClient

OF_THE_CELL = {"aluminium", "gap", "salinity"}


def _run(name: str, order: int, gain: float) -> Run:
    """Three loads of a piece; what its cell does not tell was the same for all."""
    volts = {"100 ohm": 0.80, "33 ohm": 0.70, "10 ohm": 0.52}
    read = tuple(Reading(load=load, voltage=gain * volt, waited=120.0, settling=Settling.SETTLED, text="x") for load, volt in volts.items())  # fmt: skip
    same: dict[str, Any] = {one: Condition(known=Known.SAME) for one in CONDITIONS if one not in OF_THE_CELL}  # fmt: skip
    return Run(name=f"{name} loads", electrode=name, session="2026-05-09", order=order, meter="meter 1",
               readings=read, planned_loads=tuple(volts), finished=True, **same)  # fmt: skip


def _cell(name: str) -> Cell:
    length, area = (
        Entry(value=4e-3, text="4 mm ± 0.5 mm (ruler)"),
        Entry(value=2e-3, text="20 cm^2"),
    )
    return Cell(name=f"cell {name}", electrode=name, aluminium="sheet", electrolyte="brine", gap=length, aluminium_area=area)  # fmt: skip


@pytest.fixture
def without_a1(bench_place: Path) -> Path:
    """Five pieces read; all but A1 have their cell on the bench."""
    area = Entry(value=9e-4, standard_uncertainty=1e-5)
    with BenchFile.open(bench_place) as bench:
        bench.put_all([Aluminium(name="sheet"), Electrolyte(name="brine", salt="sodium chloride", mass_fraction=Entry(value=0.1))])  # fmt: skip
        for order, (name, gain) in enumerate({"A1": 1.0, "B1": 0.75, "A2": 1.01, "B2": 0.76, "A3": 0.99}.items()):  # fmt: skip
            bench.put(Electrode(name=name, recipe=name[0], wetted_area=area, outcome=Outcome.WHOLE))
            bench.put(_run(name, order + 1, gain))
            if name != "A1":
                bench.put(_cell(name))
    return bench_place


def _first_button(page: str) -> tuple[str, str]:
    found = re.search(r'<p class="actions"><a class="button" href="([^"]+)">([^<]+)<', page)
    assert found is not None
    return unescape(found[2]), unescape(found[1])


def test_both_pages_name_the_piece_without_a_cell(inside: TestClient, without_a1: Path) -> None:
    """The cause, not its first symptom: the same sentence and the same button on the first page and the comparison."""
    said = "Blocked: A1 has no cell on this bench, so its water, aluminium and gap are not known."
    home, compare = inside.get("/").text, inside.get("/compare").text

    for page in (home, compare):
        head = re.search(r"<h1>(.*?)</h1>", page)
        assert head is not None
        assert unescape(head[1]).replace("\u00a0", " ").startswith(said)
    assert _first_button(home) == _first_button(compare[compare.index('id="blocks"') :])
    assert _first_button(home) == ("Same as cell A3", "/things/cell/new?electrode=A1&like=cell+A3")
    assert "eigh salt" not in home
    with BenchFile.open(without_a1, read_only=True) as bench:
        now = what_next(bench)
    assert (now.step, now.about) == (Step.CELL, "A1")


def test_the_cell_brings_the_verdict(inside: TestClient, without_a1: Path) -> None:
    """One form, filled in but for what differs; saved, nothing blocks any more."""
    form = inside.get("/things/cell/new?electrode=A1&like=cell+A3").text
    for field, text in {"name": "cell A1", "electrode": "A1", "aluminium": "sheet", "electrolyte": "brine", "gap": "4 mm"}.items():  # fmt: skip
        assert re.search(rf'name="{field}" value="{text}"', form), field
    assert "Filled in as cell A3" in form
    sent = dict(re.findall(r'<input id="[^"]+" name="([^"]+)" value="([^"]*)"', form))

    assert inside.post("/things/cell/new", data=sent, follow_redirects=False).status_code == 303
    with BenchFile.open(without_a1, read_only=True) as bench:
        assert "Blocked" not in what_next(bench).best
    assert "This blocks" not in inside.get("/compare").text


def test_the_cell_of_a_run_that_is_only_opened_comes_first(bench_place: Path) -> None:
    """Who opens a run before its cell is asked for the cell while no reading is in it yet."""
    with BenchFile.open(bench_place) as bench:
        bench.put_all(
            [Electrode(name="A1", recipe="A"), Electrode(name="B1", recipe="B"), _cell("B1")]
        )
        bench.put(Run(name="A1 loads", electrode="A1", planned_loads=("open", "10 ohm")))
        now = what_next(bench)
        assert (now.step, now.about) == (Step.CELL, "A1")
        assert "A1 loads is open and has no reading yet" in now.why
        bench.put(_cell("A1"))
        assert (what_next(bench).step, what_next(bench).about) == (Step.GO_ON, "A1 loads")


def test_the_name_of_a_cell_is_proposed(inside: TestClient, bench_place: Path) -> None:
    """It is called after its piece; where that name is taken, the field stays empty."""
    with BenchFile.open(bench_place) as bench:
        bench.put(Electrode(name="A1"))
    assert 'name="name" value="cell A1"' in inside.get("/things/cell/new?electrode=A1").text
    with BenchFile.open(bench_place) as bench:
        bench.put(_cell("A1"))
    assert 'name="name" value=""' in inside.get("/things/cell/new?electrode=A1").text
