"""From the joint fit to differences with simultaneous intervals and one of four verdicts."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from aerode.records.comparisons import Verdict
from aerode.stats.contrasts import t_quantile
from aerode.stats.simultaneous import critical_multivariate_t
from aerode.stats.verdicts import verdict as verdict_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from aerode.stats.comparison import LinearFit

__all__ = ["Difference", "judge", "simultaneous", "verdict_on"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """A difference of logarithms: intervals that hold for all of its family together, and the verdict.

    `decision` is the interval at the level of this look; `interval_95` and `interval_90` are those
    of a single look. `capped` is the reason why "not shown" is all that may be said, or "".
    """

    estimate: float
    decision: tuple[float, float]
    equivalence: tuple[float, float]
    interval_95: tuple[float, float]
    interval_90: tuple[float, float]
    standard_error: float
    degrees_of_freedom: float
    verdict: Verdict
    capped: str = ""


def simultaneous(
    fit: LinearFit, rows: NDArray[np.float64], level: float
) -> list[tuple[float, float]]:
    """Intervals of several differences that hold together with the stated long-run frequency.

    Parameters
    ----------
    fit : LinearFit
    rows : array (m, p) [1]
        Weights of the fitted levels.
    level : float [1]
        0.95 for 95 %.

    Returns
    -------
    list of m (low, high) [log]

    Notes
    -----
    One critical value of the multivariate t distribution with the differences' own correlations
    (Tukey's for all pairs, Dunnett's against one), at the smallest of their degrees of freedom.
    """
    parts = [fit.contrast(row) for row in rows]
    df = min(part.degrees_of_freedom for part in parts)
    critical_t = _critical(_correlation(rows, fit.covariance), df, level)
    critical_z = 0.0
    if all(part.known_standard_error > 0 for part in parts):
        critical_z = _critical(_correlation(rows, fit.known_part), math.inf, level)
    halves = [part.half_width(critical_t, critical_z) for part in parts]
    return [
        (part.estimate - half, part.estimate + half)
        for part, half in zip(parts, halves, strict=True)
    ]


def _correlation(rows: NDArray[np.float64], covariance: NDArray[np.float64]) -> NDArray[np.float64]:
    products = rows @ covariance @ rows.T
    scale = np.sqrt(np.diagonal(products))
    return np.asarray(products / np.outer(scale, scale), dtype=np.float64)


def _critical(correlation: NDArray[np.float64], df: float, level: float) -> float:
    """The critical value, remembered; correlation and degrees of freedom are rounded for that.

    Correlations to 0.02, degrees of freedom down to steps of one per cent: neither moves the
    critical value by more than half a per cent, and re-running finds the very same value.
    """
    size = correlation.shape[0]
    if size == 1:
        return t_quantile(0.5 + level / 2, df)
    steps = np.round(correlation[np.triu_indices(size, 1)] / 0.02).astype(int)  # numerical
    # numerical
    rounded = df if math.isinf(df) else math.exp(math.floor(math.log(df) / 0.01 + 1e-9) * 0.01)
    return _remembered(size, tuple(int(s) for s in steps), rounded, level)


@lru_cache(maxsize=4096)  # numerical
def _remembered(size: int, steps: tuple[int, ...], df: float, level: float) -> float:
    correlation = np.eye(size)
    above = np.triu_indices(size, 1)
    correlation[above] = 0.02 * np.array(steps, dtype=np.float64)  # numerical
    correlation.T[above] = correlation[above]
    return critical_multivariate_t(_nearest(correlation), df, level)


def _nearest(correlation: NDArray[np.float64]) -> NDArray[np.float64]:
    """The rounded matrix with its negative eigenvalues (of rounding) cut off and a unit diagonal."""
    values, vectors = np.linalg.eigh(correlation)
    positive = (vectors * np.maximum(values, 0.0)) @ vectors.T
    scale = np.sqrt(np.diagonal(positive))
    tidy = positive / np.outer(scale, scale)
    tidy = 0.5 * (tidy + tidy.T)
    np.fill_diagonal(tidy, 1.0)
    return tidy


def judge(
    fit: LinearFit,
    rows: NDArray[np.float64],
    *,
    margin: float,
    look_level: float = 0.05,  # judgement: the usual level
    capped: Sequence[str] = (),
) -> tuple[Difference, ...]:
    """A verdict on each of a family of differences that are looked at together.

    Parameters
    ----------
    fit : LinearFit
    rows : array (m, p) [1]
        Weights of the levels, one row for each difference.
    margin : float [log]
        The smallest difference that matters: ln of the ratio.
    look_level : float [1]
        Level of this look, from `level_of_each_look`.
    capped : sequence of m str
        For each, why "not shown" is all that may be said; "" where nothing stands against it.

    Returns
    -------
    tuple of m Difference
        Shown: the interval at 1 - look_level leaves out no difference. Equivalent: the interval at
        1 - 2 look_level lies inside the margin. Both: shown but smaller than matters.
    """
    levels = (1.0 - look_level, 1.0 - 2.0 * look_level, 0.95, 0.90)  # judgement: the usual levels
    known = {level: simultaneous(fit, rows, level) for level in dict.fromkeys(levels)}
    families = [known[level] for level in levels]
    reasons = list(capped) or [""] * len(rows)
    found: list[Difference] = []
    for k, row in enumerate(rows):
        part = fit.contrast(row)
        decision, equivalence, at_95, at_90 = (family[k] for family in families)
        said = verdict_of(*decision, margin, equivalence_interval=equivalence)
        found.append(
            Difference(
                estimate=part.estimate,
                decision=decision,
                equivalence=equivalence,
                interval_95=at_95,
                interval_90=at_90,
                standard_error=part.standard_error,
                degrees_of_freedom=part.degrees_of_freedom,
                verdict=Verdict.NOT_SHOWN if reasons[k] else Verdict(str(said)),
                capped=reasons[k],
            )
        )
    return tuple(found)


def verdict_on(
    fit: LinearFit, rows: NDArray[np.float64], place: int, margin: float, look_level: float
) -> Verdict:
    """The verdict alone on one of a family of differences; the same as `judge` gives, sooner.

    Parameters
    ----------
    fit : LinearFit
    rows : array (m, p) [1]
    place : int [1]
        Which of the rows.
    margin : float [log]
    look_level : float [1]

    Returns
    -------
    Verdict
    """
    decision = simultaneous(fit, rows, 1.0 - look_level)[place]
    equivalence = simultaneous(fit, rows, 1.0 - 2.0 * look_level)[place]
    return Verdict(str(verdict_of(*decision, margin, equivalence_interval=equivalence)))
