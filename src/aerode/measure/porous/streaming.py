"""A million curves without a million curves in memory: drawn, solved and counted chunk by chunk.

Losses are counted in steps of a tenth of a millivolt, so that memory does not grow with the number of
draws and the ends of a band are right to one step.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from aerode.errors import RangeError
from aerode.measure.porous.bands import Band, drawn
from aerode.physics.cathode import CathodeParameters, polarization_batch

__all__ = [
    "CHUNK",
    "RESOLUTION",
    "Columns",
    "Counts",
    "Draw",
    "Generator",
    "count_losses",
    "from_bands",
    "no_steps",
]

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]

CHUNK = 2048
"""Curves at a time; numerical: larger ones gain nothing."""
RESOLUTION = 1e-4
"""Step in which losses are counted [V]; numerical."""
_LOWEST = -1.0  # numerical [V]
_HIGHEST = 5.0
"""Losses beyond these are counted at the ends; no aluminium-air cell has so much to lose. Judgement."""


def no_steps(what: str, share: float) -> None:
    """Tell nobody how far a calculation is.

    Parameters
    ----------
    what : str
    share : float [1]
    """


class Counts:
    """How often each loss was seen at each current.

    Parameters
    ----------
    places : int
        Currents.

    Examples
    --------
    >>> counts = Counts(1)
    >>> counts.add(np.linspace(0.1, 0.3, 2001)[:, None])
    >>> bool(abs(counts.quantile(0.5)[0] - 0.2) < 2e-4)
    True
    """

    def __init__(self, places: int) -> None:
        steps = round((_HIGHEST - _LOWEST) / RESOLUTION)
        self._seen: Whole = np.zeros((places, steps), dtype=np.int64)
        self.carried: Whole = np.zeros(places, dtype=np.int64)
        """Draws that can carry each current, shape (K,)."""
        self.draws = 0

    def add(self, losses: Floats) -> None:
        """Count more curves.

        Parameters
        ----------
        losses : ndarray, shape (m, K) [V]
            NaN where a draw cannot carry the current.
        """
        self.draws += losses.shape[0]
        steps = self._seen.shape[1]
        for place, column in enumerate(losses.T):
            known = column[np.isfinite(column)]
            at = np.floor((known - _LOWEST) / RESOLUTION)
            at = np.clip(at, 0, steps - 1).astype(np.int64)
            self._seen[place] += np.bincount(at, minlength=steps)
            self.carried[place] += known.size

    def quantile(self, share: float) -> Floats:
        """The loss below which a share of the draws lies that can carry the current.

        Parameters
        ----------
        share : float [1]
            Between 0 and 1.

        Returns
        -------
        ndarray, shape (K,) [V]
            NaN where no draw can carry it; right to one step.
        """
        passed = np.cumsum(self._seen, axis=1)
        wanted = share * self.carried
        at = (passed < wanted[:, None]).sum(axis=1)
        middle = _LOWEST + (np.minimum(at, self._seen.shape[1] - 1) + 0.5) * RESOLUTION
        return np.where(self.carried > 0, middle, np.nan)


Columns = dict[str, Floats]
"""Fields of `CathodeParameters`, shape (m,) each."""
Draw = Callable[[Generator, int], Columns]
"""Dice and a number of draws to columns of fields of `CathodeParameters`, shape (m,) each."""


def from_bands(bands: Mapping[str, Band]) -> Draw:
    """A draw of inputs that know nothing of each other.

    Parameters
    ----------
    bands : mapping of str to Band
        Fields of `CathodeParameters`.

    Returns
    -------
    Draw
    """
    return lambda dice, size: drawn(bands, dice.random((size, len(bands))))


def count_losses(
    base: CathodeParameters,
    draw: Draw,
    currents: Floats,
    *,
    draws: int,
    seed: int,
    workers: int = 1,
    step: Callable[[str, float], None] = no_steps,
) -> Counts:
    """The losses of many drawn cathodes, counted.

    Parameters
    ----------
    base : CathodeParameters
        What is not drawn.
    draw : Draw
        What is.
    currents : ndarray, shape (K,) [A/m^2]
        Rising.
    draws : int
        One or more.
    seed : int
        Of the dice: the answer does not depend on `workers`.
    workers : int
        Threads.
    step : callable
        Told what is being done and which share is done.

    Returns
    -------
    Counts

    Raises
    ------
    RangeError
        No draws.

    Notes
    -----
    Each chunk has dice of its own, so that a run can be cut and gives the same for any chunk order.
    """
    if draws < 1:
        raise RangeError(f"{draws} draws", where="draws", allowed="one or more")
    counts = Counts(currents.size)
    for number, begin in enumerate(range(0, draws, CHUNK)):
        size = min(CHUNK, draws - begin)
        columns = draw(np.random.default_rng([seed, number]), size)
        counts.add(polarization_batch(base, columns, currents, workers=workers).loss)
        step(f"{begin + size:,} of {draws:,} curves", (begin + size) / draws)
    return counts
