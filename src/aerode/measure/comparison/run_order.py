"""The order of measuring: drawn at random with the control placed, and how far it runs with the recipe."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from aerode.errors import InputError
from aerode.records.places import RunOrder

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import ArrayLike

__all__ = ["ALIGNMENT_LIMIT", "alignment", "draw_run_order", "worst_alignment"]

ALIGNMENT_LIMIT = 0.8  # judgement
"""Above this correlation between side and run order no difference is called shown."""

_DRAWS = 200  # numerical
_GOOD_ENOUGH = 0.5


def alignment(side: ArrayLike, order: ArrayLike) -> float:
    """How far a side (or a coded factor) runs with the order of measuring: |correlation|, 0 to 1.

    Parameters
    ----------
    side : array (n,) [1]
        Any coding of the side: +1 and -1, or a coded factor level.
    order : array (n,) [1]
        Place in the order of measuring.

    Returns
    -------
    float [1]
        0 where either does not vary.

    Examples
    --------
    >>> round(alignment([1, 1, -1, -1], [1, 2, 3, 4]), 3), round(alignment([1, -1, -1, 1], [1, 2, 3, 4]), 3)
    (0.894, 0.0)
    """
    a = np.asarray(side, dtype=float)
    b = np.asarray(order, dtype=float)
    a, b = a - a.mean(), b - b.mean()
    size = math.sqrt(float(a @ a) * float(b @ b))
    return 0.0 if size <= 1e-12 * max(1.0, float(np.abs(b).max())) else abs(float(a @ b)) / size


def worst_alignment(recipes: Sequence[str], order: ArrayLike) -> float:
    """The largest alignment of any two recipes that have two builds or more between them.

    Parameters
    ----------
    recipes : sequence of str, length n [1]
    order : array (n,) [1]

    Returns
    -------
    float [1]
        0 where no recipe has a second build.

    Examples
    --------
    >>> worst_alignment(["A", "A", "B", "B"], [1, 3, 2, 4]) < worst_alignment(["A", "A", "B", "B"], [1, 2, 3, 4])
    True
    """
    places = np.asarray(order, dtype=float)
    names = sorted(set(recipes))
    label = np.array(recipes)
    worst = 0.0
    for i, first in enumerate(names):
        for second in names[i + 1 :]:
            both = (label == first) | (label == second)
            if both.sum() > 2:
                side = np.where(label[both] == first, 1.0, -1.0)
                worst = max(worst, alignment(side, places[both]))
    return worst


def draw_run_order(
    electrodes: Sequence[str],
    *,
    control: str = "",
    recipes: Mapping[str, str] | None = None,
    seed: int,
    session: str,
    name: str = "",
    made: str = "",
) -> RunOrder:
    """The order in which to measure: random, with the control first, in the middle and last.

    Of up to 200 random orders the first is taken in which no two recipes run with the order by
    more than 0.5; if none is so even, the most even of them. (Choosing by the labels alone,
    before anything is measured, leaves the randomisation honest.)

    Parameters
    ----------
    electrodes : sequence of str [1]
        Names of the electrodes, without the control.
    control : str
        Name of the control electrode; "" where there is none yet.
    recipes : mapping of str to str, optional
        Electrode to recipe; without it every order is as good as another.
    seed : int [1]
        The same seed gives the same order.
    session, name, made : str
        Written into the record.

    Returns
    -------
    RunOrder

    Raises
    ------
    InputError
        With fewer than two electrodes, a name given twice, or the control among them.

    Examples
    --------
    >>> draw_run_order(["T1", "T2", "T3", "T4"], control="C0", seed=3, session="day 1").electrodes
    ('C0', 'T4', 'T3', 'C0', 'T2', 'T1', 'C0')
    """
    _check_names(electrodes, control)
    rng = np.random.default_rng(seed)
    labels = [(recipes or {}).get(e, e) for e in electrodes]
    drawn, best = list(range(len(electrodes))), math.inf
    for _ in range(_DRAWS):
        trial = [int(i) for i in rng.permutation(len(electrodes))]
        evenness = worst_alignment([labels[i] for i in trial], range(len(trial)))
        if evenness < best:
            drawn, best = trial, evenness
        if best <= _GOOD_ENOUGH:
            break
    sequence = [electrodes[i] for i in drawn]
    return RunOrder(
        name=name or f"order of {session}",
        session=session,
        electrodes=tuple(_with_control(sequence, control)),
        control=control,
        seed=seed,
        made=made,
    )


def _check_names(electrodes: Sequence[str], control: str) -> None:
    if len(electrodes) < 2:
        raise InputError(
            "an order of measuring needs at least two electrodes",
            where="electrodes",
            next_step="name the electrodes that are to be compared",
        )
    if len(set(electrodes)) != len(electrodes) or control in electrodes:
        raise InputError(
            "an electrode stands in the list twice",
            where="electrodes",
            allowed="each electrode once, the control apart from them",
        )


def _with_control(sequence: list[str], control: str) -> list[str]:
    if not control:
        return sequence
    middle = (len(sequence) + 1) // 2
    return [control, *sequence[:middle], control, *sequence[middle:], control]
