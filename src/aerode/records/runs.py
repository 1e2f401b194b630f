"""A run: readings taken on one cell in one go, with the conditions they were taken under."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

from annotated_types import Ge, Gt

from aerode.quantities import Unit
from aerode.records.marks import Condition, Moment, Name, record

__all__ = ["Observation", "Reading", "Run", "RunPlan", "RunSort", "Settling", "Unsorted"]


class RunSort(StrEnum):
    """What kind of run it is."""

    LOADS = "load steps"
    SEALED_FACE = "sealed face"
    """The same steps with the air face taped over: what the electrode gives without air."""
    SHORT_CIRCUIT = "ammeter across the cell"
    CHECK_CELL = "check cell"
    """A dry cell and a resistor that test the meter itself."""
    RUN_DOWN = "run-down"
    SEEP = "seep"


class RunPlan(StrEnum):
    """How a run of load steps is taken."""

    FULL = "full"
    """Every resistor, each read when it has settled."""
    SHORT = "short"
    """Three resistors, timed readings, the settled value extrapolated."""
    RETRO = "retro"
    """One line of an old notebook."""


class Settling(StrEnum):
    """What is known of whether a reading had settled."""

    SETTLED = "settled"
    EXTRAPOLATED = "extrapolated"
    NOT_SETTLED = "not settled"
    NOT_KNOWN = "not known"


@record
class Reading:
    """One number pair off the meter. A corrected slip is a new reading that names the one it replaces.

    `load` is the name of a resistor of the bench, or "open" for no load, or "" where `current` was
    read with an ammeter (then the meter's burden is the load).
    """

    load: str = ""
    resistance: Annotated[float, Gt(0.0), Unit("ohm")] | None = None
    """Used where the resistor is not one of the bench."""
    voltage: Annotated[float, Unit("V")] | None = None
    current: Annotated[float, Unit("A")] | None = None
    current_range: str = ""
    at: Annotated[float, Ge(0.0), Unit("s")] | None = None
    """Seconds since the run began."""
    waited: Annotated[float, Ge(0.0), Unit("s")] | None = None
    """Seconds since this load was put on."""
    settling: Settling = Settling.NOT_KNOWN
    trace: tuple[tuple[float, float], ...] = ()
    """Timed readings (s since the load was put on, V) where they were taken."""
    temperature: Annotated[float, Gt(0.0), Unit("K")] | None = None
    text: str = ""
    replaces: int | None = None
    """Index, in this run, of the reading that this one replaces."""
    doubt: str = ""
    """Why it is not used, where it is kept but doubted."""
    note: str = ""


@record
class Observation:
    """A look at the air face of a seep test: dry or wet at a moment."""

    at: Annotated[float, Ge(0.0), Unit("s")]
    wet: bool
    note: str = ""


@record
class Run:
    """A run with its conditions.

    `session` joins runs of one day with one meter and one room; `order` is the place within it.
    """

    name: Name
    cell: str = ""
    electrode: str = ""
    sort: RunSort = RunSort.LOADS
    plan: RunPlan = RunPlan.FULL
    session: str = ""
    order: int | None = None
    control: bool = False
    meter: str = ""
    voltage_range: str = ""
    started: Moment = ""
    readings: tuple[Reading, ...] = ()
    observations: tuple[Observation, ...] = ()
    head: Annotated[float, Ge(0.0), Unit("m")] | None = None
    """Height of liquid over the middle of the electrode in a seep test."""
    wait_rule: str = ""
    planned_loads: tuple[str, ...] = ()
    """The loads this run set out to take, in order; what is missing among the readings is still to do."""
    finished: bool = False
    """True once the person closed the run, whether or not every planned load was taken."""
    temperature: Annotated[Condition, Unit("K")] = Condition()
    salinity: Annotated[Condition, Unit("")] = Condition()
    """Mass fraction of salt."""
    hours_wet: Annotated[Condition, Unit("s")] = Condition()
    """Time since the electrode was first wetted [s]."""
    charge_before: Annotated[Condition, Unit("C")] = Condition()
    aluminium_charge: Annotated[Condition, Unit("C")] = Condition()
    """Charge this piece of aluminium had passed before."""
    electrolyte_age: Annotated[Condition, Unit("s")] = Condition()
    aluminium: Condition = Condition()
    """Whether the aluminium is the same lot and surface for all."""
    gap: Annotated[Condition, Unit("m")] = Condition()
    after_run: str = ""
    note: str = ""


@record
class Unsorted:
    """A reading in the tray of things to be sorted: filed in seconds, placed later."""

    name: Name
    text: str
    voltage: Annotated[float, Unit("V")] | None = None
    current: Annotated[float, Unit("A")] | None = None
    resistance: Annotated[float, Gt(0.0), Unit("ohm")] | None = None
    at: Moment = ""
    note: str = ""
    placed_in: str = ""
