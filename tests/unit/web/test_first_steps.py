"""The first page leads a newcomer on, one thing at a time."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from starlette.testclient import TestClient

from aerode.records.electrodes import Electrode
from aerode.records.instruments import Instrument, Sort
from aerode.store.bench_file import BenchFile

if TYPE_CHECKING:
    from pathlib import Path


def _next(browser: TestClient) -> str:
    """Where the first page leads."""
    found = re.search(r'<p class="actions"><a class="button" href="([^"]+)"', browser.get("/").text)
    assert found is not None
    return found[1].replace("&amp;", "&")


def test_from_the_empty_bench_to_the_first_mix(newcomer: TestClient) -> None:
    """Each thing is one form; the first page then asks for the one that is lacking."""
    met = [_next(newcomer)]
    for place, sent in (
        ("/things/instrument/new", {"name": "cheap one", "sort": "multimeter"}),
        ("/shelf/resistors", {"values": "100, 47, 33, 22"}),
        ("/things/instrument/new", {"name": "kitchen", "sort": "scale", "resolution": "0.1 g"}),
        ("/things/powder/new", {"name": "black", "substance": "carbon black", "function": "conductor"}),
        ("/things/powder/new", {"name": "ore", "substance": "manganese dioxide", "function": "catalyst"}),
        ("/things/solution/new", {"name": "jar", "polymer": "PVB", "liquid": "ethanol", "label_solids": "10 %"}),
    ):  # fmt: skip
        assert newcomer.get(met[-1]).status_code == 200
        assert newcomer.post(place, data=sent, follow_redirects=False).status_code == 303
        met.append(_next(newcomer))

    assert met == [
        "/things/instrument/new?sort=multimeter", "/shelf/resistors", "/things/instrument/new?sort=scale",
        "/things/powder/new", "/things/powder/new?function=catalyst", "/things/solution/new", "/mixes/new",
    ]  # fmt: skip


def test_a_catalyst_is_one_tap_and_so_is_none(newcomer: TestClient) -> None:
    """After the carbon both choices have a button; who went without finds the catalyst beside the mix."""
    for place, sent in (
        ("/things/instrument/new", {"name": "cheap one", "sort": "multimeter"}),
        ("/shelf/resistors", {"values": "100, 47, 33, 22"}),
        ("/things/instrument/new", {"name": "kitchen", "sort": "scale", "resolution": "0.1 g"}),
        ("/things/powder/new", {"name": "black", "substance": "carbon black", "function": "conductor"}),
    ):  # fmt: skip
        newcomer.post(place, data=sent)
    home = newcomer.get("/").text
    assert 'href="/things/powder/new?function=catalyst">Enter a catalyst<' in home
    assert "little surface: an active carbon may be wanted too" in home
    assert 'href="/things/powder/new?function=active+carbon">Enter an active carbon<' in home
    assert 'href="/things/solution/new">No catalyst: on to the binder<' in home
    form = newcomer.get("/things/powder/new?function=catalyst").text
    assert '<option value="catalyst" selected>' in form

    jar = {"name": "jar", "polymer": "PVB", "liquid": "ethanol", "label_solids": "10 %"}
    newcomer.post("/things/solution/new", data=jar)
    home = newcomer.get("/").text
    assert "Next: plan the first mix" in home
    assert 'href="/things/powder/new?function=catalyst">Enter a catalyst<' in home
    assert 'href="/things/solvent/new">Enter a solvent<' in home


def test_four_resistors_are_one_form(newcomer: TestClient, empty_place: Path) -> None:
    """One line, one tolerance, one press; a second press enters nothing twice."""
    sent = {"values": "100, 47, 33, 22 ohm", "tolerance": "5", "once": "mark"}
    page = newcomer.post("/shelf/resistors", data=sent)
    newcomer.post("/shelf/resistors", data=sent)

    assert "4 entered." in page.text
    assert "What comes next" in page.text
    with BenchFile.open(empty_place) as bench:
        parts = [one for one in bench.all(Instrument) if one.sort is Sort.RESISTOR]
    assert [one.tolerance for one in parts] == [0.05] * 4


def test_a_line_that_cannot_be_taken_is_kept(newcomer: TestClient, empty_place: Path) -> None:
    """The field says why, the other fields keep what was typed, nothing is stored."""
    page = newcomer.post("/shelf/resistors", data={"values": "100,47", "tolerance": "5"})

    assert page.status_code == 422
    assert "may be one value or two" in page.text
    assert 'value="100,47"' in page.text
    assert 'value="5"' in page.text
    with BenchFile.open(empty_place) as bench:
        assert bench.count(Instrument) == 0


def test_the_second_electrode_starts_from_the_recipe_of_the_first(
    newcomer: TestClient, empty_place: Path
) -> None:
    """What the first page asks for is a second build of the same recipe: its form says so already."""
    newcomer.post("/things/instrument/new", data={"name": "cheap one", "sort": "multimeter"})
    newcomer.post("/things/electrode/new", data={"name": "E1", "recipe": "M1"})
    newcomer.post("/runs/start", data={"electrode": "E1", "resistors": "100, 47, 22"})
    for text in ("720", "620", "520", "410"):
        newcomer.post("/runs/E1%20loads", data={"reading": text, "act": "take"})
    newcomer.post("/runs/E1%20loads", data={"act": "finish"})
    with BenchFile.open(empty_place) as bench:
        assert bench.count(Electrode) == 1

    assert _next(newcomer) == "/things/electrode/new?recipe=M1"
    assert "<b>1</b> electrode<" in newcomer.get("/").text


def test_a_wrong_name_says_what_to_do_on_the_pages(newcomer: TestClient, empty_place: Path) -> None:
    """No command and no path of a file stands there: the list does, one tap away."""
    page = newcomer.get("/electrodes/zzz")

    assert page.status_code == 404
    assert 'href="/electrodes">All electrodes' in page.text
    assert "aerode bench" not in page.text
    assert str(empty_place) not in page.text


def test_a_wrong_host_name_is_told_which_link_to_open(newcomer: TestClient) -> None:
    """Turned away is not the end: the link that works stands in the window of the program."""
    page = newcomer.get("/", headers={"host": "shed.example"})

    assert page.status_code == 421
    assert "Open the link just as it stands" in page.text


def test_what_blocks_a_comparison_is_one_tap_from_an_answer(newcomer: TestClient) -> None:
    """Two cheap electrodes read at resistors: said to be alike in what nobody measured, they are compared."""
    newcomer.post("/things/instrument/new", data={"name": "cheap one", "sort": "multimeter"})
    newcomer.post("/shelf/resistors", data={"values": "100, 47, 33, 22"})
    for name, volts in (("E1", "0.70 0.62 0.52 0.45 0.38"), ("E2", "0.75 0.70 0.64 0.59 0.53")):
        newcomer.post("/things/electrode/new", data={"name": name, "wetted_area": "3 x 3 cm"})
        newcomer.post("/runs/start", data={"electrode": name})
        for text in volts.split():
            newcomer.post(f"/runs/{name}%20loads", data={"reading": text, "act": "take"})
        newcomer.post(f"/runs/{name}%20loads", data={"act": "finish"})

    first = newcomer.get("/")
    assert "--same" not in first.text
    blocked = newcomer.get("/compare").text
    assert "This blocks the comparison" in blocked
    form = blocked.split("This blocks the comparison")[1].split("</form>")[0]
    same = re.findall(r'name="same" value="([^"]+)">', form)

    answer = newcomer.get("/compare", params=[("same", one) for one in same]).text
    every = re.search(r">All \d were the same", blocked)
    nothing = newcomer.post("/compare/same", data={}).text

    assert "--same" not in blocked
    assert len(same) == form.count("<li>")
    assert "checked" not in form  # nothing is answered in the person's stead
    assert every
    assert "This blocks the comparison" not in newcomer.post("/compare/same", data={"same": same}).text  # fmt: skip
    assert "Nothing was ticked" in nothing
    assert "Nothing was ticked" not in blocked
    assert 'id="doubts"' not in blocked  # nothing is shown that could be overturned
    assert 'id="doubts"' in answer
    assert "This blocks the comparison" not in answer


def test_the_first_electrode_starts_from_the_mix_and_the_second_from_the_first(
    newcomer: TestClient, empty_place: Path
) -> None:
    """Mix, pot and recipe stand in the form already; the second one has the layers of the first."""
    from aerode.records.electrodes import Layer, LayerRole
    from aerode.records.materials import MeshCard
    from aerode.records.mixes import Batch, Mix

    with BenchFile.open(empty_place) as bench:
        bench.put_all([Mix(name="M1"), Batch(name="M1 pot 1", mix="M1"), MeshCard(name="gauze", material="nickel")])  # fmt: skip
    first = newcomer.get(_next(newcomer)).text
    assert 'value="M1 pot 1"' in first
    assert first.count('name="recipe" value="M1"') == 1
    assert first.count('name="layers.0.mix" value="M1"') == 1

    layer = Layer(role=LayerRole.ACTIVE, mix="M1", batch="M1 pot 1", how="blade")
    with BenchFile.open(empty_place) as bench:
        bench.put(Electrode(name="E1", recipe="M1", layers=(layer,)))
    newcomer.post("/things/instrument/new", data={"name": "cheap one", "sort": "multimeter"})
    newcomer.post("/runs/start", data={"electrode": "E1", "resistors": "100, 47, 22"})
    for text in ("720", "620", "520", "410"):
        newcomer.post("/runs/E1%20loads", data={"reading": text, "act": "take"})
    newcomer.post("/runs/E1%20loads", data={"act": "finish"})
    second = newcomer.get(_next(newcomer)).text
    assert 'value="M1 pot 1"' in second
    assert 'value="blade"' in second
    assert "<option selected>active</option>" in second
