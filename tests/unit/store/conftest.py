"""A bench on a clock that ticks one minute at every look."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from aerode.store.bench_file import BenchFile


def ticking() -> Callable[[], datetime]:
    """A clock that starts on a fixed day."""
    moments = (datetime(2025, 5, 3, 9, 0, tzinfo=UTC) + timedelta(minutes=n) for n in range(10**6))
    return lambda: next(moments)


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[BenchFile]:
    """An empty bench, closed after the test."""
    with BenchFile.create(
        tmp_path / "shed.aerode", title="Net shed", clock=ticking(), who="Ida"
    ) as made:
        yield made


@pytest.fixture
def copy(bench: BenchFile, tmp_path: Path) -> Iterator[BenchFile]:
    """Another bench of the same kind, to take revisions from and to."""
    with BenchFile.create(
        tmp_path / "other.aerode", title="Net shed", clock=ticking(), who="Jon"
    ) as made:
        yield made
