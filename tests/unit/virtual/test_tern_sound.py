"""The invented bench: seeded, whole, with its truth kept apart."""

from __future__ import annotations

import numpy as np
import pytest

from aerode.records.adapter import canonical, read_json
from aerode.records.runs import Run, RunSort
from aerode.virtual.cells import HiddenCell
from aerode.virtual.plans import BUILD_SPREAD, ELECTRODES
from aerode.virtual.tern_sound import build


def test_same_seed_same_bench() -> None:
    """One seed gives one bench, another seed another."""
    first, again, other = (build(np.random.default_rng(seed)) for seed in (5, 5, 6))

    assert first == again
    assert first.truth.current_density != other.truth.current_density


def test_every_record_survives_the_adapter() -> None:
    """Nothing in the bench is a shape that the reader would refuse."""
    for record in build(np.random.default_rng(1)).records:
        assert read_json(type(record), canonical(record)) == record


def test_truth_is_not_in_the_records() -> None:
    """No record holds a true area, a true resistor or a true current density."""
    bench = build(np.random.default_rng(2))
    text = "".join(canonical(record) for record in bench.records)

    for value in bench.truth.current_density.values():
        assert f"{value:.6f}" not in text


@pytest.mark.parametrize("voltage", [0.1, 0.45, 0.6])
def test_bisection_lands_on_the_curve(voltage: float) -> None:
    """The hidden cell's current density at a voltage gives that voltage back."""
    cell = HiddenCell(vigour=1.1, area=9.0, joint=0.5)

    assert cell.voltage(cell.current_density_at(voltage)) == pytest.approx(voltage, abs=1e-9)


def test_the_spread_between_builds_is_what_is_said() -> None:
    """Over many seeds the two builds of one recipe scatter by the stated spread in log vigour."""
    logs = []
    for seed in range(300):
        truth = build(np.random.default_rng(seed)).truth
        logs.append(np.log(truth.current_density["T5"] / truth.recipe_current_density["T5"]))

    # A film in series with the gap passes on about 0.93 of a change of vigour.
    assert np.std(logs) == pytest.approx(0.93 * BUILD_SPREAD, rel=0.12)


def test_planted_faults_are_there() -> None:
    """The slip of the pen, the hasty reading, the leak and the sealed face are in the runs."""
    runs = {r.name: r for r in build(np.random.default_rng(1)).records if isinstance(r, Run)}

    assert runs["T7 ammeter"].readings[0].current == pytest.approx(
        runs["T7 ammeter"].readings[1].current * 1000
    )
    assert runs["T2 loads"].readings[0].waited == 180.0
    assert any(look.wet for look in runs["T1 seep"].observations)
    assert runs["T1 sealed"].sort is RunSort.SEALED_FACE
    assert {plan.name for plan in ELECTRODES} == {f"T{k}" for k in range(1, 9)}
