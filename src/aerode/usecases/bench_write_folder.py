"""Write records as a bench folder: TOML files that people can edit and `import` reads back."""

from __future__ import annotations

import dataclasses
import json
from decimal import Decimal
from enum import Enum
from typing import TYPE_CHECKING, Any, cast

from aerode.records import KINDS
from aerode.records.marks import Condition, Entry
from aerode.usecases.bench_fields import field_hints, peeled, unit_of_field
from aerode.usecases.bench_folder import STEMS

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

__all__ = ["toml_of", "write_folder"]


def write_folder(records: Iterable[object], folder: Path) -> list[Path]:
    """One TOML file per kind, with every number in SI and its unit behind it.

    Parameters
    ----------
    records : iterable of record
        Any stored kinds.
    folder : Path
        An existing folder; files of the same name are replaced.

    Returns
    -------
    list of Path
        The files.
    """
    by_kind: dict[str, list[object]] = {}
    for record in records:
        kind = next(word for word, cls in KINDS.items() if cls is type(record))
        by_kind.setdefault(kind, []).append(record)
    files: list[Path] = []
    for stem, kind in STEMS.items():
        if kind in by_kind:
            file = folder / f"{stem}.toml"
            file.write_text(
                "\n".join(toml_of(kind, one) for one in by_kind[kind]), encoding="utf-8"
            )
            files.append(file)
    return files


def toml_of(kind: str, record: object) -> str:
    """One record as a TOML table.

    >>> from aerode.records.materials import SolventLot
    >>> print(toml_of("solvent", SolventLot(name="b", substance="ethanol")))
    [[solvent]]
    name = "b"
    substance = "ethanol"
    <BLANKLINE>
    """
    fields = _fields(record)
    return "\n".join([f"[[{kind}]]", *(f"{name} = {text}" for name, text in fields.items()), ""])


def _fields(record: object) -> dict[str, str]:
    cls: type[Any] = type(record)
    siblings = {name: getattr(record, name) for name in field_hints(cls)}
    defaults: dict[str, Any] = {f.name: f.default for f in dataclasses.fields(cast("Any", cls))}
    return {
        name: _value(value, field_hints(cls)[name], unit_of_field(cls, name, siblings))
        for name, value in siblings.items()
        if value is not None and value != defaults[name] and value != {}
    }


def _value(value: Any, hint: Any, unit: str | None) -> str:
    """A value in TOML's own notation; numbers with a dimension are texts with their unit."""
    base, marked = peeled(hint)
    unit = unit if unit is not None else marked
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, Enum):
        return _quoted(str(value.value))
    if isinstance(value, str):
        return _quoted(value)
    if isinstance(value, int):
        return str(value)
    if isinstance(value, float):
        return _quoted(f"{_plain(value)} {_spelled(unit)}") if unit else _plain(value)
    if isinstance(value, tuple):
        kinds = getattr(base, "__args__", (Any,))
        parts = [_value(part, kinds[0], unit) for part in cast("tuple[Any, ...]", value)]
        return f"[{', '.join(parts)}]"
    if isinstance(value, dict):
        named = cast("dict[str, Any]", value)
        return _inline({_quoted(key): _value(part, Any, None) for key, part in named.items()})
    if unit and isinstance(value, Entry | Condition):
        return _inline({name: _value(getattr(value, name), Any, unit if name in {"value", "standard_uncertainty"} else None)
                        for name in _fields(value)})  # fmt: skip
    return _inline(_fields(value))


def _spelled(unit: str) -> str:
    """The unit as it can be read behind a number: "2.0 1/s" would look like the number 2.01.

    >>> _spelled("1/s"), _spelled("kg/m^3")
    ('s^-1', 'kg/m^3')
    """
    return f"{unit[2:]}^-1" if unit.startswith("1/") else unit


def _plain(value: float) -> str:
    """All digits without an exponent, so that reading them back gives the same number."""
    text = format(Decimal(repr(value)), "f")
    return text if "." in text else f"{text}.0"


def _inline(fields: dict[str, str]) -> str:
    return f"{{ {', '.join(f'{name} = {text}' for name, text in fields.items())} }}"


def _quoted(text: str) -> str:
    """A basic string of TOML: the escapes of JSON, and DEL which TOML wants escaped too."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
