"""Which loads a run takes, in which order, and how long it lasts."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from aerode.errors import InputError
from aerode.records.instruments import Sort
from aerode.records.runs import RunPlan

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping, Sequence

    from aerode.records.instruments import Instrument

__all__ = [
    "AGAIN",
    "ONCE_MORE",
    "OPEN",
    "SHORT_LOADS",
    "SHORT_MOMENTS",
    "WAITING_TIME",
    "closing_check",
    "full_run_minutes",
    "loads_without_air",
    "minutes",
    "moments",
    "next_moment",
    "order_of_loads",
    "resistances",
]

OPEN = "open"
"""The word for no load."""
AGAIN = "the same load once more: a check of what the run itself has changed"
"""Why the full plan ends with a load that was read before; said wherever the plan is shown."""
SHORT_LOADS = 3
SHORT_MOMENTS = (20.0, 40.0, 60.0, 90.0, 120.0, 180.0)
"""When the short plan reads at each load [s]: enough to see where a reading is going. Common practice, no source."""
WAITING_TIME = 120.0
"""What a settled reading usually takes at one load [s]: read sooner, somebody has to have watched it. Common practice, no source."""
ONCE_MORE = 60.0
"""What still moves after its last planned moment is read again so often [s]: judgement."""
_REST = 300.0
"""What an open circuit usually takes to come to rest [s]. Common practice, no source."""


def order_of_loads(plan: RunPlan, resistances: Mapping[str, float]) -> tuple[str, ...]:
    """The loads of a run: open circuit first, then from the largest resistor to the smallest.

    Parameters
    ----------
    plan : RunPlan
        FULL takes every resistor and ends by repeating the middle one, which shows what the run
        itself has changed; SHORT takes the largest, the smallest, and the one nearest to the middle
        in the logarithm; RETRO takes none.
    resistances : mapping of str to float
        Name of each resistor of the bench and its value [ohm].

    Returns
    -------
    tuple of str

    Raises
    ------
    InputError
        No resistor on the bench.

    Examples
    --------
    >>> order_of_loads(RunPlan.SHORT, {"a": 100.0, "b": 10.0, "c": 33.0, "d": 4.7})
    ('open', 'a', 'c', 'd')
    """
    if plan is RunPlan.RETRO:
        return ()
    if not resistances:
        raise InputError(
            "this bench has no resistor to load a cell with",
            where="instruments",
            allowed="at least one instrument of the sort resistor, with its nominal resistance",
            next_step="enter your resistors in instruments.toml and import the folder again",
        )
    falling = sorted(resistances, key=lambda name: -resistances[name])
    if plan is RunPlan.SHORT:
        return (OPEN, *_spread(falling, resistances))
    middle = falling[len(falling) // 2 - (len(falling) > 1 and len(falling) % 2 == 0)]
    closing = (middle,) if len(falling) > 2 else ()
    return (OPEN, *falling, *closing)


def loads_without_air(
    resistances: Mapping[str, float], read: Collection[str] = ()
) -> tuple[str, ...]:
    """The loads of a run with the air face taped over: three, from the largest resistor to the smallest.

    Parameters
    ----------
    resistances : mapping of str to float
        Name of each resistor of the bench and its value [ohm].
    read : collection of str
        The loads that were read with air: only there can the two be compared.

    Returns
    -------
    tuple of str

    Raises
    ------
    InputError
        No resistor on the bench.

    Examples
    --------
    >>> loads_without_air({"a": 100.0, "b": 10.0, "c": 33.0, "d": 4.7}, ("open", "a", "b"))
    ('a', 'b')
    """
    known = {name: ohms for name, ohms in resistances.items() if name in read} or resistances
    return order_of_loads(RunPlan.SHORT, known)[1:]


def closing_check(loads: Sequence[str]) -> bool:
    """Whether the last of these loads was read before: then it is a check for drift.

    >>> closing_check(("open", "a", "b", "c", "b")), closing_check(("open", "a", "b"))
    (True, False)
    """
    return len(loads) > 1 and loads[-1] in loads[:-1]


def _spread(falling: Sequence[str], resistances: Mapping[str, float]) -> tuple[str, ...]:
    if len(falling) <= SHORT_LOADS:
        return tuple(falling)
    middle = math.sqrt(resistances[falling[0]] * resistances[falling[-1]])
    between = min(falling[1:-1], key=lambda name: abs(math.log(resistances[name] / middle)))
    return (falling[0], between, falling[-1])


def moments(plan: RunPlan) -> tuple[float, ...]:
    """When to read at each load [s]; empty where one settled reading is wanted."""
    return SHORT_MOMENTS if plan is RunPlan.SHORT else ()


def next_moment(planned: Sequence[float], noted: Sequence[float], now: float) -> float:
    """When a load of timed readings is to be read next [s]: always later than now.

    Parameters
    ----------
    planned : sequence of float [s]
        As of `moments`, since the load was put on.
    noted : sequence of float [s]
        When it was read.
    now : float [s]

    Returns
    -------
    float [s]
        The next of the plan that is to come; after its last one, once a minute.

    Examples
    --------
    >>> [next_moment(SHORT_MOMENTS, noted, now) for noted, now in (((), 3.0), ((18.0,), 18.5), ((20.0,), 155.0), ((), 250.0))]
    [20.0, 40.0, 180.0, 300.0]
    """
    past = max(now, noted[-1] if noted else 0.0)
    coming = [one for one in planned[len(noted) :] if one > past]
    if coming:
        return coming[0]
    beyond = math.floor((past - planned[-1]) / ONCE_MORE) + 1
    return planned[-1] + ONCE_MORE * max(1, beyond)


def minutes(plan: RunPlan, loads: Sequence[str]) -> float:
    """About how long a run of these loads takes [min].

    >>> minutes(RunPlan.SHORT, ("open", "a", "b", "c"))
    12.0
    """
    at_load = SHORT_MOMENTS[-1] if plan is RunPlan.SHORT else WAITING_TIME
    rest = SHORT_MOMENTS[-1] if plan is RunPlan.SHORT else _REST
    return sum(rest if load == OPEN else at_load for load in loads) / 60.0


def full_run_minutes(at_hand: Mapping[str, float]) -> float | None:
    """About how long a full run of these resistors takes [min]; None without any.

    Whoever says what one more run takes says this: the start of a run and the act that a comparison
    names.

    Parameters
    ----------
    at_hand : mapping of str to float
        Name of each resistor and its value [ohm].

    Examples
    --------
    >>> full_run_minutes({"a": 100.0, "b": 47.0, "c": 22.0, "d": 10.0, "e": 4.7})
    17.0
    """
    if not at_hand:
        return None
    return minutes(RunPlan.FULL, order_of_loads(RunPlan.FULL, at_hand))


def resistances(parts: Iterable[Instrument]) -> dict[str, float]:
    """Each resistor among some parts with its resistance [ohm]: as measured, else as printed on it.

    Examples
    --------
    >>> from aerode.records.instruments import Instrument
    >>> resistances([Instrument(name="a", sort=Sort.RESISTOR, nominal_resistance=10.0)])
    {'a': 10.0}
    """
    found: dict[str, float] = {}
    for part in parts:
        measured = part.measured_resistance.value if part.measured_resistance else None
        value = measured or part.nominal_resistance
        if part.sort is Sort.RESISTOR and value:
            found[part.name] = value
    return found
