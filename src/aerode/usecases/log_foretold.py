"""What a load of a guided run should read, and which other resistor a reading far from it would be right at."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from aerode import units
from aerode.measure.comparison.entrants import recipe_of
from aerode.measure.expecting import Expected, expect, fits_better
from aerode.measure.meters import voltmeter
from aerode.measure.run_plans import OPEN
from aerode.records.electrodes import Electrode
from aerode.records.instruments import Instrument
from aerode.records.runs import Run
from aerode.usecases.log_questions import rest_of
from aerode.usecases.run_instruments import resistors_at_hand

if TYPE_CHECKING:
    from aerode.usecases.log_run import GuidedRun

__all__ = ["expected_at", "other_resistors", "said_of_others", "said_of_sister", "was_read"]

_RECENT = 60
"""Runs that are looked through for one of the same recipe."""
_PIECES = 0.15
"""Half width of the band that another piece of the recipe foretells [V]: judgement."""
_SAME = 0.02
"""Two resistors this near are one load, as a ratio: judgement."""


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
    earlier, most = guided.earlier_points(), _most(guided)
    name, sister = ("", []) if earlier else _sister(guided)
    seen = expect(
        resistance,
        guided.points(guided.run),
        earlier or sister,
        guided.resting() or _source(guided),
        first=was_read(guided, load),
        most=most,
    )
    if not name or not seen.basis.startswith("from this electrode"):
        return seen
    low, high = round(seen.voltage - _PIECES, 2), round(min(seen.voltage + _PIECES, most), 2)
    return replace(seen, low=max(0.0, low), high=max(high, seen.voltage), basis=f"from {name} of the same recipe, read the same day")  # fmt: skip


def _sister(guided: GuidedRun) -> tuple[str, list[tuple[float, float]]]:
    """Another piece of the same recipe that was read the same day, the newest, with its points [ohm, V]."""
    run = guided.run
    own = guided.bench.find(Electrode, run.electrode) if run.electrode and run.session else None
    if own is None:
        return "", []
    alike = (recipe_of(own), own.factors)
    for one in guided.bench.latest(Run, count=_RECENT):
        if (
            one.session != run.session
            or one.sort is not run.sort
            or one.electrode in {"", own.name}
        ):
            continue
        piece = guided.bench.find(Electrode, one.electrode)
        points = guided.points(one)
        if piece is not None and points and (recipe_of(piece), piece.factors) == alike:
            return piece.name, points
    return "", []


def said_of_sister(guided: GuidedRun, load: str) -> str:
    """What another piece of the recipe read here the same day, where this run foretells far from it; "" otherwise.

    Parameters
    ----------
    guided : GuidedRun
    load : str
        The load that is on.
    """
    ohms = guided.resistors.get(load)
    seen = expected_at(guided, load) if ohms is not None and guided.points(guided.run) else None
    if seen is None or ohms is None:
        return ""
    name, points = _sister(guided)
    gave = next((v for r, v in points if abs(r / ohms - 1.0) < _SAME), None)
    far = max(_PIECES, 2.0 * (seen.high - seen.voltage))
    if gave is None or abs(gave - seen.voltage) <= far:
        return ""
    return f"{name} of the same recipe read {units.plain(gave, 3)} V at {load} that day: was a step before taken with another resistor? "


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
