"""Loads read several times on the page of a run: a slip is asked about, what moves is said, a load is opened again."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from aerode.records.runs import Run, Settling
from aerode.store.bench_file import BenchFile
from aerode.usecases.run_page import listed_runs
from aerode.usecases.what_next import what_next

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.testclient import TestClient

RUN = "/runs/T1%20loads"
MOMENTS = (20, 40, 60, 90, 120, 180)
MOVING = ("0.962", "0.974", "0.985", "1.000", "1.015", "1.041")
"""On its way with a time constant of 400 s: 1.2 V less 0.25 V times exp(-t / 400 s)."""
STILL = ("1.10", "1.112", "1.118", "1.119", "1.119", "1.119")


@pytest.fixture
def short(inside: TestClient) -> TestClient:
    """A short run with its reading without load, 1.25 V."""
    inside.post("/runs/start", data={"electrode": "T1", "kind": "short"})
    inside.post(RUN, data={"reading": "1.25", "act": "take"})
    return inside


def _run(place: Path) -> Run:
    with BenchFile.open(place) as bench:
        return bench.get(Run, "T1 loads")


def _note(browser: TestClient, text: str, waited: float = 20.0, **more: str):
    sent = {"reading": text, "act": "look", "waited": str(waited), **more}
    return browser.post(RUN, data=sent)


def _noted(browser: TestClient, texts: tuple[str, ...], level: float = 1.0) -> str:
    page = ""
    for moment, text in zip(MOMENTS, texts, strict=False):
        page = _note(browser, f"{level * float(text):.3f}", moment).text
    return page


def _buttons(page: str) -> list[str]:
    form = page[page.index("data-take") :]
    return re.findall(r'<button[^>]*value="\w+"[^>]*>([^<]+)', form[: form.index("</form>")])


def _asked(page: str) -> list[str]:
    part = page[page.index('role="alert"') : page.index("data-take")]
    return re.findall(r"<button[^>]*>([^<]+)", part)


def test_a_timed_reading_far_off_is_asked_about(short: TestClient, bench_place: Path) -> None:
    """0.78 V where 1.19 V is expected at 100 ohm: asked, nothing saved; said to be so, it is noted and the load stays on."""
    page = _note(short, "0,78").text

    assert "where about 1.19 V is expected" in page
    assert "The meter shows it: note it" in _asked(page)
    assert len(_run(bench_place).readings) == 1
    sure = _note(short, "0,78", 25, sure="yes").text
    assert _run(bench_place).readings[-1].trace == ((25.0, 0.78),)
    assert '<p class="load">100 ohm</p>' in sure


def test_a_timed_reading_far_from_the_one_before_is_asked_about(
    short: TestClient, bench_place: Path
) -> None:
    """1.12 V after 0.78 V: one of the two is a slip, and the page says where the first is put right."""
    _note(short, "0,78", 20, sure="yes")
    page = _note(short, "1,12", 40).text

    assert "far from the 0.78 V before it at this load" in page
    assert "correct that one below" in page
    assert len(_run(bench_place).readings[-1].trace) == 1


def test_what_was_meant_does_the_act_that_was_pressed(short: TestClient, bench_place: Path) -> None:
    """113 V: text and button both say 1.13 V; pressed, it notes one timed reading and ends nothing."""
    page = _note(short, "113 V", 22.5).text
    hidden = dict(re.findall(r'name="(pressed|waited|load)" value="([^"]*)"', page))

    assert "thousand" not in page
    assert "Was it 1.13 V?" in page
    assert _asked(page) == ["It was 1.13 V", "Keep it anyway, doubted: ends this load"]
    assert hidden["pressed"] == "look"
    short.post(RUN, data={"reading_as": "1.13 V", "pressed": "look", "load": "100 ohm", "waited": "22.5"})  # fmt: skip
    last = _run(bench_place).readings[-1]
    assert (last.trace, last.waited) == (((22.5, 1.13),), None)


def test_one_timed_reading_is_put_right(short: TestClient, bench_place: Path) -> None:
    """Of a load that is on and of one that was taken; what was taken before stays beside it."""
    _note(short, "0,78", 20, sure="yes")
    page = short.post(f"{RUN}/readings/1", data={"act": "correct", "timed": "0", "reading": "1,10"})
    assert page.status_code == 200
    watched = _run(bench_place).readings[-1]
    assert (watched.trace, watched.waited) == (((20.0, 1.1),), None)
    for moment, text in zip(MOMENTS[1:], STILL[1:], strict=True):
        _note(short, text, moment)
    shown = short.get(RUN).text
    assert "at 40 s: 1.112 V</option>" in shown
    short.post(f"{RUN}/readings/1", data={"act": "correct", "timed": "1", "reading": "1,115"})

    run = _run(bench_place)
    new = run.readings[-1]
    assert (new.replaces, new.trace[1], len(new.trace), new.waited) == (1, (40.0, 1.115), 6, 180.0)
    assert new.settling is Settling.SETTLED


def test_what_has_not_settled_is_not_passed_over(short: TestClient, bench_place: Path) -> None:
    """Still moving at 180 s: the load stays, the page says how long to wait; noted again until it stands, it closes."""
    page = _noted(short, MOVING)

    assert '<p class="load">100 ohm</p>' in page
    assert "Still moving by" in page
    assert "The load is not done" in page
    assert _buttons(page) == ["Note it at 240 s", "Leave it so, go on"]
    for moment, text in ((300, "1.082"), (400, "1.108"), (500, "1.128"), (600, "1.144")):
        page = _note(short, text, moment).text
        if '<p class="load">100 ohm</p>' not in page:
            break
    assert '<p class="load">33 ohm</p>' in page
    assert _run(bench_place).readings[1].settling is not Settling.NOT_SETTLED


def test_before_closing_the_loads_that_count_are_told(short: TestClient, bench_place: Path) -> None:
    """Two usable loads and one left moving: said so, with a button that opens it again, open or closed."""
    _noted(short, MOVING)
    left = short.post(RUN, data={"act": "end", "load": "100 ohm", "reading": ""}).text
    assert "it had not settled: no curve uses it" in left
    _noted(short, STILL, 0.86)
    page = _noted(short, STILL, 0.68)

    assert "every load is read" in page
    assert "2 usable loads: a curve needs at least 3: read 100 ohm again." in page
    assert "Read 100 ohm again" in page
    short.post(RUN, data={"act": "finish"})
    closed = short.get(RUN).text
    assert "Next: read 100 ohm again" in closed
    assert "Read 100 ohm again</button>" in closed
    again = short.post(RUN, data={"act": "again", "place": "1", "once": "z"}).text
    assert '<p class="load">100 ohm</p>' in again
    assert not _run(bench_place).finished
    done = _noted(short, STILL, 0.96)
    assert "3 usable loads." in done


def test_it_is_taken_when_it_stands_still(short: TestClient, bench_place: Path) -> None:
    """The big button takes it, also with an empty field: then the last one noted; the no-load step has nothing to put on."""
    page = _noted(short, STILL[2:]).replace("\N{NO-BREAK SPACE}", " ")

    assert "Noted 1.119 V at 90 s. It stands still: take the reading now." in page
    assert _buttons(page)[0] == "Take it, go on"
    assert re.search(r'value="end" formnovalidate', page)
    short.post(RUN, data={"act": "end", "load": "100 ohm", "reading": ""})
    taken = _run(bench_place).readings[-1]
    assert (taken.voltage, taken.waited, taken.settling) == (1.119, 90.0, Settling.SETTLED)


def test_nothing_is_put_on_without_a_load(inside: TestClient) -> None:
    """ "It is on now" is asked at a resistor, never at the step without load."""
    inside.post("/runs/start", data={"electrode": "T1", "kind": "short"})
    first = inside.get(RUN).text
    inside.post(RUN, data={"reading": "1.25", "act": "take"})

    assert "data-fresh" not in first
    assert "data-refused" not in first
    assert "data-fresh" in inside.get(RUN).text


def test_a_short_run_says_how_many_readings_it_asks_for(
    inside: TestClient, short: TestClient, bench_place: Path
) -> None:
    """Six at each resistor, said before it begins; one is enough where a lesson reads once: it is taken as it is."""
    page = inside.get("/runs/start").text
    assert "short: three resistors, six readings each, 12 min" in page
    assert "Only this one here: take it, go on" in _buttons(short.get(RUN).text)
    after = short.post(RUN, data={"reading": "1.1", "act": "take", "waited": "90"}).text
    assert '<p class="load">33 ohm</p>' in after
    only = _run(bench_place).readings[-1]
    assert (only.waited, only.trace) == (90.0, ())


def test_a_short_visit_may_go_on_after_the_first_noted_reading(
    short: TestClient, bench_place: Path
) -> None:
    """The choice stays, with what an early reading may still move by; taken so, the curve counts it."""
    page = _note(short, "1.10", 20).text
    assert _buttons(page) == ["Note it at 40 s", "Only this one here: take it, go on"]
    allowance = re.search(
        r"Taken now, it may still move by about ([\d.]+)\smV; the curve counts", page
    )
    assert allowance is not None
    assert float(allowance[1]) == pytest.approx(5.86, abs=0.06)  # 10 mV·(e^-½ - e^-3)/(1 - e^-3)
    two = _note(short, "1.105", 40).text
    assert "Only these here: take them, go on" in _buttons(two)

    after = short.post(RUN, data={"act": "end", "load": "100 ohm", "reading": ""}).text
    taken = _run(bench_place).readings[-1]
    assert '<p class="load">33 ohm</p>' in after
    assert (taken.voltage, taken.waited, len(taken.trace)) == (1.105, 40.0, 2)
    assert "may still move by about" in after


def test_another_device_at_a_run_is_told_what_was_lost(
    short: TestClient, bench_place: Path
) -> None:
    """What was typed for a load that was read meanwhile is named, and does not stand in the next load's field."""
    _noted(short, STILL)
    late = _note(short, "1.0905", 30, load="100 ohm")

    assert late.status_code == 409
    assert "100 ohm was read meanwhile; “1.0905” was not taken" in late.text
    assert 'value="1.0905"' not in late.text
    assert len(_run(bench_place).readings) == 2


def test_every_page_counts_the_loads_alike(short: TestClient, bench_place: Path) -> None:
    """A load that is watched, or was taken back, is still to be read: at home and among the runs."""
    _note(short, "1.1")
    for act, left in (("", 3), ("back", 3)):
        if act:
            short.post(RUN, data={"act": act})
        with BenchFile.open(bench_place) as bench:
            (run,) = listed_runs(bench)
            (waits,) = [one for one in what_next(bench).waiting if one.kind == "run"]
        assert run.left == left
        assert waits.what == f"{left} of 4 loads still to read"


def test_a_correction_that_is_refused_stays_on_the_page_of_its_run(
    inside: TestClient, bench_place: Path
) -> None:
    """The fault beside its field, what was typed kept, one press keeps it doubted; open or closed."""
    inside.post("/runs/start", data={"electrode": "T1"})
    for text in ("1.25", "1.15", "1.0", "0.7", "0.99"):
        inside.post(RUN, data={"reading": text, "act": "take"})
    inside.post(RUN, data={"act": "finish"})
    wrong = inside.post(f"{RUN}/readings/2", data={"act": "correct", "reading": "0.0377"})

    assert wrong.status_code == 422
    field = wrong.text[wrong.text.index('id="r-2"') :][:900]
    assert 'value="0.0377"' in field
    assert "fits no falling curve" in field
    assert "mA) than at" in field
    assert "Keep it with its doubt" in field
    inside.post(f"{RUN}/readings/2", data={"act": "keep", "reading": "0.0377", "why": "odd"})
    kept = _run(bench_place).readings[-1]
    assert (kept.voltage, kept.doubt, kept.replaces) == (0.0377, "odd", 2)


def test_one_schedule_and_one_next_time(short: TestClient) -> None:
    """155 s on after a reading at 20 s: next at 180 s, never at a moment that is past; no other moment beside the plan's."""
    first = short.get(RUN).text
    assert 'data-moments="20 40 60 90 120 180" data-last="180" data-noted="0.0"' in first
    page = _note(short, "1.10", 155).text

    assert 'data-moments="40 60 90 120 180" data-last="180" data-noted="155.0"' in page
    assert "Note it at 180 s" in page
    assert "half a minute" not in page
    late = _note(short, "1.13", 178).text
    assert "half a minute" not in late
    assert "Note it at 180 s" in late


def test_a_load_with_missed_moments_closes_at_its_last_one(
    short: TestClient, bench_place: Path
) -> None:
    """Read at 120, 150 and 181 s, standing still: nothing is left to note, and the next load comes."""
    for moment in (120, 150, 181):
        page = _note(short, "1.119", moment).text

    assert '<p class="load">33 ohm</p>' in page
    assert _run(bench_place).readings[-1].settling is Settling.SETTLED


def test_the_time_left_counts_down_within_a_load(short: TestClient) -> None:
    """The page gives the clock what is left after this load and what this one takes: 6 min and 180 s of 9 min."""
    page = short.get(RUN).text.replace("\N{NO-BREAK SPACE}", " ").replace("&nbsp;", " ")

    assert 'data-after="6.00" data-here="180">, about 9 min left' in page
