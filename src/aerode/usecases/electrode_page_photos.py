"""Photos of an electrode: drawn afresh, so that no place and no camera stays in them, and kept on the bench."""

from __future__ import annotations

import io
from dataclasses import dataclass
from typing import TYPE_CHECKING

from PIL import Image, ImageOps, UnidentifiedImageError

from aerode.errors import InputError, NotFoundError
from aerode.records.electrodes import Electrode

if TYPE_CHECKING:
    from aerode.store.bench_file import BenchFile

__all__ = ["Photo", "drawn_afresh", "photo_of", "photos_of"]

_FORMATS = ("JPEG", "PNG", "WEBP")
_LONGEST = 2400  # judgement
"""Pixels of the longer side that are kept: enough to see a crack, small enough for a bench file."""
_QUALITY = 85  # judgement
_MEDIA = "image/jpeg"
_DIGEST = 64
"""Hexadecimal digits of a SHA-256 digest (FIPS 180-4)."""


@dataclass(frozen=True, slots=True)
class Photo:
    """A photo that an electrode names; `kept` is false where only its name was noted."""

    name: str
    kept: bool


def drawn_afresh(data: bytes, *, pixels: int) -> bytes:
    """A photo as a plain JPEG: upright, at most 2400 pixels long, without any of its notes.

    Parameters
    ----------
    data : bytes
        JPEG, PNG or WebP.
    pixels : int
        The most pixels it may have; looked at before it is unpacked.

    Returns
    -------
    bytes
        JPEG. Where and when it was taken, with which camera, and its small preview are gone.

    Raises
    ------
    InputError
        Not a photo of these kinds, torn, or too large.
    """
    try:
        with Image.open(io.BytesIO(data), formats=_FORMATS) as photo:
            width, height = photo.size
            if width * height > pixels:
                raise InputError(
                    f"the photo has {width * height / 1e6:.0f} million pixels", where="photo",
                    allowed=f"at most {pixels / 1e6:.0f} million", next_step="make it smaller first",
                )  # fmt: skip
            plain = ImageOps.exif_transpose(photo).convert("RGB")
    except (UnidentifiedImageError, Image.DecompressionBombError, OSError, SyntaxError, ValueError) as error:  # fmt: skip
        raise InputError(
            "this file is no photo that can be read", where="photo", allowed="JPEG, PNG or WebP, not torn",
            next_step="on a phone, choose the most compatible format for photos and take it again",
        ) from error  # fmt: skip
    plain.thumbnail((_LONGEST, _LONGEST))
    bare = Image.new("RGB", plain.size)
    bare.paste(plain)
    out = io.BytesIO()
    bare.save(out, format="JPEG", quality=_QUALITY, optimize=True)
    return out.getvalue()


def photos_of(electrode: Electrode) -> tuple[Photo, ...]:
    """The photos an electrode names; those kept on the bench go by their digest."""
    return tuple(Photo(name, _is_digest(name)) for name in electrode.photos)


def _is_digest(name: str) -> bool:
    return len(name) == _DIGEST and set(name) <= set("0123456789abcdef")


def photo_of(bench: BenchFile, name: str, digest: str) -> bytes:
    """One kept photo of an electrode.

    Raises
    ------
    NotFoundError
        The electrode does not name it, or it is not on the bench.
    """
    electrode = bench.get(Electrode, name)
    if digest not in electrode.photos or not _is_digest(digest):
        raise NotFoundError(f"{name} has no such photo", where=name, allowed="a photo of its page",
                            next_step="open the page of the electrode")  # fmt: skip
    media, data = bench.kept(digest)
    if media != _MEDIA:
        raise NotFoundError(f"{digest[:12]} is no photo", where=name, next_step="open the page of the electrode")  # fmt: skip
    return data
