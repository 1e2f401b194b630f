"""How a person finds out what would decide a caution: with a tape, a scale, the plate of a fan.

Common practice, no source.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.cautions.rooms import AIR_CHANGES, EXHAUST, MORE_CLOSELY, ROOM, VOLUME

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["AIR_ITSELF", "OPEN_AREA", "WEIGH_LOSS", "find_out", "how_to_find_out"]

WEIGH_LOSS = "a weigh-loss of the wet piece (grams lost over minutes)"
OPEN_AREA = "the open area of pot and pieces"
AIR_ITSELF = "a measurement of the air itself (badge or detector tube)"

_AIRED = "closed, window ajar, or the m³/h on the plate of its fan over its m³"
_HOW: dict[str, tuple[str, str]] = {
    ROOM: ("the room", f"length × width × height, and how it is aired: {_AIRED}"),
    AIR_CHANGES: ("how the room is aired", _AIRED),
    f"{AIR_CHANGES}, {MORE_CLOSELY}": ("how the room is aired, more closely", _AIRED),
    f"{VOLUME}, {MORE_CLOSELY}": (
        "the volume of the room, more closely",
        "length × width × height with a tape, less what fills it",
    ),
    EXHAUST: (
        "what the local exhaust catches",
        "smoke where the wet thing will lie, before any solvent is open, and out again",
    ),
    WEIGH_LOSS: (
        "how fast it dries",
        "one wet piece at an open window or outdoors, weighed, weighed again after 5 min, the loss times the "
        "number of pieces",
    ),
    OPEN_AREA: (
        "the wet area",
        "the mouth of the pot and every wet face of the pieces, length × width",
    ),
    AIR_ITSELF: ("the air itself", "a badge or a detector tube from a laboratory for workplace air"),
}  # fmt: skip


def _listed(names: Sequence[str]) -> str:
    """ "a", "a and b", "a, b and c"."""
    return " and ".join(part for part in (", ".join(names[:-1]), names[-1]) if part)


def find_out(missing: Sequence[str], *, outdoors: bool = False) -> str:
    """What to do before it is opened: elsewhere or less, or what to find out.

    Parameters
    ----------
    missing : sequence of str
        What would decide, as the rules name it; a name without a way of its own stands by itself.
    outdoors : bool
        Whether it is done in the open air already.

    Returns
    -------
    str

    Examples
    --------
    >>> find_out(())
    'Before it is opened, work outdoors, or take less of it.'
    >>> find_out((OPEN_AREA,))
    'Before it is opened, work outdoors or find out the wet area.'
    """
    other = "take less of it" if outdoors else "work outdoors"
    if not missing:
        return f"Before it is opened, {other}{'' if outdoors else ', or take less of it'}."
    names = [name for name, _ in _ways(missing)]
    return f"Before it is opened, {other} or find out {_listed(names)}."


def how_to_find_out(missing: Sequence[str]) -> str:
    """How each of these is found out, a sentence for each.

    Parameters
    ----------
    missing : sequence of str
        What would decide, as the rules name it.

    Returns
    -------
    str

    Examples
    --------
    >>> how_to_find_out((OPEN_AREA,))
    'The wet area: the mouth of the pot and every wet face of the pieces, length × width.'
    """
    return " ".join(f"{name[0].upper()}{name[1:]}: {way}." for name, way in _ways(missing) if way)


def _ways(missing: Sequence[str]) -> list[tuple[str, str]]:
    return [_HOW.get(one, (one, "")) for one in missing]
