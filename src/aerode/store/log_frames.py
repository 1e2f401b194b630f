"""The write-ahead log looked at before the database is let near it: a spoilt one is refused, not cut short.

A database that finds a frame with a wrong checksum takes the log to end there, and says nothing: that
is right after a power cut, where nothing acknowledged stands behind it, and wrong where a bit flipped.
The two can be told apart:

- one changed bit is found and named: there is exactly one place where it makes the checksum agree;
- behind a power cut stands at most the one transaction that was not acknowledged, so two or more
  ends of transactions behind a wrong frame are not from a power cut.

The format is that of sqlite.org/fileformat2.html, section 4 (the write-ahead log).
"""

from __future__ import annotations

import struct
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from aerode.errors import DamagedError

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

__all__ = ["LogDamage", "damage_in", "refuse_damaged_log"]

_MAGIC = 0x377F0682
"""The last bit tells the order of bytes in the checksums."""
_HEADER, _FRAME = 32, 24
_LARGEST = 1 << 30
_MASK = 0xFFFFFFFF


@dataclass(frozen=True, slots=True)
class LogDamage:
    """What is wrong with a log: the frame (from 1; 0 for its head), and how that is known."""

    frame: int
    why: str
    behind: int
    """Ends of transactions behind it, which would be lost."""


def refuse_damaged_log(path: Path) -> None:
    """Refuse a bench whose log would be cut short in silence.

    Raises
    ------
    DamagedError
        With how to go on.
    """
    found = damage_in(path.with_name(path.name + "-wal"))
    if found is None:
        return
    where = f"frame {found.frame}" if found.frame else "its head"
    raise DamagedError(
        f"the write-ahead log beside it is damaged ({where}: {found.why}): what was written from there on "
        "would be lost without a word",
        where=str(path),
        next_step="keep copies of both files; put the newest good copy back, or move the file that ends "
        "in -wal away to go on without what was written last",
    )


def damage_in(log: Path) -> LogDamage | None:
    """What is wrong with a log; None for a sound one, none at all, or one cut by a power failure."""
    for _ in range(3):
        try:
            if not _HEADER <= log.stat().st_size <= _LARGEST:
                return None
            content = log.read_bytes()
            found = _damage(content)
            if found is None or log.read_bytes()[:_HEADER] == content[:_HEADER]:
                return found
        except OSError:
            return None  # it has just been folded away
        # Another program began the log anew meanwhile: look again.
    return None


def _damage(content: bytes) -> LogDamage | None:
    head = content[:_HEADER]
    if not any(head):
        return None
    magic, _, size, _, salt_1, salt_2, sum_1, sum_2 = struct.unpack(">8I", head)
    order = ">" if magic & 1 else "<"
    sums = _checksum(head[:24], order, (0, 0))
    if (magic | 1) != _MAGIC | 1 or sums != (sum_1, sum_2) or not _is_page_size(size):
        return LogDamage(0, "its checksum is wrong", (len(content) - _HEADER) // 4096)
    return _frames(content, order, size, (salt_1, salt_2), sums)


def _is_page_size(size: int) -> bool:
    return 512 <= size <= 65536 and size & (size - 1) == 0


def _frames(
    content: bytes, order: str, size: int, salts: tuple[int, int], sums: tuple[int, int]
) -> LogDamage | None:
    step = _FRAME + size
    count = (len(content) - _HEADER) // step
    for number in range(count):
        frame = content[_HEADER + number * step : _HEADER + (number + 1) * step]
        _, _, *own = struct.unpack(">6I", frame[:_FRAME])
        after = _checksum(frame[:8] + frame[_FRAME:], order, sums)
        if tuple(own[:2]) == salts and tuple(own[2:]) == after:
            sums = after
            continue
        behind = sum(_ends(content, n, step, salts) for n in range(number + 1, count))
        if _one_bit_off(frame, order, salts, sums, after):
            own_end = _ends(content, number, step, salts)
            return LogDamage(number + 1, "one bit of it is wrong", behind + own_end)
        if behind >= 2:
            return LogDamage(number + 1, f"{behind} transactions stand behind it", behind)
        return None
    return None


def _ends(content: bytes, number: int, step: int, salts: tuple[int, int]) -> bool:
    """True for a frame of this log that ends a transaction."""
    _, pages, *own = struct.unpack_from(">4I", content, _HEADER + number * step)
    return tuple(own) == salts and pages > 0


def _checksum(data: bytes, order: str, start: tuple[int, int]) -> tuple[int, int]:
    """The checksum of section 4.2, over 32-bit words taken in pairs, modulo 2³²."""
    a, b = start
    words = struct.unpack(f"{order}{len(data) // 4}I", data)
    for x, y in zip(words[0::2], words[1::2], strict=True):
        a = (a + x + b) & _MASK
        b = (b + y + a) & _MASK
    return a, b


def _one_bit_off(
    frame: bytes, order: str, salts: tuple[int, int], sums: tuple[int, int], after: tuple[int, int]
) -> bool:
    """True if there is one bit of the frame with which it would agree with the frames before it."""
    _, _, *own = struct.unpack(">6I", frame[:_FRAME])
    salt_bits = sum((a ^ b).bit_count() for a, b in zip(own[:2], salts, strict=True))
    sum_bits = sum((a ^ b).bit_count() for a, b in zip(own[2:], after, strict=True))
    if salt_bits + sum_bits == 1:
        return True
    if salt_bits:
        return False
    # A word changed by d at place k changes both sums by d times a weight that only depends on k.
    missing = [(w - s) & _MASK for w, s in zip(own[2:], after, strict=True)]
    weights = _weights((len(frame) - _FRAME + 8) // 8)
    words = np.frombuffer(frame[:8] + frame[_FRAME:], f"{order}u4").astype(np.uint64)
    for bit in range(32):
        is_set = (words >> np.uint64(bit)) & np.uint64(1)
        change = np.where(is_set == 1, (1 << 32) - (1 << bit), 1 << bit).astype(np.uint64)
        first = (weights[0] * change) & np.uint64(_MASK)
        second = (weights[1] * change) & np.uint64(_MASK)
        if ((first == missing[0]) & (second == missing[1])).any():
            return True
    return False


def _weights(pairs: int) -> tuple[NDArray[np.uint64], NDArray[np.uint64]]:
    """By how much each sum grows when a word grows by one, for every word of so many pairs."""
    first = np.empty(2 * pairs, dtype=np.uint64)
    second = np.empty(2 * pairs, dtype=np.uint64)
    # A first word enters as (1, 1), a second one as (0, 1); every later pair turns (a, b) into (a+b, a+2b).
    x, y = (1, 1), (0, 1)
    for pair in range(pairs - 1, -1, -1):
        first[2 * pair], second[2 * pair] = x
        first[2 * pair + 1], second[2 * pair + 1] = y
        x, y = (((a + b) & _MASK, (a + 2 * b) & _MASK) for a, b in (x, y))
    return first, second
