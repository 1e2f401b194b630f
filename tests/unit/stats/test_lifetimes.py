"""Weibull lives: recovery, censoring, percentiles, refusals."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from aerode.errors import CannotTellError, RangeError
from aerode.stats.lifetimes import fit_weibull


def test_complete_lives_agree_with_a_general_library() -> None:
    """No censoring: scipy's weibull_min.fit, in hours or in seconds."""
    lives = stats.weibull_min.rvs(1.8, scale=300, size=30, random_state=np.random.default_rng(1))
    shape, _, scale = stats.weibull_min.fit(lives, floc=0)
    found = fit_weibull(lives)
    assert (found.shape, found.scale) == pytest.approx((shape, scale), rel=2e-5)
    seconds = fit_weibull(lives * 3600)
    assert seconds.scale == pytest.approx(3600 * found.scale, rel=1e-6)
    assert seconds.log_likelihood == pytest.approx(found.log_likelihood - 30 * math.log(3600))


def test_narrow_looks_tend_to_watched_failures() -> None:
    """Intervals of one part in ten thousand give what the times themselves give."""
    lives = stats.weibull_min.rvs(2.5, scale=50, size=15, random_state=np.random.default_rng(2))
    watched = fit_weibull(lives, alive_at=[80.0])
    looked = fit_weibull(alive_at=[80.0], failed_between=np.stack([lives, lives * 1.0001], axis=1))
    assert (looked.shape, looked.scale) == pytest.approx((watched.shape, watched.scale), rel=1e-3)


def test_a_morning_find_entered_as_a_time_lengthens_the_life() -> None:
    """Why intervals are kept: found at 09:00 after dry at 20:00."""
    looks = np.array([[11.0, 24.0], [35.0, 48.0], [35.0, 48.0], [59.0, 72.0]])
    assert fit_weibull(looks[:, 1]).scale > fit_weibull(failed_between=looks).scale + 3


def test_life_of_a_share_and_its_interval() -> None:
    """B10 by its definition; the interval holds the truth in 88 % or more of 100 sets of 30."""
    rng = np.random.default_rng(3)
    truth, hits = 100 * (-math.log(0.9)) ** 0.5, 0
    for _ in range(100):
        life, low, high = fit_weibull(100 * rng.weibull(2.0, 30)).life_of(0.1)
        hits += low < truth < high
        assert low < life < high
    assert hits / 100 >= 0.88
    found = fit_weibull([54, 187, 216, 240], [300.0])
    assert found.surviving(found.life_of(0.1)[0]) == pytest.approx(0.9)
    assert found.surviving(0.0) == 1.0


def test_mean_and_spread_are_those_of_the_law() -> None:
    """Against scipy's own moments."""
    found = fit_weibull([54, 187, 216, 240], [300.0])
    law = stats.weibull_min(found.shape, scale=found.scale)
    assert found.mean == pytest.approx(law.mean())
    assert found.standard_deviation == pytest.approx(law.std())
    assert found.akaike == pytest.approx(4 - 2 * found.log_likelihood)


def test_one_interval_and_survivors_are_too_few() -> None:
    """A single failure, equal failures, overlapping looks without survivors: nothing to tell."""
    for arguments in (
        {"failed_at": [10.0], "alive_at": [20.0] * 5},
        {"failed_at": [10.0, 10.0]},
        {"failed_between": [[0.0, 10.0], [0.0, 12.0]]},
        {},
    ):
        with pytest.raises(CannotTellError, match="too few"):
            fit_weibull(**arguments)


def test_two_separate_looks_can_be_told() -> None:
    """Two intervals that do not overlap hold both parameters."""
    found = fit_weibull(failed_between=[[10.0, 20.0], [30.0, 45.0], [20.0, 30.0]])
    assert 20 < found.scale < 40
    assert found.shape > 1


def test_bad_times_are_refused() -> None:
    """Zero, negative, NaN, an interval upside down, a share of one."""
    for arguments in (
        {"failed_at": [0.0, 1.0]},
        {"failed_at": [1.0, 2.0], "alive_at": [-1.0]},
        {"failed_at": [1.0, math.nan]},
        {"failed_between": [[3.0, 2.0]]},
    ):
        with pytest.raises(RangeError):
            fit_weibull(**arguments)
    with pytest.raises(RangeError, match="share"):
        fit_weibull([54, 187, 216, 240]).life_of(1.0)
