"""Readings that cannot be: swapped leads, slips of the unit, overloads, I that is not V/R."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from aerode import units

__all__ = [
    "LARGEST_VOLTAGE",
    "contradictions",
    "current_and_load_disagree",
    "impossible_current",
    "impossible_voltage",
]

Floats = NDArray[np.float64]
Marks = NDArray[np.bool_]

LARGEST_VOLTAGE = 2.7  # judgement
"""[V]; aluminium against air cannot give more: about 8.1 kWh/kg (Rani, RSC Adv. 2024, a review, read in
an excerpt) over 2.98 Ah/g, that is 3 F / M, are 2.72 V."""
LARGEST_CURRENT = 50.0  # judgement
"""[A]; no hand-built cell and no hand-held meter passes this."""
_LARGEST_DENSITY = 1e4  # judgement
"""[A/m^2] = 1 A/cm^2."""
_CLEARLY_HIGHER = 0.02  # judgement
"""[V]; smaller differences can be drift or hysteresis."""
_CLEARLY_MORE = 1.5


def impossible_voltage(
    voltage: float, full_scale: float = math.inf, *, at_rest: bool = False
) -> str:
    """Why a voltage under load, or at rest, cannot be right, or "".

    Parameters
    ----------
    voltage : float [V]
        As read.
    full_scale : float [V]
        Of the range it was read on.
    at_rest : bool
        Read without load.

    Returns
    -------
    str
        What it usually means and what to do; "" if it is believable.

    Examples
    --------
    >>> impossible_voltage(0.742)
    ''
    >>> impossible_voltage(742.0)
    '742 V is more than aluminium and air can give (2.7 V): typed in mV? write it as 742 mV'
    """
    if voltage < 0.0:
        return (
            f"{voltage:g} V is negative: leads swapped, or the aluminium touches the collector; "
            "swap the leads and read again"
        )
    if voltage == 0.0:
        return f"0 V {'without' if at_rest else 'under'} load: a short through the separator or an open lead; look, then read again"
    if voltage > LARGEST_VOLTAGE:
        head = f"{voltage:g} V is more than aluminium and air can give ({LARGEST_VOLTAGE:g} V)"
        if voltage <= 1000.0 * LARGEST_VOLTAGE:
            return f"{head}: typed in mV? write it as {voltage:g} mV"
        return f"{head}: look at the column and its unit"
    if voltage >= full_scale:
        return (
            f"{voltage:g} V is at or above the range of {full_scale:g} V: an overload; "
            "read it on the next range"
        )
    return ""


def impossible_current(
    current: float, full_scale: float = math.inf, area: float | None = None
) -> str:
    """Why a current cannot be right, or "".

    Parameters
    ----------
    current : float [A]
        As read.
    full_scale : float [A]
        Of the range it was read on.
    area : float, optional [m^2]
        Wetted area, where known.

    Returns
    -------
    str

    Examples
    --------
    >>> impossible_current(69.4, full_scale=0.2)
    '69.4 A is beyond the range of 0.2 A: typed in A for mA? write it as 69.4 mA'
    >>> impossible_current(0.0694, full_scale=0.2)
    ''
    """
    if current < 0.0:
        return f"{current:g} A is negative: leads swapped; swap them and read again"
    if current == 0.0:
        return "0 A under load: an open lead or a blown fuse; test the meter on a dry cell and a resistor"
    slip = f"typed in A for mA? write it as {current:g} mA"
    if current > LARGEST_CURRENT:
        beyond = (
            f"the range of {full_scale:g} A" if current > full_scale else "any cell of this kind"
        )
        return f"{current:g} A is beyond {beyond}: {slip}"
    if area is not None and current > _LARGEST_DENSITY * area:
        density = units.write(current / area, "A/m^2", to="mA/cm^2")
        return f"{current:g} A would be {density}: {slip}"
    if current >= full_scale:
        hint = slip if current >= 100.0 * full_scale else "an overload; read it on the next range"
        return f"{current:g} A is beyond the range of {full_scale:g} A: {hint}"
    return ""


def current_and_load_disagree(
    voltage: float, current: float, resistance: float, relative_uncertainty: float
) -> str:
    """Why a current read and V/R over the same load cannot both be right, or "".

    Parameters
    ----------
    voltage : float [V]
        Over the load.
    current : float [A]
        As read.
    resistance : float [ohm]
        Of the load, the ammeter's burden included where it is in the same loop.
    relative_uncertainty : float [1]
        Of their ratio; five times this, and at least a tenth, is let pass.

    Returns
    -------
    str

    Examples
    --------
    >>> current_and_load_disagree(0.40, 26.7, 15.0, 0.01)
    'I is 1001 times V/R (26.7 A against 0.02667 A): typed in A for mA?'
    >>> current_and_load_disagree(0.40, 0.0267, 15.0, 0.01)
    ''
    """
    expected = voltage / resistance
    ratio = current / expected
    if abs(ratio - 1.0) <= max(0.10, 5.0 * relative_uncertainty):  # judgement
        return ""
    said = f"({units.plain(current, 4)} A against {units.plain(expected, 4)} A)"
    if 500.0 < ratio < 2000.0:  # judgement: near a thousand
        return f"I is {ratio:.0f} times V/R {said}: typed in A for mA?"
    if 0.0005 < ratio < 0.002:  # judgement: near a thousandth
        return f"V/R is {1.0 / ratio:.0f} times I {said}: voltage in mV, or the load in kohm?"
    return (
        f"I is not V/R {said}: another resistor than noted, or a lead that slipped off; read again"
    )


def contradictions(voltage: Sequence[float], current: Sequence[float]) -> dict[int, str]:
    """Points that cannot lie on one falling curve with the others.

    Parameters
    ----------
    voltage : sequence of n floats [V]
    current : sequence of n floats [A]

    Returns
    -------
    dict
        Index of each point to leave out, and why. A cell's voltage falls as its current rises; the
        point with the most clear breaches of this against the others is taken out, again and
        again, while one stands out against two or more.

    Examples
    --------
    >>> contradictions([0.60, 0.50, 0.45, 0.40], [0.006, 23.0, 0.030, 0.040])
    {1: 'more current (23 A) than at 2 lower voltages: about 1000 times too much, A for mA?'}
    """
    v, i = np.asarray(voltage, dtype=np.float64), np.asarray(current, dtype=np.float64)
    kept, found = np.ones(v.size, dtype=bool), dict[int, str]()
    higher = (v[:, None] > v + _CLEARLY_HIGHER) & (i[:, None] > _CLEARLY_MORE * i)
    while True:
        breach = higher & kept[:, None] & kept
        count = breach.sum(axis=0) + breach.sum(axis=1)
        worst = int(np.argmax(count)) if v.size else 0
        alone = v.size and count[worst] >= 2 and np.sum(count == count[worst]) == 1
        if not alone:
            return found
        found[worst] = _why(worst, breach, v, i, kept)
        kept[worst] = False


def _why(p: int, breach: Marks, v: Floats, i: Floats, kept: Marks) -> str:
    others = kept.copy()
    others[p] = False
    rising, log_current = _falling(-v[others], np.log(i[others]))
    ratio = float(i[p] / np.exp(np.interp(-float(v[p]), rising, log_current)))
    too_much = breach[p].sum() >= breach[:, p].sum()
    if too_much:
        head = f"more current ({_amperes(i[p])}) than at {int(breach[p].sum())} lower voltages"
        # judgement: near a thousand
        slip = "about 1000 times too much, A for mA?" if 300 < ratio < 3000 else "look at it again"
    else:
        head = f"less current ({_amperes(i[p])}) than at {int(breach[:, p].sum())} higher voltages"
        # judgement: near a thousand
        slip = "about 1000 times too little?" if 300 < 1 / ratio < 3000 else "look at it again"
    return f"{head}: {slip}"


def _amperes(current: float) -> str:
    return (
        f"{units.plain(current, 3)} A" if current >= 1.0 else f"{units.plain(1e3 * current, 3)} mA"
    )


def _falling(x: Floats, y: Floats) -> tuple[Floats, Floats]:
    order = np.argsort(x)
    return x[order], y[order]
