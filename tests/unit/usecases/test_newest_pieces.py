"""Which pieces are compared where nobody named any."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.records.electrodes import Electrode
from aerode.records.runs import Reading, Run
from aerode.store.bench_file import BenchFile
from aerode.usecases.newest_pieces import COMPARED, RECENT, newest_pieces

if TYPE_CHECKING:
    from pathlib import Path

_READ = tuple(Reading(load="10 ohm", voltage=0.5) for _ in range(3))


def _fill(bench: BenchFile, pieces: range) -> None:
    bench.put_all(Electrode(name=f"T{k}", control=k % 10 == 0) for k in pieces)
    bench.put_all(
        Run(name=f"run {k}", electrode=f"T{k}", readings=_READ if k % 2 else _READ[:2])
        for k in pieces
    )


def test_a_small_bench_is_compared_whole_and_a_large_one_by_its_newest(tmp_path: Path) -> None:
    """Controls, and pieces with too few readings for a curve, are not among them."""
    with BenchFile.create(tmp_path / "shed.aerode", title="Net shed") as bench:
        _fill(bench, range(RECENT))
        small = newest_pieces(bench)
        _fill(bench, range(RECENT, RECENT + 20))
        large = newest_pieces(bench)

    odd = [f"T{k}" for k in range(RECENT + 20) if k % 2]
    assert small == ()
    assert list(large) == odd[-COMPARED:]
