"""From an interval to one of four verdicts."""

from __future__ import annotations

import math
from enum import StrEnum

from aerode.errors import RangeError

__all__ = ["Verdict", "equivalent", "verdict"]


class Verdict(StrEnum):
    """What an interval of a difference allows to be said."""

    SHOWN = "shown"
    SMALLER_THAN_MATTERS = "shown but smaller than matters"
    EQUIVALENT = "equivalent"
    NOT_SHOWN = "not shown"


def _checked(low: float, high: float, margin: float) -> None:
    if not (math.isfinite(low) and math.isfinite(high) and low <= high):
        raise RangeError(
            f"[{low}, {high}] is no interval", where="low, high", allowed="finite, low <= high"
        )
    if not (math.isfinite(margin) and margin > 0):
        raise RangeError(f"a margin of {margin}", where="margin", allowed="> 0")


def equivalent(low: float, high: float, margin: float) -> bool:
    """Whether a 90 % interval lies inside ±margin: this IS the two one-sided 5 % test.

    Parameters
    ----------
    low, high : float [any]
        The 90 % interval of the difference.
    margin : float [same as low]
        The largest difference that does not matter; ln(1.10) for 10 % on a log scale.

    Returns
    -------
    bool

    Raises
    ------
    RangeError
        If the interval or the margin is not one.

    Notes
    -----
    Schuirmann, J. Pharmacokinet. Biopharm. 15 (1987) 657: both one-sided tests reject at 5 %
    exactly where the two-sided 90 % interval is inside.

    Examples
    --------
    >>> equivalent(-0.05, 0.08, 0.0953), equivalent(-0.05, 0.10, 0.0953)
    (True, False)
    """
    _checked(low, high, margin)
    return -margin < low and high < margin


def verdict(
    low: float,
    high: float,
    margin: float,
    *,
    equivalence_interval: tuple[float, float] | None = None,
) -> Verdict:
    """One of the four verdicts on a difference.

    Parameters
    ----------
    low, high : float [any]
        The 95 % interval of the difference (simultaneous where several are looked at): it decides
        whether a difference is shown.
    margin : float [same as low]
        The smallest difference that matters; ln(1.10) for 10 % on a log scale.
    equivalence_interval : (float, float), optional [same as low]
        The 90 % interval: it decides whether the difference stays inside the margin. When left out
        the 95 % interval is taken, which is the more cautious.

    Returns
    -------
    Verdict
        SHOWN: the 95 % interval leaves out zero. SMALLER_THAN_MATTERS: it does, yet the 90 %
        interval lies inside the margin. EQUIVALENT: inside the margin, and zero is not left out.
        NOT_SHOWN: neither.

    Raises
    ------
    RangeError
        If an interval or the margin is not one.

    Examples
    --------
    >>> str(verdict(0.12, 0.40, 0.0953))
    'shown'
    >>> str(verdict(0.01, 0.06, 0.0953))
    'shown but smaller than matters'
    >>> str(verdict(-0.03, 0.05, 0.0953))
    'equivalent'
    >>> str(verdict(-0.20, 0.30, 0.0953))
    'not shown'
    """
    _checked(low, high, margin)
    differs = low > 0 or high < 0
    inside = equivalent(*(equivalence_interval or (low, high)), margin)
    if differs:
        return Verdict.SMALLER_THAN_MATTERS if inside else Verdict.SHOWN
    return Verdict.EQUIVALENT if inside else Verdict.NOT_SHOWN
