"""An invented shelf with everything a mix can meet: dishes, a label, a plasticiser, damp powders."""

from __future__ import annotations

import pytest

from aerode.measure.mix.lots import Shelf
from aerode.measure.mix.weighing import Scale
from aerode.quantities import Basis, Quantity
from aerode.records.marks import Entry, Share
from aerode.records.materials import Dish, Function, PowderLot, Price, Solution, SolventLot

GRAM = 1e-3


def _published(value: float) -> Quantity:
    return Quantity(value=value, unit="kg/m^3", standard_uncertainty=0.03 * value,
                    basis=Basis.PUBLISHED, source="handbook")  # fmt: skip


@pytest.fixture
def scale() -> Scale:
    """A kitchen scale of 0.01 g, ±0.02 g."""
    return Scale.from_text("0.01 g")


@pytest.fixture
def fine_scale() -> Scale:
    """A scale so fine that it adds nothing to speak of."""
    return Scale(name="fine", resolution=1e-9, limit_of_error=0.0)


@pytest.fixture
def shelf() -> Shelf:
    """Two carbons, a catalyst, PVB in ethanol with dishes, a wax emulsion with a label, ethanol."""
    powders = [
        PowderLot(
            name="biochar A", substance="biochar", function=Function.ACTIVE_CARBON,
            moisture=Entry(value=0.07, standard_uncertainty=0.02),
            oil_absorption=Entry(value=1.0e-3, standard_uncertainty=1e-4),
            largest_grain=Entry(value=90e-6), price=Price(amount=2.0, per_mass=1.0),
        ),
        PowderLot(
            name="lamp black", substance="carbon black", function=Function.CONDUCTOR,
            moisture=Entry(value=0.01, standard_uncertainty=0.005),
            oil_absorption=Entry(value=1.2e-3, standard_uncertainty=1e-4),
            largest_grain=Entry(value=1e-6), price=Price(amount=12.0, per_mass=0.5),
        ),
        PowderLot(
            name="magnetite", substance="magnetite", function=Function.CATALYST,
            moisture=Entry(value=0.004, standard_uncertainty=0.002),
            assay=Entry(value=0.96, standard_uncertainty=0.01),
            water_soluble=Entry(value=0.031, standard_uncertainty=0.003),
            oil_absorption=Entry(value=2.2e-4, standard_uncertainty=3e-5),
            largest_grain=Entry(value=2e-6), price=Price(amount=9.0, per_mass=0.25),
        ),
    ]  # fmt: skip
    dishes = tuple(
        Dish(empty=2 * GRAM, wet=12 * GRAM, dried=(2 + dry) * GRAM) for dry in (1.21, 1.26, 1.25)
    )
    solutions = [
        Solution(
            name="PVB solution", polymer="PVB", liquid=(Share(of="ethanol", fraction=1.0),),
            dishes=dishes, label_solids=Entry(value=0.15), density=Entry(value=830.0),
            plasticiser=Entry(value=0.26, standard_uncertainty=0.03),
            plasticiser_substance="diester", price=Price(amount=4.0, per_mass=0.5),
        ),
        Solution(
            name="wax emulsion", polymer="beeswax", function=Function.WET_PROOFER, dispersed=True,
            liquid=(Share(of="water", fraction=1.0),),
            solids=Entry(value=0.30, standard_uncertainty=0.01),
            price=Price(amount=5.0, per_mass=0.25),
        ),
    ]  # fmt: skip
    solvents = [
        SolventLot(
            name="bottle 1",
            substance="ethanol",
            density=Entry(value=789.0, standard_uncertainty=2.0),
            price=Price(amount=6.0, per_volume=1e-3),
        )
    ]
    figures = {"biochar": 1650.0, "carbon black": 1860.0, "magnetite": 5170.0, "PVB": 1083.0,
               "beeswax": 960.0, "diester": 1000.0}  # fmt: skip
    return Shelf.of(
        powders,
        solutions,
        solvents,
        densities={name: _published(value) for name, value in figures.items()},
    )
