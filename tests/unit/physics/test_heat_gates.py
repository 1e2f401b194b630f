"""The gates before heat: two weighings, plates, polymers, make-up heat."""

from __future__ import annotations

import pytest

from aerode.errors import RangeError
from aerode.physics.heat_gates import (
    Dryness,
    HeatStep,
    dry_enough,
    heat_step,
    make_up_temperature,
    mixed_temperature_rise,
    surface_ceiling,
)

GATE = {"minimum_interval": 600.0, "relative_change": 0.01, "mass_per_area": 0.005}


@pytest.mark.parametrize(
    ("second", "interval", "coating", "area", "resolution", "expected"),
    [
        (5.000e-3, 900.0, 2e-3, None, 1e-5, Dryness.DRY),
        (4.990e-3, 900.0, 2e-3, None, 1e-5, Dryness.DRY),
        (4.985e-3, 900.0, 2e-3, None, 1e-6, Dryness.DRY),
        (4.900e-3, 900.0, 2e-3, None, 1e-5, Dryness.WET),
        (5.100e-3, 900.0, 2e-3, None, 1e-5, Dryness.WET),
        (4.980e-3, 900.0, 2e-3, None, 1e-5, Dryness.CANNOT_TELL),
        (5.000e-3, 300.0, 2e-3, None, 1e-5, Dryness.CANNOT_TELL),
        (5.000e-3, 900.0, None, None, 1e-5, Dryness.CANNOT_TELL),
        (5.000e-3, 900.0, None, 0.01, 1e-5, Dryness.DRY),
        (5.000e-3, 900.0, 1e-4, None, 1e-5, Dryness.CANNOT_TELL),
    ],
)
def test_two_weighings(
    second: float,
    interval: float,
    coating: float | None,
    area: float | None,
    resolution: float,
    expected: Dryness,
) -> None:
    """Constant, losing, gaining, too soon, too coarse a scale, nothing to compare with."""
    verdict, why = dry_enough(
        5.000e-3, second, interval, coating=coating, area=area, resolution=resolution, **GATE
    )
    assert verdict is expected
    assert bool(why) == (expected is Dryness.CANNOT_TELL)


@pytest.mark.parametrize(("minutes", "dry"), [(12, False), (22, False), (22.3, True)])
def test_no_change_on_a_coarse_scale_counts_once_it_is_long_enough(
    minutes: float, dry: bool
) -> None:
    """9 cm2 may lose 4.5 mg in 10 min: a step of 10 mg hides no more than that from 22.2 min on (by hand)."""
    said = dry_enough(5e-3, 5e-3, 60 * minutes, area=9e-4, coating=2.2e-4, resolution=1e-5, **GATE)
    assert said[0] is (Dryness.DRY if dry else Dryness.CANNOT_TELL)
    assert dry or "over 23 min or more, or 3 such pieces weighed together" in said[1]
    assert dry or "steps of 4.5 mg or less" in said[1]


def test_a_wet_piece_is_wet_however_soon_it_was_weighed() -> None:
    """A large loss in a minute needs no second look."""
    assert dry_enough(5e-3, 4.8e-3, 60.0, coating=2e-3, **GATE)[0] is Dryness.WET


def test_the_plate_ceiling_is_the_lower_of_two_rules() -> None:
    """80 % of 237 degC is 189.6; 37.8 K below is 199.2: the first governs; for 90 degC the second."""
    ceiling, ignition = surface_ceiling(237.0 + 273.15, share=0.8, margin=37.8)
    assert ceiling - 273.15 == pytest.approx(189.6)
    assert ignition == pytest.approx(510.15)
    low, _ = surface_ceiling(90.0 + 273.15, share=0.8, margin=37.8)
    assert low - 273.15 == pytest.approx(52.2)


@pytest.mark.parametrize(
    ("celsius", "expected"),
    [
        (60.0, HeatStep.COOL),
        (100.0, HeatStep.SOFT),
        (200.0, HeatStep.WARN),
        (269.9, HeatStep.WARN),
        (270.0, HeatStep.STOP),
        (400.0, HeatStep.STOP),
    ],
)
def test_the_ladder_of_polystyrene(celsius: float, expected: HeatStep) -> None:
    """Standing on a rung counts as past it."""
    rungs = {"softening": 373.15, "warn": 473.15, "stop": 543.15}
    assert heat_step(celsius + 273.15, **rungs) is expected


def test_no_stop_line_is_never_a_pass() -> None:
    """However cool the plate is."""
    assert heat_step(280.0, softening=350.0, warn=400.0, stop=None) is HeatStep.NO_FIGURE


def test_lye_made_up_at_once_warms() -> None:
    """More lye, more heat; the start counts."""
    weak = make_up_temperature(0.04, 0.04, 0.96, heat_of_solution=44500.0, specific_heat=4184.0,
                               start=293.15)  # fmt: skip
    strong = make_up_temperature(0.40, 0.04, 0.60, heat_of_solution=44500.0, specific_heat=4184.0,
                                 start=293.15)  # fmt: skip
    assert strong - 293.15 == pytest.approx(10 * (weak - 293.15))


@pytest.mark.parametrize(
    "call",
    [
        lambda: dry_enough(0.0, 1.0, 600.0, **GATE),
        lambda: dry_enough(1.0, 1.0, 600.0, resolution=-1.0, **GATE),
        lambda: surface_ceiling(510.0, share=0.0),
        lambda: surface_ceiling(270.0, share=0.8),
        lambda: heat_step(0.0, softening=None, warn=None, stop=400.0),
        lambda: mixed_temperature_rise(-1.0, 1.0, 4184.0),
        lambda: mixed_temperature_rise(1.0, 0.0, 4184.0),
        lambda: make_up_temperature(
            0.0, 0.04, 1.0, heat_of_solution=1.0, specific_heat=4184.0, start=293.15
        ),
    ],
)
def test_impossible_inputs_are_refused(call: object) -> None:
    """Each with a range error."""
    with pytest.raises(RangeError):
        call()  # type: ignore[operator]
