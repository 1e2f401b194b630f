"""Readings taken early: what they may still move by, what tells that, and that the curve carries it."""

from __future__ import annotations

import math

import numpy as np
import pytest

from aerode.measure.area import Area
from aerode.measure.early_readings import Movement, may_still_move, movement_of
from aerode.measure.fitting import fit
from aerode.measure.porous.scoring import without
from aerode.measure.readings import read_run
from aerode.records.runs import Reading, Run, Settling

CURVE = {100.0: 0.742, 47.0: 0.690, 33.0: 0.655, 22.0: 0.607, 15.0: 0.550, 10.0: 0.470}
AREA = Area(9e-4, 0.01)


def _run(waited: float | None, settling: Settling = Settling.NOT_KNOWN) -> Run:
    readings = tuple(
        Reading(resistance=r, voltage=v, waited=waited, settling=settling) for r, v in CURVE.items()
    )
    return Run(name="A", readings=readings)


def _width(run: Run) -> float:
    voltage = fit(read_run(run, {}, area=AREA)).voltage_at[1].voltage
    assert voltage.standard_uncertainty is not None
    return voltage.standard_uncertainty


def test_a_hasty_run_has_wider_limits_than_a_patient_one() -> None:
    """Read after 8 s each, all may still move one way by 8 mV: so may the curve."""
    hasty, patient = _width(_run(8.0)), _width(_run(120.0))
    assert hasty > math.hypot(patient, 0.006)
    assert patient == pytest.approx(_width(_run(None)), rel=1e-6)


def test_the_allowance_goes_to_nothing_at_the_waiting_time() -> None:
    """It falls all the way, and is nothing from two minutes on."""
    sizes = [Movement().after(t) for t in (0.0, 8.0, 30.0, 60.0, 119.0, 120.0, 500.0)]
    assert sizes == sorted(sizes, reverse=True)
    assert sizes[4] < 0.0001
    assert sizes[5:] == [0.0, 0.0]


@pytest.mark.parametrize(
    ("reading", "expected"),
    [
        (Reading(load="a", voltage=0.6, waited=8.0, settling=Settling.SETTLED), 0.0),
        (Reading(load="open", voltage=0.6, waited=8.0), 0.0),
        (Reading(load="a", voltage=0.6), 0.0),
        (Reading(load="a", voltage=0.6, waited=8.0, settling=Settling.NOT_SETTLED), None),
        (Reading(load="a", voltage=0.6, trace=((0.0, 0.5), (20.0, 0.6)), settling=Settling.NOT_SETTLED), None),
        (Reading(load="a", voltage=0.6, trace=((8.0, 0.6), (40.0, 0.6)), settling=Settling.NOT_SETTLED), 0.0),
    ],
)  # fmt: skip
def test_what_is_stated_or_seen_goes_first(reading: Reading, expected: float | None) -> None:
    """Stated to stand still: nothing; stated or seen to move far: no reading; seen to stand still: nothing."""
    assert may_still_move(reading, Movement()) == expected


def test_two_alike_for_a_moment_count_as_one_that_nobody_watched() -> None:
    """Watched from 10 to 30 s on a meter of 1 mV: as one read at 30 s, never left out."""
    watched = Reading(load="a", voltage=0.6, trace=((10.0, 0.6), (30.0, 0.6)), settling=Settling.NOT_SETTLED)  # fmt: skip
    alone = Reading(load="a", voltage=0.6, waited=30.0)
    assert may_still_move(watched, Movement()) == may_still_move(alone, Movement())


def test_watched_loads_of_the_run_tell_how_far_the_others_may_move() -> None:
    """Loads that come from 40 mV off with a time constant of 20 s widen an early reading as much as that."""
    times = (5.0, 15.0, 25.0, 40.0, 60.0, 90.0, 120.0)
    trace = tuple((t, round(0.60 + 0.04 * math.exp(-t / 20.0), 4)) for t in times)
    watched = Reading(resistance=47.0, voltage=trace[-1][1], waited=120.0, trace=trace, settling=Settling.SETTLED)  # fmt: skip
    learnt = movement_of(Run(name="A", readings=(watched, watched)), count=0.0001)
    truth = 0.04 * math.exp(-8.0 / 20.0)

    assert learnt.loads == 2
    assert learnt.time_constant == pytest.approx(20.0, rel=0.15)
    assert truth < learnt.after(8.0) < 1.5 * truth


def test_one_load_that_stood_still_says_little_of_the_others() -> None:
    """One leaves the judgement as it is; five bring it to half."""
    still = Reading(resistance=47.0, voltage=0.6, waited=80.0, trace=((5.0, 0.6), (40.0, 0.6), (80.0, 0.6)), settling=Settling.SETTLED)  # fmt: skip
    one, five = (movement_of(Run(name="A", readings=(still,) * n)).size for n in (1, 5))
    assert one == pytest.approx(Movement().size, rel=0.05)
    assert five < 0.5 * one


def test_the_reading_carries_it_and_the_run_says_it() -> None:
    """Each point is as much wider, and what is to be minded names how many and how far."""
    early, patient = (read_run(_run(t), {}, area=AREA) for t in (8.0, 120.0))
    wide, narrow = early.points[0].voltage_uncertainty, patient.points[0].voltage_uncertainty
    assert wide is not None
    assert narrow is not None
    assert wide == pytest.approx(math.hypot(narrow, Movement().after(8.0)), rel=1e-6)
    assert early.warnings[-1].startswith("6 readings were taken before two minutes were over")
    assert "judgement" in early.warnings[-1]
    assert patient.warnings == ()


def test_what_is_left_out_of_a_run_takes_its_allowance_along() -> None:
    """A run less one reading is one reading shorter in every array."""
    data = read_run(_run(8.0), {}, area=AREA)
    left = np.arange(data.voltage.size) == 2
    assert without(data, left).early.size == data.voltage.size - 1
