"""Which readings of a run count: those that no later one replaced, and that are no longer watched."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from aerode.records.runs import Reading, Run

__all__ = [
    "TAKEN_BACK",
    "check_places",
    "doubt_before",
    "doubt_of_taken_back",
    "remaining_loads",
    "standing_readings",
    "taken_readings",
    "waits_to_be_closed",
    "was_taken_back",
]

TAKEN_BACK = "taken back"
"""The doubt of a reading whose load is to be read again; it stays in the run and can be put back."""


def was_taken_back(reading: Reading) -> bool:
    """Whether this reading waits for its load to be read again."""
    return reading.doubt == TAKEN_BACK or reading.doubt.startswith(f"{TAKEN_BACK}: ")


def doubt_of_taken_back(doubt: str) -> str:
    """The doubt of a reading that is taken back; the one that it had before stands in it.

    >>> doubt_of_taken_back(""), doubt_before(doubt_of_taken_back("too much"))
    ('taken back', 'too much')
    """
    return f"{TAKEN_BACK}: {doubt}" if doubt else TAKEN_BACK


def doubt_before(doubt: str) -> str:
    """The doubt that a reading had before it was taken back."""
    return doubt.removeprefix(TAKEN_BACK).removeprefix(": ")


def standing_readings(run: Run) -> list[Reading]:
    """Readings that no later one replaces.

    >>> from aerode.records.runs import Reading, Run
    >>> first, again = Reading(load="R1", voltage=0.7), Reading(load="R1", voltage=0.6, replaces=0)
    >>> [r.voltage for r in standing_readings(Run(name="T5 loads", readings=(first, again)))]
    [0.6]
    """
    replaced = {r.replaces for r in run.readings if r.replaces is not None}
    return [r for k, r in enumerate(run.readings) if k not in replaced]


def taken_readings(run: Run) -> list[Reading]:
    """Those of them that were taken: a load that is still watched is left out."""
    return [
        r
        for r in standing_readings(run)
        if (r.waited is not None or not r.trace) and not was_taken_back(r)
    ]


def remaining_loads(run: Run) -> list[str]:
    """Planned loads that are still to be read, in order: not taken, still watched, or taken back.

    >>> from aerode.records.runs import Reading, Run
    >>> back = Reading(load="open", voltage=0.7, doubt=TAKEN_BACK)
    >>> watched = Reading(load="R1", voltage=0.6, trace=((20.0, 0.6),))
    >>> remaining_loads(Run(name="T5 loads", planned_loads=("open", "R1"), readings=(back, watched)))
    ['open', 'R1']
    """
    left = list(run.planned_loads)
    for reading in taken_readings(run):
        if reading.load in left:
            left.remove(reading.load)
    return left


def waits_to_be_closed(run: Run) -> bool:
    """Whether every planned load is read and nobody closed the run yet.

    >>> from aerode.records.runs import Reading, Run
    >>> run = Run(name="T5 loads", planned_loads=("R1",), readings=(Reading(load="R1", voltage=0.6),))
    >>> waits_to_be_closed(run)
    True
    """
    return bool(run.planned_loads) and not run.finished and not remaining_loads(run)


def check_places(run: Run) -> tuple[int, ...]:
    """The places of the readings that take a load a second time, as the plan ends: a check for drift.

    A reading that corrects another stands where that one stood, however late it was typed.

    >>> from aerode.records.runs import Reading, Run
    >>> typed = (Reading(load="R1"), Reading(load="R2"), Reading(load="R1"), Reading(load="R1", replaces=0))
    >>> check_places(Run(name="T5 loads", planned_loads=("R1", "R2", "R1"), readings=typed))
    (2,)
    """
    if not run.planned_loads or run.planned_loads.count(run.planned_loads[-1]) < 2:
        return ()
    replaced = {r.replaces for r in run.readings if r.replaces is not None}
    stands = [
        (_slot(run, place), place)
        for place, reading in enumerate(run.readings)
        if reading.load == run.planned_loads[-1]
        and place not in replaced
        and not was_taken_back(reading)
    ]
    return tuple(place for _, place in sorted(stands)[1:])


def _slot(run: Run, place: int) -> int:
    """The place of the first reading in a chain of corrections."""
    earlier = run.readings[place].replaces
    return place if earlier is None or not 0 <= earlier < place else _slot(run, earlier)
