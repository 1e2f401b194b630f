"""Logged columns packed small: whole steps of the last digit, one after the other, without loss.

A logger writes decimals, so a column of numbers is a column of whole numbers and a count of digits;
neighbours differ by little. What does not fit this comes as the bytes of its doubles. Either way the
numbers that come back are the very ones that went in.

The document of a packed chunk holds `packed`: the digest of the blob with the bytes, the number of
rows, and for each column its name and how it is packed:

========  =========================================================================================
name      of the column
form      "decimal": value = whole number / 10^digits; "plain": the doubles themselves
digits    behind the decimal mark (0 to 9)
first     the whole number of the first row; the bytes hold the differences from row to row
width     bytes of one difference (1, 2, 4, 8; little end first); the first bytes of all rows come
          first, then the second ones
missing   rows in which nothing was read; if any, a bit for each row precedes, the first one highest
bytes     length of this column in the blob, compressed as in RFC 1950
low       the least value, null where nothing was read
high      the greatest
========  =========================================================================================
"""

from __future__ import annotations

import json
import zlib
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from aerode.errors import DamagedError, InputError

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

__all__ = ["CHUNK", "MEDIA", "Packed", "is_packed", "pack", "unpack"]

CHUNK = 65_536
"""Rows in one packed chunk."""
MEDIA = "application/vnd.aerode.series"
"""The media type of the blob that holds the bytes of a chunk."""
_MOST_DIGITS = 9
_MOST_ROWS = 1 << 20
_EXACT = float(1 << 53)
_LEVEL = 3
_NEXT = "run `aerode bench check`, and keep the file as it is"


@dataclass(frozen=True, slots=True)
class Packed:
    """A chunk on its way to the bench: what its document says of the columns, and the bytes."""

    rows: int
    columns: tuple[dict[str, Any], ...]
    data: bytes

    def doc(self, blob: str) -> str:
        """The document, with the digest of the blob that holds the bytes."""
        plain = {"packed": {"blob": blob, "rows": self.rows, "columns": self.columns}}
        return json.dumps(plain, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)  # fmt: skip


def pack(columns: Mapping[str, NDArray[np.float64]]) -> Packed:
    """Pack columns of one length; NaN stands where nothing was read.

    Parameters
    ----------
    columns : mapping of str to array, shape (rows,)
        In SI.

    Raises
    ------
    InputError
        Columns of different length, none at all, too many rows, or an infinite number.

    Examples
    --------
    >>> packed = pack({"voltage": np.array([0.742, np.nan, 0.741])})
    >>> unpack(packed.doc(""), packed.data)["voltage"]
    array([0.742,   nan, 0.741])
    """
    lengths = {values.size for values in columns.values()}
    if len(lengths) != 1 or not 0 < (rows := next(iter(lengths))) <= _MOST_ROWS:
        raise InputError(
            "the columns of this chunk have not the same number of rows, or none, or too many",
            allowed=f"columns of one length, up to {_MOST_ROWS} rows",
        )
    described: list[dict[str, Any]] = []
    parts: list[bytes] = []
    for name in sorted(columns):
        values = np.ascontiguousarray(columns[name], dtype=np.float64)
        if np.isinf(values).any():
            row = int(np.flatnonzero(np.isinf(values))[0]) + 1
            raise InputError(f"row {row} of the column {name!r} is not a finite number", allowed="a finite number, or nothing")  # fmt: skip
        said, part = _packed_column(values)
        described.append({"name": name, **said, "bytes": len(part)})
        parts.append(part)
    return Packed(int(rows), tuple(described), b"".join(parts))


def _packed_column(values: NDArray[np.float64]) -> tuple[dict[str, Any], bytes]:
    missing = np.isnan(values)
    count = int(missing.sum())
    there = values[~missing]
    said: dict[str, Any] = {
        "missing": count,
        "low": float(there.min()) if there.size else None,
        "high": float(there.max()) if there.size else None,
    }
    bits = np.packbits(missing).tobytes() if count else b""
    filled = _filled(values, missing) if count else values
    digits = _digits(filled)
    if digits is None:
        body = _shuffled(filled.astype("<f8", copy=False), 8)
        return {**said, "form": "plain"}, zlib.compress(bits + body, _LEVEL)
    whole = np.rint(filled * 10.0**digits).astype(np.int64)
    steps = np.diff(whole)
    width = _width(steps)
    said |= {"form": "decimal", "digits": digits, "first": int(whole[0]), "width": width}
    return said, zlib.compress(bits + _shuffled(steps.astype(f"<i{width}"), width), _LEVEL)


def _filled(values: NDArray[np.float64], missing: NDArray[np.bool_]) -> NDArray[np.float64]:
    """The value before in the place of each missing one: the smallest step."""
    if missing.all():
        return np.zeros_like(values)
    places = np.where(missing, 0, np.arange(values.size))
    places = np.maximum.accumulate(places)
    first = int(np.argmin(missing))
    return values[np.where(places < first, first, places)]


def _digits(values: NDArray[np.float64]) -> int | None:
    """The fewest digits behind the mark with which every value is exactly a decimal."""
    for digits in range(_MOST_DIGITS + 1):
        power = 10.0**digits
        if _is_decimal(values[:256], power) and _is_decimal(values, power):
            return digits
    return None


def _is_decimal(values: NDArray[np.float64], power: float) -> bool:
    if not (np.abs(values) < _EXACT / power).all():
        return False
    return bool((np.rint(values * power) / power == values).all())


def _width(steps: NDArray[np.int64]) -> int:
    low, high = (int(steps.min()), int(steps.max())) if steps.size else (0, 0)
    return next(width for width in (1, 2, 4, 8) if -(1 << (8 * width - 1)) <= low and high < 1 << (8 * width - 1))  # fmt: skip


def _shuffled(values: NDArray[Any], width: int) -> bytes:
    return values.view(np.uint8).reshape(-1, width).T.tobytes()


# -- back -----------------------------------------------------------------------------------------


def is_packed(plain: Any) -> bool:
    """True for the document of a packed chunk; one of lists has no such key with a table under it."""
    return isinstance(plain, dict) and isinstance(plain.get("packed"), dict)  # pyright: ignore[reportUnknownMemberType]


def unpack(doc: str, data: bytes, *, where: str = "") -> dict[str, NDArray[np.float64]]:
    """The columns of a packed chunk, NaN where nothing was read.

    Parameters
    ----------
    doc : str
        The document of the chunk.
    data : bytes
        Its blob.
    where : str
        The bench, for the refusal.

    Raises
    ------
    DamagedError
        Document and bytes do not belong together; never more memory than the rows need is taken.
    """
    try:
        said = json.loads(doc)["packed"]
        rows = int(said["rows"])
        if not 0 < rows <= _MOST_ROWS:
            raise ValueError("rows")
        answer: dict[str, NDArray[np.float64]] = {}
        start = 0
        for column in said["columns"]:
            end = start + int(column["bytes"])
            answer[str(column["name"])] = _unpacked(column, data[start:end], rows)
            start = end
        if start != len(data):
            raise ValueError("bytes")
    except (ValueError, KeyError, TypeError, OverflowError, zlib.error) as problem:
        raise DamagedError(
            "a chunk of a series cannot be unpacked", where=where, next_step=_NEXT
        ) from problem
    return answer


def _unpacked(said: dict[str, Any], part: bytes, rows: int) -> NDArray[np.float64]:
    plain = said["form"] == "plain"
    width = 8 if plain else int(said["width"])
    count = rows if plain else rows - 1
    head = (rows + 7) // 8 if said["missing"] else 0
    wanted = head + count * width
    if said["form"] not in {"plain", "decimal"} or width not in {1, 2, 4, 8}:
        raise ValueError("form")
    body = zlib.decompressobj().decompress(part, wanted + 1)  # a bomb stops here
    if len(body) != wanted:
        raise ValueError("length")
    shuffled = np.frombuffer(body, np.uint8, count * width, head).reshape(width, count)
    raw = np.ascontiguousarray(shuffled.T).reshape(-1)
    if plain:
        values = raw.view("<f8").astype(np.float64)
    else:
        whole = np.empty(rows, dtype=np.int64)
        whole[0] = int(said["first"])
        np.cumsum(raw.view(f"<i{width}"), dtype=np.int64, out=whole[1:])
        whole[1:] += whole[0]
        values = whole / 10.0 ** int(said["digits"])
    if head:
        bits = np.unpackbits(np.frombuffer(body, np.uint8, head), count=rows)
        values[bits.astype(bool)] = np.nan
    if not np.isfinite(values[~np.isnan(values)]).all():
        raise ValueError("finite")
    return values
