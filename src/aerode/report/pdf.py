"""The report as a PDF that a screen reader can follow: tagged, titled, with a text for every figure."""

from __future__ import annotations

import json
import re
from functools import lru_cache
from importlib import resources
from typing import TYPE_CHECKING, Any

from aerode.errors import MissingExtraError
from aerode.report.svg import draw
from aerode.report.tokens import LIGHT, TONES_LIGHT

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.records.cautions import CautionSheet
    from aerode.records.figures import Figure
    from aerode.records.reports import Report, Section, Table

__all__ = ["HOW_TO_GET_IT", "STANDARD", "can_make_pdf", "figure_style", "need_typesetter", "pdf"]

STANDARD = "ua-1"
"""PDF/UA-1, ISO 14289-1: the file is refused by the typesetter itself if a tag, a title or a text is missing."""
HOW_TO_GET_IT = 'pip install "aerode[pdf]"'
_FONT = '"Libertinus Serif"'
"""Comes with the typesetter, so that the file is the same on every computer."""
_DRAWN = 620
"""The width that a figure is drawn for [px]: the text of the figures is then as large as small print."""
_LONG = 34
"""Characters from which a cell runs over several lines (judgement)."""
_RULE = re.compile(r"([^{}]+)\{([^{}]*)\}")


def can_make_pdf() -> bool:
    """Whether the typesetter is installed."""
    from importlib.util import find_spec

    return find_spec("typst") is not None


def need_typesetter() -> None:
    """Refuse, with the line to type, where the typesetter is not installed.

    Raises
    ------
    MissingExtraError
        It is not.
    """
    if not can_make_pdf():
        raise MissingExtraError(
            "a PDF needs the typesetter typst, which is not installed",
            where="report",
            next_step=f"{HOW_TO_GET_IT}; or print the page from the browser",
        )


def pdf(report: Report) -> bytes:
    """The whole report as one PDF file.

    Parameters
    ----------
    report : Report
        The record; equal records give equal bytes.

    Returns
    -------
    bytes
        PDF/UA-1: tagged, with language, title, headings in order, heads of tables, and the text of
        every figure.

    Raises
    ------
    MissingExtraError
        The typesetter is not installed.
    """
    need_typesetter()
    import typst

    source = resources.files("aerode.report").joinpath("templates/report.typ").read_bytes()
    made = typst.compile(
        source,
        format="pdf",
        ignore_system_fonts=True,
        sys_inputs={"report": json.dumps(_plain(report), ensure_ascii=False)},
        pdf_standards=[STANDARD],
        timestamp=0,
    )
    assert isinstance(made, bytes)
    return made


def _plain(report: Report) -> dict[str, Any]:
    return {
        "title": report.title,
        "bench": report.bench,
        "sentence": report.sentence,
        "made": report.made,
        "version": report.version,
        "digest": report.data_digest,
        "invented": report.invented,
        "lead": _figure(report.lead_figure),
        "lines": list(report.lead_lines),
        "sections": [_section(part, report.cautions) for part in report.sections],
        "sources": [{"text": s.reference, "unverified": s.unverified} for s in report.sources],
        "colours": LIGHT,
    }


def _section(part: Section, sheets: Sequence[CautionSheet]) -> dict[str, Any]:
    here = sheets if part.name == "cautions" else ()
    return {
        "title": part.title,
        "sentence": part.sentence,
        "figures": [_figure(figure) for figure in part.figures],
        "tables": [_table(table) for table in part.tables if table.rows],
        "lines": list(part.lines),
        "cautions": [
            {
                "level": str(c.level),
                "headline": c.headline,
                "do": c.do,
                "figure": f"{c.figure}; limit: {c.limit}" if c.figure and c.limit else c.figure,
                "source": "; ".join(c.source),
                "unverified": c.unverified,
            }
            for sheet in here
            for c in sheet.cautions
        ],
        "standing": here[0].standing_text if here else "",
    }


def _table(table: Table) -> dict[str, Any]:
    return {
        "caption": table.caption,
        "columns": list(table.columns),
        "rows": [list(row) for row in table.rows],
        "widths": [
            _share(column, [row[k] for row in table.rows]) for k, column in enumerate(table.columns)
        ],
        "numbers": list(table.numbers),
        "note": table.note,
    }


def _share(head: str, cells: Sequence[str]) -> float:
    """The width of a column against the others: its longest word fits, and a sentence gets room to run."""
    word = max(len(word) for text in (head, *cells) for word in (text or "–").split())
    return float(max(word + 2, len(head) / 2, min(_LONG, max(len(cell) for cell in cells))))


def _figure(figure: Figure) -> dict[str, str]:
    svg = draw(figure, width=_DRAWN, style=figure_style())
    return {"svg": svg, "alt": f"{figure.title}. {figure.alt}", "caption": figure.caption}


@lru_cache(maxsize=1)
def figure_style() -> str:
    """The style of the figures without custom properties, on white paper.

    The typesetter reads plain CSS only, so each tone becomes a rule of its own.
    """
    sheet = resources.files("aerode.report").joinpath("figure.css").read_text("utf-8")
    rules: list[str] = []
    for selector, body in _RULE.findall(sheet):
        told = re.sub(r"font:[^;]*;", f"font-family: {_FONT}; font-size: 13px;", body)
        told = re.sub(r"var\(--([a-z-]+)\)", lambda m: LIGHT.get(m[1], m[0]), told)
        if "var(--tone)" not in told:
            rules.append(f"{selector.strip()}{{{told}}}")
            continue
        for k, tone in enumerate(TONES_LIGHT):
            named = ",".join(f"{one.strip()}.t{k}" for one in selector.split(","))
            rules.append(f"{named}{{{told.replace('var(--tone)', tone)}}}")
    return "".join(rules)
