"""Coordinates in which the posterior of a curve is nearly a plain normal one, whatever the limiting current.

Between resistance and limiting current the posterior is a bent and lopsided ridge: from limits just
above the largest current to limits that were never approached. Here the ridge is followed first,
then sampled along itself: four numbers as distances from their best values for each limit, and
the place along the ridge by the share of the posterior that lies before it.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from aerode.measure.curve_likelihood import Likelihood

__all__ = ["Ridge"]

Floats = NDArray[np.float64]

_STEPS = 6
_FINE = 192
_KEPT_OPEN = 0.02
"""Share of the coordinate that is spread evenly along the ridge, so that no limit is shut out."""
_SCATTERS: Floats = np.linspace(math.log(2e-4), math.log(0.1), 40)


class Ridge:
    """A map from sampled rows to the five numbers of a curve, and the log density of the rows.

    Rows hold the distances of level, ln b and R + b/i_L from the ridge, the share of the ridge that
    lies before (0 to 1), and the distance of ln scatter.

    Parameters
    ----------
    likelihood : Likelihood

    Notes
    -----
    The map is exact and so is the density of the rows: how well the ridge was followed decides only
    how many samples are needed. Along the ridge the density is taken as piecewise linear in
    ln(i_L/i_0 - 1), so that its integral, the coordinate, is piecewise quadratic and is inverted in
    closed form; the derivative of the map is continuous.
    """

    def __init__(self, likelihood: Likelihood) -> None:
        self._likelihood = likelihood
        best, covariance = self._follow(likelihood.grid)
        self._ridge = np.column_stack([best, self._scatter(best)])
        self._nodes: Floats = np.linspace(self._ridge[0, 3], self._ridge[-1, 3], _FINE)
        self._lay_out(covariance)
        halfway = float(self._inverse(np.array([0.5]))[0])
        middle = int((self._ridge[:, 3] < halfway).sum())
        here: Floats = covariance[min(middle, best.shape[0] - 1)]
        self._sizes: Floats = np.sqrt(np.array([here[k, k] for k in range(3)]))

    @property
    def start(self) -> Floats:
        """The middle of the ridge, (5,)."""
        return np.array([0.0, 0.0, 0.0, 0.5, 0.0])

    @property
    def scale(self) -> Floats:
        """Rough widths of the rows, (5,); that of the share counted as a normal quantile."""
        return np.array([*self._sizes, 1.0, 0.3])

    def numbers(self, rows: Floats) -> Floats:
        """The five numbers of sampled rows.

        Parameters
        ----------
        rows : array (m, 5) [any]

        Returns
        -------
        array (m, 5) [any]
        """
        place = self._inverse(rows[:, 3])
        numbers = rows + self._at(place)
        numbers[:, 3] = place
        return numbers

    def __call__(self, rows: Floats) -> Floats:
        numbers = self.numbers(rows)
        return self._likelihood(numbers) - np.log(
            _read_off(numbers[:, 3], self._nodes, self._density)
        )

    def _at(self, place: Floats) -> Floats:
        """The ridge at places along it, (m, 5)."""
        places = self._ridge[:, 3]
        return np.column_stack([_read_off(place, places, column) for column in self._ridge.T])

    def _follow(self, numbers: Floats) -> tuple[Floats, Floats]:
        """Level, ln b and R + b/i_L that fit best for each limit, and their covariance there.

        Gauss-Newton steps for all limiting currents at once; R is kept from falling below zero.
        """
        likelihood, priors = self._likelihood, self._likelihood.priors
        numbers = numbers.copy()
        weight = 1.0 / np.sqrt(likelihood.size + likelihood.pilot_scatter**2)
        steps = np.array([1e-5, 1e-4, 1e-4 * max(float(numbers[:, 2].min()), 1e-3)])
        moves = np.vstack([np.zeros(4), np.diag([*steps, 0.0])[:3]])[:, None, :]
        normal: Floats = np.empty((numbers.shape[0], 3, 3))
        for _ in range(_STEPS):
            off = likelihood.turned_residuals((numbers + moves).reshape(-1, 4)) * weight
            off = off.reshape(4, numbers.shape[0], -1)
            slopes = (off[0] - off[1:]) / steps[:, None, None]
            normal = np.asarray(np.einsum("pgn,qgn->gpq", slopes, slopes))
            onto: Floats = np.asarray(np.einsum("pgn,gn->gp", slopes, off[0]))
            onto[:, 1] -= (numbers[:, 1] - math.log(priors.slope_median)) / priors.slope_spread**2
            normal[:, 1, 1] += priors.slope_spread**-2
            normal += 1e-9 * normal.trace(axis1=1, axis2=2)[:, None, None] * np.eye(3)
            move: Floats = np.asarray(np.linalg.solve(normal, onto[..., None]), dtype=np.float64)
            numbers[:, :3] += move[..., 0] / np.maximum(1.0, np.abs(move[:, 1]) / 0.5)
            numbers[:, 2] = np.maximum(numbers[:, 2], likelihood.least_apparent(numbers))
        return numbers, np.asarray(np.linalg.inv(normal), dtype=np.float64)

    def _scatter(self, numbers: Floats) -> Floats:
        """The mean of ln scatter for each limit, given all else, (g,)."""
        likelihood, priors = self._likelihood, self._likelihood.priors
        squares = np.square(likelihood.turned_residuals(numbers))
        variance = likelihood.size + np.exp(2.0 * _SCATTERS)[:, None, None]
        height = -0.5 * (squares / variance + np.log(variance)).sum(axis=2)
        away = (_SCATTERS - math.log(priors.scatter_median)) / priors.scatter_spread
        weight = np.exp(height - height.max(axis=0) - 0.5 * np.square(away)[:, None])
        return np.asarray(_SCATTERS @ weight / weight.sum(axis=0), dtype=np.float64)

    def _lay_out(self, covariance: Floats) -> None:
        """The density along the ridge, and its integral: height times the room beside the ridge."""
        room = 0.5 * np.linalg.slogdet(covariance)[1]
        # the room was found with one scatter for all; it goes with the scatter of each place
        room = room + 3.0 * (self._ridge[:, 4] - math.log(self._likelihood.pilot_scatter))
        height: Floats = self._likelihood(_lifted(self._at(self._nodes)))
        height = height + _read_off(self._nodes, self._ridge[:, 3], room)
        density = np.exp(height - height.max())
        steps = np.diff(self._nodes)
        density /= float(np.sum(0.5 * (density[1:] + density[:-1]) * steps))
        even = 1.0 / float(self._nodes[-1] - self._nodes[0])
        density = (1.0 - _KEPT_OPEN) * density + _KEPT_OPEN * even
        self._density = density
        self._share = np.append(0.0, np.cumsum(0.5 * (density[1:] + density[:-1]) * steps))
        self._density = density / self._share[-1]
        self._share = self._share / self._share[-1]

    def _inverse(self, share: Floats) -> Floats:
        """The place along the ridge before which a share lies: the root of a quadratic in each step."""
        k = np.clip(np.searchsorted(self._share, share, side="right") - 1, 0, _FINE - 2)
        begin, end = self._density[k], self._density[k + 1]
        step = float(self._nodes[1] - self._nodes[0])
        beyond = share - self._share[k]
        root = np.sqrt(np.maximum(np.square(begin) + 2.0 * (end - begin) / step * beyond, 0.0))
        return self._nodes[k] + np.clip(2.0 * beyond / (begin + root), 0.0, step)


def _read_off(at: Floats, x: Floats, y: Floats) -> Floats:
    """Linear interpolation."""
    return np.asarray(np.interp(at, x, y), dtype=np.float64)


def _lifted(numbers: Floats) -> Floats:
    """The same a hair above no resistance, where rounding must not decide."""
    lifted = numbers.copy()
    lifted[:, 2] *= 1.0 + 1e-6
    return lifted
