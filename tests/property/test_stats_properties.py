"""Properties of the statistics room that must hold for any data."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from aerode.stats.anova import one_way
from aerode.stats.comparison import (
    generalised_least_squares,
    generalised_least_squares_with_build_variance,
)
from aerode.stats.contrasts import Contrast
from aerode.stats.designs import effects, full_factorial, half_fraction
from aerode.stats.monte_carlo import summarise
from aerode.stats.power import power_of_difference, verdict_probabilities
from aerode.stats.proportions import exact_share_interval, upper_share_limit
from aerode.stats.shrinkage import shrink
from aerode.stats.simultaneous import critical_bonferroni, critical_tukey, holm
from aerode.stats.straight_line import fit_straight_line
from aerode.stats.two_samples import pooled_difference, welch_difference
from aerode.stats.verdicts import Verdict, verdict
from aerode.stats.weighted import effective_sample_size, weighted_quantile

FEW = settings(max_examples=60, deadline=None)
NUMBERS = st.floats(-50, 50).map(lambda v: round(v, 3))
LISTS = st.lists(NUMBERS, min_size=2, max_size=6)


@FEW
@given(LISTS, LISTS, st.floats(0.001, 1000), NUMBERS)
def test_differences_follow_scale_and_shift(
    a: list[float], b: list[float], scale: float, shift: float
) -> None:
    """Multiplying and shifting both lists scales the interval and leaves the p value."""
    assume(np.std(a) > 0.01 and np.std(b) > 0.01)
    for difference in (pooled_difference, welch_difference):
        one = difference(a, b)
        two = difference(scale * np.array(a) + shift, scale * np.array(b) + shift)
        assert two.estimate == pytest.approx(scale * one.estimate, rel=1e-6, abs=1e-9 * scale)
        assert two.standard_error == pytest.approx(scale * one.standard_error, rel=1e-6)
        assert two.p_value() == pytest.approx(one.p_value(), rel=1e-5, abs=1e-12)
        swapped = difference(b, a)
        assert swapped.estimate == pytest.approx(-one.estimate)


@FEW
@given(st.lists(LISTS, min_size=2, max_size=4))
def test_one_way_comparison_does_not_depend_on_the_order_of_readings(
    groups: list[list[float]],
) -> None:
    """Shuffled readings give the same contrast; the variance is the table's residual one."""
    y = np.concatenate([np.asarray(g) for g in groups])
    labels = np.repeat(np.arange(len(groups)), [len(g) for g in groups])
    assume(sum(np.var(g) for g in groups) > 1e-4)
    x = np.eye(len(groups))[labels]
    fit = generalised_least_squares_with_build_variance(y, x, None, np.arange(y.size))
    order = np.random.default_rng(0).permutation(y.size)
    again = generalised_least_squares_with_build_variance(
        y[order], x[order], None, np.arange(y.size)
    )
    c = [-1, 1] + [0] * (len(groups) - 2)
    assert again.contrast(c).interval() == pytest.approx(fit.contrast(c).interval(), rel=1e-7)
    table = one_way(groups)
    assert math.sqrt(fit.build_variance) == pytest.approx(
        table.residual_standard_deviation, rel=1e-7
    )


@FEW
@given(st.integers(2, 4), st.integers(0, 10_000), st.floats(0.0, 0.1))
def test_recipe_interval_is_never_narrower_than_the_pieces_one(
    n: int, seed: int, known: float
) -> None:
    """More unknowns, wider interval; the estimate of a balanced plan is the difference of means."""
    rng = np.random.default_rng(seed)
    y = rng.normal(0, 0.05, 2 * n)
    x = np.repeat(np.eye(2), n, axis=0)
    v = (known**2 + 1e-6) * np.eye(2 * n) + 0.03**2
    recipes = generalised_least_squares_with_build_variance(y, x, v, range(2 * n)).contrast([-1, 1])
    pieces = generalised_least_squares(y, x, v).contrast([-1, 1])
    for level in (0.8, 0.95):
        low, high = recipes.interval(level)
        inner_low, inner_high = pieces.interval(level)
        assert low <= inner_low + 1e-12
        assert high >= inner_high - 1e-12
    assert recipes.estimate == pytest.approx(y[n:].mean() - y[:n].mean(), abs=1e-9)


@FEW
@given(NUMBERS, st.floats(1e-4, 10), st.floats(1, 50), st.floats(0, 10), st.floats(0, 10))
def test_intervals_are_nested_in_the_level(
    estimate: float, error: float, df: float, known: float, pivot: float
) -> None:
    """A higher level never gives a narrower interval, and always holds the estimate."""
    c = Contrast(estimate, error, df, known, pivot)
    intervals = [c.interval(level) for level in (0.5, 0.9, 0.95, 0.99)]
    for (a, b), (low, high) in itertools.pairwise(intervals):
        assert low <= a <= estimate <= b <= high


@FEW
@given(NUMBERS, st.floats(0, 5), st.floats(0.01, 5))
def test_verdict_is_symmetric_in_sign(low: float, width: float, margin: float) -> None:
    """Swapping the sides changes no verdict; a narrower interval never loses a claim."""
    high = low + width
    here = verdict(low, high, margin)
    assert verdict(-high, -low, margin) is here
    inner = verdict(low + width / 4, high - width / 4, margin)
    if here is Verdict.SHOWN:
        assert inner in (Verdict.SHOWN, Verdict.SMALLER_THAN_MATTERS)
    if here is Verdict.EQUIVALENT:
        assert inner in (Verdict.EQUIVALENT, Verdict.SMALLER_THAN_MATTERS)
    if here is Verdict.SMALLER_THAN_MATTERS:
        assert inner is here


@FEW
@given(st.floats(0, 0.5), st.floats(0.01, 0.4), st.integers(2, 40), st.floats(0.01, 0.5))
def test_verdict_chances_are_chances(truth: float, spread: float, n: int, margin: float) -> None:
    """They sum to one, lie in [0, 1], and do not depend on the sign of the truth."""
    chances = verdict_probabilities(truth, spread, n, margin)
    assert sum(chances.values()) == pytest.approx(1.0, abs=1e-9)
    assert all(-1e-12 <= c <= 1 + 1e-9 for c in chances.values())
    mirrored = verdict_probabilities(-truth, spread, n, margin)
    assert all(mirrored[k] == pytest.approx(chances[k], abs=1e-9) for k in chances)


@FEW
@given(st.floats(0.01, 5), st.integers(2, 60))
def test_power_grows(d: float, n: int) -> None:
    """With the difference and with the number of builds; never below the level."""
    here = power_of_difference(d, n)
    assert 0.05 - 1e-9 <= here <= 1.0
    assert power_of_difference(1.1 * d, n) >= here - 1e-9
    assert power_of_difference(d, n + 1) >= here - 1e-9


@FEW
@given(st.integers(1, 200), st.data())
def test_share_limits_move_with_the_count(tried: int, data: st.DataObject) -> None:
    """More failures never lower a limit; more clean trials never raise it."""
    failed = data.draw(st.integers(0, tried))
    low, high = exact_share_interval(failed, tried)
    assert 0 <= low <= failed / tried <= high <= 1
    assert low <= upper_share_limit(failed, tried) <= high + 1e-12
    if failed < tried:
        more = exact_share_interval(failed + 1, tried)
        assert more[0] >= low
        assert more[1] >= high
    assert upper_share_limit(0, tried + 1) < upper_share_limit(0, tried)


@FEW
@given(st.integers(2, 8), st.floats(1, 60), st.floats(0.5, 0.99))
def test_tukey_lies_between_one_pair_and_bonferroni(groups: int, df: float, level: float) -> None:
    """And grows with the number of recipes."""
    count = groups * (groups - 1) // 2
    value = critical_tukey(groups, df, level)
    assert critical_bonferroni(1, df, level) - 1e-6 <= value
    assert value <= critical_bonferroni(count, df, level) + 1e-6
    assert critical_tukey(groups + 1, df, level) > value


@FEW
@given(st.lists(st.floats(0, 1), min_size=1, max_size=12))
def test_holm_never_lowers_and_keeps_the_order(p: list[float]) -> None:
    """Adjusted values are at least as large, at most Bonferroni's, in the same order."""
    adjusted = holm(p)
    values = np.asarray(p)
    assert np.all(adjusted >= values - 1e-15)
    assert np.all(adjusted <= np.minimum(len(p) * values, 1) + 1e-12)
    order = np.argsort(values, kind="stable")
    assert np.all(np.diff(adjusted[order]) >= 0)


@FEW
@given(st.lists(NUMBERS, min_size=2, max_size=10), st.floats(1e-3, 10), st.floats(0, 10))
def test_shrinkage_keeps_order_and_mean(y: list[float], error: float, recipe: float) -> None:
    """Equal errors: the mean stays, the order stays, nothing moves away from the mean."""
    predictions, errors = shrink(y, error, recipe)
    assert predictions.mean() == pytest.approx(np.mean(y), abs=1e-9)
    assert np.all(np.abs(predictions - np.mean(y)) <= np.abs(np.array(y) - np.mean(y)) + 1e-9)
    assert np.all(np.diff(predictions[np.argsort(y, kind="stable")]) >= -1e-12)
    assert np.all(errors <= math.sqrt(error) + 1e-12)


@FEW
@given(st.lists(st.tuples(NUMBERS, st.floats(0.001, 5)), min_size=1, max_size=30))
def test_weighted_quantiles_are_monotone_and_inside(rows: list[tuple[float, float]]) -> None:
    """Growing with p, between the extremes; size between one and n."""
    values, weights = np.array(rows).T
    found = weighted_quantile(values, weights, np.linspace(0, 1, 11))
    assert np.all(np.diff(found) >= 0)
    assert values.min() <= found[0]
    assert found[-1] <= values.max()
    assert 1 - 1e-9 <= effective_sample_size(weights) <= len(rows) + 1e-9


@FEW
@given(st.lists(NUMBERS, min_size=4, max_size=4), st.integers(0, 1000), st.booleans())
def test_effects_come_back_from_a_plan(truth: list[float], seed: int, half: bool) -> None:
    """A plan without noise but with repeats gives back the effects that were put in."""
    x = half_fraction(3) if half else full_factorial(3)
    x = np.concatenate([x, x])
    y = truth[0] + x @ truth[1:]
    found = effects(x, y + 1e-9 * np.random.default_rng(seed).standard_normal(y.size))
    assert [c.estimate for c in found.contrasts] == pytest.approx(truth[1:], abs=1e-6)


@FEW
@given(st.floats(-5, 5), st.floats(-5, 5), st.integers(0, 1000))
def test_line_through_shifted_points(intercept: float, slope: float, seed: int) -> None:
    """Value and uncertainty of the line do not depend on the reference point."""
    rng = np.random.default_rng(seed)
    x = np.linspace(0, 3, 6)
    y = intercept + slope * x + rng.normal(0, 0.1, 6)
    one, two = fit_straight_line(x, y), fit_straight_line(x, y, reference=17.0)
    assert one.at(1.3) == pytest.approx(two.at(1.3), rel=1e-6, abs=1e-9)


@FEW
@given(st.integers(0, 10_000), st.floats(0.5, 0.99))
def test_shortest_interval_is_shortest(seed: int, level: float) -> None:
    """Never wider than the symmetric one, and both inside the sample."""
    values = np.random.default_rng(seed).gamma(2.0, 1.0, 300)
    found = summarise(values, level)
    assert np.diff(found.shortest) <= np.diff(found.symmetric) + 1e-12
    assert values.min() <= found.shortest[0] <= found.shortest[1] <= values.max()
