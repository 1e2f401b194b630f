"""The edge of what was read: said, with a step beyond as a guess; leave it and build; lots that stand in for each other."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from aerode.measure.comparison.joint import Observations, Priors
from aerode.measure.next_batch import plan_next
from aerode.measure.next_edge import steps_beyond
from aerode.records.electrodes import Electrode
from aerode.records.materials import Function, PowderLot
from aerode.store.bench_file import BenchFile
from aerode.usecases import next_batch as module
from aerode.usecases.next_asked import NextQuestion
from aerode.usecases.next_batch import next_batch
from aerode.usecases.next_instead import lots_instead, why_not_instead
from aerode.usecases.next_words import build_line, drawn_together
from aerode.virtual.tern_sound import build


@pytest.fixture(scope="module")
def place(tmp_path_factory):
    """The invented bench."""
    made = tmp_path_factory.mktemp("bench") / "demo.aerode"
    with BenchFile.create(made, title="demo") as bench:
        bench.put_all(build(np.random.default_rng(1)).records)
    return made


def _next(place, **asked):
    with BenchFile.open(place, read_only=True) as bench:
        return next_batch(bench, NextQuestion(**asked))


def _steps(levels: dict[str, float], limited: tuple[str, ...] = ()):
    names = tuple(levels)
    n = len(names)
    seen = Observations(
        value=np.array(list(levels.values())), known=1e-6 * np.eye(n), electrode=names, piece=names, recipe=names,
        order=np.zeros(n), session=("s",) * n, control=(False,) * n,
    )  # fmt: skip
    settings = {name: {"binder": name} for name in names}
    return steps_beyond(seen, settings, plan_next(seen, settings, {}, Priors()), limited, Priors())


def test_a_best_at_an_end_gets_a_step_of_an_eighth_beyond_it() -> None:
    """9 to 17 %: an eighth of 8 % is 1 %; falling towards the end it is likely to go on, and never sure."""
    (found,) = _steps({"9 %": 1.0, "13 %": 0.8, "17 %": 0.6})
    assert (found.factor, found.edge, found.other, found.below) == ("binder", "9 %", "17 %", True)
    assert found.settings == {"binder": "8 %"}
    assert found.low < 1.0 < found.ratio < found.high
    assert 0.5 < found.chance < 1.0
    (up,) = _steps({"9 %": 0.6, "13 %": 0.8, "17 %": 1.0})
    assert (up.settings, up.below) == ({"binder": "18 %"}, False)


def test_no_step_from_the_middle_past_nothing_or_where_a_limit_was_set() -> None:
    """A best inside was looked for on both sides; less than none of a lot is no mix."""
    assert _steps({"9 %": 0.6, "13 %": 1.0, "17 %": 0.6}) == ()
    assert _steps({"0 %": 1.0, "8 %": 0.6}) == ()
    assert _steps({"9 %": 1.0, "17 %": 0.6}, limited=("binder",)) == ()
    (half,) = _steps({"1 %": 1.0, "17 %": 0.6})
    assert half.settings == {"binder": "0.5 %"}


def test_the_answer_says_that_the_best_is_at_the_edge(place) -> None:
    """The range, what nothing tells, what a build beyond costs; its step stands among the guesses, not in the batch."""
    found = _next(place)
    assert found.at_edge.startswith(
        f"the best recipe, {found.best_read}, is at the edge of what was read ("
    )
    assert "binder 10 % to 20 %" in found.at_edge
    assert "binder below 10 %" in found.at_edge
    assert "a build beyond costs 1 pot, " in found.at_edge
    assert {"8.75 %"} == {b.settings["binder"] for b in found.outside if b.beyond == ("binder",)}
    assert all("not to be counted on" in build_line(b, found.best_read) for b in found.outside)
    assert all(not b.beyond for b in found.builds)
    assert sum(found.outside[0].shares.values()) == pytest.approx(1.0)


def test_a_limit_of_your_own_takes_the_place_of_the_step(place) -> None:
    """Who says between what to look is not led beyond it."""
    found = _next(place, between=("binder 10 % to 13 %",))
    assert "binder" not in found.at_edge
    assert not any("binder" in b.beyond for b in found.outside)


def test_a_step_onto_a_stop_is_not_offered(place, monkeypatch) -> None:
    """A hotter plate that the cautions stop is no guess to try."""
    monkeypatch.setattr(module, "_stop", lambda *_: "STOP")
    with BenchFile.open(place, read_only=True) as bench:
        why = module._step_refused(bench, "", ())
        assert why({"plate temperature": "300 °C"}, module.NextMix(of="m", shares={})) == "STOP"


def test_a_batch_worth_no_weekend_leads_to_the_battery(place, monkeypatch) -> None:
    """The first act is to size the battery, or another pot; the edge stays open."""
    assert not _next(place).leave
    monkeypatch.setattr(module, "_LITTLE", 1.0)
    found = _next(place)
    assert found.leave
    assert "size the battery" in found.next_steps[0]
    assert "another pot" in found.next_steps[0]
    assert "step beyond the edge" in found.next_steps[1]


TWO = {
    "A": {"one": "10 %", "two": "0 %", "plate": "70 °C"},
    "B": {"one": "0 %", "two": "12 %", "plate": "90 °C"},
}


@pytest.fixture
def own(place, tmp_path):
    """A copy with two binders on the shelf."""
    copy = tmp_path / "own.aerode"
    copy.write_bytes(place.read_bytes())
    with BenchFile.open(copy) as bench:
        lot = replace(bench.all(PowderLot)[0], stock=None)
        bench.put(replace(lot, name="one", function=Function.BINDER))
        bench.put(replace(lot, name="two", function=Function.BINDER))
        yield bench


def test_two_binders_of_which_each_recipe_holds_one_stand_in_for_each_other(own) -> None:
    """Neither, and both, is no recipe that was read; where one recipe held both, nothing is said."""
    groups = lots_instead(own, TWO)
    assert groups == (("one", "two"),)
    assert why_not_instead(groups, {"one": "0 %", "two": "0 %"})
    assert why_not_instead(groups, {"one": "10 %", "two": "12 %"})
    assert why_not_instead(groups, {"one": "5 %", "two": "0 %"}) == ""
    both = {**TWO, "C": {"one": "5 %", "two": "6 %", "plate": "70 °C"}}
    assert lots_instead(own, both) == ()
    own.put(replace(own.get(PowderLot, "two"), function=Function.CATALYST))
    assert lots_instead(own, TWO) == ()


def test_no_build_is_offered_without_a_binder(own) -> None:
    """Of PVB and another binder that replaced it every build holds one; what was left out has its reason."""
    for one in own.all(Electrode):
        if one.factors:
            pvb = one.factors["binder"] == "10 %"
            own.put(replace(one, factors={"one": "10 %" if pvb else "0 %", "two": "0 %" if pvb else "12 %"}))  # fmt: skip
    found = next_batch(own, NextQuestion())
    for one in (*found.builds, *found.outside):
        assert sum(float(one.settings[name].split()[0]) > 0 for name in ("one", "two")) == 1
    assert any("stand in for each other" in one.why for one in found.left_out)


def test_it_is_said_that_recipes_are_drawn_together(place) -> None:
    """Where a recipe that was read stands in the batch, once, and by name; with new ones alone it is not."""
    found = _next(place)
    read = [one.recipe for one in found.builds if one.recipe and one.recipe != found.best_read]
    said = [line for line in found.warnings if "nearer to each other than Compare finds" in line]
    assert len(said) == bool(read)
    one = replace(found.builds[0], recipe="b20 m0 70C")
    (line,) = drawn_together([one, one, replace(one, recipe="")], "b10 m0 100C")
    assert line.startswith("b20 m0 70C and b10 m0 100C are believed nearer")
    assert (
        drawn_together([replace(one, recipe=""), replace(one, recipe="b10 m0 100C")], "b10 m0 100C")
        == []
    )
