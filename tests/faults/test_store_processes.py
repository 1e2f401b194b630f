"""Other processes that write at once; `test_kill_loops.py` kills them."""

from __future__ import annotations

import subprocess
import sys
import textwrap
from itertools import pairwise
from pathlib import Path

from aerode.records.electrodes import Electrode
from aerode.records.runs import Run
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


HAMMER = textwrap.dedent("""
    import sys
    from aerode.records.electrodes import Electrode
    from aerode.records.runs import Reading, Run
    from aerode.store.bench_file import BenchFile

    path, own = sys.argv[1], sys.argv[2]
    with BenchFile.open(path) as bench:
        for k in range(25):
            bench.put(Electrode(name=f"{own}.{k}"))
            bench.put(Run(name="shared", readings=(Reading(voltage=0.1, text=f"{own}.{k}"),)), why=f"{own}.{k}")
""")


def _writer(path: Path, first: int, count: int) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", WRITER, str(path), str(first), str(count)],
        stdout=subprocess.PIPE,
        text=True,
    )


def test_writers_hammering_one_bench(tmp_path: Path) -> None:
    """Three processes write their own records and one that all of them change: nothing is lost."""
    path = tmp_path / "shed.aerode"
    with BenchFile.create(path, title="x") as bench:
        bench.put(Run(name="shared"))

    writers = [
        subprocess.Popen([sys.executable, "-c", HAMMER, str(path), str(n)], stderr=subprocess.PIPE, text=True)
        for n in range(3)
    ]  # fmt: skip
    for writer in writers:
        _, said = writer.communicate()
        assert writer.returncode == 0, said

    with BenchFile.open(path) as bench:
        assert bench.check().whole
        assert set(bench.names(Electrode)) == {f"{n}.{k}" for n in range(3) for k in range(25)}
        states = bench.history(Run, "shared")
        assert len(states) == 1 + 3 * 25
        assert {state.why for state in states[1:]} == {
            f"{n}.{k}" for n in range(3) for k in range(25)
        }
        assert all(later.parents == (earlier.digest,) for earlier, later in pairwise(states))
        assert bench.conflicts() == []


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
