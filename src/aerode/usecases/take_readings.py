"""A run at the bench, one act at a time: a reading taken, watched, kept in spite of a doubt, corrected; the run closed."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from aerode import units
from aerode.errors import ConflictError, InputError, UnitError
from aerode.measure.run_readings import TAKEN_BACK, doubt_before, was_taken_back
from aerode.measure.settling import read_at_once, settled_voltage
from aerode.records.logs import LogAnswer
from aerode.records.runs import Observation, Reading, Run, RunSort, Settling
from aerode.usecases.log_foretold import was_read
from aerode.usecases.log_long import close_log, is_log
from aerode.usecases.log_questions import meant_instead
from aerode.usecases.log_run import AMMETER, load_said
from aerode.usecases.run_at_bench import RunAtBench, run_at_bench, value_as_typed

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = [
    "RunAtBench",
    "correct",
    "doubt",
    "finish",
    "keep_anyway",
    "look_at_face",
    "look_at_load",
    "put_back",
    "refuse_other_load",
    "reopen",
    "run_at_bench",
    "same_number_as",
    "skip_load",
    "take_at_other",
    "take_last_back",
    "take_reading",
    "use_again",
    "watch_many",
]


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
    refuse_other_load(at, load, text)
    at.waited = waited
    trace = at.trace()
    if trace:
        last = at.read_voltage(text, at.watched.load if at.watched else "")
        trace = (*trace, (_later(trace, waited), last))
    return at.take(text, trace=trace)


def take_at_other(
    at: RunAtBench, text: str, other: str, *, load: str | None = None, waited: float | None = None
) -> LogAnswer:
    """Take a reading at the resistor that was really on; the load that was asked for stays to be read.

    Parameters
    ----------
    at, text, load, waited
        As of `take_reading`.
    other : str
        The resistor that was on.

    Raises
    ------
    UnitError, RangeError
        As of `take_reading`.
    ConflictError
        So too; and where the bench has no such resistor, this run has read it, or the load is watched.
    """
    refuse_other_load(at, load, text)
    if other not in at.resistors or at.watched is not None or was_read(at, other) is not None:
        raise ConflictError(
            f"this reading cannot be put down at {other or 'no resistor'}",
            where=at.run.name,
            allowed="a resistor of the bench that this run has not read yet",
            next_step="correct the reading it belongs to below; nothing was saved",
        )
    at.waited = waited
    return at.take_at(other, text)


def look_at_load(at: RunAtBench, text: str, *, load: str | None = None, waited: float) -> LogAnswer:
    """Note a reading that still moves, and leave the load on.

    It is on disk at once. In a plan of timed readings the load closes by itself with the last one, or
    at the last moment where some were missed, or with the first one after it that tells where the voltage is going: what still moves is watched on.
    Several looks within half a minute, all alike, count as one that nobody watched: the load closes,
    and its reading carries what it may still move by.
    Parameters and refusals as of `take_reading`.
    """
    refuse_other_load(at, load, text)
    step = at.next_step()
    if step is None or step.load == AMMETER:
        raise InputError("there is no load to watch", where=at.run.name, next_step="finish the run")
    voltage = at.read_voltage(text, step.load)
    trace = (*at.trace(), (_later(at.trace(), waited), voltage))
    every = len(trace) >= len(step.moments)
    if not step.moments or not (every or trace[-1][0] >= step.moments[-1]):
        return _watch(at, trace, text)
    found = settled_voltage(trace)
    if found.voltage is not None or (every and read_at_once(trace)):
        return at.take(text, trace=trace)
    answer = _watch(at, trace, text)
    return replace(answer, headline=f"Not settled: {found.reason}.")


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


def refuse_other_load(at: RunAtBench, load: str | None, text: str) -> None:
    """Refuse what was typed for a load that somebody else has read meanwhile.

    Raises
    ------
    ConflictError
        The load that is asked for now is another one, or none.
    """
    step = at.next_step()
    if load is None or (step is not None and step.load == load):
        return
    now = f"the next one is {load_said(step.load)}" if step else "every load is taken"
    lost = f"“{text}” was not taken" if text else "nothing was taken"
    raise ConflictError(
        f"{load_said(load)} was read meanwhile; {lost}: {now}",
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
    refuse_other_load(at, load, text)
    step = at.next_step()
    if step is None:
        raise InputError(
            "every planned load is taken", where=at.run.name, next_step="finish the run"
        )
    volts, amperes = value_as_typed(step.load, text)
    reading = Reading(
        load=step.load,
        voltage=volts,
        current=amperes,
        current_range=at.run.voltage_range if step.load == AMMETER else "",
        at=at.elapsed(),
        waited=at.trace()[-1][0] if at.watched else None,
        trace=at.trace(),
        text=text,
        replaces=at.back_at(step.load),
        doubt=why or "kept as typed",
    )
    return at.keep(reading, text)


def same_number_as(
    text: str,
    *,
    current: bool = False,
    expected: float | None = None,
    band: tuple[float, float] | None = None,
) -> tuple[str, ...]:
    """The readings that were meant, where the one typed was not taken: the nearest to what is expected first.

    >>> same_number_as("7420", expected=0.7), same_number_as("0,108 V", expected=1.19)
    (('0.742 V',), ('1.08 V',))
    >>> same_number_as("69,4", current=True)
    ('69,4 mA', '69,4 uA')
    """
    if not current:
        return meant_instead(text, expected, band)
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


def correct(at: RunAtBench, index: int, text: str, *, why: str = "") -> LogAnswer:
    """Put another reading in the place of one that was typed wrong; the first stays beside it.

    Parameters
    ----------
    at : RunAtBench
    index : int
        Place of the reading in the run, counted from 0.
    text : str
        What it should have been.
    why : str
        A doubt to keep it with, where it cannot be right and was so; "" for none.

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
    return at.put_right(index, old, text, why)


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
