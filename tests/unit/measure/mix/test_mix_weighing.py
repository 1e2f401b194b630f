"""What a scale can weigh."""

from __future__ import annotations

import math

import pytest

from aerode.errors import InputError, RangeError, UnitError
from aerode.measure.mix.weighing import Scale
from aerode.records.instruments import Instrument, Sort


def test_two_tenths_of_a_gram_on_a_tenth_gram_scale() -> None:
    """0.20 g on a scale of 0.1 g steps and ±0.2 g is worse than ±50 %, as the trade knows."""
    scale = Scale.from_text("0.1 g")
    assert scale.limit_of_error == pytest.approx(2e-4)
    assert scale.net_uncertainty / 0.2e-3 > 0.5


def test_net_mass_holds_two_readings_and_one_limit() -> None:
    """u² = 2·(step²/12) + limit²/3, by hand for 0.01 g and ±0.02 g."""
    scale = Scale.from_text("0.01 g")
    by_hand = math.sqrt(2 * 0.01**2 / 12 + 0.02**2 / 3) * 1e-3
    assert scale.net_uncertainty == pytest.approx(by_hand, rel=1e-12)


@pytest.mark.parametrize("within", [0.01, 0.05, 0.2])
def test_least_weighable_mass_is_weighable(within: float) -> None:
    """The least mass keeps to the bound, one step less does not."""
    scale = Scale.from_text("0.01 g")
    least = scale.least(within)
    assert scale.net_uncertainty / least <= within
    assert scale.net_uncertainty / (least - 1.01 * scale.resolution) > within


def test_rounding_goes_to_the_nearest_step() -> None:
    """0.1661 g shows as 0.17 g."""
    assert Scale.from_text("0.01 g").rounded(0.1661e-3) == pytest.approx(0.17e-3)


def test_one_step_in_several_spellings() -> None:
    """\"0.01 g\" and \"0,01 g\" and \"10 mg\" are one scale."""
    steps = {round(Scale.from_text(text).resolution, 9) for text in ("0.01 g", "0,01 g", "10 mg")}
    assert steps == {1e-5}


def test_instrument_with_its_own_limit() -> None:
    """A sheet's limit of error stands; a missing one is two steps and marked as assumed."""
    own = Instrument(name="lab", sort=Sort.SCALE, resolution=1e-6, limit_of_error=3e-6)
    bare = Instrument(name="shed", sort=Sort.SCALE, resolution=1e-5)
    assert Scale.from_instrument(own).assumed is False
    assert Scale.from_instrument(own).limit_of_error == 3e-6
    assert Scale.from_instrument(bare).assumed is True
    assert "assumed" in Scale.from_instrument(bare).shown


def test_other_instruments_are_refused() -> None:
    """A multimeter weighs nothing, and a scale without a step cannot be judged."""
    with pytest.raises(InputError, match="multimeter"):
        Scale.from_instrument(Instrument(name="m", sort=Sort.MULTIMETER))
    with pytest.raises(InputError, match="step"):
        Scale.from_instrument(Instrument(name="s", sort=Sort.SCALE))


@pytest.mark.parametrize("text", ["0 g", "-1 g", "1 kg"])
def test_impossible_steps_are_refused(text: str) -> None:
    """No step, a negative one, or a bathroom scale's."""
    with pytest.raises(RangeError):
        Scale.from_text(text)


def test_a_step_that_is_no_mass_is_refused() -> None:
    """Volts are no scale."""
    with pytest.raises(UnitError):
        Scale.from_text("0.01 V")
