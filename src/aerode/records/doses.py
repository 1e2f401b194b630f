"""The answer of `mix`: what dries to what, and the dose sheet for what is wanted."""

from __future__ import annotations

from aerode.records.marks import record
from aerode.records.results import Estimate

__all__ = ["DoseLine", "DoseSheet", "DryPart", "MixAnswer"]


@record
class DryPart:
    """One dry component of a mix, by mass and by volume."""

    of: str
    substance: str
    function: str
    mass_g: Estimate
    mass_fraction: Estimate
    volume_fraction: Estimate


@record
class DoseLine:
    """One thing to weigh (or to measure by volume), rounded to the scale.

    `together` names the lines that are weighed in one dish because each alone is too little.
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
    dissolve_into: str = ""


@record
class DoseSheet:
    """The wet dose sheet for an area, a loading and a number of electrodes."""

    electrodes: int
    area_cm2: float
    loading_mg_cm2: float
    spare: float
    """Extra fraction for what stays in the pot and on the brush."""
    scale: str
    lines: tuple[DoseLine, ...]
    composition_error: dict[str, float]
    """What rounding does: dry mass fraction after rounding minus the wanted one."""
    dry_mass_g: float
    wet_mass_g: float
    scale_cannot: tuple[str, ...] = ()
    stock_short: tuple[str, ...] = ()


@record
class MixAnswer:
    """What a mix dries to, and the sheet to weigh it by."""

    schema: str = "aerode.mix/1"
    headline: str
    mix: str
    dry: tuple[DryPart, ...]
    wet_mass_g: Estimate
    dry_mass_g: Estimate
    solids_fraction: Estimate
    solvents_g: dict[str, Estimate]
    solvent_to_lose_g: Estimate
    pigment_volume: Estimate
    """Volume of powders over volume of powders and binder."""
    critical_pigment_volume: Estimate
    binder_fill: str
    """In words: how the binder stands to the voids between the grains."""
    porosity: Estimate
    cost_per_electrode: Estimate
    cost_detail: tuple[str, ...] = ()
    dose: DoseSheet | None = None
    warnings: tuple[str, ...] = ()
    assumptions: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
