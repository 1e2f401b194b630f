"""The numbers of a figure as a table: for screen readers, for CSV, for doubt."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.records.figures import Axis, Figure, Scale, Series
from aerode.records.reports import Table

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["data_table"]

MOST_ROWS = 60
"""More rows than this are thinned evenly; the file with all of them is the CSV."""


def _word(axis: Axis, value: float) -> str:
    if axis.scale is Scale.NAMES:
        return axis.names[round(value)]
    return f"{value:.4g}".replace("-", "−")


def _span(low: tuple[float, ...], high: tuple[float, ...], k: int) -> str:
    if not low or high[k] <= low[k]:
        return ""
    return f"{low[k]:.4g} to {high[k]:.4g}".replace("-", "−")


def _rows(figure: Figure, series: Series, name: str) -> Iterator[tuple[str, ...]]:
    """What it is, where, how much, from where to where; the name of a named axis comes first."""
    thin = max(1, -(-len(series.x) // MOST_ROWS))
    for k in range(0, len(series.x), thin):
        spans = [
            s
            for s in (_span(series.x_low, series.x_high, k), _span(series.y_low, series.y_high, k))
            if s
        ]
        yield (name, _word(figure.x, series.x[k]), _word(figure.y, series.y[k]), "; ".join(spans))


def _names(figure: Figure) -> list[str]:
    """What each series is called; a band without a name bears that of the line it is drawn around."""
    found: list[str] = []
    for k, series in enumerate(figure.series):
        line = next(
            (s.label for s in figure.series[k + 1 :] if s.label and s.tone == series.tone), ""
        )
        own = series.label or (series.point_labels[-1] if series.point_labels else "")
        around = f"band around {line}" if line else "band"
        found.append(own or (around if series.band else "readings"))
    return found


def data_table(figure: Figure) -> Table:
    """All points of a figure, with their bars or bands.

    What tells the rows apart comes first: the name on an axis of names, else the name of the line.
    A column that says the same in every row stands in the caption; one that says nothing is left out.
    """
    named = figure.y.scale is Scale.NAMES or figure.x.scale is Scale.NAMES
    called = _names(figure)
    rows = [
        row
        for series, name in zip(figure.series, called, strict=True)
        for row in _rows(figure, series, name)
    ]
    heads = ("what", _head(figure.x), _head(figure.y), "from, to")
    order = [0, 1, 2, 3]
    if named:
        order = [2, 0, 1, 3] if figure.y.scale is Scale.NAMES else [1, 0, 2, 3]
    same = len(set(called)) == 1
    kept = [
        k for k in order
        if not (k == 0 and same and named) and not (k == 3 and not any(row[3] for row in rows))
    ]  # fmt: skip
    if named:  # what belongs to one name stands together, in the order of the drawing
        first = list(dict.fromkeys(row[order[0]] for row in rows))
        rows.sort(key=lambda row: first.index(row[order[0]]))
    plain = {1: figure.x, 2: figure.y}
    return Table(
        caption=f"{figure.title}: {called[0]}" if same and named else figure.title,
        columns=tuple(heads[k] for k in kept),
        rows=tuple(tuple(row[k] for k in kept) for row in rows),
        numbers=tuple(
            place
            for place, k in enumerate(kept)
            if k in plain and plain[k].scale is not Scale.NAMES
        ),
    )


def _head(axis: Axis) -> str:
    """The head of a column of one axis; names need no unit."""
    return (f"{axis.title} [{axis.unit}]" if axis.unit else axis.title) or "name"
