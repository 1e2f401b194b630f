"""Every figure as a file: the drawing as SVG, all its points as CSV."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

from starlette.exceptions import HTTPException
from starlette.responses import Response

from aerode.records.figures import Axis, Figure, Scale
from aerode.report.page import standalone_svg

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["figure_csv", "figure_file", "find_figure"]

_GUARDED = ("=", "+", "-", "@", "\t", "\r")
"""A text that begins like this is run as a formula by spreadsheets."""


def find_figure(figures: Iterable[Figure], name: str) -> Figure:
    """The figure of that name.

    Raises
    ------
    HTTPException
        404, if there is none.
    """
    for figure in figures:
        if figure.name == name:
            return figure
    raise HTTPException(404)


def figure_file(figure: Figure, ending: str) -> Response:
    """A figure as a file to keep.

    Parameters
    ----------
    figure : Figure
    ending : str
        "svg" or "csv".

    Raises
    ------
    HTTPException
        404, for any other ending.
    """
    if ending == "svg":
        body, media = standalone_svg(figure), "image/svg+xml"
    elif ending == "csv":
        body, media = figure_csv(figure), "text/csv; charset=utf-8"
    else:
        raise HTTPException(404)
    name = "".join(c if c.isascii() and (c.isalnum() or c in "-_") else "-" for c in figure.name)
    kept = {"content-disposition": f'attachment; filename="{name}.{ending}"'}
    return Response(body, media_type=media, headers=kept)


def figure_csv(figure: Figure) -> str:
    """All points of a figure with their bars or bands; the headings hold the units."""
    x, y = _heading(figure.x, "x"), _heading(figure.y, "y")
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\r\n")
    table.writerow(["series", x, y, *(f"{one} {end}" for one in (x, y) for end in ("from", "to")), "rests on"])  # fmt: skip
    for series in figure.series:
        name = series.label or next((text for text in series.point_labels if text), "")
        for k in range(len(series.x)):
            spans = (series.x_low, series.x_high, series.y_low, series.y_high)
            ends = [str(span[k]) if span else "" for span in spans]
            place = [_at(figure.x, series.x[k]), _at(figure.y, series.y[k])]
            table.writerow([_text(name), *place, *ends, series.basis.value])
    return out.getvalue()


def _heading(axis: Axis, fallback: str) -> str:
    title = axis.title or fallback
    return f"{title} [{axis.unit}]" if axis.unit else title


def _at(axis: Axis, value: float) -> str:
    return _text(axis.names[round(value)]) if axis.scale is Scale.NAMES else repr(float(value))


def _text(text: str) -> str:
    return f"'{text}" if text.startswith(_GUARDED) else text
