"""The bench sheet: what to weigh, coat, dry and press, with what can hurt on top, ready to be printed."""

from __future__ import annotations

from aerode.records.cautions import CautionSheet
from aerode.records.marks import record
from aerode.records.reports import SourceLine, Table

__all__ = ["BenchSheet", "SheetPart", "SheetStep", "SheetWeight"]


@record
class SheetWeight:
    """One thing to weigh, rounded to the scale, with a box to tick and a place for what was weighed."""

    of: str
    amount_g: float
    amount: str
    """With as many digits as the scale shows: "0.56 g"."""
    volume: str = ""
    """Or by volume: "1.25 mL"."""
    uncertainty: str = ""
    """Standard uncertainty of the weighing: "2.2 %"."""
    note: str = ""


@record
class SheetStep:
    """One act with a box to tick; `gate` is what has to hold before it, `blanks` what is written down."""

    act: str
    gate: str = ""
    blanks: tuple[str, ...] = ()


@record
class SheetPart:
    """A stretch of the work: weigh, stir, coat, dry, press, put away."""

    name: str
    title: str
    weights: tuple[SheetWeight, ...] = ()
    steps: tuple[SheetStep, ...] = ()
    tables: tuple[Table, ...] = ()
    """Tables to be filled in: an empty cell is a place to write."""
    lines: tuple[str, ...] = ()


@record
class BenchSheet:
    """One sheet of paper for one mix: the cautions first, then the work step by step."""

    schema: str = "aerode.bench-sheet/1"
    headline: str
    mix: str
    says: str = ""
    """What the square code of the sheet says: the mix by name and identity, never an address."""
    bench: str
    room: str = ""
    scale: str
    cautions: CautionSheet
    """Every STOP stands on the sheet, acknowledged or not printed at all."""
    folded: tuple[str, ...] = ()
    """Keys of the FIRST and NOTE that were read before: one line each. Never a STOP."""
    parts: tuple[SheetPart, ...]
    assumptions: tuple[str, ...] = ()
    sources: tuple[SourceLine, ...] = ()
    made: str
    version: str
