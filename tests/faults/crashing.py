"""Children that are killed while they write. Run as a program: imports once, forks for every loop.

    python crashing.py BENCH LOOPS SEED

Prints one JSON line: the acknowledged readings, and what each loop ended with.
"""

from __future__ import annotations

import json
import os
import random
import signal
import sys
from pathlib import Path

from aerode.records.electrodes import Electrode
from aerode.records.runs import Reading, Run
from aerode.store.bench_file import BenchFile
from aerode.store.series import put_logged
from aerode.store.series_spool import SeriesSpool


def write_on(path: Path, loop: int, pipe: int) -> None:
    """Readings one by one, a pair in one transaction, a log, over and over; each told once it is on disk."""
    with BenchFile.open(path) as bench:
        for n in range(1000):
            run = bench.find(Run, "r") or Run(name="r")
            reading = Reading(voltage=0.7, text=f"{loop}.{n}")
            bench.put(Run(name="r", readings=(*run.readings[-20:], reading)), why=reading.text)
            os.write(pipe, f"reading {loop}.{n}\n".encode())
            bench.put_all([Electrode(name=f"{loop}.{n}"), Electrode(name=f"{loop}.{n} twin")])
            os.write(pipe, f"pair {loop}.{n}\n".encode())
            with SeriesSpool(200) as spool:
                spool.add({"time": [float(k) for k in range(500)], "voltage": [n / 1000] * 500})
                put_logged(
                    bench, [Run(name=f"log {loop}.{n}")], {f"log {loop}.{n}": spool.chunks()}
                )
            os.write(pipe, f"log {loop}.{n}\n".encode())


def one_loop(path: Path, loop: int, dice: random.Random) -> list[str]:
    """Start a child, kill it after some acknowledgements, at whatever it is doing then."""
    read_end, write_end = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(read_end)
        try:
            write_on(path, loop, write_end)
        finally:
            os._exit(3)
    os.close(write_end)
    wanted, told = dice.randrange(9), b""
    while told.count(b"\n") < wanted:
        told += os.read(read_end, 4096)
    for _ in range(dice.randrange(200_000)):
        pass  # a little later, so that it is in the middle of something else each time
    os.kill(child, signal.SIGKILL)
    while piece := os.read(read_end, 4096):
        told += piece
    os.close(read_end)
    _, status = os.waitpid(child, 0)
    assert os.WIFSIGNALED(status), "the child ended before it was killed"
    return told.decode().splitlines()


def missing_of(path: Path, told: list[str]) -> list[str]:
    """What was acknowledged and is not there, or is there in part."""
    with BenchFile.open(path) as bench:
        checked = bench.check()
        if not checked.whole:
            return [checked.headline]
        reasons = (
            {state.why for state in bench.history(Run, "r")} if bench.find(Run, "r") else set()
        )
        names = set(bench.names(Electrode))
        runs = set(bench.names(Run))
        lost = [
            line
            for line in told
            for what, key in [line.split(" ", 1)]
            if (what == "reading" and key not in reasons)
            or (what == "pair" and not {key, f"{key} twin"} <= names)
            or (what == "log" and line not in runs)
        ]
        halves = [n for n in names if not n.endswith("twin") and f"{n} twin" not in names]
        logs = [name for name in runs if name.startswith("log ")]
        short = [name for name in logs[-3:] if len(bench.series(name)["time"]) != 500]
        return lost + halves + short


def main() -> None:
    """Run the loops and say what was lost."""
    path, loops, seed = Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3])
    BenchFile.create(path, title="x").close()
    dice = random.Random(seed)
    told: list[str] = []
    lost: list[str] = []
    for loop in range(loops):
        told += one_loop(path, loop, dice)
        if loop % 10 == 9 or loop == loops - 1:
            lost += missing_of(path, told)
    print(json.dumps({"loops": loops, "told": len(told), "lost": lost}))


if __name__ == "__main__":
    main()
