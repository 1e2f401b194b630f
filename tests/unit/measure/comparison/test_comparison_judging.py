"""Intervals and verdicts: against the plain twin, at every look's level, and the words of the four verdicts."""

from __future__ import annotations

import numpy as np
import pytest

from aerode.errors import RangeError
from aerode.measure.comparison.comparing import compare_recipes
from aerode.measure.comparison.joint import Observations, fit_recipes
from aerode.measure.comparison.judging import judge, simultaneous, verdict_on
from aerode.measure.comparison.looks import UNDECLARED_LEVEL, level_of_each_look
from aerode.records.comparisons import Verdict
from aerode.stats.looks import false_shown
from aerode.stats.simultaneous import simultaneous_intervals
from aerode.stats.verdicts import Verdict as Said

MARGIN = float(np.log(1.10))


def study(
    gap: float, spread: float = 0.02, recipes: int = 4, builds: int = 3, seed: int = 3
) -> Observations:
    """Recipes a gap apart, three builds of each, in a random order."""
    rng = np.random.default_rng(seed)
    recipe = [chr(65 + k) for k in range(recipes) for _ in range(builds)]
    value = [gap * (ord(r) - 65) + spread * rng.standard_normal() for r in recipe]
    n = len(value)
    names = tuple(f"{r}{k}" for k, r in enumerate(recipe))
    return Observations(value=np.array(value), known=np.eye(n) * 0.005**2, electrode=names, piece=names,
                        recipe=tuple(recipe), order=rng.permutation(n).astype(float), session=("d",) * n,
                        control=(False,) * n)  # fmt: skip


def test_remembered_critical_values_agree_with_the_plain_twin():
    """Rounding the correlations and degrees of freedom moves an interval by less than 0.7 % of its width."""
    fit = fit_recipes(study(0.05)).fit
    rows = np.array([[1.0, -1, 0, 0], [1, 0, -1, 0], [1, 0, 0, -1], [0, 1, -1, 0]])
    for level in (0.95, 0.988):
        fast, plain = simultaneous(fit, rows, level), simultaneous_intervals(fit, rows, level)
        for (low, high), (low2, high2) in zip(fast, plain, strict=True):
            assert 0.995 < (high - low) / (high2 - low2) < 1.007
            assert low + high == pytest.approx(low2 + high2, abs=1e-12)


@pytest.mark.parametrize("look_level", [0.05, 0.012])
def test_the_verdict_alone_is_the_one_of_the_whole_judgement(look_level):
    """The short way gives what the long way gives, for every row of a family."""
    fit = fit_recipes(study(0.06)).fit
    rows = np.array([[1.0, -1, 0, 0], [1, 0, -1, 0], [0, 0, 1, -1]])
    whole = judge(fit, rows, margin=MARGIN, look_level=look_level)
    for place, difference in enumerate(whole):
        assert verdict_on(fit, rows, place, MARGIN, look_level) is difference.verdict


@pytest.mark.parametrize(
    ("gap", "spread", "verdict"),
    [
        (0.30, 0.02, Verdict.SHOWN),
        (0.04, 0.006, Verdict.SHOWN_SMALL),
        (0.00, 0.012, Verdict.EQUIVALENT),
        (0.05, 0.15, Verdict.NOT_SHOWN),
    ],
)
def test_each_of_the_four_verdicts_is_reached(gap, spread, verdict):
    """A large gap, a small sure one, none, and one that drowns in the spread."""
    found = compare_recipes(study(gap, spread, recipes=2, builds=6), ["B", "A"], margin=MARGIN)
    assert found.of("B", "A").verdict is verdict


def test_a_stricter_look_gives_a_wider_interval_and_leaves_the_plain_one_alone():
    """The interval that decides widens with the number of looks; the 95 % interval does not."""
    one = compare_recipes(study(0.1, recipes=2), ["B", "A"], margin=MARGIN).of("B", "A")
    three = compare_recipes(study(0.1, recipes=2), ["B", "A"], margin=MARGIN, look_level=0.0188).of(
        "B", "A"
    )
    assert np.ptp(three.decision) > 1.1 * np.ptp(one.decision)
    assert three.interval_95 == one.interval_95
    assert one.decision == one.interval_95


def test_a_reason_against_it_caps_every_verdict_at_not_shown():
    """Even an equivalence is not claimed then."""
    fit = fit_recipes(study(0.0, 0.01, recipes=2, builds=6)).fit
    row = np.array([[1.0, -1.0]])
    assert judge(fit, row, margin=MARGIN)[0].verdict is Verdict.EQUIVALENT
    capped = judge(fit, row, margin=MARGIN, capped=["why"])[0]
    assert (capped.verdict, capped.capped) == (Verdict.NOT_SHOWN, "why")


def test_the_words_of_the_two_lists_of_verdicts_are_the_same():
    """The record's verdicts are those of the statistics, and one more for a block."""
    assert {str(v) for v in Verdict} == {str(v) for v in Said} | {"blocked"}


@pytest.mark.parametrize(
    "looks",
    [
        (2, 3),
        (2, 8),
        (4, 8),
        (2, 3, 4),
        (2, 4, 8),
        (3, 4, 6, 8),
        (3, 5, 8, 12),
        (2, 4, 8, 16),
        (2, 3, 4, 5, 6),
    ],
)
def test_the_levels_of_declared_looks_keep_the_whole_at_five_per_cent(looks):
    """Simulated again, 60,000 studies: at most 5 % plus three standard errors, and not far below 3.5 %."""
    share = false_shown(
        looks, level_of_each_look(len(looks)), np.random.default_rng(6), trials=60_000
    )
    assert 0.035 < share < 0.05 + 3 * (0.05 * 0.95 / 60_000) ** 0.5


def test_seven_undeclared_looks_stay_at_five_per_cent():
    """After every pair of builds up to eight, at the level for people who did not say."""
    share = false_shown(
        (2, 3, 4, 5, 6, 7, 8), UNDECLARED_LEVEL, np.random.default_rng(6), trials=60_000
    )
    assert share < 0.05 + 3 * (0.05 * 0.95 / 60_000) ** 0.5


def test_levels_fall_with_the_number_of_looks():
    """One look has the whole 5 %; no number of looks is free; none at all is refused."""
    levels = [level_of_each_look(k) for k in range(1, 15)]
    assert levels[0] == 0.05
    assert levels == sorted(levels, reverse=True)
    assert levels[-1] > 0
    with pytest.raises(RangeError):
        level_of_each_look(0)
