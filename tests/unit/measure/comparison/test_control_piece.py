"""Which piece is proposed as control: on the small bench with a known truth, where A leads B."""

from __future__ import annotations

import importlib.util
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from aerode.measure.comparison.answer import Request, compare_study
from aerode.measure.comparison.control_piece import control_piece
from aerode.measure.comparison.joint import Priors, fit_pieces
from aerode.measure.comparison.study import Study, measure_study
from aerode.measure.comparison.values import Response
from aerode.records.comparisons import ActAt, AirOrBattery
from aerode.records.electrodes import Outcome
from aerode.records.results import Estimate


def _small_bench():
    path = Path(__file__).with_name("small_bench.py")
    spec = importlib.util.spec_from_file_location("small_bench_of_control", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["small_bench_of_control"] = module
    spec.loader.exec_module(module)
    return module


bench = _small_bench()


def _without_control(**first: object) -> Study:
    plain = bench.two_recipes(**first)
    return replace(plain, controls=(), runs=tuple(r for r in plain.runs if not r.control))


def _row(name: str, *, cleared: bool) -> AirOrBattery:
    nothing = Estimate(value=None, unit="mAh/cm^2", reason="not asked")
    return AirOrBattery(
        electrode=name, charge_drawn=nothing, stored_charge=nothing, cleared=cleared, detail=""
    )


@pytest.mark.parametrize(
    ("outcome", "doubted", "named"),
    [
        (Outcome.WHOLE, (), "A1"),
        (Outcome.LEAKED, (), "A2"),  # read as well, but not whole
        (Outcome.WHOLE, ("A1", "A2"), "A3"),
        (Outcome.WHOLE, ("A1", "A2", "A3"), "B1"),  # sooner another recipe than a doubted piece
        (Outcome.WHOLE, ("A1", "A2", "A3", "B1", "B2", "B3"), "A1"),
    ],
)
def test_the_first_whole_piece_of_the_leading_recipe(
    outcome: Outcome, doubted: tuple[str, ...], named: str
) -> None:
    """A was built to give a quarter more than B; A1 was read first, though B1 was read before A2."""
    study = _without_control(outcome=outcome)
    values = measure_study(study, Response(voltage=0.45))
    joint = fit_pieces(values.observations(), Priors())
    air = [_row(e.name, cleared=e.name not in doubted) for e in study.electrodes]

    found = control_piece(values, joint, air)

    assert found is not None
    assert found.name == named


def test_the_comparison_names_it_for_the_next_session() -> None:
    """All were read already: the act is for the session that follows, and names the piece."""
    answer = compare_study(
        _without_control(),
        Request(response=Response(voltage=0.45), looks=1, try_changes=False),
    )
    act = next(one for one in answer.later_acts if one.at is ActAt.CONTROL)
    assert act.control == "A1"
    assert "A1" in act.do
    assert "in the next session" in act.do


def test_a_control_that_was_a_build_still_counts_as_one() -> None:
    """To keep a build as control takes no build from its recipe."""
    plain = _without_control()
    kept, rest = plain.electrodes[0], plain.electrodes[1:]
    runs = [bench.loads(kept, 1.3, k, control=True, name=f"A1 control {k}", session="day 2") for k in (1, 4, 7)]  # fmt: skip
    runs += [bench.loads(e, g, k, name=f"{e.name} again", session="day 2") for e, g, k in ((rest[0], 1.0, 2), (rest[2], 1.26, 3))]  # fmt: skip
    later = replace(plain, electrodes=rest, controls=(kept,), runs=(*plain.runs, *runs))
    answer = compare_study(
        later, Request(response=Response(voltage=0.45), looks=1, try_changes=False)
    )
    pair = next(c for c in answer.contrasts if {c.a, c.b} == {"A", "B"})
    assert pair.builds == (3, 3)
    assert not any(one.at is ActAt.CONTROL for one in answer.later_acts)
