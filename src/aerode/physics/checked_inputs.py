"""Numbers on their way into the chemistry functions: finite, and of the sign they must have."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from aerode.errors import RangeError

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

__all__ = ["Floats", "above_zero", "finite", "not_negative", "share"]

Floats = NDArray[np.float64]


def _refused(name: str, values: Floats, allowed: str) -> RangeError:
    said = f"{values.ravel()[0]:g}" if values.size == 1 else f"{values.min():g} to {values.max():g}"
    return RangeError(
        f"{name} is {said}",
        where=name,
        allowed=allowed,
        next_step="look at the value and its unit again",
    )


def finite(name: str, value: ArrayLike) -> Floats:
    """The value as an array of finite floats.

    Parameters
    ----------
    name : str
        What it is, for the refusal.
    value : array_like, any shape
        The value, in any unit.

    Returns
    -------
    ndarray, same shape

    Raises
    ------
    RangeError
        A value that is not finite.

    Examples
    --------
    >>> float(finite("temperature", 298.15))
    298.15
    """
    values = np.asarray(value, dtype=np.float64)
    if not np.all(np.isfinite(values)):
        raise _refused(name, values, "finite numbers")
    return values


def above_zero(name: str, value: ArrayLike) -> Floats:
    """The value as floats above zero; arguments and refusal as for `finite`.

    Parameters
    ----------
    name : str
        What it is, for the refusal.
    value : array_like, any shape
        The value, in any unit [any].

    Returns
    -------
    ndarray, same shape

    Raises
    ------
    RangeError
        A value that is not finite, or not above zero.

    Examples
    --------
    >>> float(above_zero("molality", 1.0))
    1.0
    """
    values = finite(name, value)
    if np.any(values <= 0.0):
        raise _refused(name, values, "above zero")
    return values


def not_negative(name: str, value: ArrayLike) -> Floats:
    """The value as floats of zero or more; arguments and refusal as for `finite`.

    Parameters
    ----------
    name : str
        What it is, for the refusal.
    value : array_like, any shape
        The value, in any unit [any].

    Returns
    -------
    ndarray, same shape

    Raises
    ------
    RangeError
        A value that is not finite, or not zero or more.

    Examples
    --------
    >>> float(not_negative("molality", 0.0))
    0.0
    """
    values = finite(name, value)
    if np.any(values < 0.0):
        raise _refused(name, values, "zero or more")
    return values


def share(name: str, value: ArrayLike) -> Floats:
    """The value as floats from 0 to less than 1; arguments and refusal as for `finite`.

    Parameters
    ----------
    name : str
        What it is, for the refusal.
    value : array_like, any shape
        The value, a share of one [1].

    Returns
    -------
    ndarray, same shape

    Raises
    ------
    RangeError
        A value that is not finite, or not 0 to less than 1.

    Examples
    --------
    >>> float(share("mass fraction", 0.035))
    0.035
    """
    values = not_negative(name, value)
    if np.any(values >= 1.0):
        raise _refused(name, values, "0 to less than 1 (a share, not per cent)")
    return values
