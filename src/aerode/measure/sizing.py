"""How many electrodes a battery needs, so that all its cells carry the load: builds differ, and few were seen.

What a new build of a recipe gives is a distribution, not the mean of those that were read: the level
of the recipe is known to so much, the spread between builds is known to its degrees of freedom, and
a row of cells is as good as its worst.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import ndtr

from aerode import units
from aerode.errors import CannotTellError, RangeError
from aerode.measure.build_spread import pooled_spread

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from aerode.measure.comparison.joint import Observations, Priors

__all__ = [
    "MOST_ELECTRODES",
    "NewBuild",
    "all_carry",
    "electrodes_needed",
    "fewest_electrodes",
    "new_build",
]

MOST_ELECTRODES = 200  # judgement
"""In one cell; a battery that needs more asks for another electrode, not for another sum."""
_DRAWS = 20_000  # numerical: a chance of 0.90 to 0.002


@dataclass(frozen=True, slots=True, kw_only=True)
class NewBuild:
    """What is known of the next build of a recipe at one cell voltage.

    Parameters
    ----------
    level : float [log A/m^2]
        Mean logarithm of the current density of the recipe.
    known_error : float [log]
        Standard uncertainty of the level from the measurements alone.
    share_of_spread : float [1]
        Variance of the level over that of one build: 1/n for n builds read alike.
    spread : float [log]
        Standard deviation between builds.
    degrees_of_freedom : float [1]
        Of the spread; infinite where it is taken, not estimated.
    builds : int [1]
        Of this recipe that were read.
    taken : bool
        Whether the spread is a judgement, since the builds cannot tell it.
    """

    level: float
    known_error: float
    share_of_spread: float
    spread: float
    degrees_of_freedom: float
    builds: int
    taken: bool

    def draws(self, seed: int = 1) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Levels [log A/m^2] and spreads [log] that the readings leave open, (20000,) each.

        Notes
        -----
        Variance of the builds from the scaled inverse chi-squared distribution of its degrees of
        freedom, then the level from a normal one: the usual posterior of a mean under a prior flat
        in the level and in the logarithm of the spread (Gelman and others, Bayesian Data Analysis,
        3rd ed., 3.2), with the known errors of measurement added.
        """
        dice = np.random.default_rng(seed)
        variance = np.full(_DRAWS, self.spread**2)
        if math.isfinite(self.degrees_of_freedom):
            variance *= self.degrees_of_freedom / dice.chisquare(self.degrees_of_freedom, _DRAWS)
        error = np.sqrt(self.known_error**2 + self.share_of_spread * variance)
        return self.level + error * dice.standard_normal(_DRAWS), np.sqrt(variance)

    def exceeded_by(self, share: float, seed: int = 1) -> float:
        """The current density that this share of new builds exceeds.

        Parameters
        ----------
        share : float [1]
            0.9 for nine in ten.
        seed : int [1]

        Returns
        -------
        float [A/m^2]
        """
        levels, spreads = self.draws(seed)
        one = levels + spreads * np.random.default_rng(seed + 1).standard_normal(_DRAWS)
        return float(np.exp(np.quantile(one, 1.0 - share)))

    def mean_reaches(self, pieces: int, share: float, seed: int = 1) -> float:
        """What the mean of so many new builds does not exceed with a chance, over the middle of one.

        Parameters
        ----------
        pieces : int [1]
        share : float [1]
            The chance.
        seed : int [1]

        Returns
        -------
        float [1]
            Ratio of current densities.
        """
        levels, spreads = self.draws(seed)
        dice = np.random.default_rng(seed + 1)
        mean = levels + spreads / math.sqrt(pieces) * dice.standard_normal(_DRAWS)
        return math.exp(float(np.quantile(mean, share)) - self.level)


def new_build(seen: Observations, recipe: str, priors: Priors | None = None) -> NewBuild:
    """What is known of the next build of a recipe.

    Parameters
    ----------
    seen : Observations
        Logarithms of the current density [A/m^2] at one cell voltage, of every recipe that was
        read there: the spread between builds is taken from all of them, as in a comparison.
    recipe : str
    priors : Priors, optional

    Returns
    -------
    NewBuild
        Where no recipe has two builds the spread is taken as 20 % (`pooled_spread`).

    Raises
    ------
    CannotTellError
        If no build of the recipe could be read there.
    """
    builds = {p for p, r, c in zip(seen.piece, seen.recipe, seen.control, strict=True) if r == recipe and not c}  # fmt: skip
    if not builds:
        raise CannotTellError(f"no build of {recipe} could be read there", where="recipe")
    spread, degrees, taken, joint = pooled_spread(seen, priors)
    at = joint.names.index(recipe)
    return NewBuild(
        level=float(joint.fit.coefficients[at]),
        known_error=math.sqrt(max(float(joint.fit.known_part[at, at]), 0.0)),
        share_of_spread=float(joint.fit.build_part[at, at]),
        spread=spread,
        degrees_of_freedom=degrees,
        builds=len(builds),
        taken=taken,
    )


def all_carry(
    build: NewBuild, current: float, area: float, electrodes: int, cells: int, *, left: float = 1.0, seed: int = 1
) -> float:  # fmt: skip
    """The chance that every cell of a row carries a current at its voltage.

    Parameters
    ----------
    build : NewBuild
    current : float [A]
        Through each cell.
    area : float [m^2]
        Of one electrode.
    electrodes : int [1]
        Side by side in each cell.
    cells : int [1]
        In the row; the level of the recipe is common to all, their builds are not.
    left : float [1]
        Share of today's current that is left when it is needed: age, cold.
    seed : int [1]

    Returns
    -------
    float [1]

    Raises
    ------
    RangeError
        A current, an area or a share not above zero, or a count below 1.

    Notes
    -----
    The mean of m electrodes side by side is taken as log-normal about the median of one, with the
    spread over the root of m: a little less than it is, since the mean of a log-normal lies above
    its median.

    Examples
    --------
    >>> sure = NewBuild(level=math.log(20.0), known_error=0.0, share_of_spread=0.0, spread=0.1,
    ...     degrees_of_freedom=math.inf, builds=3, taken=False)
    >>> round(all_carry(sure, 0.02, 1e-3, 1, 1), 3), round(all_carry(sure, 0.02, 1e-3, 1, 2), 3)
    (0.5, 0.25)
    """
    if not (current > 0.0 and area > 0.0 and left > 0.0 and electrodes >= 1 and cells >= 1):
        raise RangeError(
            "a current, an area or a share is not above zero, or there is no electrode",
            where="size", allowed="all above zero",
        )  # fmt: skip
    needed = math.log(current / (electrodes * area * left))
    levels, spreads = build.draws(seed)
    each = ndtr((levels - needed) / np.maximum(spreads / math.sqrt(electrodes), 1e-12))  # numerical
    return float(np.mean(each**cells))


def electrodes_needed(
    build: NewBuild, current: float, area: float, cells: int, *, chance: float, left: float = 1.0, seed: int = 1
) -> tuple[int, float]:  # fmt: skip
    """The fewest electrodes in each cell with which all cells carry the load with a given chance.

    Parameters
    ----------
    build : NewBuild
    current : float [A]
    area : float [m^2]
    cells : int [1]
    chance : float [1]
        Wanted, below 1.
    left : float [1]
    seed : int [1]

    Returns
    -------
    electrodes : int [1]
        In each cell.
    reached : float [1]
        The chance with so many.

    Raises
    ------
    CannotTellError
        If two hundred are not enough: the recipe is known too little for that chance.
    """
    return fewest_electrodes(
        lambda count: all_carry(build, current, area, count, cells, left=left, seed=seed), chance
    )


def fewest_electrodes(reached: Callable[[int], float], chance: float) -> tuple[int, float]:
    """The fewest electrodes in each cell with which a chance is reached.

    Parameters
    ----------
    reached : callable of int to float [1]
        The chance with so many; it does not fall with their number.
    chance : float [1]
        Wanted.

    Returns
    -------
    electrodes : int [1]
    reached : float [1]

    Raises
    ------
    CannotTellError
        If two hundred are not enough.

    Examples
    --------
    >>> fewest_electrodes(lambda count: 1.0 - 0.5**count, 0.9)
    (4, 0.9375)
    """
    high = 1
    while reached(high) < chance:
        if high >= MOST_ELECTRODES:
            raise CannotTellError(
                f"{MOST_ELECTRODES} electrodes in each cell do not carry it with a chance of {units.per_cent(chance, 3)}",
                where="chance",
                next_step="read more builds of the recipe, ask for less, or make larger electrodes",
            )
        high = min(2 * high, MOST_ELECTRODES)
    low = high // 2
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if reached(middle) >= chance else (middle, high)
    return high, reached(high)
