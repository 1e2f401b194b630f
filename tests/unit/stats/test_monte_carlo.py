"""Propagation of distributions: intervals, batches, the stop, refusals."""

from __future__ import annotations

import math

import numpy as np
import pytest

from aerode.errors import CannotTellError, RangeError
from aerode.stats.monte_carlo import adaptive_propagation, propagate_distributions, summarise


def test_shortest_interval_of_an_exponential_starts_at_zero() -> None:
    """[0, ln 20] against the symmetric [0.0253, 3.689]."""
    values = np.random.default_rng(1).exponential(1.0, 400_000)
    found = summarise(values)
    assert found.shortest == pytest.approx((0.0, math.log(20)), abs=0.02)
    assert found.symmetric == pytest.approx((0.02532, 3.6889), abs=0.03)
    assert found.mean_standard_error == pytest.approx(1 / math.sqrt(400_000), rel=0.02)


def test_intervals_hold_their_share_exactly() -> None:
    """Both intervals span ⌊pM + ½⌋ steps of the sorted values (7.7)."""
    values = np.random.default_rng(2).standard_normal(1000) ** 3
    for level in (0.5, 0.9, 0.95, 0.99):
        found = summarise(values, level)
        for low, high in (found.symmetric, found.shortest):
            assert np.sum((values >= low) & (values <= high)) == int(level * 1000 + 0.5) + 1
        assert np.diff(found.shortest) <= np.diff(found.symmetric)


def test_batches_do_not_change_the_law() -> None:
    """Small batches draw other numbers of the same law; the count is kept, never more at a time."""
    sizes: list[int] = []

    def draw(count: int, rng: np.random.Generator) -> np.ndarray:
        sizes.append(count)
        return rng.normal(0, 1, (count, 1))

    found = propagate_distributions(
        lambda x: x[:, 0] ** 2, draw, np.random.default_rng(3), trials=10_500, batch=1000
    )
    assert found.trials == 10_500
    assert max(sizes) == 1000
    assert sum(sizes) == 10_500
    assert found.mean == pytest.approx(1.0, abs=0.06)


def test_same_dice_same_answer() -> None:
    """Bit for bit."""

    def once() -> object:
        return propagate_distributions(
            lambda x: x[:, 0],
            lambda n, r: r.normal(0, 1, (n, 1)),
            np.random.default_rng(4),
            trials=1000,
        )

    assert once() == once()


def test_adaptive_stop_reaches_its_tolerance() -> None:
    """Two digits of u = 0.1: mean, u and both ends within 0.005 of the truth."""
    found = adaptive_propagation(
        lambda x: x[:, 0], lambda n, r: r.normal(5.0, 0.1, (n, 1)), np.random.default_rng(5)
    )
    assert found.mean == pytest.approx(5.0, abs=0.005)
    assert found.standard_uncertainty == pytest.approx(0.1, abs=0.005)
    assert found.symmetric == pytest.approx((4.804, 5.196), abs=0.005)


def test_adaptive_gives_up_with_a_reason() -> None:
    """A Cauchy output never stands still."""
    with pytest.raises(CannotTellError, match="did not settle"):
        adaptive_propagation(
            lambda x: x[:, 0],
            lambda n, r: r.standard_cauchy((n, 1)),
            np.random.default_rng(6),
            most_trials=100_000,
        )


def test_a_constant_stops_at_once() -> None:
    """No spread at all: two blocks are enough."""
    found = adaptive_propagation(
        lambda x: np.zeros(len(x)), lambda n, r: r.normal(0, 1, (n, 1)), np.random.default_rng(7)
    )
    assert (found.mean, found.standard_uncertainty, found.trials) == (0.0, 0.0, 20_000)


def test_bad_models_are_refused() -> None:
    """NaN, a wrong shape, too few values, a level of one."""

    def draw(count: int, rng: np.random.Generator) -> np.ndarray:
        return rng.normal(0, 1, (count, 1))

    with pytest.raises(RangeError, match="not finite"), np.errstate(invalid="ignore"):
        propagate_distributions(lambda x: np.log(x[:, 0]), draw, np.random.default_rng(0))
    with pytest.raises(RangeError, match="shape"):
        propagate_distributions(lambda x: x, draw, np.random.default_rng(0))
    with pytest.raises(RangeError, match="100"):
        summarise([1.0, 2.0])
    with pytest.raises(RangeError, match="level"):
        summarise(np.arange(200.0), 1.0)
