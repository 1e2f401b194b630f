"""What is said of a reading that was taken before anybody saw it stand still."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode import units
from aerode.measure.early_readings import WORTH_SAYING, may_still_move, movement_of
from aerode.measure.run_plans import OPEN
from aerode.records.runs import Settling

if TYPE_CHECKING:
    from aerode.records.runs import Reading, Run

__all__ = ["by_plan", "early_words", "if_taken_now", "is_unused", "still_to_come"]


def still_to_come(run: Run, reading: Reading) -> str:
    """What a reading may still move by, in words; "" where that is too little to speak of.

    Parameters
    ----------
    run : Run
        Its watched loads tell how its voltages come to rest.
    reading : Reading
        One of the run.

    Returns
    -------
    str
        As in "8.1 mV".
    """
    if reading.settling in {Settling.SETTLED, Settling.EXTRAPOLATED}:
        return ""  # most of them: nothing has to be looked at
    volts = may_still_move(reading, movement_of(run))
    if volts is None or volts < WORTH_SAYING:
        return ""
    return f"{units.plain(1e3 * volts, 2)} mV"


def early_words(run: Run, reading: Reading) -> str:
    """What is said when a reading was taken early: a sentence, or "" where nothing is to be said.

    Parameters
    ----------
    run : Run
    reading : Reading
        One of the run.
    """
    volts = still_to_come(run, reading)
    if not volts or reading.doubt:
        return ""
    waited = reading.trace[-1][0] if reading.trace else reading.waited or 0.0
    return (
        f"{_shown(reading)} was read after {waited:.0f} s and may still move by about {volts}; "
        "the curve counts that."
    )


def if_taken_now(run: Run, watched: Reading) -> str:
    """What it costs to take a watched load with what is noted so far: a sentence for beside the button.

    Parameters
    ----------
    run : Run
        Its other loads tell how its voltages come to rest.
    watched : Reading
        The load that is on, with its timed readings.

    Returns
    -------
    str
        The allowance that the curve counts, or that no curve uses it; "" where nothing is to be said.
    """
    if watched.load == OPEN:
        return ""  # no curve uses it anyway
    if is_unused(run, watched):
        return "Taken now, no curve uses it: it moves, and nobody can tell to where. Waiting helps."
    volts = still_to_come(run, watched)
    return f"Taken now, it may still move by about {volts}; the curve counts that." if volts else ""


def _shown(reading: Reading) -> str:
    return f"{units.plain(reading.voltage or 0.0, 4)} V at {reading.load or 'this load'}"


def is_unused(run: Run, reading: Reading) -> bool:
    """Whether no curve uses a reading because it was seen to move, and not to where."""
    return not reading.doubt and may_still_move(reading, movement_of(run)) is None


def by_plan(reason: str) -> str:
    """Why a reading of a timed plan cannot be taken yet, without another moment than the plan's.

    Parameters
    ----------
    reason : str
        As `aerode.measure.settling` says it.

    Examples
    --------
    >>> by_plan("still moving by 95 mV a minute: read it again in half a minute")
    'still moving by 95 mV a minute'
    """
    why, _, then = reason.partition(": ")
    if then.startswith("wait "):
        return f"{why}: it takes {then.removeprefix('wait ')}"
    return why if then.startswith(("read it again", "watch it")) else reason
