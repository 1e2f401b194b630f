"""Two doubts at once, what reach says where little is known, recipes in words, words that are no condition."""

from __future__ import annotations

import math

import numpy as np
import pytest

from aerode.errors import InputError
from aerode.measure.comparison.conditions import CONDITIONS, REST, check_same
from aerode.measure.comparison.joint import Observations, Priors
from aerode.measure.comparison.lines import ageing_estimate
from aerode.measure.comparison.overturning import BELIEVABLE, Lever, overturn
from aerode.measure.comparison.overturning_pairs import overturn_together
from aerode.measure.comparison.questioning import Terms, ask_recipes
from aerode.measure.comparison.reaching import reach_of
from aerode.measure.comparison.recipe_words import recipes_in_words
from aerode.measure.comparison.study import Study
from aerode.quantities import Basis
from aerode.records.comparisons import Verdict
from aerode.records.electrodes import Electrode, Layer
from aerode.records.marks import Share
from aerode.records.mixes import Mix

MARGIN = float(np.log(1.10))
TERMS = Terms(margin=MARGIN, look_level=0.05, beside_level=0.05, priors=Priors())


def _study() -> Observations:
    """Two recipes, three builds each, between readings of a control."""
    dice = np.random.default_rng(12)
    recipe = ["C", "A", "B", "B", "C", "A", "A", "B", "C"]
    level = {"A": 0.25, "B": 0.0, "C": 0.1}
    value = np.array([level[r] for r in recipe]) + 0.02 * dice.standard_normal(9)
    names = tuple("C0" if r == "C" else f"{r}{k}" for k, r in enumerate(recipe))
    return Observations(
        value=value, known=np.eye(9) * 0.012**2, electrode=names, piece=names, recipe=tuple(recipe),
        order=np.arange(9.0), session=("d",) * 9, control=tuple(r == "C" for r in recipe),
    )  # fmt: skip


def _side(seen: Observations, recipe: str, name: str, uncertainty: float) -> Lever:
    """One input that all pieces of one recipe share."""
    mine = np.array([-1.0 if r == recipe else 0.0 for r in seen.recipe])
    return Lever(
        name=name, unit="%", uncertainty=uncertainty,
        moved=lambda change: mine * np.log1p(0.01 * change), low=-50.0, high=100.0,
    )  # fmt: skip


def _levers(seen: Observations, alone_in: float) -> tuple[Lever, Lever]:
    """Two inputs, one for each side, that turn the verdict alone at so many uncertainties."""
    _, asked = ask_recipes(seen, ["A", "B"], ("A", "B"), TERMS)
    whole = [_side(seen, "A", "one", 1.0), _side(seen, "B", "other", 1.0)]
    found = overturn(whole, seen, asked.prepared(seen), contrast="A over B")
    needed = {one.input: abs(one.change or 0.0) for one in found}
    return (
        _side(seen, "A", "one", needed["one"] / alone_in),
        _side(seen, "B", "other", needed["other"] / alone_in),
    )


def test_two_doubts_together_flip_the_verdict_and_a_hair_less_does_not() -> None:
    """Neither alone within two uncertainties; both together by what is said, through the whole comparison."""
    seen = _study()
    _, asked = ask_recipes(seen, ["A", "B"], ("A", "B"), TERMS)
    levers = _levers(seen, alone_in=3.0)
    alone = overturn(levers, seen, asked.prepared(seen), contrast="A over B")
    assert min(one.in_uncertainties or 0.0 for one in alone) > BELIEVABLE

    (pair,) = overturn_together(levers, alone, seen, asked.prepared(seen))

    def moved(by: float) -> Observations:
        shifted = seen
        for lever, change in zip(levers, pair.changes, strict=True):
            shifted = shifted.moved(lever.moved(by * change))
        return shifted

    assert {pair.inputs[0], pair.inputs[1]} == {"one", "other"}
    assert 1.0 < pair.in_uncertainties <= BELIEVABLE
    assert asked.again(seen) is pair.from_verdict is Verdict.SHOWN
    assert asked.again(moved(1.0)) is pair.to_verdict is not Verdict.SHOWN
    assert asked.again(moved(0.995)) is Verdict.SHOWN


@pytest.mark.parametrize("alone_in", [1.5, 6.0])
def test_no_pair_where_one_does_it_alone_or_both_are_too_little(alone_in: float) -> None:
    """A single doubt within two uncertainties is the one to name; two far ones stay far."""
    seen = _study()
    _, asked = ask_recipes(seen, ["A", "B"], ("A", "B"), TERMS)
    levers = _levers(seen, alone_in=alone_in)
    alone = overturn(levers, seen, asked.prepared(seen), contrast="A over B")
    assert overturn_together(levers, alone, seen, asked.prepared(seen)) == ()


def test_reach_with_few_degrees_of_freedom_says_why_and_gives_no_advice() -> None:
    """One degree of freedom: in plain words, and without an act that could contradict the next one."""
    said = reach_of((2, 1), 0.08, MARGIN, basis="these", degrees_of_freedom=1.0).detail
    assert "hardly known from so few repeat builds" in said
    assert "degrees of freedom" not in said
    assert "more" not in said.partition(":")[0]
    assert "equivalent" not in said


def test_reach_without_any_spread_seen_says_that_it_may_be_luck() -> None:
    """0 % between builds is no promise of 0 %."""
    said = reach_of((3, 3), 0.016, MARGIN, basis="these", degrees_of_freedom=4.0, spread_seen=False)
    assert said.detail.startswith(
        "no spread of builds was seen, often luck; if it stays so, a ratio of 1.0"
    )
    usual = reach_of((3, 3), 0.016, MARGIN, basis="these", degrees_of_freedom=4.0)
    assert usual.detail.startswith("a ratio of 1.0")


def _of(*pieces: Electrode, mixes: dict[str, Mix] | None = None) -> Study:
    return Study(
        electrodes=pieces, controls=(), runs=(), cells={}, instruments={}, mixes=mixes or {}
    )


def test_recipes_are_told_by_their_factors_else_by_their_mix() -> None:
    """A code alone means nothing to a reader; a recipe of which nothing is known is left out."""
    mix = Mix(name="m", wanted=(Share(of="char", fraction=0.9), Share(of="PVB", fraction=0.1)))
    found = recipes_in_words(
        _of(
            Electrode(name="T1", recipe="b10 m0", factors={"binder": "10 %", "magnetite": "0 %"}),
            Electrode(name="T2", recipe="b10 m0", factors={"binder": "10 %", "magnetite": "0 %"}),
            Electrode(name="T3", recipe="X", layers=(Layer(mix="m"),)),
            Electrode(name="T4", recipe="Y"),
            mixes={"m": mix},
        )
    )
    assert [(r.recipe, r.words, r.electrodes) for r in found] == [
        ("b10 m0", "10 % binder, no magnetite", ("T1", "T2")),
        ("X", "90 % char, 10 % PVB", ("T3",)),
    ]


def test_only_conditions_can_be_the_same_for_all() -> None:
    """Every key, area and rest are taken; a slip is refused with the word that looks like it."""
    check_same([*(kind.key for kind in CONDITIONS), "area", REST])
    with pytest.raises(InputError, match="did you mean salinity") as refused:
        check_same(["salinty"])
    assert "rest" in refused.value.allowed
    with pytest.raises(InputError, match="nonsense"):
        check_same(["nonsense"])


@pytest.mark.parametrize("measured", [True, False])
def test_the_control_says_whether_its_ageing_was_measured(measured: bool) -> None:
    """What earlier days have shown is not called assumed."""
    seen = _study()
    priors = Priors(control_ageing=0.0005, ageing_measured=measured)
    terms = Terms(margin=MARGIN, look_level=0.05, beside_level=0.05, priors=priors)
    joint, _ = ask_recipes(seen, ["A", "B"], ("A", "B"), terms)
    said = ageing_estimate(joint.joint, seen, terms)
    assert said.value is None
    assert said.basis is (Basis.MEASURED if measured else Basis.ASSUMED)
    assert ("as measured on earlier days" in (said.reason or "")) is measured
    assert ("assumed" in (said.reason or "")) is not measured
    assert math.isclose(priors.control_ageing, 0.0005)
