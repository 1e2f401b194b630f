"""How powders pack, and how much binder the voids between their grains can take.

Two routes to the same question. Grains of two sizes: the Westman equation between its two exact
limits (no size effect; Furnas' perfect filling). Oil absorption: the paint trade's critical
pigment volume, at which the binder just fills the voids.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from aerode.errors import RangeError

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = [
    "closest_specific_volume",
    "critical_pigment_volume",
    "furnas_large_fraction",
    "furnas_packing_fraction",
    "oil_volume_per_mass",
    "packing_coefficient",
    "pigment_volume",
    "tightest_large_fraction",
    "voids_left_by_binder",
    "westman_specific_volume",
]

Floats = NDArray[np.float64]

LINSEED_OIL_DENSITY = 935.0  # common practice, no source
"""[kg/m³], the 93.5 of the trade's formula over 100."""
# Yu, Standish & McLean 1993: 1/G = 1.355 r^1.566 for r <= 0.824 (status: unverified, from memory).
_COEFFICIENT, _EXPONENT = 1.355, 1.566


def _refuse(what: str, where: str, allowed: str) -> RangeError:
    return RangeError(what, where=where, allowed=allowed, next_step="look at the number again")


def _specific_volumes(*volumes: float) -> None:
    for volume in volumes:
        if not (np.isfinite(volume) and volume > 1.0):
            raise _refuse(
                f"a packing of {volume:g} volumes for one of solid cannot be",
                "specific volume",
                "more than 1: it is 1/(1 - porosity)",
            )


def _shares(fraction: Floats, where: str) -> None:
    if not bool(np.all(np.isfinite(fraction))) or bool(np.any((fraction < 0) | (fraction > 1))):
        raise _refuse("a volume fraction lies outside 0 to 1", where, "0 to 1")


def packing_coefficient(size_ratio: ArrayLike) -> Floats:
    """Give the Westman coefficient G for grains of two sizes: 1 if alike, large if far apart.

    Parameters
    ----------
    size_ratio : array_like
        Diameter of the small grains over that of the large ones, above 0, at most 1 [1].

    Returns
    -------
    ndarray
        G, same shape, at least 1 [1].

    Raises
    ------
    RangeError
        If a ratio is not above 0 and at most 1.

    Notes
    -----
    1/G = 1.355 r^1.566 up to r = 0.824, and G = 1 above. Fitted to dry, round, coarse grains; not
    for flakes, needles, or powders so fine that they cling (below about 50 µm).
    Source: Yu, Standish & McLean (1993), J. Am. Ceram. Soc. 76:2813 (status: unverified, from
    memory; no copy was found).

    Examples
    --------
    >>> [round(float(g), 3) for g in packing_coefficient([0.5, 0.1, 1.0])]
    [2.185, 27.168, 1.0]
    """
    ratio = np.atleast_1d(np.asarray(size_ratio, dtype=np.float64))
    if not bool(np.all(np.isfinite(ratio))) or bool(np.any((ratio <= 0) | (ratio > 1))):
        raise _refuse("a size ratio lies outside 0 to 1", "size_ratio", "small over large, 0 to 1")
    return np.maximum(1.0, 1.0 / (_COEFFICIENT * ratio**_EXPONENT))


def westman_specific_volume(
    large_fraction: ArrayLike,
    large_volume: float,
    small_volume: float,
    coefficient: float,
) -> Floats:
    """Give the packed volume per volume of solid of a blend of large and small grains.

    Parameters
    ----------
    large_fraction : array_like
        Share of the solid volume that is large grains, 0 to 1 [1].
    large_volume, small_volume : float
        Packed volume per volume of solid of each size alone, 1/(1 − porosity), above 1 [1].
    coefficient : float
        G from `packing_coefficient`, at least 1 [1].

    Returns
    -------
    ndarray
        V, same shape as `large_fraction`; the porosity of the blend is 1 − 1/V [1].

    Raises
    ------
    RangeError
        If a share lies outside 0 to 1, a volume is not above 1, or G is below 1.

    Notes
    -----
    A² + 2GAB + B² = 1 with A = (V − V_L X_L)/V_S and B = (V − X_L − V_S X_S)/(V_L − 1). G = 1 is
    exactly linear in X (grains of one size); G → ∞ is Furnas' max(V_L X_L, X_L + V_S X_S). The
    root with A ≥ 0 and B ≥ 0 is taken, counted from the Furnas limit so that no digits cancel.
    Dry packings of round grains; not for a paste whose particles cling or are wrapped in binder.
    Source: Westman (1936), J. Am. Ceram. Soc. 19:127 (status: unverified, from memory; both
    limits were derived again).

    Examples
    --------
    >>> v = westman_specific_volume(0.7, 1 / 0.6, 1 / 0.6, 2.185)
    >>> round(float(1 - 1 / v[0]), 4)
    0.3668
    """
    _specific_volumes(large_volume, small_volume)
    if not (np.isfinite(coefficient) and coefficient >= 1.0):
        raise _refuse(f"G = {coefficient:g} is not a packing coefficient", "coefficient", ">= 1")
    x = np.atleast_1d(np.asarray(large_fraction, dtype=np.float64))
    _shares(x, "large_fraction")
    p, q = small_volume, large_volume - 1.0
    a = large_volume * x
    b = x + small_volume * (1.0 - x)
    floor = np.maximum(a, b)
    over_a, over_b = (floor - a) / p, (floor - b) / q  # one of the two is zero
    square = 1.0 / p**2 + 2.0 * coefficient / (p * q) + 1.0 / q**2
    half = over_a / p + coefficient * (over_a / q + over_b / p) + over_b / q
    free = over_a**2 + over_b**2 - 1.0
    step = -free / (half + np.sqrt(half**2 - square * free))
    return floor + step


def tightest_large_fraction(large_volume: float, small_volume: float, coefficient: float) -> float:
    """Give the share of large grains at which a blend of two sizes packs closest.

    Parameters
    ----------
    large_volume, small_volume : float
        Packed volume per volume of solid of each size alone, above 1 [1].
    coefficient : float
        G from `packing_coefficient`, at least 1 [1].

    Returns
    -------
    float
        Share of the solid volume that is large grains, 0 to 1 [1].

    Raises
    ------
    RangeError
        As `westman_specific_volume`.

    Notes
    -----
    The least V of `westman_specific_volume` over X_L, found by bounded search to 1e-9; V is convex
    in X_L. At G = 1 it lies at an end. Limits as there.

    Examples
    --------
    >>> g = float(packing_coefficient(0.1)[0])
    >>> round(tightest_large_fraction(1 / 0.6, 1 / 0.6, g), 3)
    0.657
    """
    from scipy.optimize import minimize_scalar

    def volume(x: float) -> float:
        return float(westman_specific_volume(x, large_volume, small_volume, coefficient)[0])

    # numerical
    found = minimize_scalar(volume, bounds=(0.0, 1.0), method="bounded", options={"xatol": 1e-9})
    return min((0.0, float(found.x), 1.0), key=volume)


def furnas_large_fraction(large_volume: float, small_volume: float) -> float:
    """Give the share of large grains that packs closest where the small ones fill every void.

    Parameters
    ----------
    large_volume, small_volume : float
        Packed volume per volume of solid of each size alone, above 1 [1].

    Returns
    -------
    float
        X_L = V_S/(V_S + V_L − 1) [1].

    Raises
    ------
    RangeError
        If a volume is not above 1.

    Notes
    -----
    The crossing of the two limits V_L X_L and X_L + V_S X_S; holds for a size ratio towards 0.
    Source: Furnas (1931), Ind. Eng. Chem. 23:1052 (cited from memory; derived again).

    Examples
    --------
    >>> round(furnas_large_fraction(1 / 0.6, 1 / 0.6), 4)
    0.7143
    """
    _specific_volumes(large_volume, small_volume)
    return small_volume / (small_volume + large_volume - 1.0)


def furnas_packing_fraction(large_porosity: float, small_porosity: float) -> float:
    """Give the closest packing of two sizes, the small ones filling the voids of the large.

    Parameters
    ----------
    large_porosity, small_porosity : float
        Porosity of each size alone, above 0 and below 1 [1].

    Returns
    -------
    float
        Solid share 1 − ε_L ε_S [1].

    Raises
    ------
    RangeError
        If a porosity is not between 0 and 1.

    Notes
    -----
    A bound that no real blend reaches. Source: Furnas (1931), Ind. Eng. Chem. 23:1052 (cited from
    memory; derived again).

    Examples
    --------
    >>> round(furnas_packing_fraction(0.4, 0.4), 4)
    0.84
    """
    for porosity in (large_porosity, small_porosity):
        if not 0.0 < porosity < 1.0:
            raise _refuse(f"a porosity of {porosity:g}", "porosity", "above 0 and below 1")
    return 1.0 - large_porosity * small_porosity


def closest_specific_volume(fractions: Sequence[float], specific_volumes: Sequence[float]) -> float:
    """Give the least packed volume that any blend of several sizes can have.

    Parameters
    ----------
    fractions : sequence of float
        Shares of the solid volume, from the coarsest powder to the finest, adding up to 1 [1].
    specific_volumes : sequence of float
        Packed volume per volume of solid of each alone, in the same order, above 1 [1].

    Returns
    -------
    float
        Packed volume per volume of solid [1].

    Raises
    ------
    RangeError
        If the shares do not add up to 1, or a volume is not above 1.

    Notes
    -----
    The largest, over the powders i, of V_i X_i + Σ X_j (j coarser than i): coarser grains sit in
    the packing of i as solid lumps, finer ones hide in its voids. With two powders it is Furnas'
    limit. A bound for sizes far apart, so the true volume lies between it and Σ V_i X_i.

    Examples
    --------
    >>> round(closest_specific_volume([0.7, 0.3], [1 / 0.6, 1 / 0.6]), 4)
    1.2
    """
    x = np.asarray(fractions, dtype=np.float64)
    v = np.asarray(specific_volumes, dtype=np.float64)
    _specific_volumes(*(float(one) for one in v))
    if x.shape != v.shape or x.size == 0 or abs(float(x.sum()) - 1.0) > 1e-9:  # numerical
        raise _refuse("the shares of the powders do not add up to 1", "fractions", "a sum of 1")
    _shares(x, "fractions")
    coarser = np.concatenate(([0.0], np.cumsum(x)[:-1]))
    return float(np.max(v * x + coarser))


def oil_volume_per_mass(
    oil_mass_per_mass: float, oil_density: float = LINSEED_OIL_DENSITY
) -> float:
    """Give the oil absorption by volume from the trade's grams of oil per 100 grams of powder.

    Parameters
    ----------
    oil_mass_per_mass : float
        Mass of oil per mass of powder, 0.20 for "20 g/100 g", above 0 [1].
    oil_density : float
        Density of the oil; linseed oil by default [kg/m³].

    Returns
    -------
    float
        Volume of oil per mass of powder [m³/kg].

    Raises
    ------
    RangeError
        If either is not above 0.

    Examples
    --------
    >>> round(oil_volume_per_mass(0.20), 8)
    0.0002139
    """
    if not (np.isfinite(oil_mass_per_mass) and oil_mass_per_mass > 0):
        raise _refuse("an oil absorption is not above 0", "oil_mass_per_mass", "above 0")
    if not (np.isfinite(oil_density) and oil_density > 0):
        raise _refuse("a density is not above 0", "oil_density", "above 0 kg/m³")
    return oil_mass_per_mass / oil_density


def critical_pigment_volume(oil_absorption: ArrayLike, true_density: ArrayLike) -> Floats:
    """Give the powder's share of a film in which the binder just fills the voids.

    Parameters
    ----------
    oil_absorption : array_like
        Volume of oil that a mass of powder takes up to a stiff paste, not negative [m³/kg].
    true_density : array_like
        Density of the grains themselves, above 0 [kg/m³].

    Returns
    -------
    ndarray
        CPVC = 1/(1 + oil_absorption·true_density), 0 to 1 [1].

    Raises
    ------
    RangeError
        If a number lies outside its range.

    Notes
    -----
    The oil test measures the voids of the wetted powder at its closest hand-rubbed packing. In the
    trade's units: CPVC = 1/(1 + OA·ρ/93.5), OA in g of linseed oil per 100 g, ρ in g/cm³.
    Not for a powder whose grains are themselves porous unless `true_density` counts those pores as
    grain (oil enters them), nor for pressed films.
    Source: Asbeck & Van Loo (1949), Ind. Eng. Chem. 41:1470 (concept); formula as printed in
    S. Abbott, Practical Coatings, "CPVC", and in R. Lewarchik, UL Prospector, "Pigment volume
    concentration, part II" (2014).

    Examples
    --------
    >>> round(float(critical_pigment_volume(oil_volume_per_mass(0.20), 4200.0)[0]), 4)
    0.5268
    """
    oil = np.atleast_1d(np.asarray(oil_absorption, dtype=np.float64))
    density = np.atleast_1d(np.asarray(true_density, dtype=np.float64))
    if not bool(np.all(np.isfinite(oil))) or bool(np.any(oil < 0)):
        raise _refuse("an oil absorption is negative or not finite", "oil_absorption", ">= 0")
    if not bool(np.all(np.isfinite(density))) or bool(np.any(density <= 0)):
        raise _refuse("a density is not above 0", "true_density", "above 0 kg/m³")
    return 1.0 / (1.0 + oil * density)


def pigment_volume(solid_volume: float, binder_volume: float) -> float:
    """Give the powder's share of the dry film's solid volume (pigment volume concentration).

    Parameters
    ----------
    solid_volume : float
        Volume of all powder grains, not negative [m³].
    binder_volume : float
        Volume of polymer, plasticiser and wax, not negative [m³].

    Returns
    -------
    float
        PVC, 0 to 1 [1].

    Raises
    ------
    RangeError
        If a volume is negative, or both are 0.

    Examples
    --------
    >>> pigment_volume(3.0, 1.0)
    0.75
    """
    total = solid_volume + binder_volume
    if not np.isfinite(total) or min(solid_volume, binder_volume) < 0 or total <= 0:
        raise _refuse("there is no dry volume to share", "volumes", "not negative, one above 0")
    return solid_volume / total


def voids_left_by_binder(pigment: ArrayLike, critical: ArrayLike) -> Floats:
    """Give the porosity of a dry, unpressed film from its binder balance.

    Parameters
    ----------
    pigment : array_like
        Pigment volume concentration PVC, 0 to 1 [1].
    critical : array_like
        Critical pigment volume CPVC of the same powders, above 0, at most 1 [1].

    Returns
    -------
    ndarray
        ε = 1 − CPVC/PVC where PVC > CPVC, else 0: the binder fills every void [1].

    Raises
    ------
    RangeError
        If a share lies outside its range.

    Notes
    -----
    V_p grains pack to V_p/CPVC; grains and binder together are V_p/PVC; the rest is void. Exact for
    a packing that the binder does not push apart; pressing closes voids, so it is an upper estimate
    for a pressed film. Derived from the definition of CPVC (Asbeck & Van Loo 1949).

    Examples
    --------
    >>> [round(float(e), 3) for e in voids_left_by_binder([0.917, 0.2], [0.2379, 0.2379])]
    [0.741, 0.0]
    """
    pvc = np.atleast_1d(np.asarray(pigment, dtype=np.float64))
    cpvc = np.atleast_1d(np.asarray(critical, dtype=np.float64))
    _shares(pvc, "pigment")
    _shares(cpvc, "critical")
    if bool(np.any(cpvc <= 0)):
        raise _refuse("a critical pigment volume of 0", "critical", "above 0")
    filled = pvc <= cpvc
    return np.where(filled, 0.0, 1.0 - cpvc / np.where(filled, 1.0, pvc))
