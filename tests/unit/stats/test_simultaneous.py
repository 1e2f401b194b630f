"""Several differences at once: critical values against other routes, and the familywise error itself."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from aerode.errors import RangeError
from aerode.stats.comparison import (
    generalised_least_squares,
    generalised_least_squares_with_build_variance,
)
from aerode.stats.contrasts import t_quantile
from aerode.stats.simultaneous import (
    against_control,
    all_pairs,
    critical_bonferroni,
    critical_multivariate_t,
    critical_tukey,
    holm,
    simultaneous_intervals,
)
from aerode.stats.studentized import chi_scales, studentized_range_probability


def pair_correlation(groups: int) -> np.ndarray:
    """Correlations of all differences of equally precise independent means."""
    rows = all_pairs(range(groups), groups)
    return rows @ rows.T / 2


@pytest.mark.parametrize(("groups", "df"), [(2, 2), (3, 4), (4, 9.5), (8, 8), (5, math.inf)])
def test_studentized_range_agrees_with_a_general_library(groups: int, df: float) -> None:
    """Our two quadratures against scipy's adaptive one."""
    for q in (1.0, 3.0, 6.0):
        assert studentized_range_probability(q, groups, df) == pytest.approx(
            float(stats.studentized_range.cdf(q, groups, df)), abs=1e-8
        )


@pytest.mark.parametrize(("groups", "df"), [(3, 10), (4, 20), (8, 4), (8, math.inf)])
def test_all_pairs_of_equal_means_is_tukey(groups: int, df: float) -> None:
    """The multivariate t of all pairs must give the studentized range's value."""
    found = critical_multivariate_t(pair_correlation(groups), df)
    assert found == pytest.approx(critical_tukey(groups, df), abs=0.0015)


def test_one_difference_is_students_t() -> None:
    """With one contrast, or several that are the same, nothing is to pay."""
    assert critical_multivariate_t([[1.0]], 7) == pytest.approx(t_quantile(0.975, 7), rel=1e-9)
    same = critical_multivariate_t(np.ones((3, 3)), 7)
    assert same == pytest.approx(t_quantile(0.975, 7), rel=1e-9)


def test_general_correlation_agrees_with_plain_drawing() -> None:
    """The slow twin: 400,000 drawn multivariate t vectors stay inside with 95 % ± 0.15 %."""
    rng = np.random.default_rng(1)
    root = rng.standard_normal((4, 3))
    r = root @ root.T + 0.3 * np.eye(4)
    r /= np.sqrt(np.outer(np.diagonal(r), np.diagonal(r)))
    c = critical_multivariate_t(r, 6)
    normal = rng.multivariate_normal(np.zeros(4), r, 400_000)
    t = normal / np.sqrt(rng.chisquare(6, 400_000) / 6)[:, None]
    assert np.mean(np.abs(t).max(axis=1) <= c) == pytest.approx(0.95, abs=0.0015)


def test_bonferroni_is_never_below_the_exact_value() -> None:
    """Bonferroni bounds Tukey and Dunnett from above, Student's t from below."""
    for groups, df in ((3, 4), (5, 12), (8, 8)):
        exact = critical_tukey(groups, df)
        count = groups * (groups - 1) // 2
        assert t_quantile(0.975, df) < exact < critical_bonferroni(count, df)


def test_holm_by_hand() -> None:
    """Sorted p times 4, 3, 2, 1, never falling, never above one."""
    assert holm([0.01, 0.20, 0.03, 0.04]) == pytest.approx([0.04, 0.20, 0.09, 0.09])
    assert holm([0.9, 0.8]) == pytest.approx([1.0, 1.0])
    with pytest.raises(RangeError, match="p value"):
        holm([1.2])


def test_chi_scales_have_the_moments_of_chi() -> None:
    """E s² = σ² and E s = σ √(2/ν) Γ((ν+1)/2)/Γ(ν/2)."""
    for df in (1.0, 2.0, 6.5, 40.0):
        s, p = chi_scales(df)
        expected = math.sqrt(2 / df) * math.exp(math.lgamma((df + 1) / 2) - math.lgamma(df / 2))
        assert float(p @ s) == pytest.approx(expected, rel=1e-9)
        assert float(p @ s**2) == pytest.approx(1.0, rel=1e-9)


def test_known_covariance_gives_normal_simultaneous_intervals() -> None:
    """Pieces: half-width = critical value at infinite degrees × standard error."""
    fit = generalised_least_squares([0.0, 0.1, 0.3], np.eye(3), 0.04 * np.eye(3))
    rows = all_pairs([0, 1, 2], 3)
    low, high = simultaneous_intervals(fit, rows)[0]
    expected = critical_tukey(3, math.inf) * 0.2 * math.sqrt(2)
    assert (high - low) / 2 == pytest.approx(expected, rel=1e-3)


def test_balanced_recipes_get_tukeys_intervals() -> None:
    """Without known errors the half-width is Tukey's."""
    y = np.array([0.0, 0.1, 0.4, 0.6, 1.0, 0.7])
    x = np.repeat(np.eye(3), 2, axis=0)
    fit = generalised_least_squares_with_build_variance(y, x, None, range(6))
    low, high = simultaneous_intervals(fit, all_pairs([0, 1, 2], 3))[1]
    expected = critical_tukey(3, 3) * math.sqrt(fit.build_variance)
    assert (high - low) / 2 == pytest.approx(expected, rel=2e-3)


def _false_shown(recipes: int, builds: int, studies: int, seed: int, *, control: bool) -> int:
    rng = np.random.default_rng(seed)
    x = np.repeat(np.eye(recipes), builds, axis=0)
    rows = (
        against_control(0, range(1, recipes), recipes)
        if control
        else all_pairs(range(recipes), recipes)
    )
    count = 0
    v = 0.01**2 * np.eye(recipes * builds)
    for _ in range(studies):
        y = rng.normal(0, math.hypot(0.1, 0.01), recipes * builds)
        fit = generalised_least_squares_with_build_variance(y, x, v, range(y.size))
        count += any(low > 0 or high < 0 for low, high in simultaneous_intervals(fit, rows))
    return count


@pytest.mark.parametrize("control", [False, True])
def test_familywise_error_of_four_recipes_quick(control: bool) -> None:
    """200 studies: fails only where the binomial p of more false than 5 % is below 1e-4."""
    count = _false_shown(4, 2, 200, 3, control=control)
    assert stats.binomtest(count, 200, 0.05, alternative="greater").pvalue > 1e-4


@pytest.mark.slow
@pytest.mark.parametrize(("recipes", "builds"), [(4, 2), (8, 2), (8, 3)])
def test_familywise_error_deep(recipes: int, builds: int) -> None:
    """3,000 studies of all pairs: false "shown" at most 5 % plus two standard errors."""
    count = _false_shown(recipes, builds, 3000, 4, control=False)
    assert count / 3000 <= 0.05 + 2 * math.sqrt(0.05 * 0.95 / 3000)


def test_bad_levels_and_matrices_are_refused() -> None:
    """A level of one, a matrix that is no correlation, one group."""
    with pytest.raises(RangeError, match="level"):
        critical_tukey(3, 5, 1.0)
    with pytest.raises(RangeError, match="correlation"):
        critical_multivariate_t([[2.0]], 5)
    with pytest.raises(RangeError, match="groups"):
        critical_tukey(1, 5)
    with pytest.raises(RangeError, match="freedom"):
        chi_scales(0)
