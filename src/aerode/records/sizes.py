"""The answer of `size`: a battery for a load, from what the electrodes of a recipe gave."""

from __future__ import annotations

from typing import Annotated

from aerode.quantities import Basis, Unit
from aerode.records.cautions import Caution
from aerode.records.marks import record
from aerode.records.processes import Assumed

__all__ = ["BatterySize", "BurstPart", "Consumption", "GivenAt", "SizeOption"]


@record
class GivenAt:
    """What the next build of a recipe gives at one cell voltage."""

    cell_voltage: Annotated[float, Unit("V")]
    level: Annotated[float, Unit("A/m^2")]
    """Median, as it was measured."""
    exceeded: Annotated[float, Unit("A/m^2")]
    """What nine in ten new builds exceed, as they are measured: nothing taken off for age or cold."""
    basis: Basis = Basis.PREDICTED


@record
class SizeOption:
    """A battery of so many cells in a row."""

    cell_voltage: Annotated[float, Unit("V")]
    """What every cell must give at its tabs: its share of the voltage that is needed, and what its leads take."""
    in_series: int
    current: Annotated[float, Unit("A")]
    """Through every cell."""
    level: Annotated[float, Unit("A/m^2")]
    """Median of what a new build of the recipe gives, as it was measured."""
    exceeded: Annotated[float, Unit("A/m^2")]
    """What nine in ten new builds exceed, as they are measured: nothing taken off for age or cold."""
    electrodes: int
    """Side by side in each cell."""
    chance: float
    """That every cell carries the current and still gives that voltage, with only so much of it left as is counted on."""
    aluminium: Annotated[float, Unit("kg")]
    """In each cell, that gives the current; what corrodes comes on top."""
    past_the_top: bool = False
    """Whether a lower voltage than that of the greatest power, or that one itself: nothing is left to give."""
    chosen: bool = False
    load_fresh: Annotated[float, Unit("V")] | None = None
    """What a load with nothing before it gets from the fresh row at its own current, past the leads; at least so much where
    nobody read the open circuit. None with a converter."""
    load_fresh_high: Annotated[float, Unit("V")] | None = None
    """The same as 19 rows in 20 do not exceed."""
    load_end: Annotated[float, Unit("V")] | None = None
    """The same with only so much of the current left as is counted on."""


@record
class Consumption:
    """What each cell uses and makes over the whole time; `corroded` is what is taken to go without current."""

    charge: Annotated[float, Unit("C")]
    used: Annotated[float, Unit("kg")]
    """Aluminium that gives the current."""
    corroded: Annotated[float, Unit("kg")]
    water: Annotated[float, Unit("kg")]
    hydroxide: Annotated[float, Unit("kg")]
    """Solid, dry; wet it holds several times as much water."""
    hydrogen: Annotated[float, Unit("m^3")]
    """Dry, at 25 °C: as if all that corrodes made gas."""
    heat: Annotated[float, Unit("W")]
    """While the load is on, without that of corrosion."""
    heat_of_corrosion: Annotated[float, Unit("W")] = 0.0
    """Of `corroded`, while it corrodes."""
    corroded_most: Annotated[float, Unit("kg")] | None = None
    """Where corrosion was not measured: at the high end that the hydrogen caution counts with, if there is so much."""
    hydrogen_most: Annotated[float, Unit("m^3")] | None = None
    """Of `corroded_most`."""
    hydroxide_most: Annotated[float, Unit("kg")] | None = None
    """With `corroded_most`."""
    per_aluminium_area: Annotated[float, Unit("C/m^2")] | None = None
    basis: Basis = Basis.PREDICTED


@record
class BurstPart:
    """A burst of current that is more than the cells give, and the capacitor that carries it."""

    current: Annotated[float, Unit("A")]
    """That the burst would ask of every cell."""
    times: float
    """Over what the cells are made for."""
    capacitance: Annotated[float, Unit("F")] | None
    drop: Annotated[float, Unit("V")] | None


@record
class BatterySize:
    """Cells in a row, electrodes in each, aluminium, water, hydrogen, heat; predicted, never measured."""

    schema: str = "aerode.size/1"
    headline: str
    recipe: str
    pieces: tuple[str, ...]
    """Whose readings it rests on."""
    power: Annotated[float, Unit("W")]
    """Taken from the cells while the load is on, past their leads."""
    on_time: Annotated[float, Unit("s")]
    whole_time: Annotated[float, Unit("s")]
    load_voltage: Annotated[float, Unit("V")] | None = None
    electrode_area: Annotated[float, Unit("m^2")]
    lead: Annotated[float, Unit("ohm")] = 0.0
    """Of each electrode, beyond the point at which its readings stand."""
    wanted_chance: float
    left: float
    """Share of the measured current that is counted on."""
    left_from: str = ""
    """The run-down on record that told it; "" where it was said, or is a judgement."""
    spread: float
    """Standard deviation between builds, as a share."""
    spread_taken: bool
    chosen: SizeOption
    options: tuple[SizeOption, ...]
    given: tuple[GivenAt, ...] = ()
    """What the next build gives at each cell voltage that was read."""
    each_cell: Consumption
    burst: BurstPart | None = None
    basis: Basis = Basis.PREDICTED
    cautions: tuple[Caution, ...] = ()
    warnings: tuple[str, ...] = ()
    next_steps: tuple[str, ...] = ()
    assumed: tuple[Assumed, ...] = ()
    sources: tuple[str, ...] = ()
    understood: tuple[str, ...] = ()
