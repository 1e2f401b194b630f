"""The shapes of points: colour never stands alone."""

from __future__ import annotations

from aerode.records.figures import Mark

__all__ = ["shape"]


def shape(mark: Mark, x: float, y: float, size: float = 5.0) -> str:
    """The SVG path of a mark centred at a pixel.

    >>> shape(Mark.SQUARE, 10, 10, 2)
    'M8.2 8.2h3.6v3.6h-3.6z'
    """
    s = size
    if mark in {Mark.CIRCLE, Mark.RING}:
        return f"M{x - s:.1f} {y:.1f}a{s:.1f} {s:.1f} 0 1 0 {2 * s:.1f} 0a{s:.1f} {s:.1f} 0 1 0 {-2 * s:.1f} 0z"
    if mark is Mark.SQUARE:
        h = s * 0.9
        return f"M{x - h:.1f} {y - h:.1f}h{2 * h:.1f}v{2 * h:.1f}h{-2 * h:.1f}z"
    if mark is Mark.DIAMOND:
        d = s * 1.25
        return f"M{x:.1f} {y - d:.1f}L{x + d:.1f} {y:.1f}L{x:.1f} {y + d:.1f}L{x - d:.1f} {y:.1f}z"
    if mark is Mark.TRIANGLE:
        t = s * 1.15
        return f"M{x:.1f} {y - t:.1f}L{x + t:.1f} {y + t * 0.8:.1f}L{x - t:.1f} {y + t * 0.8:.1f}z"
    c = s * 0.9
    return f"M{x - c:.1f} {y - c:.1f}L{x + c:.1f} {y + c:.1f}M{x - c:.1f} {y + c:.1f}L{x + c:.1f} {y - c:.1f}"
