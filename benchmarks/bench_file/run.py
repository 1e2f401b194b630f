"""The bench file beside bare SQLite: a log of a million rows taken in, the newest 50 of 10,000 electrodes.

    python benchmarks/bench_file/run.py

Taking in: the text of a log is read, verified row by row, packed and stored with its run, against one
`executemany` of the same rows, which are there as tuples already. The list and the records: on the
same file and an open connection, against the same question asked with the bare module. Interleaved,
medians; seeded. Goals: 3 times, 2 times, 6 times.
"""

from __future__ import annotations

import random
import sqlite3
import statistics
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from aerode.records.electrodes import Electrode
from aerode.records.marks import Entry
from aerode.records.runs import Run
from aerode.store.bench_file import BenchFile, now
from aerode.usecases.take_table import TableQuestion, understand_table
from aerode.usecases.take_table_figure import figure_of_series

ROWS, ELECTRODES, NEWEST = 1_000_000, 10_000, 50
LIST = (
    "SELECT c.name FROM revision r JOIN current c ON r.digest = c.head "
    "WHERE c.kind = 'electrode' AND r.schema != 'withdrawn/1' ORDER BY c.made DESC LIMIT 50"
)
RECORDS = LIST.replace("c.name", "r.*")


def seconds(job: Callable[[], object]) -> float:
    """Wall time of one call."""
    begin = time.perf_counter()
    job()
    return time.perf_counter() - begin


def medians(jobs: dict[str, Callable[[], object]], rounds: int) -> dict[str, float]:
    """Each job in turn, after one round to warm up."""
    times: dict[str, list[float]] = {name: [] for name in jobs}
    for turn in range(rounds + 1):
        for name, job in jobs.items():
            taken = seconds(job)
            if turn:
                times[name].append(taken)
    return {name: statistics.median(each) for name, each in times.items()}


def log_of(folder: Path) -> tuple[Path, list[tuple[float, float, float]]]:
    """A log at 10 Hz with three columns, as text and as rows."""
    dice = random.Random(5)
    rows = [
        (n / 10, round(0.7 + dice.gauss(0, 0.01), 4), round(0.0129 + dice.gauss(0, 1e-4), 5))
        for n in range(ROWS)
    ]
    place = folder / "log.csv"
    with place.open("w", encoding="utf-8") as file:
        file.write("t (s),U (V),I (A)\n")
        file.writelines(f"{t:.1f},{u:.4f},{i:.5f}\n" for t, u, i in rows)
    return place, rows


def bare_import(folder: Path, rows: list[tuple[float, float, float]]) -> None:
    """The same rows with the bare module, into a file of its own."""
    place = folder / "bare.db"
    place.unlink(missing_ok=True)
    connection = sqlite3.connect(place)
    connection.execute("CREATE TABLE log (t REAL, u REAL, i REAL)")
    connection.executemany("INSERT INTO log VALUES (?, ?, ?)", rows)
    connection.commit()
    connection.close()


def own_import(folder: Path, log: Path) -> None:
    """From the text to the acknowledged run."""
    place = folder / "own.aerode"
    place.unlink(missing_ok=True)
    with BenchFile.create(place, title="x") as bench:
        bench.put(Electrode(name="T6"))
        taking = understand_table(bench, log, TableQuestion(electrode="T6"), moment=now())
        taking.take(bench)
        taking.close()


def print_import(folder: Path) -> None:
    """Taking in, and what it leaves on the disk; and the figure of it."""
    log, rows = log_of(folder)
    times = medians(
        {"bare": lambda: bare_import(folder, rows), "own": lambda: own_import(folder, log)}, 3
    )
    sizes = {name: (folder / name).stat().st_size / 1e6 for name in ("bare.db", "own.aerode")}
    print(f"taking in {ROWS:,} rows: {times['own']:.2f} s, {times['own'] / times['bare']:.2f} times "
          f"a bare executemany ({times['bare']:.2f} s); goal: at most 3")  # fmt: skip
    print(f"  on the disk {sizes['own.aerode']:.1f} MB, bare {sizes['bare.db']:.1f} MB")
    with BenchFile.open(folder / "own.aerode") as bench:
        name = bench.names(Run)[0]
        drawn = statistics.median(seconds(lambda: figure_of_series(bench, name)) for _ in range(5))
    print(f"  the figure of it: {drawn:.2f} s; goal: under 1")


def print_lists(folder: Path) -> None:
    """The newest electrodes of many, as names and as records."""
    place = folder / "many.aerode"
    area = Entry(value=9.5e-4, standard_uncertainty=1e-5, how="photo")
    with BenchFile.create(place, title="x") as bench:
        bench.put_all(
            Electrode(name=f"T{n}", recipe=f"R{n % 40}", wetted_area=area, note="dried on the sill")
            for n in range(ELECTRODES)
        )
        connection = sqlite3.connect(place)
        assert bench.to_pick_from(Electrode, most=NEWEST) == [row[0] for row in connection.execute(LIST)]  # fmt: skip
        times = medians(
            {
                "bare list": lambda: connection.execute(LIST).fetchall(),
                "list": lambda: bench.to_pick_from(Electrode, most=NEWEST),
                "bare records": lambda: connection.execute(RECORDS).fetchall(),
                "records": lambda: bench.latest(Electrode, count=NEWEST),
            },
            201,
        )
        connection.close()
    for what, goal in (("list", 2), ("records", 6)):
        own, bare = times[what], times[f"bare {what}"]
        print(f"newest {NEWEST} of {ELECTRODES:,} as a {what}: {own * 1e3:.2f} ms, {own / bare:.1f} times "
              f"the same question to the bare module ({bare * 1e3:.3f} ms); goal: at most {goal}")  # fmt: skip


def main() -> None:
    """Print the ratios."""
    with tempfile.TemporaryDirectory() as folder:
        print_import(Path(folder))
        print_lists(Path(folder))


if __name__ == "__main__":
    main()
