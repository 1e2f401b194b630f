"""Where curves of drawn cathodes cross the load lines of a run, near the limit of their oxygen too.

A curve is followed in the logit of the share of its limiting current, v = ln(x/(1 - x)): there the
loss is nearly straight both where kinetics rule (b ln x) and where oxygen runs out (-b ln(1 - x)), so a
tangent holds far enough to reach the crossing.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit, logit

__all__ = ["NEAR", "Crossings", "Lines", "started"]

Floats = NDArray[np.float64]

NEAR = 0.7
"""Judgement: share of the limiting current above which a curve is followed to its load lines."""
_FIRST = (
    0.95  # numerical: share of the limit where a curve that must reach beyond it is first looked at
)
_STEP = 1e-2  # numerical: of the logit, for slopes
_STEEPEST = 14.0  # numerical: a logit; one millionth below the limit
_INNER = 12  # numerical: steps of Newton's method on a tangent
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
class Crossings:
    """Tangents of m curves at k places each.

    Parameters
    ----------
    lines : Lines
    limit : ndarray, shape (m, 1) [A]
        Limiting current of each curve.
    place : ndarray, shape (m, k) [1]
        Logit of the share of the limit.
    loss, slope : ndarray, shape (m, k) [V]
        The loss there, and its derivative by the logit.
    """

    lines: Lines
    limit: Floats
    place: Floats
    loss: Floats
    slope: Floats

    @property
    def current(self) -> Floats:
        """Of each place, (m, k) [A]."""
        return self.limit * expit(self.place)

    def effects(self, rest: Floats) -> tuple[Floats, Floats]:
        """Readings as a straight function of level and outer resistance, near what they are.

        Parameters
        ----------
        rest : ndarray, shape (m, 1) [ohm]
            About the outer resistance.

        Returns
        -------
        ndarray, shape (m, k) [V]
            What would be read at a level and a resistance of nothing.
        ndarray, shape (m, 2, k) [1, A]
            What one volt of level and one ohm add.
        """
        share = expit(self.place)
        current = self.limit * share
        steep = self.slope / (current * (1.0 - share))
        gain = self.lines.shown / (self.lines.total + rest + steep)
        base = self.lines.shown * current - gain * (self.loss + current * self.lines.total)
        return base, np.stack([gain, -gain * current], axis=1)

    def crossed(self, level: Floats, rest: Floats) -> Floats:
        """Logits where the tangents cross the load lines.

        Parameters
        ----------
        level : ndarray, shape (m, 1) [V]
        rest : ndarray, shape (m, 1) [ohm]

        Returns
        -------
        ndarray, shape (m, k) [1]
            Where they were touched, for a curve that has no number.
        """
        outer = self.limit * (self.lines.total + rest)
        v = self.place
        for _ in range(_INNER):
            share = expit(v)
            miss = level - self.loss - self.slope * (v - self.place) - outer * share
            fall = self.slope + outer * share * (1.0 - share)
            v = v + np.clip(miss / fall, -_LARGEST, _LARGEST)
        return np.where(np.isfinite(v), np.clip(v, -_STEEPEST, _STEEPEST), self.place)

    def moved(self, place: Floats, losses: Callable[[Floats], Floats]) -> Crossings:
        """The same curves, touched elsewhere.

        Parameters
        ----------
        place : ndarray, shape (m, k) [1]
        losses : callable, (m, 2 k) [A] -> (m, 2 k) [V]
            Losses at rising currents.

        Returns
        -------
        Crossings
        """
        return _touched(self.lines, self.limit, place, losses)


def started(lines: Lines, limit: Floats, losses: Callable[[Floats], Floats]) -> Crossings:
    """Tangents at the currents as they were read, or just below the limit.

    Parameters
    ----------
    lines : Lines
    limit : ndarray, shape (m,) [A]
    losses : callable, (m, 2 k) [A] -> (m, 2 k) [V]
        Losses at rising currents.

    Returns
    -------
    Crossings
    """
    whole = limit[:, None]
    place = np.asarray(logit(np.minimum(lines.seen / whole, _FIRST)), dtype=np.float64)
    return _touched(lines, whole, place, losses)


def _touched(
    lines: Lines, limit: Floats, place: Floats, losses: Callable[[Floats], Floats]
) -> Crossings:
    apart: Floats = np.concatenate([place - 0.5 * _STEP, place + 0.5 * _STEP], axis=1)
    both: Floats = np.asarray(limit * expit(apart), dtype=np.float64)
    order = np.argsort(both, axis=1, kind="stable")
    found = np.empty_like(both)
    np.put_along_axis(found, order, losses(np.take_along_axis(both, order, axis=1)), axis=1)
    below, above = np.split(found, 2, axis=1)
    return Crossings(
        lines=lines, limit=limit, place=place, loss=0.5 * (below + above),
        slope=(above - below) / _STEP,
    )  # fmt: skip
