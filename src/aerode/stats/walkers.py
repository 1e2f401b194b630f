"""A crowd of walkers that spreads over a density, however bent: what a proposal is fitted to, never the answer itself."""

from __future__ import annotations

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from aerode.stats.peak import LogDensity

__all__ = ["walk"]

Floats = NDArray[np.float64]

_STRETCH = 2.0
"""The usual scale of the stretch move."""


def walk(
    log_density: LogDensity, places: Floats, heights: Floats, sweeps: int, rng: Generator
) -> Floats:
    """Move every walker once a sweep, half of them at a time, guided by the other half.

    Parameters
    ----------
    log_density : callable, array (n, d) -> array (n,) [1]
    places : array (w, d) [any]
        An even number of walkers at places with finite log density.
    heights : array (w,) [1]
        Their log densities.
    sweeps : int [1]
    rng : numpy.random.Generator

    Returns
    -------
    array (sweeps, w, d) [any]
        Where they were after each sweep.

    Notes
    -----
    Stretch moves (Goodman & Weare, Comm. App. Math. Comp. Sci. 5 (2010) 65) and difference moves
    (ter Braak, Stat. Comput. 16 (2006) 239) in turn; both leave the density unchanged and do not
    care about its scale or tilt.
    """
    places, heights = places.copy(), heights.copy()
    half = places.shape[0] // 2
    everyone = np.arange(places.shape[0], dtype=np.intp)
    sides = (everyone[:half], everyone[half:])
    path = np.empty((sweeps, *places.shape))
    for sweep in range(sweeps):
        for mine, other in (sides, sides[::-1]):
            move = _stretched if sweep % 2 else _differed
            tried, gain = move(places[mine], places[other], rng)
            raised = log_density(tried)
            taken = np.log(rng.random(mine.size)) < gain + raised - heights[mine]
            places[mine[taken]] = tried[taken]
            heights[mine[taken]] = raised[taken]
        path[sweep] = places
    return path


def _stretched(mine: Floats, other: Floats, rng: Generator) -> tuple[Floats, Floats]:
    """Along the line to a random guide, by a factor z with density 1/√z on [1/2, 2]."""
    count, size = int(mine.shape[0]), int(mine.shape[1])
    z: Floats = ((_STRETCH - 1) * rng.random(count) + 1) ** 2 / _STRETCH
    guide = _chosen(other, rng.random(count))
    return guide + z[:, None] * (mine - guide), (size - 1) * np.log(z)


def _differed(mine: Floats, other: Floats, rng: Generator) -> tuple[Floats, Floats]:
    """By the difference of two random guides, by a random share of the step that suits a normal density."""
    count, size = int(mine.shape[0]), int(mine.shape[1])
    first = _chosen(other, rng.random(count))
    second = _chosen(other, rng.random(count))
    share = np.exp(rng.uniform(np.log(0.1), np.log(1.1), (count, 1)))
    length: Floats = 2.38 / np.sqrt(2 * size) * share
    return mine + length * (first - second), np.zeros(count)


def _chosen(rows: Floats, dice: Floats) -> Floats:
    """Random rows, with replacement."""
    return rows[(dice * rows.shape[0]).astype(np.intp)]
