"""The electrodes in the browser: found, coated, weighed, pressed, photographed, kept through their states."""

from __future__ import annotations

import html
import re
from typing import TYPE_CHECKING

import pytest

from aerode.records.electrodes import Electrode, Layer, Outcome
from aerode.records.marks import Entry
from aerode.records.materials import MeshCard, SolventLot
from aerode.records.mixes import Ingredient, Mix, Portion
from aerode.store.bench_file import BenchFile

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.testclient import TestClient


def _electrode(place: Path, name: str) -> Electrode:
    with BenchFile.open(place) as bench:
        return bench.get(Electrode, name)


def test_an_empty_list_says_how_to_begin(inside: TestClient) -> None:
    """Without an electrode the page teaches area, weight, and two of each."""
    text = inside.get("/electrodes").text

    assert "No electrode yet" in text
    assert "/things/electrode/new" in text


@pytest.mark.usefixtures("made")
def test_the_list_is_newest_first_and_says_what_is_missing(inside: TestClient) -> None:
    """Recipe, area, outcome, measured or not stand in each line."""
    text = inside.get("/electrodes").text.replace("\N{NO-BREAK SPACE}", " ")

    assert text.index("<b>T2</b>") < text.index("<b>T1</b>")
    assert "leaked" in text
    assert "area not measured" in text
    assert "not measured yet" in text
    assert "measured in one run" in text
    assert "9.50 ± 0.10 cm²" in text


def test_a_long_list_is_leafed_through(inside: TestClient, bench_place: Path) -> None:
    """Sixty electrodes stand on three pages, and only those of a page are on it."""
    with BenchFile.open(bench_place) as bench:
        bench.put_all([Electrode(name=f"E{n}") for n in range(60)])
    first, last = (
        inside.get("/electrodes").text,
        inside.get("/electrodes", params={"skip": 50}).text,
    )

    assert "<b>E59</b>" in first
    assert "<b>E0</b>" not in first
    assert "<b>E0</b>" in last
    assert "51 to 60 of 60" in last
    assert "/electrodes?skip=25" in first
    for odd in ("-3", "many", "9" * 40):
        for place in ("/electrodes", "/mixes"):
            assert inside.get(place, params={"skip": odd}).status_code == 200, (place, odd)


def test_a_label_leads_to_its_piece(inside: TestClient, made: Path) -> None:
    """The words of a square code, a name in other letters, the beginning of a name; an old label too."""
    with BenchFile.open(made) as bench:
        identity = bench.state(Electrode, "T1").record
        bench.rename(Electrode, "T1", "first one")
    for typed in (f"electrode T1 id {identity[:12]}", "FIRST ONE", "first"):
        found = inside.get("/electrodes", params={"find": typed}, follow_redirects=False)
        assert found.headers["location"] == "/electrodes/first%20one", typed
    assert "No electrode here is called" in inside.get("/electrodes", params={"find": "Q"}).text


@pytest.mark.usefixtures("made")
def test_the_answer_stands_first(inside: TestClient) -> None:
    """What it is, whether measured, what became of it, and its runs."""
    text = inside.get("/electrodes/T1").text

    assert "<h1>T1: measured in one run, whole</h1>" in text
    assert 'href="/runs/T1%20loads"' in text
    assert "<h1>T2: leaked, not measured yet</h1>" in inside.get("/electrodes/T2").text


def test_the_big_button_follows_the_making(inside: TestClient, made: Path) -> None:
    """Coat, dry, press, then measure; one more piece like it is offered at each of them, without its log."""
    with BenchFile.open(made) as bench:
        bench.put(SolventLot(name="tap", substance="water"))
        portion = Portion(of="tap", shelf=Ingredient.SOLVENT, mass=Entry(value=1e-2))
        bench.put(Mix(name="M", portions=(portion,)))
        bench.put(Electrode(name="A-1", wetted_area=Entry(value=9.5e-4), mesh_mass=Entry(value=0.46e-3), layers=(Layer(mix="M"),)))  # fmt: skip

    def button(after: tuple[str, dict[str, str]] | None = None) -> str:
        if after:
            assert inside.post(f"/electrodes/A-1/{after[0]}", data=after[1]).status_code == 200
        text = inside.get("/electrodes/A-1").text
        like = re.search(r'href="(/things/electrode/new[^"]*)">Another piece like this', text)
        assert like is not None
        assert "layers.0.mix=M" in like[1]
        assert not re.search("coats|weighings|press|mass", like[1])
        found = re.search(r'<a class="button" href="([^"]*)">', text)
        assert found is not None
        return found[1]

    assert button() == "#coat"
    assert button(("coats", {"coat.wet_mass": "0.5 g"})) == "#weighing"
    assert button(("weighings", {"weighing.mass": "0.60 g"})) == "#weighing"
    again = {"weighing.mass": "0.60 g", "weighing.after": "60 min"}
    assert button(("weighings", again)) == "#press"
    pressed = {"press.plate_temperature": "100", "press.means": "plates"}
    assert button(("presses", pressed)) == "/runs/start?electrode=A-1"


def test_the_form_of_the_next_act_stands_first_and_open(inside: TestClient, made: Path) -> None:
    """Below the cautions and above what the piece is; the other forms are folded, none is lost."""
    with BenchFile.open(made) as bench:
        bare = Electrode(name="A-1", wetted_area=Entry(value=9.5e-4), mesh_mass=Entry(value=0.46e-3), layers=(Layer(mix="M"),))  # fmt: skip
        bench.put(bare)
    parts = ("coat", "weighing", "press")

    def order() -> list[str]:
        text = inside.get("/electrodes/A-1").text
        for place in re.findall(r'<li><a href="#(\w+)">', text):
            assert text.count(f'id="{place}"') == 1, place
        assert [text.count(f"/electrodes/A-1/{one}") for one in ("coats", "weighings", "presses")] == [1, 1, 1]  # fmt: skip
        found = re.findall(r'<h2 id="(\w+)">', text)
        opened = re.findall(r'<details class="later" open><summary>([^<]+)', text)
        return [one for one in found if one in {*parts, "hurt", "what"}] + opened

    assert order() == ["hurt", "coat", "what", "weighing", "press", "Add a coat"]
    inside.post("/electrodes/A-1/coats", data={"coat.wet_mass": "0.5 g"})
    assert order() == ["hurt", "weighing", "what", "coat", "press", "Weigh the whole piece"]
    for after in ("", "60 min"):
        inside.post("/electrodes/A-1/weighings", data={"weighing.mass": "0.60 g", "weighing.after": after})  # fmt: skip
    assert order() == ["hurt", "press", "what", "coat", "weighing", "Add a pressing"]


def test_each_weighing_says_when_it_is_used_and_what_it_buys(inside: TestClient, made: Path) -> None:  # fmt: skip
    """Wet coat, dry coat and whole piece are three weighings: nobody has to guess which one is meant."""
    with BenchFile.open(made) as bench:
        bench.put(SolventLot(name="tap", substance="water"))
        portion = Portion(of="tap", shelf=Ingredient.SOLVENT, mass=Entry(value=1e-2))
        char = Portion(of="char A", mass=Entry(value=8e-3))
        bench.put(Mix(name="M", portions=(char, portion)))
        bench.put(Electrode(name="A-1", mesh_mass=Entry(value=0.46e-3), layers=(Layer(mix="M"),)))
    text = inside.get("/electrodes/A-1").text

    assert "Weighed at once after the brush: gives the vapour, and the loading by calculation" in text  # fmt: skip
    assert "Weighed once it is dry: gives the loading itself" in text
    assert "For when it looks dry, twice: two like weights tell that it may be heated" in text
    assert "not measured: mass of the dry coat" in text
    assert "film mass" not in text


def test_what_is_read_before_the_plates_goes_with_the_next_pressing(
    inside: TestClient, made: Path
) -> None:
    """Before the first press it stands above its form; afterwards inside the folded form of one more."""
    with BenchFile.open(made) as bench:
        bench.put(
            Electrode(
                name="A-1",
                wetted_area=Entry(value=9.5e-4),
                mesh_mass=Entry(value=0.46e-3),
                layers=(Layer(mix="M"),),
            )
        )

    def part() -> tuple[str, str]:
        above, _, below = inside.get("/electrodes/A-1").text.partition('<h2 id="press">')[2].partition("<summary>Add a pressing")  # fmt: skip
        return above, below.partition("</details>")[0]

    assert "Before the plate is hot" in part()[0]
    inside.post("/electrodes/A-1/coats", data={"coat.wet_mass": "0.5 g"})
    for after in ("", "60 min"):
        inside.post("/electrodes/A-1/weighings", data={"weighing.mass": "0.60 g", "weighing.after": after})  # fmt: skip
    assert "Before the press" in inside.get("/electrodes/A-1").text
    sent = {"press.means": "plates", "press.firmness": "firm", "sure": "yes"}
    answer = inside.post("/electrodes/A-1/presses", data=sent)
    above, form = part()
    assert answer.status_code == 200
    assert "Pressings: 1" in answer.text
    assert "Before the press" not in answer.text
    assert "Before the plate is hot" not in above
    assert "Before the plate is hot" in form
    assert '<details class="later" open><summary>Add a pressing' not in answer.text


def test_coats_are_added_one_by_one(inside: TestClient, made: Path) -> None:
    """A layer is made where there is none; a coat keeps its moment; a second press adds nothing."""
    for mark, mass in (("a", "0,95 g"), ("b", "0.41 g"), ("b", "0.41 g")):
        sent = {"coat.wet_mass": mass, "coat.drying_time": "40 min", "once": mark}
        answer = inside.post("/electrodes/T1/coats", data=sent, follow_redirects=False)
        assert answer.status_code == 303
    coats = _electrode(made, "T1").layers[0].coats

    assert [coat.wet_mass for coat in coats] == pytest.approx([0.95e-3, 0.41e-3])
    assert coats[0].drying_time == pytest.approx(2400.0)
    assert coats[0].at.startswith("2026-05-09T12:00")
    assert "Coats: 2" in inside.get("/electrodes/T1").text


@pytest.mark.usefixtures("made")
def test_a_coat_that_cannot_be_read_is_kept_on_the_page(inside: TestClient) -> None:
    """The field is marked, what was typed stands in it, its part of the page is open."""
    answer = inside.post(
        "/electrodes/T1/coats", data={"coat.wet_mass": "some", "coat.note": "blue pot"}
    )

    assert answer.status_code == 422
    assert 'value="some"' in answer.text
    assert 'value="blue pot"' in answer.text
    assert "One field cannot be taken yet" in answer.text
    assert 'href="#f-coat-wet_mass"' in answer.text
    assert 'action="/electrodes/T1/coats#coat"' in answer.text


def test_a_pressing_is_logged(inside: TestClient, made: Path) -> None:
    """Plate, time and firmness as typed; nothing at all is refused."""
    sent = {
        "press.plate_temperature": "100 °C ± 4 °C",
        "press.duration": "5 min",
        "press.firmness": "firm",
    }
    inside.post("/electrodes/T1/presses", data=sent)
    press = _electrode(made, "T1").press[0]

    assert press.plate_temperature is not None
    assert press.plate_temperature.value == pytest.approx(373.15)
    assert press.duration == pytest.approx(300.0)
    assert inside.post("/electrodes/T1/presses", data={"press.note": ""}).status_code == 422


def test_an_uneven_piece_is_told(inside: TestClient, made: Path) -> None:
    """Five places; the thick one stands out, is named, and the figure comes as a file."""
    typed = ("0.31 mm", "0,35 mm", "0.35 mm", "0.36 mm", "0.52 mm")
    sent = {f"thickness.thickness.{n}": text for n, text in enumerate(typed)}
    text = inside.post("/electrodes/T1/thickness", data=sent).text

    assert "Place 5: 0.52 mm, 49 % thicker" in text
    assert _electrode(made, "T1").thickness == pytest.approx((0.31e-3, 0.35e-3, 0.35e-3, 0.36e-3, 0.52e-3))  # fmt: skip
    assert "0.52" in inside.get("/electrodes/T1/thickness.csv").text
    bad = inside.post("/electrodes/T1/thickness", data={"thickness.thickness.3": "thin"})
    assert bad.status_code == 422
    assert "f-thickness-thickness-3-x" in bad.text
    assert (
        inside.post("/electrodes/T1/thickness", data={"thickness.thickness.0": "31 m"}).status_code
        == 422
    )


def test_what_became_of_it_is_stored(inside: TestClient, made: Path) -> None:
    """Outcome and what was seen; a word that is none is refused."""
    inside.post(
        "/electrodes/T1/outcome", data={"outcome.outcome": "cracked", "outcome.seen": "at the tab"}
    )

    assert _electrode(made, "T1").outcome is Outcome.CRACKED
    assert "whole" not in inside.get("/electrodes/T1").text.split("</h1>")[0]
    assert (
        inside.post("/electrodes/T1/outcome", data={"outcome.outcome": "gone"}).status_code == 422
    )


def test_a_later_state_is_the_same_piece(inside: TestClient, made: Path) -> None:
    """A new name, the same build, thickness to be read again; a taken name is refused."""
    sent = {"later.new": "T1 washed", "later.state": "washed", "later.rinsed": "yes"}
    answer = inside.post("/electrodes/T1/states", data=sent)
    later = _electrode(made, "T1 washed")

    assert later.piece == "T1"
    assert later.storage[-1].rinsed
    assert later.thickness == ()
    assert "never a second piece" in answer.text
    assert "T1 washed" in inside.get("/electrodes/T1").text
    again = inside.post("/electrodes/T1/states", data={"later.new": "T2", "later.state": ""})
    assert again.status_code == 422
    assert 'value="T2"' in again.text


def test_a_name_may_hold_a_slash(inside: TestClient) -> None:
    """An electrode called "a/b" has its page and its acts."""
    inside.post("/things/electrode/new", data={"name": "a/b"})
    sent = inside.post(
        "/electrodes/a%2Fb/coats", data={"coat.dry_mass": "0.2 g"}, follow_redirects=False
    )

    assert sent.headers["location"].startswith("/electrodes/a%2Fb")
    assert inside.get("/electrodes/a%2Fb").status_code == 200


def test_an_electrode_that_is_not_there_is_not_found(inside: TestClient) -> None:
    """404 for its page and its acts; nothing is stored."""
    assert inside.get("/electrodes/T77").status_code == 404
    assert inside.post("/electrodes/T77/coats", data={"coat.wet_mass": "1 g"}).status_code == 404


def test_bare_numbers_have_the_unit_of_their_label(inside: TestClient, made: Path) -> None:
    """Digits alone do for every act: grams, minutes, degrees and millimetres, as the labels say."""
    for place, sent in {
        "coats": {"coat.wet_mass": "0,95", "coat.drying_time": "40"},
        "weighings": {"weighing.mass": "12.43", "weighing.after": "15"},
        "presses": {"press.plate_temperature": "100 ± 4", "press.duration": "5"},
        "thickness": {"thickness.thickness.0": "0.31", "thickness.thickness.1": "0,35"},
    }.items():
        assert inside.post(f"/electrodes/T1/{place}", data=sent).status_code == 200, place

    with BenchFile.open(made) as bench:
        one = bench.get(Electrode, "T1")
    coat, press = one.layers[0].coats[-1], one.press[-1]
    assert (coat.wet_mass, coat.drying_time) == (pytest.approx(0.95e-3), pytest.approx(2400.0))
    assert press.plate_temperature is not None
    assert press.plate_temperature.value == pytest.approx(373.15)
    assert press.duration == pytest.approx(300.0)
    assert one.weighings[-1].mass == pytest.approx(12.43e-3)
    assert list(one.thickness) == pytest.approx([0.31e-3, 0.35e-3])


@pytest.mark.usefixtures("made")
def test_a_keyboard_of_digits_never_asks_for_a_unit(inside: TestClient) -> None:
    """Where a phone shows digits only, the label names the unit (or it is a bare count)."""
    page = inside.get("/electrodes/T1").text
    for name in re.findall(r'<input id="(f-[^"]+)"[^>]*inputmode="decimal"', page):
        label = re.search(rf'<label for="{name}">(.*?)</label>', page)
        assert label, name
        assert 'class="unit"' in label[1], label[1]


def test_a_heavy_coat_is_asked_back_and_taken_when_it_is_meant(
    inside: TestClient, made: Path
) -> None:
    """163 g on 9.5 cm²: asked with a box to tick; ticked and sent again it is in the log."""
    sent = {"coat.wet_mass": "163", "coat.note": "blue pot"}
    asked = inside.post("/electrodes/T1/coats", data=sent)
    question = re.search(r'name="sure" value="([^"]+)"', asked.text)

    assert asked.status_code == 422
    assert "Is it meant so?" in asked.text
    assert 'value="blue pot"' in asked.text
    assert _electrode(made, "T1").layers == ()
    assert question is not None
    assert "163 g wet" in question[1]
    assert inside.post("/electrodes/T1/coats", data={**sent, "sure": question[1]}).status_code == 200  # fmt: skip
    assert _electrode(made, "T1").layers[0].coats[0].wet_mass == pytest.approx(0.163)


def test_the_heading_and_the_list_count_the_same_runs(looking: TestClient) -> None:
    """T6 has one run of load steps among several: the heading says both."""
    page = looking.get("/electrodes/T6").text.replace("\xa0", " ")
    listed = set(re.findall(r'href="/runs/(T6[^"?#/]*)"', page))
    head = page.split("<h1>")[1].split("</h1>")[0]

    assert len(listed) > 1
    counted = f"measured in one run of load steps, {len(listed)} runs in all"
    assert counted in head
    line = looking.get("/electrodes").text.replace("\xa0", " ").split("<b>T6</b>")[1]
    assert counted in line.split("</li>")[0]


def test_a_slip_in_the_bare_mesh_is_asked_back_and_put_right_in_one_tap(
    inside: TestClient, bench_place: Path
) -> None:
    """5.1 g for 9 cm² of a mesh of 55 mg/cm²: nothing stored, 0.51 g offered; meant so, the page tells and shows it."""
    with BenchFile.open(bench_place) as bench:
        bench.put(
            MeshCard(name="screen", material="stainless steel", mass_per_area=Entry(value=0.55))
        )
    sent = {"name": "A-9", "mesh": "screen", "wetted_area": "9 cm^2", "mesh_mass": "5.1"}
    asked = inside.post("/things/electrode/new", data=sent)
    assert asked.status_code == 422
    assert "It was 0.51 g" in asked.text
    (instead,) = re.findall(r'name="instead" value="([^"]+)"', asked.text)
    with BenchFile.open(bench_place) as bench:
        assert bench.find(Electrode, "A-9") is None
    right = inside.post("/things/electrode/new", data={**sent, "instead": instead}).text
    assert "<dt>Bare mesh alone</dt><dd>0.51 g" in right
    assert "Look again" not in right
    sent["name"] = "A-10"
    again = inside.post("/things/electrode/new", data=sent).text  # A-9 tells the same by now
    (meant,) = re.findall(r'name="sure" value="([^"]+)"', again)
    kept = inside.post("/things/electrode/new", data={**sent, "sure": html.unescape(meant)}).text
    assert "<dt>Bare mesh alone</dt><dd>5.1 g" in kept
    assert kept.index("Its weights do not fit one another") < kept.index('id="hurt"')
    assert "/things/electrode/A-10/edit#f-mesh_mass" in kept
    weighed = inside.post("/electrodes/A-10/weighings", data={"weighing.mass": "0.76"})
    assert weighed.status_code == 422
    assert "less than its own bare mesh" in weighed.text
    assert 'name="sure"' in weighed.text
    assert "/things/electrode/A-10/edit#f-mesh_mass" in weighed.text.split('id="weighing"')[1]
    assert "The mesh was 0.51 g</button>" in weighed.text
    (mesh,) = re.findall(r'<button form="weigh" name="mesh" value="([^"]+)"', weighed.text)
    document = inside.get("/json/records/electrode/A-10").json()["record"]
    again = inside.put("/json/records/electrode/A-11", json={**document, "name": "A-11"})
    assert again.status_code == 400
    assert "sure=true" in again.text
    mended = inside.post(
        "/electrodes/A-10/weighings", data={"weighing.mass": "0.76", "mesh": html.unescape(mesh)}
    )
    assert mended.status_code == 200
    with BenchFile.open(bench_place) as bench:
        piece = bench.get(Electrode, "A-10")
    assert piece.mesh_mass is not None
    assert piece.mesh_mass.value == pytest.approx(0.51e-3)
    assert [one.mass for one in piece.weighings] == [pytest.approx(0.76e-3)]


def test_a_weight_typed_for_the_force_is_read_back(inside: TestClient, made: Path) -> None:
    """20 kg on the plate press with about 196 N (20 x 9.80665 by hand), and the page says how it was taken."""
    with BenchFile.open(made) as bench:
        bench.put(Electrode(name="A-9"))
    sent = {
        "press.means": "plates",
        "press.firmness": "firm",
        "press.force": "20 kg",
        "sure": "yes",
    }
    inside.post("/electrodes/A-9/presses", data=sent)

    text = inside.get("/electrodes/A-9").text.replace("\N{NO-BREAK SPACE}", " ")
    assert "20 kg is about 196 N: a weight of 20 kg" in text
