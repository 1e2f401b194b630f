"""After "not shown": the cheapest act that could change it, found by trying each on the comparison."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from aerode.errors import AerodeError
from aerode.measure.comparison.joint import Observations, disturbances, fit_pieces
from aerode.measure.run_plans import full_run_minutes
from aerode.records.comparisons import ActAt, NextAct, Verdict

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from aerode.measure.comparison.joint import Priors
    from aerode.measure.comparison.questioning import Asked
    from aerode.measure.comparison.study import Values
    from aerode.records.comparisons import Reach

__all__ = ["ACTS", "Act", "acts_with", "cheapest_act", "with_repeat"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Act:
    """Something a person could do, how long it takes, and which errors it would take away at best."""

    words: str
    minutes: float
    better: Mapping[str, float]
    """Sort of input to the factor on its uncertainty; "own" is the curve's own."""
    rereads: bool = False
    """Whether the piece that came first is read again, which tells the drift."""
    at: ActAt = ActAt.NOWHERE


ACTS: tuple[Act, ...] = (  # minutes and gains: judgement
    Act(
        words="measure each resistor with the ohm-meter, leads subtracted (5 min)",
        minutes=5,
        better={"part": 0.1, "burden": 0.1},
        at=ActAt.RESISTORS,
    ),
    Act(
        words="read tab and clip voltage under one load on each piece (10 min)",
        minutes=10,
        better={"lead": 0.1},
        at=ActAt.LEADS,
    ),
    Act(
        words="measure every wetted area on a photo with the marker sheet (20 min)",
        minutes=20,
        better={"area": 0.25},
        at=ActAt.AREAS,
    ),
    Act(
        words="read the piece that came first once more at the end of the session",
        minutes=30,  # where no resistor is on the bench; else as its plan takes: `acts_with`
        better={},
        rereads=True,
    ),
    Act(
        words="read each piece a second time with more loads (a day)",
        minutes=480,
        better={"own": 0.5},
        at=ActAt.RUNS,
    ),
)


def acts_with(at_hand: Mapping[str, float]) -> tuple[Act, ...]:
    """The acts, one more run with the minutes that it takes with the resistors at hand.

    Parameters
    ----------
    at_hand : mapping of str to float
        Name of each resistor and its value [ohm].

    Examples
    --------
    >>> next(act.words for act in acts_with({"a": 100.0, "b": 10.0, "c": 1.0}) if act.rereads)
    'read the piece that came first once more at the end of the session (about 13 min)'
    """
    takes = full_run_minutes(at_hand)
    if takes is None:
        return ACTS
    return tuple(
        replace(act, words=f"{act.words} (about {takes:.0f} min)", minutes=takes) if act.rereads else act
        for act in ACTS
    )  # fmt: skip


def cheapest_act(
    asked: Asked,
    values: Values,
    kept: NDArray[np.bool_],
    reach: Sequence[Reach],
    acts: Sequence[Act] = ACTS,
) -> NextAct:
    """The cheapest thing to do that could change "not shown", and why it is that.

    Each act is tried at its best: its errors are made as small as it could make them, the values
    are left where they are, and the comparison is run again. Where none of them would do, only more
    builds can; their number is that of `reach`.

    Parameters
    ----------
    asked : Asked
    values : Values
    kept : array (n,) of bool
        The runs that the comparison used.
    reach : sequence of Reach
        The first holds the number of builds that would settle it.
    acts : sequence of Act

    Returns
    -------
    NextAct
    """
    for act in sorted(acts, key=lambda a: a.minutes):
        if asked.difference is not None and _helps(act, asked, values, kept):
            seen = values.observations({}).keep(kept)
            return NextAct(
                do=act.words,
                why="it is the cheapest act that could settle it, of those tried on these readings",
                measure=seen.electrode[_came_first(seen)] if act.rereads else "",
                at=act.at,
            )
    return _more_builds(asked, reach, values.observations({}).keep(kept))


def _helps(act: Act, asked: Asked, values: Values, kept: NDArray[np.bool_]) -> bool:
    seen = values.observations(act.better).keep(kept)
    if act.rereads:
        own = np.array([m.own for m in values.measured])[kept]
        seen = with_repeat(seen, own, asked.terms.priors)
    try:
        return asked.again(seen) is not Verdict.NOT_SHOWN
    except AerodeError:
        return False


def with_repeat(seen: Observations, own: NDArray[np.float64], priors: Priors) -> Observations:
    """The same readings and one more: the piece that came first, read again last, as it would come out.

    Parameters
    ----------
    seen : Observations
    own : array (n,) [1]
        Standard deviation that each reading shares with no other.
    priors : Priors

    Returns
    -------
    Observations
        With n + 1 readings; the last stands where the drift found so far puts it.
    """
    n = seen.size
    last_session = seen.session[-1]
    here = [k for k in range(n) if seen.session[k] == last_session]
    first = _came_first(seen)
    at = np.append(np.arange(n), first)
    known = seen.known[np.ix_(at, at)].copy()
    known[n, first] -= own[first] ** 2
    known[first, n] -= own[first] ** 2
    place = max(float(seen.order[k]) for k in here) + 1.0
    joint = fit_pieces(seen, priors)
    drift = next(
        (d for d in disturbances(seen, priors) if d.name == f"drift in {last_session}"), None
    )
    slope = 0.0 if drift is None else joint.told_of(drift)[0]
    value = seen.value[first] + slope * (place - float(seen.order[first]))
    return Observations(
        value=np.append(seen.value, value),
        known=known,
        electrode=(*seen.electrode, seen.electrode[first]),
        piece=(*seen.piece, seen.piece[first]),
        recipe=(*seen.recipe, seen.recipe[first]),
        order=np.append(seen.order, place),
        session=(*seen.session, last_session),
        control=(*seen.control, False),
    )


def _came_first(seen: Observations) -> int:
    """The place of the piece that was read first in the last session; a control is on no side."""
    here = [k for k in range(seen.size) if seen.session[k] == seen.session[-1]]
    return min(
        (k for k in here if not seen.control[k]), key=lambda k: seen.order[k], default=here[0]
    )


def _more_builds(asked: Asked, reach: Sequence[Reach], seen: Observations) -> NextAct:
    known = [r.more_builds_per_recipe for r in reach if r.more_builds_per_recipe is not None]
    side = "setting" if asked.sort == "effect" else "recipe"
    recipes = {of for of, control in zip(seen.recipe, seen.control, strict=True) if not control}
    if asked.sort == "pieces" and len(recipes) == 1:
        return NextAct(
            do=f"plan a second mix to compare with {recipes.pop()}",
            why="these are builds of one recipe: how far they lie apart is how builds scatter",
            at=ActAt.MIX,
        )
    if asked.sort == "pieces":
        return NextAct(
            do="leave these pieces, and build both again",
            why="nothing that takes less than a day would settle it for these pieces as they are",
            at=ActAt.BUILDS,
        )
    if not known:
        return NextAct(
            do="ask for a larger difference, or leave it",
            why="no believable number of builds would settle this one",
            at=ActAt.QUESTION,
        )
    low, high = min(known), max(known)
    if high == 0:
        return NextAct(
            do=f"make one more build of each {side}",
            why="the difference found is on the edge of what these builds show",
            at=ActAt.BUILDS,
        )
    count = f"{low}" if low == high else f"{low} to {high}"
    return NextAct(
        do=f"make about {count} more builds of each {side}, or leave it",
        why="only more builds can settle it; so many would, if the difference is as found",
        at=ActAt.BUILDS,
    )
