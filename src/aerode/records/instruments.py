"""Instruments of the bench: multimeters, resistors, scales, thermometers, calipers, loggers."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

from annotated_types import Ge, Gt

from aerode.quantities import Unit
from aerode.records.marks import Entry, Gone, Moment, Name, NotNegative, record

__all__ = ["Instrument", "MeterRange", "Sort"]


class Sort(StrEnum):
    """What an instrument is."""

    MULTIMETER = "multimeter"
    RESISTOR = "resistor"
    SCALE = "scale"
    THERMOMETER = "thermometer"
    CALIPERS = "calipers"
    LOGGER = "logger"
    SALINITY = "salinity meter"


@record
class MeterRange:
    """One range or socket of a meter: limit of error = fraction of reading + counts of the last digit."""

    name: str
    """As printed beside the knob: "2 V", "200 mA", "10 A socket"."""
    measures: Annotated[str, "voltage | current | resistance"] = "voltage"
    full_scale: Annotated[float, Gt(0.0)]
    """[V], [A] or [ohm], as `measures` says."""
    count: Annotated[float, Gt(0.0)]
    """One step of the last digit, in the same unit."""
    of_reading: NotNegative
    """Limit of error as a fraction of the reading, 0.005 for 0.5 %."""
    counts: NotNegative
    """Limit of error in steps of the last digit."""
    input_resistance: Annotated[float, Gt(0.0), Unit("ohm")] | None = None
    burden: Annotated[Entry, Unit("ohm")] | None = None


@record
class Instrument:
    """One instrument. `assumed` is true where the figures are those of a class, not of its own sheet."""

    name: Name
    sort: Sort
    ranges: tuple[MeterRange, ...] = ()
    nominal_resistance: Annotated[float, Gt(0.0), Unit("ohm")] | None = None
    tolerance: Annotated[float, Ge(0.0)] | None = None
    """Limit of error of a resistor as a fraction of its nominal value."""
    measured_resistance: Annotated[Entry, Unit("ohm")] | None = None
    power_rating: Annotated[float, Gt(0.0), Unit("W")] | None = None
    resolution: Annotated[float, Gt(0.0)] | None = None
    """Smallest step of a scale [kg], thermometer [K] or calipers [m]."""
    limit_of_error: Annotated[float, Ge(0.0)] | None = None
    """Half-width of the error, same unit as `resolution`."""
    assumed: bool = False
    bought: Moment = ""
    note: str = ""
    gone: Gone | None = None
