"""The heading of a column as the field of a record that it names, and the unit behind it."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from aerode.usecases.bench_fields import field_hints, peeled

if TYPE_CHECKING:
    from aerode.usecases.bench_fields import Path

__all__ = ["field_of_heading"]


def field_of_heading(cls: type, heading: str) -> tuple[Path, str] | None:
    """The field that a heading names, and the unit behind it.

    Takes `wetted_area`, `wetted area (cm²)`, `wetted_area_cm2`, `press.plate_temperature (°C)`,
    `factors.binder`.

    >>> from aerode.records.electrodes import Electrode
    >>> field_of_heading(Electrode, "wetted area (cm²)")
    (('wetted_area',), 'cm²')
    >>> field_of_heading(Electrode, "press.plate_temperature_degC")
    (('press', 0, 'plate_temperature'), 'degC')
    """
    text, unit = heading.strip(), ""
    first, _, name = text.partition(".")
    if name and getattr(peeled(field_hints(cls).get(first))[0], "__origin__", None) is dict:
        return (first, name.strip()), ""  # a name of the person's own, kept as it stands
    bracket = re.fullmatch(r"(.*?)\s*[(\[]\s*([^()\[\]]+?)\s*[)\]]", text)
    if bracket:
        text, unit = bracket[1], bracket[2]
    parts = [re.sub(r"[\s\-]+", "_", part.strip()) for part in text.split(".")]
    path, rest = _walk(cls, parts)
    if path is None or (rest and unit):
        return None
    return path, unit or rest


def _walk(cls: type, parts: list[str]) -> tuple[Path | None, str]:
    """The path through the record classes, and what is left of the last part as a unit."""
    hints = field_hints(cls)
    head, rest = parts[0], parts[1:]
    name = head if head in hints else head.lower()
    unit = ""
    if name not in hints and not rest:
        known = [n for n in hints if head.lower().startswith(f"{n}_")]
        if not known:
            return None, ""
        name = max(known, key=len)
        unit = head[len(name) + 1 :]
    if name not in hints:
        return None, ""
    if not rest:
        return (name,), unit
    return _walk_on(hints[name], name, rest)


def _walk_on(hint: Any, name: str, rest: list[str]) -> tuple[Path | None, str]:
    base, _ = peeled(hint)
    number: Path = ()
    if base is not None and getattr(base, "__origin__", None) is tuple:
        base, _ = peeled(base.__args__[0])
        number = (0,)  # press.firmness is the first pressing, press.2.firmness the second
        if rest[0].isdigit() and rest[0] != "0":
            number, rest = (int(rest[0]) - 1,), rest[1:]
    if not rest or not isinstance(base, type) or not hasattr(base, "__dataclass_fields__"):
        return None, ""
    path, unit = _walk(base, rest)
    return (None, "") if path is None else ((name, *number, *path), unit)
