"""Other processes: one that is killed while it writes, two that write at once."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import textwrap
from pathlib import Path

from aerode.records.electrodes import Electrode
from aerode.store.bench_file import BenchFile

WRITER = textwrap.dedent("""
    import sys
    from aerode.records.electrodes import Electrode
    from aerode.store.bench_file import BenchFile

    path, first, count = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
    with BenchFile.open(path) as bench:
        for n in range(first, first + count):
            bench.put_all([Electrode(name=f"T{n}"), Electrode(name=f"T{n} twin")])
            print(n, flush=True)
""")


def _writer(path: Path, first: int, count: int) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", WRITER, str(path), str(first), str(count)],
        stdout=subprocess.PIPE,
        text=True,
    )


def test_a_killed_writer_loses_nothing_it_acknowledged(tmp_path: Path) -> None:
    """Kill -9 in the middle of writing, five times over one bench: all acknowledged pairs are there."""
    path = tmp_path / "shed.aerode"
    BenchFile.create(path, title="x").close()
    acknowledged: list[int] = []

    for turn in range(5):
        writer = _writer(path, 1000 * turn, 1000)
        assert writer.stdout is not None
        acknowledged += [int(writer.stdout.readline()) for _ in range(3 + 3 * turn)]
        os.kill(writer.pid, signal.SIGKILL)
        acknowledged += [int(line) for line in writer.stdout.read().split()]
        writer.stdout.close()
        assert writer.wait() == -signal.SIGKILL

        with BenchFile.open(path) as bench:
            names = bench.names(Electrode)
            assert bench.check().whole
        stored = {name for name in names if not name.endswith("twin")}
        assert {f"T{n}" for n in acknowledged} <= stored
        assert 2 * len(stored) == len(names), "a pair was stored in half"
        assert len(stored) <= len(acknowledged) + turn + 1


def test_two_writers_lose_no_row(tmp_path: Path) -> None:
    """Both write to one bench at the same time; every record of both is there, once."""
    path = tmp_path / "shed.aerode"
    BenchFile.create(path, title="x").close()

    writers = [_writer(path, first, 20) for first in (0, 1000)]
    for writer in writers:
        writer.communicate()
        assert writer.returncode == 0

    with BenchFile.open(path) as bench:
        names = bench.names(Electrode)
        assert bench.check().whole
    assert 80 == len(names) == len(set(names))
