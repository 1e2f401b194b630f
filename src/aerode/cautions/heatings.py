"""The heatings of an electrode, with the weighings, the oven and the solvent that its records keep."""

from __future__ import annotations

import contextlib
from datetime import datetime
from typing import TYPE_CHECKING

from aerode.cautions.policy import COMMON_SCALE_STEP
from aerode.cautions.situation import Heating, Weighings
from aerode.records.electrodes import Appliance

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.records.electrodes import Electrode, Press, Weighing
    from aerode.records.places import Room

__all__ = ["heatings_of", "stored_weighings"]

# Words in "with what" that mean heat, whatever else is missing; judgement.
_HOT = ("iron", "hot", "heat", "oven", "torch", "stove", "kettle", "laminator", "boil")
_OVENS = {Appliance.OVEN, Appliance.HOUSEHOLD_OVEN}


def _clock(text: str) -> datetime | None:
    with contextlib.suppress(ValueError):
        return datetime.fromisoformat(text)
    return None


def _between(earlier: Weighing, later: Weighing) -> float | None:
    """Time between two weighings [s], None where neither a clock nor a stopwatch was noted."""
    if later.after is not None:
        return later.after
    first, second = _clock(earlier.at), _clock(later.at)
    if first is None or second is None or (first.tzinfo is None) != (second.tzinfo is None):
        return None
    seconds = (second - first).total_seconds()
    return seconds if seconds > 0.0 else None


def _kept(electrode: Electrode) -> tuple[Weighing, ...]:
    """The weighings that count: of the finished piece, else after the last coat.

    What was weighed before the last coat says nothing of the solvent that this coat brought. Of
    several layers without dates nobody knows which came last: then the last coat of each must have
    been weighed.
    """
    if electrode.weighings:
        return electrode.weighings
    coats = [coat for layer in electrode.layers for coat in layer.coats]
    last_ones = [layer.coats[-1] for layer in electrode.layers if layer.coats]
    if coats and all(coat.at for coat in coats):
        return max(coats, key=lambda coat: coat.at).weighings
    if last_ones and all(coat.weighings for coat in last_ones):
        return last_ones[-1].weighings
    return ()


def _coating(electrode: Electrode, last: Weighing) -> float | None:
    """Mass of the coats [kg]: the piece less its mesh, else what was weighed dry layer by layer."""
    mass = last.mass / last.pieces
    if electrode.mesh_mass is not None and mass > electrode.mesh_mass.value:
        return mass - electrode.mesh_mass.value
    found = 0.0
    for layer in electrode.layers:
        masses = [coat.dry_mass for coat in layer.coats]
        if layer.dry_mass is not None:
            found += layer.dry_mass.value
        elif masses and None not in masses:
            found += sum(m for m in masses if m is not None)
        else:
            return None
    return found or None


def _since(kept: Sequence[Weighing]) -> tuple[Weighing, float] | None:
    """The weighing before the last and the time between; an earlier one where nothing changed since."""
    last, first = kept[-1], kept[-2]
    interval = _between(first, last)
    if interval is None or set(first.beside) != set(last.beside):
        return None
    for earlier, later in zip(kept[-3::-1], kept[-2:0:-1], strict=False):
        step = _between(earlier, later)
        same = set(earlier.beside) == set(last.beside)
        if step is None or not same or not earlier.mass == later.mass == last.mass:
            break
        first, interval = earlier, interval + step
    return first, interval


def stored_weighings(electrode: Electrode) -> Weighings | None:
    """The last weighing of an electrode and the one it is held against, None where two with a time between are not on file.

    Parameters
    ----------
    electrode : Electrode
        With weighings of the piece, or after its last coat.

    Returns
    -------
    Weighings or None
        The last two; where nothing changed before either, from the first that showed the same. The
        coarser of the two scales counts, a kitchen scale's where none is named. Of pieces weighed
        together, what falls to one of them; two weighings of different pieces are never a pair.
    """
    kept = _kept(electrode)
    if len(kept) < 2:
        return None
    second = kept[-1]
    found = _since(kept)
    if found is None:
        return None
    first, interval = found
    return Weighings(
        first=first.mass / first.pieces,
        second=second.mass / second.pieces,
        interval=interval,
        coating=_coating(electrode, second),
        area=electrode.wetted_area.value if electrode.wetted_area else None,
        resolution=max(
            first.resolution or COMMON_SCALE_STEP, second.resolution or COMMON_SCALE_STEP
        )
        / second.pieces,
        pieces=second.pieces,
    )


def _closed(press: Press, room: Room | None) -> float | None:
    """Free volume of what it is shut into [m^3]: as entered, else the oven of the room."""
    if press.closed_volume is not None:
        return press.closed_volume.value
    if press.appliance in _OVENS and room is not None and room.oven_volume is not None:
        return room.oven_volume.value
    return None


def _is_cold_press(press: Press) -> bool:
    """A force alone: no plate temperature, no appliance, no word of heat."""
    if press.plate_temperature is not None or press.appliance is not None:
        return False
    said = f"{press.means} {press.note}".casefold()
    for denied in ("not heated", "unheated", "no heat", "not hot"):
        said = said.replace(denied, "")
    pressed = (press.force, press.torque, press.firmness) != (None, None, None)
    return pressed and not any(word in said for word in _HOT)


def heatings_of(
    electrode: Electrode,
    solvents: Sequence[str],
    room: Room | None = None,
    *,
    coated_since: bool = False,
) -> tuple[Heating, ...]:
    """The pressings of an electrode as heatings, wet before with these liquids.

    Parameters
    ----------
    electrode : Electrode
        With its pressings, weighings and the solvent left in it.
    solvents : sequence of str
        What its coats were wet with.
    room : Room, optional
        Whose oven it is.
    coated_since : bool
        A coat was put on after the last of its pressings.

    Returns
    -------
    tuple of Heating
        A pressing with a force, torque or firmness alone, and no word of heat, is a cold one.
    """
    weighings = stored_weighings(electrode)
    retained = electrode.retained_solvent.value if electrode.retained_solvent else None
    coats = [coat for layer in electrode.layers for coat in layer.coats]
    weighed = bool(electrode.weighings) or any(coat.weighings for coat in coats)
    return tuple(
        Heating(
            name=press.means or (press.appliance.value if press.appliance else f"press {number}"),
            plate_temperature=press.plate_temperature.value if press.plate_temperature else None,
            cold=_is_cold_press(press),
            appliance=press.appliance.value if press.appliance else Appliance.PRESS.value,
            closed_volume=_closed(press, room),
            retained_solvent=retained,
            last_solvents=tuple(solvents),
            weighings=weighings,
            extraction=press.extraction,
            done=True,
            dry_open=coated_since or weighed,
        )
        for number, press in enumerate(electrode.press, start=1)
    )
