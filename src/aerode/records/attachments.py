"""An attachment: a photo, a raw log or another file that belongs to a record of the bench."""

from __future__ import annotations

from typing import Annotated

from annotated_types import Ge, MaxLen

from aerode.records.marks import Moment, Name, record

__all__ = ["Attachment", "AttachmentLine", "BenchAttachments", "BenchTakenOut"]


@record
class Attachment:
    """One file and the record it belongs to; the content lies on the bench under its digest.

    A photo is drawn afresh before it is kept: place, camera and moment are not in it. The file as
    it came from the camera is kept beside it only where a person asked for that (`original`).
    """

    name: Name
    to_kind: Name
    """The kind of the record it belongs to: "electrode"."""
    to: Name
    """The name of that record."""
    file: Annotated[str, MaxLen(255)]
    """What the file was called."""
    media: str
    """What it is, as in "image/jpeg"."""
    digest: str
    """Under which the bench keeps it."""
    sha256: str
    """Of the content, for any program that computes it (FIPS 180-4)."""
    length: Annotated[int, Ge(0)]
    """Of the content [bytes]."""
    original: str = ""
    """Digest of the photo as it came from the camera, with whatever place it carries."""
    made: Moment = ""
    note: str = ""


@record
class AttachmentLine:
    """One attachment as it is listed; `whole` is False where its content does not agree any more."""

    name: str
    to: str
    file: str
    media: str
    length: int
    sha256: str
    original: bool = False
    note: str = ""
    whole: bool = True


@record
class BenchAttachments:
    """What was attached, or what there is."""

    schema: str = "aerode.bench-attachments/1"
    headline: str
    attachments: tuple[AttachmentLine, ...] = ()
    said: tuple[str, ...] = ()
    """What was done to a file before it was kept."""


@record
class BenchTakenOut:
    """A file that was written out of the bench, and its checksum."""

    schema: str = "aerode.bench-taken-out/1"
    headline: str
    path: str
    media: str
    length: int
    sha256: str
