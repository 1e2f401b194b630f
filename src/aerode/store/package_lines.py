"""The history file of an exported package: one JSON object per line, in the order of the journal.

The first line says which bench it is, the last one how many lines there are and the chain value
they lead to. `docs/explanation/bench-file.md` describes every key.
"""

from __future__ import annotations

import base64
import hashlib
import json
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, cast

from aerode.errors import DamagedError, NewerFileError, StoreError
from aerode.store import digests
from aerode.store.history_lines import ChunkLine, FileLine, Line, RevisionLine
from aerode.store.layout import revision, series
from aerode.store.revisions import revision_of_row

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

__all__ = ["FORMAT", "VERSION", "Header", "HistoryReader", "file_path", "line_text", "text_of"]

FORMAT = "aerode bench history"
VERSION = 1
_LONGEST = 256 * 2**20
"""The longest line that is taken [bytes]: a run of a million readings is far below it."""
_ENDINGS = {
    "image/png": ".png", "image/jpeg": ".jpg", "image/webp": ".webp", "text/plain": ".txt",
    "text/csv": ".csv", "application/json": ".json", "application/pdf": ".pdf",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Header:
    """Which bench a history is of, and which fields its owner withheld."""

    bench: str
    withheld: tuple[str, ...] = ()

    def text(self) -> str:
        """The first line."""
        return text_of(
            {"what": "bench", "format": FORMAT, "version": VERSION, "bench": self.bench}
            | ({"withheld": list(self.withheld)} if self.withheld else {})
        )


def text_of(plain: dict[str, Any]) -> str:
    """One line: JSON with sorted keys and no spaces."""
    return json.dumps(
        plain, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False
    )


def file_path(line: FileLine) -> str:
    """Where the content of a file stands in the package."""
    return f"files/{line.digest}{_ENDINGS.get(line.media, '.bin')}"


def line_text(number: int, line: Line, written: tuple[str, int] | None = None) -> str:
    """A line of the history file.

    Parameters
    ----------
    number : int
        Its number in the journal.
    line : Line
        What it holds.
    written : (str, int), optional
        Of a file: the SHA-256 and the length of its content.
    """
    if isinstance(line, RevisionLine):
        return text_of({"what": "revision", "line": number, **line.entry.columns()})
    if isinstance(line, ChunkLine):
        plain = {name: _as_text(value) for name, value in line.columns.items()}
        return text_of({"what": "series", "line": number, **plain})
    sha256, length = written or ("", 0)
    return text_of(
        {"what": "file", "line": number, "digest": line.digest, "media": line.media,
         "path": file_path(line), "sha256": sha256, "bytes": length}
    )  # fmt: skip


def _as_text(value: Any) -> Any:
    return {"base64": base64.b64encode(value).decode()} if isinstance(value, bytes) else value


class HistoryReader:
    """The lines of a history file, looked over while they are read.

    Parameters
    ----------
    text : file
        The history file, open for reading bytes.
    content : callable
        Gives the content of a file of the package by its path.
    where : str
        What to call it in a refusal.

    Raises
    ------
    StoreError
        The first line is not that of a history.
    NewerFileError
        A newer version wrote it.
    """

    def __init__(self, text: Any, content: Callable[[str], bytes], where: str) -> None:
        self._text = text
        self._content = content
        self._where = where
        self._number = 0
        self.header = self._first()
        self._chain = digests.chain_start(self.header.bench)

    def _first(self) -> Header:
        plain = self._next() or {}
        if plain.get("what") != "bench" or plain.get("format") != FORMAT:
            raise StoreError(
                "this is not the history of a bench", where=self._where,
                allowed="a package that `aerode bench export` wrote",
            )  # fmt: skip
        if plain.get("version") != VERSION:
            raise NewerFileError(
                f"this history is of version {plain.get('version')!r}", where=self._where,
                allowed=f"version {VERSION}", next_step="import it with the newer version",
            )  # fmt: skip
        bench, withheld = plain.get("bench"), plain.get("withheld", [])
        if not isinstance(bench, str) or not re.fullmatch(r"[0-9a-f]{32}", bench):
            raise self._bad("the identity of the bench cannot be read")
        return Header(bench, tuple(str(word) for word in cast("list[Any]", withheld)))

    def lines(self) -> Iterator[Line]:
        """Every line; the chain of the journal is followed to its end.

        Raises
        ------
        DamagedError
            A line cannot be read, does not agree with its digest, or lines are missing.
        """
        if self.header.withheld:
            raise StoreError(
                f"this package is not whole: {', '.join(self.header.withheld)} were withheld by its owner",
                where=self._where,
                allowed="a package without withheld fields",
                next_step="import the tables you need from its folder tables/, or ask for a whole one",
            )
        count = 0
        while True:
            plain = self._next()
            if plain is None:
                raise self._bad("the history ends too early: its last line is missing")
            if plain.get("what") == "end":
                break
            count += 1
            line = self._line(plain)
            self._chain = digests.chain_next(self._chain, count, line.digest)
            yield line
        if plain.get("lines") != count or plain.get("chain") != self._chain:
            raise self._bad("lines of the history are missing, or their order was changed")

    def end(self) -> str:
        """The chain value to which the lines read so far lead."""
        return self._chain

    def _next(self) -> dict[str, Any] | None:
        raw: bytes = self._text.readline(_LONGEST)
        self._number += 1
        if not raw:
            return None
        if not raw.endswith(b"\n"):
            raise self._bad("it is too long, or the file was cut off in it")
        try:
            plain: Any = json.loads(raw.decode("utf-8"))
        except (ValueError, RecursionError) as problem:
            raise self._bad("it is not JSON in UTF-8") from problem
        if not isinstance(plain, dict):
            raise self._bad("it is not a JSON object")
        return cast("dict[str, Any]", plain)

    def _line(self, plain: dict[str, Any]) -> Line:
        match plain.get("what"):
            case "revision":
                return self._revision(plain)
            case "series":
                return ChunkLine(
                    self._string(plain, "digest"),
                    {c.name: _from_text(plain.get(c.name)) for c in series.columns},
                )
            case "file":
                return self._file(plain)
            case _:
                raise self._bad(f"{plain.get('what')!r} is no sort of line")

    def _revision(self, plain: dict[str, Any]) -> RevisionLine:
        row = {column.name: self._string(plain, column.name) for column in revision.columns}
        return RevisionLine(revision_of_row(row))

    def _file(self, plain: dict[str, Any]) -> FileLine:
        line = FileLine(self._string(plain, "digest"), self._string(plain, "media"), lambda: b"")
        path = self._string(plain, "path")
        if path != file_path(line):
            raise self._bad(f"{path!r} is not where this file stands")

        def data() -> bytes:
            content = self._content(path)
            if hashlib.sha256(content).hexdigest() != plain.get("sha256"):
                raise self._bad(f"the file {path!r} is not the one that was exported")
            return content

        return FileLine(line.digest, line.media, data)

    def _string(self, plain: dict[str, Any], key: str) -> str:
        value = plain.get(key)
        if not isinstance(value, str):
            raise self._bad(f"{key} is missing")
        return value

    def _bad(self, what: str) -> DamagedError:
        return DamagedError(
            f"line {self._number}: {what}", where=self._where,
            next_step="export the bench once more, or take another copy of the package",
        )  # fmt: skip


def _from_text(value: Any) -> Any:
    if isinstance(value, dict):
        return base64.b64decode(str(cast("dict[str, Any]", value).get("base64", "")))
    return value
