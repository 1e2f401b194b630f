"""How long the command line takes to say its help, as a ratio to an empty Python.

Goal: `aerode --help` at most 8 times `python -c pass`, median of 15 interleaved runs.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import time

ROUNDS = 15
GOAL = 8.0


def _seconds(*arguments: str) -> float:
    start = time.perf_counter()
    subprocess.run([sys.executable, *arguments], check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - start


def main() -> None:
    """Run both in turn and print the ratio of their medians."""
    empty: list[float] = []
    helped: list[float] = []
    for _ in range(ROUNDS):
        empty.append(_seconds("-c", "pass"))
        helped.append(_seconds("-m", "aerode", "--help"))
    ratio = statistics.median(helped) / statistics.median(empty)
    print(
        f"start-up: `aerode --help` takes {ratio:.1f} times `python -c pass` (goal: at most {GOAL:g})"
    )


if __name__ == "__main__":
    main()
