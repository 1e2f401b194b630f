"""The room models at their edges: sealed rooms, no source, refusals; the slow twin of the average."""

from __future__ import annotations

import pytest

from aerode.errors import RangeError
from aerode.physics.exposure import (
    mass_concentration,
    mixture_index,
    mixture_limit,
    mole_fraction,
    time_weighted_average,
)
from aerode.physics.near_field import two_zone, two_zone_average, two_zone_history
from aerode.physics.room_air import (
    Stage,
    flow_needed,
    flow_needed_for_dose,
    purge_time,
    time_to_share,
    well_mixed,
    well_mixed_average,
    well_mixed_history,
)


def test_a_sealed_room_fills_along_a_straight_line() -> None:
    """C = G t / V without any air."""
    assert well_mixed(1e-6, 0.0, 50.0, 1000.0) == pytest.approx(1e-3 / 50.0)
    assert well_mixed_average([Stage(1000.0, 1e-6, 0.0)], 50.0, 1000.0) == pytest.approx(1e-5)


def test_a_nearly_sealed_room_is_nearly_that() -> None:
    """No digits are lost where Q is tiny."""
    assert well_mixed(1e-6, 1e-15, 50.0, 1000.0) == pytest.approx(1e-3 / 50.0, rel=1e-9)
    average = well_mixed_average([Stage(1000.0, 1e-6, 1e-15)], 50.0, 1000.0)
    assert average == pytest.approx(1e-5, rel=1e-6)


def test_the_average_agrees_with_many_small_steps() -> None:
    """The exact dose against a plain sum over 20000 steps."""
    stages = [Stage(1800.0, 2e-6, 0.02), Stage(3600.0, 0.0, 0.1), Stage(600.0, 1e-6, 0.0)]
    now, dose = 0.0, 0.0
    for stage in stages:
        step = stage.duration / 20000
        for _ in range(20000):
            after = now + step / 40.0 * (stage.emission - stage.flow * now)
            dose += 0.5 * (now + after) * step
            now = after
    ours = well_mixed_average(stages, 40.0, 28800.0)
    assert ours * 28800.0 == pytest.approx(dose, rel=1e-4)
    assert well_mixed_history(stages, 40.0)[-1] == pytest.approx(now, rel=1e-4)


def test_a_room_that_was_full_clears() -> None:
    """Without a source the two zones end clean and the far field lags."""
    ends = two_zone_history(
        [Stage(60.0, 0.0, 0.05), Stage(1e6, 0.0, 0.05)], 0.1, 1.0, 40.0, initial=(1e-3, 0.0)
    )
    assert ends[0][1] > 0.0
    assert ends[1] == pytest.approx((0.0, 0.0), abs=1e-15)


def test_a_room_below_its_target_needs_no_airing() -> None:
    """The purge time is zero then."""
    assert purge_time(1e-6, 1e-3, 0.1, 40.0) == 0.0


@pytest.mark.parametrize(
    "call",
    [
        lambda: well_mixed(-1.0, 0.1, 40.0, 60.0),
        lambda: well_mixed(1e-6, 0.1, 0.0, 60.0),
        lambda: well_mixed(1e-6, 0.1, 40.0, 60.0, mixing=0.5),
        lambda: well_mixed_average([Stage(100.0, 1e-6, 0.1)], 40.0, 50.0),
        lambda: two_zone_average([Stage(100.0, 1e-6, 0.1)], 0.1, 1.0, 40.0, 50.0),
        lambda: two_zone(1e-6, 0.0, 0.1, 1.0, 40.0, 60.0),
        lambda: two_zone_history([Stage(60.0, 1e-6, 0.0)], 0.1, 1.0, 40.0),
        lambda: purge_time(0.0, 1.0, 0.1, 40.0),
        lambda: time_to_share(1.0, 0.1, 40.0),
        lambda: flow_needed(1e-6, 0.0),
        lambda: flow_needed(1e-6, 1e-3, mixing=0.9),
        lambda: flow_needed_for_dose(-1.0, 1e-3, 28800.0),
        lambda: mass_concentration(-1e-6, 0.1),
        lambda: mole_fraction(1e-6, 0.0),
        lambda: time_weighted_average([1.0], [30000.0]),
        lambda: time_weighted_average([1.0, 2.0], [10.0]),
        lambda: mixture_index([1.0], [1.0, 2.0]),
        lambda: mixture_limit([0.0], [1.0]),
    ],
)
def test_impossible_inputs_are_refused(call: object) -> None:
    """Each with a range error, none with a number."""
    with pytest.raises(RangeError):
        call()  # type: ignore[operator]


def test_a_substance_without_a_limit_is_never_a_pass() -> None:
    """The mixture rule refuses it and says what to do, rather than leave it out."""
    with pytest.raises(RangeError, match="no limit on file") as caught:
        mixture_index([1.0, 1.0], [100.0, None])
    assert "safety data sheet" in caught.value.next_step
