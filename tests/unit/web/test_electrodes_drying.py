"""A coat on its way to the press: wet or dry, weighed, waited for, before anything is hot."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest
from tests.unit.web.conftest import NOON, ORIGIN, PORT

from aerode.records.electrodes import Coat, Electrode, Layer, Weighing
from aerode.records.instruments import Instrument, Sort
from aerode.records.marks import Entry
from aerode.records.materials import Share, Solution, SolventLot
from aerode.records.mixes import Batch, Ingredient, Mix, Portion
from aerode.store.bench_file import BenchFile
from aerode.usecases.electrode_page_dryness import dryness_of
from aerode.usecases.mix import MixQuestion, what_it_dries_to
from aerode.web.app import create_app
from aerode.web.guard.doors import Doors
from aerode.web.settings import Settings

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.testclient import TestClient


def _electrode(place: Path, name: str) -> Electrode:
    with BenchFile.open(place) as bench:
        return bench.get(Electrode, name)


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
        sent = {"weighing.mass": "0.78 g", "weighing.after": after}
        pages.append(inside.post("/electrodes/A-1/weighings", data=sent).text)
    inside.post("/electrodes/A-1/presses", data={"press.plate_temperature": "60 °C"})
    pages.append(inside.get("/electrodes/A-1").text)

    pages = [text.replace("\N{NO-BREAK SPACE}", " ") for text in pages]

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
    assert "9.5 cm" in dry.replace("\N{NO-BREAK SPACE}", " ")
    assert 'href="/electrodes/W1#press"' in dry


@pytest.mark.usefixtures("made")
def test_a_usual_pressure_and_time_stand_above_the_form_of_a_pressing(inside: TestClient) -> None:
    """0.2 to 2 MPa on the 9.5 cm² of the piece are 190 to 1900 N by hand; from memory, and said so."""
    text = " ".join(inside.get("/electrodes/T1").text.split("Add a pressing")[1].split())

    assert "0.2 to 2 MPa for 2 to 5 min (190 to 1900 N on 9.5 cm²); from memory, no source" in text
    form = inside.get("/process/pressing").text.replace("\N{NO-BREAK SPACE}", " ")
    assert "usual, from memory: 2 to 5 min" in form


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


def test_a_time_longer_than_the_clock_knows_is_told_before_the_heat(
    inside: TestClient, made: Path
) -> None:
    """Two weighings entered within the same minute and said to lie 25 min apart: taken, with the doubt beside it."""
    with BenchFile.open(made) as bench:
        bench.put(Instrument(name="kitchen scale", sort=Sort.SCALE, resolution=1e-5))
        wet = Portion(of="bottle", shelf=Ingredient.SOLVENT, mass=Entry(value=9e-3))
        bench.put(SolventLot(name="bottle", substance="ethanol"))
        bench.put(Mix(name="M", portions=(Portion(of="char A", mass=Entry(value=8e-3)), wet)))
        area, mesh = Entry(value=9e-4), Entry(value=0.37e-3)
        coats = (Layer(mix="M", coats=(Coat(wet_mass=0.9e-3),)),)
        bench.put(Electrode(name="A-9", wetted_area=area, mesh_mass=mesh, layers=coats))
    for after in ("", "25 min"):
        sent = {"weighing.mass": "0.78 g", "weighing.after": after}
        page = inside.post("/electrodes/A-9/weighings", data=sent).text.replace("&nbsp;", " ")
    said = "entered 0 min apart and are said to lie 25 min apart"
    assert "Weight constant" in page
    assert said in page.replace("\N{NO-BREAK SPACE}", " ")
    with BenchFile.open(made) as bench:
        piece = bench.get(Electrode, "A-9")
        first, last = piece.weighings
        earlier = (
            replace(first, at="2026-05-01T10:00:00+00:00"),
            replace(last, at="2026-05-01T10:25:30+00:00"),
        )
        assert dryness_of(bench, piece).doubt.startswith(
            "the last two weighings were entered 0 min"
        )
        assert dryness_of(bench, replace(piece, weighings=earlier)).doubt == ""
