"""The summit of a log density and the curvature there, from batches of evaluations only."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from aerode.errors import CannotTellError
from aerode.quantities import Reason

__all__ = ["LogDensity", "climb"]

Floats = NDArray[np.float64]

LogDensity = Callable[[Floats], Floats]
"""Rows of parameters (n, d) in, one log density a row (n,) out."""

_MOST_STEPS = 40
_DEEP = 40.0
"""Standing-in drop where the log density is minus infinity."""

_REACHES = 4.0 ** np.arange(-7, 5)
_DAMPINGS = np.array([4.0, 2.0, *0.4 ** np.arange(12)])


def climb(
    log_density: LogDensity, place: Floats, steps: Floats, rng: Generator
) -> tuple[Floats, Floats]:
    """The highest point that damped Newton steps reach, and minus the inverse curvature there.

    Parameters
    ----------
    log_density : callable, array (n, d) -> array (n,) [1]
    place : array (d,) [any]
        Where to look first.
    steps : array (d,) [any]
        Rough size of a step.
    rng : numpy.random.Generator
        Scatters 60 d more places about it.

    Returns
    -------
    summit : array (d,) [any]
    covariance : array (d, d) [any]
        Positive definite: directions along which the density does not fall get a wide value.

    Raises
    ------
    CannotTellError
        If no place has a finite log density.

    Notes
    -----
    Differences are taken at about one standard deviation, where the log density has dropped by a
    half: this is the curvature that matters for a proposal, and rounding does not reach it.
    """
    about = place + 3.0 * steps * rng.standard_normal((60 * place.size, place.size))
    cloud = np.concatenate([place[None, :], about])
    heights = log_density(cloud)
    top = int(np.argmax(heights))
    if not np.isfinite(heights[top]):
        raise CannotTellError(
            "no place with a finite log density was found",
            where="log_density",
            next_step="give a start at which the readings are possible. "
            + str(Reason.NOT_CONVERGED),
        )
    here, height = cloud[top], float(heights[top])
    reach = _reach(log_density, here, height, steps)
    curvature = np.eye(here.size)
    for _ in range(_MOST_STEPS):
        slope, curvature = _differences(log_density, here, height, reach)
        move, promised = _newton(slope, curvature)
        ladder = here + _DAMPINGS[:, None] * move * reach
        heights = log_density(ladder)
        top = int(np.argmax(heights))
        rise = float(heights[top]) - height
        if rise > 0:
            here, height = ladder[top], float(heights[top])
        if promised < 1e-3 or rise < 1e-4:
            break
        bend = np.maximum(-np.diagonal(curvature), 1e-6)
        reach = reach * np.clip(np.sqrt(2 * _wanted_drop(height) / bend), 0.2, 5.0)
    _, curvature = _differences(log_density, here, height, reach)
    values, vectors = np.linalg.eigh(-curvature)
    spread = (vectors / np.maximum(values, 0.02)) @ vectors.T
    return here, np.asarray(spread * np.outer(reach, reach))


def _reach(log_density: LogDensity, here: Floats, height: float, steps: Floats) -> Floats:
    """Along each axis, the distance at which the log density has changed by about one half."""
    size, rungs = here.size, _REACHES.size
    distance = steps * _REACHES[:, None]
    moves = distance[:, :, None] * np.eye(size)
    points = here + np.concatenate([moves, -moves]).reshape(-1, size)
    heights = _floored(log_density(points), height).reshape(2, rungs, size)
    change = np.abs(heights - height).max(axis=0)
    aim = _wanted_drop(height)
    return distance[np.argmin(np.abs(np.log(change / aim + 1e-9)), axis=0), np.arange(size)]


def _wanted_drop(height: float) -> float:
    """One half; more where the height is so large that rounding would swamp a half."""
    return max(0.5, 1e-6 * abs(height))


def _floored(heights: Floats, height: float) -> Floats:
    return np.where(np.isfinite(heights), heights, height - _DEEP)


def _differences(
    log_density: LogDensity, here: Floats, height: float, reach: Floats
) -> tuple[Floats, Floats]:
    """Slope and curvature in units of `reach`, from one batch of 1 + d + d² places."""
    size = here.size
    units = np.diag(reach)
    first, second = np.triu_indices(size, 1)
    pairs = units[first] + units[second]
    points = np.concatenate([here + units, here - units, here + pairs, here - pairs])
    heights = _floored(log_density(points), height) - height
    up, down = heights[:size], heights[size : 2 * size]
    both = heights[2 * size : 2 * size + first.size] + heights[2 * size + first.size :]
    curvature = np.diag(up + down)
    cross = 0.5 * (both - (up + down)[first] - (up + down)[second])
    curvature[first, second] = cross
    curvature[second, first] = cross
    return 0.5 * (up - down), curvature


def _newton(slope: Floats, curvature: Floats) -> tuple[Floats, float]:
    """An uphill step (in reaches) with every curvature taken as downward, and the rise it promises."""
    values, vectors = np.linalg.eigh(-curvature)
    along = vectors.T @ slope
    move = along / np.maximum(np.abs(values), 0.05)
    return vectors @ move, float(along @ move)
