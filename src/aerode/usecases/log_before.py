"""A smaller resistor that reads more than a larger one did: the reading before may be the wrong one of the two."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from aerode import units
from aerode.errors import RangeError
from aerode.usecases.log_foretold import other_resistors, was_read

if TYPE_CHECKING:
    from aerode.usecases.log_run import GuidedRun

__all__ = ["Suspect", "less_before", "more_than_before"]

_RISE = 0.02
"""A cell that still wets may give so much more at the next smaller resistor [V]: judgement."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Suspect:
    """A reading of this run that a later one at a smaller resistor lies above.

    Parameters
    ----------
    place : int
        In the run, counted from 0.
    load : str
        The resistor that it was noted at.
    voltage : float [V]
    fits : tuple of str
        Resistors that this run has not read, at which it would be right, the nearest first.
    """

    place: int
    load: str
    voltage: float
    fits: tuple[str, ...] = ()


def less_before(guided: GuidedRun, load: str, voltage: float) -> Suspect | None:
    """The reading at a larger resistor that read less than a smaller one does now; None where none did.

    Parameters
    ----------
    guided : GuidedRun
    load : str
        The smaller resistor.
    voltage : float [V]
        What it reads.

    Returns
    -------
    Suspect or None
        That of the next larger resistor, with those that it would be right at by what else was read.
    """
    ohms = guided.resistors.get(load)
    if ohms is None:
        return None
    readings = guided.run.readings
    replaced = {one.replaces for one in readings}
    larger = [
        (guided.resistors.get(one.load, 0.0), place, one.voltage)
        for place, one in enumerate(readings)
        if place not in replaced
        and not one.doubt
        and one.voltage
        and guided.resistors.get(one.load, 0.0) > ohms
    ]
    if not larger:
        return None
    _, place, read = min(larger)
    if read >= voltage - _RISE:
        return None
    found = Suspect(place=place, load=readings[place].load, voltage=read)
    return replace(found, fits=_fits(guided, found, load, voltage))


def _fits(guided: GuidedRun, found: Suspect, load: str, voltage: float) -> tuple[str, ...]:
    """Resistors at which the reading before would be right, were the one of now believed."""
    readings = guided.run.readings
    old = {one.replaces for one in readings} | {found.place}
    kept = tuple(replace(one, replaces=None) for k, one in enumerate(readings) if k not in old)
    now = replace(readings[found.place], load=load, voltage=voltage, replaces=None)
    without = replace(guided, run=replace(guided.run, readings=(*kept, now)))
    names = other_resistors(without, found.load, found.voltage)
    return tuple(one for one in names if one != load and was_read(guided, one) is None)


def more_than_before(
    guided: GuidedRun, text: str, voltage: float, load: str, found: Suspect
) -> RangeError:
    """The question which of the two readings is the wrong one; nothing is saved by it.

    Parameters
    ----------
    guided : GuidedRun
    text : str
        As typed.
    voltage : float [V]
    load : str
        The smaller resistor.
    found : Suspect
    """
    before = f"{units.plain(found.voltage, 4)} V"
    would = f": {before} is what {' or '.join(found.fits)} would give" if found.fits else ""
    gave = [one for one in other_resistors(guided, load, voltage) if was_read(guided, one) is not None and one != found.load]  # fmt: skip
    now = f"or was it {' or '.join(gave)} that was on now, not {load}? " if gave else ""
    return RangeError(
        f"“{text.strip()}” is more than you read at the larger resistor: {units.plain(voltage, 4)} V at {load}, "
        f"{before} at {found.load} before it; a smaller resistor takes more current and reads less",
        where=load,
        allowed=f"up to about {before}",
        next_step=f"was the reading at {found.load} taken with another one{would}? {now}"
        "put that one right, or read this one again and type it; nothing was saved yet",
    )
