"""Where the label of a marked stretch stands so that no line, bar or mark runs through it."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

__all__ = ["Box", "clear_place", "crosses"]

Box = tuple[float, float, float, float]
"""Left, top, right, bottom [px], or a straight piece of line from its first point to its second."""

_ABOVE, _BELOW = 10.0, 3.0
"""What letters take above and below the line they stand on [px]."""
_EDGE = 5.0


def clear_place(
    width: float, stretch: Box, plane: Box, drawn: Sequence[Box]
) -> tuple[float, float, str]:
    """The place of a label at a stretch that lies across the plane.

    Parameters
    ----------
    width : float [px]
        Of its text.
    stretch, plane : Box
        The stretch marked, and the plane between the axes.
    drawn : sequence of Box
        Straight pieces of whatever is drawn in the plane.

    Returns
    -------
    tuple
        x and y of the text and where x is in it: "end", "start" or "middle". The first of the places
        above and below the stretch, from the right to the left, that the least is drawn through.

    Examples
    --------
    >>> clear_place(40.0, (0, 50, 200, 50), (0, 0, 200, 100), [])
    (196, 45.0, 'end')
    >>> clear_place(40.0, (0, 50, 200, 50), (0, 0, 200, 100), [(180, 20, 180, 80)])
    (4, 45.0, 'start')
    """
    left, top, right, bottom = stretch
    middle = (left + right) / 2
    places = [
        (x, y, anchor)
        for y in (top - _EDGE, bottom + _ABOVE + _EDGE + 2.0)
        for x, anchor in ((right - 4, "end"), (left + 4, "start"), (middle, "middle"))
        if plane[1] - 7.0 <= y - _ABOVE and y + _BELOW <= plane[3]
    ]
    ahead = places or [(right - 4, top - _EDGE, "end")]
    return min(ahead, key=lambda one: _struck(one, width, drawn))


def _struck(place: tuple[float, float, str], width: float, drawn: Iterable[Box]) -> int:
    x, y, anchor = place
    start = x - {"end": width, "start": 0.0, "middle": width / 2}[anchor]
    text = (start, y - _ABOVE, start + width, y + _BELOW)
    return sum(crosses(text, piece) for piece in drawn)


def crosses(box: Box, line: Box) -> bool:
    """Whether a straight piece of line runs through a box, by clipping it to each pair of sides.

    >>> crosses((0, 0, 10, 10), (-5, -5, 15, 15)), crosses((0, 0, 10, 10), (-5, 8, 3, 20))
    (True, False)
    """
    x, y, to_x, to_y = line
    begin, end = 0.0, 1.0
    for at, step, low, high in ((x, to_x - x, box[0], box[2]), (y, to_y - y, box[1], box[3])):
        if step == 0.0:
            if not low <= at <= high:
                return False
            continue
        first, second = sorted(((low - at) / step, (high - at) / step))
        begin, end = max(begin, first), min(end, second)
    return begin <= end
