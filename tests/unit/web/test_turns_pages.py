"""Whose turn it is, said where somebody is about to measure."""

from __future__ import annotations

import re
from html import unescape
from typing import TYPE_CHECKING

import pytest

from aerode.records.electrodes import Electrode
from aerode.records.runs import Reading, Run
from aerode.store.bench_file import BenchFile

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.testclient import TestClient

TURN = "In turn next: B1 (recipes take turns, so that the day cannot be what differs)."
LOADS = ("open", "100 ohm")


@pytest.fixture
def two(inside: TestClient, bench_place: Path) -> TestClient:
    """Two pieces of two recipes each; A1 is read, A2 has a run that is only opened."""
    read = tuple(Reading(load=load, voltage=v, waited=150.0) for load, v in (("open", 1.2), ("100 ohm", 0.9), ("100 ohm", 0.9)))  # fmt: skip
    with BenchFile.open(bench_place) as bench:
        for name in ("A1", "A2", "B1", "B2"):
            bench.put(Electrode(name=name, recipe=name[0]))
        bench.put(Run(name="A1 loads", electrode="A1", planned_loads=LOADS, readings=read, finished=True))  # fmt: skip
        bench.put(Run(name="A2 loads", electrode="A2", planned_loads=LOADS))
    return inside


@pytest.mark.parametrize("place", ["/runs/start", "/runs/start?electrode=A2", "/runs", "/runs/A2%20loads", "/electrodes/B1"])  # fmt: skip
def test_whose_turn_it_is_stands_where_somebody_measures(two: TestClient, place: str) -> None:
    """The form of a new run, the list of runs, a run opened out of turn, and the piece itself say the same."""
    assert TURN in unescape(two.get(place).text)


def test_home_names_the_run_that_goes_on(two: TestClient, bench_place: Path) -> None:
    """A run with its first reading: the button and the heading name it, and who comes after it."""
    with BenchFile.open(bench_place) as bench:
        run = bench.get(Run, "A2 loads")
        bench.put(Run(name=run.name, electrode="A2", planned_loads=LOADS, readings=(Reading(load="open", voltage=1.2),)))  # fmt: skip
    page = re.sub(r"\s+", " ", unescape(two.get("/").text))

    assert ">Go on reading A2 loads</a>" in page
    assert "Next: go on with the run: A2 loads" in page
    assert "Finish A2 loads first; in turn next: B1" in page.replace("\u00a0", " ")


def test_one_recipe_is_told_nothing_of_turns(inside: TestClient, bench_place: Path) -> None:
    """Two pieces of one recipe: the order of the day is nobody's matter."""
    with BenchFile.open(bench_place) as bench:
        for name in ("A1", "A2"):
            bench.put(Electrode(name=name, recipe="A"))

    assert "In turn next" not in inside.get("/runs/start").text
