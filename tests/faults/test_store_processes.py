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

HAMMER = textwrap.dedent("""
    import sys
    from aerode.records.electrodes import Electrode
    from aerode.records.runs import Reading, Run
    from aerode.store.bench_file import BenchFile

    path, own = sys.argv[1], sys.argv[2]
    with BenchFile.open(path) as bench:
        for k in range(20):
            bench.put(Electrode(name=f"{own}.{k}"))
            bench.put(Run(name="shared", readings=(Reading(voltage=0.1, text=f"{own}.{k}"),)), why=f"{own}.{k}")
""")


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
        assert set(bench.names(Electrode)) == {f"{n}.{k}" for n in range(3) for k in range(20)}
        states = bench.history(Run, "shared")
        assert len(states) == 1 + 3 * 20
        assert {state.why for state in states[1:]} == {
            f"{n}.{k}" for n in range(3) for k in range(20)
        }
        assert all(later.parents == (earlier.digest,) for earlier, later in pairwise(states))
        assert bench.conflicts() == []
