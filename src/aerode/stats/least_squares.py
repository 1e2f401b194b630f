"""Fitting a curve: least squares, weighted by a full covariance where there is one, from more than one start.

An answer comes back only if it is a minimum in all parameters. Anything else is refused with words.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.linalg import solve_triangular
from scipy.optimize import least_squares

from aerode.errors import CannotTellError, RangeError
from aerode.quantities import Reason
from aerode.stats.bounds import Box

__all__ = ["CurveFit", "fit_curve"]

Floats = NDArray[np.float64]

Curve = Callable[[Floats], ArrayLike]
"""Parameters (p,) in, predicted readings (n,) out."""

_SCATTERED = 400
_TRIED = 8
_OFF_THE_MAP = 1e100
_SETTLED = 1e-6
_INSEPARABLE = 1e-12


@dataclass(frozen=True, slots=True)
class CurveFit:
    """Fitted parameters and how far to trust them.

    Parameters
    ----------
    values : array (p,) [any]
    covariance : array (p, p) [any]
    residual_sum : float [readings², or 1 with a covariance]
        Sum of squared (whitened) residuals.
    degrees_of_freedom : int [1]
        n − p.
    residual_standard_deviation : float [readings, or 1 with a covariance]
    residuals : array (n,) [readings]
        Observed minus predicted, not whitened.
    relative_offset : float [1]
        How far the residuals are from being perpendicular to the curve's tangent plane, over what
        chance would give; below 1e-6 here.
    evaluations : int [1]
        How often the curve was computed.
    starts_agreeing : int [1]
        How many of the tried starts ended in this minimum.
    """

    values: Floats
    covariance: Floats
    residual_sum: float
    degrees_of_freedom: int
    residual_standard_deviation: float
    residuals: Floats
    relative_offset: float
    evaluations: int
    starts_agreeing: int

    @property
    def standard_deviations(self) -> Floats:
        """Standard deviations of the parameters, array (p,) [any]."""
        return np.sqrt(np.diagonal(self.covariance))


def fit_curve(
    curve: Curve,
    observed: ArrayLike,
    start: ArrayLike,
    *,
    covariance: ArrayLike | None = None,
    lower: ArrayLike | None = None,
    upper: ArrayLike | None = None,
) -> CurveFit:
    """The parameters that bring a curve closest to the readings, with their covariance.

    Parameters
    ----------
    curve : callable, array (p,) -> array (n,)
        What the readings would be for these parameters.
    observed : array (n,) [any]
        At least one more than there are parameters (as many, with a covariance).
    start : array (p,) [any]
        A first guess; right within a factor of about a thousand each and with the right signs.
    covariance : array (n,) or (n, n), optional [observed²]
        Variances or full covariance of the readings. Without it their one unknown variance is
        taken from the residuals.
    lower, upper : array (p,), optional [any]
        Limits.

    Returns
    -------
    CurveFit

    Raises
    ------
    RangeError
        If shapes do not agree, a number is not finite, or the start is outside the limits.
    CannotTellError
        With too few readings; if no start ended in a minimum; if the parameters there cannot be
        told apart; or if the best value lies on a limit.

    Notes
    -----
    Minimises r'V⁻¹r. Beside `start`, the eight best of 400 places spread evenly over factors of
    10⁻³ to 10³ about it (inside the limits) are taken as starts for scipy's least squares; the
    lowest minimum is polished by Gauss–Newton steps and must pass the relative-offset criterion of
    Bates & Watts, Technometrics 23 (1981) 179. Covariance s²(J'J)⁻¹, or (J'V⁻¹J)⁻¹ with a
    covariance: first order, so not for a parameter the readings hardly hold: there use
    `sampling.sample_posterior`. Reaches the NIST certified values of four test sets from both
    published starts.

    Examples
    --------
    >>> import numpy as np
    >>> t = np.array([0.0, 1.0, 2.0, 4.0, 8.0])
    >>> readings = 0.7 - 0.2 * np.exp(-t / 3.0)
    >>> fit = fit_curve(lambda b: b[0] - b[1] * np.exp(-t / b[2]), readings + 1e-4 * (-1) ** t,
    ...                 [1.0, 1.0, 1.0])
    >>> fit.values.round(2).tolist()
    [0.7, 0.2, 3.0]
    """
    problem = _Problem(curve, observed, start, covariance, Box.of(np.size(start), lower, upper))
    with np.errstate(all="ignore"):
        ends = [end for end in map(problem.descend, problem.starts()) if end is not None]
        if not ends:
            raise CannotTellError(
                str(Reason.NOT_CONVERGED), where="curve fit: no start ended in a minimum"
            )
        ends.sort(key=lambda end: end[1])
        lowest = problem.descend(ends[0][0], steps=1000) or ends[0]
        agreeing = sum(end[1] <= lowest[1] * (1 + 1e-6) + 1e-30 for end in ends)
        return problem.result(problem.polish(lowest[0]), agreeing)


class _Problem:
    """One fit: whitened residuals of the curve, counted."""

    def __init__(
        self,
        curve: Curve,
        observed: ArrayLike,
        start: ArrayLike,
        covariance: ArrayLike | None,
        box: Box,
    ) -> None:
        self._curve = curve
        self._observed = np.asarray(observed, dtype=np.float64)
        self._start = np.asarray(start, dtype=np.float64)
        self._box = box
        self._known = covariance is not None
        self._root = _root(covariance, self._observed.size)
        self.evaluations = 0
        n, p = self._observed.size, self._start.size
        if (
            self._start.ndim != 1
            or self._observed.ndim != 1
            or not np.isfinite(self._observed).all()
        ):
            raise RangeError(
                "a reading is not finite, or the shapes are wrong", where="observed, start"
            )
        if not (np.isfinite(self._start).all() and box.contains(self._start)):
            raise RangeError("the start lies on or outside the limits", where="start")
        if n < p + (0 if self._known else 1):
            raise CannotTellError(
                str(Reason.TOO_FEW_POINTS), where=f"{n} readings for {p} parameters"
            )

    def _raw(self, b: Floats) -> Floats:
        self.evaluations += 1
        predicted = np.asarray(self._curve(b), dtype=np.float64)
        if predicted.shape != self._observed.shape:
            raise RangeError(
                f"the curve gave shape {predicted.shape} for {self._observed.size} readings",
                where="curve",
            )
        return self._observed - predicted

    def _residuals(self, b: Floats) -> Floats:
        raw = self._raw(b)
        white = raw if self._root is None else _divide(self._root, raw)
        return np.where(
            np.isfinite(white), np.clip(white, -_OFF_THE_MAP, _OFF_THE_MAP), _OFF_THE_MAP
        )

    def starts(self) -> list[Floats]:
        """The given start and the most promising of many scattered ones."""
        p = self._start.size
        root = 2.0
        for _ in range(60):  # the positive root of x^(p+1) = x + 1: an evenly spread sequence
            root = (1 + root) ** (1 / (p + 1))
        steps = root ** -np.arange(1.0, p + 1)
        share = (0.5 + np.arange(1, _SCATTERED + 1)[:, None] * steps) % 1.0
        places = np.where(self._start == 0, 2 * share - 1, self._start * 10 ** (6 * share - 3))
        both = np.isfinite(self._box.lower) & np.isfinite(self._box.upper)
        low, high = self._box.lower[both], self._box.upper[both]
        places[:, both] = low + (high - low) * share[:, both]
        kept = [place for place in places if self._box.contains(place)]
        kept.sort(key=lambda place: float(np.square(self._residuals(place)).sum()))
        return [self._start, *kept[:_TRIED]]

    def descend(self, start: Floats, steps: int = 120) -> tuple[Floats, float] | None:
        """Down to a minimum: its place and residual sum, or None where the search ran away."""
        free = not (np.isfinite(self._box.lower).any() or np.isfinite(self._box.upper).any())
        try:
            found = least_squares(
                self._residuals,
                start,
                jac=self._slope,
                bounds=(self._box.lower, self._box.upper),
                method="lm" if free and self._observed.size >= start.size else "trf",
                x_scale="jac",
                ftol=1e-10,
                xtol=1e-10,
                gtol=1e-10,
                max_nfev=steps,
            )
        except (ValueError, np.linalg.LinAlgError):
            return None
        place = np.asarray(found.x, dtype=np.float64)
        total = float(np.square(self._residuals(place)).sum())
        return (place, total) if np.isfinite(place).all() and total < _OFF_THE_MAP else None

    def _slope(self, b: Floats) -> Floats:
        """A quick Jacobian for the way down, central differences."""
        columns: list[Floats] = []
        for index in range(b.size):
            step = np.zeros_like(b)
            step[index] = 1e-6 * (abs(b[index]) or 1.0)
            columns.append(
                (self._residuals(b + step) - self._residuals(b - step)) / (2 * step[index])
            )
        return np.stack(columns, axis=1)

    def _tangent(self, b: Floats) -> Floats:
        """The Jacobian of the whitened residuals, fourth-order central differences."""
        columns: list[Floats] = []
        for index in range(b.size):
            step = np.zeros_like(b)
            step[index] = 1e-3 * (abs(b[index]) or 1.0)
            near = self._residuals(b + step) - self._residuals(b - step)
            far = self._residuals(b + 2 * step) - self._residuals(b - 2 * step)
            columns.append((8 * near - far) / (12 * step[index]))
        return np.stack(columns, axis=1)

    def polish(self, b: Floats) -> Floats:
        """Gauss–Newton steps, each kept only while it does not climb, until the digits stand still."""
        best, lowest = b, float(np.square(self._residuals(b)).sum())
        for _ in range(100):
            move = np.linalg.lstsq(self._tangent(best), self._residuals(best), rcond=1e-14)[0]
            tried = best - move
            total = float(np.square(self._residuals(tried)).sum())
            if not total <= lowest * (1 + 1e-11) or not self._box.contains(tried):
                break
            best, lowest = tried, min(total, lowest)
            if np.all(np.abs(move) <= 1e-13 * np.abs(best)):
                break
        return best

    def result(self, b: Floats, agreeing: int) -> CurveFit:
        """The record, if this is a minimum in all parameters; a refusal otherwise."""
        self._refuse_limits(b)
        r, j = self._residuals(b), self._tangent(b)
        n, p = j.shape
        length: Floats = np.linalg.norm(j, axis=0)
        singular = np.linalg.svd(j / np.maximum(length, 1e-300), compute_uv=False)
        if not length.all() or singular[-1] < _INSEPARABLE**0.5 * singular[0]:
            raise CannotTellError(
                "the readings do not tell the parameters apart",
                where="curve fit",
                next_step="read more points where the parameters act differently, or fix one of them",
            )
        total, df = float(r @ r), n - p
        along = np.linalg.norm(np.linalg.qr(j)[0].T @ r)
        chance = math.sqrt(total / df * p) if df > 0 else 1.0
        exact = math.sqrt(total) <= 1e-10 * float(np.linalg.norm(self._observed))
        offset = 0.0 if exact and not self._known else float(along) / max(chance, 1e-300)
        if offset > _SETTLED:
            raise CannotTellError(
                str(Reason.NOT_CONVERGED), where=f"curve fit: relative offset {offset:.1e}"
            )
        unit: Floats = j / length
        scaled = np.linalg.inv(unit.T @ unit) / np.outer(length, length)
        variance = total / df if df > 0 else 1.0
        return CurveFit(
            values=b,
            covariance=scaled if self._known else scaled * variance,
            residual_sum=total,
            degrees_of_freedom=df,
            residual_standard_deviation=math.sqrt(variance) if df > 0 else 0.0,
            residuals=self._raw(b),
            relative_offset=offset,
            evaluations=self.evaluations,
            starts_agreeing=agreeing,
        )

    def _refuse_limits(self, b: Floats) -> None:
        width = np.abs(np.where(b == 0, 1.0, b))
        at = (b - self._box.lower < 1e-6 * width) | (self._box.upper - b < 1e-6 * width)
        if at.any():
            raise CannotTellError(
                f"the best value of parameter {int(np.argmax(at)) + 1} lies on its limit",
                where="curve fit",
                next_step="the readings do not hold this parameter; widen the limit or read more",
            )


def _root(covariance: ArrayLike | None, size: int) -> Floats | None:
    """The Cholesky factor of the readings' covariance; None where it is not known."""
    if covariance is None:
        return None
    v = np.asarray(covariance, dtype=np.float64)
    v = np.diag(v) if v.ndim == 1 else v
    if v.shape != (size, size) or not np.allclose(v, v.T):
        raise RangeError("this is no covariance of the readings", where="covariance")
    try:
        return np.asarray(np.linalg.cholesky(v), dtype=np.float64)
    except np.linalg.LinAlgError:
        raise RangeError(
            "the covariance is not positive definite",
            where="covariance",
            allowed="every reading with an error of its own",
        ) from None


def _divide(root: Floats, raw: Floats) -> Floats:
    finite = np.where(np.isfinite(raw), raw, _OFF_THE_MAP)
    return np.asarray(solve_triangular(root, finite, lower=True), dtype=np.float64)
