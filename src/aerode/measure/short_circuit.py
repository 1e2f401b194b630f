"""What a battery would give into a dead short, from the load steps of its electrodes."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from aerode.measure.comparison.entrants import recipe_of
from aerode.measure.comparison.values import area_of
from aerode.measure.readings import read_run

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from aerode.measure.comparison.study import Study

__all__ = ["short_circuit_density", "shorted"]

_LEAST_STEP = 0.01
"""[V] between two readings from which a slope is taken; below it the last digits decide: judgement."""


def shorted(
    voltage: NDArray[np.float64], current: NDArray[np.float64], open_circuit: float
) -> tuple[float, float] | None:
    """The current of a short, between two straight lines through the largest load that was read.

    Parameters
    ----------
    voltage, current : array (n,) [V], [A]
    open_circuit : float [V]

    Returns
    -------
    low, high : float [A]
        None where fewer than two loads lie apart.

    Notes
    -----
    Low: the line from open circuit through the reading with the largest current, I U0 / (U0 - U).
    High: open circuit over the resistance of the last loads, U0 |dI/dU|: at the first moment the
    surface still gives its voltage at rest, and the resistance alone stands in the way. Both by
    Ohm's law.

    Examples
    --------
    >>> low, high = shorted(np.array([0.9, 0.6, 0.4]), np.array([0.05, 0.2, 0.4]), 1.2)
    >>> round(low, 6), round(high, 6)
    (0.6, 1.2)
    """
    order = np.argsort(current)
    volts, amperes = voltage[order], current[order]
    if volts.size < 2 or not open_circuit > volts[-1] + _LEAST_STEP:
        return None
    low = float(amperes[-1] * open_circuit / (open_circuit - volts[-1]))
    apart = np.flatnonzero((volts - volts[-1] > _LEAST_STEP) & (amperes < amperes[-1]))
    if not apart.size:
        return None
    at = int(apart[-1])
    high = float(open_circuit * (amperes[-1] - amperes[at]) / (volts[at] - volts[-1]))
    return low, max(low, high)


def short_circuit_density(study: Study, recipe: str) -> tuple[float, float] | None:
    """Current density of a short, over all builds of a recipe that were read.

    Parameters
    ----------
    study : Study
    recipe : str

    Returns
    -------
    low, high : float [A/m^2]
        None where no build has an area, an open circuit and two loads. Leads and contacts are left
        out as far as their resistance was noted.
    """
    found: list[tuple[float, float]] = []
    for entrant in study.entrants():
        area = area_of(entrant)
        if recipe_of(entrant.electrode) != recipe or area is None or entrant.control:
            continue
        data = read_run(
            entrant.run, study.instruments, electrode=entrant.electrode, cell=entrant.cell
        )
        if data.open_circuit_voltage is None:
            continue
        ends = shorted(*data.tab_points(), data.open_circuit_voltage)
        if ends is not None:
            found.append((ends[0] / area.value, ends[1] / area.value))
    if not found:
        return None
    return min(low for low, _ in found), max(high for _, high in found)
