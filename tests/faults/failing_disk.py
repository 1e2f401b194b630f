"""A disk that fails on purpose, put under SQLite's feet: sqlite.org/vfs.html, sqlite.org/c3ref/io_methods.html.

Every write, sync and truncation of a database file passes through here and is counted. At a chosen
one the disk can refuse, or the power can fail: then only what was synced is sure to be there, and of
what was written since any part may be.
"""

from __future__ import annotations

import _sqlite3
import contextlib
import ctypes as c
import random
from collections.abc import Callable, Generator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

__all__ = ["Disk", "failing_disk"]

OK, FULL, READONLY, IOERR_WRITE, IOERR_FSYNC, IOERR_TRUNCATE = 0, 13, 8, 778, 1034, 1546
SECTOR = 512

# The name stays a bare address: SQLite keeps it as long as the file is open.
_OPEN = c.CFUNCTYPE(c.c_int, c.c_void_p, c.c_void_p, c.c_void_p, c.c_int, c.c_void_p)
_WRITE = c.CFUNCTYPE(c.c_int, c.c_void_p, c.c_void_p, c.c_int, c.c_int64)
_TRUNCATE = c.CFUNCTYPE(c.c_int, c.c_void_p, c.c_int64)
_SYNC = c.CFUNCTYPE(c.c_int, c.c_void_p, c.c_int)


class _Vfs(c.Structure):
    """sqlite3_vfs, version 3."""

    _fields_ = [
        ("iVersion", c.c_int), ("szOsFile", c.c_int), ("mxPathname", c.c_int), ("pNext", c.c_void_p),
        ("zName", c.c_char_p), ("pAppData", c.c_void_p), ("xOpen", c.c_void_p),
        ("others", c.c_void_p * 14),
    ]  # fmt: skip


class _Methods(c.Structure):
    """sqlite3_io_methods, version 3."""

    _fields_ = [
        ("iVersion", c.c_int), ("xClose", c.c_void_p), ("xRead", c.c_void_p), ("xWrite", c.c_void_p),
        ("xTruncate", c.c_void_p), ("xSync", c.c_void_p), ("others", c.c_void_p * 13),
    ]  # fmt: skip


def _library() -> c.CDLL:
    """The very SQLite that Python's own module uses."""
    for place in (getattr(_sqlite3, "__file__", None), None):
        library = c.CDLL(place)
        if hasattr(library, "sqlite3_vfs_register"):
            library.sqlite3_vfs_find.restype = c.c_void_p
            return library
    raise RuntimeError("this Python hides its SQLite; use one that is linked with the system's")


@dataclass
class _File:
    """What is on the platter for sure, and what is only on its way."""

    durable: bytes
    pending: list[tuple[str, int, bytes]] = field(default_factory=list)


@dataclass
class Disk:
    """Counts what is done to the files in a folder, and fails at the moment it is told."""

    folder: Path
    count: int = 0
    fail_at: int = 0
    """The operation that fails, counted from 1; 0 for none."""
    lasting: bool = False
    """Every operation from then on fails too."""
    code: int = 0
    """What is answered; the usual one of each operation where it is 0."""
    files: dict[str, _File] = field(default_factory=dict)
    failed: bool = False
    kinds: list[str] = field(default_factory=list)

    def arm(self, at: int, *, lasting: bool = False, code: int = 0) -> None:
        """Count from here, and fail at an operation."""
        self.count, self.fail_at, self.lasting, self.code, self.failed = 0, at, lasting, code, False
        self.kinds.clear()

    def passes(self, kind: str, usual: int) -> int:
        """OK, or the answer of the failing disk."""
        self.count += 1
        self.kinds.append(kind)
        if self.fail_at and (self.count == self.fail_at or (self.lasting and self.count > self.fail_at)):  # fmt: skip
            self.failed = True
            return self.code or usual
        return OK

    def after_power_cut(self, to: Path, dice: random.Random | None = None) -> None:
        """Write the files as they may be found after the power failed: without `dice` nothing that
        was not synced is there; with it any sectors of it are.
        """
        for name, file in self.files.items():
            content = bytearray(file.durable)
            for kind, offset, data in file.pending:
                if kind == "truncate":
                    if dice is not None and dice.random() < 0.5:
                        del content[offset:]
                    continue
                for start in range(0, len(data), SECTOR):
                    if dice is None or dice.random() < 0.5:
                        continue
                    piece, at = data[start : start + SECTOR], offset + start
                    content.extend(b"\x00" * (at + len(piece) - len(content)))
                    content[at : at + len(piece)] = piece
            if content:
                (to / Path(name).name).write_bytes(bytes(content))


@contextlib.contextmanager
def failing_disk(folder: Path) -> Generator[Disk]:
    """Put the failing disk under every database that is opened meanwhile in a folder."""
    library = _library()
    disk = Disk(folder)
    usual = _Vfs.from_address(library.sqlite3_vfs_find(None))
    own = _Vfs()
    c.memmove(c.byref(own), c.byref(usual), c.sizeof(_Vfs))
    own.zName, own.pNext = b"failing", None
    shim = _Shim(disk, _OPEN(usual.xOpen))
    own.xOpen = c.cast(shim.open, c.c_void_p)
    assert library.sqlite3_vfs_register(c.byref(own), 1) == OK
    try:
        yield disk
    finally:
        assert library.sqlite3_vfs_unregister(c.byref(own)) == OK


class _Shim:
    """The functions that SQLite calls; kept alive as long as it may call them."""

    def __init__(self, disk: Disk, open_usual: Callable[..., int]) -> None:
        self.disk = disk
        self.names: dict[int, str] = {}
        self.tables: dict[int, _Methods] = {}
        self.usual: dict[int, _Methods] = {}
        self.open_usual = open_usual
        self.open = _OPEN(self._open)
        self._write_c, self._truncate_c, self._sync_c = (
            _WRITE(self._write), _TRUNCATE(self._truncate), _SYNC(self._sync),
        )  # fmt: skip

    def _open(self, vfs: Any, name: int | None, file: int, flags: int, out: Any) -> int:
        answer = self.open_usual(vfs, name, file, flags, out)
        path = Path(c.string_at(name).decode()) if name else None
        if answer != OK or path is None or path.parent != self.disk.folder:
            return answer
        methods = c.c_void_p.from_address(file)
        assert methods.value is not None
        if methods.value not in self.tables:
            table, usual = _Methods(), _Methods.from_address(methods.value)
            c.memmove(c.byref(table), c.byref(usual), c.sizeof(_Methods))
            table.xWrite = c.cast(self._write_c, c.c_void_p)
            table.xTruncate = c.cast(self._truncate_c, c.c_void_p)
            table.xSync = c.cast(self._sync_c, c.c_void_p)
            self.tables[methods.value], self.usual[c.addressof(table)] = table, usual
        methods.value = c.addressof(self.tables[methods.value])
        self.names[file] = str(path)
        if str(path) not in self.disk.files:
            self.disk.files[str(path)] = _File(path.read_bytes() if path.exists() else b"")
        return OK

    def _of(self, file: int) -> tuple[_File, _Methods]:
        table = c.c_void_p.from_address(file).value
        assert table is not None
        return self.disk.files[self.names[file]], self.usual[table]

    def _write(self, file: int, data: int, size: int, offset: int) -> int:
        answer = self.disk.passes("write", IOERR_WRITE)
        if answer != OK:
            return answer
        kept, usual = self._of(file)
        kept.pending.append(("write", offset, c.string_at(data, size)))
        return _WRITE(usual.xWrite)(file, data, size, offset)

    def _truncate(self, file: int, size: int) -> int:
        answer = self.disk.passes("truncate", IOERR_TRUNCATE)
        if answer != OK:
            return answer
        kept, usual = self._of(file)
        kept.pending.append(("truncate", size, b""))
        return _TRUNCATE(usual.xTruncate)(file, size)

    def _sync(self, file: int, flags: int) -> int:
        answer = self.disk.passes("sync", IOERR_FSYNC)
        if answer != OK:
            return answer
        kept, usual = self._of(file)
        kept.durable, kept.pending = Path(self.names[file]).read_bytes(), []
        return _SYNC(usual.xSync)(file, flags)
