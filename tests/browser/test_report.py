"""The report in a real browser: on a phone, on a desk, in the dark, in print, without scripts."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from pathlib import Path

    from playwright.sync_api import Browser, Page

pytestmark = pytest.mark.browser
PHONE = {"width": 360, "height": 740}
DESK = {"width": 1280, "height": 900}


def _open(
    browser: Browser, report: Path, size: dict[str, int], scheme: str = "light"
) -> tuple[Page, list[str]]:
    page = browser.new_page(viewport=size, color_scheme=scheme, java_script_enabled=True)  # pyright: ignore[reportArgumentType]
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(report.as_uri())
    return page, asked


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_nothing_runs_over_the_edge(browser: Browser, report: Path, size: dict[str, int]) -> None:
    """The page is as wide as the screen, and every figure lies inside it."""
    page, _ = _open(browser, report, size)

    assert page.evaluate("document.documentElement.scrollWidth") <= size["width"]
    for box in page.locator("svg.figure:visible").evaluate_all(
        "all => all.map(e => e.getBoundingClientRect().right)"
    ):
        assert box <= size["width"] + 1
    page.close()


def test_first_screen_of_a_phone(browser: Browser, report: Path) -> None:
    """One sentence and one figure stand on the first screen."""
    page, _ = _open(browser, report, PHONE)
    heading, figure = (
        page.locator("h1").bounding_box(),
        page.locator("svg.figure:visible").first.bounding_box(),
    )

    assert heading
    assert figure
    assert heading["y"] < figure["y"]
    assert figure["y"] + figure["height"] <= PHONE["height"]
    page.close()


def test_no_outside_request(browser: Browser, report: Path) -> None:
    """The file alone is all that is read."""
    page, asked = _open(browser, report, DESK)
    page.wait_for_load_state("networkidle")

    assert asked == [report.as_uri()]
    page.close()


def test_texts_inside_figures_are_not_clipped(browser: Browser, report: Path) -> None:
    """Every text of every visible figure lies inside its drawing, at both widths."""
    for size in (PHONE, DESK):
        page, _ = _open(browser, report, size)
        outside = page.evaluate(
            """() => [...document.querySelectorAll('svg.figure')].filter(s => s.getBoundingClientRect().width > 0)
              .flatMap(s => { const b = s.getBoundingClientRect();
                return [...s.querySelectorAll('text')].filter(t => { const r = t.getBoundingClientRect();
                  return r.left < b.left - 2 || r.right > b.right + 2 || r.top < b.top - 2 || r.bottom > b.bottom + 2; })
                .map(t => t.textContent); })"""
        )
        assert outside == []
        page.close()


def test_it_reads_in_the_dark(browser: Browser, report: Path) -> None:
    """A dark screen gets a dark page."""
    light, _ = _open(browser, report, DESK)
    dark, _ = _open(browser, report, DESK, "dark")
    ground = "getComputedStyle(document.body).backgroundColor"

    assert light.evaluate(ground) != dark.evaluate(ground)
    light.close()
    dark.close()


def test_details_open_without_a_pointer(browser: Browser, report: Path) -> None:
    """The numbers of a figure open by keyboard."""
    page, _ = _open(browser, report, DESK)
    summary = page.locator("summary").first
    summary.focus()
    page.keyboard.press("Enter")

    assert page.locator("details").first.evaluate("e => e.open")
    page.close()


def test_every_figure_speaks(browser: Browser, report: Path) -> None:
    """Each figure is an image with a name and a description for those who cannot see it."""
    page, _ = _open(browser, report, DESK)
    described = page.locator("svg.figure").evaluate_all(
        "all => all.map(s => [s.getAttribute('role'), ...s.getAttribute('aria-labelledby').split(' ').map(i => document.getElementById(i)?.textContent.length || 0)])"
    )

    assert described
    for role, title, words in described:
        assert role == "img"
        assert title > 5
        assert words > 20
    page.close()


def test_in_print_it_is_black_on_white(browser: Browser, report: Path) -> None:
    """In print, on white, each figure takes half the width, drawn for that: its text keeps its size."""
    page, _ = _open(browser, report, {"width": 700, "height": 1000})
    page.emulate_media(media="print")
    drawn = page.locator(".narrow svg.figure").first.bounding_box()

    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
    assert page.locator(".wide svg.figure:visible").count() == 0
    assert drawn
    assert 300 <= drawn["width"] <= 360
    page.close()


def test_on_paper_it_takes_twelve_pages_at_most(
    browser: Browser, report: Path, tmp_path: Path
) -> None:
    """A4, with how each piece was made and every run; no page holds less than a heading's worth, as tables and figures are kept small and whole."""
    page, _ = _open(browser, report, DESK)
    made = page.pdf(path=str(tmp_path / "report.pdf"), format="A4", prefer_css_page_size=True)

    assert 5 <= made.count(b"/Type /Page\n") <= 12
    page.close()
