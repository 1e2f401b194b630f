"""What exactly is asked, and a way to ask it again: the verdict as a function of what was read."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np

from aerode.errors import CannotTellError, InputError
from aerode.measure.comparison.comparing import (
    Family,
    builds_of,
    compare_pieces,
    compare_recipes,
    row_alignment,
)
from aerode.measure.comparison.factor_effects import (
    EffectsFit,
    FactorPlan,
    effect_rows,
    fit_effects,
    fit_plan,
    has_pure_error,
    plan_factors,
)
from aerode.measure.comparison.joint import fit_pieces, fit_recipes
from aerode.measure.comparison.judging import verdict_on
from aerode.measure.comparison.wording import did_you_mean
from aerode.quantities import Reason
from aerode.records.comparisons import Verdict
from aerode.records.results import Level

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from aerode.measure.comparison.joint import JointFit, Observations, Priors
    from aerode.measure.comparison.judging import Difference

    Setting = float | str

__all__ = ["Asked", "Terms", "ask_effect", "ask_pieces", "ask_recipes", "order_by_level"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Terms:
    """By which margin and at which level it is judged, and what is assumed of the disturbances.

    Parameters
    ----------
    margin : float [log]
    look_level : float [1]
        Of this look, for what was asked.
    beside_level : float [1]
        For what was looked at beside it.
    priors : Priors
    past_spread : (float, float) [1, 1]
    """

    margin: float
    look_level: float
    beside_level: float
    priors: Priors
    past_spread: tuple[float, float] = (0.0, 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """The difference that the verdict is on, and how to judge it again on other readings.

    Parameters
    ----------
    level : Level
    words : str
        "A over B", or "binder, 0.1 to 0.2".
    difference : Difference or None
        None where it cannot be told; then `reason`.
    reason : str
    builds : (int, int) [1]
        Separately built pieces on the two sides.
    alignment : float or None [1]
    sort : str
        "effect", "recipes" or "pieces".
    names : tuple of str
        The factor, or the two sides.
    family : tuple of str
        Everything that was looked at together with it.
    settings : mapping
        Factor settings of each recipe, for an effect.
    terms : Terms
    """

    level: Level
    words: str
    difference: Difference | None
    reason: str = ""
    builds: tuple[int, int]
    alignment: float | None
    sort: str
    names: tuple[str, ...]
    family: tuple[str, ...]
    settings: Mapping[str, Mapping[str, Setting]]
    terms: Terms

    def again(self, seen: Observations) -> Verdict:
        """The verdict on the same question with other readings.

        Parameters
        ----------
        seen : Observations

        Returns
        -------
        Verdict

        Raises
        ------
        CannotTellError
            If these readings no longer hold both sides.
        """
        if self.sort == "effect":
            plan = plan_factors(_still(self.family, seen.recipe), self.settings)
            fitted = _effects(seen, plan, self.names, self.terms).asked
            return fitted[self.names[0]].verdict if fitted else Verdict.NOT_SHOWN
        labels = seen.recipe if self.sort == "recipes" else seen.electrode
        present = _still(self.family, labels)
        if not set(self.names) <= set(present):
            raise CannotTellError("one of the two sides has no reading left", where=self.words)
        compare = _recipes if self.sort == "recipes" else _pieces
        return compare(seen, present, self.terms).of(self.names[0], self.names[1]).verdict

    def prepared(self, seen: Observations) -> Callable[[Observations], Verdict]:
        """The same as `again`, for readings that differ from `seen` in their values alone.

        Parameters
        ----------
        seen : Observations

        Returns
        -------
        callable of Observations to Verdict
            Rows, design and caps are made once; every call fits and judges anew.
        """
        if self.difference is not None and self.difference.capped:
            return lambda _: Verdict.NOT_SHOWN
        terms = self.terms
        if self.sort == "effect":
            plan = plan_factors(_still(self.family, seen.recipe), self.settings)
            pure = has_pure_error(seen, plan, terms.past_spread)

            def fit(seen: Observations) -> JointFit:
                return fit_plan(seen, plan, terms.priors, terms.past_spread, pure=pure)

            names = fit(seen).names
            rows, place = effect_rows(seen, plan, names, pure=pure)[self.names[0]][None, :], 0
        else:
            fit = self._fit_levels
            joint, pairs = fit(seen), list(combinations(self.family, 2))
            rows, place = np.array([joint.weights(a, b) for a, b in pairs]), pairs.index(self.pair)

        def judged(now: Observations) -> Verdict:
            return verdict_on(fit(now).fit, rows, place, terms.margin, terms.look_level)

        return judged

    @property
    def pair(self) -> tuple[str, str]:
        """The two sides."""
        return self.names[0], self.names[1]

    def _fit_levels(self, seen: Observations) -> JointFit:
        if self.sort == "pieces":
            return fit_pieces(seen, self.terms.priors)
        return fit_recipes(seen, self.terms.priors, past_spread=self.terms.past_spread)


def _still(family: Sequence[str], labels: Sequence[str]) -> list[str]:
    return [name for name in family if name in labels]


def _recipes(seen: Observations, names: Sequence[str], terms: Terms) -> Family:
    return compare_recipes(
        seen,
        names,
        margin=terms.margin,
        look_level=terms.look_level,
        priors=terms.priors,
        past_spread=terms.past_spread,
    )


def _pieces(seen: Observations, names: Sequence[str], terms: Terms) -> Family:
    return compare_pieces(
        seen, names, margin=terms.margin, look_level=terms.look_level, priors=terms.priors
    )


def _effects(
    seen: Observations, plan: FactorPlan, asked: Sequence[str], terms: Terms
) -> EffectsFit:
    return fit_effects(
        seen,
        plan,
        asked=asked,
        margin=terms.margin,
        look_level=terms.look_level,
        beside_level=terms.beside_level,
        priors=terms.priors,
        past_spread=terms.past_spread,
    )


def order_by_level(names: Sequence[str], levels: Mapping[str, float]) -> list[str]:
    """Names with the highest level first.

    >>> order_by_level(["A", "B"], {"A": 0.1, "B": 0.2})
    ['B', 'A']
    """
    return sorted(names, key=lambda name: -levels[name])


def ask_pieces(
    seen: Observations, electrodes: Sequence[str], pair: tuple[str, str], terms: Terms
) -> tuple[Family, Asked]:
    """Whether two of these pieces differ, as they are.

    Parameters
    ----------
    seen : Observations
    electrodes : sequence of str
        All that are looked at together.
    pair : (str, str)
        The two that the verdict is on, in the order of `electrodes`.
    terms : Terms

    Returns
    -------
    Family
    Asked
    """
    family = _pieces(seen, electrodes, terms)
    return family, Asked(
        level=Level.PIECES,
        words=f"{pair[0]} over {pair[1]}",
        difference=family.of(*pair),
        builds=(1, 1),
        alignment=None,
        sort="pieces",
        names=pair,
        family=tuple(electrodes),
        settings={},
        terms=terms,
    )


def ask_recipes(
    seen: Observations, recipes: Sequence[str], pair: tuple[str, str], terms: Terms
) -> tuple[Family | None, Asked]:
    """Whether two of these recipes differ, the spread between builds counted.

    Parameters
    ----------
    seen : Observations
    recipes : sequence of str
        All that are looked at together.
    pair : (str, str)
        The two that the verdict is on, in the order of `recipes`.
    terms : Terms

    Returns
    -------
    Family or None
        None where the spread between builds cannot be told.
    Asked
    """
    family, reason = None, ""
    try:
        family = _recipes(seen, recipes, terms)
    except CannotTellError as refusal:
        reason = refusal.what
    return family, Asked(
        level=Level.RECIPES,
        words=f"{pair[0]} over {pair[1]}",
        difference=None if family is None else family.of(*pair),
        reason=reason,
        builds=(builds_of(seen, pair[0]), builds_of(seen, pair[1])),
        alignment=None
        if family is None
        else row_alignment(seen, family.joint.names, family.rows[family.pairs.index(pair)]),
        sort="recipes",
        names=pair,
        family=tuple(recipes),
        settings={},
        terms=terms,
    )


def ask_effect(
    seen: Observations,
    recipes: Sequence[str],
    settings: Mapping[str, Mapping[str, Setting]],
    factor: str,
    terms: Terms,
) -> tuple[EffectsFit | None, FactorPlan, Asked]:
    """What one factor does from low to high, with the others looked at beside it.

    Parameters
    ----------
    seen : Observations
    recipes : sequence of str
    settings : mapping of recipe to (mapping of factor to setting)
    factor : str
    terms : Terms

    Returns
    -------
    EffectsFit or None
        None where the spread between builds cannot be told.
    FactorPlan
    Asked

    Raises
    ------
    InputError
        If no such factor varies between these electrodes.
    """
    plan = plan_factors(recipes, settings)
    coded = next((f for f in plan.factors if f.name == factor), None)
    if coded is None:
        raise InputError(
            f"the factor {factor!r} does not vary between these electrodes",
            where="by",
            allowed=", ".join(f.name for f in plan.factors),
            next_step=f"{did_you_mean(factor, [f.name for f in plan.factors])}name one of these, or other electrodes",
        )
    fitted, reason = None, ""
    together = plan.inseparable(factor)
    try:
        fitted = _effects(seen, plan, [factor], terms)
    except CannotTellError as refusal:
        reason = refusal.what
    if together:
        reason = f"changed together with {', '.join(together)}: neither effect can be told"
    sides = [
        sum(builds_of(seen, r) for r, c in zip(plan.recipes, coded.coded, strict=True) if c * s > 0)
        for s in (-1.0, 1.0)
    ]
    difference = fitted.asked.get(factor) if fitted is not None else None
    return (
        fitted,
        plan,
        Asked(
            level=Level.RECIPES,
            words=f"{factor}, {coded.low} to {coded.high}",
            difference=difference,
            reason=reason or (str(Reason.TOO_FEW_BUILDS) if difference is None else ""),
            builds=(sides[0], sides[1]),
            alignment=None if fitted is None else fitted.alignment.get(factor),
            sort="effect",
            names=(factor,),
            family=tuple(recipes),
            settings=settings,
            terms=terms,
        ),
    )
