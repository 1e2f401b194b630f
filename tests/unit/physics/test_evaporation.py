"""The evaporation models: their refusals, their order, the band over them, the scale."""

from __future__ import annotations

import pytest

from aerode.errors import RangeError
from aerode.physics.evaporation import evaporation_band, weigh_loss_rate
from aerode.physics.evaporation_models import (
    laminar_plate_rate,
    mass_transfer_rate,
    open_pool_rate,
    penetration_rate,
    still_room_rate,
    turbulent_pool_rate,
    vapour_diffusivity,
)

LIQUID = (0.09214, 3800.0, 298.15, 0.01)
COEFFICIENTS = {"still_coefficient": 0.0083, "pool_coefficient": 0.0067}


def test_the_band_holds_every_model() -> None:
    """Low and high enclose each model at both air speeds, and the centre."""
    band = evaporation_band(
        *LIQUID, slow_air=0.05, fast_air=0.5, diffusivity=8.1e-6, **COEFFICIENTS
    )
    assert len(band.rates) == 5
    for slow, fast in band.rates.values():
        assert band.low <= slow <= band.high
        assert band.low <= fast <= band.high
    assert band.low < band.centre < band.high


def test_the_models_disagree_about_fivefold() -> None:
    """In 0.1 m/s of air highest over lowest lies between 4 and 10, so one number would mislead."""
    band = evaporation_band(*LIQUID, slow_air=0.1, fast_air=0.1, diffusivity=8.1e-6, **COEFFICIENTS)
    assert 4.0 < band.high / band.low < 10.0


def test_faster_air_and_a_larger_area_never_slow_it() -> None:
    """Every model rises with air speed (the fixed one stays) and with area."""
    for speed in (0.05, 0.2, 0.5):
        assert open_pool_rate(*LIQUID, 2 * speed, water_coefficient=0.0067) > open_pool_rate(
            *LIQUID, speed, water_coefficient=0.0067
        )
        assert laminar_plate_rate(*LIQUID, 2 * speed, 8e-6) > laminar_plate_rate(
            *LIQUID, speed, 8e-6
        )
        assert turbulent_pool_rate(*LIQUID, 2 * speed, 8e-6) > turbulent_pool_rate(
            *LIQUID, speed, 8e-6
        )
        assert mass_transfer_rate(*LIQUID, 2 * speed) > mass_transfer_rate(*LIQUID, speed)
    double = (*LIQUID[:3], 0.02)
    assert penetration_rate(*double, 0.1) > penetration_rate(*LIQUID, 0.1)


def test_fast_air_takes_the_mass_transfer_model() -> None:
    """Above 100 feet a minute the penetration model is refused and the band uses the other."""
    with pytest.raises(RangeError, match="too fast"):
        penetration_rate(*LIQUID, 0.6)
    band = evaporation_band(*LIQUID, slow_air=0.6, fast_air=1.0, diffusivity=8e-6, **COEFFICIENTS)
    assert band.rates["penetration or mass transfer"][1] == pytest.approx(
        mass_transfer_rate(*LIQUID, 1.0)
    )


@pytest.mark.parametrize("broken", [0.0, -1.0, float("nan"), float("inf")])
def test_a_value_that_is_not_above_zero_is_refused(broken: float) -> None:
    """Each model refuses a broken area and names it."""
    with pytest.raises(RangeError, match="area"):
        still_room_rate(0.09214, 3800.0, 298.15, broken, water_coefficient=0.0083)
    with pytest.raises(RangeError, match="area"):
        laminar_plate_rate(0.09214, 3800.0, 298.15, broken, 0.1, 8e-6)


def test_air_speeds_must_not_be_crossed() -> None:
    """Slow above fast is refused."""
    with pytest.raises(RangeError, match="crossed"):
        evaporation_band(*LIQUID, slow_air=0.5, fast_air=0.1, diffusivity=8e-6, **COEFFICIENTS)


def test_a_turbulent_plate_is_refused() -> None:
    """A square metre in a gale is not laminar."""
    with pytest.raises(RangeError, match="not laminar"):
        laminar_plate_rate(0.09214, 3800.0, 298.15, 1.0, 20.0, 8e-6)


def test_an_element_without_a_volume_is_refused() -> None:
    """No diffusivity is made up for iron."""
    with pytest.raises(RangeError, match="Fe"):
        vapour_diffusivity({"Fe": 1, "C": 5, "O": 5}, 0.196, 298.15)


def test_the_scale_says_the_rate_and_its_spread() -> None:
    """A gram in ten minutes on a 0.01 g scale."""
    rate, spread = weigh_loss_rate(1e-3, 600.0, 1e-5)
    assert rate == pytest.approx(1e-3 / 600.0)
    assert spread == pytest.approx(1e-5 / 6**0.5 / 600.0)


def test_a_gain_or_no_time_is_no_rate() -> None:
    """A negative loss and a zero time are refused."""
    with pytest.raises(RangeError, match="loss"):
        weigh_loss_rate(-1e-3, 600.0)
    with pytest.raises(RangeError, match="over"):
        weigh_loss_rate(1e-3, 0.0)
