"""What every answer is built from: the estimate, and the line of a table of conditions."""

from __future__ import annotations

from enum import StrEnum

from aerode.quantities import Basis
from aerode.records.marks import Known, NotNegative, record

__all__ = ["ConditionLine", "Estimate", "Level"]


@record
class Estimate:
    """A number with its uncertainty, or the reason why there is none.

    `identifiable` is False where the data did not change what was assumed beforehand; then `value`
    is None and `reason` speaks. `lower_bound` is given where only a bound can be told.
    `meaning` says in words what the number is ("apparent, whole cell").
    """

    value: float | None
    unit: str
    standard_uncertainty: NotNegative | None = None
    interval_95: tuple[float, float] | None = None
    identifiable: bool = True
    reason: str | None = None
    lower_bound: float | None = None
    meaning: str = ""
    basis: Basis = Basis.MEASURED


class Level(StrEnum):
    """At which of the two levels something is claimed."""

    PIECES = "pieces"
    """These pieces differ: measurement error alone."""
    RECIPES = "recipes"
    """These recipes differ: the spread between separately built electrodes counts."""


@record
class ConditionLine:
    """One condition of a comparison: how it is known, on which side it lacks, what would mend it."""

    condition: str
    known: Known
    detail: str
    blocks: bool = False
    next_step: str = ""
    key: str = ""
    """The word by which it is named in a question: "salinity"."""
    on_word: bool = False
    """Taken as the same for all because somebody says so: no record and no reading tells it."""
    runs: tuple[str, ...] = ()
    """The runs of which it is not known; for the wetted area, the electrodes."""
