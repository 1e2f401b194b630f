"""What would overturn it: the smallest change of one input that carries the verdict across its line.

Every change is tried by re-running the comparison; nothing is linearised in the verdict.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerode import units
from aerode.records.comparisons import Overturn, Verdict

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Sequence

    import numpy as np
    from numpy.typing import NDArray

    from aerode.measure.comparison.joint import Observations

    Judge = Callable[[Observations], Verdict]

__all__ = [
    "BELIEVABLE",
    "ONE_PAIR",
    "SAYS_SOMETHING",
    "Lever",
    "drop_each",
    "nearest_alone",
    "on_one_pair",
    "overturn",
    "smallest_change",
    "turns_alone",
]

BELIEVABLE = 2.0  # judgement: about 95 %
"""Standard uncertainties by which an input may be otherwise without anybody being surprised."""
SAYS_SOMETHING = (Verdict.SHOWN, Verdict.SHOWN_SMALL, Verdict.EQUIVALENT)
"""The verdicts that a doubt can undo: "not shown" has claimed nothing."""
ONE_PAIR = 1.5  # judgement, by simulation
"""Degrees of freedom below which the spread between builds is in truth known from one pair alone."""
_DIFFER = {Verdict.SHOWN, Verdict.SHOWN_SMALL}

_GRID = tuple(0.25 * 2.0**k for k in range(8))  # 0.25 to 32 uncertainties
_HALVINGS = 40  # numerical
_CLOSE = 1e-4  # numerical


@dataclass(frozen=True, slots=True, kw_only=True)
class Lever:
    """One input that may be otherwise than noted, and what the logarithms become if it is.

    Parameters
    ----------
    name : str
        In words: "area of T6".
    unit : str
        Unit of the change, as people read it: "%", "ohm".
    uncertainty : float [unit]
        Standard uncertainty of the input; above 0.
    moved : callable of float to array (n,) [log]
        The shift of every logarithm if the input is larger than noted by so much [unit].
    low, high : float [unit]
        Changes beyond which the input would be impossible.
    """

    name: str
    unit: str
    uncertainty: float
    moved: Callable[[float], NDArray[np.float64]]
    low: float
    high: float


def smallest_change(
    lever: Lever, seen: Observations, judged: Judge
) -> tuple[float, Verdict] | None:
    """The smallest change of one input that changes the verdict, and what the verdict becomes.

    Parameters
    ----------
    lever : Lever
    seen : Observations
    judged : callable of Observations to Verdict
        The comparison, re-run.

    Returns
    -------
    (float, Verdict) or None
        The change [unit of the lever] at which the verdict has just turned (a thousandth less
        leaves it as it was); None where no possible change does it.

    Notes
    -----
    Steps of 0.25 to 32 uncertainties either way, each twice the last; the first step that turns the
    verdict is then halved until the change is known to a part in ten thousand. A verdict that
    turned and turned back within one step would be missed.
    """
    start = judged(seen)
    found = [
        turned
        for sign in (1.0, -1.0)
        if (turned := _one_way(lever, seen, judged, start, sign)) is not None
    ]
    return min(found, key=lambda turned: abs(turned[0])) if found else None


def _one_way(
    lever: Lever, seen: Observations, judged: Judge, start: Verdict, sign: float
) -> tuple[float, Verdict] | None:
    limit = lever.high if sign > 0 else -lever.low
    inside = 0.0
    for step in _GRID:
        outside = min(step * lever.uncertainty, limit)
        if outside <= inside:
            return None
        after = judged(seen.moved(lever.moved(sign * outside)))
        if after is not start:
            return _halve(lever, seen, judged, start, sign, inside, outside, after)
        inside = outside
    return None


def _halve(
    lever: Lever,
    seen: Observations,
    judged: Judge,
    start: Verdict,
    sign: float,
    inside: float,
    outside: float,
    after: Verdict,
) -> tuple[float, Verdict]:
    for _ in range(_HALVINGS):
        middle = 0.5 * (inside + outside)
        if outside - inside <= _CLOSE * outside:
            break
        there = judged(seen.moved(lever.moved(sign * middle)))
        if there is start:
            inside = middle
        else:
            outside, after = middle, there
    return sign * outside, after


def overturn(
    levers: Sequence[Lever], seen: Observations, judged: Judge, *, contrast: str
) -> tuple[Overturn, ...]:
    """For each input the smallest change that would overturn the verdict, the nearest first.

    Parameters
    ----------
    levers : sequence of Lever
    seen : Observations
    judged : callable of Observations to Verdict
    contrast : str
        What the verdict is on, in words.

    Returns
    -------
    tuple of Overturn
        Inputs that cannot do it stand last, with the reason.
    """
    start = judged(seen)
    lines: list[Overturn] = []
    for lever in levers:
        turned = smallest_change(lever, seen, judged)
        lines.append(
            Overturn(
                input=lever.name,
                contrast=contrast,
                change=None if turned is None else turned[0],
                unit=lever.unit,
                in_uncertainties=None if turned is None else abs(turned[0]) / lever.uncertainty,
                from_verdict=start,
                to_verdict=None if turned is None else turned[1],
                reason="" if turned is not None else _not_by(lever),
            )
        )
    return tuple(sorted(lines, key=lambda o: (o.in_uncertainties is None, o.in_uncertainties or 0)))


def nearest_alone(
    levers: Sequence[Lever], seen: Observations, judged: Judge, *, contrast: str
) -> tuple[Overturn, ...]:
    """The inputs that overturn the verdict alone by a believable change, the nearest first.

    Every lever is tried at its two believable ends; only one that turns the verdict there is
    followed to the smallest change. That is a small part of what `overturn` re-runs, so it can be
    asked whenever a verdict is shown.

    Parameters
    ----------
    levers : sequence of Lever
    seen : Observations
    judged : callable of Observations to Verdict
    contrast : str
        What the verdict is on, in words.

    Returns
    -------
    tuple of Overturn
        Within `BELIEVABLE` standard uncertainties, as `overturn` finds them; a verdict that turns
        and turns back before that would be missed.
    """
    start = judged(seen)

    def turns(lever: Lever) -> bool:
        ends = (min(BELIEVABLE * lever.uncertainty, lever.high), max(-BELIEVABLE * lever.uncertainty, lever.low))  # fmt: skip
        return any(judged(seen.moved(lever.moved(end))) is not start for end in ends)

    found = overturn([lever for lever in levers if turns(lever)], seen, judged, contrast=contrast)
    return tuple(one for one in found if (one.in_uncertainties or 0.0) <= BELIEVABLE)


def turns_alone(verdict: Verdict, changes: Sequence[Overturn]) -> Overturn | None:
    """The input whose believable change alone undoes what is shown, the nearest one; None for none.

    Parameters
    ----------
    verdict : Verdict
    changes : sequence of Overturn
        As `overturn` or `nearest_alone` found them.

    Returns
    -------
    Overturn or None
        None too where the verdict says nothing that could be undone. A difference that stays shown
        but turns smaller than matters, or the other way round, is not undone.
    """
    near = [
        o for o in changes
        if o.in_uncertainties is not None and o.in_uncertainties <= BELIEVABLE
        and not {verdict, o.to_verdict} <= _DIFFER
    ]  # fmt: skip
    if verdict not in SAYS_SOMETHING or not near:
        return None
    return min(near, key=lambda o: o.in_uncertainties or 0.0)


def on_one_pair(
    verdict: Verdict, degrees_of_freedom: float | None, builds: Collection[tuple[str, str]]
) -> bool:
    """Whether what is shown rests on a spread between builds that one pair of them told.

    Parameters
    ----------
    verdict : Verdict
    degrees_of_freedom : float or None [1]
        Of the difference or the effect; None where there is none.
    builds : collection of (str, str)
        Recipe and piece of every reading; told twice counts once.

    Returns
    -------
    bool
        False where the verdict says nothing that could be undone.

    Notes
    -----
    The interval holds the truth as often as it says, with one degree of freedom too. But the two
    builds of a pair may lie close together by chance, and then one more build that fits takes the
    verdict back: in about one of four such results, against one of twenty with more degrees of
    freedom (decision 21).
    """
    if verdict not in SAYS_SOMETHING or degrees_of_freedom is None:
        return False
    pairs = len(set(builds)) - len({recipe for recipe, _ in builds})
    return pairs == 1 and degrees_of_freedom < ONE_PAIR


def _not_by(lever: Lever) -> str:
    up = min(_GRID[-1] * lever.uncertainty, lever.high)
    down = min(_GRID[-1] * lever.uncertainty, -lever.low)
    return f"no change from -{units.plain(down, 3)} to +{units.plain(up, 3)} {lever.unit} does it"


def drop_each(seen: Observations, judged: Judge, *, contrast: str) -> tuple[Overturn, ...]:
    """Which electrode, left out, would change the verdict.

    Parameters
    ----------
    seen : Observations
    judged : callable of Observations to Verdict
        It may raise `AerodeError` where nothing is left to compare; that counts as not shown.
    contrast : str

    Returns
    -------
    tuple of Overturn
        One for each electrode whose leaving out changes the verdict.
    """
    from aerode.errors import AerodeError

    start = judged(seen)
    lines: list[Overturn] = []
    for electrode in dict.fromkeys(seen.electrode):
        kept = seen.keep(_others(seen, electrode))
        try:
            after, why = judged(kept), ""
        except AerodeError as refusal:
            after, why = Verdict.NOT_SHOWN, refusal.what
        if after is not start:
            lines.append(
                Overturn(
                    input=f"leaving out {electrode}",
                    contrast=contrast,
                    change=None,
                    unit="",
                    in_uncertainties=None,
                    from_verdict=start,
                    to_verdict=after,
                    reason=why,
                )
            )
    return tuple(lines)


def _others(seen: Observations, electrode: str) -> NDArray[np.bool_]:
    import numpy as np

    return np.array([name != electrode for name in seen.electrode])
