"""Writing a package, entry by entry, into a ZIP archive, a stream, or a folder.

The same content gives the same bytes: entries carry no moment, and a finished package appears
under its name at once.
"""

from __future__ import annotations

import hashlib
import secrets
import shutil
import zipfile
from contextlib import contextmanager
from pathlib import Path
from typing import IO, TYPE_CHECKING, Protocol

from aerode.errors import StoreError
from aerode.store import creating
from aerode.store.backups import unfinished
from aerode.store.connecting import refusals

if TYPE_CHECKING:
    from collections.abc import Generator
    from contextlib import AbstractContextManager

__all__ = ["Entry", "Sink", "folder_sink", "sink_for", "stream_sink"]

_EPOCH = (1980, 1, 1, 0, 0, 0)
"""The earliest moment that a ZIP entry can carry."""


class Entry:
    """One entry that is being written: counts and hashes what goes through it."""

    def __init__(self, file: IO[bytes]) -> None:
        self._file = file
        self._hash = hashlib.sha256()
        self.length = 0

    @property
    def sha256(self) -> str:
        """Of what was written so far, in hexadecimal."""
        return self._hash.hexdigest()

    def write(self, data: bytes) -> None:
        """More bytes."""
        self._hash.update(data)
        self.length += len(data)
        self._file.write(data)

    def line(self, text: str) -> None:
        """One line of text."""
        self.write(f"{text}\n".encode())


class Sink(Protocol):
    """Where the entries of a package go, one at a time."""

    def entry(self, name: str) -> AbstractContextManager[Entry]:
        """Open the next entry; it ends before another one begins."""
        ...


class _Zip:
    def __init__(self, archive: zipfile.ZipFile) -> None:
        self._archive = archive

    @contextmanager
    def entry(self, name: str) -> Generator[Entry, None, None]:
        info = zipfile.ZipInfo(name, _EPOCH)
        info.compress_type = zipfile.ZIP_DEFLATED
        info.create_system = 3
        info.external_attr = 0o100644 << 16
        with self._archive.open(info, "w", force_zip64=True) as file:
            yield Entry(file)


class _Folder:
    def __init__(self, folder: Path) -> None:
        self._folder = folder

    @contextmanager
    def entry(self, name: str) -> Generator[Entry, None, None]:
        path = self._folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("xb") as file:
            yield Entry(file)
        creating.sync_file(path)


@contextmanager
def stream_sink(stream: IO[bytes]) -> Generator[Sink, None, None]:
    """A ZIP archive written into an open stream, which need not be able to go back."""
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as archive:
        yield _Zip(archive)


@contextmanager
def folder_sink(folder: Path) -> Generator[Sink, None, None]:
    """A new folder, which appears whole or not at all."""
    hidden = folder.with_name(f".{folder.name}.{secrets.token_hex(4)}.new")
    try:
        hidden.mkdir(parents=True)
        yield _Folder(hidden)
        hidden.rename(folder)
        creating.sync_folder(folder.parent)
    finally:
        shutil.rmtree(hidden, ignore_errors=True)


@contextmanager
def sink_for(target: Path) -> Generator[Sink, None, None]:
    """A new `.zip` file, or a new folder for any other name; both appear whole or not at all.

    Raises
    ------
    StoreError
        Something is there already, or it cannot be written.
    """
    if target.exists():
        raise StoreError(
            "something is there already, and it is not overwritten", where=str(target),
            next_step="choose another name",
        )  # fmt: skip
    with refusals(str(target)):
        if target.suffix.lower() != ".zip":
            with folder_sink(target) as sink:
                yield sink
            return
        with unfinished(target) as hidden:
            with hidden.open("wb") as file, stream_sink(file) as sink:
                yield sink
            creating.appear(hidden, target)
