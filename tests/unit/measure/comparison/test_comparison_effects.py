"""Factor effects: low to high, pure error, curvature apart, aliases in words, and what cannot be separated."""

from __future__ import annotations

import numpy as np
import pytest

from aerode.errors import CannotTellError, InputError
from aerode.measure.comparison.factor_effects import fit_effects, plan_factors
from aerode.measure.comparison.joint import Observations
from aerode.records.comparisons import Verdict

MARGIN = float(np.log(1.10))
HALF = {
    "a": {"x": 1.0, "y": 0.0, "z": 9.0},
    "b": {"x": 2.0, "y": 0.0, "z": 7.0},
    "c": {"x": 1.0, "y": 4.0, "z": 7.0},
    "d": {"x": 2.0, "y": 4.0, "z": 9.0},
    "m": {"x": 1.5, "y": 2.0, "z": 8.0},
}
"""Half of a two-level plan for three factors, and its middle."""
ORDER = [5, 2, 7, 1, 4, 8, 3, 6]


def study(level, recipes, *, own=1e-4, order=None) -> Observations:
    """One reading for each named recipe; the level is a function of its settings."""
    n = len(recipes)
    names = tuple(f"{r}{k}" for k, r in enumerate(recipes))
    return Observations(value=np.array([level(HALF[r]) for r in recipes], float), known=np.eye(n) * own**2,
                        electrode=names, piece=names, recipe=tuple(recipes),
                        order=np.zeros(n) if order is None else np.array(order, float), session=("d",) * n,
                        control=(False,) * n)  # fmt: skip


def coded(setting, name):
    """-1 to +1."""
    low, high = {"x": (1, 2), "y": (0, 4), "z": (7, 9)}[name]
    return 2 * (setting[name] - low) / (high - low) - 1


def straight(setting) -> float:
    """A straight-line truth: -0.10, +0.03, 0 per coded step."""
    return -0.10 * coded(setting, "x") + 0.03 * coded(setting, "y")


def test_a_straight_line_truth_comes_back_as_effects_low_to_high():
    """Twice the coded step, and no curvature."""
    seen = study(straight, "abccddmm")
    found = fit_effects(seen, plan_factors("abcdm", HALF), asked=["x"], margin=MARGIN)
    assert found.asked["x"].estimate == pytest.approx(-0.20, abs=1e-6)
    assert found.beside["y"].estimate == pytest.approx(0.06, abs=1e-6)
    assert found.beside["z"].estimate == pytest.approx(0.0, abs=1e-6)
    assert found.curvature is not None
    assert found.curvature.estimate == pytest.approx(0.0, abs=1e-6)
    assert found.asked["x"].degrees_of_freedom == pytest.approx(3.0, rel=1e-3), (
        "three repeat builds"
    )
    assert found.pure_error


def test_a_bend_goes_into_the_curvature_and_not_into_the_effects():
    """Raising the middle alone moves no effect."""
    seen = study(lambda s: straight(s) + (0.08 if s["x"] == 1.5 else 0.0), "abccddmm")
    found = fit_effects(seen, plan_factors("abcdm", HALF), asked=["x"], margin=MARGIN)
    assert found.asked["x"].estimate == pytest.approx(-0.20, abs=1e-6)
    assert found.curvature is not None
    assert abs(found.curvature.estimate) > 0.02


def test_effects_agree_with_ordinary_least_squares():
    """The plain twin on noisy logarithms without drift: the array library's least squares, df from repeats."""
    rng = np.random.default_rng(9)
    seen = study(straight, "abccddmm", own=1e-9)
    seen = seen.moved(0.05 * rng.standard_normal(8))
    plan = plan_factors("abcdm", HALF)
    found = fit_effects(seen, plan, asked=["x"], margin=MARGIN)
    design = np.array([plan.design["abcdm".index(r)] for r in seen.recipe])
    beta = np.linalg.lstsq(design, seen.value, rcond=None)[0]
    assert found.asked["x"].estimate == pytest.approx(2 * beta[1], abs=1e-9)
    pairs = np.array([seen.value[k] - seen.value[k + 1] for k in (2, 4, 6)])
    spread = np.sqrt((pairs**2 / 2).sum() / 3)
    error = 2 * spread * np.sqrt(np.linalg.inv(design.T @ design)[1, 1])
    assert found.asked["x"].standard_error == pytest.approx(error, rel=1e-6)


def test_the_half_plan_says_in_words_what_each_effect_cannot_be_told_from():
    """Every main effect of the half plan is a pair of the others acting together."""
    plan = plan_factors("abcdm", HALF)
    builds = np.array([1.0, 1, 2, 2, 2])
    assert plan.aliases("x", builds) == ("cannot be told from y and z acting together",)
    assert plan.aliases("z", builds) == ("cannot be told from x and y acting together",)


def test_a_full_plan_has_no_such_aliases():
    """All eight corners: nothing to say."""
    corners = {
        f"{i}{j}{k}": {"x": i, "y": j, "z": k} for i in (0, 1) for j in (0, 1) for k in (0, 1)
    }
    plan = plan_factors(
        list(corners), {r: {n: float(v) for n, v in s.items()} for r, s in corners.items()}
    )
    assert plan.aliases("x", np.ones(8)) == ()
    assert not plan.curvature


def test_a_partial_mixing_is_told_with_its_share():
    """Dropping one corner of a full plan leaves effects partly mixed with pairs."""
    corners = [(i, j) for i in (0.0, 1.0) for j in (0.0, 1.0)][:3]
    settings = {f"r{k}": {"x": i, "y": j} for k, (i, j) in enumerate(corners)}
    plan = plan_factors(list(settings), settings)
    (said,) = plan.aliases("x", np.ones(3))
    assert said == "cannot be told from x and y acting together" or said.startswith("holds ")


def test_factors_that_changed_together_cannot_be_told_apart():
    """Two factors in step: neither effect is judged, and each names the other."""
    settings = {"a": {"x": 1.0, "y": 5.0, "z": 0.0}, "b": {"x": 2.0, "y": 6.0, "z": 0.0},
                "c": {"x": 1.0, "y": 5.0, "z": 1.0}, "d": {"x": 2.0, "y": 6.0, "z": 1.0}}  # fmt: skip
    plan = plan_factors("abcd", settings)
    assert plan.inseparable("x") == ("y",)
    assert plan.inseparable("z") == ()
    n = 8
    seen = Observations(value=np.arange(n) * 0.01, known=np.eye(n) * 1e-6, electrode=tuple("12345678"),
                        piece=tuple("12345678"), recipe=tuple("abcdabcd"), order=np.zeros(n), session=("d",) * n,
                        control=(False,) * n)  # fmt: skip
    found = fit_effects(seen, plan, asked=["x"], margin=MARGIN)
    assert found.asked == {}
    assert set(found.beside) == {"z"}


def test_words_are_settings_too_but_only_two_of_them():
    """ "nickel" and "steel" are low and high; a third word is refused."""
    plan = plan_factors("ab", {"a": {"mesh": "steel"}, "b": {"mesh": "nickel"}})
    assert (plan.factors[0].low, plan.factors[0].high) == ("steel", "nickel")
    three = {"a": {"mesh": "cloth"}, "b": {"mesh": "foil"}, "c": {"mesh": "screen"}}
    with pytest.raises(InputError):
        plan_factors("abc", three)


def test_settings_typed_with_a_unit_are_numbers():
    """ "10 %" and "20 %" are 10 and 20 with their unit; two different units are words."""
    plan = plan_factors("abc", {"a": {"x": "10 %"}, "b": {"x": "20 %"}, "c": {"x": "15 %"}})
    assert plan.factors[0].coded == pytest.approx((-1.0, 1.0, 0.0))
    assert (plan.factors[0].low, plan.factors[0].high) == ("10 %", "20 %")
    mixed = plan_factors("ab", {"a": {"x": "10 %"}, "b": {"x": "2 g"}})
    assert (mixed.factors[0].low, mixed.factors[0].high) == ("10 %", "2 g")


def test_what_does_not_vary_or_is_not_entered_is_refused():
    """A constant is no factor; a missing setting is named."""
    with pytest.raises(InputError, match="no factor varies"):
        plan_factors("ab", {"a": {"x": 1.0}, "b": {"x": 1.0}})
    with pytest.raises(InputError, match="'y' is entered for b"):
        plan_factors("ab", {"a": {"x": 1.0, "y": 1.0}, "b": {"x": 2.0}})


def test_without_repeat_builds_the_spread_comes_from_what_the_plan_leaves_over():
    """Eight single corners and three factors: 4 degrees of freedom, and it says that this is no pure error."""
    corners = {
        f"{i}{j}{k}": {"x": float(i), "y": float(j), "z": float(k)}
        for i in (0, 1)
        for j in (0, 1)
        for k in (0, 1)
    }
    rng = np.random.default_rng(1)
    n = 8
    names = tuple(corners)
    seen = Observations(value=np.array([-0.4 * s["x"] for s in corners.values()]) + 0.02 * rng.standard_normal(n),
                        known=np.eye(n) * 1e-12, electrode=names, piece=names, recipe=names, order=np.zeros(n),
                        session=("d",) * n, control=(False,) * n)  # fmt: skip
    found = fit_effects(seen, plan_factors(names, corners), asked=["x"], margin=MARGIN)
    assert not found.pure_error
    assert found.asked["x"].degrees_of_freedom == pytest.approx(4.0, rel=1e-6)
    assert found.asked["x"].verdict is Verdict.SHOWN
    few = ["000", "110", "101", "011"]
    kept, fewer = seen.keep(np.array([name in few for name in names])), plan_factors(few, corners)
    with pytest.raises(CannotTellError):
        fit_effects(kept, fewer, asked=["x"], margin=MARGIN)


def test_an_effect_that_ran_with_the_order_is_not_called_shown():
    """Low settings first, high settings last: capped; the even order of the same pieces is not."""
    even = study(straight, "abccddmm", order=ORDER)
    found = fit_effects(even, plan_factors("abcdm", HALF), asked=["x"], margin=MARGIN)
    assert found.asked["x"].capped == ""
    place = {"a": 1, "c": 2, "m": 5, "b": 8, "d": 9}
    aligned = study(
        straight, "abccddmm", order=[place[r] + 0.1 * k for k, r in enumerate("abccddmm")]
    )
    found = fit_effects(aligned, plan_factors("abcdm", HALF), asked=["x"], margin=MARGIN)
    assert found.asked["x"].verdict is Verdict.NOT_SHOWN
    assert found.asked["x"].capped


def test_what_was_looked_at_beside_is_judged_together():
    """Two effects beside the one asked have wider intervals than each alone would have."""
    rng = np.random.default_rng(3)
    seen = study(straight, "abccddmm").moved(0.05 * rng.standard_normal(8))
    plan = plan_factors("abcdm", HALF)
    together = fit_effects(seen, plan, asked=["x"], margin=MARGIN).beside["y"]
    alone = fit_effects(seen, plan, asked=["y"], margin=MARGIN).asked["y"]
    assert together.estimate == pytest.approx(alone.estimate, abs=1e-12)
    assert np.ptp(together.decision) > 1.15 * np.ptp(alone.decision)
