"""A box of allowed values, mapped onto the whole of space and back."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr, ndtri

from aerode.errors import RangeError

__all__ = ["Box"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Box:
    """Lower and upper limits of d quantities; either limit may be infinite.

    Between two limits the map is the normal distribution function (a flat density becomes a
    normal one), with one limit the exponential, with none the identity. `log_stretch` is what has to be added to a log density on the way.

    Parameters
    ----------
    lower, upper : array (d,) [any]
        Limits; minus and plus infinity where there is none.

    Examples
    --------
    >>> box = Box.of(2, lower=[0.0, -np.inf], upper=[1.0, np.inf])
    >>> box.inside(box.outside([[0.5, 7.0]])).tolist()
    [[0.5, 7.0]]
    """

    lower: Floats
    upper: Floats

    @classmethod
    def of(cls, size: int, lower: ArrayLike | None, upper: ArrayLike | None) -> Box:
        """The box of `size` quantities; None is no limit at all.

        Parameters
        ----------
        size : int [1]
            Number of quantities d.
        lower, upper : array (d,), float or None [any]
            Limits.

        Returns
        -------
        Box

        Raises
        ------
        RangeError
            If a lower limit is not below its upper limit.
        """
        low = np.broadcast_to(np.asarray(-np.inf if lower is None else lower, float), (size,))
        high = np.broadcast_to(np.asarray(np.inf if upper is None else upper, float), (size,))
        if not np.all(low < high):
            raise RangeError(
                "a lower limit is not below its upper limit",
                where="lower, upper",
                allowed="lower < upper for every quantity",
            )
        return cls(low.astype(np.float64), high.astype(np.float64))

    @property
    def _kind(self) -> tuple[NDArray[np.bool_], NDArray[np.bool_], NDArray[np.bool_]]:
        low, high = np.isfinite(self.lower), np.isfinite(self.upper)
        return low & high, low & ~high, ~low & high

    def contains(self, values: ArrayLike) -> bool:
        """Whether every value lies strictly inside.

        Parameters
        ----------
        values : array (n, d) or (d,) [any]

        Returns
        -------
        bool
        """
        x = np.asarray(values, dtype=np.float64)
        return bool(np.all((x > self.lower) & (x < self.upper)))

    def outside(self, values: ArrayLike) -> Floats:
        """From allowed values to unlimited coordinates.

        Parameters
        ----------
        values : array (n, d) [any]
            Strictly inside the box.

        Returns
        -------
        array (n, d) [1]
        """
        x = np.array(values, dtype=np.float64)
        both, low, high = self._kind
        share = (x[:, both] - self.lower[both]) / (self.upper[both] - self.lower[both])
        x[:, both] = np.where(share < 0.5, ndtri(share), -ndtri(1 - share))
        x[:, low] = np.log(x[:, low] - self.lower[low])
        x[:, high] = -np.log(self.upper[high] - x[:, high])
        return x

    def inside(self, coordinates: ArrayLike) -> Floats:
        """From unlimited coordinates back to allowed values.

        Parameters
        ----------
        coordinates : array (n, d) [1]

        Returns
        -------
        array (n, d) [any]
        """
        u = np.array(coordinates, dtype=np.float64)
        both, low, high = self._kind
        u[:, both] = self.lower[both] + (self.upper[both] - self.lower[both]) * ndtr(u[:, both])
        u[:, low] = self.lower[low] + np.exp(np.minimum(u[:, low], 700.0))
        u[:, high] = self.upper[high] - np.exp(np.minimum(-u[:, high], 700.0))
        return u

    def log_stretch(self, coordinates: ArrayLike) -> Floats:
        """ln |d values / d coordinates|, summed over the quantities.

        Parameters
        ----------
        coordinates : array (n, d) [1]

        Returns
        -------
        array (n,) [1]
        """
        u = np.asarray(coordinates, dtype=np.float64)
        both, low, high = self._kind
        width = np.log(self.upper[both] - self.lower[both])
        middle = (width - u[:, both] ** 2 / 2 - 0.5 * np.log(2 * np.pi)).sum(axis=1)
        return np.asarray(middle + u[:, low].sum(axis=1) - u[:, high].sum(axis=1))
