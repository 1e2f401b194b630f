"""The cautions in the browser: chosen, read, acknowledged with a reason; a STOP never goes away."""

from __future__ import annotations

import re
import sqlite3
from html import unescape
from typing import TYPE_CHECKING

import pytest

from aerode.records.cautions import Acknowledgement, CautionLevel
from aerode.records.electrodes import Cell, Electrode, Press
from aerode.records.marks import Entry, Share
from aerode.records.materials import Electrolyte, Function, Solution, SolventLot
from aerode.records.mixes import Ingredient, Mix, Portion
from aerode.records.places import People, Room
from aerode.store.bench_file import BenchFile

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.testclient import TestClient

    from aerode.web.guard.doors import Doors


@pytest.fixture
def risky(bench_place: Path) -> Path:
    """The bench with a mix in ethanol, an electrode and a cell of one name, and two rooms."""
    with BenchFile.open(bench_place) as bench:
        bench.put(
            Solution(
                name="jar 1", polymer="PVB", function=Function.BINDER, solids=Entry(value=0.1),
                liquid=(Share(of="ethanol", fraction=1.0),),
            )
        )  # fmt: skip
        bench.put(SolventLot(name="bottle", substance="ethanol"))
        jar = Portion(of="jar 1", shelf=Ingredient.SOLUTION, mass=Entry(value=15e-3))
        bench.put(Mix(name="M", portions=(Portion(of="char A", mass=Entry(value=8e-3)), jar)))
        bench.put(Electrode(name="T1", press=(Press(plate_temperature=Entry(value=373.15)),)))
        bench.put(Electrolyte(name="brine", salt="NaCl", mass_fraction=Entry(value=0.03)))
        bench.put(Cell(name="T1", electrode="T1", electrolyte="brine"))
        bench.put(Room(name="shed", volume=Entry(value=30.0)))
        bench.put(Room(name="kitchen", volume=Entry(value=20.0)))
    return bench_place


def _acknowledged(place: Path) -> list[Acknowledgement]:
    with BenchFile.open(place) as bench:
        return bench.all(Acknowledgement)


@pytest.mark.usefixtures("risky")
def test_item_and_room_are_chosen(inside: TestClient) -> None:
    """Every kind is offered; the choice leads to the sheet."""
    text = inside.get("/cautions").text
    led = inside.get("/cautions", params={"item": "M", "room": "shed"}, follow_redirects=False)

    assert "/cautions/mix%3AM" in text
    assert "/cautions/electrode%3AT1" in text
    assert "kitchen" in text
    assert led.headers["location"] == "/cautions/M?room=shed"


@pytest.mark.usefixtures("risky")
def test_a_sheet_carries_figure_limit_source_and_the_standing_text(inside: TestClient) -> None:
    """The flammable liquid, its source, and the words that bound what the sheet is."""
    text = inside.get("/cautions/mix:M").text

    assert "flammable" in text
    assert "Source:" in text
    assert "no substitute for the safety data sheet" in text


@pytest.mark.usefixtures("risky")
def test_one_name_for_two_things_is_asked(inside: TestClient) -> None:
    """An electrode and a cell called T1: the page asks which."""
    text = inside.get("/cautions/T1").text

    assert "Which T1 is meant?" in text
    assert "/cautions/cell%3AT1" in text


def test_read_before_folds_and_a_stop_never_does(inside: TestClient, risky: Path) -> None:
    """After marking as read each FIRST and NOTE is one line; the STOP of the hot plate stays open."""
    before = inside.get("/cautions/mix:M", params={"plate": "260 °C"}).text
    assert '<div class="caution STOP">' in before
    assert '<div class="caution FIRST">' in before
    sent = {"act": "read", "plate": "260 °C", "once": "a"}
    after = inside.post("/cautions/mix:M", data=sent).text

    assert "Marked as read" in after
    assert '<div class="caution STOP">' in after
    assert '<div class="caution FIRST">' not in after
    assert '<details class="caution FIRST">' in after
    assert all(said.level is not CautionLevel.STOP for said in _acknowledged(risky))


def test_a_stop_needs_a_reason_in_words(inside: TestClient, risky: Path) -> None:
    """Without one nothing is kept and the page says why; with one it is kept and the STOP stays."""
    page = inside.get("/cautions/cell:T1?charger=yes").text
    key = page.split('name="key" value="')[1].split('"')[0]
    refused = inside.post("/cautions/cell:T1", data={"key": key, "charger": "yes", "reason": "yes"})
    assert refused.status_code == 422
    assert "reason in words" in refused.text
    assert not _acknowledged(risky)

    sent = {
        "key": key,
        "charger": "yes",
        "reason": "bench supply, current limited to 10 mA",
        "once": "b",
    }
    kept = inside.post("/cautions/cell:T1", data=sent)
    inside.post("/cautions/cell:T1", data=sent)
    assert "Your reason is in the history" in kept.text
    assert '<div class="caution STOP">' in kept.text
    assert "current limited to 10 mA" in kept.text
    assert [said.caution for said in _acknowledged(risky)] == [key]


@pytest.mark.usefixtures("risky")
def test_what_is_typed_beside_the_records_counts(inside: TestClient) -> None:
    """A plate of 260 °C raises a STOP that 20 °C does not; an unreadable plate is told."""
    hot = inside.get("/cautions/mix:M", params={"plate": "260 °C"}).text
    cold = inside.get("/cautions/mix:M").text
    wrong = inside.get("/cautions/mix:M", params={"plate": "hot"})

    assert '<div class="caution STOP">' in hot
    assert '<div class="caution STOP">' not in cold
    assert wrong.status_code == 200
    assert "This cannot be taken yet" in wrong.text
    assert 'value="hot"' in wrong.text


@pytest.mark.usefixtures("risky")
def test_what_is_not_there_is_not_found(inside: TestClient) -> None:
    """404, and nothing is said to be harmless."""
    assert inside.get("/cautions/mix:nothing").status_code == 404
    assert inside.get("/cautions/nothing").status_code == 404


@pytest.mark.usefixtures("risky")
def test_a_stop_holds_the_weights_back(inside: TestClient) -> None:
    """In a class the STOP waits: the page of the mix shows no weight, and the sheet is not printed."""
    asked = {
        "area": "9 cm^2",
        "loading": "25 mg/cm^2",
        "electrodes": "2",
        "plate": "260 °C",
        "room": "shed",
    }
    sheet = inside.get("/prints/sheet/M", params=asked, follow_redirects=False)
    page = inside.get("/prints/bench-sheet/M", params=asked).text

    assert sheet.status_code == 303
    assert sheet.headers["location"].startswith("/prints/bench-sheet/M")
    assert "Not printed yet" in page
    assert "Open the sheet to print" not in page


def _everything(place: Path) -> str:
    """Every text that is stored on the bench, whatever table it is in."""
    with sqlite3.connect(place) as connection:
        text = "\n".join(connection.iterdump())
    connection.close()
    return text


@pytest.mark.parametrize("by_room", [True, False])
def test_in_a_class_a_code_stands_in_place_of_a_name(
    outside: TestClient, doors: Doors, risky: Path, *, by_room: bool
) -> None:
    """The name typed at the door is in no row of what is kept: neither for a STOP nor for the others."""
    if by_room:
        with BenchFile.open(risky) as bench:
            bench.put(Room(name="kitchen", volume=Entry(value=20.0), people=(People.CLASS,)))
    outside.get("/enter", params={"link": doors.new_link(who="Rosalind Q")})
    asked = {"plate": "260 °C", **({"room": "kitchen"} if by_room else {"class_mode": "yes"})}
    page = outside.get("/cautions/mix:M", params=asked).text
    key = re.findall(r'name="key" value="([^"]+)"', page)[0]
    stop = {**asked, "key": unescape(key), "reason": "a fan stands in the window"}

    assert "Code of the group" in page
    for said in ("", "Rosalind Q", "Rosalind"):
        refused = outside.post("/cautions/mix:M", data={**stop, "group": said})
        unread = outside.post("/cautions/mix:M", data={**asked, "act": "read", "group": said})
        assert refused.status_code == unread.status_code == 422
        assert "a fan stands in the window" in refused.text
    assert not _acknowledged(risky)
    outside.post("/cautions/mix:M", data={**stop, "group": "eel"})
    outside.post("/cautions/mix:M", data={**asked, "act": "read", "group": "teacher"})

    with BenchFile.open(risky) as bench:
        states = bench.history(Acknowledgement)
    assert {state.who for state in states} == {"eel", "teacher"}
    assert "Rosalind" not in _everything(risky)


@pytest.mark.usefixtures("risky")
def test_without_a_class_the_name_stays(outside: TestClient, doors: Doors, risky: Path) -> None:
    """Nothing is asked, and who did it stands in the history."""
    outside.get("/enter", params={"link": doors.new_link(who="ann")})
    assert "Code of the group" not in outside.get("/cautions/mix:M").text
    outside.post("/cautions/mix:M", data={"act": "read"})

    with BenchFile.open(risky) as bench:
        assert {state.who for state in bench.history(Acknowledgement)} == {"ann"}


def test_a_piece_of_a_group_says_whose_it_is(
    outside: TestClient, doors: Doors, risky: Path
) -> None:
    """Its name begins with the code; the JSON interface asks the same."""
    with BenchFile.open(risky) as bench:
        bench.put(Mix(name="gull 1", portions=bench.get(Mix, "M").portions))
        bench.put(Room(name="kitchen", people=(People.CLASS,)))
        bench.withdraw(Room, "shed")
    outside.get("/enter", params={"link": doors.new_link(who="Rosalind Q")})
    outside.post("/cautions/mix:gull 1", data={"act": "read"})
    sheet = outside.get("/json/cautions/mix:M").json()
    told = {"key": sheet["cautions"][0]["key"], "reason": "a fan stands there"}
    refused = outside.post("/json/cautions/mix:M/acknowledgements", json=told)
    taken = outside.post("/json/cautions/mix:M/acknowledgements", json={**told, "group": "cod"})

    assert refused.status_code == 400
    assert refused.json()["where"] == "group"
    assert taken.status_code == 200, taken.text
    with BenchFile.open(risky) as bench:
        assert {state.who for state in bench.history(Acknowledgement)} == {"gull", "cod"}


def test_a_bench_without_an_item_still_says_what_usually_hurts(inside: TestClient, bench_place: Path) -> None:  # fmt: skip
    """Dust, solvent, hydrogen, lye; once something is on the bench its own cautions take their place."""
    first = inside.get("/cautions").text
    assert 0 < first.find("wet them in the jar") < first.find('name="item"')
    for told in ("Solvent gives off vapour", "gives off hydrogen", "Lye into cold water"):
        assert told in first
    with BenchFile.open(bench_place) as bench:
        bench.put(Electrode(name="T1"))
    assert "wet them in the jar" not in inside.get("/cautions").text
