"""Where a run came near a limit of the oxygen: the thin ridge of cathodes whose film lets just so much through."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from aerode.stats.proposals import TMixture

__all__ = ["LimitRidge"]

Floats = NDArray[np.float64]

_REACH = (
    0.5  # judgement: e-folds of the limit about the largest reading's current that count as near
)
_OFF, _WIDE = (
    0.05,
    0.2,
)  # numerical: where a limit is looked for first, above that current, in e-folds
_FREEDOM = 7.0  # numerical
_STEP = 1e-4  # numerical: of a coordinate, for slopes
_HALVINGS = 40  # numerical
_NOWHERE = 99.0
"""Numerical: a coordinate where no target has any density."""


@dataclass(frozen=True, slots=True)
class LimitRidge:
    """Rows in units of the prior with one coordinate exchanged for ln of the limiting current.

    Parameters
    ----------
    logs : callable, (m, d) [1] -> (m,) [1]
        ln of the limiting current over that of the largest reading; rises with the coordinate.
    column : int
        The coordinate that is exchanged: the transfer through the wet film.
    size : int
        Coordinates d.
    far : float
        Beyond it in any coordinate nothing is looked for.
    """

    logs: Callable[[Floats], Floats]
    column: int
    size: int
    far: float

    @property
    def first(self) -> TMixture:
        """The prior of all others, and a limit just above the largest reading's current."""
        centre, factor = np.zeros((1, self.size)), np.eye(self.size)[None].copy()
        centre[0, self.column], factor[0, self.column, self.column] = _OFF, _WIDE
        return TMixture(np.ones(1), centre, factor, _FREEDOM)

    def straight(self, points: Floats) -> tuple[Floats, Floats]:
        """Coordinates with ln of the limit among them, (n, d), and ln of its slope by the one it stands for, (n,)."""
        made, volume = points.copy(), np.full(points.shape[0], -np.inf)
        known = np.abs(points).max(axis=1) < self.far
        near = points[known]
        if near.size:
            step = np.zeros(self.size)
            step[self.column] = _STEP
            slope = (self.logs(near + step) - self.logs(near - step)) / (2.0 * _STEP)
            made[known, self.column] = self.logs(near)
            with np.errstate(
                divide="ignore", invalid="ignore"
            ):  # a film that limits nothing: no slope
                volume[known] = np.log(slope)
        return made, volume

    def bent(self, straight: Floats) -> Floats:
        """Rows whose limit is as asked, by halving; far away where no film gives it."""
        wanted, found = straight[:, self.column], straight.copy()
        found[:, self.column] = 0.0
        possible = np.abs(found).max(axis=1) < self.far
        found[~possible] = _NOWHERE
        if not bool(possible.any()):
            return found
        rows = found[possible]
        low, high = np.full(rows.shape[0], -self.far), np.full(rows.shape[0], self.far)
        for _ in range(_HALVINGS):
            rows[:, self.column] = middle = 0.5 * (low + high)
            less = self.logs(rows) < wanted[possible]
            low, high = np.where(less, middle, low), np.where(less, high, middle)
        rows[:, self.column] = 0.5 * (low + high)
        inside = np.abs(rows[:, self.column]) < self.far * (1.0 - 1e-9)  # numerical
        found[possible] = np.where(inside[:, None], rows, _NOWHERE)
        return found

    def on_it(self, straight: Floats) -> NDArray[np.bool_]:
        """Whether the limit lies near the largest reading's current, (n,)."""
        return np.abs(straight[:, self.column]) < _REACH
