"""What each lot dries to, and how a name that is not there is refused."""

from __future__ import annotations

from dataclasses import replace

import pytest

from aerode.errors import InputError, NotFoundError, RangeError
from aerode.measure.mix.lots import Shelf
from aerode.measure.mix.weighing import Scale
from aerode.quantities import Basis
from aerode.records.marks import Entry, Share
from aerode.records.materials import Function, PowderLot, Solution, SolventLot
from aerode.records.mixes import Ingredient


def test_measured_moisture_stands(shelf: Shelf) -> None:
    """7 ± 2 % stays what it is."""
    powder = shelf.powder("biochar A")
    assert powder.dry_share == pytest.approx(0.93)
    assert powder.moisture.standard_uncertainty == 0.02
    assert powder.moisture.basis is Basis.MEASURED


def test_unmeasured_moisture_is_a_band_and_says_so() -> None:
    """An undried active carbon gets the band of its kind, marked as assumed."""
    lot = PowderLot(name="char", substance="biochar", function=Function.ACTIVE_CARBON)
    powder = Shelf.of([lot]).powder("char")
    assert powder.moisture.value == pytest.approx(0.15)
    assert powder.moisture.basis is Basis.ASSUMED
    assert any("5 to 25 % assumed" in note for note in powder.notes)


def test_a_carbon_is_assumed_damper_than_an_oxide() -> None:
    """Classes differ: an oxide holds little water."""
    oxide = PowderLot(name="ox", substance="magnetite", function=Function.CATALYST)
    assert Shelf.of([oxide]).powder("ox").moisture.value == pytest.approx(0.01)


@pytest.mark.parametrize("typed", [1.2, 7.0, -0.1])
def test_moisture_outside_0_to_1_is_refused(typed: float) -> None:
    """A moisture of 7 is a slip of per cent, and the refusal says so."""
    lot = PowderLot(name="char", substance="biochar", function=Function.ACTIVE_CARBON,
                    moisture=Entry(value=typed))  # fmt: skip
    with pytest.raises(RangeError) as refusal:
        Shelf.of([lot]).powder("char")
    assert ("per cent" in refusal.value.what) == (typed > 1)


def test_all_water_is_refused() -> None:
    """A moisture of exactly 1 leaves nothing dry."""
    lot = PowderLot(name="ice", substance="water", function=Function.PORE_FORMER,
                    moisture=Entry(value=1.0))  # fmt: skip
    with pytest.raises(RangeError, match="nothing dry"):
        Shelf.of([lot]).powder("ice")


def test_dishes_beat_the_label(shelf: Shelf, scale: Scale) -> None:
    """Dried dishes say 12.4 %, the label 15 %: the dishes stand."""
    solved = shelf.solution("PVB solution", scale)
    assert solved.solids.value == pytest.approx(0.124)
    assert solved.solids.basis is Basis.MEASURED


def test_entered_solids_beat_the_label(shelf: Shelf, scale: Scale) -> None:
    """A solids fraction that was entered needs no label."""
    assert shelf.solution("wax emulsion", scale).solids.value == 0.30


def test_label_alone_is_marked_as_assumed(scale: Scale) -> None:
    """Nothing measured: the label, wide, and said so."""
    lot = Solution(name="glue", polymer="PVB", label_solids=Entry(value=0.15))
    solved = Shelf.of(solutions=[lot]).solution("glue", scale)
    assert solved.solids.basis is Basis.ASSUMED
    assert solved.solids.standard_uncertainty == pytest.approx(0.15 * 0.2 / 3**0.5)
    # 0.15·0.2/√3 = 1.7 %, as the page of the solution writes it; no second error beside it
    assert "glue: solids not measured; the label's 15.0 ± 1.7 % are taken; dry three dishes" in solved.notes  # fmt: skip


def test_nothing_known_of_the_solids_is_refused(scale: Scale) -> None:
    """No dishes, no figure, no label: the refusal says to dry dishes."""
    lot = Solution(name="glue", polymer="PVB")
    with pytest.raises(InputError) as refusal:
        Shelf.of(solutions=[lot]).solution("glue", scale)
    assert "three dishes" in refusal.value.next_step


def test_a_solution_without_solids_is_a_solvent(scale: Scale) -> None:
    """0 % solids belongs on another shelf."""
    lot = Solution(name="glue", polymer="PVB", solids=Entry(value=0.0))
    with pytest.raises(RangeError, match="solvent"):
        Shelf.of(solutions=[lot]).solution("glue", scale)


def test_liquids_that_do_not_add_up(scale: Scale) -> None:
    """Above 1 is refused; below 1 the rest is a liquid without a name."""
    parts = (Share(of="ethanol", fraction=0.6), Share(of="water", fraction=0.3))
    lot = Solution(name="glue", polymer="PVB", solids=Entry(value=0.1), liquid=parts)
    solved = Shelf.of(solutions=[lot]).solution("glue", scale)
    assert solved.liquids[-1] == ("liquid of glue (not named)", pytest.approx(0.1))
    over = replace(lot, liquid=(*parts, Share(of="acetone", fraction=0.2)))
    with pytest.raises(RangeError, match="add up to"):
        Shelf.of(solutions=[over]).solution("glue", scale)


def test_sheet_plasticiser_is_wide(shelf: Shelf, scale: Scale) -> None:
    """A plasticiser off a sheet describes a class: ±20 % of it, and said so."""
    lot = replace(shelf.solutions["PVB solution"], plasticiser=Entry(value=0.26, published="sheet"))
    solved = replace(shelf, solutions={"PVB solution": lot}).solution("PVB solution", scale)
    assert solved.plasticiser is not None
    assert solved.plasticiser.standard_uncertainty == pytest.approx(0.26 * 0.2 / 3**0.5)
    assert solved.plasticiser.basis is Basis.PUBLISHED


def test_own_density_beats_the_published_one(shelf: Shelf) -> None:
    """A density that was entered stands, without a ± it gets one."""
    lot = replace(shelf.powders["magnetite"], true_density=Entry(value=5000.0))
    powder = replace(shelf, powders={"magnetite": lot}).powder("magnetite")
    assert powder.density is not None
    assert powder.density.value == 5000.0
    assert (powder.density.standard_uncertainty or 0) > 0
    assert powder.density.basis is Basis.MEASURED


@pytest.mark.parametrize(
    ("change", "match"),
    [
        ({"true_density": Entry(value=0.0)}, "density"),
        ({"oil_absorption": Entry(value=-1e-4)}, "oil absorption"),
        ({"assay": Entry(value=96.0)}, "assay"),
        ({"water_soluble": Entry(value=3.1)}, "water-soluble"),
    ],
)
def test_impossible_figures_of_a_lot_are_refused(
    shelf: Shelf, change: dict[str, Entry], match: str
) -> None:
    """Each bad figure is named."""
    lot = replace(shelf.powders["magnetite"], **change)
    with pytest.raises(RangeError, match=match):
        replace(shelf, powders={"magnetite": lot}).powder("magnetite")


def test_a_missing_name_names_its_neighbours(shelf: Shelf) -> None:
    """A slip of the pen is answered with what was meant."""
    with pytest.raises(NotFoundError) as refusal:
        shelf.place_of("biochr A", where="T5")
    assert "'biochar A'" in refusal.value.allowed
    assert refusal.value.where == "T5"


def test_a_name_nothing_like_lists_the_shelf(shelf: Shelf) -> None:
    """With no neighbour, some of what is there; on an empty shelf, that it is empty."""
    with pytest.raises(NotFoundError) as refusal:
        shelf.powder("zzz")
    assert "'magnetite'" in refusal.value.allowed
    with pytest.raises(NotFoundError) as refusal:
        Shelf.of().solvent("ethanol")
    assert "empty" in refusal.value.allowed


def test_one_name_on_two_shelves_must_be_said(shelf: Shelf) -> None:
    """A name that means two things is refused with both ways to say it."""
    twice = replace(shelf, solvents={"magnetite": SolventLot(name="magnetite", substance="x")})
    with pytest.raises(InputError) as refusal:
        twice.place_of("magnetite")
    assert "powder:magnetite" in refusal.value.allowed
    assert shelf.place_of("bottle 1") is Ingredient.SOLVENT
