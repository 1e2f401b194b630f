"""The answer of `mix`: what dries to what, and the dose sheet for what is wanted."""

from __future__ import annotations

from aerode.records.marks import record
from aerode.records.results import Estimate

__all__ = [
    "CostLine",
    "DoseLine",
    "DoseSheet",
    "DryPart",
    "FilmPorosity",
    "Masterbatch",
    "MixAnswer",
]


@record
class DryPart:
    """One dry component of a mix, by mass and by volume.

    A solution gives two: its polymer and its plasticiser. `substance_mass_g` is the part of a
    powder that is the named substance (its assay), `washes_out_g` the part that water takes away;
    None where nothing was entered.
    """

    of: str
    substance: str
    function: str
    mass_g: Estimate
    mass_fraction: Estimate
    volume_fraction: Estimate
    substance_mass_g: Estimate | None = None
    washes_out_g: Estimate | None = None
    name: str = ""
    """As the dry coat is told: a powder by its lot, what a solution leaves by its polymer."""


@record
class DoseLine:
    """One thing to weigh (or to measure by volume), rounded to the scale.

    `relative_uncertainty` is the standard uncertainty of the weighing over the amount. `together`
    names the things of the masterbatch it goes in, where it alone is too little for the scale.
    """

    of: str
    shelf: str
    amount_g: float
    exact_g: float
    volume_mL: float | None = None
    relative_uncertainty: float
    weighable: bool
    how: str = ""
    together: tuple[str, ...] = ()


@record
class Masterbatch:
    """Doses too small for the scale, thinned into a larger stock that is weighed once.

    Weigh `parts_g`, mix well, take `take_g` of it for this pot, then weigh only `carrier_left_g`
    more of the carrier. It makes `pots` such pots.
    """

    of: tuple[str, ...]
    carrier: str
    parts_g: dict[str, float]
    take_g: float
    carrier_left_g: float
    pots: float
    relative_uncertainty: float
    adds_liquid_g: float = 0.0
    """Liquid it brings into the pot beyond what the recipe asks."""


@record
class DoseSheet:
    """The wet dose sheet for an area, a loading and a number of electrodes."""

    electrodes: int
    area_cm2: float
    loading_mg_cm2: float
    spare: float
    """Extra fraction for what stays in the pot and on the brush."""
    scale: str
    weighable_within: float
    """A dose counts as weighable where its relative standard uncertainty is at most this."""
    lines: tuple[DoseLine, ...]
    composition_error: dict[str, float]
    """What rounding does: dry mass fraction as weighed (by the masterbatch, where there is one)
    minus the wanted one."""
    dry_mass_g: float
    wet_mass_g: float
    solids_fraction: float
    scale_cannot: tuple[str, ...] = ()
    enough_for_electrodes: int | None = None
    """Electrodes to mix for at once so that this scale can weigh every dry dose by itself."""
    masterbatches: tuple[Masterbatch, ...] = ()
    stock_short: tuple[str, ...] = ()


@record
class CostLine:
    """One part of the cost of one electrode; `cost` is None where a price is missing."""

    part: str
    """ "powder", "solution", "solvent" or "mesh"."""
    of: str
    cost: float | None
    currency: str = ""
    reason: str = ""


@record
class FilmPorosity:
    """Porosity of one electrode of this mix from its mass, area and thickness."""

    electrode: str
    porosity: Estimate
    loading_mg_cm2: Estimate


@record
class MixAnswer:
    """What a mix dries to, and the sheet to weigh it by."""

    schema: str = "aerode.mix/1"
    headline: str
    mix: str
    weighed: bool
    """False for a mix that is only wanted: then amounts are for 100 g dry, or for the dose sheet."""
    dry: tuple[DryPart, ...]
    wet_mass_g: Estimate
    dry_mass_g: Estimate
    solids_fraction: Estimate
    solvents_g: dict[str, Estimate]
    solvent_to_lose_g: Estimate
    pigment_volume: Estimate
    """Volume of powders over volume of powders and binder."""
    critical_pigment_volume: Estimate
    pigment_volume_over_critical: Estimate
    binder_fill: str
    """In words: how the binder stands to the voids between the grains."""
    porosity: Estimate
    """Estimate before pressing, from the balance of binder and voids."""
    films: tuple[FilmPorosity, ...] = ()
    cost_per_electrode: Estimate
    cost: tuple[CostLine, ...] = ()
    dose: DoseSheet | None = None
    warnings: tuple[str, ...] = ()
    assumptions: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
