"""The forward model against its plain twin, its limits, and its own equation."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq, minimize_scalar

from aerode.errors import CannotTellError
from aerode.measure.curve import (
    Curve,
    current_at_voltage,
    current_through,
    largest_power,
    voltage_at_current,
    voltage_of_each,
)


def many(count: int, seed: int = 0) -> Curve:
    """Curves over far more than benches show."""
    dice = np.random.default_rng(seed)
    return Curve.of(
        dice.uniform(-0.2, 1.5, count),
        np.exp(dice.normal(np.log(0.04), 0.7, count)),
        dice.uniform(0.0, 30.0, count) * (dice.random(count) < 0.8),
        10.0 ** dice.uniform(-4.0, 1.0, count),
    )


def plain_voltage(a: float, b: float, r: float, limit: float, current: float) -> float:
    """The curve's formula, written out once more."""
    return a - b * np.log(current) - current * r + b * np.log(1.0 - current / limit)


def test_the_current_through_a_load_is_that_of_a_bracketed_root() -> None:
    """Slow twin: Brent's method on the formula, curve by curve, load by load."""
    curves, loads = many(40), np.array([0.2, 3.3, 47.0, 1e4])
    fast = current_through(curves, loads)
    for k in range(40):
        a, b = float(curves.intercept[k]), float(curves.slope[k])
        r, limit = float(curves.resistance[k]), float(curves.limiting_current[k])
        for n, load in enumerate(loads):
            x = brentq(
                lambda u, a=a, b=b, r=r, limit=limit, load=load: (
                    a - b * np.log(limit) - b * u - limit / (1 + np.exp(-u)) * (r + load)
                ),
                -700.0,
                700.0,
                xtol=1e-14,
            )
            assert fast[k, n] == pytest.approx(limit / (1 + np.exp(-x)), rel=1e-10)


def test_the_voltage_over_the_load_lies_on_the_curve() -> None:
    """i R_load = V(i), wherever the current is not so near its limit that rounding hides it."""
    curves, loads = many(2000, 1), 10.0 ** np.linspace(-1, 4, 12)
    current = current_through(curves, loads)
    far = current < 0.999 * curves.limiting_current[:, None]
    safe = np.where(far, current, 0.5 * curves.limiting_current[:, None])
    left = safe / curves.limiting_current[:, None]
    volts = (
        curves.intercept[:, None]
        + curves.slope[:, None] * (np.log1p(-left) - np.log(safe))
        - safe * curves.resistance[:, None]
    )
    assert np.max(np.abs(volts - safe * loads)[far]) < 1e-9


def test_current_at_voltage_and_voltage_at_current_undo_each_other() -> None:
    """There and back."""
    curve = Curve.of([0.3, 0.2], [0.055, 0.045], [3.75, 2.0], [0.06, 0.9])
    volts = np.array([0.2, 0.4, 0.5])
    current = current_at_voltage(curve, volts)
    for k in range(2):
        one = Curve.of(*(getattr(curve, f)[k] for f in Curve.__slots__))
        assert voltage_at_current(one, current[k])[0] == pytest.approx(volts, abs=1e-12)


def test_each_curve_at_a_current_of_its_own() -> None:
    """The same as asking every curve alone."""
    curve = Curve.of([0.3, 0.2], [0.055, 0.045], [3.75, 2.0], [0.06, 0.9])
    own = voltage_of_each(curve, [0.01, 0.02])
    assert own[0] == pytest.approx(plain_voltage(0.3, 0.055, 3.75, 0.06, 0.01), abs=1e-14)
    assert own[1] == pytest.approx(plain_voltage(0.2, 0.045, 2.0, 0.9, 0.02), abs=1e-14)


def test_beyond_the_limit_there_is_no_voltage() -> None:
    """A reason instead of minus infinity."""
    curve = Curve.of(0.3, 0.055, 3.75, 0.06)
    for current in (0.06, 0.1, 0.0, -0.01):
        with pytest.raises(CannotTellError, match="limiting current"):
            voltage_at_current(curve, [current])
        with pytest.raises(CannotTellError):
            voltage_of_each(curve, current)


def test_the_largest_power_is_that_of_a_search() -> None:
    """Slow twin: a bounded search on i·V, 30 curves."""
    curves = many(30, 2)
    power, current = largest_power(curves)
    for k in range(30):
        a, b, r, limit = (float(getattr(curves, f)[k]) for f in Curve.__slots__)
        found = minimize_scalar(
            lambda u, a=a, b=b, r=r, limit=limit: (
                -np.exp(u) * plain_voltage(a, b, r, limit, float(np.exp(u)))
            ),
            bounds=(np.log(limit) - 30.0, np.log(limit) - 1e-6),
            method="bounded",
            options={"xatol": 1e-10},
        )
        assert power[k] >= -found.fun * (1 - 1e-9)
        assert voltage_of_each(curves, current)[k] * current[k] == pytest.approx(power[k], rel=1e-9)


def test_a_resistance_alone_gives_ohms_law() -> None:
    """With hardly any kinetics and no limit: i = A / (R + R_load), and half the voltage at the peak."""
    curve = Curve.of(0.8, 1e-6, 10.0, 1e6)
    assert current_through(curve, [1.8])[0, 0] == pytest.approx(0.8 / 11.8, rel=1e-4)
    power, current = largest_power(curve)
    assert power[0] == pytest.approx(0.8**2 / 40.0, rel=1e-4)
    assert current[0] == pytest.approx(0.04, rel=1e-3)
