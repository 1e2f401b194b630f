"""Records written for people: every filled field, with units of the bench."""

from __future__ import annotations

import dataclasses
from enum import Enum
from typing import Any, cast

from aerode import units
from aerode.records.bench_answers import ShownField
from aerode.records.instruments import MeterRange
from aerode.records.marks import Condition, Entry, Known, Share
from aerode.records.materials import Dish, Price
from aerode.records.runs import Observation, Reading
from aerode.usecases.bench_fields import field_hints, is_share, is_step, peeled, unit_of_field
from aerode.usecases.bench_units import amount

__all__ = ["shown_fields", "summary", "written_field", "written_value"]

_STEP_UNITS = {"m": "mm", "kg": "g", "K": "K"}
"""The step of an instrument is told in the unit that stands on it, however small it is."""
_BARE = {"of", "name", "load", "role", "mix", "how", "text"}
"""Fields of a part that need no word before them."""
_TELLS_ITSELF = {"sort", "substance", "function", "polymer", "material", "grade", "salt"}
"""Fields of a record whose value says what it is."""


def shown_fields(record: object) -> tuple[ShownField, ...]:
    """Every field of a record that is filled, one line each.

    >>> from aerode.records.electrodes import Electrode
    >>> [f"{f.field}: {f.value}" for f in shown_fields(Electrode(name="T6", wetted_area=Entry(value=9.54e-4)))]
    ['name: T6', 'wetted_area: 9.54 cm^2']
    """
    cls = type(record)
    return tuple(
        ShownField(field=name, value=written_field(record, name))
        for name in field_hints(cls)
        if not _is_empty(getattr(record, name), cls, name)
    )


def written_field(record: object, name: str) -> str:
    """One field of a record for people, in the unit it is used in.

    >>> from aerode.records.instruments import Instrument, Sort
    >>> written_field(Instrument(name="R15", sort=Sort.RESISTOR, tolerance=0.01), "tolerance")
    '1 %'
    """
    cls = type(record)
    value = getattr(record, name)
    hint = field_hints(cls)[name]
    if is_share(cls, name) and isinstance(value, float):
        return amount(value, "")
    siblings = {other: getattr(record, other) for other in field_hints(cls)}
    unit = unit_of_field(cls, name, siblings)
    if is_step(cls, name) and isinstance(value, float) and unit:
        shown = _STEP_UNITS.get(unit, unit)
        return f"{units.scale(unit, shown)[0] * value:.6g} {shown}"
    return written_value(value, hint, unit)


def _is_empty(value: Any, cls: type, name: str) -> bool:
    default: Any = next(f.default for f in dataclasses.fields(cls) if f.name == name)
    return value is None or value in ((), "", {}) or value == default


def written_value(value: Any, hint: Any, unit: str | None = None) -> str:
    """One value for people, after the annotation of its field."""
    base, marked = peeled(hint)
    unit = unit if unit is not None else marked
    if isinstance(value, Entry):
        return _entry(value, unit or "")
    if isinstance(value, Condition):
        return _condition(value, unit or "")
    if isinstance(value, Share):
        return value.of if value.fraction == 1.0 else f"{value.of} {100 * value.fraction:.3g} %"
    if isinstance(value, MeterRange):
        return _meter_range(value)
    if isinstance(value, Price):
        return _price(value)
    if isinstance(value, Reading):
        return _reading(value)
    if isinstance(value, Dish):
        return _dish(value)
    if isinstance(value, Observation):
        return _observation(value)
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return ", ".join(
            f.value if f.field in _BARE else f"{f.field.replace('_', ' ')} {f.value}"
            for f in shown_fields(value)
            if f.field != "text"  # what was typed: the numbers beside it say the same
        )  # fmt: skip
    if isinstance(value, tuple):
        parts = cast("tuple[Any, ...]", value)
        inner = base.__args__[0] if getattr(base, "__args__", None) else Any
        return "; ".join(written_value(part, inner, unit) for part in parts)
    if isinstance(value, dict):
        return ", ".join(f"{key} {part}" for key, part in cast("dict[str, Any]", value).items())
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return amount(value, unit) if unit else f"{value:g}"
    return str(value.value) if isinstance(value, Enum) else str(value)


def _meter_range(one: MeterRange) -> str:
    """ "2 V: up to 2 V, last digit 1 mV, error 0.5 % of the reading and 2 digits, input 10 Mohm"."""
    told = {field.field: field.value for field in shown_fields(one)}
    error = [
        f"{told['of_reading']} of the reading" if "of_reading" in told else "",
        f"{told['counts']} digits" if "counts" in told else "",
    ]
    parts = [
        "" if one.measures == "voltage" else one.measures,
        f"up to {told['full_scale']}" if "full_scale" in told else "",
        f"last digit {told['count']}" if "count" in told else "",
        f"error {' and '.join(filter(None, error))}" if any(error) else "",
        f"input {told['input_resistance']}" if "input_resistance" in told else "",
        f"as an ammeter {told['burden']}" if "burden" in told else "",
    ]
    return f"{one.name}: {', '.join(filter(None, parts))}" if any(parts) else one.name


def _price(price: Price) -> str:
    """ "12.5 EUR for 500 g"."""
    told = {field.field: field.value for field in shown_fields(price)}
    per = next((told[key] for key in ("per_mass", "per_volume", "per_area") if key in told), "")
    text = " ".join(filter(None, [f"{price.amount:g}", price.currency, per and f"for {per}"]))
    return f"{text} ({price.date})" if price.date else text


def _dish(dish: Dish) -> str:
    """Its three weights, each with its word.

    >>> _dish(Dish(empty=0.01231, wet=0.0224, dried=0.01329))
    'empty 12.31 g, with solution 22.4 g, dried 13.29 g'
    """
    told = {field.field: field.value for field in shown_fields(dish)}
    empty = told.get("empty", amount(0.0, "kg"))
    parts = [f"empty {empty}", f"with solution {told['wet']}", f"dried {told['dried']}"]
    return ", ".join([*parts, *filter(None, [dish.note])])


def _observation(look: Observation) -> str:
    """One look at the back of a piece: when, and wet or still dry."""
    said = f"{'wet' if look.wet else 'still dry'} at {amount(look.at, 's')}"
    return f"{said}, {look.note}" if look.note else said


def _reading(reading: Reading) -> str:
    """ "15 ohm 0.412 V": the load and what was read; the time series behind it is not told."""
    load = reading.load or ("" if reading.resistance is None else amount(reading.resistance, "ohm"))
    read = [
        "" if reading.voltage is None else f"{reading.voltage:.4g} V",
        "" if reading.current is None else f"{1e3 * reading.current:.4g} mA",
        f"doubted: {reading.doubt}" if reading.doubt else "",
        reading.note,
    ]
    timed = f"{len(reading.trace)} timed" if reading.trace and not any(read) else ""
    return " ".join(filter(None, [load, ", ".join(filter(None, [*read, timed]))]))


def _entry(entry: Entry, unit: str) -> str:
    text = amount(entry.value, unit, entry.standard_uncertainty)
    how = "" if entry.how == entry.published else entry.how
    told = [part for part in (how, entry.published and f"published: {entry.published}") if part]
    return f"{text} ({', '.join(told)})" if told else text


def _condition(condition: Condition, unit: str) -> str:
    if condition.known is not Known.MEASURED or condition.value is None:
        return str(condition.known.value)
    return _entry(
        Entry(value=condition.value, standard_uncertainty=condition.standard_uncertainty,
              how=condition.how), unit,
    )  # fmt: skip


def summary(fields: tuple[ShownField, ...], width: int) -> str:
    """The first short fields of a record in one line."""
    text = ""
    for part in fields:
        if part.field == "name" or len(part.value) > 28 or part.value in {"yes", "no"}:
            continue
        said = part.value if part.field in _TELLS_ITSELF else f"{part.field} {part.value}"
        longer = f"{text}, {said}" if text else said
        if len(longer) > width:
            break
        text = longer
    return text
