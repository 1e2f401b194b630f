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
_GRID = 15  # numerical: places that bracket a limit
_RIDDERS = 5  # numerical: steps of Ridders' method between two of them
_TINY = 1e-300  # numerical: keeps a quotient finite
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
        rows[:, self.column] = self._film(rows, wanted[possible])
        inside = np.abs(rows[:, self.column]) < self.far * (1.0 - 1e-9)  # numerical
        found[possible] = np.where(inside[:, None], rows, _NOWHERE)
        return found

    def _film(self, rows: Floats, wanted: Floats) -> Floats:
        """The coordinate of rows at which the limit is as wanted, (n,); an end where none is."""
        grid = np.linspace(-self.far, self.far, _GRID)
        spread = np.repeat(rows, _GRID, axis=0)
        spread[:, self.column] = np.tile(grid, rows.shape[0])
        off = self.logs(spread).reshape(-1, _GRID) - wanted[:, None]
        at = np.clip((off < 0.0).sum(axis=1) - 1, 0, _GRID - 2)
        each = np.arange(rows.shape[0], dtype=np.intp)
        low, high = grid[at], grid[at + 1]
        below, above = off[each, at], off[each, at + 1]
        made = rows.copy()

        def miss(place: Floats) -> Floats:
            made[:, self.column] = place
            return np.asarray(self.logs(made) - wanted, dtype=np.float64)

        best = low
        for _ in range(_RIDDERS):
            middle = 0.5 * (low + high)
            half = miss(middle)
            root = np.sqrt(np.maximum(half * half - below * above, _TINY))
            best = np.clip(
                middle + (middle - low) * half / root * np.sign(below - above), low, high
            )
            there = miss(best)
            for place, off_there in ((middle, half), (best, there)):
                under = (off_there < 0.0) & (place > low)
                over = (off_there >= 0.0) & (place < high)
                low, below = np.where(under, place, low), np.where(under, off_there, below)
                high, above = np.where(over, place, high), np.where(over, off_there, above)
        return best

    def on_it(self, straight: Floats) -> NDArray[np.bool_]:
        """Whether the limit lies near the largest reading's current, (n,)."""
        return np.abs(straight[:, self.column]) < _REACH
