"""Several series in one file: blocks under headings of their own, or a column that names the channel.

Series side by side need nothing here: they are columns of one table.
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING

from aerode.devices.table_headings import roles_of_unit, understand
from aerode.devices.table_heads import (
    find_headings,
    heading_place,
    holds_numbers,
    holds_units,
    names_quantities,
)
from aerode.devices.table_labels import unlabelled
from aerode.devices.table_numbers import is_missing
from aerode.devices.table_sayings import Saying
from aerode.devices.table_text import Line, Sheet, Source, read_sheet
from aerode.devices.tables import Table, table_of
from aerode.errors import TableError

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["headings_of", "read_tables"]

_CHANNEL = {"channel", "chan", "ch", "kanal", "canal", "voie", "kanaal", "sensor", "probe", "port",
            "input", "device", "name", "signal", "variable", "messstelle", "quantity", "parameter"}  # fmt: skip
_VALUE = {"value", "reading", "wert", "messwert", "valeur", "valor", "waarde", "measurement", "data"}  # fmt: skip
_UNIT = {"unit", "units", "einheit", "unité", "unidad", "eenheid"}
_MOST_CHANNELS = 64
_TITLE = 80


def read_tables(source: Source, *, name: str = "", saying: Saying | None = None) -> list[Table]:
    """Every series of a file: one table for each block or channel, each with its title in `part`.

    Parameters
    ----------
    source : str, bytes or Path
        A text, the bytes of a file, or the path of one.
    name : str
        What to call it; the file's name by default.
    saying : Saying, optional
        What a person says of it.

    Returns
    -------
    list of Table
        One, with an empty `part`, where the file is one table.

    Raises
    ------
    TableError
        As `aerode.devices.tables.read_table`.

    Examples
    --------
    >>> text = "t (s),channel,U (V)\\n0,1,0.7\\n0,2,0.6\\n1,1,0.71\\n1,2,0.61\\n"
    >>> [(table.part, table.column("voltage").values) for table in read_tables(text)]
    [('1', (0.7, 0.71)), ('2', (0.6, 0.61))]
    """
    told = saying or Saying()
    sheet = unlabelled(
        read_sheet(source, name=name, delimiter=told.delimiter, encoding=told.encoding)
    )
    tables: list[Table] = []
    for title, block in _blocks(sheet):
        for channel, part in _channels(block):
            tables.append(table_of(part, told, part=", ".join(t for t in (title, channel) if t)))
    return tables


def headings_of(source: Source, *, name: str = "", saying: Saying | None = None) -> tuple[str, ...]:
    """The headings of a file, by which its source is known again; none where it has no headings.

    >>> headings_of("logger 3\\nt (s);U (mV)\\n0;742\\n")
    ('t (s)', 'U (mV)')
    """
    told = saying or Saying()
    try:
        sheet = unlabelled(
            read_sheet(source, name=name, delimiter=told.delimiter, encoding=told.encoding)
        )
        place = heading_place(sheet.lines)
        place = _value_headings(sheet) if place is None else place
        return tuple(find_headings(sheet, {})[0]) if place is None else sheet.lines[place].cells
    except TableError:
        return ()


# -- blocks -------------------------------------------------------------------------------------


def _blocks(sheet: Sheet) -> list[tuple[str, Sheet]]:
    """The blocks of a sheet, each with its title; one without a title where there is one only."""
    starts = _starts(sheet.lines)
    if len(starts) < 2:
        return [("", sheet)]
    blocks: list[tuple[str, Sheet]] = []
    for count, start in enumerate(starts):
        end = starts[count + 1] if count + 1 < len(starts) else len(sheet.lines)
        above = _above(sheet, start)
        first = start - len(above)
        end -= len(_above(sheet, end)) if count + 1 < len(starts) else 0
        title = " ".join(cell for line in above[-1:] for cell in line.cells if cell)
        comment = _comment_above(sheet, start, first)
        title = (title or comment or f"block {count + 1}")[:_TITLE]
        lines = sheet.lines[0 if count == 0 else first : end]
        numbers = {line.number for line in lines}
        comments = tuple(c for c in sheet.comments if min(numbers) <= c.number <= max(numbers))
        blocks.append((title, replace(sheet, lines=lines, comments=comments)))
    return blocks


def _starts(lines: Sequence[Line]) -> list[int]:
    """The places of headings: the first ones, and others of the same kind further down."""
    first = heading_place(lines)
    if first is None:
        return []
    head = lines[first]
    starts = [first]
    opening = _first_cell(lines, first)
    for place in range(first + 1, len(lines) - 1):
        line = lines[place]
        if place - 1 in starts and holds_units(line):
            continue
        if line.cells != head.cells and not _is_heading(line, lines[place + 1]):
            continue
        titled = not holds_numbers(lines[place - 1])
        if line.cells != head.cells or titled or _first_cell(lines, place) == opening:
            starts.append(place)  # else the same headings once more, and the run goes on
    return starts


def _is_heading(line: Line, below: Line) -> bool:
    """True for other headings further down: a time, another quantity beside it, values below."""
    if not holds_numbers(below) or len(line.cells) > len(below.cells):
        return False
    roles = {role for cell in line.cells if (role := _role_of(cell))}
    return len(names_quantities(line)) > 1 and "time" in roles


def _first_cell(lines: Sequence[Line], place: int) -> str:
    """The first cell of the first row under some headings: a counter that begins anew is a new run."""
    below = next((line for line in lines[place + 1 : place + 4] if holds_numbers(line)), None)
    return below.cell(0) if below else ""


def _above(sheet: Sheet, start: int) -> list[Line]:
    """The lines of text directly above some headings."""
    found: list[Line] = []
    for line in reversed(sheet.lines[:start]):
        if holds_numbers(line) or names_quantities(line):
            break
        found.insert(0, line)
    return found


def _comment_above(sheet: Sheet, start: int, first: int) -> str:
    """The comment that stands between the last row before some headings and them."""
    below = sheet.lines[start].number
    above = sheet.lines[first - 1].number if first > 0 else 0
    found = [c for c in sheet.comments if above < c.number < below]
    return " ".join(cell for cell in found[-1].cells if cell) if found else ""


# -- channels -----------------------------------------------------------------------------------


def _channels(sheet: Sheet) -> list[tuple[str, Sheet]]:
    """The rows of each channel as a sheet of their own, where a column names the channel."""
    place = heading_place(sheet.lines)
    place = _value_headings(sheet) if place is None else place
    if place is None:
        return [("", sheet)]
    head = sheet.lines[place]
    names = _named(head, _CHANNEL)
    rows = sheet.lines[place + 1 :]
    if names is None or not _are_channels([row.cell(names) for row in rows]):
        return [("", sheet)]
    value, unit = _named(head, _VALUE), _named(head, _UNIT)
    found: list[tuple[str, Sheet]] = []
    for channel in dict.fromkeys(row.cell(names) for row in rows if row.cell(names)):
        own = [row for row in rows if row.cell(names) == channel]
        cells = list(head.cells)
        cells[names] = ""
        if value is not None:
            cells[value] = _heading_of(head, value, unit, channel, own)
        if unit is not None:
            cells[unit] = ""
        lines = (*sheet.lines[:place], Line(head.number, tuple(cells)), *own)
        found.append((channel, replace(sheet, lines=lines)))
    return found


def _value_headings(sheet: Sheet) -> int | None:
    """Headings such as "time, channel, value, unit", of which only the channels say what is read."""
    for place, line in enumerate(sheet.lines[:-1]):
        if _named(line, _CHANNEL) is not None and _named(line, _VALUE) is not None:
            return place
    return None


def _named(head: Line, words: set[str]) -> int | None:
    for place, cell in enumerate(head.cells):
        if set(re.split(r"[\s_.\-]+", cell.casefold().strip(" :"))) & words and not _has_role(cell):
            return place
    return None


def _has_role(cell: str) -> bool:
    return bool(_role_of(cell))


def _role_of(cell: str) -> str:
    try:
        return understand(cell).role
    except TableError:
        return "in doubt"


def _are_channels(cells: Sequence[str]) -> bool:
    """True if a column holds a few names again and again."""
    counts = Counter(cell for cell in cells if not is_missing(cell))
    return (
        0 < len(counts) <= _MOST_CHANNELS and sum(n > 1 for n in counts.values()) > len(counts) // 2
    )


def _heading_of(
    head: Line, value: int, unit: int | None, channel: str, rows: Sequence[Line]
) -> str:
    """The heading of the values of one channel: its name, and the unit that stands beside them."""
    units = Counter(row.cell(unit) for row in rows if row.cell(unit)) if unit is not None else None
    if units:
        word = units.most_common(1)[0][0]
        return f"{channel} ({word})" if roles_of_unit(word) else f"{channel} {word}"
    text = head.cells[value]
    if _has_role(text):
        return text
    bracket = re.search(r"[(\[]([^)\]]+)[)\]]", text)
    return f"{channel} ({bracket[1]})" if bracket else channel
