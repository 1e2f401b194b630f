"""A bench sheet as one HTML page for printing on A4: no script, no outside address."""

from __future__ import annotations

from functools import lru_cache
from importlib import resources
from typing import TYPE_CHECKING

from markupsafe import Markup

from aerode.report.printed import dated, tied, with_signs
from aerode.report.square_code import code_svg
from aerode.report.tokens import token_css
from aerode.report.told_cautions import figure_beside, plain_reference

if TYPE_CHECKING:
    import jinja2

    from aerode.records.bench_sheets import BenchSheet
    from aerode.records.cautions import Caution

__all__ = ["sheet_html"]


@lru_cache(maxsize=1)
def _template() -> jinja2.Template:
    import jinja2

    environment = jinja2.Environment(
        loader=jinja2.PackageLoader("aerode.report", "templates"),
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
        undefined=jinja2.StrictUndefined,
    )
    environment.filters.update(tied=tied, signs=with_signs, dated=dated, reference=plain_reference)  # pyright: ignore[reportUnknownMemberType]
    environment.filters.update(figure_beside=figure_beside)  # pyright: ignore[reportUnknownMemberType]
    return environment.get_template("bench_sheet.html")


def _style() -> str:
    return resources.files("aerode.report").joinpath("bench_sheet.css").read_text("utf-8")


def _reasons(sheet: BenchSheet, caution: Caution) -> list[str]:
    """Why a STOP is done all the same, as it was written down."""
    if caution.key in sheet.folded:
        return []
    return [
        f"{said.reason} ({dated(said.made) or 'no date'})"
        for said in sheet.cautions.acknowledged
        if said.caution == caution.key and said.about == caution.about
    ]


def _keys(sheet: BenchSheet, caution: Caution) -> str:
    """The sources of a caution by their numbers in the list at the foot of the sheet."""
    numbers = {line.reference: k for k, line in enumerate(sheet.sources, start=1)}
    told = [f"[{numbers[s]}]" if s in numbers else plain_reference(s) for s in caution.source]
    return ", ".join(dict.fromkeys(told))


def sheet_html(sheet: BenchSheet) -> str:
    """The sheet as one HTML page, the cautions first, a box to tick before each act.

    Parameters
    ----------
    sheet : BenchSheet
        The record; equal records give equal bytes.

    Returns
    -------
    str
        UTF-8 text that needs nothing from outside and runs no script.
    """
    style = token_css(dark_too=False) + _style()  # white paper, on a dark screen too
    reasons = {c.key: _reasons(sheet, c) for c in sheet.cautions.cautions}
    keys = {c.key: _keys(sheet, c) for c in sheet.cautions.cautions}
    code = Markup(code_svg(sheet.says)) if sheet.says else ""  # our own drawing
    return _template().render(
        sheet=sheet, reasons=reasons, keys=keys, style=Markup(style), code=code
    )
