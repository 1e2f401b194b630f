"""Slips in a guided run: asked about, refused, corrected, doubted, taken back; never erased."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from aerode.records.runs import Run
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


def test_more_under_load_than_at_rest_is_refused_in_the_words_of_the_page(
    begun: TestClient,
) -> None:
    """ "back" is a word of the terminal: here the first reading is corrected below."""
    _take(begun, "742")
    told = _take(begun, "1.2 V").text

    assert "correct the first reading below" in told
    assert "with: back" not in told


def test_a_corrected_reading_counts_once(begun: TestClient) -> None:
    """The list of runs and the page of the electrode count alike, without what was replaced."""
    _take(begun, "742")
    begun.post(f"{RUN}/readings/0", data={"reading": "741"})
    begun.post(RUN, data={"act": "finish"})

    assert ", 1 reading" in begun.get("/runs").text
    page = begun.get("/electrodes/T1").text
    assert ", 1 reading" in page
    assert ", 1 readings" not in page


def test_an_impossible_reading_is_flagged_and_kept_only_on_request(
    begun: TestClient, bench_place: Path
) -> None:
    """A slip of the unit is refused with what was typed; one press keeps it, doubted."""
    _take(begun, "742")
    slip = _take(begun, "61 V")
    before = len(_run(bench_place).readings)
    begun.post(RUN, data={"reading": "61 V", "act": "keep", "why": "too much", "load": "100 ohm"})

    assert slip.status_code == 422
    assert "Not taken: “61 V”" in slip.text
    assert "Keep it anyway, doubted" in slip.text
    assert before == 1
    kept = _run(bench_place).readings[-1]
    assert (kept.voltage, kept.doubt, kept.text) == (61.0, "too much", "61 V")


def test_a_bare_number_far_off_is_offered_with_its_unit(
    begun: TestClient, bench_place: Path
) -> None:
    """One press says which unit was meant."""
    _take(begun, "742")
    page = _take(begun, "7420")

    assert page.status_code == 422
    assert 'value="0.742 V"' in page.text


def test_a_slip_with_its_unit_is_asked_about_and_the_slip_is_offered(
    begun: TestClient, bench_place: Path
) -> None:
    """0.0692 V where 0.7 V is expected: the nearest power of ten first, what was typed only as kept; nothing saved."""
    _take(begun, "742")
    page = _take(begun, "0,0692 V").text
    asked = page[page.index('role="alert"') : page.index("data-take")]

    assert re.findall(r"<button[^>]*>([^<]+)", asked) == [
        "It was 0.692 V",
        "The meter shows it: take it",
        "Keep it anyway, doubted",
    ]
    assert len(_run(bench_place).readings) == 1


def test_the_last_one_is_taken_back_with_one_tap_and_put_back_with_another(
    begun: TestClient, bench_place: Path
) -> None:
    """Under the field stands what would go; then what would come back."""
    _take(begun, "742")
    page = _take(begun, "0,66").text
    assert "Take the last one back: 0.66 V at 100 ohm" in page
    back = begun.post(RUN, data={"act": "back", "once": "x"}).text
    assert "Taken back." in back
    assert '<p class="load">100 ohm</p>' in back
    assert "Put back 0.66 V at 100 ohm" in back
    again = begun.post(RUN, data={"act": "put", "place": "1", "once": "y"}).text
    assert '<p class="load">33 ohm</p>' in again
    assert [r.doubt for r in _run(bench_place).readings] == ["", ""]


def test_a_closed_run_says_nothing_of_an_earlier_act(begun: TestClient) -> None:
    """After a correction the run is closed: its page does not tell of the correction."""
    _take(begun, "742")
    changed = begun.post(f"{RUN}/readings/0", data={"act": "correct", "reading": "0,74"})
    closed = begun.post(RUN, data={"act": "finish"})

    assert "kept beside it" in changed.text
    assert "said=" not in str(closed.url)
    assert 'role="status"' not in closed.text


def test_a_current_beside_the_voltage_must_agree(begun: TestClient, bench_place: Path) -> None:
    """I that is not V/R is flagged at once; one that agrees is kept with the voltage."""
    _take(begun, "742")
    wrong = _take(begun, "0,62 V 61 mA")
    _take(begun, "0,62 V 6,2 mA")

    assert wrong.status_code == 422
    assert "V/R" in wrong.text
    reading = _run(bench_place).readings[-1]
    assert reading.voltage == pytest.approx(0.62)
    assert reading.current == pytest.approx(0.0062)


def test_a_reading_beyond_the_range_of_the_meter_is_an_overload(
    inside: TestClient, bench_place: Path
) -> None:
    """The range that was chosen at the start is the one that is checked."""
    inside.post("/runs/start", data={"electrode": "T1", "meter": "meter 1 | 2 V"})
    page = _take(inside, "2,1 V")

    assert _run(bench_place).voltage_range == "2 V"
    assert page.status_code == 422
    assert "overload" in page.text


def test_a_reading_is_corrected_and_doubted_and_never_erased(
    begun: TestClient, bench_place: Path
) -> None:
    """The first text stays beside the one that replaces it; a doubt is set and lifted."""
    _take(begun, "742")
    _take(begun, "621")
    begun.post(f"{RUN}/readings/1", data={"act": "correct", "reading": "612"})
    begun.post(f"{RUN}/readings/0", data={"act": "doubt", "why": "lead off"})
    doubted = _run(bench_place).readings[0].doubt
    begun.post(f"{RUN}/readings/0", data={"act": "use"})

    run = _run(bench_place)
    assert [r.text for r in run.readings] == ["742", "621", "612"]
    assert run.readings[2].replaces == 1
    assert (doubted, run.readings[0].doubt) == ("lead off", "")


def test_no_field_of_a_mended_reading_is_filled_for_anybody(begun: TestClient) -> None:
    """Why a reading is doubtful is the reader's own word: no text in the field, an example below it."""
    page = begun.post("/runs/T1%20loads", data={"reading": "0.71", "act": "take"}).text
    mend = page[page.index('class="mend"') :]

    assert "placeholder" not in mend[: mend.index("</details>")]
    assert "in your own words" in mend


def test_what_was_meant_is_listed_as_corrected_and_no_unit_is_put_in_a_mouth(
    begun: TestClient, bench_place: Path
) -> None:
    """9.81 without a unit, 0.981 V meant: said to be without one; the list says from what it was corrected."""
    begun.post(RUN, data={"reading": "1.1", "act": "take", "sure": "yes"})
    asked = _take(begun, "9.81").text
    assert "“9.81”, without a unit, was taken as 9.81 mV" in asked.replace(
        "\N{NO-BREAK SPACE}", " "
    )
    assert "no curve uses it" in asked[asked.index('id="wrong"') : asked.index("data-take")]
    after = begun.post(
        RUN, data={"reading": "9.81", "reading_as": "0.981 V", "load": "100 ohm"}
    ).text
    after = after.replace("\N{NO-BREAK SPACE}", " ")

    assert "corrected from 9.81 to 0.981 V" in after
    assert "typed “0.981 V”" not in after
    assert _run(bench_place).readings[-1].voltage == 0.981


def test_the_next_act_of_a_closed_run_stands_above_its_figure(begun: TestClient) -> None:
    """Before the first figure or table of the page, once."""
    for text in ("0.71", "0.62", "0.52", "0.37", "0.52"):
        _take(begun, text)
    page = begun.post(RUN, data={"act": "finish"}).text

    assert page.count('href="/">What comes next') == 1
    assert page.index('href="/">What comes next') < page.index("<figure")
