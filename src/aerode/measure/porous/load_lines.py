"""Where curves of drawn cathodes cross the load lines of a run, near the limit of their oxygen too.

A curve is known at a few places by the solver and in between by a cubic spline, in the logit of the share
of its limiting current, v = ln(x/(1 - x)): there the loss is nearly straight both where kinetics rule
(b ln x) and where oxygen runs out (-b ln(1 - x)), so few places are enough and beyond them a tangent holds.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline
from scipy.special import expit, logit

__all__ = ["Curves", "Lines", "followed"]

Floats = NDArray[np.float64]
Rows = NDArray[np.intp]

_FAR_LIMIT = (
    1e3  # numerical: a limit so many times above the largest reading's current plays no part
)
_APART = 0.6  # numerical: of the logit, between two places
_FEWEST = 5  # numerical: places
_MARGIN = 0.25  # judgement: e-folds about the readings' currents in which crossings are looked for
_NEAR = 0.4  # numerical: share of the limit above which places are taken up to the steepest
_STEEPEST = 6.0  # numerical: a logit; beyond it the loss is straight, and goes on as it was
_HIGHEST = float(expit(_STEEPEST))
_SURE = 0.9  # numerical: share of the limit from which a loss that is not told goes on straight
_LARGEST = 2.0  # numerical: largest step of the logit


@dataclass(frozen=True, slots=True, kw_only=True)
class Lines:
    """The load lines of readings, in the order of rising currents.

    Parameters
    ----------
    seen : ndarray, shape (k,) [A]
        Current of each as it was read.
    total, shown : ndarray, shape (k,) [ohm]
        Voltage at the tab over current, and voltage read over current.
    """

    seen: Floats
    total: Floats
    shown: Floats

    def some(self, there: NDArray[np.bool_] | slice) -> Lines:
        """Those of some readings."""
        return Lines(seen=self.seen[there], total=self.total[there], shown=self.shown[there])


@dataclass(frozen=True, slots=True, kw_only=True)
class Curves:
    """Splines of m curves through p places each, evenly apart in the logit.

    Parameters
    ----------
    lines : Lines
    limit : ndarray, shape (m, 1) [A]
        What the logit is a share of: the limiting current, or a current far above all readings.
    first, apart : ndarray, shape (m, 1) [1]
        Logit of the first place, and from one place to the next.
    loss, slope : ndarray, shape (m, p) [V]
        The loss at the places, and its derivative by the number of the place; NaN for a curve that is
        not known.
    """

    lines: Lines
    limit: Floats
    first: Floats
    apart: Floats
    loss: Floats
    slope: Floats

    @property
    def start(self) -> Floats:
        """Logits of the currents as they were read, or where beyond the limit the last place's, (m, k)."""
        last = self.first + self.apart * (self.loss.shape[1] - 1)
        share = np.minimum(self.lines.seen / self.limit, _HIGHEST)
        return np.minimum(np.asarray(logit(share), dtype=np.float64), last)

    def at(self, place: Floats) -> tuple[Floats, Floats]:
        """Loss and its derivative by the logit, (m, k) [V].

        Parameters
        ----------
        place : ndarray, shape (m, k) [1]
            Logits; a tangent holds beyond the first place and the last.
        """
        count = self.loss.shape[1]
        there = (place - self.first) / self.apart
        inside = np.nan_to_num(np.clip(there, 0.0, count - 1.0))
        row = np.asarray(np.minimum(inside, count - 2.0), dtype=np.intp)
        t = inside - row
        row += count * np.arange(self.loss.shape[0], dtype=np.intp)[:, None]
        begin, rise = self.loss.ravel()[row], np.diff(self.loss, append=np.nan).ravel()[row]
        begins, ends = self.slope.ravel()[row], self.slope.ravel()[row + 1]
        second, third = 3.0 * rise - 2.0 * begins - ends, begins + ends - 2.0 * rise
        slope = begins + t * (2.0 * second + 3.0 * t * third)
        loss = begin + t * (begins + t * (second + t * third)) + slope * (there - inside)
        return loss, slope / self.apart

    def crossed(self, level: Floats, rest: Floats, place: Floats, steps: int) -> Floats:
        """Logits where the curves cross the load lines, by Newton's method.

        Parameters
        ----------
        level : ndarray, shape (m, 1) [V]
        rest : ndarray, shape (m, 1) [ohm]
        place : ndarray, shape (m, k) [1]
            Where to begin.
        steps : int

        Returns
        -------
        ndarray, shape (m, k) [1]
        """
        outer = self.limit * (self.lines.total + rest)
        v = place
        for _ in range(steps):
            share = expit(v)
            loss, slope = self.at(v)
            fall = slope + outer * share * (1.0 - share)
            v = v + np.clip((level - loss - outer * share) / fall, -_LARGEST, _LARGEST)
        return v

    def effects(self, rest: Floats, place: Floats) -> tuple[Floats, Floats]:
        """Readings as a straight function of level and outer resistance, near what they are.

        Parameters
        ----------
        rest : ndarray, shape (m, 1) [ohm]
            About the outer resistance.
        place : ndarray, shape (m, k) [1]
            About the logits of the crossings.

        Returns
        -------
        ndarray, shape (m, k) [V]
            What would be read at a level and a resistance of nothing.
        ndarray, shape (m, 2, k) [1, A]
            What one volt of level and one ohm add.
        """
        share = expit(place)
        loss, slope = self.at(place)
        current = self.limit * share
        steep = slope / (current * expit(-place))
        gain = self.lines.shown / (self.lines.total + rest + steep)
        base = self.lines.shown * current - gain * (loss + current * self.lines.total)
        return base, np.stack([gain, -gain * current], axis=1)


def followed(
    lines: Lines, limit: Floats, losses: Callable[[Floats, Rows], Floats]
) -> Iterator[tuple[Rows, Curves]]:
    """Splines of curves over all currents where readings may lie: those far from a limit, then those near one.

    Parameters
    ----------
    lines : Lines
    limit : ndarray, shape (m,) [A]
        Limiting current of each curve; may be infinite.
    losses : callable, (a, p) [A], (a,) -> (a, p) [V]
        Losses at rising currents of some of the curves, by their numbers; NaN where there is none.

    Yields
    ------
    ndarray of int, shape (a,)
        Numbers of the curves.
    Curves
    """
    whole = np.minimum(limit, _FAR_LIMIT * lines.seen[-1])[:, None]
    share = lines.seen[[0, -1]] / whole
    ends = np.asarray(logit(np.minimum(share, _HIGHEST)), dtype=np.float64)
    near = share[:, 1] > _NEAR
    for some in (~near, near):
        rows = np.flatnonzero(some)
        if not rows.size:
            continue
        first, last = ends[rows, :1] - _MARGIN, ends[rows, 1:]
        last = last + _MARGIN / expit(-last) if not near[rows[0]] else np.full_like(last, _STEEPEST)
        count = max(_FEWEST, 1 + math.ceil(float((last - first).max()) / _APART))
        apart = (last - first) / (count - 1)
        share_at = expit(first + apart * np.arange(count))
        loss = _straight_on(losses(whole[rows] * share_at, rows), share_at)
        yield (
            rows,
            Curves(
                lines=lines, limit=whole[rows], first=first, apart=apart, loss=loss,
                slope=loss @ _slopes(count).T,
            ),
        )  # fmt: skip


def _straight_on(loss: Floats, share: Floats) -> Floats:
    """Losses that are not told, close below the limit, in a straight line from the last two that are."""
    told = np.isfinite(loss)
    count = told.sum(axis=1)
    rows = np.flatnonzero((count < loss.shape[1]) & (count >= _FEWEST - 1))
    for m in rows:
        last = int(count[m]) - 1
        if bool(told[m, : last + 1].all()) and share[m, last] > _SURE:
            ahead = np.arange(1.0, loss.shape[1] - last)
            loss[m, last + 1 :] = loss[m, last] + ahead * (loss[m, last] - loss[m, last - 1])
    return loss


# judgement: so many counts are remembered
@lru_cache(maxsize=16)
def _slopes(count: int) -> Floats:
    """From values at places one apart to the slopes there of the cubic spline through them."""
    places = np.arange(count, dtype=np.float64)
    return np.array([CubicSpline(places, one)(places, 1) for one in np.eye(count)]).T
