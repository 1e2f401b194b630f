"""How many electrodes are enough: against the closed forms of a new observation from a normal sample."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from aerode.errors import CannotTellError, RangeError
from aerode.measure.comparison.joint import Observations, fit_recipes
from aerode.measure.comparison.reaching import ASSUMED_SPREADS
from aerode.measure.sizing import NewBuild, all_carry, electrodes_needed, new_build

BUILD = NewBuild(
    level=math.log(20.0), known_error=0.0, share_of_spread=0.25, spread=0.1, degrees_of_freedom=3.0,
    builds=4, taken=False,
)  # fmt: skip


def _seen(values: dict[str, list[float]]) -> Observations:
    recipes = [r for r, those in values.items() for _ in those]
    names = tuple(f"{r}{k}" for k, r in enumerate(recipes))
    flat = np.array([v for those in values.values() for v in those])
    return Observations(
        value=flat, known=1e-10 * np.eye(flat.size), electrode=names, piece=names, recipe=tuple(recipes),
        order=np.zeros(flat.size), session=("s",) * flat.size, control=(False,) * flat.size,
    )  # fmt: skip


@pytest.mark.parametrize("share", [0.5, 0.9, 0.95])
def test_what_new_builds_exceed_is_the_prediction_limit_of_a_normal_sample(share: float) -> None:
    """Mean - t s sqrt(1 + 1/n) with n - 1 degrees of freedom (Hahn and Meeker, Statistical Intervals, 1991, 4.8)."""
    limit = BUILD.level - stats.t.ppf(share, 3.0) * 0.1 * math.sqrt(1.0 + 0.25)
    assert math.log(BUILD.exceeded_by(share)) == pytest.approx(limit, abs=0.006)


@pytest.mark.parametrize("asked", [0.8, 1.0, 1.2])
def test_one_cell_of_one_electrode_follows_students_t(asked: float) -> None:
    """The chance that the next build gives so much is a tail of Student's t, as above."""
    z = math.log(asked) / (0.1 * math.sqrt(1.25))
    chance = all_carry(BUILD, asked * 20.0 * 1e-3, 1e-3, 1, 1)
    assert chance == pytest.approx(stats.t.sf(z, 3.0), abs=0.006)


def test_cells_share_the_doubt_about_the_recipe() -> None:
    """With a known spread and an unsure level a row is likelier whole than independent cells would be."""
    vague = NewBuild(
        level=0.0, known_error=0.3, share_of_spread=0.0, spread=0.05, degrees_of_freedom=math.inf,
        builds=1, taken=True,
    )  # fmt: skip
    one, four = (all_carry(vague, 1.0, 1.0, 1, cells) for cells in (1, 4))
    assert one == pytest.approx(0.5, abs=0.01)
    grid = np.linspace(-6.0, 6.0, 20001)
    exact = np.trapezoid(stats.norm.cdf(0.3 * grid / 0.05) ** 4 * stats.norm.pdf(grid), grid)
    assert four == pytest.approx(float(exact), abs=0.01)
    assert four > 0.5**4 * 4


def test_the_fewest_electrodes_are_enough_and_one_less_is_not() -> None:
    """By trying every count below it; what is left of the current counts."""
    for left in (1.0, 0.6):
        count, reached = electrodes_needed(BUILD, 0.1, 1e-3, 3, chance=0.9, left=left)
        tried = [all_carry(BUILD, 0.1, 1e-3, n, 3, left=left) for n in range(1, count + 1)]
        assert reached == tried[-1] >= 0.9
        assert all(chance < 0.9 for chance in tried[:-1])
    assert electrodes_needed(BUILD, 0.1, 1e-3, 3, chance=0.9)[0] == 6
    assert electrodes_needed(BUILD, 0.1, 1e-3, 3, chance=0.9, left=0.6)[0] == 10


def test_a_recipe_that_is_known_too_little_is_refused() -> None:
    """No count of electrodes makes up for a level that nobody knows."""
    vague = NewBuild(
        level=0.0, known_error=4.0, share_of_spread=0.0, spread=0.2, degrees_of_freedom=math.inf,
        builds=1, taken=True,
    )  # fmt: skip
    with pytest.raises(CannotTellError, match="200 electrodes"):
        electrodes_needed(vague, 1.0, 1.0, 1, chance=0.999)
    with pytest.raises(RangeError):
        all_carry(vague, 0.0, 1.0, 1, 1)


def test_the_spread_is_that_of_all_recipes_and_the_level_that_of_one() -> None:
    """Pooled within recipes with their degrees of freedom, as in an analysis of variance of the same numbers."""
    values = {"A": [0.10, 0.30], "B": [1.00, 1.10, 1.20]}
    found = new_build(_seen(values), "B")
    square = (0.02 + 0.02) / 3.0
    assert found.level == pytest.approx(1.1, abs=1e-6)
    assert found.spread == pytest.approx(math.sqrt(square), rel=1e-3)
    assert found.degrees_of_freedom == pytest.approx(3.0, rel=0.05)
    assert (found.builds, found.taken) == (3, False)
    assert found.share_of_spread == pytest.approx(1 / 3, rel=1e-6)


def test_one_build_of_each_tells_no_spread_so_one_is_taken() -> None:
    """The larger of the assumed spreads, as if it were known."""
    found = new_build(_seen({"A": [0.3], "B": [1.0]}), "A")
    assert found.taken
    assert found.spread == ASSUMED_SPREADS[1]
    assert math.isinf(found.degrees_of_freedom)
    assert found.level == pytest.approx(0.3, abs=1e-6)


def test_builds_that_agree_better_than_their_errors_keep_what_a_comparison_keeps() -> None:
    """The spread one standard error above none, of the degrees of freedom that were read; no 20 %."""
    seen = _seen({"A": [0.30, 0.30], "B": [1.0, 1.0]})
    loose = replace(seen, known=0.02**2 * np.eye(4))
    found = new_build(loose, "A")
    joint = fit_recipes(loose)
    assert joint.fit.build_variance == 0.0
    assert not found.taken
    assert found.spread == pytest.approx(math.sqrt(joint.fit.upper_build_variance))
    assert 0.0 < found.spread < 0.05
    assert found.degrees_of_freedom == joint.fit.build_degrees_of_freedom


def test_a_recipe_nobody_read_is_refused() -> None:
    """It is named."""
    with pytest.raises(CannotTellError, match="no build of C"):
        new_build(_seen({"A": [0.3], "B": [1.0]}), "C")
