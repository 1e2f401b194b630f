"""Where the headings of a table stand, what stands above them, and where the rows begin."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from aerode.devices.table_headings import is_unit, spelled, understand
from aerode.devices.table_moments import is_moment
from aerode.devices.table_numbers import is_missing, is_number, is_open, is_overload
from aerode.errors import TableError

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from aerode.devices.table_text import Line, Sheet

__all__ = [
    "facts_in",
    "find_headings",
    "heading_place",
    "holds_numbers",
    "holds_units",
    "is_garbage",
    "names_quantities",
]


def find_headings(
    sheet: Sheet, mapping: Mapping[str, str | int]
) -> tuple[list[str], list[Line], list[str]]:
    """The headings, the rows below them, and what was said about lines above."""
    lines = list(sheet.lines)
    place = heading_place(lines)
    first = _first_below(lines, place) if place is not None else _first_numbers(sheet)
    rows, above = lines[first:], lines[:first]
    if not above and sheet.comments and len(sheet.comments[-1].cells) == len(rows[0].cells):
        above = [sheet.comments[-1]]
    if not above:
        return _without_headings(sheet, rows, mapping), rows, ["there is no row of headings"]
    if len(above) > 1 and holds_units(above[-1]) and names_quantities(above[-2]):
        words, below = above[-2], above[-1]
        joined = [
            f"{cell} ({spelled(below.cell(n))})" if below.cell(n) else cell
            for n, cell in enumerate(words.cells)
        ]
        return joined, rows, [f"the units stand in line {below.number}", *_left_out(above[:-2])]
    return list(above[-1].cells), rows, _left_out(above[:-1])


def heading_place(lines: Sequence[Line]) -> int | None:
    """The last line that names a quantity above the first row with a number under it."""
    best, named = None, list[int]()
    for place, line in enumerate(lines):
        if best is not None and any(is_number(line.cell(n)) for n in named) and holds_numbers(line):
            return best
        here = names_quantities(line)
        if here and not (best == place - 1 and holds_units(line)):
            best, named = place, here
    return None


def names_quantities(line: Line) -> list[int]:
    """The places of a line of headings that name a quantity; none where it holds values."""
    if any(is_number(cell) or is_moment(cell) for cell in line.cells):
        return []
    return [n for n, cell in enumerate(line.cells) if cell and _names_a_quantity(cell)]


def _first_below(lines: Sequence[Line], place: int) -> int:
    """The first row under the headings, past a row of units."""
    has_units = (
        place + 1 < len(lines)
        and holds_units(lines[place + 1])
        and not holds_numbers(lines[place + 1])
    )
    return place + 2 if has_units else place + 1


def holds_units(line: Line) -> bool:
    """True for a row in which every filled cell is a unit, or the form of a date or time."""
    filled = [cell for cell in line.cells if not is_missing(cell)]
    return bool(filled) and all(is_unit(cell) for cell in filled)


def _names_a_quantity(cell: str) -> bool:
    try:
        return bool(understand(cell).role)
    except TableError:  # a word and a unit that do not fit: a heading all the same
        return True


def _first_numbers(sheet: Sheet) -> int:
    """The first row of values, where no heading is understood."""
    first = next((n for n, line in enumerate(sheet.lines) if holds_numbers(line)), None)
    if first is None:
        raise TableError(
            "no row of numbers is in it",
            where=sheet.name,
            allowed="a row of headings and at least one row of values",
            next_step="check that the right file was chosen",
        )
    return first


def _left_out(lines: Sequence[Line]) -> list[str]:
    if not lines:
        return []
    return [f"line {lines[0].number} to {lines[-1].number} above the headings left out"
            if len(lines) > 1 else f"line {lines[0].number} above the headings left out"]  # fmt: skip


def holds_numbers(line: Line) -> bool:
    """True for a row of values: at least one number, and at least half of its cells values."""
    filled = [cell for cell in line.cells if cell]
    values = [c for c in filled if _is_value(c)]
    return any(is_number(cell) for cell in filled) and 2 * len(values) >= len(filled)


def _is_value(cell: str) -> bool:
    return (
        is_number(cell) or is_moment(cell) or is_missing(cell) or is_open(cell) or is_overload(cell)
    )


def is_garbage(line: Line, places: Sequence[int]) -> bool:
    """True for a row in which nothing stands where values should: a message, a torn line."""
    filled = [line.cell(place) for place in places if line.cell(place)]
    if not filled:
        alone = [cell for cell in line.cells if cell]
        return (
            len(alone) == 1
            and bool(re.search(r"[\s{*\ufffd]", alone[0]))
            and not _is_value(alone[0])
        )
    return not any(_is_value(cell) for cell in filled)


_FACT = re.compile(r"^\s*(?P<key>[^\W\d][\w .()/\-]{1,40}?)\s*[:=]\s*(?P<value>\S.*)$")


def facts_in(lines: Sequence[Line]) -> dict[str, str]:
    """What lines above the headings say: "Interval: 1 s", or "Interval" and "1 s" in two cells."""
    facts: dict[str, str] = {}
    for line in lines:
        filled = [cell for cell in line.cells if cell]
        if len(filled) == 2 and not is_number(filled[0]) and not _FACT.match(filled[0]):
            facts.setdefault(filled[0].rstrip(": ").casefold(), filled[1])
            continue
        for cell in filled:
            match = _FACT.match(cell)
            if match and not is_moment(cell):
                facts.setdefault(match["key"].strip().casefold(), match["value"].strip())
    return facts


def _without_headings(
    sheet: Sheet, rows: Sequence[Line], mapping: Mapping[str, str | int]
) -> list[str]:
    """Columns by number, where a person has said which is which."""
    width = max(len(row.cells) for row in rows)
    if mapping and all(isinstance(place, int) for place in mapping.values()):
        return [f"column {n + 1}" for n in range(width)]
    raise TableError(
        f"the first row ({sheet.delimiter.strip().join(rows[0].cells)}) holds numbers: the columns have no headings",
        where=f"{sheet.name}, line {rows[0].number}",
        allowed="a first row such as resistance_ohm;voltage_V",
        next_step="write a row of headings, or say which column is which and in which unit",
    )
