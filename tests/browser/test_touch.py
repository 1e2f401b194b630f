"""What a thumb has to hit on a phone: links that stand alone, and buttons, 44 px high on the pages of the invented bench."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any
from urllib.parse import quote

import pytest

from aerode.records.materials import PowderLot
from aerode.records.mixes import Mix
from aerode.records.runs import Run
from aerode.store.bench_file import BenchFile

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

pytestmark = pytest.mark.browser

PLACES = (
    "/", "/mixes", "/electrodes", "/electrodes/T1", "/runs", "/runs/start", "/runs/quick", "/compare", "/shelf", "/more",
    "/cautions", "/symptoms", "/symptoms?seen=leak", "/simulate", "/report", "/data", "/data/check", "/class", "/process", "/battery", "/next", "/process/pressing", "/process/drying",
    "/properties", "/claims", "/history", "/loggers", "/prints/resistors?electrode=T1", "/prints/labels",
)  # fmt: skip
LOW = """() => {
  const block = e => { let b = e.parentElement; while (b && getComputedStyle(b).display.startsWith('inline')) b = b.parentElement; return b; };
  const alone = e => { const b = block(e); const links = [...b.querySelectorAll('a, button, summary')].map(l => l.textContent).join('');
    return b.textContent.replace(/[\\s·,;|←→]/g, '') === links.replace(/[\\s·,;|←→]/g, ''); };
  return [...document.querySelectorAll('a, button')]
    .filter(e => e.checkVisibility() && !e.closest('.unseen, .skip, svg') && !e.matches('.skip'))
    .filter(e => e.matches('button, .button') || alone(e))
    .filter(e => Math.max(...[...e.getClientRects()].map(r => r.height)) < 44)
    .map(e => `${e.textContent.trim().slice(0, 40)}: ${Math.round(e.getBoundingClientRect().height)} px`); }"""
"""Buttons, and links whose block holds nothing but links (not those inside running text), lower than 44 px
(WCAG 2.2, success criterion 2.5.5)."""


def _of_each_kind(bench: Path) -> tuple[str, ...]:
    """The page of one record of each kind that has pages of its own."""
    with BenchFile.open(bench, read_only=True) as store:
        run, mix = store.names(Run)[0], store.names(Mix)[0]
        lot = store.names(PowderLot)[0]
    return tuple(
        quote(place)
        for place in (f"/runs/{run}", f"/runs/{run}/conditions", f"/mixes/{mix}", f"/things/powder/{lot}", f"/history/run/{run}")
    )  # fmt: skip


def test_what_stands_alone_is_high_enough_for_a_thumb(
    reading_site: Any, look: Callable[..., Any]
) -> None:
    """At 360 px, every fold open, on every place that a person goes to."""
    found: list[str] = []
    with look(width=360, height=740) as seen:
        page = reading_site.enter(seen.page)
        for place in (*PLACES, *_of_each_kind(reading_site.bench)):
            answer = page.goto(reading_site.address + place)
            assert answer is not None
            assert answer.status == 200, f"{place}: {answer.status}"
            page.evaluate(
                "document.querySelectorAll('details').forEach(one => { one.open = true; })"
            )
            found += [f"{place}: {one}" for one in page.evaluate(LOW)]

    assert found == []
