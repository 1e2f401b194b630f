"""Going back over a refused form: the form again, never an error of the browser."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable
    from contextlib import AbstractContextManager

    from tests.browser.conftest import Site, Watched


def test_back_over_a_refused_form_leads_to_the_form(
    new_site: Site, look: Callable[..., AbstractContextManager[Watched]]
) -> None:
    """Refused, mended, stored, back: the page of the form stands there and asks to send nothing again."""
    with look(width=360, height=740) as seen:
        page = new_site.enter(seen.page, "/things/powder/new")
        page.get_by_text("Weighed or read off the bag").click()
        page.fill("[name=name]", "char 1")
        page.fill("[name=moisture]", "120 %")
        page.locator("main form button:not([name])").last.click()
        page.get_by_text("cannot be taken yet").wait_for()
        page.fill("[name=substance]", "biochar")
        page.select_option("[name=function]", "active carbon")
        page.fill("[name=moisture]", "7")
        page.locator("main form button:not([name])").last.click()
        page.get_by_text("Stored.").first.wait_for()
        page.go_back()
        page.get_by_role("heading", name="Which powder is it?").wait_for()
        assert page.url.endswith("/things/powder/new")
