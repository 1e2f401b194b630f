"""A verdict that one believable error alone would undo says so where it is read first."""

from __future__ import annotations

import importlib.util
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from aerode.measure import telling
from aerode.measure.comparison.answer import Request, compare_study
from aerode.measure.comparison.joint import Observations, fit_recipes
from aerode.measure.comparison.judging import judge
from aerode.measure.comparison.overturning import (
    BELIEVABLE,
    ONE_PAIR,
    Lever,
    nearest_alone,
    on_one_pair,
    overturn,
    turns_alone,
)
from aerode.measure.comparison.values import Response
from aerode.records.comparisons import Comparison, Overturn, Verdict


def _small_bench():
    path = Path(__file__).with_name("small_bench.py")
    spec = importlib.util.spec_from_file_location("small_bench", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["small_bench"] = module
    spec.loader.exec_module(module)
    return module


bench = _small_bench()


def _ask(study, **changes) -> Comparison:
    question = {"response": Response(voltage=0.45), "looks": 1, "margin": 1.2} | changes
    return compare_study(study, Request(**question))


def _near_the_line(study, share: float):
    """The same study with the area that overturns it first moved by so much of what it takes."""
    found = _ask(study, try_changes=True)
    first = next(o for o in found.overturn if o.change and o.input.startswith("area of"))
    made = next(e for e in study.electrodes if first.input == f"area of {e.name}")
    area = replace(
        made.wetted_area, value=made.wetted_area.value * (1.0 + 0.01 * share * first.change)
    )
    moved = replace(made, wetted_area=area)
    return replace(
        study, electrodes=tuple(moved if e.name == made.name else e for e in study.electrodes)
    )


def test_headline_and_sentence_say_only_just_when_one_error_undoes_it() -> None:
    """An area noted nearly at the line: the headline, the sentence and the doubt all say so; far from it none does."""
    far = bench.two_recipes()
    near = _near_the_line(far, 0.97)
    plain = _ask(far, try_changes=False, try_nearest=True)
    assert plain.verdict is Verdict.SHOWN
    assert "only just" not in plain.headline + telling.plain_verdict(plain)
    assert telling.undone_by(plain) == ""
    close = _ask(near, try_changes=False, try_nearest=True)
    assert close.verdict is Verdict.SHOWN
    assert close.headline.startswith("Shown, only just (recipes): ")
    assert len(close.headline) <= 100
    assert telling.plain_verdict(close).startswith("It is shown, only just, that recipe ")
    assert telling.undone_by(close).startswith("Only just: ")
    assert "uncertainty) alone makes it \N{LEFT DOUBLE QUOTATION MARK}" in telling.undone_by(close)


def test_the_quick_look_names_what_the_whole_search_names() -> None:
    """Every input within two uncertainties, with the same change; the headline is the same either way."""
    near = _near_the_line(bench.two_recipes(), 0.97)
    quick = _ask(near, try_changes=False, try_nearest=True)
    whole = _ask(near, try_changes=True)
    within = [o for o in whole.overturn if o.in_uncertainties and o.in_uncertainties <= BELIEVABLE]
    assert within
    assert [o for o in quick.overturn if o.change is not None] == within
    assert quick.headline == whole.headline
    assert turns_alone(quick.verdict, quick.overturn) == within[0]


@pytest.mark.parametrize(("line", "found"), [(1.9, True), (2.1, False), (-1.9, True)])
def test_two_uncertainties_are_the_line(line: float, found: bool) -> None:
    """A verdict that turns at 1.9 uncertainties either way is told; one that turns at 2.1 is not."""
    seen = Observations(
        value=np.zeros(2), known=1e-4 * np.eye(2), electrode=("a", "b"), piece=("a", "b"), recipe=("A", "B"),
        order=np.array([1.0, 2.0]), session=("s", "s"), control=(False, False),
    )  # fmt: skip
    lever = Lever(
        name="area of a", unit="%", uncertainty=3.0, low=-50.0, high=100.0,
        moved=lambda change: np.array([change, 0.0]),
    )  # fmt: skip

    def judged(moved: Observations) -> Verdict:
        over = moved.value[0] / 3.0 >= line if line > 0 else moved.value[0] / 3.0 <= line
        return Verdict.NOT_SHOWN if over else Verdict.SHOWN

    near = nearest_alone([lever], seen, judged, contrast="A over B")
    assert bool(near) is found
    if found:
        assert near == overturn([lever], seen, judged, contrast="A over B")
        assert near[0].in_uncertainties == pytest.approx(abs(line), rel=1e-3)


def test_nothing_shown_is_nothing_to_undo() -> None:
    """A verdict "not shown" is never "only just", however near the line it lies."""
    near = _near_the_line(bench.two_recipes(), 1.03)
    answer = _ask(near, try_changes=True)
    assert answer.verdict is Verdict.NOT_SHOWN
    assert any(o.in_uncertainties and o.in_uncertainties <= BELIEVABLE for o in answer.overturn)
    assert "only just" not in answer.headline + telling.plain_verdict(answer)
    assert telling.undone_by(answer) == ""


@pytest.mark.parametrize(
    ("before", "after", "undone"),
    [
        (Verdict.SHOWN, Verdict.NOT_SHOWN, True),
        (Verdict.SHOWN, Verdict.SHOWN_SMALL, False),
        (Verdict.SHOWN_SMALL, Verdict.SHOWN, False),
        (Verdict.SHOWN_SMALL, Verdict.EQUIVALENT, True),
        (Verdict.EQUIVALENT, Verdict.NOT_SHOWN, True),
        (Verdict.NOT_SHOWN, Verdict.SHOWN, False),
    ],
)
def test_a_difference_that_stays_one_is_not_undone(
    before: Verdict, after: Verdict, undone: bool
) -> None:
    """Shown, or shown but smaller than matters: the direction stands in both."""
    change = Overturn(
        input="area of A1", contrast="A over B", change=1.0, unit="%", in_uncertainties=0.5,
        from_verdict=before, to_verdict=after,
    )  # fmt: skip
    assert (turns_alone(before, (change,)) is not None) is undone


def _only(study, *names: str):
    """The same study as if no other electrodes had been built."""
    return replace(
        study,
        electrodes=tuple(e for e in study.electrodes if e.name in names),
        runs=tuple(r for r in study.runs if r.electrode in names),
    )


def test_what_rests_on_one_pair_is_only_just_and_asks_for_a_build() -> None:
    """Two builds against one: shown, but only just, with the reason, and the next act is one more build."""
    whole = bench.two_recipes()
    a, b = ([e.name for e in whole.electrodes if e.recipe == r] for r in "AB")
    enough = _ask(whole, try_changes=False)
    assert not telling.only_just(enough)
    few = _ask(_only(whole, *a[:2], b[0]), try_changes=False)
    pair = next(c for c in few.contrasts if f"{c.a} over {c.b}" == few.primary)
    assert sorted(pair.builds) == [1, 2]
    assert few.verdict is Verdict.SHOWN
    assert pair.degrees_of_freedom is not None
    assert pair.degrees_of_freedom < ONE_PAIR
    assert few.headline.startswith("Shown, only just (recipes): ")
    assert "known from one pair alone" in telling.undone_by(few)
    asked = [act for act in (few.next_act, *few.later_acts) if act and act.build]
    assert [act.build for act in asked] == ["B"]
    assert not [a for a in (enough.next_act, *enough.later_acts) if a and a.build]


def _taken_back(builds: str, seed: int) -> tuple[int, int]:
    """How many of 300 studies are shown, and how many of these one more build of B takes back."""
    rng = np.random.default_rng(seed)
    shown = back = 0
    for _ in range(300):
        truths = rng.normal([0.25 if r == "A" else 0.0 for r in builds + "B"], 0.10)
        value = rng.normal(truths, 0.02)
        if _shown(builds, value[:-1]):
            shown += 1
            back += not _shown(builds + "B", value)
    return shown, back


def _shown(builds: str, value: np.ndarray) -> bool:
    n = len(builds)
    names = tuple(f"{recipe}{k}" for k, recipe in enumerate(builds))
    seen = Observations(
        value=value, known=4e-4 * np.eye(n), electrode=names, piece=names, recipe=tuple(builds),
        order=np.zeros(n), session=("s",) * n, control=(False,) * n,
    )  # fmt: skip
    joint = fit_recipes(seen)
    (found,) = judge(joint.fit, joint.weights("A", "B")[None, :], margin=np.log(1.05))
    return found.verdict in (Verdict.SHOWN, Verdict.SHOWN_SMALL)


def test_one_more_build_takes_back_what_one_pair_showed_more_often() -> None:
    """The rule's ground (decision 21), by simulation: about one in four with 2 + 1 builds, few with 3 + 3."""
    few, taken = _taken_back("AAB", 1)
    many, seldom = _taken_back("AAABBB", 2)
    assert few > 20
    assert many > 100
    assert taken / few > 0.15
    assert seldom / many < 0.12
    assert taken / few > 1.5 * seldom / many


@pytest.mark.parametrize(
    ("builds", "freedom", "one_pair"),
    [
        ([("A", "1"), ("A", "2"), ("B", "3")], 1.0, True),
        ([("A", "1"), ("A", "2"), ("B", "3"), ("A", "1")], 1.0, True),
        ([("A", "1"), ("A", "2"), ("B", "3")], 1.5, False),
        ([("A", "1"), ("A", "2"), ("B", "3"), ("B", "4")], 1.0, False),
        ([("A", "1"), ("A", "2"), ("B", "3"), ("C", "4")], 0.8, True),
    ],
)
def test_one_pair_is_counted_in_builds(
    builds: list[tuple[str, str]], freedom: float, one_pair: bool
) -> None:
    """Two pairs are no single one, and a piece that was read twice is one build."""
    assert on_one_pair(Verdict.SHOWN, freedom, builds) is one_pair
    assert not on_one_pair(Verdict.NOT_SHOWN, freedom, builds)
