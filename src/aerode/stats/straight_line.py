"""A straight line through readings, with the covariance of its two numbers: calibrating a meter, a sensor, a sheet."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from aerode.errors import CannotTellError, RangeError
from aerode.quantities import Reason
from aerode.stats.contrasts import t_quantile

__all__ = ["StraightLine", "fit_straight_line"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class StraightLine:
    """y = intercept + slope (x − reference), fitted by ordinary least squares.

    Parameters
    ----------
    intercept, slope : float [y, y / x]
    reference : float [x]
        Where the intercept is taken.
    covariance : array (2, 2) [any]
        Of intercept and slope.
    residual_standard_deviation : float [y]
    degrees_of_freedom : int [1]
        n − 2.
    squared_correlation : float [1]
        Share of the variation that the line explains.
    """

    intercept: float
    slope: float
    reference: float
    covariance: Floats
    residual_standard_deviation: float
    degrees_of_freedom: int
    squared_correlation: float

    @property
    def standard_uncertainties(self) -> tuple[float, float]:
        """Of intercept and slope [y, y / x]."""
        return math.sqrt(self.covariance[0, 0]), math.sqrt(self.covariance[1, 1])

    @property
    def correlation(self) -> float:
        """Correlation of intercept and slope [1]."""
        a, b = self.standard_uncertainties
        return float(self.covariance[0, 1]) / (a * b) if a * b > 0 else 0.0

    def at(self, x: float) -> tuple[float, float]:
        """The line's value and its standard uncertainty at x.

        Parameters
        ----------
        x : float [x]

        Returns
        -------
        value, standard_uncertainty : float [y]
            Of the line; the scatter of a single further reading is not in it.

        Notes
        -----
        JCGM 100:2008 eq. H.15: the covariance term is not left out.
        """
        direction = np.array([1.0, x - self.reference])
        value = self.intercept + self.slope * (x - self.reference)
        return value, math.sqrt(max(float(direction @ self.covariance @ direction), 0.0))

    def solve(self, y: float, y_standard_uncertainty: float = 0.0) -> tuple[float, float]:
        """The x that belongs to a reading y, and its standard uncertainty (inverse use).

        Parameters
        ----------
        y : float [y]
        y_standard_uncertainty : float [y]
            Of the reading itself, independent of the line.

        Returns
        -------
        x, standard_uncertainty : float [x]

        Raises
        ------
        CannotTellError
            If the slope is not told apart from zero (95 % interval).

        Notes
        -----
        First order; good while the slope's relative uncertainty is below about 10 %.
        """
        critical = t_quantile(0.975, self.degrees_of_freedom)
        if abs(self.slope) <= critical * self.standard_uncertainties[1]:
            raise CannotTellError(
                "the line may be level, so a reading does not tell where it belongs",
                where="slope",
                next_step="calibrate over a wider range",
            )
        x = self.reference + (y - self.intercept) / self.slope
        _, line = self.at(x)
        return x, math.hypot(line, y_standard_uncertainty) / abs(self.slope)


def fit_straight_line(x: ArrayLike, y: ArrayLike, *, reference: float = 0.0) -> StraightLine:
    """The least-squares line through at least three points, with its covariance.

    Parameters
    ----------
    x, y : array (n,) [any]
        x free of error, y with independent errors of one unknown size.
    reference : float [x]
        Where the intercept is wanted; far from the data it correlates strongly with the slope.

    Returns
    -------
    StraightLine

    Raises
    ------
    RangeError
        If the arrays differ in length or a number is not finite.
    CannotTellError
        With fewer than three points, or all at one x.

    Notes
    -----
    JCGM 100:2008 H.3 (eqs H.13a to H.13g), about the mean of x so that no digits are lost.

    Examples
    --------
    >>> line = fit_straight_line([0.0, 1.0, 2.0, 3.0], [0.0, 1.0, 2.0, 3.0])
    >>> round(line.slope, 9), round(line.at(10.0)[0], 9)
    (1.0, 10.0)
    """
    a, b = np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)
    if a.ndim != 1 or a.shape != b.shape or not (np.isfinite(a).all() and np.isfinite(b).all()):
        raise RangeError(f"shapes {a.shape} and {b.shape}", where="x, y", allowed="(n,) and (n,)")
    if a.size < 3 or np.ptp(a) == 0:
        raise CannotTellError(
            str(Reason.TOO_FEW_POINTS), where="x", allowed="three points, not all at one x"
        )
    middle, height = float(a.mean()), float(b.mean())
    dx, dy = a - middle, b - height
    square = float(dx @ dx)
    slope = float(dx @ dy) / square
    residuals = dy - slope * dx
    df = a.size - 2
    variance = float(residuals @ residuals) / df
    shift = reference - middle
    covariance = variance * np.array(
        [[1 / a.size + shift**2 / square, shift / square], [shift / square, 1 / square]]
    )
    whole = float(dy @ dy)
    return StraightLine(
        intercept=height + slope * shift,
        slope=slope,
        reference=reference,
        covariance=covariance,
        residual_standard_deviation=math.sqrt(variance),
        degrees_of_freedom=df,
        squared_correlation=1 - float(residuals @ residuals) / whole if whole > 0 else 1.0,
    )
