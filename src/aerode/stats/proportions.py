"""Pass and fail: exact limits of a share, also when nothing failed."""

from __future__ import annotations

import math

from scipy.special import betaincinv

from aerode.errors import RangeError

__all__ = ["exact_share_interval", "trials_for_clean_bound", "upper_share_limit"]


def _checked(failed: int, tried: int, level: float) -> None:
    if not (0 <= failed <= tried and tried >= 1):
        raise RangeError(
            f"{failed} of {tried}",
            where="failed, tried",
            allowed="0 <= failed <= tried, tried >= 1",
        )
    if not 0 < level < 1:
        raise RangeError(f"a level of {level}", where="level", allowed="between 0 and 1")


def exact_share_interval(failed: int, tried: int, level: float = 0.95) -> tuple[float, float]:
    """The two-sided interval of the true share, never less sure than its level.

    Parameters
    ----------
    failed, tried : int [1]
    level : float [1]

    Returns
    -------
    low, high : float [1]
        Within [0, 1].

    Raises
    ------
    RangeError
        If the numbers are not a count out of a count.

    Notes
    -----
    Clopper & Pearson, Biometrika 26 (1934) 404: beta quantiles. Conservative for few trials.

    Examples
    --------
    >>> low, high = exact_share_interval(0, 8)
    >>> low, round(high, 3)
    (0.0, 0.369)
    """
    _checked(failed, tried, level)
    tail = (1 - level) / 2
    low = 0.0 if failed == 0 else float(betaincinv(failed, tried - failed + 1, tail))
    high = 1.0 if failed == tried else float(betaincinv(failed + 1, tried - failed, 1 - tail))
    return low, high


def upper_share_limit(failed: int, tried: int, level: float = 0.95) -> float:
    """The one-sided upper limit: with this confidence the true share is not above it.

    Parameters
    ----------
    failed, tried : int [1]
    level : float [1]

    Returns
    -------
    float [1]
        1 − (1 − level)^(1/n) where nothing failed.

    Raises
    ------
    RangeError
        If the numbers are not a count out of a count.

    Examples
    --------
    >>> round(upper_share_limit(0, 8), 3), round(upper_share_limit(0, 29), 3)
    (0.312, 0.098)
    """
    _checked(failed, tried, level)
    if failed == 0:
        return -math.expm1(math.log1p(-level) / tried)
    return 1.0 if failed == tried else float(betaincinv(failed + 1, tried - failed, level))


def trials_for_clean_bound(share: float, level: float = 0.95) -> int:
    """How many must all pass to claim that fewer than this share fail.

    Parameters
    ----------
    share : float [1]
        In (0, 1).
    level : float [1]

    Returns
    -------
    int [1]

    Raises
    ------
    RangeError
        If the share is not between 0 and 1.

    Examples
    --------
    >>> trials_for_clean_bound(0.10)
    29
    """
    if not 0 < share < 1:
        raise RangeError(f"a share of {share}", where="share", allowed="between 0 and 1")
    _checked(0, 1, level)
    return math.ceil(math.log1p(-level) / math.log1p(-share) - 1e-12)
