"""A run with the air face taped over: a reading that rises is asked about, on the page and in JSON alike."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from aerode.records.runs import Run
from aerode.store.bench_file import BenchFile

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.testclient import TestClient

RUN = "/runs/T1%20sealed%20face"


@pytest.fixture
def taped(inside: TestClient) -> TestClient:
    """A taped run whose largest resistor read 0.30 V."""
    inside.post("/runs/start", data={"electrode": "T1", "kind": "sealed face"})
    inside.post(RUN, data={"reading": "0.30", "act": "take"})
    return inside


def _voltages(place: Path) -> list[float | None]:
    with BenchFile.open(place) as bench:
        return [one.voltage for one in bench.get(Run, "T1 sealed face").readings]


def test_a_rise_at_a_heavier_load_is_asked_about(taped: TestClient, bench_place: Path) -> None:
    """0.36 V at 33 ohm after 0.30 V at 100 ohm: why that cannot be, and what it may be; yes takes it."""
    page = taped.post(RUN, data={"reading": "0.36", "act": "take"})

    assert page.status_code == 422
    assert "more than the 0.3 V at 100 ohm before it" in page.text
    assert "the voltage sinks with time and with load" in page.text
    assert "is the tape tight all round" in page.text
    assert "The meter shows it: take it" in page.text
    assert _voltages(bench_place) == [0.30]

    taped.post(RUN, data={"reading": "0.36", "act": "", "pressed": "take", "sure": "yes"})
    taken = taped.post(RUN, data={"reading": "0.44", "pressed": "take", "sure": "yes"})
    assert taken.status_code == 200
    assert _voltages(bench_place) == [0.30, 0.36, 0.44]


def test_a_fall_and_a_small_rise_are_taken(taped: TestClient, bench_place: Path) -> None:
    """What sinks is what a taped face does; 10 mV up are the contact of a lead."""
    assert taped.post(RUN, data={"reading": "0.02", "act": "take"}).status_code == 200
    assert taped.post(RUN, data={"reading": "0.03", "act": "take"}).status_code == 200
    assert _voltages(bench_place) == [0.30, 0.02, 0.03]


def test_a_watched_load_that_rises_is_asked_about_once(taped: TestClient, bench_place: Path) -> None:  # fmt: skip
    """Against the reading a moment before; a load that was kept in spite of the question is watched on."""
    sure = {"reading": "0.36", "pressed": "look", "sure": "yes", "waited": "10"}
    assert taped.post(RUN, data=sure).status_code == 200
    assert taped.post(RUN, data={"reading": "0.35", "act": "look", "waited": "40"}).status_code == 200  # fmt: skip
    page = taped.post(RUN, data={"reading": "0.41", "act": "look", "waited": "70"})
    assert page.status_code == 422
    assert "more than the 0.35 V a moment before" in page.text


def test_the_same_question_in_json(taped: TestClient, bench_place: Path) -> None:
    """A logger's reading is refused with the same words, and kept doubted where it says so; watched first or not."""
    post = "/json" + RUN + "/readings"
    watched, taken = {"voltage": 0.36, "waited": 10.0}, {"voltage": 0.36, "take": True}
    refused = taped.post(post, json={"readings": [taken]})
    assert refused.status_code == 400
    assert "more than the 0.3 V at 100 ohm before it" in refused.text
    refused = taped.post(post, json={"readings": [watched, taken]})
    assert "more than the 0.3 V at 100 ohm before it" in refused.text
    kept = taped.post(post, json={"readings": [{**taken, "keep_doubtful": True}]})
    assert kept.status_code == 200
    with BenchFile.open(bench_place) as bench:
        doubt = bench.get(Run, "T1 sealed face").readings[-1].doubt
    assert "sinks with time and with load" in doubt


def _plain(text: str) -> str:
    return text.replace("\N{NO-BREAK SPACE}", " ")


def test_the_tape_comes_off_at_the_close_and_before_the_next_run(taped: TestClient) -> None:
    """Said when the taped run is closed, at the start and first step of the next with air, and no longer once that is read."""
    first = "Take the tape off first: its last run was with the face taped."
    off = "Take the tape off the air face of T1 now."
    assert "ake the tape off" not in _plain(taped.get(RUN).text)
    closed = taped.post(RUN, data={"act": "finish"})
    assert off in _plain(closed.text)

    assert first in _plain(taped.get("/runs/start?electrode=T1").text)
    assert first not in _plain(taped.get("/runs/start?electrode=T1&kind=sealed+face").text)
    assert first not in _plain(taped.get("/runs/start?electrode=T2").text)
    begun = taped.post("/runs/start", data={"electrode": "T1", "kind": "full"})
    assert first in _plain(begun.text)
    taken = taped.post(begun.url.path, data={"reading": "1.2", "act": "take", "sure": "yes"})
    assert first not in _plain(taken.text)
    assert off not in _plain(taped.get(RUN).text)
    assert first not in _plain(taped.get("/runs/start?electrode=T1").text)
