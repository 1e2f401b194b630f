"""A log that grows: rows as lines first, then as chunks; none lost, none twice, a damaged one named."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from aerode.errors import DamagedError, NotFoundError, StoreError
from aerode.store import series_tail
from aerode.store.bench_file import BenchFile
from aerode.store.series_tail import (
    at_the_end,
    chunks_of,
    pack_waiting,
    rows_of,
    waiting_file,
)

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from aerode.store.series_tail import Row


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[BenchFile]:
    """An empty bench on which ten rows make a chunk."""
    monkeypatch.setattr(series_tail, "PACKED_AT", 10)
    with BenchFile.create(tmp_path / "shed.aerode", title="x") as made:
        yield made


def _rows(begin: int, end: int) -> list[Row]:
    return [(float(n), 1.3 - n / 1000.0, None if n % 3 else 0.01) for n in range(begin, end)]


def _log(bench: BenchFile, begin: int, end: int) -> None:
    with at_the_end(bench, "T6 log") as log:
        log.add(_rows(begin, end))


def _times(bench: BenchFile) -> list[float]:
    chunks, whole = chunks_of(bench, "T6 log")
    found = [float(moment) for chunk in chunks for moment in chunk["time"]]
    assert whole.rows == len(found)
    assert whole.ranges["time"] == (found[0], found[-1])
    return found


def test_rows_become_chunks_and_nothing_is_lost(bench: BenchFile) -> None:
    """One by one: two chunks and the rest as lines; a series like any other once all is packed."""
    with pytest.raises(NotFoundError):
        chunks_of(bench, "T6 log")
    for n in range(27):
        _log(bench, n, n + 1)

    assert _times(bench) == [float(n) for n in range(27)]
    assert rows_of(bench, "T6 log") == (27, 26.0)
    assert len(bench.series("T6 log")["time"]) == 20
    assert pack_waiting(bench, "T6 log") == 7
    assert pack_waiting(bench, "T6 log") == 0
    series = bench.series("T6 log")
    assert series["time"] == [float(n) for n in range(27)]
    assert series["voltage"] == [1.3 - n / 1000.0 for n in range(27)]
    assert series["current"][:4] == [0.01, None, None, 0.01]
    assert list(waiting_file(bench.place, "T6 log", 0).parent.iterdir()) == []
    assert bench.check().whole


def test_the_end_knows_the_newest_moment(bench: BenchFile) -> None:
    """Of a chunk, of a line, and of nothing."""
    with at_the_end(bench, "T6 log") as log:
        assert log.last is None
    _log(bench, 0, 10)
    with at_the_end(bench, "T6 log") as log:
        assert (log.last, log.rows) == (9.0, [])
        assert all(log.is_known(row) for row in _rows(0, 10))
        log.add(_rows(10, 12))
        assert log.last == 11.0
        assert log.is_known(_rows(11, 12)[0])
        assert not log.is_known((11.0, 0.5, None))


def test_a_line_that_was_torn_was_never_acknowledged(bench: BenchFile) -> None:
    """A power cut in the middle of the last line: it is gone, and the next row stands in its place."""
    _log(bench, 0, 4)
    file = waiting_file(bench.place, "T6 log", 0)
    file.write_bytes(file.read_bytes()[:-5])

    assert _times(bench) == [0.0, 1.0, 2.0]
    _log(bench, 3, 6)
    assert _times(bench) == [float(n) for n in range(6)]


def test_a_flipped_bit_is_named(bench: BenchFile) -> None:
    """The log says which line, and takes nothing more before a person has looked."""
    _log(bench, 0, 4)
    file = waiting_file(bench.place, "T6 log", 0)
    data = bytearray(file.read_bytes())
    place = data.index(b"1.299")
    data[place + 2] ^= 1
    file.write_bytes(bytes(data))

    for act in (
        lambda: _times(bench),
        lambda: _log(bench, 4, 5),
        lambda: pack_waiting(bench, "T6 log"),
    ):
        with pytest.raises(DamagedError, match="line 3"):
            act()


def test_a_crash_between_the_chunk_and_its_lines(bench: BenchFile) -> None:
    """The lines of a chunk that is on the bench were left over: they are not counted twice."""
    _log(bench, 0, 4)
    file = waiting_file(bench.place, "T6 log", 0)
    kept = file.read_bytes()
    pack_waiting(bench, "T6 log")
    file.write_bytes(kept)

    assert _times(bench) == [0.0, 1.0, 2.0, 3.0]
    _log(bench, 4, 6)
    assert not file.exists()
    assert _times(bench) == [float(n) for n in range(6)]


def test_a_bench_that_cannot_take_the_chunk_yet(
    bench: BenchFile, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The rows are on disk and acknowledged; the chunk is tried again with the next ones."""

    def full(*_: object) -> None:
        raise StoreError("the disk is full")

    with monkeypatch.context() as broken:
        broken.setattr(series_tail, "write_next", full)
        _log(bench, 0, 12)
        assert rows_of(bench, "T6 log") == (12, 11.0)
        with pytest.raises(StoreError):
            bench.series("T6 log")
    _log(bench, 12, 13)

    assert len(bench.series("T6 log")["time"]) == 13
