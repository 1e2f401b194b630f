"""Times to failure that were only seen in part: Weibull lives with right and interval censoring."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import minimize

from aerode.errors import CannotTellError, RangeError
from aerode.quantities import Reason
from aerode.stats.contrasts import t_quantile

__all__ = ["WeibullLife", "fit_weibull"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class WeibullLife:
    """A Weibull distribution of lives: S(t) = exp(−(t/scale)^shape).

    Parameters
    ----------
    scale : float [time]
        Characteristic life: 63.2 % have failed.
    shape : float [1]
        Below 1 early failures, 1 chance, above 1 wear.
    log_covariance : array (2, 2) [1]
        Of (ln scale, ln shape), from the observed information.
    log_likelihood : float [1]
    failures : int [1]
        Failures seen, at a time or between two looks.
    """

    scale: float
    shape: float
    log_covariance: Floats
    log_likelihood: float
    failures: int

    @property
    def akaike(self) -> float:
        """−2 log-likelihood + 2 × 2 parameters [1]."""
        return 4 - 2 * self.log_likelihood

    @property
    def mean(self) -> float:
        """Mean life [time]."""
        return self.scale * math.gamma(1 + 1 / self.shape)

    @property
    def standard_deviation(self) -> float:
        """Standard deviation of the lives [time]."""
        second = math.gamma(1 + 2 / self.shape)
        return self.scale * math.sqrt(max(second - math.gamma(1 + 1 / self.shape) ** 2, 0.0))

    def surviving(self, time: float) -> float:
        """The share still alive at a time.

        Parameters
        ----------
        time : float [time]

        Returns
        -------
        float [1]
        """
        return math.exp(-((max(time, 0.0) / self.scale) ** self.shape))

    def life_of(self, failed_share: float, level: float = 0.95) -> tuple[float, float, float]:
        """The life by which a share has failed, with its interval: plan with the low end.

        Parameters
        ----------
        failed_share : float [1]
            0.1 for the life that nine of ten reach.
        level : float [1]

        Returns
        -------
        life, low, high : float [time]

        Raises
        ------
        RangeError
            If the share is not between 0 and 1.

        Notes
        -----
        ln t = ln η + ln(−ln(1 − p))/β with the delta method on ln η and ln β: normal for many
        failures, too narrow for fewer than about ten.
        """
        if not 0 < failed_share < 1:
            raise RangeError(f"a share of {failed_share}", where="failed_share", allowed="0 to 1")
        reach = math.log(-math.log1p(-failed_share)) / self.shape
        direction = np.array([1.0, -reach])
        error = math.sqrt(max(float(direction @ self.log_covariance @ direction), 0.0))
        half = t_quantile(0.5 + level / 2, math.inf) * error
        life = self.scale * math.exp(reach)
        return life, life * math.exp(-half), life * math.exp(half)


def fit_weibull(
    failed_at: ArrayLike = (),
    alive_at: ArrayLike = (),
    failed_between: ArrayLike = (),
) -> WeibullLife:
    """The most likely Weibull distribution of lives that were seen in full or in part.

    Parameters
    ----------
    failed_at : array (n,) [time]
        Times of failures that were watched.
    alive_at : array (m,) [time]
        How long those lasted that had not failed when last seen.
    failed_between : array (k, 2) [time]
        Last look at which it was still good (may be 0), first look at which it had failed.

    Returns
    -------
    WeibullLife

    Raises
    ------
    RangeError
        If a time is not positive, or an interval is empty.
    CannotTellError
        With fewer than two failures at different times (`TOO_FEW_POINTS`).

    Notes
    -----
    Maximum likelihood in (ln η, ln β): densities for failures, survival for the living,
    differences of survival for intervals. NIST/SEMATECH handbook 8.4.1.2. A failure found in the
    morning is an interval; entered as a time it would lengthen the life.

    Examples
    --------
    >>> life = fit_weibull([54, 187, 216, 240, 244, 335, 361, 373, 375, 386], [500] * 10)
    >>> round(life.scale, 1), round(life.shape, 3)
    (606.5, 1.721)
    """
    times, living, looks = _checked(failed_at, alive_at, failed_between)
    middles = looks.mean(axis=1)
    seen = np.concatenate([times, middles])
    distinct = times.size > 0 and np.ptp(seen) > 0
    if seen.size < 2 or not (distinct or _separable(looks, living)):
        raise CannotTellError(
            str(Reason.TOO_FEW_POINTS),
            where="lifetimes",
            allowed="two failures at different times at least",
        )
    unit = float(np.exp(np.mean(np.log(seen))))

    def minus_log_likelihood(theta: Floats) -> float:
        return -_log_likelihood(
            float(theta[0]), math.exp(float(theta[1])), times / unit, living / unit, looks / unit
        )

    start = np.array([math.log(max(float(living.max(initial=unit)), unit) / unit), 0.3])
    found = minimize(
        minus_log_likelihood, start, method="Nelder-Mead",
        options={"xatol": 1e-9, "fatol": 1e-11, "maxiter": 4000, "maxfev": 8000},
    )  # fmt: skip
    place = np.asarray(found.x, dtype=np.float64)
    if not found.success or abs(float(place[1])) > 5:
        raise CannotTellError(str(Reason.NOT_CONVERGED), where="lifetimes")
    information = _curvature(minus_log_likelihood, place)
    if np.linalg.eigvalsh(information)[0] <= 0:
        raise CannotTellError(str(Reason.NOT_CONVERGED), where="lifetimes")
    return WeibullLife(
        scale=unit * math.exp(float(place[0])),
        shape=math.exp(float(place[1])),
        log_covariance=np.asarray(np.linalg.inv(information), dtype=np.float64),
        log_likelihood=-float(found.fun) - times.size * math.log(unit),
        failures=int(seen.size),
    )


def _checked(
    failed_at: ArrayLike, alive_at: ArrayLike, failed_between: ArrayLike
) -> tuple[Floats, Floats, Floats]:
    times = np.asarray(failed_at, dtype=np.float64)
    living = np.asarray(alive_at, dtype=np.float64)
    looks = np.asarray(failed_between, dtype=np.float64).reshape(-1, 2)
    sound = (
        np.isfinite(times).all() and (times > 0).all()
        and np.isfinite(living).all() and (living >= 0).all()
        and np.isfinite(looks).all() and (looks[:, 0] >= 0).all() and (looks[:, 1] > looks[:, 0]).all()
    )  # fmt: skip
    if not sound:
        raise RangeError(
            "a time is not positive, or an interval is empty",
            where="failed_at, alive_at, failed_between",
            allowed="positive finite times; first look before second",
        )
    return times, living[living > 0], looks


def _separable(looks: Floats, living: Floats) -> bool:
    """Whether intervals alone hold a scale and a shape: two that do not overlap, or one and survivors."""
    if looks.shape[0] == 0:
        return False
    apart = float(looks[:, 0].max()) >= float(looks[:, 1].min())
    inside = bool(np.any(living >= looks[:, 1].min())) and bool(np.all(looks[:, 0] > 0))
    return apart or inside


def _log_likelihood(
    log_scale: float, shape: float, times: Floats, living: Floats, looks: Floats
) -> float:
    log_t = np.log(times) - log_scale
    hazard = np.exp(np.clip(shape * log_t, -700, 700))
    total = float(np.sum(math.log(shape) - np.log(times) + shape * log_t - hazard))
    total -= float(np.sum(_hazard(living, log_scale, shape)))
    first = _hazard(looks[:, 0], log_scale, shape)
    gap = np.maximum(_hazard(looks[:, 1], log_scale, shape) - first, 1e-300)
    return total + float(np.sum(-first + np.log(-np.expm1(-gap))))


def _hazard(times: Floats, log_scale: float, shape: float) -> Floats:
    """(t/η)^β, 0 at t = 0."""
    logs = np.log(np.maximum(times, 1e-300)) - log_scale
    return np.where(times > 0, np.exp(np.clip(shape * logs, -700, 700)), 0.0)


def _curvature(minus_log_likelihood: Callable[[Floats], float], place: Floats) -> Floats:
    """Second derivatives by central differences at a step of 1e-3 in the logarithms."""
    h = 1e-3
    unit = h * np.eye(2)
    matrix = np.empty((2, 2))
    for i in range(2):
        for j in range(2):
            signs = ((1, 1, 1), (1, -1, -1), (-1, 1, -1), (-1, -1, 1))
            matrix[i, j] = sum(
                sign * minus_log_likelihood(place + a * unit[i] + b * unit[j])
                for a, b, sign in signs
            ) / (4 * h * h)
    return matrix
