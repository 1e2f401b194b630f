"""A log beside a bench is folded away by whoever closes last, while others are just opening."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from aerode.records.electrodes import Electrode
from aerode.store.bench_file import BenchFile
from aerode.store.connecting import has_log


def test_a_log_counts_when_something_is_in_it(tmp_path: Path) -> None:
    """None, an empty one, and one with a byte in it."""
    path = tmp_path / "shed.aerode"
    log = tmp_path / "shed.aerode-wal"
    assert not has_log(path)
    log.touch()
    assert not has_log(path)
    log.write_bytes(b"x")
    assert has_log(path)


def test_a_log_that_goes_between_two_looks_is_no_log(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whether it is there is not asked first: what was there a moment ago may be folded away."""
    path = tmp_path / "shed.aerode"
    BenchFile.create(path, title="x").close()
    monkeypatch.setattr(Path, "exists", lambda _self, **_how: True)
    BenchFile.open(path).close()
    BenchFile.open(path, read_only=True).close()


def test_many_who_open_and_close_never_trip_over_each_other(tmp_path: Path) -> None:
    """Every last one to close folds the log away while another one opens."""
    path = tmp_path / "shed.aerode"
    BenchFile.create(path, title="x").close()

    def opened(number: int) -> None:
        with BenchFile.open(path, read_only=number % 3 > 0) as bench:
            if number % 3 == 0:
                bench.put(Electrode(name=f"T{number}"))

    with ThreadPoolExecutor(4) as pool:
        list(pool.map(opened, range(120)))
    with BenchFile.open(path) as bench:
        assert len(list(bench.all(Electrode))) == 40
