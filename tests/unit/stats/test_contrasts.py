"""One difference: intervals and p values that belong together."""

from __future__ import annotations

import math

import pytest
from scipy import stats

from aerode.errors import RangeError
from aerode.stats.contrasts import Contrast, t_quantile, t_tail


@pytest.mark.parametrize(("p", "df"), [(0.975, 1.0), (0.05, 3.5), (0.995, 1e6), (0.9, math.inf)])
def test_quantiles_agree_with_a_general_library(p: float, df: float) -> None:
    """Student's t, and the normal distribution at infinity."""
    law = stats.norm if math.isinf(df) else stats.t(df)
    assert t_quantile(p, df) == pytest.approx(law.ppf(p), rel=1e-9)
    assert t_tail(t_quantile(p, df), df) == pytest.approx(2 * min(p, 1 - p), rel=1e-7)


@pytest.mark.parametrize(
    "c",
    [
        Contrast(0.21, 0.05, 3.0, 0.02, 0.05),
        Contrast(0.05, 0.02, 2.0, 0.02, 0.001),
        Contrast(-0.3, 0.1, math.inf, 0.1, 0.1),
        Contrast(0.04, 0.02, 5.0, 0.019, 0.0),
    ],
)
def test_p_value_and_interval_never_contradict(c: Contrast) -> None:
    """At the level 1 − p the interval just touches zero."""
    p = c.p_value()
    low, high = c.interval(1 - p)
    assert min(abs(low), abs(high)) < 1e-6
    for level in (0.5, 0.9, 0.95, 0.99):
        low, high = c.interval(level)
        assert (low > 0 or high < 0) == (p < 1 - level)


def test_never_narrower_than_the_known_part() -> None:
    """An estimated part of nothing leaves the normal interval of the known errors."""
    low, high = Contrast(1.0, 0.1, 4.0, 0.1, 0.0).interval()
    assert (low, high) == pytest.approx((1 - 0.196, 1 + 0.196), abs=1e-4)


def test_no_error_at_all() -> None:
    """A difference without any error is certain; no difference without error is none."""
    assert Contrast(0.1, 0.0, math.inf, 0.0, 0.0).p_value() == 0.0
    assert Contrast(0.0, 0.0, math.inf, 0.0, 0.0).p_value() == 1.0


def test_bad_questions_are_refused() -> None:
    """A probability of one, no degrees of freedom."""
    with pytest.raises(RangeError, match="probability"):
        t_quantile(1.0, 4)
    with pytest.raises(RangeError, match="degrees"):
        t_quantile(0.9, 0)
