"""What a long log drew from its cell: charge and energy over a known load, and readings that fell to nothing for a moment."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["LogDrawn", "clean_rows", "log_drawn"]

Floats = NDArray[np.float64]

_SUDDEN = 0.25  # judgement
"""A reading below this share of the one before it has dropped suddenly."""
_BACK = 0.5  # judgement
"""It was a slip, a lead that came off, where the voltage is back at this share of what it was."""
_LOW = 0.05  # judgement
"""From below it nothing falls: the last digits of a cell that is run down jump by as much [V]."""
_WINDOW = 64  # numerical


@dataclass(frozen=True, slots=True, kw_only=True)
class LogDrawn:
    """What a log drew between its first and its last reading.

    Parameters
    ----------
    charge : float or None [C]
        None where neither a current was logged nor the load is known.
    charge_uncertainty : float [C]
        Standard uncertainty, of the load and the meter: they are wrong alike in every row.
    energy : float or None [J]
    energy_uncertainty : float [J]
    duration : float [s]
        From the first reading to the last.
    doubtful : int
        Readings that fell near nothing and came back: left out of all this.
    doubtful_at : float or None [s]
        The first of them.
    usual : float or None [V]
        What was read before the first of them.
    """

    charge: float | None
    charge_uncertainty: float
    energy: float | None
    energy_uncertainty: float
    duration: float
    doubtful: int = 0
    doubtful_at: float | None = None
    usual: float | None = None


def log_drawn(
    chunks: Iterable[Mapping[str, Floats]],
    *,
    resistance: float | None = None,
    load_uncertainty: float = 0.0,
    meter_uncertainty: float = 0.0,
) -> LogDrawn:
    """Charge and energy of a log, by the trapezoidal rule over its rows.

    Parameters
    ----------
    chunks : iterable of mapping
        Columns "time" [s], in order, and "voltage" [V], perhaps "current" [A]; arrays (n,).
    resistance : float, optional [ohm]
        Of the load that was on all the time; used where no current was logged.
    load_uncertainty, meter_uncertainty : float [1]
        Relative standard uncertainties of the load and of the meter's gain, shared by all rows.

    Returns
    -------
    LogDrawn

    Notes
    -----
    Q = ∫ I dt with I = V/R, E = ∫ V I dt: definitions. u(Q)/Q is the root of the sum of squares of
    u(R)/R and u(V)/V, as both are one error for all rows; u(E)/E has u(V)/V twice.

    Examples
    --------
    >>> hour = {"time": np.arange(0.0, 3601.0, 60.0), "voltage": np.full(61, 0.66)}
    >>> drawn = log_drawn([hour], resistance=33.0, load_uncertainty=0.01)
    >>> round(drawn.charge / 3.6, 3), round(drawn.charge_uncertainty / 3.6, 3), round(drawn.energy / 3.6, 2)
    (20.0, 0.2, 13.2)
    """
    time, volts, amperes = _columns(chunks)
    out = _dips(volts)
    good = ~out
    first = int(np.argmax(out)) if out.any() else None
    t, v, i = time[good], volts[good], amperes[good]
    if not np.isfinite(i).all():
        i = v / resistance if resistance else None
        relative = float(np.hypot(load_uncertainty, meter_uncertainty))
        of_energy = float(np.hypot(load_uncertainty, 2.0 * meter_uncertainty))
    else:
        relative, of_energy = meter_uncertainty, float(np.sqrt(2.0)) * meter_uncertainty
    known = i is not None and t.size > 1
    charge = _under(i, t) if known and i is not None else None
    energy = _under(v * i, t) if known and i is not None else None
    return LogDrawn(
        charge=charge,
        charge_uncertainty=relative * (charge or 0.0),
        energy=energy,
        energy_uncertainty=of_energy * (energy or 0.0),
        duration=float(time[-1] - time[0]) if time.size else 0.0,
        doubtful=int(out.sum()),
        doubtful_at=None if first is None else float(time[first]),
        usual=None if first is None else float(volts[first - 1]),
    )


def clean_rows(chunks: Iterable[Mapping[str, Floats]]) -> tuple[Floats, Floats]:
    """Time [s] and voltage [V] of a log without the readings of a lead that came off; arrays (n,).

    Parameters
    ----------
    chunks : iterable of mapping
        As of `log_drawn`.
    """
    time, volts, _ = _columns(chunks)
    good = ~_dips(volts)
    return time[good], volts[good]


def _under(y: Floats, t: Floats) -> float:
    """The trapezoidal rule."""
    return float(0.5 * np.sum((y[1:] + y[:-1]) * np.diff(t)))


def _columns(chunks: Iterable[Mapping[str, Floats]]) -> tuple[Floats, Floats, Floats]:
    """Time, voltage and current of the rows that hold a voltage; no current is not a number."""
    parts: list[tuple[Floats, Floats, Floats]] = []
    for chunk in chunks:
        volts = chunk.get("voltage")
        if volts is None:
            continue
        there = np.isfinite(volts)
        amperes = chunk.get("current")
        read = np.full(volts.size, np.nan) if amperes is None else amperes
        parts.append((chunk["time"][there], volts[there], read[there]))
    if not parts:
        none = np.empty(0)
        return none, none, none
    time, volts, read = (np.concatenate(column) for column in zip(*parts, strict=True))
    return time, volts, read


def _dips(volts: Floats) -> NDArray[np.bool_]:
    """The rows that fell suddenly near nothing, until the voltage was back; a fall that stays is none."""
    out = np.zeros(volts.size, dtype=bool)
    if not volts.size:
        return out
    highest_ahead = np.maximum.accumulate(volts[::-1])[::-1]
    fell = (volts[1:] < _SUDDEN * volts[:-1]) & (volts[:-1] > _LOW)
    for start in np.flatnonzero(fell) + 1:
        level = _BACK * volts[start - 1]
        if not out[start - 1] and highest_ahead[start] >= level:
            out[start : _back_at(volts, int(start), float(level))] = True
    return out


def _back_at(volts: Floats, start: int, level: float) -> int:
    """The first row from `start` on that is at the level again; one there is. Costs what it passes."""
    width = _WINDOW
    while not (back := volts[start : start + width] >= level).any():
        start, width = start + width, 2 * width
    return start + int(np.argmax(back))
