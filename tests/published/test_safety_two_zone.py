"""The two-zone closed form against an ODE solver, and against a published decoupling.

Sources: closed form as printed by Nicas and the AIHA modelling texts (read in a public help page of
a statistics package); input of the case worked out beforehand with an ODE solver: source 100
mg/min, air speed 3.6 m/min, radius 0.8 m, 50 m3, 2 air changes an hour -> exchange 7.2382 m3/min,
near field 1.07233 m3; near 22.526, 37.064, 65.614 and far 8.964, 23.430, 51.839 mg/m3 after 5, 15
and 60 min; steady 73.816 and 60.0. Nicas, Ann. Work Expo. Health 68 (2024) 78, abstract read: far
field nearly as one zone, near field nearly the sum of two zones that know nothing of each other.
Tolerances: last printed digit; 1e-8 against the solver at its own 1e-10; 6 % for the decoupling,
which the abstract calls excellent without a number.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from aerode.physics.near_field import (
    near_field_exchange,
    near_field_volume,
    two_zone,
    two_zone_average,
    two_zone_history,
)
from aerode.physics.room_air import Stage, well_mixed

MINUTE, HOUR = 60.0, 3600.0
EMISSION, FLOW, ROOM = 100e-6 / MINUTE, 2 * 50.0 / HOUR, 50.0
EXCHANGE = near_field_exchange(0.8, 3.6 / MINUTE)
NEAR = near_field_volume(0.8)
FAR = ROOM - NEAR


def _integrate(stages: list[Stage]) -> tuple[list[np.ndarray], np.ndarray]:
    """The slow twin: the balances by a general solver, with the doses as two more unknowns."""
    state, ends = np.zeros(4), []
    for stage in stages:

        def slope(_: float, y: np.ndarray, stage: Stage = stage) -> list[float]:
            near, far = y[0], y[1]
            return [
                (stage.emission + EXCHANGE * (far - near)) / NEAR,
                (EXCHANGE * (near - far) - stage.flow * far) / FAR,
                near,
                far,
            ]

        done = solve_ivp(
            slope, (0.0, stage.duration), state, method="DOP853", rtol=1e-11, atol=1e-18
        )
        state = done.y[:, -1]
        ends.append(state[:2].copy())
    return ends, state[2:]


def test_the_inputs_of_the_case() -> None:
    """Exchange and near-field volume of the half sphere."""
    assert pytest.approx(7.2382, rel=1e-5) == EXCHANGE * MINUTE
    assert pytest.approx(1.07233, rel=1e-5) == NEAR


@pytest.mark.parametrize(
    ("minutes", "near", "far"), [(5, 22.526, 8.964), (15, 37.064, 23.430), (60, 65.614, 51.839)]
)
def test_the_case(minutes: float, near: float, far: float) -> None:
    """The six printed concentrations, and the same from an ODE solver."""
    ours = two_zone(EMISSION, FLOW, EXCHANGE, NEAR, FAR, minutes * MINUTE)
    assert [c * 1e6 for c in ours] == pytest.approx([near, far], abs=6e-4)
    ends, _ = _integrate([Stage(minutes * MINUTE, EMISSION, FLOW)])
    assert list(ours) == pytest.approx(list(ends[0]), rel=1e-8)


def test_the_steady_state() -> None:
    """G/Q + G/beta over the dish and G/Q in the room."""
    near, far = two_zone(EMISSION, FLOW, EXCHANGE, NEAR, FAR, 100 * HOUR)
    assert near * 1e6 == pytest.approx(73.816, abs=1e-3)
    assert far * 1e6 == pytest.approx(60.0, rel=1e-9)


def test_start_stop_and_purge_against_the_solver() -> None:
    """Three stages with different sources and flows: ends and doses as the solver finds them."""
    stages = [
        Stage(20 * MINUTE, EMISSION, FLOW),
        Stage(45 * MINUTE, 0.0, FLOW),
        Stage(30 * MINUTE, 0.2 * EMISSION, 5 * FLOW),
    ]
    ends, doses = _integrate(stages)
    ours = two_zone_history(stages, EXCHANGE, NEAR, FAR)
    for mine, theirs in zip(ours, ends, strict=True):
        assert list(mine) == pytest.approx(list(theirs), rel=1e-7)
    average = two_zone_average(stages, EXCHANGE, NEAR, FAR, 8 * HOUR)
    assert [a * 8 * HOUR for a in average] == pytest.approx(list(doses), rel=1e-7)


@pytest.mark.parametrize("minutes", [5, 15, 60])
def test_the_published_decoupling(minutes: float) -> None:
    """One zone for the room nearly gives the far field, and the sum of two the near field."""
    time = minutes * MINUTE
    room = well_mixed(EMISSION, FLOW, ROOM, time)
    dish = well_mixed(EMISSION, EXCHANGE, NEAR, time)
    near, far = two_zone(EMISSION, FLOW, EXCHANGE, NEAR, FAR, time)
    assert room == pytest.approx(far, rel=0.06)
    assert room + dish == pytest.approx(near, rel=0.06)
