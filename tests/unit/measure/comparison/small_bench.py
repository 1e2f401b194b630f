"""A small bench with a known truth for the tests: curves that differ by one factor, areas, tabs, places, a control."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from aerode.measure.comparison.study import Study
from aerode.measure.curve import Curve, current_at_voltage, current_through
from aerode.records.electrodes import Cell, Electrode, Tab
from aerode.records.instruments import Instrument, MeterRange, Sort
from aerode.records.marks import Condition, Entry, Known
from aerode.records.runs import Reading, Run, RunSort

LOADS = (100.0, 47.0, 22.0, 10.0, 6.8)
METER = Instrument(name="meter", sort=Sort.MULTIMETER,
                   ranges=(MeterRange(name="2 V", full_scale=2.0, count=1e-4, of_reading=0.001, counts=1),))  # fmt: skip
SAME = Condition(known=Known.SAME)
CONDITIONS = ("temperature", "salinity", "aluminium", "gap", "hours_wet", "charge_before", "aluminium_charge",
              "electrolyte_age")  # fmt: skip


def truth(vigour: float, area: float) -> Curve:
    """The curve at the tab of an electrode that gives `vigour` times the current per area [m^2]."""
    scale = vigour * area
    return Curve.of(0.715 + 0.05 * np.log(scale), 0.05, 5e-3 / scale, 400.0 * scale)


def density(vigour: float, voltage: float) -> float:
    """True current density at a voltage [mA/cm^2]."""
    return 0.1 * float(current_at_voltage(truth(vigour, 1.0), [voltage])[0, 0])


def electrode(name: str, recipe: str, area: float = 1e-3, tab: float = 0.5, **more) -> Electrode:
    """An electrode with a measured area [m^2] and tab [ohm]."""
    return Electrode(name=name, recipe=recipe, tab=Tab(how="crimp", resistance=Entry(value=tab, standard_uncertainty=0.02)),
                     wetted_area=Entry(value=area, standard_uncertainty=0.01 * area, how="photo"), **more)  # fmt: skip


def loads(piece: Electrode, vigour: float, order: int, *, control: bool = False, name: str = "", session: str = "day",
          true_area: float | None = None, **conditions: Condition) -> Run:  # fmt: skip
    """The load steps of one electrode, read at the clips to 0.1 mV."""
    area = true_area or (piece.wetted_area.value if piece.wetted_area is not None else 1e-3)
    tab = (
        piece.tab.resistance.value
        if piece.tab is not None and piece.tab.resistance is not None
        else 0.3
    )
    current = current_through(truth(vigour, area), np.array(LOADS) + tab)[0]
    readings = tuple(Reading(load=f"{r:g} ohm", voltage=round(float(i * r), 4), waited=120.0)
                     for r, i in zip(LOADS, current, strict=True))  # fmt: skip
    stated = dict.fromkeys(CONDITIONS, SAME) | conditions
    return Run(name=name or f"{piece.name} loads", electrode=piece.name, cell=f"cell {piece.name}", session=session,
               order=order, control=control, meter="meter", voltage_range="2 V", readings=readings, **stated)  # fmt: skip


def ammeter(piece: Electrode, milliamps: float) -> Run:
    """What an ammeter across the cell showed."""
    return Run(name=f"{piece.name} ammeter", electrode=piece.name, sort=RunSort.SHORT_CIRCUIT,
               readings=(Reading(current=1e-3 * milliamps, current_range="200 mA"),))  # fmt: skip


def study(pieces: list[Electrode], runs: list[Run], controls: tuple[Electrode, ...] = ()) -> Study:
    """The study of these records."""
    every = (*pieces, *controls)
    resistors = [
        Instrument(name=f"{r:g} ohm", sort=Sort.RESISTOR, nominal_resistance=r, tolerance=0.01)
        for r in LOADS
    ]
    return Study(electrodes=tuple(pieces), controls=controls, runs=tuple(runs),
                 cells={f"cell {e.name}": Cell(name=f"cell {e.name}", electrode=e.name, aluminium="sheet") for e in every},
                 instruments={i.name: i for i in (METER, *resistors)})  # fmt: skip


CONTROL = electrode("C0", "control", control=True)
PLAN = (("A1", "A", 1.30, 2), ("B1", "B", 1.00, 3), ("B2", "B", 1.04, 4), ("A2", "A", 1.26, 6), ("A3", "A", 1.33, 7), ("B3", "B", 0.97, 8))  # fmt: skip
"""Name, recipe, vigour, place; the control stands at 1, 5 and 9."""


def two_recipes(**first: object) -> Study:
    """Three builds of A and of B, about 29 % apart, with areas from 8 to 12 cm2 and a control."""
    areas = dict(
        zip(
            ["A1", "B1", "B2", "A2", "A3", "B3"],
            (9e-4, 1.2e-3, 8e-4, 1.1e-3, 1e-3, 9.5e-4),
            strict=True,
        )
    )
    pieces = [
        electrode(name, recipe, areas[name], factors={"binder": 0.1 if recipe == "A" else 0.2})
        for name, recipe, _, _ in PLAN
    ]
    pieces[0] = replace(pieces[0], **first)
    runs = [loads(e, g, k) for e, (_, _, g, k) in zip(pieces, PLAN, strict=True)]
    runs += [loads(CONTROL, 1.1, k, control=True, name=f"C0 loads {k}") for k in (1, 5, 9)]
    return study(pieces, sorted(runs, key=lambda r: r.order or 0), (CONTROL,))
