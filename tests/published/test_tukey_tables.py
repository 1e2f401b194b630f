"""Critical values for several comparisons: the studentized range, and Dunnett's.

Source, place and how it was read:
Studentized range (Harter, Ann. Math. Statist. 31 (1960) 1122; in every text-book), upper 5 %:
q(3, 10) 3.877, q(4, 20) 3.958, q(4, 30) 3.845, q(4, 40) 3.791, q(2, 10) 3.151, q(5, 30) 4.102,
q(10, ∞) 4.474; upper 1 %: q(4, 20) 5.018.
How read: q(4, 30) and q(4, 40) on a public page; the others from memory, status unverified.
Dunnett two-sided 5 % with equal numbers (Biometrics 20 (1964) 482): one control and 2 or 3 others at
20 degrees of freedom: 2.38 and 2.54; from memory, status unverified.
Four recipes of two builds (4 degrees): the critical difference is 4.07 spreads against 2.78 unadjusted
(project's notes).
Tolerance: half the last digit; Dunnett one unit, the printed table being rounded up.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from aerode.stats.contrasts import t_quantile
from aerode.stats.simultaneous import critical_multivariate_t, critical_tukey

TABLE = [
    (0.95, 2, 10, 3.151),
    (0.95, 3, 10, 3.877),
    (0.95, 4, 20, 3.958),
    (0.95, 4, 30, 3.845),
    (0.95, 4, 40, 3.791),
    (0.95, 5, 30, 4.102),
    (0.95, 10, math.inf, 4.474),
    (0.99, 4, 20, 5.018),
]


@pytest.mark.parametrize(("level", "groups", "df", "q"), TABLE)
def test_studentized_range(level: float, groups: int, df: float, q: float) -> None:
    """q = √2 times what multiplies the standard error of a difference."""
    assert critical_tukey(groups, df, level) * math.sqrt(2) == pytest.approx(q, abs=5.1e-4)


@pytest.mark.parametrize(("others", "df", "critical"), [(2, 20, 2.38), (3, 20, 2.54)])
def test_dunnett(others: int, df: float, critical: float) -> None:
    """Equal numbers: the differences from the control correlate by one half."""
    r = 0.5 * np.ones((others, others)) + 0.5 * np.eye(others)
    assert critical_multivariate_t(r, df) == pytest.approx(critical, abs=0.01)


def test_four_recipes_of_two_builds() -> None:
    """Critical differences of two means of two builds, in spreads."""
    assert critical_tukey(4, 4) == pytest.approx(4.07, abs=0.005)
    assert t_quantile(0.975, 4) == pytest.approx(2.776, abs=5e-4)
