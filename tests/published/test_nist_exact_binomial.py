"""Exact binomial limits: NIST/SEMATECH handbook 7.2.4.1, and the rule for no failures.

Source, place and how it was read:
Handbook: 4 defectives in 20, two-sided 90 %: 0.071354 to 0.401029. How read: from memory, status
unverified; checked below against the defining equations as well.
No failures: the limit p solves (1 − p)^n = 0.05: 8 clean trials leave 31.2 %, 29 leave 9.8 % (closed form).
Tolerance: 1.5 units of the last printed digit: the handbook solves its equations with a spreadsheet.
"""

from __future__ import annotations

import pytest
from scipy import stats

from aerode.stats.proportions import (
    exact_share_interval,
    trials_for_clean_bound,
    upper_share_limit,
)


def test_handbook_example() -> None:
    """4 of 20 at 90 %."""
    assert exact_share_interval(4, 20, 0.90) == pytest.approx((0.071354, 0.401029), abs=1.5e-6)


@pytest.mark.parametrize(("failed", "tried"), [(1, 8), (4, 20), (7, 8), (3, 100)])
def test_limits_solve_the_defining_equations(failed: int, tried: int) -> None:
    """At the low limit so many or more failures have 2.5 %, at the high one so few or fewer."""
    low, high = exact_share_interval(failed, tried, 0.95)
    assert stats.binom.sf(failed - 1, tried, low) == pytest.approx(0.025, rel=1e-9)
    assert stats.binom.cdf(failed, tried, high) == pytest.approx(0.025, rel=1e-9)
    upper = upper_share_limit(failed, tried, 0.95)
    assert stats.binom.cdf(failed, tried, upper) == pytest.approx(0.05, rel=1e-9)


def test_no_failures() -> None:
    """0 of 8: 31.2 %; 0 of 29: 9.8 %; 29 clean ones are needed to claim fewer than 10 %."""
    assert upper_share_limit(0, 8) == pytest.approx(0.312, abs=5e-4)
    assert upper_share_limit(0, 29) == pytest.approx(0.098, abs=5e-4)
    assert upper_share_limit(0, 28) > 0.10
    assert trials_for_clean_bound(0.10) == 29
