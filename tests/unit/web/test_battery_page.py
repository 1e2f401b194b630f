"""The battery page: the form, the answer with what can hurt first, its figure as a file, the same over JSON."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

import pytest

from aerode.store.bench_file import BenchFile
from aerode.usecases.size import size_battery
from aerode.usecases.size_load import SizeQuestion

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.testclient import TestClient

BARE = {
    "recipe": "b10 m16 70C", "power": "18", "load_voltage": "3", "on": "12", "days": "14",
    "converter": "75", "least_input": "0,9",
}  # fmt: skip
WITH_UNITS = {
    "recipe": "b10 m16 70C", "power": "18 mW", "load_voltage": "3 V", "on": "12 h", "days": "14",
    "converter": "75 %", "least_input": "0.9 V",
}  # fmt: skip


def test_the_page_says_what_the_use_case_finds(looking: TestClient, tern_sound: Path) -> None:
    """Bare numbers are in the unit of their label; what can hurt stands above what to do."""
    page = looking.get("/battery", params=BARE)
    with BenchFile.open(tern_sound, read_only=True) as bench:
        found = size_battery(bench, SizeQuestion(**WITH_UNITS))

    assert page.status_code == 200
    said = page.text.replace("\N{NO-BREAK SPACE}", " ")
    assert f"<h1>{found.headline}.</h1>" in said
    assert said.index("hydrogen") < said.index('<p class="answer">')
    assert 'value="0,9"' in page.text


def test_the_same_over_json(looking: TestClient, tern_sound: Path) -> None:
    """One record; a field that does not exist is refused."""
    told = looking.post("/json/ask/battery", json=WITH_UNITS)
    with BenchFile.open(tern_sound, read_only=True) as bench:
        found = size_battery(bench, SizeQuestion(**WITH_UNITS))

    assert told.json()["headline"] == found.headline
    assert told.json()["schema"] == "aerode.size/1"
    assert (
        looking.post("/json/ask/battery", json={**WITH_UNITS, "colour": "red"}).status_code == 422
    )


@pytest.mark.parametrize(
    ("field", "text"),
    [("days", ""), ("power", "many"), ("least_input", ""), ("on", "40"), ("chance", "120")],
)  # fmt: skip
def test_a_refusal_stands_at_its_field_and_keeps_what_was_typed(
    looking: TestClient, field: str, text: str
) -> None:
    """Nothing that was entered is lost."""
    page = looking.get("/battery", params={**BARE, field: text})

    assert page.status_code == 400
    assert f'id="f-{field}-x"' in page.text
    assert all(
        f'value="{BARE[name]}"' in page.text for name in BARE if name not in (field, "recipe")
    )
    assert "Before a battery is wetted" in page.text


def test_the_figure_as_a_file(looking: TestClient) -> None:
    """The drawing, and every point of it."""
    drawn = looking.get("/figures/battery/battery.svg", params=BARE)
    told = looking.get("/figures/battery/battery.csv", params=BARE)

    assert drawn.headers["content-type"] == "image/svg+xml"
    assert len(list(csv.reader(io.StringIO(told.text)))) > 5
    assert looking.get("/figures/battery/other.svg", params=BARE).status_code == 404


def test_an_empty_bench_is_led_on(inside: TestClient) -> None:
    """No form without a recipe; the way to the first reading."""
    page = inside.get("/battery")

    assert page.status_code == 200
    assert 'href="/runs/start"' in page.text
    assert "<form" not in page.text.split('<main id="main"')[1]
    assert "/battery" in inside.get("/more").text
