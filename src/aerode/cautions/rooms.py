"""The room as spans: fresh air, volume, and what a local exhaust leaves in it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from aerode.cautions import lookup
from aerode.cautions.comparing import Band, plain

if TYPE_CHECKING:
    from aerode.cautions.situation import Air

__all__ = [
    "AIR_CHANGES",
    "EXHAUST",
    "MORE_CLOSELY",
    "OPEN_AIR",
    "ROOM",
    "VOLUME",
    "Flows",
    "exhaust_words",
    "flows_of",
    "left_by_exhaust",
    "room_at_centre",
    "room_deciders",
]

OPEN_AIR = "open air"
CLOSED = "closed room"
ROOM = "the room: its volume and its air changes"
AIR_CHANGES = "the air changes of the room"
VOLUME = "the volume of the room"
MORE_CLOSELY = "more closely"
EXHAUST = "what the local exhaust catches (smoke, before any solvent is open)"
AJAR = "window ajar"
_COVERED = 2.0  # standard uncertainties to either side, the usual 95 %: jcgm_100
_LEAST_VOLUME = 0.1  # of the stated volume, however badly it is known; judgement
# The classes of the source, from the worst to the best.
_EXHAUSTS = ("none", "poor", "fair", "good", "excellent")


@dataclass(frozen=True, slots=True)
class Flows:
    """Fresh air [m^3/s] between two ends and the room [m^3]; infinite stands for the open air.

    `volume` is as stated, `smallest` and `largest` as far as it is known.
    """

    low: float
    high: float
    volume: float
    smallest: float
    largest: float
    missing: tuple[str, ...]
    how: str


def _an_hour(rate: float) -> str:
    """An air change rate [1/s] for people."""
    count = plain(rate * 3600.0)
    return f"{count} air change{'' if count == '1' else 's'} an hour"


def _reach(value: float, uncertainty: float, least: float = 0.0) -> Band:
    """Twice the standard uncertainty to either side, not below a least value."""
    spread = _COVERED * uncertainty
    return Band(max(least, value - spread), value + spread)


def flows_of(air: Air | None) -> Flows:
    """The fresh air of a room as a span, with the inputs that are missing."""
    if air is not None and air.airing == OPEN_AIR:
        return Flows(math.inf, math.inf, math.inf, math.inf, math.inf, (), "open air")
    if air is None or air.volume is None:
        nothing = math.nan
        missing = (ROOM,)
        return Flows(0.0, math.inf, nothing, nothing, nothing, missing, "no room")
    room = _reach(air.volume, air.volume_uncertainty, _LEAST_VOLUME * air.volume)
    sizes = (air.volume, room.low, room.high)
    spread = f" ± {plain(_COVERED * air.volume_uncertainty)}" if air.volume_uncertainty else ""
    size = f"{air.volume:g}{spread} m³"
    if air.air_changes is not None:
        rate = _reach(air.air_changes, air.air_changes_uncertainty)
        said = f"{size} with {_an_hour(air.air_changes)}"
        if air.air_changes_uncertainty:
            said += f" ({plain(rate.low * 3600)} to {plain(rate.high * 3600)})"
        return Flows(rate.low * room.low, rate.high * room.high, *sizes, (), said)
    return _aired_in_words(air, room, sizes, size)


def _aired_in_words(air: Air, room: Band, sizes: tuple[float, float, float], size: str) -> Flows:
    """A room whose air changes nobody measured: its word gives one end, or none."""
    missing = (AIR_CHANGES,)
    unvented = lookup.rule("exposure_model_figure", "air changes, unvented room")
    if unvented is None or not air.airing:
        return Flows(0.0, math.inf, *sizes, missing, f"{size}, airing not known")
    said = f"{size}, {air.airing}"
    if air.airing == CLOSED:
        rate = f"none to {_an_hour(unvented.value)}"
        return Flows(0.0, unvented.value * room.high, *sizes, missing, f"{said}: {rate}")
    rate = f"{_an_hour(unvented.value)} or more"
    return Flows(unvented.value * room.low, math.inf, *sizes, missing, f"{said}: {rate}")


def _caught(word: str) -> float:
    """Share of the vapour that an exhaust of this class catches; nothing where none is on file."""
    figure = lookup.rule("exposure_model_figure", f"local exhaust capture, {word}")
    return figure.value if figure else 0.0


def left_by_exhaust(air: Air | None) -> Band:
    """Share of the vapour that gets past a local exhaust into the air that is breathed.

    From what the class next below catches to what the class named catches: which class it is, is
    itself only an eye's judgement.
    """
    if air is None or air.exhaust not in _EXHAUSTS:
        return Band(1.0, 1.0)
    worse = _EXHAUSTS[max(0, _EXHAUSTS.index(air.exhaust) - 1)]
    return Band(1.0 - _caught(air.exhaust), 1.0 - _caught(worse))


def exhaust_words(air: Air | None) -> str:
    """The local exhaust for people, "" where there is none."""
    left = left_by_exhaust(air)
    if air is None or left.low >= 1.0:
        return ""
    return (
        f"; local exhaust, {air.exhaust}: catches {100 * (1 - left.high):.0f} to "
        f"{100 * (1 - left.low):.0f} %"
    )


def room_at_centre(air: Air) -> Air:
    """The same room as if its volume and its air changes were known as they are stated."""
    return replace(air, volume_uncertainty=0.0, air_changes_uncertainty=0.0)


def room_deciders(air: Air | None) -> tuple[str, ...]:
    """What about the room could be known better: what is missing, else what is uncertain."""
    missing = flows_of(air).missing
    if missing or air is None:
        return missing
    found: list[str] = []
    if air.air_changes_uncertainty:
        found.append(f"{AIR_CHANGES}, {MORE_CLOSELY}")
    if air.volume_uncertainty:
        found.append(f"{VOLUME}, {MORE_CLOSELY}")
    left = left_by_exhaust(air)
    if left.high > left.low:
        found.append(EXHAUST)
    return tuple(found)
