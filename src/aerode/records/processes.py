"""The answer of `process`: drying, dryness, pressing, wetting, making an electrolyte up."""

from __future__ import annotations

from typing import Annotated

from aerode.quantities import Basis, Unit
from aerode.records.cautions import Caution
from aerode.records.marks import record

__all__ = [
    "Assumed",
    "Band",
    "CrackHint",
    "DryingTimes",
    "DrynessFinding",
    "ElectrolyteSheet",
    "FilmHeat",
    "LiquidShare",
    "PolymerWindow",
    "PressLoad",
    "ProcessAnswer",
    "WettingFinding",
]


@record
class Band:
    """A figure as low and high, with a likely one between where there is one; None: not known.

    The ends are what is not known, put together at its worst: no interval of any probability.
    """

    low: float | None
    likely: float | None = None
    high: float | None
    unit: str
    basis: Basis = Basis.PREDICTED
    meaning: str = ""


@record
class Assumed:
    """Something that was not given, and what was taken for it."""

    what: str
    taken: str
    source: str = ""
    status: str = "unverified"
    give: str = ""
    """The option that replaces it."""


@record
class LiquidShare:
    """One liquid of the coat: its share of the mass at the start and once a tenth is left."""

    of: str
    at_start: float
    near_the_end: float | None = None
    alone: Band
    """Time it would take alone [s]."""


@record
class CrackHint:
    """Shrinkage, and a thickness above which bare grains crack: a hint, to compare coats with."""

    dry_over_wet: float | None = None
    grain_diameter: Annotated[float, Unit("m")] | None = None
    thickness: Band | None = None


@record
class DryingTimes:
    """How long a wet coat takes: the free liquid, then the last solvent in the binder."""

    liquids: tuple[LiquidShare, ...]
    liquid_mass: Annotated[float, Unit("kg")]
    area: Annotated[float, Unit("m^2")]
    free: Band
    last: Band
    whole: Band
    coldest: Annotated[float, Unit("K")] | None = None
    """How far the drying coat can cool itself."""
    measured_rate: bool = False
    cracks: CrackHint | None = None


@record
class DrynessFinding:
    """What two weighings say, and three of them promise."""

    finding: str
    """ "weight constant", "still losing weight" or "cannot tell"."""
    lost: Annotated[float, Unit("kg")]
    interval: Annotated[float, Unit("s")]
    allowed: Annotated[float, Unit("kg")] | None
    loss_rate: Annotated[float, Unit("kg/s")]
    rule: str = ""
    decides: str = ""
    settles_at: Annotated[float, Unit("kg")] | None = None
    still_to_go: Annotated[float, Unit("kg")] | None = None
    constant_in: Annotated[float, Unit("s")] | None = None


@record
class PressLoad:
    """Force and pressure of a press."""

    force: Band
    pressure: Band
    """Mean over the area that carries the load [Pa]."""
    spread: Band
    """What a spot may get, low and high [Pa]."""
    area: Annotated[float, Unit("m^2")] | None
    how: str


@record
class FilmHeat:
    """How far the film has followed the plate."""

    plate: Annotated[float, Unit("K")]
    after: Annotated[float, Unit("s")] | None
    coldest: Band | None = None
    """The plane that warms last [K]."""
    follows_in: Band
    """Time to come 95 % of the way [s]."""


@record
class PolymerWindow:
    """Where one polymer or wax softens and where it must not go [K]; None: no figure on file."""

    polymer: str
    softens: Annotated[float, Unit("K")] | None
    line: Annotated[float, Unit("K")] | None
    softens_source: str = ""
    line_source: str = ""
    status: str = ""
    note: str = ""


@record
class WettingFinding:
    """How a mixed surface meets water, and the head its widest pore holds."""

    angle: Band
    """[rad]"""
    covering_needed: Band | None = None
    pressure: Band
    head: Band
    surface_tension: Annotated[float, Unit("N/m")]


@record
class ElectrolyteSheet:
    """What to weigh for an electrolyte, and how strong it is, said in every way."""

    salt: str
    volume: Annotated[float, Unit("m^3")] | None
    temperature: Annotated[float, Unit("K")]
    salt_mass: Annotated[float, Unit("kg")] | None = None
    """As weighed: impure salt counts with its water."""
    water_mass: Annotated[float, Unit("kg")] | None = None
    stock_mass: Annotated[float, Unit("kg")] | None = None
    top_up: Annotated[float, Unit("kg")] | None = None
    mass_fraction: float
    molality: Annotated[float, Unit("mol/kg")]
    molarity: Annotated[float, Unit("mol/m^3")]
    grams_per_100_ml_water: float
    density: Annotated[float, Unit("kg/m^3")]
    practical_salinity: float | None = None
    conductivity: Annotated[float, Unit("S/m")] | None = None
    conductivity_uncertainty: Annotated[float, Unit("S/m")] | None = None


@record
class ProcessAnswer:
    """One answer of `process`; of the parts only those that were asked for are filled."""

    schema: str = "aerode.process/1"
    headline: str
    process: str
    """ "drying", "dryness", "pressing", "wetting", "electrolyte" or "strength"."""
    about: tuple[str, ...] = ()
    drying: DryingTimes | None = None
    dryness: DrynessFinding | None = None
    load: PressLoad | None = None
    heat: FilmHeat | None = None
    window: tuple[PolymerWindow, ...] = ()
    window_low: Annotated[float, Unit("K")] | None = None
    window_high: Annotated[float, Unit("K")] | None = None
    wetting: WettingFinding | None = None
    electrolyte: ElectrolyteSheet | None = None
    cautions: tuple[Caution, ...] = ()
    warnings: tuple[str, ...] = ()
    assumed: tuple[Assumed, ...] = ()
    sources: tuple[str, ...] = ()
    understood: tuple[str, ...] = ()
    """How what was typed was read: "185 °F, taken as 358.15 K"."""
