"""What must hold for any curve, any load, any run."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from aerode.measure.curve import (
    Curve,
    current_at_voltage,
    current_through,
    largest_power,
    voltage_of_each,
)
from aerode.measure.impossible import contradictions
from aerode.measure.meters import limit_of_error, meter_from_text
from aerode.measure.readings import read_run
from aerode.measure.settling import approach
from aerode.records.runs import Reading, Run

curves = st.builds(
    Curve.of,
    st.floats(-0.5, 2.0),
    st.floats(0.005, 0.2),
    st.one_of(st.just(0.0), st.floats(1e-3, 100.0)),
    st.floats(1e-4, 20.0),
)
calm = settings(deadline=None)

loads = st.lists(st.floats(0.05, 1e5), min_size=1, max_size=12)


@calm
@given(curves, loads)
def test_the_current_lies_below_every_ceiling(curve: Curve, ohms: list[float]) -> None:
    """Above zero, not above the limit, and finite, whatever the load."""
    current = current_through(curve, ohms)
    assert np.all(np.isfinite(current))
    assert np.all(current > 0.0)
    assert np.all(current <= curve.limiting_current[0])


@calm
@given(curves, st.floats(0.05, 1e5), st.floats(1.01, 100.0))
def test_a_larger_load_draws_less_at_more_voltage(curve: Curve, ohms: float, factor: float) -> None:
    """Current falls and voltage rises with the load."""
    small, large = current_through(curve, [ohms, factor * ohms])[0]
    assert large <= small
    assert large * factor * ohms >= small * ohms * (1 - 1e-9)


@calm
@given(curves, st.floats(-0.2, 1.2), st.floats(0.01, 0.5))
def test_the_curve_falls(curve: Curve, volts: float, step: float) -> None:
    """A lower voltage never gives less current."""
    current = current_at_voltage(curve, [volts, volts - step])[0]
    assert current[1] >= current[0]


@calm
@given(curves, loads)
def test_no_load_draws_more_than_the_largest_power(curve: Curve, ohms: list[float]) -> None:
    """i²R over any load stays below the summit."""
    power, at = largest_power(curve)
    current = current_through(curve, ohms)[0]
    assert np.all(current**2 * np.array(ohms) <= power[0] * (1 + 1e-7) + 1e-15)
    assert 0.0 < at[0] < curve.limiting_current[0]


@calm
@given(curves, st.floats(0.5, 1.5), st.floats(1.1, 3.0))
def test_units_of_current_do_not_matter(curve: Curve, volts: float, scale: float) -> None:
    """The same cell in other units of current: i·s, R/s, i_L·s, A + b ln s."""
    bigger = Curve.of(
        curve.intercept + curve.slope * np.log(scale),
        curve.slope,
        curve.resistance / scale,
        curve.limiting_current * scale,
    )
    here = current_at_voltage(curve, [volts])[0, 0]
    there = current_at_voltage(bigger, [volts])[0, 0]
    np.testing.assert_allclose(there, scale * here, rtol=1e-9)


@calm
@given(st.lists(st.tuples(st.floats(0.1, 1.0), st.floats(1e-4, 1.0)), max_size=9))
def test_points_on_a_falling_curve_never_contradict(pairs: list[tuple[float, float]]) -> None:
    """Sort any voltages down and any currents up: nothing is left out."""
    volts = sorted((v for v, _ in pairs), reverse=True)
    amperes = sorted(i for _, i in pairs)
    assert contradictions(volts, amperes) == {}


@calm
@given(
    st.floats(0.0, 20.0), st.integers(0, 20), st.integers(0, 20), st.sampled_from([0.1, 1.0, 10.0])
)
def test_a_typed_limit_of_error_is_read_as_written(
    reading: float, tenths: int, counts: int, millivolts: float
) -> None:
    """format → parse: the limit at any reading is per cent of it plus counts."""
    meter = meter_from_text(f"{tenths / 10} % + {counts} counts of {millivolts} mV")
    wanted = reading * tenths / 1000.0 + counts * millivolts * 1e-3
    assert abs(limit_of_error(reading, meter.ranges[0]) - wanted) < 1e-12


@given(
    st.lists(
        st.builds(
            Reading,
            load=st.sampled_from(["", "open", "15 ohm", "blue one"]),
            resistance=st.one_of(st.none(), st.floats(0.1, 1e5)),
            voltage=st.one_of(st.none(), st.floats(-5.0, 2000.0)),
            current=st.one_of(st.none(), st.floats(-1.0, 2000.0)),
            current_range=st.sampled_from(["", "200 mA", "10 A socket", "lamp"]),
            replaces=st.one_of(st.none(), st.integers(0, 3)),
        ),
        max_size=8,
    )
)
@settings(max_examples=150, deadline=None)
def test_every_reading_is_used_or_has_a_reason(readings: list[Reading]) -> None:
    """Whatever is typed: nothing is lost, nothing enters that is not finite and above zero."""
    data = read_run(Run(name="any", readings=tuple(readings)), {})
    assert [p.index for p in data.points] == list(range(len(readings)))
    assert sum(p.used for p in data.points) == data.voltage.size
    volts, amperes = data.tab_points()
    assert np.all(np.isfinite(volts))
    assert np.all(amperes > 0.0)
    assert np.all(data.noise > 0.0)


@given(st.floats(0.1, 1.5), st.floats(-0.4, 0.4), st.floats(20.0, 120.0))
@settings(max_examples=50, deadline=None)
def test_an_exact_approach_ends_where_it_goes(final: float, start: float, constant: float) -> None:
    """Without noise, watched for three time constants, the end is found within 1 mV."""
    t = np.linspace(0.0, 3.0 * constant, 12)
    end = approach(t, final + start * np.exp(-t / constant), floor=1e-5)
    assert abs(end.final - final) < 1e-3


@calm
@given(curves)
def test_a_curve_at_its_own_current_is_itself(curve: Curve) -> None:
    """Voltage at half the limit, and the current at that voltage."""
    half = 0.5 * curve.limiting_current
    volts = voltage_of_each(curve, half)
    np.testing.assert_allclose(current_at_voltage(curve, volts)[0], half, rtol=1e-9)
