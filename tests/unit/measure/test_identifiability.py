"""What is told, what is bounded, what is withheld, and which load would show more."""

from __future__ import annotations

import math

import numpy as np
import pytest

from aerode.measure import identifiability as known
from aerode.measure.area import Area
from aerode.measure.curve import Curve, current_through, largest_power
from aerode.measure.curve_posterior import CurvePosterior, fit_run
from aerode.measure.identifiability import Spread, estimate
from aerode.measure.losses import loss_shares
from aerode.measure.readings import read_run
from aerode.records.runs import Reading, Run, Settling

LOADS = (1000.0, 470.0, 220.0, 100.0, 47.0, 22.0, 10.0, 4.7, 2.2, 1.0)
LEVEL = 0.62 + 0.055 * np.log(4e-3)


def posterior_of(
    limit: float, loads: tuple[float, ...] = LOADS, scatter: float = 0.0015, seed: int = 4
) -> CurvePosterior:
    """A salt-water cell of 4 cm² with this limiting current [A]."""
    curve = Curve.of(LEVEL, 0.055, 3.75, limit)
    volts = current_through(curve, loads)[0] * np.array(loads)
    volts = volts + scatter * np.random.default_rng(seed).standard_normal(len(loads))
    readings = tuple(
        Reading(resistance=r, voltage=round(float(v), 3), settling=Settling.SETTLED)
        for r, v in zip(loads, volts, strict=True)
    )
    data = read_run(
        Run(name="run", readings=readings), {}, area=Area(4e-4, 0.01), resistor_tolerance=0.01
    )
    return fit_run(data, np.random.default_rng(1))


@pytest.fixture(scope="module")
def near() -> CurvePosterior:
    """97 % of the limit reached."""
    return posterior_of(0.06)


@pytest.fixture(scope="module")
def far() -> CurvePosterior:
    """A tenth of the limit reached."""
    return posterior_of(0.8)


@pytest.fixture(scope="module")
def short() -> CurvePosterior:
    """Five large loads only: hardly any resistance to be seen."""
    return posterior_of(0.8, loads=(1000.0, 680.0, 470.0, 330.0, 220.0))


def test_an_estimate_is_median_spread_and_interval() -> None:
    """From weighted values."""
    values = np.linspace(0.0, 1.0, 1001)
    one = estimate(Spread(values, np.full(1001, 1 / 1001)), "V", "words")
    assert one.value == pytest.approx(0.5)
    assert one.standard_uncertainty == pytest.approx(1 / math.sqrt(12), rel=1e-2)
    assert one.interval_95 == pytest.approx((0.025, 0.975), abs=2e-3)
    assert (one.unit, one.meaning, one.identifiable) == ("V", "words", True)


def test_near_its_limit_all_is_told(near: CurvePosterior) -> None:
    """Limit and R by their own names, both right."""
    assert known.limit_is_resolved(near)
    limit = known.limiting_current(near, 1e3, "mA", as_noted=1e3)
    assert limit.value == pytest.approx(60.0, abs=3 * (limit.standard_uncertainty or 0))
    r = known.resistance(near, 1.0, "ohm")
    assert r.meaning.startswith("of the whole cell, all that rises")
    assert r.value == pytest.approx(3.75, abs=3 * (r.standard_uncertainty or 0))


def test_far_from_its_limit_there_is_a_bound_and_another_name(far: CurvePosterior) -> None:
    """No value for the limit; the resistance is R + b/i_L and says so in words."""
    limit = known.limiting_current(far, 1e3, "mA", as_noted=1e3)
    assert limit.value is None
    assert not limit.identifiable
    assert limit.reason is not None
    assert "smaller resistor" in limit.reason
    assert limit.lower_bound is not None
    assert 90.0 < limit.lower_bound < 800.0
    r = known.resistance(far, 1.0, "ohm")
    assert "part of the air supply" in r.meaning
    truth = 3.75 + 0.055 / 0.8
    assert r.value == pytest.approx(truth, abs=3 * (r.standard_uncertainty or 0))


def test_what_keeps_its_prior_is_not_printed(short: CurvePosterior) -> None:
    """Large loads alone tell nothing of the resistance, and little of the slope's own uncertainty."""
    r = known.resistance(short, 1.0, "ohm")
    assert r.value is None
    assert "do not change what was assumed" in (r.reason or "")


def test_peak_power_is_told_where_it_was_passed(
    near: CurvePosterior, short: CurvePosterior
) -> None:
    """Inside the ladder a value, outside a bound below the truth."""
    told = known.peak_power(near, 1e3, "mW")
    true, _ = largest_power(Curve.of(LEVEL, 0.055, 3.75, 0.06))
    assert told.value == pytest.approx(
        1e3 * float(true[0]), abs=3 * (told.standard_uncertainty or 0)
    )
    bound = known.peak_power(short, 1e3, "mW")
    true, _ = largest_power(Curve.of(LEVEL, 0.055, 3.75, 0.8))
    assert bound.value is None
    assert bound.lower_bound is not None
    assert 0.0 < bound.lower_bound < 1e3 * float(true[0])


def test_a_power_that_never_fell_is_no_peak() -> None:
    """Loads down to where the power still rises: a bound below the truth, though the curve has its peak near by."""
    loads = (1000.0, 470.0, 220.0, 100.0, 47.0, 22.0, 15.0, 10.0, 6.8)
    for seed in range(3):
        rising = posterior_of(0.8, loads=loads, seed=seed, scatter=0.0005)
        volts, amperes = rising.data.tab_points()
        assert int(np.argmax(volts * amperes)) == int(np.argmax(amperes))
        said = known.peak_power(rising, 1e3, "mW")
        true, _ = largest_power(Curve.of(LEVEL, 0.055, 3.75, 0.8))
        assert said.value is None
        assert (said.reason or "").startswith("still rising at the smallest resistor")
        assert 0.5 * 1e3 * float(true[0]) < (said.lower_bound or 0.0) < 1e3 * float(true[0])


def test_slope_intercept_and_scatter(near: CurvePosterior) -> None:
    """All three near what was put in."""
    slope = known.tafel_slope(near)
    assert slope.value == pytest.approx(
        0.055 * math.log(10), abs=3 * (slope.standard_uncertainty or 0)
    )
    level = known.intercept(near, 4e-3, "1 mA/cm^2")
    assert level.value == pytest.approx(0.62, abs=3 * (level.standard_uncertainty or 0))
    assert "1 mA/cm^2" in level.meaning
    assert known.scatter(near).value == pytest.approx(0.0015, rel=1.0)


def test_the_next_load_is_smaller_and_would_do() -> None:
    """Following the advice resolves a limit of the size it names."""
    shown = known.load_that_shows_the_limit(posterior_of(0.065, loads=LOADS[:8]))
    assert shown is not None
    load, limit = shown
    assert load < 4.7
    extra = tuple(r for r in (3.3, 2.2, 1.5, 1.0, 0.68, 0.47, 0.33, 0.22, 0.15, 0.1) if r >= load)
    resolved = [
        known.limit_is_resolved(posterior_of(limit, loads=LOADS[:8] + extra, seed=seed))
        for seed in range(5)
    ]
    assert sum(resolved) >= 4


def test_no_load_helps_where_resistance_rules(far: CurvePosterior) -> None:
    """A limit far above what the resistance lets through cannot be shown."""
    assert known.load_that_shows_the_limit(far) is None


def test_losses_add_up_to_the_fall_of_the_curve(near: CurvePosterior) -> None:
    """Kinetics, resistance and transport at 40 mA are the whole way down from the kinetic line."""
    shares = {s.loss: s.voltage for s in loss_shares(near, 0.040, 1.0, "0.7 mA")}
    assert list(shares) == ["kinetics", "resistance", "transport"]
    _, seen = near.data.tab_points()
    curve = near.curve
    start = curve.intercept - curve.slope * np.log(float(seen.min()))
    volts, weights = near.voltages_at(0.040)
    fall = float(near.weights @ start) - float(weights @ volts)
    assert sum(v.value or 0.0 for v in shares.values()) == pytest.approx(fall, abs=0.003)


def test_unresolved_transport_is_a_bound(far: CurvePosterior) -> None:
    """The linear part is told, the bent part only limited from above."""
    shares = {s.loss: s.voltage for s in loss_shares(far, 0.080, 1.0, "0.7 mA")}
    assert list(shares) == ["kinetics", "linear", "transport beyond linear"]
    bent = shares["transport beyond linear"]
    truth = -0.055 * math.log(1 - 0.1) - 0.055 * 0.1
    assert bent.value is None
    assert bent.interval_95 is not None
    assert truth < bent.interval_95[1] < 0.05
