"""What one factor does from its low to its high setting, with curvature kept apart and aliases said in words."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np

from aerode import units
from aerode.errors import CannotTellError, InputError, UnitError
from aerode.measure.comparison.comparing import builds_of, order_cap, row_alignment
from aerode.measure.comparison.joint import JointFit, Observations, Priors, fit_design, fit_recipes
from aerode.measure.comparison.judging import Difference, judge
from aerode.quantities import Reason

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    Setting = float | str

__all__ = [
    "CodedFactor",
    "EffectsFit",
    "FactorPlan",
    "amounts_of",
    "effect_rows",
    "fit_effects",
    "fit_plan",
    "has_pure_error",
    "plan_factors",
]

_ALIAS_SEEN = 0.05  # judgement


@dataclass(frozen=True, slots=True, kw_only=True)
class CodedFactor:
    """A factor with its settings coded from -1 (low) to +1 (high), one for each recipe."""

    name: str
    low: str
    high: str
    coded: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class FactorPlan:
    """The recipes of a study as a design: columns for the mean, each factor, and the curvature.

    Parameters
    ----------
    recipes : tuple of r str
    factors : tuple of CodedFactor
    design : array (r, p) [1]
        Mean, factors in order, and where the recipes allow it one column for the curvature.
    curvature : bool
        Whether the last column is the curvature.
    """

    recipes: tuple[str, ...]
    factors: tuple[CodedFactor, ...]
    design: NDArray[np.float64]
    curvature: bool

    def place(self, factor: str) -> int:
        """Column of a factor."""
        return 1 + [f.name for f in self.factors].index(factor)

    def inseparable(self, factor: str) -> tuple[str, ...]:
        """Factors that changed together with this one, so that neither effect can be told; () if none."""
        column = self.place(factor)
        unit = np.zeros(self.design.shape[1])
        unit[column] = 1.0
        seen = np.linalg.pinv(self.design) @ self.design @ unit
        if np.allclose(seen, unit, atol=1e-8):
            return ()
        # numerical
        others = [k for k in range(1, 1 + len(self.factors)) if k != column and abs(seen[k]) > 1e-8]
        return tuple(self.factors[k - 1].name for k in others) or ("the curvature",)

    def aliases(self, factor: str, builds: NDArray[np.float64]) -> tuple[str, ...]:
        """Which pairs of factors acting together would look like this factor, in words.

        Parameters
        ----------
        factor : str
        builds : array (r,) [1]
            Builds of each recipe.

        Returns
        -------
        tuple of str

        Notes
        -----
        The alias matrix (X'NX)^-1 X'N Z of the fitted columns X with the products Z of two coded
        factors (Box and Wilson, J. R. Stat. Soc. B 13 (1951) 1).
        """
        if self.inseparable(factor):
            return ()
        rows = _estimator(self.design, builds)[self.place(factor)]
        words: list[str] = []
        for one, two in combinations(self.factors, 2):
            product = np.array(one.coded) * np.array(two.coded)
            share = float(rows @ product)
            if abs(share) > 0.95:  # judgement
                words.append(f"cannot be told from {one.name} and {two.name} acting together")
            elif abs(share) > _ALIAS_SEEN:
                words.append(
                    f"holds {abs(share):.2f} of what {one.name} and {two.name} do together"
                )
        return tuple(words)


def _estimator(design: NDArray[np.float64], builds: NDArray[np.float64]) -> NDArray[np.float64]:
    """Rows that turn the levels of the recipes into the coefficients of the design, weighted by builds."""
    root = np.sqrt(builds)
    return np.asarray(np.linalg.pinv(design * root[:, None]) * root, dtype=np.float64)


def plan_factors(
    recipes: Sequence[str], settings: Mapping[str, Mapping[str, Setting]]
) -> FactorPlan:
    """The recipes of a study as a design, from the settings that were varied on purpose.

    Parameters
    ----------
    recipes : sequence of r str
    settings : mapping of recipe to (mapping of factor to setting)
        Numbers, or words with two different values.

    Returns
    -------
    FactorPlan

    Raises
    ------
    InputError
        If no factor varies, a recipe lacks a setting, or a factor in words has more than two values.

    Examples
    --------
    >>> plan = plan_factors(["A", "B", "M"], {"A": {"binder": 0.1}, "B": {"binder": 0.2}, "M": {"binder": 0.15}})
    >>> [round(c, 9) + 0.0 for c in plan.factors[0].coded], plan.curvature
    ([-1.0, 1.0, 0.0], True)
    """
    names = list(dict.fromkeys(name for recipe in recipes for name in settings.get(recipe, {})))
    factors: list[CodedFactor] = []
    for name in names:
        missing = [recipe for recipe in recipes if name not in settings.get(recipe, {})]
        if missing:
            raise InputError(
                f"no setting of {name!r} is entered for {', '.join(missing)}",
                where="factors",
                next_step="enter it, or name only the electrodes that have one",
            )
        coded = _coded(name, [settings[recipe][name] for recipe in recipes])
        if coded is not None:
            factors.append(coded)
    if not factors:
        raise InputError(
            "no factor varies between these electrodes",
            where="factors",
            next_step="enter what was varied on purpose as factors of each electrode",
        )
    columns = np.column_stack([np.ones(len(recipes)), *[np.array(f.coded) for f in factors]])
    bent = np.square(columns[:, 1:]).sum(axis=1)
    with_bent = np.column_stack([columns, bent - bent.mean()])
    curvature = np.linalg.matrix_rank(with_bent) > np.linalg.matrix_rank(columns)
    return FactorPlan(
        recipes=tuple(recipes),
        factors=tuple(factors),
        design=with_bent if curvature else columns,
        curvature=bool(curvature),
    )


def amounts_of(values: Sequence[Setting]) -> tuple[list[float], str] | None:
    """Settings typed as numbers with one unit ("10 %", "85 °C"): the numbers and the unit.

    A share beside per cents is one too: an older 0.1 stands with "20 %" as 10 %.

    >>> amounts_of([0.1, "20 %"]), amounts_of([10.0, "20 %"])
    (([10.0, 20.0], '%'), None)
    """
    found: list[tuple[float, str]] = []
    for value in values:
        try:
            found.append(units.read_number(value) if isinstance(value, str) else (value, ""))
        except UnitError:
            return None
    kinds = {unit for _, unit in found}
    if kinds == {"", "%"} and all(0.0 <= number <= 1.0 for number, unit in found if not unit):
        found = [(number if unit else 100.0 * number, "%") for number, unit in found]
        kinds = {"%"}
    return ([number for number, _ in found], kinds.pop()) if len(kinds) == 1 else None


def _coded(name: str, values: Sequence[Setting]) -> CodedFactor | None:
    """One factor coded; None where it does not vary."""
    amounts = amounts_of(values)
    if amounts is None:
        kinds = list(dict.fromkeys(str(v) for v in values))
        if len(kinds) == 1:
            return None
        if len(kinds) > 2:
            raise InputError(
                f"the factor {name!r} has {len(kinds)} settings in words",
                where="factors",
                allowed="two settings in words, or numbers",
                next_step="compare two of them at a time: name those electrodes",
            )
        coded = tuple(-1.0 if str(v) == kinds[0] else 1.0 for v in values)
        return CodedFactor(name=name, low=kinds[0], high=kinds[1], coded=coded)
    numbers, unit = np.array(amounts[0]), amounts[1] and f" {amounts[1]}"
    low, high = float(numbers.min()), float(numbers.max())
    if high - low <= 1e-12 * max(1.0, abs(high)):
        return None
    scaled = (numbers - 0.5 * (low + high)) / (0.5 * (high - low))
    return CodedFactor(
        name=name,
        low=f"{low:g}{unit}",
        high=f"{high:g}{unit}",
        coded=tuple(float(c) for c in scaled),
    )


@dataclass(frozen=True, slots=True)
class EffectsFit:
    """The effects of all factors, low to high.

    `asked` holds the factor that the question is about, judged alone; `beside` those that were
    looked at beside it, judged together. `pure_error` is False where no recipe was built twice and
    the spread had to be taken from what the straight-line design leaves over.
    """

    plan: FactorPlan
    joint: JointFit
    asked: dict[str, Difference]
    beside: dict[str, Difference]
    curvature: Difference | None
    pure_error: bool
    rows: dict[str, NDArray[np.float64]]
    alignment: dict[str, float]


def fit_effects(
    seen: Observations,
    plan: FactorPlan,
    *,
    asked: Sequence[str],
    margin: float,
    look_level: float = 0.05,  # judgement: the usual level
    beside_level: float = 0.05,  # judgement: the usual level
    priors: Priors | None = None,
    past_spread: tuple[float, float] = (0.0, 0.0),
) -> EffectsFit:
    """The effect of every factor from low to high, with the spread from repeat builds.

    Parameters
    ----------
    seen : Observations
        Readings of the plan's recipes and of the control; later states of a piece left out.
    plan : FactorPlan
    asked : sequence of str
        The factors that the question names.
    margin : float [log]
        Smallest low-to-high difference that matters.
    look_level : float [1]
        Level of this look for the factors asked.
    beside_level : float [1]
        Level for the others, which nobody declared.
    priors : Priors, optional
    past_spread : (float, float) [1, 1]

    Returns
    -------
    EffectsFit

    Raises
    ------
    CannotTellError
        If there is nothing to tell the spread between builds from.
    """
    joint, rows, pure = _fit(seen, plan, priors, past_spread)
    separable = [f.name for f in plan.factors if not plan.inseparable(f.name)]
    first = [name for name in separable if name in asked]
    others = [name for name in separable if name not in asked]
    curved = rows.get("curvature")
    weights = _estimator(plan.design, _builds(seen, plan))
    return EffectsFit(
        plan=plan,
        joint=joint,
        asked=_judged(seen, plan, joint, rows, first, margin, look_level),
        beside=_judged(seen, plan, joint, rows, others, margin, beside_level),
        curvature=None
        if curved is None
        else judge(joint.fit, curved[None, :], margin=margin, look_level=beside_level)[0],
        pure_error=pure,
        rows=rows,
        alignment={
            f.name: row_alignment(seen, plan.recipes, weights[plan.place(f.name)])
            for f in plan.factors
        },
    )


def _builds(seen: Observations, plan: FactorPlan) -> NDArray[np.float64]:
    return np.array([float(builds_of(seen, recipe)) for recipe in plan.recipes])


def _judged(
    seen: Observations,
    plan: FactorPlan,
    joint: JointFit,
    rows: Mapping[str, NDArray[np.float64]],
    names: Sequence[str],
    margin: float,
    level: float,
) -> dict[str, Difference]:
    if not names:
        return {}
    weights = _estimator(plan.design, _builds(seen, plan))
    caps = [order_cap(seen, plan.recipes, weights[plan.place(name)]) for name in names]
    stack = np.array([rows[name] for name in names])
    found = judge(joint.fit, stack, margin=margin, look_level=level, capped=caps)
    return dict(zip(names, found, strict=True))


def _fit(
    seen: Observations,
    plan: FactorPlan,
    priors: Priors | None,
    past_spread: tuple[float, float],
) -> tuple[JointFit, dict[str, NDArray[np.float64]], bool]:
    """The joint fit and, for each effect, its row; from pure error where a recipe was built twice."""
    pure = has_pure_error(seen, plan, past_spread)
    if not pure and int(_builds(seen, plan).sum()) <= np.linalg.matrix_rank(plan.design):
        raise CannotTellError(
            str(Reason.TOO_FEW_BUILDS),
            where="effects",
            next_step="build one more of a recipe you have",
        )
    joint = fit_plan(seen, plan, priors, past_spread, pure=pure)
    return joint, effect_rows(seen, plan, joint.names, pure=pure), pure


def has_pure_error(
    seen: Observations, plan: FactorPlan, past_spread: tuple[float, float] = (0.0, 0.0)
) -> bool:
    """Whether the spread can be taken from repeat builds or earlier work."""
    return bool((_builds(seen, plan) > 1).any()) or past_spread[1] > 0


def fit_plan(
    seen: Observations,
    plan: FactorPlan,
    priors: Priors | None,
    past_spread: tuple[float, float],
    *,
    pure: bool,
) -> JointFit:
    """The joint fit behind the effects: a level for each recipe, or the straight-line plan."""
    if pure:
        return fit_recipes(seen, priors, past_spread=past_spread)
    return _fit_straight(seen, plan, priors)


def effect_rows(
    seen: Observations, plan: FactorPlan, names: Sequence[str], *, pure: bool
) -> dict[str, NDArray[np.float64]]:
    """For each factor, low to high, the weights of the fitted levels; the curvature too.

    Parameters
    ----------
    seen : Observations
    plan : FactorPlan
    names : sequence of p str
        The levels of the joint fit.
    pure : bool

    Returns
    -------
    dict of str to array (p,) [1]
    """
    effects = {f.name: plan.place(f.name) for f in plan.factors}
    if plan.curvature:
        effects["curvature"] = plan.design.shape[1] - 1
    scale = {name: 1.0 if name == "curvature" else 2.0 for name in effects}
    if not pure:
        return {name: scale[name] * _unit(len(names), at) for name, at in effects.items()}
    estimator = _estimator(plan.design, _builds(seen, plan))
    return {
        name: scale[name] * _spread_over(names, plan.recipes, estimator[at])
        for name, at in effects.items()
    }


def _fit_straight(seen: Observations, plan: FactorPlan, priors: Priors | None) -> JointFit:
    """Without repeat builds: the factors' columns themselves, and a level for every other recipe."""
    others = [r for r in dict.fromkeys(seen.recipe) if r not in plan.recipes]
    columns = plan.design.shape[1]
    design = np.zeros((seen.size, columns + len(others)))
    for k, recipe in enumerate(seen.recipe):
        if recipe in plan.recipes:
            design[k, :columns] = plan.design[plan.recipes.index(recipe)]
        else:
            design[k, columns + others.index(recipe)] = 1.0
    names = ("mean", *[f.name for f in plan.factors])
    names += ("curvature",) if plan.curvature else ()
    return fit_design(seen, (*names, *others), design, priors)


def _spread_over(
    names: Sequence[str], recipes: Sequence[str], weights: NDArray[np.float64]
) -> NDArray[np.float64]:
    row = np.zeros(len(names))
    for recipe, weight in zip(recipes, weights, strict=True):
        row[list(names).index(recipe)] = weight
    return row


def _unit(size: int, place: int) -> NDArray[np.float64]:
    row = np.zeros(size)
    row[place] = 1.0
    return row
