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

__all__ = ["WHOLE_GRAIN", "LocalBalance", "LocalRate", "local_balance", "local_rate"]

Floats = NDArray[np.float64]
# Numerical: below this ln φ² the grain works to the last digit; it only keeps exp from underflowing.
WHOLE_GRAIN = -80.0
_LARGEST_LOG = 650.0  # numerical: ln of a rate from which exp runs over


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
    charge, whole = cathode.steps[step, CHARGE], cathode.whole
    series, slope = _resistance(cathode, step, overpotential)
    balance, balance_slope = np.zeros_like(oxygen), np.zeros_like(oxygen)
    if whole[REVERSE] > 0.0:
        balance = whole[REFERENCE] * np.exp(-overpotential * whole[REVERSE])
        balance_slope = whole[REVERSE] * balance
    drive = charge * oxygen - balance
    forward = drive > 0.0
    held = np.where(forward, drive, 1.0)
    return LocalRate(
        np.where(forward, np.log(held) - np.log(series), -np.inf),
        slope + balance_slope / held,
        charge / held,
    )


def _resistance(
    cathode: PackedCathode, step: NDArray[np.int64], overpotential: Floats
) -> tuple[Floats, Floats]:
    """1/(E k) + 1/k_f, and minus the derivative of its logarithm by the overpotential; NaN far beyond any rate."""
    steps, whole = cathode.steps[step], cathode.whole
    log_rate = steps[:, LOG_RATE] + overpotential * whole[INVERSE_SLOPE]
    log_rate = np.where(np.abs(log_rate) < _LARGEST_LOG, log_rate, np.nan)
    if not bool(np.isfinite(log_rate).all()):  # of a step of Newton's method that is taken back
        nowhere = np.full_like(log_rate, np.nan)
        return nowhere, nowhere
    modulus = np.exp(0.5 * np.maximum(log_rate + steps[:, LOG_GRAIN], WHOLE_GRAIN))
    shape = SHAPES[int(whole[SHAPE])]
    inner = np.exp(-(log_rate + np.log(effectiveness(modulus, shape))))
    slope = whole[INVERSE_SLOPE] * (1.0 + 0.5 * effectiveness_slope(modulus, shape))
    series = inner + steps[:, FILM]
    return series, inner / series * slope


@dataclass(frozen=True, slots=True)
class LocalBalance:
    """The oxygen at each place against what it must be there for a given rate.

    Parameters
    ----------
    misfit : ndarray, shape (M,)
        ln of the oxygen needed over the oxygen there; not finite where there is none [1].
    driving : ndarray, shape (M,)
        Share of the oxygen needed that drives the rate, the rest being that of equilibrium: minus the
        derivative of `misfit` by ln of the rate has this size [1].
    by_overpotential : ndarray, shape (M,)
        Minus ∂ misfit/∂η [1/V].
    by_oxygen : ndarray, shape (M,)
        Minus ∂ misfit/∂c [m³/mol].

    Examples
    --------
    >>> LocalBalance(np.zeros(1), np.ones(1), np.ones(1), np.ones(1)).misfit
    array([0.])
    """

    misfit: Floats
    driving: Floats
    by_overpotential: Floats
    by_oxygen: Floats


def local_balance(
    cathode: PackedCathode,
    step: NDArray[np.int64],
    overpotential: Floats,
    oxygen: Floats,
    log_rate: Floats,
) -> LocalBalance:
    """Give how far the oxygen is from what a rate needs; the rate law without its difference.

    Parameters
    ----------
    cathode : PackedCathode
        The cathode.
    step : ndarray of int, shape (M,)
        The step in depth of every place.
    overpotential : ndarray, shape (M,)
        Local overpotential [V].
    oxygen : ndarray, shape (M,)
        Oxygen in the pores [mol/m³].
    log_rate : ndarray, shape (M,)
        ln of the local rate Q [A/m³].

    Returns
    -------
    LocalBalance
        ln(nF c* + Q [1/(E k) + 1/k_f]) − ln(nF H c) and its slopes.

    Notes
    -----
    The same law as `local_rate`. Near equilibrium H c and c* agree in all their digits, and a rate taken
    from their difference is noise; here it is an unknown of its own and keeps its digits.

    Examples
    --------
    >>> steps = np.array([[1e-3, 0.5, 0.02, 1.0, 0.0, -1e3, 0.0, 1.0, 1.0]])
    >>> cathode = PackedCathode(steps, np.array([20.0, 0, 0.2, 0, 8.5, 0, 0, 0, 0]))
    >>> float(local_balance(cathode, np.array([0]), np.array([0.05]), np.ones(1), np.ones(1)).misfit[0])
    0.0
    """
    whole = cathode.whole
    series, slope = _resistance(cathode, step, overpotential)
    needed = log_rate + np.log(series)
    total, driving = needed, np.ones_like(oxygen)
    if whole[REVERSE] > 0.0:
        balance = np.log(whole[REFERENCE]) - overpotential * whole[REVERSE]
        total = np.logaddexp(needed, balance)
        driving = np.exp(needed - total)
    return LocalBalance(
        total - np.log(cathode.steps[step, CHARGE] * oxygen),
        driving,
        driving * slope + (1.0 - driving) * whole[REVERSE],
        1.0 / oxygen,
    )
