"""Intervals of what cannot be below nothing or above the whole, where a plain ± would leave the bounds."""

from __future__ import annotations

import math

__all__ = ["above_nothing", "inside_the_whole"]

_SIGMAS = 1.96  # normal quantile, numerical


def inside_the_whole(share: float, uncertainty: float) -> tuple[float, float] | None:
    """A 95 % interval of a share between 0 and 1, where value ± two u would leave them.

    Parameters
    ----------
    share : float [1]
    uncertainty : float [1]
        Standard uncertainty.

    Returns
    -------
    tuple of float or None
        None where a plain ± of two standard uncertainties stays inside. Else a normal on the scale of the logit, with the slope of
        the logit at the value (delta method); at 0 or 1 itself one end is the bound.

    Examples
    --------
    >>> inside_the_whole(0.85, 0.02) is None
    True
    >>> [round(end, 2) for end in inside_the_whole(0.41, 0.25)]
    [0.08, 0.84]
    """
    reach = _SIGMAS * uncertainty
    if not uncertainty > 0.0 or (share - reach >= 0.0 and share + reach <= 1.0):
        return None
    if not 0.0 < share < 1.0:
        return max(0.0, min(share, 1.0) - reach), min(1.0, max(share, 0.0) + reach)
    middle = math.log(share / (1.0 - share))
    width = reach / (share * (1.0 - share))
    return _share_at(middle - width), _share_at(middle + width)


def _share_at(logit: float) -> float:
    """The share of a logit; by the half angle of tanh, which no logit overflows."""
    return 0.5 * (1.0 + math.tanh(0.5 * logit))


def above_nothing(amount: float, uncertainty: float) -> tuple[float, float] | None:
    """A 95 % interval of an amount above 0, where value less two u would be below.

    Parameters
    ----------
    amount : float
        Any unit.
    uncertainty : float
        Standard uncertainty, same unit.

    Returns
    -------
    tuple of float or None
        None where a plain ± stays above 0. Else that of the log-normal with this mean and this
        standard deviation.

    Examples
    --------
    >>> above_nothing(2200.0, 100.0) is None
    True
    >>> [round(end) for end in above_nothing(2200.0, 1400.0)]
    [592, 5820]
    """
    if not uncertainty > 0.0 or not amount > 0.0 or amount - _SIGMAS * uncertainty >= 0.0:
        return None
    variance = math.log1p((uncertainty / amount) ** 2)
    middle, reach = math.log(amount) - 0.5 * variance, _SIGMAS * math.sqrt(variance)
    return math.exp(middle - reach), math.exp(middle + reach)
