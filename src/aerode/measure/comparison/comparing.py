"""The core of the comparison on arrays: which differences are asked, what caps them, and how they come out."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np

from aerode.measure.comparison.joint import JointFit, Observations, Priors, fit_pieces, fit_recipes
from aerode.measure.comparison.judging import Difference, judge
from aerode.measure.comparison.run_order import ALIGNMENT_LIMIT, alignment
from aerode.quantities import Reason

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

__all__ = [
    "Family",
    "builds_of",
    "compare_pieces",
    "compare_recipes",
    "first_readings",
    "order_cap",
    "row_alignment",
]


@dataclass(frozen=True, slots=True)
class Family:
    """Differences that were looked at together: the fit, the pairs, their rows and how they come out."""

    joint: JointFit
    pairs: tuple[tuple[str, str], ...]
    rows: NDArray[np.float64]
    differences: tuple[Difference, ...]

    def of(self, a: str, b: str) -> Difference:
        """The difference "a over b" of this family."""
        return self.differences[self.pairs.index((a, b))]


def first_readings(seen: Observations) -> NDArray[np.bool_]:
    """Marks the first reading of every piece, (n,): a repeat is no new piece."""
    known: set[str] = set()
    marks: list[bool] = []
    for piece in seen.piece:
        marks.append(piece not in known)
        known.add(piece)
    return np.array(marks)


def builds_of(seen: Observations, recipe: str) -> int:
    """How many separately built pieces of a recipe were read [1]."""
    return len({p for p, r in zip(seen.piece, seen.recipe, strict=True) if r == recipe})


def row_alignment(seen: Observations, names: Sequence[str], row: NDArray[np.float64]) -> float:
    """How far the pieces that a difference weighs run with the order of measuring, 0 to 1.

    Parameters
    ----------
    seen : Observations
    names : sequence of p str
        The recipes, in the order of `row`.
    row : array (p,) [1]
        Weights of the recipes.

    Returns
    -------
    float [1]
        |correlation| of weight and place over the pieces that are weighed; 0 where these are only
        two, which always "run with" the order: there the interval carries the drift. Where a piece
        of the side that came first was read again amid the other side, its readings tell the drift
        apart from the recipes, and each of them counts at its own place.
    """
    weight = dict(zip(names, row, strict=True))
    per_piece = np.array([weight.get(r, 0.0) / builds_of(seen, r) for r in seen.recipe])
    weighed = np.abs(per_piece) > 1e-12  # numerical
    chosen = first_readings(seen) & weighed
    if chosen.sum() < 3:
        return 0.0
    first = alignment(per_piece[chosen], seen.order[chosen])
    if not _came_back(seen, per_piece, chosen):
        return first
    times = np.array([seen.piece.count(piece) for piece in seen.piece])
    return min(first, alignment((per_piece / times)[weighed], seen.order[weighed]))


def _came_back(
    seen: Observations, per_piece: NDArray[np.float64], chosen: NDArray[np.bool_]
) -> bool:
    """Whether a piece of the side that came first was read again past the middle of the other, on one day."""
    if len(set(seen.session)) > 1:
        return False
    plus, minus = (np.flatnonzero(chosen & (sign * per_piece > 0)) for sign in (1.0, -1.0))
    if not (plus.size and minus.size):
        return False
    early, late = sorted((plus, minus), key=lambda at: float(seen.order[at].mean()))
    pieces = {seen.piece[int(k)] for k in early}
    again = [
        order for piece, order, first in zip(seen.piece, seen.order, first_readings(seen), strict=True)
        if piece in pieces and not first
    ]  # fmt: skip
    return bool(again) and max(again) > float(seen.order[late].mean())


def order_cap(seen: Observations, names: Sequence[str], row: NDArray[np.float64]) -> str:
    """Why a difference may not be called shown, whatever its interval says; "" where nothing stands against it.

    Parameters
    ----------
    seen : Observations
    names : sequence of p str
    row : array (p,) [1]

    Returns
    -------
    str
        The recipe ran with the run order, or with the session without a control in both.
    """
    if row_alignment(seen, names, row) > ALIGNMENT_LIMIT:
        return str(Reason.ALIGNED)
    sides = [
        {
            session
            for session, recipe in zip(seen.session, seen.recipe, strict=True)
            if dict(zip(names, row, strict=True)).get(recipe, 0.0) * sign > 1e-12  # numerical
        }
        for sign in (1.0, -1.0)
    ]
    if sides[0] and sides[1] and not sides[0] & sides[1] and not _tied(seen, sides[0], sides[1]):
        return (
            "the two sides were measured in different sessions and no piece was read in both; "
            "read the control, or one piece of the first side, again in the later session"
        )
    return ""


def _tied(seen: Observations, one: set[str], other: set[str]) -> bool:
    """Whether some piece was read in a session of either side."""
    where: dict[str, set[str]] = {}
    for piece, session in zip(seen.piece, seen.session, strict=True):
        where.setdefault(piece, set()).add(session)
    return any(found & one and found & other for found in where.values())


def compare_recipes(
    seen: Observations,
    recipes: Sequence[str],
    *,
    margin: float,
    look_level: float = 0.05,  # judgement: the usual level
    priors: Priors | None = None,
    past_spread: tuple[float, float] = (0.0, 0.0),
) -> Family:
    """Every pair of these recipes, the spread between separately built pieces counted.

    Parameters
    ----------
    seen : Observations
        Readings of the recipes and of the control; later states of a piece left out.
    recipes : sequence of str
        Two or more; the pairs are "earlier over later" in this order.
    margin : float [log]
        Smallest difference that matters.
    look_level : float [1]
    priors : Priors, optional
    past_spread : (float, float) [1, 1]
        Spread between builds from earlier work, and its degrees of freedom.

    Returns
    -------
    Family

    Raises
    ------
    CannotTellError
        If no recipe has two builds and there is no past spread.

    Examples
    --------
    >>> y = np.log([2.30, 2.20, 1.90, 1.95])
    >>> seen = Observations(value=y, known=1e-4 * np.eye(4), electrode=("a", "b", "c", "d"),
    ...     piece=("a", "b", "c", "d"), recipe=("A", "A", "B", "B"), order=np.array([1.0, 4.0, 2.0, 3.0]),
    ...     session=("s",) * 4, control=(False,) * 4)
    >>> found = compare_recipes(seen, ["A", "B"], margin=0.0953).of("A", "B")
    >>> round(float(np.exp(found.estimate)), 3), str(found.verdict)
    (1.169, 'not shown')
    """
    joint = fit_recipes(seen, priors, past_spread=past_spread)
    pairs = tuple(combinations(recipes, 2))
    rows = np.array([joint.weights(a, b) for a, b in pairs])
    caps = [order_cap(seen, joint.names, row) for row in rows]
    found = judge(joint.fit, rows, margin=margin, look_level=look_level, capped=caps)
    return Family(joint, pairs, rows, found)


def compare_pieces(
    seen: Observations,
    electrodes: Sequence[str],
    *,
    margin: float,
    look_level: float = 0.05,  # judgement: the usual level
    priors: Priors | None = None,
) -> Family:
    """Every pair of these electrodes as they are: measurement errors alone.

    Parameters
    ----------
    seen : Observations
    electrodes : sequence of str
        Two or more.
    margin : float [log]
    look_level : float [1]
    priors : Priors, optional

    Returns
    -------
    Family
    """
    joint = fit_pieces(seen, priors)
    pairs = tuple(combinations(electrodes, 2))
    rows = np.array([joint.weights(a, b) for a, b in pairs])
    return Family(joint, pairs, rows, judge(joint.fit, rows, margin=margin, look_level=look_level))
