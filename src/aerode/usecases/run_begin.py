"""Begin a run: of an electrode that is there or one that is named here, with the loads and the meter it takes."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from aerode import units
from aerode.errors import AerodeError, FieldFault, RecordError
from aerode.measure.run_plans import SHORT_LOADS, SHORT_MOMENTS, full_run_minutes, order_of_loads
from aerode.records.electrodes import Cell, Electrode
from aerode.records.marks import Condition, Entry
from aerode.records.runs import Run, RunPlan, RunSort
from aerode.usecases.log_long import is_log, load_note
from aerode.usecases.log_run import cell_of, open_run, resume_or_start
from aerode.usecases.resistors_entered import resistors_from_text
from aerode.usecases.run_conditions import CONDITIONS, condition
from aerode.usecases.run_instruments import resistors_at_hand, resistors_of, usual_meter
from aerode.usecases.run_keeping import keep_run, new_run, read_run, unused, with_only_cell
from aerode.usecases.typed_area import area_entry

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from datetime import datetime

    from aerode.records.instruments import Instrument
    from aerode.store.bench_file import BenchFile

__all__ = ["RUN_KINDS", "RunKind", "RunWish", "begin_run", "note_conditions", "what_each_costs"]


_LONGEST = 60
"""Characters of the name of a new electrode: its runs are called after it, and their names hold 80."""


@dataclass(frozen=True, slots=True)
class RunKind:
    """One way to measure: its word, its sort and plan, what it is in brief and in whole."""

    word: str
    sort: RunSort
    plan: RunPlan
    brief: str
    what: str


RUN_KINDS: tuple[RunKind, ...] = (
    RunKind("full", RunSort.LOADS, RunPlan.FULL, "every resistor", "every resistor, each read when it stands still; the middle one once more at the end, to see whether the run has changed the cell"),
    RunKind("short", RunSort.LOADS, RunPlan.SHORT, "three resistors, six readings each, 12 min", "three resistors with six timed readings at each, so that where it is going is known before it stands still: 18 numbers, 12 minutes at most; a lesson that reads each once, after a minute and a half, presses “Only this one here”"),
    RunKind("sealed face", RunSort.SEALED_FACE, RunPlan.FULL, "three loads, no air", "the air face taped over, three of the loads it was read at with air: whether the air feeds it, in about ten minutes"),
    RunKind("ammeter", RunSort.SHORT_CIRCUIT, RunPlan.FULL, "one current", "the ammeter across the cell: one current, never a power"),
    RunKind("check cell", RunSort.CHECK_CELL, RunPlan.FULL, "tests the meter", "a dry cell and your resistors: tests the meter, not an electrode"),
    RunKind("run-down", RunSort.RUN_DOWN, RunPlan.FULL, "one load for hours", "one load for hours, read by a logger that posts"),
    RunKind("seep", RunSort.SEEP, RunPlan.FULL, "dry or wet", "water behind the film: dry or wet, hour by hour"),
)  # fmt: skip


def what_each_costs(resistances: Mapping[str, float]) -> str:
    """What a full and a short run cost in minutes, and what each buys, in two sentences.

    Parameters
    ----------
    resistances : mapping of str to float
        The resistors at hand [ohm]; without any the minutes of a full run are left out.

    Examples
    --------
    >>> print(what_each_costs({"a": 100.0, "b": 47.0, "c": 22.0, "d": 10.0}))
    Full: about 15 minutes for 4 resistors; buys the surest curve. Short: at most 12 minutes for 3 resistors; buys a curve with wider limits.
    """
    full = full_run_minutes(resistances)
    count = len(resistances)
    each = f"{count} resistor{'' if count == 1 else 's'}" if count else "every resistor"
    took = f"about {full:.0f} minutes" if full else "about 2 minutes a resistor"  # fmt: skip
    fewer = min(count or SHORT_LOADS, SHORT_LOADS)
    short = f"at most {SHORT_MOMENTS[-1] / 60.0 * (fewer + 1):.0f} minutes for {fewer} resistor{'' if fewer == 1 else 's'}"  # fmt: skip
    return f"Full: {took} for {each}; buys the surest curve. Short: {short}; buys a curve with wider limits."  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class RunWish:
    """What a person says of a run before its first reading, as typed; "" where it was not said."""

    electrode: str
    kind: str = "full"
    meter: str = ""
    voltage_range: str = ""
    resistors: str = ""
    """Of a bench that has none yet, as in "100, 47, 22, 10 ohm"."""
    area: str = ""
    head: str = ""
    load: str = ""
    """Of a run-down: the resistor that is on all the time, by name or value; "open" for none."""
    control: bool = False
    conditions: Mapping[str, str] = field(default_factory=dict[str, str])


class _Faults:
    """All that cannot be taken, field by field."""

    def __init__(self) -> None:
        self.found: list[FieldFault] = []

    def note(self, name: str, error: AerodeError, raw: str) -> None:
        what = f"{error.what}. {error.next_step}".removesuffix(". ")
        self.found.append(FieldFault(name, what, error.allowed, raw))

    def refuse(self) -> None:
        if self.found:
            count = "one field" if len(self.found) == 1 else f"{len(self.found)} fields"
            raise RecordError(
                f"{count} of this run cannot be taken yet",
                tuple(self.found),
                next_step="mend what is marked; nothing was stored",
            )


def begin_run(bench: BenchFile, wish: RunWish, *, clock: Callable[[], datetime]) -> Run:
    """Begin a run, or go on with one of the same kind that was left open.

    An electrode or resistors that the bench does not have yet are entered with it. All fields are
    looked at first: where one cannot be taken, nothing is stored.

    Parameters
    ----------
    bench : BenchFile
        Open for writing.
    wish : RunWish
        As typed.
    clock : callable
        Gives the moment.

    Returns
    -------
    Run
        As stored: it has its name, and not yet a reading.

    Raises
    ------
    RecordError
        With one fault for each field that cannot be taken.
    """
    faults = _Faults()
    kind = next((one for one in RUN_KINDS if one.word == wish.kind), RUN_KINDS[0])
    checks = kind.sort is RunSort.CHECK_CELL
    name = " ".join(wish.electrode.split())
    if not name and not checks:
        what = "give it the name that stands on its label"
        faults.found.append(FieldFault("electrode", what, 'a short name, as in "T6"', ""))
    known = checks or (bool(name) and bench.find(Electrode, name) is not None)
    new_piece = None if known or not name else _electrode(name, wish, faults)
    there = resistors_of(bench)
    new_parts = _resistors(wish, there, faults)
    conditions = _conditions(wish.conditions, faults)
    head = _head(wish, kind, faults)
    load = _load(bench, wish, kind, faults)
    needs_loads = kind.sort not in {RunSort.SHORT_CIRCUIT, RunSort.SEEP, RunSort.RUN_DOWN}
    if needs_loads and not there and not new_parts and not wish.resistors:
        what = "a cell is read at resistors, and this bench has none yet"
        faults.found.append(FieldFault("resistors", what, "the values printed on them, as in 100, 47, 22, 10 ohm", ""))  # fmt: skip
    faults.refuse()
    fresh = [*([new_piece] if new_piece else []), *new_parts]
    if fresh:
        bench.put_all(fresh, why="entered with a run")
    waiting = _open_log(bench, name) if load else open_run(bench, "" if checks else name, kind.sort)
    if waiting is not None:
        return with_only_cell(bench, waiting)
    if kind.sort in {RunSort.SEEP, RunSort.CHECK_CELL, RunSort.RUN_DOWN}:
        run = replace(
            _plain_run(bench, name, kind, clock()),
            note=load,
            cell="" if checks else cell_of(bench, name),
        )
    else:
        run = resume_or_start(bench, name, sort=kind.sort, plan=kind.plan, control=wish.control, clock=clock).run  # fmt: skip
    run = replace(
        run, meter=wish.meter or run.meter, voltage_range=wish.voltage_range or run.voltage_range,
        head=head, **conditions,
    )  # fmt: skip
    return new_run(bench, run, why="run begun").run


def _electrode(name: str, wish: RunWish, faults: _Faults) -> Electrode | None:
    area: Entry | None = None
    if len(name) > _LONGEST:
        faults.found.append(FieldFault("electrode", "this name is too long", f"at most {_LONGEST} characters", name))  # fmt: skip
        return None
    if wish.area:
        try:
            area = area_entry(wish.area)
        except AerodeError as error:
            faults.note("area", error, wish.area)
            return None
    return Electrode(name=name, wetted_area=area)


def _resistors(wish: RunWish, there: Mapping[str, float], faults: _Faults) -> list[Instrument]:
    """The resistors of a line like "100, 47, 22, 10 ohm" that the bench does not have yet."""
    try:
        return resistors_from_text(wish.resistors, there)
    except AerodeError as error:
        faults.note("resistors", error, wish.resistors)
        return []


def _conditions(typed: Mapping[str, str], faults: _Faults) -> dict[str, Condition]:
    found: dict[str, Condition] = {}
    for name, text in typed.items():
        if name not in CONDITIONS or not text.strip():
            continue
        try:
            found[name] = condition(text, CONDITIONS[name][0], name.replace("_", " "))
        except AerodeError as error:
            faults.note(name, error, text)
    return found


def _head(wish: RunWish, kind: RunKind, faults: _Faults) -> float | None:
    if kind.sort is not RunSort.SEEP or not wish.head:
        return None
    try:
        return units.read(wish.head, "m", plausible=(0.0, 5.0), field="head").value
    except AerodeError as error:
        faults.note("head", error, wish.head)
        return None


def _load(bench: BenchFile, wish: RunWish, kind: RunKind, faults: _Faults) -> str:
    """What is noted of the load of a run-down; "" for any other run."""
    if kind.sort is not RunSort.RUN_DOWN:
        return ""
    if not wish.load:
        what = "a run-down has one load that is on all the time"
        faults.found.append(FieldFault("load", what, 'a resistor, as in "15 ohm", or "open"', ""))
        return ""
    try:
        return load_note(bench, wish.load)
    except AerodeError as error:
        faults.note("load", error, wish.load)
        return ""


def _open_log(bench: BenchFile, electrode: str) -> Run | None:
    """The newest run-down of an electrode that is still being logged."""
    own = bench.all(Run, of=electrode)
    for cell in bench.all(Cell, of=electrode):
        own += bench.all(Run, of=cell.name)
    waiting = [run for run in own if is_log(run) and not run.finished]
    return waiting[-1] if waiting else None


def _plain_run(bench: BenchFile, electrode: str, kind: RunKind, moment: datetime) -> Run:
    """A run without a plan of loads of its own (seep), or of no electrode of the study (check cell)."""
    session = moment.date().isoformat()
    checks = kind.sort is RunSort.CHECK_CELL
    loads = order_of_loads(kind.plan, resistors_at_hand(bench)) if checks else ()
    return Run(
        name=unused(f"{electrode} {kind.word}".strip(), set(bench.names(Run))),
        electrode="" if checks else electrode,
        sort=kind.sort,
        plan=kind.plan,
        session=session,
        meter=usual_meter(bench),
        started=moment.isoformat(timespec="seconds"),
        planned_loads=loads,
    )


def note_conditions(bench: BenchFile, name: str, typed: Mapping[str, str]) -> Run:
    """Change the conditions of a run, as typed: a value, "same", or "" for may differ.

    Raises
    ------
    NotFoundError
        No run of that name.
    RecordError
        With one fault for each condition that cannot be taken; nothing is stored then.
    """
    faults = _Faults()
    stored = read_run(bench, name)
    run = stored.run
    shown = {key: text for key, text in typed.items() if key in CONDITIONS}
    cleared = {key: Condition() for key, text in shown.items() if not text.strip()}
    found = _conditions(shown, faults)
    faults.refuse()
    kept = {
        key: getattr(run, key)
        for key, new in found.items()
        if new.text == getattr(run, key).text and new.value == getattr(run, key).value
    }
    changed = replace(run, **{**cleared, **found, **kept})
    if changed != run:
        return keep_run(bench, changed, stored, why="conditions changed").run
    return changed
