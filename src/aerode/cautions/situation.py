"""What is about to be done, as plain numbers: the one input of the caution engine.

A situation is a view of records (a mix, a room, a press plan, a cell, the people), in SI. A value
that nobody knows is None, never zero: the rules answer "cannot tell" and name it.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = [
    "Air",
    "CellPlan",
    "Heating",
    "LyeMakeUp",
    "OpenLiquid",
    "Polymer",
    "Powder",
    "SheetFigures",
    "Situation",
    "Span",
    "WeighLoss",
    "Weighings",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """A value known between two ends, with what it rests on."""

    low: float
    high: float
    how: str = ""

    def __post_init__(self) -> None:
        if not 0.0 <= self.low <= self.high:
            raise ValueError(f"a span needs 0 <= low <= high, not {self.low} and {self.high}")


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenLiquid:
    """A liquid that can evaporate into the room: all of it is counted as going into the air."""

    name: str
    substance: str
    mass: float | None = None
    """[kg]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Powder:
    """A dry powder that is handled."""

    name: str
    substance: str
    mass: float | None = None
    """[kg]"""
    recovered: bool = False
    """Taken out of a spent cell or another old thing."""
    water_soluble: float | None = None
    """Water-soluble share of the dry powder as measured, None where not measured."""
    loose: bool = True
    """False once it is bound in a layer: no dust then, but it still reacts."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Polymer:
    """A polymer or wax in the layer; an empty substance is a plastic of unknown kind."""

    name: str
    substance: str
    sheet_limit: float | None = None
    """Highest temperature its data sheet allows [K], entered by hand."""
    sheet: str = ""
    """Which data sheet."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetFigures:
    """What the safety data sheet of one lot says of one substance; None where it is silent.

    `of` is the substance, or the name of the liquid where nobody said what it is. A sheet that is
    not named counts as if it were from memory: it can ask for a FIRST, never for a STOP.
    """

    of: str
    said: str
    """Which sheet, with its date, as it is printed as a source."""
    named: bool = True
    flash: float | None = None
    """[K]"""
    autoignition: float | None = None
    """[K]"""
    lower: float | None = None
    """Lower flammable limit, by volume."""
    day: float | None = None
    """[kg/m^3]"""
    day_by_volume: float | None = None
    quarter_hour: float | None = None
    """[kg/m^3]"""
    quarter_hour_by_volume: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class WeighLoss:
    """What a scale saw: the loss in mass of the wet thing over a time. The preferred source term."""

    lost: float
    """[kg]"""
    over: float
    """[s]"""
    resolution: float = 0.0
    """Smallest step of the scale [kg]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Air:
    """The room. `airing` is one of the words of the room record where no air change rate is known.

    The uncertainties are standard uncertainties; the rules span twice as far to either side.
    """

    name: str = "room"
    volume: float | None = None
    """[m^3]"""
    volume_uncertainty: float = 0.0
    """[m^3]"""
    air_changes: float | None = None
    """[1/s]"""
    air_changes_uncertainty: float = 0.0
    """[1/s]"""
    airing: str = ""
    exhaust: str = ""
    """How well a local exhaust at the wet thing catches its vapour: "none", "poor", "fair", "good",
    "excellent"; "" where there is none."""
    temperature: float = 298.15  # judgement: a room of 25 degC
    """[K]"""
    how: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighings:
    """Two weighings of the coated piece, the second later than the first."""

    first: float
    """[kg]"""
    second: float
    """[kg]"""
    interval: float
    """[s]"""
    coating: float | None = None
    """Mass of the coating at the second weighing [kg]; None: the 1 % rule cannot be used."""
    area: float | None = None
    """Coated area [m^2]; None: the mass-per-area rule cannot be used."""
    resolution: float = 0.0
    """Smallest step of the scale [kg], or what of it falls to one of several pieces weighed together."""
    pieces: int = 1
    """How many like pieces were weighed as one; every mass here is of one of them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Heating:
    """One heating: a press, an iron, an oven."""

    name: str
    plate_temperature: float | None = None
    """[K]"""
    cold: bool = False
    """A press that nobody said is hot: it has a force and neither a plate temperature nor an appliance."""
    done: bool = False
    """It is in the log of a piece: nothing of it can be prevented any more."""
    dry_open: bool = False
    """A coat or a weighing has come since, or was left half done: whether the piece is dry is asked anew."""
    appliance: str = "press"
    """"press", "oven" (a laboratory or vented one), "household oven", "heat gun"."""
    closed_volume: float | None = None
    """Free air volume that vapour is shut into [m^3]; None for open plates."""
    retained_solvent: float | None = None
    """Solvent still in the layer [kg]."""
    last_solvents: tuple[str, ...] = ()
    """What the coats were wet with."""
    weighings: Weighings | None = None
    wait: float | None = None
    """Minutes between two weighings that the scale needs for this coat; None: ten."""
    extraction: bool = False
    """A working extraction to the outside stands over it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LyeMakeUp:
    """Dissolving lye in water."""

    salt: str
    solute: float
    """[kg]"""
    water: float
    """[kg]"""
    start_temperature: float = 293.15  # judgement: a room of 20 degC
    """[K]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class CellPlan:
    """A cell, or a battery of like cells."""

    name: str
    salt: str = ""
    mass_fraction: float | None = None
    aluminium_area: float | None = None
    """Wetted aluminium of one cell, both faces [m^2]."""
    aluminium_mass: float | None = None
    """Aluminium of one cell that could corrode away [kg]."""
    corrosion: Span | None = None
    """Measured corrosion current density [A/m^2]; None: a stated high assumption is used."""
    corrosion_taken: float | None = None
    """Corrosion current density that a sizing counts with while the load is on [A/m^2]: no caution tells less."""
    in_series: int = 1
    strings: int = 1
    open_circuit_voltage: Span | None = None
    """Of one cell [V]."""
    capped: bool = False
    headspace: float | None = None
    """Gas space of one capped cell [m^3]."""
    enclosure: float | None = None
    """Free volume of the box the cells stand in [m^3]; None: they stand in the room."""
    fused: bool = False
    """Every string has a fuse at its source."""
    charger: bool = False
    """A supply could drive current backwards through it."""
    collector: str = ""
    """Metal of the mesh; "" where nobody said it."""
    short_circuit: Span | None = None
    """Current of one string into a dead short [A]; None: nobody worked it out."""
    hydroxide: float | None = None
    """Solid that one cell makes over its whole run at most, dry [kg]; None: nobody worked it out."""
    load_voltage: float | None = None
    """Of what a battery feeds with nothing between [V]."""
    load_gets: Span | None = None
    """What that load gets from the fresh row: the middle and a believable high [V]."""
    gentler: str = ""
    """Another battery of the same cells that starts nearer to the load's voltage, in words."""

    @property
    def cells(self) -> int:
        """Number of cells."""
        return self.in_series * self.strings


@dataclass(frozen=True, slots=True, kw_only=True)
class Situation:
    """Everything the rules look at.

    `target_share` is the share of a limit that the advice on airing and waiting aims at; `stay` is
    how long a person stays in the room on that day [s].
    """

    about: tuple[str, ...] = ()
    liquids: tuple[OpenLiquid, ...] = ()
    open_area: float | None = None
    """Wet surface open to the air [m^2]: dish, jar mouth or coat."""
    air_speed: Span | None = None
    """Air speed over it [m/s]; None: from the lowest used to that of a quiet room."""
    weigh_loss: WeighLoss | None = None
    powders: tuple[Powder, ...] = ()
    polymers: tuple[Polymer, ...] = ()
    sheets: tuple[SheetFigures, ...] = ()
    recipe_known: bool = True
    air: Air | None = None
    heatings: tuple[Heating, ...] = ()
    make_ups: tuple[LyeMakeUp, ...] = ()
    cells: tuple[CellPlan, ...] = ()
    children: bool = False
    class_mode: bool = False
    pregnancy: bool = False
    stay: float = 8 * 3600.0
    """[s]"""
    target_share: float = 0.5
