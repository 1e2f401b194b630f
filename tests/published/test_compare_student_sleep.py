"""The comparison of two recipes against Student's sleep data, a printed two-sample test.

Source: Student (W. S. Gosset), "The probable error of a mean", Biometrika 6 (1908) 1, p. 20: additional hours of
sleep with two drugs, ten patients. The two-sample t of the textbooks that reprint it: t = -1.8608 (with equal
numbers the same for pooled and unequal variances), p = 0.07919 at 18 degrees of freedom (0.07939 at 17.776).
How read: data as reprinted in general statistics libraries; t and p recomputed with one here.
Tolerance: half a unit of the last printed digit.
Ten builds of each of two recipes, without drift (all at one place) and without measurement error.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from aerode.measure.comparison.comparing import compare_recipes
from aerode.measure.comparison.joint import Observations
from aerode.records.comparisons import Verdict

FIRST = (0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0)
SECOND = (1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4)


def difference():
    """First over second, as the comparison of recipes sees it."""
    value = np.array([*FIRST, *SECOND])
    names = tuple(f"p{k}" for k in range(20))
    seen = Observations(value=value, known=np.eye(20) * 1e-16, electrode=names, piece=names,
                        recipe=("A",) * 10 + ("B",) * 10, order=np.zeros(20), session=("s",) * 20,
                        control=(False,) * 20)  # fmt: skip
    return compare_recipes(seen, ["A", "B"], margin=0.1).of("A", "B")


def test_t_and_degrees_of_freedom_are_the_printed_ones():
    """t = -1.8608 with 18 degrees of freedom."""
    found = difference()
    assert found.estimate / found.standard_error == pytest.approx(-1.8608, abs=5e-5)
    assert found.degrees_of_freedom == pytest.approx(18.0, rel=1e-6)


def test_the_p_value_behind_the_interval_is_the_printed_one():
    """p = 0.07919: the 92.081 % interval just touches zero, and at 95 % nothing is shown."""
    found = difference()
    p = 2 * stats.t.sf(abs(found.estimate / found.standard_error), 18)
    assert p == pytest.approx(0.07919, abs=5e-6)
    assert found.interval_95[0] < 0 < found.interval_95[1]
    assert found.verdict is Verdict.NOT_SHOWN


def test_the_interval_is_the_librarys():
    """95 % limits against the general statistics library's own."""
    exact = stats.ttest_ind(FIRST, SECOND).confidence_interval(0.95)
    assert difference().interval_95 == pytest.approx((exact.low, exact.high), rel=1e-7)
