"""Settling: extrapolate with an honest uncertainty, or say how long to wait."""

from __future__ import annotations

import re

import numpy as np
import pytest

from aerode.errors import RangeError
from aerode.measure.settling import approach, has_settled, read_at_once, settled_voltage
from aerode.stats.least_squares import fit_curve


def trace(
    final: float, start: float, constant: float, until: float, step: float = 20.0
) -> list[tuple[float, float]]:
    """Readings to 1 mV of an exponential approach."""
    times = np.arange(0.0, until + 1.0, step)
    return [(float(t), round(final + (start - final) * np.exp(-t / constant), 3)) for t in times]


def test_a_steady_trace_gives_its_last_readings() -> None:
    """Nothing is extrapolated where the reading stands still."""
    settled = settled_voltage([(0, 0.70), (30, 0.712), (60, 0.713), (90, 0.713), (120, 0.713)])
    assert settled.voltage == pytest.approx(0.713)
    assert not settled.extrapolated
    assert settled.standard_uncertainty == 0.0


def test_a_moving_trace_goes_where_it_is_going() -> None:
    """Watched for three time constants, the end is found within two uncertainties."""
    settled = settled_voltage(trace(0.74, 0.61, 60.0, 180.0))
    assert settled.extrapolated
    assert settled.voltage == pytest.approx(0.74, abs=2 * settled.standard_uncertainty)
    assert settled.standard_uncertainty < 0.002
    assert settled.time_constant == pytest.approx(60.0, rel=0.1)


def test_a_reader_who_stops_early_is_told_to_wait() -> None:
    """Nine-minute time constant, read for three minutes: no value, and how long to wait."""
    settled = settled_voltage(trace(0.74, 0.61, 540.0, 180.0))
    assert settled.voltage is None
    assert "wait about" in settled.reason


@pytest.mark.parametrize(
    "readings",
    [
        trace(0.74, 0.61, 540.0, 60.0),
        [(20.0, 0.700), (40.0, 0.706), (60.0, 0.703), (90.0, 0.709)],
        [(20.0, 0.612), (40.0, 0.604), (60.0, 0.609), (90.0, 0.600), (120.0, 0.606), (180.0, 0.598)],
    ],
)  # fmt: skip
def test_no_wait_is_told_from_a_time_constant_that_is_mostly_noise(
    readings: list[tuple[float, float]],
) -> None:
    """It moves, and nobody knows where to: how fast it moves is told, and when to look again."""
    settled = settled_voltage(readings)

    assert settled.voltage is None
    assert re.fullmatch(
        r"still moving by \d+(\.\d)? mV a minute: read it again in a minute", settled.reason
    )


def test_a_wait_that_is_told_is_about_the_wait_that_it_takes() -> None:
    """300 loads read on until they are taken: nine waits of ten are no more than twice what it took."""
    dice = np.random.default_rng(5)
    told: list[tuple[float, float]] = []
    for _ in range(300):
        constant = float(np.exp(dice.uniform(np.log(15.0), np.log(600.0))))
        step, noise = float(np.exp(dice.uniform(np.log(0.004), np.log(0.2)))), 0.0005
        readings: list[tuple[float, float]] = []
        waits: list[tuple[float, float]] = []
        for t in (20.0, 40.0, 60.0, 90.0, 120.0, *np.arange(180.0, 2000.0, 60.0)):
            volt = 0.7 - step * np.exp(-t / constant) + noise * dice.standard_normal()
            readings.append((float(t), round(float(volt), 3)))
            found = settled_voltage(readings)
            if found.voltage is not None:
                told += [(wait, float(t) - at) for at, wait in waits]
                break
            if (words := re.search(r"wait about (\d+) s", found.reason)) is not None:
                waits.append((float(t), float(words[1])))
    assert len(told) > 50
    assert sum(wait <= 2.0 * taken for wait, taken in told) >= 0.9 * len(told)
    assert sum(taken <= wait + 120.0 for wait, taken in told) >= 0.9 * len(told)


def test_too_few_timed_readings() -> None:
    """Three moving readings cannot be extrapolated."""
    settled = settled_voltage([(0, 0.61), (60, 0.66), (120, 0.69)])
    assert settled.voltage is None
    assert settled.reason == "still moving by 40 mV a minute: read it again in half a minute"


def test_a_fall_is_followed_as_well_as_a_rise() -> None:
    """A voltage that sinks under load is extrapolated downwards."""
    settled = settled_voltage(trace(0.40, 0.55, 45.0, 140.0))
    assert settled.voltage == pytest.approx(0.40, abs=2 * settled.standard_uncertainty + 5e-4)


@pytest.mark.parametrize(
    ("readings", "expected"),
    [
        ([(0, 0.700), (60, 0.7005), (120, 0.701)], True),
        ([(0, 0.700), (60, 0.702), (120, 0.704)], False),
        ([(0, 0.700), (30, 0.700)], True),
        ([(0, 0.700), (20, 0.700)], False),
        ([(0, 0.700), (30, 0.701)], False),
        ([(0, 0.700)], False),
    ],
)
def test_one_millivolt_a_minute(readings: list[tuple[float, float]], expected: bool) -> None:
    """Half a millivolt a minute is settled, two are not; two alike show it once half a minute lies between."""
    assert has_settled(readings, count=0.0001) is expected


def test_the_average_over_time_constants_is_the_least_squares_end_where_the_data_are_good() -> None:
    """The slow twin: a nonlinear least-squares fit of the same curve."""
    dice = np.random.default_rng(3)
    t = np.linspace(0.0, 300.0, 31)
    y = 0.74 - 0.13 * np.exp(-t / 60.0) + 0.0005 * dice.standard_normal(t.size)
    twin = fit_curve(lambda b: b[0] - b[1] * np.exp(-t / b[2]), y, [0.7, 0.1, 50.0])
    end = approach(t, y)
    assert end.final == pytest.approx(twin.values[0], abs=0.1 * twin.standard_deviations[0])
    assert end.standard_uncertainty == pytest.approx(twin.standard_deviations[0], rel=0.1)


def test_extrapolated_ends_cover_the_truth() -> None:
    """300 noisy traces watched for 1.5 time constants: at least 93 % inside 95 % limits."""
    dice = np.random.default_rng(11)
    t = np.arange(0.0, 91.0, 10.0)
    inside = 0
    for _ in range(300):
        noisy = 0.74 - 0.13 * np.exp(-t / 60.0) + 0.001 * dice.standard_normal(t.size)
        end = approach(t, np.round(noisy, 3), floor=0.0003)
        inside += abs(end.final - 0.74) < 1.96 * end.standard_uncertainty
    assert inside >= 279


def test_points_that_cannot_carry_a_curve_are_refused() -> None:
    """Fewer than four times, or lists of different lengths."""
    with pytest.raises(RangeError):
        approach([0.0, 1.0, 2.0], [0.1, 0.2, 0.3])
    with pytest.raises(RangeError):
        approach([0.0, 1.0, 2.0, 3.0], [0.1, 0.2, 0.3])


def test_the_reasons_are_in_plain_words() -> None:
    """What to do next is told in each, and the same; no word that only a textbook has."""
    one = settled_voltage([(20.0, 1.1)]).reason
    three = settled_voltage([(20.0, 1.0), (40.0, 1.1), (60.0, 1.15)]).reason
    slow = settled_voltage(trace(1.2, 0.9, 540.0, 180.0)).reason

    brief = settled_voltage([(20.0, 1.1), (32.0, 1.1)]).reason
    assert one == "not seen to stand still yet: read it again in half a minute"
    assert brief == "alike for 12 s only: watch it for half a minute"
    assert "read it again in half a minute" in three
    assert "it goes two thirds of its way in about" in slow
    assert not any(word in one + three + slow for word in ("extrapolate", "time constant"))


@pytest.mark.parametrize(
    ("trace", "once"),
    [
        ([(1.0, 0.670), (2.0, 0.670), (4.0, 0.671)], True),
        ([(1.0, 0.670), (31.5, 0.670)], False),
        ([(1.0, 0.670), (4.0, 0.674)], False),
        ([(5.0, 0.670)], True),
    ],
)
def test_looks_within_half_a_minute_that_are_alike_count_as_one(trace, once) -> None:
    """Half a minute is the least that shows standing still; what moved is no single look."""
    assert read_at_once(trace) is once
    assert not once or settled_voltage(trace).voltage is None
