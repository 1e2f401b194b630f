"""Long logs on the bench: packed without loss, streamed, verified, thinned without losing a spike."""

from __future__ import annotations

import json
import math
import sqlite3
import tracemalloc
import zlib
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from aerode.errors import ConflictError, DamagedError, InputError, NotFoundError
from aerode.records.runs import Run
from aerode.records.tables import TableHabit
from aerode.store.bench_file import BenchFile
from aerode.store.series import outline, put_logged, read_chunks
from aerode.store.series_habits import habits, remember
from aerode.store.series_packing import pack, unpack
from aerode.store.series_spool import SeriesSpool
from aerode.store.series_thinning import thin

NUMBERS = st.one_of(
    st.floats(allow_nan=True, allow_infinity=False),
    st.integers(-(10**6), 10**6).map(lambda n: n / 1000),
    st.sampled_from([0.0, 1e-9, 123456789.123456789, 2.0**60, 5e-324, 0.1 + 0.2]),
)


@given(st.lists(NUMBERS, min_size=1, max_size=40))
def test_what_goes_in_comes_out(values: list[float]) -> None:
    """Every double, and every gap, whatever mix of them stands in a column."""
    column = np.array(values)
    packed = pack({"a": column, "b": column[::-1]})

    back = unpack(packed.doc("x"), packed.data)

    assert np.array_equal(back["a"], column, equal_nan=True)
    assert np.array_equal(back["b"], column[::-1], equal_nan=True)


def test_decimals_are_packed_small() -> None:
    """A day of readings with four digits takes less than two bytes for each number."""
    dice = np.random.default_rng(1)
    volts = np.round(0.7 + 0.01 * dice.standard_normal(65_536), 4)
    packed = pack({"time": np.arange(65_536) / 10, "voltage": volts})

    assert len(packed.data) < 2 * 65_536
    assert {c["name"]: (c["form"], c["digits"]) for c in packed.columns} == {"time": ("decimal", 1), "voltage": ("decimal", 4)}  # fmt: skip


def test_columns_that_cannot_be_packed() -> None:
    """Different lengths, none, infinity."""
    for columns in ({}, {"a": np.zeros(0)}, {"a": np.zeros(2), "b": np.zeros(3)}):
        with pytest.raises(InputError, match="same number of rows"):
            pack(columns)
    with pytest.raises(InputError, match="row 2 of the column 'a'"):
        pack({"a": np.array([0.0, math.inf])})


def test_a_spoilt_chunk_is_damage_and_no_bomb() -> None:
    """Any document that does not fit the bytes is refused; a bomb of zeros unpacks no further than its rows."""
    packed = pack({"a": np.array([0.5, 0.25, np.nan])})
    plain = json.loads(packed.doc("x"))
    column = plain["packed"]["columns"][0]
    spoilt = [{"width": 3}, {"width": 8}, {"bytes": 1}, {"form": "odd"}, {"digits": "x"}, {"missing": 0}]  # fmt: skip
    for change in spoilt:
        plain["packed"]["columns"] = [column | change]
        with pytest.raises(DamagedError):
            unpack(json.dumps(plain), packed.data)
    for rows in (0, -1, 4_000_000_000, 2):
        doc = json.dumps({"packed": plain["packed"] | {"rows": rows, "columns": [column]}})
        with pytest.raises(DamagedError):
            unpack(doc, packed.data)

    bomb = zlib.compress(b"\x00" * 50_000_000)
    said = column | {"bytes": len(bomb), "missing": 0, "form": "plain"}
    tracemalloc.start()
    with pytest.raises(DamagedError):
        unpack(json.dumps({"packed": {"blob": "x", "rows": 10, "columns": [said]}}), bomb)
    assert tracemalloc.get_traced_memory()[1] < 1_000_000
    tracemalloc.stop()
    endless = np.full(2, np.inf).view(np.uint8).reshape(2, 8).T.tobytes()
    part = zlib.compress(endless)
    said = column | {"bytes": len(part), "missing": 0, "form": "plain"}
    with pytest.raises(DamagedError):
        unpack(json.dumps({"packed": {"blob": "x", "rows": 2, "columns": [said]}}), part)


def _logged(
    bench: BenchFile, rows: int = 1000, chunk: int = 300
) -> tuple[list[float], list[float | None]]:
    times = [n / 10 for n in range(rows)]
    volts = [None if n % 97 == 5 else round(0.7 + 0.001 * math.sin(n), 4) for n in range(rows)]
    with SeriesSpool(chunk) as spool:
        for start in range(0, rows, 170):
            part = slice(start, start + 170)
            spool.add({"time": times[part], "voltage": volts[part]})
        put_logged(bench, [Run(name="day")], {"day": spool.chunks()}, why="taken")
    return times, volts


@pytest.fixture
def bench(tmp_path: Path) -> BenchFile:
    """A new bench."""
    return BenchFile.create(tmp_path / "shed.aerode", title="x")


def test_a_log_and_its_run_come_together(bench: BenchFile) -> None:
    """One transaction, one history; the plain reader of series and the stream give the same."""
    times, volts = _logged(bench)

    chunks = list(read_chunks(bench, "day"))
    assert [chunk["time"].size for chunk in chunks] == [300, 300, 300, 100]
    assert np.concatenate([chunk["time"] for chunk in chunks]).tolist() == times
    assert bench.series("day") == {"time": times, "voltage": volts}
    said = outline(bench, "day")
    assert (said.rows, said.chunks, said.missing) == (1000, 4, {"time": 0, "voltage": 11})
    assert said.ranges["time"] == (0.0, 99.9)
    assert bench.get(Run, "day").name == "day"
    assert bench.check().whole


def test_a_series_is_never_written_twice(bench: BenchFile) -> None:
    """The second one is refused, and so is the run that would come with it."""
    _logged(bench)
    with SeriesSpool() as spool:
        spool.add({"time": [0.0], "voltage": [0.5]})
        with pytest.raises(ConflictError, match="a series 'day' already"):
            put_logged(bench, [Run(name="other")], {"day": spool.chunks()})
    assert bench.find(Run, "other") is None
    with pytest.raises(NotFoundError):
        list(read_chunks(bench, "night"))


def test_lists_of_the_first_layout_are_streamed_too(bench: BenchFile) -> None:
    """A series that was stored as lists gives the same kind of chunks and the same outline."""
    bench.append("old", {"time": [0.0, 1.0], "voltage": [0.7, None]})
    bench.append("old", {"time": [2.0], "voltage": [0.6]})

    assert [chunk["time"].tolist() for chunk in read_chunks(bench, "old")] == [[0.0, 1.0], [2.0]]
    said = outline(bench, "old")
    assert (said.rows, said.ranges["voltage"], said.missing["voltage"]) == (3, (0.6, 0.7), 1)


@pytest.mark.parametrize("table", ["series", "blob"])
def test_a_changed_chunk_is_named(bench: BenchFile, table: str) -> None:
    """One changed letter of the description or of the bytes: refused on reading, named by the check."""
    _logged(bench)
    path = bench.path
    assert path is not None
    bench.close()
    with sqlite3.connect(path) as connection:
        connection.execute(f"DROP TRIGGER {table}_no_update")
        column, value = ("doc", "replace(doc, '\"digits\":4', '\"digits\":3')") if table == "series" else ("data", "zeroblob(length(data))")  # fmt: skip
        where = "chunk = 1" if table == "series" else "rowid = 2"
        connection.execute(f"UPDATE {table} SET {column} = {value} WHERE {where}")
    connection.close()

    with BenchFile.open(path) as again:
        with pytest.raises(DamagedError):
            list(read_chunks(again, "day"))
        checked = again.check()
    assert not checked.whole
    assert any(table == "blob" or "day, chunk 1" in fault.name for fault in checked.faults)


def test_writing_takes_flat_memory(bench: BenchFile) -> None:
    """A log of 60 chunks takes no more memory than one of 6."""
    peaks: list[int] = []
    for name, pieces in (("short", 6), ("long", 60)):
        tracemalloc.start()
        with SeriesSpool(4096) as spool:
            for piece in range(pieces):
                times = piece * 4096 + np.arange(4096.0)
                spool.add({"time": times, "voltage": np.round(np.sin(times), 4)})
            put_logged(bench, [], {name: spool.chunks()})
        assert sum(chunk["time"].size for chunk in read_chunks(bench, name)) == 4096 * pieces
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
    assert peaks[1] < 1.3 * peaks[0] + 200_000


class TestThinning:
    """What is drawn of a long log."""

    @staticmethod
    def _plain(x: np.ndarray, y: np.ndarray, start: float, end: float, columns: int) -> set[tuple[float, float]]:  # fmt: skip
        """The slow way: walk through the rows, keep four for each column."""
        kept: dict[int, list[tuple[float, float]]] = {}
        for a, b in zip(x.tolist(), y.tolist(), strict=True):
            if math.isnan(b) or not start <= a <= end:
                continue
            place = min(int((a - start) / ((end - start) / columns)), columns - 1)
            kept.setdefault(place, []).append((a, b))
        found: set[tuple[float, float]] = set()
        for points in kept.values():
            low, high = min(p[1] for p in points), max(p[1] for p in points)
            found |= {points[0], points[-1]}
            found |= {next(p for p in points if p[1] == low), next(p for p in points if p[1] == high)}  # fmt: skip
        return found

    @given(
        values=st.lists(st.one_of(st.integers(-5, 5), st.just(math.nan)), min_size=2, max_size=60),
        sizes=st.integers(1, 9),
        columns=st.integers(1, 12),
        cut=st.integers(0, 20),
    )
    def test_it_keeps_what_the_slow_way_keeps(
        self, values: list[float], sizes: int, columns: int, cut: int
    ) -> None:
        """First, least, greatest and last of every column of pixels, whatever the chunks."""
        x, y = np.arange(float(len(values))), np.array(values, dtype=float)
        chunks = [{"time": x[n : n + sizes], "voltage": y[n : n + sizes]} for n in range(0, len(values), sizes)]  # fmt: skip
        start, end = float(min(cut, len(values) - 2)), float(len(values) - 1)

        found = thin(chunks, "voltage", start=start, end=end, columns=columns)

        assert set(zip(found.x.tolist(), found.y.tolist(), strict=True)) == self._plain(x, y, start, end, columns)  # fmt: skip
        assert (np.diff(found.x) >= 0).all()

    def test_one_spike_in_a_million_is_drawn(self) -> None:
        """A single row out of a million that jumps is among the few thousand points."""
        y = np.full(1_000_000, 0.7)
        y[654_321] = 0.1
        chunks = [{"time": np.arange(n, n + 100_000.0), "voltage": y[n : n + 100_000]} for n in range(0, 1_000_000, 100_000)]  # fmt: skip

        found = thin(chunks, "voltage", start=0.0, end=999_999.0, columns=800)

        assert (654_321.0, 0.1) in zip(found.x.tolist(), found.y.tolist(), strict=True)
        assert found.x.size <= 4 * 800
        assert found.rows == 1_000_000

    def test_a_column_that_is_not_there(self) -> None:
        """No points, and no failure."""
        assert thin([{"time": np.arange(3.0)}], "voltage", start=0, end=2).x.size == 0


def test_habits_are_kept_and_the_newest_comes_first(bench: BenchFile) -> None:
    """Written once each, read back whole, hashed like everything else."""
    first = TableHabit(headings=("t", "CH1"), columns={"voltage": "CH1"}, said="2025-05-03")
    second = TableHabit(headings=("t", "CH1"), units={"voltage": "mV"}, said="2025-05-04")
    for habit in (first, second, first):
        remember(bench, habit)
    bench.keep(b"{", media="application/vnd.aerode.table-habit+json")

    assert habits(bench) == [second, first]
    assert bench.check().whole
