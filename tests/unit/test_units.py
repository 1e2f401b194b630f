"""What people type, and what is understood."""

from __future__ import annotations

import pytest

from aerode import units
from aerode.errors import RangeError, UnitError

VOLTS = ("V", "mV")


@pytest.mark.parametrize(
    "text", ["742", "0,742", ".742", "742 mV", "0.742 V", "742mV", "+0.742", "7.42e-1 V", "742 mv"]
)
def test_one_voltage_in_many_spellings(text: str) -> None:
    """All of them are 0.742 V where a cell voltage is asked for."""
    assert units.read(text, "V", bare=VOLTS, plausible=(-0.5, 2.7)).value == pytest.approx(
        0.742, rel=1e-12
    )


# Conversion factors: NIST Special Publication 811 (2008), appendix B.8.
@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("250 °F", "K", (250 + 459.67) / 1.8),
        ("70 C", "K", 343.15),
        ("12 in-lb", "N*m", 12 * 0.1129848),
        ("1 ft-lb", "N*m", 1.355818),
        ("3 psi", "Pa", 3 * 6894.757),
        ("1 oz", "kg", 0.02834952),
        ("1 in", "m", 0.0254),
        ("3/4 cup", "m^3", 0.75 * 2.365882e-4),
        ("1 tsp", "m^3", 4.928922e-6),
        ("1 1/2 in", "m", 0.0381),
        ("100 mA/cm2", "A/m^2", 1000.0),
        ("25 mg/cm^2", "kg/m^2", 0.25),
        ("4.7kΩ", "ohm", 4700.0),
        ("15 R", "ohm", 15.0),
        ("20 mAh", "C", 72.0),
        ("12.4 %", "", 0.124),
        ("31 g/kg", "", 0.031),
        ("1 234,5 g", "kg", 1.2345),
        ("1,234.5 g", "kg", 1.2345),
        ("1.234,5 g", "kg", 1.2345),
        ("2 h", "s", 7200.0),
        ("1.2 x 10^-3 V", "V", 1.2e-3),
        ("−0.3 V", "V", -0.3),
    ],
)
def test_units_of_the_bench(text: str, unit: str, value: float) -> None:
    """Published factors, to the digits they are published with."""
    assert units.read(text, unit).value == pytest.approx(value, rel=5e-7)


@pytest.mark.parametrize(
    ("text", "unit", "spread"),
    [
        ("9.54 cm^2 +- 1.2 %", "cm^2", 0.11448),
        ("9.54 ± 0.11 cm2", "m^2", 1.1e-5),
        ("12.4 ± 0.2 %", "", 0.002),
        ("12.4 % ± 0.2 %", "", 0.002),
        ("85 °C ± 2 K", "K", 2.0),
        ("85 °C ± 2", "K", 2.0),
        ("742 mV +/- 3 mV", "V", 0.003),
    ],
)
def test_what_stands_behind_plus_minus(text: str, unit: str, spread: float) -> None:
    """One standard uncertainty, in its own unit, the value's unit, or per cent of the value."""
    assert units.read(text, unit).standard_uncertainty == pytest.approx(spread, rel=1e-9)


@pytest.mark.parametrize(
    "text", ["", "abc", "V 0.7", "nan", "inf V", "1e999", "1,2,3", "1.2.3,4,5"]
)
def test_what_is_no_number_is_refused(text: str) -> None:
    """The refusal says what is allowed and what to do."""
    with pytest.raises(UnitError) as refusal:
        units.read(text, "V", field="voltage")

    assert refusal.value.allowed
    assert refusal.value.next_step
    assert refusal.value.where in {"voltage", ""}


def test_another_kind_of_unit_is_refused() -> None:
    """A mass is no voltage."""
    with pytest.raises(UnitError, match="cannot be taken as V"):
        units.read("5 g", "V")


@pytest.mark.parametrize(
    ("text", "hint"), [("742 V", "a thousand times smaller"), ("-0.742 V", "of the other sign")]
)
def test_a_slip_is_named(text: str, hint: str) -> None:
    """Outside what is believable, the likely slip is named."""
    with pytest.raises(RangeError) as refusal:
        units.read(text, "V", plausible=(0.0, 2.7), field="T6 at 15 ohm")

    assert hint in str(refusal.value)
    assert "T6 at 15 ohm" in str(refusal.value)


def test_a_guess_is_said() -> None:
    """A number without unit says how it was taken."""
    typed = units.read("742", "V", bare=VOLTS, plausible=(-0.5, 2.7))

    assert typed.understood == "742 mV, taken as 0.742 V (no unit typed)"
    assert typed.text == "742"


# Two significant digits of the uncertainty: GUM (JCGM 100:2008) 7.2.6.
@pytest.mark.parametrize(
    ("value", "u", "unit", "to", "shown"),
    [
        (0.74213, 0.0057, "V", "", "0.7421 ± 0.0057 V"),
        (100.02147, 0.00035, "g", "", "100.02147 ± 0.00035 g"),
        (9.54e-4, 1.14e-5, "m^2", "cm^2", "9.54 ± 0.11 cm^2"),
        (1234.0, 99.6, "ohm", "", "1230 ± 100 ohm"),
        (12.0, None, "ohm", "", "12.0 ohm"),
        (0.0, None, "V", "", "0 V"),
    ],
)
def test_digits_follow_the_uncertainty(
    value: float, u: float | None, unit: str, to: str, shown: str
) -> None:
    """No digit is shown that the uncertainty does not support."""
    assert units.write(value, unit, u, to=to) == shown


@pytest.mark.parametrize("unit", ["m^2", "cm^2", "kg", "K", "ohm", "A"])
def test_a_number_with_a_dimension_needs_its_unit(unit: str) -> None:
    """Nothing is taken by silence: the refusal shows how one is written; a stated default still counts."""
    with pytest.raises(UnitError, match="has no unit") as refused:
        units.read("9.5", unit, field="--x")
    assert units.example(unit) in refused.value.allowed
    assert units.read("9.5", "V", bare=("V",)).value == 9.5
    assert units.read("9.5", "").value == 9.5


def test_a_space_groups_digits_by_three_and_no_otherwise() -> None:
    """ "2 1/h" is two per hour and not 21; two numbers side by side are never made one."""
    assert units.read("2 1/h", "1/s").value == pytest.approx(2 / 3600)
    assert units.read("12 345,6 ohm", "ohm").value == pytest.approx(12345.6)
    for text in ("12 34 V", "0.7 42 V"):
        with pytest.raises(UnitError):
            units.read(text, "V")


@pytest.mark.parametrize(
    "text", ["100/47", "100/47 ohm", "100 / 47 ohm", "1/0 ohm", "4.7/10 ohm", "1/2/3", "8/4", "2 100/47 ohm"]
)  # fmt: skip
def test_one_number_over_another_is_no_number(text: str) -> None:
    """ "100/47" is two resistors, not 2.13 ohm; fractions of a spoon and units with a stroke stay."""
    with pytest.raises(UnitError, match="one number over another"):
        units.read_number(text)
    assert units.read_number("3/4 cup") == (0.75, "cup")
    assert units.read_number("1 1/2 in") == (1.5, "in")
    assert units.read_number("12 mg/cm^2") == (12.0, "mg/cm^2")
    assert units.read_number("2 1/h") == (2.0, "1/h")


def test_a_mass_typed_for_a_force_is_its_weight():
    """20 kg press with 20 x 9.80665 = 196.133 N (standard free fall, 3rd CGPM 1901, exact by definition)."""
    told = units.read("20 kg ± 1 kg", "N")

    assert told.value == pytest.approx(196.133)
    assert told.standard_uncertainty == pytest.approx(9.80665)
    assert told.understood == "20 kg is about 196 N: a weight of 20 kg"
    with pytest.raises(UnitError):
        units.read("20 V", "N")
    with pytest.raises(UnitError):
        units.read("20 N", "kg")
