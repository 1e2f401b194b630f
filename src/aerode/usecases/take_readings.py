"""A run at the bench, one act at a time: a reading taken, watched, kept in spite of a doubt, corrected; the run closed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING

from aerode import units
from aerode.errors import ConflictError, InputError, RangeError, UnitError
from aerode.measure.impossible import (
    current_and_load_disagree,
    impossible_current,
    impossible_voltage,
)
from aerode.records.electrodes import Electrode
from aerode.records.instruments import Instrument
from aerode.records.logs import LogAnswer
from aerode.records.runs import Observation, Reading, Run, RunSort, Settling
from aerode.usecases.log_long import close_log, is_log, log_stands
from aerode.usecases.log_questions import meant_instead
from aerode.usecases.log_reading import understand
from aerode.usecases.log_run import AMMETER, GuidedRun, load_said
from aerode.usecases.run_instruments import resistors_of
from aerode.usecases.run_keeping import read_run
from aerode.usecases.run_merging import is_watched
from aerode.usecases.run_readings import TAKEN_BACK, doubt_before, was_taken_back

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from aerode.records.instruments import MeterRange
    from aerode.store.bench_file import BenchFile

__all__ = [
    "LEAST_WATCHED",
    "RunAtBench",
    "correct",
    "doubt",
    "finish",
    "keep_anyway",
    "look_at_face",
    "look_at_load",
    "put_back",
    "reopen",
    "run_at_bench",
    "same_number_as",
    "skip_load",
    "take_last_back",
    "take_reading",
    "use_again",
    "watch_many",
]

LEAST_WATCHED = 20.0
"""[s]; watched for less, nothing is said to stand still, however alike the readings are. Common practice, no source."""
_LEAST_WAIT = 60.0
"""[s]; the wait rule looks back over a minute: a single reading taken sooner cannot have followed it."""
_RESISTOR_LIMIT = 0.05
"""Limit of error of a resistor whose tolerance nobody entered: the gold band of a carbon film one (IEC 60062, table 3)."""


@dataclass
class RunAtBench(GuidedRun):
    """A guided run whose last reading may still be watched, load by load, from any door.

    While a load is watched its timed readings stand in the run already, as a reading that has no
    waiting time yet; `run` is the run without it, so that its load is still the next one.
    """

    watched: Reading | None = None
    waited: float | None = None

    def standing(self) -> LogAnswer:
        """Where the run stands; a log by its rows."""
        return log_stands(self.bench, self.run) if is_log(self.run) else super().standing()

    def trace(self) -> tuple[tuple[float, float], ...]:
        """The timed readings of the load that is on now (s, V)."""
        return self.watched.trace if self.watched is not None else ()

    def since(self, moment: datetime) -> float:
        """Seconds since this load was put on, as far as the run can tell."""
        if not self.run.started:
            return 0.0
        began = datetime.fromisoformat(self.run.started).timestamp()
        if self.watched is not None and self.watched.trace:
            began += (self.watched.at or 0.0) - self.watched.trace[-1][0]
        else:
            began += max((r.at or 0.0 for r in self.run.readings), default=0.0)
        return max(0.0, moment.timestamp() - began)

    def elapsed(self) -> float | None:
        """Seconds since the run began; None where that was not noted."""
        if not self.run.started:
            return None
        began = datetime.fromisoformat(self.run.started).timestamp()
        return round(max(0.0, self.clock().timestamp() - began), 1)

    def keep(self, reading: Reading, text: str) -> LogAnswer:
        """Store a reading with its doubt."""
        return self._store(reading, text)

    def put_right(self, index: int, old: Reading, text: str) -> LogAnswer:
        """Store what replaces a reading; a load that is watched stays the last one."""
        new = self._reading(old.load, text, ())
        timed = Settling.NOT_KNOWN if old.trace else old.settling
        new = replace(new, settling=timed, at=old.at, waited=old.waited, replaces=index)
        return self._change((*self.run.readings, new), f"reading {index + 1} corrected: {text}")

    def mark(self, index: int, why_not: str, said: str) -> LogAnswer:
        """Set or lift the doubt of a reading."""
        readings = list(self.run.readings)
        readings[index] = replace(readings[index], doubt=why_not)
        return self._change(tuple(readings), said)

    def store_as_it_is(self, said: str) -> LogAnswer:
        """Store the run as it stands here."""
        self._put(self.run, said)
        return self._answer(f"{said[0].upper()}{said[1:]}.", ())

    def set_finished(self, *, finished: bool) -> LogAnswer:
        """Close the run, or open it again."""
        self._put(replace(self.run, finished=finished), "run closed" if finished else "run opened again")  # fmt: skip
        return self._answer(f"{self.run.name} is open again.", ())

    def note_look(self, seen: Observation) -> LogAnswer:
        """Store one look at the air face."""
        said = "wet" if seen.wet else "still dry"
        self._put(replace(self.run, observations=(*self.run.observations, seen)), f"seen {said}")
        return self._answer(f"Noted: {said} after {units.plain(seen.at / 3600.0, 3)} h.", ())

    def watch(self, reading: Reading, said: str) -> None:
        """Store the timed readings of the load that is on."""
        self._put(replace(self.run, readings=(*self.run.readings, reading)), said)

    def _put(self, run: Run, why: str) -> None:
        """As of the guided run; a load that is still watched is set aside again."""
        super()._put(run, why)
        self.watched = _watched(self.run)
        if self.watched is not None:
            self.run = replace(self.run, readings=self.run.readings[:-1])

    def _change(self, readings: tuple[Reading, ...], said: str) -> LogAnswer:
        run = replace(self.run, readings=readings)
        kept = run if self.watched is None else replace(run, readings=(*readings, self.watched))
        self._put(kept, said)
        return self._answer(f"{said[0].upper()}{said[1:]}.", ())

    def _earlier(self) -> list[tuple[float, float]]:
        """The points of the run before, looked up among the runs of this cell only."""
        own = self.run.cell or self.run.electrode
        others = [
            run
            for run in self.bench.all(Run, of=own)
            if run.electrode == self.run.electrode
            and run.sort is self.run.sort
            and run.name != self.run.name
        ]
        return self._points(others[-1]) if others else []

    def _reading(self, load: str, text: str, trace: Sequence[tuple[float, float]]) -> Reading:
        if load == AMMETER:
            reading = super()._reading(load, text, trace)
            self._refuse_overload(reading)
            return reading
        volts, amperes = _volts_and_amperes(text)
        reading = super()._reading(load, volts, trace)
        if amperes:
            typed = units.read(amperes, "A", field=load)
            reading = replace(reading, current=typed.value, text=text)
            self._refuse_disagreement(reading)
        self._refuse_overload(reading)
        if trace:
            brief = trace[-1][0] - trace[0][0] < LEAST_WATCHED
            if brief and reading.settling is Settling.SETTLED:
                return replace(reading, settling=Settling.NOT_SETTLED)
            return reading
        hasty = self.waited is not None and self.waited < _LEAST_WAIT
        return replace(
            reading,
            waited=self.waited,
            settling=Settling.NOT_KNOWN if hasty else reading.settling,
        )

    def _refuse_impossible(self, load: str, text: str, voltage: float) -> None:
        """As of the guided run; an overload of the range is told before anything is asked."""
        super()._refuse_impossible(load, text, voltage)
        self._refuse_overload(Reading(load=load, voltage=voltage))

    def _range(self) -> MeterRange | None:
        meter = self.bench.find(Instrument, self.run.meter) if self.run.meter else None
        ranges = meter.ranges if meter is not None else ()
        return next((one for one in ranges if one.name == self.run.voltage_range), None)

    def _refuse_overload(self, reading: Reading) -> None:
        """At or above the range that the meter is set to: an overload, or the wrong socket."""
        scale = self._range()
        if scale is None:
            return
        if reading.voltage is not None and scale.measures == "voltage":
            why = impossible_voltage(reading.voltage, scale.full_scale)
        elif reading.current is not None and scale.measures == "current" and not reading.load:
            piece = self.bench.find(Electrode, self.run.electrode)
            area = piece.wetted_area.value if piece is not None and piece.wetted_area else None
            why = impossible_current(reading.current, scale.full_scale, area)
        else:
            return
        if why:
            raise RangeError(
                why,
                where=reading.load or "ammeter",
                allowed=f"less than the range of {scale.name}",
                next_step="look at the knob and at the sockets, then read again; nothing was saved",
            )

    def _refuse_disagreement(self, reading: Reading) -> None:
        resistance = self.resistors.get(reading.load)
        if resistance is None or not reading.voltage or not reading.current:
            return
        part = self.bench.find(Instrument, reading.load)
        tolerance = part.tolerance if part is not None else None
        spread = (_RESISTOR_LIMIT if tolerance is None else tolerance) / 3.0**0.5
        why = current_and_load_disagree(reading.voltage, reading.current, resistance, spread)
        if why:
            raise RangeError(
                why,
                where=reading.load,
                allowed="a current that is near V/R",
                next_step="look at the resistor, the socket and the units, then read both again; nothing was saved",
            )


def _volts_and_amperes(text: str) -> tuple[str, str]:
    """The voltage and the current in a text that may hold both; the text itself where it does not."""
    try:
        found = understand(text)
    except (UnitError, RangeError):
        return text, ""
    if found.voltage is None or found.current is None:
        return text, ""
    return f"{found.voltage!r} V", f"{found.current!r} A"


def run_at_bench(bench: BenchFile, name: str, *, clock: Callable[[], datetime]) -> RunAtBench:
    """A run that is under way, at the step where it stands.

    Parameters
    ----------
    bench : BenchFile
        Open.
    name : str
        Of the run.
    clock : callable
        Gives the moment.

    Raises
    ------
    NotFoundError
        No run of that name; near misses are named.
    """
    stored = read_run(bench, name)
    run, watched = stored.run, _watched(stored.run)
    if watched is not None:
        run = replace(run, readings=run.readings[:-1])
    return RunAtBench(
        bench, run, resistors_of(bench), clock, resumed=True, stored=stored, watched=watched
    )


def _watched(run: Run) -> Reading | None:
    """The last reading, where its load is still on and nobody has taken it."""
    last = run.readings[-1] if run.readings else None
    return last if last is not None and is_watched(last) and not run.finished else None


def take_reading(
    at: RunAtBench, text: str, *, load: str | None = None, waited: float | None = None
) -> LogAnswer:
    """Take the reading of the load that is on; what was watched before it is kept as its trace.

    Parameters
    ----------
    at : RunAtBench
        As `run_at_bench` gives it.
    text : str
        As typed: `742`, `0,742 V`, or with a current that was read too, `742 mV 49 mA`.
    load : str, optional
        The load that the person was asked for; refused if the run has gone on meanwhile.
    waited : float, optional [s]
        Since the load was put on.

    Returns
    -------
    LogAnswer

    Raises
    ------
    UnitError, RangeError
        It cannot be read, or it cannot be right: nothing is stored (`keep_anyway` stores it).
    ConflictError
        Somebody else took this load meanwhile.
    """
    _refuse_other_load(at, load)
    at.waited = waited
    trace = at.trace()
    if trace:
        last = at.read_voltage(text, at.watched.load if at.watched else "")
        trace = (*trace, (_later(trace, waited), last))
    return at.take(text, trace=trace)


def look_at_load(at: RunAtBench, text: str, *, load: str | None = None, waited: float) -> LogAnswer:
    """Note a reading that still moves, and leave the load on.

    It is on disk at once. In a plan of timed readings the last one closes the load by itself.
    Parameters and refusals as of `take_reading`.
    """
    _refuse_other_load(at, load)
    step = at.next_step()
    if step is None or step.load == AMMETER:
        raise InputError("there is no load to watch", where=at.run.name, next_step="finish the run")
    voltage = at.read_voltage(text, step.load)
    trace = (*at.trace(), (_later(at.trace(), waited), voltage))
    if step.moments and len(trace) >= len(step.moments):
        return at.take(text, trace=trace)
    return _watch(at, trace, text)


def watch_many(at: RunAtBench, timed: Sequence[tuple[float, float]], text: str) -> LogAnswer:
    """Note many timed readings of the load that is on at once, as a logger sends them.

    Parameters
    ----------
    at : RunAtBench
        In a plan that reads each load when it has settled.
    timed : sequence of (s, V)
        Since the load was put on, in order.
    text : str
        The last one as it was sent.
    """
    trace = at.trace()
    for moment, voltage in timed:
        trace = (*trace, (_later(trace, moment), voltage))
    return _watch(at, trace, text)


def _watch(at: RunAtBench, trace: tuple[tuple[float, float], ...], text: str) -> LogAnswer:
    step = at.next_step()
    assert step is not None
    voltage = trace[-1][1]
    reading = Reading(
        load=step.load,
        voltage=voltage,
        at=at.elapsed(),
        settling=Settling.NOT_SETTLED,
        trace=trace,
        text=text,
    )
    at.watch(reading, f"watching {step.load}")
    return LogAnswer(
        headline=f"Noted: {units.plain(voltage, 4)} V at {step.load} after {trace[-1][0]:.0f} s.",
        run=at.run.name,
        next_step=step,
        remaining=tuple(at.remaining()),
    )


def _later(trace: Sequence[tuple[float, float]], waited: float | None) -> float:
    """The moment of a timed reading: a tenth of a second after the one before it at least."""
    earliest = trace[-1][0] + 0.1 if trace else 0.0
    return round(max(waited or 0.0, earliest), 1)


def _refuse_other_load(at: RunAtBench, load: str | None) -> None:
    step = at.next_step()
    if load is None or (step is not None and step.load == load):
        return
    now = f"the next one is {step.load or 'the ammeter'}" if step else "every load is taken"
    raise ConflictError(
        f"{load or 'the ammeter'} was read already meanwhile; {now}",
        where=at.run.name,
        next_step="look at the readings below; nothing was saved",
    )


def keep_anyway(at: RunAtBench, text: str, why: str, *, load: str | None = None) -> LogAnswer:
    """Store a reading that cannot be, as it was typed, with the doubt beside it: no fit uses it.

    Raises
    ------
    UnitError
        There is no number in it.
    """
    _refuse_other_load(at, load)
    step = at.next_step()
    if step is None:
        raise InputError(
            "every planned load is taken", where=at.run.name, next_step="finish the run"
        )
    number, unit = units.read_number(_volts_and_amperes(text)[0])
    si = "A" if step.load == AMMETER else "V"
    value = units.convert(number, unit or si, si)
    reading = Reading(
        load=step.load,
        voltage=value if si == "V" else None,
        current=value if si == "A" else None,
        current_range=at.run.voltage_range if si == "A" else "",
        at=at.elapsed(),
        waited=at.trace()[-1][0] if at.watched else None,
        trace=at.trace(),
        text=text,
        replaces=at.back_at(step.load),
        doubt=why or "kept as typed",
    )
    return at.keep(reading, text)


def same_number_as(
    text: str, *, current: bool = False, expected: float | None = None
) -> tuple[str, ...]:
    """The readings that were meant, where the one typed was not taken: the nearest to what is expected first.

    >>> same_number_as("7420", expected=0.7), same_number_as("0,108 V", expected=1.19)
    (('0.742 V',), ('1.08 V',))
    >>> same_number_as("69,4", current=True)
    ('69,4 mA', '69,4 uA')
    """
    if not current:
        return meant_instead(text, expected)
    try:
        _, unit = units.read_number(text)
    except UnitError:
        return ()
    return (
        ()
        if unit
        else tuple(
            said
            for one in ("mA", "A", "uA")
            if 0.0 < units.read(said := f"{text.strip()} {one}", "A").value <= 1.0
        )
    )  # judgement: a hand-built cell passes less than 1 A


def take_last_back(at: RunAtBench) -> LogAnswer:
    """Take the last reading back, so that its load is asked for again; `use_again` puts it back.

    A load that is watched loses its timed readings to nothing: they stay, doubted, as those of a
    reading that was taken back.

    Raises
    ------
    InputError
        There is no reading yet.
    """
    if at.watched is None:
        return at.take_back()
    waited = at.trace()[-1][0]
    old = replace(at.watched, waited=waited, doubt=TAKEN_BACK)
    at.run = replace(at.run, readings=(*at.run.readings, old))
    at.watched = None
    return at.store_as_it_is(f"{old.load} is watched from the start again")


def correct(at: RunAtBench, index: int, text: str) -> LogAnswer:
    """Put another reading in the place of one that was typed wrong; the first stays beside it.

    Parameters
    ----------
    at : RunAtBench
    index : int
        Place of the reading in the run, counted from 0.
    text : str
        What it should have been.

    Raises
    ------
    InputError
        No such reading, or it was replaced already.
    UnitError, RangeError
        It cannot be read, or it cannot be right.
    """
    old = _reading_at(at.run, index)
    if any(reading.replaces == index for reading in at.run.readings):
        raise InputError(
            f"reading {index + 1} was replaced already",
            where=at.run.name,
            next_step="correct the one that replaced it",
        )
    return at.put_right(index, old, text)


def doubt(at: RunAtBench, index: int, why: str) -> LogAnswer:
    """Keep a reading and use it no more, with the reason."""
    _reading_at(at.run, index)
    why = why.strip() or "doubted by hand"
    return at.mark(index, why, f"reading {index + 1} doubted: {why}")


def put_back(at: RunAtBench, place: str = "") -> LogAnswer:
    """Put back the reading of the next load that was taken back.

    Raises
    ------
    ConflictError
        None waits for this load, or it is another one than `place` names.
    """
    step = at.next_step()
    found = at.back_at(step.load) if step is not None else None
    if found is None or (place and place != str(found)):
        raise ConflictError(
            "there is no such reading to put back",
            where=at.run.name,
            next_step="look at the readings below; nothing was changed",
        )
    return use_again(at, found)


def use_again(at: RunAtBench, index: int) -> LogAnswer:
    """Take the doubt off a reading, or put back one that was taken back.

    Raises
    ------
    InputError
        No such reading.
    ConflictError
        It was taken back, and its load was read again meanwhile.
    """
    old = _reading_at(at.run, index)
    if was_taken_back(old) and any(one.replaces == index for one in at.run.readings):
        raise ConflictError(
            f"{load_said(old.load)} was read again meanwhile",
            where=at.run.name,
            next_step="look at the readings below; nothing was changed",
        )
    if was_taken_back(old):
        return at.mark(index, doubt_before(old.doubt), f"reading {index + 1} put back")
    return at.mark(index, "", f"reading {index + 1} used again")


def _reading_at(run: Run, index: int) -> Reading:
    if 0 <= index < len(run.readings):
        return run.readings[index]
    raise InputError(
        f"there is no reading {index + 1} in this run",
        where=run.name,
        allowed=f"1 to {len(run.readings)}" if run.readings else "there is none yet",
    )


def skip_load(at: RunAtBench, why: str) -> LogAnswer:
    """Leave the next load out; where it was being watched, what was seen stays, doubted."""
    if at.watched is not None:
        reading = replace(
            at.watched, waited=at.trace()[-1][0], doubt=why or "left out while it still moved"
        )
        return at.keep(reading, reading.text)
    return at.skip(why or "left out by hand")


def finish(at: RunAtBench) -> LogAnswer:
    """Close the run; a load that is still watched ends with its last timed reading."""
    close_log(at.bench, at.run)
    if at.watched is not None:
        closed = replace(at.watched, waited=at.trace()[-1][0])
        at.run = replace(at.run, readings=(*at.run.readings, closed))
        at.watched = None
    answer = at.finish()
    return at.standing() if is_log(at.run) else answer


def reopen(at: RunAtBench) -> LogAnswer:
    """Open a closed run again, for a load that was forgotten."""
    return at.set_finished(finished=False)


def look_at_face(at: RunAtBench, *, wet: bool, note: str = "") -> LogAnswer:
    """Note a look at the air face of a seep test: dry or wet, at this moment.

    Raises
    ------
    InputError
        The run is no seep test.
    """
    if at.run.sort is not RunSort.SEEP:
        raise InputError("this run is no seep test", where=at.run.name)
    seen = Observation(at=at.elapsed() or 0.0, wet=wet, note=note.strip())
    return at.note_look(seen)
