"""Two lists of readings: against a general library, and refusals."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from aerode.errors import CannotTellError, RangeError
from aerode.stats.two_samples import paired_difference, pooled_difference, welch_difference


def test_agree_with_a_general_library() -> None:
    """Estimates, degrees of freedom, p values and intervals of scipy's three t tests."""
    rng = np.random.default_rng(1)
    a, b = rng.normal(0, 1, 6), rng.normal(1, 2, 6)
    for ours, theirs in (
        (welch_difference(a, b), stats.ttest_ind(b, a, equal_var=False)),
        (pooled_difference(a, b), stats.ttest_ind(b, a)),
        (paired_difference(a, b), stats.ttest_rel(b, a)),
    ):
        assert ours.estimate / ours.standard_error == pytest.approx(theirs.statistic)
        assert ours.p_value() == pytest.approx(theirs.pvalue)
        assert ours.degrees_of_freedom == pytest.approx(theirs.df)
        interval = theirs.confidence_interval(0.9)
        assert ours.interval(0.9) == pytest.approx((interval.low, interval.high))


def test_a_single_reading_on_one_side_can_be_pooled() -> None:
    """One against three: two degrees of freedom, from the three."""
    c = pooled_difference([1.0], [2.0, 3.0, 4.0])
    assert c.degrees_of_freedom == 2.0
    assert c.standard_error == pytest.approx(np.sqrt(1 + 1 / 3))


def test_too_little_is_refused() -> None:
    """One reading, no spread, pairs that do not match, NaN."""
    with pytest.raises(CannotTellError):
        welch_difference([1.0], [2.0, 3.0])
    with pytest.raises(CannotTellError):
        pooled_difference([1.0], [2.0])
    with pytest.raises(CannotTellError, match="do not differ"):
        paired_difference([1.0, 2.0], [2.0, 3.0])
    with pytest.raises(RangeError, match="pairs"):
        paired_difference([1.0, 2.0], [2.0, 3.0, 4.0])
    with pytest.raises(RangeError, match="finite"):
        welch_difference([1.0, np.nan], [2.0, 3.0])
