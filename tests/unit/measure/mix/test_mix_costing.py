"""Material cost of one electrode."""

from __future__ import annotations

from dataclasses import replace

import pytest

from aerode.measure.mix.costing import cost_lines, cost_per_electrode
from aerode.measure.mix.dosing import Dose
from aerode.measure.mix.lots import Shelf
from aerode.records.marks import Entry
from aerode.records.materials import MeshCard, Price
from aerode.records.mixes import Ingredient

GRAM = 1e-3
DOSES = [
    Dose(shelf=Ingredient.POWDER, of="biochar A", mass=8 * GRAM),
    Dose(shelf=Ingredient.SOLUTION, of="PVB solution", mass=16 * GRAM),
    Dose(shelf=Ingredient.SOLVENT, of="bottle 1", mass=7.89 * GRAM),
]
MESH = MeshCard(
    name="fly screen", material="stainless steel", price=Price(amount=20.0, per_area=1.0)
)


def test_parts_by_hand(shelf: Shelf) -> None:
    """Powder by mass, solution by mass, solvent by volume, mesh by area, for one of four."""
    lines = cost_lines(DOSES, shelf, 4, mesh=MESH, area=10e-4)
    by_part = {line.part: line.cost for line in lines}
    assert by_part == {
        "powder": pytest.approx(2.0 * 0.008 / 4),
        "solution": pytest.approx(4.0 / 0.5 * 0.016 / 4),
        "solvent": pytest.approx(6.0 * 0.010 / 4),
        "mesh": pytest.approx(20.0 * 10e-4),
    }
    whole = cost_per_electrode(lines, "EUR")
    assert whole.value == pytest.approx(0.004 + 0.032 + 0.015 + 0.02)
    assert whole.reason is None


def test_missing_price_is_named_and_the_rest_is_a_lower_bound(shelf: Shelf) -> None:
    """No price for the char: no sum, but what is known of it."""
    bare = replace(shelf.powders["biochar A"], price=None)
    lines = cost_lines(DOSES, replace(shelf, powders={"biochar A": bare}), 4, mesh=MESH, area=1e-3)
    whole = cost_per_electrode(lines, "EUR")
    assert whole.value is None
    assert whole.reason == "cost unknown for biochar A (no price entered)"
    assert whole.lower_bound == pytest.approx(0.032 + 0.015 + 0.02)


def test_no_mesh_named(shelf: Shelf) -> None:
    """An electrode without a collector is no electrode: its line is there, without a cost."""
    assert cost_lines(DOSES, shelf, 4, mesh=None, area=1e-3)[-1].reason == "no mesh named"


def test_nothing_known_has_no_lower_bound() -> None:
    """Where no price at all is known there is not even a bound."""
    lines = cost_lines([], Shelf.of(), 1, mesh=None, area=1e-3)
    assert cost_per_electrode(lines, "EUR").lower_bound is None


@pytest.mark.parametrize(
    ("price", "reason"),
    [
        (Price(amount=3.0), "does not say for how much"),
        (Price(amount=3.0, per_volume=1e-3), "density is not known"),
        (Price(amount=3.0, per_area=1.0), "priced by area"),
    ],
)
def test_prices_that_cannot_be_applied(shelf: Shelf, price: Price, reason: str) -> None:
    """A pack without a size, a volume of powder, a powder by the square metre."""
    lot = replace(shelf.powders["biochar A"], price=price)
    lines = cost_lines(
        DOSES[:1], replace(shelf, powders={"biochar A": lot}), 1, mesh=MESH, area=1e-3
    )
    assert lines[0].cost is None
    assert reason in lines[0].reason


def test_mesh_by_weight(shelf: Shelf) -> None:
    """A mesh sold by weight needs its mass per area."""
    sold = replace(MESH, price=Price(amount=30.0, per_mass=1.0))
    assert "mass is not known" in cost_lines([], shelf, 1, mesh=sold, area=1e-3)[0].reason
    weighed = replace(sold, mass_per_area=Entry(value=0.4))
    cost = cost_lines([], shelf, 1, mesh=weighed, area=1e-3)[0].cost
    assert cost == pytest.approx(30.0 * 0.4 * 1e-3)


def test_another_currency_is_not_converted(shelf: Shelf) -> None:
    """A price in pounds on a bench of euros: named, not added."""
    foreign = replace(MESH, price=Price(amount=20.0, currency="GBP", per_area=1.0))
    whole = cost_per_electrode(cost_lines(DOSES, shelf, 4, mesh=foreign, area=1e-3), "EUR")
    assert whole.value is None
    assert "GBP" in (whole.reason or "")
    assert whole.lower_bound == pytest.approx(0.051)
