"""The demo's gates: over many invented benches the answer is near the hidden truth, and says no more than it may.

The invented benches are no check of any figure; they check that the analysis finds what was hidden.
The suite takes few seeds with wide bounds; the deep suite takes 200 with the gates themselves.
"""

from __future__ import annotations

import statistics

import pytest
from scipy.stats import binomtest

from aerode.usecases.demo_study import SeedScore, score_seed

FEW = range(1, 9)
MANY = range(1, 201)


@pytest.fixture(scope="module")
def few() -> list[SeedScore]:
    """The first eight benches, scored."""
    return [score_seed(seed) for seed in FEW]


def test_values_are_near_the_truth(few: list[SeedScore]) -> None:
    """On each of the first benches the fair values are within a few per cent."""
    assert all(s.rms_log_error < 0.035 for s in few)


def test_order_is_better_than_the_ammeter(few: list[SeedScore]) -> None:
    """The fair order agrees with the truth, the ammeter's clearly less."""
    fair = statistics.median(s.rank_agreement for s in few)
    loud = statistics.median(s.ammeter_rank_agreement for s in few)

    assert fair >= 0.92
    assert loud < fair - 0.1
    assert sum(s.pairs_right for s in few) >= 0.97 * sum(s.pairs for s in few)


def test_nothing_is_shown_that_is_not_so(few: list[SeedScore]) -> None:
    """No effect is shown the wrong way round, and repeat builds are never different recipes."""
    assert sum(s.wrong_way for s in few) == 0
    assert sum(s.repeats_differ_as_recipes for s in few) == 0
    assert sum(s.binder_shown for s in few) >= 5


@pytest.mark.slow
def test_gates_over_two_hundred_benches() -> None:
    """The gates themselves; coverage and false alarms by the exact binomial, p < 1e-4 fails."""
    scores = [score_seed(seed) for seed in MANY]
    idle = [score_seed(seed, idle=True) for seed in MANY]

    assert sum(s.rms_log_error <= 0.02 for s in scores) >= 0.9 * len(scores)
    assert sum(s.pairs_right for s in scores) >= 0.98 * sum(s.pairs for s in scores)
    assert statistics.median(s.rank_agreement for s in scores) >= 0.94
    assert statistics.median(s.ammeter_rank_agreement for s in scores) < 0.85
    assert sum(s.binder_shown for s in scores) >= 0.85 * len(scores)
    for held in ([s.asked_covered for s in scores], [s.beside_covered for s in scores]):
        assert binomtest(sum(held), len(held), 0.95).pvalue > 1e-4
    assert sum(s.repeats_differ_as_recipes for s in scores) == 0
    assert (
        binomtest(sum(s.binder_shown for s in idle), len(idle), 0.05, alternative="greater").pvalue
        > 1e-4
    )
