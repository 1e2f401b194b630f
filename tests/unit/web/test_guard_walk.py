"""Walks through all pages: nothing leads outside, looking changes nothing, everything has its headers."""

from __future__ import annotations

import re
from html import unescape
from typing import TYPE_CHECKING, Any

import pytest

from aerode.records.electrodes import Cell, Electrode
from aerode.records.marks import Entry
from aerode.records.mixes import Mix
from aerode.records.runs import Reading, Run, Unsorted
from aerode.store.bench_file import BenchFile
from aerode.web.guard.rules import HEADERS

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.testclient import TestClient

    from aerode.web.guard.middleware import Guard

_LINK = re.compile(r'(?:href|src|action|formaction|poster|data-live|data-stream)="([^"]*)"')
_MOST = 250
"""Pages of one walk; the bench is small, so this is all of them."""


@pytest.fixture
def stocked(bench_place: Path) -> Path:
    """The bench with one of everything that has pages of its own."""
    area = Entry(value=9.5e-4, how="photo")
    loads = (("open", 0.742), ("100 ohm", 0.66), ("33 ohm", 0.56), ("10 ohm", 0.4))
    readings = tuple(Reading(load=load, voltage=v, text=f"{v}") for load, v in loads)
    with BenchFile.open(bench_place) as bench:
        bench.put_all([
            Mix(name="A"), Electrode(name="T1", wetted_area=area), Electrode(name="T2", wetted_area=area),
            Cell(name="cell T1", electrode="T1"), Unsorted(name="reading 1", text="742", voltage=0.742),
            Run(name="T1 loads", electrode="T1", cell="cell T1", readings=readings, finished=True),
            Run(name="T2 loads", electrode="T2", readings=readings[:2], planned_loads=("open", "100 ohm", "33 ohm")),
        ])  # fmt: skip
    return bench_place


def _walk(browser: TestClient) -> dict[str, Any]:
    """Every page that can be reached by links, breadth first; streams are not opened."""
    waiting, seen = ["/"], dict[str, Any]()
    while waiting and len(seen) < _MOST:
        place = waiting.pop(0)
        if place in seen:
            continue
        answer = browser.get(place)
        seen[place] = answer
        if not answer.headers.get("content-type", "").startswith("text/html"):
            continue
        for found in _LINK.findall(answer.text):
            link = unescape(found).split("#")[0]
            if link and link.startswith("/") and "/stream" not in link and link not in seen:
                waiting.append(link)
    return seen


@pytest.fixture
def walked(stocked: Path, inside: TestClient) -> tuple[dict[str, Any], str, str]:
    """All pages, and the newest line of the journal before and after looking at them."""
    with BenchFile.open(stocked) as bench:
        before = bench.newest()
    seen = _walk(inside)
    with BenchFile.open(stocked) as bench:
        return seen, before, bench.newest()


def test_a_walk_through_all_pages(walked: tuple[dict[str, Any], str, str]) -> None:
    """No fault, no outside address, no inline script or style; our headers; and looking changed nothing."""
    seen, before, after = walked

    assert len(seen) > 30
    assert before == after
    for place, answer in seen.items():
        assert answer.status_code < 500, place
        for name, value in HEADERS.items():
            assert name in answer.headers, place
            if name == "content-security-policy":
                _is_strict(place, answer.headers[name])
            elif name != "cache-control":
                assert answer.headers[name] == value, place
        if answer.headers.get("content-type", "").startswith("text/html"):
            _is_our_own(place, answer.text)


def _is_strict(place: str, policy: str) -> None:
    """Ours, or a page's own that lets in still less: the report carries the digest of its one style."""
    assert policy.startswith("default-src 'none'; "), place
    assert "frame-ancestors 'none'" in policy, place
    for never in ("unsafe", "http:", "https:", "*"):
        assert never not in policy, place


def _is_our_own(place: str, text: str) -> None:
    for found in _LINK.findall(text):
        link = unescape(found)
        inner = link.startswith(("/", "#", "?", "data:image/")) and not link.startswith("//")
        assert inner or link == "", (place, link)
    assert not re.search(r"<script(?![^>]*src=)", text), place
    assert "<style" not in text or place.startswith("/report/"), place
    assert not re.search(r"<[^>]+\sstyle=", text), place
    assert not re.search(r"<[^>]+\son[a-z]+=", text), place
    assert not re.search(r"<(iframe|object|embed|base)\b", text), place


def _paths(routes: Any) -> list[tuple[str, set[str]]]:
    """Every route behind the guard, with its methods."""
    found: list[tuple[str, set[str]]] = []
    for route in routes:
        inner = getattr(route, "original_router", None)
        if inner is not None:
            prefix = str(getattr(getattr(route, "include_context", None), "prefix", "") or "")
            found += [(prefix + path, methods) for path, methods in _paths(inner.routes)]
        elif getattr(route, "path", None):
            found.append((str(route.path), set(getattr(route, "methods", None) or ())))
    return found


_FILL = {
    "name": "T1 loads", "kind": "run", "figure": "curves", "ending": "svg", "number": "1", "index": "0",
    "digest": "0123456789ab", "one": "T1", "other": "T2", "electrode": "T1",
}  # fmt: skip


def test_get_changes_nothing_at_any_route(stocked: Path, inside: TestClient, app: Guard) -> None:
    """Every GET route is asked, with names that are there: the journal stands where it stood."""
    every: Any = app.app
    places = [path for path, methods in _paths(every.routes) if "GET" in methods and not path.endswith("/stream")]  # fmt: skip
    with BenchFile.open(stocked) as bench:
        before = bench.newest()
    for path in places:
        filled = re.sub(r"\{(\w+)(:\w+)?\}", lambda m: _FILL.get(m[1], "T1"), path)
        answer = inside.get(filled, params={"act": "finish", "reading": "742", "drop": "yes"})
        assert answer.status_code < 500, filled
    with BenchFile.open(stocked) as bench:
        after = bench.newest()

    assert len(places) > 20
    assert before == after


def test_tables_guard_their_text_cells(stocked: Path, inside: TestClient) -> None:
    """A name that a spreadsheet would run as a formula leaves with a mark before it."""
    with BenchFile.open(stocked) as bench:
        area = Entry(value=9.5e-4)
        name = "=HYPERLINK(0)"
        run = bench.get(Run, "T1 loads")
        bench.put(Electrode(name=name, wetted_area=area))
        from dataclasses import replace

        bench.put(replace(run, name="f", electrode=name, cell=""))
    text = inside.get("/figures/runs/f/curves.csv").text

    assert "'=HYPERLINK(0)" in text
    assert "\n=" not in text
