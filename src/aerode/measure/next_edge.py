"""A step beyond what was read, where the best recipe lies at the edge of it: a guess, and never more."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from aerode import units
from aerode.measure.next_batch import belief_of, ratio_between

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from aerode.measure.comparison.joint import Observations, Priors
    from aerode.measure.next_batch import Plan, Settings
    from aerode.measure.next_places import Lever

__all__ = ["Step", "steps_beyond"]

_STEP = 0.125  # judgement: of the range, the least that simulated benches tell something of
_AT_THE_EDGE = 1e-6  # numerical


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """The best recipe that was read, with one factor a step beyond what was read.

    Parameters
    ----------
    factor : str
    edge : str
        The setting of the best recipe, as written.
    other : str
        The far end of what was read.
    below : bool
        Whether the step goes down.
    settings : dict of factor to setting
    ratio, low, high, chance : float [1]
        What is believed of it over the best recipe, its 95 % interval, the chance that it is better.
    """

    factor: str
    edge: str
    other: str
    below: bool
    settings: dict[str, str]
    ratio: float
    low: float
    high: float
    chance: float


def steps_beyond(
    seen: Observations, settings: Mapping[str, Settings], plan: Plan, limited: Sequence[str], priors: Priors | None = None
) -> tuple[Step, ...]:  # fmt: skip
    """Where the best recipe lies at an edge of what was read, the step beyond it, factor by factor.

    Parameters
    ----------
    seen : Observations
    settings : mapping of recipe to its settings
        Of the recipes that were read.
    plan : Plan
        Of the same.
    limited : sequence of str
        Factors to which a person set limits: no step is taken there.
    priors : Priors, optional

    Returns
    -------
    tuple of Step
        The likeliest to be better first. None at words, nor past nothing of what cannot be less.
    """
    best = settings[plan.best_read()]
    found: list[tuple[Lever, float, bool]] = []
    for lever in plan.levers:
        code = 0.0 if lever.in_words or lever.name in limited else lever.coded(best[lever.name])
        if abs(code) > 1.0 - _AT_THE_EDGE and (to := _beyond(lever, below=code < 0.0)) is not None:
            found.append((lever, to, code < 0.0))
    if not found:
        return ()
    own = np.array([lever.coded(best[lever.name]) for lever in plan.levers])
    coded = np.vstack([own, *(_moved(own, plan, lever, to) for lever, to, _ in found)])
    belief = belief_of(seen, settings, plan.levers, coded, priors, scale=None, open_spread=True)
    steps = [
        _step(plan, coded[k], lever, below, ratio_between(belief, k, 0))
        for k, (lever, _, below) in enumerate(found, 1)
    ]
    return tuple(sorted(steps, key=lambda one: -one.chance))


def _beyond(lever: Lever, *, below: bool) -> float | None:
    """The setting a step beyond an end; None where there is nothing beyond nothing."""
    step = _STEP * (lever.high - lever.low)
    if not below:
        return lever.high + step
    if lever.low < 0.0 or lever.low - step > 0.0:
        return lever.low - step
    return 0.5 * lever.low if lever.low > 0.0 else None


def _moved(own: NDArray[np.float64], plan: Plan, lever: Lever, to: float) -> NDArray[np.float64]:
    moved = own.copy()
    moved[plan.levers.index(lever)] = lever.code(to)
    return moved


def _step(
    plan: Plan, codes: NDArray[np.float64], lever: Lever, below: bool,
    believed: tuple[float, float, float, float],
) -> Step:  # fmt: skip
    ratio, low, high, chance = believed
    ends = (-1.0, 1.0) if below else (1.0, -1.0)
    return Step(
        factor=lever.name, edge=_written(lever, ends[0]), other=_written(lever, ends[1]), below=below,
        settings={one.name: _written(one, float(code)) for one, code in zip(plan.levers, codes, strict=True)},
        ratio=ratio, low=low, high=high, chance=chance,
    )  # fmt: skip


def _written(lever: Lever, code: float) -> str:
    """A coded setting as places write it."""
    if lever.in_words:
        return next(word for word, own in lever.settings if own == code)
    number = 0.5 * (lever.low + lever.high) + 0.5 * code * (lever.high - lever.low)
    return f"{units.plain(number, 3)} {lever.unit}".strip()
