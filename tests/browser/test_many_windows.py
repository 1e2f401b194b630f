"""Eight windows of runs side by side: a few hold a stream, the rest ask, and none is left without a connection."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from collections.abc import Callable

pytestmark = pytest.mark.browser

LOADS = "100, 47, 22, 10, 4.7 ohm"
WINDOWS = 8


def test_eight_windows_in_sight_all_hear_and_all_can_act(
    new_site: Any, look: Callable[..., Any]
) -> None:
    """No window is hidden: the last one takes a reading, all windows of that run show it, and a closed one hands its stream on."""
    with look(width=360, height=740) as seen:
        context = seen.page.context
        new_site.enter(seen.page, "/runs/start")
        seen.page.get_by_label("Electrode", exact=False).first.fill("A0")
        seen.page.get_by_label("Your resistors").fill(LOADS)
        seen.page.get_by_role("button", name="Begin").click()
        seen.page.wait_for_selector("#reading")
        place = seen.page.url
        windows = [seen.page]
        for number in range(1, WINDOWS):
            page = context.new_page()
            page.set_default_timeout(15_000)
            page.goto(f"{new_site.address}/runs/start" if number == 1 else place)
            if number == 1:  # one of another run among them
                page.get_by_label("Electrode", exact=False).first.fill("A1")
                page.get_by_role("button", name="Begin").click()
            page.wait_for_selector("#reading")
            windows.append(page)
        seen.page.wait_for_timeout(500)
        assert {page.evaluate("document.visibilityState") for page in windows} == {"visible"}

        last, other = windows[-1], windows[1]
        for page, text in ((last, "1.3"), (other, "1.31")):
            page.locator("#reading").fill(text)
            page.get_by_role("button", name="Take it", exact=True).click()
        for page in windows:
            page.locator(".load", has_text="100 ohm").wait_for()
        streams = [url for url in seen.asked if url.endswith("/stream")]
        asked = [url for url in seen.asked if url.endswith("/standing")]

        windows[0].close()  # it held one: another window takes its place
        windows[2].wait_for_timeout(4500)
        again = [url for url in seen.asked if url.endswith("/stream")]
        last.locator("#reading").fill("1.18")
        last.get_by_role("button", name="Take it", exact=True).click()
        for page in (*windows[2:], last):
            page.locator(".load", has_text="47 ohm").wait_for()
        wrong = list(seen.wrong)

    assert len(streams) == 3
    assert len(asked) >= WINDOWS - 3
    assert len(again) == 4
    assert wrong == []
