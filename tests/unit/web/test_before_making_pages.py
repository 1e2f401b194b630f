"""The forms of the making stage carry their cautions above the act."""

from __future__ import annotations

import html
import re
from html import unescape
from typing import TYPE_CHECKING

import pytest

from aerode.records.electrodes import Electrode, Layer
from aerode.records.marks import Entry, Share
from aerode.records.materials import Function, PowderLot, Solution
from aerode.records.mixes import Ingredient, Mix, Portion
from aerode.records.runs import Reading, Run
from aerode.store.bench_file import BenchFile
from aerode.usecases.usual_words import BEFORE_MAKING

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.testclient import TestClient


@pytest.fixture
def mixed(bench_place: Path) -> Path:
    """A mix bound with PVB in ethanol, and a piece of it."""
    portions = (
        Portion(of="soot", mass=Entry(value=8e-3)),
        Portion(of="glue", shelf=Ingredient.SOLUTION, mass=Entry(value=1e-2)),
    )
    with BenchFile.open(bench_place) as bench:
        bench.put_all([
            PowderLot(name="soot", substance="carbon black", function=Function.CONDUCTOR),
            Solution(name="glue", polymer="PVB", solids=Entry(value=0.1), dry_density=Entry(value=1080.0),
                     liquid=(Share(of="ethanol", fraction=1.0),)),
            Mix(name="M", portions=portions),
            Electrode(name="E1", layers=(Layer(mix="M"),)),
        ])  # fmt: skip
    return bench_place


def _hazards(part: str) -> list[str]:
    """The hazards of the cautions of a part of a page, in their order."""
    return re.findall(r"<b>(?:STOP|FIRST|NOTE)</b> ([a-z ]+):", part)


def test_the_form_of_a_pot_carries_the_cautions_of_its_mix(inside: TestClient, mixed: Path) -> None:
    """Those that the page of the mix shows, above the form; also after a fault; not once it is weighed."""
    of_mix = inside.get("/mixes/M").text
    for page in (
        inside.get("/mixes/M/pots/new").text,
        inside.post("/mixes/M/pots/new", data={"name": ""}).text,
        inside.get("/things/batch/new", params={"mix": "M"}).text,
    ):
        above, _, _ = page.partition("<form method")
        assert "Before you open a jar: " in above
        told = re.search(r'<section class="hurts".*?</section>', above, re.DOTALL)
        whole = re.search(r'<section class="hurts".*?</section>', of_mix, re.DOTALL)
        assert told is not None
        assert whole is not None
        assert _hazards(told[0]) == _hazards(whole[0])
        assert "flammable liquid" in _hazards(told[0])


def test_the_form_of_a_piece_carries_cautions_and_the_line_on_heat(
    inside: TestClient, mixed: Path
) -> None:
    """Of the mix that is named; the line on the plate word for word as on the page of a piece."""
    page = inside.get("/things/electrode/new", params={"layers.0.mix": "M"}).text
    above, _, form = page.partition("<form method")
    assert "Before it is coated: " in above
    assert "flammable liquid" in _hazards(above)
    line = re.search(
        r"<div class=\"caution NOTE\"><p><b>Before the plate is hot</b>.*?</div>", form
    )
    assert line is not None
    assert "72 °C to 120 °C" in line[0]
    own = (
        inside.get("/electrodes/E1").text.replace("piece=E1&amp;", "").replace("piece=E1", "mix=M")
    )
    said = line[0].partition('<p><a class="alone"')[0]
    assert said in own


def test_an_empty_form_of_a_piece_carries_the_usual_words(inside: TestClient) -> None:
    """Nothing is named yet: the words that the page of cautions has."""
    for place in ("/things/electrode/new", "/things/batch/new"):
        above, _, _ = inside.get(place).text.partition("<form method")
        assert all(line in above for line in BEFORE_MAKING)


def test_a_typed_plate_is_told_and_asked_about(inside: TestClient, mixed: Path) -> None:
    """190 degC: told as a part of the page, asked back before it is stored; a yes stores it."""
    sent = {"name": "E2", "layers.0.mix": "M", "press.0.plate_temperature": "190"}
    part = inside.post("/electrodes/before", data=sent)
    assert part.status_code == 200
    assert '<div data-before="past">' in part.text
    assert "STOP" in part.text.partition('data-before="past"')[2]
    of_piece = inside.post("/electrodes/before?of=E1", data={"press.plate_temperature": "190"}).text
    assert "STOP" in of_piece.partition('data-before="past"')[2]
    cool = inside.post("/electrodes/before?of=E1", data={"press.plate_temperature": "100"}).text
    assert "STOP" not in cool

    asked = inside.post("/things/electrode/new", data=sent)
    assert asked.status_code == 422
    assert "Is it meant so?" in asked.text
    with BenchFile.open(mixed) as bench:
        assert bench.find(Electrode, "E2") is None
    inside.post("/things/electrode/new", data={**sent, "sure": _tick(asked.text)})
    with BenchFile.open(mixed) as bench:
        assert bench.find(Electrode, "E2") is not None


def _tick(page: str) -> str:
    """What the tick on a form sends: the question beside it."""
    found = re.search(r'name="sure" value="([^"]+)"', page)
    assert found
    return unescape(found[1])


def test_a_tick_answers_one_question_and_no_other(inside: TestClient, mixed: Path) -> None:
    """A plate changed after it was asked about is asked about again; a plain yes answers nothing."""
    sent = {"name": "E2", "layers.0.mix": "M", "press.0.plate_temperature": "190"}
    tick = _tick(inside.post("/things/electrode/new", data=sent).text)
    for changed in (
        {"press.0.plate_temperature": "290", "sure": tick},
        {"press.0.plate_temperature": "190", "sure": "yes"},
    ):
        again = inside.post("/things/electrode/new", data={**sent, **changed})
        assert again.status_code == 422, changed
        assert "Is it meant so?" in again.text
        with BenchFile.open(mixed) as bench:
            assert bench.find(Electrode, "E2") is None
    stored = inside.post("/things/electrode/new", data={**sent, "sure": tick})
    assert stored.status_code == 200
    with BenchFile.open(mixed) as bench:
        assert bench.find(Electrode, "E2") is not None


def test_a_piece_of_nobody_is_not_told_of(inside: TestClient) -> None:
    """A name that is not on the bench is said so."""
    assert inside.post("/electrodes/before?of=E9", data={}).status_code == 404


def test_the_heading_of_a_piece_does_not_announce_what_was_done(
    inside: TestClient, mixed: Path
) -> None:
    """Pressed hot, then wetted: each is said as done."""

    def heading() -> str:
        found = re.search(r'<h2 id="hurt">(.*?)</h2>', inside.get("/electrodes/E1").text)
        assert found is not None
        return found[1]

    assert heading().startswith("Before heat or water touches it")
    hot = {"press.plate_temperature": "100", "press.means": "plates"}
    asked = re.search(r'name="sure" value="([^"]*)"', inside.post("/electrodes/E1/presses", data=hot).text)  # fmt: skip
    assert asked is not None  # nobody weighed it dry
    inside.post("/electrodes/E1/presses", data={**hot, "sure": html.unescape(asked[1])})
    assert heading().startswith("It was heated; before water touches it")
    with BenchFile.open(mixed) as bench:
        bench.put(Run(name="E1 loads", electrode="E1", readings=(Reading(load="33 ohm", voltage=0.4),)))  # fmt: skip
    assert heading().startswith("It was heated and wetted; what holds for the next time: ")
