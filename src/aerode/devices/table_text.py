"""A text or file as lines of cells: encoding, delimiter, quotes, comments, blank lines.

Nothing is known here of what the cells mean; `aerode.devices.tables` is the door.
"""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

from aerode.errors import TableError

__all__ = ["MAX_BYTES", "Line", "Sheet", "Source", "decoded", "encodings", "read_sheet"]

Source = str | bytes | Path
"""A text, the bytes of a file, or the path of one."""

MAX_BYTES = 64 * 1024 * 1024
"""A table larger than this is a log that should be cut into runs first."""

_DELIMITERS = {"\t": "tab", ";": "semicolon", "|": "bar", ",": "comma"}
_SPACES = {"  ": "two or more spaces", " ": "spaces"}
_COMMENT = re.compile(r"\s*(#|//|%)")


@dataclass(frozen=True, slots=True)
class Line:
    """One row: the number of its first line in the text, counted from 1, and its cells."""

    number: int
    cells: tuple[str, ...]

    def cell(self, place: int) -> str:
        """The cell at a place counted from 0, "" where the row is shorter."""
        return self.cells[place] if place < len(self.cells) else ""


@dataclass(frozen=True, slots=True)
class Sheet:
    """The rows of a text that are not blank, the comment lines apart, and how it was taken."""

    name: str
    delimiter: str
    lines: tuple[Line, ...]
    comments: tuple[Line, ...]
    understood: tuple[str, ...]


def read_sheet(source: Source, *, name: str = "", delimiter: str = "", encoding: str = "") -> Sheet:
    """The cells of a table, with how it was taken.

    Parameters
    ----------
    source : str, bytes or Path
        A text, the bytes of a file, or the path of one.
    name : str
        What to call it; the file's name by default.
    delimiter : str
        What stands between cells; found by itself where it is not given.
    encoding : str
        How letters are written, as in "cp850"; found by itself where it is not given.

    Returns
    -------
    Sheet
        Every row that is not blank.

    Raises
    ------
    TableError
        Empty, too large, a spreadsheet, or text in no known encoding.

    Examples
    --------
    >>> read_sheet("R;U\\n15;0,412\\n").lines[1].cells
    ('15', '0,412')
    """
    name = name or (source.name if isinstance(source, Path) else "table")
    text, said = _text_of(source, name, encoding)
    text, told = _told_delimiter(text)
    delimiter = delimiter or told or _find_delimiter(text)
    lines, comments = _rows(text, delimiter)
    if not lines and not comments:
        raise TableError(
            "there is nothing in it",
            where=name,
            allowed="a row of headings and at least one row of values",
            next_step="check that the right file was chosen, and that it was saved",
        )
    words = _DELIMITERS.get(delimiter) or _SPACES.get(delimiter) or repr(delimiter)
    if any(len(line.cells) > 1 for line in lines):
        said = (*said, f"cells are divided by {words}")
    return Sheet(name, delimiter, tuple(lines), tuple(comments), said)


def _text_of(source: Source, name: str, encoding: str) -> tuple[str, tuple[str, ...]]:
    if isinstance(source, str):
        if len(source) > MAX_BYTES:
            raise _too_large(name)
        return source.removeprefix("\ufeff"), ()
    return decoded(_bytes_of(source, name), name, encoding)


def _bytes_of(source: bytes | Path, name: str) -> bytes:
    if isinstance(source, bytes):
        if len(source) > MAX_BYTES:
            raise _too_large(name)
        return source
    try:
        with source.open("rb") as file:
            raw = file.read(MAX_BYTES + 1)
    except OSError as problem:
        raise TableError(
            f"it cannot be read: {problem.strerror or problem}", where=str(source)
        ) from problem
    if len(raw) > MAX_BYTES:
        raise _too_large(name)
    return raw


def _too_large(name: str) -> TableError:
    return TableError(
        "it is too large for one table",
        where=name,
        allowed=f"up to {MAX_BYTES // 1024**2} MB",
        next_step="cut it into runs",
    )


def decoded(raw: bytes, name: str, encoding: str = "") -> tuple[str, tuple[str, ...]]:
    """The text of a file, with what was said of its letters.

    A byte order mark decides, then UTF-8, then the 8-bit page in which the degree sign before a C
    is one; Windows-1252 where nothing tells.

    Raises
    ------
    TableError
        A spreadsheet, or no text in any encoding known here.
    """
    if raw.startswith((b"PK\x03\x04", b"\xd0\xcf\x11\xe0")):
        raise TableError(
            "this is a spreadsheet, not a text table",
            where=name,
            allowed="CSV or tab-separated text",
            next_step="open it in the spreadsheet program and save the sheet as CSV",
        )
    for page, said in encodings(raw[:4096], raw) if not encoding else [(encoding, "")]:
        try:
            text = raw.decode(page)
        except (UnicodeDecodeError, LookupError):
            continue
        if "\x00" not in text:
            return text.removeprefix("\ufeff"), (said,) if said else ()
        if page == "utf-8" and text.count("\x00") < len(text) // 4 and "\n" in text:
            # Zeros are what a logger leaves where its power failed: such a row is no row.
            return text.replace("\x00", "\ufffd"), ("zero bytes stand in the text",)
    raise TableError(
        "this is not a text in any encoding known here",
        where=name,
        allowed="UTF-8, UTF-16 or Windows-1252 text",
        next_step="save it again as CSV in UTF-8",
    )


_MARKS = (
    (b"\xef\xbb\xbf", "utf-8-sig", ""),
    (b"\xff\xfe\x00\x00", "utf-32", "the text is UTF-32"),
    (b"\x00\x00\xfe\xff", "utf-32", "the text is UTF-32"),
    (b"\xff\xfe", "utf-16", "the text is UTF-16"),
    (b"\xfe\xff", "utf-16", "the text is UTF-16"),
)
# The degree sign in the 8-bit pages of DOS and of older Apple machines (unicode.org/Public/MAPPINGS).
_DEGREES = ((b"\xf8C", "cp850", "the DOS page 850"), (b"\xa1C", "mac-roman", "Mac Roman"))


def encodings(head: bytes, raw: bytes) -> list[tuple[str, str]]:
    """The encodings to try, in order, with what to say of each."""
    for mark, page, said in _MARKS:
        if head.startswith(mark):
            return [(page, said)]
    start = head[:200]
    if start[0::2].count(0) > len(start) // 4 or start[1::2].count(0) > len(start) // 4:
        # UTF-16 without its mark: every second byte of plain text is zero
        little = start[1::2].count(0) >= start[0::2].count(0)
        return [("utf-16-le" if little else "utf-16-be", "the text is UTF-16")]
    said = "the text is not UTF-8: read as "
    pages = [(page, said + words) for degree, page, words in _DEGREES if degree in raw]
    return [("utf-8", ""), *pages, ("cp1252", said + "Windows-1252")]


def _told_delimiter(text: str) -> tuple[str, str]:
    """The line `sep=;` that spreadsheets put first; its number stays counted."""
    first, newline, rest = text.partition("\n")
    match = re.fullmatch(r'"?sep=(.|\\t)"?', first.strip("\r\n \ufeff"), re.IGNORECASE)
    if not match:
        return text, ""
    return newline + rest, "\t" if match[1] == "\\t" else match[1]


def _find_delimiter(text: str) -> str:
    """The delimiter that cuts most rows into the same number of cells, at least two.

    A comma is often a decimal mark, so the others win a tie.
    """
    scores = {delimiter: _agreeing(text, delimiter) for delimiter in (*_DELIMITERS, *_SPACES)}
    best = max(scores[delimiter] for delimiter in _DELIMITERS)
    if best > 0:
        return next(delimiter for delimiter in _DELIMITERS if scores[delimiter] == best)
    return next((delimiter for delimiter in _SPACES if scores[delimiter] > 1), ",")


def _agreeing(text: str, delimiter: str) -> int:
    sample, comments = _rows(text[:200_000], delimiter)
    sizes = Counter(len(line.cells) for line in (*sample, *comments[-1:]) if len(line.cells) > 1)
    return max(sizes.values(), default=0)


def _rows(text: str, delimiter: str) -> tuple[list[Line], list[Line]]:
    """Rows that hold something, and comment lines, with their line numbers."""
    lines: list[Line] = []
    comments: list[Line] = []
    for number, cells in _cells(text, delimiter):
        stripped = tuple(cell.strip() for cell in cells)
        if not any(stripped):
            continue
        if _COMMENT.match(cells[0]):
            first = _COMMENT.sub("", cells[0], count=1).strip().lstrip("#/% ")
            comments.append(Line(number, (first, *stripped[1:])))
        else:
            lines.append(Line(number, stripped))
    return lines, comments


def _cells(text: str, delimiter: str) -> list[tuple[int, list[str]]]:
    if delimiter in _SPACES:
        pattern = r"\s{2,}|\t" if delimiter == "  " else r"\s+"
        return [
            (number, re.split(pattern, line.strip()))
            for number, line in enumerate(text.splitlines(), 1)
        ]
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, skipinitialspace=True)
    found: list[tuple[int, list[str]]] = []
    before = 0
    try:
        for cells in reader:
            found.append((before + 1, cells or [""]))
            before = reader.line_num
    except csv.Error as problem:
        raise TableError(
            f"a row cannot be cut into cells: {problem}",
            where=f"line {before + 1}",
            next_step="look for a quotation mark that is never closed",
        ) from problem
    return found
