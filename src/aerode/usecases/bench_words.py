"""Records written for people: every filled field, with units of the bench."""

from __future__ import annotations

import dataclasses
from enum import Enum
from typing import Any, cast

from aerode import units
from aerode.records.bench_answers import ShownField
from aerode.records.marks import Condition, Entry, Known, Share
from aerode.usecases.bench_fields import field_hints, is_step, peeled, unit_of_field

__all__ = ["shown_fields", "summary", "written_value"]

# SI unit → the unit people use at a bench.
_BENCH_UNITS = {
    "m^2": "cm^2", "kg": "g", "K": "degC", "m": "mm", "m^3": "mL", "kg/m^3": "g/cm^3",
    "kg/m^2": "mg/cm^2", "m^2/kg": "m^2/g", "m^3/kg": "mL/g", "C": "mAh", "1/s": "h^-1",
    "A/m^2": "mA/cm^2",
}  # fmt: skip


def shown_fields(record: object) -> tuple[ShownField, ...]:
    """Every field of a record that is filled, one line each.

    >>> from aerode.records.electrodes import Electrode
    >>> [f"{f.field}: {f.value}" for f in shown_fields(Electrode(name="T6", wetted_area=Entry(value=9.54e-4)))]
    ['name: T6', 'wetted_area: 9.54 cm^2']
    """
    found: list[ShownField] = []
    cls = type(record)
    for name, hint in field_hints(cls).items():
        value = getattr(record, name)
        if _is_empty(value, cls, name):
            continue
        siblings = {other: getattr(record, other) for other in field_hints(cls)}
        unit = unit_of_field(cls, name, siblings)
        written = _step(value) if is_step(cls, name) and unit == "K" else written_value(value, hint, unit)  # fmt: skip
        found.append(ShownField(field=name, value=written))
    return tuple(found)


def _step(value: float) -> str:
    """A difference of temperatures: 0.1 K is 0.1 K, and no reading of a thermometer."""
    return units.write(value, "K")


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
        return f"{value.of} {100 * value.fraction:.3g} %"
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return ", ".join(
            f.value if f.field in {"of", "name"} else f"{f.field} {f.value}"
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
        return units.write(value, unit, to=_BENCH_UNITS.get(unit, "")) if unit else f"{value:g}"
    return str(value.value) if isinstance(value, Enum) else str(value)


def _entry(entry: Entry, unit: str) -> str:
    spread = entry.standard_uncertainty
    if unit:
        text = units.write(entry.value, unit, spread, to=_BENCH_UNITS.get(unit, ""))
    else:
        text = units.write(100 * entry.value, "%", None if spread is None else 100 * spread)
    told = [
        part for part in (entry.how, entry.published and f"published: {entry.published}") if part
    ]
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
        if part.field == "name" or len(part.value) > 28:
            continue
        longer = f"{text}, {part.field} {part.value}" if text else f"{part.field} {part.value}"
        if len(longer) > width:
            break
        text = longer
    return text
