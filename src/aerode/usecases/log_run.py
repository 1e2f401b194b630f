"""A guided run of load steps: names the next resistor, checks each reading, saves it before asking the next."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from aerode import units
from aerode.errors import InputError, RangeError
from aerode.measure.expecting import outside, unlikely
from aerode.measure.impossible import contradictions, impossible_current, impossible_voltage
from aerode.measure.run_plans import (
    AGAIN,
    OPEN,
    closing_check,
    loads_without_air,
    minutes,
    moments,
    order_of_loads,
)
from aerode.measure.run_readings import (
    doubt_of_taken_back,
    remaining_loads,
    standing_readings,
    was_taken_back,
)
from aerode.measure.settling import settled_voltage
from aerode.records.electrodes import Cell, Electrode
from aerode.records.instruments import Instrument
from aerode.records.logs import LogAnswer, LogStep, Taken
from aerode.records.marks import Condition
from aerode.records.runs import Reading, Run, RunPlan, RunSort, Settling
from aerode.usecases.log_before import less_before, more_than_before
from aerode.usecases.log_foretold import (
    expected_at,
    other_resistors,
    said_of_others,
    said_of_sister,
)
from aerode.usecases.log_questions import (
    far_from_the_last,
    far_off,
    meant_instead,
    rest_of,
    rises_without_air,
    too_much,
)
from aerode.usecases.run_instruments import resistors_at_hand, resistors_of, usual_meter
from aerode.usecases.run_keeping import keep_run, new_run, read_run, unused, with_only_cell
from aerode.usecases.run_sealed import loads_read_with_air, lowest_at_lighter

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from datetime import datetime

    from aerode.store.bench_file import BenchFile
    from aerode.usecases.log_before import Suspect
    from aerode.usecases.run_keeping import KeptRun

AMMETER = ""
"""The load of an ammeter reading: the meter itself."""

__all__ = [
    "AMMETER",
    "WAIT_RULES",
    "GuidedRun",
    "cell_of",
    "load_said",
    "open_run",
    "resume_or_start",
]


def open_run(bench: BenchFile, electrode: str, sort: RunSort) -> Run | None:
    """The newest run of this electrode and sort that still has loads to take."""
    waiting = [
        run
        for run in bench.all(Run)
        if run.electrode == electrode
        and run.sort is sort
        and run.planned_loads
        and not run.finished
    ]
    return waiting[-1] if waiting else None


def resume_or_start(
    bench: BenchFile,
    electrode: str,
    *,
    sort: RunSort = RunSort.LOADS,
    plan: RunPlan = RunPlan.FULL,
    conditions: Mapping[str, Condition] | None = None,
    control: bool = False,
    meter: str = "",
    voltage_range: str = "",
    clock: Callable[[], datetime],
) -> GuidedRun:
    """Go on with an unfinished run of this electrode, or start a new one.

    Raises
    ------
    NotFoundError
        No electrode of this name; near misses are named.
    InputError
        No resistor on the bench.
    """
    piece = bench.get(Electrode, electrode)
    resistors = resistors_of(bench)
    waiting = open_run(bench, electrode, sort)
    if waiting is not None:
        stored = read_run(bench, with_only_cell(bench, waiting).name)
        guided = GuidedRun(bench, stored.run, resistors, clock, resumed=True, stored=stored)
        for field, value in (conditions or {}).items():
            guided.set_condition(field, value)
        return guided
    planned = _planned(bench, electrode, sort, plan)
    moment = clock()
    word = "loads" if sort is RunSort.LOADS else str(sort)
    name = unused(f"{electrode} {word}", {run.name for run in bench.all(Run)})
    session = moment.date().isoformat()
    run = Run(
        name=name,
        cell=cell_of(bench, electrode),
        electrode=electrode,
        sort=sort,
        plan=plan,
        session=session,
        order=1 + max((r.order or 0 for r in bench.all(Run) if r.session == session), default=0),
        control=control or piece.control,
        meter=meter or usual_meter(bench),
        voltage_range=voltage_range,
        started=moment.isoformat(timespec="seconds"),
        planned_loads=planned,
        wait_rule=WAIT_RULES[plan],
    )
    run = replace(run, **dict(conditions or {}))
    return GuidedRun(bench, run, resistors, clock)


def _planned(bench: BenchFile, electrode: str, sort: RunSort, plan: RunPlan) -> tuple[str, ...]:
    """The loads of a run, in order; the ammeter is its own."""
    if sort is RunSort.SHORT_CIRCUIT:
        return (AMMETER,)
    if sort is RunSort.SEALED_FACE:
        return loads_without_air(resistors_at_hand(bench), loads_read_with_air(bench, electrode))
    return order_of_loads(plan, resistors_at_hand(bench))


WAIT_RULES = {
    RunPlan.FULL: "read when it moves less than 1 mV in a minute",
    RunPlan.SHORT: "timed readings, carried on to where they settle",
    RunPlan.RETRO: "not known: from a notebook",
}


def cell_of(bench: BenchFile, electrode: str) -> str:
    """The newest cell that an electrode is in; "" where it is in none."""
    cells = [cell.name for cell in bench.all(Cell) if cell.electrode == electrode]
    return cells[-1] if cells else ""


@dataclass
class GuidedRun:
    """A run on its way. Every accepted reading is on disk before the next is asked for."""

    bench: BenchFile
    run: Run
    resistors: dict[str, float]
    clock: Callable[[], datetime]
    resumed: bool = False
    stored: KeptRun | None = None
    """The run as it stood on the bench when it was read or stored last; None before the first time."""
    by_hand: bool = False
    """A person types the readings: a slip of a digit is looked for too."""
    sure: bool = False
    """The person was asked about this reading, and says that the meter shows it."""
    asked: bool = False
    """The last refusal was a question that the person may answer with yes."""
    gentle: bool = False
    """It lies just outside of what was stated: it may well be so."""
    others: tuple[str, ...] = ()
    """Resistors at which what was refused last would be right."""
    suspect: Suspect | None = None
    """The reading before that may be the wrong one of the two."""

    def about(self) -> str:
        """One line: what this run is and how long it takes."""
        steps = len(self.run.planned_loads)
        time = minutes(self.run.plan, self.run.planned_loads)
        done = steps - len(self.remaining())
        head = f"Going on with {self.run.name}" if self.resumed else f"Run {self.run.name}"
        return (
            f"{head}: plan {self.run.plan}, {steps} steps ({done} done), about {time:.0f} minutes."
        )

    def current_readings(self) -> list[Reading]:
        """Readings that no later one replaces and that nobody has taken back."""
        return [r for r in standing_readings(self.run) if not was_taken_back(r)]

    def remaining(self) -> list[str]:
        """Planned loads not yet taken or skipped, in order."""
        return remaining_loads(self.run)

    def points(self, run: Run) -> list[tuple[float, float]]:
        """Resistance and voltage of the readings of a run at a load, undoubted [ohm, V]."""
        return [
            (self.resistors[r.load], r.voltage)
            for r in standing_readings(run)
            if r.voltage and not r.doubt and r.load in self.resistors
        ]

    def earlier_points(self) -> list[tuple[float, float]]:
        """The same of the run before of this electrode."""
        others = [
            run
            for run in self.bench.all(Run)
            if run.electrode == self.run.electrode
            and run.sort is self.run.sort
            and run.name != self.run.name
        ]
        return self.points(others[-1]) if others else []

    def standing(self) -> LogAnswer:
        """Where the run stands, without taking anything."""
        return self._answer(self.about(), ())

    def set_condition(self, field: str, value: Condition) -> None:
        """Note a condition of this run; it is stored with the first reading."""
        if not self.run.readings:
            self.run = replace(self.run, **{field: value})
        elif getattr(self.run, field) != value:
            self._put(replace(self.run, **{field: value}), f"noted {field.replace('_', ' ')}")

    def read_voltage(self, text: str, load: str) -> float:
        """One timed reading as it was typed [V], refused where it cannot be."""
        volts = self._volts(load, text)
        self._refuse_impossible(load, text, volts)
        if load != OPEN or volts > 1.0:  # judgement: a rest may still climb from far below
            self._ask_if_far_off(load, text, volts, noted=True)
        return volts

    def _volts(self, load: str, text: str) -> float:
        """A typed voltage [V]; what no cell gives is refused with what was meant instead."""
        try:
            return units.read(text, "V", bare=("V", "mV"), plausible=(-2.7, 2.7), field=load).value
        except RangeError:
            number, unit = units.read_number(text)
            volts = units.convert(number, unit or "V", "V")
            if volts <= 0.0:
                raise
            raise too_much(text, volts, *self._about(load)) from None

    def _about(self, load: str) -> tuple[float | None, tuple[float, float] | None]:
        """What is said to be expected at the load that is on, and its band [V]; None for another load."""
        step = self.next_step()
        seen = expected_at(self, load) if step is not None and step.load == load else None
        return (None, None) if seen is None else (seen.voltage, (seen.low, seen.high))

    def _last_timed(self) -> float | None:
        """The timed reading of the load that is on before this one [V]; None where this is the first."""
        return None

    def _refuse_impossible(self, load: str, text: str, voltage: float) -> None:
        slip = impossible_voltage(voltage, at_rest=load == OPEN)
        if slip:
            others = meant_instead(text, *self._about(load))
            asked = f"was it {' or '.join(others)}? " if others else ""
            raise RangeError(
                slip,
                where=load,
                allowed="0 to 2.7 V",
                next_step=f"{asked}read it again and type it; nothing was saved",
            )

    def _ask_if_far_off(self, load: str, text: str, voltage: float, *, noted: bool = False) -> None:
        """What a person takes is asked about outside of what was stated; what is noted, or sent, where it is far off."""
        step = self.next_step()
        if step is None or step.load != load or self.sure:
            return
        last = self._last_timed() if self.by_hand and load != OPEN else None
        sealed = self.run.sort is RunSort.SEALED_FACE
        if sealed:
            lighter = lowest_at_lighter(self.current_readings(), self.resistors, load)
            self._ask(rises_without_air(text, voltage, load, lighter if last is None else (load, last)))  # fmt: skip
        if last is not None:
            self._ask(far_from_the_last(text, voltage, last))
        strict = self.by_hand and not noted
        if load == OPEN:
            rest = rest_of(self.bench, self.run)
            far = not rest.least <= voltage <= rest.most
            if far or (strict and not rest.low <= voltage <= rest.high):
                guess = None if rest.guessed else rest.voltage
                self._ask(far_off(text, voltage, load, (rest.low, rest.high), guess, gentle=not far), gentle=not far)  # fmt: skip
            return
        seen = expected_at(self, load)
        if seen is None or (sealed and voltage > 0.1 * seen.low):
            return  # a cell without air may give next to nothing: only a slip of ten is asked about
        if last is not None and (noted or sealed or unlikely(last, seen, typed=True)):
            return  # where it is, was asked about with the first one
        if voltage > seen.voltage:  # what it is more than says more than how far it is off
            self._refuse_beyond_open(load, voltage)
            self._refuse_what_no_curve_holds(load, voltage)
        if strict and not sealed:
            self._ask(self._about_the_one_before(load, text, voltage))
        far = unlikely(voltage, seen, typed=self.by_hand)
        if far or (strict and not sealed and outside(voltage, seen)):
            named = "" if sealed else self._others(load, voltage)
            self._ask(far_off(text, voltage, load, (seen.low, seen.high), seen.voltage, named, gentle=not far), gentle=not far)  # fmt: skip

    def _about_the_one_before(self, load: str, text: str, voltage: float) -> RangeError | None:
        """The question about a larger resistor that read less before; it is kept for the answer."""
        self.suspect = less_before(self, load, voltage)
        return None if self.suspect is None else more_than_before(self, text, voltage, load, self.suspect)  # fmt: skip

    def _others(self, load: str, voltage: float) -> str:
        """Which other resistors this reading would be right at, in a sentence; they are kept for the answer."""
        self.others = other_resistors(self, load, voltage)
        return said_of_others(self, voltage, self.others) + said_of_sister(self, load)

    def _ask(self, question: RangeError | None, *, gentle: bool = False) -> None:
        self.asked, self.gentle = question is not None, gentle
        if question is not None:
            raise question

    def resting(self) -> float | None:
        """What this run read without load, undoubted."""
        return next((r.voltage for r in self.current_readings() if r.load == OPEN and r.voltage and not r.doubt), None)  # fmt: skip

    def next_step(self) -> LogStep | None:
        """The next load with what to expect there, or None when all are taken."""
        left = self.remaining()
        if not left:
            return None
        load = left[0]
        if load == AMMETER:
            return LogStep(number=1, of=1, load=AMMETER, resistance=None)
        resistance = None if load == OPEN else self.resistors.get(load)
        seen = expected_at(self, load)
        total = len(self.run.planned_loads)
        return LogStep(
            number=total - len(left) + 1,
            of=total,
            load=load,
            resistance=resistance,
            expected_voltage=seen.voltage if seen else None,
            expected_low=seen.low if seen else None,
            expected_high=seen.high if seen else None,
            expected_current=seen.current if seen else None,
            expected_power=seen.power if seen else None,
            expectation=seen.basis if seen else "",
            warning=self._too_hot(load, seen.power) if seen else "",
            again=AGAIN if len(left) == 1 and closing_check(self.run.planned_loads) else "",
            moments=moments(self.run.plan) if load != OPEN else (),
        )

    def _too_hot(self, load: str, power: float) -> str:
        part = self.bench.find(Instrument, load)
        rated = part.power_rating if part is not None else None
        if rated is None or power <= 0.5 * rated:
            return ""
        more = "more than" if power > rated else "more than half of"
        return f"{units.plain(power)} W is {more} what this resistor is rated for ({rated:g} W): it warms and drifts; touch it last"

    def take(self, text: str, *, trace: Sequence[tuple[float, float]] = ()) -> LogAnswer:
        """Take the reading for the next load.

        Parameters
        ----------
        text : str
            What was typed: `742`, `0,742`, `742 mV` are alike.
        trace : sequence of (s, V)
            Timed readings at this load, where the plan asks for them; then `text` is the last.

        Returns
        -------
        LogAnswer
            What was understood and saved. A reading that cannot be is refused and nothing is saved.

        Raises
        ------
        UnitError, RangeError
            It cannot be read, or it cannot be right.
        InputError
            Nothing is left to take.
        """
        step = self.next_step()
        if step is None:
            raise InputError(
                "every planned load is taken",
                where=self.run.name,
                next_step="finish the run, or take the last one back",
            )
        reading = self._reading(step.load, text, trace)
        return self._store(replace(reading, replaces=self.back_at(step.load)), text)

    def back_at(self, load: str) -> int | None:
        """The place of the reading at this load that was taken back and that none replaces yet."""
        replaced = {r.replaces for r in self.run.readings}
        return next((k for k, r in enumerate(self.run.readings) if r.load == load and was_taken_back(r) and k not in replaced), None)  # fmt: skip

    def last_taken(self) -> int | None:
        """The place of the last reading that stands; None where there is none."""
        replaced = {r.replaces for r in self.run.readings}
        return next((k for k in reversed(range(len(self.run.readings))) if k not in replaced and not was_taken_back(self.run.readings[k])), None)  # fmt: skip

    def _last(self, what: str) -> int:
        last = self.last_taken()
        if last is None:
            raise InputError(
                f"there is no reading to {what} yet",
                where=self.run.name,
                next_step="type the first one",
            )
        return last

    def take_back(self) -> LogAnswer:
        """Take the last reading back: its load is asked for again; what was read stays beside it.

        Raises
        ------
        InputError
            There is no reading yet.
        """
        last = self._last("take back")
        readings = list(self.run.readings)
        old = readings[last]
        readings[last] = replace(old, doubt=doubt_of_taken_back(old.doubt))
        at = load_said(old.load)
        self._put(replace(self.run, readings=tuple(readings)), f"reading at {at} taken back")
        return self._answer(f"Taken back: {_value(old)} at {at}. It is kept, and not used.", ())

    def retake(self, text: str) -> LogAnswer:
        """Replace the last reading; the first stays in the history and in the run.

        Raises
        ------
        InputError
            There is no reading yet.
        """
        last = self._last("take again")
        reading = self._reading(self.run.readings[last].load, text, ())
        return self._store(replace(reading, replaces=last), text)

    def skip(self, why: str) -> LogAnswer:
        """Leave the next load out of this run."""
        step = self.next_step()
        if step is None:
            raise InputError(
                "nothing is left to skip", where=self.run.name, next_step="finish the run"
            )
        left = list(self.run.planned_loads)
        place = len(left) - 1 - left[::-1].index(step.load)
        del left[place]
        note = (
            f"{self.run.note}; skipped {step.load}: {why}"
            if self.run.note
            else f"skipped {step.load}: {why}"
        )
        self._put(replace(self.run, planned_loads=tuple(left), note=note), f"skipped {step.load}")
        return self._answer(f"Skipped {step.load}.", ())

    def finish(self) -> LogAnswer:
        """Close the run, whether or not every planned load was taken."""
        self._put(replace(self.run, finished=True), "run finished")
        taken = sum(1 for r in self.current_readings() if not r.doubt)
        return self._answer(f"{self.run.name} is closed with {taken} readings.", ())

    def _reading(self, load: str, text: str, trace: Sequence[tuple[float, float]]) -> Reading:
        elapsed = (
            (self.clock().timestamp() - _moment(self.run.started)) if self.run.started else None
        )
        if self.run.sort is RunSort.SHORT_CIRCUIT:
            return self._ammeter_reading(text, elapsed)
        voltage = self._volts(load, text)
        self._refuse_impossible(load, text, voltage)
        self._ask_if_far_off(load, text, voltage)
        self._refuse_beyond_open(load, voltage)
        self._refuse_what_no_curve_holds(load, voltage)
        settled, waited = Settling.NOT_KNOWN, None
        if trace:
            answer = settled_voltage(tuple(trace))
            waited = trace[-1][0]
            if answer.voltage is None:
                settled = Settling.NOT_SETTLED
            else:
                settled = Settling.EXTRAPOLATED if answer.extrapolated else Settling.SETTLED
        elif self.run.plan is RunPlan.FULL:
            settled = Settling.SETTLED
        return Reading(
            load=load,
            voltage=voltage,
            at=None if elapsed is None else max(0.0, round(elapsed, 1)),
            waited=waited,
            settling=settled,
            trace=tuple(trace),
            text=text,
        )

    def _ammeter_reading(self, text: str, elapsed: float | None) -> Reading:
        typed = units.read(text, "A", bare=("mA", "A"), field="ammeter")
        slip = impossible_current(typed.value)
        if slip:
            raise RangeError(
                slip,
                where="ammeter",
                allowed="0 to 50 A",
                next_step="read it again and type it with its unit",
            )
        return Reading(
            current=typed.value,
            current_range=self.run.voltage_range,
            at=None if elapsed is None else max(0.0, round(elapsed, 1)),
            text=text,
        )

    def _refuse_beyond_open(self, load: str, voltage: float) -> None:
        """Under load a cell gives less than at rest: more is a slip, or the rest was not one."""
        resting = self.resting()
        if resting is not None and load != OPEN and voltage > resting + 0.05:
            raise RangeError(
                f"{units.plain(voltage, 4)} V at {load} is more than without load ({units.plain(resting, 4)} V)",
                where=load,
                allowed=f"less than {units.plain(resting, 4)} V",
                next_step="is the resistor really on? if the first reading had not come to rest, take it again with: back",
            )

    def _refuse_what_no_curve_holds(self, load: str, voltage: float) -> None:
        """A reading that stands out against two or more others is asked about while the load is on."""
        resistance = self.resistors.get(load)
        answered = self.sure and self.run.sort is RunSort.SEALED_FACE  # it was asked about already
        if resistance is None or voltage <= 0.0 or answered:
            return
        points = [*self.points(self.run), (resistance, voltage)]
        why = contradictions([v for _, v in points], [v / r for r, v in points]).get(
            len(points) - 1
        )
        if why is None:
            return
        step = self.next_step()
        about = step.expected_voltage if step is not None and step.load == load else None
        raise RangeError(
            f"{units.plain(voltage, 4)} V at {load} fits no falling curve: {why}",
            where=load,
            allowed=f"about {about:.2f} V"
            if about is not None
            else "a voltage that falls as the current rises",
            next_step=f"{self._others(load, voltage) or 'is it this resistor, and has it come to rest? '}read it again; if it is so, keep it with its doubt",
        )

    def _store(self, reading: Reading, text: str) -> LogAnswer:
        self._put(
            replace(self.run, readings=(*self.run.readings, reading)),
            f"reading at {reading.load or 'the ammeter'}",
        )
        value = _value(reading)
        taken = Taken(
            text=text,
            understood=f"{text.strip()} taken as {value}",
            load=reading.load,
            voltage=reading.voltage,
            current=reading.current,
            settling=str(reading.settling),
        )
        return self._answer(f"Saved: {value} at {load_said(reading.load)}.", (taken,))

    def _put(self, run: Run, why: str) -> None:
        """Store; afterwards `run` is what stands on the bench, with what another writer added."""
        if self.stored is None:
            self.stored = new_run(self.bench, run, why=why)
        else:
            self.stored = keep_run(self.bench, run, self.stored, why=why)
        self.run = self.stored.run

    def _answer(self, headline: str, taken: tuple[Taken, ...]) -> LogAnswer:
        return LogAnswer(
            headline=headline,
            run=self.run.name,
            taken=taken,
            next_step=self.next_step(),
            remaining=tuple(self.remaining()),
            finished=self.run.finished,
        )


def load_said(load: str) -> str:
    """A load in a sentence, after "at"."""
    return "no load" if load == OPEN else load or "the ammeter"


def _value(reading: Reading) -> str:
    if reading.voltage is not None:
        return f"{units.plain(reading.voltage, 4)} V"
    return f"{units.plain(1e3 * (reading.current or 0.0), 4)} mA"


def _moment(text: str) -> float:
    from datetime import datetime as moment_reader

    return moment_reader.fromisoformat(text).timestamp()
