"""Every page that links lead to: there, no wider than a phone, nothing asked outside, no serious finding."""

from __future__ import annotations

import importlib.util
import re
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from collections.abc import Callable

pytestmark = pytest.mark.browser

TOOL = Path(__file__).resolve().parents[2] / "tools" / "screenshots.py"
PRINTED = ("/compare", "/class/worksheet", "/runs/", "/electrodes/", "/mixes/", "/prints/")
"""Pages that people print."""
LOW = """() => [...document.querySelectorAll(
    'button, .button, input:not([type=hidden]):not([type=checkbox]):not([type=radio]), select, summary')]
  .filter(e => e.checkVisibility() && e.getBoundingClientRect().height < 44 && !e.closest('.unseen'))
  .map(e => (e.textContent || e.name).trim().slice(0, 30) + ' ' + e.getBoundingClientRect().height)"""
"""What is lower than 44 px: the least that a thumb hits (WCAG 2.2, success criterion 2.5.5)."""


ODD = re.compile(
    r"\b\d{4}-\d{2}-\d{2}\b|\w+[a-z]_[a-z]\w*|\w+\^-?\d\S*|\bdegC\b|\bNone\b(?! blocks)|->"
    r"|\d(?:\.\d+)?e[+-]\d\d\b"
)
"""Words of a program on a page for people: dates, units and powers of ten as they are stored, names of fields."""
CUT = """() => [...document.querySelectorAll('select')].filter(e => e.checkVisibility()).filter(e => {
    const pen = document.createElement('canvas').getContext('2d'); pen.font = getComputedStyle(e).font;
    return pen.measureText(e.selectedOptions[0]?.text || '').width > e.clientWidth - 40; }).map(e => e.name)"""
"""Choices whose words are longer than their field."""
PUSHED = """() => { const folds = [...document.querySelectorAll('main details:not([open])')];
    folds.forEach(e => { e.open = true; });
    const found = [...document.querySelectorAll('.scroll')].filter(e => e.scrollWidth > e.clientWidth + 2)
      .map(e => e.getAttribute('aria-label') + ' ' + e.scrollWidth + ' in ' + e.clientWidth);
    folds.forEach(e => { e.open = false; }); return found; }"""
"""Tables that have to be pushed sideways in their own frame, folded ones too."""
_FOR_PROGRAMS = ("/json",)


@dataclass
class Walk:
    """One walk over the whole site, by a phone: what was found, by the place where it was."""

    places: dict[str, int] = field(default_factory=dict[str, int])
    wide: list[str] = field(default_factory=list[str])
    pushed: list[str] = field(default_factory=list[str])
    low: list[str] = field(default_factory=list[str])
    serious: list[str] = field(default_factory=list[str])
    unreadable_in_the_dark: list[str] = field(default_factory=list[str])
    headings: list[str] = field(default_factory=list[str])
    odd: list[str] = field(default_factory=list[str])
    cut: list[str] = field(default_factory=list[str])
    outside: set[str] = field(default_factory=set[str])
    wrong: list[str] = field(default_factory=list[str])


def _findings(axe: Any, page: Any, **options: Any) -> list[str]:
    told = axe.run(page, options={"resultTypes": ["violations"], **options}).response["violations"]
    return [
        f"{one['id']}: {one['nodes'][0]['html'][:120]}"
        for one in told
        if one["impact"] in {"serious", "critical"}
    ]


@pytest.fixture(scope="module")
def walk(reading_site: Any, browser: Any) -> Walk:
    """Follow every link from the first page; of pages that differ only in a name, one is visited."""
    from axe_playwright_python.sync_playwright import Axe

    spec = importlib.util.spec_from_file_location("screenshots", TOOL)
    assert spec
    assert spec.loader
    tool = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(tool)
    done, axe = Walk(), Axe()
    context = browser.new_context(viewport={"width": 360, "height": 740})
    asked: list[str] = []
    context.on("request", lambda request: asked.append(request.url))
    page = context.new_page()
    page.on("console", lambda m: done.wrong.append(m.text) if m.type == "error" else None)
    page.on("pageerror", lambda error: done.wrong.append(str(error)))
    reading_site.enter(page)

    def get(place: str) -> tuple[int, str]:
        answer = page.goto(reading_site.address + place)
        assert answer
        if page.evaluate("document.documentElement.scrollWidth > innerWidth"):
            done.wide.append(place)
        if not place.startswith(_FOR_PROGRAMS):
            done.pushed += [f"{place}: {one}" for one in page.evaluate(PUSHED)]
        if page.locator("h1:visible").count() != 1:
            done.headings.append(place)
        done.low += [f"{place}: {one}" for one in page.evaluate(LOW)]
        done.cut += [f"{place}: {one}" for one in page.evaluate(CUT)]
        if not place.startswith(_FOR_PROGRAMS):
            words = page.evaluate("document.body.textContent")
            done.odd += [f"{place}: {one}" for one in sorted(set(ODD.findall(words)))]
        done.serious += [f"{place}: {one}" for one in _findings(axe, page)]
        page.emulate_media(color_scheme="dark")
        dark = _findings(axe, page, runOnly=["color-contrast"])
        done.unreadable_in_the_dark += [f"{place}: {one}" for one in dark]
        page.emulate_media(color_scheme="light")
        return answer.status, page.content()

    done.places = dict(tool.reachable(get, tool.names_on(str(reading_site.bench))))
    done.outside = {url for url in asked if not url.startswith(reading_site.address)}
    context.close()
    return done


def test_every_link_leads_somewhere(walk: Walk) -> None:
    """All stages and everything under More are reached, and no link is dead."""
    stages = {"/", "/mixes", "/electrodes", "/runs", "/compare", "/shelf", "/more"}
    more = {
        "/cautions",
        "/symptoms",
        "/simulate",
        "/report",
        "/data",
        "/class",
        "/process",
        "/battery",
        "/next",
    }

    assert stages | more | {"/properties", "/claims", "/history", "/data/check"} <= set(walk.places)
    assert [place for place, status in walk.places.items() if status != 200] == []


def test_no_page_is_wider_than_a_phone(walk: Walk) -> None:
    """At 360 px nothing has to be pushed sideways."""
    assert walk.wide == []


def test_no_table_is_wider_than_a_phone(walk: Walk) -> None:
    """At 360 px a table of many columns is a card for each row; no other is wider than its frame."""
    assert walk.pushed == []


def test_everything_to_touch_is_large_enough(walk: Walk) -> None:
    """Buttons, fields and folds are 44 px high or more."""
    assert walk.low == []


def test_every_page_has_one_heading_that_says_it(walk: Walk) -> None:
    """The question or its answer, once."""
    assert walk.headings == []


def test_no_page_speaks_like_a_program(walk: Walk) -> None:
    """Dates in words, units as print has them, no names of fields: in what is folded too."""
    assert walk.odd == []


def test_no_choice_is_cut(walk: Walk) -> None:
    """On a phone the words of every choice fit their field."""
    assert walk.cut == []


def test_the_accessibility_scan_finds_nothing_serious(walk: Walk) -> None:
    """All rules of axe, on every page; its serious and critical findings."""
    assert walk.serious == []


def test_every_text_can_be_read_in_the_dark(walk: Walk) -> None:
    """The contrast rule again, on a dark screen."""
    assert walk.unreadable_in_the_dark == []


def test_nothing_is_asked_of_anybody_else(walk: Walk) -> None:
    """Every request goes to the bench's own address, and no script fails."""
    assert walk.outside == set()
    assert walk.wrong == []


def test_in_print_no_controls_and_nothing_cut(
    walk: Walk, reading_site: Any, look: Callable[..., Any]
) -> None:
    """On paper: no navigation, no button, no form; nothing is wider than the paper."""
    found: list[str] = []
    with look(width=720, height=1020) as seen:
        page = reading_site.enter(seen.page)
        page.emulate_media(media="print")
        for place in [p for p in walk.places if p.startswith(PRINTED)]:
            # a sheet of labels is laid out on the whole of A4 (210 mm, 794 px of 1/96 inch)
            whole = place.startswith("/prints/labels")
            page.set_viewport_size({"width": 794 if whole else 720, "height": 1020})
            page.goto(reading_site.address + place)
            shown = page.evaluate(
                "() => [...document.querySelectorAll('nav, form button, .actions')].filter(e => e.checkVisibility()).length"
            )
            wide = page.evaluate("document.documentElement.scrollWidth > innerWidth")
            if shown or wide:
                found.append(f"{place}: {shown} controls{', wider than the paper' if wide else ''}")

    assert found == []


@pytest.mark.parametrize("scripts", [True, False])
@pytest.mark.parametrize("place", ["/compare", "/report/whole"])
def test_long_tables_and_what_is_folded_are_on_paper(
    reading_site: Any, look: Callable[..., Any], place: str, *, scripts: bool
) -> None:
    """In print every fold is open and a table of 28 rows shows its last one; on a phone the answer is short."""
    with look(width=720, height=1020, scripts=scripts) as seen:
        page = reading_site.enter(seen.page, place)
        page.emulate_media(media="print")
        for _ in range(30):  # the page is laid out for paper in its own time
            shown = page.evaluate(
                """() => [...document.querySelectorAll('table')].filter(t => t.querySelector('tbody tr:nth-child(13)')
                    && !t.closest('.numbers, .plate')).map(t => { const last = t.querySelector('tbody tr:last-child');
                    return last.checkVisibility({contentVisibilityAuto: true}) && last.getBoundingClientRect().height > 0; })"""
            )
            if shown and all(shown):
                break
            page.wait_for_timeout(100)
        assert shown
        assert all(shown)
        page.emulate_media(media="screen")
        page.set_viewport_size({"width": 360, "height": 740})
        assert page.evaluate("document.documentElement.scrollHeight") <= 6 * 740
