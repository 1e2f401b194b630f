"""What can hurt in making a piece is told while it is typed, and stays where it was opened."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from aerode.records.electrodes import Electrode, Layer
from aerode.records.marks import Entry, Share
from aerode.records.materials import Function, PowderLot, Solution
from aerode.records.mixes import Ingredient, Mix, Portion
from aerode.store.bench_file import BenchFile

if TYPE_CHECKING:
    from collections.abc import Callable

pytestmark = pytest.mark.browser
PLATE = {"new": "#f-press-0-plate_temperature", "page": "#f-press-plate_temperature"}


@pytest.fixture
def with_a_mix(new_site: Any) -> Any:
    """A bench with a mix bound with PVB, and a piece of it."""
    portions = (
        Portion(of="soot", mass=Entry(value=8e-3)),
        Portion(of="glue", shelf=Ingredient.SOLUTION, mass=Entry(value=1e-2)),
    )
    with BenchFile.open(new_site.bench) as bench:
        bench.put_all([
            PowderLot(name="soot", substance="carbon black", function=Function.CONDUCTOR),
            Solution(name="glue", polymer="PVB", solids=Entry(value=0.1), dry_density=Entry(value=1080.0),
                     liquid=(Share(of="ethanol", fraction=1.0),)),
            Mix(name="M", portions=portions),
            Electrode(name="E1", layers=(Layer(mix="M"),)),
        ])  # fmt: skip
    return new_site


@pytest.mark.parametrize("where", ["new", "page"])
def test_a_plate_past_the_line_is_told_while_it_is_typed(
    with_a_mix: Any, look: Callable[..., Any], where: str
) -> None:
    """190 °C on PVB, on the form of a new piece and on the page of one; 100 °C takes it back."""
    place = "/things/electrode/new?layers.0.mix=M" if where == "new" else "/electrodes/E1"
    with look(width=360, height=740) as seen:
        page = with_a_mix.enter(seen.page, place)
        page.locator(
            "summary", has_text="Pressings" if where == "new" else "Add a pressing"
        ).click()
        plate = page.locator(PLATE[where])
        plate.press_sequentially("190")
        told = page.locator('div[data-before="past"] .caution.STOP', has_text="PVB")
        told.wait_for()
        under = told.bounding_box()
        typed = plate.bounding_box()
        assert under is not None
        assert typed is not None
        assert 0 < under["y"] - typed["y"] < 160  # in sight of the plate, on a phone
        plate.fill("100")
        told.wait_for(state="detached")
        assert page.evaluate("document.documentElement.scrollWidth") <= 360
        assert seen.wrong == []


def test_the_cautions_follow_the_mix_that_is_named(
    with_a_mix: Any, look: Callable[..., Any]
) -> None:
    """The usual words give way to the cautions of the mix and the line on heat; what was opened stays open."""
    with look(width=360, height=740) as seen:
        page = with_a_mix.enter(seen.page, "/things/electrode/new")
        page.get_by_text("Before anything is mixed, coated or pressed").wait_for()
        page.locator("#f-layers-0-mix").fill("M")
        page.get_by_text("Before it is coated").wait_for()
        page.get_by_text("72 °C to 120 °C").wait_for()
        opened = page.locator('div[data-before="wet"] details.caution').first
        opened.locator("summary").first.click()
        page.locator("summary", has_text="Pressings").click()
        page.locator(PLATE["new"]).press_sequentially("190")
        page.locator('div[data-before="past"] .caution.STOP').wait_for()
        assert opened.get_attribute("open") is not None
        assert seen.wrong == []


def test_without_scripts_it_is_asked_back(with_a_mix: Any, look: Callable[..., Any]) -> None:
    """The line stands on the form, and saving asks before anything is stored."""
    with look(width=360, height=740, scripts=False) as seen:
        page = with_a_mix.enter(seen.page, "/things/electrode/new?layers.0.mix=M")
        page.get_by_text("72 °C to 120 °C").wait_for()
        page.locator("#f-name").fill("E2")
        page.locator("summary", has_text="Pressings").click()
        page.locator(PLATE["new"]).fill("190")
        page.get_by_role("button", name="Save").click()
        page.get_by_role("heading", name="Is it meant so?").wait_for()
    with BenchFile.open(with_a_mix.bench, read_only=True) as bench:
        assert bench.find(Electrode, "E2") is None
