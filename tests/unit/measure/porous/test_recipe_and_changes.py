"""From a recipe to the model by its plain formulas, and what each change does to the recipe."""

from __future__ import annotations

import math

import numpy as np
import pytest

from aerode.errors import CannotTellError
from aerode.measure.porous.bands import Band
from aerode.measure.porous.changes import changed, read_change
from aerode.measure.porous.recipe import FIELDS, Layer, input_units, model_columns, model_of
from aerode.quantities import Basis

VALUES = {
    "thickness": 5e-4, "porosity": 0.6, "saturation": 0.4, "extra tortuosity": 1.5, "gas exponent": 2.0,
    "wetted-area exponent": 0.5, "film exponent": 1.0, "binder cover exponent": 1.0,
    "pressed black": 300.0, "pressed carbon": 10.0, "percolation threshold": 0.05,
    "percolation exponent": 2.0, "grain radius": 1e-6, "grain diffusivity ratio": 0.2,
    "grain share": 0.4, "film transfer": 300.0, "exchange current": 1e-3, "tafel slope": 0.1,
    "electrons": 3.0, "still air": 5e-3, "binder share": 0.2, "conductor share": 0.2,
    "carbon share": 0.6, "liquid conductivity": 5.0, "dissolved oxygen": 0.22,
    "dissolved diffusivity": 1.9e-9, "oxygen in air": 8.5, "air diffusivity": 2e-5,
}  # fmt: skip


def values() -> dict[str, np.ndarray]:
    """One draw of every input."""
    return {name: np.array([value]) for name, value in VALUES.items()}


def layer() -> Layer:
    """A layer of these inputs, its binder a quarter of the mass."""
    bands = {n: Band.fixed(v, "", Basis.ASSUMED, "test") for n, v in VALUES.items()}
    return Layer(
        item="L", kind="electrode", bands=bands, binder_mass_share=0.25, conductor_mass_share=0.2,
        liquid="salt", temperature=298.15, liquid_conductivity=5.0, assumptions=(),
    )  # fmt: skip


def test_the_formulas_by_hand() -> None:
    """Every number of the model from scalar formulas written out once more."""
    made = model_columns(values(), values())
    v = VALUES
    powder = 0.4 * 0.8
    black, every = powder * 0.2 / 0.8, powder * 0.8 / 0.8
    solid = 300.0 * ((black - 0.05) / 0.95) ** 2 + 10.0 * ((every - 0.05) / 0.95) ** 2
    expected = {
        "thickness": 5e-4,
        "ionic_conductivity": 5.0 * (0.6 * 0.4) ** 1.5 / 1.5,
        "electronic_conductivity": solid,
        "gas_diffusivity": 2e-5 * 0.6**1.5 * 0.6**2 / 1.5,
        "oxygen_air": 8.5,
        "air_film": 5e-3,
        "henry_liquid_per_gas": 0.22 / 8.5,
        "agglomerate_radius": 1e-6,
        "agglomerate_diffusivity": 0.2 * v["dissolved diffusivity"],
        "agglomerate_fraction": 0.4,
        "film_transfer": 300.0,
        "exchange_current": 1e-3 / 5e-4,
        "reference_oxygen": 0.22,
        "tafel_slope": 0.1 / math.log(10.0),
        "electrons": 3.0,
    }
    assert tuple(expected) == FIELDS
    for name, value in expected.items():
        assert float(made[name][0]) == pytest.approx(value, rel=1e-12), name
    assert model_of(made).thickness == 5e-4
    assert set(input_units()) < set(VALUES) | {"thickness"}


@pytest.mark.parametrize(
    ("text", "name", "expected"),
    [
        ("thickness +200 um", "thickness", 7e-4),
        ("thickness -20 %", "thickness", 4e-4),
        ("thickness 0,3 mm", "thickness", 3e-4),
        ("saturation 50 %", "saturation", 0.5),
        ("saturation x0.5", "saturation", 0.2),
        ("porosity 50 %", "thickness", 5e-4 * 0.4 / 0.5),
        ("conduction x3", "conduction", 3.0),
        ("still air 1 mm", "still air", 1e-3),
    ],
)
def test_how_a_change_is_read(text: str, name: str, expected: float) -> None:
    """A step, a share of itself, a factor, a new value."""
    after = changed(values(), layer(), (read_change(text),))

    assert float(after[name][0]) == pytest.approx(expected)


def test_binder_takes_of_the_voids() -> None:
    """More binder on the same grains: volumes kept by hand, and refused where the voids are full."""
    after = changed(values(), layer(), (read_change("binder +20 %"),))
    # mass share 0.25 -> 0.30: binder mass over all other mass grows by (0.3/0.7)/(0.25/0.75)
    grown = (0.3 / 0.7) / (0.25 / 0.75)
    grains, binder = 0.4 * 0.8, 0.4 * 0.2 * grown

    assert float(after["porosity"][0]) == pytest.approx(1.0 - grains - binder)
    assert float(after["binder share"][0]) == pytest.approx(binder / (grains + binder))
    solid = 1.0 - after["porosity"]
    assert float((solid * after["carbon share"])[0]) == pytest.approx(0.4 * 0.6)
    with pytest.raises(CannotTellError, match="fills the voids"):
        changed(values(), layer(), (read_change("binder 75 %"),))


def test_conductor_keeps_all_other_masses() -> None:
    """More conductor: shares renormalise, the others keep their ratio."""
    after = changed(values(), layer(), (read_change("conductor +20 %"),))
    shares = [float(after[f"{name} share"][0]) for name in ("binder", "conductor", "carbon")]

    assert sum(shares) == pytest.approx(1.0)
    assert shares[0] / shares[2] == pytest.approx(0.2 / 0.6)
    assert shares[1] > 0.2


def test_changes_leave_the_draws_alone() -> None:
    """The state before is not touched."""
    before = values()
    changed(before, layer(), (read_change("thickness +200 um"), read_change("binder +20 %")))

    assert {n: float(v[0]) for n, v in before.items()} == VALUES
