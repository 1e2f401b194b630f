"""TOML files of a bench folder, with the line on which each field stands."""

from __future__ import annotations

import re
import tomllib
from typing import TYPE_CHECKING, Any

from aerode.errors import TableError

if TYPE_CHECKING:
    from pathlib import Path as FilePath

    from aerode.usecases.bench_fields import Path

__all__ = ["key_lines", "read_toml"]

_HEADER = re.compile(r"^\s*(\[\[?)\s*([^\[\]]+?)\s*\]\]?\s*(#.*)?$")
_KEY = re.compile(r"^\s*((?:[A-Za-z0-9_\-]+|\"[^\"]*\"|'[^']*')(?:\s*\.\s*(?:[A-Za-z0-9_\-]+|\"[^\"]*\"|'[^']*'))*)\s*=")  # fmt: skip


def read_toml(path: FilePath, name: str) -> tuple[dict[str, Any], dict[Path, int]]:
    """A TOML file and the line of each of its keys.

    Raises
    ------
    TableError
        It cannot be read, or is not TOML; the place is named.
    """
    try:
        text = path.read_text(encoding="utf-8-sig")
        return tomllib.loads(text), key_lines(text)
    except tomllib.TOMLDecodeError as problem:
        raise TableError(
            f"this is not TOML: {problem}",
            where=name,
            allowed='lines such as name = "T6", and [[powder]] before each record',
            next_step='put texts and numbers with units in quotation marks: moisture = "7 %"',
        ) from problem
    except UnicodeDecodeError as problem:
        raise TableError("this is not UTF-8", where=name, allowed="TOML in UTF-8") from problem
    except OSError as problem:
        raise TableError(f"it cannot be read: {problem.strerror}", where=name) from problem


def key_lines(text: str) -> dict[Path, int]:
    """The line of each table and key, counted from 1.

    >>> key_lines('title = "shed"\\n[[powder]]\\nname = "soot"\\n')
    {('title',): 1, ('powder', 0): 2, ('powder', 0, 'name'): 3}
    """
    found: dict[Path, int] = {}
    counts: dict[Path, int] = {}
    table: Path = ()
    for number, line in enumerate(text.splitlines(), 1):
        header = _HEADER.match(line)
        if header:
            table = _table(_parts(header[2]), header[1] == "[[", counts)
            found.setdefault(table, number)
            continue
        key = _KEY.match(line)
        if key:
            found.setdefault((*table, *_parts(key[1])), number)
    return found


def _parts(dotted: str) -> list[str]:
    return [part.strip().strip("\"'") for part in re.findall(r"\"[^\"]*\"|'[^']*'|[^.]+", dotted)]


def _table(parts: list[str], is_array: bool, counts: dict[Path, int]) -> Path:
    """The path of a table header; a name that is an array stands for its newest element."""
    path: Path = ()
    for place, part in enumerate(parts):
        path = (*path, part)
        if is_array and place == len(parts) - 1:
            counts[path] = counts.get(path, -1) + 1
        if path in counts:
            path = (*path, counts[path])
    return path
