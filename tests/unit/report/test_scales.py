"""Where values land on an axis."""

from __future__ import annotations

import pytest

from aerode.records.figures import Axis
from aerode.report.scales import place_axis, tick_text


@pytest.mark.parametrize("apart", [0.0, 1e-16, 1e-13, 1e-10])
def test_values_that_are_all_but_equal_get_an_axis(apart: float) -> None:
    """Two readings of one voltage: the axis has room around them, and ticks that can be told apart."""
    placed = place_axis(Axis(title="Voltage", unit="V"), [0.75, 0.75 + apart], 300.0, 0.0, room_per_tick=50.0)  # fmt: skip

    assert len(set(placed.ticks)) == len(placed.ticks) >= 2
    assert len({tick_text(placed, tick) for tick in placed.ticks}) == len(placed.ticks)
    assert placed.low < 0.75 < placed.high
