"""What wet portions dry to: by hand, by draws, and with the traps of the trade."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from aerode.errors import InputError, NotFoundError, RangeError
from aerode.measure.mix.composition import DryModel, compose
from aerode.measure.mix.lots import Shelf
from aerode.measure.mix.pot import fill
from aerode.measure.mix.weighing import Scale
from aerode.quantities import Basis
from aerode.records.marks import Entry
from aerode.records.materials import Function, PowderLot, Solution, SolventLot
from aerode.records.mixes import Ingredient, Portion

GRAM = 1e-3


def _mass(of: str, grams: float, shelf: Ingredient = Ingredient.POWDER, **more: float) -> Portion:
    return Portion(of=of, shelf=shelf, mass=Entry(value=grams * GRAM, **more))  # type: ignore[arg-type]


PORTIONS = (
    _mass("biochar A", 6.0),
    _mass("lamp black", 2.1),
    _mass("magnetite", 0.9),
    _mass("PVB solution", 12.0, Ingredient.SOLUTION),
    _mass("wax emulsion", 1.4, Ingredient.SOLUTION),
    _mass("bottle 1", 9.0, Ingredient.SOLVENT),
)


def test_masses_by_hand(shelf: Shelf, scale: Scale) -> None:
    """Moisture off the powders, solids out of the solutions, plasticiser apart."""
    found = compose(PORTIONS, shelf, scale)
    by_hand = {
        "biochar A|active carbon": 6.0 * 0.93,
        "lamp black|conductor": 2.1 * 0.99,
        "magnetite|catalyst": 0.9 * 0.996,
        "PVB solution|binder": 12.0 * 0.124 * 0.74,
        "PVB solution|plasticiser": 12.0 * 0.124 * 0.26,
        "wax emulsion|wet-proofer": 1.4 * 0.30,
    }
    for key, grams in by_hand.items():
        assert found.value("mass", key) == pytest.approx(grams * GRAM, rel=1e-12)
    dry = sum(by_hand.values()) * GRAM
    assert found.value("dry") == pytest.approx(dry, rel=1e-12)
    assert found.value("solids") == pytest.approx(dry / (31.4 * GRAM), rel=1e-12)


def test_liquids_by_substance(shelf: Shelf, scale: Scale) -> None:
    """Ethanol of the solution and of the bottle are one; water comes from powders and emulsion."""
    found = compose(PORTIONS, shelf, scale)
    assert found.value("liquid", "ethanol") == pytest.approx((12 * 0.876 + 9.0) * GRAM)
    water = 6.0 * 0.07 + 2.1 * 0.01 + 0.9 * 0.004 + 1.4 * 0.70
    assert found.value("liquid", "water") == pytest.approx(water * GRAM)
    assert found.value("lost") == pytest.approx(
        sum(found.value("liquid", name) for name in found.liquids)
    )


def test_binder_is_17_per_cent_low_if_the_label_is_believed(
    shelf: Shelf, scale: Scale, fine_scale: Scale
) -> None:
    """12.4 % solids taken for the label's 15 %: the binder in the film is 17 % short."""
    wet = 0.15 * 10.0 / 0.15  # what the label says gives 1.5 g dry in 10 g of film
    portions = (_mass("biochar A", 8.5 / 0.93), _mass("PVB solution", wet, Ingredient.SOLUTION))
    found = compose(portions, shelf, scale)
    binder = found.value("mass", "PVB solution|binder") + found.value(
        "mass", "PVB solution|plasticiser"
    )
    assert binder / (1.5 * GRAM) - 1.0 == pytest.approx(-0.173, abs=0.001)


def test_plasticiser_is_not_polymer(shelf: Shelf, scale: Scale) -> None:
    """26 % of what looks like binder is plasticiser."""
    found = compose(PORTIONS, shelf, scale)
    polymer = found.value("fraction", "PVB solution|binder")
    soft = found.value("fraction", "PVB solution|plasticiser")
    assert soft / (polymer + soft) == pytest.approx(0.26, rel=1e-12)


def test_shares_add_up_and_so_do_their_errors(shelf: Shelf, scale: Scale) -> None:
    """Shares by mass and by volume add up to 1, and their covariance rows to 0."""
    found = compose(PORTIONS, shelf, scale)
    for kind in ("fraction", "volume"):
        at = [found.places[kind, part.key] for part in found.parts]
        assert sum(found.carried.values[at]) == pytest.approx(1.0, rel=1e-13)
        for covariance in (found.carried.covariance_apart, found.carried.covariance_alike):
            block = covariance[np.ix_(at, at)]
            assert np.allclose(block.sum(axis=1), 0.0, atol=1e-12 * np.abs(block).max())


@pytest.mark.parametrize("alike", [False, True])
def test_first_order_equals_draws(shelf: Shelf, scale: Scale, alike: bool) -> None:
    """Every uncertainty against 60,000 joint draws of all inputs (JCGM 101), to 4 %.

    Drawn with one error common to all weighings and with an error for each. 4 %: 0.3 % is the
    chance error of the draws, the rest the bend of quotients at spreads of up to 20 %.
    """
    pot = fill(PORTIONS, shelf, scale, where="", exact=False)
    model = DryModel(pot)
    covariance = pot.inputs.covariance(scale_errs_alike=alike)
    dice = np.random.default_rng(5)
    root = np.linalg.eigh(covariance)
    factor = root.eigenvectors * np.sqrt(np.clip(root.eigenvalues, 0.0, None))
    draws = pot.inputs.vector[:, None] + factor @ dice.standard_normal((len(factor), 60_000))
    drawn = np.asarray(model(draws), dtype=np.float64)
    carried = compose(PORTIONS, shelf, scale).carried
    first = np.sqrt(np.diag(carried.covariance_alike if alike else carried.covariance_apart))
    for place, key in enumerate(model.places):
        assert first[place] == pytest.approx(float(drawn[place].std()), rel=0.04), key
        middle = float(drawn[place].mean())
        assert middle == pytest.approx(carried.values[place], abs=0.15 * first[place]), key


def test_stated_uncertainty_is_the_wider_reading(shelf: Shelf, scale: Scale) -> None:
    """A scale that errs alike or apart: whichever is worse for each figure."""
    found = compose(PORTIONS, shelf, scale)
    for place in found.places.values():
        apart = found.carried.covariance_apart[place, place]
        alike = found.carried.covariance_alike[place, place]
        assert found.carried.uncertainty(place) ** 2 == pytest.approx(max(apart, alike))


def test_a_common_error_of_the_scale_adds_up_in_the_total(shelf: Shelf, scale: Scale) -> None:
    """Six weighings off by the same amount: the wet total is off by six times that."""
    found = compose(PORTIONS, shelf, scale)
    place = found.places[("wet",)]
    alike = found.carried.covariance_alike[place, place]
    by_hand = (6 * scale.limit_uncertainty) ** 2 + 6 * 2 * scale.reading_uncertainty**2
    assert alike == pytest.approx(by_hand, rel=1e-9)


def test_one_solution_in_two_portions_is_one_uncertain_figure(
    shelf: Shelf, fine_scale: Scale
) -> None:
    """Splitting a portion of a solution changes nothing, since its solids are one variable."""
    whole = (_mass("biochar A", 6.0), _mass("PVB solution", 12.0, Ingredient.SOLUTION))
    split = (
        _mass("biochar A", 6.0),
        _mass("PVB solution", 5.0, Ingredient.SOLUTION),
        _mass("PVB solution", 7.0, Ingredient.SOLUTION),
    )
    one, two = (compose(p, shelf, fine_scale) for p in (whole, split))
    assert one.parts == two.parts
    for key in one.places:
        assert two.value(*key) == pytest.approx(one.value(*key), rel=1e-12)
        # the fine scale still adds its two nanogram steps to each weighing
        assert two.uncertainty(*key) == pytest.approx(one.uncertainty(*key), rel=1e-6, abs=1e-7)


def test_typed_uncertainty_replaces_the_scales(shelf: Shelf, scale: Scale) -> None:
    """A portion typed with ± keeps that, whatever the scale."""
    portions = (_mass("biochar A", 6.0, standard_uncertainty=0.5 * GRAM),)
    found = compose(portions, shelf, scale)
    by_hand = 6.0 * GRAM * 0.93 * np.hypot(0.5 / 6.0, 0.02 / 0.93)
    assert found.uncertainty("dry") == pytest.approx(float(by_hand), rel=1e-9)


def test_poured_equals_weighed(shelf: Shelf, scale: Scale) -> None:
    """10 mL at 830 kg/m³ is 8.3 g; without ± the volume is taken wide and said so."""
    poured = Portion(of="PVB solution", shelf=Ingredient.SOLUTION, volume=Entry(value=10e-6))
    found = compose((_mass("biochar A", 6.0), poured), shelf, scale)
    assert found.value("wet") == pytest.approx(14.3 * GRAM)
    assert any("volume without ±" in note for note in found.notes)


def test_assay_and_soluble_part_of_the_dry_powder(shelf: Shelf, scale: Scale) -> None:
    """Assay and water-soluble part count on the dry mass."""
    found = compose(PORTIONS, shelf, scale)
    dry = 0.9 * 0.996 * GRAM
    assert found.value("assay", "magnetite") == pytest.approx(0.96 * dry)
    assert found.value("soluble", "magnetite") == pytest.approx(0.031 * dry)
    assert ("assay", "biochar A") not in found.places


def test_volumes_and_critical_volume_by_hand(shelf: Shelf, scale: Scale) -> None:
    """Two parts, worked by hand: PVC, CPVC, and voids = 1 - CPVC/PVC."""
    found = compose(
        (_mass("magnetite", 5.0), _mass("wax emulsion", 2.0, Ingredient.SOLUTION)), shelf, scale
    )
    grain, wax = 5.0 * 0.996 / 5170.0, 2.0 * 0.30 / 960.0
    pvc, cpvc = grain / (grain + wax), 1 / (1 + 2.2e-4 * 5170.0)
    assert found.value("pigment") == pytest.approx(pvc, rel=1e-12)
    assert found.value("critical") == pytest.approx(cpvc, rel=1e-12)
    assert found.value("voids") == pytest.approx(1 - cpvc / pvc, rel=1e-12)
    assert found.value("volume", "magnetite|catalyst") == pytest.approx(pvc, rel=1e-12)


def test_unknown_density_takes_only_the_volumes_away(shelf: Shelf, scale: Scale) -> None:
    """Without a density for one substance shares by mass stand, shares by volume do not."""
    bare = replace(shelf, densities={k: v for k, v in shelf.densities.items() if k != "beeswax"})
    found = compose(PORTIONS, bare, scale)
    assert found.missing["density"] == ("beeswax",)
    assert ("pigment",) not in found.places
    assert ("fraction", "wax emulsion|wet-proofer") in found.places
    said = found.estimate("pigment", unit="", reason="no density known for beeswax")
    assert said.value is None
    assert said.reason == "no density known for beeswax"


def test_powder_binder_fills_voids_like_a_dissolved_one(shelf: Shelf, scale: Scale) -> None:
    """A PTFE powder stands on the binder's side of the balance."""
    ptfe = PowderLot(name="PTFE", substance="PVB", function=Function.BINDER)
    more = replace(shelf, powders={**shelf.powders, "PTFE": ptfe})
    found = compose((_mass("magnetite", 5.0), _mass("PTFE", 1.0)), more, scale)
    assert [part.of for part in found.grains] == ["magnetite"]
    assert found.value("pigment") < 1.0


def test_binder_alone_has_no_voids_to_tell_of(shelf: Shelf, scale: Scale) -> None:
    """A film without powder has shares and no balance."""
    found = compose((_mass("PVB solution", 5.0, Ingredient.SOLUTION),), shelf, scale)
    assert "powder" in found.missing
    assert ("pigment",) not in found.places


def test_the_weakest_input_gives_the_basis(shelf: Shelf, scale: Scale) -> None:
    """One undried powder makes every share an assumed one, but not its neighbour's mass."""
    lot = replace(shelf.powders["lamp black"], moisture=None)
    damp = replace(shelf, powders={**shelf.powders, "lamp black": lot})
    found = compose(PORTIONS, damp, scale)
    assert found.estimate("fraction", "biochar A|active carbon", unit="").basis is Basis.ASSUMED
    assert found.estimate("mass", "biochar A|active carbon", unit="kg").basis is Basis.MEASURED


@pytest.mark.parametrize(
    ("portions", "error", "match"),
    [
        ((), InputError, "holds nothing"),
        ((_mass("bottle 1", 3.0, Ingredient.SOLVENT),), RangeError, "solvents only"),
        ((_mass("biochar A", 0.0),), RangeError, "portion of 'biochar A'"),
        ((_mass("biochar A", -1.0),), RangeError, "portion of 'biochar A'"),
        ((Portion(of="biochar A", volume=Entry(value=1e-6)),), InputError, "by volume"),
        (
            (Portion(of="wax emulsion", shelf=Ingredient.SOLUTION, volume=Entry(value=1e-6)),),
            InputError,
            "no density is entered",
        ),
        ((_mass("biochar B", 1.0),), NotFoundError, "biochar B"),
        ((_mass("PVB", 1.0, Ingredient.SOLUTION),), NotFoundError, "PVB"),
        ((_mass("ethanol", 1.0, Ingredient.SOLVENT),), NotFoundError, "ethanol"),
    ],
)
def test_impossible_mixes_are_refused(
    shelf: Shelf, scale: Scale, portions: tuple[Portion, ...], error: type[Exception], match: str
) -> None:
    """Nothing in it, nothing dry, no mass, a volume of powder, a name that is not there."""
    with pytest.raises(error, match=match):
        compose(portions, shelf, scale, where="T5")


def test_one_name_for_powder_and_solution_is_refused(shelf: Shelf, scale: Scale) -> None:
    """A mix in which one name means two lots cannot be read."""
    twin = Solution(name="magnetite", polymer="PVB", solids=Entry(value=0.1))
    more = replace(shelf, solutions={**shelf.solutions, "magnetite": twin})
    portions = (_mass("magnetite", 1.0), _mass("magnetite", 1.0, Ingredient.SOLUTION))
    with pytest.raises(InputError, match="both a powder and a solution"):
        compose(portions, more, scale)


def test_solvent_of_unknown_density_can_be_weighed(shelf: Shelf, scale: Scale) -> None:
    """A pure solvent needs a density only where it is poured by volume."""
    more = replace(shelf, solvents={"mystery": SolventLot(name="mystery", substance="mystery")})
    portions = (_mass("biochar A", 1.0), _mass("mystery", 2.0, Ingredient.SOLVENT))
    assert compose(portions, more, scale).value("liquid", "mystery") == pytest.approx(2.0 * GRAM)
