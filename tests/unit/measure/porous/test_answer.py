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
from aerode.usecases.simulate_words import loss_in_words

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
