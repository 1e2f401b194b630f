"""One-way analysis of variance that keeps its digits when all readings share the leading ones."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import betainc

from aerode.errors import CannotTellError, RangeError
from aerode.quantities import Reason

__all__ = ["OneWayTable", "one_way"]


@dataclass(frozen=True, slots=True)
class OneWayTable:
    """Variation between and within groups.

    Parameters
    ----------
    between_degrees_of_freedom, within_degrees_of_freedom : int [1]
    between_sum, within_sum : float [y²]
        Sums of squares.
    f : float [1]
        Mean square between over mean square within.
    p_value : float [1]
    squared_correlation : float [1]
        Share of the variation that lies between the groups.
    residual_standard_deviation : float [y]
        The pooled standard deviation within groups.
    """

    between_degrees_of_freedom: int
    within_degrees_of_freedom: int
    between_sum: float
    within_sum: float
    f: float
    p_value: float
    squared_correlation: float
    residual_standard_deviation: float


def one_way(groups: Sequence[ArrayLike]) -> OneWayTable:
    """The one-way table of two or more groups of readings.

    Parameters
    ----------
    groups : sequence of array (n_i,) [any]
        Readings of each group; sizes may differ.

    Returns
    -------
    OneWayTable

    Raises
    ------
    RangeError
        If a group is empty or a reading is not finite.
    CannotTellError
        With fewer than two groups, no repeats at all (`TOO_FEW_BUILDS`), or no spread within.

    Notes
    -----
    The first reading is taken off all (exact in binary arithmetic for readings within a factor of
    two of it), and all sums are correctly rounded (Shewchuk's, `math.fsum`), so no digit is lost
    beyond those the readings lost when they were stored.

    Examples
    --------
    >>> table = one_way([[1.0, 2.0, 3.0], [2.0, 3.0, 4.0]])
    >>> round(table.f, 3), table.within_degrees_of_freedom
    (1.5, 4)
    """
    arrays = [np.asarray(group, dtype=np.float64).ravel() for group in groups]
    if any(a.size == 0 or not np.isfinite(a).all() for a in arrays):
        raise RangeError("a group is empty, or a reading is not finite", where="groups")
    count = sum(a.size for a in arrays)
    between_df, within_df = len(arrays) - 1, count - len(arrays)
    if between_df < 1 or within_df < 1:
        raise CannotTellError(
            str(Reason.TOO_FEW_BUILDS), where="groups", allowed="two groups, one of them repeated"
        )
    shift = float(arrays[0][0])
    shifted = [[float(v) for v in a - shift] for a in arrays]
    grand = math.fsum(v for group in shifted for v in group) / count
    means = [math.fsum(group) / len(group) for group in shifted]
    between = math.fsum(
        len(group) * (mean - grand) ** 2 for group, mean in zip(shifted, means, strict=True)
    )
    within = math.fsum(
        (v - mean) ** 2 for group, mean in zip(shifted, means, strict=True) for v in group
    )
    if within <= 0:
        raise CannotTellError(
            "the repeats do not differ at all, so there is no spread to go by",
            where="groups",
            next_step="read one digit more",
        )
    f = (between / between_df) / (within / within_df)
    share = within / (within + between)
    return OneWayTable(
        between_degrees_of_freedom=between_df,
        within_degrees_of_freedom=within_df,
        between_sum=between,
        within_sum=within,
        f=f,
        p_value=float(betainc(within_df / 2, between_df / 2, share)),
        squared_correlation=between / (between + within),
        residual_standard_deviation=math.sqrt(within / within_df),
    )
