"""A log that is read but not yet confirmed: its packed chunks wait in a file that has no name."""

from __future__ import annotations

import contextlib
import tempfile
from typing import TYPE_CHECKING, Any

import numpy as np

from aerode.errors import StoreError
from aerode.store.series_packing import CHUNK, Packed, pack

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from numpy.typing import NDArray

__all__ = ["SeriesSpool"]


class SeriesSpool:
    """Takes rows in pieces of any size, gives packed chunks as often as asked, in flat memory.

    Examples
    --------
    >>> with SeriesSpool() as spool:
    ...     spool.add({"time": [0.0, 1.0], "voltage": [0.742, None]})
    ...     [chunk.rows for chunk in spool.chunks()]
    [2]
    """

    def __init__(self, chunk: int = CHUNK) -> None:
        self._file = tempfile.TemporaryFile()  # noqa: SIM115 - `close` ends it
        self._chunk = chunk
        self._said: list[tuple[int, tuple[dict[str, Any], ...], int]] = []
        self._waiting: list[dict[str, NDArray[np.float64]]] = []
        self._rows_waiting = 0
        self.rows = 0

    def __enter__(self) -> SeriesSpool:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the rows; what a full disk could not take is not missed any more."""
        with contextlib.suppress(OSError):
            self._file.close()

    def add(self, columns: Mapping[str, Sequence[float | None] | NDArray[np.float64]]) -> None:
        """Take some rows; None or NaN where nothing was read. All pieces have the same columns."""
        piece = {name: np.array(values, dtype=np.float64) for name, values in columns.items()}
        rows = next(iter(piece.values())).size
        if not rows:
            return
        self._waiting.append(piece)
        self._rows_waiting += rows
        self.rows += rows
        if self._rows_waiting >= self._chunk:
            self._pack(whole_only=True)

    def _pack(self, *, whole_only: bool) -> None:
        joined = {
            name: np.concatenate([piece[name] for piece in self._waiting])
            for name in self._waiting[0]
        }
        end = self._rows_waiting - self._rows_waiting % self._chunk if whole_only else self._rows_waiting  # fmt: skip
        for start in range(0, end, self._chunk):
            part = slice(start, min(start + self._chunk, end))
            self._write(pack({name: values[part] for name, values in joined.items()}))
        rest = {name: values[end:] for name, values in joined.items()}
        self._rows_waiting -= end
        self._waiting = [rest] if self._rows_waiting else []

    def _write(self, packed: Packed) -> None:
        try:
            self._file.seek(0, 2)
            self._file.write(packed.data)
            self._file.flush()
        except OSError as problem:
            raise StoreError(
                f"the rows that wait to be confirmed cannot be written: {problem.strerror or problem}",
                where=tempfile.gettempdir(),
                next_step="make room there, or set TMPDIR to a folder with room; nothing was stored",
            ) from problem
        self._said.append((packed.rows, packed.columns, len(packed.data)))

    def chunks(self) -> Iterator[Packed]:
        """Every chunk, in order, one in memory at a time."""
        if self._rows_waiting:
            self._pack(whole_only=False)
        place = 0
        for rows, columns, length in self._said:
            self._file.seek(place)
            yield Packed(rows, columns, self._file.read(length))
            place += length
