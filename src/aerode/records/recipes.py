"""A recipe card: how a mix or an electrode is made, written so that another bench can make it too.

The card is plain TOML. Shares are of the dry mass, because what is bought is wet by an unknown
amount; what stands behind ± is one standard uncertainty.
"""

from __future__ import annotations

from typing import Annotated

from annotated_types import Ge

from aerode.quantities import Unit
from aerode.records.doses import MixAnswer
from aerode.records.marks import Entry, Name, record

__all__ = [
    "CardCaution",
    "CardDoses",
    "CardLiquid",
    "CardMatch",
    "CardMix",
    "CardPart",
    "CardStep",
    "CardWritten",
    "RecipeCard",
]


@record
class CardPart:
    """One dry part of a mix: a powder, or the dry solids of a solution.

    `material` is what its maker calls it; `substance` and `function` tell what it is.
    """

    material: str
    substance: str
    function: str
    share: Annotated[Entry, Unit("")]
    """Of the dry mass of the mix."""
    plasticiser: str = ""
    """What of the dry solids is plasticiser, where some of it is."""
    plasticiser_share: Annotated[Entry, Unit("")] | None = None
    """Of the dry solids of this part."""


@record
class CardLiquid:
    """One liquid that leaves on drying, as a share of all of them."""

    substance: str
    share: Annotated[Entry, Unit("")]


@record
class CardMix:
    """A mix on a dry basis."""

    name: Name
    dry: tuple[CardPart, ...]
    solids_fraction: Annotated[Entry, Unit("")] | None = None
    """Dry mass over wet mass as it was spread."""
    liquids: tuple[CardLiquid, ...] = ()


@record
class CardStep:
    """One step of making, in order. Only the fields that were known are filled."""

    do: str
    """ "coat", "dry", "press", "seal", "tab", "keep" or "measure"."""
    layer: int | None = None
    """Counted from the gas side, from 1."""
    role: str = ""
    mix: str = ""
    means: str = ""
    """Brush, blade, iron, clamp; the sealant; the way of the tab."""
    coats: int | None = None
    loading: Annotated[Entry, Unit("kg/m^2")] | None = None
    """Dry mass per area of this layer."""
    temperature: Annotated[Entry, Unit("K")] | None = None
    duration: Annotated[float, Ge(0.0), Unit("s")] | None = None
    force: Annotated[Entry, Unit("N")] | None = None
    torque: Annotated[Entry, Unit("N*m")] | None = None
    firmness: str = ""
    thickness: Annotated[Entry, Unit("m")] | None = None
    resistance: Annotated[Entry, Unit("ohm")] | None = None
    note: str = ""


@record
class CardCaution:
    """A caution as it stood on the bench of the maker, for that room and those amounts."""

    level: str
    hazard: str
    headline: str
    do: str


@record
class RecipeCard:
    """A recipe that travels."""

    schema: str = "aerode.recipe-card/1"
    name: Name
    of: str
    """ "electrode" or "mix"."""
    by: str = ""
    """Who signs it, if anybody does."""
    state: str = ""
    """Digest of the state of the record that the card was written from."""
    mesh: str = ""
    """Material, weave and size of the collector."""
    area: Annotated[Entry, Unit("m^2")] | None = None
    """Of the electrode of the maker; the doses follow the reader's own."""
    mixes: tuple[CardMix, ...] = ()
    steps: tuple[CardStep, ...] = ()
    cautions: tuple[CardCaution, ...] = ()
    standing_text: str = ""
    note: str = ""


@record
class CardWritten:
    """A card that was written."""

    schema: str = "aerode.recipe-written/1"
    headline: str
    path: str
    card: RecipeCard
    not_on_it: tuple[str, ...] = ()
    """What a reader would need and this bench does not know."""


@record
class CardMatch:
    """What of the reader's shelf stands for a part of the card, and how the two differ."""

    part: str
    taken: str
    differs: str = ""


@record
class CardDoses:
    """A card on the reader's bench: its doses for the reader's scale, stock and area."""

    schema: str = "aerode.recipe-doses/1"
    headline: str
    card: str
    matches: tuple[CardMatch, ...]
    mixes: tuple[MixAnswer, ...]
    """One for each mix of the card, with its dose sheet."""
    notes: tuple[str, ...] = ()
    """What of the card cannot be had with this shelf."""
    stored: tuple[str, ...] = ()
    """Names under which the mixes stand on this bench now."""
    steps: tuple[CardStep, ...] = ()
    cautions: tuple[CardCaution, ...] = ()
    """As they stood on the bench of the maker; those of this bench stand with each mix."""
