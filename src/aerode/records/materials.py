"""What stands on the shelf: powder lots, solutions, solvents, mesh, electrolyte, aluminium."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

from annotated_types import Ge, Gt

from aerode.quantities import Unit
from aerode.records.marks import Entry, Gone, Moment, Name, NotNegative, Share, record

__all__ = [
    "Aluminium",
    "DataSheet",
    "Dish",
    "Electrolyte",
    "Function",
    "MeshCard",
    "PowderLot",
    "Price",
    "Solution",
    "SolventLot",
    "StripResistance",
]


class Function(StrEnum):
    """What a material does in an electrode."""

    CONDUCTOR = "conductor"
    ACTIVE_CARBON = "active carbon"
    CATALYST = "catalyst"
    BINDER = "binder"
    WET_PROOFER = "wet-proofer"
    PORE_FORMER = "pore former"
    PLASTICISER = "plasticiser"
    COLLECTOR = "collector"
    SEPARATOR = "separator"
    SEALANT = "sealant"
    SOLVENT = "solvent"


@record
class Price:
    """What a pack cost. `per_mass` or `per_volume` says how much was in it."""

    amount: NotNegative
    currency: Annotated[str, "ISO 4217 code"] = "EUR"
    per_mass: Annotated[float, Gt(0.0), Unit("kg")] | None = None
    per_volume: Annotated[float, Gt(0.0), Unit("m^3")] | None = None
    per_area: Annotated[float, Gt(0.0), Unit("m^2")] | None = None
    date: Moment = ""


@record
class DataSheet:
    """What the safety data sheet that came with a lot says, as the person read it in section 8 and 9.

    A limit of exposure is entered as mass per volume or, for a vapour, by volume ("50 ppm").
    """

    title: str = ""
    """Maker and product, as printed."""
    date: Moment = ""
    """Of this revision of the sheet."""
    flash_point: Annotated[Entry, Unit("K")] | None = None
    autoignition_temperature: Annotated[Entry, Unit("K")] | None = None
    lower_flammable_limit: Annotated[Entry, Unit("")] | None = None
    """By volume."""
    day_limit: Annotated[Entry, Unit("kg/m^3")] | None = None
    """Exposure limit over eight hours."""
    day_limit_by_volume: Annotated[Entry, Unit("")] | None = None
    short_limit: Annotated[Entry, Unit("kg/m^3")] | None = None
    """Exposure limit over a quarter of an hour."""
    short_limit_by_volume: Annotated[Entry, Unit("")] | None = None
    heat_limit: Annotated[Entry, Unit("K")] | None = None
    """Highest temperature that it allows."""
    note: str = ""


@record
class PowderLot:
    """One bag of powder: what it is, how wet, how pure, and what it costs.

    Moisture is per mass as received; assay and the water-soluble part are per dry mass.
    """

    name: Name
    substance: str
    function: Function
    moisture: Annotated[Entry, Unit("")] | None = None
    assay: Annotated[Entry, Unit("")] | None = None
    water_soluble: Annotated[Entry, Unit("")] | None = None
    true_density: Annotated[Entry, Unit("kg/m^3")] | None = None
    oil_absorption: Annotated[Entry, Unit("m^3/kg")] | None = None
    specific_surface: Annotated[Entry, Unit("m^2/kg")] | None = None
    largest_grain: Annotated[Entry, Unit("m")] | None = None
    recovered: bool = False
    data_sheet: DataSheet | None = None
    stock: Annotated[Entry, Unit("kg")] | None = None
    price: Price | None = None
    supplier: str = ""
    note: str = ""
    gone: Gone | None = None


@record
class Dish:
    """One dried aliquot: the empty dish, the dish with wet solution, the dish after drying."""

    empty: Annotated[float, Ge(0.0), Unit("kg")]
    wet: Annotated[float, Gt(0.0), Unit("kg")]
    dried: Annotated[float, Gt(0.0), Unit("kg")]
    note: str = ""


@record
class Solution:
    """A polymer dissolved (or a wax dispersed) in a liquid, with its solids as measured.

    `solids` may be entered directly instead of dishes; `label_solids` is what the bottle says and
    is used only where nothing was measured. `plasticiser` is the part of the dry solids that is
    plasticiser and not polymer.
    """

    name: Name
    polymer: str
    function: Function = Function.BINDER
    liquid: tuple[Share, ...] = ()
    dishes: tuple[Dish, ...] = ()
    solids: Annotated[Entry, Unit("")] | None = None
    label_solids: Annotated[Entry, Unit("")] | None = None
    plasticiser: Annotated[Entry, Unit("")] | None = None
    plasticiser_substance: str = ""
    density: Annotated[Entry, Unit("kg/m^3")] | None = None
    """Of the liquid as it stands in the jar."""
    dry_density: Annotated[Entry, Unit("kg/m^3")] | None = None
    """Of its dry solids."""
    dispersed: bool = False
    data_sheet: DataSheet | None = None
    stock: Annotated[Entry, Unit("kg")] | None = None
    price: Price | None = None
    note: str = ""
    gone: Gone | None = None


@record
class SolventLot:
    """A bottle of pure solvent."""

    name: Name
    substance: str
    density: Annotated[Entry, Unit("kg/m^3")] | None = None
    data_sheet: DataSheet | None = None
    stock: Annotated[Entry, Unit("kg")] | None = None
    price: Price | None = None
    note: str = ""
    gone: Gone | None = None


@record
class StripResistance:
    """End-to-end resistance of a strip of bare mesh, at one length and width."""

    length: Annotated[float, Gt(0.0), Unit("m")]
    width: Annotated[float, Gt(0.0), Unit("m")]
    resistance: Annotated[float, Ge(0.0), Unit("ohm")]
    along: str = "warp"
    when: str = "before coating"


@record
class MeshCard:
    """The identity card of a mesh: metal, coating, weave, and the tests that tell it from its doubles."""

    name: Name
    material: str
    coating: str = ""
    weave: str = "plain"
    wire_diameter: Annotated[Entry, Unit("m")] | None = None
    pitch: Annotated[Entry, Unit("m")] | None = None
    mass_per_area: Annotated[Entry, Unit("kg/m^2")] | None = None
    magnetic: bool | None = None
    lacquered: bool | None = None
    strips: tuple[StripResistance, ...] = ()
    cleaned_with: str = ""
    price: Price | None = None
    note: str = ""
    gone: Gone | None = None


@record
class Electrolyte:
    """One made-up batch of electrolyte."""

    name: Name
    salt: str
    mass_fraction: Annotated[Entry, Unit("")] | None = None
    volume: Annotated[Entry, Unit("m^3")] | None = None
    made: Moment = ""
    note: str = ""
    gone: Gone | None = None


@record
class Aluminium:
    """One lot of aluminium: a can, a sheet, a roll of foil."""

    name: Name
    grade: str = "not known"
    thickness: Annotated[Entry, Unit("m")] | None = None
    surface: str = ""
    note: str = ""
    gone: Gone | None = None
