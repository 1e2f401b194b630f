"""Where a walk along the curve begins: an electrode that is nearly even in depth."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from aerode.physics.cathode.operators import Mesh, build
from aerode.physics.cathode.packed import (
    AIR,
    AIR_RESISTANCE,
    CHARGE,
    ELECTRONIC,
    INVERSE_SLOPE,
    IONIC,
    LIQUID,
    LIQUID_RESISTANCE,
    OXYGEN,
    REFERENCE,
    REVERSE,
    SUPPLY,
    THICKNESS,
    PackedCathode,
)
from aerode.physics.cathode.rate import local_rate

__all__ = ["available_oxygen", "easy_current", "uniform_guess"]

Floats = NDArray[np.float64]

_EASY_DROP = 0.3  # numerical: e-folds of ohmic drop that count as little
_REACH = 500.0  # numerical: e-folds of overpotential on both sides of nothing
_MOST_STEPS = 80  # numerical
_CLEAR = 1e-3  # numerical: e-folds of overpotential off the point where a rate is nothing
_MISS = 1e-6  # numerical: of ln of the mean rate
_TINY = 1e-300  # numerical: keeps a quotient finite


def easy_current(cathode: PackedCathode) -> float:
    """Give a current so small that rate, overpotential and oxygen are nearly even in depth.

    Parameters
    ----------
    cathode : PackedCathode
        The cathode.

    Returns
    -------
    float
        Current density [A/m²].

    Examples
    --------
    >>> steps = np.array([[1e-3, 0.5, 0.02, 1e-3, -9.0, -1e3, 0.0, 1e4, 1.0]])
    >>> whole = np.array([20.0, 0.0, 0.2, 0.0, 8.5, 0.01, 0.0, 0.0, 0.0])
    >>> round(easy_current(PackedCathode(steps, whole)), 3)
    28.846
    """
    steps, whole = cathode.steps, cathode.whole
    thickness = steps[:, THICKNESS]
    ohmic = float((thickness * (steps[:, IONIC] + steps[:, ELECTRONIC])).sum())
    oxygen = float((thickness * steps[:, OXYGEN]).sum())
    supply = int(whole[SUPPLY])
    oxygen += float(whole[LIQUID_RESISTANCE if supply == 1 else AIR_RESISTANCE])
    available = available_oxygen(cathode)
    return min(_EASY_DROP / (float(whole[INVERSE_SLOPE]) * ohmic + _TINY), 0.1 * available / oxygen)


def available_oxygen(cathode: PackedCathode) -> float:
    """Give the oxygen outside the face it enters through, counted as gas.

    Parameters
    ----------
    cathode : PackedCathode
        The cathode.

    Returns
    -------
    float
        Concentration [mol/m³].

    Examples
    --------
    >>> available_oxygen(PackedCathode(np.ones((1, 9)), np.array([20.0, 0, 1, 0, 8.5, 0, 0, 0, 0])))
    8.5
    """
    whole = cathode.whole
    return float(whole[LIQUID] if int(whole[SUPPLY]) == 1 else whole[AIR])


def uniform_guess(cathode: PackedCathode, mesh: Mesh, current: float) -> Floats | None:
    """Give the state of an electrode without any resistance, to start from.

    Parameters
    ----------
    cathode : PackedCathode
        The cathode.
    mesh : Mesh
        The panels.
    current : float
        Current density [A/m²].

    Returns
    -------
    ndarray, shape (M + 2,), or None
        Unknowns; None where even this electrode cannot carry the current.

    Examples
    --------
    See `trace`.
    """
    oxygen, far = _without_reaction(cathode, mesh)
    target = math.log(current / cathode.total_thickness)

    def even(overpotential: float) -> tuple[Floats, float, float]:
        rate = local_rate(cathode, mesh.node_step, np.full(mesh.size, overpotential), oxygen)
        made = mesh.weight * np.exp(rate.logarithm)
        mean = float(made.sum())
        if not mean > 0.0:
            return rate.logarithm, -math.inf, 0.0
        slope = float(made @ np.nan_to_num(rate.by_overpotential)) / mean
        return rate.logarithm, math.log(mean) - target, slope

    # Newton on ln of the mean rate, kept inside a bracket.
    step = 1.0 / float(cathode.whole[INVERSE_SLOPE])
    low, high = -_REACH * step, _REACH * step
    if even(high)[1] < 0.0:
        return None
    overpotential = 0.0
    for _ in range(_MOST_STEPS):
        _, miss, slope = even(overpotential)
        low, high = (overpotential, high) if miss < 0.0 else (low, overpotential)
        if abs(miss) < _MISS:
            break
        moved = overpotential - miss / slope if math.isfinite(miss) and slope > 0.0 else math.nan
        overpotential = moved if low < moved < high else 0.5 * (low + high)
    overpotential = max(overpotential, _forward(cathode, mesh, oxygen))
    return np.concatenate([even(overpotential)[0] - target, [overpotential, far]])


def _without_reaction(cathode: PackedCathode, mesh: Mesh) -> tuple[Floats, float]:
    """Oxygen at the nodes where nothing reacts, and the oxygen unknown that belongs to it."""
    available = available_oxygen(cathode)
    whole = cathode.whole
    if int(whole[SUPPLY]) != 2:
        return np.full(mesh.size, available), math.log(available)
    # It crosses from the richer face to the poorer one.
    resistance = float(whole[AIR_RESISTANCE] + whole[LIQUID_RESISTANCE])
    resistance += float(cathode.steps[:, THICKNESS] @ cathode.steps[:, OXYGEN])
    far = float(whole[LIQUID] - whole[AIR]) / resistance
    matrices = build(cathode, mesh)
    return matrices.oxygen_start + matrices.oxygen_unknown * far, far


def _forward(cathode: PackedCathode, mesh: Mesh, oxygen: Floats) -> float:
    """The overpotential above which the reaction runs forward everywhere: −∞ with no reverse one."""
    reverse = float(cathode.whole[REVERSE])
    if int(cathode.whole[SUPPLY]) != 2 or reverse == 0.0:
        return -math.inf
    dissolved = cathode.steps[mesh.node_step, CHARGE] * oxygen
    least = math.log(float(cathode.whole[REFERENCE]) / float(dissolved.min())) / reverse
    return least + _CLEAR / float(cathode.whole[INVERSE_SLOPE])
