"""The cell of a run: recorded where there is one only, and said on the page where nobody named it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.records.electrodes import Cell, Electrode
from aerode.records.runs import Run
from aerode.store.bench_file import BenchFile

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.testclient import TestClient


def _put(place: Path, *records: Cell | Electrode) -> None:
    with BenchFile.open(place) as bench:
        bench.put_all(list(records))


def _cell_of(place: Path, name: str) -> str:
    with BenchFile.open(place) as bench:
        return bench.get(Run, name).cell


def _plain(text: str) -> str:
    return text.replace("\N{NO-BREAK SPACE}", " ")


def test_the_only_cell_is_recorded_when_a_run_begins(inside: TestClient, bench_place: Path) -> None:
    """A run of loads and a look at the air face alike; nothing is asked, on either page."""
    _put(bench_place, Electrode(name="T1"), Cell(name="C1", electrode="T1"))
    page = inside.post("/runs/start", data={"electrode": "T1"}).text
    inside.post("/runs/start", data={"electrode": "T1", "kind": "seep"})

    assert _cell_of(bench_place, "T1 loads") == "C1"
    assert _cell_of(bench_place, "T1 seep") == "C1"
    assert "Change its cell" not in page
    assert "Was it in" not in inside.get("/things/cell/C1").text


def test_a_run_begun_before_its_cell_takes_it_when_it_goes_on(
    inside: TestClient, bench_place: Path
) -> None:
    """Begun, then the cell entered, then begun again without a reading: the run is in that cell, with its reason."""
    inside.post("/runs/start", data={"electrode": "T1"})
    _put(bench_place, Cell(name="C1", electrode="T1"))
    inside.post("/runs/start", data={"electrode": "T1"})

    with BenchFile.open(bench_place) as bench:
        assert bench.count(Run) == 1
        assert bench.get(Run, "T1 loads").cell == "C1"
        assert bench.history(Run, "T1 loads")[-1].why == "it is in C1"


def test_a_cell_that_is_taken_without_an_answer_is_named_on_the_spot(
    inside: TestClient, bench_place: Path
) -> None:
    """Read before the cell was entered: the page of the run says which is taken and why; of two cells, that it is the newest."""
    inside.post("/runs/start", data={"electrode": "T1"})
    inside.post("/runs/T1%20loads", data={"reading": "1.25", "act": "take"})
    _put(bench_place, Cell(name="C1", electrode="T1"))
    inside.post("/runs/start", data={"electrode": "T1"})
    page = _plain(inside.get("/runs/T1%20loads").text)

    assert _cell_of(bench_place, "T1 loads") == ""
    assert "this run counts as taken in C1, the only cell of T1 on this bench" in page
    inside.post("/runs/T1%20loads", data={"act": "finish"})
    _put(bench_place, Cell(name="C2", electrode="T1"))
    second = _plain(inside.post("/runs/start", data={"electrode": "T1"}).text)
    assert "Put down as in C2, the newest of 2 cells of T1" in second
