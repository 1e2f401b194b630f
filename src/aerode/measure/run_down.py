"""What is left of an electrode's current after it was run down: its own voltage over its load beside its own curve."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from aerode.measure.comparison.entrants import recipe_of
from aerode.measure.comparison.values import area_of
from aerode.measure.readings import read_run

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from aerode.measure.comparison.study import Study
    from aerode.records.runs import Run

    Floats = NDArray[np.float64]

__all__ = ["Left", "curves_of", "rows_read", "share_left"]

_WINDOW = 0.05  # judgement
"""Of the time, over which the middle of the last readings is taken: one lead that came off moves nothing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Left:
    """What one run-down had left.

    Parameters
    ----------
    share : float or None [1]
        Current that is left over that of the curve at the same voltage, at most 1; None where the
        voltage lies outside what the curve was read at.
    voltage : float [V]
    after : float [s]
        Of the load being on: as asked, or to the end of a shorter log.
    mean_current : float [A]
    """

    share: float | None
    voltage: float
    after: float
    mean_current: float


def share_left(
    time: Floats, voltage: Floats, resistance: float, curves: list[tuple[Floats, Floats]], after: float
) -> Left:  # fmt: skip
    """What is left of the current at a voltage, once a load has been on for so long.

    Parameters
    ----------
    time, voltage : array (n,) [s], [V]
        Of the run-down, in order, without readings of a lead that came off.
    resistance : float [ohm]
        Of the load that was on all the time.
    curves : list of (array (m,) [V], array (m,) [A])
        Load steps of the same electrode; of several the one with the most current counts, as the fresh one.
    after : float [s]

    Returns
    -------
    Left

    Notes
    -----
    I(t) = V(t)/R, by Ohm's law, over the current that the curve has at V(t), read off straight between
    two loads. The fall of the voltage alone would flatter it: at a lower voltage a fresh electrode
    gives more.

    Examples
    --------
    >>> hours = np.linspace(0.0, 3600.0, 61)
    >>> fresh = (np.array([0.8, 0.4]), np.array([0.02, 0.06]))
    >>> left = share_left(hours, 0.6 - 0.1 * hours / 3600.0, 16.0, [fresh], 3600.0)
    >>> round(left.voltage, 2), round(left.share, 2)
    (0.5, 0.63)
    """
    time = time - time[0]
    end = min(after, float(time[-1]))
    last = (time <= end) & (time >= (1.0 - _WINDOW) * end)
    volts = float(np.median(voltage[last] if last.any() else voltage[-1:]))
    read = [
        float(np.interp(volts, v[order], i[order]))
        for v, i in curves
        if v.size > 1 and v.min() <= volts <= v.max()
        for order in [np.argsort(v)]
    ]
    kept = time <= end
    mean = float(np.mean(voltage[kept])) / resistance
    share = min(volts / resistance / max(read), 1.0) if read and max(read) > 0.0 else None
    return Left(share=share, voltage=volts, after=end, mean_current=mean)


def curves_of(study: Study, electrode: str) -> list[tuple[Floats, Floats]]:
    """Voltage at the clips and current of every run of load steps of an electrode.

    Parameters
    ----------
    study : Study
    electrode : str

    Returns
    -------
    list of (array (n,) [V], array (n,) [A])
        Of the other builds of its recipe, by area, where it has none of its own.
    """
    entrants = study.entrants()
    own = [e for e in entrants if e.electrode.name == electrode]
    piece = next((e for e in study.electrodes if e.name == electrode), None)
    area = piece.wetted_area.value if piece is not None and piece.wetted_area else None
    fellows = [e for e in entrants if piece and recipe_of(e.electrode) == recipe_of(piece)]
    found: list[tuple[Floats, Floats]] = []
    for entrant in own or fellows:
        scale, theirs = 1.0, area_of(entrant)
        if not own:
            if area is None or theirs is None:
                continue
            scale = area / theirs.value
        data = read_run(
            entrant.run, study.instruments, electrode=entrant.electrode, cell=entrant.cell
        )
        _, current = data.tab_points()
        found.append((data.voltage, scale * current))
    return found


def rows_read(study: Study, run: Run) -> tuple[Floats, Floats, float] | None:
    """Time [s] and voltage [V] of a run-down whose readings were typed, arrays (n,), and its resistance [ohm].

    Parameters
    ----------
    study : Study
    run : Run

    Returns
    -------
    tuple or None
        None where fewer than two readings have a moment, or they were not taken over one load.
    """
    replaced = {r.replaces for r in run.readings if r.replaces is not None}
    kept = [
        (r.at, r.voltage, study.load_of(r))
        for k, r in enumerate(run.readings)
        if k not in replaced and not r.doubt and r.at is not None and r.voltage is not None
    ]
    loads = {ohms for _, _, ohms in kept}
    ohms = next(iter(loads), None)
    if len(kept) < 2 or len(loads) != 1 or ohms is None:
        return None
    kept.sort(key=lambda row: row[0])
    return np.array([at for at, _, _ in kept]), np.array([v for _, v, _ in kept]), ohms
