"""Two-level plans: full and half fractions, what is mixed up with what, run order with a control, effects."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.random import Generator
from numpy.typing import ArrayLike, NDArray

from aerode.errors import CannotTellError, RangeError
from aerode.quantities import Reason
from aerode.stats.contrasts import Contrast

__all__ = [
    "CONTROL",
    "Effects",
    "alias_sentences",
    "effects",
    "full_factorial",
    "half_fraction",
    "random_run_order",
    "with_centre_points",
]

Floats = NDArray[np.float64]

CONTROL = -1
"""Stands in a run order where the control is to be measured."""


def full_factorial(factors: int) -> Floats:
    """Every combination of low (−1) and high (+1), the first factor changing fastest.

    Parameters
    ----------
    factors : int [1]
        1 to 10.

    Returns
    -------
    array (2^k, k) [1]

    Raises
    ------
    RangeError
        If the number of factors is out of range.

    Examples
    --------
    >>> full_factorial(2).tolist()
    [[-1.0, -1.0], [1.0, -1.0], [-1.0, 1.0], [1.0, 1.0]]
    """
    if not 1 <= factors <= 10:
        raise RangeError(f"{factors} factors", where="factors", allowed="1 to 10")
    levels = itertools.product((-1.0, 1.0), repeat=factors)
    return np.array([row[::-1] for row in levels])


def half_fraction(factors: int, sign: int = 1) -> Floats:
    """Half of the combinations, the last factor set to the product of the others.

    Parameters
    ----------
    factors : int [1]
        3 to 11; with 3, main effects are mixed with two-factor interactions.
    sign : {1, -1}
        Which half.

    Returns
    -------
    array (2^(k−1), k) [1]

    Notes
    -----
    Defining relation I = ±(product of all factors): the half with the highest resolution
    (NIST/SEMATECH handbook 5.3.3.4).

    Raises
    ------
    RangeError
        If the number of factors or the sign is out of range.

    Examples
    --------
    >>> half_fraction(3).tolist()
    [[-1.0, -1.0, 1.0], [1.0, -1.0, -1.0], [-1.0, 1.0, -1.0], [1.0, 1.0, 1.0]]
    """
    if not 3 <= factors <= 11 or sign not in (1, -1):
        raise RangeError(f"{factors} factors, sign {sign}", allowed="3 to 11 factors, sign 1 or -1")
    base = full_factorial(factors - 1)
    return np.column_stack([base, sign * base.prod(axis=1)])


def with_centre_points(design: ArrayLike, count: int) -> Floats:
    """The design with runs at the middle of every factor added at the end.

    Parameters
    ----------
    design : array (n, k) [1]
    count : int [1]

    Returns
    -------
    array (n + count, k) [1]

    Examples
    --------
    >>> with_centre_points([[-1.0], [1.0]], 2).tolist()
    [[-1.0], [1.0], [0.0], [0.0]]
    """
    rows = np.asarray(design, dtype=np.float64)
    if count < 0:
        raise RangeError(f"{count} centre points", where="count", allowed=">= 0")
    return np.concatenate([rows, np.zeros((count, rows.shape[1]))])


def alias_sentences(design: ArrayLike, names: Sequence[str]) -> list[str]:
    """What each main effect cannot be told apart from in this design, in words.

    Parameters
    ----------
    design : array (n, k) of −1, 0, +1 [1]
    names : sequence of str, k of them

    Returns
    -------
    list of str
        One sentence a factor that is mixed with another factor or a two-factor interaction, and
        one for every pair of interactions that are mixed; empty where nothing is.

    Examples
    --------
    >>> for line in alias_sentences(half_fraction(3), ["binder", "oxide", "plate"]):
    ...     print(line)
    The effect of binder cannot be told apart from oxide and plate acting together.
    The effect of oxide cannot be told apart from binder and plate acting together.
    The effect of plate cannot be told apart from binder and oxide acting together.
    """
    rows = np.asarray(design, dtype=np.float64)
    if rows.ndim != 2 or rows.shape[1] != len(names):
        raise RangeError(f"{len(names)} names for shape {rows.shape}", where="names")
    corners = rows[np.all(rows != 0, axis=1)]
    terms = [(f"the effect of {names[k]}", names[k], corners[:, k]) for k in range(len(names))]
    for i, j in itertools.combinations(range(len(names)), 2):
        pair = f"{names[i]} and {names[j]} acting together"
        terms.append((f"what comes from {pair}", pair, corners[:, i] * corners[:, j]))
    return [
        f"{subject[0].upper()}{subject[1:]} cannot be told apart from {other}."
        for (subject, _, a), (_, other, b) in itertools.combinations(terms, 2)
        if corners.size and abs(float(a @ b)) == a.size
    ]


def random_run_order(runs: int, rng: Generator, *, controls: int = 3) -> list[int]:
    """A random order of the runs with the control first, last and evenly in between.

    Parameters
    ----------
    runs : int [1]
    rng : numpy.random.Generator
        The dice.
    controls : int [1]
        How often the control is measured: 0, or at least 2 so that it brackets the runs.

    Returns
    -------
    list of int
        Run indices 0 ... runs − 1, with `CONTROL` (−1) where the control stands.

    Raises
    ------
    RangeError
        If there are no runs, or the control would be measured only once.

    Examples
    --------
    >>> import numpy as np
    >>> order = random_run_order(8, np.random.default_rng(1))
    >>> order[0], order[5], order[-1], sorted(order)[3:]
    (-1, -1, -1, [0, 1, 2, 3, 4, 5, 6, 7])
    """
    if runs < 1 or controls == 1 or controls < 0:
        raise RangeError(
            f"{runs} runs and {controls} controls",
            where="runs, controls",
            allowed="one run at least; no control, or two and more",
        )
    order = [int(run) for run in rng.permutation(runs)]
    for place in range(controls - 1, -1, -1):
        order.insert(round(place * runs / (controls - 1)) if controls > 1 else 0, CONTROL)
    return order


@dataclass(frozen=True, slots=True)
class Effects:
    """Main effects of a two-level design, per coded step (half of low to high).

    Parameters
    ----------
    contrasts : tuple of Contrast
        One a factor, with degrees of freedom of pure error only.
    curvature : Contrast or None
        Mean of the centre points minus mean of the corners; its one degree of freedom is kept
        apart from the pure error. None without centre points.
    pure_error_standard_deviation : float [response]
    pure_error_degrees_of_freedom : int [1]
        From repeated settings: separate builds, not repeated readings of one.
    """

    contrasts: tuple[Contrast, ...]
    curvature: Contrast | None
    pure_error_standard_deviation: float
    pure_error_degrees_of_freedom: int


def effects(design: ArrayLike, response: ArrayLike) -> Effects:
    """The effect of each factor with an uncertainty that rests on repeated settings alone.

    Parameters
    ----------
    design : array (n, k) of −1, 0, +1 [1]
        Settings in coded steps; at least one of them built more than once.
    response : array (n,) [any]
        For ratios, natural logarithms.

    Returns
    -------
    Effects

    Raises
    ------
    RangeError
        If the shapes do not agree.
    CannotTellError
        Without repeated settings (`TOO_FEW_BUILDS`), or if the factors are not separable.

    Notes
    -----
    Least squares on a constant, the factors and, with centre points, a term that is 1 there: this
    takes the curvature's degree of freedom out of the residual. Pure error: spread about the mean
    of each repeated setting (NIST/SEMATECH handbook 5.3.3.9.1 and 4.4.4.6).

    Examples
    --------
    >>> x = with_centre_points(full_factorial(2), 3)
    >>> found = effects(x, [1.0, 2.0, 3.0, 4.0, 2.5, 2.6, 2.4])
    >>> [round(c.estimate, 3) for c in found.contrasts], found.pure_error_degrees_of_freedom
    ([0.5, 1.0], 2)
    """
    rows = np.asarray(design, dtype=np.float64)
    y = np.asarray(response, dtype=np.float64)
    if rows.ndim != 2 or y.shape != rows.shape[:1] or not np.isfinite(y).all():
        raise RangeError(f"shapes {rows.shape} and {y.shape}", where="design, response")
    variance, df = _pure_error(rows, y)
    centre = np.all(rows == 0, axis=1)
    curved = bool(centre.any()) and not bool(centre.all())
    columns = [np.ones(y.size), *rows.T] + ([centre.astype(np.float64)] if curved else [])
    x = np.column_stack(columns)
    if np.linalg.matrix_rank(x) < x.shape[1]:
        raise CannotTellError(
            "the factors were changed together, so their effects cannot be told apart",
            where="design",
            next_step="add a run that changes one factor without the others",
        )
    information = np.linalg.inv(x.T @ x)
    beta = information @ x.T @ y
    found = [
        Contrast(float(beta[k]), error, float(df), 0.0, error)
        for k in range(1, x.shape[1])
        for error in [math.sqrt(variance * float(information[k, k]))]
    ]
    return Effects(
        contrasts=tuple(found[: rows.shape[1]]),
        curvature=found[-1] if curved else None,
        pure_error_standard_deviation=math.sqrt(variance),
        pure_error_degrees_of_freedom=df,
    )


def _pure_error(rows: Floats, y: Floats) -> tuple[float, int]:
    _, which = np.unique(rows, axis=0, return_inverse=True)
    which = which.ravel()
    counts = np.bincount(which)
    df = int(y.size - counts.size)
    if df < 1:
        raise CannotTellError(
            str(Reason.TOO_FEW_BUILDS), where="design", allowed="one setting built twice at least"
        )
    deviations = y - (np.bincount(which, y) / counts)[which]
    return float(deviations @ deviations) / df, df
