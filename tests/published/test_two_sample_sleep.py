"""Student (1908), Biometrika 6, 20: ten patients, two soporifics, hours of sleep gained.

Source, place and how it was read:
Unpaired (Welch): t = −1.8608, 17.776 degrees of freedom, p = 0.07939; pooled: p = 0.07919 on 18;
paired: t = −4.0621 on 9, p = 0.002833. The same numbers say "not shown" unpaired and "shown" paired.
How read: the data on a public page that lists all twenty; t −1.861, 17.78, 0.07939 and 0.07919 on
the public help page of a statistics package; the further digits and the paired test from the
project's notes (recomputed).
Tolerance: half the last digit.
"""

from __future__ import annotations

import pytest

from aerode.stats.two_samples import paired_difference, pooled_difference, welch_difference

FIRST = [0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0]
SECOND = [1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4]


def test_welch() -> None:
    """Each list with its own spread: not shown."""
    c = welch_difference(SECOND, FIRST)
    assert c.estimate / c.standard_error == pytest.approx(-1.8608, abs=5e-5)
    assert c.degrees_of_freedom == pytest.approx(17.776, abs=5e-4)
    assert c.p_value() == pytest.approx(0.07939, abs=5e-6)
    low, high = c.interval()
    assert low < 0 < high


def test_pooled() -> None:
    """One spread for both lists."""
    c = pooled_difference(SECOND, FIRST)
    assert c.degrees_of_freedom == 18
    assert c.p_value() == pytest.approx(0.07919, abs=5e-6)


def test_paired() -> None:
    """Each patient is his own control: shown."""
    c = paired_difference(SECOND, FIRST)
    assert c.estimate == pytest.approx(-1.58, abs=1e-12)
    assert c.estimate / c.standard_error == pytest.approx(-4.0621, abs=5e-5)
    assert c.degrees_of_freedom == 9
    assert c.p_value() == pytest.approx(0.002833, abs=5e-7)
    low, high = c.interval()
    assert high < 0
    assert low < high
