"""Chances of the verdicts before building, against the plain simulation of whole studies."""

from __future__ import annotations

import math

import numpy as np
import pytest

from aerode.errors import RangeError
from aerode.stats.contrasts import t_quantile
from aerode.stats.power import (
    builds_for_equivalence,
    builds_per_arm,
    outlook,
    power_of_difference,
    smallest_shown_difference,
    verdict_probabilities,
)
from aerode.stats.verdicts import Verdict

MARGIN = math.log(1.10)


@pytest.mark.parametrize(
    ("ratio", "spread", "builds"),
    [(1.0, 0.05, 4), (1.1, 0.05, 4), (1.2, 0.10, 4), (1.03, 0.03, 12)],
)
def test_verdict_chances_agree_with_simulated_studies(
    ratio: float, spread: float, builds: int
) -> None:
    """200,000 plain studies: each share within 4 standard errors (0.45 % at most)."""
    rng = np.random.default_rng(2)
    studies = 200_000
    a = rng.normal(0.0, spread, (studies, builds))
    b = rng.normal(math.log(ratio), spread, (studies, builds))
    d = b.mean(axis=1) - a.mean(axis=1)
    se = np.sqrt((a.var(axis=1, ddof=1) + b.var(axis=1, ddof=1)) / builds)
    df = 2 * (builds - 1)
    shown = np.abs(d) > t_quantile(0.975, df) * se
    inside = np.abs(d) + t_quantile(0.95, df) * se < MARGIN
    chances = verdict_probabilities(math.log(ratio), spread, builds, MARGIN)
    for kind, share in (
        (Verdict.SHOWN, shown & ~inside),
        (Verdict.SMALLER_THAN_MATTERS, shown & inside),
        (Verdict.EQUIVALENT, ~shown & inside),
        (Verdict.NOT_SHOWN, ~shown & ~inside),
    ):
        assert chances[kind] == pytest.approx(float(np.mean(share)), abs=0.0045)
    assert sum(chances.values()) == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("spread", "row"),
    [
        (0.05, ((1.0, 0.05, 0.54), (1.1, 0.62, 0.04), (1.2, 0.99, 0.0), (1.5, 1.0, 0.0))),
        (0.10, ((1.0, 0.05, 0.04), (1.1, 0.21, 0.01), (1.2, 0.58, 0.0))),
        (0.15, ((1.0, 0.05, 0.003), (1.1, 0.12, 0.0), (1.2, 0.30, 0.0), (1.5, 0.89, 0.0))),
        (0.20, ((1.0, 0.05, 0.0), (1.1, 0.09, 0.0), (1.2, 0.20, 0.0), (1.5, 0.67, 0.0))),
    ],
)
def test_four_and_four_builds(spread: float, row: tuple[tuple[float, float, float], ...]) -> None:
    """The project's earlier simulated table for 4 + 4 builds and a margin of 10 %, to its ±0.01."""
    for ratio, shown, equivalent in row:
        chances = verdict_probabilities(math.log(ratio), spread, 4, MARGIN)
        both = chances[Verdict.SHOWN] + chances[Verdict.SMALLER_THAN_MATTERS]
        assert both == pytest.approx(shown, abs=0.0101)
        assert chances[Verdict.EQUIVALENT] == pytest.approx(equivalent, abs=0.0101)


def test_shown_chance_is_the_noncentral_t_power() -> None:
    """Two roads to the same number: chi integration and the noncentral t distribution."""
    for n in (2, 3, 8):
        chances = verdict_probabilities(0.2, 0.1, n, 1e-9)
        assert chances[Verdict.SHOWN] == pytest.approx(power_of_difference(2.0, n), abs=1e-8)


def test_pooled_spread_helps() -> None:
    """More degrees of freedom from other recipes raise the chance of "shown"."""
    alone = verdict_probabilities(0.3, 0.1, 2, MARGIN)[Verdict.SHOWN]
    pooled = verdict_probabilities(0.3, 0.1, 2, MARGIN, degrees_of_freedom=8)[Verdict.SHOWN]
    assert pooled > alone + 0.2


def test_outlook_of_eight_electrodes() -> None:
    """At 10 % spread "equivalent" is out of reach with 4 + 4; at 3 % it is in reach."""
    plan = outlook(0.10, 4, MARGIN)
    assert plan.reachable == {Verdict.SHOWN, Verdict.NOT_SHOWN}
    assert plan.builds_for_equivalence == 20
    assert plan.shown_from == pytest.approx(0.10 * smallest_shown_difference(4))
    assert plan.builds_to_show_margin == builds_per_arm(MARGIN / 0.10)
    assert Verdict.EQUIVALENT in outlook(0.03, 4, MARGIN).reachable
    assert plan.chance_equivalent < 0.05


def test_the_next_smaller_number_is_not_enough() -> None:
    """The search returns the smallest number, for a power near one half too."""
    for d in (0.3, 1.7, 4.0):
        n = builds_per_arm(d, 0.5)
        assert power_of_difference(d, n) >= 0.5
        assert n == 2 or power_of_difference(d, n - 1) < 0.5


def test_huge_differences_are_certain() -> None:
    """Far outside the noncentral t's range the power is one, not NaN."""
    assert power_of_difference(1000.0, 50) == 1.0
    assert 0.999 < power_of_difference(12.0, 5) <= 1.0


def test_bad_questions_are_refused() -> None:
    """One build, no difference, no spread, a power of one, an endless number."""
    with pytest.raises(RangeError, match="builds"):
        power_of_difference(1.0, 1)
    with pytest.raises(RangeError, match="nothing"):
        builds_per_arm(0.0)
    with pytest.raises(RangeError, match="spread"):
        verdict_probabilities(0.1, 0.0, 4, MARGIN)
    with pytest.raises(RangeError, match="power"):
        builds_per_arm(1.0, 1.0)
    with pytest.raises(RangeError, match="million"):
        builds_for_equivalence(1.0, 1e-4)
