"""Batteries of a recipe's electrodes at every cell voltage that was read, the one to build, what its cells use."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from aerode.errors import CannotTellError
from aerode.measure.comparison.entrants import recipe_of
from aerode.measure.comparison.joint import Priors
from aerode.measure.comparison.study import measure_study, voltages_read
from aerode.measure.comparison.values import Response, area_of
from aerode.measure.sizing import electrodes_needed, new_build
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
    from collections.abc import Mapping

    from aerode.measure.comparison.study import Study
    from aerode.measure.sizing import NewBuild

__all__ = [
    "Loss",
    "Wanted",
    "battery_options",
    "burst_part",
    "consumption",
    "corrosion_heat_voltage",
    "mean_area",
    "past_the_top",
]

_STEP = 0.05  # judgement
"""Between the cell voltages that are tried [V]."""
_SLACK = 1e-9  # numerical
_NINE_IN_TEN = 0.9  # judgement
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
    """

    power: float
    needs: float
    on_time: float
    whole_time: float
    area: float
    chance: float
    left: float
    through: float | None = None


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


def _voltages(study: Study, recipe: str) -> list[float]:
    """The cell voltages to try: every five hundredths of a volt that was read on all builds of the recipe."""
    mine = replace(study, electrodes=tuple(e for e in study.electrodes if recipe_of(e) == recipe))
    low, high = voltages_read(mine)
    steps = range(math.ceil(low / _STEP - _SLACK), math.floor(high / _STEP + _SLACK) + 1)
    return [round(k * _STEP, 2) for k in steps if k > 0] or [0.5 * (low + high)]


def past_the_top(levels: Mapping[float, float]) -> frozenset[float]:
    """The voltages at or below that of the greatest power.

    Parameters
    ----------
    levels : mapping of float [V] to float [A/m^2]
        Current density at each cell voltage.

    Returns
    -------
    frozenset of float [V]
        Empty where the power still rises at the lowest voltage that was read: its top was not seen.

    Examples
    --------
    >>> sorted(past_the_top({0.2: 30.0, 0.3: 25.0, 0.4: 10.0}))
    [0.2, 0.3]
    >>> sorted(past_the_top({0.2: 60.0, 0.3: 25.0, 0.4: 10.0}))
    []
    """
    top = max(levels, key=lambda voltage: voltage * levels[voltage])
    return frozenset(v for v in levels if v <= top) if top > min(levels) else frozenset()


def battery_options(
    study: Study, recipe: str, wanted: Wanted
) -> tuple[tuple[SizeOption, ...], NewBuild]:
    """A battery for every cell voltage at which the recipe was read; one is chosen.

    Parameters
    ----------
    study : Study
        All recipes that were read: the spread between builds is taken from all of them.
    recipe : str
    wanted : Wanted

    Returns
    -------
    options : tuple of SizeOption
    build : NewBuild
        What the next build gives at the voltage chosen.

    Raises
    ------
    CannotTellError
        If the builds share no voltage, or no battery reaches the wanted chance.

    Notes
    -----
    Chosen are the fewest electrodes in all, of equals the highest voltage, which eats the least
    aluminium; a voltage at or below that of the greatest power only where there is no other.
    """
    builds: dict[float, NewBuild] = {}
    for voltage in _voltages(study, recipe):
        seen = measure_study(study, Response(voltage=voltage)).observations()
        try:
            builds[voltage] = new_build(seen, recipe, Priors())
        except CannotTellError:
            continue
    if not builds:
        raise CannotTellError(
            f"the builds of {recipe} share no voltage at which all can be read", where="recipe",
            next_step="read them over the same loads",
        )  # fmt: skip
    beyond = past_the_top({voltage: math.exp(one.level) for voltage, one in builds.items()})
    found: list[SizeOption] = []
    refused: CannotTellError | None = None
    for voltage, build in builds.items():
        try:
            found.append(_option(voltage, build, wanted, past=voltage in beyond))
        except CannotTellError as told:
            refused = told
    if refused is not None and not found:
        raise refused
    able = [one for one in found if not one.past_the_top] or found
    best = min(able, key=lambda one: (one.in_series * one.electrodes, -one.cell_voltage))
    chosen = tuple(replace(one, chosen=one is best) for one in found)
    return chosen, builds[best.cell_voltage]


def _option(voltage: float, build: NewBuild, wanted: Wanted, *, past: bool) -> SizeOption:
    """The battery that works at one cell voltage, with the fewest electrodes."""
    series = cells_in_series(wanted.needs, voltage)
    current = wanted.through or current_of_each_cell(wanted.power, series, voltage)
    count, reached = electrodes_needed(
        build, current, wanted.area, series, chance=wanted.chance, left=wanted.left
    )
    return SizeOption(
        cell_voltage=voltage, in_series=series, current=current, level=math.exp(build.level),
        exceeded=build.exceeded_by(_NINE_IN_TEN), electrodes=count, chance=reached,
        aluminium=current * wanted.on_time / capacity(molar_mass("aluminium")), past_the_top=past,
    )  # fmt: skip


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
    direct: bool = False,
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

    Returns
    -------
    BurstPart
        Without a capacitor where the burst is no more than the average.
    """
    asked, mean = current, chosen.current
    if not direct:
        asked = current_of_each_cell(
            current * voltage / passed_on, chosen.in_series, chosen.cell_voltage
        )
        mean = power * passed_on / voltage
    above = max(current - mean, 0.0)
    drop = _DROP * voltage
    return BurstPart(
        current=asked, times=asked / chosen.current,
        capacitance=smoothing_capacitance(above, duration, drop) if above > 0.0 else None,
        drop=drop if above > 0.0 else None,
    )  # fmt: skip
