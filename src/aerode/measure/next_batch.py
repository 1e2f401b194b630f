"""Which electrodes to build next: the few whose readings are worth most for the best recipe.

The readings of the recipes so far leave a belief about the response at every setting of what was varied
on purpose. A batch is worth what the best recipe, chosen after reading it, is expected to gain over the
best as it is believed now. So a batch may try a new setting, or build again what leads but is not sure.
"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import chdtri, ndtr, ndtri

from aerode.errors import CannotTellError
from aerode.measure.build_spread import pooled_spread
from aerode.measure.comparison.joint import Priors, fit_pieces
from aerode.measure.next_places import AS_READ, Lever, levers_of, places_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from aerode.measure.comparison.joint import Observations

    Setting = float | str
    Settings = Mapping[str, Setting]

__all__ = [
    "Belief",
    "Choice",
    "Plan",
    "belief_of",
    "choose_batch",
    "plan_next",
    "ratio_between",
]

LINEAR = 0.15  # judgement
"""Prior standard deviation of what a factor does from the middle to an end of its range, in logarithms."""
BENT = 0.05  # judgement: a third of it
"""The same of a bend, and of two factors acting together."""
LEVEL = 3.0  # judgement
"""The same of the level: anything."""
SCALE = math.log(2.0)  # judgement: mostly within a half and the double
"""The same of the logarithm by which both may be larger or smaller on a bench: the readings move it."""
_SCALES = np.exp(np.linspace(-2.0, 2.0, 33))  # numerical
_DRAWS = 1024  # numerical
_SPREADS = 7  # numerical
WIDEST = 0.4  # judgement
"""Spread between builds beyond which none is counted with: double of what is taken where nobody knows."""


def _columns(coded: NDArray[np.float64], words: Sequence[bool]) -> NDArray[np.float64]:
    """Level, straight parts, bends of the numbers, and pairs acting together, (n, q)."""
    parts = [np.ones(len(coded)), *coded.T]
    parts += [column**2 - 0.5 for column, word in zip(coded.T, words, strict=True) if not word]
    parts += [coded[:, i] * coded[:, j] for i, j in combinations(range(coded.shape[1]), 2)]
    return np.column_stack(parts)


@dataclass(frozen=True, slots=True, kw_only=True)
class Belief:
    """What is believed of the response at every place, in logarithms.

    Parameters
    ----------
    mean : array (n,) [log]
    covariance : array (n, n) [log^2]
    noise : float [log]
        Standard deviation of one new build, its reading included.
    spread : float [log]
        The part of it that is between builds.
    taken : bool
        Whether that spread is a judgement.
    scale : float [1]
        By which the priors of the effects were multiplied.
    """

    mean: NDArray[np.float64]
    covariance: NDArray[np.float64]
    noise: float
    spread: float
    taken: bool
    scale: float = 1.0


def belief_of(
    seen: Observations,
    settings: Mapping[str, Settings],
    levers: Sequence[Lever],
    coded: NDArray[np.float64],
    priors: Priors | None = None,
    *,
    scale: float | None = 1.0,
    open_spread: bool = False,
) -> Belief:
    """The belief about the response at every place, from the pieces that were read.

    Parameters
    ----------
    seen : Observations
        Of the recipes in `settings`, later states of a piece left out; readings of others (the
        control) still tell the drift.
    settings : mapping of recipe to its settings
    levers : sequence of k Lever
    coded : array (n, k) [1]
    priors : Priors, optional
    scale : float [1], optional
        By which the priors of the effects are multiplied; None: as the readings tell it.
    open_spread : bool
        Whether the spread between builds is as open as its degrees of freedom leave it; else it
        counts as known.

    Returns
    -------
    Belief

    Raises
    ------
    CannotTellError
        If fewer than two of the pieces could be read.

    Notes
    -----
    A second-order polynomial in the coded settings (Box and Wilson, J. R. Stat. Soc. B 13 (1951) 1)
    with normal priors on its coefficients, conditioned on the levels of the pieces and their
    covariance plus the spread between builds: the conjugate normal linear model (Gelman and others,
    Bayesian Data Analysis, 3rd ed., 14.8). The spread is the pooled one; where the builds cannot tell
    it, 20 %. Where it is left open, mean and covariance are those of the mixture over it. The scale of the effects is the root mean square of what the levels
    leave of a log-normal prior (`SCALE`), weighted by their evidence: empirical Bayes on a
    grid (Gelman and others, 5.1 and 10.1). So a bench where little matters is not promised much.
    """
    pieces = fit_pieces(seen, priors)
    recipe = dict(zip(seen.electrode, seen.recipe, strict=True))
    mine = [k for k, name in enumerate(pieces.names) if recipe[name] in settings]
    if len(mine) < 2:
        raise CannotTellError(
            f"{len(mine)} electrodes with settings could be read", where="electrodes",
            next_step="measure two recipes that differ in what you vary",
        )  # fmt: skip
    level = pieces.fit.coefficients[mine]
    known = pieces.fit.covariance[np.ix_(mine, mine)]
    spread, degrees, taken, _ = pooled_spread(seen, priors)
    words = [lever.in_words for lever in levers]
    built = np.array([[lever.coded(settings[recipe[pieces.names[k]]][lever.name]) for lever in levers] for k in mine])  # fmt: skip
    columns, wanted = _columns(built, words), _columns(coded, words)
    prior = _prior_variances(len(levers), sum(not word for word in words))
    own = float(np.mean(np.diag(known)))
    centre = float(level.mean())
    means: list[NDArray[np.float64]] = []
    covariances: list[NDArray[np.float64]] = []
    scales: list[float] = []
    spreads = _spreads(spread, degrees) if open_spread else [spread]
    for each in spreads:
        errors = known + each**2 * np.eye(len(mine))
        size = _scale_of(level - centre, columns, prior, errors) if scale is None else scale
        scaled = prior * np.array([1.0, *[size**2] * (len(prior) - 1)])
        gain = np.linalg.solve(columns * scaled @ columns.T + errors, columns * scaled).T
        covariance = np.diag(scaled) - gain @ (columns * scaled)
        means.append(gain @ (level - centre))
        covariances.append(0.5 * (covariance + covariance.T))
        scales.append(size)
    mean = np.mean(means, axis=0)
    apart = np.array(means) - mean
    covariance = np.mean(covariances, axis=0) + apart.T @ apart / len(spreads)
    return Belief(
        mean=centre + wanted @ mean,
        covariance=wanted @ covariance @ wanted.T,
        noise=math.sqrt(float(np.mean(np.square(spreads))) + own),
        spread=spread,
        taken=taken,
        scale=float(np.mean(scales)),
    )


def _spreads(spread: float, degrees_of_freedom: float) -> list[float]:
    """Spreads between builds that the readings leave open, equally likely [log].

    Notes
    -----
    The middles of equal shares of the scaled inverse chi-squared distribution (Gelman and others,
    3.2), cut at `WIDEST`; one that is taken is left open by as much as the size of the effects is.
    """
    middles = (np.arange(_SPREADS) + 0.5) / _SPREADS
    if math.isfinite(degrees_of_freedom):
        found = spread * np.sqrt(degrees_of_freedom / chdtri(degrees_of_freedom, middles))
    else:
        found = spread * np.exp(SCALE * ndtri(middles))
    return [float(each) for each in np.minimum(found, max(WIDEST, spread))]


def _scale_of(
    levels: NDArray[np.float64], columns: NDArray[np.float64], prior: NDArray[np.float64],
    errors: NDArray[np.float64],
) -> float:  # fmt: skip
    """Root mean square of the scale of the effects, weighted by its evidence times its prior.

    The prior is centred so that with no evidence it is 1.
    """

    def said(scale: float) -> float:
        variances = prior * np.array([1.0, *[scale**2] * (len(prior) - 1)])
        total = columns * variances @ columns.T + errors
        _, size = np.linalg.slogdet(total)
        fit = float(levels @ np.linalg.solve(total, levels))
        return -0.5 * (float(size) + fit + (math.log(scale) / SCALE + SCALE) ** 2)

    logs = np.array([said(float(scale)) for scale in _SCALES])
    weights = np.exp(logs - logs.max())
    return math.sqrt(float(weights @ _SCALES**2 / weights.sum()))


def _prior_variances(factors: int, numbers: int) -> NDArray[np.float64]:
    pairs = factors * (factors - 1) // 2
    deviations = [LEVEL, *[LINEAR] * factors, *[BENT] * (numbers + pairs)]
    return np.square(np.array(deviations))


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """All places that may be built, what is believed there, and where the recipes that were read lie.

    Parameters
    ----------
    levers : tuple of Lever
    places : list of dict of factor to setting
        As written.
    near : list of (str, float)
        For each place the recipe that was read nearest to it, and how far it is on the coded scale.
    read_at : dict of recipe to int
        Where in `belief` the recipes that were read stand; they may lie outside the places.
    belief : Belief
        At the places, then at the recipes.
    outside : tuple of bool
        For each place whether any factor lies outside what was read (`AS_READ`): what is believed
        there is a guess.
    """

    levers: tuple[Lever, ...]
    places: list[dict[str, str]]
    near: list[tuple[str, float]]
    read_at: dict[str, int]
    belief: Belief
    outside: tuple[bool, ...]

    def beyond(self, place: int) -> tuple[str, ...]:
        """The factors in which a place lies outside what was read."""
        codes = [
            next(code for text, code in lever.settings if text == self.places[place][lever.name])
            for lever in self.levers
        ]
        return tuple(
            lever.name
            for lever, code in zip(self.levers, codes, strict=True)
            if abs(code) > AS_READ
        )

    def best_read(self) -> str:
        """The recipe believed best of those that were read."""
        return max(self.read_at, key=lambda name: float(self.belief.mean[self.read_at[name]]))


def plan_next(
    seen: Observations,
    settings: Mapping[str, Settings],
    limits: Mapping[str, tuple[float, float]],
    priors: Priors | None = None,
) -> Plan:
    """What may be built, and what is believed of it.

    Parameters
    ----------
    seen : Observations
    settings : mapping of recipe to its settings
        Of the recipes that were read.
    limits : mapping of factor to (float, float)
    priors : Priors, optional

    Returns
    -------
    Plan

    Raises
    ------
    InputError, CannotTellError
        As `levers_of` and `belief_of` do.
    """
    levers = levers_of(settings, limits)
    places, coded = places_of(levers)
    names = list(settings)
    own = np.array(
        [[lever.coded(settings[name][lever.name]) for lever in levers] for name in names]
    )
    away = np.abs(coded[:, None, :] - own[None, :, :]).sum(axis=2)  # few settings to change
    nearest = np.argmin(away, axis=1)
    return Plan(
        levers=levers,
        places=places,
        near=[(names[int(k)], float(away[row, k])) for row, k in enumerate(nearest)],
        read_at={name: len(places) + k for k, name in enumerate(names)},
        outside=tuple(max(abs(float(c)) for c in row) > AS_READ for row in coded),
        belief=belief_of(
            seen, settings, levers, np.vstack([coded, own]), priors, scale=None, open_spread=True
        ),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """The batch: places and how many builds of each, what it is worth, and where the best is believed now.

    Parameters
    ----------
    builds : tuple of (int, int)
        Place and number of builds, the most valuable first.
    worth : float [log]
        What the best recipe, chosen after reading the batch, is expected to gain.
    worths : tuple of float [log]
        The same after each further build.
    before : float [log]
        The same with no build: what the place that is believed best now has over the one compared with.
    leader : int
        The place that is believed best now.
    order : tuple of int
        Place of each build as they were picked.
    """

    builds: tuple[tuple[int, int], ...]
    worth: float
    worths: tuple[float, ...]
    before: float
    leader: int
    order: tuple[int, ...]


def choose_batch(
    belief: Belief,
    count: int,
    *,
    allowed: Sequence[int] | None = None,
    most_places: int = 0,
    over: int | None = None,
    seed: int = 1,
) -> Choice:
    """The builds whose readings are worth most, one after the other.

    Parameters
    ----------
    belief : Belief
    count : int [1]
        Builds of the batch.
    allowed : sequence of int, optional
        Places that may be built; all if None.
    most_places : int
        How many different places the batch may hold; 0 for as many as there are builds.
    over : int, optional
        The place that the worth counts from, the best that was read: it can be kept though it may
        not be built. None: from the place that is believed best now.
    seed : int [1]

    Returns
    -------
    Choice

    Notes
    -----
    The knowledge gradient for correlated normal beliefs (Frazier, Powell and Dayanik, INFORMS J.
    Comput. 21 (2009) 599), for a batch that is read together: each further build is the one that
    raises the expected largest posterior mean most, given that the builds before it will have been
    read too. Expectations by a Latin hypercube
    of draws, the same ones for all places. The best is looked for among the
    allowed places and `over`.

    Examples
    --------
    >>> sure = Belief(mean=np.array([0.0, 1.0]), covariance=np.diag([1e-8, 1e-8]), noise=0.1, spread=0.1, taken=False)
    >>> round(choose_batch(sure, 1).worth, 6)
    0.0
    """
    open_to = list(range(len(belief.mean))) if allowed is None else sorted(allowed)
    at = np.array(open_to if over is None or over in open_to else [*open_to, over])
    mean, left = belief.mean[at], belief.covariance[np.ix_(at, at)].copy()
    dice = np.random.default_rng(seed)
    moved = np.tile(mean, (_DRAWS, 1))
    chosen: list[int] = []
    worths: list[float] = []
    for _ in range(count):
        draws = _spread_evenly(dice)
        variance = np.diag(left) + belief.noise**2
        steps = left / np.sqrt(variance)
        worth = np.array([
            (moved + draws[:, None] * steps[:, k]).max(axis=1).mean() for k in range(len(open_to))
        ])  # fmt: skip
        if most_places and len(set(chosen)) >= most_places:
            worth[[k for k in range(len(open_to)) if k not in chosen]] = -np.inf
        best = int(np.argmax(worth))
        step = steps[:, best]
        moved = moved + draws[:, None] * step
        left = left - step[:, None] * step
        chosen.append(best)
        worths.append(max(float(worth[best] - mean.max()), 0.0))
    before = 0.0 if over is None else float(mean.max() - belief.mean[over])
    worths = [before + worth for worth in worths]
    counted = Counter(chosen)
    return Choice(
        builds=tuple((int(at[k]), n) for k, n in counted.items()),
        worth=worths[-1],
        worths=tuple(worths),
        before=before,
        leader=int(at[int(np.argmax(mean))]),
        order=tuple(int(at[k]) for k in chosen),
    )


def _spread_evenly(dice: np.random.Generator) -> NDArray[np.float64]:
    """Normal draws, one from the middle of each of as many equally likely strata, in any order."""
    middles = (np.arange(_DRAWS) + 0.5) / _DRAWS
    return dice.permutation(np.asarray(ndtri(middles), dtype=np.float64))


def ratio_between(belief: Belief, one: int, other: int) -> tuple[float, float, float, float]:
    """The response at one place over that at another: middle, 95 % interval, chance that it is above 1.

    Parameters
    ----------
    belief : Belief
    one, other : int

    Returns
    -------
    ratio, low, high, chance : float [1]
    """
    c = belief.covariance
    middle = float(belief.mean[one] - belief.mean[other])
    deviation = math.sqrt(max(float(c[one, one] + c[other, other] - 2.0 * c[one, other]), 0.0))
    reach = 1.959964 * deviation  # numerical: 95 % of a normal distribution
    if not deviation > 0.0:
        return math.exp(middle), math.exp(middle), math.exp(middle), float(middle > 0.0)
    below = np.asarray(ndtr(middle / deviation), dtype=np.float64)
    chance = float(below)
    return math.exp(middle), math.exp(middle - reach), math.exp(middle + reach), chance
