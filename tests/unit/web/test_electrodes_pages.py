"""The electrodes in the browser: found, coated, weighed, pressed, photographed, kept through their states."""

from __future__ import annotations

import io
import re
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest
from PIL import Image
from tests.unit.web.conftest import NOON, ORIGIN, PORT

from aerode.records.electrodes import Coat, Electrode, Layer, Outcome, Weighing
from aerode.records.instruments import Instrument, Sort
from aerode.records.marks import Entry
from aerode.records.materials import Share, Solution, SolventLot
from aerode.records.mixes import Batch, Ingredient, Mix, Portion
from aerode.records.runs import Reading, Run
from aerode.store.bench_file import BenchFile
from aerode.usecases.bench_attach import attach, list_attachments
from aerode.usecases.mix import MixQuestion, what_it_dries_to
from aerode.web.app import create_app
from aerode.web.guard.doors import Doors
from aerode.web.settings import Settings

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.testclient import TestClient


@pytest.fixture
def made(bench_place: Path) -> Path:
    """The bench with two electrodes, one of them measured."""
    with BenchFile.open(bench_place) as bench:
        area = Entry(value=9.5e-4, standard_uncertainty=1e-5)
        bench.put(Electrode(name="T1", recipe="T", wetted_area=area))
        bench.put(Electrode(name="T2", recipe="T", outcome=Outcome.LEAKED, layers=(Layer(),)))
        bench.put(
            Run(name="T1 loads", electrode="T1", readings=(Reading(load="100 ohm", voltage=0.7),))
        )
    return bench_place


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
    text = inside.get("/electrodes").text

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


def test_a_wet_coat_of_solvent_leads_to_the_cautions_of_its_mix(
    inside: TestClient, made: Path
) -> None:
    """Each mix with a solvent once, by itself or through its pot; one of water alone is not named."""
    with BenchFile.open(made) as bench:
        bench.put(SolventLot(name="spirit", substance="ethanol"))
        bench.put(SolventLot(name="tap", substance="water"))
        for name, liquid in (("S 1", "spirit"), ("W", "tap")):
            portion = Portion(of=liquid, shelf=Ingredient.SOLVENT, mass=Entry(value=1e-2))
            bench.put(Mix(name=name, portions=(portion,)))
        bench.put(Batch(name="pot", mix="S 1"))
        layers = (Layer(batch="pot"), Layer(mix="S 1"), Layer(mix="W"), Layer(mix="nowhere"))
        bench.put(Electrode(name="T3", layers=layers))
    text = inside.get("/electrodes/T3").text

    assert text.count("While it is wet it gives off solvent vapour") == 1
    assert "No rule on file speaks about this" not in text  # the box beside it does
    assert "No rule on file speaks about this" in inside.get("/electrodes/T1").text
    assert 'href="/cautions/mix%3AS%201"' in text
    assert inside.get("/cautions/mix%3AS%201").status_code == 200
    assert "While it is wet" not in inside.get("/electrodes/T1").text


def test_the_caution_on_a_coat_that_may_be_wet_stands_above_the_form_of_its_pressing(
    inside: TestClient, made: Path
) -> None:
    """Before anything is typed; what is sent all the same is asked back, and nothing is stored."""
    with BenchFile.open(made) as bench:
        bench.put(SolventLot(name="spirit", substance="ethanol"))
        portion = Portion(of="spirit", shelf=Ingredient.SOLVENT, mass=Entry(value=1e-2))
        bench.put(Mix(name="S", portions=(portion,)))
        bench.put(Electrode(name="T3", layers=(Layer(mix="S", coats=(Coat(wet_mass=1e-3),)),)))
    form = inside.get("/electrodes/T3").text.partition("<summary>Add a pressing</summary>")[2]
    above = form.partition("<form")[0]
    assert "nobody knows yet whether the coat is dry" in above
    assert "Do not heat it yet" in above
    asked = inside.post("/electrodes/T3/presses", data={"press.plate_temperature": "95"})
    assert asked.status_code == 422
    assert "Is it meant so?" in asked.text
    assert "A hot pressing at 95 °C would be stored as done" in asked.text.replace("\xa0", " ")
    assert _electrode(made, "T3").press == ()


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


def test_two_weighings_open_the_gate(bench_place: Path) -> None:
    """12 mg lost in 15 min on a 0.24 g coat is wet; nothing lost is constant weight; one tells nothing.

    One hundredth of 0.24 g is 2.4 mg, 0.5 mg/cm2 on 9.5 cm2 is 4.75 mg: 12 mg is above both (by hand).
    """
    from starlette.testclient import TestClient as Client

    clock = [NOON]
    with BenchFile.open(bench_place) as bench:
        bench.put(Instrument(name="fine scale", sort=Sort.SCALE, resolution=1e-6))
        bench.put(
            Electrode(
                name="T9", wetted_area=Entry(value=9.5e-4), mesh_mass=Entry(value=0.46e-3),
                layers=(Layer(coats=(Coat(wet_mass=0.9e-3),)),),
            )
        )  # fmt: skip
    doors = Doors(clock=lambda: clock[0])
    app = create_app(Settings(bench=str(bench_place), port=PORT, clock=lambda: clock[0]), doors)
    browser = Client(app, base_url=ORIGIN, headers={"origin": ORIGIN})
    browser.get("/enter", params={"link": doors.new_link()})

    def weigh(mass: str) -> str:
        answer = browser.post("/electrodes/T9/weighings", data={"weighing.mass": mass})
        clock[0] += timedelta(minutes=15)
        return answer.text

    assert "One more weighing" in weigh("0.712 g")
    assert "Not dry: it still loses 12 mg" in weigh("0.700 g")
    constant = weigh("0.700 g")
    assert "Not dry" not in constant
    assert "Weight constant: 0 mg in 15 min" in constant


def test_the_wait_for_this_scale_is_told_before_the_second_weighing(
    inside: TestClient, made: Path
) -> None:
    """0.5 mg/cm² of 9 cm² is 4.5 mg: steps of 10 mg need 10 min · 10/4.5 = 22.2 min, by hand; so 23 min.

    With 0.23 g of coat one hundredth is 2.3 mg, below what the area allows: the same wait after the
    first weighing. After 23 min without a change the page says that the weight is constant.
    """
    with BenchFile.open(made) as bench:
        bench.put(Instrument(name="kitchen scale", sort=Sort.SCALE, resolution=1e-5))
        coats = (Layer(coats=(Coat(wet_mass=0.9e-3),)),)
        bench.put(Electrode(name="A-1", wetted_area=Entry(value=9e-4), mesh_mass=Entry(value=0.37e-3), layers=coats))  # fmt: skip
    assert "Weigh the dry-looking piece, wait 23 min or more" in inside.get("/electrodes/A-1").text
    first = inside.post("/electrodes/A-1/weighings", data={"weighing.mass": "0.60 g"}).text
    assert "0.60 g" in first  # the digits of its scale
    assert 'data-label="wet">0.90 g' in first.replace("\xa0", " ")
    assert "at least 23 min after the last" in first
    assert 'data-wait="23"' in first
    sent = {"weighing.mass": "0.60 g", "weighing.after": "23 min"}
    assert "Weight constant" in inside.post("/electrodes/A-1/weighings", data=sent).text


def test_a_page_tells_one_wait_between_two_weighings(inside: TestClient, made: Path) -> None:
    """22.2 min for 9 cm² and steps of 10 mg, by hand, so 23 in the gate, the cautions and the rule alike."""
    with BenchFile.open(made) as bench:
        bench.put(Instrument(name="kitchen scale", sort=Sort.SCALE, resolution=1e-5))
        bench.put(SolventLot(name="bottle", substance="ethanol"))
        wet = Portion(of="bottle", shelf=Ingredient.SOLVENT, mass=Entry(value=9e-3))
        bench.put(Mix(name="M", portions=(Portion(of="char A", mass=Entry(value=8e-3)), wet)))
        area, mesh = Entry(value=9e-4), Entry(value=0.37e-3)
        coats = (Layer(mix="M", coats=(Coat(wet_mass=0.9e-3),)),)
        bench.put(Electrode(name="A-1", wetted_area=area, mesh_mass=mesh, layers=coats))
    pages = [inside.get("/electrodes/A-1").text]
    for after in ("", "23 min"):
        sent = {"weighing.mass": "0.60 g", "weighing.after": after}
        pages.append(inside.post("/electrodes/A-1/weighings", data=sent).text)
    inside.post("/electrodes/A-1/presses", data={"press.plate_temperature": "60 °C"})
    pages.append(inside.get("/electrodes/A-1").text)

    assert "weigh it twice, 23 min apart" in pages[0]
    assert "two weighings at least 23 min apart" in pages[-1]
    for text in pages:
        assert not re.search(r"ten minutes|\b10\s+min", text.replace("&nbsp;", " "))


def test_the_plan_of_a_pressing_knows_the_piece_it_came_from(
    inside: TestClient, made: Path
) -> None:
    """Its area and its constant weight come along; a piece that nobody weighed is still asked about."""
    with BenchFile.open(made) as bench:
        bench.put(SolventLot(name="bottle", substance="ethanol"))
        bench.put(Solution(name="glue", polymer="PVB", liquid=(Share(of="ethanol", fraction=1.0),), label_solids=Entry(value=0.1)))  # fmt: skip
        wet = Portion(of="bottle", shelf=Ingredient.SOLVENT, mass=Entry(value=9e-3))
        glue = Portion(of="glue", shelf=Ingredient.SOLUTION, mass=Entry(value=9e-3))
        char = Portion(of="char A", mass=Entry(value=8e-3))
        bench.put(Mix(name="M", portions=(char, glue, wet)))
        area, layers = Entry(value=9.5e-4), (Layer(mix="M"),)
        twice = (Weighing(mass=0.7e-3, resolution=1e-6), Weighing(mass=0.7e-3, resolution=1e-6, after=900.0))  # fmt: skip
        bench.put(Electrode(name="W1", wetted_area=area, layers=layers, weighings=twice))
        bench.put(Electrode(name="W2", wetted_area=area, layers=layers))
    page = inside.get("/electrodes/W1").text
    asked = {"mix": "M", "plate": "85", "weights": "20"}
    dry, unknown = (
        inside.get("/process/pressing", params={**asked, "piece": name}).text
        for name in ("W1", "W2")
    )

    assert "pressing?mix=M&amp;piece=W1" in page
    assert "the weight of the coat is constant" in dry
    assert "nobody knows yet whether the coat is dry" not in dry
    assert "nobody knows yet whether the coat is dry" in unknown
    assert "9.5 cm" in dry
    assert 'href="/electrodes/W1#press"' in dry


@pytest.mark.usefixtures("made")
def test_a_usual_pressure_and_time_stand_above_the_form_of_a_pressing(inside: TestClient) -> None:
    """0.2 to 2 MPa on the 9.5 cm² of the piece are 190 to 1900 N by hand; from memory, and said so."""
    text = " ".join(inside.get("/electrodes/T1").text.split("Add a pressing")[1].split())

    assert "0.2 to 2 MPa for 2 to 5 min (190 to 1900 N on 9.5 cm²); from memory, no source" in text
    assert "usual, from memory: 2 to 5 min" in inside.get("/process/pressing").text


def test_the_constant_weight_less_the_mesh_is_the_dry_loading(
    inside: TestClient, made: Path
) -> None:
    """0.60 g less 0.37 g on 9 cm² is 25.6 mg/cm², by hand: measured, once two weighings agree."""
    with BenchFile.open(made) as bench:
        bench.put(SolventLot(name="tap", substance="water"))
        half = (Portion(of="char A", mass=Entry(value=4e-3)),
                Portion(of="tap", shelf=Ingredient.SOLVENT, mass=Entry(value=6e-3)))  # fmt: skip
        bench.put(Mix(name="M", portions=half))
        coats = (Layer(mix="M", coats=(Coat(wet_mass=0.5e-3),)),)
        bench.put(Electrode(name="A-1", wetted_area=Entry(value=9e-4), mesh_mass=Entry(value=0.37e-3), layers=coats))  # fmt: skip

    def loading(page: str) -> str:
        found = re.search(r"<dt>Dry loading</dt><dd>(.*?)</dd>", page, re.S)
        assert found is not None
        return found[1]

    def weigh(after: str) -> str:
        sent = {"weighing.mass": "0.60 g", "weighing.after": after}
        return loading(inside.post("/electrodes/A-1/weighings", data=sent).text)

    assert "predicted" in weigh("0 min")  # 0.5 g · 0.4 on 9 cm², about 22 mg/cm²
    weighed = weigh("60 min")
    assert weighed.startswith("25.6")
    assert "±" in weighed
    assert "predicted" not in weighed
    assert "about" not in weighed
    assert "measured: the constant weight of the piece less its mesh" in weighed
    with BenchFile.open(made, read_only=True) as bench:
        (film,) = what_it_dries_to(bench, "M", MixQuestion()).films
    assert film.loading_mg_cm2.value == pytest.approx(25.56, abs=0.01)


def test_like_pieces_are_weighed_as_one(inside: TestClient, made: Path) -> None:
    """Two pieces with 0.3 g of coat each, on a scale of 0.005 g: alone 3 mg cannot be told, together 6 mg can.

    One hundredth of 0.3 g is 3 mg; a step of 5 mg falls to two pieces as 2.5 mg (by hand).
    """
    with BenchFile.open(made) as bench:
        bench.put(Instrument(name="scale", sort=Sort.SCALE, resolution=5e-6))
        for name in ("P1", "P2"):
            coat = (Layer(coats=(Coat(dry_mass=0.3e-3),)),)
            bench.put(Electrode(name=name, layers=coat))

    def weigh(piece: str, beside: str, after: str = "15 min") -> str:
        sent = {"weighing.mass": "1.520 g", "weighing.after": after, "weighing.beside": beside}
        return inside.post(f"/electrodes/{piece}/weighings", data=sent).text

    weigh("P1", "")
    alone = weigh("P1", "")
    mixed = weigh("P1", "P2")
    again = weigh("P2", "P1, P2")
    other = inside.get("/electrodes/P1").text
    strange = inside.post(
        "/electrodes/P1/weighings", data={"weighing.mass": "1 g", "weighing.beside": "P2, P7"}
    )
    first, second = _electrode(made, "P1"), _electrode(made, "P2")

    assert "Cannot tell yet" in alone
    assert "were of different pieces" in mixed
    for page in (again, other):
        assert "Weight constant: 0 mg a piece in 15 min, at most 3 mg counts" in page
        assert "2 pieces weighed together" in page
    assert "1.520 g with P2" in other
    assert strange.status_code == 422
    assert "there is no electrode &#39;P7&#39;" in strange.text.lower().replace("p7", "P7")
    assert [one.beside for one in first.weighings] == [(), (), ("P2",), ("P2",)]
    assert [one.beside for one in second.weighings] == [("P1",), ("P1",)]


def test_a_new_coat_closes_the_gate_again(inside: TestClient, made: Path) -> None:
    """What was weighed after the first coat says nothing of the second, on the page and in the cautions."""
    with BenchFile.open(made) as bench:
        bench.put(Instrument(name="fine scale", sort=Sort.SCALE, resolution=1e-6))
        bench.put(SolventLot(name="bottle", substance="ethanol"))
        wet = Portion(of="bottle", shelf=Ingredient.SOLVENT, mass=Entry(value=9e-3))
        bench.put(Mix(name="M", portions=(Portion(of="char A", mass=Entry(value=8e-3)), wet)))
        area = Entry(value=9.5e-4)
        bench.put(Electrode(name="T1", wetted_area=area, layers=(Layer(mix="M"),)))
    inside.post("/electrodes/T1/coats", data={"coat.dry_mass": "0.3 g"})
    for after in ("", "15 min"):
        inside.post(
            "/electrodes/T1/weighings", data={"weighing.mass": "0.7 g", "weighing.after": after}
        )
    inside.post("/electrodes/T1/presses", data={"press.plate_temperature": "60 °C"})
    dry = inside.get("/electrodes/T1").text
    inside.post("/electrodes/T1/coats", data={"coat.wet_mass": "0.4 g"})
    again = inside.get("/electrodes/T1").text
    piece = _electrode(made, "T1")

    assert "Weight constant" in dry
    assert "nobody knows yet whether the coat is dry" not in dry
    assert "Weight constant" not in again
    assert "nobody knows yet whether the coat is dry" in again
    assert piece.weighings == ()
    assert "piece weighed after it: 0.700 g, 0.700 g" in piece.layers[0].coats[0].note


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


def _photo(size: tuple[int, int] = (80, 60)) -> bytes:
    """A photo with a place in it: the GPS directory of EXIF 2.3 (tag 0x8825)."""
    exif = Image.Exif()
    exif[0x010F] = "Maker of cameras"
    exif.get_ifd(0x8825)[2] = (45.0, 30.0, 0.0)
    out = io.BytesIO()
    Image.new("RGB", size, "#a3491b").save(out, format="JPEG", exif=exif)
    return out.getvalue()


def test_a_photo_loses_its_place(inside: TestClient, made: Path) -> None:
    """The kept file has no EXIF data at all; the page shows it."""
    sent = _photo()
    assert Image.open(io.BytesIO(sent)).getexif().get_ifd(0x8825)
    answer = inside.post(
        "/electrodes/T1/photos", files={"photo.files": ("IMG 1.jpg", sent, "image/jpeg")}
    )
    digest = _electrode(made, "T1").photos[0]
    kept = inside.get(f"/electrodes/T1/photos/{digest}.jpg")

    assert f"{digest}.jpg" in answer.text
    assert kept.headers["content-type"] == "image/jpeg"
    assert not Image.open(io.BytesIO(kept.content)).getexif()
    assert b"Maker of cameras" not in kept.content


def test_photos_of_a_page_are_attachments_like_any_other(inside: TestClient, made: Path) -> None:
    """Several at once, the same one once; listed with their checksums, taken out again, none bare."""
    first, second = _photo(), _photo((64, 48))
    sent = [
        ("photo.files", ("C:\\fakepath\\IMG.jpg", data, "image/jpeg"))
        for data in (first, second, first)
    ]
    inside.post("/electrodes/T1/photos", files=sent)
    inside.post("/electrodes/T1/photos", files={"photo.files": ("again.jpg", first, "image/jpeg")})

    with BenchFile.open(made) as bench:
        listed = list_attachments(bench, "electrode/T1").attachments
        photos = bench.get(Electrode, "T1").photos
        assert bench.check().whole
        again = attach(bench, "electrode/T1", first, file_name="third.jpg")
    assert [line.name for line in listed] == ["T1 IMG.jpg", "T1 IMG.jpg (2)"]
    assert [line.file for line in listed] == ["IMG.jpg", "IMG.jpg"]
    assert all(line.whole for line in listed)
    assert len(photos) == 2
    assert "attached already" in again.headline


def test_one_photo_that_cannot_be_read_keeps_the_others_out(inside: TestClient, made: Path) -> None:
    """All of them, or none."""
    sent = [("photo.files", ("a.jpg", data, "image/jpeg")) for data in (_photo(), b"no photo")]
    answer = inside.post("/electrodes/T1/photos", files=sent)

    assert answer.status_code == 422
    assert _electrode(made, "T1").photos == ()
    with BenchFile.open(made) as bench:
        assert list_attachments(bench).attachments == ()


@pytest.mark.usefixtures("made")
def test_what_is_no_photo_is_refused(inside: TestClient) -> None:
    """A page of markup, a torn photo, nothing: the page says so and keeps nothing."""
    torn = _photo((400, 300))[:900]
    for data in (b"<svg xmlns='http://www.w3.org/2000/svg'><script/></svg>", torn):
        answer = inside.post(
            "/electrodes/T1/photos", files={"photo.files": ("a.jpg", data, "image/jpeg")}
        )
        assert answer.status_code == 422
        assert "no photo that can be read" in answer.text
    assert inside.post("/electrodes/T1/photos", data={"once": "q"}).status_code == 422
    assert inside.get(f"/electrodes/T1/photos/{'0' * 64}.jpg").status_code == 404


def test_a_photo_of_too_many_pixels_is_not_unpacked(bench_place: Path, doors: Doors) -> None:
    """The cap of the settings counts before the picture is unpacked."""
    from starlette.testclient import TestClient as Client

    from aerode.web.guard.rules import Limits

    with BenchFile.open(bench_place) as bench:
        bench.put(Electrode(name="T1"))
    settings = Settings(
        bench=str(bench_place), port=PORT, clock=lambda: NOON, limits=Limits(pixels=1000)
    )
    browser = Client(create_app(settings, doors), base_url=ORIGIN, headers={"origin": ORIGIN})
    browser.get("/enter", params={"link": doors.new_link()})
    answer = browser.post(
        "/electrodes/T1/photos", files={"photo.files": ("a.jpg", _photo(), "image/jpeg")}
    )

    assert answer.status_code == 422
    assert "million pixels" in answer.text


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
