"""Activities of a dilute 1:1 salt: the ion-interaction equation, which ends in the limiting law.

Coefficients come as arguments; they stand in the reference table `water_activity`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from aerode.physics.checked_inputs import Floats, not_negative
from aerode.physics.electrolyte import interpolated_activity_coefficient

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import ArrayLike

__all__ = [
    "activity_coefficient_to_nothing",
    "ion_interaction_coefficient",
    "ion_interaction_osmotic",
]


def ion_interaction_coefficient(molality: ArrayLike, coefficients: Mapping[str, float]) -> Floats:
    """The mean activity coefficient of a 1:1 salt by the ion-interaction equation.

    Parameters
    ----------
    molality : array_like [mol/kg]
        Any shape; 0 gives 1.
    coefficients : mapping of str to float
        a_phi [(kg/mol)^0.5], b [(kg/mol)^0.5], alpha [(kg/mol)^0.5], b0, b1 [kg/mol] and
        c_phi [(kg/mol)^2] of the salt.

    Returns
    -------
    ndarray, shape as `molality`

    Raises
    ------
    RangeError
        A negative molality.

    Notes
    -----
    ln gamma = -A (sqrt m/(1 + b sqrt m) + (2/b) ln(1 + b sqrt m))
    + m (2 b0 + (2 b1/(alpha^2 m)) (1 - (1 + alpha sqrt m - alpha^2 m/2) exp(-alpha sqrt m)))
    + (3/2) c_phi m^2 (pitzer_mayorga_1973). At 25 degC; to about 6 mol/kg.

    Examples
    --------
    >>> nacl = dict(a_phi=0.392, b=1.2, alpha=2.0, b0=0.0765, b1=0.2664, c_phi=0.00127)
    >>> ion_interaction_coefficient([0.0, 0.1, 1.0], nacl).round(3)
    array([1.   , 0.777, 0.655])
    """
    m = not_negative("molality", molality)
    root = np.sqrt(m)
    slope, b, alpha = (coefficients[name] for name in ("a_phi", "b", "alpha"))
    law = -slope * (root / (1.0 + b * root) + 2.0 / b * np.log1p(b * root))
    x = alpha * root
    rest = 1.0 - (1.0 + x - 0.5 * x**2) * np.exp(-x)
    logarithm = law + 2.0 * coefficients["b0"] * m + 2.0 * coefficients["b1"] / alpha**2 * rest
    return np.asarray(np.exp(logarithm + 1.5 * coefficients["c_phi"] * m**2), dtype=np.float64)


def ion_interaction_osmotic(molality: ArrayLike, coefficients: Mapping[str, float]) -> Floats:
    """The osmotic coefficient of a 1:1 salt by the ion-interaction equation.

    Parameters
    ----------
    molality : array_like [mol/kg]
        Any shape; 0 gives 1.
    coefficients : mapping of str to float
        As for `ion_interaction_coefficient`.

    Returns
    -------
    ndarray, shape as `molality`

    Raises
    ------
    RangeError
        A negative molality.

    Notes
    -----
    phi = 1 - A sqrt m/(1 + b sqrt m) + m (b0 + b1 exp(-alpha sqrt m)) + c_phi m^2
    (pitzer_mayorga_1973); the water activity is exp(-2 phi m M_w). At 25 degC; to about 6 mol/kg.

    Examples
    --------
    >>> nacl = dict(a_phi=0.392, b=1.2, alpha=2.0, b0=0.0765, b1=0.2664, c_phi=0.00127)
    >>> round(float(ion_interaction_osmotic(1.0, nacl)), 3)
    0.936
    """
    m = not_negative("molality", molality)
    root = np.sqrt(m)
    law = coefficients["a_phi"] * root / (1.0 + coefficients["b"] * root)
    pairs = coefficients["b0"] + coefficients["b1"] * np.exp(-coefficients["alpha"] * root)
    return np.asarray(1.0 - law + m * pairs + coefficients["c_phi"] * m**2, dtype=np.float64)


def activity_coefficient_to_nothing(
    molality: ArrayLike,
    nodes: Sequence[float],
    coefficients: Sequence[float],
    dilute: Mapping[str, float],
) -> Floats:
    """The mean activity coefficient from pure water to beyond the last published molality.

    Parameters
    ----------
    molality : array_like [mol/kg]
        Any shape.
    nodes : sequence of float [mol/kg], shape (n,)
        Published molalities, rising.
    coefficients : sequence of float, shape (n,)
        Published mean molal activity coefficients.
    dilute : mapping of str to float
        Coefficients of `ion_interaction_coefficient` for the same salt.

    Returns
    -------
    ndarray, shape as `molality`

    Raises
    ------
    RangeError
        A negative molality.

    Notes
    -----
    From the first node on as `interpolated_activity_coefficient`. Below it the ion-interaction
    equation, with what ln(gamma) misses at the first node laid on in proportion to the molality:
    no step at the node, and the limiting law at the end.

    Examples
    --------
    >>> koh = dict(a_phi=0.392, b=1.2, alpha=2.0, b0=0.1298, b1=0.32, c_phi=0.0041)
    >>> activity_coefficient_to_nothing([0.0, 0.1, 0.5], [0.5, 1.0], [0.708, 0.732], koh).round(3)
    array([1.   , 0.785, 0.708])
    """
    m = not_negative("molality", molality)
    first = nodes[0]
    missed = np.log(coefficients[0] / ion_interaction_coefficient(first, dilute))
    low = ion_interaction_coefficient(m, dilute) * np.exp(missed * m / first)
    high = interpolated_activity_coefficient(m, nodes, coefficients)
    return np.asarray(np.where(m < first, low, high), dtype=np.float64)
