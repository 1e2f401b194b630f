"""Journeys of people: the first verdict, a typo undone, a class put together, two tabs, no scripts, no mouse."""

from __future__ import annotations

import re
import shutil
from typing import TYPE_CHECKING, Any

import pytest

from aerode.records.electrodes import Electrode
from aerode.records.places import Claim, RunOrder
from aerode.records.runs import Run
from aerode.store.bench_file import BenchFile

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

pytestmark = pytest.mark.browser

OHMS = (100.0, 47.0, 22.0, 10.0)


def _voltage(open_voltage: float, inner: float, load: float) -> float:
    """A plain cell of one open voltage and one inner resistance, for typing readings."""
    return open_voltage * load / (load + inner)


def _measure(page: Any, electrode: str, inner: float, first: bool) -> int:
    """Begin a run and read every load; gives the number of fields filled before the first reading."""
    page.get_by_label("Electrode", exact=False).first.fill(electrode)
    fields = 1
    page.get_by_label("How").select_option("short")
    if first:
        page.get_by_label("Your resistors").fill(", ".join(f"{ohm:g}" for ohm in OHMS) + " ohm")
        fields += 1
    page.get_by_label("Temperature of the electrolyte").fill("same")
    fields += 1
    later = page.locator("summary", has_text="Conditions")
    later.click()
    for condition in page.locator("details[open] input").all():
        condition.fill("same")
    page.get_by_role("button", name="Begin").click()
    page.wait_for_selector("#reading")
    taken = 0
    while page.locator("#reading").count() and taken < 60:
        load = page.locator(".load").inner_text()
        ohms = re.search(r"([\d.,]+) ?(ohm|Ω)", load)
        volts = 0.75 if ohms is None else _voltage(0.75, inner, float(ohms[1].replace(",", ".")))
        number = "12.5" if "Ammeter" in load else f"{volts:.3f} V"
        before = page.locator("[data-state]").get_attribute("data-state")
        page.locator("#reading").fill(number)
        page.locator("form[data-take] button").first.click()  # digits and one tap
        page.wait_for_function(
            "before => document.querySelector('[data-state]')?.dataset.state !== before", arg=before
        )
        taken += 1
    page.get_by_role("button", name="Close the run", exact=True).first.click()
    page.wait_for_load_state()
    return fields


def test_a_newcomer_gets_from_nothing_to_a_verdict(new_site: Any, look: Callable[..., Any]) -> None:
    """On a phone, on a bench with nothing on it: at most four fields before the first reading, each next reading digits and one tap, two electrodes, and then from the first page to the verdict in at most three taps."""
    with look(width=360, height=740) as seen:
        page = new_site.enter(seen.page)
        page.goto(new_site.address + "/runs/start")
        asked = page.locator("fieldset input:visible, fieldset select:visible").count()
        fields = _measure(page, "first", 12.0, first=True)
        page.goto(new_site.address + "/runs/start")
        _measure(page, "second", 14.0, first=False)
        page.goto(new_site.address + "/")
        taps = 0
        if "/compare" not in page.url:
            page.get_by_role("link", name="Compare").first.click()
            taps += 1
        page.wait_for_selector("h1")
        verdict = page.locator("h1").inner_text()

    assert asked <= 4
    assert fields <= 4
    assert taps <= 3
    assert re.search(r"shown|equivalent|differ", verdict, re.IGNORECASE), verdict
    with BenchFile.open(new_site.bench) as bench:
        assert set(bench.names(Electrode)) == {"first", "second"}
        assert all(len(run.readings) >= 3 for run in bench.all(Run))


def test_first_page_to_verdict_and_doubts(reading_site: Any, look: Callable[..., Any]) -> None:
    """One tap to the verdict; what would overturn it comes by itself."""
    with look() as seen:
        page = reading_site.enter(seen.page)
        page.get_by_role("link", name="Compare").first.click()
        assert "shown" in page.locator("h1").inner_text()
        page.wait_for_selector("#doubts:not([data-fetch])")
        page.locator("#doubts", has_text="Each input was changed alone").wait_for()
        assert seen.wrong == []


def test_without_scripts_the_doubts_are_a_link_and_forms_work(
    site: Any, look: Callable[..., Any]
) -> None:
    """Compare, what would overturn it, a prediction, a symptom kept: all by links and buttons alone."""
    with look(scripts=False) as seen:
        page = site.enter(seen.page, "/compare?by=binder&at=0.45+V")
        page.get_by_role("link", name="Look for it").click()
        assert "in uncertainties" in page.content()
        page.goto(site.address + "/simulate?item=T1")
        page.get_by_label("How").first.fill("+0.2 mm")
        page.get_by_role("button", name="Predict").click()
        page.get_by_text("predicted, not measured").wait_for()
        page.goto(site.address + "/symptoms?seen=wet+air+face&on=T1")
        page.get_by_label("What the test showed").fill("tissue 0.3 g")
        page.locator("input[name=cause]").first.check()
        page.get_by_role("button", name="Keep it").click()
        page.get_by_text("Kept with T1").wait_for()


def test_a_prediction_follows_the_fields(reading_site: Any, look: Callable[..., Any]) -> None:
    """With scripts nobody has to press: the answer changes, the address too, reloading shows the same."""
    with look() as seen:
        page = reading_site.enter(seen.page, "/simulate?item=T1")
        page.get_by_label("How").first.fill("+0.2 mm")
        page.get_by_text("predicted, not measured").wait_for()
        first = page.locator("h1").inner_text()
        assert "how1=" in page.url
        page.reload()
        assert page.locator("h1").inner_text() == first


def test_by_keyboard_alone(site: Any, look: Callable[..., Any]) -> None:
    """The first Tab is the way past the navigation; a claim is stated without a mouse, and every focus is seen."""
    with look() as seen:
        page = site.enter(seen.page, "/claims/new")
        page.keyboard.press("Tab")
        assert page.evaluate("document.activeElement.className") == "skip"
        page.keyboard.press("Enter")
        for name, text in (("name", "wax"), ("question", "Does wax help?"), ("factor", ""), ("at", "0.45 V")):  # fmt: skip
            while page.evaluate("document.activeElement.name ?? ''") != name:
                page.keyboard.press("Tab")
            shown = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
            assert shown != "none"
            page.keyboard.type(text)
        page.keyboard.press("Enter")
        page.wait_for_url("**/claims/wax**")
    with BenchFile.open(site.bench) as bench:
        assert bench.get(Claim, "wax").at == 0.45


def test_a_typo_is_fixed_and_undone(site: Any, look: Callable[..., Any]) -> None:
    """Changed by form, seen in the history with its reason, undone there; nothing is lost."""
    with look(width=360, height=740) as seen:
        page = site.enter(seen.page, "/things/electrolyte/estuary water/edit")
        note = page.locator("[name=note]")
        page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
        note.fill("from the wrnog jetty")
        page.get_by_label("Why it is changed").fill("noted late")
        page.get_by_role("button", name="Save").click()
        page.get_by_role("link", name="History").click()
        page.get_by_text("noted late").wait_for()
        page.get_by_role("button", name="Undo the last change").click()
        page.get_by_text("Undone:").wait_for()
        assert page.locator("ol.states > li").count() == 3


def test_a_class_puts_its_groups_together(
    site: Any, invented: Path, tmp_path: Path, look: Callable[..., Any]
) -> None:
    """Two groups measured on benches of their own; the teacher takes one file in after seeing what it brings, plans, and compares by code."""
    from dataclasses import replace

    other = tmp_path / "eel.aerode"
    shutil.copyfile(invented, other)
    for place, code, piece in ((site.bench, "gull", "T1"), (other, "eel", "T3")):
        with BenchFile.open(place) as bench:
            bench.put(replace(bench.get(Electrode, piece), name=f"{code} 1", build=""))
            run = bench.get(Run, f"{piece} loads")
            bench.put(replace(run, name=f"{code} run", electrode=f"{code} 1", cell=""))
    with look(width=360, height=740) as seen:
        page = site.enter(seen.page, "/data")
        page.locator("#f-file").set_input_files(other)
        page.get_by_role("button", name="Look at it").click()
        page.get_by_text("another bench file").wait_for()
        with BenchFile.open(site.bench) as bench:
            assert bench.find(Electrode, "eel 1") is None
        page.get_by_role("button", name="Take it").click()
        page.goto(site.address + "/class?minutes=45&groups=4&tools=4")
        page.locator(".group", has_text="eel").get_by_text("readings").wait_for()
        page.get_by_role("link", name="Put the groups together").click()
        verdict = page.locator("h1").inner_text()
    assert "gull 1" in verdict or "eel 1" in verdict or "recipe" in verdict


def test_back_forward_reload_and_a_second_press_lose_nothing(
    site: Any, look: Callable[..., Any]
) -> None:
    """A form that was left by mistake is as it was on coming back; pressing twice stores once; reloading stores nothing."""
    with look() as seen:
        page = site.enter(seen.page, "/claims/new")
        page.get_by_label("Short name").fill("half typed")
        page.get_by_role("link", name="Shelf").click()
        page.wait_for_url("**/shelf")
        page.go_back()
        assert page.get_by_label("Short name").input_value() == "half typed"
        page.go_forward()
        assert page.url.endswith("/shelf")
        page.goto(site.address + "/compare/order")
        page.get_by_label("Session").fill("a windy day")
        page.evaluate(
            """() => { const form = document.querySelector('form[method=post]');
              form.requestSubmit(); form.requestSubmit(); }"""
        )
        page.wait_for_url("**drawn=**")
        page.reload()
        assert "a windy day" in page.locator("h1").inner_text()
    with BenchFile.open(site.bench) as bench:
        (drawn,) = [one for one in bench.all(RunOrder) if one.session == "a windy day"]
        assert len(bench.history(RunOrder, drawn.name)) == 1


def test_two_tabs_keep_both_changes(site: Any, look: Callable[..., Any]) -> None:
    """Different fields of one record, changed in two tabs: both stand; the same field: it is asked, and nothing typed is lost."""
    place = "/things/electrolyte/estuary%20water/edit"
    with look() as seen:
        first = site.enter(seen.page, place)
        second = first.context.new_page()
        second.goto(site.address + place)
        for page in (first, second):
            page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
        first.locator("[name=note]").fill("from tab one")
        first.get_by_role("button", name="Save").click()
        first.wait_for_selector(".stored")
        second.locator("[name=note]").fill("from tab two")
        second.get_by_role("button", name="Save").click()
        second.get_by_text("Somebody else changed this meanwhile").wait_for()
        assert second.locator("[name=note]").input_value() == "from tab two"
        second.get_by_role("button", name="Save").click()
        second.wait_for_selector(".stored")
        second.get_by_text("from tab two").first.wait_for()


def test_the_guided_run_keeps_the_focus_without_a_word(site: Any, look: Callable[..., Any]) -> None:
    """After each reading the cursor is in the field for the next; the console of the browser says nothing."""
    with look(width=360, height=740) as seen:
        said: list[str] = []
        seen.page.on("console", lambda message: said.append(message.text))
        page = site.enter(seen.page, "/runs/start?electrode=T4")
        page.get_by_role("button", name="Begin").click()
        for typed in ("0,73", "0.69"):
            page.wait_for_selector("#reading")
            page.wait_for_timeout(800)  # the browser looks for a field to focus once it has drawn
            before = page.locator("[data-state]").get_attribute("data-state")
            page.locator("#reading").fill(typed)
            page.locator("form[data-take] button").first.click()
            page.wait_for_function(
                "before => document.querySelector('[data-state]').dataset.state !== before",
                arg=before,
            )
            page.wait_for_function("document.activeElement?.id === 'reading'")
            page.wait_for_timeout(600)  # what the browser has to say about it comes late

    assert said == []
