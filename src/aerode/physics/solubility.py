"""Which solvent dissolves which polymer: the Hansen distance, a hint and never a verdict."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from aerode.errors import RangeError
from aerode.physics.checked_inputs import Floats, above_zero, finite, not_negative

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike

__all__ = ["hansen_distance", "mixed_parameters", "relative_energy_difference"]


def hansen_distance(solvent: ArrayLike, polymer: ArrayLike) -> float:
    """The distance of a solvent from a polymer in Hansen space.

    Parameters
    ----------
    solvent : array_like, shape (3,) [Pa^0.5]
        Dispersion, polar and hydrogen-bonding parts.
    polymer : array_like, shape (3,) [Pa^0.5]
        Centre of the polymer's sphere.

    Returns
    -------
    float [Pa^0.5]

    Raises
    ------
    RangeError
        Not three finite numbers.

    Notes
    -----
    Ra^2 = 4 (dD)^2 + (dP)^2 + (dH)^2 (hansen_handbook, eq. 1.9). Blind to crystallinity and
    molar mass.

    Examples
    --------
    >>> round(hansen_distance((18000.0, 1400.0, 2000.0), (21300.0, 5800.0, 4300.0)))
    8259
    """
    one, other = _three("solvent", solvent), _three("polymer", polymer)
    weights = np.array([4.0, 1.0, 1.0])
    return float(np.sqrt(np.sum(weights * (one - other) ** 2)))


def relative_energy_difference(distance: float, radius: float) -> float:
    """The Hansen distance over the radius of the polymer's sphere.

    Parameters
    ----------
    distance : float [Pa^0.5]
        Hansen distance.
    radius : float [Pa^0.5]
        Radius of the sphere.

    Returns
    -------
    float
        Below 1 the solvent lies inside the sphere; 0.8 to 1.1 tells nothing either way.

    Raises
    ------
    RangeError
        A negative distance, or a radius not above zero.

    Notes
    -----
    RED = Ra/R0 (hansen_handbook, eq. 1.10).

    Examples
    --------
    >>> round(relative_energy_difference(8259.0, 12700.0), 2)
    0.65
    """
    return float(not_negative("distance", distance)) / float(above_zero("radius", radius))


def mixed_parameters(parameters: Sequence[ArrayLike], volume_shares: Sequence[float]) -> Floats:
    """The Hansen parameters of a solvent mixture.

    Parameters
    ----------
    parameters : sequence of array_like, each shape (3,) [Pa^0.5]
        Parts of each solvent.
    volume_shares : sequence of float
        Volume of each; scaled to a sum of 1.

    Returns
    -------
    ndarray, shape (3,) [Pa^0.5]

    Raises
    ------
    RangeError
        Shares that are negative or sum to zero.

    Notes
    -----
    Volume-weighted mean (hansen_handbook, chapter 1). The mixture changes as it dries: the
    quicker solvent leaves first.

    Examples
    --------
    >>> mixed_parameters([(18.0, 1.4, 2.0), (15.8, 8.8, 19.4)], [1.0, 1.0]).round(2).tolist()
    [16.9, 5.1, 10.7]
    """
    shares = not_negative("volume shares", volume_shares)
    total = float(above_zero("sum of the volume shares", shares.sum()))
    rows = np.stack([_three("solvent", row) for row in parameters])
    return np.asarray(shares / total @ rows, dtype=np.float64)


def _three(name: str, value: ArrayLike) -> Floats:
    values = finite(name, value)
    if values.shape != (3,):
        raise RangeError(
            f"{name} has {values.size} parts",
            where=name,
            allowed="three: dispersion, polar, hydrogen bonding",
            next_step="give all three",
        )
    return values
