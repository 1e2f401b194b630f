"""Exact limits of a share: coverage by enumeration, ends, refusals."""

from __future__ import annotations

import pytest
from scipy import stats

from aerode.errors import RangeError
from aerode.stats.proportions import (
    exact_share_interval,
    trials_for_clean_bound,
    upper_share_limit,
)


@pytest.mark.parametrize("share", [0.01, 0.1, 0.37, 0.5, 0.93])
def test_coverage_is_never_below_the_level(share: float) -> None:
    """All outcomes of eight trials enumerated: the interval holds the truth in 95 % at least."""
    inside = sum(
        float(stats.binom.pmf(k, 8, share))
        for k in range(9)
        if exact_share_interval(k, 8)[0] <= share <= exact_share_interval(k, 8)[1]
    )
    assert inside >= 0.95


def test_ends_and_symmetry() -> None:
    """None failed, all failed, and failing mirrored into passing."""
    assert exact_share_interval(0, 8)[0] == 0.0
    assert exact_share_interval(8, 8)[1] == 1.0
    assert upper_share_limit(8, 8) == 1.0
    low, high = exact_share_interval(2, 9)
    assert exact_share_interval(7, 9) == pytest.approx((1 - high, 1 - low))


@pytest.mark.parametrize("share", [0.5, 0.1, 0.05, 0.01])
def test_clean_trials_are_just_enough(share: float) -> None:
    """So many clean trials bound the share, one fewer do not."""
    n = trials_for_clean_bound(share)
    assert upper_share_limit(0, n) <= share < upper_share_limit(0, n - 1)


def test_bad_counts_are_refused() -> None:
    """More failed than tried, none tried, levels and shares out of range."""
    for failed, tried in ((3, 2), (-1, 2), (0, 0)):
        with pytest.raises(RangeError):
            exact_share_interval(failed, tried)
    with pytest.raises(RangeError, match="level"):
        upper_share_limit(0, 3, 1.0)
    with pytest.raises(RangeError, match="share"):
        trials_for_clean_bound(0.0)
