"""One row of an edited table put into the plain record it was written from, cell by cell."""

from __future__ import annotations

import json
import math
import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, cast

from aerode import units
from aerode.errors import AerodeError, FieldFault, InputError
from aerode.records.bench_packages import FieldChange
from aerode.records.marks import Known
from aerode.usecases.bench_tables import WITHHELD, Column, cell_of, unguarded, value_at

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["Patch", "number_lines", "put_cells", "unnumber_lines"]

_PLAIN_NUMBER = re.compile(r"[-+]?(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?", re.ASCII)
_SAME = 1e-9
"""Relative difference below which a number is the one that was written: a spreadsheet that shows
fewer digits than it was given saves fewer."""


@dataclass(slots=True)
class Patch:
    """What the cells change, and what cannot be read in them."""

    changes: list[FieldChange] = field(default_factory=list[FieldChange])
    faults: list[FieldFault] = field(default_factory=list[FieldFault])


def put_cells(
    row: dict[str, Any],
    cells: Mapping[str, str],
    columns: Mapping[str, Column],
    patch: Patch,
    *,
    where: str,
    within: str = "",
) -> None:
    """Put the cells that were edited into a row's part of a plain record.

    Parameters
    ----------
    row : dict
        The part of the plain record; changed here.
    cells : mapping
        Heading to text.
    columns : mapping
        Heading to column.
    patch : Patch
        Gathers changes and faults.
    where : str
        File and line, for a fault.
    within : str
        What to write before the field in a change, as in "readings.line 3".
    """
    edited: set[tuple[str, ...]] = set()
    for heading, column in columns.items():
        if heading not in cells:
            continue
        before, cell = cell_of(value_at(row, column.path), column), _plain(cells[heading])
        if cell == WITHHELD or cell == _plain(before):
            continue
        try:
            value = _value(cell, column)
        except (AerodeError, ValueError, RecursionError) as problem:
            what = problem.what if isinstance(problem, AerodeError) else "it cannot be read"
            patch.faults.append(FieldFault(f"{where}, column {heading!r}", what, _allowed(column), cell))  # fmt: skip
            continue
        if _same_number(value, value_at(row, column.path)):
            continue
        _put(row, column.path, value)
        edited.add(column.path)
        name = f"{within}, {heading}" if within else heading
        patch.changes.append(FieldChange(field=name, before=before, after=cell))
    _keep_in_step(row, edited, cells, columns)


def _plain(cell: str) -> str:
    return cell.strip().replace("\r\n", "\n")


def _same_number(value: Any, before: Any) -> bool:
    numbers = isinstance(value, float) and isinstance(before, int | float)
    return numbers and math.isclose(value, before, rel_tol=_SAME, abs_tol=0.0)


def _value(cell: str, column: Column) -> Any:
    if cell == "":
        return None
    match column.type:
        case "number":
            return _number(cell, column.unit)
        case "integer":
            return int(cell)
        case "boolean":
            return _yes(cell)
        case "array" | "object":
            return json.loads(cell)
        case "any":
            return _number_or_text(cell)
        case _:
            return unguarded(cell)


def _number(cell: str, unit: str) -> float:
    if _PLAIN_NUMBER.fullmatch(cell):
        return float(cell)
    return units.read(cell, unit, bare=(unit,)).value


def _yes(cell: str) -> bool:
    word = cell.casefold()
    if word in {"true", "yes", "1"}:
        return True
    if word in {"false", "no", "0"}:
        return False
    raise InputError("neither yes nor no")


def _number_or_text(cell: str) -> float | str:
    return float(cell) if _PLAIN_NUMBER.fullmatch(cell) else unguarded(cell)


def _allowed(column: Column) -> str:
    if column.words:
        return ", ".join(column.words)
    return {
        "number": f"a number{f' in {column.unit}' if column.unit else ''}",
        "integer": "a whole number", "boolean": "true or false",
        "array": 'a list such as [0.6,0.7] or ["T1","T2"]', "object": 'pairs such as {"binder":0.1}',
    }.get(column.type, "")  # fmt: skip


def _put(row: dict[str, Any], path: tuple[str, ...], value: Any) -> None:
    """The value at its place; nothing takes the field away, so that its default holds."""
    *above, last = path
    for part in above:
        below = row.get(part)
        if not isinstance(below, dict):
            if value is None:
                return
            below = row[part] = {}
        row = cast("dict[str, Any]", below)
    if value is None:
        row.pop(last, None)
    else:
        row[last] = value


def _keep_in_step(
    row: dict[str, Any],
    edited: set[tuple[str, ...]],
    cells: Mapping[str, str],
    columns: Mapping[str, Column],
) -> None:
    """Where a value was edited, the text beside it is what was typed now; without it nothing stays."""
    headings = {column.path: heading for heading, column in columns.items()}
    for path in edited:
        if path[-1] != "value" or (*path[:-1], "text") in edited:
            continue
        entry = value_at(row, path[:-1])
        if not isinstance(entry, dict):
            continue
        typed = cast("dict[str, Any]", entry)
        if "known" in typed and (*path[:-1], "known") not in edited:
            typed["known"] = Known.MAY_DIFFER if typed.get("value") is None else Known.MEASURED
        if typed.get("value") is None and "known" not in typed:
            _put(row, path[:-1], None)
        elif typed.get("text"):
            typed["text"] = _typed(_plain(cells[headings[path]]), columns[headings[path]].unit)


def _typed(cell: str, unit: str) -> str:
    """A cell as a person would have typed it: a bare number gets the unit of its column."""
    _, behind = units.read_number(cell)
    return cell if behind else f"{cell} {unit}".strip()


def number_lines(plain: Any, lists: tuple[tuple[str, ...], ...]) -> None:
    """Turn each list on the way to a table's rows into lines numbered from 1, in place."""
    if not lists:
        return
    parts: Any = value_at(plain, lists[0])
    if isinstance(parts, list) and parts:
        parts = dict(enumerate(cast("list[Any]", parts), 1))
        _put(plain, lists[0], parts)
    if isinstance(parts, dict):
        for part in cast("dict[int, Any]", parts).values():
            number_lines(part, lists[1:])


def unnumber_lines(plain: Any) -> Any:
    """The same with the numbered lines as lists again, in the order of their numbers."""
    if isinstance(plain, list):
        return [unnumber_lines(part) for part in cast("list[Any]", plain)]
    if not isinstance(plain, dict):
        return plain
    typed = cast("dict[Any, Any]", plain)
    if typed and all(isinstance(key, int) for key in typed):
        return [unnumber_lines(typed[key]) for key in sorted(typed)]
    return {key: unnumber_lines(part) for key, part in typed.items()}
