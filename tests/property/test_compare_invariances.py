"""What a comparison must not care about: the order of entry, the unit, the names, which side comes first."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from aerode.measure.comparison.comparing import compare_pieces, compare_recipes
from aerode.measure.comparison.joint import Observations
from aerode.measure.comparison.leaks import leak_share
from aerode.measure.comparison.run_order import alignment, draw_run_order
from aerode.records.comparisons import Verdict

MARGIN = float(np.log(1.10))
FEW = settings(max_examples=25, deadline=None)


@st.composite
def studies(draw: st.DrawFn) -> Observations:
    """Two recipes of two to four builds and three readings of a control, in any order."""
    builds = (draw(st.integers(2, 4)), draw(st.integers(2, 4)))
    seed = draw(st.integers(0, 10_000))
    gap = draw(st.floats(-0.5, 0.5))
    spread = draw(st.floats(0.02, 0.3))
    rng = np.random.default_rng(seed)
    return _study(builds, gap, spread, rng)


def _study(
    builds: tuple[int, int], gap: float, spread: float, rng: np.random.Generator
) -> Observations:
    recipe = ["A"] * builds[0] + ["B"] * builds[1] + ["C"] * 3
    n = len(recipe)
    order = rng.permutation(n).astype(float)
    value = np.array([gap if r == "A" else 0.0 for r in recipe]) + spread * rng.standard_normal(n)
    names = tuple("C0" if r == "C" else f"{r}{k}" for k, r in enumerate(recipe))
    return Observations(value=value, known=np.diag(rng.uniform(0.005, 0.02, n) ** 2) + 0.003**2, electrode=names,
                        piece=names, recipe=tuple(recipe), order=order, session=("d",) * n,
                        control=tuple(r == "C" for r in recipe))  # fmt: skip


def recipes(seen: Observations, first: str = "A", second: str = "B"):
    """The difference of the two recipes."""
    return compare_recipes(seen, [first, second], margin=MARGIN).of(first, second)


@FEW
@given(studies(), st.randoms(use_true_random=False))
def test_the_order_of_entry_changes_nothing(seen, random):
    """Rows in another order, the same answer."""
    at = list(range(seen.size))
    random.shuffle(at)
    _assert_the_same_in_another_order(seen, at)


@pytest.mark.parametrize("seed", [30, 149])
def test_a_spread_of_nothing_is_nothing_in_any_order(seed):
    """Where the likelihood falls from zero on, rounding once left a variance of 1e-19, and another interval."""
    rng = np.random.default_rng(seed)
    builds = tuple(int(count) for count in rng.integers(2, 5, 2))
    gap, spread = rng.uniform(-0.5, 0.5), rng.uniform(0.02, 0.3)
    seen = _study((builds[0], builds[1]), gap, spread, rng)
    _assert_the_same_in_another_order(seen, [int(k) for k in rng.permutation(seen.size)])


def _assert_the_same_in_another_order(seen, at):
    shuffled = Observations(
        value=seen.value[at], known=seen.known[np.ix_(at, at)], electrode=tuple(seen.electrode[k] for k in at),
        piece=tuple(seen.piece[k] for k in at), recipe=tuple(seen.recipe[k] for k in at), order=seen.order[at],
        session=tuple(seen.session[k] for k in at), control=tuple(seen.control[k] for k in at))  # fmt: skip
    one, two = recipes(seen), recipes(shuffled)
    assert two.estimate == pytest.approx(one.estimate, abs=1e-7)
    assert two.decision == pytest.approx(one.decision, rel=1e-5, abs=1e-6)
    assert two.verdict is one.verdict


@FEW
@given(studies(), st.floats(-3, 3))
def test_a_factor_on_everything_cancels(seen, shift):
    """Another unit, another gain: ratios and verdicts stay."""
    one, two = recipes(seen), recipes(seen.moved(np.full(seen.size, shift)))
    assert two.estimate == pytest.approx(one.estimate, abs=1e-7)
    assert two.decision == pytest.approx(one.decision, rel=1e-5, abs=1e-6)


@FEW
@given(studies(), st.integers(-50, 50))
def test_places_may_be_counted_from_anywhere(seen, start):
    """A shift of all places changes nothing."""
    moved = replace(seen, order=seen.order + float(start))
    assert recipes(moved).decision == pytest.approx(recipes(seen).decision, rel=1e-6, abs=1e-9)


@FEW
@given(studies())
def test_the_other_way_round_is_the_inverse(seen):
    """B over A is one over A over B, with the same verdict."""
    one, two = recipes(seen), recipes(seen, "B", "A")
    assert two.estimate == pytest.approx(-one.estimate, abs=1e-10)
    assert two.decision == pytest.approx((-one.decision[1], -one.decision[0]), abs=1e-10)
    assert two.verdict is one.verdict


@FEW
@given(studies())
def test_verdicts_agree_with_their_intervals(seen):
    """Shown leaves out 1; equivalent lies inside the margin; a cap always says why."""
    for difference in (
        recipes(seen),
        *compare_pieces(seen, ["A0", "A1"], margin=MARGIN).differences,
    ):
        low, high = difference.decision
        outside, inside = (
            low > 0 or high < 0,
            difference.equivalence[0] > -MARGIN and difference.equivalence[1] < MARGIN,
        )
        plain = {(True, False): Verdict.SHOWN, (True, True): Verdict.SHOWN_SMALL,
                 (False, True): Verdict.EQUIVALENT, (False, False): Verdict.NOT_SHOWN}[outside, inside]  # fmt: skip
        assert difference.verdict is (Verdict.NOT_SHOWN if difference.capped else plain)
        assert (
            difference.interval_95[0]
            <= difference.interval_90[0]
            <= difference.interval_90[1]
            <= difference.interval_95[1]
        )


@FEW
@given(studies(), st.floats(0.001, 0.05))
def test_larger_errors_never_narrow_the_interval_of_two_pieces(seen, more):
    """Measurement errors added to every reading widen what can be said of pieces."""
    worse = replace(seen, known=seen.known + np.eye(seen.size) * more**2)
    one, two = (
        compare_pieces(s, ["A0", "A1"], margin=MARGIN).differences[0] for s in (seen, worse)
    )
    assert np.ptp(two.interval_95) > np.ptp(one.interval_95)


@FEW
@given(st.integers(0, 40), st.integers(1, 40))
def test_limits_of_a_share_hold_the_share(leaked, of):
    """The observed share lies between its limits, and they lie between 0 and 1."""
    low, high = leak_share(min(leaked, of), of)
    assert 0.0 <= low <= min(leaked, of) / of <= high <= 1.0


@FEW
@given(st.lists(st.sampled_from("AB"), min_size=2, max_size=9), st.integers(0, 1000))
def test_a_drawn_order_is_a_permutation_with_an_alignment_between_0_and_1(labels, seed):
    """Whatever the recipes: nobody is lost, nobody doubled."""
    names = [f"T{k}" for k in range(len(labels))]
    order = draw_run_order(
        names, recipes=dict(zip(names, labels, strict=True)), seed=seed, session="d"
    )
    assert sorted(order.electrodes) == sorted(names)
    side = [1.0 if labels[int(name[1:])] == "A" else -1.0 for name in order.electrodes]
    assert 0.0 <= alignment(side, range(len(side))) <= 1.0 + 1e-12
