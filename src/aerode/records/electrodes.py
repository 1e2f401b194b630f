"""An electrode: layers, coats, press, seal, tab, and the states it has been kept in."""

from __future__ import annotations

from dataclasses import field
from enum import StrEnum
from typing import Annotated

from annotated_types import Ge, Gt

from aerode.quantities import Unit
from aerode.records.marks import Entry, Moment, Name, record

__all__ = [
    "Appliance",
    "Cell",
    "Coat",
    "Electrode",
    "Firmness",
    "Layer",
    "LayerRole",
    "Outcome",
    "Press",
    "RecipeState",
    "Seal",
    "Sensing",
    "StorageState",
    "Tab",
    "Weighing",
]


class LayerRole(StrEnum):
    """What a layer is for."""

    ACTIVE = "active"
    WET_PROOF = "wet-proof gas side"
    SEPARATOR = "separator"


class RecipeState(StrEnum):
    """Where the recipe of an electrode stands."""

    MIX = "mix"
    BOUGHT = "bought, not known"
    BLANK = "blank"
    """Same carbon, binder and mesh, no catalyst."""
    BARE_MESH = "bare mesh"


class Outcome(StrEnum):
    """What became of the piece. Failed electrodes stay in the analysis."""

    WHOLE = "whole"
    LEAKED = "leaked"
    CRACKED = "cracked"
    PEELED = "peeled"
    SHORTED = "shorted"
    DISCARDED = "discarded"


class Firmness(StrEnum):
    """How hard it was pressed, where no force is known. Within one bench only."""

    LIGHT = "light"
    FIRM = "firm"
    HARD = "hard"


class Sensing(StrEnum):
    """Where the voltage is read."""

    SENSE_WIRE = "sense wire"
    """A separate wire at the tab: the lead that carries the current is not in the reading."""
    CLIPS = "clips"
    """The clips that carry the current: their resistance is in the reading."""


class Appliance(StrEnum):
    """What a piece is heated with."""

    PRESS = "press"
    OVEN = "oven"
    """Made and vented for solvents."""
    HOUSEHOLD_OVEN = "household oven"
    HEAT_GUN = "heat gun"


@record
class Weighing:
    """One weighing of the whole piece while it dries; two of them tell whether it is dry enough to heat.

    On a coarse scale several like pieces are weighed as one.
    """

    mass: Annotated[float, Gt(0.0), Unit("kg")]
    after: Annotated[float, Ge(0.0), Unit("s")] | None = None
    """Time since the weighing before it, where no clock was noted."""
    at: Moment = ""
    resolution: Annotated[float, Gt(0.0), Unit("kg")] | None = None
    """Smallest step of the scale."""
    beside: tuple[str, ...] = ()
    """Names of the like pieces that lay on the scale with it; the mass is of all of them."""
    note: str = ""

    @property
    def pieces(self) -> int:
        """How many pieces were weighed as one."""
        return 1 + len(self.beside)


@record
class Coat:
    """One pass of the brush or blade."""

    wet_mass: Annotated[float, Ge(0.0), Unit("kg")] | None = None
    dry_mass: Annotated[float, Ge(0.0), Unit("kg")] | None = None
    at: Moment = ""
    drying_time: Annotated[float, Ge(0.0), Unit("s")] | None = None
    weighings: tuple[Weighing, ...] = ()
    """Of the whole piece, after this coat."""
    note: str = ""


@record
class Layer:
    """One layer, from the gas side to the electrolyte side in the order of `Electrode.layers`."""

    role: LayerRole = LayerRole.ACTIVE
    mix: str = ""
    batch: str = ""
    how: str = "brush"
    coats: tuple[Coat, ...] = ()
    dry_mass: Annotated[Entry, Unit("kg")] | None = None
    note: str = ""


@record
class Press:
    """One pressing or other heating, hot or cold."""

    appliance: Appliance | None = None
    closed_volume: Annotated[Entry, Unit("m^3")] | None = None
    """Free air volume that vapour is shut into; nothing for open plates."""
    extraction: bool = False
    """A working extraction to the outside stands over it."""
    plate_temperature: Annotated[Entry, Unit("K")] | None = None
    duration: Annotated[float, Ge(0.0), Unit("s")] | None = None
    force: Annotated[Entry, Unit("N")] | None = None
    torque: Annotated[Entry, Unit("N*m")] | None = None
    firmness: Firmness | None = None
    means: str = ""
    release: str = ""
    note: str = ""


@record
class Seal:
    """How the edge is closed."""

    sealant: str
    cure_gives_off: str = ""
    cure_time: Annotated[float, Ge(0.0), Unit("s")] | None = None
    overlap: Annotated[Entry, Unit("m")] | None = None
    note: str = ""


@record
class Tab:
    """How the current leaves the electrode, and the resistance of that joint."""

    how: str
    resistance: Annotated[Entry, Unit("ohm")] | None = None
    note: str = ""


@record
class StorageState:
    """How the piece was kept from a moment on; a rinse or wash is a state too."""

    state: str
    since: Moment = ""
    rinsed: bool = False
    note: str = ""


@record
class Electrode:
    """One electrode in one state of its life.

    `build` is the piece of matter. A washed or re-pressed electrode is entered under a new name with
    the SAME build: it is a later state, never a replicate. `recipe` groups separately built pieces
    of one recipe, and `factors` holds what was varied on purpose, as a number with its
    unit ("binder": "10 %"), a plain number, or a word.
    """

    name: Name
    build: str = ""
    recipe: str = ""
    recipe_state: RecipeState = RecipeState.MIX
    factors: dict[str, float | str] = field(default_factory=dict[str, float | str])
    layers: tuple[Layer, ...] = ()
    mesh: str = ""
    press: tuple[Press, ...] = ()
    seal: Seal | None = None
    tab: Tab | None = None
    wetted_area: Annotated[Entry, Unit("m^2")] | None = None
    area_alike: bool = False
    """Said to be cut as the others it is compared with, where nobody measured the wetted area."""
    thickness: tuple[Annotated[float, Ge(0.0), Unit("m")], ...] = ()
    mass: Annotated[Entry, Unit("kg")] | None = None
    mesh_mass: Annotated[Entry, Unit("kg")] | None = None
    weighings: tuple[Weighing, ...] = ()
    """Of the whole piece after its last coat, before it is heated; the last two count."""
    retained_solvent: Annotated[Entry, Unit("kg")] | None = None
    """Solvent still in the coats when it is heated."""
    storage: tuple[StorageState, ...] = ()
    outcome: Outcome = Outcome.WHOLE
    outcome_note: str = ""
    control: bool = False
    ageing_per_run: Annotated[Entry, Unit("")] | None = None
    """Relative change of a control from one run to the next, where earlier days have shown it."""
    made: Moment = ""
    photos: tuple[str, ...] = ()
    note: str = ""

    @property
    def piece(self) -> str:
        """The name of the piece of matter."""
        return self.build or self.name


@record
class Cell:
    """An electrode put opposite a piece of aluminium."""

    name: Name
    electrode: Name
    aluminium: str = ""
    aluminium_area: Annotated[Entry, Unit("m^2")] | None = None
    electrolyte: str = ""
    gap: Annotated[Entry, Unit("m")] | None = None
    corrosion: Annotated[Entry, Unit("A/m^2")] | None = None
    """Current density of the aluminium's own corrosion at rest, from mass lost or gas caught."""
    sensing: Sensing = Sensing.CLIPS
    lead_resistance: Annotated[Entry, Unit("ohm")] | None = None
    """Resistance between the electrode and the point of reading that carries the current."""
    note: str = ""
