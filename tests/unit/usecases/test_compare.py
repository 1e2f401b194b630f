"""Comparing on a bench file: which electrodes, which claim, which point, and what is refused."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from aerode.errors import CannotTellError, InputError, NotFoundError
from aerode.records.comparisons import Verdict
from aerode.records.electrodes import Electrode, RecipeState
from aerode.records.places import Claim, RunOrder
from aerode.records.results import Level
from aerode.records.runs import Reading, Run
from aerode.store.bench_file import BenchFile
from aerode.usecases import compare_study
from aerode.usecases.claim import outlook_of, state_claim
from aerode.usecases.compare import compare
from aerode.usecases.compare_study import study_of
from aerode.usecases.run_order import run_order
from aerode.virtual.tern_sound import build


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    """The invented bench of the demo, one draw of it."""
    place = tmp_path_factory.mktemp("bench") / "demo.aerode"
    invented = build(np.random.default_rng(1))
    with BenchFile.create(place, title="demo") as bench:
        bench.put_all(invented.records)
    return place, invented


@pytest.fixture
def bench(demo):
    """The same, open for reading."""
    with BenchFile.open(demo[0], read_only=True) as opened:
        yield opened


def test_the_demo_asks_whether_less_binder_is_better_and_it_is_shown(bench, demo):
    """The claim on the bench brings point, margin and look; the effect is judged by pure error."""
    answer = compare(bench, by="binder")
    assert (answer.claim, answer.at, answer.margin, answer.look_level) == (
        "less binder",
        0.45,
        1.10,
        0.05,
    )
    assert answer.verdict is Verdict.SHOWN
    assert answer.interval[0] < demo[1].truth.effects["binder"] < answer.interval[1]
    assert 2.0 < answer.effects[0].degrees_of_freedom < 3.5
    assert answer.effects[0].aliases == (
        "cannot be told from magnetite and plate temperature acting together",
    )
    assert [e.verdict for e in answer.effects[1:]] == [Verdict.NOT_SHOWN] * 2
    assert answer.curvature is not None


def test_the_fair_order_is_nearer_to_the_truth_than_the_ammeters(bench, demo):
    """Rank correlation with the hidden truth: the fair values beat the ammeter, and lie within 5 %."""
    answer = compare(bench, by="binder", try_changes=False)
    truth = demo[1].truth.current_density
    rows = [p for p in answer.pieces if not p.control]
    true_rank = {name: k for k, name in enumerate(sorted(truth, key=lambda n: -truth[n]), start=1)}
    fair = sum((p.fair_rank - true_rank[p.electrode]) ** 2 for p in rows)
    meter = sum((p.ammeter_rank - true_rank[p.electrode]) ** 2 for p in rows)
    assert fair < 0.3 * meter
    assert all(p.fair.value == pytest.approx(truth[p.electrode], rel=0.05) for p in rows)
    assert [p.electrode for p in answer.pieces if p.control] == ["C0"]


def test_two_pieces_of_one_recipe_are_compared_as_pieces(bench):
    """T5 and T6: one recipe, so nothing is said of recipes."""
    answer = compare(bench, ["T5", "T6"], at_voltage=0.45, try_changes=False)
    assert answer.level is Level.PIECES
    assert {c.level for c in answer.contrasts} == {Level.PIECES}
    assert answer.primary == "T5 over T6"
    assert answer.claim == ""
    assert answer.look_level == 0.012


def test_air_or_battery_leaks_and_slips_are_carried_along(bench):
    """T1 is cleared by its sealed face, T3 is not; T1 leaked; T7's slip is listed."""
    answer = compare(bench, by="binder", try_changes=False)
    air = {row.electrode: row for row in answer.air_or_battery}
    assert air["T1"].cleared
    assert not air["T3"].cleared
    assert air["T3"].stored_charge.value > air["T2"].stored_charge.value, "it holds the oxide"
    assert next(k for k in answer.leaks if k.electrode == "T1").first_wet == pytest.approx(24.0)
    assert [(r.run, r.index) for r in answer.refused] == [("T7 ammeter", 0)]
    assert any("cannot tell an air cathode from a battery yet" in text for text in answer.warnings)


def test_without_names_everything_measured_is_taken_and_the_control_stands_apart(bench):
    """Eight electrodes and a control; blanks are not compared."""
    study = study_of(bench)
    assert [e.name for e in study.electrodes] == [f"T{k}" for k in range(1, 9)]
    assert [e.name for e in study.controls] == ["C0"]
    assert study.blanks == ()


def test_unknown_names_and_two_points_are_refused(bench):
    """A typing slip is named; a comparison is at one point."""
    with pytest.raises(NotFoundError):
        compare(bench, ["T1", "T99"])
    with pytest.raises(NotFoundError):
        compare(bench, claim="no such claim")
    with pytest.raises(InputError):
        compare(bench, at_voltage=0.4, at_current_density=20.0)
    with pytest.raises(InputError):
        compare(bench, ["T1"])


def test_a_claim_by_name_brings_its_factor_and_a_late_one_does_not_count(demo, tmp_path):
    """Named, the claim's factor is asked; written after the runs, it is judged as if there were none."""
    late = tmp_path / "late.aerode"
    with BenchFile.create(late, title="late") as store:
        store.put_all(demo[1].records)
        assert (
            compare(store, claim="less binder", try_changes=False).primary == "binder, 10 % to 20 %"
        )
        store.put(replace(store.get(Claim, "less binder"), made="2026-06-01"))
        answer = compare(store, by="binder", try_changes=False)
        assert answer.look_level == 0.012
        assert any("after the first run" in text for text in answer.warnings)


def test_a_blank_on_the_bench_is_not_compared_but_clears(demo, tmp_path):
    """A measured blank speaks for air in all of them."""
    with BenchFile.create(tmp_path / "b.aerode", title="b") as store:
        store.put_all(demo[1].records)
        t2 = store.get(Electrode, "T2")
        store.put(replace(t2, name="K0", recipe="", recipe_state=RecipeState.BLANK))
        store.put(replace(store.get(Run, "T2 loads"), name="K0 loads", electrode="K0", cell=""))
        study = study_of(store)
        assert "K0" not in [e.name for e in study.electrodes]
        assert [e.name for e in study.blanks] == ["K0"]
        answer = compare(store, ["T2", "T3"], at_voltage=0.45, same=("rest",), try_changes=False)
        assert all(row.cleared for row in answer.air_or_battery)


def test_without_point_and_claim_a_common_voltage_is_chosen(bench):
    """In the middle of what all were measured over, tidy."""
    answer = compare(bench, ["T1", "T2"], try_changes=False)
    assert answer.at in (0.45, 0.5)
    assert answer.at_unit == "V"


def test_a_claim_is_kept_before_the_result_and_told_what_it_can_reach(tmp_path):
    """Stated on an empty bench: kept, with the spreads to assume; stated without a bench: not kept."""
    claim = Claim(
        name="wax", question="Does wax stop leaks?", factor="wax", builds=6, made="2026-06-01"
    )
    assert not state_claim(None, claim).stored
    with BenchFile.create(tmp_path / "b.aerode", title="b") as store:
        answer = state_claim(store, claim)
        assert answer.stored
        assert len(answer.reach) == 2
        assert store.get(Claim, "wax") == claim
        assert outlook_of(store, "wax") == answer
        trial = state_claim(store, replace(claim, name="other"), spread=0.05, keep=False)
        assert not trial.stored
        assert [row.spread for row in trial.reach] == [0.05]
        assert store.find(Claim, "other") is None
        with pytest.raises(NotFoundError):
            outlook_of(store, "other")


def test_a_bench_with_repeat_builds_lends_its_own_spread_to_a_claim(bench):
    """One line instead of two, from the demo's three repeats."""
    answer = outlook_of(bench, "less binder")
    assert len(answer.reach) == 1
    assert 0.02 < answer.reach[0].spread < 0.15
    assert "found on this bench" in answer.reach[0].spread_basis


def test_an_order_is_drawn_and_kept_with_its_seed(demo, tmp_path):
    """The control of the bench is placed; the recipes do not run with the order; a trial is not kept."""
    with BenchFile.create(tmp_path / "b.aerode", title="b") as store:
        store.put_all(r for r in demo[1].records if not isinstance(r, Run))
        store.put(replace(store.get(Electrode, "C0"), control=True))
        order = run_order(store, session="day 2", seed=7)
        assert [k for k, name in enumerate(order.electrodes) if name == "C0"] == [0, 5, 10]
        assert store.get(RunOrder, order.name) == order
        some = run_order(store, ["T1", "T2", "C0"], session="day 3", seed=7, keep=False)
        assert sorted(set(some.electrodes)) == ["C0", "T1", "T2"]
        assert store.find(RunOrder, some.name) is None
        with pytest.raises(NotFoundError):
            run_order(store, ["T1", "T77"], session="d", seed=1)


def test_runs_without_a_curve_are_no_fault_but_a_refusal(tmp_path):
    """Two electrodes whose runs hold no usable load: it cannot be told, and what to read is named."""
    empty = (Reading(load="not on this bench"),)
    with BenchFile.create(tmp_path / "b.aerode", title="b") as made:
        made.put_all([Electrode(name="A"), Electrode(name="B")])
        made.put_all([Run(name=f"{e} loads", electrode=e, readings=empty) for e in ("A", "B")])
        with pytest.raises(CannotTellError, match="no usable loads, a curve needs 3"):
            compare(made, at_voltage=0.5)


@pytest.fixture
def tangled(demo, tmp_path):
    """A copy of the demo with a run by its cell alone, one at odds with its cell, one of no cell, and a claim."""
    place = tmp_path / "tangled.aerode"
    place.write_bytes(demo[0].read_bytes())
    with BenchFile.open(place) as opened:
        runs = [r for r in opened.all(Run) if r.electrode and r.cell and len(r.readings) > 3]
        first, second, third = runs[:3]
        opened.put(replace(first, electrode=""))
        opened.put(replace(second, name="at odds", cell=third.cell))
        opened.put(replace(second, name="adrift", cell="a cell that is gone"))
        yield opened


@pytest.mark.parametrize("said", [{}, {"at_voltage": 0.45}, {"by": "binder"}])
def test_of_a_large_bench_only_what_bears_on_the_question_is_read(tangled, said, monkeypatch):
    """The answer is the one from everything, field by field."""
    names = [e.name for e in study_of(tangled).electrodes][::2]
    whole = compare(tangled, names, try_changes=False, **said)
    monkeypatch.setattr(compare_study, "RECENT", 1)
    part = study_of(tangled, names)
    asked = compare(tangled, names, try_changes=False, **said)

    assert asked == whole
    assert len(part.runs) < tangled.count(Run)
    assert {"at odds", "adrift"} <= {r.name for r in tangled.all(Run)}
    kept = {part.electrode_name(r) for r in part.runs}
    assert kept <= {*names, *(e.name for e in (*part.controls, *part.blanks))}


def test_the_parts_of_a_large_bench_are_the_same_records(tangled, monkeypatch):
    """Controls, blanks, cells and runs in the order of first storing, whichever way a run names its electrode."""
    names = [e.name for e in study_of(tangled).electrodes]
    whole = study_of(tangled, names)
    monkeypatch.setattr(compare_study, "RECENT", 1)
    part = study_of(tangled, names)
    pieces = {*names, *(e.name for e in (*whole.controls, *whole.blanks))}

    assert part.electrodes == whole.electrodes
    assert {e.name for e in part.controls} == {e.name for e in whole.controls}
    assert part.blanks == whole.blanks
    assert part.runs == tuple(r for r in whole.runs if whole.electrode_name(r) in pieces)
    assert all(part.cells.get(r.cell) == whole.cells.get(r.cell) for r in part.runs)
    monkeypatch.setattr(compare_study, "_MOST_OWNERS", 1)
    assert study_of(tangled, names) == whole
