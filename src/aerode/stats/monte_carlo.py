"""Propagation of distributions by drawing (JCGM 101:2008): for products, thresholds and large uncertainties."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.random import Generator
from numpy.typing import ArrayLike, NDArray

from aerode.errors import CannotTellError, RangeError
from aerode.quantities import Reason

__all__ = ["Distribution", "adaptive_propagation", "propagate_distributions", "summarise"]

Floats = NDArray[np.float64]

Draw = Callable[[int, Generator], ArrayLike]
"""A number of trials and the dice in, input quantities (trials, m) out."""

BatchModel = Callable[[Floats], ArrayLike]
"""Input quantities (trials, m) in, one output a row (trials,) out."""


@dataclass(frozen=True, slots=True)
class Distribution:
    """A result as a distribution: mean, standard uncertainty and two coverage intervals.

    Parameters
    ----------
    mean : float [any]
    standard_uncertainty : float [same]
    level : float [1]
        Coverage probability of the intervals.
    symmetric : (float, float) [same]
        Equal probability outside on both sides (7.7.2).
    shortest : (float, float) [same]
        The shortest interval with this probability (5.3.4); it sits at the peak of a skewed result.
    trials : int [1]
    mean_standard_error : float [same]
        Of the mean, from the drawing alone.
    """

    mean: float
    standard_uncertainty: float
    level: float
    symmetric: tuple[float, float]
    shortest: tuple[float, float]
    trials: int
    mean_standard_error: float


def summarise(values: ArrayLike, level: float = 0.95) -> Distribution:
    """Mean, standard uncertainty and coverage intervals of drawn values.

    Parameters
    ----------
    values : array (trials,) [any]
        At least 100, finite.
    level : float [1]

    Returns
    -------
    Distribution

    Raises
    ------
    RangeError
        With fewer than 100 values, or one that is not finite.

    Notes
    -----
    JCGM 101:2008 7.5 to 7.7. q = p M values inside; the shortest interval by comparing all.

    Examples
    --------
    >>> import numpy as np
    >>> result = summarise(np.linspace(0.0, 1.0, 1001))
    >>> round(result.mean, 3), [round(v, 3) for v in result.symmetric]
    (0.5, [0.024, 0.975])
    """
    y = np.sort(np.asarray(values, dtype=np.float64))
    if y.ndim != 1 or y.size < 100 or not np.isfinite(y).all():
        raise RangeError(
            "fewer than 100 values, or one that is not finite", where="values", allowed="(trials,)"
        )
    if not 0 < level < 1:
        raise RangeError(f"a level of {level}", where="level", allowed="between 0 and 1")
    inside = int(level * y.size + 0.5)
    first = (y.size - inside + 1) // 2 - 1
    widths = y[inside:] - y[: y.size - inside]
    best = int(np.argmin(widths))
    spread = float(y.std(ddof=1))
    return Distribution(
        mean=float(y.mean()),
        standard_uncertainty=spread,
        level=level,
        symmetric=(float(y[first]), float(y[first + inside])),
        shortest=(float(y[best]), float(y[best + inside])),
        trials=y.size,
        mean_standard_error=spread / math.sqrt(y.size),
    )


def propagate_distributions(
    model: BatchModel,
    draw: Draw,
    rng: Generator,
    *,
    trials: int = 200_000,
    level: float = 0.95,
    batch: int = 50_000,
) -> Distribution:
    """The distribution of an output from drawn inputs, batch by batch.

    Parameters
    ----------
    model : callable, array (b, m) -> array (b,)
    draw : callable, (int, Generator) -> array (b, m)
        Inputs of b trials; an error shared by several inputs is drawn once a trial.
    rng : numpy.random.Generator
        The dice.
    trials : int [1]
        10⁶ give about two digits of a 95 % interval (7.2.2 note 1).
    level : float [1]
    batch : int [1]
        Trials at a time: memory for the inputs stays at this.

    Returns
    -------
    Distribution

    Raises
    ------
    RangeError
        If the model does not give one finite value for each trial.

    Notes
    -----
    JCGM 101:2008 clause 7. Nothing is assumed of the model but that it can be evaluated.

    Examples
    --------
    >>> import numpy as np
    >>> result = propagate_distributions(
    ...     lambda x: x.sum(axis=1), lambda n, rng: rng.normal(0, 1, (n, 4)), np.random.default_rng(1)
    ... )
    >>> round(result.standard_uncertainty, 1)
    2.0
    """
    values = [
        _evaluate(model, draw, rng, min(batch, trials - start)) for start in range(0, trials, batch)
    ]
    return summarise(np.concatenate(values), level)


def _evaluate(model: BatchModel, draw: Draw, rng: Generator, count: int) -> Floats:
    inputs = np.asarray(draw(count, rng), dtype=np.float64)
    values = np.asarray(model(inputs), dtype=np.float64)
    if values.shape != (count,) or not np.isfinite(values).all():
        raise RangeError(
            f"the model gave shape {values.shape} for {count} trials, or a value that is not finite",
            where="model",
            allowed="one finite value a trial",
        )
    return values


def adaptive_propagation(
    model: BatchModel,
    draw: Draw,
    rng: Generator,
    *,
    significant_digits: int = 2,
    level: float = 0.95,
    most_trials: int = 5_000_000,
) -> Distribution:
    """The same, drawing until the result stands still in its significant digits.

    Parameters
    ----------
    model : callable, array (b, m) -> array (b,)
    draw : callable, (int, Generator) -> array (b, m)
    rng : numpy.random.Generator
    significant_digits : int [1]
        Digits of the standard uncertainty that are to be right, 1 or 2.
    level : float [1]
    most_trials : int [1]

    Returns
    -------
    Distribution

    Raises
    ------
    CannotTellError
        If it does not stand still within `most_trials`.

    Notes
    -----
    JCGM 101:2008 7.9.4: blocks of 10⁴ trials (or 100/(1 − p)); stop when twice the standard
    deviation of the block averages of mean, uncertainty and both ends of the symmetric interval
    is below the numerical tolerance δ of 7.9.2.

    Examples
    --------
    >>> import numpy as np
    >>> result = adaptive_propagation(
    ...     lambda x: x[:, 0], lambda n, rng: rng.normal(10, 1, (n, 1)), np.random.default_rng(1),
    ...     significant_digits=1,
    ... )
    >>> round(result.mean), round(result.standard_uncertainty)
    (10, 1)
    """
    block = max(10_000, math.ceil(100 / (1 - level)))
    values: list[Floats] = []
    summaries: list[tuple[float, float, float, float]] = []
    while len(values) * block < most_trials:
        values.append(_evaluate(model, draw, rng, block))
        part = summarise(values[-1], level)
        summaries.append((part.mean, part.standard_uncertainty, *part.symmetric))
        if len(values) >= 2:
            table = np.array(summaries)
            drift = 2 * table.std(axis=0, ddof=1) / math.sqrt(len(values))
            if np.all(drift < _tolerance(float(table[:, 1].mean()), significant_digits)):
                return summarise(np.concatenate(values), level)
    raise CannotTellError(
        str(Reason.NOT_CONVERGED),
        where=f"{most_trials} trials",
        next_step="allow more trials or ask for one digit less",
    )


def _tolerance(standard_uncertainty: float, digits: int) -> float:
    """δ = ½ 10^l where u = c × 10^l with a whole number c of `digits` digits."""
    if standard_uncertainty == 0:
        return math.inf
    exponent = math.floor(math.log10(standard_uncertainty)) - digits + 1
    if round(standard_uncertainty / 10.0**exponent) >= 10**digits:
        exponent += 1
    return 0.5 * 10.0**exponent
