"""What the next reading will be, about: so that a slip is seen while the cell is still on the bench."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

__all__ = ["DRIFT", "Expected", "expect", "fits_better", "outside", "unlikely"]

_RESTING = 0.70
"""The source of a cell whose rest nobody read [V]: salt water, a judgement."""
_INSIDE = 5.0
"""A hand-sized cell has about this inside [ohm]. Common practice, no source: used for a guess marked so."""
DRIFT = 0.05
"""A load that comes back reads as it did, this near, if the run has changed nothing [V]: judgement."""
_GUESSED = 0.20
"""Half width of the band of a guess [V]: judgement."""
_BETWEEN = 0.10
"""Half width of the band where another resistor of an earlier run foretells this one [V]: judgement."""
_FROM_TWO = 0.06
"""Half width of the band of what two loads foretell [V]: judgement."""
_FAR_BELOW = 0.35
"""Share of the lowest expected voltage below which a reading is asked about: judgement."""
_FAR_ABOVE = 3.0
"""Half widths of the band above which it is asked about: judgement."""
_TYPED_WIDTHS, _TYPED_LEAST = 2.0, 0.25
"""A typed number so many half widths off, and so many volts at least, foretells nothing of what follows: judgement."""

_BETTER = 3.0
"""Another resistor is named where it foretells a reading so many times nearer than the one it was noted at: judgement."""
_NOTHING = 1e-9
"""[V] numerical"""
_MOST_NAMED = 2
"""So many of them are named: neighbours foretell nearly the same."""


@dataclass(frozen=True, slots=True)
class Expected:
    """An expectation with a band, and what it rests on.

    Parameters
    ----------
    voltage, low, high : float [V]
    current : float [A]
    power : float [W]
        In the load.
    basis : str
    """

    voltage: float
    low: float
    high: float
    current: float
    power: float
    basis: str


def _line(points: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """Source voltage [V] and inner resistance [ohm] of the line through the last two loads."""
    (r1, v1), (r2, v2) = points[-2:]
    i1, i2 = v1 / r1, v2 / r2
    inside = (v1 - v2) / (i2 - i1)
    return v1 + i1 * inside, inside


def outside(voltage: float, seen: Expected) -> bool:
    """Whether a reading lies outside of the range as it is stated: what a person types is asked about there.

    Parameters
    ----------
    voltage : float [V]
    seen : Expected

    Examples
    --------
    >>> seen = expect(47.0, [(100.0, 0.95)])
    >>> f"{seen.low:.2f} to {seen.high:.2f}"
    '0.43 to 0.83'
    >>> [outside(voltage, seen) for voltage in (0.429, 0.43, 0.83, 0.831)]
    [True, False, False, True]
    """
    return not seen.low - _NOTHING <= voltage <= seen.high + _NOTHING


def unlikely(voltage: float, seen: Expected, *, typed: bool = False) -> bool:
    """Whether a reading at a load is so far from what is expected that it is hardly that one's.

    Parameters
    ----------
    voltage : float [V]
    seen : Expected
    typed : bool
        A person typed it: a slip of a digit is likelier than off a logger, so it counts sooner.

    Examples
    --------
    >>> seen = expect(100.0, [], resting=1.25)
    >>> [unlikely(voltage, seen) for voltage in (0.108, 0.75, 1.08, 1.9)]
    [True, False, False, True]
    >>> [unlikely(voltage, seen, typed=True) for voltage in (0.75, 1.08)]
    [True, False]
    """
    wide = max(seen.high - seen.voltage, seen.voltage - seen.low)
    above = seen.voltage + _FAR_ABOVE * wide
    below = _FAR_BELOW * seen.low
    if typed:
        far = max(_TYPED_WIDTHS * wide, _TYPED_LEAST)
        above, below = min(above, seen.voltage + far), max(below, seen.voltage - far)
    return voltage < below or voltage > above


def expect(
    load: float,
    taken: Sequence[tuple[float, float]],
    earlier: Sequence[tuple[float, float]] = (),
    resting: float | None = None,
    *,
    first: float | None = None,
    above: tuple[float, float] | None = None,
    most: float = math.inf,
) -> Expected:
    """What the voltmeter should show at a load.

    Parameters
    ----------
    load : float [ohm]
    taken : sequence of (ohm, V)
        Readings of this run so far, without the open circuit.
    earlier : sequence of (ohm, V)
        Readings of an earlier run of the same electrode.
    resting : float, optional [V]
        The open circuit reading of this run.
    first : float, optional [V]
        What this very load read earlier in this run.
    above : (ohm, V), optional
        What the next larger resistor reads, or is expected to; the last one taken where not given.
    most : float [V]
        What no reading at a load can be above: that without load, with its uncertainty.

    Returns
    -------
    Expected
        A load that comes back reads as it did. Else a cell is taken as a voltage behind a resistance,
        through the last two loads: good to some hundredths of a volt one step on, and marked a guess
        where fewer were read. A smaller resistor is never expected to read more than a larger one did.
        A reading that was itself far off, and kept, foretells nothing: it only widens the band.

    Examples
    --------
    >>> expect(10.0, [(100.0, 0.60), (20.0, 0.50)]).basis
    'from the last two readings'
    >>> round(expect(10.0, [(100.0, 0.60), (20.0, 0.50)]).voltage, 3)
    0.414
    >>> expect(20.0, [(20.0, 0.50), (5.0, 0.30)], first=0.50).voltage
    0.5
    >>> expect(47.0, [], earlier=[(47.0, 1.18)], above=(100.0, 1.13)).voltage < 1.13
    True
    >>> odd = expect(3.3, [(10.0, 0.70), (6.8, 0.60), (4.7, 0.17)])
    >>> round(odd.voltage, 2), odd.low < 0.17
    (0.41, True)
    """
    fair = _fair(taken, earlier, resting, most)
    seen = _foretold(load, fair, earlier, resting, first=first, above=above, most=most)
    if first is not None or len(fair) == len(taken):
        return seen
    every = _foretold(load, taken, earlier, resting, above=above, most=most)
    return replace(seen, low=min(seen.low, every.low), high=max(seen.high, every.high))


def _foretold(
    load: float,
    taken: Sequence[tuple[float, float]],
    earlier: Sequence[tuple[float, float]],
    resting: float | None,
    *,
    first: float | None = None,
    above: tuple[float, float] | None = None,
    most: float = math.inf,
) -> Expected:
    """What these readings foretell of a load, each believed."""
    voltage, wide, basis = _voltage(load, taken, earlier, resting, first)
    larger = above or max((one for one in taken if one[0] > load), default=None, key=lambda one: -one[0])  # fmt: skip
    if first is None and larger is not None and voltage >= larger[1]:
        voltage = _below(load, larger, resting)
    voltage = min(voltage, most)
    low, high = max(0.0, voltage - wide), min(voltage + wide, most)
    if first is None:  # the range is what is stated of it: whole hundredths
        low, high = min(voltage, round(low, 2)), max(voltage, round(high, 2))
    return Expected(
        voltage,
        low,
        high,
        voltage / load,
        voltage * voltage / load,
        basis,
    )


def _fair(
    taken: Sequence[tuple[float, float]],
    earlier: Sequence[tuple[float, float]],
    resting: float | None,
    most: float,
) -> list[tuple[float, float]]:
    """The readings without those that were so far off that they were asked about: they foretell nothing."""
    fair: list[tuple[float, float]] = []
    for ohms, volts in taken:
        first = next((v for r, v in fair if r == ohms), None)
        seen = _foretold(ohms, fair, earlier, resting, first=first, most=most)
        if not unlikely(volts, seen, typed=True):
            fair.append((ohms, volts))
    return fair


def fits_better(voltage: float, named: Expected, others: Mapping[str, Expected]) -> tuple[str, ...]:
    """The resistors that a reading fits far better than the one it was noted at, the nearest first.

    Parameters
    ----------
    voltage : float [V]
    named : Expected
        At the resistor that it was noted at.
    others : mapping of str to Expected
        What each other resistor of the bench would give.

    Returns
    -------
    tuple of str
        Two at most; empty where the reading lies far from what each of them would give.

    Examples
    --------
    >>> run = [(100.0, 1.15), (47.0, 1.04)]
    >>> others = {f"{ohms:g} ohm": expect(ohms, run, resting=1.25) for ohms in (10.0, 6.8, 4.7)}
    >>> fits_better(0.53, expect(22.0, run, resting=1.25), others)
    ('6.8 ohm', '10 ohm')
    >>> fits_better(0.95, expect(22.0, run, resting=1.25), others)
    ()
    """
    off = abs(voltage - named.voltage)
    near = [
        (abs(voltage - seen.voltage), name)
        for name, seen in others.items()
        if abs(voltage - seen.voltage) <= max(_BETWEEN, seen.high - seen.voltage)
        and _BETTER * abs(voltage - seen.voltage) <= off
    ]
    return tuple(name for _, name in sorted(near)[:_MOST_NAMED])


def _below(load: float, larger: tuple[float, float], resting: float | None) -> float:
    """What a resistor reads [V] on the line through the reading without load and that of a larger one."""
    ohms, volts = larger
    source = resting if resting is not None and resting > volts else volts * (1.0 + _INSIDE / ohms)
    inside = ohms * (source - volts) / volts
    return source * load / (load + inside)


def _from_earlier(load: float, earlier: Sequence[tuple[float, float]]) -> float | None:
    """What an earlier run foretells of a resistor that it did not read [V]: on the line through its two neighbours."""
    near = sorted(dict(sorted(earlier)).items(), key=lambda one: abs(math.log(one[0] / load)))
    larger = [one for one in near if one[0] > load]
    smaller = [one for one in near if one[0] < load]
    pair = [larger[0], smaller[0]] if larger and smaller else near[:2]
    pair.sort(reverse=True)
    if len(pair) < 2 or pair[0][1] <= pair[1][1]:
        return None
    source, inside = _line(pair)
    return source * load / (load + max(inside, 0.0)) if source > 0.0 else None


def _voltage(
    load: float,
    taken: Sequence[tuple[float, float]],
    earlier: Sequence[tuple[float, float]],
    resting: float | None,
    first: float | None,
) -> tuple[float, float, str]:
    """Voltage, half width of its band [V], and what it rests on."""
    if first is not None:
        return first, DRIFT, "as the first time in this run, less what it has drifted"
    # judgement: the same resistor
    same = next((v for r, v in earlier if abs(r / load - 1.0) < 0.02), None)
    if same is not None and len(taken) < 2:
        return same, 0.08, "from this electrode's earlier run"  # judgement
    between = _from_earlier(load, earlier) if len(taken) < 2 else None
    if between is not None:
        return between, _BETWEEN, "from this electrode's earlier run"
    if len(taken) >= 2 and taken[-1][0] != taken[-2][0] and taken[-2][1] != taken[-1][1]:
        source, inside = _line(taken)
        if source > 0.0:
            foretold = source * load / (load + max(inside, 0.0))
            return foretold, _FROM_TWO, "from the last two readings"
    source = resting if resting is not None else _RESTING
    guess = source * load / (load + _INSIDE)
    if taken and taken[-1][0] >= load:
        return min(guess, taken[-1][1]), _GUESSED, "a guess from the one load that was read"
    return guess, _GUESSED, "a guess: nothing was read at a load yet"
