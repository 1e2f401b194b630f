"""The one reader of tables: any delimiter, decimal mark, encoding, habit of headings and units.

Nothing is guessed in silence: `Table.understood` says how the table was taken, what could be
meant in two ways is refused, and what a person says (`mapping`, `units`, `decimal`) goes first.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from aerode import units as unit_reader
from aerode.devices.table_clocks import joined_moments, started_in, time_by_counting
from aerode.devices.table_columns import Column, ColumnReader, RefusedCell, refuse_swapped
from aerode.devices.table_headings import ROLE_UNITS, Heading, spelled, understand
from aerode.devices.table_heads import facts_in, find_headings, is_garbage
from aerode.devices.table_labels import unlabelled
from aerode.devices.table_numbers import decimal_mark, is_open
from aerode.devices.table_sayings import Saying
from aerode.devices.table_text import Line, Sheet, Source, read_sheet
from aerode.errors import TableError

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

__all__ = [
    "Column",
    "RefusedCell",
    "Rows",
    "Saying",
    "Table",
    "is_open",
    "read_rows",
    "read_table",
    "table_of",
]


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
    part: str = ""
    """Which of several series of one file it is: its title, or its channel."""
    facts: Mapping[str, str] = field(default_factory=dict[str, str])
    """What the lines above the headings say: "interval" → "1 s"."""
    mark: str = "."
    """The decimal mark."""
    delimiter: str = ","

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
                next_step=f'say which one is meant: column "{role}={found[0].heading}"',
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
            next_step=f'correct the heading, or say which column it is: column "{role}=HEADING"',
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
    dates: str = "",
    clock: str = "",
    encoding: str = "",
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
    dates : str
        "d/m/y", "m/d/y" or "y/m/d", where a person says which number is the day.
    clock : str
        "go on" where a person says that the clock was set back and the run went on.
    encoding : str
        How letters are written, where a person says so.

    Returns
    -------
    Table
        Columns, line numbers, refused cells, and how everything was understood.

    Raises
    ------
    TableError
        Empty; without headings; a unit of another kind than the heading's word; columns that
        look swapped or in a wrong unit; a number or a date that can be read in two ways.

    Examples
    --------
    >>> table = read_table("R (kΩ);U/mV\\n0,047;742\\n0,015;612\\n")
    >>> table.column("resistance").values, table.column("voltage").values
    ((47.0, 15.0), (0.742, 0.612))
    """
    saying = Saying(
        mapping=mapping or {}, units=units or {}, decimal=decimal, delimiter=delimiter,
        dates=dates, clock=clock, encoding=encoding,
    )  # fmt: skip
    sheet = unlabelled(read_sheet(source, name=name, delimiter=delimiter, encoding=encoding))
    return table_of(sheet, saying)


def table_of(sheet: Sheet, saying: Saying, part: str = "") -> Table:
    """One block of rows under its headings, as `read_table` takes it."""
    texts, rows, said = find_headings(sheet, saying.mapping)
    headings = _mapped(sheet.name, texts, saying.mapping, saying.units)
    rows = [row for row in rows if row.cells[: len(texts)] != tuple(texts)]  # headings once more
    rows, headings, joined = joined_moments(rows, headings)
    facts = facts_in([*sheet.comments, *(line for line in sheet.lines if line.number < rows[0].number)])  # fmt: skip
    taken, refused = _fitting(sheet.name, headings, rows)
    cells = (
        (f"line {row.number}", row.cell(place))
        for row in taken
        for place, heading in enumerate(headings)
        if heading.role
    )
    mark = saying.decimal or decimal_mark(cells, sheet.delimiter, sheet.name)
    parts = [
        ColumnReader(sheet.name, place, heading, taken, mark, saying)
        for place, heading in enumerate(headings)
    ]
    columns = [one.column() for one in parts]
    refuse_swapped(sheet.name, columns, saying.mapping)
    for one, column in zip(parts, columns, strict=True):
        one.refuse_unbelievable(column)
    columns = [one.cleaned(column) for one, column in zip(parts, columns, strict=True)]
    counted, told = time_by_counting(columns, facts)
    every = sorted([*refused, *(r for one in parts for r in one.refused)], key=lambda r: r.line)
    return Table(
        name=sheet.name,
        columns=(*columns, *counted),
        lines=tuple(row.number for row in taken),
        refused=tuple(every),
        understood=(*sheet.understood, *said, *joined, *_mark_said(mark), *(s for one in parts for s in one.said), *told),
        started=next((one.started for one in parts if one.started), "") or started_in(facts, saying.dates),
        part=part,
        facts=facts,
        mark=mark,
        delimiter=sheet.delimiter,
    )  # fmt: skip


def _mark_said(mark: str) -> tuple[str, ...]:
    return ("the decimal mark is a comma",) if mark == "," else ()


def _mapped(
    name: str,
    texts: Sequence[str],
    mapping: Mapping[str, str | int],
    units: Mapping[str, str],
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


def _fitting(
    name: str, headings: Sequence[Heading], rows: Sequence[Line]
) -> tuple[list[Line], list[RefusedCell]]:
    """Rows that fit under the headings; a longer one cannot be trusted anywhere, garbage nowhere."""
    width = len(headings)
    long = {row.number for row in rows if any(row.cells[width:])}
    if rows and len(long) == len(rows):
        raise TableError(
            f"the rows have {len(rows[0].cells)} cells under {width} headings",
            where=f"{name}, line {rows[0].number}",
            allowed="a heading for every cell",
            next_step="if the comma is both the decimal mark and between cells, save with semicolons",
        )
    places = [place for place, heading in enumerate(headings) if heading.role]
    taken: list[Line] = []
    refused: list[RefusedCell] = []
    for row in rows:
        if row.number in long:
            why = f"{len(row.cells)} cells under {width} headings"
            allowed = f"{width} cells; a text with the delimiter in it needs quotation marks"
        elif is_garbage(row, places):
            why, allowed = "there is no value in this row", "a row of values"
        else:
            taken.append(row)
            continue
        refused.append(RefusedCell(name, row.number, "", " | ".join(row.cells), why, allowed))
    return taken, refused


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
