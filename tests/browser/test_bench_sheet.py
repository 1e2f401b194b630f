"""The bench sheet as the printer gets it: how many pages it takes."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from playwright.sync_api import Browser
    from tests.browser.conftest import Site

pytestmark = pytest.mark.browser
EIGHT = "/prints/sheet/b15%20m8%2085C?area=9&loading=25&electrodes=8"


@pytest.mark.parametrize("press", ["", "&plate=85"], ids=["cold", "hot"])
def test_a_sheet_for_eight_pieces_fits_two_pages(
    browser: Browser, reading_site: Site, press: str
) -> None:
    """Weights, boxes, cautions and the code are all on it, on two pages of A4."""
    page = browser.new_page()
    reading_site.enter(page, EIGHT + press)
    printed = page.pdf(format="A4", prefer_css_page_size=True)

    assert len(re.findall(rb"/Type\s*/Page\b", printed)) == 2
    assert page.locator(".square svg").count() == 1
    assert page.locator("td.tick .box").count() == 6
    assert page.locator(".caution").count() >= 3
    page.close()
