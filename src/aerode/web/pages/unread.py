"""Where each electrode that could not be read can be helped: its run, the start of one, the question."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.measure.comparison.unread import TooFewReadError, Unread, Why
from aerode.web.rendering import address

if TYPE_CHECKING:
    from aerode.errors import AerodeError

__all__ = ["place_of_unread", "unread_with_places", "way_out"]


def unread_with_places(refusal: AerodeError | None) -> list[tuple[str, str, str, str]]:
    """Electrode, reason, the words of a link and its place, of each that could not be read; [] for other refusals."""
    if not isinstance(refusal, TooFewReadError):
        return []
    return [(one.electrode, one.reason, *place_of_unread(one)) for one in refusal.unread]


def way_out(refusal: AerodeError | None) -> tuple[str, str] | None:
    """What to press for the next step, and where it leads; None where no one place helps."""
    first = refusal.first if isinstance(refusal, TooFewReadError) else None
    return None if first is None else place_of_unread(first)


def place_of_unread(one: Unread) -> tuple[str, str]:
    """What to press for one of them, and where it leads."""
    if one.why is Why.NO_RUN:
        return f"Measure {one.electrode}", address("runs", "start", electrode=one.electrode)
    if one.why is Why.OUTSIDE:
        return "Ask at another point", "/compare#ask"
    return f"Go to {one.run}", address("runs", one.run)
