"""The four verdicts."""

from __future__ import annotations

import math

import pytest

from aerode.errors import RangeError
from aerode.stats.two_samples import pooled_difference
from aerode.stats.verdicts import Verdict, equivalent, verdict

MARGIN = math.log(1.10)


@pytest.mark.parametrize(
    ("low", "high", "expected"),
    [
        (0.12, 0.40, Verdict.SHOWN),
        (-0.40, -0.01, Verdict.SHOWN),
        (0.01, 0.20, Verdict.SHOWN),
        (0.01, 0.06, Verdict.SMALLER_THAN_MATTERS),
        (-0.06, -0.01, Verdict.SMALLER_THAN_MATTERS),
        (-0.03, 0.05, Verdict.EQUIVALENT),
        (-0.03, 0.20, Verdict.NOT_SHOWN),
        (-0.20, 0.05, Verdict.NOT_SHOWN),
        (-1.0, 1.0, Verdict.NOT_SHOWN),
        (0.0, 0.05, Verdict.EQUIVALENT),
        (0.0, 0.50, Verdict.NOT_SHOWN),
    ],
)
def test_each_state(low: float, high: float, expected: Verdict) -> None:
    """Zero inside or out, margin kept or crossed, both signs, touching zero."""
    assert verdict(low, high, MARGIN) is expected


def test_each_level_decides_its_own_question() -> None:
    """The 95 % interval decides "shown", the 90 % one decides "inside the margin"."""
    wide, narrow = (-0.01, 0.11), (0.00, 0.09)
    assert verdict(*wide, MARGIN) is Verdict.NOT_SHOWN
    assert verdict(*wide, MARGIN, equivalence_interval=narrow) is Verdict.EQUIVALENT
    assert verdict(0.005, 0.10, MARGIN, equivalence_interval=narrow) is Verdict.SMALLER_THAN_MATTERS


@pytest.mark.parametrize("shift", [0.0, 0.03, 0.06, 0.09, 0.12])
def test_equivalence_is_the_two_one_sided_test(shift: float) -> None:
    """Interval verdict and both one-sided t tests at 5 % must agree, whatever the data."""
    from scipy import stats

    first = [0.00, 0.02, -0.03, 0.01, -0.01, 0.02]
    second = [v + shift for v in (0.01, -0.01, 0.02, 0.00, 0.03, -0.02)]
    c = pooled_difference(first, second)
    below = stats.t.sf((c.estimate + MARGIN) / c.standard_error, c.degrees_of_freedom)
    above = stats.t.cdf((c.estimate - MARGIN) / c.standard_error, c.degrees_of_freedom)
    assert equivalent(*c.interval(0.90), MARGIN) == (max(below, above) < 0.05)


def test_what_is_no_interval_is_refused() -> None:
    """Ends swapped, not finite, margin zero."""
    with pytest.raises(RangeError, match="interval"):
        verdict(0.2, 0.1, MARGIN)
    with pytest.raises(RangeError, match="interval"):
        verdict(math.nan, 0.1, MARGIN)
    with pytest.raises(RangeError, match="margin"):
        equivalent(0.0, 0.1, 0.0)
