"""Closed runs of the newest day whose repeated readings lie far apart, for the first page."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.measure.repeats import farthest_apart
from aerode.measure.run_plans import OPEN
from aerode.measure.run_readings import taken_readings
from aerode.records.runs import Run, RunSort

if TYPE_CHECKING:
    from aerode.store.bench_file import BenchFile

__all__ = ["repeats_apart_lately"]

_RECENT = 20
"""Runs that are looked through."""


def repeats_apart_lately(bench: BenchFile) -> tuple[tuple[str, str], ...]:
    """Runs of the newest day with a load whose readings differ, the newest first, each with its words.

    Parameters
    ----------
    bench : BenchFile
        Open.
    """
    newest = [run for run in bench.latest(Run, count=_RECENT) if run.finished and run.sort is RunSort.LOADS]  # fmt: skip
    found: list[tuple[str, str]] = []
    for run in newest:
        if run.session != newest[0].session:
            continue
        read = [(r.load, r.voltage) for r in taken_readings(run) if r.voltage is not None and not r.doubt and r.load != OPEN]  # fmt: skip
        if said := farthest_apart(read):
            found.append((run.name, said))
    return tuple(found)
