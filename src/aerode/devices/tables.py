"""The one reader of tables: any delimiter, decimal mark, encoding, habit of headings and units.

Nothing is guessed in silence: `Table.understood` says how the table was taken, what could be
meant in two ways is refused, and what a person says (`mapping`, `units`, `decimal`) goes first.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from aerode import units as unit_reader
from aerode.devices.table_columns import Column, ColumnReader, RefusedCell, refuse_swapped
from aerode.devices.table_headings import ROLE_UNITS, Heading, is_unit, spelled, understand
from aerode.devices.table_numbers import decimal_mark, is_missing, is_moment, is_number, is_open
from aerode.devices.table_text import Line, Sheet, Source, read_sheet
from aerode.errors import TableError

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

__all__ = ["Column", "RefusedCell", "Rows", "Table", "is_open", "read_rows", "read_table"]


@dataclass(frozen=True, slots=True)
class Table:
    """A table as it was taken. `lines` holds the line number of each row in the text.

    `started` is the moment of the first row (ISO 8601) where the time column holds dates.
    """

    name: str
    columns: tuple[Column, ...]
    lines: tuple[int, ...]
    refused: tuple[RefusedCell, ...]
    understood: tuple[str, ...]
    started: str = ""

    def find(self, role: str) -> Column | None:
        """The column that holds a quantity, or None.

        Raises
        ------
        TableError
            Several columns hold it: nothing here tells which one is meant.
        """
        found = [column for column in self.columns if column.role == role]
        if len(found) > 1:
            headings = ", ".join(repr(column.heading) for column in found)
            raise TableError(
                f"{len(found)} columns can be the {role.replace('_', ' ')}: {headings}",
                where=self.name,
                allowed="one of them",
                next_step=f"say which one is meant: mapping={{{role!r}: {found[0].heading!r}}}",
            )
        return found[0] if found else None

    def column(self, role: str) -> Column:
        """The column that holds a quantity.

        Raises
        ------
        TableError
            None does, or several do.
        """
        found = self.find(role)
        if found:
            return found
        there = ", ".join(f"{c.heading!r} ({c.role or 'not understood'})" for c in self.columns)
        raise TableError(
            f"no column is understood as the {role.replace('_', ' ')}; there are {there}",
            where=self.name,
            allowed=f"a heading such as {role}_{ROLE_UNITS.get(role, '')}",
            next_step="correct the heading, or say which column is which",
        )

    def whole(self) -> Table:
        """The same table, if every cell of it was taken.

        Raises
        ------
        TableError
            Listing every refused cell.
        """
        if not self.refused:
            return self
        listed = "; ".join(f"{r.where}: {r.why} ({r.raw!r})" for r in self.refused)
        raise TableError(
            f"{len(self.refused)} cells or rows cannot be taken: {listed}",
            where=self.name,
            allowed=next((r.allowed for r in self.refused if r.allowed), ""),
            next_step="mend them; nothing was stored",
        )


def read_table(
    source: Source,
    *,
    name: str = "",
    mapping: Mapping[str, str | int] | None = None,
    units: Mapping[str, str] | None = None,
    decimal: str = "",
    delimiter: str = "",
) -> Table:
    """The numbers of a table in SI, each with the line it stands on.

    Parameters
    ----------
    source : str, bytes or Path
        A text, the bytes of a file, or the path of one.
    name : str
        What to call it; the file's name by default.
    mapping : mapping, optional
        What a person says of the columns: "voltage" → a heading, or a column number from 1. It
        goes before what the headings seem to say.
    units : mapping, optional
        What a person says of the units: "voltage" → "mV".
    decimal : str
        "." or "," where a person says which one it is.
    delimiter : str
        What stands between cells, where a person says so.

    Returns
    -------
    Table
        Columns, line numbers, refused cells, and how everything was understood.

    Raises
    ------
    TableError
        Empty; without headings; a unit of another kind than the heading's word; columns that
        look swapped or in a wrong unit; a number that can be read in two ways.

    Examples
    --------
    >>> table = read_table("R (kΩ);U/mV\\n0,047;742\\n0,015;612\\n")
    >>> table.column("resistance").values, table.column("voltage").values
    ((47.0, 15.0), (0.742, 0.612))
    """
    sheet = read_sheet(source, name=name, delimiter=delimiter)
    told = dict(mapping or {})
    headings, rows, said = _head(sheet, told)
    headings = _mapped(sheet.name, headings, told, dict(units or {}))
    taken, refused = _same_length(sheet.name, headings, rows)
    cells = (
        (f"line {row.number}", row.cell(place))
        for row in taken
        for place, heading in enumerate(headings)
        if heading.role
    )
    mark = decimal or decimal_mark(cells, sheet.delimiter, sheet.name)
    parts = [
        ColumnReader(sheet.name, place, heading, taken, mark, bool(units and heading.role in units))
        for place, heading in enumerate(headings)
    ]
    columns = [part.column() for part in parts]
    refuse_swapped(sheet.name, columns, told)
    for part, column in zip(parts, columns, strict=True):
        part.refuse_unbelievable(column)
    return Table(
        name=sheet.name,
        columns=tuple(part.cleaned(column) for part, column in zip(parts, columns, strict=True)),
        lines=tuple(row.number for row in taken),
        refused=tuple(sorted([*refused, *(r for part in parts for r in part.refused)], key=lambda r: r.line)),
        understood=(*sheet.understood, *said, *_mark_said(mark), *(s for part in parts for s in part.said)),
        started=next((part.started for part in parts if part.started), ""),
    )  # fmt: skip


def _mark_said(mark: str) -> tuple[str, ...]:
    return ("the decimal mark is a comma",) if mark == "," else ()


# -- headings -----------------------------------------------------------------------------------


def _head(
    sheet: Sheet, mapping: Mapping[str, str | int]
) -> tuple[list[str], list[Line], list[str]]:
    """The headings, the rows below them, and what was said about lines above."""
    lines = list(sheet.lines)
    place = _heading_line(lines)
    first = _first_below(lines, place) if place is not None else _first_numbers(sheet)
    rows, above = lines[first:], lines[:first]
    if not above and sheet.comments and len(sheet.comments[-1].cells) == len(rows[0].cells):
        above = [sheet.comments[-1]]
    if not above:
        return _without_headings(sheet, rows, mapping), rows, ["there is no row of headings"]
    if len(above) > 1 and _holds_units(above[-1]):
        words, below = above[-2], above[-1]
        joined = [
            f"{cell} ({spelled(below.cell(n))})" if below.cell(n) else cell
            for n, cell in enumerate(words.cells)
        ]
        return joined, rows, [f"the units stand in line {below.number}", *_left_out(above[:-2])]
    return list(above[-1].cells), rows, _left_out(above[:-1])


def _heading_line(lines: Sequence[Line]) -> int | None:
    """The first line that names a quantity and has a number under it."""
    for place, line in enumerate(lines):
        named = [n for n, cell in enumerate(line.cells) if cell and _names_a_quantity(cell)]
        if not named or any(is_number(cell) for cell in line.cells):
            continue
        below = lines[_first_below(lines, place) :][:5]
        if any(is_number(row.cell(n)) for row in below for n in named):
            return place
    return None


def _first_below(lines: Sequence[Line], place: int) -> int:
    """The first row under the headings, past a row of units."""
    has_units = place + 1 < len(lines) and _holds_units(lines[place + 1])
    return place + 2 if has_units else place + 1


def _holds_units(line: Line) -> bool:
    filled = [cell for cell in line.cells if not is_missing(cell)]
    return bool(filled) and all(is_unit(cell) for cell in filled)


def _names_a_quantity(cell: str) -> bool:
    try:
        return bool(understand(cell).role)
    except TableError:  # a word and a unit that do not fit: a heading all the same
        return True


def _first_numbers(sheet: Sheet) -> int:
    """The first row of values, where no heading is understood."""
    first = next((n for n, line in enumerate(sheet.lines) if _holds_numbers(line)), None)
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


def _holds_numbers(line: Line) -> bool:
    """True for a row of values: at least one number, and at least half of its cells values."""
    filled = [cell for cell in line.cells if cell]
    values = [c for c in filled if is_number(c) or is_moment(c) or is_missing(c) or is_open(c)]
    return any(is_number(cell) for cell in filled) and 2 * len(values) >= len(filled)


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


def _mapped(
    name: str,
    texts: Sequence[str],
    mapping: Mapping[str, str | int],
    units: dict[str, str],
) -> list[Heading]:
    """The headings as understood, with what a person has said in the place of it."""
    unknown = [role for role in (*mapping, *units) if role not in ROLE_UNITS]
    if unknown:
        raise TableError(
            f"there is no such quantity as {unknown[0]!r} in a table of readings",
            where=name,
            allowed=", ".join(role.replace("_", " ") for role in ROLE_UNITS),
            next_step="name the column by one of these",
        )
    said = {_place_of(name, texts, which): role for role, which in mapping.items()}
    found: list[Heading] = []
    for place, text in enumerate(texts):
        if place in said:
            found.append(Heading(text, said[place], _unit_in(text, said[place])))
        else:
            heading = understand(text, where=f"{name}, column {place + 1}")
            taken = heading.role in mapping
            found.append(replace(heading, role="") if taken else heading)
    return [replace(h, unit=spelled(units[h.role])) if h.role in units else h for h in found]


def _place_of(name: str, texts: Sequence[str], which: str | int) -> int:
    if isinstance(which, int):
        if 1 <= which <= len(texts):
            return which - 1
    elif texts.count(which) == 1:
        return texts.index(which)
    raise TableError(
        f"no column, or more than one, is {which!r}",
        where=name,
        allowed=", ".join(f"{n + 1}: {text!r}" for n, text in enumerate(texts)),
        next_step="name one of them, or give its number",
    )


def _unit_in(text: str, role: str) -> str:
    """The unit a heading holds, if it fits what a person says the column is."""
    try:
        unit = understand(text).unit
    except TableError:
        return ""
    target = ROLE_UNITS.get(role, "")
    return unit if unit and unit_reader.same_kind(unit, target) else ""


def _same_length(
    name: str, headings: Sequence[Heading], rows: Sequence[Line]
) -> tuple[list[Line], list[RefusedCell]]:
    """Rows that fit under the headings; a longer one cannot be trusted anywhere."""
    width = len(headings)
    long = [row for row in rows if any(row.cells[width:])]
    if rows and len(long) == len(rows):
        raise TableError(
            f"the rows have {len(long[0].cells)} cells under {width} headings",
            where=f"{name}, line {long[0].number}",
            allowed="a heading for every cell",
            next_step="if the comma is both the decimal mark and between cells, save with semicolons",
        )
    refused = [
        RefusedCell(name, row.number, "", " | ".join(row.cells), f"{len(row.cells)} cells under {width} headings",
                    f"{width} cells; a text with the delimiter in it needs quotation marks")
        for row in long
    ]  # fmt: skip
    return [row for row in rows if row not in long], refused


# -- tables of records --------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Rows:
    """A table whose first row names fields: the headings, and each row as it stands."""

    name: str
    headings: tuple[str, ...]
    rows: tuple[Line, ...]
    understood: tuple[str, ...]


def read_rows(source: Source, *, name: str = "", delimiter: str = "") -> Rows:
    """A table of records (electrodes, cells, instruments) as texts; its first row names the fields.

    Parameters
    ----------
    source : str, bytes or Path
        A text, the bytes of a file, or the path of one.
    name : str
        What to call it; the file's name by default.
    delimiter : str
        What stands between cells, where a person says so.

    Raises
    ------
    TableError
        Empty, a field without a name or named twice, or a row longer than the headings.

    Examples
    --------
    >>> read_rows("name,mesh\\nT1,fly screen\\n").rows[0].cells
    ('T1', 'fly screen')
    """
    sheet = read_sheet(source, name=name, delimiter=delimiter)
    if not sheet.lines:
        raise TableError(
            "there are only comments in it", where=sheet.name, allowed="a row of field names"
        )
    head, *rows = sheet.lines
    headings = list(head.cells)
    while headings and not headings[-1]:
        headings.pop()
    where = f"{sheet.name}, line {head.number}"
    doubled = sorted({heading for heading in headings if headings.count(heading) > 1})
    if doubled or "" in headings:
        raise TableError(
            f"the field {doubled[0]!r} is named twice"
            if doubled and doubled[0]
            else "a column has no field name",
            where=where,
            allowed="one name for each column",
            next_step="name every column once",
        )
    for row in rows:
        if any(row.cells[len(headings) :]):
            raise TableError(
                f"the row has {len(row.cells)} cells under {len(headings)} field names",
                where=f"{sheet.name}, line {row.number}",
                allowed="a text with the delimiter in it stands in quotation marks",
                next_step="add the quotation marks, or the missing field name",
            )
    return Rows(sheet.name, tuple(headings), tuple(rows), sheet.understood)
