"""Power of the two one-sided tests for equivalence.

Source, place and how it was read:
Bioequivalence practice prints it for two-period crossovers within 80 to 125 %: the standard error is
s_w √(2/n) for n subjects in all with n − 2 degrees of freedom and s_w² = ln(1 + CV²), which is what
two arms of n builds have but for the degrees of freedom. CV 20 %, true ratio 0.95, n = 20: 0.8346802;
CV 30 %, 0.95, n = 40: 0.8158453 (the worked examples of a widely used package; method: Owen's Q;
cf. Diletti, Hauschke & Steinijans, Int. J. Clin. Pharmacol. 29 (1991) 1).
How read: from memory, status unverified: to seven digits they can hardly agree by chance.
For two arms within ±10 %: 8, 20 and 44 a side at CV 6, 10 and 15 % (project's notes, by exact
calculation with another library).
Tolerance: the printed digits.
"""

from __future__ import annotations

import math

import pytest

from aerode.stats.power import builds_for_equivalence, verdict_probabilities
from aerode.stats.verdicts import Verdict


def inside(true_ratio: float, cv: float, n: int, margin: float, df: float | None) -> float:
    """Chance that the 90 % interval lies inside the margin."""
    chances = verdict_probabilities(
        math.log(true_ratio),
        math.sqrt(math.log1p(cv**2)),
        n,
        math.log(margin),
        degrees_of_freedom=df,
    )
    return chances[Verdict.EQUIVALENT] + chances[Verdict.SMALLER_THAN_MATTERS]


@pytest.mark.parametrize(("cv", "n", "power"), [(0.20, 20, 0.8346802), (0.30, 40, 0.8158453)])
def test_crossover_examples(cv: float, n: int, power: float) -> None:
    """Seven digits."""
    assert inside(0.95, cv, n, 1.25, n - 2) == pytest.approx(power, abs=1e-7)


@pytest.mark.parametrize(("spread", "builds"), [(0.06, 8), (0.10, 20), (0.15, 44)])
def test_builds_for_ten_per_cent(spread: float, builds: int) -> None:
    """The smallest number that reaches 80 %; one fewer does not."""
    assert builds_for_equivalence(spread, math.log(1.10)) == builds


def test_seven_builds_at_six_per_cent() -> None:
    """7 a side at CV 6 % give 75 % (project's notes)."""
    chances = verdict_probabilities(0.0, 0.06, 7, math.log(1.10))
    total = chances[Verdict.EQUIVALENT] + chances[Verdict.SMALLER_THAN_MATTERS]
    assert total == pytest.approx(0.75, abs=0.01)
