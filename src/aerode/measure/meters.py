"""What a meter's reading is worth: its limit of error, its input resistance, its burden."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from aerode import units
from aerode.errors import InputError, UnitError
from aerode.records.instruments import Instrument, MeterRange, Sort
from aerode.records.marks import Entry

__all__ = [
    "Ammeter",
    "Resistor",
    "Voltmeter",
    "ammeter",
    "limit_of_error",
    "meter_from_text",
    "resistor",
    "voltmeter",
]

SQRT3 = math.sqrt(3.0)

# The class to assume where a meter has no sheet: 0.5 % + 2 counts on volts, 1.2 % + 3 counts on
# amperes, 10 megohm input, 2000 counts. Common practice, no source.
_ASSUMED_OF_READING = 0.005
_ASSUMED_COUNTS = 2.0
_ASSUMED_CURRENT_OF_READING = 0.012  # common practice
_ASSUMED_CURRENT_COUNTS = 3.0
_ASSUMED_INPUT = 1e7  # common practice
_ASSUMED_STEPS = 2000.0  # common practice

# Span of burdens seen on hand-held meters [ohm], by full scale [A]. Common practice, no source.
_BURDENS = ((0.003, 90.0, 120.0), (0.03, 10.0, 25.0), (0.5, 1.0, 2.5), (math.inf, 0.03, 0.15))

# Limit of error of a resistor of which nothing but its value is known: the wider usual class.
_ASSUMED_TOLERANCE = 0.05  # common practice


@dataclass(frozen=True, slots=True)
class Voltmeter:
    """One voltage range of one meter.

    Parameters
    ----------
    name : str
        Names the gain error that all readings on this range share.
    gain : float [1]
        Relative standard uncertainty of the gain.
    count : float [V]
        One step of the last digit.
    scatter : float [V]
        Standard uncertainty from the counts part of the limit of error.
    full_scale : float [V]
        Readings at or above it are overloads.
    input_resistance : float [ohm]
        Always parallel to the load.
    assumed : bool
        True where these are the figures of a class, not of this meter.
    """

    name: str
    gain: float
    count: float
    scatter: float
    full_scale: float
    input_resistance: float
    assumed: bool = False


@dataclass(frozen=True, slots=True)
class Ammeter:
    """One current range of one meter, with the burden it puts into the circuit.

    Parameters
    ----------
    name : str
        Names the gain error, and the burden, that all readings on this range share.
    gain : float [1]
        Relative standard uncertainty of the gain.
    count : float [A]
        One step of the last digit.
    scatter : float [A]
        Standard uncertainty from the counts part of the limit of error.
    full_scale : float [A]
        Readings at or above it are overloads.
    burden : float [ohm]
        Resistance between the sockets.
    burden_uncertainty : float [ohm]
        Its standard uncertainty.
    assumed : bool
        True where the gain is that of a class.
    burden_assumed : bool
        True where the burden is that of a class.
    """

    name: str
    gain: float
    count: float
    scatter: float
    full_scale: float
    burden: float
    burden_uncertainty: float
    assumed: bool = False
    burden_assumed: bool = False


@dataclass(frozen=True, slots=True)
class Resistor:
    """One physical resistor: all readings that use it share its error.

    Parameters
    ----------
    name : str
        Names the part.
    resistance : float [ohm]
        Best value.
    relative_uncertainty : float [1]
        Relative standard uncertainty.
    power_rating : float or None [W]
        What it may turn into heat.
    assumed : bool
        True where the tolerance is that of a class.
    """

    name: str
    resistance: float
    relative_uncertainty: float
    power_rating: float | None = None
    assumed: bool = False


def limit_of_error(reading: float, scale: MeterRange) -> float:
    """The limit of error of one reading, as the meter's sheet defines it.

    Parameters
    ----------
    reading : float [same as the range]
        What the meter shows.
    scale : MeterRange
        The range it was read on.

    Returns
    -------
    float [same as the range]
        Fraction of reading plus counts of the last digit. The standard uncertainty of a value known
        to lie within it is the limit over √3 (JCGM 100:2008, 4.3.7).

    Examples
    --------
    >>> scale = MeterRange(name="2 V", full_scale=2.0, count=0.001, of_reading=0.0008, counts=2)
    >>> round(limit_of_error(2.000, scale), 6)
    0.0036
    """
    return abs(reading) * scale.of_reading + scale.counts * scale.count


_PERCENT = re.compile(
    r"(?P<fraction>\d+(?:[.,]\d*)?|[.,]\d+)\s*%(?:\s*(?:of\s+)?(?:rdg|reading))?", re.IGNORECASE
)
_COUNTS = re.compile(
    r"(?P<counts>\d+(?:[.,]\d*)?|[.,]\d+)\s*(?:counts?|digits?|dgts?|lsd)(?:\s*(?:of|x|×|at)\s*(?P<step>[^;]+))?",
    re.IGNORECASE,
)
_INPUT = re.compile(r";\s*input\s+(?P<input>[^;]+)", re.IGNORECASE)


def meter_from_text(text: str, *, name: str = "meter") -> Instrument:
    """A voltmeter from one line of its sheet.

    Parameters
    ----------
    text : str
        "0.5 % + 2 counts of 1 mV", with "; input 1 Mohm" behind it where that is known.
    name : str
        What to call the meter.

    Returns
    -------
    Instrument
        With one voltage range of 2000 steps.

    Raises
    ------
    InputError
        If there is no "x %" or no "n counts of y mV" in it.

    Examples
    --------
    >>> meter = meter_from_text("0.5 % + 2 counts of 1 mV")
    >>> meter.ranges[0].of_reading, meter.ranges[0].count, meter.ranges[0].full_scale
    (0.005, 0.001, 2.0)
    """
    main, tail = text.split(";", 1)[0], text
    percent, counts = _PERCENT.search(main), _COUNTS.search(main)
    if percent is None or counts is None or not counts["step"]:
        raise InputError(
            f"the meter's limit of error {text!r} cannot be read",
            where="--meter",
            allowed='per cent of reading and counts of the last digit, as in "0.5 % + 2 counts of 1 mV"',
            next_step="copy the line for volts from the meter's sheet, or leave it out",
        )
    step = units.read(counts["step"], "V", field="--meter").value
    given = _INPUT.search(tail)
    scale = MeterRange(
        name=f"{step * _ASSUMED_STEPS:g} V",
        full_scale=step * _ASSUMED_STEPS,
        count=step,
        of_reading=units.read_number(percent["fraction"])[0] / 100.0,
        counts=units.read_number(counts["counts"])[0],
        input_resistance=_ASSUMED_INPUT
        if given is None
        else units.read(given["input"], "ohm", field="--meter").value,
    )
    return Instrument(name=name, sort=Sort.MULTIMETER, ranges=(scale,), note=text)


def voltmeter(
    meter: Instrument | None, range_name: str, readings: Iterable[float], *, unnamed: str
) -> Voltmeter:
    """The voltage range that a set of readings was taken on.

    Parameters
    ----------
    meter : Instrument or None
        The meter, where it is on the bench.
    range_name : str
        The range as noted with the run; "" for the smallest that holds every reading.
    readings : iterable of float [V]
        What was read; the digits typed show the count of a meter that is not known.
    unnamed : str
        What to call a meter that is not known: readings of two unknown meters share nothing.

    Returns
    -------
    Voltmeter

    Examples
    --------
    >>> meter = voltmeter(None, "", [0.742, 0.6], unnamed="run 1")
    >>> meter.count, meter.assumed, round(meter.gain, 5)
    (0.001, True, 0.00289)
    """
    shown = [abs(r) for r in readings]
    scale = _range(meter, "voltage", range_name, shown)
    if meter is None or scale is None:
        count = _count_from_digits(shown)
        owner = meter.name if meter is not None else f"unknown meter of {unnamed}"
        return Voltmeter(
            name=f"{owner} / volts",
            gain=_ASSUMED_OF_READING / SQRT3,
            count=count,
            scatter=_ASSUMED_COUNTS * count / SQRT3,
            full_scale=math.inf,
            input_resistance=_ASSUMED_INPUT,
            assumed=True,
        )
    return Voltmeter(
        name=f"{meter.name} / {scale.name}",
        gain=scale.of_reading / SQRT3,
        count=scale.count,
        scatter=scale.counts * scale.count / SQRT3,
        full_scale=scale.full_scale,
        input_resistance=scale.input_resistance or _ASSUMED_INPUT,
        assumed=meter.assumed,
    )


def ammeter(
    meter: Instrument | None, range_name: str, readings: Iterable[float], *, unnamed: str
) -> Ammeter:
    """The current range that a set of readings was taken on, with its burden.

    Parameters
    ----------
    meter : Instrument or None
        The meter, where it is on the bench.
    range_name : str
        The range or socket as noted ("200 mA"); "" for the smallest that holds every reading.
    readings : iterable of float [A]
        What was read.
    unnamed : str
        What to call a meter that is not known.

    Returns
    -------
    Ammeter
        Where no burden is on file, the middle of the span seen on meters of that range and the
        standard uncertainty of a value that may lie anywhere in it; `burden_assumed` says so.

    Examples
    --------
    >>> a = ammeter(None, "200 mA", [0.11], unnamed="run 1")
    >>> a.burden, round(a.burden_uncertainty, 3), a.burden_assumed
    (1.75, 0.433, True)
    """
    shown = [abs(r) for r in readings]
    scale = _range(meter, "current", range_name, shown)
    owner = meter.name if meter is not None else f"unknown meter of {unnamed}"
    if meter is None or scale is None:
        full_scale = _full_scale_from_name(range_name) or _next_full_scale(max(shown, default=0.0))
        count = full_scale / _ASSUMED_STEPS
        scale = MeterRange(
            name=range_name or f"{full_scale * 1e3:g} mA",
            measures="current",
            full_scale=full_scale,
            count=count,
            of_reading=_ASSUMED_CURRENT_OF_READING,
            counts=_ASSUMED_CURRENT_COUNTS,
        )
        assumed = True
    else:
        assumed = meter.assumed
    burden, spread, burden_assumed = _burden(scale.burden, scale.full_scale)
    return Ammeter(
        name=f"{owner} / {scale.name}",
        gain=scale.of_reading / SQRT3,
        count=scale.count,
        scatter=scale.counts * scale.count / SQRT3,
        full_scale=scale.full_scale,
        burden=burden,
        burden_uncertainty=spread,
        assumed=assumed,
        burden_assumed=burden_assumed,
    )


def resistor(
    name: str,
    resistance: float | None,
    instruments: Mapping[str, Instrument],
    *,
    tolerance: float | None = None,
    unnamed: str,
) -> Resistor | None:
    """The physical resistor behind a reading.

    Parameters
    ----------
    name : str
        The name of a resistor of the bench, or "".
    resistance : float or None [ohm]
        Its value as typed with the reading, where it is not one of the bench.
    instruments : mapping
        The bench's instruments by name.
    tolerance : float, optional [1]
        Limit of error to assume for a resistor that names none.
    unnamed : str
        The set of resistors that a value without a name belongs to.

    Returns
    -------
    Resistor or None
        None where neither the name nor a value leads to a resistance. A measured value takes the
        place of the nominal one.

    Examples
    --------
    >>> part = resistor("", 15.0, {}, tolerance=0.01, unnamed="box A")
    >>> part.name, round(part.relative_uncertainty, 5)
    ('15 ohm of box A', 0.00577)
    """
    part = instruments.get(name)
    if part is not None and part.sort is Sort.RESISTOR:
        known = _known_resistance(part, tolerance)
        if known is not None:
            return known
    value = resistance if resistance is not None else _value_in_name(name)
    if value is None:
        return None
    limit = _ASSUMED_TOLERANCE if tolerance is None else tolerance
    return Resistor(
        name=f"{name or f'{value:g} ohm'} of {unnamed}",
        resistance=value,
        relative_uncertainty=limit / SQRT3,
        assumed=tolerance is None,
    )


def _known_resistance(part: Instrument, tolerance: float | None) -> Resistor | None:
    limit = part.tolerance if part.tolerance is not None else tolerance
    relative = (_ASSUMED_TOLERANCE if limit is None else limit) / SQRT3
    value, assumed = part.nominal_resistance, limit is None or part.assumed
    measured = part.measured_resistance
    if measured is not None and measured.value > 0:
        value = measured.value
        if measured.standard_uncertainty is not None:
            relative, assumed = measured.standard_uncertainty / value, False
    if value is None:
        return None
    return Resistor(
        name=part.name,
        resistance=value,
        relative_uncertainty=relative,
        power_rating=part.power_rating,
        assumed=assumed,
    )


def _value_in_name(name: str) -> float | None:
    """A load called "15 ohm" that is not on the bench still says its value."""
    try:
        value = units.read(name, "ohm").value
    except (UnitError, InputError):
        return None
    return value if value > 0 else None


def _range(
    meter: Instrument | None, measures: str, name: str, shown: list[float]
) -> MeterRange | None:
    if meter is None:
        return None
    able = sorted((r for r in meter.ranges if r.measures == measures), key=lambda r: r.full_scale)
    named = [r for r in able if r.name.casefold() == name.strip().casefold()]
    if named:
        return named[0]
    top = max(shown, default=0.0)
    holding = [r for r in able if r.full_scale > top]
    return holding[0] if holding else (able[-1] if able else None)


def _full_scale_from_name(name: str) -> float | None:
    try:
        number, rest = units.read_number(name)
        unit = rest.split()[0] if rest else "A"
        return units.convert(number, unit, "A")
    except (UnitError, IndexError):
        return None


def _next_full_scale(top: float) -> float:
    # usual full scales: common practice
    return next((full for full in (0.002, 0.02, 0.2, 10.0) if top < full), 10.0)


def _burden(given: Entry | None, full_scale: float) -> tuple[float, float, bool]:
    low, high = next((low, high) for limit, low, high in _BURDENS if full_scale <= limit)
    if given is None:
        return 0.5 * (low + high), (high - low) / (2.0 * SQRT3), True
    if given.standard_uncertainty is None:
        return given.value, 0.1 * given.value, False
    return given.value, given.standard_uncertainty, False


def _count_from_digits(shown: list[float]) -> float:
    """The finest decimal place that was typed, between 10 microvolt and 10 millivolt."""
    places = [_decimals(r) for r in shown]
    return 10.0 ** -min(5, max(2, max(places, default=3)))


def _decimals(value: float) -> int:
    text = f"{value:.6f}".rstrip("0")
    return len(text) - text.index(".") - 1
