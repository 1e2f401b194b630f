"""The day of measuring on the invented bench: load steps, the ammeter, the control, the seep test."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from aerode.records.marks import Condition, Known
from aerode.records.runs import Observation, Reading, Run, RunPlan, RunSort, Settling
from aerode.virtual.cells import HiddenCell, settle
from aerode.virtual.plans import CONTROL, CONTROL_TIMES, LOADS
from aerode.virtual.shelf import DAY, ZERO_CELSIUS, resistor_name

if TYPE_CHECKING:
    from numpy.random import Generator

    from aerode.virtual.plans import Plan

__all__ = ["HiddenBench", "control_runs", "draw_hidden_bench", "electrode_runs", "seep_runs"]

WEAR = -0.032
"""Change of log vigour for each run that the same piece of aluminium has behind it."""
WARMTH = 0.0216 / 1.1
"""Change of log vigour for each kelvin that the shed warms up."""
MIDDLE = (4.5, 22.85)
"""The condition to which the truth is stated: place in the order, temperature [degC]."""
STEP = 120.0
"""Seconds at each load."""
HOUR = 3600.0


@dataclass(frozen=True, slots=True)
class HiddenBench:
    """What is really true of the meter, the resistors and the control."""

    gain: float
    resistors: dict[float, float]
    burden_small: float
    burden_large: float
    control_ageing: float


def draw_hidden_bench(dice: Generator) -> HiddenBench:
    """Draw the meter's gain, the true resistors and burdens, and the control's own ageing."""
    return HiddenBench(
        gain=1.0 + 0.003 * float(dice.uniform(-1.0, 1.0)),
        resistors={r: r * (1.0 + 0.01 * float(dice.uniform(-1.0, 1.0))) for r in LOADS},
        burden_small=1.90 + 0.04 * float(dice.standard_normal()),
        burden_large=0.13 + 0.015 * float(dice.standard_normal()),
        control_ageing=0.0015 * float(dice.standard_normal()),
    )


def _cell(plan: Plan, vigour_log: float, place: float, room: float) -> HiddenCell:
    drift = WEAR * (place - MIDDLE[0]) + WARMTH * (room - MIDDLE[1])
    return HiddenCell(math.exp(vigour_log + drift), plan.area, plan.joint)


def _display(voltage: float, hidden: HiddenBench, dice: Generator) -> float:
    """What the meter shows: its gain, a little restlessness, whole millivolts."""
    return round(voltage * hidden.gain + 0.0007 * float(dice.standard_normal()), 3)


def _loads(
    cell: HiddenCell, hidden: HiddenBench, dice: Generator, *, hasty: bool
) -> tuple[Reading, ...]:
    resting, fresh, slow = 0.74, 0.61, 540.0
    waited = 180.0 if hasty else 1800.0
    trace = tuple((t, round(settle(resting, fresh, slow, t), 3)) for t in (0.0, 60.0, 120.0, 180.0))
    open_voltage = _display(settle(resting, fresh, slow, waited), hidden, dice)
    readings = [
        Reading(
            load="open",
            voltage=open_voltage,
            at=0.0,
            waited=waited,
            settling=Settling.NOT_SETTLED if hasty else Settling.SETTLED,
            trace=trace if hasty else (),
            text=f"{open_voltage * 1000:.0f}",
        )
    ]
    for step, nominal in enumerate(LOADS):
        true_load = 1.0 / (1.0 / hidden.resistors[nominal] + 1e-7)
        shown = _display(cell.current(true_load) * true_load, hidden, dice)
        readings.append(
            Reading(
                load=resistor_name(nominal),
                voltage=shown,
                at=(step + 1) * STEP,
                waited=STEP,
                settling=Settling.SETTLED,
                text=f"{shown:.3f}".replace(".", ","),
            )
        )
    return tuple(readings)


def _charge(readings: tuple[Reading, ...]) -> float:
    """Charge passed in one set of load steps [C]."""
    return sum(
        STEP * (r.voltage or 0.0) / float(r.load.split()[0]) for r in readings if r.load != "open"
    )


def _conditions(place: float, room: float, used: float) -> dict[str, Any]:
    salinity = 0.031 + 0.003 * place / 9.0
    measured = Known.MEASURED
    return {
        "temperature": Condition(
            known=measured,
            value=ZERO_CELSIUS + room,
            standard_uncertainty=0.6,
            how="phone",
            text=f"{room} °C",
        ),
        "salinity": Condition(
            known=measured, value=round(salinity, 4), standard_uncertainty=0.0005, how="hydrometer"
        ),
        "hours_wet": Condition(
            known=measured, value=1.0 * HOUR, standard_uncertainty=600.0, how="clock"
        ),
        "charge_before": Condition(
            known=measured, value=0.0, standard_uncertainty=0.0, how="first run"
        ),
        "aluminium_charge": Condition(known=measured, value=round(used, 1), how="sum of runs"),
        "electrolyte_age": Condition(known=measured, value=(1.0 + place) * HOUR, how="clock"),
        "aluminium": Condition(known=Known.SAME),
        "gap": Condition(known=Known.SAME),
    }


def _ammeter(plan: Plan, cell: HiddenCell, hidden: HiddenBench, dice: Generator, order: int) -> Run:
    """The one reading that is usually quoted: the ammeter put straight across the cell."""
    blown = plan.run > 4
    burden = hidden.burden_large if blown else hidden.burden_small
    current = cell.current(burden) * (1.0 + 0.006 * float(dice.standard_normal()))
    shown = round(current, 2) if blown else round(current, 4)
    slipped = plan.name == "T7"
    reading = Reading(
        current=shown * 1000.0 if slipped else shown,
        current_range="10 A socket" if blown else "200 mA",
        text=f"{shown * 1000:.1f} A" if slipped else f"{shown * 1000:.1f} mA",
        note="fuse of the mA socket blown, 10 A socket used" if blown else "",
    )
    corrected = Reading(
        current=shown,
        current_range="200 mA",
        text=f"{shown * 1000:.1f} mA",
        replaces=0,
        note="slip of the unit",
    )
    return Run(
        name=f"{plan.name} ammeter",
        cell=f"cell {plan.name}",
        electrode=plan.name,
        sort=RunSort.SHORT_CIRCUIT,
        session=DAY,
        order=order,
        meter="yellow meter",
        started=DAY,
        readings=(reading, corrected) if slipped else (reading,),
        temperature=Condition(known=Known.MEASURED, value=ZERO_CELSIUS + plan.room, how="phone"),
    )


def _sealed(plan: Plan, hidden: HiddenBench, dice: Generator, order: int) -> Run:
    """The same steps with the air face taped over: little is left, so it is an air cathode."""
    starved = HiddenCell(0.02, plan.area, plan.joint, ceiling=12.0)
    return Run(
        name=f"{plan.name} sealed",
        cell=f"cell {plan.name}",
        electrode=plan.name,
        sort=RunSort.SEALED_FACE,
        session=DAY,
        order=order,
        meter="yellow meter",
        voltage_range="2 V",
        started=DAY,
        readings=_loads(starved, hidden, dice, hasty=False),
        after_run=f"{plan.name} loads",
    )


def electrode_runs(
    plan: Plan, vigour_log: float, hidden: HiddenBench, dice: Generator
) -> list[Run]:
    """The load steps of one electrode, its ammeter reading, and for T1 the sealed-face test."""
    cell = _cell(plan, vigour_log, plan.run, plan.room)
    readings = _loads(cell, hidden, dice, hasty=plan.name == "T2")
    order = _order(plan.run)
    steps = Run(
        name=f"{plan.name} loads",
        cell=f"cell {plan.name}",
        electrode=plan.name,
        sort=RunSort.LOADS,
        plan=RunPlan.FULL,
        session=DAY,
        order=order,
        meter="yellow meter",
        voltage_range="2 V",
        started=DAY,
        readings=readings,
        wait_rule="two minutes at each load, less than 1 mV in the last",
        **_conditions(plan.run, plan.room, (plan.run + 0.5) * _charge(readings)),
    )
    runs = [steps, _ammeter(plan, cell, hidden, dice, order)]
    if plan.name == "T1":
        runs.append(_sealed(plan, hidden, dice, order))
    return runs


def _order(place: float) -> int:
    """Place in the whole day, the control's runs counted: 1 to 11."""
    return 1 + sum(time < place for time, _ in CONTROL_TIMES) + sum(k < place for k in range(1, 9))


def control_runs(vigour_log: float, hidden: HiddenBench, dice: Generator) -> list[Run]:
    """The control electrode, before, between and after."""
    runs: list[Run] = []
    for count, (place, room) in enumerate(CONTROL_TIMES, start=1):
        aged = vigour_log + hidden.control_ageing * (place - MIDDLE[0])
        readings = _loads(_cell(CONTROL, aged, place, room), hidden, dice, hasty=False)
        conditions = _conditions(place, room, (place + 0.5) * _charge(readings))
        before = 250.0 + (count - 1) * _charge(readings)
        conditions["charge_before"] = Condition(
            known=Known.MEASURED, value=round(before, 1), how="sum of runs"
        )
        conditions["hours_wet"] = Condition(
            known=Known.MEASURED, value=(20.0 + place) * HOUR, how="notebook"
        )
        runs.append(
            Run(
                name=f"C0 loads {count}",
                cell="cell C0",
                electrode="C0",
                sort=RunSort.LOADS,
                plan=RunPlan.FULL,
                session=DAY,
                order=_order(place),
                control=True,
                meter="yellow meter",
                voltage_range="2 V",
                started=DAY,
                readings=readings,
                wait_rule="two minutes at each load, less than 1 mV in the last",
                **conditions,
            )
        )
    return runs


def seep_runs() -> list[Run]:
    """Twelve centimetres of water behind each film: T1 was found wet in the morning."""
    runs: list[Run] = []
    for name in ("T1", "T2", "T3", "T4", "T5", "T6", "T7", "T8"):
        looks = (
            (
                Observation(at=2 * HOUR, wet=False),
                Observation(at=11 * HOUR, wet=False),
                Observation(at=24 * HOUR, wet=True),
            )
            if name == "T1"
            else (
                Observation(at=11 * HOUR, wet=False),
                Observation(at=24 * HOUR, wet=False),
                Observation(at=48 * HOUR, wet=False),
            )
        )
        runs.append(
            Run(
                name=f"{name} seep",
                cell=f"cell {name}",
                electrode=name,
                sort=RunSort.SEEP,
                session="2026-05-11",
                started="2026-05-11T09:00",
                head=0.12,
                observations=looks,
                note="dry at 20:00, wet at 09:00" if name == "T1" else "",
            )
        )
    return runs
