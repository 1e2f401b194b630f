"""What a cell is asked for over time: a steady current, a resistor, or a list of these in turn."""

from __future__ import annotations

import math
from dataclasses import dataclass

from aerode.errors import RangeError
from aerode.physics.checked_scalars import above_zero, not_negative

__all__ = ["ConstantCurrent", "Load", "LoadProfile", "LoadStep", "Resistor", "spans"]

# judgement
_MOST_SPANS = 20_000  # each restarts the integrator; beyond this a mean load is the better question


@dataclass(frozen=True, slots=True, kw_only=True)
class ConstantCurrent:
    """A steady current; 0 lets the cell rest.

    Parameters
    ----------
    current : float
        Drawn [A].

    Examples
    --------
    >>> ConstantCurrent(current=0.1).current
    0.1
    """

    current: float

    def __post_init__(self) -> None:
        not_negative(current=self.current)


@dataclass(frozen=True, slots=True, kw_only=True)
class Resistor:
    """A resistor across the cell.

    Parameters
    ----------
    resistance : float
        With its leads [ohm].

    Examples
    --------
    >>> Resistor(resistance=10.0).resistance
    10.0
    """

    resistance: float

    def __post_init__(self) -> None:
        above_zero(resistance=self.resistance)


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadStep:
    """A load for a while.

    Parameters
    ----------
    duration : float
        How long [s].
    load : ConstantCurrent or Resistor
        What is asked for.

    Examples
    --------
    >>> LoadStep(duration=3600.0, load=Resistor(resistance=10.0)).duration
    3600.0
    """

    duration: float
    load: ConstantCurrent | Resistor

    def __post_init__(self) -> None:
        above_zero(duration=self.duration)


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadProfile:
    """Loads in turn, over and over if wanted; after the last one the cell rests.

    Parameters
    ----------
    steps : tuple of LoadStep
        In order.
    repeated : bool
        Start again after the last.

    Raises
    ------
    RangeError
        No steps.

    Examples
    --------
    >>> night = LoadStep(duration=43200.0, load=ConstantCurrent(current=0.02))
    >>> day = LoadStep(duration=43200.0, load=ConstantCurrent(current=0.0))
    >>> len(LoadProfile(steps=(night, day), repeated=True).steps)
    2
    """

    steps: tuple[LoadStep, ...]
    repeated: bool = False

    def __post_init__(self) -> None:
        if not self.steps:
            raise RangeError("no steps", where="load profile", allowed="one or more")


Load = ConstantCurrent | Resistor | LoadProfile


def spans(load: Load, end: float) -> list[tuple[float, float, ConstantCurrent | Resistor]]:
    """The stretches of unchanging load up to an end.

    Parameters
    ----------
    load : ConstantCurrent, Resistor or LoadProfile
        What is asked for.
    end : float [s]
        Where to stop.

    Returns
    -------
    list of (start [s], end [s], load)

    Raises
    ------
    RangeError
        More than 20 000 stretches.

    Notes
    -----
    Stretches join without a gap; a profile that is over is followed by rest.

    Examples
    --------
    >>> pulse = LoadStep(duration=10.0, load=ConstantCurrent(current=1.0))
    >>> [(a, b) for a, b, _ in spans(LoadProfile(steps=(pulse,)), 25.0)]
    [(0.0, 10.0), (10.0, 25.0)]
    """
    if not isinstance(load, LoadProfile):
        return [(0.0, end, load)]
    whole = math.fsum(step.duration for step in load.steps)
    if load.repeated and end / whole * len(load.steps) > _MOST_SPANS:
        raise RangeError(
            f"{end / whole * len(load.steps):.0f} changes of load",
            where="load profile",
            allowed=f"at most {_MOST_SPANS}",
            next_step="replace fast pulses by their mean current",
        )
    found: list[tuple[float, float, ConstantCurrent | Resistor]] = []
    at, turn, index = 0.0, 0, 0
    while at < end:
        if index == len(load.steps):
            if not load.repeated:
                found.append((at, end, ConstantCurrent(current=0.0)))
                break
            turn, index = turn + 1, 0
        done = math.fsum(step.duration for step in load.steps[: index + 1])
        until = min(turn * whole + done, end)
        if until > at:
            found.append((at, until, load.steps[index].load))
        at, index = until, index + 1
    return found
