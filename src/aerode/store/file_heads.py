"""The first bytes of a bench file, read without letting go of a lock that SQLite holds on it.

POSIX locks belong to the process and the file, not to the handle: closing any handle of a file drops
every lock that the process holds on it (sqlite.org/howtocorrupt.html, section 2.2). While one request
writes, another may just look whether the file is a bench. So the handle that looks is kept, one for
each file, and closed only when the file is gone.
"""

from __future__ import annotations

import os
import threading
from collections import OrderedDict
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["HEAD", "head_of"]

HEAD = 100
"""Bytes of the header of an SQLite database (sqlite.org/fileformat2.html, section 1.3)."""
_MOST = 256
"""Files whose handles are kept; a program works at one bench, and looks at some copies."""
_handles: OrderedDict[tuple[int, int], int] = OrderedDict()
_lock = threading.Lock()


def head_of(path: Path) -> bytes:
    """The first hundred bytes of a file, fewer where it has fewer.

    Raises
    ------
    OSError
        It cannot be read.
    """
    if not hasattr(
        os, "pread"
    ):  # where locks belong to the handle, and an open file cannot be renamed
        with path.open("rb") as file:
            return file.read(HEAD)
    with _lock:
        _let_go_of_what_is_gone()
        return os.pread(_handle(path), HEAD, 0)


def _handle(path: Path) -> int:
    told = path.stat()
    known = _handles.get((told.st_dev, told.st_ino))
    if known is not None:
        _handles.move_to_end((told.st_dev, told.st_ino))
        return known
    fresh = os.open(path, os.O_RDONLY | getattr(os, "O_CLOEXEC", 0))
    told = os.fstat(fresh)
    _handles[told.st_dev, told.st_ino] = fresh
    if len(_handles) > _MOST:
        os.close(_handles.popitem(last=False)[1])
    return fresh


def _let_go_of_what_is_gone() -> None:
    """Close the handles of files that have no name any more: nobody else can open those."""
    for key, handle in list(_handles.items()):
        if os.fstat(handle).st_nlink == 0:
            os.close(_handles.pop(key))
