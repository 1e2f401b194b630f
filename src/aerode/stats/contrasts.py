"""A difference that was asked for: its estimate, its two standard errors, its interval and its p value."""

from __future__ import annotations

import math
from dataclasses import dataclass

from scipy.special import ndtr, ndtri, stdtr, stdtrit

from aerode.errors import RangeError

__all__ = ["Contrast", "t_quantile", "t_tail"]


def t_quantile(probability: float, degrees_of_freedom: float) -> float:
    """The quantile of Student's t; of the normal distribution where the degrees are infinite.

    Parameters
    ----------
    probability : float [1]
        In (0, 1).
    degrees_of_freedom : float [1]
        Positive, whole or not, or infinite.

    Returns
    -------
    float [1]

    Raises
    ------
    RangeError
        If a probability or the degrees of freedom are out of range.

    Examples
    --------
    >>> round(t_quantile(0.975, 4), 3), round(t_quantile(0.975, math.inf), 3)
    (2.776, 1.96)
    """
    if not 0 < probability < 1:
        raise RangeError(f"a probability of {probability}", where="probability", allowed="0 to 1")
    if not degrees_of_freedom > 0:
        raise RangeError(
            f"{degrees_of_freedom} degrees of freedom", where="degrees_of_freedom", allowed="> 0"
        )
    if math.isinf(degrees_of_freedom):
        return float(ndtri(probability))
    return float(stdtrit(degrees_of_freedom, probability))


def t_tail(statistic: float, degrees_of_freedom: float) -> float:
    """The two-sided p value of a t statistic.

    Parameters
    ----------
    statistic : float [1]
        Estimate over standard error; may be infinite.
    degrees_of_freedom : float [1]
        Positive, or infinite for the normal distribution.

    Returns
    -------
    float [1]

    Examples
    --------
    >>> round(t_tail(2.776445, 4), 4)
    0.05
    """
    size = -abs(statistic)
    if math.isinf(degrees_of_freedom):
        return 2 * float(ndtr(size))
    return 2 * float(stdtr(degrees_of_freedom, size)) if math.isfinite(size) else 0.0


@dataclass(frozen=True, slots=True)
class Contrast:
    """A difference, with what is known and what was estimated of its uncertainty kept apart.

    Parameters
    ----------
    estimate : float [any]
        The difference.
    standard_error : float [same as estimate]
        All known and estimated spread together.
    degrees_of_freedom : float [1]
        Of the estimated part (Satterthwaite), infinite where everything is known.
    known_standard_error : float [same as estimate]
        The part that comes from known (measurement) covariance alone; 0 where there is none.
    pivot_standard_error : float [same as estimate]
        What the t quantile multiplies. It equals `standard_error` except where the build variance
        came out below zero and was set to zero: here it keeps the unbounded estimate.

    Notes
    -----
    Interval: estimate ± max(t × pivot, z × known). The unbounded estimate keeps the coverage at its
    nominal level (a build variance cut off at zero would widen the interval: 97 % instead of 95 %
    for two builds an arm at 5 % spread); the second term keeps the interval from ever being
    narrower than the measurement alone allows.

    Examples
    --------
    >>> c = Contrast(0.2, 0.05, 4.0, 0.0, 0.05)
    >>> low, high = c.interval(0.95)
    >>> round(low, 3), round(high, 3), round(c.p_value(), 4)
    (0.061, 0.339, 0.0161)
    """

    estimate: float
    standard_error: float
    degrees_of_freedom: float
    known_standard_error: float
    pivot_standard_error: float

    def half_width(self, critical_t: float, critical_normal: float) -> float:
        """Half the interval for given critical values of the t part and of the known part.

        Parameters
        ----------
        critical_t, critical_normal : float [1]

        Returns
        -------
        float [same as estimate]
        """
        return max(
            critical_t * self.pivot_standard_error, critical_normal * self.known_standard_error
        )

    def interval(self, level: float = 0.95) -> tuple[float, float]:
        """The two-sided interval that holds the true difference with this long-run frequency.

        Parameters
        ----------
        level : float [1]
            In (0, 1).

        Returns
        -------
        low, high : float [same as estimate]
        """
        upper = 0.5 + level / 2
        half = self.half_width(
            t_quantile(upper, self.degrees_of_freedom), t_quantile(upper, math.inf)
        )
        return self.estimate - half, self.estimate + half

    def p_value(self) -> float:
        """The two-sided p value against zero; below 1 − level exactly where `interval` excludes 0.

        Returns
        -------
        float [1]
        """
        return max(
            t_tail(_ratio(self.estimate, self.pivot_standard_error), self.degrees_of_freedom),
            t_tail(_ratio(self.estimate, self.known_standard_error), math.inf),
        )


def _ratio(estimate: float, error: float) -> float:
    if error > 0:
        return estimate / error
    return math.inf if estimate != 0 else 0.0
