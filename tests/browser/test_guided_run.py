"""The guided run on a phone: a slip is asked about, the last one taken back with one tap, nothing stale said after closing."""

from __future__ import annotations

from contextlib import suppress
from typing import TYPE_CHECKING, Any

import pytest
from playwright.sync_api import Error

from aerode.records.runs import Run
from aerode.store.bench_file import BenchFile

if TYPE_CHECKING:
    from collections.abc import Callable

pytestmark = pytest.mark.browser

LOADS = "100, 47, 22, 10, 4.7 ohm"


def _begun(new_site: Any, seen: Any) -> Any:
    """The page of a run of A1 that has just begun, on a bench with nothing else on it."""
    page = new_site.enter(seen.page, "/runs/start")
    page.get_by_label("Electrode", exact=False).first.fill("A1")
    page.get_by_label("Your resistors").fill(LOADS)
    page.get_by_role("button", name="Begin").click()
    return page


def test_a_slip_a_tap_back_and_a_quiet_end(new_site: Any, look: Callable[..., Any]) -> None:
    """0,0108 V is asked about and mended with one tap; the last one goes back and comes again; the curve runs one way."""
    with look(width=360, height=740) as seen:
        page = _begun(new_site, seen)
        page.wait_for_selector("#reading")

        def take(text: str, then: str) -> None:
            page.locator("#reading").fill(text)
            page.get_by_role("button", name="Take it", exact=True).click()
            page.locator(then).first.wait_for()

        take("13", "#wrong")
        page.get_by_role("button", name="It was 1.3 V").click()
        page.locator(".load", has_text="100 ohm").wait_for()
        page.wait_for_timeout(1500)  # the stream has told of it: what is said of the act stays
        kept = page.locator("[data-say]").inner_text()
        take("0,118 V", "#wrong")
        page.get_by_role("button", name="It was 1.18 V").click()
        page.locator(".load", has_text="47 ohm").wait_for()
        page.get_by_role("button", name="Take the last one back").click()
        page.locator(".load", has_text="100 ohm").wait_for()
        page.get_by_role("button", name="Put back 1.18 V").click()
        page.locator(".load", has_text="47 ohm").wait_for()
        for text, after in (("1,10", "22 ohm"), ("1,005", "10 ohm"), ("0,80", "4.7 ohm"), ("0,6", "22 ohm")):  # fmt: skip
            take(text, f".load:has-text('{after}')")
        expected = page.locator(".expected").inner_text().replace("\N{NO-BREAK SPACE}", " ")
        take("0,998", "button:has-text('Close the run')")
        summary = page.locator("ol.taken li", has_text="1.1 V").locator("summary")
        summary.click()
        page.locator("ol.taken li", has_text="1.1 V").get_by_label("It should be").fill("1,09")
        page.locator("ol.taken li", has_text="1.1 V").get_by_role(
            "button", name="Correct it"
        ).click()
        page.get_by_text("kept beside it").wait_for()
        assert "said=" not in page.url
        page.get_by_role("button", name="Close the run", exact=True).click()
        page.get_by_text("What comes next").wait_for()
        said = page.locator("[role=status]").count()

    with BenchFile.open(new_site.bench) as bench:
        (run,) = bench.all(Run)
    assert "1.005 V again as the first time" in expected
    assert said == 0
    assert kept.startswith("Saved.")
    assert [r.voltage for r in run.readings] == [1.3, 1.18, 1.1, 1.005, 0.8, 0.6, 0.998, 1.09]
    assert not any(r.doubt for r in run.readings)


def test_a_late_look_does_not_bring_back_the_step_before(
    new_site: Any, look: Callable[..., Any]
) -> None:
    """A second phone takes a reading; the first one's look at it is slow, and it takes the next reading meanwhile: the page stays at what was taken last."""
    with look(width=360, height=740) as seen:
        page = _begun(new_site, seen)
        page.wait_for_selector("#reading")
        place = page.url
        second = page.context.new_page()
        second.goto(place)

        late: list[tuple[Any, Any]] = []
        page.route(
            lambda url: url == place,
            lambda route: (
                late.append((route, route.fetch()))
                if route.request.method == "GET"
                else route.continue_()
            ),
        )
        second.locator("#reading").fill("1.3")
        second.get_by_role("button", name="Take it", exact=True).click()
        second.locator(".load", has_text="100 ohm").wait_for()
        while not late:
            page.wait_for_timeout(100)
        page.locator("#reading").fill("1.3")
        page.get_by_role("button", name="Take it", exact=True).click()
        page.locator(".load", has_text="100 ohm").wait_for()
        page.locator("#reading").fill("1.18")
        page.get_by_role("button", name="Take it", exact=True).click()
        page.locator(".load", has_text="47 ohm").wait_for()
        now = page.locator("[data-state]").get_attribute("data-state")
        for route, answer in late:
            with suppress(Error):  # nobody waits for it any more
                route.fulfill(response=answer)
        page.wait_for_timeout(2500)  # the late answer, and whatever the stream still has to tell
        after = page.locator("[data-state]").get_attribute("data-state")
        load = page.locator(".load").inner_text()

    assert (after, load) == (now, "47 ohm")


SEEN = "Object.defineProperty(document, 'visibilityState', { configurable: true, get: () => window.seen ?? 'visible' });"


def _turn(page: Any, state: str) -> None:
    """Behind another tab, or before all others; a browser without a window knows no such thing by itself."""
    page.evaluate(
        "(state) => { window.seen = state; document.dispatchEvent(new Event('visibilitychange')); }",
        state,
    )


def test_seven_tabs_of_runs_leave_the_browser_its_connections(
    new_site: Any, look: Callable[..., Any]
) -> None:
    """Six tabs behind the seventh hold no connection: it takes its reading; one that is seen again shows what came meanwhile."""
    with look(width=360, height=740) as seen:
        context = seen.page.context
        context.add_init_script(SEEN)
        new_site.enter(seen.page)
        tabs: list[Any] = []
        for number in range(7):
            page = context.new_page()
            page.set_default_timeout(15_000)
            page.goto(f"{new_site.address}/runs/start")
            page.get_by_label("Electrode", exact=False).first.fill(f"A{number}")
            if not number:
                page.get_by_label("Your resistors").fill(LOADS)
            page.get_by_role("button", name="Begin").click()
            page.wait_for_selector("#reading")
            tabs.append(page)
            if number < 6:
                _turn(page, "hidden")
        last = tabs[-1]
        last.locator("#reading").fill("1.3")
        last.get_by_role("button", name="Take it", exact=True).click()
        last.locator(".load", has_text="100 ohm").wait_for()

        other = tabs[0]
        place = other.url
        last.goto(place)
        last.locator("#reading").fill("1.3")
        last.get_by_role("button", name="Take it", exact=True).click()
        last.locator(".load", has_text="100 ohm").wait_for()
        before = other.locator(".load").inner_text()
        _turn(last, "hidden")
        _turn(other, "visible")
        other.locator(".load", has_text="100 ohm").wait_for()

    assert before == "No load"


def test_the_moment_a_load_went_on_outlives_a_question(
    new_site: Any, look: Callable[..., Any]
) -> None:
    """Pressed "It is on now", then a slip: the clock goes on from the press, not from when the page came."""
    with look(width=360, height=740) as seen:
        page = _begun(new_site, seen)
        page.locator("#reading").fill("1.3")
        page.get_by_role("button", name="Take it", exact=True).click()
        page.locator(".load", has_text="100 ohm").wait_for()
        page.wait_for_timeout(5000)
        page.get_by_role("button", name="It is on now").click()
        page.locator("#reading").fill("0,118 V")
        page.get_by_role("button", name="Take it", exact=True).click()
        page.locator("#wrong").wait_for()
        shown = page.locator("[data-seconds]").inner_text()

    assert int(shown.split()[0]) <= 3, shown


def test_the_clock_names_a_next_time_that_is_to_come(
    new_site: Any, look: Callable[..., Any]
) -> None:
    """A short run left alone for 155 s: the next time is 180 s, then 240 s after it; the time left goes down meanwhile."""
    with look(width=360, height=740) as seen:
        seen.page.clock.install()
        page = new_site.enter(seen.page, "/runs/start")
        page.get_by_label("Electrode", exact=False).first.fill("A1")
        page.get_by_label("How", exact=True).select_option("short")
        page.get_by_label("Your resistors").fill(LOADS)
        page.get_by_role("button", name="Begin").click()
        page.locator("#reading").fill("1.3")
        page.get_by_role("button", name="Take it", exact=True).click()
        page.locator(".load", has_text="100 ohm").wait_for()
        page.get_by_role("button", name="It is on now").click()
        told: list[tuple[str, str]] = []
        for seconds in (5, 150, 40):
            page.clock.run_for(1000 * seconds)
            told.append((page.locator("[data-next]").inner_text(), page.locator("[data-left]").inner_text()))  # fmt: skip

    assert [int(next_.rpartition(" at ")[2].split()[0]) for next_, _ in told] == [20, 180, 240]
    assert "read it now" not in told[0][0]
    assert "read it now" in told[1][0]
    left = [int(words.replace("\N{NO-BREAK SPACE}", " ").split("about ")[1].split()[0]) for _, words in told]  # fmt: skip
    assert left == [9, 6, 6]
