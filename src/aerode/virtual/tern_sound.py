"""The Tern Sound beacon: an oyster nursery's bench, invented, with planted faults and a hidden truth.

Two people who keep an oyster nursery on an estuary want a mooring beacon that runs for fourteen
nights on sea water and scrap roofing aluminium. Eight electrodes, three factors, and everything that
goes wrong on a real bench: unequal areas, a fuse that blows half-way, one bad crimp, a warming shed,
an ageing piece of aluminium, a slip of the pen.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from numpy.random import default_rng

from aerode.virtual import shelf
from aerode.virtual.cells import HiddenCell
from aerode.virtual.plans import BUILD_SPREAD, CONTROL, EFFECTS, ELECTRODES, log_vigour
from aerode.virtual.session import control_runs, draw_hidden_bench, electrode_runs, seep_runs

if TYPE_CHECKING:
    from numpy.random import Generator

__all__ = ["REFERENCE_VOLTAGE", "Truth", "VirtualBench", "build", "draw"]

REFERENCE_VOLTAGE = 0.45
"""The cell voltage at which the bench compares [V]: two cells in series feed the beacon's converter."""


@dataclass(frozen=True, slots=True)
class Truth:
    """What really is, kept out of the bench file, under one common condition (the middle of the day)."""

    at_voltage: float
    current_density: dict[str, float]
    """Of each piece at `at_voltage` [mA/cm^2]."""
    recipe_current_density: dict[str, float]
    """Of each piece's recipe, without build spread [mA/cm^2]."""
    effects: dict[str, float]
    """Ratio of current density, high over low setting of a factor, the others in the middle."""


@dataclass(frozen=True, slots=True)
class VirtualBench:
    """The records that the person would have, and the truth that they would not."""

    records: tuple[Any, ...]
    truth: Truth


def _at_reference(vigour_log: float) -> float:
    return HiddenCell(math.exp(vigour_log), 1.0, 0.0).current_density_at(REFERENCE_VOLTAGE)


def _truth(built: dict[str, float], effects: dict[str, float]) -> Truth:
    ratios = {
        name: _at_reference(effects[name]) / _at_reference(-effects[name]) for name in effects
    }
    return Truth(
        at_voltage=REFERENCE_VOLTAGE,
        current_density={name: _at_reference(value) for name, value in built.items()},
        recipe_current_density={
            plan.name: _at_reference(log_vigour(plan.coded, effects)) for plan in ELECTRODES
        },
        effects=ratios,
    )


def build(dice: Generator, *, idle: bool = False) -> VirtualBench:
    """Draw one invented bench.

    Parameters
    ----------
    dice : numpy Generator
        All chance of this bench: build spread, meter gain, resistor parts, photo areas, last digits.
    idle : bool
        True for a bench on which no factor does anything: whatever is shown there is shown falsely.

    Returns
    -------
    VirtualBench
        The records in the order a person would enter them, and the hidden truth.

    Examples
    --------
    >>> import numpy as np
    >>> bench = build(np.random.default_rng(1))
    >>> sorted(bench.truth.current_density)[:2]
    ['T1', 'T2']
    """
    effects = dict.fromkeys(EFFECTS, 0.0) if idle else EFFECTS
    built = {
        plan.name: log_vigour(plan.coded, effects) + BUILD_SPREAD * float(dice.standard_normal())
        for plan in ELECTRODES
    }
    control_vigour = BUILD_SPREAD * float(dice.standard_normal())
    hidden = draw_hidden_bench(dice)
    records: list[Any] = [*shelf.bench_and_places(), *shelf.materials(), *shelf.instruments()]
    for plan in ELECTRODES:
        records += shelf.mix_and_batch(plan)
        records += shelf.electrode_and_cell(plan, dice)
    records += shelf.electrode_and_cell(CONTROL, dice, control=True)
    runs: list[Any] = []
    for plan in ELECTRODES:
        runs += electrode_runs(plan, built[plan.name], hidden, dice)
    runs += control_runs(control_vigour, hidden, dice)
    records += [*sorted(runs, key=lambda run: run.order), *seep_runs()]
    return VirtualBench(tuple(records), _truth(built, effects))


def draw(seed: int, *, idle: bool = False) -> VirtualBench:
    """The invented bench of a seed; on an idle one no factor does anything."""
    return build(default_rng(seed), idle=idle)
