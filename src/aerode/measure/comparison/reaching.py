"""Which verdicts a number of builds can reach at all, and how many more would settle the question."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from scipy.optimize import brentq

from aerode import units
from aerode.records.comparisons import Reach, Verdict
from aerode.stats.power import verdict_probabilities
from aerode.stats.verdicts import Verdict as Said

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["ASSUMED_SPREADS", "builds_that_settle", "chances", "reach_of"]

ASSUMED_SPREADS = (0.10, 0.20)
"""Standard deviation between hand-made builds to assume until own replicates say otherwise: a judgement
from 5 to 6 % in good laboratories, and about 19 % for aged electrodes, in published repeat builds."""
WANTED = 0.8  # judgement
"""The chance with which a verdict should come, the usual one."""
SOMETIMES = 0.2  # judgement
"""A verdict that comes less often than this is called out of reach."""
FEW_DEGREES_OF_FREEDOM = 2.0  # judgement
"""Below it the factor on the spread changes so fast that the number of repeat builds is what matters."""
_MOST = 400  # judgement
_TENFOLD = math.log(10.0)  # judgement


def chances(
    true_log_ratio: float,
    spread: float,
    builds: float,
    margin: float,
    *,
    degrees_of_freedom: float | None = None,
    look_level: float = 0.05,  # judgement: the usual level
) -> Mapping[Verdict, float]:
    """The chance of each verdict for a true ratio.

    Parameters
    ----------
    true_log_ratio : float [log]
    spread : float [log]
        Standard deviation of one build, measurement included.
    builds : float [1]
        Per side, above 1.
    margin : float [log]
    degrees_of_freedom : float, optional [1]
        Of the spread.
    look_level : float [1]

    Returns
    -------
    mapping of Verdict to float [1]

    Examples
    --------
    >>> round(chances(math.log(1.2), 0.10, 4, math.log(1.1))[Verdict.SHOWN], 2)
    0.58
    """
    found = verdict_probabilities(
        true_log_ratio,
        spread,
        builds,
        margin,
        degrees_of_freedom=degrees_of_freedom,
        level=1.0 - look_level,
    )
    return {Verdict(str(said)): chance for said, chance in found.items()}


def _detectable(
    spread: float, builds: float, margin: float, df: float | None, look_level: float
) -> float:
    """The true log ratio that is shown four times in five."""

    def miss(truth: float) -> float:
        found = verdict_probabilities(
            truth, spread, builds, margin, degrees_of_freedom=df, level=1.0 - look_level
        )
        return found[Said.SHOWN] + found[Said.SMALLER_THAN_MATTERS] - WANTED

    return float(brentq(miss, 0.0, 200.0 * spread))  # numerical


def builds_that_settle(
    log_ratio: float,
    spread: float,
    margin: float,
    look_level: float = 0.05,  # judgement: the usual level
) -> int | None:
    """The smallest number of builds a side that leaves "not shown" behind four times in five.

    Parameters
    ----------
    log_ratio : float [log]
        Taken as the true difference.
    spread : float [log]
    margin : float [log]
    look_level : float [1]

    Returns
    -------
    int or None [1]
        None where more than 400 a side would be needed.

    Examples
    --------
    >>> builds_that_settle(math.log(1.20), 0.10, math.log(1.10))
    6
    """

    def settled(n: int) -> float:
        return 1.0 - chances(log_ratio, spread, n, margin, look_level=look_level)[Verdict.NOT_SHOWN]

    high = 2
    while settled(high) < WANTED:
        high *= 2
        if high > _MOST:
            return None
    low = high // 2
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if settled(middle) >= WANTED else (middle, high)
    return high


def reach_of(
    builds: tuple[int, int],
    spread: float,
    margin: float,
    *,
    basis: str,
    degrees_of_freedom: float | None = None,
    log_ratio: float | None = None,
    look_level: float = 0.05,  # judgement: the usual level
    spread_seen: bool = True,
) -> Reach:
    """What so many builds a side can show, and how many more would settle it.

    Parameters
    ----------
    builds : (int, int) [1]
        Of the two sides.
    spread : float [log]
        Standard deviation of one build, measurement included.
    margin : float [log]
    basis : str
        Where the spread comes from.
    degrees_of_freedom : float, optional [1]
        Of the spread; that of these builds alone where it is left out.
    log_ratio : float, optional [log]
        The difference found; without it the margin itself stands for it.
    look_level : float [1]
    spread_seen : bool
        False where the builds scattered no more than the measurement: then `spread` is that alone.

    Returns
    -------
    Reach
    """
    pooled = max(sum(builds) - 2, 0)
    df = degrees_of_freedom if degrees_of_freedom is not None else (pooled or None)
    each = 2.0 / (1.0 / builds[0] + 1.0 / builds[1])
    needed = builds_that_settle(
        margin if log_ratio is None else log_ratio, spread, margin, look_level
    )
    more = None if needed is None else max(0, needed - min(builds))
    if df is None or each < 1.0:
        return Reach(
            builds=_both(builds),
            spread=spread,
            spread_basis=basis,
            degrees_of_freedom=df,
            detectable_ratio=None,
            equivalence_reachable=False,
            more_builds_per_recipe=more,
            detail="one build a side: nothing can be shown about the recipes, however large",
        )
    # A single build a side is possible where the spread comes from elsewhere.
    sized = max(each, 1.0 + 1e-9)  # numerical
    seen = _detectable(spread, sized, margin, df, look_level)
    equal = chances(0.0, spread, sized, margin, degrees_of_freedom=df, look_level=look_level)
    chance = equal[Verdict.EQUIVALENT]
    return Reach(
        builds=_both(builds),
        spread=spread,
        spread_basis=basis,
        degrees_of_freedom=df,
        detectable_ratio=math.exp(seen),
        equivalence_reachable=chance >= SOMETIMES,
        more_builds_per_recipe=more,
        detail=_detail(seen, chance, df, spread_seen),
    )


def _both(builds: tuple[int, int]) -> str:
    return f"{builds[0]} + {builds[1]} builds"


def _detail(seen: float, chance: float, df: float, spread_seen: bool) -> str:
    if df < FEW_DEGREES_OF_FREEDOM:
        size = f"a ratio of {units.plain(math.exp(seen))}" if seen < _TENFOLD else "a tenfold ratio"
        return (
            f"the spread between builds is hardly known from so few repeat builds: only {size} or more "
            "would be shown 4 times in 5"
        )
    luck = "" if spread_seen else "no spread of builds was seen, often luck; if it stays so, "
    words = f"{luck}a ratio of {math.exp(seen):.2f} would be shown 4 times in 5; "
    if chance >= SOMETIMES:
        return (
            words + f"two equal recipes would be found equivalent {100 * chance:.0f} % of the time"
        )
    return words + '"equivalent" is out of reach'
