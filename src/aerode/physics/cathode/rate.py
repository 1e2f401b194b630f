"""The local rate: film, wet grains and electron transfer in series, in logarithms."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from aerode.physics.cathode.packed import (
    CHARGE,
    FILM,
    INVERSE_SLOPE,
    LOG_GRAIN,
    LOG_RATE,
    REFERENCE,
    REVERSE,
    SHAPE,
    SHAPES,
    PackedCathode,
)
from aerode.physics.effectiveness import effectiveness, effectiveness_slope

__all__ = ["WHOLE_GRAIN", "LocalRate", "local_rate"]

Floats = NDArray[np.float64]
# Numerical: below this ln φ² the grain works to the last digit; it only keeps exp from underflowing.
WHOLE_GRAIN = -80.0


@dataclass(frozen=True, slots=True)
class LocalRate:
    """The local rate and its slopes.

    Parameters
    ----------
    logarithm : ndarray, shape (M,)
        ln of the local rate Q [A/m³]; −inf where the reaction would run backwards.
    by_overpotential : ndarray, shape (M,)
        ∂ ln Q/∂η [1/V].
    by_oxygen : ndarray, shape (M,)
        ∂ ln Q/∂c [m³/mol].

    Examples
    --------
    >>> LocalRate(np.zeros(1), np.ones(1), np.ones(1)).logarithm
    array([0.])
    """

    logarithm: Floats
    by_overpotential: Floats
    by_oxygen: Floats


def local_rate(
    cathode: PackedCathode, step: NDArray[np.int64], overpotential: Floats, oxygen: Floats
) -> LocalRate:
    """Give the local rate of oxygen reduction and its slopes.

    Parameters
    ----------
    cathode : PackedCathode
        The cathode.
    step : ndarray of int, shape (M,)
        The step in depth of every place.
    overpotential : ndarray, shape (M,)
        Local overpotential, positive where it drives reduction [V].
    oxygen : ndarray, shape (M,)
        Oxygen in the pores [mol/m³].

    Returns
    -------
    LocalRate
        ln Q and its slopes.

    Notes
    -----
    Q = (nF H c − nF c*)/[1/(E k) + 1/k_f], k = (a i0/(nF c_ref)) e^{η/b},
    φ = ℓ√(k/(f D_ag)), and with a reverse reaction c* = c_ref e^{−η(1/b + 1/b_back)}, at which the
    two directions balance; both directions then share one first-order form, so E stays closed.
    Flooded-agglomerate picture; first order in oxygen. Equations B1 of the model notes.

    Examples
    --------
    >>> steps = np.array([[1e-3, 0.5, 0.02, 1.0, 0.0, -1e3, 0.0, 1.0, 1.0]])
    >>> cathode = PackedCathode(steps, np.array([20.0, 0, 0.2, 0, 8.5, 0, 0, 0, 0]))
    >>> float(local_rate(cathode, np.array([0]), np.array([0.05]), np.array([1.0])).logarithm[0])
    1.0
    """
    steps, whole = cathode.steps[step], cathode.whole
    log_rate = steps[:, LOG_RATE] + overpotential * whole[INVERSE_SLOPE]
    modulus = np.exp(0.5 * np.maximum(log_rate + steps[:, LOG_GRAIN], WHOLE_GRAIN))
    shape = SHAPES[int(whole[SHAPE])]
    log_inner = log_rate + np.log(effectiveness(modulus, shape))
    inner_slope = whole[INVERSE_SLOPE] * (1.0 + 0.5 * effectiveness_slope(modulus, shape))
    resistance = np.exp(-log_inner)
    inner_part = resistance / (resistance + steps[:, FILM])
    balance, balance_slope = np.zeros_like(oxygen), np.zeros_like(oxygen)
    if whole[REVERSE] > 0.0:
        balance = whole[REFERENCE] * np.exp(-overpotential * whole[REVERSE])
        balance_slope = whole[REVERSE] * balance
    drive = steps[:, CHARGE] * oxygen - balance
    forward = drive > 0.0
    held = np.where(forward, drive, 1.0)
    logarithm = np.log(held) - np.log(resistance + steps[:, FILM])
    return LocalRate(
        np.where(forward, logarithm, -np.inf),
        inner_part * inner_slope + balance_slope / held,
        steps[:, CHARGE] / held,
    )
