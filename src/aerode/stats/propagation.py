"""The law of propagation of uncertainty (JCGM 100:2008, the GUM): from inputs with a covariance to a result."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from aerode.errors import RangeError
from aerode.stats.contrasts import t_quantile

__all__ = [
    "Propagated",
    "correlation_matrix",
    "covariance_matrix",
    "effective_degrees_of_freedom",
    "expanded_uncertainty",
    "half_width_uncertainty",
    "propagate",
    "repeated_observations",
    "sensitivities",
]

Floats = NDArray[np.float64]

Model = Callable[[Floats], ArrayLike]
"""Input quantities (m,) in, one or several output quantities () or (k,) out."""


@dataclass(frozen=True, slots=True)
class Propagated:
    """Output quantities with their covariance and what each input contributed.

    Parameters
    ----------
    values : array (k,) [any]
    covariance : array (k, k) [any]
    sensitivities : array (k, m) [output / input]
        ∂output / ∂input at the input estimates.
    contributions : array (k, m) [output]
        |sensitivity| × standard uncertainty of each input (its own part, without correlations).
    """

    values: Floats
    covariance: Floats
    sensitivities: Floats
    contributions: Floats

    @property
    def standard_uncertainties(self) -> Floats:
        """Combined standard uncertainties, array (k,) [output]."""
        return np.sqrt(np.diagonal(self.covariance))

    @property
    def correlations(self) -> Floats:
        """Correlation matrix of the outputs, array (k, k) [1]."""
        return correlation_matrix(self.covariance)


def correlation_matrix(covariance: ArrayLike) -> Floats:
    """Correlations from a covariance matrix; a quantity without uncertainty correlates with nothing.

    Parameters
    ----------
    covariance : array (k, k) [any]

    Returns
    -------
    array (k, k) [1]

    Examples
    --------
    >>> correlation_matrix([[4.0, 1.0], [1.0, 1.0]]).tolist()
    [[1.0, 0.5], [0.5, 1.0]]
    """
    u = np.asarray(covariance, dtype=np.float64)
    s = np.sqrt(np.diagonal(u))
    scale = np.outer(s, s)
    r = np.divide(u, scale, out=np.zeros_like(u), where=scale > 0)
    np.fill_diagonal(r, 1.0)
    return r


def covariance_matrix(
    standard_uncertainties: ArrayLike, correlations: ArrayLike | None = None
) -> Floats:
    """The covariance matrix from standard uncertainties and a correlation matrix.

    Parameters
    ----------
    standard_uncertainties : array (m,) [any]
        Not negative.
    correlations : array (m, m), optional [1]
        Symmetric with a unit diagonal; independent inputs when left out.

    Returns
    -------
    array (m, m) [any]

    Raises
    ------
    RangeError
        If the correlations cannot belong to any quantities.

    Examples
    --------
    >>> covariance_matrix([2.0, 1.0], [[1.0, 0.5], [0.5, 1.0]]).tolist()
    [[4.0, 1.0], [1.0, 1.0]]
    """
    u = np.asarray(standard_uncertainties, dtype=np.float64)
    if u.ndim != 1 or np.any(~np.isfinite(u)) or np.any(u < 0):
        raise RangeError(
            "a standard uncertainty is negative or not finite", where="standard_uncertainties"
        )
    r = np.eye(u.size) if correlations is None else np.asarray(correlations, dtype=np.float64)
    sound = r.shape == (u.size, u.size) and np.allclose(r, r.T) and np.allclose(np.diagonal(r), 1)
    # Published correlations are rounded, so a slightly negative eigenvalue is let through.
    if not sound or np.linalg.eigvalsh(r)[0] < -0.05:
        raise RangeError("no quantities have these correlations", where="correlations")
    return np.asarray(r * np.outer(u, u), dtype=np.float64)


def sensitivities(model: Model, estimates: ArrayLike, steps: ArrayLike) -> Floats:
    """Derivatives of a model's outputs by its inputs, by central differences of fourth order.

    Parameters
    ----------
    model : callable, array (m,) -> array () or (k,)
    estimates : array (m,) [any]
    steps : array (m,) [any]
        Step of each input, positive; a standard uncertainty is a good one (5.1.3 note 2).

    Returns
    -------
    array (k, m) [output / input]

    Notes
    -----
    (8 (f₊₁ − f₋₁) − (f₊₂ − f₋₂)) / 12h, whose error is h⁴f⁗′/30: with a step of a tenth of the
    uncertainty it is far below anything that matters, unless the model has a kink there.

    Examples
    --------
    >>> sensitivities(lambda x: x[0] * x[1], [2.0, 3.0], [0.01, 0.01]).round(9).tolist()
    [[3.0, 2.0]]
    """
    x = np.asarray(estimates, dtype=np.float64)
    h = np.broadcast_to(np.asarray(steps, dtype=np.float64), x.shape)
    if np.any(~(h > 0)):
        raise RangeError("a step is not positive", where="steps", allowed="> 0")
    columns: list[Floats] = []
    for index in range(x.size):
        move = np.zeros_like(x)
        move[index] = h[index]
        near = _outputs(model, x + move) - _outputs(model, x - move)
        far = _outputs(model, x + 2 * move) - _outputs(model, x - 2 * move)
        columns.append((8 * near - far) / (12 * h[index]))
    return np.stack(columns, axis=1)


def _outputs(model: Model, x: Floats) -> Floats:
    values = np.atleast_1d(np.asarray(model(x), dtype=np.float64))
    if not np.isfinite(values).all():
        raise RangeError("the model gives no finite value here", where=f"model at {x}")
    return values


def propagate(
    model: Model,
    estimates: ArrayLike,
    covariance: ArrayLike,
    *,
    derivatives: Callable[[Floats], ArrayLike] | None = None,
) -> Propagated:
    """Output quantities and their full covariance from inputs and theirs, to first order.

    Parameters
    ----------
    model : callable, array (m,) -> array () or (k,)
    estimates : array (m,) [any]
        Input estimates.
    covariance : array (m, m) [any]
        Covariance of the inputs; a shared error is one input, not several.
    derivatives : callable, array (m,) -> array (m,) or (k, m), optional
        Analytic sensitivities; differences over a tenth of each uncertainty otherwise.

    Returns
    -------
    Propagated

    Raises
    ------
    RangeError
        If shapes do not agree, or the model is not finite near the estimates.

    Notes
    -----
    U(y) = C U(x) C' (JCGM 100:2008, 5.2.2 eq. 13 and H.2.3; JCGM 102 for several outputs). First
    order: not for a product whose factors have large relative uncertainties, nor near a stationary
    point of the model (x² at 0). There use `monte_carlo.propagate_distributions`.

    Examples
    --------
    >>> power = propagate(lambda x: x[0] ** 2 / x[1], [0.742, 15.0], [[9e-6, 0], [0, 0.0225]])
    >>> round(float(power.values[0]), 5), round(float(power.standard_uncertainties[0]), 6)
    (0.0367, 0.000472)
    """
    x = np.asarray(estimates, dtype=np.float64)
    u = np.asarray(covariance, dtype=np.float64)
    if x.ndim != 1 or u.shape != (x.size, x.size) or not np.isfinite(u).all():
        raise RangeError(
            f"shapes {x.shape} and {u.shape} do not belong together", where="estimates, covariance"
        )
    values = _outputs(model, x)
    spread = np.sqrt(np.diagonal(u))
    if derivatives is None:
        fallback = 1e-4 * np.maximum(np.abs(x), 1e-8)
        c = sensitivities(model, x, np.where(spread > 0, 0.1 * spread, fallback))
    else:
        c = np.atleast_2d(np.asarray(derivatives(x), dtype=np.float64))
    if c.shape != (values.size, x.size):
        raise RangeError(f"{c.shape} sensitivities for {values.size} outputs", where="derivatives")
    return Propagated(values, c @ u @ c.T, c, np.abs(c) * spread)


def effective_degrees_of_freedom(contributions: ArrayLike, degrees_of_freedom: ArrayLike) -> float:
    """Degrees of freedom of a combined uncertainty of independent contributions.

    Parameters
    ----------
    contributions : array (m,) [output]
        |sensitivity| × standard uncertainty.
    degrees_of_freedom : array (m,) [1]
        Of each contribution; infinite where it is taken as exactly known.

    Returns
    -------
    float [1]
        Infinite where all contributions with finite degrees are zero.

    Notes
    -----
    Welch–Satterthwaite, JCGM 100:2008 eq. G.2b: u⁴ / Σ(uᵢ⁴/νᵢ). Not for correlated inputs.

    Examples
    --------
    >>> round(effective_degrees_of_freedom([25.0, 9.7, 2.9, 16.6], [18, 25.6, 50, 2]), 1)
    16.8
    """
    u = np.asarray(contributions, dtype=np.float64)
    nu = np.asarray(degrees_of_freedom, dtype=np.float64)
    if u.shape != nu.shape or np.any(~(nu > 0)):
        raise RangeError(
            "degrees of freedom must be positive, one each", where="degrees_of_freedom"
        )
    below = float(np.sum(u**4 / nu))
    return float(np.sum(u**2)) ** 2 / below if below > 0 else math.inf


def expanded_uncertainty(
    standard_uncertainty: float, degrees_of_freedom: float = math.inf, level: float = 0.95
) -> float:
    """Half the interval that holds the value with this probability.

    Parameters
    ----------
    standard_uncertainty : float [any]
    degrees_of_freedom : float [1]
        Cut to the next lower whole number, as G.4.1 asks.
    level : float [1]

    Returns
    -------
    float [same]

    Notes
    -----
    U = t_p(ν) u, JCGM 100:2008 6.2.1 and G.3.2.

    Examples
    --------
    >>> round(expanded_uncertainty(32.0, 16.8, 0.99))
    93
    """
    whole = degrees_of_freedom if math.isinf(degrees_of_freedom) else math.floor(degrees_of_freedom)
    return t_quantile(0.5 + level / 2, max(whole, 1)) * standard_uncertainty


def half_width_uncertainty(half_width: float, shape: str = "rectangular") -> float:
    """The standard uncertainty of a value that lies within ± a half-width.

    Parameters
    ----------
    half_width : float [any]
        a, not negative.
    shape : {"rectangular", "triangular", "arcsine", "normal 95 %", "normal 99.73 %"}
        Rectangular where nothing more is known (a meter's specification, a last digit);
        triangular where the middle is likelier; arcsine for a value that swings back and forth.

    Returns
    -------
    float [same]

    Notes
    -----
    JCGM 100:2008 4.3.7 (a/√3), 4.3.9 (a/√6), 4.3.4 (normal); arcsine a/√2: JCGM 101:2008 6.4.6.

    Examples
    --------
    >>> round(half_width_uncertainty(0.0057), 5)
    0.00329
    """
    divisors = {
        "rectangular": math.sqrt(3),
        "triangular": math.sqrt(6),
        "arcsine": math.sqrt(2),
        "normal 95 %": t_quantile(0.975, math.inf),
        "normal 99.73 %": 3.0,
    }
    if shape not in divisors:
        raise RangeError(f"{shape!r} is no known shape", where="shape", allowed=", ".join(divisors))
    if not half_width >= 0:
        raise RangeError(f"a half-width of {half_width}", where="half_width", allowed=">= 0")
    return half_width / divisors[shape]


def repeated_observations(observations: Sequence[ArrayLike] | ArrayLike) -> tuple[Floats, Floats]:
    """Means of quantities observed together n times, and the covariance of these means.

    Parameters
    ----------
    observations : array (n, m) [any]
        One row per occasion, all quantities observed at once; n at least 2.

    Returns
    -------
    means : array (m,) [any]
    covariance : array (m, m) [any]
        Of the means, with n − 1 degrees of freedom.

    Raises
    ------
    RangeError
        With fewer than two rows.

    Notes
    -----
    JCGM 100:2008 4.2.3, 5.2.3 eq. 17 and H.2.

    Examples
    --------
    >>> means, covariance = repeated_observations([[1.0, 2.0], [3.0, 2.0]])
    >>> means.tolist(), covariance.tolist()
    ([2.0, 2.0], [[1.0, 0.0], [0.0, 0.0]])
    """
    x = np.asarray(observations, dtype=np.float64)
    if x.ndim != 2 or x.shape[0] < 2 or not np.isfinite(x).all():
        raise RangeError(
            f"observations of shape {x.shape}", where="observations", allowed="two rows or more"
        )
    means = x.mean(axis=0)
    centred = x - means
    return means, centred.T @ centred / (x.shape[0] * (x.shape[0] - 1))
