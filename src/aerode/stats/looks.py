"""Looking at the results while builds are still being added, without being fooled by it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray
from scipy.special import stdtr

from aerode.errors import RangeError

__all__ = ["UNDECLARED_LOOKS", "false_shown", "per_look_level"]

Floats = NDArray[np.float64]

UNDECLARED_LOOKS = (2, 3, 4, 5, 6, 7, 8)
"""What is assumed of somebody who did not say when they would look: after every pair up to eight."""

_BATCH = 4_000_000
"""Random numbers at a time, to keep memory flat."""


def false_shown(
    looks: Sequence[int], level_per_look: float, rng: Generator, *, trials: int = 200_000
) -> float:
    """The chance of at least one false "shown" when two equal recipes are tested at every look.

    Parameters
    ----------
    looks : sequence of int [1]
        Builds an arm at each look, growing, from 2 on.
    level_per_look : float [1]
        Two-sided level of the pooled t test at each look; 0.05 for 95 % intervals.
    rng : numpy.random.Generator
    trials : int [1]
        Simulated studies.

    Returns
    -------
    float [1]
        With a standard error of √(p(1 − p)/trials).

    Examples
    --------
    >>> import numpy as np
    >>> 0.10 < false_shown([2, 3, 4], 0.05, np.random.default_rng(1), trials=50_000) < 0.12
    True
    """
    return float(np.mean(_smallest_p(looks, rng, trials) < level_per_look))


def per_look_level(
    looks: Sequence[int], rng: Generator, *, overall: float = 0.05, trials: int = 200_000
) -> float:
    """The constant level at every look that keeps the whole chance of a false "shown" at `overall`.

    Parameters
    ----------
    looks : sequence of int [1]
        Builds an arm at each look, growing, from 2 on; `UNDECLARED_LOOKS` if nobody said.
    rng : numpy.random.Generator
    overall : float [1]
    trials : int [1]
        Simulated studies; 200,000 give the level to about 1 %.

    Returns
    -------
    float [1]
        Use intervals of level 1 − this.

    Notes
    -----
    Pocock's constant boundary (Biometrika 64 (1977) 191), for t tests with small and growing
    degrees of freedom: the `overall` quantile of the smallest p value over the looks.

    Examples
    --------
    >>> import numpy as np
    >>> 0.019 < per_look_level([2, 3, 4], np.random.default_rng(1), trials=50_000) < 0.022
    True
    """
    if not 0 < overall < 1:
        raise RangeError(f"an overall level of {overall}", where="overall", allowed="0 to 1")
    return float(np.quantile(_smallest_p(looks, rng, trials), overall))


def _smallest_p(looks: Sequence[int], rng: Generator, trials: int) -> Floats:
    """The smallest p value over the looks, for studies without any true difference."""
    n = np.asarray(looks, dtype=np.int64)
    if n.size == 0 or n[0] < 2 or np.any(np.diff(n) <= 0):
        raise RangeError(
            f"looks at {list(looks)}", where="looks", allowed="growing numbers from 2 on"
        )
    if trials < 100:
        raise RangeError(f"{trials} trials", where="trials", allowed="100 at least")
    batch = max(_BATCH // (2 * int(n[-1])), 1)
    rows = [_batch(n, rng, min(batch, trials - start)) for start in range(0, trials, batch)]
    return np.concatenate(rows)


def _batch(n: NDArray[np.int64], rng: Generator, trials: int) -> Floats:
    values = rng.standard_normal((2, trials, int(n[-1])))
    sums = np.cumsum(values, axis=2)[:, :, n - 1]
    squares = np.cumsum(np.square(values), axis=2)[:, :, n - 1]
    within = (squares - np.square(sums) / n).sum(axis=0)
    difference = (sums[1] - sums[0]) / n
    t = difference / np.sqrt(within / (2 * (n - 1)) * 2 / n)
    return np.asarray(2 * stdtr(2 * (n - 1), -np.abs(t)).min(axis=1), dtype=np.float64)
