"""What a load of a guided run should read, and which other resistor a reading far from it would be right at."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from aerode import units
from aerode.measure.expecting import Expected, expect, fits_better
from aerode.measure.meters import voltmeter
from aerode.measure.run_plans import OPEN
from aerode.records.instruments import Instrument
from aerode.usecases.log_questions import rest_of
from aerode.usecases.run_instruments import resistors_at_hand

if TYPE_CHECKING:
    from aerode.usecases.log_run import GuidedRun

__all__ = ["expected_at", "other_resistors", "said_of_others", "was_read"]


def expected_at(guided: GuidedRun, load: str) -> Expected | None:
    """What to expect at a load, by the readings so far; None where its resistance is not known.

    Parameters
    ----------
    guided : GuidedRun
    load : str
        A resistor of the bench, or `OPEN`.
    """
    if load == OPEN:
        rest = rest_of(guided.bench, guided.run)
        return Expected(rest.voltage, rest.low, rest.high, 0.0, 0.0, rest.basis)
    resistance = guided.resistors.get(load)
    if resistance is None:
        return None
    return expect(
        resistance,
        guided.points(guided.run),
        guided.earlier_points(),
        guided.resting() or _source(guided),
        first=was_read(guided, load),
        most=_most(guided),
    )


def was_read(guided: GuidedRun, load: str) -> float | None:
    """What this load read in this run, undoubted [V]; None where it was not read."""
    return next((r.voltage for r in guided.current_readings() if r.load == load and r.voltage and not r.doubt), None)  # fmt: skip


def _source(guided: GuidedRun) -> float | None:
    """What the loads are foretold from where this run was not read without load [V]."""
    known = OPEN in guided.run.planned_loads
    return None if known else rest_of(guided.bench, guided.run).source


def _most(guided: GuidedRun) -> float:
    """What no load can read above [V]: what was read without load, with twice its uncertainty."""
    resting = guided.resting()
    if resting is None:
        return math.inf
    part = guided.bench.find(Instrument, guided.run.meter) if guided.run.meter else None
    meter = voltmeter(part, guided.run.voltage_range, [resting], unnamed=guided.run.name)
    own = math.hypot(meter.gain * resting, meter.scatter, meter.count / 12.0**0.5)
    return resting + 2.0 * own


def other_resistors(guided: GuidedRun, load: str, voltage: float) -> tuple[str, ...]:
    """The other resistors at hand that a reading fits far better than its load; the nearest first.

    Parameters
    ----------
    guided : GuidedRun
    load : str
        The load that it was noted at.
    voltage : float [V]

    Returns
    -------
    tuple of str
        Two at most; empty where none fits far better.
    """
    named = expected_at(guided, load) if load != OPEN else None
    if named is None:
        return ()
    there = {name for name in resistors_at_hand(guided.bench) if name != load}
    seen = {name: expected_at(guided, name) for name in sorted(there)}
    return fits_better(voltage, named, {name: one for name, one in seen.items() if one is not None})


def said_of_others(guided: GuidedRun, voltage: float, others: tuple[str, ...]) -> str:
    """The sentence that names them, with its question; "" for none.

    Parameters
    ----------
    guided : GuidedRun
    voltage : float [V]
    others : tuple of str
        As `other_resistors` gives them.
    """
    if not others:
        return ""
    gave = [name for name in others if was_read(guided, name) is not None]
    would = [name for name in others if name not in gave]
    said = [
        f"{units.plain(voltage, 4)} V is what {' or '.join(names)} {does}"
        for names, does in ((would, "would give"), (gave, "gave in this run"))
        if names
    ]
    asked = "which one was on" if len(others) > 1 else "was that one on"
    return (
        f"{', or '.join((said[0], *(one.partition(' V is ')[2] for one in said[1:])))}: {asked}? "
    )
