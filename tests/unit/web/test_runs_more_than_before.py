"""A reading outside of what the page states is asked about; one that shows the step before to be wrong says so."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from aerode.records.electrodes import Electrode
from aerode.records.instruments import Instrument, Sort
from aerode.records.marks import Gone, Left
from aerode.records.runs import Run
from aerode.store.bench_file import BenchFile

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.testclient import TestClient

RUN = "/runs/T1%20loads"


def _take(browser: TestClient, text: str, **more: str) -> str:
    return browser.post(RUN, data={"reading": text, "act": "take", "waited": "130", **more}).text


def _readings(place: Path) -> list[tuple[str, float | None]]:
    """What stands: neither replaced nor taken back."""
    from aerode.measure.run_readings import taken_readings

    with BenchFile.open(place) as bench:
        return [(r.load, r.voltage) for r in taken_readings(bench.get(Run, "T1 loads"))]


def _load(page: str) -> str:
    return page.partition('<p class="load">')[2].partition("</p>")[0]


def _stated(page: str) -> tuple[float, float]:
    low, high = re.findall(r"\((\d\.\d\d) to (\d\.\d\d)\)", page.replace("\xa0", " "))[0]
    return float(low), float(high)


def _asked(page: str) -> tuple[str, list[str]]:
    part = page[page.index('role="alert"') : page.index("data-take")].replace("\xa0", " ")
    return part, re.findall(r"<button[^>]*>([^<]+)", part)


@pytest.fixture
def at_47(inside: TestClient, bench_place: Path) -> TestClient:
    """A cell of 1.05 V and 6.2 ohm, read without load and at 100 ohm; 47 ohm is next."""
    with BenchFile.open(bench_place) as bench:
        for ohms in (47.0, 22.0, 4.7):
            bench.put(Instrument(name=f"{ohms:g} ohm", sort=Sort.RESISTOR, nominal_resistance=ohms))
        bench.put(replace(bench.get(Instrument, "33 ohm"), gone=Gone(how=Left.USED_UP)))
    inside.post("/runs/start", data={"electrode": "T1"})
    for text in ("1.05", "0.989"):
        _take(inside, text)
    return inside


def test_the_stated_range_is_the_one_that_is_asked_outside_of(
    at_47: TestClient, bench_place: Path
) -> None:
    """One hundredth of a volt under the lower end that the page states: a gentle question, nothing saved; yes saves it."""
    low, _ = _stated(at_47.get(RUN).text)
    just = f"{low - 0.01:.2f}"
    said, buttons = _asked(_take(at_47, just))

    assert "Not saved yet" in said
    assert f"just below the {low:.2f} to" in said
    assert any(one.startswith("The meter shows it: take it") for one in buttons)
    assert len(_readings(bench_place)) == 2
    after = _take(at_47, just, sure="yes")
    assert _load(after) == "22 ohm"


def test_the_lower_end_itself_is_taken(at_47: TestClient) -> None:
    """What the page states is what is believed: its very end is saved without a question."""
    low, _ = _stated(at_47.get(RUN).text)

    assert _load(_take(at_47, f"{low:.2f}")) == "22 ohm"


def test_more_than_at_the_larger_resistor_names_the_one_before_and_moves_it(
    at_47: TestClient, bench_place: Path
) -> None:
    """0.648 V of 10 ohm kept as 47 ohm's; then 0.819 V at 22 ohm: one tap moves the first, takes the second, asks for 47 ohm."""
    _take(at_47, "0.648", sure="yes")
    said, buttons = _asked(_take(at_47, "0.819", load="22 ohm"))

    assert "more than you read at the larger resistor" in said
    assert "Was the reading at 47 ohm taken with another one: 0.648 V is what 10 ohm" in said
    assert buttons[0].startswith("Before, it was the 10 ohm")
    assert any(one.startswith("Take back 0.648 V at 47 ohm") for one in buttons)
    assert any(one.startswith("The meter shows it") for one in buttons)
    after = at_47.post(
        RUN,
        data={"reading": "0.819", "load": "22 ohm", "waited": "130", "earlier": "10 ohm", "earlier_place": "2"},
    ).text  # fmt: skip
    assert _readings(bench_place)[2:] == [("10 ohm", 0.648), ("22 ohm", 0.819)]
    assert _load(after) == "47 ohm"
    assert "put right" in after
    low, high = _stated(after)
    assert low <= 0.928 <= high
    assert _load(_take(at_47, "0.928")) == "4.7 ohm"


def test_the_one_before_is_taken_back_in_the_same_tap(at_47: TestClient, bench_place: Path) -> None:
    """Its load is asked for again, the new reading stands; a place that is none is refused and changes nothing."""
    _take(at_47, "0.648", sure="yes")
    form = {"reading": "0.819", "load": "22 ohm", "waited": "130", "earlier": "back"}
    refused = at_47.post(RUN, data={**form, "earlier_place": "9"})
    assert refused.status_code == 409
    assert len(_readings(bench_place)) == 3
    after = at_47.post(RUN, data={**form, "earlier_place": "2"}).text

    assert _readings(bench_place) == [("open", 1.05), ("100 ohm", 0.989), ("22 ohm", 0.819)]
    assert _load(after) == "47 ohm"


def test_a_repeat_that_is_far_off_is_asked_about(at_47: TestClient, bench_place: Path) -> None:
    """The same load again at the end, 103 mV off where 50 mV are stated: asked, not saved."""
    for text in ("0.928", "0.819", "0.648", "0.453"):
        page = _take(at_47, text)
    repeated = _load(page)
    first = dict(_readings(bench_place))[repeated] or 0.0
    count = len(_readings(bench_place))
    said, buttons = _asked(_take(at_47, f"{first - 0.103:.3f}"))

    assert "expected at" in said
    assert any(one.startswith("The meter shows it") for one in buttons)
    assert len(_readings(bench_place)) == count
    assert "differ by" not in at_47.get("/").text
    _take(at_47, f"{first - 0.103:.3f}", sure="yes")
    closed = at_47.post(RUN, data={"act": "finish"}).text
    for page in (closed, at_47.get("/").text):
        assert f"readings at {repeated} differ by 103 mV" in page.replace("\N{NO-BREAK SPACE}", " ")


def test_another_piece_of_the_recipe_read_that_day_is_heard(
    at_47: TestClient, bench_place: Path
) -> None:
    """T2, of T1's recipe, read the same day at 22 ohm: expected from it at first; told where the run's own step says else."""
    for text in ("0.928", "0.819", "0.648", "0.453"):
        _take(at_47, text)
    at_47.post(RUN, data={"act": "finish"})
    other = "/runs/T2%20loads"
    with BenchFile.open(bench_place) as bench:
        for name in ("T1", "T2"):
            bench.put(Electrode(name=name, recipe="T"))
    at_47.post("/runs/start", data={"electrode": "T2"})
    for text in ("1.05", "0.989"):
        page = at_47.post(other, data={"reading": text, "act": "take", "waited": "130"}).text
    low, _high = _stated(page)
    assert low == 0.78
    slip = at_47.post(other, data={"reading": "0.7", "act": "take", "waited": "130", "sure": "yes"}).text  # fmt: skip
    told = slip.replace("\N{NO-BREAK SPACE}", " ")

    assert (
        "T1 of the same recipe read 0.819 V at 22 ohm that day: was a step before taken with another resistor?"
        in told
    )
