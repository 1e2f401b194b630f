"""Two doubts at once: pairs of inputs that overturn a verdict together, though neither does alone."""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING

from aerode.measure.comparison.overturning import BELIEVABLE
from aerode.records.comparisons import Together

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.measure.comparison.joint import Observations
    from aerode.measure.comparison.overturning import Judge, Lever
    from aerode.records.comparisons import Overturn

__all__ = ["overturn_together"]

_ALONE = 8.0  # judgement
"""An input that needs more than this alone helps no other one within reach."""
_MOST_LEVERS = 8  # numerical
_HALVINGS = 12  # numerical


def overturn_together(
    levers: Sequence[Lever], alone: Sequence[Overturn], seen: Observations, judged: Judge
) -> tuple[Together, ...]:
    """Pairs of inputs that turn the verdict when both are off by a believable amount.

    Parameters
    ----------
    levers : sequence of Lever
    alone : sequence of Overturn
        What each of them does alone, as `overturn` found it.
    seen : Observations
    judged : callable of Observations to Verdict
        The comparison, re-run.

    Returns
    -------
    tuple of Together
        The nearest first; none where an input does it alone within two standard uncertainties, for
        then that one is the doubt to name.

    Notes
    -----
    Each input goes the way that turns the verdict when it moves alone, both by the same number of
    their standard uncertainties; the smallest such number is found by halving, re-running each time.
    """
    known = {one.input: one for one in alone if one.change is not None}
    near = [one for one in known.values() if (one.in_uncertainties or 0.0) <= _ALONE]
    if any((one.in_uncertainties or 0.0) <= BELIEVABLE for one in near):
        return ()
    able = [lever for lever in levers if lever.name in {one.input for one in near}]
    able.sort(key=lambda lever: known[lever.name].in_uncertainties or 0.0)
    found = [
        turned
        for a, b in combinations(able[:_MOST_LEVERS], 2)
        if (turned := _pair(a, b, known, seen, judged)) is not None
    ]
    return tuple(sorted(found, key=lambda pair: pair.in_uncertainties))


def _pair(
    a: Lever, b: Lever, known: dict[str, Overturn], seen: Observations, judged: Judge
) -> Together | None:
    first = known[a.name]

    def changes(by: float) -> tuple[float, float]:
        return _of(a, first, by), _of(b, known[b.name], by)

    def moved(by: float) -> Observations:
        one, other = changes(by)
        return seen.moved(a.moved(one)).moved(b.moved(other))

    after = judged(moved(BELIEVABLE))
    if after is first.from_verdict:
        return None
    inside, outside = 0.0, BELIEVABLE
    for _ in range(_HALVINGS):
        middle = 0.5 * (inside + outside)
        there = judged(moved(middle))
        if there is first.from_verdict:
            inside = middle
        else:
            outside, after = middle, there
    return Together(
        inputs=(a.name, b.name),
        changes=changes(outside),
        units=(a.unit, b.unit),
        in_uncertainties=outside,
        contrast=first.contrast,
        from_verdict=first.from_verdict,
        to_verdict=after,
    )


def _of(lever: Lever, alone: Overturn, by: float) -> float:
    """The change of one input: so many uncertainties, the way that turns the verdict, as far as is possible."""
    change = by * lever.uncertainty if (alone.change or 0.0) > 0 else -by * lever.uncertainty
    return min(max(change, lever.low), lever.high)
