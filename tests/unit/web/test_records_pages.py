"""Entering and changing records by form."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from aerode.records import KINDS
from aerode.records.electrodes import Electrode
from aerode.records.marks import Entry, Share
from aerode.records.materials import Function, PowderLot, Solution
from aerode.records.mixes import Mix
from aerode.records.places import Claim, Room
from aerode.store.bench_file import BenchFile
from aerode.web.form_plans import asked
from aerode.web.form_plans_data import PLANS, QUESTIONS

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.testclient import TestClient


def test_a_new_electrode_is_stored_and_seen(inside: TestClient, bench_place: Path) -> None:
    """A decimal comma, a unit and a way of measuring come in as on the command line."""
    sent = {"name": "T1", "wetted_area": "9,54 cm2 ± 2 % (photo)", "once": "a"}
    made = inside.post("/things/electrode/new", data=sent, follow_redirects=False)

    assert made.status_code == 303
    with BenchFile.open(bench_place) as bench:
        area = bench.get(Electrode, "T1").wetted_area
    assert area is not None
    assert area.value == pytest.approx(9.54e-4)
    assert area.how == "photo"
    assert "9.54" in inside.get("/things/electrode/T1").text


def test_a_second_press_of_the_button_stores_nothing_twice(inside: TestClient) -> None:
    """The same form sent again leads to the same page, not to a refusal about a taken name."""
    sent = {"name": "T1", "once": "mark"}
    first = inside.post("/things/electrode/new", data=sent, follow_redirects=False)
    second = inside.post("/things/electrode/new", data=sent, follow_redirects=False)

    assert second.status_code == 303
    assert second.headers["location"] == first.headers["location"]


def test_what_cannot_be_taken_is_kept_on_the_page(inside: TestClient) -> None:
    """The refusal names the field and what is allowed; every typed text is still there."""
    sent = {"name": "T1", "wetted_area": "9 apples", "note": "from the blue pot"}
    page = inside.post("/things/electrode/new", data=sent)

    assert page.status_code == 422
    assert 'value="9 apples"' in page.text
    assert "from the blue pot" in page.text
    assert 'aria-invalid="true"' in page.text
    assert "apples" in page.text
    assert "m^2" in page.text


def test_a_claimed_factor_stands_in_view_with_the_share_of_the_mix(
    inside: TestClient, bench_place: Path
) -> None:
    """A claim about binder, a mix with 10 % of it: the field is not folded away, and it says 10 %."""

    def factors() -> str:
        return inside.get("/things/electrode/new", params={"layers.0.mix": "A"}).text

    with BenchFile.open(bench_place) as bench:
        bench.put(PowderLot(name="char", substance="biochar", function=Function.ACTIVE_CARBON))
        bench.put(Solution(name="jar", polymer="PVB", solids=Entry(value=0.1)))
        bench.put(Mix(name="A", wanted=(Share(of="char", fraction=0.9), Share(of="jar", fraction=0.1))))  # fmt: skip
        assert 'What was varied on purpose <span class="when">later' in factors()
        bench.put(Claim(name="c1", question="does binder help?", factor="binder"))
        bench.put(Claim(name="c2", question="does the room?", factor="days kept"))
    page = factors()
    assert "<legend>What was varied on purpose</legend>" in page
    assert re.search(r'name="factors.binder" value="10 %"', page)
    assert re.search(r'name="factors.days kept" value=""', page)
    sent = {"name": "A-1", "factors.binder": "10 %", "factors.days kept": "3", "layers.0.mix": "A"}
    inside.post("/things/electrode/new", data=sent)
    with BenchFile.open(bench_place) as bench:
        assert bench.get(Electrode, "A-1").factors == {"binder": "10 %", "days kept": 3.0}
    assert re.search(r'name="factors.days kept" value="3"', inside.get("/things/electrode/A-1/edit").text)  # fmt: skip


def test_a_cell_leads_to_its_run_and_to_what_is_not_on_the_shelf_yet(inside: TestClient) -> None:
    """A name that is nowhere leads to the form that enters it; the page of the cell to its first run."""
    inside.post("/things/electrode/new", data={"name": "T1"})
    assert 'name="away" value="aluminium|aluminium"' in inside.get("/things/cell/new").text
    bad = inside.post(
        "/things/cell/new", data={"name": "c", "electrode": "T1", "electrolyte": "lye"}
    )
    assert bad.status_code == 422
    assert (
        'name="away" value="electrolyte|electrolyte" formnovalidate>Enter the electrolyte<'
        in bad.text
    )
    assert "Salt water on aluminium gives off hydrogen" in inside.get("/things/cell/new").text
    inside.post("/things/cell/new", data={"name": "c", "electrode": "T1"})
    page = inside.get("/things/cell/c").text
    assert "hydrogen" in page
    assert 'href="/cautions/cell%3Ac"' in page
    assert inside.get("/cautions/cell%3Ac").status_code == 200
    assert 'href="/runs/start?electrode=T1">Measure it</a>' in inside.get("/things/cell/c").text


def test_two_tabs_keep_both_changes_or_ask(inside: TestClient, bench_place: Path) -> None:
    """Different fields are both kept; the same field is asked about and nothing is lost."""
    inside.post("/things/electrode/new", data={"name": "T1", "recipe": "A"})
    with BenchFile.open(bench_place) as bench:
        state = bench.state(Electrode, "T1").digest
    form = {"name": "T1", "recipe": "A", "note": "", "state": state}

    inside.post("/things/electrode/T1/edit", data={**form, "note": "wavy"})
    inside.post("/things/electrode/T1/edit", data={**form, "recipe": "B"})
    third = inside.post("/things/electrode/T1/edit", data={**form, "note": "flat"})

    with BenchFile.open(bench_place) as bench:
        stored = bench.get(Electrode, "T1")
    assert (stored.recipe, stored.note) == ("B", "wavy")
    assert third.status_code == 409
    assert "wavy" in third.text
    assert "flat" in third.text


@pytest.mark.parametrize("kind", PLANS)
def test_every_form_names_fields_of_its_record(inside: TestClient, kind: str) -> None:
    """Each planned path leads to a field, and the empty form is shown."""
    groups = asked(kind, {})

    assert all(one.label and one.name for group in groups for row in group.rows for one in row)
    assert kind in KINDS
    assert QUESTIONS[kind] in inside.get(f"/things/{kind}/new").text


def test_another_row_keeps_what_was_typed(inside: TestClient) -> None:
    """Asking for more rows stores nothing and loses nothing."""
    sent = {"name": "T1", "press.0.force": "2 kN", "more": "press"}
    page = inside.post("/things/electrode/new", data=sent)

    assert page.status_code == 200
    assert 'value="2 kN"' in page.text
    assert 'name="press.2.force"' in page.text


def test_a_meter_is_not_asked_for_what_a_resistor_has(inside: TestClient) -> None:
    """Where the sort is known the form asks what belongs to it, a scale its smallest step at once."""
    meter = {group.title for group in asked("instrument", {"sort": "multimeter"})}
    scale = {group.title: group.later for group in asked("instrument", {"sort": "scale"})}
    kept = {group.title for group in asked("instrument", {"sort": "scale", "tolerance": "5 %"})}

    assert "A resistor" not in meter
    assert "Ranges of a meter" in meter
    assert scale["A scale, thermometer or calipers"] is False
    assert "A resistor" in kept
    assert "Tolerance" not in inside.get("/things/instrument/new?sort=scale").text
    assert "Tolerance" in inside.get("/things/instrument/new").text


def test_a_number_under_a_label_with_its_unit_needs_no_unit(
    inside: TestClient, bench_place: Path
) -> None:
    """ "Printed value, in ohm": 4.7 is 4.7 ohm there, and 5 under "in %" is five per cent."""
    from aerode.records.instruments import Instrument

    sent = {
        "name": "R 4.7", "sort": "resistor", "nominal_resistance": "4,7", "tolerance": "5",
        "measured_resistance": "4.72 ± 0.02", "power_rating": "250 mW",
    }  # fmt: skip
    page = inside.post("/things/instrument/new", data=sent)

    assert "What comes next" in page.text
    with BenchFile.open(bench_place) as bench:
        part = bench.get(Instrument, "R 4.7")
    assert (part.nominal_resistance, part.tolerance, part.power_rating) == (4.7, 0.05, 0.25)
    assert part.measured_resistance is not None
    assert part.measured_resistance.standard_uncertainty is not None


def test_what_is_lacking_is_said_in_words_and_blank_rows_do_not_grow(inside: TestClient) -> None:
    """A refused form says what is needed, with as many blank rows as before."""
    before = inside.get("/things/solution/new").text.count('name="dishes.')
    page = inside.post("/things/solution/new", data={"name": "jar", "dishes.0.wet": "", "dishes.1.wet": ""})  # fmt: skip

    assert page.status_code == 422
    assert "this is needed" in page.text.lower()
    assert "Field required" not in page.text
    assert page.text.count('name="dishes.') == before


def test_a_group_for_later_stays_shut_until_something_stands_in_it() -> None:
    """The outcome that every electrode starts with opens nothing."""
    shut = {group.title: group.filled for group in asked("electrode", {"name": "T1"})}
    opened = {group.title: group.filled for group in asked("electrode", {"outcome": "leaked"})}

    assert shut["What became of it"] is False
    assert opened["What became of it"] is True


def test_who_is_in_a_room_is_ticked(inside: TestClient, bench_place: Path) -> None:
    """A box for each of the words; several at once, and none again."""
    form = inside.get("/things/room/new").text
    assert 'type="checkbox" name="people" value="adults" checked' in form
    sent = {"name": "kitchen", "several": "people", "people": ["", "adults", "children"]}
    inside.post("/things/room/new", data=sent)
    with BenchFile.open(bench_place) as bench:
        assert [one.value for one in bench.get(Room, "kitchen").people] == ["adults", "children"]
    again = inside.get("/things/room/kitchen/edit").text
    assert 'value="children" checked' in again
    wrong = inside.post("/things/room/new", data={"name": "hall", "people": "cats"}).text
    assert "people.0" not in wrong
    assert 'href="#f-people"' in wrong


def test_a_small_share_is_asked_about_with_its_number(
    inside: TestClient, bench_place: Path
) -> None:
    """0.07 in a field in per cent: nothing is stored, the question stands on the page, a tick says yes."""
    sent = {
        "name": "char Z",
        "substance": "biochar",
        "function": "active carbon",
        "moisture": "0.07",
    }
    asked = inside.post("/things/powder/new", data=sent)
    assert "The moisture would be stored as 0.07 %. Was 7 % meant?" in asked.text.replace(
        "\u202f", " "
    ).replace("\u00a0", " ")
    tick = re.search(r'name="sure" value="([^"]+)"', asked.text)
    assert tick
    again = inside.post("/things/powder/new", data={**sent, "moisture": "0.09", "sure": tick[1]})
    assert "stored as 0.09 %" in again.text.replace("\u202f", " ").replace("\u00a0", " ")
    inside.post("/things/powder/new", data={**sent, "sure": tick[1]})
    with BenchFile.open(bench_place) as bench:
        assert bench.get(PowderLot, "char Z").moisture is not None


def test_what_the_cell_cautions_ask_for_is_in_view(inside: TestClient) -> None:
    """Hydrogen asks for the wetted aluminium, the fit for the gap: neither is folded away, neither is needed."""
    groups = {one.name: group for group in asked("cell", {}) for row in group.rows for one in row}
    fields = {one.name: one for group in asked("cell", {}) for row in group.rows for one in row}
    for name in ("aluminium_area", "gap"):
        assert not groups[name].later
        assert not fields[name].wanted
    assert groups["sensing"].later
    page = inside.get("/things/cell/new").text
    above, _, folded = page.partition('<details class="later"')
    assert 'name="aluminium_area"' in above
    assert 'name="gap"' in above
    assert 'name="lead_resistance"' in folded


def test_the_scale_is_offered_before_something_is_weighed(inside: TestClient) -> None:
    """Above the dishes of a solution, on the form of a pot and of a piece; not where one stands there."""
    offer = "Enter the scale first"
    solution = inside.get("/things/solution/new").text
    assert offer in solution
    assert solution.index(offer) < solution.index("Dried dishes")
    assert offer in inside.get("/things/batch/new").text
    assert offer in inside.get("/things/electrode/new").text
    assert offer not in inside.get("/things/powder/new").text
    inside.post("/things/instrument/new", data={"name": "S", "sort": "scale", "resolution": "0.01"})
    assert offer not in inside.get("/things/solution/new").text
