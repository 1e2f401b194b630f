"""How much of a wet grain works: the effectiveness factor of a flooded agglomerate.

All shapes use one Thiele modulus, built on volume over outer surface, so that they agree at
small and at large values and differ by no more than 14 % in between.
"""

from __future__ import annotations

from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ive

from aerode.errors import RangeError

__all__ = [
    "Shape",
    "characteristic_length",
    "effectiveness",
    "effectiveness_slope",
    "effectiveness_with_film",
    "thiele_modulus",
]

Floats = NDArray[np.float64]

# Below this modulus the closed forms lose digits by cancellation and the series is exact to 1e-12.
_SERIES_BELOW = 1e-3  # numerical
# Above this argument slopes and the rod's Bessel ratio use their tails, exact to 1e-12 there.
_FAR = 1e4  # numerical
# Small-modulus series E = 1 - a φ² + ...; a for each shape (Aris, from the expansion of the closed forms).
_CURVATURE = {"sphere": 0.6, "cylinder": 0.5, "slab": 1.0 / 3.0}  # numerical
_DIVISOR = {"sphere": 3.0, "cylinder": 2.0, "slab": 1.0}


class Shape(StrEnum):
    """The shape of an agglomerate: ball, rod, or a wet film on a wall."""

    SPHERE = "sphere"
    CYLINDER = "cylinder"
    SLAB = "slab"


def characteristic_length(shape: Shape, radius: float) -> float:
    """Give the volume of an agglomerate over its outer surface.

    Parameters
    ----------
    shape : Shape
        Ball, rod, or film.
    radius : float
        Radius of the ball or the rod; thickness of a film that is fed from one side, which is
        also half the thickness of one fed from both [m].

    Returns
    -------
    float
        Volume over surface: a third, a half, or all of `radius` [m].

    Examples
    --------
    >>> characteristic_length(Shape.SPHERE, 3e-6)
    1e-06
    """
    return radius / _DIVISOR[shape]


def thiele_modulus(
    length: ArrayLike, rate_constant: ArrayLike, diffusivity: ArrayLike
) -> Floats | np.float64:
    """Give the Thiele modulus: reaction speed against diffusion speed within an agglomerate.

    Parameters
    ----------
    length : array_like
        Volume over outer surface, see `characteristic_length` [m].
    rate_constant : array_like
        First-order rate constant per volume of agglomerate [1/s].
    diffusivity : array_like
        Diffusivity of dissolved oxygen within the agglomerate [m²/s].

    Returns
    -------
    ndarray
        φ = length·√(rate_constant/diffusivity) [1].

    Notes
    -----
    Thiele (1939), Ind. Eng. Chem. 31:916; Aris (1957), Chem. Eng. Sci. 6:262 (status: unverified,
    cited from memory). First-order reaction, uniform agglomerate, steady state.

    Examples
    --------
    >>> float(thiele_modulus(1e-6, 4.0, 1e-12))
    2.0
    """
    return np.asarray(length) * np.sqrt(np.asarray(rate_constant) / np.asarray(diffusivity))


def effectiveness(modulus: ArrayLike, shape: Shape = Shape.SPHERE) -> Floats:
    """Give the share of the full rate that a flooded agglomerate reaches.

    Parameters
    ----------
    modulus : array_like
        Thiele modulus φ on volume over surface, any shape, not negative [1].
    shape : Shape
        Ball, rod or film.

    Returns
    -------
    ndarray
        E, same shape as `modulus`, between 0 and 1 [1].

    Raises
    ------
    RangeError
        If a modulus is negative or not finite.

    Notes
    -----
    Sphere (coth 3φ − 1/(3φ))/φ; cylinder I₁(2φ)/(φ I₀(2φ)); slab tanh φ/φ. First-order reaction.
    Not for reactions of another order, and not where the grain is partly dry.
    Source: Thiele (1939), Ind. Eng. Chem. 31:916; Aris (1957), Chem. Eng. Sci. 6:262 (status:
    unverified, cited from memory; the forms were derived again).

    Examples
    --------
    >>> [round(float(e), 5) for e in effectiveness([0.1, 1.0, 10.0])]
    [0.99405, 0.67164, 0.09667]
    """
    phi = np.atleast_1d(np.asarray(modulus, dtype=np.float64))
    if not bool(np.all(np.isfinite(phi))) or bool(np.any(phi < 0.0)):
        raise RangeError(
            "a Thiele modulus is negative or not finite",
            where="modulus",
            allowed="finite, zero or larger",
        )
    small = phi < _SERIES_BELOW
    safe = np.where(small, 1.0, phi)
    closed = _closed_form(safe, shape)
    series = 1.0 - _CURVATURE[shape] * np.square(np.where(small, phi, 0.0))
    return np.where(small, series, closed).reshape(np.shape(modulus))


def effectiveness_slope(modulus: ArrayLike, shape: Shape = Shape.SPHERE) -> Floats:
    """Give the slope d ln E / d ln φ, which runs from 0 (all works) to −1 (only the skin works).

    Parameters
    ----------
    modulus : array_like
        Thiele modulus φ on volume over surface, any shape, not negative [1].
    shape : Shape
        Ball, rod or film.

    Returns
    -------
    ndarray
        d ln E / d ln φ, same shape as `modulus` [1].

    Raises
    ------
    RangeError
        If a modulus is negative or not finite.

    Notes
    -----
    Follows from the diffusion equation itself, C'' + (p − 1)C'/x = C with p = 1 (slab),
    2 (cylinder), 3 (sphere): y = C'/C obeys y' = 1 − (p − 1)y/x − y², and φE = y at x = pφ.
    First-order reaction only. Source: derived here from the equation behind `effectiveness`.

    Examples
    --------
    >>> [round(float(s), 4) for s in effectiveness_slope([1e-4, 100.0])]
    [-0.0, -0.9967]
    """
    share = np.atleast_1d(effectiveness(modulus, shape))
    phi = np.atleast_1d(np.asarray(modulus, dtype=np.float64))
    small = phi < _SERIES_BELOW
    safe = np.where(small, 1.0, phi)
    ratio = np.where(small, 1.0, share)
    slope = _slope(safe, ratio, shape)
    series = -2.0 * _CURVATURE[shape] * np.square(np.where(small, phi, 0.0))
    return np.where(small, series, slope).reshape(np.shape(modulus))


def effectiveness_with_film(
    modulus: ArrayLike, biot: ArrayLike, shape: Shape = Shape.SPHERE
) -> Floats:
    """Give the share of the full rate where a liquid film lies around the agglomerate.

    Parameters
    ----------
    modulus : array_like
        Thiele modulus φ on volume over surface [1].
    biot : array_like
        Mass-transfer Biot number: film transfer coefficient × length / diffusivity [1].
    shape : Shape
        Ball, rod or film.

    Returns
    -------
    ndarray
        E_o with 1/E_o = 1/E + φ²/Bi [1].

    Raises
    ------
    RangeError
        If a modulus is negative or not finite.

    Notes
    -----
    Resistances in series, first-order reaction. Source: Aris (1957), Chem. Eng. Sci. 6:262
    (status: unverified, cited from memory).

    Examples
    --------
    >>> round(float(effectiveness_with_film(1.0, 1.0)), 5)
    0.40178
    """
    inner = effectiveness(modulus, shape)
    film = np.square(np.asarray(modulus, dtype=np.float64)) / np.asarray(biot, dtype=np.float64)
    return np.asarray(1.0 / (1.0 / inner + film))


def _closed_form(phi: Floats, shape: Shape) -> Floats:
    if shape is Shape.SPHERE:
        return _sphere(3.0 * phi)
    if shape is Shape.CYLINDER:
        return _cylinder(2.0 * phi) / phi
    return np.tanh(phi) / phi


def _sphere(x: Floats) -> Floats:
    """3(x coth x − 1)/x², by its series for small x where the difference cancels."""
    small = x < 0.1  # numerical
    square = np.where(small, x, 0.0) ** 2
    # numerical: Taylor series
    series = 1.0 - square * (1 / 15 - square * (2 / 315 - square * (1 / 1575 - square * 2 / 31185)))
    return np.where(small, series, 3.0 * (1.0 / np.tanh(x) - 1.0 / x) / x)


def _cylinder(x: Floats) -> Floats:
    """I₁(x)/I₀(x); far out by its asymptotic series, since the functions give NaN from 1e9 on."""
    far = x > _FAR
    near = np.where(far, 1.0, x)
    # Scaled Bessel functions: the growth e^x cancels in the ratio and cannot overflow.
    ratio = ive(1, near) / ive(0, near)
    u = 1.0 / np.where(far, x, _FAR)
    tail = 1.0 - u * (0.5 + u * (0.125 + u * 0.125))  # numerical: next term 0.2/x⁴
    return np.asarray(np.where(far, tail, ratio))


def _slope(phi: Floats, share: Floats, shape: Shape) -> Floats:
    """d ln E/d ln φ from the Riccati equation y' = 1 − (p − 1)y/x − y² of y = φE at x = pφ."""
    p = _DIVISOR[shape]
    x = p * phi
    y = phi * share
    riccati = x * (1.0 - (p - 1.0) * y / x - y**2) / y - 1.0
    # Far out the bracket is the difference of equal numbers: ln y = −(p−1)/(2x) − ..., term by term.
    far = np.where(x > _FAR, x, _FAR)
    if shape is Shape.SPHERE:
        tail = (2.0 - far) / (far - 1.0)
    else:
        tail = (p - 1.0) * (0.5 / far + 0.5 / far**2) - 1.0
    return np.where(x > _FAR, tail, riccati)
