"""Pots and dose sheets in the browser: weighed, asked about, put right."""

from __future__ import annotations

import html
import re
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from tests.unit.web.conftest import rows_of

from aerode.records.marks import Entry
from aerode.records.mixes import AS_PLANNED, WORKED_OUT, Batch, Ingredient, Mix, Portion
from aerode.store.bench_file import BenchFile
from aerode.usecases.mix import MixQuestion, what_it_dries_to

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.testclient import TestClient


@pytest.mark.usefixtures("stocked")
def test_a_dose_that_cannot_be_read_keeps_the_page(inside: TestClient) -> None:
    """The fault stands on the page, with what was typed still in its field."""
    answer = inside.get("/mixes/T5", params={"area": "nine", "loading": "25 mg/cm^2"})

    assert answer.status_code == 200
    assert "No dose sheet could be made" in answer.text
    assert 'value="nine"' in answer.text
    assert "What it dries to" in answer.text


@pytest.mark.usefixtures("stocked")
def test_a_pot_is_entered_as_weighed(inside: TestClient, bench_place: Path) -> None:
    """What the mix says stands beside each field; what was left empty counts as planned, and says so.

    8.53 g of planned 8.50 g: the jar, planned with 15.0 g, is 15.0·8.53/8.50 = 15.05 g (by hand).
    """
    assert "the mix says 8.50 g" in inside.get("/mixes/T5/pots/new").text
    sent = {"name": "T5 pot 1", "made": "2026-05-09", **rows_of(("char A", "8.53 g", ""), ("jar 1", "", ""))}  # fmt: skip
    answer = inside.post("/mixes/T5/pots/new", data=sent)

    assert answer.status_code == 200
    assert "as it was really weighed" in answer.text
    with BenchFile.open(bench_place) as bench:
        pot = bench.get(Batch, "T5 pot 1")
    assert [part.of for part in pot.portions] == ["char A", "jar 1"]
    jar = pot.portions[1].mass
    assert jar is not None
    assert (jar.how, jar.value) == (AS_PLANNED, pytest.approx(15.05e-3, abs=5e-6))
    assert jar.standard_uncertainty == pytest.approx(0.1 * jar.value)
    assert "jar 1 as planned, not weighed" in answer.text
    assert "1 pot made<" in inside.get("/mixes").text
    bad = inside.post("/mixes/T5/pots/new", data={"name": "p", **rows_of(("", "", ""), ("char A", "x g", ""))})  # fmt: skip
    assert bad.status_code == 422
    assert 'href="#f-rows-1-amount"' in bad.text


@pytest.mark.usefixtures("stocked")
def test_a_pot_keeps_its_dose_and_every_row(inside: TestClient, bench_place: Path) -> None:
    """The solvent that was not weighed stays in the pot; 0 takes it out, its row and its dose stay."""
    with BenchFile.open(bench_place) as bench:
        mix = bench.get(Mix, "T5")
        wet = Portion(of="bottle", shelf=Ingredient.SOLVENT, mass=Entry(value=4e-3, text="4.0 g"))
        bench.put(Mix(name="T6", portions=(*mix.portions, wet)))
    dose = {"area": "9 cm^2", "loading": "25 mg/cm^2", "scale": "0.01 g"}
    form = inside.get("/mixes/T6/pots/new", params=dose).text
    said = re.findall(r"the dose sheet says ([\d.]+) g; left empty counts as planned", form)
    assert len(said) == 3
    assert 'name="dose.area" value="9 cm^2"' in form
    sent = {f"dose.{key}": text for key, text in dose.items()} | {"name": "pot 1"}
    rows = [("char A", "0.20 g", ""), ("jar 1", "0.37 g", "")]
    inside.post("/mixes/T6/pots/new", data={**sent, **rows_of(*rows, ("bottle", "", ""))})
    with BenchFile.open(bench_place) as bench:
        pot = bench.get(Batch, "pot 1")
    assert [p.of for p in pot.portions] == ["char A", "jar 1", "bottle"]
    assert [f"{1e3 * p.mass.value:.4g}" for p in pot.planned if p.mass] == [f"{float(g):.4g}" for g in said]  # fmt: skip
    again = inside.get("/mixes/T6/pots/pot 1/edit").text
    assert re.findall(r"the plan says ([\d.]+) g", again) == said

    inside.post("/mixes/T6/pots/pot 1/edit", data={"name": "pot 1", **rows_of(*rows, ("bottle", "0", ""))})  # fmt: skip
    with BenchFile.open(bench_place) as bench:
        pot = bench.get(Batch, "pot 1")
    assert [p.of for p in pot.portions] == ["char A", "jar 1"]
    again = inside.get("/mixes/T6/pots/pot 1/edit").text
    assert 'value="bottle"' in again
    assert 'value="0 g"' in again


@pytest.mark.usefixtures("stocked")
def test_a_pot_of_a_table_that_leaves_out_an_ingredient_is_asked_about(
    inside: TestClient, bench_place: Path
) -> None:
    """Of a pot that came in another way nobody said whether the rest went in."""
    with BenchFile.open(bench_place) as bench:
        bench.put(Batch(name="old", mix="T5", portions=(Portion(of="char A", mass=Entry(value=8e-3)),)))  # fmt: skip
        told = what_it_dries_to(bench, "old", MixQuestion()).warnings
    assert any("jar 1 of the mix T5 is not among what was weighed" in one for one in told)
    assert "jar 1 of the mix T5 is not among what was weighed" in inside.get("/mixes/T5/pots/old").text  # fmt: skip


@pytest.mark.usefixtures("stocked")
def test_a_weighed_pot_is_enough_for_amounts_that_were_weighed(inside: TestClient) -> None:
    """A mix of shares alone has no amounts until a pot of it has."""
    inside.post("/mixes/new", data={"name": "S", **rows_of(("char A", "", "85 %"), ("jar 1", "", "rest"))})  # fmt: skip
    assert "amounts not weighed" in inside.get("/mixes").text
    half = {"name": "S pot 1", **rows_of(("char A", "8.53 g", ""), ("jar 1", "", ""))}
    refused = inside.post("/mixes/S/pots/new", data=half)
    assert "how much went in is missing, and the mix says no amount" in html.unescape(refused.text)
    assert "0 if none went in" in refused.text
    inside.post("/mixes/S/pots/new", data={"name": "S pot 1", **rows_of(("char A", "8.53 g", ""))})

    assert "amounts not weighed" not in inside.get("/mixes").text


@pytest.mark.usefixtures("stocked")
def test_a_dose_sheet_takes_bare_numbers(inside: TestClient) -> None:
    """Area, loading, spare and scale in the units behind their labels give the sheet of the full texts."""
    bare = "area=9,0&loading=25&electrodes=2&scale=0.01&spare=12"
    full = "area=9.0+cm2&loading=25+mg/cm2&electrodes=2&scale=0.01+g&spare=12+%25"
    sheets = [inside.get(f"/mixes/T5?{query}").text for query in (bare, full)]
    tables = [text[text.index("<caption") : text.index("</table>")] for text in sheets]

    assert "For 2 electrodes of 9 cm² at 25 mg/cm², 12 % spare" in sheets[0]
    assert tables[0] == tables[1]


@pytest.mark.usefixtures("stocked")
def test_a_pot_is_asked_beside_its_dose_sheet(inside: TestClient) -> None:
    """The grams of the sheet stand under each field; name and day are there already."""
    sheet = inside.get("/mixes/T5?area=9&loading=25&electrodes=2&scale=0.01").text
    place = re.search(r'href="(/mixes/T5/pots/new\?[^"]+)"', sheet)
    assert place
    form = inside.get(place[1].replace("&amp;", "&")).text
    plain = inside.get("/mixes/T5/pots/new").text

    assert re.search(r"the dose sheet says \d+\.\d\d g", form)
    assert 'value="T5 pot 1"' in form
    assert re.search(r'name="made" value="\d{4}-\d\d-\d\d"', form)
    assert "the dose sheet says" not in plain
    assert "the mix says" in plain
    inside.post("/mixes/T5/pots/new", data={"name": "T5 pot 1", **rows_of(("char A", "8.1", ""))})
    assert 'value="T5 pot 2"' in inside.get("/mixes/T5/pots/new").text


@pytest.mark.usefixtures("stocked")
def test_a_pot_far_from_its_mix_says_so_first(inside: TestClient) -> None:
    """Ten times too much of one thing stands above everything else, with the way to correct it."""
    inside.post("/mixes/new", data={"name": "T9", **rows_of(("char A", "", "85"), ("jar 1", "", "rest"))})  # fmt: skip
    pages: list[str] = []
    for name, char in (("right", "8.5"), ("slip", "85")):
        sent = {"name": name, **rows_of(("char A", char, ""), ("jar 1", "15", ""))}
        asked = inside.post("/mixes/T9/pots/new", data=sent).text
        meant = re.search(r'name="meant" value="([^"]+)"', asked)
        sent |= {"meant": meant[1]} if meant else {}
        pages.append(inside.post("/mixes/T9/pots/new", data=sent).text if meant else asked)

    assert "Look again" not in pages[0]
    assert "Look again" in pages[1]
    assert pages[1].index("Look again") < pages[1].index('id="hurt"')
    assert "Correct the weights" in pages[1]


@pytest.mark.usefixtures("stocked")
def test_a_slip_in_a_weight_is_asked_back_and_put_right_in_one_tap(
    inside: TestClient, bench_place: Path
) -> None:
    """84.6 g where the mix says 8.50 g: kept in its field, not stored, 8.46 g offered; or meant so."""
    sent = {"name": "p", **rows_of(("char A", "84.6", ""), ("jar 1", "15.1", ""))}
    asked = inside.post("/mixes/T5/pots/new", data=sent)
    assert asked.status_code == 422
    assert "84.6 g is 10 times the planned 8.5 g" in html.unescape(asked.text).replace(
        "\u00a0", " "
    )
    assert 'value="84.6 g"' in asked.text
    assert "It was 8.46 g" in asked.text
    with BenchFile.open(bench_place) as bench:
        assert bench.find(Batch, "p") is None
    (instead,) = re.findall(r'name="instead" value="([^"]+)"', asked.text)
    changed = {"name": "p", **rows_of(("char A", "10 g", ""), ("jar 1", "15.1", ""))}
    kept = inside.post("/mixes/T5/pots/new", data={**changed, "instead": instead})
    assert (
        kept.status_code == 200
    )  # another weight stands there by now: it holds, and is like the plan
    inside.post("/mixes/T5/pots/new", data={**sent, "name": "q", "instead": instead})
    (meant,) = re.findall(r'name="meant" value="([^"]+)"', asked.text)
    so = {**sent, "name": "r", "meant": html.unescape(meant)}
    text = inside.post("/mixes/T5/pots/new", data=so).text
    assert "Look again" in text
    with BenchFile.open(bench_place) as bench:
        said = {name: bench.get(Batch, name).portions[0].mass for name in "pqr"}
    assert [f"{1e3 * one.value:.4g}" for one in said.values() if one] == ["10", "8.46", "84.6"]


@pytest.mark.usefixtures("stocked")
def test_json_asks_about_a_weight_far_from_the_plan(inside: TestClient) -> None:
    """Texts and whole records alike: the refusal says what would not be asked, and how to say yes."""
    texts = {"name": "p", "mix": "T5", "portions.0": "char A: 84.6 g", "portions.1": "solution jar 1: 15 g"}  # fmt: skip
    refused = inside.post("/json/records/batch", json=texts)
    assert refused.status_code == 400
    assert "10 times the planned 8.5 g" in refused.text
    assert "sure=true" in refused.text
    whole = inside.post("/json/records/batch?sure=true", json=texts).json()["record"]
    again = inside.put("/json/records/batch/q", json={**whole, "name": "q"})
    assert again.status_code == 400
    assert inside.put("/json/records/batch/q?sure=true", json={**whole, "name": "q"}).status_code == 200  # fmt: skip


@pytest.mark.usefixtures("stocked")
def test_a_large_pot_is_asked_about(inside: TestClient, bench_place: Path) -> None:
    """The form comes back with what it does to the air and a box for a yes; then it is stored."""
    sent = {"name": "big", **rows_of(("char A", "2 kg", ""), ("bottle", "1 L", ""))}
    asked = inside.post("/mixes/new", data=sent)
    assert asked.status_code == 422
    assert "As much as that?" in asked.text
    assert "of vapour" in asked.text
    (mark,) = re.findall(r'name="sure" value="(\d+ g)"', asked.text)
    assert 2700 < int(mark.removesuffix(" g")) < 2900  # 2 kg, and 1 L at 0.79 g/mL

    stored = inside.post("/mixes/new", data={**sent, "sure": mark}, follow_redirects=False)
    assert stored.status_code == 303
    with BenchFile.open(bench_place) as bench:
        assert bench.find(Mix, "big") is not None


@pytest.mark.usefixtures("stocked")
def test_a_large_dose_shows_no_weights_before_a_yes(inside: TestClient) -> None:
    """On the page, on the form of the bench sheet, and on the sheet itself."""
    much = {"area": "1000 cm^2", "loading": "100", "electrodes": "10"}
    page = inside.get("/mixes/T5", params=much).text
    assert "As much as that?" in page
    assert "It is meant so" in page
    assert "Print the bench sheet" not in page
    form = inside.get("/prints/bench-sheet/T5", params=much).text
    assert "As much as that?" in form
    sheet = inside.get("/prints/sheet/T5", params=much, follow_redirects=False)
    assert sheet.status_code == 303
    sure = inside.get("/prints/bench-sheet/T5", params={**much, "sure": "yes"}).text
    assert "As much as that?" not in sure


@pytest.mark.usefixtures("stocked")
def test_json_asks_about_a_large_pot(inside: TestClient) -> None:
    """The refusal names the parameter that says yes."""
    texts = {"name": "big", "portions.0": "char A: 2 kg"}
    refused = inside.post("/json/records/mix", json=texts)
    assert refused.status_code == 400
    assert "sure=true" in refused.text
    assert inside.post("/json/records/mix?sure=true", json=texts).status_code == 201


@pytest.mark.usefixtures("stocked")
def test_an_empty_dose_form_says_what_is_needed(inside: TestClient) -> None:
    """Sent without area and loading: said beside the form; opened afresh nothing is said."""
    said = "Type the area of one electrode and the dry loading"
    assert (
        said in inside.get("/mixes/T5", params={"area": "", "loading": "", "electrodes": "1"}).text
    )
    assert said not in inside.get("/mixes/T5").text
    half = html.unescape(inside.get("/mixes/T5", params={"area": "9", "loading": ""}).text)
    assert "both, as in 9 cm^2 and 25 mg/cm^2" in half
    assert "--area" not in half[half.index("No dose sheet could be made"):half.index("No dose sheet could be made") + 300]  # fmt: skip


@pytest.mark.usefixtures("stocked")
def test_beside_a_dose_the_amounts_of_the_whole_mix_are_folded_away(
    inside: TestClient, bench_place: Path
) -> None:
    """Two open tables of grams on one page: somebody would weigh from the wrong one."""
    with BenchFile.open(bench_place) as bench:
        mix = bench.get(Mix, "T5")
        told = tuple(
            replace(one, mass=replace(one.mass, how=WORKED_OUT)) if one.mass else one
            for one in mix.portions
        )
        bench.put(replace(mix, name="T7", portions=told))
    alone = inside.get("/mixes/T7").text
    dosed = inside.get("/mixes/T7", params={"area": "9 cm^2", "loading": "25 mg/cm^2"}).text

    assert '<details class="fold" id="goes-in" open>' in alone
    assert 'class="tight doses"><caption class="small">Dose sheet' in dosed
    assert '<details class="fold" id="goes-in">' in dosed
    assert "The whole mix, not the dose above" in dosed
