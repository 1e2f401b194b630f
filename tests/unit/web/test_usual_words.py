"""The usual words stand on the pages above the act."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from starlette.testclient import TestClient

LYE = "never water onto lye"


def test_lye_is_told_above_its_form_and_on_its_page(inside: TestClient) -> None:
    """Above the first field, on the stored page, on the cell that holds it; not on salt water."""
    form = inside.get("/things/electrolyte/new").text
    assert form.index(LYE) < form.index("<form method")
    lye = {"name": "strong", "salt": "KOH", "once": "a"}
    assert LYE in inside.post("/things/electrolyte/new", data=lye).text
    assert LYE in inside.get("/things/cell/new?electrolyte=strong").text
    brine = {"name": "brine", "salt": "NaCl", "once": "b"}
    assert LYE not in inside.post("/things/electrolyte/new", data=brine).text
    assert LYE not in inside.get("/things/cell/new?electrolyte=brine").text


def test_the_electrolyte_sheet_tells_of_lye(inside: TestClient) -> None:
    """Not typed or lye: above the form; salt: not."""
    assert LYE in inside.get("/process/electrolyte").text
    asked = "/process/electrolyte?volume=500+mL&mass_fraction=10+%25&salt="
    assert LYE in inside.get(asked + "KOH").text
    assert LYE not in inside.get(asked + "NaCl").text
    assert LYE not in inside.get("/process/drying").text


def test_solvent_vapour_is_told_above_the_dishes(inside: TestClient) -> None:
    """Before the first dish is weighed in."""
    form = inside.get("/things/solution/new").text
    assert form.index("no flame, no spark, no hot plate") < form.index('name="dishes.0.empty"')
    assert "Common practice, no source" in form
