"""A day of readings at 10 Hz, taken in full size: every row, flat memory, drawn in a moment."""

from __future__ import annotations

import json
import subprocess
import sys
import textwrap
from pathlib import Path

import pytest

TAKING = """
    import json, resource, sys, time
    from pathlib import Path
    from aerode.records.electrodes import Electrode
    from aerode.records.runs import Run
    from aerode.store.bench_file import BenchFile, now
    from aerode.usecases.take_table import TableQuestion, understand_table
    from aerode.usecases.take_table_figure import figure_of_series

    def peak():
        return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024

    folder, rows = Path(sys.argv[1]), int(sys.argv[2])
    log = folder / "day.csv"
    with log.open("w") as file:
        file.write("time;U (mV);T (°C)\\n")
        for n in range(rows):
            s, tenth = divmod(n, 10)
            clock = f"{3 + s // 86400:02}.05.2025 {s // 3600 % 24:02}:{s // 60 % 60:02}:{s % 60:02},{tenth}"
            volts = "120,0" if n == rows // 3 else f"{700 + n * 7 % 101 / 10:.1f}".replace(".", ",")
            file.write(f"{clock};{volts};21,{n % 10}\\n")
    small = folder / "small.csv"
    with log.open() as whole:
        small.write_text("".join(next(whole) for _ in range(90_000)))

    with BenchFile.create(folder / "b.aerode", title="x") as bench:
        bench.put_all([Electrode(name="warm"), Electrode(name="T6")])
        taking = understand_table(bench, small, TableQuestion(electrode="warm"), moment=now())
        taking.take(bench)
        taking.close()
        figure_of_series(bench, taking.runs[0].run.name)
        before = peak()
        taking = understand_table(bench, log, TableQuestion(electrode="T6"), moment=now())
        taking.take(bench)
        taking.close()
        grown = peak() - before
        name = taking.runs[0].run.name
        begin = time.perf_counter()
        answer = figure_of_series(bench, name)
        seconds = time.perf_counter() - begin
        print(json.dumps({
            "rows": taking.preview.rows, "grown": grown, "size": log.stat().st_size, "drawn": answer.rows,
            "lowest": min(answer.figure.series[0].y), "seconds": seconds, "whole": bench.check().whole,
            "file": (folder / "b.aerode").stat().st_size,
        }))
"""


def _take(folder: Path, rows: int) -> dict[str, float]:
    ran = subprocess.run(
        [sys.executable, "-c", textwrap.dedent(TAKING), str(folder), str(rows)],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert ran.returncode == 0, ran.stderr
    return json.loads(ran.stdout)


@pytest.mark.parametrize("rows", [110_000, pytest.param(864_000, marks=pytest.mark.slow)])
def test_a_day_of_readings(tmp_path: Path, rows: int) -> None:
    """No memory grows with the file, the one low reading is drawn, the bench stays small and whole."""
    answer = _take(tmp_path, rows)

    assert answer["rows"] == answer["drawn"] == rows
    assert answer["grown"] < 24_000_000, "the memory grows with the file"
    assert answer["lowest"] == pytest.approx(0.12)
    assert answer["whole"]
    assert answer["file"] < answer["size"] / 5
