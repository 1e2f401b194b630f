"""Units: what is written can be read back."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from aerode import units
from aerode.errors import AerodeError

FINITE = st.floats(min_value=-1e9, max_value=1e9, allow_nan=False).filter(
    lambda x: x == 0 or abs(x) > 1e-9
)
PAIRS = [
    ("V", "mV"),
    ("K", "degC"),
    ("K", "degF"),
    ("m^2", "cm^2"),
    ("N*m", "in-lb"),
    ("kg", "oz"),
    ("A/m^2", "mA/cm^2"),
    ("Pa", "psi"),
]


@given(value=FINITE, pair=st.sampled_from(PAIRS))
def test_there_and_back(value: float, pair: tuple[str, str]) -> None:
    """A value in another unit and back is the same value."""
    there = units.convert(value, pair[0], pair[1])

    assert units.convert(there, pair[1], pair[0]) == pytest.approx(value, rel=1e-9, abs=1e-6)


@given(value=FINITE, relative=st.floats(min_value=1e-5, max_value=0.9))
def test_written_can_be_read(value: float, relative: float) -> None:
    """Reading what was written gives the value to within the digits shown."""
    u = max(abs(value) * relative, 1e-9)
    typed = units.read(units.write(value, "V", u), "V")

    assert typed.value == pytest.approx(value, abs=0.5 * 10.0 ** -units.decimals_for(u) * 1.0001)
    assert typed.standard_uncertainty == pytest.approx(u, rel=0.06)


@given(text=st.text(max_size=30))
def test_any_text_is_read_or_refused(text: str) -> None:
    """Nothing that can be typed ends in anything but a number or a refusal of the family."""
    try:
        typed = units.read(text, "V")
    except AerodeError:
        return
    assert typed.value == typed.value


@given(
    value=st.floats(min_value=0.001, max_value=2.699),
    style=st.sampled_from(["{:.4f}", "{:.4f} V", "{:.4f}V"]),
    comma=st.booleans(),
)
def test_a_decimal_comma_is_a_decimal_point(value: float, style: str, comma: bool) -> None:
    """The comma changes nothing."""
    text = style.format(value)
    typed = units.read(
        text.replace(".", ",") if comma else text, "V", bare=("V", "mV"), plausible=(0.0, 2.7)
    )

    assert typed.value == pytest.approx(value, abs=5.1e-5)


@given(value=st.floats(min_value=1e-6, max_value=1e6), digits=st.integers(min_value=1, max_value=4))
def test_a_written_bound_is_never_more_than_is_known(value: float, digits: int) -> None:
    """ "At least" is rounded towards zero, and by less than one step of its last digit."""
    said = float(units.bound(value, digits))

    assert said <= value * (1.0 + 1e-9)
    assert said > value * (1.0 - 10.0 ** (1 - digits)) - 1e-12
