"""What the next reading will be, about: so that a slip is seen while the cell is still on the bench."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["Expected", "expect", "unlikely"]

_RESTING = 0.70
"""The source of a cell whose rest nobody read [V]: salt water, a judgement."""
_INSIDE = 5.0
"""A hand-sized cell has about this inside [ohm]. Common practice, no source: used for a guess marked so."""
_DRIFT = 0.05
"""A load that comes back reads as it did, this near, if the run has changed nothing [V]: judgement."""
_GUESSED = 0.20
"""Half width of the band of a guess [V]: judgement."""
_FROM_TWO = 0.06
"""Half width of the band of what two loads foretell [V]: judgement."""
_FAR_BELOW = 0.35
"""Share of the lowest expected voltage below which a reading is asked about: judgement."""
_FAR_ABOVE = 3.0
"""Half widths of the band above which it is asked about: judgement."""


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


def unlikely(voltage: float, seen: Expected) -> bool:
    """Whether a reading at a load is so far from what is expected that it is asked about.

    Examples
    --------
    >>> seen = expect(100.0, [], resting=1.25)
    >>> [unlikely(voltage, seen) for voltage in (0.108, 1.08, 1.9)]
    [True, False, True]
    """
    above = seen.voltage + _FAR_ABOVE * (seen.high - seen.voltage)
    return voltage < _FAR_BELOW * seen.low or voltage > above


def expect(
    load: float,
    taken: Sequence[tuple[float, float]],
    earlier: Sequence[tuple[float, float]] = (),
    resting: float | None = None,
    *,
    first: float | None = None,
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

    Returns
    -------
    Expected
        A load that comes back reads as it did. Else a cell is taken as a voltage behind a resistance,
        through the last two loads: good to some hundredths of a volt one step on, and marked a guess
        where fewer were read.

    Examples
    --------
    >>> expect(10.0, [(100.0, 0.60), (20.0, 0.50)]).basis
    'from the last two readings'
    >>> round(expect(10.0, [(100.0, 0.60), (20.0, 0.50)]).voltage, 3)
    0.414
    >>> expect(20.0, [(20.0, 0.50), (5.0, 0.30)], first=0.50).voltage
    0.5
    """
    voltage, wide, basis = _voltage(load, taken, earlier, resting, first)
    return Expected(
        voltage,
        max(0.0, voltage - wide),
        voltage + wide,
        voltage / load,
        voltage * voltage / load,
        basis,
    )


def _voltage(
    load: float,
    taken: Sequence[tuple[float, float]],
    earlier: Sequence[tuple[float, float]],
    resting: float | None,
    first: float | None,
) -> tuple[float, float, str]:
    """Voltage, half width of its band [V], and what it rests on."""
    if first is not None:
        return first, _DRIFT, "as the first time in this run, less what it has drifted"
    # judgement: the same resistor
    same = next((v for r, v in earlier if abs(r / load - 1.0) < 0.02), None)
    if same is not None and len(taken) < 2:
        return same, 0.08, "from this electrode's earlier run"  # judgement
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
