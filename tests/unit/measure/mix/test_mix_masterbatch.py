"""Masterbatches: what the scale cannot weigh, thinned into what it can."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from aerode.measure.mix.composition import compose
from aerode.measure.mix.dosing import Dose, DoseRequest
from aerode.measure.mix.lots import Shelf
from aerode.measure.mix.masterbatch import Split, masterbatches, too_small
from aerode.measure.mix.sheet import as_weighed, dose_sheet
from aerode.measure.mix.weighing import Scale
from aerode.records.mixes import Ingredient

GRAM = 1e-3
WITHIN = 0.05


def _dose(of: str, grams: float, shelf: Ingredient = Ingredient.POWDER) -> Dose:
    return Dose(shelf=shelf, of=of, mass=grams * GRAM)


POT = [
    _dose("biochar A", 2.4),
    _dose("lamp black", 0.6),
    _dose("magnetite", 0.08),
    _dose("PVB solution", 3.0, Ingredient.SOLUTION),
]


def _check(split: Split, doses: list[Dose], scale: Scale) -> None:
    """What holds of every masterbatch: whole steps, well weighed, and the right dose delivered."""
    u = scale.net_uncertainty
    wanted = {d.of: d.mass for d in doses}
    for mass in (*split.parts.values(), split.take, split.carrier_left):
        steps = mass / scale.resolution
        assert steps == pytest.approx(round(steps), abs=1e-6)
    assert sum(split.delivered.values()) == pytest.approx(split.take)
    whole = sum(split.parts.values())
    assert split.pots == pytest.approx(whole / split.take)
    for name in split.of:
        assert u / split.parts[name] + u / split.take <= WITHIN * 1.001 + 0.002
        assert split.delivered[name] == pytest.approx(wanted[name], rel=0.04)


def test_a_small_powder_goes_in_with_the_largest(shelf: Shelf, scale: Scale) -> None:
    """0.08 g of magnetite on a 0.01 g scale: into char, at least 4 to 1, enough for several pots."""
    splits, left_over = masterbatches(POT, shelf, scale, WITHIN)
    assert left_over == []
    (split,) = splits
    assert (split.of, split.carrier) == (("magnetite",), "biochar A")
    assert split.parts["biochar A"] >= 3.9 * split.parts["magnetite"]
    assert split.pots > 2
    _check(split, POT, scale)
    brought = split.delivered["biochar A"] + split.carrier_left
    assert brought == pytest.approx(2.4 * GRAM, abs=0.5 * scale.resolution)


def test_the_delivered_dose_is_as_sure_as_said(shelf: Shelf, scale: Scale) -> None:
    """40,000 draws of all weighings, with chance errors and with one common error."""
    (split,), _ = masterbatches(POT, shelf, scale, WITHIN)
    dice = np.random.default_rng(8)
    for alike in (False, True):
        errors = dice.normal(0.0, scale.net_uncertainty, (1 if alike else 3, 40_000))
        small, carrier, take = (errors[0 if alike else i] for i in range(3))
        m, c = split.parts["magnetite"], split.parts["biochar A"]
        dose = (split.take + take) * (m + small) / (m + small + c + carrier)
        assert float(dose.std() / dose.mean()) <= split.relative_uncertainty


def test_several_small_powders_share_one_dish(shelf: Shelf, scale: Scale) -> None:
    """Both small powders go into the same stock, in the proportion of their doses."""
    pot = [_dose("biochar A", 3.0), _dose("lamp black", 0.16), _dose("magnetite", 0.08)]
    (split,), left_over = masterbatches(pot, shelf, scale, WITHIN)
    assert left_over == []
    assert set(split.of) == {"lamp black", "magnetite"}
    assert split.parts["lamp black"] / split.parts["magnetite"] == pytest.approx(2.0, rel=0.05)
    _check(split, pot, scale)


def test_a_carrier_that_would_hardly_be_left_is_taken_whole(shelf: Shelf, scale: Scale) -> None:
    """No line asks for a few hundredths of a gram of the carrier."""
    pot = [_dose("biochar A", 0.55), _dose("magnetite", 0.1)]
    (split,), _ = masterbatches(pot, shelf, scale, WITHIN)
    assert split.carrier_left == 0.0
    assert split.delivered["biochar A"] == pytest.approx(0.55 * GRAM, rel=0.03)


def test_without_a_powder_a_solution_carries(shelf: Shelf, scale: Scale) -> None:
    """Only the binder solution can be weighed: the powder is stirred into it."""
    pot = [_dose("magnetite", 0.1), _dose("PVB solution", 4.0, Ingredient.SOLUTION)]
    (split,), _ = masterbatches(pot, shelf, scale, WITHIN)
    assert split.carrier == "PVB solution"
    _check(split, pot, scale)


def test_a_small_solution_is_thinned_with_its_own_liquid(shelf: Shelf, scale: Scale) -> None:
    """0.1 g of emulsion: in water, which the pot then holds beyond the recipe."""
    pot = [*POT[:2], _dose("wax emulsion", 0.1, Ingredient.SOLUTION)]
    (split,), left_over = masterbatches(pot, shelf, scale, WITHIN)
    assert left_over == []
    assert split.carrier == "water"
    assert split.adds_liquid == pytest.approx(split.delivered["water"])
    _check(split, pot, scale)


def test_planned_solvent_pays_for_the_thinning(shelf: Shelf, scale: Scale) -> None:
    """Where ethanol is planned, that much less is weighed, and nothing is added."""
    pot = [
        _dose("biochar A", 3.0),
        _dose("PVB solution", 0.1, Ingredient.SOLUTION),
        _dose("bottle 1", 5.0, Ingredient.SOLVENT),
    ]
    (split,), _ = masterbatches(pot, shelf, scale, WITHIN)
    assert split.carrier == "bottle 1"
    assert split.adds_liquid == 0.0
    assert split.carrier_left + split.delivered["bottle 1"] == pytest.approx(5.0 * GRAM, abs=1e-5)


@pytest.mark.parametrize(
    "pot",
    [
        [_dose("biochar A", 0.05), _dose("magnetite", 0.05)],  # nothing to carry it
        [_dose("biochar A", 3.0), _dose("magnetite", 1e-5)],  # a stock for thousands of pots
    ],
)
def test_where_no_masterbatch_can_help(shelf: Shelf, scale: Scale, pot: list[Dose]) -> None:
    """Nothing to carry it, or a stock for thousands of pots: said, not forced."""
    splits, left_over = masterbatches(pot, shelf, scale, WITHIN)
    assert splits == []
    assert "magnetite" in [d.of for d in left_over]


def test_a_solution_without_named_liquid_cannot_be_thinned(shelf: Shelf, scale: Scale) -> None:
    """With what? Left over."""
    lot = replace(shelf.solutions["wax emulsion"], liquid=())
    bare = replace(shelf, solutions={"wax emulsion": lot})
    pot = [_dose("biochar A", 3.0), _dose("wax emulsion", 0.1, Ingredient.SOLUTION)]
    splits, left_over = masterbatches(pot, bare, scale, WITHIN)
    assert (splits, [d.of for d in left_over]) == ([], ["wax emulsion"])


def test_a_little_solvent_is_no_trouble(scale: Scale) -> None:
    """A drop more of solvent dries off: no masterbatch for it."""
    assert too_small([_dose("bottle 1", 0.01, Ingredient.SOLVENT)], scale, WITHIN) == []


def test_sheet_with_a_masterbatch_makes_what_is_wanted(shelf: Shelf, scale: Scale) -> None:
    """Following the sheet, masterbatch and all, gives the wanted shares and a surer catalyst."""
    request = DoseRequest(area=1e-3, loading=0.3, scale=scale, electrodes=10, within=WITHIN)
    total = sum(d.mass for d in POT[:3])
    shares = {(d.shelf, d.of): d.mass / total for d in POT[:3]}
    powders = [
        Dose(shelf=d.shelf, of=d.of, mass=d.mass / shelf.powder(d.of).dry_share) for d in POT[:3]
    ]
    sheet, made = dose_sheet(powders, shares, shelf, request)
    assert max(abs(e) for e in sheet.composition_error.values()) < 0.004
    direct = compose(as_weighed(powders, [], request), shelf, scale)
    key = ("fraction", "magnetite|catalyst")
    assert made.uncertainty(*key) < 0.5 * direct.uncertainty(*key)


def test_sheet_counts_the_liquid_a_masterbatch_brings(shelf: Shelf, scale: Scale) -> None:
    """The water that thinned the emulsion is in the wet mass and leaves on drying."""
    pot = [_dose("biochar A", 3.0), _dose("wax emulsion", 0.1, Ingredient.SOLUTION)]
    shares = {(pot[0].shelf, "biochar A"): 0.99, (pot[1].shelf, "wax emulsion"): 0.01}
    request = DoseRequest(area=1e-3, loading=0.3, scale=scale, electrodes=10)
    sheet, made = dose_sheet(pot, shares, shelf, request)
    added = sheet.masterbatches[0].adds_liquid_g
    assert added > 0
    assert sheet.wet_mass_g == pytest.approx(3.1 + added, abs=0.03)
    assert made.value("liquid", "water") > added * GRAM
