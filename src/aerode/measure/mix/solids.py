"""The true solids of a solution from dried dishes."""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import fmean, stdev
from typing import TYPE_CHECKING

from aerode.errors import InputError, RangeError
from aerode.quantities import Basis, Quantity

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.measure.mix.weighing import Scale
    from aerode.records.materials import Dish

__all__ = ["DishSolids", "dish_solids"]

# One dish says nothing of its own spread: 3 % of the value, common practice, no source.
_SPREAD_OF_ONE = 0.03
_COARSE = (
    0.1  # judgement: a scale that alone leaves a tenth of the solids open is said to be too coarse
)


@dataclass(frozen=True, slots=True, kw_only=True)
class DishSolids:
    """The solids fraction, each dish's own, and what had to be assumed."""

    solids: Quantity
    each: tuple[float, ...]
    notes: tuple[str, ...] = ()


def dish_solids(dishes: Sequence[Dish], scale: Scale, *, name: str = "solution") -> DishSolids:
    """Give the solids fraction of a solution from its dried dishes.

    Parameters
    ----------
    dishes : sequence of Dish
        Empty, wet and dried mass of each [kg].
    scale : Scale
        The scale they were weighed on.
    name : str
        The solution, for a refusal.

    Returns
    -------
    DishSolids
        Mean of (dried − empty)/(wet − empty), with its standard uncertainty [1].

    Raises
    ------
    InputError
        If there are no dishes.
    RangeError
        If a dish lost weight below empty, gained on drying, or held nothing.

    Notes
    -----
    u² = max(s², mean u_scale²)/n. The spread s between dishes already holds the scale's chance
    errors, so the larger of the two stands and neither is counted twice; with one dish s is taken
    as 3 % of the value. An error common to all readings of the scale cancels in the differences.
    u_scale = u_reading·√(1 + c² + (1 − c)²)/(wet − empty), GUM (JCGM 100:2008) 5.1.2, type A 4.2.3.
    Liquid that stays in a skin is not seen: dry to constant mass.

    Examples
    --------
    >>> from aerode.measure.mix.weighing import Scale
    >>> from aerode.records.materials import Dish
    >>> found = dish_solids([Dish(empty=2e-3, wet=12e-3, dried=3.24e-3)], Scale.from_text("0.01 g"))
    >>> round(found.solids.value or 0, 4)
    0.124
    """
    if not dishes:
        raise InputError(
            f"{name!r} has no dried dishes", where=name, allowed="one dish at least; three tell how well it is known",
            next_step="weigh a dish empty, with some solution, and after drying",
        )  # fmt: skip
    each = tuple(_solids_of(dish, i, name) for i, dish in enumerate(dishes, start=1))
    mean = fmean(each)
    by_scale = fmean(_scale_variance(d, c, scale) for d, c in zip(dishes, each, strict=True))
    notes: tuple[str, ...] = ()
    if len(each) == 1:
        spread = _SPREAD_OF_ONE * mean
        notes = (f"{name}: one dish only, a spread of {100 * _SPREAD_OF_ONE:g} % of it assumed",)
    else:
        spread = stdev(each)
    uncertainty = math.sqrt(max(spread**2, by_scale) / len(each))
    if by_scale > (_COARSE * mean) ** 2:
        wet = 1e3 * fmean(dish.wet - dish.empty for dish in dishes)
        notes = (*notes, f"{name}: the scale's step of {1e3 * scale.resolution:g} g is too coarse for dishes that hold "
                 f"{wet:.2g} g, so its solids are known to ±{100 * uncertainty / mean:.2g} % only; weigh larger dishes, or "
                 "on a finer scale")  # fmt: skip
    count = "1 dried dish" if len(each) == 1 else f"{len(each)} dried dishes"
    solids = Quantity(
        value=mean, unit="", standard_uncertainty=uncertainty, basis=Basis.MEASURED, source=count
    )
    return DishSolids(solids=solids, each=each, notes=notes)


def _solids_of(dish: Dish, number: int, name: str) -> float:
    where = f"{name}, dish {number}"
    if not dish.wet > dish.empty:
        raise RangeError(
            "the dish with solution is no heavier than the empty dish", where=where,
            allowed="wet mass above the empty mass", next_step="look at the three masses again",
        )  # fmt: skip
    if not dish.empty < dish.dried <= dish.wet:
        raise RangeError(
            "the dried dish is lighter than the empty one, or heavier than the wet one", where=where,
            allowed="between the empty and the wet mass",
            next_step="look at the three masses again: perhaps two of them were swapped",
        )  # fmt: skip
    return (dish.dried - dish.empty) / (dish.wet - dish.empty)


def _scale_variance(dish: Dish, solids: float, scale: Scale) -> float:
    reading = math.hypot(scale.reading_uncertainty, scale.limit_uncertainty)
    by_parts = 1.0 + solids**2 + (1.0 - solids) ** 2  # dried, wet and empty reading
    return (reading / (dish.wet - dish.empty)) ** 2 * by_parts
