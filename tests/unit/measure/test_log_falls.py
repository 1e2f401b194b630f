"""How long a run-down held: the moment a level was passed, and what meter and rows leave open."""

from __future__ import annotations

import numpy as np
import pytest

from aerode.measure.log_falls import falls_of_log

HOUR = 3600.0


def _line(rows: int = 601, hours: float = 10.0, start: float = 0.9, end: float = 0.4):
    time = np.linspace(0.0, hours * HOUR, rows)
    return time, start + (end - start) * time / time[-1]


def test_a_straight_line_passes_a_level_where_geometry_says() -> None:
    """From 0.9 V to 0.4 V in ten hours 0.6 V is passed after six; with 1 % of 0.6 V twice, 14.4 min early or late."""
    time, volts = _line()
    found = falls_of_log([{"time": time + 50.0, "voltage": volts}], [0.6], meter_uncertainty=0.01, count=0.0)  # fmt: skip
    assert found is not None
    (fall,) = found.falls

    assert fall.after == pytest.approx(6.0 * HOUR, rel=1e-9)
    assert fall.low is not None
    assert fall.high is not None
    assert fall.low == pytest.approx(6.0 * HOUR - 864.0, abs=found.apart)
    assert fall.high == pytest.approx(6.0 * HOUR + 864.0, abs=found.apart)
    assert not fall.back


def test_between_two_readings_nobody_looked() -> None:
    """A perfect meter read every two hours: the moment is known to lie between two readings."""
    time, volts = _line(rows=6)
    found = falls_of_log([{"time": time, "voltage": volts}], [0.65], count=0.0)
    assert found is not None
    (fall,) = found.falls

    assert (fall.low, fall.high) == (4.0 * HOUR, 6.0 * HOUR)
    assert fall.after == pytest.approx(5.0 * HOUR)


def test_usual_levels_are_those_that_were_passed_and_the_next_one() -> None:
    """From 0.9 to 0.4 V: under 0.8 and 0.6, and not under 0.4; one that ends in the meter's error has no latest moment."""
    time, volts = _line(end=0.401)
    found = falls_of_log([{"time": time, "voltage": volts}])
    assert found is not None
    assert [(one.level, one.after is None) for one in found.falls] == [(0.8, False), (0.6, False), (0.4, True)]  # fmt: skip
    close = falls_of_log([{"time": time, "voltage": volts}], [0.405], meter_uncertainty=0.02)
    assert close is not None
    assert close.falls[0].high is None


def test_a_lead_that_came_off_is_no_fall_and_a_recovery_is_told() -> None:
    """Readings near nothing for a moment are left out; a cell that rests at the end stands above again."""
    time = np.arange(0.0, 6000.0, 10.0)
    volts = np.full(time.size, 0.7)
    volts[100:103] = 0.02
    dipped = falls_of_log([{"time": time, "voltage": volts}], [0.5])
    volts[300:500] = 0.45
    rested = falls_of_log([{"time": time, "voltage": volts}], [0.5])
    assert dipped is not None
    assert rested is not None

    assert dipped.falls[0].after is None
    assert rested.falls[0].after == pytest.approx(2990.0, abs=10.0)
    assert rested.falls[0].back


def test_one_reading_falls_nowhere() -> None:
    """Nothing to tell."""
    assert falls_of_log([{"time": np.zeros(1), "voltage": np.ones(1)}]) is None
