"""Binder against voids, in words and as a porosity."""

from __future__ import annotations

from dataclasses import replace

import pytest

from aerode.measure.mix.balance import binder_fill, closest_critical_volume, voids
from aerode.measure.mix.composition import Composition, compose
from aerode.measure.mix.lots import Shelf
from aerode.measure.mix.weighing import Scale
from aerode.quantities import Basis
from aerode.records.marks import Entry
from aerode.records.mixes import Ingredient, Portion

GRAM = 1e-3


def _film(shelf: Shelf, scale: Scale, char: float, wax: float) -> Composition:
    """Char and wax, dry grams."""
    return compose(
        (
            Portion(of="biochar A", mass=Entry(value=char / 0.93 * GRAM)),
            Portion(
                of="wax emulsion", shelf=Ingredient.SOLUTION, mass=Entry(value=wax / 0.3 * GRAM)
            ),
        ),
        shelf,
        scale,
    )


@pytest.mark.parametrize(
    ("char", "wax", "said"),
    [
        (9.9, 0.1, "little binder, the powder may rub off"),
        (9.5, 0.5, "enough binder, and room for air"),
        (8.0, 2.0, "enough binder: some voids stay open, whether enough"),
        (6.0, 3.0, "a lot of binder"),
        (5.0, 4.6, "perhaps too much binder"),
        (2.0, 8.0, "too much binder, it smothers the powder"),
    ],
)
def test_words(shelf: Shelf, scale: Scale, char: float, wax: float, said: str) -> None:
    """What it means for the maker comes first, from powder that rubs off to a sealed film; the figure second."""
    told = binder_fill(_film(shelf, scale, char, wax))
    assert told.startswith(said)
    assert told.index("powder by volume ") > len(said)


def test_open_film_has_the_porosity_of_the_balance(shelf: Shelf, scale: Scale) -> None:
    """Value and uncertainty of 1 - CPVC/PVC, called predicted and never measured."""
    film = _film(shelf, scale, 9.5, 0.5)
    left = voids(film)
    assert left.value == pytest.approx(film.value("voids"))
    assert left.standard_uncertainty == pytest.approx(film.uncertainty("voids"))
    assert left.basis is Basis.PREDICTED


def test_sealed_film_has_none(shelf: Shelf, scale: Scale) -> None:
    """Binder in excess: exactly no voids."""
    left = voids(_film(shelf, scale, 2.0, 8.0))
    assert (left.value, left.standard_uncertainty) == (0.0, 0.0)


def test_near_the_edge_there_is_an_interval(shelf: Shelf, scale: Scale) -> None:
    """Where 0 is within reach the interval starts at 0 and no ± is given."""
    left = voids(_film(shelf, scale, 5.0, 4.6))
    assert left.standard_uncertainty is None
    assert left.interval_95 is not None
    low, high = left.interval_95
    assert low == 0.0
    assert high > 0.0


def test_missing_density_is_said(shelf: Shelf, scale: Scale) -> None:
    """No density, no balance, and the name of what lacks."""
    film = _film(replace(shelf, densities={}), scale, 5.0, 1.0)
    assert "no density known for biochar, beeswax" in binder_fill(film)
    assert voids(film).value is None


def test_unmeasured_oil_absorption_is_an_assumed_band(shelf: Shelf, scale: Scale) -> None:
    """Nobody rubbed the powder out: a wide band, called assumed."""
    lot = replace(shelf.powders["biochar A"], oil_absorption=None)
    left = voids(_film(replace(shelf, powders={"biochar A": lot}), scale, 9.5, 0.5))
    assert left.basis is Basis.ASSUMED
    assert (left.standard_uncertainty or 0) > 0.04


def test_powder_without_binder_keeps_its_own_voids(shelf: Shelf, scale: Scale) -> None:
    """No binder at all: PVC is 1 and the voids are those of the rubbed-out powder."""
    film = compose((Portion(of="magnetite", mass=Entry(value=5 * GRAM)),), shelf, scale)
    assert film.value("pigment") == pytest.approx(1.0)
    assert film.value("voids") == pytest.approx(1.0 - film.value("critical"))


def test_closest_packing_of_two_powders_by_hand(shelf: Shelf, scale: Scale) -> None:
    """Char with fine black between its grains: Furnas' limit over the two."""
    film = compose(
        (
            Portion(of="lamp black", mass=Entry(value=1 / 0.99 * GRAM)),
            Portion(of="biochar A", mass=Entry(value=9 / 0.93 * GRAM)),
        ),
        shelf,
        scale,
    )
    coarse, fine = 9 / 1650.0, 1 / 1860.0
    x = coarse / (coarse + fine)
    packed = max((1 + 1e-3 * 1650) * x, x + (1 + 1.2e-3 * 1860) * (1 - x))
    assert closest_critical_volume(film, shelf) == pytest.approx(1 / packed, rel=1e-9)
    assert (closest_critical_volume(film, shelf) or 0) > film.value("critical")


def test_closest_packing_needs_two_sizes(shelf: Shelf, scale: Scale) -> None:
    """One powder, or a grain size that is not known: no bound."""
    assert closest_critical_volume(_film(shelf, scale, 5.0, 1.0), shelf) is None
    lot = replace(shelf.powders["magnetite"], largest_grain=None)
    bare = replace(shelf, powders={**shelf.powders, "magnetite": lot})
    portions = [Portion(of=n, mass=Entry(value=GRAM)) for n in ("biochar A", "magnetite")]
    assert closest_critical_volume(compose(portions, bare, scale), bare) is None
