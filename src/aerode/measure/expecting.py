"""What the next reading will be, about: so that a slip is seen while the cell is still on the bench."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["Expected", "expect"]

_RESTING = 0.70
"""A salt-water cell without load gives about this [V]; electrode.md gives 0.50 to 0.85 V as a judgement."""
_INSIDE = 5.0
"""A hand-sized cell has about this inside [ohm]. Common practice, no source: used for a guess marked so."""


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


def expect(
    load: float | None,
    taken: Sequence[tuple[float, float]],
    earlier: Sequence[tuple[float, float]] = (),
    resting: float | None = None,
) -> Expected:
    """What the voltmeter should show at a load.

    Parameters
    ----------
    load : float or None [ohm]
        None for no load.
    taken : sequence of (ohm, V)
        Readings of this run so far, without the open circuit.
    earlier : sequence of (ohm, V)
        Readings of an earlier run of the same electrode.
    resting : float, optional [V]
        The open circuit reading of this run.

    Returns
    -------
    Expected
        A cell is taken as a voltage behind a resistance, through the last two loads: good to some
        hundredths of a volt one step on, and marked a guess where nothing was read yet.

    Examples
    --------
    >>> expect(10.0, [(100.0, 0.60), (20.0, 0.50)]).basis
    'from the last two readings'
    >>> round(expect(10.0, [(100.0, 0.60), (20.0, 0.50)]).voltage, 3)
    0.414
    """
    # judgement: the same resistor
    same = next((v for r, v in earlier if load is not None and abs(r / load - 1.0) < 0.02), None)
    if load is None:
        voltage, basis, wide = _RESTING, "a guess: salt-water cells rest at 0.5 to 0.85 V", 0.25
        return Expected(voltage, voltage - wide, voltage + wide, 0.0, 0.0, basis)
    if same is not None and len(taken) < 2:
        voltage, basis, wide = same, "from this electrode's earlier run", 0.08  # judgement
    elif len(taken) >= 2 and taken[-1][0] != taken[-2][0] and taken[-2][1] != taken[-1][1]:
        source, inside = _line(taken)
        voltage = source * load / (load + max(inside, 0.0))
        basis, wide = "from the last two readings", 0.06  # judgement
    else:
        source = resting if resting is not None else _RESTING
        voltage = source * load / (load + _INSIDE)
        basis, wide = "a guess: nothing was read at a load yet", 0.20  # judgement
    voltage = max(voltage, 0.0)
    return Expected(
        voltage,
        max(0.0, voltage - wide),
        voltage + wide,
        voltage / load,
        voltage * voltage / load,
        basis,
    )
