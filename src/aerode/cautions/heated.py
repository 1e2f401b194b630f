"""A heating that was done already: said in the past tense, with what is left to do."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from aerode.records.cautions import Caution, CautionLevel, Finding

if TYPE_CHECKING:
    from aerode.cautions.situation import Heating

__all__ = ["as_done", "minutes_apart"]

_PAST = (
    ("the plates are at", "the plates were at"),
    (
        "what the heat does cannot be told, as how hot it gets is missing",
        "how hot it got was not noted",
    ),
    ("must not see a coat that was wet", "saw a coat that was wet"),
    (": no heat", ": it was heated all the same"),
    (" at ", " was at "),
)
_BREATHED = (
    "It is done. What it gave off may have been breathed: air the room, and if anybody feels unwell, now or "
    "hours later, go by section 4 of its safety data sheet. The piece may be charred: handle it in moving air."
)
_DO = {
    "household oven": "It is done. Air the oven well; no food goes in before. Next time plates in moving air.",
    "heat gun": "It is done. Next time plates in moving air.",
    "heat": "It is done. Note the plate temperature if anybody knows it: what the polymer gave off hangs on it.",
}
_AHEAD = {"dry enough", "flash in the closed space"}
"""What the piece is now, and not what was done to it: said as before the next heat."""


def minutes_apart(heating: Heating) -> str:
    """How far apart two weighings of the piece have to be: as its scale needs, else ten minutes.

    Parameters
    ----------
    heating : Heating
        Done or planned.

    Returns
    -------
    str
        As in "23 min apart".
    """
    return "ten minutes apart" if heating.wait is None else f"{heating.wait:g} min apart"


def as_done(caution: Caution, heating: Heating) -> Caution:
    """A caution on a heating, said of one that is done: nothing of it can be prevented any more.

    Parameters
    ----------
    caution : Caution
        As it would stand before the act.
    heating : Heating
        Done already or still planned.

    Returns
    -------
    Caution
        A STOP becomes a FIRST: there is no act left to keep anybody from. What holds for the next
        heating is said behind what is left to do now. That nobody weighed the piece before it is a NOTE
        about the past, unless a later coat or a weighing asks anew whether it is dry.
    """
    if not heating.done or caution.key.startswith("heat.cold."):
        return caution
    if caution.hazard in _AHEAD:
        return _not_weighed(caution, heating) if _is_past(caution, heating) else caution
    headline = caution.headline
    for now, then in _PAST:
        if now in headline:
            headline = headline.replace(now, then, 1)
            break
    if caution.hazard == "polymer heat" and caution.figure and caution.figure not in headline:
        headline += f"; the plates were at {caution.figure}"
    reached = caution.finding is not Finding.BELOW and caution.level is not CautionLevel.NOTE
    hurt = caution.hazard == "polymer heat" and reached
    left = _BREATHED if hurt else _DO.get(caution.hazard, "It is done.")
    ahead = f" Before the next heat: {caution.do[:1].lower()}{caution.do[1:]}"
    level = CautionLevel.FIRST if caution.level is CautionLevel.STOP else caution.level
    return replace(caution, level=level, headline=headline, do=left + ahead)


def _is_past(caution: Caution, heating: Heating) -> bool:
    """Whether it speaks of a coat that nobody weighed before this heat, and that the heat has dried since."""
    unknown = heating.weighings is None and heating.retained_solvent is None
    return unknown and not heating.dry_open and caution.level is CautionLevel.FIRST


def _not_weighed(caution: Caution, heating: Heating) -> Caution:
    flash = caution.hazard == "flash in the closed space"
    headline = caution.headline.replace("could burn", "could have burned") if flash else (
        f"{caution.headline.partition(': ')[0]}: nobody noted two weighings before this heat"
    )  # fmt: skip
    ahead = "dry it to constant weight in moving air" if flash else f"weigh it twice, {minutes_apart(heating)} or more"  # fmt: skip
    do = f"It is done. Before the next heat: {ahead}."
    return replace(caution, level=CautionLevel.NOTE, headline=headline, do=do)
