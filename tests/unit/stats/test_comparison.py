"""The linear model with a known covariance and an unknown build variance."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats
from scipy.optimize import minimize_scalar

from aerode.errors import CannotTellError, RangeError
from aerode.stats.comparison import (
    generalised_least_squares,
    generalised_least_squares_with_build_variance,
    shared_error_covariance,
)

Floats = NDArray[np.float64]

LEVELS = (0.80, 0.90, 0.95, 0.99)


def one_way(groups: list[list[float]]) -> tuple[Floats, Floats]:
    """Responses and the indicator design of a one-way layout."""
    y = np.concatenate([np.asarray(g) for g in groups])
    x = np.zeros((y.size, len(groups)))
    row = 0
    for column, group in enumerate(groups):
        x[row : row + len(group), column] = 1
        row += len(group)
    return y, x


@pytest.mark.parametrize("level", LEVELS)
def test_is_exactly_the_pooled_t_interval(level: float) -> None:
    """No known errors, one-way layout (balanced or not): the text-book pooled-variance interval."""
    for groups in (
        [[0.1, 0.3], [0.9, 1.4]],
        [[0.1, 0.3, 0.2, 0.25], [0.9, 1.4, 1.0, 1.1], [2.0, 2.5, 2.1, 2.2]],
        [[0.1, 0.3, 0.2], [0.9, 1.4], [2.0]],
    ):
        y, x = one_way(groups)
        fit = generalised_least_squares_with_build_variance(y, x, None, np.arange(y.size))
        df = y.size - len(groups)
        pooled = sum(float(np.var(g) * len(g)) for g in groups) / df
        c = fit.contrast([-1, 1] + [0] * (len(groups) - 2))
        half = stats.t.ppf(0.5 + level / 2, df) * math.sqrt(
            pooled * (1 / len(groups[0]) + 1 / len(groups[1]))
        )
        centre = float(np.mean(groups[1]) - np.mean(groups[0]))
        assert c.interval(level) == pytest.approx((centre - half, centre + half), rel=1e-12)
        assert c.degrees_of_freedom == pytest.approx(df, rel=1e-12)
        assert c.p_value() == pytest.approx(
            2 * stats.t.sf(abs(centre) / (half / stats.t.ppf(0.5 + level / 2, df)), df), rel=1e-9
        )
        assert fit.build_degrees_of_freedom == pytest.approx(df)


@pytest.mark.parametrize("level", LEVELS)
def test_pieces_get_the_normal_interval_of_the_known_covariance(level: float) -> None:
    """Build variance nought: normal interval, shared error cancelling in the difference."""
    own, shared = 0.016, 0.05
    v = own**2 * np.eye(2) + shared_error_covariance(np.ones((2, 1)), [shared])
    c = generalised_least_squares([0.0, 0.088], np.eye(2), v).contrast([-1, 1])
    half = stats.norm.ppf(0.5 + level / 2) * own * math.sqrt(2)
    assert c.interval(level) == pytest.approx((0.088 - half, 0.088 + half), rel=1e-12)
    assert math.isinf(c.degrees_of_freedom)


def test_equal_known_errors_are_inside_the_pooled_spread() -> None:
    """Equal independent known errors change nothing in a balanced interval, only the build share."""
    groups = [[0.1, 0.3], [0.9, 1.4]]
    y, x = one_way(groups)
    plain = generalised_least_squares_with_build_variance(y, x, None, np.arange(4))
    known = generalised_least_squares_with_build_variance(y, x, 0.01 * np.eye(4), np.arange(4))
    assert known.contrast([-1, 1]).interval() == pytest.approx(plain.contrast([-1, 1]).interval())
    assert known.contrast([-1, 1]).degrees_of_freedom == pytest.approx(2.0)
    assert known.build_variance == pytest.approx(plain.build_variance - 0.01)


def test_never_narrower_than_the_known_errors_alone() -> None:
    """Builds that agree far better than the measurement allows: the measurement's interval."""
    y = np.array([0.0, 0.0001, 0.2, 0.2001])
    x = np.repeat(np.eye(2), 2, axis=0)
    v = 0.02**2 * np.eye(4)
    recipe = generalised_least_squares_with_build_variance(y, x, v, np.arange(4))
    pieces = generalised_least_squares(y, x, v)
    assert recipe.build_variance == 0.0
    assert recipe.unbounded_build_variance < 0.0
    assert recipe.contrast([-1, 1]).interval() == pytest.approx(
        pieces.contrast([-1, 1]).interval(), rel=1e-9
    )


def _deviance(s: float, y: Floats, x: Floats, v: Floats, g: Floats) -> float:
    """−2 × restricted log-likelihood from its definition: the slow plain twin."""
    sigma = v + s * g
    inverse = np.linalg.inv(sigma)
    information = x.T @ inverse @ x
    beta = np.linalg.solve(information, x.T @ inverse @ y)
    r = y - x @ beta
    return float(np.linalg.slogdet(sigma)[1] + np.linalg.slogdet(information)[1] + r @ inverse @ r)


def _drifting_bench(rng: np.random.Generator, n: int, spread: float) -> tuple[Floats, ...]:
    """Two arms of n builds in random order, a control read first, middle and last."""
    count = 2 * n
    run = np.concatenate([rng.permutation(count) + 1.0, [0.0, n + 0.5, count + 1.0]])
    x = np.zeros((count + 3, 4))
    x[np.arange(count), np.repeat([0, 1], n)] = 1
    x[count:, 2] = 1
    x[:, 3] = run - run.mean()
    control = np.concatenate([np.zeros(count), run[count:]])
    shared = np.stack([np.ones(count + 3), control], axis=1)
    v = 0.016**2 * np.eye(count + 3) + shared_error_covariance(shared, [0.01, 0.01])
    builds = np.concatenate([np.arange(count), [-1, -1, -1]])
    y = (
        np.concatenate([rng.normal(0, spread, count), np.zeros(3)])
        + rng.multivariate_normal(np.zeros(count + 3), v)
        - 0.03 * run
    )
    return y, x, v, builds


@pytest.mark.parametrize("seed", range(6))
def test_restricted_likelihood_agrees_with_its_plain_twin(seed: int) -> None:
    """Unequal, shared and nested errors: the same maximum as a search on the full matrices."""
    rng = np.random.default_rng(seed)
    y, x, v, builds = _drifting_bench(rng, 3, 0.08)
    v = v + np.diag(rng.uniform(0, 0.03, y.size) ** 2)
    fit = generalised_least_squares_with_build_variance(y, x, v, builds)
    g = ((builds[:, None] == builds) & (builds >= 0)).astype(float)
    found = minimize_scalar(
        lambda s: _deviance(s, y, x, v, g),
        bounds=(0, 0.1),
        method="bounded",
        options={"xatol": 1e-12},
    )
    assert fit.build_variance == pytest.approx(float(found.x), rel=1e-4, abs=1e-7)
    inverse = np.linalg.inv(v + fit.build_variance * g)
    covariance = np.linalg.inv(x.T @ inverse @ x)
    assert np.allclose(fit.covariance, covariance, rtol=1e-8)
    assert np.allclose(fit.coefficients, covariance @ x.T @ inverse @ y, rtol=1e-8)
    assert np.allclose(fit.known_part + fit.build_variance * fit.build_part, covariance, rtol=1e-8)


def test_repeats_on_one_build_are_nested() -> None:
    """Ten readings of each of four builds give the degrees of freedom of four builds, not of forty."""
    rng = np.random.default_rng(4)
    builds = np.repeat(np.arange(4), 10)
    x = np.repeat(np.eye(2), 20, axis=0)
    y = rng.normal(0, 0.1, 4)[builds] + rng.normal(0, 0.001, 40)
    c = generalised_least_squares_with_build_variance(y, x, 1e-6 * np.eye(40), builds).contrast(
        [-1, 1]
    )
    means = y.reshape(4, 10).mean(axis=1)
    pooled = (np.var(means[:2]) + np.var(means[2:])) * 2 / 2
    assert c.degrees_of_freedom == pytest.approx(2.0, rel=0.01)
    assert c.standard_error == pytest.approx(math.sqrt(pooled), rel=0.01)


def test_past_spread_pools_by_degrees_of_freedom() -> None:
    """One build of each recipe and a past spread of 6 degrees: t interval on the past spread."""
    fit = generalised_least_squares_with_build_variance(
        [0.0, 0.3],
        np.eye(2),
        None,
        [0, 1],
        past_build_variance=0.01,
        past_degrees_of_freedom=6.0,
    )
    c = fit.contrast([-1, 1])
    half = stats.t.ppf(0.975, 6) * 0.1 * math.sqrt(2)
    assert c.interval() == pytest.approx((0.3 - half, 0.3 + half), rel=1e-9)
    groups = [[0.1, 0.3], [0.9, 1.4]]
    y, x = one_way(groups)
    both = generalised_least_squares_with_build_variance(
        y, x, None, range(4), past_build_variance=0.01, past_degrees_of_freedom=6.0
    )
    pooled = (0.02 + 0.125 + 6 * 0.01) / 8
    assert both.build_variance == pytest.approx(pooled, rel=1e-9)
    assert both.contrast([-1, 1]).degrees_of_freedom == pytest.approx(8.0)


def test_build_spread_interval_is_the_chi_square_one() -> None:
    """Without known errors: s√(ν/χ²)."""
    y, x = one_way([[0.1, 0.3, 0.2, 0.25], [0.9, 1.4, 1.0, 1.1]])
    fit = generalised_least_squares_with_build_variance(y, x, None, np.arange(8))
    low, high = fit.build_spread_interval(0.95)
    s = math.sqrt(fit.build_variance)
    assert low == pytest.approx(s * math.sqrt(6 / stats.chi2.ppf(0.975, 6)))
    assert high == pytest.approx(s * math.sqrt(6 / stats.chi2.ppf(0.025, 6)))
    with pytest.raises(CannotTellError, match="spread between builds"):
        generalised_least_squares(y, x, np.eye(8)).build_spread_interval()


def test_what_cannot_be_told_is_refused() -> None:
    """Single builds, aliased columns, identical replicates, readings without error."""
    with pytest.raises(CannotTellError, match="fewer than two"):
        generalised_least_squares_with_build_variance([0.0, 1.0], np.eye(2), None, [0, 1])
    aliased = np.array([[1.0, 0, 1], [1, 0, 2], [0, 1, 3], [0, 1, 4]])
    aliased[:, 2] = aliased[:, 1]
    with pytest.raises(CannotTellError, match="told apart"):
        generalised_least_squares_with_build_variance(np.arange(4.0), aliased, None, range(4))
    x = np.repeat(np.eye(2), 2, axis=0)
    with pytest.raises(CannotTellError, match="do not differ"):
        generalised_least_squares_with_build_variance([1.0, 1, 2, 2], x, None, range(4))
    with pytest.raises(CannotTellError, match="neither"):
        generalised_least_squares_with_build_variance([1.0, 1, 2, 3], x, None, [0, 0, 1, 2])
    with pytest.raises(CannotTellError, match="singular"):
        generalised_least_squares([1.0, 2.0], np.eye(2), np.ones((2, 2)))


def test_bad_input_is_refused() -> None:
    """Shapes, NaN, asymmetry, negative past, wrong weights."""
    x = np.repeat(np.eye(2), 2, axis=0)
    with pytest.raises(RangeError, match="belong together"):
        generalised_least_squares([1.0, 2.0], x, np.eye(2))
    with pytest.raises(RangeError, match="finite"):
        generalised_least_squares([1.0, 2, 3, math.nan], x, np.eye(4))
    with pytest.raises(RangeError, match="symmetric"):
        generalised_least_squares([1.0, 2, 3, 4], x, np.triu(np.ones((4, 4))))
    with pytest.raises(RangeError, match="build numbers"):
        generalised_least_squares_with_build_variance([1.0, 2, 3, 4], x, None, [0, 1])
    with pytest.raises(RangeError, match="negative"):
        generalised_least_squares_with_build_variance(
            [1.0, 2, 3, 4], x, None, range(4), past_build_variance=-1.0
        )
    with pytest.raises(RangeError, match="weights"):
        generalised_least_squares([1.0, 2, 3, 4], x, np.eye(4)).contrast([1.0])


STRATA = [
    (n, spread, drift, aligned)
    for n in (2, 3, 4)
    for spread in (0.05, 0.10, 0.20)
    for drift in (0.0, 0.03)
    for aligned in (False, True)
]


def _coverage(n: int, spread: float, drift: float, aligned: bool, studies: int, seed: int) -> int:
    """How many of the joint fits (runs, control, ageing prior 1 % a run) hold the true difference."""
    rng = np.random.default_rng(seed)
    count = 2 * n
    x = np.zeros((count + 3, 4))
    x[np.arange(count), np.repeat([0, 1], n)] = 1
    x[count:, 2] = 1
    builds = np.concatenate([np.arange(count), [-1, -1, -1]])
    difference, held = 0.07, 0
    for _ in range(studies):
        order = np.arange(count) if aligned else rng.permutation(count)
        run = np.concatenate([order + 1.0, [0.0, n + 0.5, count + 1.0]])
        x[:, 3] = run - run.mean()
        ageing = np.where(builds < 0, run, 0.0)
        shared = np.stack([np.ones(count + 3), ageing], axis=1)
        v = 0.016**2 * np.eye(count + 3) + shared_error_covariance(shared, [0.01, 0.01])
        y = shared @ (rng.standard_normal(2) * 0.01) + rng.normal(0, 0.016, count + 3)
        y[:count] += rng.normal(0, spread, count) + np.repeat([0.0, difference], n)
        y -= drift * run
        fit = generalised_least_squares_with_build_variance(y, x, v, builds)
        low, high = fit.contrast([-1, 1, 0, 0]).interval(0.95)
        held += low <= difference <= high
    return held


@pytest.mark.parametrize(("n", "spread", "drift", "aligned"), STRATA)
def test_coverage_in_every_stratum_quick(
    n: int, spread: float, drift: float, aligned: bool
) -> None:
    """400 studies a stratum: fails only where the exact binomial p against 0.95 is below 1e-4."""
    held = _coverage(n, spread, drift, aligned, 400, seed=20)
    assert stats.binomtest(held, 400, 0.95).pvalue > 1e-4


@pytest.mark.slow
@pytest.mark.parametrize(("n", "spread", "drift", "aligned"), STRATA)
def test_coverage_in_every_stratum_deep(n: int, spread: float, drift: float, aligned: bool) -> None:
    """8,000 studies a stratum: inside 94 to 96 %, give or take 3 standard errors (0.7 %)."""
    held = _coverage(n, spread, drift, aligned, 8000, seed=21)
    assert 0.94 - 0.0073 < held / 8000 < 0.96 + 0.0073
