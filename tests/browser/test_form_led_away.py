"""A form that leads away for a thing that lacks, on a phone, with scripts and without; links behind a sentence."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from aerode.records.electrodes import Electrode
from aerode.records.runs import Reading, Run
from aerode.store.bench_file import BenchFile

if TYPE_CHECKING:
    from collections.abc import Callable

pytestmark = pytest.mark.browser


@pytest.mark.parametrize("scripts", [True, False])
def test_the_mesh_is_entered_from_the_form_of_the_piece(
    new_site: Any, look: Callable[..., Any], scripts: bool
) -> None:
    """What was typed is there again with the mesh chosen; Enter in a field saves and adds no row."""
    with look(width=360, scripts=scripts) as seen:
        page = new_site.enter(seen.page, "/things/electrode/new")
        page.locator("[name=name]").fill("A1")
        page.get_by_role("button", name="Enter the mesh").click()
        page.locator("[name=material]").fill("nickel")
        page.locator("[name=name]").fill("gauze")
        page.locator("[name=name]").press("Enter")
        page.get_by_text("gauze is entered. What you typed before is here again.").wait_for()
        assert page.locator("[name=mesh]").input_value() == "gauze"
        assert page.locator("[name=name]").input_value() == "A1"
        page.locator("[name=name]").press("Enter")
        page.get_by_role("heading", name="A1: whole").wait_for()
        assert seen.wrong == []
    with BenchFile.open(new_site.bench, read_only=True) as bench:
        assert bench.get(Electrode, "A1").mesh == "gauze"


@pytest.mark.parametrize("width", [360, 1100])
def test_lines_of_a_sentence_keep_their_distance_round_a_link(
    new_site: Any, look: Callable[..., Any], width: int
) -> None:
    """Whose turn it is ends with a link as high as a thumb: it stands below the sentence, not in its last line."""
    with BenchFile.open(new_site.bench) as bench:
        for name in ("A1", "A2", "B1"):
            bench.put(Electrode(name=name, recipe=name[0]))
        read = (Reading(load="open", voltage=1.2),)
        bench.put(Run(name="A1 loads", electrode="A1", readings=read, finished=True))
    with look(width=width) as seen:
        page = new_site.enter(seen.page, "/runs/start?electrode=A2")
        link = page.locator("p.turn a.alone")
        link.wait_for()
        text_end = page.evaluate("""() => {
          const range = document.createRange();
          range.selectNodeContents(document.querySelector('p.turn').firstChild);
          return Math.max(...[...range.getClientRects()].map(r => r.bottom)); }""")
        assert link.bounding_box()["y"] >= text_end - 3
        assert link.bounding_box()["height"] >= 44
