"""A form that lacks a thing leads to its form and is taken up again with it chosen; no script is needed."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import pytest

from aerode.records.electrodes import Electrode
from aerode.records.materials import MeshCard, Solution
from aerode.store.bench_file import BenchFile
from aerode.web.away import Away, Held

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.testclient import TestClient


def _sent(browser: TestClient, place: str, data: dict[str, str]) -> str:
    """Where a form leads."""
    answer = browser.post(place, data=data, follow_redirects=False)
    assert answer.status_code == 303, answer.text
    return answer.headers["location"]


def _action(page: str) -> str:
    found = re.search(r'<form method="post" action="([^"]+)"', page)
    assert found is not None
    return found[1].replace("&amp;", "&")


def test_the_scale_is_entered_from_the_form_of_a_solution(
    inside: TestClient, bench_place: Path
) -> None:
    """What was typed is there again, the form no longer says that there is no scale, and saving stores both."""
    typed = {"name": "jar 7", "polymer": "PVB", "liquid": "ethanol"}
    assert 'name="away" value="instrument||scale"' in inside.get("/things/solution/new").text
    there = _sent(inside, "/things/solution/new", typed | {"away": "instrument||scale"})
    form = inside.get(there).text
    assert '<option value="scale" selected' in form or "<option selected>scale" in form
    assert "← What is dissolved in what?" in form  # who leaves it comes back too

    back = _sent(inside, _action(form), {"name": "kitchen", "sort": "scale", "resolution": "0.1 g"})
    page = inside.get(back).text
    assert back.startswith("/things/solution/new?draft=")
    assert "kitchen is entered. What you typed before is here again." in page
    assert 'name="name" value="jar 7"' in page
    assert "No scale is on this bench yet" not in page
    assert _sent(inside, _action(page), typed) == "/things/solution/jar%207?stored=yes"
    with BenchFile.open(bench_place, read_only=True) as bench:
        assert bench.get(Solution, "jar 7").polymer == "PVB"


def test_the_mesh_is_chosen_in_the_form_of_the_piece(inside: TestClient, bench_place: Path) -> None:
    """The field that lacked it holds its name; rows and units that were typed stay as they were."""
    typed = {"name": "A1", "wetted_area": "9.5", "layers.0.how": "blade", "away": "mesh|mesh"}
    form = inside.get(_sent(inside, "/things/electrode/new", typed)).text
    page = inside.get(_sent(inside, _action(form), {"name": "gauze 40", "material": "nickel"})).text

    assert 'name="mesh" value="gauze 40"' in page
    assert 'name="name" value="A1"' in page
    assert re.search(r'name="layers.0.how" value="blade"', page)
    sent = {"name": "A1", "mesh": "gauze 40", "wetted_area": "9.5"}
    _sent(inside, _action(page), sent)
    with BenchFile.open(bench_place, read_only=True) as bench:
        assert bench.names(MeshCard) == ["gauze 40"]
        assert bench.get(Electrode, "A1").mesh == "gauze 40"


def test_a_refused_thing_still_leads_back(inside: TestClient) -> None:
    """A slip in the second form loses neither: it is asked again, and then the first one goes on."""
    there = _sent(inside, "/things/cell/new", {"name": "c", "electrolyte": "lye", "away": "electrolyte|electrolyte"})  # fmt: skip
    form = inside.get(there).text
    assert 'name="name" value="lye"' in form  # the name that was nowhere
    bad = inside.post(_action(form), data={"name": ""})
    assert bad.status_code == 422
    page = inside.get(_sent(inside, _action(bad.text), {"name": "lye", "salt": "potassium hydroxide"})).text  # fmt: skip

    assert 'name="electrolyte" value="lye"' in page
    assert 'name="name" value="c"' in page


def test_one_form_may_wait_for_one_that_waits(inside: TestClient, bench_place: Path) -> None:
    """From the piece to its mix, and from the mix to a powder: each leads back to the one before."""
    with BenchFile.open(bench_place) as bench:
        for cls, name in (("powder", "char A"), ("solution", "jar 1")):
            from aerode.records import KINDS

            bench.withdraw(KINDS[cls], name, why="entered by mistake")
    mix = _sent(inside, "/things/electrode/new", {"name": "A1", "away": "mix|layers.0.mix"})
    form = inside.get(mix).text
    assert "Enter a powder first" in form
    powder = _sent(inside, _action(form), {"name": "M1", "away": "powder|rows.0.of"})
    found: dict[str, Any] = {"name": "soot", "substance": "carbon black", "function": "conductor"}
    again = inside.get(_sent(inside, _action(inside.get(powder).text), found)).text
    assert 'name="name" value="M1"' in again
    assert 'name="rows.0.of" value="soot"' in again

    sent = {"name": "M1", "rows.0.of": "soot", "rows.0.amount": "10 g"}
    page = inside.get(_sent(inside, _action(again), sent)).text
    assert 'name="name" value="A1"' in page
    assert 'name="layers.0.mix" value="M1"' in page


@pytest.mark.parametrize("mark", ["", "zzz"])
def test_a_mark_that_is_not_held_is_an_ordinary_form(inside: TestClient, mark: str) -> None:
    """A form that nobody waits for leads to the page of what it stored."""
    place = f"/things/mesh/new?back={mark}&draft={mark}"
    assert "All mixes" not in inside.get(place).text
    assert _sent(inside, place, {"name": "g", "material": "nickel"}) == "/things/mesh/g?stored=yes"
    assert inside.post("/things/mesh/new", data={"away": "strange|x"}).status_code == 404


def test_only_so_many_forms_are_held() -> None:
    """The oldest one makes room: a page that is left open for ever takes no memory for ever."""
    away = Away(most=2)
    for mark in ("a", "b", "c"):
        away.hold(mark, Held(place=mark, title=mark))

    assert away.of("a") is None
    assert away.of("c") is not None
