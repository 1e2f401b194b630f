"""Another resistor was on than the one asked for: the page says which, and one tap puts the reading down there."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from aerode.records.instruments import Instrument, Sort
from aerode.records.runs import Run
from aerode.store.bench_file import BenchFile

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.testclient import TestClient

RUN = "/runs/T1%20loads"


def _take(browser: TestClient, text: str, **more: str) -> str:
    return browser.post(RUN, data={"reading": text, "act": "take", "waited": "130", **more}).text


def _readings(place: Path) -> list[tuple[str, float | None, str]]:
    with BenchFile.open(place) as bench:
        return [(r.load, r.voltage, r.doubt) for r in bench.get(Run, "T1 loads").readings]


def _load(page: str) -> str:
    return page.partition('<p class="load">')[2].partition("</p>")[0]


def _asked(page: str) -> tuple[str, list[str]]:
    part = page[page.index('role="alert"') : page.index("data-take")].replace("\xa0", " ")
    return part, re.findall(r"<button[^>]*>([^<]+)", part)


@pytest.fixture
def at_22(inside: TestClient, bench_place: Path) -> TestClient:
    """A run that has read no load, 100, 47 and 33 ohm of a cell of 1.25 V and 6 ohm; 22 ohm is next."""
    with BenchFile.open(bench_place) as bench:
        for ohms in (47.0, 22.0, 6.8, 4.7, 3.3):
            bench.put(Instrument(name=f"{ohms:g} ohm", sort=Sort.RESISTOR, nominal_resistance=ohms))
    inside.post("/runs/start", data={"electrode": "T1"})
    for text in ("1.25", "1.179", "1.108", "1.058"):
        _take(inside, text)
    return inside


def test_the_resistor_that_was_on_is_named_and_one_tap_keeps_the_reading(
    at_22: TestClient, bench_place: Path
) -> None:
    """0.66 V at "22 ohm", where 0.98 V is expected: what 6.8 ohm gives by Ohm's law; stored there, 22 ohm is next still."""
    page = _take(at_22, "0.66", load="22 ohm")
    said, buttons = _asked(page)

    assert "0.66 V is what 6.8 ohm would give" in said
    assert buttons[0] == "It was the 6.8 ohm"
    assert "The meter shows it: take it" in buttons
    assert len(_readings(bench_place)) == 4
    after = at_22.post(RUN, data={"reading": "0.66", "load": "22 ohm", "other": "6.8 ohm", "waited": "130"}).text  # fmt: skip
    assert _load(after) == "22 ohm"
    assert "Saved at the resistor that was on" in after
    assert _readings(bench_place)[-1] == ("6.8 ohm", 0.66, "")
    with BenchFile.open(bench_place) as bench:
        left = bench.get(Run, "T1 loads").planned_loads
    assert "6.8 ohm" in left
    for text in ("0.98", "0.78"):  # 22 ohm, 10 ohm
        after = _take(at_22, text)
    assert _load(after) == "4.7 ohm"


def test_a_resistor_that_was_read_already_is_named_and_not_read_twice(
    at_22: TestClient, bench_place: Path
) -> None:
    """What the 6.8 ohm gave, again at "10 ohm": said, without a button; another form that asks for it is refused."""
    at_22.post(RUN, data={"reading": "0.66", "load": "22 ohm", "other": "6.8 ohm", "waited": "130"})
    _take(at_22, "0.98")
    twice = at_22.post(RUN, data={"reading": "0.66", "load": "10 ohm", "other": "6.8 ohm"})

    assert twice.status_code == 409
    assert "cannot be put down at 6.8 ohm" in twice.text
    assert len(_readings(bench_place)) == 6


def test_no_slip_is_proposed_outside_of_what_is_expected(at_22: TestClient) -> None:
    """0.30 V kept as read at 10 ohm: the 0.66 V of 6.8 ohm is asked about for that one alone; 0.549 V at 4.7 ohm is not."""
    _take(at_22, "0.98")
    kept = _take(at_22, "0.30", sure="yes")
    assert _load(kept) == "6.8 ohm"
    said, buttons = _asked(_take(at_22, "0.66"))
    assert "0.3 V at 10 ohm before it" in said
    assert not [one for one in buttons if one.startswith("It was")]
    assert _load(_take(at_22, "0.66", sure="yes")) == "4.7 ohm"
    after = _take(at_22, "0.549")
    assert 'id="wrong"' not in after
    assert _load(after) == "3.3 ohm"


def test_a_slip_of_the_decimal_mark_stays_proposed(at_22: TestClient) -> None:
    """0.098 V where 0.98 V is expected: 0.98 V is proposed, and no resistor."""
    _, buttons = _asked(_take(at_22, "0,098 V"))

    assert buttons[0] == "It was 0.98 V"
    assert not [one for one in buttons if one.startswith("It was the")]
