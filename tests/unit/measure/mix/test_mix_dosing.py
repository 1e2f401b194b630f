"""The way back: wanted shares to wet doses, solvents, the sheet."""

from __future__ import annotations

from dataclasses import replace

import pytest

from aerode.errors import InputError, NotFoundError, RangeError
from aerode.measure.mix.composition import compose
from aerode.measure.mix.dosing import (
    DoseRequest,
    doses_for,
    portions_of,
    wanted_shares,
    with_solvents,
)
from aerode.measure.mix.lots import Shelf
from aerode.measure.mix.sheet import dose_sheet
from aerode.measure.mix.weighing import Scale
from aerode.records.doses import DoseSheet
from aerode.records.marks import Entry, Share
from aerode.records.materials import Solution
from aerode.records.mixes import Ingredient, Mix, Portion

GRAM = 1e-3
WANTED = (
    Share(of="biochar A", fraction=0.53),
    Share(of="lamp black", fraction=0.20),
    Share(of="magnetite", fraction=0.08),
    Share(of="PVB solution", fraction=0.15),
    Share(of="wax emulsion", fraction=0.04),
)
T5 = Mix(name="T5", wanted=WANTED)


def _request(scale: Scale, **more: float) -> DoseRequest:
    plain = {"area": 9e-4, "loading": 0.25, "electrodes": 8, "spare": 0.15} | more
    return DoseRequest(scale=scale, **plain)  # type: ignore[arg-type]


def _sheet(mix: Mix, shelf: Shelf, request: DoseRequest) -> DoseSheet:
    shares = wanted_shares(mix, shelf, request.scale)
    doses = doses_for(shares, request.dry_mass, shelf, request.scale)
    doses, shelf = with_solvents(doses, mix, shelf, request.dry_mass, request.solids_fraction)
    return dose_sheet(doses, shares, shelf, request)[0]


def test_dry_mass_by_hand(scale: Scale) -> None:
    """8 electrodes of 9 cm² at 25 mg/cm² with 15 % spare: 2.07 g."""
    assert _request(scale).dry_mass == pytest.approx(2.07 * GRAM)


def test_wet_doses_by_hand(shelf: Shelf, scale: Scale) -> None:
    """Dry over what is dry of it: damp char, dissolved binder."""
    doses = {
        d.of: d.mass / GRAM for d in doses_for(wanted_shares(T5, shelf, scale), 0.01, shelf, scale)
    }
    assert doses["biochar A"] == pytest.approx(5.3 / 0.93)
    assert doses["PVB solution"] == pytest.approx(1.5 / 0.124)
    assert doses["wax emulsion"] == pytest.approx(0.4 / 0.30)


def test_solids_fraction_gives_the_solvent(shelf: Shelf, scale: Scale) -> None:
    """Dry over wet becomes what was asked, with the bottle of the binder's liquid."""
    shares = wanted_shares(T5, shelf, scale)
    doses = doses_for(shares, 0.01, shelf, scale)
    doses, shelf = with_solvents(doses, T5, shelf, 0.01, 0.18)
    assert doses[-1].of == "bottle 1"
    found = compose(portions_of(doses), shelf, scale)
    assert found.value("solids") == pytest.approx(0.18, rel=1e-12)


def test_a_solids_fraction_out_of_reach_names_the_reachable_one(shelf: Shelf, scale: Scale) -> None:
    """No liquid can be taken out of a solution: the refusal says how thick it can be."""
    doses = doses_for(wanted_shares(T5, shelf, scale), 0.01, shelf, scale)
    reachable = 0.01 / sum(d.mass for d in doses)
    with pytest.raises(RangeError) as refusal:
        with_solvents(doses, T5, shelf, 0.01, 0.9)
    assert f"{100 * reachable:.1f} %" in refusal.value.allowed
    exact, _ = with_solvents(doses, T5, shelf, 0.01, reachable)
    assert len(exact) == len(doses)


def test_liquid_that_stands_on_no_shelf(shelf: Shelf, scale: Scale) -> None:
    """Without a bottle, the liquid of the solution is named and marked as not at hand."""
    bare = replace(shelf, solvents={})
    sheet = _sheet(T5, bare, _request(scale, solids_fraction=0.15))
    line = next(line for line in sheet.lines if line.shelf == "solvent")
    assert line.of == "ethanol"
    assert "not on the shelf" in line.how
    assert sheet.solids_fraction == pytest.approx(0.15, abs=0.002)


def test_nothing_to_thin_with_is_refused(shelf: Shelf, scale: Scale) -> None:
    """Powders alone and no bottle."""
    mix = Mix(name="dry", wanted=(Share(of="magnetite", fraction=1.0),))
    doses = doses_for(wanted_shares(mix, shelf, scale), 0.01, shelf, scale)
    with pytest.raises(InputError, match="nothing to thin"):
        with_solvents(doses, mix, shelf, 0.01, 0.3)


@pytest.mark.parametrize("solids", [0.0, -0.1, 1.2])
def test_impossible_solids_fractions(shelf: Shelf, scale: Scale, solids: float) -> None:
    """0, below, or above 1."""
    doses = doses_for(wanted_shares(T5, shelf, scale), 0.01, shelf, scale)
    with pytest.raises(RangeError, match="solids fraction"):
        with_solvents(doses, T5, shelf, 0.01, solids)


def test_solvents_of_a_weighed_mix_keep_their_proportion(shelf: Shelf, scale: Scale) -> None:
    """Half the dry mass takes half the solvent, weighed or poured."""
    portions = (
        Portion(of="biochar A", mass=Entry(value=6 * GRAM)),
        Portion(of="PVB solution", shelf=Ingredient.SOLUTION, mass=Entry(value=12 * GRAM)),
        Portion(of="bottle 1", shelf=Ingredient.SOLVENT, volume=Entry(value=10e-6)),
    )
    mix = Mix(name="M", portions=portions)
    dry = compose(portions, shelf, scale).value("dry")
    shares = wanted_shares(mix, shelf, scale)
    doses, _ = with_solvents(doses_for(shares, dry / 2, shelf, scale), mix, shelf, dry / 2, None)
    amounts = {d.of: d.mass / GRAM for d in doses}
    assert amounts["biochar A"] == pytest.approx(3.0)
    assert amounts["PVB solution"] == pytest.approx(6.0)
    assert amounts["bottle 1"] == pytest.approx(7.89 / 2)


def test_what_is_wanted_as_nothing_is_left_out(shelf: Shelf, scale: Scale) -> None:
    """A share of 0 gives no line."""
    wanted = (*WANTED[:2], Share(of="magnetite", fraction=0.0),
              Share(of="PVB solution", fraction=0.27))  # fmt: skip
    shares = wanted_shares(Mix(name="M", wanted=wanted), shelf, scale)
    assert [name for _, name in shares] == ["biochar A", "lamp black", "PVB solution"]


def test_wanted_names_that_are_not_there(shelf: Shelf, scale: Scale) -> None:
    """The near misses are named, and a solvent leaves nothing dry."""
    slip = Mix(name="M", wanted=(Share(of="magnetit", fraction=1.0),))
    with pytest.raises(NotFoundError) as refusal:
        wanted_shares(slip, shelf, scale)
    assert "'magnetite'" in refusal.value.allowed
    with pytest.raises(InputError, match="leaves nothing dry"):
        wanted_shares(Mix(name="M", wanted=(Share(of="bottle 1", fraction=1.0),)), shelf, scale)


def test_sheet_rounds_to_the_scale_and_says_what_that_does(shelf: Shelf, scale: Scale) -> None:
    """Each line is whole steps; the errors of all shares add up to 0."""
    sheet = _sheet(T5, shelf, _request(scale))
    for line in sheet.lines:
        assert line.amount_g == pytest.approx(round(line.exact_g, 2), abs=1e-9)
    assert sum(sheet.composition_error.values()) == pytest.approx(0.0, abs=1e-12)
    assert max(abs(e) for e in sheet.composition_error.values()) < 0.005


def test_too_little_for_the_scale(shelf: Shelf, scale: Scale) -> None:
    """0.166 g of magnetite is ±7 % on this scale; 12 electrodes at once would do."""
    sheet = _sheet(T5, shelf, _request(scale))
    assert [line.of for line in sheet.lines if not line.weighable] == ["magnetite"]
    assert "magnetite" in sheet.scale_cannot[0]
    assert sheet.enough_for_electrodes == 12
    at_once = _sheet(T5, shelf, _request(scale, electrodes=12))
    assert at_once.scale_cannot == ()
    assert at_once.enough_for_electrodes is None
    assert _sheet(T5, shelf, _request(scale, electrodes=11)).scale_cannot != ()


def test_a_fine_scale_has_nothing_to_complain_of(shelf: Shelf, fine_scale: Scale) -> None:
    """No line too small, no masterbatch, no error to speak of."""
    sheet = _sheet(T5, shelf, _request(fine_scale))
    assert sheet.scale_cannot == ()
    assert sheet.masterbatches == ()
    assert max(abs(e) for e in sheet.composition_error.values()) < 1e-5


def test_bound_of_what_is_weighable_can_be_chosen(shelf: Shelf, scale: Scale) -> None:
    """At ±10 % the same scale does, at ±1 % even the char is too little."""
    assert _sheet(T5, shelf, _request(scale, within=0.10)).scale_cannot == ()
    assert len(_sheet(T5, shelf, _request(scale, within=0.01)).scale_cannot) > 3


def test_stock_that_is_too_small(shelf: Shelf, scale: Scale) -> None:
    """1.18 g of char needed, 1 g there."""
    lot = replace(shelf.powders["biochar A"], stock=Entry(value=1.0 * GRAM))
    short = replace(shelf, powders={**shelf.powders, "biochar A": lot})
    sheet = _sheet(T5, short, _request(scale, within=0.10))
    assert sheet.stock_short == ("biochar A: 1.18 g needed, 1.00 g in stock",)


def test_stock_counts_the_whole_masterbatch(shelf: Shelf, scale: Scale) -> None:
    """Enough for the dose and not for the masterbatch is too little."""
    lot = replace(shelf.powders["magnetite"], stock=Entry(value=0.3 * GRAM))
    short = replace(shelf, powders={**shelf.powders, "magnetite": lot})
    sheet = _sheet(T5, short, _request(scale))
    assert sheet.masterbatches
    assert any(line.startswith("magnetite") for line in sheet.stock_short)


def test_volumes_stand_beside_liquids(shelf: Shelf, scale: Scale) -> None:
    """2.504 g of solution at 830 kg/m³ is 3.02 mL; powders have no volume."""
    sheet = _sheet(T5, shelf, _request(scale))
    by_name = {line.of: line.volume_mL for line in sheet.lines}
    assert by_name["PVB solution"] == pytest.approx(2.504 / 0.830, rel=1e-3)
    assert by_name["biochar A"] is None
    assert by_name["wax emulsion"] is None


@pytest.mark.parametrize(
    "slip",
    [
        {"area": 0.0}, {"area": 9.0}, {"loading": 0.0}, {"loading": 250.0}, {"electrodes": 0},
        {"spare": -0.1}, {"spare": 15.0}, {"within": 0.0}, {"within": 1.0},
    ],
)  # fmt: skip
def test_impossible_requests(scale: Scale, slip: dict[str, float]) -> None:
    """Slips of units in what is asked for are refused by name."""
    with pytest.raises(RangeError) as refusal:
        _request(scale, **slip)
    assert refusal.value.where == next(iter(slip))


def test_a_solution_without_named_liquid_can_still_be_dosed(shelf: Shelf, scale: Scale) -> None:
    """Its liquid is lost without a name; it only cannot be thinned with."""
    glue = Solution(name="glue", polymer="PVB", solids=Entry(value=0.1, standard_uncertainty=0.001))
    more = replace(shelf, solutions={"glue": glue}, solvents={})
    mix = Mix(
        name="M", wanted=(Share(of="magnetite", fraction=0.8), Share(of="glue", fraction=0.2))
    )
    doses = doses_for(wanted_shares(mix, more, scale), 0.01, more, scale)
    found = compose(portions_of(doses), more, scale)
    assert "liquid of glue (not named)" in found.liquids
    with pytest.raises(InputError, match="nothing to thin"):
        with_solvents(doses, mix, more, 0.01, 0.1)
