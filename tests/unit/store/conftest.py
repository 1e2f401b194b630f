"""A bench on a clock that ticks one minute at every look."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from aerode.store.bench_file import BenchFile


def ticking() -> Callable[[], datetime]:
    """A clock that starts on a fixed day."""
    moments = (datetime(2025, 5, 3, 9, 0, tzinfo=UTC) + timedelta(minutes=n) for n in range(10**6))
    return lambda: next(moments)


@pytest.fixture(scope="session")
def empty(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An empty bench on disk, made once: making one waits for the disk several times."""
    path = tmp_path_factory.mktemp("empty") / "empty.aerode"
    BenchFile.create(path, title="Net shed", clock=ticking(), who="Ida").close()
    return path


def _opened(empty: Path, path: Path, who: str) -> BenchFile:
    shutil.copy(empty, path)
    clock = ticking()
    clock()
    return BenchFile.open(path, clock=clock, who=who)


@pytest.fixture
def bench(empty: Path, tmp_path: Path) -> Iterator[BenchFile]:
    """An empty bench, closed after the test."""
    with _opened(empty, tmp_path / "shed.aerode", "Ida") as opened:
        yield opened


@pytest.fixture
def copy(empty: Path, tmp_path: Path) -> Iterator[BenchFile]:
    """A copy of the same bench in other hands, to take revisions from and to."""
    with _opened(empty, tmp_path / "other.aerode", "Jon") as opened:
        yield opened
