"""A mix there and back: doses of what is wanted dry to what is wanted, and mass is never lost."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

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
from aerode.quantities import Basis, Quantity
from aerode.records.marks import Entry, Share
from aerode.records.materials import Function, PowderLot, Solution
from aerode.records.mixes import Ingredient, Mix, Portion

FINE = Scale(name="fine", resolution=1e-9, limit_of_error=0.0)
KITCHEN = Scale.from_text("0.01 g")


def _measured(value: float, relative: float = 0.05) -> Entry:
    return Entry(value=value, standard_uncertainty=relative * value)


@st.composite
def shelves(draw: st.DrawFn) -> Shelf:
    """One to four powders and one to three solutions with everything measured."""
    share = st.floats(0.0, 0.4)
    powders = [
        PowderLot(
            name=f"powder {i}", substance=f"p{i}",
            function=draw(st.sampled_from([Function.CONDUCTOR, Function.ACTIVE_CARBON, Function.CATALYST])),
            moisture=_measured(draw(share)), true_density=_measured(draw(st.floats(800.0, 7000.0))),
            oil_absorption=_measured(draw(st.floats(1e-4, 2e-3))),
        )
        for i in range(draw(st.integers(1, 4)))
    ]  # fmt: skip
    solutions = [
        Solution(
            name=f"solution {i}", polymer=f"s{i}", solids=_measured(draw(st.floats(0.02, 0.7))),
            liquid=(Share(of="ethanol", fraction=draw(st.floats(0.2, 1.0))),),
            plasticiser=_measured(draw(st.floats(0.01, 0.6))) if draw(st.booleans()) else None,
            plasticiser_substance="soft",
        )
        for i in range(draw(st.integers(1, 3)))
    ]  # fmt: skip
    names = [lot.polymer for lot in solutions] + ["soft"]
    density = Quantity(
        value=1100.0, unit="kg/m^3", standard_uncertainty=30.0, basis=Basis.PUBLISHED
    )
    return Shelf.of(powders, solutions, densities=dict.fromkeys(names, density))


@st.composite
def wanted_mixes(draw: st.DrawFn) -> tuple[Shelf, Mix]:
    """A shelf and a mix that wants a share of everything on it."""
    shelf = draw(shelves())
    names = [*shelf.powders, *shelf.solutions]
    weights = [draw(st.floats(0.05, 1.0)) for _ in names]
    shares = [w / sum(weights) for w in weights]
    wanted = tuple(Share(of=n, fraction=s) for n, s in zip(names, shares, strict=True))
    return shelf, Mix(name="M", wanted=wanted)


@given(wanted_mixes(), st.floats(1e-4, 10.0))
def test_forward_of_inverse_is_what_was_wanted(case: tuple[Shelf, Mix], dry_mass: float) -> None:
    """Exact doses dry to the wanted shares and the wanted dry mass, to rounding."""
    shelf, mix = case
    shares = wanted_shares(mix, shelf, FINE)
    found = compose(portions_of(doses_for(shares, dry_mass, shelf, FINE)), shelf, FINE, exact=True)
    assert found.value("dry") == pytest.approx(dry_mass, rel=1e-11)
    for (_, of), share in shares.items():
        assert found.dry_shares()[of] == pytest.approx(share, rel=1e-11)


@given(wanted_mixes(), st.floats(0.05, 1.0))
def test_solids_fraction_is_met_or_refused_for_a_reason(
    case: tuple[Shelf, Mix], part: float
) -> None:
    """Any solids fraction below the reachable one is met exactly."""
    shelf, mix = case
    doses = doses_for(wanted_shares(mix, shelf, FINE), 1.0, shelf, FINE)
    wanted = part / sum(dose.mass for dose in doses)
    thinned, more = with_solvents(doses, mix, shelf, 1.0, wanted)
    found = compose(portions_of(thinned), more, FINE, exact=True)
    assert found.value("solids") == pytest.approx(wanted, rel=1e-9)


@st.composite
def weighed(draw: st.DrawFn) -> tuple[Shelf, tuple[Portion, ...]]:
    """A shelf and a portion of everything on it, 0.1 g to 100 g."""
    shelf = draw(shelves())
    grams = st.floats(0.1, 100.0)
    portions = [Portion(of=n, mass=Entry(value=draw(grams) * 1e-3)) for n in shelf.powders]
    portions += [
        Portion(of=n, shelf=Ingredient.SOLUTION, mass=Entry(value=draw(grams) * 1e-3))
        for n in shelf.solutions
    ]
    return shelf, tuple(portions)


@given(weighed())
def test_mass_is_never_lost(case: tuple[Shelf, tuple[Portion, ...]]) -> None:
    """Wet = dry + every liquid, shares add up to 1 by mass and by volume, errors to 0."""
    shelf, portions = case
    found = compose(portions, shelf, KITCHEN)
    wet = sum(p.mass.value for p in portions if p.mass)
    liquids = sum(found.value("liquid", name) for name in found.liquids)
    assert found.value("wet") == pytest.approx(wet, rel=1e-12)
    assert found.value("dry") + liquids == pytest.approx(wet, rel=1e-12)
    for kind in ("fraction", "volume"):
        at = [found.places[kind, part.key] for part in found.parts]
        assert float(np.sum(found.carried.values[at])) == pytest.approx(1.0, rel=1e-12)
        for covariance in (found.carried.covariance_apart, found.carried.covariance_alike):
            block = covariance[np.ix_(at, at)]
            assert abs(float(block.sum())) <= 1e-9 * float(np.abs(block).sum()) + 1e-30


@given(weighed(), st.floats(0.01, 100.0), st.randoms(use_true_random=False))
def test_shares_do_not_know_size_or_order(
    case: tuple[Shelf, tuple[Portion, ...]], factor: float, shuffle: object
) -> None:
    """A larger pot, or the same things in another order, dries to the same shares."""
    shelf, portions = case
    larger = [
        Portion(of=p.of, shelf=p.shelf, mass=Entry(value=p.mass.value * factor))
        for p in portions if p.mass
    ]  # fmt: skip
    shuffle.shuffle(larger)  # type: ignore[attr-defined]
    one, two = compose(portions, shelf, KITCHEN), compose(larger, shelf, KITCHEN)
    for part in one.parts:
        assert two.value("fraction", part.key) == pytest.approx(
            one.value("fraction", part.key), rel=1e-9
        )
    assert two.value("voids") == pytest.approx(one.value("voids"), rel=1e-9, abs=1e-12)


@given(weighed(), st.floats(1.01, 5.0))
def test_more_binder_leaves_fewer_voids(
    case: tuple[Shelf, tuple[Portion, ...]], factor: float
) -> None:
    """More of one solution: PVC and voids fall, CPVC does not move."""
    shelf, portions = case
    *rest, last = portions
    assert last.mass is not None
    more = Portion(of=last.of, shelf=last.shelf, mass=Entry(value=last.mass.value * factor))
    one, two = compose(portions, shelf, KITCHEN), compose([*rest, more], shelf, KITCHEN)
    assert two.value("pigment") < one.value("pigment")
    assert two.value("voids") < one.value("voids")
    assert two.value("critical") == pytest.approx(one.value("critical"), rel=1e-12)


@given(st.floats(0.02, 0.9), st.floats(0.02, 0.9), st.floats(0.05, 0.5))
def test_believing_the_label(true: float, label: float, binder: float) -> None:
    """Dosed by the label, the binder comes out at true/label of what was meant: 12.4/15 = -17 %."""
    powder = PowderLot(
        name="p", substance="p", function=Function.CONDUCTOR, moisture=_measured(0.0)
    )
    believed = Solution(name="s", polymer="s", solids=_measured(label))
    real = Solution(name="s", polymer="s", solids=_measured(true))
    mix = Mix(name="M", wanted=(Share(of="p", fraction=1 - binder), Share(of="s", fraction=binder)))
    on_label = Shelf.of([powder], [believed])
    doses = doses_for(wanted_shares(mix, on_label, FINE), 1.0, on_label, FINE)
    found = compose(portions_of(doses), Shelf.of([powder], [real]), FINE, exact=True)
    assert found.value("mass", "s|binder") / binder == pytest.approx(true / label, rel=1e-9)


@settings(max_examples=60)
@given(wanted_mixes(), st.integers(1, 20), st.floats(0.02, 0.5), st.floats(0.0, 0.5))
def test_sheet_makes_what_is_wanted(
    case: tuple[Shelf, Mix], electrodes: int, loading: float, spare: float
) -> None:
    """Following the sheet makes the wanted shares within what rounding and dilution allow."""
    shelf, mix = case
    request = DoseRequest(
        area=9e-4, loading=loading, scale=KITCHEN, electrodes=electrodes, spare=spare
    )
    shares = wanted_shares(mix, shelf, KITCHEN)
    doses = doses_for(shares, request.dry_mass, shelf, KITCHEN)
    assume(all(KITCHEN.rounded(dose.mass) > 0 for dose in doses))
    sheet, made = dose_sheet(doses, shares, shelf, request)
    assert sum(sheet.composition_error.values()) == pytest.approx(0.0, abs=1e-9)
    # Each line rounds by half a step, a masterbatch by two (its taking and its carrier).
    moved = 2.5 * KITCHEN.resolution * len(doses) / made.value("dry")
    assert max(abs(e) for e in sheet.composition_error.values()) <= moved + 0.02
    for line in sheet.lines:
        assert line.weighable == (line.relative_uncertainty <= sheet.weighable_within)
        assert math.isclose(line.amount_g, round(line.exact_g / 0.01) * 0.01, abs_tol=1e-6)
