"""Records as flat tables for people and other programs: one table per kind, one per list in it.

The definition of a record is the only guide. Numbers stand in SI with the unit in the heading; a
value with its uncertainty takes several columns (`wetted_area (m^2)`, `wetted_area.how`); each list
inside a record (layers, readings) is a table of its own, one line per part, counted from 1.
"""

from __future__ import annotations

import dataclasses
import json
import types
from dataclasses import dataclass
from enum import Enum
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Union, cast, get_args, get_origin

from aerode.records import KINDS
from aerode.records.marks import Condition, Entry
from aerode.usecases.bench_fields import field_hints, peeled
from aerode.usecases.bench_folder import STEMS

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

__all__ = [
    "STATE",
    "WITHHELD",
    "Column",
    "Table",
    "cell_of",
    "guarded",
    "rows_of",
    "tables_of",
    "unguarded",
    "value_at",
]

STATE = "from_state"
"""The last column of every table: the digest of the state that a row was written from."""
WITHHELD = "(withheld)"
"""Stands where the owner left something out."""
_GUARDED = ("=", "+", "-", "@", "#", "\t", "\r")
"""What a spreadsheet takes for a formula, and what readers of tables take for a remark."""


@dataclass(frozen=True, slots=True)
class Column:
    """One column: where its value stands in a row's part of the record, and what it is."""

    path: tuple[str, ...]
    heading: str
    type: str
    """A type of the Table Schema standard."""
    unit: str = ""
    words: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Table:
    """One flat table of a kind. `lists` leads from the record to the part that is one row."""

    name: str
    kind: str
    lists: tuple[tuple[str, ...], ...]
    columns: tuple[Column, ...]

    @property
    def counters(self) -> tuple[str, ...]:
        """The headings of the columns that count the lines of each list."""
        found: list[str] = []
        before = ""
        for path in self.lists:
            before = ".".join((before, *path)).lstrip(".")
            found.append(f"{before}.line")
        return tuple(found)


@lru_cache(maxsize=64)
def tables_of(kind: str) -> tuple[Table, ...]:
    """The tables of a kind: the one with a row per record first.

    >>> [table.name for table in tables_of("batch")]
    ['batches', 'batches-portions', 'batches-planned']
    >>> [column.heading for column in tables_of("cell")[0].columns][4:6]
    ['aluminium_area.standard_uncertainty (m^2)', 'aluminium_area.how']
    """
    stem = next((stem for stem, known in STEMS.items() if known == kind), f"{kind}s")
    return tuple(_tables(KINDS[kind], stem, kind, ()))


def _tables(cls: type, name: str, kind: str, lists: tuple[tuple[str, ...], ...]) -> Iterator[Table]:
    columns: list[Column] = []
    inner: list[tuple[tuple[str, ...], type]] = []
    _collect(cls, (), columns, inner)
    yield Table(name, kind, lists, tuple(columns))
    for path, part in inner:
        yield from _tables(part, f"{name}-{'-'.join(path)}", kind, (*lists, path))


def _collect(
    cls: type,
    path: tuple[str, ...],
    columns: list[Column],
    inner: list[tuple[tuple[str, ...], type]],
) -> None:
    for name, hint in field_hints(cls).items():
        base, unit = peeled(hint)
        here = (*path, name)
        if base is Entry or base is Condition:
            columns += _entered(cast("type", base), here, unit or "")
        elif get_origin(base) is tuple and _is_record(get_args(base)[0]):
            inner.append((here, peeled(get_args(base)[0])[0]))
        elif _is_record(base):
            _collect(cast("type", base), here, columns, inner)
        else:
            columns.append(_column(base, here, unit or _unit_of_parts(base)))


def _unit_of_parts(base: Any) -> str:
    """The unit of the numbers of a list."""
    return (peeled(get_args(base)[0])[1] or "") if get_origin(base) is tuple else ""


def _is_record(hint: Any) -> bool:
    base, _ = peeled(hint)
    return isinstance(base, type) and dataclasses.is_dataclass(base)


def _entered(base: type, path: tuple[str, ...], unit: str) -> Iterator[Column]:
    """The columns of a value with its uncertainty: the value itself stands under the field's name."""
    for name, hint in field_hints(base).items():
        inner, _ = peeled(hint)
        in_unit = unit if name in {"value", "standard_uncertainty"} else ""
        column = _column(inner, (*path, name), in_unit)
        if name == "value":
            yield dataclasses.replace(column, heading=_heading(path, unit))
        else:
            yield column


def _heading(path: tuple[str, ...], unit: str) -> str:
    return ".".join(path) + (f" ({unit})" if unit else "")


def _column(base: Any, path: tuple[str, ...], unit: str) -> Column:
    if isinstance(base, type) and issubclass(base, Enum):
        words = tuple(str(member.value) for member in base)
        return Column(path, _heading(path, ""), "string", "", words)
    origin = get_origin(base)
    types_of: dict[Any, str] = {bool: "boolean", int: "integer", float: "number", str: "string"}
    kind = types_of.get(base) or (
        "array" if origin is tuple else "object" if origin is dict else ""
    )
    if origin in {Union, types.UnionType}:
        kind = "any"
    return Column(path, _heading(path, unit), kind or "any", unit)


def value_at(plain: Any, path: tuple[str, ...]) -> Any:
    """The value at a path of a plain record; None where nothing is entered.

    Below a withheld field everything is withheld.
    """
    for part in path:
        if plain == WITHHELD:
            return WITHHELD
        if not isinstance(plain, dict):
            return None
        plain = cast("dict[str, Any]", plain).get(part)
    return plain


def rows_of(
    plain: Mapping[str, Any], lists: tuple[tuple[str, ...], ...]
) -> Iterator[tuple[tuple[int, ...], Mapping[str, Any]]]:
    """The parts of a plain record that are the rows of a table, with the counters of each."""
    if not lists:
        yield (), plain
        return
    parts: Any = value_at(plain, lists[0])
    if isinstance(parts, list):
        for number, part in enumerate(cast("list[Any]", parts), 1):
            for counters, row in rows_of(part, lists[1:]):
                yield (number, *counters), row


def cell_of(value: Any, column: Column) -> str:
    """A value as it stands in a CSV cell; text that a spreadsheet might compute is guarded."""
    if value is None or value == [] or value == {}:
        return ""
    if value == WITHHELD:
        return WITHHELD
    if isinstance(value, str):
        return guarded(value)
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float) and column.type in {"number", "any"}:
        return repr(value)
    return json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def guarded(text: str) -> str:
    """Text with an apostrophe before it where a spreadsheet would take it for a formula.

    >>> guarded("=1+1"), guarded("'tis"), guarded("T6")
    ("'=1+1", "''tis", 'T6')
    """
    return f"'{text}" if text.startswith((*_GUARDED, "'")) else text


def unguarded(cell: str) -> str:
    """The text that a guarded cell holds.

    >>> unguarded(guarded("=1+1")), unguarded(guarded("'=x")), unguarded("'tis")
    ('=1+1', "'=x", "'tis")
    """
    return cell[1:] if cell.startswith("'") and cell[1:].startswith((*_GUARDED, "'")) else cell
