"""The hard set: thin reaction layers, hardly any oxygen, or both; one current for each cathode."""

from __future__ import annotations

import sys
import time
from dataclasses import dataclass
from types import ModuleType

import numpy as np

from aerode.physics.cathode import polarization

TOLERANCE = 1e-6  # of the general solver
WHOLE, PATIENCE = 24, 20.0  # drowned layers that it gets whole, and seconds until it gives one up


class Progress:
    """How many points are done, on standard error: one line that is rewritten, or one every tenth."""

    def __init__(self, total: int) -> None:
        self.total, self.begin, self.live = total, time.perf_counter(), sys.stderr.isatty()

    def __call__(self, done: int, told: str) -> None:
        if not (self.live or done % max(1, self.total // 10) == 0):
            return
        left = (time.perf_counter() - self.begin) * (self.total - done) / done
        line = f"  {done} of {self.total} points, {told}, {left:.0f} s left"
        print(f"\r{line:<78}" if self.live else line, end="" if self.live else "\n",
              file=sys.stderr, flush=True)  # fmt: skip
        if self.live and done == self.total:
            print(f"\r{'':<78}\r", end="", file=sys.stderr, flush=True)


@dataclass(slots=True)
class Side:
    """Points of one sort in the hard set, and the seconds of both sides on them."""

    points: int = 0
    ours: float = 0.0
    theirs: float = 0.0

    def told(self, name: str, how: str) -> str:
        """One line of it."""
        return (
            f"  {name}, {self.points}: {self.ours / self.points * 1e6:.0f} µs a point, solve_bvp {how}"
            f" {self.theirs / self.points * 1e3:.0f} ms, ratio {self.theirs / self.ours:.0f}"
        )


def hard(cases: ModuleType, oracles: ModuleType, count: int) -> None:
    """One hard current per cathode; nothing is left out of either side's time."""
    fronts, skins, drowned = Side(), Side(), Side()
    misses, refused, unanswered, silent, given_up = [0.0], 0, 0, 0, 0
    total = count * len(cases.SEEDS)
    progress = Progress(total)
    for number, seed in enumerate(cases.SEEDS):
        rng = np.random.default_rng(seed)
        for k in range(count):
            cathode, current = cases.hard_case(rng)
            skin = oracles.skin_of(cathode, current) is not None
            begin = time.process_time()
            curve = polarization(cathode, [current])
            middle = time.process_time()
            other = oracles.boundary_value(cathode, current, TOLERANCE)
            end = time.process_time()
            count_in(skins if skin else fronts, middle - begin, end - middle)
            if skin and drowned.points < WHOLE:
                whole = oracles.continued(cathode, current, TOLERANCE, PATIENCE)
                count_in(drowned, middle - begin, time.process_time() - end)
                given_up += whole is None
            refused += curve.reasons[0] is not None
            if other is None:
                unanswered += 1
            elif curve.reasons[0] is None:
                misses.append(abs(float(curve.loss[0]) - other))
                silent += misses[-1] > 1e-6
            progress(number * count + k + 1, f"{refused} refused, worst {max(misses):.0e} V")
    print(f"hard set, {total} points on seeds {cases.SEEDS}")
    print(f"  refused {refused} (goal: at most {total // 1000}), solve_bvp gave up on {unanswered}")
    print(f"  off by more than 1e-6 V without a word: {silent} (goal 0)")
    print(f"  largest difference where both answer (its tol 1e-6): {max(misses):.1e} V (goal 1e-6)")
    print(fronts.told("oxygen inside the layer", "on the layer"))
    if skins.points:
        print(skins.told("drowned but for a skin", "on the skin alone"))
        print(drowned.told("the first of these", "on the whole layer") + f", gave up on {given_up}")


def count_in(side: Side, ours: float, theirs: float) -> None:
    """One more point."""
    side.points += 1
    side.ours += ours
    side.theirs += theirs
