"""What an aluminium-air cell reads without load, about: by its liquid from figures on file, or by what was read before."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from aerode.reference import published, select

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["LYE", "SALT_WATER", "Rest", "rest_expected", "rest_on_file"]

SALT_WATER = "salt water"
LYE = "lye"
_BELOW_OXYGEN = {SALT_WATER: (0.30, 0.70), LYE: (0.05, 0.65)}
"""How far an air side at rest stays below the oxygen electrode [V], least and most. Common practice, no source."""
_LEAST = 0.45
"""A plain electrode on a lacquered can in salt water may give no more [V]: judgement."""
_BELOW_LYE = 7.0
"""How far the pH of salt water lies below that of lye of unit activity, 14 at 25 °C: by definition of a neutral one."""
_FALL_PER_PH = 0.0592
"""Of the oxygen electrode at 25 °C [V]: RT ln 10 / F, by definition."""
_GIVE = 0.15
"""Runs of one bench in one electrolyte rest this near to each other [V]: judgement."""


@dataclass(frozen=True, slots=True)
class Rest:
    """A voltage without load [V]: what to expect, and outside of which it is asked about.

    Parameters
    ----------
    voltage, low, high : float [V]
    least, most : float [V]
        What is believed without a question.
    basis : str
    guessed : bool
        Nothing of the kind was read before.
    source : float or None [V]
        What a load is foretold from where nobody read the rest; None where the liquid is not known.
    """

    voltage: float
    low: float
    high: float
    least: float
    most: float
    basis: str
    guessed: bool
    source: float | None


@lru_cache(maxsize=4)
def rest_on_file(liquid: str = "") -> tuple[float, float]:
    """Lowest and highest voltage at rest [V] that the figures on file make likely.

    Parameters
    ----------
    liquid : str
        `SALT_WATER`, `LYE`, or "" where it is not known: then from the lowest of the one to the
        highest of the other.

    Returns
    -------
    tuple of float [V]
        The oxygen electrode less what an air side stays below it, less the potential of unalloyed
        aluminium against the reference electrode of its row.

    Examples
    --------
    >>> [round(end, 2) for end in rest_on_file(SALT_WATER)], [round(end, 2) for end in rest_on_file(LYE)]
    ([0.45, 1.12], [1.04, 1.89])
    """
    if not liquid:
        return rest_on_file(SALT_WATER)[0], rest_on_file(LYE)[1]
    oxygen = published("oxygen", "standard_potential", couple="O2 + 2 H2O + 4 e = 4 OH-").value
    assert oxygen is not None
    if liquid == LYE:
        low, high, against = _aluminium("4 mol/L KOH", "mercury oxide electrode, 1 mol/L hydroxide")
    else:
        low, high, against = _aluminium("3.5 % NaCl", "saturated calomel electrode")
        oxygen += _BELOW_LYE * _FALL_PER_PH
    near, far = _BELOW_OXYGEN[liquid]
    least = oxygen - far - (against + high)
    return (least if liquid == LYE else min(least, _LEAST)), oxygen - near - (against + low)


def _aluminium(electrolyte: str, electrode: str) -> tuple[float, float, float]:
    """Lowest and highest potential of the metal against an electrode, and that electrode's own [V]."""
    row = select("aluminium 1xxx", "open_circuit_potential", electrolyte=electrolyte)[0]
    own = published(electrode, "reference_potential").value
    assert row.low is not None
    assert row.high is not None
    assert own is not None
    return row.low, row.high, own


def rest_expected(liquid: str, before: Sequence[float] = (), *, known: bool = False) -> Rest:
    """What to expect without load.

    Parameters
    ----------
    liquid : str
        As of `rest_on_file`.
    before : sequence of float [V]
        Rests that this bench has read in the same electrolyte.
    known : bool
        Whether the electrolyte of these runs is named; else they are only runs of this bench.

    Returns
    -------
    Rest
        The middle of what was read before with a band around all of it; a guess by the liquid where
        nothing was. A question is asked outside of both.

    Examples
    --------
    >>> learned = rest_expected("", (1.25, 1.25))
    >>> learned.voltage, round(learned.low, 2), round(learned.high, 2)
    (1.25, 1.1, 1.4)
    """
    least, most = rest_on_file(liquid)
    if before:
        ordered = sorted(before)
        middle = 0.5 * (ordered[(len(ordered) - 1) // 2] + ordered[len(ordered) // 2])
        low, high = min(ordered[0], middle) - _GIVE, max(ordered[-1], middle) + _GIVE
        count = "one earlier run" if len(ordered) == 1 else f"{len(ordered)} earlier runs"
        where = "in the same electrolyte" if known else "of this bench"
        low = max(0.0, low)
        return Rest(
            middle,
            low,
            high,
            min(least, low),
            max(most, high),
            f"from {count} {where}",
            guessed=False,
            source=middle,
        )
    said = {SALT_WATER: "a guess: in salt water", LYE: "a guess: in lye"}.get(liquid, "a guess: from salt water to lye")  # fmt: skip
    middle = 0.5 * (least + most)
    return Rest(
        middle, least, most, least, most, said, guessed=True, source=middle if liquid else None
    )
