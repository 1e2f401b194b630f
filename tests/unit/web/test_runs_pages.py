"""The guided run as a person meets it: one number, one button, nothing lost."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from aerode.records.electrodes import Electrode
from aerode.records.marks import Entry, Known
from aerode.records.runs import Run, RunSort, Settling, Unsorted
from aerode.store.bench_file import BenchFile

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.testclient import TestClient


RUN = "/runs/T1%20loads"


def _run(place: Path, name: str = "T1 loads") -> Run:
    with BenchFile.open(place) as bench:
        return bench.get(Run, name)


def _take(browser: TestClient, text: str, **more: str):
    return browser.post(RUN, data={"reading": text, "act": "take", **more})


def test_the_first_reading_of_a_new_electrode_takes_two_fields(
    begun: TestClient, bench_place: Path
) -> None:
    """The electrode is entered with its run; the first number is on disk before the page answers."""
    page = _take(begun, "742")

    run = _run(bench_place)
    assert run.readings[0].voltage == pytest.approx(0.742)
    assert run.readings[0].text == "742"
    assert page.status_code == 200
    assert "100 ohm" in page.text
    with BenchFile.open(bench_place) as bench:
        assert bench.get(Electrode, "T1").wetted_area is None


def test_a_bench_without_resistors_takes_them_in_the_same_form(
    inside: TestClient, tmp_path: Path, bench_place: Path
) -> None:
    """What is printed on the resistors is one field; without it nothing is stored and the field is named."""
    with BenchFile.open(bench_place) as bench:
        from aerode.records.instruments import Instrument

        for name in ("100 ohm", "33 ohm", "10 ohm"):
            bench.withdraw(Instrument, name)
    refused = inside.post("/runs/start", data={"electrode": "T1"})
    sent = {"electrode": "T1", "resistors": "100, 47 4,7 ohm"}
    inside.post("/runs/start", data=sent)

    assert refused.status_code == 422
    assert 'name="resistors"' in refused.text
    assert _run(bench_place).planned_loads == ("open", "100 ohm", "47 ohm", "4.7 ohm", "47 ohm")


def test_fields_that_cannot_be_taken_are_named_and_kept(
    inside: TestClient, bench_place: Path
) -> None:
    """Every fault at once, what was typed stays, nothing is stored."""
    sent = {"electrode": "T9", "temperature": "warm", "area": "9 apples"}
    page = inside.post("/runs/start", data=sent)

    assert page.status_code == 422
    assert 'value="warm"' in page.text
    assert 'value="9 apples"' in page.text
    with BenchFile.open(bench_place) as bench:
        assert bench.names(Run) == []
        assert bench.names(Electrode) == []


def test_a_next_reading_is_digits_and_one_press(begun: TestClient, bench_place: Path) -> None:
    """The page holds one visible field, focused, and its first button takes the number."""
    _take(begun, "742")
    page = begun.get(RUN).text
    form = page[page.index("data-take") :]
    form = form[: form.index("</form>")]

    assert re.findall(r'<input class="reading"[^>]*autofocus', form)
    assert re.findall(r'<button[^>]*value="(\w+)"', form)[0] == "take"
    assert form.count('type="hidden"') == form.count("<input") - 1


def test_what_can_hurt_stays_above_until_the_first_reading(begun: TestClient) -> None:
    """Above the field as long as nothing was read, in a part that the answer replaces; then in one folded line."""
    page = begun.get(RUN).text
    told = page.index("Salt water on aluminium gives off hydrogen")
    assert page.index('data-part="care"') < told < page.index('data-part="step"')
    assert "no flame near; with lye goggles and gloves first</summary>" in page
    assert "goggles and gloves" in page

    _take(begun, "742")
    later = begun.get(RUN).text
    above, _, below = later.partition('data-part="step"')
    assert "gives off hydrogen" not in above
    assert "<summary>What can hurt here</summary>" in below
    assert "gives off hydrogen" in below


def test_the_first_run_of_a_bench_is_compared_with_no_other(begun: TestClient) -> None:
    """Alone, its conditions are not noted yet; beside a second run they may differ."""
    assert "Not noted yet: " in begun.get(RUN).text
    begun.post("/runs/start", data={"electrode": "T2", "kind": "short"})

    assert "may differ between this run and the others" in begun.get(RUN).text


def test_what_a_condition_buys_fits_the_sentence(begun: TestClient) -> None:
    """After "Buys " stands a thing that is bought, not another verb."""
    page = begun.get(f"{RUN}/conditions").text

    assert "Buys a way to tell ageing from a difference between recipes." in page
    assert not re.findall(r"Buys tells", page)


def test_watching_a_load_leaves_it_on_until_it_is_taken(
    begun: TestClient, bench_place: Path
) -> None:
    """Timed readings stand in the run at once and become the trace of the reading taken."""
    _take(begun, "742")
    for seconds, text in (("20", "601"), ("50", "611"), ("80", "612"), ("110", "612")):
        page = begun.post(RUN, data={"reading": text, "act": "look", "waited": seconds})
        assert "100 ohm" in page.text
    watched = _run(bench_place).readings[-1]
    _take(begun, "612", waited="140")

    assert len(watched.trace) == 4
    assert watched.waited is None
    assert "It stands still" in page.text
    taken = _run(bench_place).readings
    assert len(taken) == 2
    assert taken[-1].settling is Settling.SETTLED
    assert taken[-1].trace[-1] == (140.0, 0.612)


def test_a_reading_taken_at_once_is_told_what_it_may_still_move_by(begun: TestClient) -> None:
    """Three seconds after the load went on: saved, and said plainly, with the way back; patient readings pass."""
    _take(begun, "742", waited="150")
    hasty = _take(begun, "601", waited="3").text.replace("\N{NO-BREAK SPACE}", " ")
    patient = _take(begun, "520", waited="130").text

    assert "0.601 V at 100 ohm was read after 3 s and may still move by about 9.2 mV;" in hasty
    assert "Take it back below, or go on." in hasty
    assert "was read after" not in patient


def test_a_quick_reading_without_a_load_says_that_no_curve_uses_it(begun: TestClient) -> None:
    """Twelve seconds without a load: its row says once that the curve leaves it out; a load's row does not."""
    _take(begun, "742", waited="12")
    page = _take(begun, "601", waited="130").text.replace("\N{NO-BREAK SPACE}", " ")

    assert page.count("read after 12 s; the curve does not use it") == 1
    assert page.count("the curve does not use it") == 1


def test_the_short_plan_closes_a_load_with_its_last_timed_reading(
    inside: TestClient, bench_place: Path
) -> None:
    """Six numbers, six presses, and the next load is named; the moments are those of the plan."""
    inside.post("/runs/start", data={"electrode": "T1", "kind": "short"})
    _take(inside, "742")
    for text in ("590", "600", "606", "610", "611", "612"):
        inside.post(RUN, data={"reading": text, "act": "look"})

    run = _run(bench_place)
    assert [t for t, _ in run.readings[-1].trace] == [20.0, 40.0, 60.0, 90.0, 120.0, 180.0]
    assert run.readings[-1].waited == 180.0
    assert ">33 ohm<" in inside.get(RUN).text


def test_a_second_press_and_a_second_tab_take_nothing_twice(
    begun: TestClient, bench_place: Path
) -> None:
    """The same form again leads to the same page; a form for a load that was read meanwhile is refused."""
    _take(begun, "742", once="a", load="open")
    _take(begun, "742", once="a", load="open")
    late = _take(begun, "740", once="b", load="open")

    assert late.status_code == 409
    assert "No load was read meanwhile; “740” was not taken: the next one is 100 ohm" in late.text
    assert 'value="740"' not in late.text  # not in the field of the next load
    assert len(_run(bench_place).readings) == 1


def test_a_load_left_out_and_a_run_closed_and_opened_again(
    begun: TestClient, bench_place: Path
) -> None:
    """Skipping goes on to the next load; closing shows what the run tells; it can be opened again."""
    _take(begun, "742")
    begun.post(RUN, data={"act": "skip", "why": "lost"})
    begun.post(RUN, data={"act": "finish"})
    closed = begun.get(RUN)
    finished = _run(bench_place).finished
    begun.post(RUN, data={"act": "reopen"})

    assert finished
    assert "does not make a curve yet" in closed.text
    assert not _run(bench_place).finished
    assert ">33 ohm<" in begun.get(RUN).text


def test_a_closed_run_shows_its_curve_and_what_it_cannot_tell(
    begun: TestClient, bench_place: Path
) -> None:
    """The sentence of the fit, the figure, the reasons and the readings as typed."""
    with BenchFile.open(bench_place) as bench:
        bench.put(Electrode(name="T1", wetted_area=Entry(value=9.5e-4, how="photo")))
    for text in ("742", "0,61", "0,5", "330", "498"):
        _take(begun, text)
    begun.post(RUN, data={"act": "finish"})
    page = begun.get(RUN, params={"at": "5 mA/cm2"}).text

    assert "What this run tells, and what it cannot" in page
    assert "voltage at 5 mA/cm²" in page
    assert "cannot be told" in page or "above" in page
    assert "typed “0,61”" in page
    for ending, media in (("svg", "image/svg+xml"), ("csv", "text/csv")):
        got = begun.get(f"/figures/runs/T1%20loads/curves.{ending}")
        assert got.headers["content-type"].startswith(media)
    assert begun.get("/figures/runs/T1%20loads/curves.exe").status_code == 404


def test_conditions_are_measured_same_or_may_differ(begun: TestClient, bench_place: Path) -> None:
    """All three states come in by one field each; a wrong one is named and nothing is stored."""
    sent = {"temperature": "21 °C", "salinity": "same", "gap": ""}
    begun.post(f"{RUN}/conditions", data=sent)
    wrong = begun.post(f"{RUN}/conditions", data={**sent, "gap": "wide"})

    run = _run(bench_place)
    assert run.temperature.value == pytest.approx(294.15)
    assert run.salinity.known is Known.SAME
    assert run.gap.known is Known.MAY_DIFFER
    assert wrong.status_code == 422
    assert 'value="wide"' in wrong.text


def test_a_seep_test_is_one_press_for_each_look(inside: TestClient, bench_place: Path) -> None:
    """Dry and wet looks are noted with their moment and drawn."""
    inside.post("/runs/start", data={"electrode": "T1", "kind": "seep", "head": "12 cm"})
    inside.post("/runs/T1%20seep", data={"act": "dry"})
    inside.post("/runs/T1%20seep", data={"act": "wet", "note": "under the tab"})
    inside.post("/runs/T1%20seep", data={"act": "finish"})

    run = _run(bench_place, "T1 seep")
    assert run.sort is RunSort.SEEP
    assert run.head == pytest.approx(0.12)
    assert [(look.wet, look.note) for look in run.observations] == [
        (False, ""),
        (True, "under the tab"),
    ]
    assert "It leaked between" in inside.get("/runs/T1%20seep").text


def test_an_ammeter_reading_is_no_power(inside: TestClient, bench_place: Path) -> None:
    """One current in milliamperes, and what it does not tell."""
    inside.post("/runs/start", data={"electrode": "T1", "kind": "ammeter"})
    name = "T1 ammeter across the cell"
    place = f"/runs/{name.replace(' ', '%20')}"
    inside.post(place, data={"reading": "69,4", "act": "take"})
    inside.post(place, data={"act": "finish"})

    assert _run(bench_place, name).readings[0].current == pytest.approx(0.0694)
    assert "no power" in inside.get(place).text


def test_a_check_cell_makes_no_electrode(inside: TestClient, bench_place: Path) -> None:
    """A dry cell tests the meter; it is no electrode of the study."""
    inside.post("/runs/start", data={"electrode": "AA", "kind": "check cell"})

    with BenchFile.open(bench_place) as bench:
        assert bench.names(Electrode) == []
        assert bench.get(Run, "AA check cell").sort is RunSort.CHECK_CELL


def test_the_list_shows_what_is_open_first(begun: TestClient) -> None:
    """The run that waits stands in the headline and leads to its next step."""
    page = begun.get("/runs").text

    assert "T1 loads waits for its next reading" in page
    assert 'class="open"' in page


def test_a_reading_in_seconds_and_its_place_later(inside: TestClient, bench_place: Path) -> None:
    """Filed with one field; placed with an electrode; it leaves the tray and is a run."""
    with BenchFile.open(bench_place) as bench:
        bench.put(Electrode(name="T1"))
    filed = inside.post("/runs/quick", data={"reading": "0,742 V 15 ohm", "note": "brown one"})
    wrong = inside.post("/runs/tray/reading%201", data={"electrode": "T7", "act": "place"})
    inside.post("/runs/tray/reading%201", data={"electrode": "T1", "act": "place"})

    assert "Filed as reading 1" in filed.text
    assert wrong.status_code == 422
    with BenchFile.open(bench_place) as bench:
        placed = bench.get(Unsorted, "reading 1").placed_in
        reading = bench.get(Run, placed).readings[0]
    assert (reading.voltage, reading.resistance, reading.note) == (0.742, 15.0, "brown one")
    assert "The tray is empty" in inside.get("/runs/tray").text


def test_a_quick_reading_may_name_its_piece(inside: TestClient) -> None:
    """The 3 of B-3 is no number of the reading, and the tray offers B-3 as the place."""
    inside.post("/things/electrode/new", data={"name": "B-3", "recipe": "B"})
    filed = inside.post("/runs/quick", data={"reading": "0,61 V at 100r B-3"}).text

    assert "Filed as reading 1" in filed
    assert 'name="electrode" value="B-3"' in filed


def test_words_in_the_quick_field_are_refused_and_kept(inside: TestClient) -> None:
    """The field is named, what was typed is still there."""
    page = inside.post("/runs/quick", data={"reading": "brown"})

    assert page.status_code == 422
    assert 'value="brown"' in page.text


def test_a_run_may_be_called_anything(inside: TestClient, bench_place: Path) -> None:
    """A slash, a sharp sign or a script in a name is a name."""
    name = "a/b #1 <script>"
    led = inside.post("/runs/start", data={"electrode": name}, follow_redirects=False)
    page = inside.get(led.headers["location"])

    assert page.status_code == 200
    assert "<script>" not in page.text.replace('<script type="module"', "")
    assert _run(bench_place, f"{name} loads").electrode == name


def test_a_meter_without_ranges_is_named_whole(inside: TestClient, bench_place: Path) -> None:
    """A cheap meter of which only the name is known: the form sends its name and nothing else."""
    from aerode.records.instruments import Instrument, Sort

    with BenchFile.open(bench_place) as bench:
        bench.put(Instrument(name="cheap one", sort=Sort.MULTIMETER))
    offered = re.findall(r'<option value="(cheap one[^"]*)"', inside.get("/runs/start").text)
    assert offered == ["cheap one"]

    inside.post("/runs/start", data={"electrode": "T1", "meter": offered[0], "area": "30 x 32 mm (ruler)"})  # fmt: skip

    assert _run(bench_place).meter == "cheap one"
    with BenchFile.open(bench_place) as bench:
        area = bench.get(Electrode, "T1").wetted_area
    assert area is not None
    assert (area.value, area.how) == (pytest.approx(9.6e-4), "ruler")


def test_a_closed_run_leads_on(begun: TestClient) -> None:
    """From what a run tells it is one tap to what comes next and to the comparison."""
    for text in ("742", "700", "600", "400"):
        _take(begun, text)
    begun.post(RUN, data={"act": "finish"})

    page = begun.get(RUN).text

    assert 'href="/">What comes next' in page
    assert 'class="button quiet" href="/compare">Compare' in page


def test_bare_conditions_have_the_unit_of_their_label(begun: TestClient, bench_place: Path) -> None:
    """21 is 21 °C, 2,5 hours wet are 9000 s, a gap of 4 is 4 mm: as the labels say."""
    asked = begun.get(f"{RUN}/conditions").text
    begun.post(f"{RUN}/conditions", data={"temperature": "21", "hours_wet": "2,5", "gap": "4"})
    with BenchFile.open(bench_place) as bench:
        run = bench.get(Run, "T1 loads")

    assert 'Temperature, <span class="unit">in °C</span>' in asked
    assert run.temperature.value == pytest.approx(294.15)
    assert run.hours_wet.value == pytest.approx(9000.0)
    assert run.gap.value == pytest.approx(4e-3)


def test_the_load_that_comes_back_says_why(begun: TestClient) -> None:
    """On the page of its step, on the closed run and on the card: a check of what the run has changed."""
    for text in ("0.71", "0.62", "0.52", "0.37"):
        page = begun.post("/runs/T1%20loads", data={"reading": text, "act": "take"}).text
        if "step 5 of 5" in page:
            break
    else:
        page = begun.get("/runs/T1%20loads").text

    assert "step 5 of 5" in page, page[page.index("<h1") :][:300]
    page = page.replace("\N{NO-BREAK SPACE}", " ")
    assert "again as the first time, give or take 0.05 V for drift" in page
    assert "checks what the run itself has changed" in page
    begun.post("/runs/T1%20loads", data={"reading": "0.52", "act": "take"})
    begun.post("/runs/T1%20loads", data={"act": "finish"})
    closed = begun.get("/runs/T1%20loads").text
    assert "a check of what the run itself has changed" in closed
    card = begun.get("/prints/resistors", params={"electrode": "T1"}).text
    assert "again: has it drifted?" in card


def test_no_symbol_stands_unexplained_on_a_closed_run(begun: TestClient) -> None:
    """What the resistance holds is said in words; the formula stands with its words among the assumptions."""
    for text in ("0.71", "0.62", "0.52", "0.37", "0.52"):
        begun.post("/runs/T1%20loads", data={"reading": text, "act": "take"})
    page = begun.post("/runs/T1%20loads", data={"act": "finish"}).text

    assert "R + b/i_L" not in page
    assert "limiting current i_L" in page


def test_begin_stands_below_every_field_it_sends(inside: TestClient) -> None:
    """The folded fields too: after filling them the button is the next thing."""
    page = inside.get("/runs/start").text

    assert page.index(">Begin</button>") > page.index('name="control"')
    assert page.index(">Begin</button>") < page.index("</form>", page.index('action="/runs/start"'))


def test_the_open_mark_is_spoken_of_only_where_it_is_drawn(begun: TestClient) -> None:
    """While a load is to come it is drawn and named; under the finished figure it is neither."""
    for text in ("1.25", "1.12"):
        _take(begun, text)
    assert "The open mark is what to expect" in begun.get(RUN).text

    for text in ("0.95", "0.7", "0.95"):
        _take(begun, text, sure="yes")
    page = begun.get(RUN).text
    assert "every load is read" in page
    assert "nothing is corrected here." in page
    assert "open mark" not in page


def test_what_a_full_and_a_short_run_cost_and_buy(begun: TestClient) -> None:
    """Two short sentences with their minutes, as the resistors at hand make them."""
    page = begun.get("/runs/start").text

    assert "Full: about 13 minutes for 3 resistors; buys the surest curve." in page
    assert "Short: at most 12 minutes for 3 resistors; buys a curve with wider limits." in page


def test_a_window_without_a_stream_asks_where_the_run_stands(begun: TestClient) -> None:
    """A few words: the state that the page carries, whether it is closed; another after a reading, 404 for none."""
    shown = re.search(r'data-state="(\w+)" data-stream="[^"]*" data-standing="([^"]*)"', begun.get(RUN).text)  # fmt: skip
    assert shown
    first = begun.get(shown[2]).json()
    _take(begun, "1.25")

    assert first == {"state": shown[1], "finished": False}
    assert begun.get(shown[2]).json()["state"] != shown[1]
    assert begun.get("/runs/none/standing").status_code == 404
