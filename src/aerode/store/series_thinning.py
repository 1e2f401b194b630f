"""What to draw of a long log: for each column of pixels the first, least, greatest and last value.

A line through these four covers the same pixels as a line through all points, as long as the
columns are as narrow as the pixels (U. Jugel et al., Proc. VLDB 7 (2014) 797, doi
10.14778/2732951.2732953): no spike is lost, and nothing is averaged.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

__all__ = ["Thinned", "thin"]

_FIRST, _LOW, _HIGH, _LAST = range(4)


@dataclass(frozen=True, slots=True)
class Thinned:
    """Points to draw, in the order of time, every one of them a point of the log."""

    x: NDArray[np.float64]
    y: NDArray[np.float64]
    rows: int
    """How many rows with a value there are."""


def thin(
    chunks: Iterable[dict[str, NDArray[np.float64]]],
    column: str,
    *,
    start: float,
    end: float,
    columns: int = 1000,
) -> Thinned:
    """At most four points for each column of pixels.

    Parameters
    ----------
    chunks : iterable of dict
        With the column "time" [s], which never goes backwards, and the column asked for.
    column : str
        Which one to draw.
    start, end : float
        The stretch of time to draw [s]; both belong to it.
    columns : int
        How many columns of pixels there are.

    Returns
    -------
    Thinned

    Examples
    --------
    >>> chunk = {"time": np.arange(8.0), "voltage": np.array([1, 5, 2, 3, 3, 0, 9, 4.0])}
    >>> thin([chunk], "voltage", start=0.0, end=8.0, columns=2).y
    array([1., 5., 3., 3., 0., 9., 4.])
    """
    times = np.full((columns, 4), np.nan)
    values = np.full((columns, 4), np.nan)
    rows = 0
    width = (end - start) / columns if end > start else 1.0
    for chunk in chunks:
        x, y = chunk["time"], chunk.get(column)
        if y is None or x[-1] < start or x[0] > end:
            continue
        there = ~np.isnan(y) & (x >= start) & (x <= end)
        if not there.any():
            continue
        x, y = (x, y) if there.all() else (x[there], y[there])
        rows += x.size
        place = np.minimum(((x - start) / width).astype(np.int64), columns - 1)
        _merge(times, values, place, x, y)
    return _points(times, values, rows)


def _merge(
    times: NDArray[np.float64], values: NDArray[np.float64], place: NDArray[np.int64],
    x: NDArray[np.float64], y: NDArray[np.float64],
) -> None:  # fmt: skip
    """Take a stretch of rows into the columns it falls in."""
    begins = np.flatnonzero(np.diff(place, prepend=-1))
    ends = np.append(begins[1:], x.size) - 1
    into = place[begins]
    group = np.repeat(np.arange(begins.size), np.diff(np.append(begins, x.size)))
    low, high = np.minimum.reduceat(y, begins), np.maximum.reduceat(y, begins)
    lowest, highest = _where(y, low, group, begins.size), _where(y, high, group, begins.size)
    fresh = np.isnan(values[into, _FIRST])
    _put(times, values, into[fresh], _FIRST, x[begins[fresh]], y[begins[fresh]])
    _put(times, values, into, _LAST, x[ends], y[ends])
    lower = fresh | (low < values[into, _LOW])
    _put(times, values, into[lower], _LOW, x[lowest[lower]], low[lower])
    higher = fresh | (high > values[into, _HIGH])
    _put(times, values, into[higher], _HIGH, x[highest[higher]], high[higher])


def _where(
    y: NDArray[np.float64], wanted: NDArray[np.float64], group: NDArray[np.int64], groups: int
) -> NDArray[np.int64]:
    """The first row of each group that has the value wanted."""
    found = np.flatnonzero(y == wanted[group])
    answer = np.empty(groups, dtype=np.int64)
    answer[group[found[::-1]]] = found[::-1]  # the first one is written last
    return answer


def _put(
    times: NDArray[np.float64], values: NDArray[np.float64], into: NDArray[np.int64], which: int,
    x: NDArray[np.float64], y: NDArray[np.float64],
) -> None:  # fmt: skip
    times[into, which] = x
    values[into, which] = y


def _points(times: NDArray[np.float64], values: NDArray[np.float64], rows: int) -> Thinned:
    """The points in their order, each once."""
    filled = ~np.isnan(values[:, _FIRST])
    order = np.argsort(times[filled], axis=1, kind="stable")
    x = np.take_along_axis(times[filled], order, axis=1).reshape(-1)
    y = np.take_along_axis(values[filled], order, axis=1).reshape(-1)
    fresh = np.ones(x.size, dtype=bool)
    fresh[1:] = (np.diff(x) != 0) | (np.diff(y) != 0)
    return Thinned(x[fresh], y[fresh], rows)
