"""How near an answer comes to the hidden truth: only here, where the truth is known, can that be asked."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

from scipy.stats import spearmanr

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["Score", "pairs_in_order", "rank_agreement", "score"]


@dataclass(frozen=True, slots=True)
class Score:
    """An answer against the truth.

    Parameters
    ----------
    rms_log_error : float
        Root mean square of ln(value / truth).
    rank_agreement : float
        Spearman's rank correlation with the truth.
    ammeter_rank_agreement : float
        The same for the ammeter's readings.
    pairs_right, pairs : int
        Pairs of electrodes whose truths differ by more than seven per cent, and how many of them stand
        in the right order.
    """

    rms_log_error: float
    rank_agreement: float
    ammeter_rank_agreement: float
    pairs_right: int
    pairs: int


def rank_agreement(truth: Mapping[str, float], values: Mapping[str, float]) -> float:
    """Spearman's rank correlation over the names that both have.

    >>> rank_agreement({"a": 1.0, "b": 2.0, "c": 3.0}, {"a": 10.0, "b": 20.0, "c": 15.0})
    0.5
    """
    names = sorted(set(truth) & set(values))
    return round(
        float(spearmanr([truth[n] for n in names], [values[n] for n in names]).statistic), 12
    )


def pairs_in_order(
    truth: Mapping[str, float], values: Mapping[str, float], apart: float = 1.07
) -> tuple[int, int]:
    """How many pairs with truths more than `apart` in ratio stand in the right order, of how many.

    >>> pairs_in_order({"a": 1.0, "b": 2.0, "c": 2.05}, {"a": 1.1, "b": 1.9, "c": 1.8})
    (2, 2)
    """
    right = total = 0
    for a, b in combinations(sorted(set(truth) & set(values)), 2):
        if abs(math.log(truth[a] / truth[b])) <= math.log(apart):
            continue
        total += 1
        right += (truth[a] > truth[b]) == (values[a] > values[b])
    return right, total


def score(
    truth: Mapping[str, float], fair: Mapping[str, float], ammeter: Mapping[str, float]
) -> Score:
    """Score fair values [as truth] and ammeter readings [mA] against the truth."""
    names = sorted(set(truth) & set(fair))
    squares = [math.log(fair[n] / truth[n]) ** 2 for n in names]
    right, pairs = pairs_in_order(truth, fair)
    return Score(
        rms_log_error=math.sqrt(sum(squares) / len(squares)),
        rank_agreement=rank_agreement(truth, fair),
        ammeter_rank_agreement=rank_agreement(truth, ammeter),
        pairs_right=right,
        pairs=pairs,
    )
