"""A worksheet is one page of paper for each group, with room to spare."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from collections.abc import Callable

pytestmark = pytest.mark.browser
MARGIN = 14.0
"""[mm]; of the page, as the style sets it."""
SPARE = 8.0
"""[mm]; what another font or one line more may take. Judgement."""
PAPERS = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
PX = 96.0 / 25.4  # CSS Values and Units Level 4, section 6.2: 1in = 96px = 2.54cm


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize(("goal", "minutes"), [("MEASURE", 90), ("MEASURE", 45), ("MAKE", 90)])
def test_each_group_gets_one_page_and_room_is_left(
    reading_site: Any, look: Callable[..., Any], goal: str, minutes: int, paper: str
) -> None:
    """Eleven readings of the long lesson that measures, ten steps of the one that makes."""
    wide, high = PAPERS[paper]
    with look(width=round((wide - 2 * MARGIN) * PX), height=900) as seen:
        place = f"/class/worksheet?goal={goal}&minutes={minutes}&groups=3&tools=3"
        page = reading_site.enter(seen.page, place)
        printed: bytes = page.pdf(format=paper, print_background=True)
        page.emulate_media(media="print")
        heights: list[float] = page.eval_on_selector_all(
            ".page-of", "all => all.map(one => one.getBoundingClientRect().height)"
        )
        rows = page.locator(".page-of").first.locator("table.by-hand tbody tr").count()
    assert len(heights) == 3
    assert len(re.findall(rb"/Type\s*/Page\b", printed)) == 3
    assert max(heights) / PX <= high - 2 * MARGIN - SPARE
    assert rows == {("MEASURE", 90): 11, ("MEASURE", 45): 4, ("MAKE", 90): 6}[goal, minutes]


def test_a_long_table_stands_in_two_halves_on_paper_and_one_below_the_other_on_a_phone(
    reading_site: Any, look: Callable[..., Any]
) -> None:
    """Each half keeps its heads; a column to write a reading in is as wide as a finger on paper."""
    with look(width=360, height=740) as seen:
        page = reading_site.enter(
            seen.page, "/class/worksheet?goal=MEASURE&minutes=90&groups=1&tools=1"
        )
        tables = page.locator("table.by-hand")
        first, second = tables.nth(0).bounding_box(), tables.nth(1).bounding_box()
        assert second["y"] >= first["y"] + first["height"]
        assert page.evaluate("document.documentElement.scrollWidth") <= 360
        page.set_viewport_size({"width": 688, "height": 900})
        page.emulate_media(media="print")
        first, second = tables.nth(0).bounding_box(), tables.nth(1).bounding_box()
        assert abs(second["y"] - first["y"]) < 1
        assert second["x"] + second["width"] <= 688
        for half in (tables.nth(0), tables.nth(1)):
            assert half.locator("thead th").all_inner_texts() == [
                "load",
                "read",
                "waited",
                "steady?",
            ]
            assert half.locator("td.unit").first.bounding_box()["width"] / PX >= 18
