"""Photos and raw logs beside the records they belong to: attach, list, take out again."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from aerode.errors import AerodeError, InputError, NotFoundError, StoreError, some_of
from aerode.records import adapter
from aerode.records.attachments import (
    Attachment,
    AttachmentLine,
    BenchAttachments,
    BenchTakenOut,
)
from aerode.records.electrodes import Electrode
from aerode.store import creating, digests
from aerode.usecases.bench_show import class_of_kind
from aerode.usecases.changing import change_record
from aerode.usecases.electrode_page_photos import drawn_afresh

if TYPE_CHECKING:
    import os
    from collections.abc import Iterable, Sequence

    from aerode.store.bench_file import BenchFile

__all__ = ["attach", "attach_photos", "list_attachments", "take_out"]

_LARGEST = 64 * 2**20
"""The largest file that is attached [bytes]; a longer log is imported as a series."""
_PIXELS = 100_000_000  # judgement: above any camera of a phone, below what fills a small memory
_TEXTS = {".csv": "text/csv", ".json": "application/json"}
_PHOTOS = (b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n")
_OTHER_PHOTOS = (b"GIF8", b"II*\x00", b"MM\x00*", b"BM")


def attach(
    bench: BenchFile,
    to: str,
    file: str | os.PathLike[str] | bytes,
    *,
    file_name: str = "",
    name: str = "",
    note: str = "",
    keep_original: bool = False,
    who: str = "",
) -> BenchAttachments:
    """Keep a file on the bench beside a record, in one transaction with what names it.

    A photo is drawn afresh, upright and as JPEG: the place, the camera and the moment in it are
    gone. It also stands among the photos of an electrode. Every other file is kept as it is.

    Parameters
    ----------
    bench : BenchFile
        Open for writing.
    to : str
        Kind and name of the record: "electrode/T3", "run/T3 loads 1".
    file : path or bytes
        The file, or its content.
    file_name : str
        What it is called, where content is handed in.
    name : str
        Of the attachment; after the record and the file otherwise.
    note : str
        Kept with it.
    keep_original : bool
        Also keep a photo as it came from the camera, with whatever place it carries.
    who : str
        For the history.

    Returns
    -------
    BenchAttachments
        The one that is there now; the same content at the same record is kept once.

    Raises
    ------
    NotFoundError
        No such file or record.
    InputError
        Empty, too large, an archive, a photo that cannot be read; or the name is taken.
    """
    kind, of = _record(bench, to)
    called, raw = _content(file, file_name)
    ready = _ready(raw, called, keep_original=keep_original)
    there = _attached(bench, kind, of, ready)
    if there and there.original == (ready.original or there.original):
        line = _line(there, whole=True)
        return BenchAttachments(headline=f"{there.name} is attached already", attachments=(line,))
    one = _attachment(
        kind, of, ready, name=there.name if there else _free(bench, name, f"{of} {called}"), note=note
    )  # fmt: skip
    bench.put_all([one], files=ready.files, why=f"attached {called}", who=who)
    _name(bench, [one], why=f"attached {called}", who=who)
    return BenchAttachments(
        headline=f"Attached {called} to {kind} {of}: {one.sha256[:16]}",
        attachments=(_line(one, whole=True),),
        said=ready.said,
    )


def attach_photos(
    bench: BenchFile, electrode: str, photos: Sequence[tuple[str, bytes]], *, pixels: int = _PIXELS
) -> BenchAttachments:
    """Keep photos with an electrode: all of them in one transaction, or none where one cannot be read.

    Parameters
    ----------
    bench : BenchFile
        Open for writing.
    electrode : str
        Its name.
    photos : sequence of (str, bytes)
        What each file was called, and its content as it was handed in.
    pixels : int
        The most pixels each may have.

    Returns
    -------
    BenchAttachments
        Those that are there now; the same photo twice stands once.

    Raises
    ------
    InputError
        No file, or one that is no photo.
    """
    if not photos:
        raise InputError("no photo was chosen", where="photo", allowed="one file at least",
                         next_step="choose a file, or take a photo with the phone")  # fmt: skip
    kept: dict[str, Attachment] = {}
    files: list[tuple[bytes, str]] = []
    for called, raw in photos:
        data = drawn_afresh(raw, pixels=pixels)
        name = Path(called.replace("\\", "/")).name[-200:] or "photo"
        ready = _Ready.of(name, data, "image/jpeg")
        there = _attached(bench, "electrode", electrode, ready)
        if ready.digest in kept:
            continue
        taken = [one.name for one in kept.values()]
        kept[ready.digest] = there or _attachment(
            "electrode", electrode, ready, name=_free(bench, "", f"{electrode} {name}", taken)
        )
        files.append((data, ready.media))
    bench.put_all(kept.values(), files=files, why="photo")
    _name(bench, list(kept.values()), why="photo")
    lines = tuple(_line(one, whole=True) for one in kept.values())
    count = "one photo" if len(lines) == 1 else f"{len(lines)} photos"
    return BenchAttachments(
        headline=f"Attached {count} to electrode {electrode}", attachments=lines
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Ready:
    """A file as it will be kept."""

    called: str
    data: bytes
    media: str
    digest: str
    original: str = ""
    files: tuple[tuple[bytes, str], ...]
    said: tuple[str, ...] = ()

    @classmethod
    def of(cls, called: str, data: bytes, media: str) -> _Ready:
        digest = digests.of_blob(media=media, data=data)
        return cls(called=called, data=data, media=media, digest=digest, files=((data, media),))


def _ready(raw: bytes, called: str, *, keep_original: bool) -> _Ready:
    data, media, said = _made_ready(raw, called)
    ready = replace(_Ready.of(called, data, media), said=said)
    if not keep_original or not media.startswith("image/"):
        return ready
    kind = "image/png" if raw.startswith(_PHOTOS[1]) else "image/jpeg"
    beside = "the file as it came is kept beside it, with whatever place it carries"
    return replace(
        ready, original=digests.of_blob(media=kind, data=raw), said=(*said, beside),
        files=(*ready.files, (raw, kind)),
    )  # fmt: skip


def _attached(bench: BenchFile, kind: str, of: str, ready: _Ready) -> Attachment | None:
    """The same content at the same record, where it is there already."""
    found = bench.saying(Attachment, "digest", ready.digest)
    return next((one for one in found if (one.to_kind, one.to) == (kind, of)), None)


def _attachment(kind: str, of: str, ready: _Ready, *, name: str, note: str = "") -> Attachment:
    return Attachment(
        name=name, to_kind=kind, to=of, file=ready.called, media=ready.media, digest=ready.digest,
        sha256=hashlib.sha256(ready.data).hexdigest(), length=len(ready.data),
        original=ready.original, note=note,
    )  # fmt: skip


def _record(bench: BenchFile, to: str) -> tuple[str, str]:
    kind, slash, name = to.partition("/")
    if not slash or not name:
        raise InputError(
            f"{to!r} is no kind and name", where="--to", allowed='as in --to "electrode/T3"'
        )
    cls = class_of_kind(kind)
    bench.get(cls, name)
    return adapter.schema_name(cls), name


def _content(file: str | os.PathLike[str] | bytes, file_name: str) -> tuple[str, bytes]:
    if isinstance(file, bytes):
        called, raw = Path(file_name or "file").name, file
    else:
        path = Path(file)
        called = Path(file_name or path).name
        if not path.is_file():
            raise NotFoundError(
                "no such file is there", where=str(path), next_step="check the name"
            )
        if path.stat().st_size > _LARGEST:
            raise _too_large(called)
        try:
            raw = path.read_bytes()
        except OSError as problem:
            raise StoreError(f"it cannot be read: {problem.strerror}", where=str(path)) from problem
    if len(raw) > _LARGEST:
        raise _too_large(called)
    if not raw:
        raise InputError("the file is empty", where=called, allowed="a file with something in it")
    return called[-200:], raw


def _too_large(called: str) -> InputError:
    return InputError(
        "this file is too large to be attached", where=called, allowed=f"up to {_LARGEST // 2**20} MB",
        next_step="import a long log as a series instead: aerode log --help",
    )  # fmt: skip


def _made_ready(raw: bytes, called: str) -> tuple[bytes, str, tuple[str, ...]]:
    """What is kept of a file, what it is, and what was done to it."""
    if raw.startswith(_PHOTOS) or (raw[:4] == b"RIFF" and raw[8:12] == b"WEBP"):
        data = drawn_afresh(raw, pixels=_PIXELS)
        return data, "image/jpeg", ("drawn afresh: place, camera and moment are not in it",)
    if raw.startswith(_OTHER_PHOTOS) or raw[4:12] in {
        b"ftypheic",
        b"ftypheix",
        b"ftypmif1",
        b"ftypavif",
    }:
        raise InputError(
            "this sort of photo is not taken", where=called, allowed="JPEG, PNG or WebP",
            next_step="save it as JPEG; a phone has a setting for the most compatible format",
        )  # fmt: skip
    if raw.startswith(b"%PDF-"):
        return raw, "application/pdf", ()
    return raw, _text_or_bytes(raw, Path(called).suffix.lower()), ()


def _text_or_bytes(raw: bytes, ending: str) -> str:
    """Text is named as text whatever it holds: a page in it is never shown as a page."""
    try:
        plain = b"\x00" not in raw and bool(raw.decode("utf-8"))
    except UnicodeDecodeError:
        plain = b"\x00" not in raw and ending in {*_TEXTS, ".txt", ".log", ".tsv", ".dat"}
    return _TEXTS.get(ending, "text/plain") if plain else "application/octet-stream"


def _free(bench: BenchFile, name: str, otherwise: str, also: Iterable[str] = ()) -> str:
    taken = {*bench.names(Attachment), *also}
    if name:
        if name in taken:
            raise InputError(
                f"an attachment {name!r} is there already", where="--name", allowed="a free name"
            )
        return name
    found, number = otherwise[:80], 1
    while found in taken:
        number += 1
        found = f"{otherwise[:74]} ({number})"
    return found


def _name(bench: BenchFile, attached: Sequence[Attachment], *, why: str, who: str = "") -> None:
    """Put photos among those of their electrode, onto whatever it says at this moment."""
    photos = [one for one in attached if one.to_kind == "electrode" and one.media.startswith("image/")]  # fmt: skip

    def named(electrode: Electrode) -> Electrode:
        every = (*electrode.photos, *(one.digest for one in photos))
        return replace(electrode, photos=tuple(dict.fromkeys(every)))

    if photos:
        change_record(bench, Electrode, photos[0].to, named, why=why, who=who)


def list_attachments(bench: BenchFile, to: str = "") -> BenchAttachments:
    """Every attachment with its checksum, compared with the content that is kept.

    Photos that an electrode names by their digest alone are listed too.

    Parameters
    ----------
    bench : BenchFile
        Open.
    to : str
        Only those of one record, as "electrode/T3".

    Returns
    -------
    BenchAttachments

    Raises
    ------
    NotFoundError, InputError
        No such record.
    """
    kind, of = _record(bench, to) if to else ("", "")
    found = [a for a in bench.all(Attachment) if not to or (a.to_kind, a.to) == (kind, of)]
    lines = [_line(a, whole=_agrees(bench, a)) for a in found]
    known = {a.digest for a in found}
    for electrode in bench.all(Electrode) if kind in {"", "electrode"} else ():
        if not of or electrode.name == of:
            lines += _bare_photos(bench, electrode, known)
    count = "one attachment" if len(lines) == 1 else f"{len(lines)} attachments"
    broken = [line.name for line in lines if not line.whole]
    return BenchAttachments(
        headline=f"DAMAGED: {some_of(broken, 3)}" if broken else f"{count}; each agrees with its checksum" if lines else "nothing is attached",
        attachments=tuple(lines),
    )  # fmt: skip


def _agrees(bench: BenchFile, one: Attachment) -> bool:
    try:
        _, data = bench.kept(one.digest)
    except AerodeError:
        return False
    return hashlib.sha256(data).hexdigest() == one.sha256


def _bare_photos(bench: BenchFile, electrode: Electrode, known: set[str]) -> list[AttachmentLine]:
    lines: list[AttachmentLine] = []
    for digest in electrode.photos:
        if digest in known:
            continue
        try:
            media, data = bench.kept(digest)
        except AerodeError:
            continue  # a name that was only noted
        lines.append(
            AttachmentLine(
                name=digest[:12], to=f"electrode/{electrode.name}", file=f"{digest[:12]}.jpg",
                media=media, length=len(data), sha256=hashlib.sha256(data).hexdigest(),
            )
        )  # fmt: skip
    return lines


def _line(one: Attachment, *, whole: bool) -> AttachmentLine:
    return AttachmentLine(
        name=one.name, to=f"{one.to_kind}/{one.to}", file=one.file, media=one.media,
        length=one.length, sha256=one.sha256, original=bool(one.original), note=one.note, whole=whole,
    )  # fmt: skip


def take_out(
    bench: BenchFile, name: str, path: str | os.PathLike[str] = "", *, original: bool = False
) -> BenchTakenOut:
    """Write an attachment to a new file, verified.

    Parameters
    ----------
    bench : BenchFile
        Open.
    name : str
        Of the attachment, or the beginning of the digest of a photo that an electrode names.
    path : path
        Where to; under its own file name in the present folder otherwise.
    original : bool
        The photo as it came from the camera, where it was kept.

    Returns
    -------
    BenchTakenOut

    Raises
    ------
    NotFoundError
        No such attachment; no original was kept.
    DamagedError
        The content does not agree with its digest; nothing is written.
    StoreError
        Something is there already, or it cannot be written.
    """
    one = bench.find(Attachment, name)
    digest = _digest_of(bench, name, one, original=original)
    media, data = bench.kept(digest)
    called = Path(one.file if one else f"{name}.jpg")
    if media == "image/jpeg" and called.suffix.lower() not in {".jpg", ".jpeg"}:
        called = called.with_suffix(".jpg")
    target = Path(path) if str(path) else Path(called.name)
    try:
        with target.open("xb") as file:
            file.write(data)
        creating.sync_file(target)
    except FileExistsError as problem:
        raise StoreError(
            "something is there already, and it is not overwritten", where=str(target),
            next_step="choose another name: --out FILE",
        ) from problem  # fmt: skip
    except OSError as problem:
        raise StoreError(
            f"it cannot be written: {problem.strerror}", where=str(target)
        ) from problem
    sha256 = hashlib.sha256(data).hexdigest()
    return BenchTakenOut(
        headline=f"Wrote {target}, {len(data)} bytes, verified", path=str(target), media=media,
        length=len(data), sha256=sha256,
    )  # fmt: skip


def _digest_of(bench: BenchFile, name: str, one: Attachment | None, *, original: bool) -> str:
    if one is not None:
        if original and not one.original:
            raise NotFoundError(
                f"of {name!r} no original was kept", where=bench.label,
                next_step="without --original the photo as it is shown is taken out",
            )  # fmt: skip
        return one.original if original else one.digest
    photos = {
        d for e in bench.all(Electrode) for d in e.photos if len(name) >= 8 and d.startswith(name)
    }
    if len(photos) == 1:
        return photos.pop()
    bench.get(Attachment, name)  # refuses with the near names
    raise NotFoundError(f"no attachment is called {name!r}", where=bench.label)
