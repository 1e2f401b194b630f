"""A quantity is a number with its uncertainty, or a reason."""

from __future__ import annotations

import pytest

from aerode.quantities import Quantity, Reason


def test_no_value_needs_a_reason() -> None:
    """A quantity cannot be silently empty."""
    with pytest.raises(ValueError, match="needs a reason"):
        Quantity(value=None, unit="V")


@pytest.mark.parametrize("value", [float("nan"), float("inf")])
def test_only_finite_numbers(value: float) -> None:
    """NaN and infinity are refused by name."""
    with pytest.raises(ValueError, match="finite"):
        Quantity(value=value, unit="V")
    with pytest.raises(ValueError, match="finite"):
        Quantity(value=1.0, unit="V", standard_uncertainty=value)


def test_words_for_people() -> None:
    """Digits follow the uncertainty; a missing value speaks its reason."""
    assert (
        Quantity(value=0.7421, unit="V", standard_uncertainty=0.006).written(to="mV")
        == "742.1 ± 6.0 mV"
    )
    assert (
        Quantity.missing("V", Reason.NOT_MEASURED).written().startswith("not given: not measured")
    )


@pytest.mark.parametrize("reason", list(Reason))
def test_every_reason_says_what_to_do(reason: Reason) -> None:
    """A reason is a sentence of use: what happened, and mostly what to do next."""
    assert len(str(reason)) >= 20
