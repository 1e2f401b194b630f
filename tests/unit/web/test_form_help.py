"""What a form does for the person who types: units behind the labels, names on file, plain faults."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from aerode.records import KINDS
from aerode.records.electrodes import Electrode
from aerode.records.instruments import Instrument
from aerode.records.materials import Solution
from aerode.records.mixes import Mix
from aerode.store.bench_file import BenchFile
from aerode.units import same_kind
from aerode.usecases.on_file import names_for, on_file
from aerode.web.form_plans import asked
from aerode.web.form_plans_data import PLANS

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.testclient import TestClient

DISHES = {
    "dishes.0.empty": "5,213", "dishes.0.wet": "7.884", "dishes.0.dried": "5.476 g",
    "dishes.1.empty": "5.2", "dishes.1.wet": "8", "dishes.1.dried": "5480 mg",
}  # fmt: skip


def test_bare_weights_are_grams_where_the_label_says_so(
    inside: TestClient, bench_place: Path
) -> None:
    """Digits alone are grams; a typed unit is taken as typed."""
    sent = {"name": "jar", "polymer": "PVB", "liquid": "ethanol", **DISHES}
    assert inside.post("/things/solution/new", data=sent).status_code == 200

    with BenchFile.open(bench_place) as bench:
        found = bench.get(Solution, "jar").dishes
    assert [(d.empty, d.wet, d.dried) for d in found] == [
        (pytest.approx(5.213e-3), pytest.approx(7.884e-3), pytest.approx(5.476e-3)),
        (pytest.approx(5.2e-3), pytest.approx(8e-3), pytest.approx(5.48e-3)),
    ]


@pytest.mark.parametrize(
    ("sort", "unit", "stored"), [("scale", "g", 1e-5), ("thermometer", "°C", 0.01), ("calipers", "mm", 1e-5)]
)  # fmt: skip
def test_the_smallest_step_names_its_unit_by_the_sort(
    inside: TestClient, bench_place: Path, sort: str, unit: str, stored: float
) -> None:
    """Digits alone are grams at a scale, degrees at a thermometer, millimetres at calipers."""
    page = inside.get("/things/instrument/new", params={"sort": sort}).text
    assert f'Smallest step, <span class="unit">in {unit}</span>' in page
    sent = {"name": "mine", "sort": sort, "resolution": "0,01"}
    assert inside.post("/things/instrument/new", data=sent).status_code == 200

    with BenchFile.open(bench_place) as bench:
        assert bench.get(Instrument, "mine").resolution == pytest.approx(stored)


@pytest.mark.parametrize("kind", sorted(PLANS))
def test_every_unit_behind_a_label_is_one_of_its_field(kind: str) -> None:
    """The unit of the label and that of the example measure the same thing."""
    for group in PLANS[kind]:
        for ask in group.asks:
            if not ask.bare:
                continue
            for example in ask.example.split(";"):
                number = re.match(r"\s*([-\d.,]+)\s*([^±(]*)", example)
                assert number, ask
                typed = number[2].strip() or ask.bare
                assert same_kind(typed, ask.bare), ask


def test_a_fault_is_told_by_its_label_and_the_choice_stays(inside: TestClient) -> None:
    """ "After drying, row 1", not the path of a field; what a choice starts with is still chosen."""
    sent = {"name": "jar", "polymer": "PVB", "function": "binder", "dishes.0.empty": "5.2 g"}
    page = inside.post("/things/solution/new", data=sent)

    assert page.status_code == 422
    assert ">After drying, row 1</a>" in page.text
    assert ">dishes.0" not in page.text
    assert '<option value="binder" selected>binder: ' in page.text
    assert "not said</option>\n    <option>conductor" not in page.text


def test_names_on_file_are_offered_while_typing(inside: TestClient) -> None:
    """A powder form offers powders, a solution form polymers and solvents; a mesh form metals."""
    powder = inside.get("/things/powder/new").text
    solution = inside.get("/things/solution/new").text

    assert 'list="l-powder"' in powder
    assert '<option value="manganese dioxide">' in powder
    assert '<option value="toluene">' not in powder
    assert '<option value="PVB">' in solution
    assert '<option value="toluene">' in solution
    assert "stainless steel mesh" in names_for("metal")


def test_a_name_that_is_not_on_file_is_said_with_the_nearest(inside: TestClient) -> None:
    """A slip of the pen is told, with what cannot be told as long as it stands."""
    sent = {"name": "mno", "substance": "manganese dioxid", "function": "catalyst"}
    page = inside.post("/things/powder/new", data=sent).text

    assert "is not in the tables" in page
    assert "manganese dioxide" in page
    assert "no caution can be given" in page


def test_a_known_thing_says_how_to_confirm_it(inside: TestClient) -> None:
    """Home test, look-alikes and source of what was entered; a metal also what salt water does to it."""
    sent = {"name": "soot", "substance": "lamp black", "function": "conductor"}
    page = inside.post("/things/powder/new", data=sent).text
    mesh = inside.post("/things/mesh/new", data={"name": "m", "material": "copper"}).text

    assert "press a pinch between two coins" in page
    assert "Common practice, no source." in page
    assert "not in the tables" not in page
    assert "What water does to it" in mesh
    assert "Source: corrosion doctors." in mesh


def test_things_without_a_substance_tell_nothing() -> None:
    """An electrode is no substance."""
    assert on_file(KINDS["electrode"](name="T1")) == ()


def test_the_label_names_the_unit(inside: TestClient) -> None:
    """ "Wetted area, in cm²": the unit stands where the number is typed."""
    page = inside.get("/things/electrode/new").text
    unit = {one.name: one.unit for g in asked("electrode", {}) for row in g.rows for one in row}

    assert unit["wetted_area"] == "cm^2"
    assert 'Wetted area, <span class="unit">in cm²</span>' in page


def test_what_a_meter_range_measures_is_picked(inside: TestClient) -> None:
    """Three words to pick from: nothing that a unit of the next field could not fit is typed there."""
    page = inside.get("/things/instrument/new?sort=multimeter").text
    asked_for = page.split('name="ranges.0.measures"')[1].split("</select>")[0]
    sent = {
        "name": "m", "sort": "multimeter", "ranges.0.name": "2 V", "ranges.0.measures": "voltage",
        "ranges.0.full_scale": "2 V", "ranges.0.count": "1 mV", "ranges.0.of_reading": "0.5",
        "ranges.0.counts": "2",
    }  # fmt: skip

    assert re.findall(r"<option[^>]*>(voltage|current|resistance)<", asked_for) == [
        "voltage", "current", "resistance",
    ]  # fmt: skip
    assert "What comes next" in inside.post("/things/instrument/new", data=sent).text


@pytest.mark.parametrize(("typed", "grams"), [(".53", 0.53), ("5.", 5.0), (",27", 0.27), (".27 g", 0.27), ("1.5e-1", 0.15)])  # fmt: skip
def test_a_bare_number_is_grams_however_it_is_written(
    inside: TestClient, bench_place: Path, typed: str, grams: float
) -> None:
    """A leading dot or a trailing one is a number like others."""
    sent = {"name": "T5", "rows.0.of": "char A", "rows.0.amount": typed}
    assert inside.post("/mixes/new", data=sent).status_code == 200

    with BenchFile.open(bench_place) as bench:
        (portion,) = bench.get(Mix, "T5").portions
    assert portion.mass is not None
    assert portion.mass.value == pytest.approx(1e-3 * grams)


def test_a_choice_that_was_set_can_be_taken_back(inside: TestClient, bench_place: Path) -> None:
    """How firm a pressing was: "not said" stands among the choices, and is kept as nothing said."""
    sent = {"name": "T1", "press.0.firmness": "firm", "press.0.means": "clamp"}
    assert inside.post("/things/electrode/new", data=sent).status_code == 200
    page = inside.get("/things/electrode/T1/edit").text
    select = re.search(r'<select[^>]*name="press\.0\.firmness".*?</select>', page, re.DOTALL)
    assert select is not None
    assert '<option value="">not said</option>' in select[0]
    assert "<option selected>firm</option>" in select[0]

    assert inside.post("/things/electrode/T1/edit", data={**sent, "press.0.firmness": ""}).status_code == 200  # fmt: skip
    with BenchFile.open(bench_place) as bench:
        press = bench.get(Electrode, "T1").press
    assert [(one.firmness, one.means) for one in press] == [(None, "clamp")]


def test_a_choice_that_the_record_needs_offers_nothing_else(inside: TestClient) -> None:
    """What a powder does is needed, what became of a piece starts as whole: neither can be left open once set."""
    powder = inside.get("/things/powder/char%20A/edit").text
    piece = inside.get("/things/electrode/new").text
    for page, field in ((powder, "function"), (piece, "outcome")):
        select = re.search(rf'<select[^>]*name="{field}".*?</select>', page, re.DOTALL)
        assert select is not None
        assert "not said" not in select[0]


def test_a_second_layer_is_not_there_before_it_is_asked_for(inside: TestClient) -> None:
    """One row stands in the form; another one comes by its button, and says nothing by itself."""
    page = inside.get("/things/electrode/new?layers.0.mix=M").text
    assert 'name="layers.0.how" value="brush"' in page
    assert "layers.1." not in page

    more = inside.post("/things/electrode/new", data={"layers.0.mix": "M", "more": "layers"}).text
    assert 'name="layers.0.how" value="brush"' in more
    assert 'name="layers.1.how" value=""' in more
    dishes = [group for group in asked("solution", DISHES) if group.stem == "dishes"]
    assert len(dishes[0].rows) == 3  # several rows are the rule there: one stays ready
