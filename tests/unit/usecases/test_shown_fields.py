"""Records written for people."""

from __future__ import annotations

from aerode.records.instruments import Instrument, Sort
from aerode.usecases.bench_words import shown_fields


def test_the_step_of_a_thermometer_is_a_difference() -> None:
    """A step of 0.1 K is not the temperature of minus 273 degrees."""
    thermometer = Instrument(name="t", sort=Sort.THERMOMETER, resolution=0.1, limit_of_error=0.5)

    shown = {part.field: part.value for part in shown_fields(thermometer)}

    assert shown["resolution"] == "0.100 K"
    assert shown["limit_of_error"] == "0.500 K"
