"""Write a file so that it is either the old one or the whole new one, whatever happens in between."""

from __future__ import annotations

import contextlib
import os
from pathlib import Path
from typing import TYPE_CHECKING

from aerode.errors import StoreError

if TYPE_CHECKING:
    from collections.abc import Generator

__all__ = ["make_folder", "write_bytes", "write_text"]


def make_folder(place: str | os.PathLike[str]) -> Path:
    """The folder, made if it is not there.

    Raises
    ------
    StoreError
        It cannot be made.
    """
    folder = Path(place)
    with _told(folder):
        folder.mkdir(parents=True, exist_ok=True)
    return folder


def write_text(place: str | os.PathLike[str], text: str) -> Path:
    """Write text (UTF-8) beside the file, flush it to disk, then put it in its place.

    Raises
    ------
    StoreError
        The folder is missing, full or read-only; the old file is untouched.
    """
    return write_bytes(place, text.encode())


def write_bytes(place: str | os.PathLike[str], data: bytes) -> Path:
    """Write bytes beside the file, flush them to disk, then put them in its place.

    Raises
    ------
    StoreError
        The folder is missing, full or read-only; the old file is untouched.
    """
    path = Path(place)
    beside = path.with_name(f".{path.name}.{os.getpid()}.part")
    with _told(path):
        try:
            with beside.open("wb") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
            beside.replace(path)
        finally:
            with contextlib.suppress(OSError):
                beside.unlink(missing_ok=True)
        _settle(path.parent)
    return path


def _settle(folder: Path) -> None:
    """Make the new name itself durable; some systems cannot open a folder, and need not."""
    with contextlib.suppress(OSError, PermissionError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


@contextlib.contextmanager
def _told(path: Path) -> Generator[None]:
    try:
        yield
    except OSError as problem:
        raise StoreError(
            f"cannot be written: {problem.strerror or problem}",
            where=str(path),
            allowed="a folder that is there, writable and not full",
            next_step="name another place, or make room",
        ) from problem
