"""The page of the next batch: the batch at once, limits typed, refusals at their field, the same over JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from aerode.store.bench_file import BenchFile
from aerode.usecases.next_batch import NextQuestion, next_batch

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.testclient import TestClient


def test_the_page_and_json_say_what_the_use_case_finds(
    looking: TestClient, tern_sound: Path
) -> None:
    """What can hurt stands above the heading; each build has its way to begin."""
    limits = {"builds": "3", "mixes": "2", "between.binder": "8 % to 13 %"}
    page = looking.get("/next", params=limits)
    asked = {"builds": 3, "mixes": 2, "between": ["binder 8 % to 13 %"]}
    told = looking.post("/json/ask/next", json=asked)
    with BenchFile.open(tern_sound, read_only=True) as bench:
        found = next_batch(bench, NextQuestion(builds=3, mixes=2, between=("binder 8 % to 13 %",)))

    said = page.text.replace("\N{NO-BREAK SPACE}", " ")
    assert page.status_code == 200
    assert f"<h1>{found.headline}.</h1>" in said
    assert said.index("flammable liquid") < said.index("<h1>")
    assert said.count("Copy the mix of ") + said.count("pot of ") == len(found.builds)
    assert told.json()["headline"] == found.headline
    assert told.json()["schema"] == "aerode.next/1"


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
