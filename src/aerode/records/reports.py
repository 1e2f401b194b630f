"""The one-page report as a record: what is on it, before it is laid out."""

from __future__ import annotations

from aerode.records.cautions import CautionSheet
from aerode.records.comparisons import Comparison
from aerode.records.figures import Figure
from aerode.records.marks import record

__all__ = ["Report", "Section", "SourceLine", "Table"]


@record
class Table:
    """A table of words, already rounded; `numbers` names the columns that are set flush right."""

    caption: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numbers: tuple[int, ...] = ()
    note: str = ""
    folded: bool = False
    """Long detail that opens on demand; its caption is what one clicks."""


@record
class SourceLine:
    """One source that the report rests on."""

    key: str
    reference: str
    unverified: bool = False


@record
class Section:
    """One question with its answer: a sentence, figures, tables, lines."""

    name: str
    title: str
    sentence: str = ""
    figures: tuple[Figure, ...] = ()
    tables: tuple[Table, ...] = ()
    lines: tuple[str, ...] = ()


@record
class Report:
    """One comparison, reported whole. The first screen is `sentence` and `lead_figure`."""

    schema: str = "aerode.report/1"
    title: str
    bench: str
    sentence: str
    lead_figure: Figure
    lead_lines: tuple[str, ...] = ()
    """What stands below the first figure: what can hurt, who leads, who fell, what is next."""
    sections: tuple[Section, ...]
    cautions: tuple[CautionSheet, ...] = ()
    comparison: Comparison
    sources: tuple[SourceLine, ...] = ()
    invented: bool = False
    """True for the demo: every page says that its data are invented."""
    made: str
    version: str
    data_digest: str
