"""The card of a run on paper: which resistor next, what the meter should show, boxes to write in."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from aerode import units
from aerode.errors import InputError
from aerode.measure.expecting import Expected, expect
from aerode.measure.run_plans import AGAIN, OPEN, closing_check, minutes, moments, order_of_loads
from aerode.records.electrodes import Electrode
from aerode.records.instruments import Instrument
from aerode.records.runs import Run, RunPlan, RunSort
from aerode.usecases.electrode_page_list import runs_of
from aerode.usecases.labels import label_says
from aerode.usecases.log_questions import rest_of
from aerode.usecases.log_run import cell_of
from aerode.usecases.run_instruments import resistors_at_hand, resistors_of, usual_meter

if TYPE_CHECKING:
    from aerode.store.bench_file import BenchFile

__all__ = ["CardRow", "ResistorCard", "card_of_run", "card_to_start"]


@dataclass(frozen=True, slots=True, kw_only=True)
class CardRow:
    """One load of the run: what is expected there, and what was read already."""

    number: int
    load: str
    resistance: str
    expected: str
    band: str
    current: str
    read: str
    warning: str
    again: str = ""
    """Why this load comes a second time; "" where it does not."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ResistorCard:
    """All that stands on one card."""

    title: str
    electrode: str
    run: str
    meter: str
    rows: tuple[CardRow, ...]
    moments: tuple[str, ...]
    """When to read at each load, where the readings are timed."""
    rule: str
    minutes: int
    basis: str
    says: str
    """What its square code says: the electrode, never an address."""


def card_to_start(bench: BenchFile, electrode: str, plan: RunPlan = RunPlan.FULL) -> ResistorCard:
    """The card of a run that has not begun.

    Parameters
    ----------
    bench : BenchFile
        Open.
    electrode : str
        Which one is to be measured.
    plan : RunPlan
        Every resistor, or three of them with timed readings.

    Returns
    -------
    ResistorCard
        Expected voltages come from the electrode's newest run, or are marked as guesses.

    Raises
    ------
    NotFoundError
        No electrode of that name.
    InputError
        No resistor on the bench.
    """
    loads = order_of_loads(plan, resistors_at_hand(bench))
    return _card(bench, electrode, loads, plan, run=None)


def card_of_run(bench: BenchFile, name: str) -> ResistorCard:
    """The card of a run that has begun: what was read already stands in its box.

    Parameters
    ----------
    bench : BenchFile
        Open.
    name : str
        Of the run.

    Returns
    -------
    ResistorCard

    Raises
    ------
    NotFoundError
        No run of that name.
    InputError
        It is not a run of planned load steps.
    """
    run = bench.get(Run, name)
    loads = run.planned_loads or tuple(load for load, _, _ in _standing(run) if load)
    if not loads or not run.electrode:
        raise InputError(
            f"{name} has no loads", where=name, allowed="a run of load steps",
            next_step="start a run of load steps for its electrode",
        )  # fmt: skip
    return _card(bench, run.electrode, loads, run.plan, run=run)


def _card(
    bench: BenchFile, electrode: str, loads: tuple[str, ...], plan: RunPlan, run: Run | None
) -> ResistorCard:
    state = bench.state(Electrode, electrode)
    resistors = resistors_of(bench)
    earlier = _earlier(bench, electrode, resistors, run)
    read = _read(run)
    foretold = _foretold(bench, electrode, run, loads, earlier)
    rows: list[CardRow] = []
    bases: list[str] = []
    for number, load in enumerate(loads, start=1):
        ohms = None if load == OPEN else resistors.get(load)
        seen = foretold.get(load)
        if seen is not None:
            bases.append(seen.basis)
        taken = read.get(load, [])
        row = _row(bench, number, load, ohms, seen, taken.pop(0) if taken else "")
        last = number == len(loads) and closing_check(loads)
        rows.append(replace(row, again=AGAIN) if last else row)
    return ResistorCard(
        title=run.name if run else f"Run of {electrode}",
        electrode=electrode,
        run=run.name if run else "",
        meter=(run.meter if run else "") or usual_meter(bench),
        rows=tuple(rows),
        moments=tuple(f"{moment:g} s" for moment in moments(plan)),
        rule=run.wait_rule if run else _RULES[plan],
        minutes=round(minutes(plan, loads)),
        basis="; ".join(dict.fromkeys(bases)),
        says=label_says(electrode, state.record),
    )


_RULES = {
    RunPlan.FULL: "read when it moves less than 1 mV in a minute",
    RunPlan.SHORT: "timed readings, carried on to where they settle",
    RunPlan.RETRO: "",
}


def _foretold(
    bench: BenchFile,
    electrode: str,
    run: Run | None,
    loads: tuple[str, ...],
    earlier: list[tuple[float, float]],
) -> dict[str, Expected]:
    """What to expect without load and at each load: none above the one before it, as the resistors fall."""
    rest = rest_of(bench, run or Run(name="to begin", cell=cell_of(bench, electrode)))
    found = {OPEN: Expected(rest.voltage, rest.low, rest.high, 0.0, 0.0, rest.basis)}
    read = next((volts for load, volts, _ in _standing(run) if load == OPEN), None) if run else None
    resting = read if read is not None else rest.source
    most = read if read is not None else rest.high if rest.guessed else rest.voltage
    resistors = resistors_of(bench)
    there = {load: resistors[load] for load in loads if load in resistors}
    above: tuple[float, float] | None = None
    for load, ohms in sorted(there.items(), key=lambda one: -one[1]):
        found[load] = expect(ohms, (), earlier, resting, above=above, most=most)
        above = (ohms, found[load].voltage)
    return found


def _standing(run: Run) -> list[tuple[str, float, str]]:
    """Load, voltage and text of the readings that stand."""
    replaced = {reading.replaces for reading in run.readings if reading.replaces is not None}
    return [
        (one.load, one.voltage, f"{one.voltage:.3f} V")
        for k, one in enumerate(run.readings)
        if k not in replaced and one.voltage is not None and not one.doubt
    ]


def _earlier(
    bench: BenchFile, electrode: str, resistors: dict[str, float], run: Run | None
) -> list[tuple[float, float]]:
    """Resistance and voltage of the newest other run of load steps of this electrode."""
    own = run.name if run else ""
    found = [
        one
        for one in runs_of(bench, electrode)
        if one.sort is RunSort.LOADS and one.name != own and one.readings
    ]
    if not found:
        return []
    return [
        (resistors[load], volts) for load, volts, _ in _standing(found[-1]) if load in resistors
    ]


def _read(run: Run | None) -> dict[str, list[str]]:
    """What was read at each load already, in order; a load may be taken twice."""
    taken: dict[str, list[str]] = {}
    for load, _, text in _standing(run) if run else ():
        taken.setdefault(load, []).append(text)
    return taken


def _row(
    bench: BenchFile, number: int, load: str, ohms: float | None, seen: Expected | None, read: str
) -> CardRow:
    warning = ""
    part = bench.find(Instrument, load) if load != OPEN else None
    rated = part.power_rating if part is not None else None
    if seen is not None and rated is not None and seen.power > 0.5 * rated:
        warning = f"about {units.write(seen.power, 'W', digits=2)} in a {rated:g} W resistor: it gets warm, touch it last"
    wide = (
        load == OPEN and seen is not None and seen.basis.startswith("a guess")
    )  # no middle to name
    return CardRow(
        number=number,
        load="no load" if load == OPEN else load,
        resistance="" if ohms is None or f"{ohms:g} ohm" == load else f"{units.plain(ohms, 4)} ohm",
        expected="" if seen is None else f"{seen.low:.2f} to {seen.high:.2f} V" if wide else f"{seen.voltage:.2f} V",
        band="" if seen is None or wide else f"{seen.low:.2f} to {seen.high:.2f} V",
        current="" if seen is None or ohms is None else units.write(seen.current, "A", to="mA", digits=2),
        read=read,
        warning=warning,
    )  # fmt: skip
