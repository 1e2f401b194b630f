"""Which builds are worth most: against closed forms of the normal model and of the expected maximum."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from aerode.errors import CannotTellError, InputError
from aerode.measure.comparison.joint import Observations
from aerode.measure.next_batch import (
    BENT,
    LEVEL,
    LINEAR,
    Belief,
    belief_of,
    choose_batch,
    plan_next,
    ratio_between,
)
from aerode.measure.next_places import levers_of, places_of

TWO = {"A": {"binder": "10 %", "plate": "70 degC"}, "B": {"binder": "20 %", "plate": "90 degC"}}


def _seen(values: dict[str, list[float]], error: float = 1e-5) -> Observations:
    recipes = [r for r, those in values.items() for _ in those]
    names = tuple(f"{r}{k}" for k, r in enumerate(recipes))
    flat = np.array([v for those in values.values() for v in those])
    return Observations(
        value=flat, known=error**2 * np.eye(flat.size), electrode=names, piece=names, recipe=tuple(recipes),
        order=np.zeros(flat.size), session=("s",) * flat.size, control=(False,) * flat.size,
    )  # fmt: skip


def test_places_are_every_combination_within_the_limits() -> None:
    """Coded -1 to 1 over what was read; a limit of one's own is coded on the same scale."""
    settings, coded = places_of(levers_of(TWO, {}))
    assert len(settings) == 25
    assert coded.min() == -1.0
    assert coded.max() == 1.0
    limited, beyond = places_of(levers_of(TWO, {"binder": (5.0, 10.0), "plate": (80.0, 80.0)}))
    assert {one["plate"] for one in limited} == {"80 degC"}
    assert sorted(set(beyond[:, 0])) == pytest.approx([-2.0, -1.75, -1.5, -1.25, -1.0])


def test_many_factors_are_thinned_and_too_many_refused() -> None:
    """No more places than can be weighed against each other."""
    few = {r: {f"f{k}": v for k in range(5)} for r, v in (("A", 1.0), ("B", 2.0))}
    assert len(places_of(levers_of(few, {}))[0]) <= 700
    many = {r: {f"f{k}": v for k in range(12)} for r, v in (("A", 1.0), ("B", 2.0))}
    with pytest.raises(InputError, match="too many"):
        levers_of(many, {})


@pytest.mark.parametrize(
    ("settings", "limits", "words"),
    [
        ({"A": {"binder": "10 %"}, "B": {}}, {}, "no setting of 'binder'"),
        ({"A": {"binder": "10 %"}, "B": {"binder": "10 %"}}, {}, "nothing was varied"),
        (TWO, {"salt": (1.0, 2.0)}, "no factor that was varied"),
        (TWO, {"binder": (20.0, 10.0)}, "wrong way round"),
        ({r: {"powder": r} for r in "ABC"}, {}, "3 settings in words"),
        ({r: {"powder": r} for r in "AB"}, {"powder": (1.0, 2.0)}, "in words"),
    ],
)  # fmt: skip
def test_what_cannot_be_planned_is_said(settings, limits, words) -> None:
    """Each with what is wrong."""
    with pytest.raises(InputError, match=words):
        levers_of(settings, limits)


def test_the_belief_is_that_of_a_normal_linear_model() -> None:
    """One factor in words, pieces read exactly: mean and variance by hand from prior and spread (Gelman and others)."""
    settings = {"A": {"powder": "raw"}, "B": {"powder": "milled"}}
    values = {"A": [0.0, 0.1], "B": [0.5, 0.7]}
    levers = levers_of(settings, {})
    _, coded = places_of(levers)
    found = belief_of(_seen(values), settings, levers, coded)
    square = (0.005 + 0.02) / 2.0
    assert found.spread == pytest.approx(math.sqrt(square), rel=1e-3)
    precision = np.diag([1 / LEVEL**2, 1 / LINEAR**2]) + np.array([[4.0, 0.0], [0.0, 4.0]]) / square
    y = np.array([0.0, 0.1, 0.5, 0.7])
    centre = y.mean()
    right = np.array([(y - centre).sum(), (np.array([-1, -1, 1, 1]) * (y - centre)).sum()]) / square
    beta = np.linalg.solve(precision, right)
    x = np.array([[1.0, -1.0], [1.0, 1.0]])
    assert found.mean == pytest.approx(centre + x @ beta, abs=1e-4)
    assert found.covariance == pytest.approx(x @ np.linalg.inv(precision) @ x.T, rel=1e-2)


def test_the_prior_stands_where_nothing_was_read() -> None:
    """Far from the readings the doubt is that of the prior: straight part, bend and pair."""
    levers = levers_of(TWO, {})
    _, coded = places_of(levers)
    found = belief_of(_seen({"A": [0.0, 0.01], "B": [0.0, -0.01]}), TWO, levers, coded)
    corner = int(np.flatnonzero((coded[:, 0] == -1.0) & (coded[:, 1] == 1.0))[0])
    read = int(np.flatnonzero((coded[:, 0] == -1.0) & (coded[:, 1] == -1.0))[0])
    assert found.covariance[read, read] < 0.01**2
    # Two readings fix level + pair + bends and the sum of the straight parts; their difference is open.
    whole = 2.0 * LINEAR**2 + (2.0 * BENT) ** 2
    assert found.covariance[corner, corner] == pytest.approx(whole, rel=0.15)


def test_one_build_between_two_is_worth_the_closed_form() -> None:
    """Knowledge gradient of two independent beliefs: s f(-d/s), f(z) = z Phi(z) + phi(z) (Frazier and others 2009)."""
    belief = Belief(
        mean=np.array([0.0, 0.1]), covariance=np.diag([0.04, 1e-10]), noise=0.1, spread=0.1, taken=False
    )  # fmt: skip
    found = choose_batch(belief, 1)
    moved = 0.04 / math.sqrt(0.04 + 0.01)
    z = -0.1 / moved
    assert found.builds == ((0, 1),)
    assert found.worth == pytest.approx(
        moved * (z * stats.norm.cdf(z) + stats.norm.pdf(z)), rel=0.005
    )
    assert found.leader == 1


def test_the_worth_counts_from_the_best_that_was_read() -> None:
    """A place that is surely better by a tenth is worth a tenth though nothing is left to learn (by hand)."""
    sure = Belief(
        mean=np.array([0.1, 0.0, 0.02]), covariance=1e-10 * np.eye(3), noise=0.1, spread=0.1, taken=False
    )  # fmt: skip
    found = choose_batch(sure, 2, over=1)
    assert found.worth == pytest.approx(0.1, abs=1e-4)
    assert found.before == pytest.approx(0.1)
    assert (found.leader, len(found.order)) == (0, 2)
    kept = choose_batch(sure, 2, allowed=[1, 2], over=0)
    assert kept.worth == pytest.approx(0.0, abs=1e-4)
    assert kept.leader == 0
    assert set(kept.order) <= {1, 2}


def test_readings_move_the_size_of_the_effects_that_are_believed() -> None:
    """Half the difference of two ends is normal about 0 with the variance of the effect and of its four builds."""
    settings = {"A": {"powder": "raw"}, "B": {"powder": "milled"}}
    levers = levers_of(settings, {})
    _, coded = places_of(levers)

    def scale(half: float) -> float:
        values = {"A": [-half, -half + 0.02], "B": [half - 0.02, half]}
        return belief_of(_seen(values), settings, levers, coded, scale=None).scale

    spread2 = 0.02**2 / 2.0  # of each recipe's two builds, pooled: two degrees of freedom
    grid = np.exp(np.linspace(-4.0, 4.0, 4001))
    half = 0.5
    shown = half - 0.01  # mean of the two builds of an end
    like = stats.norm.pdf(shown, scale=np.sqrt((grid * LINEAR) ** 2 + spread2 / 4.0))
    weight = like * np.exp(-0.5 * (np.log(grid) / math.log(2.0) + math.log(2.0)) ** 2)
    exact = math.sqrt(float((weight * grid**2).sum() / weight.sum()))
    assert scale(half) == pytest.approx(exact, rel=0.03)
    assert scale(0.02) < 0.75 < 1.5 < scale(half)


def test_a_batch_is_worth_more_with_each_build_and_repeats_when_told() -> None:
    """The worth never falls; with one mix only that one is built again; forbidden places are not built."""
    dice = np.random.default_rng(3)
    root = dice.normal(size=(12, 12)) * 0.05
    belief = Belief(mean=dice.normal(size=12) * 0.05, covariance=root @ root.T, noise=0.05, spread=0.05, taken=False)  # fmt: skip
    free = choose_batch(belief, 5)
    assert sum(n for _, n in free.builds) == 5
    assert list(free.worths) == sorted(free.worths)
    assert free.worth > 0.0
    once = choose_batch(belief, 5, most_places=1)
    assert len(once.builds) == 1
    assert once.worth <= free.worth + 1e-3
    some = choose_batch(belief, 4, allowed=[1, 2, 3])
    assert {place for place, _ in some.builds} <= {1, 2, 3}


def test_the_ratio_between_two_places_is_that_of_the_belief() -> None:
    """Difference of two correlated normals; a place over itself is one, with no doubt."""
    belief = Belief(
        mean=np.array([0.2, 0.0]), covariance=np.array([[0.04, 0.01], [0.01, 0.02]]), noise=0.1, spread=0.1, taken=False
    )  # fmt: skip
    ratio, low, high, chance = ratio_between(belief, 0, 1)
    assert ratio == pytest.approx(math.exp(0.2))
    assert math.log(high / low) == pytest.approx(2 * stats.norm.ppf(0.975) * 0.2)
    assert chance == pytest.approx(stats.norm.cdf(1.0))
    assert ratio_between(belief, 1, 1)[:3] == (1.0, 1.0, 1.0)


def test_the_plan_knows_where_the_read_recipes_stand_outside_the_limits() -> None:
    """A limit that leaves them out still compares with the best of them."""
    found = plan_next(_seen({"A": [0.0, 0.1], "B": [0.3, 0.35]}), TWO, {"binder": (12.0, 14.0)})
    assert found.best_read() == "B"
    assert min(found.read_at.values()) == len(found.places)
    assert found.belief.mean[found.read_at["B"]] == pytest.approx(0.325, abs=0.03)
    assert {name for name, _ in found.near} <= {"A", "B"}


def test_one_electrode_is_no_plan() -> None:
    """Two must have been read."""
    levers = levers_of(TWO, {})
    with pytest.raises(CannotTellError, match="1 electrode"):
        belief_of(_seen({"A": [0.0], "C": [0.1, 0.2]}), TWO, levers, places_of(levers)[1])


def test_an_open_spread_is_the_mixture_over_what_the_builds_leave_open(monkeypatch) -> None:
    """Its slow twin: the belief at each of seven likely spreads, then the laws of total mean and variance."""
    settings = {"A": {"powder": "raw"}, "B": {"powder": "milled"}}
    seen = _seen({"A": [0.0, 0.1], "B": [0.5, 0.7]})
    levers = levers_of(settings, {})
    _, coded = places_of(levers)
    found = belief_of(seen, settings, levers, coded, open_spread=True)
    known = belief_of(seen, settings, levers, coded)
    chi = stats.chi2.ppf((np.arange(7) + 0.5) / 7, 2)
    spreads = [min(known.spread * math.sqrt(2 / x), 0.4) for x in chi]
    each = []
    for spread in spreads:
        fixed = (spread, math.inf, False, None)
        monkeypatch.setattr("aerode.measure.next_batch.pooled_spread", lambda *_, one=fixed: one)
        each.append(belief_of(seen, settings, levers, coded))
    means = np.array([one.mean for one in each])
    whole = np.mean([one.covariance for one in each], axis=0) + np.cov(means.T, bias=True)
    assert found.mean == pytest.approx(means.mean(axis=0))
    assert found.covariance == pytest.approx(whole)
    assert found.noise == pytest.approx(math.sqrt(np.mean(np.square(spreads))), rel=1e-3)
    assert ratio_between(found, 0, 1)[2] > ratio_between(known, 0, 1)[2]


def test_limits_past_what_was_read_keep_its_settings_and_mark_the_rest() -> None:
    """Five settings within, the far ends beside them; a place outside in one factor is outside."""
    lever = levers_of(TWO, {"binder": (5.0, 30.0)})[0]
    assert [text for text, _ in lever.settings] == ["5 %", "10 %", "12.5 %", "15 %", "17.5 %", "20 %", "30 %"]  # fmt: skip
    found = plan_next(
        _seen({"A": [0.0, 0.1], "B": [0.3, 0.35]}), TWO, {"binder": (5.0, 30.0), "plate": (80.0, 80.0)}
    )  # fmt: skip
    said = {p["binder"]: found.outside[k] for k, p in enumerate(found.places)}
    assert [name for name, out in said.items() if out] == ["5 %", "30 %"]
    assert found.beyond(next(k for k, p in enumerate(found.places) if p["binder"] == "30 %")) == ("binder",)  # fmt: skip
