"""Figures of substances, what serves for what, and what can be reckoned of a process."""

from __future__ import annotations

import dataclasses
import re
from typing import TYPE_CHECKING

import pytest

from aerode.usecases.process_drying import DryingQuestion
from aerode.usecases.process_dryness import DrynessQuestion
from aerode.usecases.process_electrolyte import ElectrolyteQuestion, StrengthQuestion
from aerode.usecases.process_pressing import PressQuestion
from aerode.usecases.process_wetting import WettingQuestion
from aerode.web.pages.process import ASKS

if TYPE_CHECKING:
    from starlette.testclient import TestClient

QUESTIONS = {
    "drying": DryingQuestion,
    "dryness": DrynessQuestion,
    "pressing": PressQuestion,
    "wetting": WettingQuestion,
    "electrolyte": ElectrolyteQuestion,
    "strength": StrengthQuestion,
}
ANSWERED = {
    "drying": {"solvents": "ethanol", "wet": "1,4 g", "solids": "18 %", "area": "36 cm^2"},
    "dryness": {"weighed": "12.43 g, 12.42 g, 15 min", "coating": "2.1 g"},
    "pressing": {"polymers": "PVB", "weights": "20 kg", "area": "36 cm^2", "plate": "85 degC"},
    "wetting": {"covering": "paraffin wax", "share": "40 %", "pore": "5 um"},
    "electrolyte": {"salt": "NaCl", "volume": "500 mL", "mass_fraction": "3.5 %"},
    "strength": {"salt": "NaCl", "reading": "52 mS/cm", "temperature": "22 degC"},
}


def test_a_figure_comes_with_its_source_and_status(inside: TestClient) -> None:
    """Density of brine as the command line gives it, its range and how far it was checked."""
    asked = {"quantity": "density", "of": "NaCl", "temperature": "20 degC", "mass_fraction": "10 %"}
    page = inside.get("/properties", params=asked).text

    assert "1070." in page  # kg/m^3; CRC Handbook: 1.0707 g/cm^3 (10 %, 20 degC; from memory)
    assert "verified against its source" in page
    assert "<dt>Holds</dt>" in page


def test_a_quantity_may_be_asked_in_words(inside: TestClient) -> None:
    """The list offers words with blanks; they are understood."""
    page = inside.get("/properties", params={"quantity": "flash point", "of": "toluene"})

    assert page.status_code == 200
    assert "Flash point of toluene" in page.text


def test_what_serves_for_what(inside: TestClient) -> None:
    """A material with its home test and what it is mistaken for."""
    page = inside.get("/properties", params={"serves": "conductor"}).text

    assert "home test" in page
    assert "mistaken for" in page


def test_a_substance_alone_lists_what_is_on_file(inside: TestClient) -> None:
    """Each of them is a link to the figure."""
    page = inside.get("/properties", params={"of": "KOH"}).text

    assert "/properties?quantity=density&amp;of=KOH" in page


def test_an_unknown_substance_names_what_is_near(inside: TestClient) -> None:
    """The fields keep what was typed."""
    page = inside.get("/properties", params={"quantity": "density", "of": "unobtainium"})

    assert page.status_code == 400
    assert 'value="unobtainium"' in page.text


@pytest.mark.parametrize("what", list(ASKS))
def test_every_field_is_one_of_the_question(what: str) -> None:
    """A field of a page that the use-case does not know would be silently lost."""
    known = {field.name for field in dataclasses.fields(QUESTIONS[what])}
    if "strength" in known:
        known |= {"mass_fraction", "molality", "molarity", "grams_per_100_ml_water"}

    assert {field.name for field in ASKS[what].fields} <= known


@pytest.mark.parametrize("what", list(ASKS))
def test_each_can_be_reckoned_by_its_page(inside: TestClient, what: str) -> None:
    """What the command line takes as an example gives an answer with its figures."""
    page = inside.get(f"/process/{what}", params=ANSWERED[what])

    assert page.status_code == 200
    assert 'class="facts"' in page.text


def test_cautions_stand_before_the_figures(inside: TestClient) -> None:
    """What a flammable solvent does is said before how long it takes."""
    page = inside.get("/process/drying", params=ANSWERED["drying"]).text

    assert page.index("caution ") < page.index('class="facts"')


def test_what_cannot_be_read_is_marked(inside: TestClient) -> None:
    """The field keeps its text and says what is taken."""
    page = inside.get("/process/drying", params={**ANSWERED["drying"], "area": "many apples"})

    assert page.status_code == 400
    assert 'value="many apples"' in page.text
    assert 'aria-invalid="true"' in page.text


def test_a_missing_need_is_said_at_its_field(inside: TestClient) -> None:
    """Half a question is no fault of the program."""
    page = inside.get("/process/strength", params={"salt": "NaCl"})

    assert page.status_code == 400
    assert "it is needed" in page.text


def test_all_of_them_stand_on_one_page(inside: TestClient) -> None:
    """Each with its question; another name is not there."""
    page = inside.get("/process").text

    assert all(plan.question in page for plan in ASKS.values())
    assert inside.get("/process/magic").status_code == 404


def test_bare_numbers_of_a_process_have_the_unit_of_their_label(inside: TestClient) -> None:
    """85 under "in °C", 36 under "in cm²", 5 under "in min": the answer of the full texts."""
    bare = {"polymers": "PVB", "area": "36", "plate": "85", "time": "5", "force": "2"}
    full = {**bare, "area": "36 cm^2", "plate": "85 degC", "time": "5 min", "force": "2 kN"}
    pages = [inside.get("/process/pressing", params=asked) for asked in (bare, full)]
    heads = [page.text.split("<h1>")[1].split("</h1>")[0] for page in pages]

    assert [page.status_code for page in pages] == [200, 200]
    assert heads[0] == heads[1]
    assert "Temperature of the plate itself, in °C" in pages[0].text


def test_lye_is_warned_of_above_its_grams_and_is_called_lye(inside: TestClient) -> None:
    """What burns comes before the amount to weigh; salt stays salt."""
    asked = {"salt": "KOH", "volume": "200 mL", "molarity": "4"}
    text = inside.get("/process/electrolyte", params=asked).text
    salt = inside.get("/process/electrolyte", params={**asked, "salt": "NaCl"}).text

    assert 0 < text.find("burns skin and blinds: goggles") < text.find("<h1>")
    assert 0 < text.find("FIRST</b> lye make-up") < text.find("<h1>")
    assert "of lye into" in text
    assert "of salt" not in text
    assert "of salt into" in salt
    assert "molarity: 4 mol/L" in text.replace("\N{NO-BREAK SPACE}", " ")
    assert "taken as" not in text


@pytest.mark.parametrize("area", ["3x4", "3 x 4 cm", "30 x 40 mm", "12"])
def test_an_area_may_be_two_sides(inside: TestClient, area: str) -> None:
    """In the centimetres of the label, or with their unit; and the pressure has no exponent."""
    text = inside.get("/process/pressing", params={"weights": "20 kg", "area": area}).text
    assert "<h1>160 kPa on average" in text.replace("\N{NO-BREAK SPACE}", " ")


def test_sources_are_named_and_not_keyed(inside: TestClient) -> None:
    """Who said it and when, on the pages of figures and of processes; keys belong to the command line."""
    press = inside.get("/process/pressing", params={"polymers": "polystyrene", "plate": "110"}).text
    flash = inside.get("/properties", params={"quantity": "flash point", "of": "ethanol"}).text
    salt = inside.get(
        "/properties",
        params={"quantity": "conductivity", "of": "NaCl", "temperature": "25 C", "mass_fraction": "3.5 %"},
    ).text  # fmt: skip

    assert "P. Pfaffli and others, 1978" in press
    assert "nfpa_497]" not in flash
    assert "National Fire Protection Association, 2008" in flash
    assert "compilation: NFPA" in flash
    assert '<option value="nfpa_497"' in flash
    assert "equation: molar polynomial" in salt
    assert "nacl_fit" not in salt
    assert "298.15" not in salt
    for text in (press, flash, salt):
        assert not re.search(r">[^<]*\[?\b[a-z]+(_[a-z0-9]+)+\]?[^<]*<", text.split("<main")[1])


def test_a_dry_piece_is_led_to_its_cautions(inside: TestClient) -> None:
    """No command of the terminal on a page: a link in its place."""
    asked = {"weighed": "12.430 g, 12.430 g, 15 min", "coating": "2 g", "scale": "0.001 g"}
    text = inside.get("/process/dryness", params=asked).text
    assert "aerode cautions" not in text
    assert '<a href="/cautions">' in text
