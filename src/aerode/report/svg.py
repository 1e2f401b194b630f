"""Draw a figure record as SVG with CSS classes: no colour, no font and no script inside."""

from __future__ import annotations

import html
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerode.quantities import Basis
from aerode.records.figures import Axis, Dash, Figure, Mark, Scale, Series, Stretch
from aerode.report.label_places import Box, clear_place
from aerode.report.marks import shape
from aerode.report.printed import with_unit_signs
from aerode.report.scales import Placed, place_axis, tick_text

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["draw"]

CHARACTER = 7.5
"""Width of one character at the figures' text size [px]; the widest of the usual system fonts."""
BOLD = 7.0
"""Width of one character of a title on average [px]."""
LINE = 17.0
NARROW = 400
"""Drawn no wider than this [px], a figure is for a phone."""


def _escape(text: str) -> str:
    """Text for the drawing, its units as print has them."""
    return html.escape(with_unit_signs(text))


@dataclass(frozen=True, slots=True)
class _Frame:
    """The plane between the axes, in pixels."""

    left: float
    right: float
    top: float
    bottom: float
    x: Placed
    y: Placed


def draw(figure: Figure, *, width: int = 720, height: int | None = None, style: str = "") -> str:
    """A figure as one SVG element.

    Parameters
    ----------
    figure : Figure
        The record.
    width, height : int
        Size of the plane it is drawn for [px]; text keeps its size, so draw it once for a desk
        (720) and once for a phone (340).
    style : str
        CSS to put inside, for a file that must stand alone.

    Returns
    -------
    str
        `<svg ...>` with a title and a description for those who cannot see it.
    """
    rows = len(figure.y.names) if figure.y.scale is Scale.NAMES else 0
    folded = any(len(lines) > 1 for lines in _row_names(figure, width))
    plane = rows * (36.0 if folded else 30.0) if rows else min(330.0, 200.0 + width * 0.2)
    legend = list(_legend(figure, width))
    frame, total = _frame(figure, width, height, plane, legend)
    ids = f"{figure.name}-{width}"
    parts = [
        f'<svg class="figure" viewBox="0 0 {width} {total:.0f}" role="img" '
        f'aria-labelledby="{ids}-t {ids}-d" xmlns="http://www.w3.org/2000/svg">',
        f'<title id="{ids}-t">{_escape(figure.title)}</title><desc id="{ids}-d">{_escape(figure.alt)}</desc>',
    ]
    if style:
        parts.append(f"<style>{style}</style>")
    parts.append(f"<defs>{_hatch(ids)}{_clip(ids, frame)}</defs>")
    parts += _stretches_behind(figure, frame, ids)
    parts += _grid(frame)
    parts += _axes(figure, frame, width)
    parts.append(f'<g clip-path="url(#{ids}-clip)">')
    for series in figure.series:
        parts += _series(series, frame)
    parts.append("</g>")
    parts += _stretch_labels(figure, frame)
    parts += _point_labels(figure, frame, width)
    parts += [text for _, text in _legend_at(legend, frame.bottom + _below(figure, width))]
    parts.append("</svg>")
    return "".join(parts)


def _below(figure: Figure, width: int) -> float:
    return 22.0 + LINE * len(_title_lines(figure.x, width)) + 14.0


def _title_lines(axis: Axis, width: int) -> list[str]:
    """The title of an axis with its unit, in two lines where one would be wider than the figure."""
    if not axis.title:
        return []
    words = _titled(axis.title, axis.unit)
    if len(words) * BOLD <= width - 20:
        return [words]
    cut = min(
        (k for k, sign in enumerate(words) if sign == " "),
        key=lambda k: abs(k - len(words) / 2),
        default=0,
    )
    return [words[:cut], words[cut + 1 :]] if cut else [words]


def _frame(
    figure: Figure, width: int, height: int | None, plane: float, legend: list[tuple[int, str]]
) -> tuple[_Frame, float]:
    labelled_above = any(s.along == "x" and s.label for s in figure.stretches)
    above = LINE * len(_title_lines(figure.y, width))
    top = (above + 12.0 if above else 10.0) + (LINE if labelled_above else 0.0)
    xs = [v for s in figure.series for v in (*s.x, *s.x_low, *s.x_high)]
    ys = [v for s in figure.series for v in (*s.y, *s.y_low, *s.y_high)]
    xs += [v for s in figure.stretches if s.along == "x" and not s.hatched for v in (s.low, s.high)]
    ys += [v for s in figure.stretches if s.along == "y" and not s.hatched for v in (s.low, s.high)]
    rows = (max((row for row, _ in legend), default=-1) + 1) * 22.0
    after = _below(figure, width) + rows
    if height is not None:
        plane = max(80.0, height - top - after)
    down = figure.y.scale is Scale.NAMES  # names are read from the top
    ends = (top, top + plane) if down else (top + plane, top)
    y = place_axis(figure.y, ys, *ends, room_per_tick=52.0)
    labels = [tick_text(y, t) for t in y.ticks]
    if down:
        labels = [line for lines in _row_names(figure, width) for line in lines]
    left = 10.0 + CHARACTER * max((len(t) for t in labels), default=1)
    right = width - 14.0 - _room_right(figure)
    x = place_axis(figure.x, xs, left, right, room_per_tick=74.0 if width > NARROW else 56.0)
    return _Frame(left, right, top, top + plane, x, y), top + plane + after


def _row_names(figure: Figure, width: int) -> list[tuple[str, ...]]:
    """The names of the rows in lines: a long pair takes two where the plane would be left little room."""
    names = figure.y.names if figure.y.scale is Scale.NAMES else ()
    longest = max((len(name) for name in names), default=0)
    if longest * CHARACTER < 0.4 * width:
        return [(name,) for name in names]
    return [_halves(name, 0.4 * width) for name in names]


def _halves(name: str, room: float) -> tuple[str, ...]:
    """A long name in two lines: a pair at its stroke, else before its first figure, else in the middle."""
    first, stroke, second = name.partition(" / ")
    if stroke:
        return f"{first} /", second
    if len(name) * CHARACTER <= room or " " not in name:
        return (name,)
    spaces = [k for k, sign in enumerate(name) if sign == " "]
    numbers = [k for k in spaces if name[k + 1 : k + 2].isdigit()]
    cut = numbers[0] if numbers else min(spaces, key=lambda k: abs(k - len(name) / 2))
    return name[:cut], name[cut + 1 :]


def _labelled(figure: Figure) -> list[Series]:
    return [s for s in figure.series if s.point_labels]


def _room_right(figure: Figure) -> float:
    longest = max((len(text) for s in _labelled(figure) for text in s.point_labels[-1:]), default=0)
    return longest * CHARACTER + (10.0 if longest else 0.0)


def _hatch(ids: str) -> str:
    return (
        f'<pattern id="{ids}-hatch" width="7" height="7" patternUnits="userSpaceOnUse" '
        'patternTransform="rotate(45)"><path class="hatch" d="M0 0V7"/></pattern>'
    )


def _clip(ids: str, frame: _Frame) -> str:
    return (
        f'<clipPath id="{ids}-clip"><rect x="{frame.left - 7:.1f}" y="{frame.top - 7:.1f}" '
        f'width="{frame.right - frame.left + 14:.1f}" height="{frame.bottom - frame.top + 14:.1f}"/></clipPath>'
    )


def _grid(frame: _Frame) -> Iterator[str]:
    horizontal = frame.y.axis.scale is not Scale.NAMES
    ticks = frame.y.ticks if horizontal else frame.x.ticks
    for tick in ticks:
        if horizontal:
            at = frame.y.at(tick)
            yield f'<path class="grid" d="M{frame.left:.1f} {at:.1f}H{frame.right:.1f}"/>'
        else:
            at = frame.x.at(tick)
            yield f'<path class="grid" d="M{at:.1f} {frame.top:.1f}V{frame.bottom:.1f}"/>'


def _axes(figure: Figure, frame: _Frame, width: int) -> Iterator[str]:
    rows = _row_names(figure, width)
    for place, tick in enumerate(frame.y.ticks):
        lines = rows[place] if rows else (tick_text(frame.y, tick),)
        first = frame.y.at(tick) + 4.0 - (len(lines) - 1) * 7.5
        for k, words in enumerate(lines):
            yield (
                f'<text class="tick" x="{frame.left - 6:.1f}" y="{first + k * 15.0:.1f}" text-anchor="end">'
                f"{_escape(words)}</text>"
            )
    last = len(frame.x.ticks) - 1
    for place, tick in enumerate(frame.x.ticks):
        at = frame.x.at(tick)
        words = tick_text(frame.x, tick)
        half = len(words) * CHARACTER / 2
        anchor = "middle"
        if place == last and at + half > width - 2:
            anchor, at = "end", width - 2.0
        elif place == 0 and at - half < 2:
            anchor, at = "start", 2.0
        yield (
            f'<text class="tick" x="{at:.1f}" y="{frame.bottom + 18:.1f}" text-anchor="{anchor}">{_escape(words)}</text>'
        )
    yield f'<path class="axis" d="M{frame.left:.1f} {frame.top:.1f}V{frame.bottom:.1f}H{frame.right:.1f}"/>'
    for k, words in enumerate(_title_lines(figure.y, width)):
        yield f'<text class="axis-title" x="2" y="{(k + 1) * LINE - 3:.1f}">{_escape(words)}</text>'
    for k, words in enumerate(_title_lines(figure.x, width)):
        yield (
            f'<text class="axis-title" x="{frame.right:.1f}" y="{frame.bottom + 20 + (k + 1) * LINE:.1f}" '
            f'text-anchor="end">{_escape(words)}</text>'
        )


def _titled(title: str, unit: str) -> str:
    return f"{title} [{unit}]" if unit else title


def _series(series: Series, frame: _Frame) -> Iterator[str]:
    tone = f"t{series.tone % 8}"
    basis = {Basis.PREDICTED: " predicted", Basis.ASSUMED: " assumed"}.get(series.basis, "")
    if series.band and series.y_low:
        yield _band(series, frame, tone + basis)
    if series.dash is not Dash.NONE and len(series.x) > 1:
        points = "L".join(
            f"{frame.x.at(a):.1f} {frame.y.at(b):.1f}"
            for a, b in zip(series.x, series.y, strict=True)
        )
        yield f'<path class="line {tone} {series.dash}{basis}" d="M{points}"/>'
    if not series.band:
        yield from _bars(series, frame, tone + basis)
    if series.mark is not Mark.NONE:
        for a, b in zip(series.x, series.y, strict=True):
            hollow = " hollow" if series.mark is Mark.RING or basis else ""
            yield f'<path class="mark {tone}{hollow}" d="{shape(series.mark, frame.x.at(a), frame.y.at(b))}"/>'


def _band(series: Series, frame: _Frame, classes: str) -> str:
    forth = [
        f"{frame.x.at(a):.1f} {frame.y.at(b):.1f}"
        for a, b in zip(series.x, series.y_high, strict=True)
    ]
    back = [
        f"{frame.x.at(a):.1f} {frame.y.at(b):.1f}"
        for a, b in zip(series.x, series.y_low, strict=True)
    ]
    return f'<path class="band {classes}" d="M{"L".join(forth + back[::-1])}z"/>'


def _bars(series: Series, frame: _Frame, classes: str) -> Iterator[str]:
    for k, (a, b) in enumerate(zip(series.x, series.y, strict=True)):
        x, y = frame.x.at(a), frame.y.at(b)
        if series.y_low and series.y_high[k] > series.y_low[k]:
            low, high = frame.y.at(series.y_low[k]), frame.y.at(series.y_high[k])
            yield f'<path class="bar {classes}" d="M{x:.1f} {low:.1f}V{high:.1f}M{x - 3:.1f} {low:.1f}h6M{x - 3:.1f} {high:.1f}h6"/>'
        if series.x_low and series.x_high[k] > series.x_low[k]:
            low, high = frame.x.at(series.x_low[k]), frame.x.at(series.x_high[k])
            yield f'<path class="bar {classes}" d="M{low:.1f} {y:.1f}H{high:.1f}M{low:.1f} {y - 3:.1f}v6M{high:.1f} {y - 3:.1f}v6"/>'


def _stretch_box(stretch: Stretch, frame: _Frame) -> tuple[float, float, float, float]:
    along, other = (frame.x, frame.y) if stretch.along == "x" else (frame.y, frame.x)
    low, high = sorted(
        (along.at(max(stretch.low, along.low)), along.at(min(stretch.high, along.high)))
    )
    ends = stretch.across or (other.low, other.high)
    start, end = sorted((other.at(ends[0]), other.at(ends[1])))
    return (low, start, high, end) if stretch.along == "x" else (start, low, end, high)


def _stretches_behind(figure: Figure, frame: _Frame, ids: str) -> Iterator[str]:
    for stretch in figure.stretches:
        left, top, right, bottom = _stretch_box(stretch, frame)
        if math.isclose(stretch.low, stretch.high):
            end = f"V{bottom:.1f}" if stretch.along == "x" else f"H{right:.1f}"
            yield f'<path class="limit" d="M{left:.1f} {top:.1f}{end}"/>'
            continue
        fill = f' fill="url(#{ids}-hatch)"' if stretch.hatched else ""
        kind = "unknown" if stretch.hatched else "stretch"
        yield (
            f'<rect class="{kind}" x="{left:.1f}" y="{top:.1f}" width="{right - left:.1f}" '
            f'height="{bottom - top:.1f}"{fill}/>'
        )


def _stretch_labels(figure: Figure, frame: _Frame) -> Iterator[str]:
    drawn = list(_drawn_pieces(figure, frame))
    for stretch in figure.stretches:
        if not stretch.label:
            continue
        left, top, right, bottom = _stretch_box(stretch, frame)
        if stretch.along == "x":
            middle, half = (left + right) / 2, len(stretch.label) * CHARACTER * 0.46
            at = min(max(middle, frame.left + half), frame.right - half)
            yield f'<text class="stretch-label" x="{at:.1f}" y="{frame.top - 4:.1f}" text-anchor="middle">{_escape(stretch.label)}</text>'
        else:
            plane = (frame.left, frame.top, frame.right, frame.bottom)
            wide = len(stretch.label) * CHARACTER * 0.92
            x, y, anchor = clear_place(wide, (left, top, right, bottom), plane, drawn)
            yield f'<text class="stretch-label" x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{_escape(stretch.label)}</text>'


def _drawn_pieces(figure: Figure, frame: _Frame) -> Iterator[Box]:
    """Straight pieces of the lines, bars and marks of a figure [px]; of a band its two edges."""
    for series in figure.series:
        xs = [frame.x.at(v) for v in series.x]
        ys = [frame.y.at(v) for v in series.y]
        edges = [ys] if series.dash is not Dash.NONE else []
        lows, highs = ([frame.y.at(v) for v in side] for side in (series.y_low, series.y_high))
        if series.band:
            edges = [lows, highs]
        elif lows:
            yield from ((x, high, x, low) for x, low, high in zip(xs, lows, highs, strict=True))
        for edge in edges:
            yield from zip(xs, edge, xs[1:], edge[1:], strict=False)
        if series.mark is not Mark.NONE:
            yield from ((x, y - 5.0, x, y + 5.0) for x, y in zip(xs, ys, strict=True))


def _point_labels(figure: Figure, frame: _Frame, width: int) -> Iterator[str]:
    """Names at the last point of each labelled series, moved apart so that none covers another."""
    last = [(frame.y.at(s.y[-1]), frame.x.at(s.x[-1]), s) for s in _labelled(figure)]
    places = _apart([y for y, _, _ in last], LINE - 3.0, frame.top, frame.bottom)
    farthest = max((x for _, x, _ in last), default=0.0)
    for (y, x, series), place in zip(last, places, strict=True):
        tone = f"t{series.tone % 8}"
        near = farthest - x < 0.25 * (frame.right - frame.left)
        at = farthest if near else x  # one column: no name stands on another curve's marks
        if abs(place - y) > 2.0 or at > x + 2.0:
            yield f'<path class="leader" d="M{x + 7:.1f} {y:.1f}L{at + 14:.1f} {place:.1f}"/>'
        yield f'<text class="point-label {tone}" x="{at + 16:.1f}" y="{place + 4:.1f}">{_escape(series.point_labels[-1])}</text>'
    for series in _labelled(figure):
        for a, b, words in list(zip(series.x, series.y, series.point_labels, strict=False))[:-1]:
            if words:
                yield (
                    f'<text class="point-label t{series.tone % 8}" x="{frame.x.at(a) - 9:.1f}" '
                    f'y="{frame.y.at(b) + 4:.1f}" text-anchor="end">{_escape(words)}</text>'
                )


def _apart(wanted: list[float], gap: float, top: float, bottom: float) -> list[float]:
    """Places as near as can be to the wanted ones, at least `gap` apart, between `top` and `bottom`."""
    order = sorted(range(len(wanted)), key=wanted.__getitem__)
    places = sorted(wanted)
    for _ in range(200):
        moved = False
        for i in range(len(places) - 1):
            short = gap - (places[i + 1] - places[i])
            if short > 1e-6:
                places[i] -= short / 2
                places[i + 1] += short / 2
                moved = True
        if not moved:
            break
    if places:
        places = [p + max(0.0, top - places[0]) for p in places]
        places = [p - max(0.0, places[-1] - bottom - 8.0) for p in places]
    result = [0.0] * len(wanted)
    for place, index in zip(places, order, strict=True):
        result[index] = place
    return result


def _legend(figure: Figure, width: int) -> Iterator[tuple[int, str]]:
    """Entries of the legend with their row; series with labels at their points need none."""
    entries: dict[str, Series] = {}
    for series in figure.series:
        if series.label and not series.point_labels:
            entries.setdefault(series.label, series)
    lone = len(entries) < 2 and not any(s.mark is Mark.RING for s in entries.values())
    if lone and not any(s.basis is not Basis.MEASURED for s in entries.values()):
        return  # one full mark is told by the axis and the caption; a ring is a sign of its own
    row, x = 0, 4.0
    for label, series in entries.items():
        room = 34.0 + len(label) * CHARACTER + 14.0
        if x + room > width and x > 4.0:
            row, x = row + 1, 4.0
        yield row, _legend_entry(series, label, x)
        x += room


def _legend_entry(series: Series, label: str, x: float) -> str:
    tone = f"t{series.tone % 8}"
    basis = {Basis.PREDICTED: " predicted", Basis.ASSUMED: " assumed"}.get(series.basis, "")
    parts: list[str] = []
    if series.band:
        parts.append(
            f'<rect class="band {tone}{basis}" x="{x:.1f}" y="-6" width="26" height="12"/>'
        )
    if series.dash is not Dash.NONE:
        parts.append(f'<path class="line {tone} {series.dash}{basis}" d="M{x:.1f} 0h26"/>')
    if series.mark is not Mark.NONE:
        hollow = " hollow" if series.mark is Mark.RING or basis else ""
        parts.append(f'<path class="mark {tone}{hollow}" d="{shape(series.mark, x + 13, 0.0)}"/>')
    parts.append(f'<text class="legend" x="{x + 33:.1f}" y="4">{_escape(label)}</text>')
    return "".join(parts)


def _legend_at(legend: list[tuple[int, str]], top: float) -> Iterator[tuple[int, str]]:
    for row, entry in legend:
        yield row, f'<g transform="translate(0 {top + row * 22.0:.1f})">{entry}</g>'
