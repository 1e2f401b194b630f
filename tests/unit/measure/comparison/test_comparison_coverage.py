"""Coverage of the shipped comparison in invented studies: a fixed seed, an exact binomial bar at 1 in 10,000.

The full table (2,000 studies in each of 36 strata) is made by `python -m benchmarks.coverage_compare.run`.
"""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import binomtest

from aerode.measure.comparison.comparing import compare_recipes
from aerode.records.comparisons import Verdict

STUDIES = 400
MARGIN = float(np.log(1.10))


def _invented():
    path = Path(__file__).parents[4] / "benchmarks" / "coverage_compare" / "invented.py"
    spec = importlib.util.spec_from_file_location("invented_studies", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["invented_studies"] = module
    spec.loader.exec_module(module)
    return module


invented = _invented()


def _counts(stratum, studies: int) -> tuple[int, int]:
    """Studies whose 95 % interval holds the truth, and studies called shown."""
    dice = np.random.default_rng(17)
    inside = shown = 0
    for _ in range(studies):
        found = compare_recipes(invented.invent(stratum, dice), ["B", "A"], margin=MARGIN).of(
            "B", "A"
        )
        low, high = found.interval_95
        inside += low <= np.log(stratum.ratio) <= high
        shown += found.verdict in (Verdict.SHOWN, Verdict.SHOWN_SMALL)
    return inside, shown


def _check(stratum, studies: int) -> None:
    inside, shown = _counts(stratum, studies)
    assert binomtest(inside, studies, 0.95).pvalue > 1e-4, f"{inside} of {studies} in {stratum}"
    assert binomtest(shown, studies, 0.05, alternative="greater").pvalue > 1e-4, str(stratum)
    if stratum.aligned:
        assert shown == 0


@pytest.mark.parametrize(
    "stratum",
    [s for s in invented.strata() if s.builds != 3 and s.spread != 0.10 and s.drift < 0],
    ids=str,
)
def test_intervals_hold_the_truth_in_95_of_100_studies(stratum):
    """Coverage 95 % and false "shown" at most 5 %, each unless the data say otherwise at 1 in 10,000."""
    _check(stratum, STUDIES)


@pytest.mark.slow
@pytest.mark.parametrize("stratum", invented.strata(), ids=str)
def test_intervals_hold_the_truth_in_every_stratum(stratum):
    """All 36 strata with 2,000 studies each."""
    _check(stratum, 2000)


def test_a_true_difference_is_found_where_the_plan_promises_it():
    """Spread 5 %, 4 + 4 builds, true ratio 1.20: nearly always shown, and its interval holds 1.20."""
    inside, shown = _counts(
        invented.Stratum(builds=4, spread=0.05, drift=-0.03, ratio=1.2), STUDIES
    )
    assert shown >= 0.9 * STUDIES
    assert binomtest(inside, STUDIES, 0.95).pvalue > 1e-4
