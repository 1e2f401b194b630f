"""The page of a thing on the shelf: solids first, a salt that is not on file, more salt than dissolves."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from aerode.records.electrodes import Electrode
from aerode.store.bench_file import BenchFile

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.testclient import TestClient


def test_the_solids_of_a_solution_stand_under_its_name(inside: TestClient) -> None:
    """Two dishes of 12.4 % and 12.6 % by hand: their mean of 12.50 %, u = 0.14 %/sqrt 2 = 0.10 % or more by the scale."""
    rows = (("2", "12", "3.24"), ("2", "12", "3.26"))
    sent = {
        f"dishes.{k}.{part}": text
        for k, row in enumerate(rows)
        for part, text in zip(("empty", "wet", "dried"), row, strict=True)
    }
    page = inside.post("/things/solution/new", data={"name": "S9", "polymer": "PVB", **sent}).text

    head = page.split("<h1>S9</h1>")[1].split('id="solids">')[1].split("</p>")[0]
    assert head.startswith("Solids 12.5")
    assert "±" in head
    assert "2 dried dishes" in head


def test_solids_that_are_not_known_say_what_to_do(inside: TestClient) -> None:
    """No dish and no label: the page asks for a dish."""
    page = inside.post("/things/solution/new", data={"name": "S8", "polymer": "PVB"}).text

    assert "Solids not known" in page
    assert "weigh a dish empty" in page


def test_a_salt_that_is_not_on_file_is_said(inside: TestClient) -> None:
    """A slip of the pen is told for an electrolyte as for a powder."""
    page = inside.post(
        "/things/electrolyte/new", data={"name": "jar", "salt": "sodium clorid"}
    ).text

    assert "is not in the tables" in page
    assert "sodium chloride" in page


@pytest.mark.parametrize(("typed", "told"), [("26", False), ("27", False), ("35", True)])
def test_more_salt_than_water_holds_is_a_caution(
    inside: TestClient, typed: str, told: bool
) -> None:
    """Stored all the same: the salt on the bottom is real."""
    sent = {"name": "jar", "salt": "NaCl", "mass_fraction": typed}
    page = inside.post("/things/electrolyte/new", data=sent).text

    assert ("more sodium chloride than water holds" in page) is told


def test_the_way_of_a_layer_is_seen_before_it_is_stored(
    inside: TestClient, bench_place: Path
) -> None:
    """ "brush" stands in the field from the start; a row of nothing else is no layer."""
    form = inside.get("/things/electrode/new").text
    assert 'name="layers.0.how" value="brush"' in form

    inside.post("/things/electrode/new", data={"name": "T8", "layers.0.how": "brush"})
    inside.post("/things/electrode/new", data={"name": "T9", "layers.0.how": "blade"})
    with BenchFile.open(bench_place) as bench:
        assert bench.get(Electrode, "T8").layers == ()
        assert [layer.how for layer in bench.get(Electrode, "T9").layers] == ["blade"]


def test_resistors_are_one_card(inside: TestClient) -> None:
    """Largest first; each is one tap further, and counts as a thing on the shelf."""
    page = inside.get("/shelf").text
    assert "<b>3 resistors</b>" in page
    assert "100 ohm, 33 ohm, 10 ohm" in page
    assert "/things/instrument/33%20ohm" not in page
    assert "<h1>6 things stand on the shelf" in page

    assert 'href="/things/instrument/33%20ohm"' in inside.get("/shelf/resistors").text


@pytest.mark.parametrize(
    ("polymer", "liquid", "told"),
    [("polystyrene", "acetone", True), ("polystyrene", "ethyl acetate", False),
     ("PVB", "2-propanol", False), ("my glue", "acetone", False)],
)  # fmt: skip
def test_a_plastic_in_a_liquid_that_is_not_said_to_dissolve_it(
    inside: TestClient, polymer: str, liquid: str, told: bool
) -> None:
    """The shelf says what dissolves what; a pair that it does not name is told once, and stored all the same."""
    page = inside.post("/things/solution/new", data={"name": "S7", "polymer": polymer, "liquid": liquid}).text  # fmt: skip

    assert ("may only swell to a lump" in page) is told
