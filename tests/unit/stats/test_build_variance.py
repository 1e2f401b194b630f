"""The build variance against a plain search, where known errors differ by many powers of ten."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from aerode.stats.build_variance import independent_squares, most_likely_spread

Floats = NDArray[np.float64]


def _study(seed: int, smallest: float) -> tuple[Floats, Floats, Floats, Floats, int]:
    """Six pieces of two recipes, read three times each; own errors from `smallest` × 2 % to 2 %."""
    dice = np.random.default_rng(seed)
    piece = np.repeat(np.arange(6), 3)
    x = np.stack([piece % 2 == 0, piece % 2 == 1], axis=1).astype(np.float64)
    g = (piece[:, None] == piece).astype(np.float64)
    own = 0.02 * np.exp(dice.uniform(np.log(smallest), 0.0, piece.size))
    place = dice.permutation(piece.size) - 8.5
    v = np.diag(np.square(own)) + 0.05**2 * np.outer(place, place)
    y = dice.multivariate_normal(np.zeros(piece.size), v + 0.1**2 * g)
    return y, x, v, g, 6 - 2


def _plain_deviance(variance: float, y: Floats, x: Floats, v: Floats, g: Floats) -> float:
    """-2 ln of the restricted likelihood, from dense determinants; no shares, no ranks."""
    free = np.linalg.qr(x, mode="complete")[0][:, x.shape[1] :]
    spread = free.T @ (v + variance * g) @ free
    rest = free.T @ y
    return float(np.linalg.slogdet(spread)[1] + rest @ np.linalg.solve(spread, rest))


@pytest.mark.parametrize("smallest", [1.0, 1e-2, 1e-3, 1e-4])
@pytest.mark.parametrize("seed", range(4))
def test_differences_within_a_piece_carry_no_build_spread(seed: int, smallest: float) -> None:
    """Exactly as many squares see the builds as there are pieces beyond recipes: rounding adds none."""
    y, x, v, g, free_builds = _study(seed, smallest)
    squares = independent_squares(y, x, v, g)
    assert int((squares.build > 0).sum()) == free_builds


@pytest.mark.parametrize("smallest", [1.0, 1e-2, 1e-3, 1e-4])
@pytest.mark.parametrize("seed", range(4))
def test_the_variance_is_the_one_a_plain_search_finds(seed: int, smallest: float) -> None:
    """Slow twin: the lowest deviance on a fine grid of variances, straight from the covariances.

    Tolerance: the grid steps by 0.5 %; at 1e-4 the dense solve itself is good to about 1e-3.
    """
    y, x, v, g, _ = _study(seed, smallest)
    found = most_likely_spread(independent_squares(y, x, v, g)).variance
    grid = 0.01 * np.exp(np.arange(-6.0, 4.0, 0.005))
    plain = grid[int(np.argmin([_plain_deviance(value, y, x, v, g) for value in grid]))]
    assert found == pytest.approx(plain, rel=0.01)
