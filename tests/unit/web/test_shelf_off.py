"""A thing taken off the shelf on its own page, seen under what is gone, put back."""

from __future__ import annotations

from typing import TYPE_CHECKING

from click.testing import CliRunner

from aerode.cli.bench import command
from aerode.records.marks import Entry
from aerode.records.materials import PowderLot, SolventLot
from aerode.records.mixes import Mix, Portion
from aerode.store.bench_file import BenchFile

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.testclient import TestClient


def test_off_the_shelf_and_back(inside: TestClient, bench_place: Path) -> None:
    """The page leads there, says what to mind, and the shelf shows the thing under what is gone."""
    with BenchFile.open(bench_place) as bench:
        bench.put(SolventLot(name="bottle", substance="ethanol"))
    assert 'href="/shelf/off/solvent/bottle"' in inside.get("/things/solvent/bottle").text
    form = inside.get("/shelf/off/solvent/bottle").text
    assert "not the drain" in form
    assert 'value="2026-05-09"' in form

    sent = {"how": "used up", "on": "9 May 2026", "note": "", "once": "x"}
    led = inside.post("/shelf/off/solvent/bottle", data=sent, follow_redirects=False)
    assert led.headers["location"] == "/things/solvent/bottle"
    page = inside.get("/things/solvent/bottle").text
    assert "Not on the shelf any more" in page
    assert "/shelf/off/" not in page
    shelf = inside.get("/shelf").text
    assert "1 gone" in shelf
    assert ">bottle</option>" not in inside.get("/mixes/new").text
    assert '<option value="bottle">' not in inside.get("/mixes/new").text

    inside.post("/shelf/back/solvent/bottle")
    assert "Not on the shelf any more" not in inside.get("/things/solvent/bottle").text
    assert '<option value="bottle">' in inside.get("/mixes/new").text


def test_what_cannot_be_taken_off_comes_back_with_the_reason(
    inside: TestClient, bench_place: Path
) -> None:
    """Nothing said, a day that is none, a mistake on which a mix rests."""
    with BenchFile.open(bench_place) as bench:
        bench.put(Mix(name="T5", portions=(Portion(of="char A", mass=Entry(value=0.01)),)))
    for sent, said in (
        ({"on": "the 40th"}, "how it left the shelf is not said"),
        ({"how": "entered by mistake"}, "mix T5 rests on char A"),
    ):
        answer = inside.post("/shelf/off/powder/char%20A", data=sent)
        assert answer.status_code == 422
        assert said.lower() in answer.text.lower()
    with BenchFile.open(bench_place) as bench:
        assert bench.get(PowderLot, "char A").gone is None
    assert inside.get("/shelf/off/electrode/T1").status_code == 404


def test_a_mistake_leads_to_the_history_that_brings_it_back(inside: TestClient) -> None:
    """Nothing rests on the solution: it is off the lists, and its history is there."""
    led = inside.post("/shelf/off/solution/jar%201", data={"how": "entered by mistake"})

    assert led.status_code == 200
    assert "/history/solution/jar" in str(led.url)
    assert "jar 1" not in inside.get("/shelf").text


def test_at_the_command_line(bench_place: Path) -> None:
    """The answer says what to mind and the way back; undone, it stands there again."""
    where = ["--bench", str(bench_place)]
    words = ["take-off", "solution", "jar 1", "--how", "thrown away", *where]
    said = CliRunner().invoke(command, words)
    assert said.exit_code == 0
    assert "jar 1 is off the shelf: thrown away." in said.output
    assert "Mind:" in said.output
    assert CliRunner().invoke(command, ["undo", "solution", "jar 1", *where]).exit_code == 0
    assert (
        '"how": "used up"'
        in CliRunner().invoke(command, ["take-off", "powder", "char A", "--json", *where]).output
    )
