"""Reading an archive or a folder that came from somebody else: every entry looked over first."""

from __future__ import annotations

import re
import stat
import zipfile
from contextlib import contextmanager
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any, Protocol

from aerode.errors import InputError, NotFoundError

if TYPE_CHECKING:
    from collections.abc import Generator

__all__ = ["ARCHIVES", "Parcel", "is_archive", "opened"]

_ENTRIES = 200_000
"""The most entries that are taken."""
_ALWAYS = 256 * 2**20
_PER_BYTE = 200
"""An archive may unpack to 256 MiB, or to this many times its own size where that is more."""
_ONE_FILE = 2**30
"""The largest single file that is taken into memory [bytes]."""

ARCHIVES = (".zip", ".gz", ".tgz", ".tar", ".bz2", ".xz", ".7z", ".rar", ".zst")
_MAGIC = (
    b"PK\x03\x04", b"PK\x05\x06", b"\x1f\x8b", b"BZh", b"\xfd7zXZ\x00", b"7z\xbc\xaf\x27\x1c",
    b"Rar!\x1a\x07", b"\x28\xb5\x2f\xfd",
)  # fmt: skip


def is_archive(head: bytes, name: str = "") -> bool:
    """True for the beginning, or the name, of an archive or a compressed file.

    >>> is_archive(b"PK\\x03\\x04..."), is_archive(b"at,voltage", "log.csv")
    (True, False)
    """
    packed = head.startswith(_MAGIC) or head[257:262] == b"ustar"
    return packed or name.lower().endswith(ARCHIVES)


class Parcel(Protocol):
    """The entries of a package, wherever they lie."""

    label: str

    def names(self) -> list[str]:
        """Every entry."""
        ...

    def open(self, name: str) -> Any:
        """An entry for reading bytes; it gives no more of them than it declares."""
        ...

    def read(self, name: str) -> bytes:
        """The whole content of a small entry."""
        ...


@contextmanager
def opened(source: str | Path | IO[bytes]) -> Generator[Parcel, None, None]:
    """The entries of a ZIP archive (a path or an open file) or of an unpacked folder.

    Raises
    ------
    NotFoundError
        Nothing is there.
    InputError
        It is not an archive; an entry would lead out of it, is a link, stands twice, is an archive
        itself, is encrypted; or it is far larger unpacked than packed.
    """
    if isinstance(source, str | Path):
        path = Path(source)
        if not path.exists():
            raise NotFoundError("no such package is there", where=str(path), next_step="check the name")  # fmt: skip
        if path.is_dir():
            yield _Folder(path)
            return
    label = str(source) if isinstance(source, str | Path) else "the package"
    try:
        archive = zipfile.ZipFile(source)
    except (zipfile.BadZipFile, ValueError, OSError) as problem:
        raise InputError(
            "this is not a ZIP archive", where=label,
            allowed="what `aerode bench export` wrote: a .zip, or its unpacked folder",
        ) from problem  # fmt: skip
    with archive:
        yield _Archive(archive, label)


def _refusal(what: str, name: str, label: str) -> InputError:
    return InputError(
        f"{what}; nothing was taken in", where=f"{label}, entry {name!r}"[:300],
        allowed="plain files below the package", next_step="do not trust this package; ask its sender",
    )  # fmt: skip


def _look_over_name(name: str, label: str) -> None:
    parts = name.removesuffix("/").split("/")
    if (
        not name
        or name.startswith(("/", "\\", "~"))
        or "\\" in name
        or re.match(r"[A-Za-z]:", name)
        or any(part in {"", ".", ".."} for part in parts)
        or any(ord(letter) < 32 or ord(letter) == 127 for letter in name)
    ):
        raise _refusal("this name leads out of the package", name, label)
    if name.lower().endswith(ARCHIVES):
        raise _refusal("an archive lies inside the package", name, label)


class _Counted:
    """An entry that ends with a refusal where it gives more than it declares, or is an archive."""

    def __init__(self, file: IO[bytes], most: int, name: str, label: str) -> None:
        self._file, self._left, self._name, self._label = file, most, name, label
        self._first = True

    def _count(self, data: bytes) -> bytes:
        if self._first and data:
            self._first = False
            if is_archive(data):
                raise _refusal("an archive lies inside the package", self._name, self._label)
        self._left -= len(data)
        if self._left < 0:
            raise _refusal("it holds more than it declares", self._name, self._label)
        return data

    def read(self, size: int = -1) -> bytes:
        return self._guarded(self._file.read, size)

    def readline(self, size: int = -1) -> bytes:
        return self._guarded(self._file.readline, size)

    def _guarded(self, act: Any, size: int) -> bytes:
        try:
            return self._count(act(size))
        except (zipfile.BadZipFile, OSError, EOFError, ValueError) as problem:
            raise _refusal(f"it cannot be read ({problem})", self._name, self._label) from problem

    def close(self) -> None:
        self._file.close()

    def __enter__(self) -> _Counted:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


class _Archive:
    """A ZIP archive whose every entry has been looked over by its declaration."""

    def __init__(self, archive: zipfile.ZipFile, label: str) -> None:
        self._archive = archive
        self.label = label
        self._entries: dict[str, zipfile.ZipInfo] = {}
        entries = archive.infolist()
        if len(entries) > _ENTRIES:
            raise _refusal(f"it has {len(entries)} entries", "", label)
        for entry in entries:
            self._look_over(entry)
        self._refuse_doubles(entries)
        self._refuse_bombs(entries)

    def _look_over(self, entry: zipfile.ZipInfo) -> None:
        _look_over_name(entry.orig_filename, self.label)
        mode = entry.external_attr >> 16
        if mode and stat.S_IFMT(mode) not in (0, stat.S_IFREG, stat.S_IFDIR):
            raise _refusal("this entry is a link or a device", entry.filename, self.label)
        if entry.flag_bits & 0x1:
            raise _refusal("this entry is encrypted", entry.filename, self.label)
        if entry.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
            raise _refusal("this entry is packed in an unusual way", entry.filename, self.label)

    def _refuse_doubles(self, entries: list[zipfile.ZipInfo]) -> None:
        folded: set[str] = set()
        for entry in entries:
            word = entry.filename.casefold().removesuffix("/")
            if word in folded:
                raise _refusal("this name stands twice", entry.filename, self.label)
            folded.add(word)
            if not entry.is_dir():
                self._entries[entry.filename] = entry

    def _refuse_bombs(self, entries: list[zipfile.ZipInfo]) -> None:
        packed = sum(entry.compress_size for entry in entries)
        unpacked = sum(entry.file_size for entry in entries)
        if unpacked > max(_ALWAYS, _PER_BYTE * packed):
            raise _refusal(f"it would unpack from {packed} to {unpacked} bytes", "", self.label)
        end = -1
        for entry in sorted(entries, key=lambda e: e.header_offset):
            if entry.header_offset < end:
                raise _refusal("two entries share the same bytes", entry.filename, self.label)
            end = entry.header_offset + 30 + len(entry.orig_filename.encode()) + entry.compress_size

    def names(self) -> list[str]:
        return list(self._entries)

    def open(self, name: str) -> _Counted:
        entry = self._entries.get(name)
        if entry is None:
            raise _lacking(name, self.label)
        try:
            file = self._archive.open(entry)
        except (zipfile.BadZipFile, OSError, RuntimeError) as problem:
            raise _refusal(f"it cannot be read ({problem})", name, self.label) from problem
        return _Counted(file, entry.file_size, name, self.label)

    def read(self, name: str) -> bytes:
        entry = self._entries.get(name)
        if entry is not None and entry.file_size > _ONE_FILE:
            raise _refusal("this file is too large", name, self.label)
        with self.open(name) as file:
            return file.read()


class _Folder:
    """An unpacked package; links are refused, so that nothing outside of it is read."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self.label = str(folder)

    def names(self) -> list[str]:
        files = (path for path in sorted(self._folder.rglob("*")) if path.is_file())
        return [path.relative_to(self._folder).as_posix() for path in files]

    def open(self, name: str) -> _Counted:
        _look_over_name(name, self.label)
        path = self._folder
        for part in name.split("/"):
            path = path / part
            if path.is_symlink():
                raise _refusal("this entry is a link or a device", name, self.label)
        if not path.is_file():
            raise _lacking(name, self.label)
        return _Counted(path.open("rb"), path.stat().st_size, name, self.label)

    def read(self, name: str) -> bytes:
        with self.open(name) as file:
            return file.read()


def _lacking(name: str, label: str) -> InputError:
    return InputError(
        f"there is no {name} in it", where=label,
        allowed="a package that `aerode bench export` wrote",
    )  # fmt: skip
