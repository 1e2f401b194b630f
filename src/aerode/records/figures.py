"""A figure as a record: series, bands, axes with units, and the words for those who cannot see it."""

from __future__ import annotations

from enum import StrEnum

from aerode.quantities import Basis
from aerode.records.marks import record

__all__ = ["Axis", "Dash", "Figure", "Mark", "Scale", "Series", "Stretch"]


class Scale(StrEnum):
    """How an axis runs."""

    LINEAR = "linear"
    LOG = "log"
    NAMES = "names"
    """One place for each name in `Axis.names`."""


class Mark(StrEnum):
    """The mark of a point; colour never stands alone."""

    NONE = "none"
    CIRCLE = "circle"
    SQUARE = "square"
    DIAMOND = "diamond"
    TRIANGLE = "triangle"
    CROSS = "cross"
    RING = "ring"


class Dash(StrEnum):
    """The dash of a line."""

    NONE = "none"
    SOLID = "solid"
    DASHED = "dashed"
    DOTTED = "dotted"


@record
class Axis:
    """One axis: what it shows, in which unit, how it runs."""

    title: str
    unit: str = ""
    scale: Scale = Scale.LINEAR
    low: float | None = None
    high: float | None = None
    names: tuple[str, ...] = ()


@record
class Series:
    """Points, a line, or both. `low` and `high` are bars at the points, or a band if `band`.

    With an axis of names, the coordinate is the place of the name, counted from 0.
    """

    label: str
    x: tuple[float, ...]
    y: tuple[float, ...]
    x_low: tuple[float, ...] = ()
    x_high: tuple[float, ...] = ()
    y_low: tuple[float, ...] = ()
    y_high: tuple[float, ...] = ()
    band: bool = False
    mark: Mark = Mark.NONE
    dash: Dash = Dash.NONE
    tone: int = 0
    """Which of the eight tones of the palette."""
    basis: Basis = Basis.MEASURED
    point_labels: tuple[str, ...] = ()


@record
class Stretch:
    """A marked stretch of the plane: a limit line (low = high), a margin band, an unknown span (hatched)."""

    along: str
    """ "x" or "y"."""
    low: float
    high: float
    label: str
    hatched: bool = False
    across: tuple[float, float] | None = None
    """Where it ends on the other axis; all of it if None."""


@record
class Figure:
    """All that is needed to draw a figure, to table it, and to say it in words."""

    name: str
    title: str
    x: Axis
    y: Axis
    series: tuple[Series, ...]
    stretches: tuple[Stretch, ...] = ()
    caption: str = ""
    alt: str
