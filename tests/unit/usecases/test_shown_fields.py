"""Records written for people."""

from __future__ import annotations

import pytest

from aerode import units
from aerode.records.instruments import Instrument, MeterRange, Sort
from aerode.records.marks import Condition, Entry, Known
from aerode.records.materials import Dish, Price, Solution, SolventLot
from aerode.records.places import Room
from aerode.records.runs import Observation, Reading, Run, RunSort
from aerode.usecases.bench_units import amount
from aerode.usecases.bench_words import shown_fields, summary
from aerode.usecases.entering import texts_of


def test_the_step_of_a_thermometer_is_a_difference() -> None:
    """A step of 0.1 K is not the temperature of minus 273 degrees."""
    thermometer = Instrument(name="t", sort=Sort.THERMOMETER, resolution=0.1, limit_of_error=0.5)

    shown = {part.field: part.value for part in shown_fields(thermometer)}

    assert shown["resolution"] == "0.1 K"
    assert shown["limit_of_error"] == "0.5 K"


@pytest.mark.parametrize(
    ("value", "unit", "said"),
    [
        (90.0, "s", "90 s"),
        (3600.0, "s", "1 h"),
        (21_600.0, "s", "6 h"),
        (172_800.0, "s", "48 h"),
        (604_800.0, "s", "7 d"),
        (0.01, "", "1 %"),
        (9.5e-4, "m^2", "9.5 cm^2"),
        (9e-5, "m", "90 um"),
        (7e-4, "m", "0.7 mm"),
        (0.12, "m", "12 cm"),
        (5.213e-3, "kg", "5.213 g"),
        (4e-7, "kg", "0.4 mg"),
        (220.0, "ohm", "220 ohm"),
        (1e7, "ohm", "10 Mohm"),
        (1e-4, "A", "0.1 mA"),
        (1e-3, "V", "1 mV"),
        (3e-6, "kg/m^3", "3 mg/m^3"),
        (789.0, "kg/m^3", "0.789 g/cm^3"),
        (0.0, "C", "0 mAh"),
        (0.5, "mol/kg", "0.5 mol/kg"),
    ],
)
def test_a_number_is_written_as_a_bench_writes_it_and_can_be_typed_back(
    value: float, unit: str, said: str
) -> None:
    """Hours, per cent, square centimetres, micrometres; what is written is taken back as the same."""
    assert amount(value, unit) == said
    assert units.read(said, unit).value == pytest.approx(value, rel=1e-6, abs=1e-12)


def test_the_conditions_of_a_run_are_told_in_hours() -> None:
    """Nobody counts the seconds that an electrode has been wet."""
    run = Run(
        name="r",
        electrode="T1",
        hours_wet=Condition(known=Known.MEASURED, value=3600.0, standard_uncertainty=600.0),
        electrolyte_age=Condition(known=Known.MEASURED, value=21_600.0),
    )
    shown = {part.field: part.value for part in shown_fields(run)}

    assert shown["hours_wet"] == "1.00 ± 0.17 h"
    assert shown["electrolyte_age"] == "6 h"


def test_a_meter_and_a_price_are_told_in_words() -> None:
    """No name of a field with an underscore, no share as a decimal, no ten million ohm."""
    meter = Instrument(
        name="m",
        sort=Sort.MULTIMETER,
        ranges=(
            MeterRange(
                name="2 V", full_scale=2.0, count=1e-3, of_reading=5e-3, counts=2.0, input_resistance=1e7
            ),
        ),
    )  # fmt: skip
    bottle = SolventLot(name="e", substance="ethanol", price=Price(amount=5.0, per_volume=1e-3))
    room = Room(name="shed", volume=Entry(value=60.0, standard_uncertainty=6.0, how="paced out"))

    told = {part.field: part.value for one in (meter, bottle, room) for part in shown_fields(one)}

    assert told["ranges"] == (
        "2 V: up to 2 V, last digit 1 mV, error 0.5 % of the reading and 2 digits, input 10 Mohm"
    )
    assert told["price"] == "5 EUR for 1 L"
    assert told["volume"] == "60.0 ± 6.0 m^3 (paced out)"


def test_a_form_shows_what_can_be_typed() -> None:
    """A tolerance in per cent; the step of a thermometer is a difference there too."""
    resistor = Instrument(name="R", sort=Sort.RESISTOR, nominal_resistance=15.0, tolerance=0.01)
    thermometer = Instrument(name="t", sort=Sort.THERMOMETER, resolution=0.1)

    assert texts_of(resistor)["tolerance"] == "1 %"
    assert texts_of(thermometer)["resolution"] == "0.1 K"


def test_the_line_of_a_record_says_no_word_that_its_value_says() -> None:
    """ "resistor, nominal resistance 15 ohm", not "sort resistor"."""
    resistor = Instrument(name="R", sort=Sort.RESISTOR, nominal_resistance=15.0, tolerance=0.01)

    assert summary(shown_fields(resistor), 80) == (
        "resistor, nominal_resistance 15 ohm, tolerance 1 %"
    )


def test_a_reading_among_others_is_its_load_and_its_number() -> None:
    """The trace of a timed reading is not told."""
    run = Run(
        name="r",
        electrode="T1",
        readings=(Reading(load="open", voltage=0.733), Reading(load="15 ohm", voltage=0.42)),
    )

    assert {f.field: f.value for f in shown_fields(run)}[
        "readings"
    ] == "open 0.733 V; 15 ohm 0.42 V"


def test_a_form_tells_what_a_range_measures() -> None:
    """Also where it is the usual: full scale and last digit are in its unit."""
    meter = Instrument(
        name="m",
        sort=Sort.MULTIMETER,
        ranges=(MeterRange(name="2 V", full_scale=2.0, count=1e-3, of_reading=5e-3, counts=2.0),),
    )

    assert texts_of(meter)["ranges.0.measures"] == "voltage"
    assert texts_of(meter)["ranges.0.of_reading"] == "0.5 %"


def test_each_weight_of_a_dish_has_its_word() -> None:
    """Empty, with solution, dried: none stands bare."""
    dishes = (Dish(empty=0.01231, wet=0.0224, dried=0.01329, note="foil"),)
    shown = {
        f.field: f.value for f in shown_fields(Solution(name="j", polymer="PVB", dishes=dishes))
    }

    assert shown["dishes"] == "empty 12.31 g, with solution 22.4 g, dried 13.29 g, foil"


def test_a_look_at_the_back_says_wet_or_dry() -> None:
    """In words, with its moment; not yes and no."""
    looks = (Observation(at=3600.0, wet=False), Observation(at=5400.0, wet=True, note="one drop"))
    shown = {
        f.field: f.value for f in shown_fields(Run(name="s", sort=RunSort.SEEP, observations=looks))
    }

    assert shown["observations"] == "still dry at 1 h; wet at 1.5 h, one drop"
