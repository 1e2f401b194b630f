"""Forms that know what stands on the bench: one more piece, the only sheet, signs, what is far off."""

from __future__ import annotations

import html
import re
from typing import TYPE_CHECKING

import pytest

from aerode.records.electrodes import Electrode, Firmness, Layer, Press
from aerode.records.marks import Entry
from aerode.records.materials import Aluminium, Electrolyte, MeshCard
from aerode.records.mixes import Batch, Mix
from aerode.records.places import Room
from aerode.store.bench_file import BenchFile

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.testclient import TestClient


def _piece(name: str, grams: float | None) -> Electrode:
    return Electrode(
        name=name, recipe="A20", mesh="steel", layers=(Layer(mix="A20", batch="A20 pot"),),
        press=(Press(firmness=Firmness.FIRM),), wetted_area=Entry(value=9e-4, text="9 cm^2"),
        mesh_mass=Entry(value=4.6e-4), mass=None if grams is None else Entry(value=1e-3 * grams),
    )  # fmt: skip


@pytest.fixture
def made(bench_place: Path) -> Path:
    """Two pieces of one pot, 26 mg/cm² on 9 cm² (by hand: 0.234 g on 0.46 g of mesh)."""
    with BenchFile.open(bench_place) as bench:
        bench.put_all([
            Mix(name="A20"), Batch(name="A20 pot", mix="A20"), MeshCard(name="steel", material="stainless steel"),
            Aluminium(name="roll"), Electrolyte(name="jug", salt="NaCl"),
            Room(name="shed", volume=Entry(value=60.0, text="60 m^3", how="paced out")),
            _piece("A-1", 0.694), _piece("A-2", 0.70),
        ])  # fmt: skip
    return bench_place


def _value(page: str, name: str) -> str:
    found = re.search(rf'<input[^>]* name="{re.escape(name)}" value="([^"]*)"', page)
    assert found is not None, name
    return html.unescape(found[1])


@pytest.mark.usefixtures("made")
def test_another_piece_has_neither_weights_nor_pressings(inside: TestClient) -> None:
    """Pot, mesh and area come along; what the scale says does not, and no pressing that nobody did."""
    stored = inside.get("/electrodes/A-2?stored=yes").text
    way = re.search(r'href="([^"]+)">Another piece like this', stored)
    assert way is not None
    form = inside.get(html.unescape(way[1])).text

    assert _value(form, "layers.0.batch") == "A20 pot"
    assert (_value(form, "mesh"), _value(form, "wetted_area")) == ("steel", "9 cm²")
    assert "<option selected>firm</option>" not in form
    for weighed in ("name", "mass", "mesh_mass"):
        assert _value(form, weighed) == ""


@pytest.mark.usefixtures("made")
def test_the_bare_mesh_is_asked_before_the_coat(inside: TestClient) -> None:
    """Whoever comes from a pot reads it before the act, outside of any fold."""
    form = inside.get("/things/electrode/new?layers.0.batch=A20+pot").text

    assert form.index("Weigh the bare mesh first") < form.index('name="layers.0.mix"')
    assert "<details" not in form[: form.index('name="mesh_mass"')]


@pytest.mark.usefixtures("made")
def test_a_loading_far_from_its_pot_is_asked_about(inside: TestClient, bench_place: Path) -> None:
    """53 against 26 mg/cm² (by hand); said to be so it is stored."""
    sent = {
        "name": "A-3", "layers.0.mix": "A20", "layers.0.batch": "A20 pot", "wetted_area": "9",
        "mesh_mass": ".46", "mass": "0.937",
    }  # fmt: skip
    asked = inside.post("/things/electrode/new", data=sent)
    assert asked.status_code == 422
    said = re.sub(r"\s", " ", asked.text)
    assert "53 mg/cm²" in said
    assert "about 26.3 mg/cm²" in said

    tick = re.search(r'name="sure" value="([^"]+)"', asked.text)
    assert tick
    inside.post("/things/electrode/new", data={**sent, "sure": html.unescape(tick[1])})
    with BenchFile.open(bench_place) as bench:
        assert bench.find(Electrode, "A-3") is not None
    like = inside.post("/things/electrode/new", data={**sent, "name": "A-4", "mass": "0.71"}, follow_redirects=False)  # fmt: skip
    assert like.status_code == 303


@pytest.mark.usefixtures("made")
def test_the_only_aluminium_is_filled_in(inside: TestClient, bench_place: Path) -> None:
    """Where one stands there; with two nobody guesses."""
    form = inside.get("/things/cell/new?electrode=A-1").text
    assert (_value(form, "aluminium"), _value(form, "electrolyte")) == ("roll", "jug")

    with BenchFile.open(bench_place) as bench:
        bench.put(Aluminium(name="can"))
    assert _value(inside.get("/things/cell/new").text, "aluminium") == ""


@pytest.mark.usefixtures("made")
def test_signs_in_a_form_change_nothing(inside: TestClient, bench_place: Path) -> None:
    """60 m³ is shown for what was typed as 60 m^3, and sent back it is the same."""
    shown = _value(inside.get("/things/room/shed/edit").text, "volume")
    assert shown == "60 m³ (paced out)"
    inside.post("/things/room/shed/edit", data={"name": "shed", "volume": shown, "note": "dry"})

    with BenchFile.open(bench_place) as bench:
        room = bench.get(Room, "shed")
    assert room.volume == Entry(value=60.0, text="60 m^3", how="paced out")
    assert room.note == "dry"


def test_a_function_says_what_it_means(inside: TestClient) -> None:
    """In a few words beside the choice; the choice itself is sent."""
    form = inside.get("/things/powder/new").text

    assert '<option value="wet-proofer">wet-proofer: keeps dry, as wax' in form


@pytest.mark.usefixtures("made")
def test_a_piece_without_a_recipe_is_told_by_its_mix(inside: TestClient, bench_place: Path) -> None:
    """Neither a name nor a mix: it says so."""
    with BenchFile.open(bench_place) as bench:
        bench.put(Electrode(name="B-1"))
        bench.put(Electrode(name="B-2", layers=(Layer(mix="A20"),)))
    listed = inside.get("/electrodes").text

    assert "recipe not noted, area not measured" in listed
    assert "A20, area not measured" in listed
