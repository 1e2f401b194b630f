"""Other processes that write at once; `test_kill_loops.py` kills them."""

from __future__ import annotations

import subprocess
import sys
import textwrap
from itertools import pairwise
from pathlib import Path

from aerode.records.electrodes import Electrode
from aerode.records.instruments import Instrument, Sort
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


AT_THE_RUN = textwrap.dedent("""
    import sys
    from datetime import UTC, datetime
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.take_readings import doubt, look_at_load, run_at_bench, take_reading

    path, own, again = sys.argv[1], sys.argv[2], sys.argv[3] == "again"
    clock = lambda: datetime.now(UTC)
    with BenchFile.open(path, who=own) as bench:
        at = run_at_bench(bench, "shared", clock=clock)
        sys.stdout.write("ready\\n"); sys.stdout.flush(); sys.stdin.readline()
        for k in range(25):
            if again:
                at = run_at_bench(bench, "shared", clock=clock)
            take_reading(at, f"0.4{own}{k:02} V")
""")
"""A session that keeps the run in memory, as a window does, or reads it before each act, as a page does."""


def test_two_programs_at_one_run(tmp_path: Path) -> None:
    """A window and two pages take readings of one run at the same moment: each reading stands once."""
    path = tmp_path / "shed.aerode"
    loads = ("100 ohm",) * 100
    with BenchFile.create(path, title="x") as bench:
        bench.put(Instrument(name="100 ohm", sort=Sort.RESISTOR, nominal_resistance=100.0))
        bench.put(Run(name="shared", planned_loads=loads, started="2026-05-09T12:00:00+00:00"))

    writers = [
        subprocess.Popen([sys.executable, "-c", AT_THE_RUN, str(path), str(n), how],
                         stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        for n, how in enumerate(("once", "again", "again"))
    ]  # fmt: skip
    for writer in writers:
        assert writer.stdout is not None
        assert writer.stdout.readline() == "ready\n"
    for writer in writers:
        assert writer.stdin is not None
        writer.stdin.write("\n")
        writer.stdin.flush()
    for writer in writers:
        _, said = writer.communicate()
        assert writer.returncode == 0, said

    with BenchFile.open(path) as bench:
        run = bench.get(Run, "shared")
        assert sorted(r.text for r in run.readings) == sorted(
            f"0.4{n}{k:02} V" for n in range(3) for k in range(25)
        )
        assert len(bench.history(Run, "shared")) == 1 + 75
        assert bench.check().whole
        assert bench.conflicts() == []
