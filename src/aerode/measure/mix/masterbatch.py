"""Doses that the scale cannot weigh: thin them into a larger stock and take a part of it."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from aerode.records.mixes import Ingredient

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.measure.mix.dosing import Dose
    from aerode.measure.mix.lots import Shelf
    from aerode.measure.mix.weighing import Scale

__all__ = ["Split", "masterbatches", "too_small"]

_DILUTION = 4.0
"""Parts of carrier to one of what is thinned: enough to mix evenly by hand. Common practice."""
_MOST_POTS = 200  # judgement
_MOST_LIQUID = 0.25
"""Liquid that thinning may add, over the wet pot: beyond that, mix a larger pot. Judgement."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Split:
    """A masterbatch, masses [kg]: what goes in, how much to take, what is left to weigh.

    `delivered` is what the taken part brings of each thinned lot and of the carrier.
    """

    of: tuple[str, ...]
    carrier: str
    parts: dict[str, float]
    take: float
    carrier_left: float
    pots: float
    relative_uncertainty: float
    adds_liquid: float = 0.0
    delivered: dict[str, float] = field(default_factory=dict[str, float])


def too_small(doses: Sequence[Dose], scale: Scale, within: float) -> list[Dose]:
    """Give the doses with dry matter that the scale cannot weigh well enough.

    Parameters
    ----------
    doses : sequence of Dose
        Exact wet doses [kg].
    scale : Scale
        The scale.
    within : float
        Relative standard uncertainty that is still taken [1].

    Returns
    -------
    list of Dose
        Those below net uncertainty/within. Pure solvents never count: they only set the thickness.
    """
    least = scale.net_uncertainty / within
    return [d for d in doses if d.shelf is not Ingredient.SOLVENT and d.mass < least]


def masterbatches(
    doses: Sequence[Dose], shelf: Shelf, scale: Scale, within: float
) -> tuple[list[Split], list[Dose]]:
    """Give the masterbatches for a set of doses, and the small doses that none can help.

    Parameters
    ----------
    doses : sequence of Dose
        Exact wet doses of one pot [kg].
    shelf : Shelf
        The lots, for the liquids of solutions.
    scale : Scale
        The scale.
    within : float
        Relative standard uncertainty to keep to [1].

    Returns
    -------
    tuple
        `(splits, left_over)`; no splits at all if something is left over, since then only a
        larger pot helps.

    Notes
    -----
    All small powders go into one stock with the largest weighable powder (or else solution) as the
    carrier; a small solution is thinned with its own liquid. With the scale's u, m_i the doses and
    c the carrier per pot, the part to take is A = Σm + c, and the stock makes k pots so that
    u/(k·m_i) + u/A <= within: the errors are added, not squared, since one scale makes both.
    """
    small = too_small(doses, scale, within)
    pot = sum(d.mass for d in doses)
    weighable = [d for d in doses if d not in small and d.shelf is not Ingredient.SOLVENT]
    powders = [d for d in small if d.shelf is Ingredient.POWDER]
    splits: list[Split] = []
    left_over: list[Dose] = []
    if powders:
        split = _with_carrier(powders, _carrier(weighable), scale, within)
        if split is None:
            left_over += powders
        else:
            splits.append(split)
    for dose in small:
        if dose.shelf is Ingredient.SOLUTION:
            split = _thinned(dose, doses, shelf, scale, within)
            if split is None or split.adds_liquid > _MOST_LIQUID * pot:
                left_over.append(dose)
            else:
                splits.append(split)
    return ([] if left_over else splits), left_over


def _carrier(weighable: list[Dose]) -> Dose | None:
    """The largest powder, else the largest solution."""
    rank = {Ingredient.POWDER: 1, Ingredient.SOLUTION: 0}
    return max(weighable, key=lambda d: (rank[d.shelf], d.mass), default=None)


def _with_carrier(
    small: list[Dose], carrier: Dose | None, scale: Scale, within: float
) -> Split | None:
    if carrier is None:
        return None
    u = scale.net_uncertainty
    thinned = sum(d.mass for d in small)
    share = max(_DILUTION * thinned, 2.0 * u / within - thinned)
    if carrier.mass - share < u / within:  # too little would be left to weigh: take it all
        share = carrier.mass
    split = _stock(small, carrier.of, share, scale, within)
    if split is None:
        return None
    left = scale.rounded(carrier.mass - split.delivered[carrier.of])
    return replace(split, carrier_left=left if left >= u / within else 0.0)


def _thinned(
    dose: Dose, doses: Sequence[Dose], shelf: Shelf, scale: Scale, within: float
) -> Split | None:
    """A small solution, thinned with its main liquid."""
    liquid = sorted(shelf.solutions[dose.of].liquid, key=lambda part: -part.fraction)
    if not liquid:
        return None
    substance = liquid[0].of
    planned = [
        d for d in doses
        if d.shelf is Ingredient.SOLVENT and shelf.solvents[d.of].substance == substance
    ]  # fmt: skip
    carrier = planned[0].of if planned else substance
    share = max(_DILUTION * dose.mass, 2.0 * scale.net_uncertainty / within - dose.mass)
    split = _stock([dose], carrier, share, scale, within)
    if split is None:
        return None
    beyond = split.delivered[carrier] - (planned[0].mass if planned else 0.0)
    return replace(
        split,
        carrier_left=scale.rounded(max(0.0, -beyond)),
        adds_liquid=max(0.0, beyond),
    )


def _stock(
    small: list[Dose], carrier: str, share: float, scale: Scale, within: float
) -> Split | None:
    """The stock that holds enough pots of `small` in `share` of carrier each."""
    u = scale.net_uncertainty
    thinned = sum(d.mass for d in small)
    room = within - u / (thinned + share)
    least = min(d.mass for d in small)
    if room <= 0 or not least > 0:
        return None
    pots = max(2, math.ceil(u / (room * least)))
    if pots > _MOST_POTS:
        return None
    parts = {d.of: _up(pots * d.mass, scale) for d in small}
    weighed = sum(parts.values())
    parts[carrier] = scale.rounded(share * weighed / thinned)
    whole = weighed + parts[carrier]
    take = scale.rounded(thinned * whole / weighed)
    delivered = {name: mass * take / whole for name, mass in parts.items()}
    worst = max(u / parts[d.of] for d in small) + u / take
    return Split(
        of=tuple(d.of for d in small), carrier=carrier, parts=parts, take=take, carrier_left=0.0,
        pots=whole / take, relative_uncertainty=worst, delivered=delivered,
    )  # fmt: skip


def _up(mass: float, scale: Scale) -> float:
    return math.ceil(mass / scale.resolution - 1e-9) * scale.resolution  # numerical
