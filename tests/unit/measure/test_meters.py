"""Meters, ammeters and resistors: from records and typed words to uncertainties."""

from __future__ import annotations

import pytest

from aerode.errors import InputError
from aerode.measure.meters import ammeter, meter_from_text, resistor, voltmeter
from aerode.records.instruments import Instrument, MeterRange, Sort
from aerode.records.marks import Entry

METER = Instrument(
    name="yellow",
    sort=Sort.MULTIMETER,
    ranges=(
        MeterRange(name="200 mV", full_scale=0.2, count=1e-4, of_reading=0.004, counts=1),
        MeterRange(
            name="2 V", full_scale=2.0, count=1e-3, of_reading=0.005, counts=2, input_resistance=1e6
        ),
        MeterRange(
            name="200 mA",
            measures="current",
            full_scale=0.2,
            count=1e-4,
            of_reading=0.012,
            counts=3,
            burden=Entry(value=1.9, standard_uncertainty=0.05),
        ),
        MeterRange(
            name="10 A socket",
            measures="current",
            full_scale=10.0,
            count=0.01,
            of_reading=0.02,
            counts=3,
        ),
    ),
)


def test_the_named_range_is_taken() -> None:
    """The range as noted goes before what the readings would fit into."""
    used = voltmeter(METER, "2 V", [0.1], unnamed="")
    assert used.name == "yellow / 2 V"
    assert used.input_resistance == 1e6


def test_without_a_name_the_smallest_range_that_holds_the_readings() -> None:
    """0.15 V fits into 200 mV, 0.7 V does not."""
    assert voltmeter(METER, "", [0.15], unnamed="").name == "yellow / 200 mV"
    assert voltmeter(METER, "", [0.15, 0.7], unnamed="").name == "yellow / 2 V"


@pytest.mark.parametrize(
    ("readings", "count"),
    [([0.7, 0.65], 0.01), ([0.742, 0.6], 0.001), ([0.7423], 1e-4), ([0.742131456], 1e-5)],
)
def test_an_unknown_meter_shows_its_count_by_the_digits(
    readings: list[float], count: float
) -> None:
    """The finest digit typed is its count, within what a bench has."""
    used = voltmeter(None, "", readings, unnamed="run 1")
    assert used.count == pytest.approx(count)
    assert used.assumed


def test_two_unknown_meters_share_nothing() -> None:
    """Their gains bear different names."""
    first = voltmeter(None, "", [0.7], unnamed="run 1")
    second = voltmeter(None, "", [0.7], unnamed="run 2")
    assert first.name != second.name


def test_the_burden_is_that_on_file() -> None:
    """1.9 ohm for the 200 mA socket."""
    used = ammeter(METER, "200 mA", [0.07], unnamed="")
    assert (used.burden, used.burden_uncertainty, used.burden_assumed) == (1.9, 0.05, False)


def test_a_burden_that_is_not_on_file_is_a_span() -> None:
    """The 10 A socket: somewhere between 0.03 and 0.15 ohm, evenly."""
    used = ammeter(METER, "10 A socket", [0.1], unnamed="")
    assert used.burden_assumed
    assert used.burden == pytest.approx(0.09)
    assert used.burden_uncertainty == pytest.approx(0.12 / 12**0.5)


def test_an_unknown_ammeter_is_known_by_its_socket() -> None:
    """ "20 mA" alone says full scale, count and a burden of 10 to 25 ohm."""
    used = ammeter(None, "20 mA", [0.012], unnamed="run 1")
    assert used.full_scale == pytest.approx(0.020)
    assert used.count == pytest.approx(1e-5)
    assert used.burden == pytest.approx(17.5)


def test_a_measured_resistor_goes_before_its_colour_code() -> None:
    """The measured value and its uncertainty are used."""
    part = Instrument(
        name="R15",
        sort=Sort.RESISTOR,
        nominal_resistance=15.0,
        tolerance=0.05,
        measured_resistance=Entry(value=15.2, standard_uncertainty=0.03),
    )
    used = resistor("R15", None, {"R15": part}, unnamed="box")
    assert used is not None
    assert used.resistance == 15.2
    assert used.relative_uncertainty == pytest.approx(0.03 / 15.2)
    assert not used.assumed


def test_a_resistor_of_no_known_tolerance_is_of_the_wider_class() -> None:
    """Five per cent, and it says so."""
    used = resistor("", 47.0, {}, unnamed="box")
    assert used is not None
    assert used.relative_uncertainty == pytest.approx(0.05 / 3**0.5)
    assert used.assumed


def test_a_load_that_is_not_on_the_bench_still_says_its_value() -> None:
    """ "4.7 ohm" is a resistance, "the blue one" is none."""
    used = resistor("4.7 ohm", None, {}, unnamed="box")
    assert used is not None
    assert used.resistance == pytest.approx(4.7)
    assert resistor("the blue one", None, {}, unnamed="box") is None


@pytest.mark.parametrize("text", ["good", "0.5 %", "2 counts of 1 mV", "0.5 % + 2 counts"])
def test_a_half_told_limit_of_error_is_refused(text: str) -> None:
    """Both parts are needed, and the size of a count."""
    with pytest.raises(InputError, match="cannot be read"):
        meter_from_text(text)


def test_the_input_resistance_can_stand_behind() -> None:
    """ "; input 1 Mohm" is read."""
    meter = meter_from_text("1 % + 3 counts of 10 mV; input 1 Mohm")
    assert meter.ranges[0].input_resistance == pytest.approx(1e6)
    assert meter.ranges[0].full_scale == pytest.approx(20.0)


@pytest.mark.parametrize("line", [".5 % + 2. counts of 1 mV", ",5% + 2 counts of 1 mV"])
def test_a_leading_dot_is_read(line: str) -> None:
    """Half a per cent, not five: the dot is part of the number."""
    (scale,) = meter_from_text(line).ranges

    assert (scale.of_reading, scale.counts) == (0.005, 2.0)
