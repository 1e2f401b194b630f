"""Which difference the verdict is on: a factor, two recipes, or two pieces of one recipe."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import chdtrc

from aerode.errors import CannotTellError
from aerode.measure.comparison.entrants import first_states, recipe_of
from aerode.measure.comparison.joint import JointFit, fit_pieces
from aerode.measure.comparison.questioning import (
    ask_effect,
    ask_pieces,
    ask_recipes,
    order_by_level,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from aerode.measure.comparison.comparing import Family
    from aerode.measure.comparison.factor_effects import EffectsFit, FactorPlan
    from aerode.measure.comparison.joint import Observations, Priors
    from aerode.measure.comparison.questioning import Asked, Terms
    from aerode.measure.comparison.study import Study
    from aerode.records.electrodes import Electrode

__all__ = ["Found", "ask", "inflated", "kept_for_recipes"]

SCATTERS = 0.01  # judgement
"""Below this chance repeated readings are called more scattered than their stated errors."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """All that was asked and found.

    `pieces_seen` and `recipes_seen` are the readings behind the two levels; `kept` marks the
    second among all readings.
    """

    asked: Asked
    pieces: Family | None
    recipes: Family | None
    recipes_reason: str
    effects: EffectsFit | None
    plan: FactorPlan | None
    pieces_joint: JointFit
    pieces_seen: Observations
    recipes_seen: Observations
    kept: NDArray[np.bool_]
    scatter: float
    """Observed over stated scatter of repeated readings, where it is more than chance; else 1."""

    @property
    def recipe_joint(self) -> JointFit | None:
        """The fit that holds the spread between builds."""
        if self.effects is not None:
            return self.effects.joint
        return None if self.recipes is None else self.recipes.joint


def kept_for_recipes(study: Study, seen: Observations) -> NDArray[np.bool_]:
    """Marks the readings that count for recipes: later states of a piece are no replicates.

    Parameters
    ----------
    study : Study
    seen : Observations

    Returns
    -------
    array (n,) of bool
    """
    states = first_states((*study.electrodes, *study.controls))
    return np.array([states[p] == e for p, e in zip(seen.piece, seen.electrode, strict=True)])


def inflated(seen: Observations, priors: Priors) -> tuple[Observations, float]:
    """The readings with their errors enlarged where repeats scatter more than stated.

    Parameters
    ----------
    seen : Observations
    priors : Priors

    Returns
    -------
    Observations
    float [1]
        The factor on the errors: 1 where the repeats agree within their errors (chance above 1 %).

    Notes
    -----
    The ratio of Birge (Phys. Rev. 40 (1932) 207): root of chi-square over degrees of freedom,
    used only where it is significant and above 1.
    """
    joint = fit_pieces(seen, priors)
    free = seen.size - len(joint.names)
    if free < 1:
        return seen, 1.0
    rest = seen.value - joint.design @ joint.fit.coefficients
    square = float(rest @ np.linalg.solve(joint.covariance, rest))
    if float(chdtrc(free, square)) >= SCATTERS:
        return seen, 1.0
    factor = float(np.sqrt(square / free))
    return replace(seen, known=seen.known * factor**2), factor


def ask(study: Study, seen: Observations, terms: Terms, *, by: str, in_order: bool) -> Found:
    """Put the question to the readings.

    Parameters
    ----------
    study : Study
    seen : Observations
        All readings, those of the control too.
    terms : Terms
    by : str
        A factor; "" compares recipes, and where there is only one recipe its pieces.
    in_order : bool
        True keeps the order in which the electrodes were named, False puts the highest first.

    Returns
    -------
    Found

    Raises
    ------
    CannotTellError
        With fewer than two electrodes that could be read.
    InputError
        If the factor does not vary.
    """
    read = [e for e in study.electrodes if e.name in seen.electrode]
    if len(read) < 2:
        raise CannotTellError(
            f"{len(read)} of {len(study.electrodes)} electrodes could be read",
            where="electrodes",
            next_step="measure each with three loads or more",
        )
    for_pieces, factor = inflated(seen, terms.priors)
    joint = fit_pieces(for_pieces, terms.priors)
    levels = dict(zip(joint.names, (float(x) for x in joint.fit.coefficients), strict=True))
    names = [e.name for e in read]
    names = names if in_order else order_by_level(names, levels)
    kept = kept_for_recipes(study, seen)
    for_recipes = seen.keep(kept)
    recipes = _recipes_in_order(read, for_recipes, levels, in_order=in_order)
    pieces, piece_asked = ask_pieces(for_pieces, names, (names[0], names[1]), terms)
    family, recipe_asked = None, None
    if len(recipes) > 1:
        family, recipe_asked = ask_recipes(for_recipes, recipes, (recipes[0], recipes[1]), terms)
    effects, plan, asked = None, None, recipe_asked or piece_asked
    if by:
        settings = {recipe_of(e): e.factors for e in read if recipe_of(e) in recipes}
        effects, plan, asked = ask_effect(for_recipes, recipes, settings, by, terms)
    return Found(
        asked=asked,
        pieces=pieces,
        recipes=family,
        recipes_reason=recipe_asked.reason if recipe_asked is not None else "",
        effects=effects,
        plan=plan,
        pieces_joint=joint,
        pieces_seen=for_pieces,
        recipes_seen=for_recipes,
        kept=kept,
        scatter=factor,
    )


def _recipes_in_order(
    read: Sequence[Electrode],
    seen: Observations,
    levels: Mapping[str, float],
    *,
    in_order: bool,
) -> list[str]:
    mine: dict[str, list[float]] = {}
    for electrode in read:
        if electrode.name in seen.electrode:
            mine.setdefault(recipe_of(electrode), []).append(levels[electrode.name])
    if in_order:
        return list(mine)
    return order_by_level(list(mine), {r: float(np.mean(v)) for r, v in mine.items()})
