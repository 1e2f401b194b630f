"""A report record as one self-contained HTML file: no script, no outside address."""

from __future__ import annotations

from functools import lru_cache
from importlib import resources
from typing import TYPE_CHECKING

from markupsafe import Markup

from aerode.report.figure_table import data_table
from aerode.report.printed import dated, tied, with_signs
from aerode.report.svg import draw
from aerode.report.tokens import token_css
from aerode.report.told_cautions import (
    figure_beside,
    more_to_do,
    plain_reference,
    source_numbers,
    told_cautions,
)

if TYPE_CHECKING:
    import jinja2

    from aerode.records.figures import Figure
    from aerode.records.reports import Report

__all__ = ["html", "standalone_svg"]


def _text(name: str) -> str:
    return resources.files("aerode.report").joinpath(name).read_text("utf-8")


@lru_cache(maxsize=1)
def _environment() -> jinja2.Environment:
    import jinja2

    environment = jinja2.Environment(
        loader=jinja2.PackageLoader("aerode.report", "templates"),
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
        undefined=jinja2.StrictUndefined,
    )
    environment.filters.update(tied=tied, signs=with_signs, dated=dated, reference=plain_reference)  # pyright: ignore[reportUnknownMemberType]
    environment.filters.update(more_than=more_to_do, figure_beside=figure_beside)  # pyright: ignore[reportUnknownMemberType]
    environment.globals.update(draw=_drawn, data_table=data_table)  # pyright: ignore[reportUnknownMemberType]
    return environment


def _drawn(figure: Figure, width: int) -> Markup:
    # `draw` escapes every text of the record itself.
    return Markup(draw(figure, width=width))


def html(report: Report) -> str:
    """The whole report as one HTML file.

    Parameters
    ----------
    report : Report
        The record; equal records give equal bytes.

    Returns
    -------
    str
        UTF-8 text that needs nothing from outside and runs no script.
    """
    style = token_css() + _text("report.css") + _text("figure.css")
    return (
        _environment()
        .get_template("report.html")
        .render(
            report=report,
            style=Markup(style),
            told=told_cautions(report.cautions),
            numbers=source_numbers(report),
        )
    )


def standalone_svg(figure: Figure, *, width: int = 720) -> str:
    """A figure as an SVG file that carries its own colours."""
    return draw(figure, width=width, style=token_css() + _text("figure.css"))
