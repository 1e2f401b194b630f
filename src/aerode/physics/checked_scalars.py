"""Single numbers on their way into the hazard formulas: finite, and of the sign they must have."""

from __future__ import annotations

import math

from aerode.errors import RangeError

__all__ = ["above_zero", "not_negative", "proper_share"]


def _refuse(name: str, value: float, allowed: str) -> RangeError:
    words = name.replace("_", " ")
    return RangeError(
        f"{words} is {value:g}",
        where=words,
        allowed=allowed,
        next_step="look at the value and its unit again",
    )


def above_zero(**values: float) -> None:
    """Refuse every value that is not a finite number above zero, by its name.

    Parameters
    ----------
    **values : float
        Name to value, in any unit.

    Raises
    ------
    RangeError
        Names the first that is not.

    Examples
    --------
    >>> above_zero(volume=50.0)
    """
    for name, value in values.items():
        if not (math.isfinite(value) and value > 0.0):
            raise _refuse(name, value, "a finite number above zero")


def not_negative(**values: float) -> None:
    """Refuse every value that is not a finite number of zero or more, by its name.

    Parameters
    ----------
    **values : float
        Name to value, in any unit.

    Raises
    ------
    RangeError
        Names the first that is not.

    Examples
    --------
    >>> not_negative(emission=0.0)
    """
    for name, value in values.items():
        if not (math.isfinite(value) and value >= 0.0):
            raise _refuse(name, value, "a finite number, zero or more")


def proper_share(**values: float) -> None:
    """Refuse every value that does not lie between 0 and 1, both ends left out.

    Parameters
    ----------
    **values : float [1]
        Name to value.

    Raises
    ------
    RangeError
        Names the first that is not.

    Examples
    --------
    >>> proper_share(limit=0.011)
    """
    for name, value in values.items():
        if not 0.0 < value < 1.0:
            raise _refuse(name, value, "a share between 0 and 1")
