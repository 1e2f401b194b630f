"""Rows of a log that still wait beside a bench go along wherever the bench goes."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from aerode.store.bench_file import BenchFile
from aerode.store.series_tail import are_waiting, at_the_end, waiting_file
from aerode.usecases.bench_export import export
from aerode.usecases.bench_merge import merge
from aerode.usecases.bench_package import import_package

if TYPE_CHECKING:
    from pathlib import Path

TIMES = [0.0, 1.0, 2.0]


@pytest.fixture
def shed(tmp_path: Path) -> Path:
    """A bench beside which three rows of a log wait."""
    path = tmp_path / "shed.aerode"
    with BenchFile.create(path, title="Net shed") as bench, at_the_end(bench, "T6 log") as log:
        log.add([(time, 1.3, None) for time in TIMES])
    with BenchFile.open(path) as bench:
        assert are_waiting(bench.place)
    return path


def test_a_package_holds_them(shed: Path, tmp_path: Path) -> None:
    """Written by a reader that may not write itself, and taken in elsewhere."""
    with BenchFile.open(shed, read_only=True) as bench:
        answer = export(bench, tmp_path / "shed.zip")
    assert answer.series_chunks == 1
    other = tmp_path / "club.aerode"
    BenchFile.create(other, title="Club").close()
    import_package(other, tmp_path / "shed.zip")
    with BenchFile.open(other) as bench:
        assert bench.series("T6 log")["time"] == TIMES


def test_a_merge_takes_them(shed: Path, tmp_path: Path) -> None:
    """Of the other bench."""
    with BenchFile.create(tmp_path / "club.aerode", title="Club") as bench:
        merge(bench, shed)
        assert bench.series("T6 log")["time"] == TIMES


def test_rows_that_cannot_be_taken_in_are_told(shed: Path, tmp_path: Path) -> None:
    """A row that was spoilt on the disk is not packed; the rest goes out, with a word on it."""
    with BenchFile.open(shed) as bench:
        lines = waiting_file(bench.place, "T6 log", 0)
    first, *rows = lines.read_text().splitlines(keepends=True)
    rows[0] = rows[0].replace("1.3", "1.4")
    lines.write_text("".join([first, *rows]))
    with BenchFile.open(shed) as bench:
        answer = export(bench, tmp_path / "shed.zip")
    assert "rows of logs that wait beside the bench could not be taken into it" in answer.headline
    assert answer.series_chunks == 0
    assert lines.exists()
