"""A table on its way onto the bench: what was understood of it, shown before it is taken."""

from __future__ import annotations

from dataclasses import field

from aerode.records.figures import Figure
from aerode.records.marks import record

__all__ = ["SeriesFigure", "TableColumn", "TableHabit", "TablePreview", "TableRefusal", "TableRun"]


@record
class TableHabit:
    """How the tables of one source were taken last: known again by its headings.

    `columns` is quantity → heading, `units` quantity → unit, as a person said them; the others are
    empty where nothing was said.
    """

    headings: tuple[str, ...]
    source: str = ""
    """What a person calls it: a meter, a logger."""
    columns: dict[str, str] = field(default_factory=dict[str, str])
    units: dict[str, str] = field(default_factory=dict[str, str])
    decimal: str = ""
    dates: str = ""
    clock: str = ""
    delimiter: str = ""
    encoding: str = ""
    said: str = ""
    """The moment it was confirmed, ISO 8601."""


@record
class TableColumn:
    """One column as it was understood. `low` and `high` are in `si`."""

    heading: str
    place: int
    quantity: str
    """ "" where it is left out."""
    unit: str = ""
    si: str = ""
    of: str = ""
    """The electrode, where the columns belong to several."""
    taken: int = 0
    missing: int = 0
    low: float | None = None
    high: float | None = None


@record
class TableRefusal:
    """A cell, or a row where `column` is empty, that is not taken."""

    line: int
    column: str
    raw: str
    why: str


@record
class TableRun:
    """What becomes of the table, or of a part of it: a run, with its readings or its series."""

    run: str
    electrode: str
    part: str = ""
    sort: str = ""
    started: str = ""
    readings: int = 0
    series: str = ""
    """The name of the series, where the rows are too many for readings."""
    rows: int = 0
    duration: float | None = None
    """From the first row to the last [s]."""
    doubt: str = ""


@record
class TablePreview:
    """What was understood of a table. Nothing is on the bench until `confirmed` is true."""

    schema: str = "aerode.table/1"
    headline: str
    file: str
    checksum: str
    """SHA-256 of the file."""
    rows: int
    rows_refused: int
    cells_refused: int
    columns: tuple[TableColumn, ...]
    runs: tuple[TableRun, ...]
    refused: tuple[TableRefusal, ...] = ()
    """The first of them; the counts are of all."""
    refused_for: dict[str, int] = field(default_factory=dict[str, int])
    """Why → how many cells or rows."""
    understood: tuple[str, ...] = ()
    remembered: str = ""
    """The source whose habit was used, and when it was confirmed."""
    confirmed: bool = False


@record
class SeriesFigure:
    """A long log as a figure; every point of it was read, none is a mean."""

    schema: str = "aerode.log-figure/1"
    headline: str
    run: str
    quantity: str
    rows: int
    """Readings in the stretch that is drawn."""
    points: int
    figure: Figure
    held: tuple[str, ...] = ()
    """When the voltage of a run-down fell under a level, in sentences, the last one what that rests on."""
