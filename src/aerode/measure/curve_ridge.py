"""Coordinates in which the posterior of a curve is nearly a plain normal one, whatever the limiting current.

Between resistance and limiting current the posterior is a bent and lopsided ridge: from limits just
above the largest current to limits that were never approached, and cut off where R would fall below
zero. Here the ridge is followed first, then sampled along itself: the place along it by the share
of the posterior that lies before, R by its share above zero, the rest as distances.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray
from scipy.special import erfcx, log_ndtr, ndtr, ndtri

from aerode.measure.curve_likelihood import Likelihood

__all__ = ["Ridge"]

Floats = NDArray[np.float64]

_STEPS = 6
_LAYINGS = 5
_WRONG_SCATTER = 0.4  # numerical
_DEEPEST = 30.0  # numerical
_GRID = 40  # numerical
_KEPT_OPEN = 0.02
"""Numerical: share of the coordinate that is spread evenly along the ridge, so that no limit is shut out."""
_SCATTERS: Floats = np.linspace(math.log(2e-4), math.log(0.1), 40)  # numerical


class Ridge:
    """A map from sampled rows to the five numbers of a curve, and the log density of the rows.

    Rows hold: distances of level and ln b from the ridge, in widths; the share of R that lies
    between zero and it (0 to 1); the share of the ridge that lies before (0 to 1); and the distance
    of ln scatter, in widths.

    Parameters
    ----------
    likelihood : Likelihood

    Notes
    -----
    The map is exact and so is the density of the rows: how well the ridge was followed decides only
    how many samples are needed. Along the ridge the density is taken as piecewise linear in
    ln(i_L/i_0 - 1), so that its integral, the coordinate, is piecewise quadratic and is inverted in
    closed form; the derivative of the map is continuous. At each place R is taken as normal and cut
    off at zero, and all widths grow with the scatter. Where the posterior is a small part of the
    ridge (just above a limit that was reached) the ridge is laid again, denser there, so that it is
    never coarser than what it carries.
    """

    LOWER = (-np.inf, -np.inf, 0.0, 0.0, -np.inf)
    UPPER = (np.inf, np.inf, 1.0, 1.0, np.inf)
    START = (0.0, 0.0, 0.5, 0.5, 0.0)

    def __init__(self, likelihood: Likelihood) -> None:
        self._likelihood = likelihood
        variance = likelihood.size + np.exp(2.0 * _SCATTERS)[:, None]
        self._sizes: Floats = 0.5 * np.log(variance).mean(axis=1)
        numbers = likelihood.grid
        guess = np.full(numbers.shape[0], math.log(likelihood.pilot_scatter))
        for _ in range(_LAYINGS):
            self._lay(numbers, guess)
            tops = np.flatnonzero(self._density > 1e-5 * self._density.max())
            low, high = int(tops[0]), int(tops[-1])
            carrying = (self._ridge[:, 3] >= self._nodes[low]) & (
                self._ridge[:, 3] <= self._nodes[high]
            )
            wrong = np.abs(self._ridge[carrying, 4] - guess[carrying]).max(initial=0.0)
            if high - low > 0.25 * self._nodes.size and wrong < _WRONG_SCATTER:
                break
            laid = self._at(self._denser(max(low - 1, 0), high + 1))
            numbers, guess = laid[:, :4], laid[:, 4]

    def numbers(self, rows: Floats) -> Floats:
        """The five numbers of sampled rows.

        Parameters
        ----------
        rows : array (m, 5) [any]

        Returns
        -------
        array (m, 5) [any]
        """
        return self._numbers(rows)[0]

    def __call__(self, rows: Floats) -> Floats:
        numbers, log_stretch = self._numbers(rows)
        return self._likelihood(numbers) + log_stretch

    def _numbers(self, rows: Floats) -> tuple[Floats, Floats]:
        """The numbers, and ln of the determinant of the map."""
        place, density = self._inverse(rows[:, 3])
        numbers = self._at(place)
        width = _interpolated(place, self._ridge[:, 3], self._widths)
        usual = self._log_size(numbers[:, 4])
        numbers[:, 4] += width[:, 6] * rows[:, 4]
        # all distances grow with the scatter: without this the posterior would be a funnel
        growth = np.exp(self._log_size(numbers[:, 4]) - usual)
        numbers[:, 2], along, log_cut = _above_zero(rows[:, 2], numbers[:, 2], width[:, 0] * growth)
        first, second, third = growth * along, growth * rows[:, 1], growth * rows[:, 0]
        numbers[:, 1] += width[:, 1] * first + width[:, 2] * second
        numbers[:, 0] += width[:, 3] * first + width[:, 4] * second + width[:, 5] * third
        room = width[:, 2] * width[:, 5] * width[:, 6] * growth**2 / density
        return numbers, np.log(room) + log_cut

    def _log_size(self, log_scatter: Floats) -> Floats:
        """ln of the usual standard deviation of a reading, its known errors and its scatter."""
        return np.asarray(np.interp(log_scatter, _SCATTERS, self._sizes), dtype=np.float64)

    def _at(self, place: Floats) -> Floats:
        """The ridge at places along it, (m, 5)."""
        return _interpolated(place, self._ridge[:, 3], self._ridge)

    def _denser(self, low: int, high: int) -> Floats:
        """Places along the ridge, most of them between two of its nodes."""
        begin, end = float(self._nodes[low]), float(self._nodes[min(high, self._nodes.size - 1)])
        before = np.linspace(float(self._nodes[0]), begin, 6)
        after = np.linspace(end, float(self._nodes[-1]), 6)
        return np.unique(np.concatenate([before, np.linspace(begin, end, _GRID), after]))

    def _lay(self, numbers: Floats, log_scatter: Floats) -> None:
        """Follow the ridge from a first guess at each place, and integrate the density along it."""
        best, covariance = self._follow(numbers, log_scatter)
        scatter, scatter_width = self._scatter(best)
        self._ridge: Floats = np.column_stack([best, scatter])
        # R first: the others follow it where it is held at zero
        factor: Floats = np.asarray(np.linalg.cholesky(covariance[:, ::-1, ::-1]), dtype=np.float64)
        rows, columns = np.tril_indices(3)
        self._widths: Floats = np.column_stack([factor[:, rows, columns], scatter_width])
        self._integrate()

    def _follow(self, numbers: Floats, log_scatter: Floats) -> tuple[Floats, Floats]:
        """Level, ln b and R that fit best for each limit, and their covariance there.

        Gauss-Newton steps for all limiting currents at once. R may fall below zero, but not so far
        that a load and R together would; the others then follow it.
        """
        likelihood, priors = self._likelihood, self._likelihood.priors
        numbers = numbers.copy()
        total, _ = likelihood.data.circuit(likelihood.data.load, likelihood.data.lead_resistance)
        least = -0.4 * float(total.min())  # numerical
        weight = 1.0 / np.sqrt(likelihood.size + np.exp(2.0 * log_scatter)[:, None])
        steps = np.array([1e-5, 1e-4, 1e-4 * float(total.min())])  # numerical
        moves = np.vstack([np.zeros(4), np.diag([*steps, 0.0])[:3]])[:, None, :]
        normal: Floats = np.empty((numbers.shape[0], 3, 3))
        for _ in range(_STEPS):
            off = likelihood.turned_residuals((numbers + moves).reshape(-1, 4))
            off = off.reshape(4, numbers.shape[0], -1) * weight
            slopes = (off[0] - off[1:]) / steps[:, None, None]
            normal = np.asarray(np.einsum("pgn,qgn->gpq", slopes, slopes))
            onto: Floats = np.asarray(np.einsum("pgn,gn->gp", slopes, off[0]))
            onto[:, 1] -= (numbers[:, 1] - math.log(priors.slope_median)) / priors.slope_spread**2
            normal[:, 1, 1] += priors.slope_spread**-2
            normal += 1e-9 * np.einsum("gpp->gp", normal)[:, None, :] * np.eye(3)
            normal += 1e-12 * np.eye(3)
            free: Floats = np.asarray(np.linalg.solve(normal, onto[..., None]), dtype=np.float64)
            by_r = np.maximum(numbers[:, 2] + free[:, 2, 0], least) - numbers[:, 2]
            rest = onto[:, :2] - normal[:, :2, 2] * by_r[:, None]
            held: Floats = np.asarray(
                np.linalg.solve(normal[:, :2, :2], rest[..., None]), dtype=np.float64
            )
            short = 1.0 / np.maximum(1.0, np.abs(held[:, 1, 0]) / 0.5)
            numbers[:, :2] += held[..., 0] * short[:, None]
            numbers[:, 2] += by_r * short
        return numbers, np.asarray(np.linalg.inv(normal), dtype=np.float64)

    def _scatter(self, numbers: Floats) -> tuple[Floats, Floats]:
        """Mean and standard deviation of ln scatter for each limit, given all else, (g,)."""
        likelihood, priors = self._likelihood, self._likelihood.priors
        squares = np.square(likelihood.turned_residuals(numbers))
        variance = likelihood.size + np.exp(2.0 * _SCATTERS)[:, None, None]
        height = -0.5 * (squares / variance + np.log(variance)).sum(axis=2)
        away = (_SCATTERS - math.log(priors.scatter_median)) / priors.scatter_spread
        weight = np.exp(height - height.max(axis=0) - 0.5 * np.square(away)[:, None])
        weight /= weight.sum(axis=0)
        mean: Floats = np.asarray(_SCATTERS @ weight)
        square: Floats = np.asarray(np.square(_SCATTERS) @ weight)
        return mean, np.sqrt(np.maximum(square - np.square(mean), 1e-3))  # numerical

    def _integrate(self) -> None:
        """The density along the ridge, and its integral: height times the room beside the ridge."""
        places = self._ridge[:, 3]
        fine = np.linspace(0.0, places.size - 1.0, 4 * places.size - 3)
        self._nodes: Floats = np.interp(fine, np.arange(places.size), places)
        width = _interpolated(self._nodes, places, self._widths)
        numbers = self._at(self._nodes)
        # where R would be below zero: the height at zero, and the part of the bell above it
        short = np.minimum(numbers[:, 2] / width[:, 0], 0.0)
        numbers[:, 0] -= width[:, 3] * short
        numbers[:, 1] -= width[:, 1] * short
        height: Floats = self._likelihood(
            np.column_stack([numbers[:, :2], np.maximum(numbers[:, 2], 0.0), numbers[:, 3:]])
        )
        part = np.where(
            short < 0.0,
            np.log(0.5 * erfcx(-short / math.sqrt(2.0))),
            log_ndtr(np.maximum(numbers[:, 2], 0.0) / width[:, 0]),
        )
        height = height + np.log(width[:, 0] * width[:, 2] * width[:, 5]) + part
        density = np.exp(height - height.max())
        steps = np.diff(self._nodes)
        density /= float(np.sum(0.5 * (density[1:] + density[:-1]) * steps))
        density = (1.0 - _KEPT_OPEN) * density + _KEPT_OPEN / float(places[-1] - places[0])
        share = np.append(0.0, np.cumsum(0.5 * (density[1:] + density[:-1]) * steps))
        self._density: Floats = density / share[-1]
        self._share: Floats = share / share[-1]

    def _inverse(self, share: Floats) -> tuple[Floats, Floats]:
        """The place before which a share lies, and the density there: a quadratic in each step."""
        k = np.clip(np.searchsorted(self._share, share, side="right") - 1, 0, self._nodes.size - 2)
        begin, end = self._density[k], self._density[k + 1]
        step = self._nodes[k + 1] - self._nodes[k]
        beyond = share - self._share[k]
        # numerical: never quite zero
        here = np.sqrt(np.maximum(np.square(begin) + 2.0 * (end - begin) / step * beyond, 1e-30))
        return self._nodes[k] + np.clip(2.0 * beyond / (begin + here), 0.0, step), here


def _above_zero(share: Floats, middle: Floats, width: Floats) -> tuple[Floats, Floats, Floats]:
    """The value above zero before which a share of a cut-off normal distribution lies.

    Returns the value, its distance from the middle in widths, and ln of d value / d share.
    """
    depth = np.minimum(-middle / width, _DEEPEST)  # how many widths the middle lies below zero
    above = ndtr(-depth)
    # numerical: a share knows no more digits than that
    beyond = above * np.clip(1.0 - share, 1e-16, 1.0)
    along = -ndtri(np.clip(beyond, 1e-300, 1.0 - 1e-16))  # numerical
    value = np.maximum(width * (along - depth), 0.0) + np.maximum(middle + width * depth, 0.0)
    log_slope = np.log(width * above) + 0.5 * np.square(along) + 0.5 * math.log(2.0 * math.pi)
    return value, (value - middle) / width, log_slope


def _interpolated(at: Floats, x: Floats, table: Floats) -> Floats:
    """Linear interpolation in every column of a table."""
    k = np.clip(np.searchsorted(x, at, side="right") - 1, 0, x.size - 2)
    part = ((at - x[k]) / (x[k + 1] - x[k]))[:, None]
    return table[k] * (1.0 - part) + table[k + 1] * part
