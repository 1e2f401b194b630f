"""The unknown variance between builds, by restricted likelihood from independent squares."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize_scalar

from aerode.errors import CannotTellError
from aerode.quantities import Reason

__all__ = [
    "NO_SPREAD",
    "BuildSpread",
    "IndependentSquares",
    "independent_squares",
    "most_likely_spread",
]

Floats = NDArray[np.float64]
_EPSILON = float(np.finfo(np.float64).eps)
_RANK = 1e-13
"""An eigenvalue below this share of the largest is none: sums of covariances are exact to 1e-15."""


@dataclass(frozen=True, slots=True)
class IndependentSquares:
    """Independent squares z² with expectation `known` + variance × `build`, each `count` times.

    Parameters
    ----------
    square : array (m,) [response²]
    known : array (m,) [response²]
        The part of the expectation that known errors explain.
    build : array (m,) [1]
        The part for a build variance of one.
    count : array (m,) [1]
        Degrees of freedom of each.
    """

    square: Floats
    known: Floats
    build: Floats
    count: Floats

    def with_past(self, variance: float, degrees_of_freedom: float) -> IndependentSquares:
        """The same squares and a build variance known from earlier work.

        Parameters
        ----------
        variance : float [response²]
        degrees_of_freedom : float [1]

        Returns
        -------
        IndependentSquares
        """
        return IndependentSquares(
            np.append(self.square, variance),
            np.append(self.known, 0.0),
            np.append(self.build, 1.0),
            np.append(self.count, degrees_of_freedom),
        )


@dataclass(frozen=True, slots=True)
class BuildSpread:
    """An estimated build variance.

    Parameters
    ----------
    variance : float [response²]
        Not negative.
    unbounded : float [response²]
        Before it was cut off at zero.
    standard_error : float [response²]
    upper : float [response²]
        One standard error above `variance`.
    upper_standard_error : float [response²]
        The standard error if the variance were `upper`.
    degrees_of_freedom : float [1]
        Of the whole spread (builds and known errors) it was taken from.
    known : float [response²]
        Mean known variance inside that spread.
    """

    variance: float
    unbounded: float
    standard_error: float
    upper: float
    upper_standard_error: float
    degrees_of_freedom: float
    known: float


NO_SPREAD = BuildSpread(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)


def independent_squares(y: Floats, x: Floats, v: Floats, g: Floats) -> IndependentSquares:
    """The squares that carry all the readings say about the build variance.

    Known and build covariance are diagonalised together in the space the design leaves free.

    Parameters
    ----------
    y : array (n,) [response]
    x : array (n, p) [any]
    v, g : array (n, n) [response², 1]
        Known covariance, and the covariance of a build variance of one.

    Returns
    -------
    IndependentSquares
        n − p of them.

    Raises
    ------
    CannotTellError
        If some readings have neither error nor build spread.
    """
    free = np.linalg.qr(x, mode="complete")[0][:, x.shape[1] :]
    known, build = free.T @ v @ free, free.T @ g @ free
    if free.shape[1] == 0:
        return IndependentSquares(*(np.zeros(0) for _ in range(4)))
    scale = float(np.trace(known) / max(np.trace(build), 1e-300)) or 1.0
    total = known + scale * build
    values, vectors = np.linalg.eigh(total)
    if values[0] <= 1e-12 * values[-1]:
        raise CannotTellError(
            "some readings have neither a known error nor a build spread, so they weigh infinitely",
            where="known_covariance, builds",
            next_step="give every repeated reading its known error",
        )
    whiten = vectors / np.sqrt(values)
    share, rotation = np.linalg.eigh(whiten.T @ known @ whiten)
    share = _shares(share, known, build, rounding=_EPSILON * values.size * values[-1] / values[0])
    projection = rotation.T @ whiten.T @ free.T
    z = projection @ y
    z[np.abs(z) < 1e-14 * (np.abs(projection) @ np.abs(y))] = 0.0
    return IndependentSquares(np.square(z), share, (1 - share) / scale, np.ones(z.size))


def _shares(share: Floats, known: Floats, build: Floats, *, rounding: float) -> Floats:
    """Known shares, ascending, with those that are none or all made exactly so.

    How many are none or all follows from the ranks, which rounding does not touch; the shares
    themselves are only as good as `rounding`, which grows with the range of the known errors.
    """
    share = np.clip(share, _EPSILON, 1.0)
    share[: share.size - _rank(known)] = 0.0
    share[_rank(build) :] = 1.0
    return np.where(1.0 - share < rounding, 1.0, share)


def _rank(covariance: Floats) -> int:
    values = np.linalg.eigvalsh(covariance)
    return int((values > _RANK * values[-1]).sum())


def most_likely_spread(squares: IndependentSquares) -> BuildSpread:
    """The build variance with the highest restricted likelihood.

    Parameters
    ----------
    squares : IndependentSquares

    Returns
    -------
    BuildSpread
        Its standard error is from the expected information, 2 / Σ count (build / spread)².

    Raises
    ------
    CannotTellError
        If no square depends on the build variance, or nothing scatters at all.

    Examples
    --------
    >>> import numpy as np
    >>> two = IndependentSquares(np.array([4.0, 2.0]), np.zeros(2), np.ones(2), np.ones(2))
    >>> spread = most_likely_spread(two)
    >>> spread.variance, spread.degrees_of_freedom
    (3.0, 2.0)
    """
    if not np.any(squares.build > 0):
        raise CannotTellError(
            str(Reason.TOO_FEW_BUILDS),
            where="builds",
            allowed="two builds of one recipe at least, or a past build variance",
        )
    variance = _most_likely(squares)
    spread = squares.known + variance * squares.build
    if np.any(spread <= 0):
        raise CannotTellError(
            "the builds do not differ at all and no error is known, so there is no spread to go by",
            where="response",
            next_step="give the known errors of the readings (at least the last digit's)",
        )
    weight = squares.count * np.square(squares.build / spread)
    total = float(weight.sum())
    # One scoring step from the bounded estimate: stays put where it is positive, may go below 0.
    active = squares.build > 0
    w, s, k, b = (a[active] for a in (weight, squares.square, squares.known, squares.build))
    known = float((w * k / b).sum() / total)
    error = math.sqrt(2 / total)
    higher = squares.known + (variance + error) * squares.build
    return BuildSpread(
        variance=variance,
        unbounded=variance if variance > 0 else float((w * (s - k) / b).sum() / total),
        standard_error=error,
        upper=variance + error,
        upper_standard_error=math.sqrt(
            2 / float((squares.count * np.square(squares.build / higher)).sum())
        ),
        degrees_of_freedom=2 * ((variance + known) / error) ** 2,
        known=known,
    )


def _most_likely(squares: IndependentSquares) -> float:
    """The variance ≥ 0 with the highest restricted likelihood: grid, then a bounded search."""
    active = squares.build > 0
    s, k, b, m = (a[active] for a in (squares.square, squares.known, squares.build, squares.count))
    if np.ptp(k / b) <= 1e-9 * float(np.max(k / b)):
        return max(float((m * s / b).sum() / m.sum() - (k / b).mean()), 0.0)

    def deviance(variance: float) -> float:
        spread = k + variance * b
        return float((m * (np.log(spread) + s / spread)).sum())

    top = 2 * float(np.max(s / b)) + 1e-12 * float(np.max(k / b))
    bottom = 1e-8 * min(top, float(np.min((k + s) / b)) or top)
    many = 1 + 10 * math.ceil(math.log10(top / bottom))
    grid = np.concatenate([[0.0] if np.all(k > 0) else [], np.geomspace(bottom, top, many)])
    place = int(np.argmin([deviance(float(value)) for value in grid]))
    low, high = grid[max(place - 1, 0)], grid[min(place + 1, grid.size - 1)]
    found = minimize_scalar(
        deviance, bounds=(float(low), float(high)), method="bounded", options={"xatol": 1e-9 * high}
    )
    best = float(found.x)
    if (
        np.all(k > 0)
        and _falls_to_zero(s, k, b, m)
        and deviance(0.0) <= _rounded_up(deviance(best))
    ):
        return 0.0
    return best


def _falls_to_zero(s: Floats, k: Floats, b: Floats, m: Floats) -> bool:
    """Whether the likelihood falls from a variance of zero on: a tiny best one is rounding then."""
    return float((m * b * (k - s) / np.square(k)).sum()) >= 0.0


def _rounded_up(deviance: float) -> float:
    """A deviance, and as much more as rounding may take from it."""
    return deviance + 1e-10 * max(1.0, abs(deviance))  # numerical
