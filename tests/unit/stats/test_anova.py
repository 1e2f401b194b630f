"""One-way analysis of variance: against a general library, and refusals."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from aerode.errors import CannotTellError, RangeError
from aerode.stats.anova import one_way


def test_unequal_groups_agree_with_a_general_library() -> None:
    """F and p of scipy's f_oneway."""
    rng = np.random.default_rng(1)
    groups = [rng.normal(m, 1.0, n) for m, n in ((0, 3), (1, 5), (0.5, 2))]
    found, other = one_way(groups), stats.f_oneway(*groups)
    assert found.f == pytest.approx(other.statistic, rel=1e-12)
    assert found.p_value == pytest.approx(other.pvalue, rel=1e-9)
    assert found.between_degrees_of_freedom == 2
    assert found.within_degrees_of_freedom == 7


def test_two_groups_give_t_squared() -> None:
    """F of two groups is the square of the pooled t."""
    a, b = [1.0, 2.0, 4.0], [2.0, 5.0, 6.5, 3.0]
    assert one_way([a, b]).f == pytest.approx(stats.ttest_ind(a, b).statistic ** 2)


def test_a_common_shift_changes_nothing() -> None:
    """Binary-exact readings with a million added: the same table to the last bit."""
    groups = [[0.5, 1.25, 2.0], [3.0, 4.5, 2.75]]
    shifted = [[v + 1048576.0 for v in group] for group in groups]
    assert one_way(shifted) == one_way(groups)


def test_no_difference_between_groups() -> None:
    """Equal means: F = 0 and p = 1."""
    found = one_way([[1.0, 3.0], [0.0, 4.0]])
    assert found.f == 0.0
    assert found.p_value == pytest.approx(1.0)


def test_what_cannot_be_analysed_is_refused() -> None:
    """One group, no repeats, no spread, NaN, an empty group."""
    with pytest.raises(CannotTellError, match="fewer than two"):
        one_way([[1.0, 2.0]])
    with pytest.raises(CannotTellError, match="fewer than two"):
        one_way([[1.0], [2.0]])
    with pytest.raises(CannotTellError, match="do not differ"):
        one_way([[1.0, 1.0], [2.0, 2.0]])
    with pytest.raises(RangeError):
        one_way([[1.0, np.nan], [2.0, 2.0]])
    with pytest.raises(RangeError):
        one_way([[], [2.0, 2.0]])
