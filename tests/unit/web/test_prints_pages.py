"""What goes to the printer: labels, the card of a run, the bench sheet."""

from __future__ import annotations

import base64
import hashlib
import re
from html import unescape
from typing import TYPE_CHECKING

import pytest

from aerode.records.cautions import Acknowledgement
from aerode.records.electrodes import Electrode
from aerode.records.instruments import Instrument, Sort
from aerode.records.marks import Entry, Share
from aerode.records.materials import Function, PowderLot, Solution
from aerode.records.mixes import Ingredient, Mix, Portion
from aerode.records.places import Room
from aerode.records.runs import Reading, Run
from aerode.store.bench_file import BenchFile

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.testclient import TestClient

ASKED = {"area": "9 cm^2", "loading": "25 mg/cm^2", "electrodes": "8"}


@pytest.fixture
def ready(bench_place: Path) -> Path:
    """The bench with a mix, a room and two electrodes, one of them measured."""
    with BenchFile.open(bench_place) as bench:
        bench.put(
            Solution(
                name="jar 1", polymer="PVB", function=Function.BINDER, solids=Entry(value=0.1),
                liquid=(Share(of="ethanol", fraction=1.0),),
            )
        )  # fmt: skip
        bench.put(PowderLot(name="char A", substance="biochar", function=Function.CONDUCTOR))
        jar = Portion(of="jar 1", shelf=Ingredient.SOLUTION, mass=Entry(value=15e-3))
        bench.put(Mix(name="M", portions=(Portion(of="char A", mass=Entry(value=8e-3)), jar)))
        bench.put(Room(name="shed", volume=Entry(value=30.0)))
        bench.put(Electrode(name="T1", recipe="M", made="2026-05-05"))
        bench.put(Electrode(name="T2", build="T1"))
        bench.put(
            Run(
                name="T1 loads", electrode="T1", finished=True,
                planned_loads=("open", "100 ohm", "33 ohm"),
                readings=(Reading(load="open", voltage=0.71), Reading(load="100 ohm", voltage=0.65)),
            )
        )  # fmt: skip
    return bench_place


@pytest.mark.usefixtures("ready")
def test_labels_stand_on_their_places(inside: TestClient) -> None:
    """Two labels from the third place on: two blanks before them, each with its square code."""
    text = inside.get("/prints/labels", params={"electrode": ["T1", "T2"], "first": "3"}).text

    assert text.count('class="label used"') == 2
    assert text.count('class="code"') == 2
    assert "made 5\N{NO-BREAK SPACE}May\N{NO-BREAK SPACE}2026" in text
    assert "was T1" in text
    assert "2 labels" in text


@pytest.mark.usefixtures("ready")
def test_without_a_choice_the_electrodes_are_offered(inside: TestClient) -> None:
    """The page asks which; an unknown one is not found."""
    text = inside.get("/prints/labels").text

    assert 'value="T1"' in text
    assert "Which electrodes need a label?" in text
    assert inside.get("/prints/labels", params={"electrode": "T9"}).status_code == 404


@pytest.mark.usefixtures("ready")
def test_a_card_before_the_run_says_what_to_expect(inside: TestClient) -> None:
    """Largest resistor first, the earlier run's voltage beside it, empty boxes."""
    text = inside.get("/prints/resistors", params={"electrode": "T1"}).text
    loads = re.findall(r'<th scope="row">([^<]+)', text)

    assert loads[:4] == ["no load", "100 ohm", "33 ohm", "10 ohm"]
    assert "<b>0.65 V</b>" in text
    assert "earlier run" in text
    for told in ("gives off hydrogen", "goggles and gloves on", "A small resistor gets hot"):
        assert 0 < text.find(told) < text.find("<table")
    assert text.count('class="box"></td>') == 2 * len(loads)


@pytest.mark.usefixtures("ready")
def test_a_card_of_a_run_holds_what_was_read(inside: TestClient) -> None:
    """Its loads in their order; the boxes that are read are filled."""
    text = inside.get("/prints/resistors", params={"run": "T1 loads"}).text

    assert "0.710 V" in text
    assert text.count('class="box">0.') == 2
    assert inside.get("/prints/resistors", params={"run": "none"}).status_code == 404


@pytest.mark.usefixtures("ready")
def test_the_short_plan_has_a_box_for_each_moment(inside: TestClient) -> None:
    """Three resistors and the moments at which each is read."""
    text = inside.get("/prints/resistors", params={"electrode": "T1", "plan": "short"}).text

    assert len(re.findall(r'<th scope="row">', text)) == 4
    assert "180 s" in text


@pytest.mark.usefixtures("ready")
def test_the_bench_sheet_is_shown_with_its_own_style_alone(inside: TestClient) -> None:
    """The sheet is what the command line writes; only the digest of its style is let in (CSP Level 3)."""
    page = inside.get("/prints/bench-sheet/M", params=ASKED).text
    assert "is ready" in page
    assert "This page is not the sheet" in page.split('class="print-only"')[1][:60]
    asked = re.search(r'href="(/mixes/M/pots/new[^"]*)"', page)
    assert asked is not None
    assert "the dose sheet says" in inside.get(asked[1].replace("&amp;", "&")).text
    sheet = inside.get("/prints/sheet/M", params=ASKED)
    style = sheet.text.split("<style>")[1].split("</style>")[0]
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()

    assert sheet.status_code == 200
    assert f"sha256-{digest}" in sheet.headers["content-security-policy"]
    says = re.search(r"mix M id [0-9a-f]{12}", sheet.text)
    assert says is not None
    assert sheet.text.count('class="code"') == 1
    back = re.search(r'<nav class="way-back"><a href="([^"]*)"', sheet.text)
    assert back is not None
    assert "is ready" in inside.get(back[1].replace("&amp;", "&")).text
    added = sheet.text.split("<style>")[2].split("</style>")[0]
    assert "@media print { .way-back { display: none; } }" in added
    assert base64.b64encode(hashlib.sha256(added.encode()).digest()).decode() in sheet.headers["content-security-policy"]  # fmt: skip
    led = inside.get("/electrodes", params={"find": says[0]}, follow_redirects=False)
    assert led.headers["location"] == "/mixes/M"
    assert sheet.text.index("What can hurt") < sheet.text.index("<h2>Weigh")


def test_a_stop_is_acknowledged_for_this_very_sheet(inside: TestClient, ready: Path) -> None:
    """A reason in words lets it be printed, with the STOP and the reason on it."""
    asked = {**ASKED, "plate": "260 °C"}
    page = inside.get("/prints/bench-sheet/M", params=asked).text
    assert "Not printed yet" in page
    keys = re.findall(r'name="key" value="([^"]+)"', page)
    refused = inside.post("/prints/bench-sheet/M", data={**asked, "key": keys[0], "reason": "no"})
    assert refused.status_code == 422
    for key in keys:
        sent = {**asked, "key": key, "reason": "empty oven, nobody in the room"}
        inside.post("/prints/bench-sheet/M", data=sent)
    with BenchFile.open(ready) as bench:
        said = [one.caution for one in bench.all(Acknowledgement)]
    sheet = inside.get("/prints/sheet/M", params=asked)

    assert said == keys
    assert "is ready" in inside.get("/prints/bench-sheet/M", params=asked).text
    assert "STOP" in sheet.text
    assert "empty oven, nobody in the room" in sheet.text


@pytest.mark.usefixtures("ready")
def test_a_sheet_without_an_amount_asks_for_one(inside: TestClient) -> None:
    """No area yet: the page asks; an unreadable one is told and kept."""
    assert "how much shall be made?" in inside.get("/prints/bench-sheet/M").text
    wrong = inside.get("/prints/bench-sheet/M", params={"area": "nine", "loading": "25 mg/cm^2"})
    assert "This cannot be taken yet" in wrong.text
    assert 'value="nine"' in wrong.text
    assert inside.get("/prints/bench-sheet/none").status_code == 404


@pytest.mark.usefixtures("ready")
def test_the_bench_sheet_takes_bare_numbers_in_the_units_of_its_labels(inside: TestClient) -> None:
    """Also with a decimal comma; the sheet is the one of the numbers with their units."""
    full = {
        "area": "9.5 cm^2",
        "loading": "25 mg/cm^2",
        "electrodes": "8",
        "scale": "0.01 g",
        "plate": "85 °C",
    }
    bare = {"area": "9,5", "loading": "25", "electrodes": "8", "scale": "0,01", "plate": "85"}
    sheets = [inside.get("/prints/sheet/M", params=one).text for one in (full, bare)]
    form = inside.get("/prints/bench-sheet/M").text

    assert "What can hurt" in sheets[0]
    assert sheets[0].split("</nav>")[1] == sheets[1].split("</nav>")[1]
    for label in ("in cm²", "in mg/cm²", "in °C", "step in g"):
        assert label in form


def test_a_class_prints_in_spite_of_a_stop_under_a_code(inside: TestClient, ready: Path) -> None:
    """The reason is kept for the group; without a code nothing is kept."""
    asked = {**ASKED, "plate": "260 °C", "class_mode": "yes"}
    page = inside.get("/prints/bench-sheet/M", params=asked).text
    key = unescape(re.findall(r'name="key" value="([^"]+)"', page)[0])
    said = {**asked, "key": key, "reason": "a fan stands in the window"}
    refused = inside.post("/prints/bench-sheet/M", data=said)
    inside.post("/prints/bench-sheet/M", data={**said, "group": "wren"})

    assert refused.status_code == 422
    assert "Code of the group" in refused.text
    with BenchFile.open(ready) as bench:
        assert [state.who for state in bench.history(Acknowledgement)] == ["wren"]


@pytest.mark.usefixtures("ready")
def test_the_card_expects_less_at_a_smaller_resistor(inside: TestClient, ready: Path) -> None:
    """An earlier run with a hole in it and a slip that stands: what is expected falls all the same, and stays below no load."""
    with BenchFile.open(ready) as bench:
        for ohms in (47.0, 4.7):
            bench.put(Instrument(name=f"{ohms:g} ohm", sort=Sort.RESISTOR, nominal_resistance=ohms))
        typed = (("open", 1.2), ("100 ohm", 1.13), ("33 ohm", 1.15), ("10 ohm", 0.87))
        bench.put(
            Run(
                name="T1 loads 2", electrode="T1", finished=True, planned_loads=tuple(load for load, _ in typed),
                readings=tuple(Reading(load=load, voltage=volts) for load, volts in typed),
            )
        )  # fmt: skip
    text = inside.get("/prints/resistors", params={"electrode": "T1"}).text
    shown = re.findall(r"<b>(\d\.\d\d) V</b>", text)
    bands = [float(high) for high in re.findall(r"\d\.\d\d to (\d\.\d\d) V", text)]
    named = re.findall(r'<th scope="row">([^<]+)', text)
    by_load = dict(zip(named, (float(one) for one in shown), strict=False))

    order = [by_load[load] for load in ("100 ohm", "47 ohm", "33 ohm", "10 ohm", "4.7 ohm")]
    assert order == sorted(order, reverse=True)
    assert len(set(order)) == len(order)
    assert max(order) <= by_load["no load"]
    assert max(bands[1:]) <= by_load["no load"]


@pytest.mark.usefixtures("ready")
def test_a_stop_on_a_hot_plate_names_the_temperature_that_is_allowed(inside: TestClient) -> None:
    """PVB without a published line: the 120 °C of the house rule stand in the line, not in its fold."""
    page = inside.get("/prints/bench-sheet/M", params={**ASKED, "plate": "190"}).text
    stop = page.partition("no published heat line on file")[2].partition("<details")[0]

    assert "not above 120\N{NO-BREAK SPACE}°C" in unescape(stop)
