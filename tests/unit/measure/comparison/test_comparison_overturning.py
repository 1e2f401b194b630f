"""What would overturn it: the change that is named flips the verdict, and a hair less does not."""

from __future__ import annotations

import numpy as np
import pytest

from aerode.errors import CannotTellError
from aerode.measure.comparison.joint import Observations, Priors
from aerode.measure.comparison.overturning import Lever, drop_each, overturn, smallest_change
from aerode.measure.comparison.questioning import Terms, ask_effect, ask_pieces, ask_recipes
from aerode.records.comparisons import Verdict

MARGIN = float(np.log(1.10))
TERMS = Terms(margin=MARGIN, look_level=0.05, beside_level=0.05, priors=Priors())
HAIR = 0.999


def study(gap: float = 0.25, spread: float = 0.02) -> Observations:
    """Two recipes, three builds of each, between readings of a control."""
    rng = np.random.default_rng(12)
    recipe = ["C", "A", "B", "B", "C", "A", "A", "B", "C"]
    value = np.array(
        [{"A": gap, "B": 0.0, "C": 0.1}[r] for r in recipe]
    ) + spread * rng.standard_normal(9)
    names = tuple("C0" if r == "C" else f"{r}{k}" for k, r in enumerate(recipe))
    return Observations(value=value, known=np.eye(9) * 0.012**2, electrode=names, piece=names, recipe=tuple(recipe),
                        order=np.arange(9.0), session=("d",) * 9, control=tuple(r == "C" for r in recipe))  # fmt: skip


def area_of(seen: Observations, electrode: str) -> Lever:
    """The wetted area of one electrode, in per cent."""
    mine = np.array([-1.0 if e == electrode else 0.0 for e in seen.electrode])
    return Lever(name=f"area of {electrode}", unit="%", uncertainty=1.2,
                 moved=lambda change: mine * np.log1p(0.01 * change), low=-50.0, high=100.0)  # fmt: skip


def _asked(sort: str, seen: Observations):
    if sort == "recipes":
        return ask_recipes(seen, ["A", "B"], ("A", "B"), TERMS)[1]
    if sort == "pieces":
        return ask_pieces(seen, ["A1", "B2"], ("A1", "B2"), TERMS)[1]
    settings = {"A": {"x": 1.0}, "B": {"x": 2.0}}
    return ask_effect(seen, ["A", "B"], settings, "x", TERMS)[2]


@pytest.mark.parametrize("sort", ["recipes", "pieces", "effect"])
@pytest.mark.parametrize("gap", [0.25, 0.02])
def test_the_named_change_flips_the_verdict_and_a_hair_less_does_not(sort, gap):
    """Applied through the whole comparison, for a shown and for a not shown difference."""
    seen = study(gap, 0.004 if gap < 0.1 else 0.02)
    asked = _asked(sort, seen)
    start = asked.again(seen)
    flipped = 0
    for electrode in dict.fromkeys(seen.electrode):
        lever = area_of(seen, electrode)
        found = smallest_change(lever, seen, asked.prepared(seen))
        if found is None:
            continue
        flipped += 1
        change, after = found
        assert asked.again(seen.moved(lever.moved(change))) is after is not start
        assert asked.again(seen.moved(lever.moved(HAIR * change))) is start
        assert asked.again(seen.moved(lever.moved(0.5 * change))) is start
    assert flipped > 0


@pytest.mark.parametrize("sort", ["recipes", "pieces", "effect"])
def test_the_prepared_judge_is_the_whole_comparison(sort):
    """The fast way and its slow twin agree on shifted readings."""
    seen = study()
    asked = _asked(sort, seen)
    rng = np.random.default_rng(5)
    quick = asked.prepared(seen)
    for size in (0.0, 0.02, 0.1, 0.3):
        moved = seen.moved(size * rng.standard_normal(9))
        assert quick(moved) is asked.again(moved)


def test_a_common_input_overturns_nothing_and_says_how_far_it_was_tried():
    """A gain that all readings share cancels, whatever it is."""
    seen = study()
    lever = Lever(
        name="gain",
        unit="%",
        uncertainty=0.3,
        moved=lambda c: np.full(9, 0.01 * c),
        low=-30.0,
        high=30.0,
    )
    (line,) = overturn([lever], seen, _asked("recipes", seen).prepared(seen), contrast="A over B")
    assert line.change is None
    assert line.to_verdict is None
    assert "no change from -9.6 to +9.6 %" in line.reason


def test_the_nearest_input_stands_first_and_is_told_in_its_uncertainties():
    """Two inputs with the same slope: the one known worse is nearer."""
    seen = study()
    mine = np.array([-1.0 if r == "A" else 0.0 for r in seen.recipe])
    sure = Lever(
        name="sure", unit="", uncertainty=0.01, moved=lambda c: mine * c, low=-1.0, high=1.0
    )
    vague = Lever(
        name="vague", unit="", uncertainty=0.05, moved=lambda c: mine * c, low=-1.0, high=1.0
    )
    lines = overturn([sure, vague], seen, _asked("recipes", seen).prepared(seen), contrast="")
    assert [line.input for line in lines] == ["vague", "sure"]
    assert lines[0].change == pytest.approx(lines[1].change, rel=1e-3)
    assert lines[0].in_uncertainties == pytest.approx(abs(lines[0].change or 0) / 0.05)


def test_an_impossible_change_is_not_tried():
    """A lead of 0.1 ohm cannot be 0.3 ohm smaller than noted."""
    seen = study()
    tried: list[float] = []

    def moved(change: float):
        tried.append(change)
        return np.zeros(9)

    lever = Lever(name="lead", unit="ohm", uncertainty=0.05, moved=moved, low=-0.1, high=5.0)
    assert smallest_change(lever, seen, _asked("recipes", seen).prepared(seen)) is None
    assert min(tried) == -0.1
    assert max(tried) == pytest.approx(32 * 0.05)


def test_leaving_out_one_piece_is_tried_for_each():
    """With two builds a side, a verdict that hangs on one piece names it."""
    recipe, value = "AABB", [0.40, 0.38, 0.01, 0.0]
    names = ("A0", "A1", "B2", "B3")
    seen = Observations(value=np.array(value), known=np.eye(4) * 1e-6, electrode=names, piece=names,
                        recipe=tuple(recipe), order=np.zeros(4), session=("d",) * 4, control=(False,) * 4)  # fmt: skip
    asked = _asked("recipes", seen)
    assert asked.again(seen) is Verdict.SHOWN
    lines = drop_each(seen, asked.again, contrast="A over B")
    assert [line.input for line in lines] == [], "3 left give t(1) = 12.7: 0.39 is still shown"
    closer = seen.moved(np.array([-0.30, -0.30, 0.0, 0.0]))
    assert asked.again(closer) is Verdict.SHOWN
    lines = drop_each(closer, asked.again, contrast="A over B")
    assert {line.input for line in lines} == {f"leaving out {e}" for e in seen.electrode}
    assert all(line.to_verdict is Verdict.NOT_SHOWN for line in lines)


def test_a_side_that_is_gone_cannot_be_judged_again():
    """Asking about a recipe without a reading is refused, and dropping its only piece counts as not shown."""
    seen = study()
    asked = _asked("pieces", seen)
    kept = seen.keep(np.array([e != "B2" for e in seen.electrode]))
    with pytest.raises(CannotTellError):
        asked.again(kept)
    lines = drop_each(seen, asked.again, contrast="A1 over B2")
    assert "leaving out B2" in {line.input for line in lines}
