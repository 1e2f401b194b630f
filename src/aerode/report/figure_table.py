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


def _rows(figure: Figure, series: Series) -> Iterator[tuple[str, ...]]:
    thin = max(1, -(-len(series.x) // MOST_ROWS))
    for k in range(0, len(series.x), thin):
        spans = [
            s
            for s in (_span(series.x_low, series.x_high, k), _span(series.y_low, series.y_high, k))
            if s
        ]
        name = series.label or (series.point_labels[-1] if series.point_labels else _kind(series))
        yield (name, _word(figure.x, series.x[k]), _word(figure.y, series.y[k]), "; ".join(spans))


def _kind(series: Series) -> str:
    return "band" if series.band else "readings"


def data_table(figure: Figure) -> Table:
    """All points of a figure, with their bars or bands."""

    def head(axis: Axis, fallback: str) -> str:
        return (f"{axis.title} [{axis.unit}]" if axis.unit else axis.title) or fallback

    rows = [row for series in figure.series for row in _rows(figure, series)]
    return Table(
        caption=figure.title,
        columns=("series", head(figure.x, "place"), head(figure.y, "place"), "bar or band"),
        rows=tuple(rows),
        numbers=tuple(
            k for k, axis in ((1, figure.x), (2, figure.y)) if axis.scale is not Scale.NAMES
        ),
    )
