"""Loads that were read twice in one run: how far their readings lie apart."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.measure.expecting import DRIFT

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["farthest_apart"]


def farthest_apart(read: Iterable[tuple[str, float]]) -> str:
    """The load whose readings differ most, in words; "" where all that were read twice agree.

    Parameters
    ----------
    read : iterable of (load, V)

    Returns
    -------
    str
        Beyond what a guided run states of a load that comes back (`expecting.DRIFT`).

    Examples
    --------
    >>> farthest_apart([("22 ohm", 0.816), ("10 ohm", 0.65), ("22 ohm", 0.919)])
    'readings at 22 ohm differ by 103 mV'
    >>> farthest_apart([("22 ohm", 0.816), ("22 ohm", 0.80)])
    ''
    """
    volts: dict[str, list[float]] = {}
    for load, voltage in read:
        volts.setdefault(load, []).append(voltage)
    apart, load = max(((max(v) - min(v), name) for name, v in volts.items()), default=(0.0, ""))
    return f"readings at {load} differ by {1e3 * apart:.0f} mV" if apart > DRIFT else ""
