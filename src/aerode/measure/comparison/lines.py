"""From differences and fits to the lines of the answer: contrasts, effects, spread, drift, reach."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from aerode.errors import CannotTellError
from aerode.measure.comparison.comparing import builds_of
from aerode.measure.comparison.joint import disturbances
from aerode.measure.comparison.reaching import ASSUMED_SPREADS, reach_of
from aerode.quantities import Basis, Reason
from aerode.records.comparisons import Contrast, Effect, Reach, Verdict
from aerode.records.results import Estimate, Level
from aerode.stats.power import builds_per_arm

if TYPE_CHECKING:
    from aerode.measure.comparison.asking import Found
    from aerode.measure.comparison.comparing import Family
    from aerode.measure.comparison.joint import JointFit, Observations
    from aerode.measure.comparison.judging import Difference
    from aerode.measure.comparison.questioning import Asked, Terms

__all__ = [
    "ageing_estimate",
    "contrasts_of",
    "curvature_of",
    "drift_estimate",
    "effects_of",
    "ratios",
    "reach_rows",
    "spread_estimate",
    "total_spread",
]

PER_CENT = 100.0  # by definition


def ratios(interval: tuple[float, float]) -> tuple[float, float]:
    """An interval of logarithms as one of ratios.

    >>> ratios((0.0, 0.0))
    (1.0, 1.0)
    """
    return math.exp(interval[0]), math.exp(interval[1])


def contrasts_of(found: Found) -> tuple[Contrast, ...]:
    """Every pair that was looked at, recipes first, then pieces.

    Parameters
    ----------
    found : Found

    Returns
    -------
    tuple of Contrast
    """
    lines: list[Contrast] = []
    if found.recipes is not None:
        lines += _of_family(found.recipes, Level.RECIPES, found.recipes_seen)
    elif found.recipes_reason and found.asked.sort == "recipes":
        lines.append(_without(found))
    if found.pieces is not None:
        lines += _of_family(found.pieces, Level.PIECES, found.pieces_seen)
    return tuple(lines)


def _without(found: Found) -> Contrast:
    return Contrast(
        a=found.asked.names[0],
        b=found.asked.names[1],
        level=Level.RECIPES,
        ratio=None,
        interval_95=None,
        verdict=Verdict.NOT_SHOWN,
        reason=found.recipes_reason,
        builds=found.asked.builds,
    )


def _of_family(family: Family, level: Level, seen: Observations) -> list[Contrast]:
    return [
        _contrast(a, b, level, difference, seen)
        for (a, b), difference in zip(family.pairs, family.differences, strict=True)
    ]


def _contrast(a: str, b: str, level: Level, d: Difference, seen: Observations) -> Contrast:
    recipes = level is Level.RECIPES
    return Contrast(
        a=a,
        b=b,
        level=level,
        ratio=math.exp(d.estimate),
        interval_95=ratios(d.interval_95),
        interval_90=ratios(d.interval_90),
        decision_interval=ratios(d.decision),
        equivalence_interval=ratios(d.equivalence),
        degrees_of_freedom=_finite(d.degrees_of_freedom),
        verdict=d.verdict,
        reason=d.capped,
        builds=(builds_of(seen, a), builds_of(seen, b)) if recipes else (1, 1),
    )


def _finite(df: float) -> float | None:
    return df if math.isfinite(df) else None


def effects_of(found: Found, terms: Terms) -> tuple[Effect, ...]:
    """Every factor's effect from low to high, the one asked first.

    Parameters
    ----------
    found : Found
    terms : Terms

    Returns
    -------
    tuple of Effect
    """
    plan, fitted = found.plan, found.effects
    if plan is None:
        return ()
    seen = found.recipes_seen
    builds = np.array([float(builds_of(seen, recipe)) for recipe in plan.recipes])
    lines: list[Effect] = []
    for factor in plan.factors:
        asked = factor.name in found.asked.names
        together = plan.inseparable(factor.name)
        both = {**fitted.asked, **fitted.beside} if fitted is not None else {}
        d = both.get(factor.name)
        lines.append(
            Effect(
                factor=factor.name,
                low=factor.low,
                high=factor.high,
                ratio=None if d is None else math.exp(d.estimate),
                interval_95=None if d is None else ratios(d.interval_95),
                decision_interval=None if d is None else ratios(d.decision),
                equivalence_interval=None if d is None else ratios(d.equivalence),
                degrees_of_freedom=None if d is None else _finite(d.degrees_of_freedom),
                asked=asked,
                verdict=Verdict.NOT_SHOWN if d is None else d.verdict,
                aliases=plan.aliases(factor.name, builds),
                builds_per_arm_needed=None if d is None else _needed(d, found, terms),
                reason=_effect_reason(found, d, together),
            )
        )
    return tuple(sorted(lines, key=lambda e: not e.asked))


def _effect_reason(found: Found, d: Difference | None, together: tuple[str, ...]) -> str:
    if together:
        return f"changed together with {', '.join(together)}: neither effect can be told"
    if d is None:
        return found.asked.reason or str(Reason.TOO_FEW_BUILDS)
    if d.capped:
        return d.capped
    if found.effects is not None and not found.effects.pure_error:
        return (
            "no recipe was built twice: the spread is what the straight-line plan leaves over, "
            "bends and pairs of factors included"
        )
    return ""


def _needed(d: Difference, found: Found, terms: Terms) -> int | None:
    """Builds a setting that would show an effect as large as found four times in five."""
    spread = total_spread(found)
    if spread is None or abs(d.estimate) < 0.05 * spread:  # judgement: thousands of builds
        return None
    needed = builds_per_arm(d.estimate / spread, level=1.0 - terms.look_level)
    return needed if needed <= 400 else None  # judgement


def curvature_of(found: Found) -> Effect | None:
    """How far the middle lies off the straight line between the corners, as a ratio.

    Parameters
    ----------
    found : Found

    Returns
    -------
    Effect or None
        None where the recipes have no middle.
    """
    if found.effects is None or found.effects.curvature is None:
        return None
    d = found.effects.curvature
    return Effect(
        factor="curvature",
        low="straight line",
        high="as found",
        ratio=math.exp(d.estimate),
        interval_95=ratios(d.interval_95),
        decision_interval=ratios(d.decision),
        equivalence_interval=ratios(d.equivalence),
        degrees_of_freedom=_finite(d.degrees_of_freedom),
        verdict=d.verdict,
        reason=d.capped,
    )


def total_spread(found: Found) -> float | None:
    """Standard deviation of one build with its measurement [log]; None where it was not estimated."""
    joint = found.recipe_joint
    if joint is None or joint.fit.build_degrees_of_freedom <= 0:
        return None
    return math.sqrt(joint.fit.build_variance + joint.fit.known_variance_of_a_build)


def spread_estimate(found: Found | None) -> Estimate:
    """The spread between separately built pieces of one recipe, without the measurement's part [%].

    Parameters
    ----------
    found : Found or None

    Returns
    -------
    Estimate
    """
    joint = None if found is None else found.recipe_joint
    if joint is None:
        return _nothing("%", Reason.TOO_FEW_BUILDS)
    try:
        low, high = joint.fit.build_spread_interval()
    except CannotTellError as refusal:
        return _nothing("%", refusal.what)
    df = joint.fit.build_degrees_of_freedom
    return Estimate(
        value=PER_CENT * math.sqrt(joint.fit.build_variance),
        unit="%",
        interval_95=(PER_CENT * low, PER_CENT * high),
        meaning=f"standard deviation between builds, {df:.2g} degrees of freedom",
    )


def _nothing(unit: str, reason: Reason | str) -> Estimate:
    return Estimate(value=None, unit=unit, identifiable=False, reason=str(reason))


def drift_estimate(joint: JointFit | None, seen: Observations | None, terms: Terms) -> Estimate:
    """What a place in the run order changes, from control and electrodes together [%/run].

    Parameters
    ----------
    joint : JointFit or None
    seen : Observations or None
    terms : Terms

    Returns
    -------
    Estimate
        Of the session with the most runs, where there are several.
    """
    return _disturbance(
        joint,
        seen,
        terms,
        "drift in",
        "change per place in the run order: aluminium, warmth and water together",
    )


def ageing_estimate(joint: JointFit | None, seen: Observations | None, terms: Terms) -> Estimate:
    """How far the control itself ages per place in the run order, apart from the drift [%/run].

    Parameters
    ----------
    joint : JointFit or None
    seen : Observations or None
    terms : Terms

    Returns
    -------
    Estimate
    """
    return _disturbance(joint, seen, terms, "ageing of", "of the control alone, beside the drift")


def _disturbance(
    joint: JointFit | None, seen: Observations | None, terms: Terms, start: str, meaning: str
) -> Estimate:
    unit = "%/run"
    if joint is None or seen is None:
        return _nothing(unit, Reason.NOT_MEASURED)
    parts = [d for d in disturbances(seen, terms.priors) if d.name.startswith(start)]
    if not parts:
        return _nothing(unit, Reason.NOT_MEASURED)
    part = max(parts, key=lambda d: int((abs(d.column) > 0).sum()))
    size, left = joint.told_of(part)
    if left > 0.8 * part.standard_deviation:  # judgement
        known = start == "ageing of" and terms.priors.ageing_measured
        size = f"0 ± {PER_CENT * part.standard_deviation:.2g} {unit} (standard deviation)"
        taken = f"{size}, as measured on earlier days" if known else f"{size} assumed"
        return Estimate(
            value=None,
            unit=unit,
            identifiable=False,
            reason=f"these readings do not tell it apart; {taken}",
            meaning=meaning,
            basis=Basis.MEASURED if known else Basis.ASSUMED,
        )
    return Estimate(
        value=PER_CENT * size,
        unit=unit,
        standard_uncertainty=PER_CENT * left,
        # normal quantile, numerical
        interval_95=(PER_CENT * (size - 1.96 * left), PER_CENT * (size + 1.96 * left)),
        meaning=meaning,
    )


def reach_rows(found: Found, asked: Asked, terms: Terms) -> tuple[Reach, ...]:
    """What these builds can show, by the spread found here or, without one, by those to assume.

    Parameters
    ----------
    found : Found
    asked : Asked
    terms : Terms

    Returns
    -------
    tuple of Reach
        None for a verdict on pieces: builds have no part in it.
    """
    if asked.level is Level.PIECES or min(asked.builds) < 1:
        return ()
    estimate = None if asked.difference is None else asked.difference.estimate
    spread = total_spread(found)
    joint = found.recipe_joint
    if spread is not None and spread > 0 and joint is not None:
        df = joint.fit.build_degrees_of_freedom
        return (
            reach_of(
                asked.builds,
                spread,
                terms.margin,
                basis="these builds, measurement included",
                degrees_of_freedom=df,
                log_ratio=estimate,
                look_level=terms.look_level,
                spread_seen=joint.fit.build_variance > 0,
            ),
        )
    return tuple(
        reach_of(
            asked.builds,
            assumed,
            terms.margin,
            basis=f"{100 * assumed:.0f} % assumed for hand-made builds",
            log_ratio=_between_pieces(found, asked),
            look_level=terms.look_level,
        )
        for assumed in ASSUMED_SPREADS
    )


def _between_pieces(found: Found, asked: Asked) -> float | None:
    """The difference of the pieces that stand for two recipes, where the recipes' own is not known."""
    if asked.sort != "recipes":
        return None
    seen, joint = found.pieces_seen, found.pieces_joint
    levels: dict[str, list[float]] = {}
    for name, level in zip(joint.names, joint.fit.coefficients, strict=True):
        levels.setdefault(seen.recipe[seen.electrode.index(name)], []).append(float(level))
    a, b = (float(np.mean(levels[recipe])) for recipe in asked.names)
    return a - b
