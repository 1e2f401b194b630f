"""Which readings of a run count: those that no later one replaced, and that are no longer watched."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from aerode.records.runs import Reading, Run

__all__ = ["standing_readings", "taken_readings"]


def standing_readings(run: Run) -> list[Reading]:
    """Readings that no later one replaces.

    >>> from aerode.records.runs import Reading, Run
    >>> first, again = Reading(load="R1", voltage=0.7), Reading(load="R1", voltage=0.6, replaces=0)
    >>> [r.voltage for r in standing_readings(Run(name="T5 loads", readings=(first, again)))]
    [0.6]
    """
    replaced = {r.replaces for r in run.readings if r.replaces is not None}
    return [r for k, r in enumerate(run.readings) if k not in replaced]


def taken_readings(run: Run) -> list[Reading]:
    """Those of them that were taken: a load that is still watched is left out."""
    return [r for r in standing_readings(run) if r.waited is not None or not r.trace]
