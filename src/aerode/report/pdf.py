"""The report as a PDF that a screen reader can follow: tagged, titled, with a text for every figure."""

from __future__ import annotations

import json
import re
from functools import lru_cache
from importlib import resources
from typing import TYPE_CHECKING, Any

from aerode.errors import MissingExtraError
from aerode.report.printed import dated, tied, with_signs
from aerode.report.svg import draw
from aerode.report.tokens import LIGHT, TONES_LIGHT
from aerode.report.told_cautions import (
    figure_beside,
    more_to_do,
    plain_reference,
    source_numbers,
    told_cautions,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.records.cautions import Caution
    from aerode.records.figures import Figure
    from aerode.records.reports import Report, Section, Table

__all__ = ["HOW_TO_GET_IT", "STANDARD", "can_make_pdf", "figure_style", "need_typesetter", "pdf"]

STANDARD = "ua-1"
"""PDF/UA-1, ISO 14289-1: the file is refused by the typesetter itself if a tag, a title or a text is missing."""
HOW_TO_GET_IT = 'pip install "aerode[pdf]"'
_FONT = '"Libertinus Serif"'
"""Comes with the typesetter, so that the file is the same on every computer."""
_DRAWN = 330
"""The width that a figure is drawn for [px], as on a phone: it takes half the width of the paper."""
_LONG = 40
"""Characters from which a cell runs over several lines (judgement)."""
_ONE_LINE = 14
"""Characters up to which a cell stays on one line (judgement)."""
_TOGETHER = 14
"""Rows up to which a table stands on one page (judgement)."""
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
        "made": dated(report.made),
        "version": report.version,
        "digest": report.data_digest,
        "invented": report.invented,
        "lead": _figure(report.lead_figure),
        "first": [_hard(line) for line in report.lead_lines if line.startswith(_HARD)],
        "lines": [line for line in report.lead_lines if not line.startswith(_HARD)],
        "sections": [_section(part, report) for part in report.sections],
        "sources": [
            {"text": plain_reference(s.reference), "unverified": s.unverified}
            for s in report.sources
        ],
        "colours": LIGHT,
    }


_HARD = ("STOP", "FIRST")


def _hard(line: str) -> dict[str, str]:
    """A line that has to be read before the act: its level and what it says."""
    level = next(word for word in _HARD if line.startswith(word))
    return {"level": level, "said": line.removeprefix(level)}


def _section(part: Section, report: Report) -> dict[str, Any]:
    here = report.cautions if part.name == "cautions" else ()
    numbers = source_numbers(report)
    return {
        "title": part.title,
        "sentence": part.sentence,
        "figures": [_figure(figure) for figure in part.figures],
        "tables": [_table(table) for table in part.tables if table.rows],
        "lines": list(part.lines),
        "cautions": [
            {
                "level": str(one.caution.level),
                "headline": one.caution.headline,
                "do": one.caution.do,
                "further": one.caution.further,
                "also": [_also(other, one.caution) for other in one.also],
                "figure": _figure_of(one.caution),
                "source": ", ".join(
                    f"[{numbers[text]}]" if text in numbers else text for text in one.caution.source
                ),
                "unverified": one.caution.unverified,
            }
            for one in told_cautions(here)
        ],
        "standing": here[0].standing_text if here else "",
    }


def _figure_of(caution: Caution) -> str:
    both = caution.figure and caution.limit
    return with_signs(f"{caution.figure}; limit: {caution.limit}" if both else caution.figure)


def _also(caution: Caution, first: Caution) -> str:
    """What another mix adds to a caution that is told once."""
    same = caution.limit == first.limit
    figure = figure_beside(caution) if same else _figure_of(caution)
    figure = "" if same and caution.figure == first.figure else figure
    figure = f"{with_signs(figure[:1].upper() + figure[1:])}." if figure else ""
    parts = (f"{caution.headline}.", more_to_do(caution, first), figure)
    return " ".join(one for one in parts if one)


def _table(table: Table) -> dict[str, Any]:
    return {
        "caption": table.caption,
        "columns": list(table.columns),
        "rows": [[_cell(cell) for cell in row] for row in table.rows],
        "together": len(table.rows) <= _TOGETHER,
        "widths": [
            _share(column, [_cell(row[k]) for row in table.rows])
            for k, column in enumerate(table.columns)
        ],
        "numbers": list(table.numbers),
        "note": table.note,
    }


def _cell(text: str) -> str:
    """A cell as print has it; a few short words stay on one line."""
    told = tied(with_signs(text))
    return told.replace(" ", "\u00a0") if len(told) <= _ONE_LINE else told


def _share(head: str, cells: Sequence[str]) -> float:
    """The width of a column against the others: its longest word fits, and a sentence gets room to run."""
    word = max(len(word) for text in (head, *cells) for word in (text or "–").split(" "))
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
