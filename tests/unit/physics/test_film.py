"""The dry film by weighing: porosity, thickness, wet coats, mesh."""

from __future__ import annotations

import math

import numpy as np
import pytest

from aerode.errors import RangeError
from aerode.physics.film import (
    dry_loading_of_wet_coat,
    film_porosity,
    film_porosity_uncertainty,
    film_thickness,
    grain_split,
    mesh_open_area,
    slurry_density,
    solid_thickness,
)

LOADINGS, DENSITIES = [0.16, 0.05, 0.04], [2000.0, 5000.0, 1100.0]


def test_porosity_by_hand() -> None:
    """Volumes on one square metre, worked by hand: 126.36 µm of solid in 400 µm."""
    solid = 0.16 / 2000 + 0.05 / 5000 + 0.04 / 1100
    assert film_porosity(LOADINGS, DENSITIES, 4e-4) == pytest.approx(1 - solid / 4e-4, rel=1e-13)


def test_mesh_is_not_film_and_not_void() -> None:
    """A mesh of 0.4 kg/m² steel takes 50 µm from the thickness, no more and no less."""
    bare = film_porosity(LOADINGS, DENSITIES, 4e-4)
    meshed = film_porosity(LOADINGS, DENSITIES, 4.5e-4, mesh_loading=0.4, mesh_density=8000.0)
    assert meshed == pytest.approx(bare, rel=1e-12)


def test_thickness_and_porosity_are_each_others_inverse() -> None:
    """film_thickness(film_porosity(t)) = t."""
    porosity = film_porosity(LOADINGS, DENSITIES, 3.3e-4)
    assert film_thickness(LOADINGS, DENSITIES, porosity) == pytest.approx(3.3e-4, rel=1e-12)


def test_porosity_uncertainty_equals_a_draw() -> None:
    """First order against 200,000 draws (JCGM 101): 1 % apart at most at these small spreads."""
    dice = np.random.default_rng(11)
    thickness = dice.normal(4e-4, 1.2e-5, 200_000)
    scale = dice.normal(1.0, 0.02, 200_000)
    drawn = 1 - scale * solid_thickness(LOADINGS, DENSITIES) / thickness
    porosity = film_porosity(LOADINGS, DENSITIES, 4e-4)
    first_order = film_porosity_uncertainty(porosity, 4e-4, 1.2e-5, 0.02)
    assert first_order == pytest.approx(float(drawn.std()), rel=0.01)


@pytest.mark.parametrize("slip", [1e-3, 0.1, 100.0])
def test_slips_of_units_are_refused(slip: float) -> None:
    """A thickness typed in the wrong unit gives a porosity that no film has."""
    with pytest.raises(RangeError, match=r"porosity|thick"):
        film_porosity(LOADINGS, DENSITIES, 4e-4 * slip)


def test_mesh_thicker_than_the_piece_is_refused() -> None:
    """A mesh that takes all the thickness leaves no film."""
    with pytest.raises(RangeError, match="mesh alone"):
        film_porosity(LOADINGS, DENSITIES, 4e-5, mesh_loading=0.8, mesh_density=8000.0)


def test_split_adds_up() -> None:
    """Voids between grains and pores within them add up to the whole."""
    between, within = grain_split(0.68, 0.16, 6e-4, 3.5e-4)
    assert between + within == pytest.approx(0.68, rel=1e-14)
    assert within == pytest.approx(0.16 * 6e-4 / 3.5e-4)


def test_water_and_ethanol_side_by_side() -> None:
    """Equal volumes of 1000 and 800 kg/m³ give 900 kg/m³ when nothing shrinks."""
    assert slurry_density([1.0, 0.8], [1000.0, 800.0]) == pytest.approx(900.0)


def test_wet_coat_by_hand() -> None:
    """200 µm of a 1000 kg/m³ slurry of 25 % solids leaves 50 g/m²."""
    assert dry_loading_of_wet_coat(2e-4, 1000.0, 0.25) == pytest.approx(0.05)


def test_open_area_by_hand() -> None:
    """Wire a fifth of the pitch leaves (4/5)² open."""
    assert mesh_open_area(5e-4, 1e-4) == pytest.approx(0.64)


@pytest.mark.parametrize(
    "call",
    [
        lambda: solid_thickness([], []),
        lambda: solid_thickness([0.1], [1.0, 2.0]),
        lambda: solid_thickness([-0.1], [1000.0]),
        lambda: solid_thickness([0.1], [0.0]),
        lambda: solid_thickness([math.nan], [1000.0]),
        lambda: film_porosity([0.1], [1000.0], 0.0),
        lambda: film_thickness([0.1], [1000.0], 1.0),
        lambda: film_porosity_uncertainty(0.5, 0.0, 1e-5, 0.1),
        lambda: film_porosity_uncertainty(0.5, 1e-4, -1e-5, 0.1),
        lambda: slurry_density([0.0], [1000.0]),
        lambda: dry_loading_of_wet_coat(1e-4, 1000.0, 1.2),
        lambda: dry_loading_of_wet_coat(1e-4, 1000.0, 0.2, 1.2),
        lambda: dry_loading_of_wet_coat(0.0, 1000.0, 0.2),
        lambda: grain_split(0.1, 0.2, 1e-3, 3e-4),
        lambda: mesh_open_area(1e-4, 1e-4),
    ],
)
def test_impossible_numbers_are_refused(call: object) -> None:
    """Every number outside its range is refused with what is allowed."""
    with pytest.raises(RangeError) as refusal:
        call()  # type: ignore[operator]
    assert refusal.value.allowed
