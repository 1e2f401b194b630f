"""Batteries of a recipe's electrodes, one for each number of cells in a row, the one to build, what its cells use."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from aerode.errors import CannotTellError, RangeError
from aerode.measure.battery_builds import builds_of
from aerode.measure.comparison.entrants import recipe_of
from aerode.measure.comparison.values import area_of
from aerode.measure.sizing import all_carry, fewest_electrodes
from aerode.physics.aluminium import ELECTRONS, capacity, charge_balance
from aerode.physics.battery import (
    cells_in_series,
    corrosion_balance,
    current_of_each_cell,
    smoothing_capacitance,
)
from aerode.physics.constants import FARADAY
from aerode.physics.hydrogen import hydrogen_volume
from aerode.properties import lookup, thermoneutral
from aerode.records.sizes import BurstPart, Consumption, SizeOption
from aerode.reference import molar_mass

if TYPE_CHECKING:
    from aerode.measure.battery_builds import Builds
    from aerode.measure.comparison.study import Study

__all__ = [
    "Loss",
    "Wanted",
    "battery_options",
    "burst_part",
    "consumption",
    "corrosion_heat_voltage",
    "mean_area",
]

_SLACK = 1e-9  # numerical
_MOST_ROWS = 12  # judgement
"""Numbers of cells in a row that are tried."""
_NINE_IN_TEN = 0.9  # judgement
_BELIEVABLE = 0.95  # judgement
_DROP = 0.1  # judgement
"""Of the load's voltage, that a burst may take."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What a battery has to do.

    Parameters
    ----------
    power : float [W]
        Out of the cells, while the load is on.
    needs : float [V]
        That the row must reach.
    on_time, whole_time : float [s]
    area : float [m^2]
        Of one electrode.
    chance : float [1]
        That all cells carry it.
    left : float [1]
        Share of the measured current to count on.
    through : float [A], optional
        Where nothing stands between the row and the load: the load's own current, which every cell
        carries whatever the row's voltage. None with a converter: it takes a power.
    lead : float [ohm]
        Of each electrode, beyond the point at which the readings stand.
    """

    power: float
    needs: float
    on_time: float
    whole_time: float
    area: float
    chance: float
    left: float
    through: float | None = None
    lead: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Loss:
    """Aluminium that goes without current: at a measured rate, else so much for each part that gives current."""

    rate: float | None
    """Corrosion current density [A/m^2]; None: not measured."""
    beside: float
    """Mass lost over mass used [1], where there is no rate."""


def mean_area(study: Study, recipe: str) -> float | None:
    """Mean wetted area of the electrodes of a recipe that were read [m^2]; None where none is known."""
    found = [
        a.value for e in study.entrants() if recipe_of(e.electrode) == recipe and (a := area_of(e)) is not None
    ]  # fmt: skip
    return float(np.mean(found)) if found else None


def battery_options(
    study: Study, recipe: str, wanted: Wanted
) -> tuple[tuple[SizeOption, ...], Builds]:
    """A battery for every number of cells in a row that the readings allow; one is chosen.

    Parameters
    ----------
    study : Study
        All recipes that were read: the spread between builds is taken from all of them.
    recipe : str
    wanted : Wanted

    Returns
    -------
    options : tuple of SizeOption
        The most cells in a row first.
    builds : Builds
        What the next build gives at each voltage that was read.

    Raises
    ------
    CannotTellError
        If the builds share no voltage, or no battery reaches the wanted chance.

    Notes
    -----
    One battery has one chance: that every cell gives its share of the voltage that is needed, and
    what the leads take, at the current of the load. A share at or below the voltage of the greatest
    power is raised above it where it was read there. Chosen are the fewest electrodes in all, of
    equals the fewest cells.
    """
    builds = builds_of(study, recipe)
    past = builds.past
    floor = min((v for v in builds.at if v not in past), default=builds.highest)
    found: list[SizeOption] = []
    refused: CannotTellError | None = None
    for series in _rows(wanted.needs, floor, builds.highest):
        try:
            found.append(_option(series, builds, wanted, floor))
        except CannotTellError as told:
            refused = told
    if refused is not None and not found:
        raise refused
    best = min(found, key=lambda one: (one.in_series * one.electrodes, one.in_series))
    return tuple(replace(one, chosen=one is best) for one in found[::-1]), builds


def _rows(needs: float, floor: float, highest: float) -> list[int]:
    """Numbers of cells in a row to try, the fewest first; a few of many."""
    fewest, most = cells_in_series(needs, highest), cells_in_series(needs, floor)
    tried = np.linspace(fewest, most, min(most - fewest + 1, _MOST_ROWS))
    return sorted({round(float(n)) for n in tried})


def _works_at(
    wanted: Wanted, series: int, electrodes: int, floor: float
) -> tuple[float, float] | None:
    """Voltage that each cell must give at its tabs [V], and its current [A]; None where its leads eat all of it."""
    lead = wanted.lead / electrodes
    current = wanted.through or wanted.power / wanted.needs
    voltage = wanted.needs / series + current * lead
    if voltage >= floor:
        return voltage, current
    if wanted.through is not None:
        return floor, current
    try:
        return floor, current_of_each_cell(wanted.power, series, floor, lead)
    except RangeError:
        return None


def _option(series: int, builds: Builds, wanted: Wanted, floor: float) -> SizeOption:
    """The battery of so many cells in a row, with the fewest electrodes."""

    def reached(electrodes: int) -> float:
        at = _works_at(wanted, series, electrodes, floor)
        if at is None or at[0] > builds.highest + _SLACK:
            return 0.0
        return all_carry(builds.build(at[0]), at[1], wanted.area, electrodes, series, left=wanted.left)  # fmt: skip

    count, chance = fewest_electrodes(reached, wanted.chance)
    voltage, current = _works_at(wanted, series, count, floor) or (floor, 0.0)
    build = builds.build(voltage)
    fresh, high, end = _at_the_load(builds, wanted, series, count)
    return SizeOption(
        cell_voltage=voltage, in_series=series, current=current, level=math.exp(build.level),
        exceeded=build.exceeded_by(_NINE_IN_TEN), electrodes=count, chance=chance,
        aluminium=current * wanted.on_time / capacity(molar_mass("aluminium")),
        past_the_top=any(voltage <= one + _SLACK for one in builds.past),
        load_fresh=fresh, load_fresh_high=high, load_end=end,
    )  # fmt: skip


def _at_the_load(
    builds: Builds, wanted: Wanted, series: int, electrodes: int
) -> tuple[float | None, float | None, float | None]:
    """What a load with nothing before it gets, at its own current [V]: fresh, at most with 95 %, and with what is left.

    The mean of the row; the high end counts the doubt about the recipe and the luck of its builds.
    """
    if wanted.through is None:
        return None, None, None
    density = wanted.through / (electrodes * wanted.area)
    rest, top = builds.open_circuit or (None, None)
    middle = builds.voltage(density, rest)
    about = builds.build(builds.lowest if middle is None else middle)
    better = about.mean_reaches(series * electrodes, _BELIEVABLE)
    volts = (
        middle,
        builds.voltage(density / better, top),
        builds.voltage(density / wanted.left, rest),
    )
    lost = wanted.through * wanted.lead / electrodes
    fresh, high, end = (None if v is None else series * (v - lost) for v in volts)
    return fresh, high, end


def consumption(wanted: Wanted, chosen: SizeOption, loss: Loss, plates: float) -> Consumption:
    """What each cell of a battery uses up and makes over the whole time.

    Parameters
    ----------
    wanted : Wanted
    chosen : SizeOption
    loss : Loss
    plates : float [m^2]
        Wetted aluminium of each cell, both faces.

    Returns
    -------
    Consumption

    Notes
    -----
    Faraday's law for what gives current; what corrodes is taken to make hydrogen, all of it. A
    measured rate counts for the whole time, loaded or not. Corrosion heats by its charge times
    1.505 V, from the enthalpy of 2 Al + 6 H2O -> 2 Al(OH)3 + 3 H2; a share is taken to corrode while
    the load is on.
    """
    molar = {
        "aluminium": molar_mass("aluminium"),
        "water": molar_mass("water"),
        "hydroxide": molar_mass("aluminium hydroxide"),
    }
    charge = chosen.current * wanted.on_time
    gives = charge_balance(charge, oxygen=molar_mass("oxygen"), **molar)
    lost = gives.aluminium * loss.beside
    if loss.rate is not None:
        lost = loss.rate * plates * wanted.whole_time / capacity(molar["aluminium"])
    eaten = corrosion_balance(lost, **molar)
    over = wanted.on_time if loss.rate is None else wanted.whole_time
    return Consumption(
        charge=charge, used=gives.aluminium, corroded=lost, water=gives.water + eaten.water,
        hydroxide=gives.hydroxide + eaten.hydroxide, hydrogen=hydrogen_volume(eaten.charge),
        heat=chosen.current * (thermoneutral("gibbsite").value - chosen.cell_voltage),
        heat_of_corrosion=eaten.charge / over * corrosion_heat_voltage(),
        per_aluminium_area=charge / plates,
    )  # fmt: skip


def corrosion_heat_voltage() -> float:
    """Heat of corrosion by water over the charge of the metal [V].

    Examples
    --------
    >>> round(corrosion_heat_voltage(), 3)
    1.505
    """
    return -lookup("aluminium", "enthalpy_of_reaction").value / (ELECTRONS * FARADAY)


def burst_part(
    chosen: SizeOption, *, current: float, duration: float, voltage: float, passed_on: float, power: float,
    direct: bool = False, lead: float = 0.0,
) -> BurstPart:  # fmt: skip
    """What a short burst would ask of every cell, and the capacitor across the load that carries it.

    Parameters
    ----------
    chosen : SizeOption
    current : float [A]
        At the load, during the burst.
    duration : float [s]
    voltage : float [V]
        Of the load.
    passed_on : float [1]
        By the converter.
    power : float [W]
        Out of the cells on average.
    direct : bool
        Nothing stands between: the burst and the average go through every cell as they are.
    lead : float [ohm]
        Of each electrode; what it takes in a burst is not counted beyond that of the average.

    Returns
    -------
    BurstPart
        Without a capacitor where the burst is no more than the average.
    """
    asked, mean = current, chosen.current
    if not direct:
        past_leads = chosen.cell_voltage - chosen.current * lead / chosen.electrodes
        asked = current_of_each_cell(current * voltage / passed_on, chosen.in_series, past_leads)
        mean = power * passed_on / voltage
    above = max(current - mean, 0.0)
    drop = _DROP * voltage
    return BurstPart(
        current=asked, times=asked / chosen.current,
        capacitance=smoothing_capacitance(above, duration, drop) if above > 0.0 else None,
        drop=drop if above > 0.0 else None,
    )  # fmt: skip
