"""What the answer on a change warns of."""

from __future__ import annotations

import re

import numpy as np
import pytest

from aerode.measure.porous import answer
from aerode.measure.porous.bands import Band, Form
from aerode.measure.porous.changes import read_change
from aerode.measure.porous.recipe import _ASSUMED, Layer  # pyright: ignore[reportPrivateUsage]
from aerode.quantities import Basis
from aerode.records.results import Estimate
from aerode.usecases.simulate_words import loss_in_words, parts_that_add_up

KNOWN = {
    "thickness": 5e-4, "porosity": 0.6, "binder share": 0.2, "conductor share": 0.2,
    "carbon share": 0.6, "liquid conductivity": 5.0, "dissolved oxygen": 0.22,
    "dissolved diffusivity": 1.9e-9, "oxygen in air": 8.5, "air diffusivity": 2e-5,
}  # fmt: skip


def layer(film: float) -> Layer:
    """A layer with the usual bands and one wet film."""
    bands = {n: Band.fixed(v, "", Basis.ASSUMED, "test") for n, v in KNOWN.items()}
    for name, (low, high, form, unit, source) in _ASSUMED.items():
        bands[name] = Band(
            low=low, high=high, form=form, unit=unit, basis=Basis.ASSUMED, source=source
        )
    bands["film transfer"] = Band(low=film, high=10 * film, form=Form.EVEN_IN_LOG, unit="1/s",
                                  basis=Basis.ASSUMED, source="test")  # fmt: skip
    return Layer(
        item="L", kind="mix", bands=bands, binder_mass_share=0.25, conductor_mass_share=0.2,
        liquid="salt", temperature=298.15, liquid_conductivity=5.0, assumptions=(),
    )  # fmt: skip


def test_draws_that_cannot_carry_the_current_are_counted() -> None:
    """With a slow film many draws give out: the share is told, and beyond all of them a reason."""
    change = (read_change("film x2"),)
    found = answer.simulated(layer(1.0), change, 100.0, draws=300, rank=False)
    none = answer.simulated(layer(0.1), change, 3000.0, draws=200, rank=False)

    assert 0.05 < found.carried_before < found.carried_after < 0.95
    assert any("cannot carry this current" in warning for warning in found.warnings)
    assert found.helps > 0.95
    assert none.change_V.value is None
    assert "beyond what it can carry" in none.headline
    assert none.losses_before_V == {}


def test_without_the_fast_solver_it_says_why_it_is_slow(monkeypatch: pytest.MonkeyPatch) -> None:
    """The warning names what to install."""
    monkeypatch.setattr(answer, "available", lambda: False)
    found = answer.simulated(layer(1e3), (read_change("activity x2"),), 10.0, draws=120, rank=False)

    assert any("aerode[fast]" in warning for warning in found.warnings)
    assert np.isfinite(found.change_V.value or np.nan)


def test_the_headline_leads_with_what_it_means_for_the_current() -> None:
    """The current at the same loss comes first, the millivolts behind it."""
    found = answer.simulated(layer(1e3), (read_change("activity x2"),), 10.0, draws=120, rank=False)
    times = "current at the same loss times "

    assert found.ratio.value is not None
    assert re.search(rf"{times}{found.ratio.value:.2g}", found.headline)
    assert len(found.headline) <= 100
    told = found.headline + loss_in_words(found)
    assert told.index(times) < told.index("mV")


def test_the_parts_add_up_to_what_is_shown() -> None:
    """Kinetic alone is never more than the whole; the whole moves by what the headline says."""
    found = answer.simulated(layer(1e3), (read_change("thickness +200 um"),), 20.0, draws=300, rank=False)  # fmt: skip
    first, then = parts_that_add_up(found)
    whole = [next(iter(one.values())) for one in (first, then)]

    for one, total in zip((first, then), whole, strict=True):
        assert sum(one.values()) - total == pytest.approx(total, abs=1e-6)
    assert found.change_V.value is not None
    assert found.loss_before_V.value is not None
    assert whole[1] - whole[0] == pytest.approx(1e3 * found.change_V.value, abs=1.0)
    assert whole[0] == pytest.approx(1e3 * found.loss_before_V.value, rel=0.03)


def _band(value: float, low: float, high: float) -> Estimate:
    return Estimate(value=value, unit="", interval_95=(low, high))


@pytest.mark.parametrize(
    ("change", "ratio", "said"),
    [
        (_band(-0.010, -0.020, -0.004), _band(1.3, 1.1, 1.6), "a gain"),
        (_band(-0.010, -0.020, -0.004), _band(1.3, 1.0, 1.6), "rather a gain"),
        (_band(-0.010, -0.020, -0.004), _band(1.3, 1.003, 1.6), "rather a gain"),
        (_band(-0.010, -0.020, 0.001), _band(1.3, 1.1, 1.6), "rather a gain"),
        (_band(0.010, 0.004, 0.020), _band(0.8, 0.7, 0.9), "a loss"),
        (_band(0.0, 0.0, 0.0), _band(1.0, 1.0, 1.0), "no change"),
    ],
)
def test_a_gain_is_called_so_only_where_no_band_holds_nothing(
    change: Estimate, ratio: Estimate, said: str
) -> None:
    """97 of 100 draws gain, and the band of the current, as it is shown, still holds 1: rather a gain."""
    helps = 0.03 if "loss" in said else 0.97
    assert answer._word(helps, change, ratio) == said  # pyright: ignore[reportPrivateUsage]
