"""The page of the next batch: the batch at once, limits typed, refusals at their field, the same over JSON."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from aerode.records.electrodes import Electrode
from aerode.store.bench_file import BenchFile
from aerode.usecases.next_asked import NextQuestion
from aerode.usecases.next_batch import next_batch

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.testclient import TestClient


def test_the_page_and_json_say_what_the_use_case_finds(
    looking: TestClient, tern_sound: Path
) -> None:
    """What can hurt stands above what to do; each build has its way to begin."""
    limits = {"builds": "3", "mixes": "2", "between.binder": "8 % to 13 %"}
    page = looking.get("/next", params=limits)
    asked = {"builds": 3, "mixes": 2, "between": ["binder 8 % to 13 %"]}
    told = looking.post("/json/ask/next", json=asked)
    with BenchFile.open(tern_sound, read_only=True) as bench:
        found = next_batch(bench, NextQuestion(builds=3, mixes=2, between=("binder 8 % to 13 %",)))

    said = page.text.replace("\N{NO-BREAK SPACE}", " ")
    assert page.status_code == 200
    assert f"<h1>{found.headline}.</h1>" in said
    assert said.index("flammable liquid") < said.index('<p class="answer">')
    assert said.count("Copy the mix of ") + said.count("pot of ") == len(found.builds) + len(
        found.outside
    )
    assert told.json()["headline"] == found.headline
    assert told.json()["schema"] == "aerode.next/1"


def test_a_line_names_what_can_hurt_and_leads_to_it_before_anything_is_begun(
    looking: TestClient,
) -> None:
    """One line above the answer; each caution once, at full length, before the first build begins."""
    said = looking.get("/next", params={"builds": "3"}).text.replace("\N{NO-BREAK SPACE}", " ")
    line, answer, hurt, begin = (
        said.index(mark)
        for mark in ('<a href="#hurt">', '<p class="answer">', '<section id="hurt"', '<ol class="lines builds">')
    )  # fmt: skip

    assert line < answer < hurt < begin
    assert "flammable liquid" in said[line:answer]
    assert said.count("Put out every flame and spark first") == 1
    assert '<div class="caution FIRST">' in said[hurt:begin]
    assert '<div class="caution FIRST">' not in said[:hurt]


def test_a_stop_stays_above_the_answer(
    looking: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    """At full length with what to do, whatever else is folded or referred to."""
    from aerode.records.cautions import Caution, CautionLevel

    stop = Caution(
        key="x", level=CautionLevel.STOP, hazard="a hazard", headline="it bursts", source=("s",),
        do="Take the cap off.", further="A loose lid.",
    )  # fmt: skip
    monkeypatch.setattr("aerode.usecases.next_batch.cautions_of_pots", lambda *_: (stop,))
    asked = {"builds": "5", "mixes": "1"}  # asked nowhere else: an answer is kept
    said = looking.get("/next", params=asked).text

    assert said.index("Take the cap off.") < said.index("A loose lid.") < said.index('<p class="answer">')  # fmt: skip
    assert 'id="hurt"' not in said


@pytest.mark.parametrize(
    ("field", "text"), [("builds", "many"), ("between.binder", "8"), ("mixes", "9")]
)
def test_a_refusal_keeps_what_was_typed(looking: TestClient, field: str, text: str) -> None:
    """400, the field with its text, the usual words before a mix is made."""
    page = looking.get("/next", params={field: text})

    assert page.status_code == 400
    assert f'value="{text}"' in page.text
    assert "Before a mix is made" in page.text


def test_the_figure_as_a_file(looking: TestClient) -> None:
    """The drawing and its numbers."""
    assert looking.get("/figures/next/next.svg").headers["content-type"] == "image/svg+xml"
    assert "binder" not in looking.get("/figures/next/next.csv").text.splitlines()[0]
    assert looking.get("/figures/next/next.csv", params={"builds": "x"}).status_code == 404


def test_an_empty_bench_is_led_on(inside: TestClient) -> None:
    """What has to be entered first, and where."""
    page = inside.get("/next")

    assert page.status_code == 200
    assert 'href="/electrodes"' in page.text
    assert "/next" in inside.get("/more").text


def test_what_the_record_tells_is_offered_ticked_and_taken_with_one_tap(
    on_tern_sound: TestClient, tern_place: Path
) -> None:
    """No factor entered: the recipes' own differences stand ticked in a plain form; its button brings the batch."""
    with BenchFile.open(tern_place) as own:
        for one in own.all(Electrode):
            own.put(replace(one, factors={}))
    offered = on_tern_sound.get("/next")
    ticks = re.findall(r'name="factor" value="([^"]+)" checked', offered.text)
    taken = on_tern_sound.get("/next", params={"factor": ticks})
    fewer = on_tern_sound.get("/next", params={"factor": ticks[1:]})

    assert offered.status_code == taken.status_code == 200
    assert ticks == ["magnetite pigment", "glass-film PVB", "plate temperature"]
    assert "<h1>By your records the recipes differ in 3 things</h1>" in offered.text
    assert "Choose with these" in offered.text
    assert "Taken from the record: magnetite pigment" in taken.text
    assert "magnetite pigment differs too" in fewer.text.replace("\N{NO-BREAK SPACE}", " ")


def test_far_limits_stand_apart_on_the_page(looking: TestClient) -> None:
    """A guess is listed as one, below the batch, and the headline is that of what was read."""
    page = looking.get("/next", params={"between.binder": "2 % to 40 %"}).text

    assert '<h2 id="outside">Outside what was read</h2>' in page
    assert page.index("Outside what was read") > page.index("<h1>Predicted: ")
