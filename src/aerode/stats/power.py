"""Before building: which verdicts can be reached with so many builds at such a spread, and how many more would settle it."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq
from scipy.special import nctdtr, ndtr

from aerode.errors import RangeError
from aerode.stats.contrasts import t_quantile
from aerode.stats.studentized import chi_scales
from aerode.stats.verdicts import Verdict

__all__ = [
    "Outlook",
    "builds_for_equivalence",
    "builds_per_arm",
    "outlook",
    "power_of_difference",
    "smallest_shown_difference",
    "verdict_probabilities",
]

Floats = NDArray[np.float64]

_MOST_BUILDS = 1_000_000


def power_of_difference(
    standardised_difference: float, builds_per_arm: float, level: float = 0.95
) -> float:
    """The chance that a true difference is shown by two arms of equal size.

    Parameters
    ----------
    standardised_difference : float [1]
        True difference over the standard deviation between builds.
    builds_per_arm : float [1]
        n, above 1; need not be whole.
    level : float [1]
        Of the two-sided t interval.

    Returns
    -------
    float [1]

    Notes
    -----
    Exact: noncentral t with 2(n − 1) degrees of freedom and noncentrality d √(n/2)
    (Cohen, Statistical Power Analysis, 2nd ed. 1988, ch. 2).

    Examples
    --------
    >>> round(power_of_difference(0.5, 64), 3)
    0.801
    """
    if not builds_per_arm > 1:
        raise RangeError(
            f"{builds_per_arm} builds an arm show no spread",
            where="builds_per_arm",
            allowed="above 1",
        )
    df = 2 * (builds_per_arm - 1)
    critical = t_quantile(0.5 + level / 2, df)
    shift = abs(standardised_difference) * math.sqrt(builds_per_arm / 2)
    if shift > 37:
        return 1.0
    upper = 1 - float(nctdtr(df, shift, critical))
    lower = float(nctdtr(df, shift, -critical)) if shift < 8 else 0.0
    return min(upper + lower, 1.0)


def builds_per_arm(standardised_difference: float, power: float = 0.8, level: float = 0.95) -> int:
    """The smallest number of builds an arm that shows a true difference with this chance.

    Parameters
    ----------
    standardised_difference : float [1]
        True difference over the standard deviation between builds; not 0.
    power : float [1]
    level : float [1]

    Returns
    -------
    int [1]

    Raises
    ------
    RangeError
        If the difference is 0 or the number would pass a million.

    Examples
    --------
    >>> builds_per_arm(0.5), builds_per_arm(1.0), builds_per_arm(2.0)
    (64, 17, 6)
    """
    if standardised_difference == 0:
        raise RangeError("no number of builds shows a difference of nothing", allowed="not 0")
    return _smallest(lambda n: power_of_difference(standardised_difference, n, level), power)


def smallest_shown_difference(builds: int, power: float = 0.8, level: float = 0.95) -> float:
    """The true difference, in standard deviations between builds, that n an arm show with this chance.

    Parameters
    ----------
    builds : int [1]
        Per arm, at least 2.
    power : float [1]
    level : float [1]

    Returns
    -------
    float [1]

    Examples
    --------
    >>> [round(smallest_shown_difference(n), 1) for n in (2, 3, 4, 5)]
    [5.7, 3.1, 2.4, 2.0]
    """
    return float(brentq(lambda d: power_of_difference(d, builds, level) - power, 0.0, 60.0))


def verdict_probabilities(
    true_difference: float,
    spread: float,
    builds: float,
    margin: float,
    *,
    degrees_of_freedom: float | None = None,
    level: float = 0.95,
) -> dict[Verdict, float]:
    """The chance of each of the four verdicts.

    Parameters
    ----------
    true_difference : float [any]
        On the log scale: ln of the true ratio.
    spread : float [same]
        Standard deviation between builds on that scale.
    builds : float [1]
        Per arm, above 1.
    margin : float [same]
        Smallest difference that matters.
    degrees_of_freedom : float, optional [1]
        Of the spread's estimate; 2(n − 1) when left out, more where it is pooled over recipes.
    level : float [1]
        Of the "shown" interval; the equivalence interval has twice its tail.

    Returns
    -------
    dict of Verdict to float [1]
        Summing to one.

    Notes
    -----
    Given the estimated standard error, each verdict is a set of estimates bounded by
    t₀.₉₇₅ se and margin − t₀.₉₅ se; normal probabilities of these are integrated over the
    chi distribution of the standard error.

    Examples
    --------
    >>> import math
    >>> chances = verdict_probabilities(math.log(1.2), 0.10, 4, 0.1)
    >>> round(chances[Verdict.SHOWN], 2)
    0.58
    """
    if not (spread > 0 and margin > 0 and builds > 1):
        raise RangeError(
            f"spread {spread}, margin {margin}, {builds} builds an arm",
            where="spread, margin, builds",
            allowed="spread > 0, margin > 0, more than one build",
        )
    df = 2 * (builds - 1) if degrees_of_freedom is None else degrees_of_freedom
    error = spread * math.sqrt(2 / builds)
    scales, chance = chi_scales(df)
    outside = t_quantile(0.5 + level / 2, df) * error * scales
    inside = np.maximum(margin - t_quantile(level, df) * error * scales, 0.0)

    def within(limit: Floats) -> Floats:
        up, down = (limit - true_difference) / error, (-limit - true_difference) / error
        return np.asarray(ndtr(up) - ndtr(down), dtype=np.float64)

    equivalent = float(chance @ within(np.minimum(inside, outside)))
    smaller = float(chance @ np.maximum(within(inside) - within(outside), 0.0))
    shown = float(chance @ (1 - within(np.maximum(inside, outside))))
    return {
        Verdict.SHOWN: shown,
        Verdict.SMALLER_THAN_MATTERS: smaller,
        Verdict.EQUIVALENT: equivalent,
        Verdict.NOT_SHOWN: max(1 - shown - smaller - equivalent, 0.0),
    }


def builds_for_equivalence(
    spread: float, margin: float, power: float = 0.8, level: float = 0.95
) -> int:
    """The smallest number of builds an arm that finds two truly equal recipes equivalent.

    Parameters
    ----------
    spread, margin : float [any]
    power : float [1]
    level : float [1]
        Of the "shown" interval; equivalence uses twice its tail (90 % for 95 %).

    Returns
    -------
    int [1]

    Examples
    --------
    >>> builds_for_equivalence(0.10, 0.0953)
    20
    """

    def chance(n: int) -> float:
        found = verdict_probabilities(0.0, spread, n, margin, level=level)
        return found[Verdict.EQUIVALENT] + found[Verdict.SMALLER_THAN_MATTERS]

    return _smallest(chance, power)


@dataclass(frozen=True, slots=True)
class Outlook:
    """What a plan can and cannot settle, before anything is built.

    Parameters
    ----------
    reachable : frozenset of Verdict
        Verdicts that some true difference up to four margins gives with the wanted chance
        (NOT_SHOWN is always one of them).
    shown_from : float [any]
        The smallest true difference that is shown with the wanted chance.
    chance_equivalent : float [1]
        Chance of EQUIVALENT when there is truly no difference.
    builds_to_show_margin : int [1]
        Builds an arm that show a true difference of one margin with the wanted chance.
    builds_for_equivalence : int [1]
        Builds an arm that find truly equal recipes equivalent with the wanted chance.
    """

    reachable: frozenset[Verdict]
    shown_from: float
    chance_equivalent: float
    builds_to_show_margin: int
    builds_for_equivalence: int


def outlook(
    spread: float, builds: int, margin: float, *, power: float = 0.8, level: float = 0.95
) -> Outlook:
    """Which verdicts are in reach of a plan, and how many builds would settle it.

    Parameters
    ----------
    spread : float [any]
        Standard deviation between builds on the log scale.
    builds : int [1]
        Per arm, at least 2.
    margin : float [same as spread]
        Smallest difference that matters, on the log scale.
    power : float [1]
        The wanted chance.
    level : float [1]

    Returns
    -------
    Outlook

    Examples
    --------
    >>> plan = outlook(0.10, 4, 0.0953)
    >>> Verdict.EQUIVALENT in plan.reachable, plan.builds_to_show_margin, plan.builds_for_equivalence
    (False, 19, 20)
    """
    truths = np.linspace(0.0, 4 * margin, 81)
    chances = [verdict_probabilities(float(t), spread, builds, margin, level=level) for t in truths]
    reachable = {v for found in chances for v, chance in found.items() if chance >= power}
    return Outlook(
        reachable=frozenset(reachable | {Verdict.NOT_SHOWN}),
        shown_from=spread * smallest_shown_difference(builds, power, level),
        chance_equivalent=chances[0][Verdict.EQUIVALENT],
        builds_to_show_margin=builds_per_arm(margin / spread, power, level),
        builds_for_equivalence=builds_for_equivalence(spread, margin, power, level),
    )


def _smallest(chance: Callable[[int], float], power: float) -> int:
    """The smallest n from 2 on whose chance reaches the power; the chance must grow with n."""
    if not 0 < power < 1:
        raise RangeError(f"a power of {power}", where="power", allowed="between 0 and 1")
    high = 2
    while chance(high) < power:
        high *= 2
        if high > _MOST_BUILDS:
            raise RangeError("more than a million builds an arm would be needed", where="power")
    low = high // 2
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if chance(middle) >= power else (middle, high)
    return high
