"""A run at the bench as any door sees it: its next load, the load that is watched, and what is refused there."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING

from aerode import units
from aerode.errors import RangeError, UnitError
from aerode.measure.impossible import (
    current_and_load_disagree,
    impossible_current,
    impossible_voltage,
)
from aerode.measure.run_plans import WAITING_TIME
from aerode.measure.settling import settled_voltage
from aerode.records.electrodes import Electrode
from aerode.records.instruments import Instrument
from aerode.records.logs import LogAnswer
from aerode.records.runs import Observation, Reading, Run, Settling
from aerode.usecases.log_long import is_log, log_stands
from aerode.usecases.log_reading import understand
from aerode.usecases.log_run import AMMETER, GuidedRun
from aerode.usecases.run_early import early_words
from aerode.usecases.run_instruments import resistors_of
from aerode.usecases.run_keeping import read_run
from aerode.usecases.run_merging import is_watched

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from aerode.records.instruments import MeterRange
    from aerode.store.bench_file import BenchFile

__all__ = ["RunAtBench", "run_at_bench", "value_as_typed"]

_RESISTOR_LIMIT = 0.05
"""Limit of error of a resistor whose tolerance nobody entered: the gold band of a carbon film one (IEC 60062, table 3)."""


@dataclass
class RunAtBench(GuidedRun):
    """A guided run whose last reading may still be watched, load by load, from any door.

    While a load is watched its timed readings stand in the run already, as a reading that has no
    waiting time yet; `run` is the run without it, so that its load is still the next one.
    """

    watched: Reading | None = None
    typed_first: str = ""
    """What was typed before the person said what was meant; "" where nothing was asked."""
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

    def take_at(self, load: str, text: str, trace: Sequence[tuple[float, float]] = ()) -> LogAnswer:
        """Store a reading at another load than the one that comes next."""
        reading = self._reading(load, text, trace)
        return self._store(replace(reading, replaces=self.back_at(load)), text)

    def put_right(self, index: int, old: Reading, text: str, why: str = "") -> LogAnswer:
        """Store what replaces a reading; a load that is watched stays the last one. With a doubt nothing is asked."""
        if why:
            volts, amperes = value_as_typed(old.load, text)
            new = replace(old, voltage=volts, current=amperes, trace=(), text=text)
        else:
            new = self._without(index)._reading(old.load, text, ())
        timed = Settling.NOT_KNOWN if old.trace else old.settling
        new = replace(new, settling=timed, at=old.at, waited=old.waited, replaces=index, doubt=why)
        return self.append(new, f"reading {index + 1} corrected: {text}")

    def append(self, new: Reading, said: str) -> LogAnswer:
        """Store a reading behind the others; a load that is watched stays the last one."""
        return self._change((*self.run.readings, new), said)

    def watch_instead(self, reading: Reading, said: str) -> LogAnswer:
        """Store the load that is on with other timed readings than it had."""
        self.watched = reading
        return self._change(self.run.readings, said)

    def volts_for_correction(self, load: str, text: str) -> float:
        """A timed reading that is put right [V], refused only where it cannot be."""
        volts = self._volts(load, text)
        self._refuse_impossible(load, text, volts)
        self._refuse_beyond_open(load, volts)
        return volts

    def ask_about_noted(self) -> None:
        """Ask about the last timed reading before it is taken as it stands; of one that still moves nothing is asked."""
        if self.watched is None or self.watched.voltage is None or not self.by_hand:
            return
        if settled_voltage(self.watched.trace).voltage is not None:
            self._ask_if_far_off(self.watched.load, self.watched.text, self.watched.voltage)

    def _without(self, index: int) -> RunAtBench:
        """The run as it is without one reading: what replaces it is not judged by what was wrong."""
        old = replace(self.run.readings[index], doubt="being corrected")
        readings = (*self.run.readings[:index], old, *self.run.readings[index + 1 :])
        return replace(self, run=replace(self.run, readings=readings))

    def _last_timed(self) -> float | None:
        trace = self.trace()
        return trace[-1][1] if trace else None

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

    def earlier_points(self) -> list[tuple[float, float]]:
        """The points of the run before, looked up among the runs of this cell only."""
        own = self.run.cell or self.run.electrode
        others = [
            run
            for run in self.bench.all(Run, of=own)
            if run.electrode == self.run.electrode
            and run.sort is self.run.sort
            and run.name != self.run.name
        ]
        return self.points(others[-1]) if others else []

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
            return reading
        hasty = self.waited is not None and self.waited < WAITING_TIME
        return replace(
            reading,
            waited=self.waited,
            settling=Settling.NOT_KNOWN if hasty else reading.settling,
        )

    def _store(self, reading: Reading, text: str) -> LogAnswer:
        """As of the guided run; what was read too early to stand still is said to be so."""
        if self.typed_first:
            reading = replace(reading, text=f"corrected from {self.typed_first} to {text}")
        answer = super()._store(reading, text)
        told = early_words(self.run, reading)
        return replace(answer, headline=f"{answer.headline} {told}") if told else answer

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


def value_as_typed(load: str, text: str) -> tuple[float | None, float | None]:
    """The voltage [V] and the current [A] as they were typed, unjudged: of the ammeter a current, else a voltage.

    >>> value_as_typed("15 ohm", "61"), value_as_typed("", "61 mA")
    ((61.0, None), (None, 0.061))
    """
    number, unit = units.read_number(_volts_and_amperes(text)[0])
    si = "A" if load == AMMETER else "V"
    value = units.convert(number, unit or si, si)
    return (value, None) if si == "V" else (None, value)


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
