"""Acts at a load that is read several times: take it as it stands, mend one timed reading, read a load again."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from aerode.errors import ConflictError, InputError, UnitError
from aerode.measure.run_readings import doubt_of_taken_back
from aerode.measure.settling import settled_voltage
from aerode.records.runs import Settling
from aerode.usecases.take_readings import refuse_other_load, take_reading

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.records.logs import LogAnswer
    from aerode.records.runs import Reading
    from aerode.usecases.take_readings import RunAtBench

__all__ = ["correct_timed", "read_again", "settling_of", "take_as_it_stands"]


def settling_of(trace: Sequence[tuple[float, float]]) -> Settling:
    """What timed readings tell of whether a load has settled; watched too briefly is not settled."""
    found = settled_voltage(tuple(trace))
    if found.voltage is None:
        return Settling.NOT_SETTLED
    return Settling.EXTRAPOLATED if found.extrapolated else Settling.SETTLED


def take_as_it_stands(
    at: RunAtBench, text: str = "", *, load: str | None = None, waited: float | None = None
) -> LogAnswer:
    """Take the load that is watched: with one more reading, or with the last timed one where none is typed.

    Parameters
    ----------
    at : RunAtBench
    text : str
        As typed; "" for the last timed reading.
    load : str, optional
        The load that the person was asked for.
    waited : float, optional [s]

    Raises
    ------
    UnitError
        Nothing was typed, and nothing was noted before.
    RangeError, ConflictError
        As of `take_reading`.
    """
    if text:
        return take_reading(at, text, load=load, waited=waited)
    refuse_other_load(at, load, text)
    if at.watched is None:
        raise UnitError(
            "nothing is noted at this load yet", where=at.run.name, next_step="type what the meter shows"
        )  # fmt: skip
    trace = at.trace()
    at.ask_about_noted()
    reading = replace(
        at.watched,
        waited=trace[-1][0],
        settling=settling_of(trace),
        replaces=at.back_at(at.watched.load),
    )
    return at.keep(reading, reading.text)


def correct_timed(at: RunAtBench, index: int, place: int, text: str, *, why: str = "") -> LogAnswer:
    """Put right one timed reading of a load; the others stand, and where they are going is looked at again.

    A load that was taken keeps the reading it had beside the one that replaces it. Of a load that is
    still on, the history keeps what stood there.

    Parameters
    ----------
    at : RunAtBench
    index : int
        Place of the reading in the run, counted from 0; the watched one stands last.
    place : int
        Which of its timed readings, counted from 0.
    text : str
        What it should have been.
    why : str
        A doubt to keep it with; "" for none.

    Raises
    ------
    InputError
        No such reading, or it was replaced already.
    UnitError, RangeError
        It cannot be read, or it cannot be right.
    """
    old = _timed(at, index)
    if not 0 <= place < len(old.trace):
        raise InputError(
            f"there is no timed reading {place + 1} at {old.load}",
            where=at.run.name,
            allowed=f"1 to {len(old.trace)}",
        )
    volts = at.volts_for_correction(old.load, text)
    trace = tuple(
        (moment, volts if k == place else value) for k, (moment, value) in enumerate(old.trace)
    )
    last = place == len(trace) - 1
    new = replace(old, trace=trace, voltage=trace[-1][1], text=text if last else old.text)
    said = f"{text} at {old.trace[place][0]:.0f} s of {old.load}"
    if old is at.watched:
        return at.watch_instead(new, f"corrected to {said}")
    new = replace(new, settling=settling_of(trace), replaces=index, doubt=why)
    return at.append(new, f"reading {index + 1} corrected: {said}")


def _timed(at: RunAtBench, index: int) -> Reading:
    if at.watched is not None and index == len(at.run.readings):
        return at.watched
    if not 0 <= index < len(at.run.readings):
        raise InputError(f"there is no reading {index + 1} in this run", where=at.run.name)
    if any(one.replaces == index for one in at.run.readings):
        raise InputError(
            f"reading {index + 1} was replaced already",
            where=at.run.name,
            next_step="correct the one that replaced it",
        )
    return at.run.readings[index]


def read_again(at: RunAtBench, index: int) -> LogAnswer:
    """Open a load again: what was read there stays, not used; a run that was closed is open again.

    Raises
    ------
    InputError
        No such reading.
    ConflictError
        Another load is on, or the reading was replaced or taken back meanwhile.
    """
    if not 0 <= index < len(at.run.readings):
        raise InputError(f"there is no reading {index + 1} in this run", where=at.run.name)
    if at.watched is not None:
        raise ConflictError(
            f"{at.watched.load} is on now", where=at.run.name,
            next_step="take it first, or leave it out; nothing was changed",
        )  # fmt: skip
    old = at.run.readings[index]
    gone = any(one.replaces == index for one in at.run.readings)
    if gone or at.back_at(old.load) == index:
        raise ConflictError(
            f"{old.load} was opened or read again meanwhile", where=at.run.name,
            next_step="look at the readings below; nothing was changed",
        )  # fmt: skip
    at.run = replace(at.run, finished=False)
    return at.mark(index, doubt_of_taken_back(old.doubt), f"{old.load} is to be read again")
