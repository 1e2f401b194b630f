"""A mix and the batches made of it."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

from annotated_types import Gt

from aerode.quantities import Unit
from aerode.records.marks import Entry, Moment, Name, Share, record

__all__ = ["AS_PLANNED", "WORKED_OUT", "Batch", "Ingredient", "Mix", "Portion"]

WORKED_OUT = "worked out from its share"
"""How an amount of a mix was found that nobody typed."""
AS_PLANNED = "as planned, not weighed"
"""How an amount of a pot was found that nobody weighed: what was to go in is taken."""


class Ingredient(StrEnum):
    """Which shelf an ingredient stands on."""

    POWDER = "powder"
    SOLUTION = "solution"
    SOLVENT = "solvent"


@record
class Portion:
    """One ingredient as it goes into the pot: a mass or a volume, as received (wet).

    An amount that was worked out from a wanted share says so in its `how` (`WORKED_OUT`).
    """

    of: Name
    shelf: Ingredient = Ingredient.POWDER
    mass: Annotated[Entry, Unit("kg")] | None = None
    volume: Annotated[Entry, Unit("m^3")] | None = None

    def __post_init__(self) -> None:
        if (self.mass is None) == (self.volume is None):
            raise ValueError(f"the portion of {self.of!r} needs a mass or a volume, and not both")


@record
class Mix:
    """A recipe: what was put together (`portions`), what was wanted (`wanted`, dry mass), or both.

    `wanted` names powders and solutions by their own name and counts the dry solids of each;
    the fractions add up to 1. `rest` names those of them that take what the others leave over:
    one that was typed as "rest", or those of which only amounts were typed.
    """

    name: Name
    portions: tuple[Portion, ...] = ()
    wanted: tuple[Share, ...] = ()
    rest: tuple[Name, ...] = ()
    solids_fraction: Annotated[Entry, Unit("")] | None = None
    after: str = ""
    note: str = ""

    def __post_init__(self) -> None:
        total = sum(s.fraction for s in self.wanted)
        if self.wanted and abs(total - 1.0) > 1e-6:
            raise ValueError(f"the wanted dry fractions add up to {total:.6g}, not to 1")
        strange = sorted(set(self.rest) - {s.of for s in self.wanted})
        if strange:
            raise ValueError(f"the rest names {', '.join(strange)}, of which no share is wanted")


@record
class Batch:
    """One pot of a mix, as it was really weighed on a day.

    `planned` keeps what was to be weighed, of the dose sheet or of the mix: what of it is not among
    the portions did not go in. A portion that was not weighed says so in its `how` (`AS_PLANNED`).
    """

    name: Name
    mix: Name
    portions: tuple[Portion, ...] = ()
    planned: tuple[Portion, ...] = ()
    made: Moment = ""
    rested: Annotated[float, Gt(0.0), Unit("s")] | None = None
    note: str = ""
