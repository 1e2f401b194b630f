"""Which pieces are compared where nobody named any: all of a small bench, the newest of a large one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.records.electrodes import Electrode
from aerode.records.runs import Run, RunSort

if TYPE_CHECKING:
    from collections.abc import Iterable

    from aerode.store.bench_file import BenchFile

__all__ = ["COMPARED", "RECENT", "measured_in", "newest_pieces"]

RECENT = 60
"""Electrodes that are looked at, newest first: what lies further back waits for nobody."""
COMPARED = 16
"""Electrodes compared at most where nobody named any."""
FEWEST_LOADS = 3
"""Loads below which a curve has nothing to bend on: two points make a straight line (plain mathematics)."""


def measured_in(runs: Iterable[Run]) -> set[str]:
    """The electrodes that have a run of load steps with enough readings for a curve."""
    return {
        run.electrode
        for run in runs
        if run.sort is RunSort.LOADS and len(run.readings) >= FEWEST_LOADS
    }


def newest_pieces(bench: BenchFile) -> tuple[str, ...]:
    """The newest measured electrodes of a bench with very many; none named (all) on a small one.

    Parameters
    ----------
    bench : BenchFile
        An open bench.

    Returns
    -------
    tuple of str
        Names, oldest first; empty where all that were measured can be compared together.
    """
    if bench.count(Electrode) <= RECENT:
        return ()
    electrodes = bench.latest(Electrode, count=RECENT)[::-1]
    measured = measured_in(bench.latest(Run, count=4 * RECENT))
    names = [one.name for one in electrodes if one.name in measured and not one.control]
    return tuple(names[-COMPARED:])
