"""Digests: how each written row is hashed, and how the journal chains them.

A digest is the SHA-256 (FIPS 180-4) of the JSON array of all other columns of the row, in the
order given here, without spaces, non-ASCII characters as themselves, in UTF-8. A JSON array
keeps the columns apart whatever text they hold, so no two different rows share one input.
"""

from __future__ import annotations

import hashlib
import json
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

__all__ = [
    "chain_next",
    "chain_start",
    "digest_of",
    "of_blob",
    "of_revision",
    "of_series",
    "parents_text",
]


_text = json.encoder.encode_basestring
"""A text as JSON, letters outside ASCII as themselves."""


def digest_of(columns: Sequence[str | int]) -> str:
    """The hexadecimal SHA-256 of some columns.

    >>> digest_of(["a", "b"]) == digest_of(["ab", ""])
    False
    """
    # The text that json.dumps gives without spaces, an eighth of its work where many rows are hashed.
    text = f"[{','.join([_text(c) if type(c) is str else json.dumps(c) for c in columns])}]"
    # Bytes that are no UTF-8 come as surrogates out of a damaged row: hashed, never matched.
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


def parents_text(parents: Iterable[str]) -> str:
    """The parents of a revision as they stand in its row: a sorted JSON array."""
    return json.dumps(sorted(parents), separators=(",", ":"))


def of_revision(
    *, record: str, kind: str, schema: str, at: str, who: str, why: str, doc: str, parents: str
) -> str:
    """The digest of a revision."""
    return digest_of([record, kind, schema, at, who, why, doc, parents])


def of_series(*, series: str, chunk: int, at: str, doc: str) -> str:
    """The digest of one chunk of a series."""
    return digest_of([series, chunk, at, doc])


def of_blob(*, media: str, data: bytes) -> str:
    """The digest of a blob: its media type and the SHA-256 of its bytes."""
    return digest_of([media, hashlib.sha256(data).hexdigest()])


def chain_start(bench: str) -> str:
    """What the first journal line is chained to: the identity of the bench."""
    return digest_of(["aerode bench file", bench])


def chain_next(chain: str, seq: int, digest: str) -> str:
    """The chain value of a journal line from the one before it."""
    return digest_of([chain, seq, digest])
