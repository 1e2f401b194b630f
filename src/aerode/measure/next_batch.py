"""Which electrodes to build next: the few whose readings are worth most for the best recipe.

The readings of the recipes so far leave a belief about the response at every setting of what was varied
on purpose. A batch is worth what the best recipe, chosen after reading it, is expected to gain over the
best as it is believed now. So a batch may try a new setting, or build again what leads but is not sure.
"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass
from itertools import combinations, product
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import ndtr, ndtri

from aerode import units
from aerode.errors import CannotTellError, InputError
from aerode.measure.build_spread import pooled_spread
from aerode.measure.comparison.factor_effects import amounts_of
from aerode.measure.comparison.joint import Priors, fit_pieces

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from aerode.measure.comparison.joint import Observations

    Setting = float | str
    Settings = Mapping[str, Setting]

__all__ = [
    "Belief",
    "Choice",
    "Lever",
    "belief_of",
    "choose_batch",
    "levers_of",
    "places_of",
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
_STEPS = 5  # judgement
"""Settings of a number that are tried, from its low to its high."""
MOST_PLACES = 700  # numerical
"""Places that are weighed against each other; with more factors the settings are thinned."""
_DRAWS = 1024  # numerical


@dataclass(frozen=True, slots=True, kw_only=True)
class Lever:
    """One factor that was varied on purpose: its range, and the settings that may be built.

    Parameters
    ----------
    name : str
    unit : str
        As it was typed: "%", "degC"; "" for a plain number or words.
    low, high : float
        Lowest and highest that was read; -1 and 1 stand for two words.
    settings : tuple of (str, float)
        Each setting that may be built: as it is written, and coded so that the range is -1 to 1.
    """

    name: str
    unit: str
    low: float
    high: float
    settings: tuple[tuple[str, float], ...]

    def coded(self, setting: Setting) -> float:
        """A setting of a recipe on the coded scale."""
        if self.unit == _WORDS:
            return next(code for word, code in self.settings if word == str(setting))
        found = amounts_of([setting])
        if found is None:
            raise InputError(f"{setting!r} is no number", where=self.name)
        return self.code(found[0][0])

    def code(self, number: float) -> float:
        """A number on the coded scale."""
        return (number - 0.5 * (self.low + self.high)) / (0.5 * (self.high - self.low))


_WORDS = "words"


def levers_of(
    settings: Mapping[str, Settings], limits: Mapping[str, tuple[float, float]]
) -> tuple[Lever, ...]:
    """The factors that were varied, with the settings that may be built next.

    Parameters
    ----------
    settings : mapping of recipe to its settings
        Of the recipes that were read.
    limits : mapping of factor to (float, float)
        Where a person sets another range for it, in the unit of the factor.

    Returns
    -------
    tuple of Lever
        Those that vary.

    Raises
    ------
    InputError
        If no factor varies, a recipe lacks a setting, words have more than two values, or a limit
        names no such factor or the wrong way round.

    Examples
    --------
    >>> found = levers_of({"A": {"binder": "10 %"}, "B": {"binder": "20 %"}}, {"binder": (8.0, 14.0)})
    >>> [text for text, _ in found[0].settings]
    ['8 %', '9.5 %', '11 %', '12.5 %', '14 %']
    """
    names = list(dict.fromkeys(name for those in settings.values() for name in those))
    found: list[Lever] = []
    for name in names:
        lacking = [recipe for recipe, those in settings.items() if name not in those]
        if lacking:
            raise InputError(
                f"no setting of {name!r} is entered for {', '.join(lacking)}", where="factors",
                next_step="enter it with an electrode of that recipe",
            )  # fmt: skip
        lever = _lever(name, [those[name] for those in settings.values()], limits.get(name))
        if lever is not None:
            found.append(lever)
    if not found:
        raise InputError(
            "nothing was varied on purpose between these recipes", where="factors",
            next_step="enter what was varied (binder, catalyst, plate) as factors of each electrode",
        )  # fmt: skip
    strange = [name for name in limits if name not in {lever.name for lever in found}]
    if strange:
        raise InputError(
            f"no factor that was varied is called {strange[0]!r}", where="between",
            allowed=", ".join(lever.name for lever in found),
        )  # fmt: skip
    return _thinned(found)


def _lever(name: str, values: Sequence[Setting], limit: tuple[float, float] | None) -> Lever | None:
    amounts = amounts_of(values)
    if amounts is None:
        kinds = list(dict.fromkeys(str(v) for v in values))
        if len(kinds) != 2:
            if len(kinds) == 1:
                return None
            raise InputError(
                f"the factor {name!r} has {len(kinds)} settings in words", where="factors",
                allowed="two settings in words, or numbers with one unit",
            )  # fmt: skip
        if limit is not None:
            raise InputError(f"{name!r} is in words: it has no range", where="between")
        return Lever(
            name=name, unit=_WORDS, low=-1.0, high=1.0, settings=((kinds[0], -1.0), (kinds[1], 1.0))
        )
    numbers, unit = amounts
    low, high = min(numbers), max(numbers)
    if not high > low:
        return None
    start, stop = limit or (low, high)
    if not start <= stop:
        raise InputError(
            f"from {start:g} to {stop:g} is the wrong way round", where="between", allowed=f'as in "{name} {low:g} to {high:g}"',
        )  # fmt: skip
    bare = Lever(name=name, unit=unit, low=low, high=high, settings=())
    steps = [start] if start == stop else [float(x) for x in np.linspace(start, stop, _STEPS)]
    if limit is None:
        steps = sorted({*steps, *numbers})
    return Lever(
        name=name, unit=unit, low=low, high=high,
        settings=tuple((f"{units.plain(x, 3)} {unit}".strip(), bare.code(x)) for x in steps),
    )  # fmt: skip


def _thinned(levers: list[Lever]) -> tuple[Lever, ...]:
    """With many factors only the ends and the middle of each are kept."""
    if math.prod(len(lever.settings) for lever in levers) <= MOST_PLACES:
        return tuple(levers)
    few = [
        Lever(
            name=one.name, unit=one.unit, low=one.low, high=one.high,
            settings=tuple(one.settings[k] for k in sorted({0, len(one.settings) // 2, len(one.settings) - 1})),
        )
        for one in levers
    ]  # fmt: skip
    while math.prod(len(one.settings) for one in few) > MOST_PLACES:
        widest = max(range(len(few)), key=lambda k: len(few[k].settings))
        if len(few[widest].settings) < 3:
            raise InputError(
                f"{len(few)} factors are too many to plan for at once", where="factors",
                next_step="fix some of them: give each a range of one setting",
            )  # fmt: skip
        one = few[widest]
        ends = (one.settings[0], one.settings[-1])
        few[widest] = Lever(name=one.name, unit=one.unit, low=one.low, high=one.high, settings=ends)
    return tuple(few)


def places_of(levers: Sequence[Lever]) -> tuple[list[dict[str, str]], NDArray[np.float64]]:
    """Every combination of settings, and the same coded.

    Parameters
    ----------
    levers : sequence of k Lever

    Returns
    -------
    settings : list of n dict of factor to setting
    coded : array (n, k) [1]
    """
    combined = list(product(*(lever.settings for lever in levers)))
    names = [lever.name for lever in levers]
    settings = [
        {name: text for name, (text, _) in zip(names, one, strict=True)} for one in combined
    ]
    return settings, np.array([[code for _, code in one] for one in combined])


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
    Bayesian Data Analysis, 3rd ed., 14.8). The spread is the pooled one, taken as known; where the
    builds cannot tell it, 20 %. The scale of the effects is the root mean square of what the levels
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
    spread, _, taken, _ = pooled_spread(seen, priors)
    words = [lever.unit == _WORDS for lever in levers]
    built = np.array([[lever.coded(settings[recipe[pieces.names[k]]][lever.name]) for lever in levers] for k in mine])  # fmt: skip
    columns, wanted = _columns(built, words), _columns(coded, words)
    prior = _prior_variances(len(levers), sum(not word for word in words))
    own = float(np.mean(np.diag(known)))
    errors = known + spread**2 * np.eye(len(mine))
    centre = float(level.mean())
    if scale is None:
        scale = _scale_of(level - centre, columns, prior, errors)
    prior[1:] *= scale**2
    total = columns * prior @ columns.T + errors
    gain = np.linalg.solve(total, columns * prior).T
    mean = gain @ (level - centre)
    covariance = np.diag(prior) - gain @ (columns * prior)
    return Belief(
        mean=centre + wanted @ mean,
        covariance=wanted @ (0.5 * (covariance + covariance.T)) @ wanted.T,
        noise=math.sqrt(spread**2 + own),
        spread=spread,
        taken=taken,
        scale=scale,
    )


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
    """

    levers: tuple[Lever, ...]
    places: list[dict[str, str]]
    near: list[tuple[str, float]]
    read_at: dict[str, int]
    belief: Belief

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
        belief=belief_of(seen, settings, levers, np.vstack([coded, own]), priors, scale=None),
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
