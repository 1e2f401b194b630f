"""Where the volts go: an exact split of the cathode loss that does not depend on an order."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from aerode.physics.cathode.adapt import polished
from aerode.physics.cathode.nodes import nodes
from aerode.physics.cathode.operators import Mesh
from aerode.physics.cathode.packed import (
    BEYOND,
    CHARGE,
    ELECTRONIC,
    INVERSE_SLOPE,
    IONIC,
    LOG_RATE,
    REFERENCE,
    REVERSE,
    PackedCathode,
)
from aerode.physics.cathode.problem import State, fields_of
from aerode.physics.cathode.start import available_oxygen

__all__ = ["LossSplit", "split_losses"]

Floats = NDArray[np.float64]

_HALVINGS = 100  # numerical: a double has no more digits than about 60 of them find
_QUADRATURE = 24  # numerical: nodes per panel for the integrals, at least


@dataclass(frozen=True, slots=True, kw_only=True)
class LossSplit:
    """The parts of the cathode loss at one current; they add up to the whole.

    Parameters
    ----------
    ionic : float
        Lost in the liquid of the pores [V].
    electronic : float
        Lost in the solid of the layer [V].
    kinetic : float
        What the electron transfer alone would take at full oxygen [V].
    oxygen : float
        Added because oxygen has to cross air, pores, film and grains [V].
    total : float
        Loss between collector and electrolyte face, found without the split [V].

    Examples
    --------
    >>> LossSplit(ionic=0.1, electronic=0.0, kinetic=0.3, oxygen=0.1, total=0.5).gap
    0.0
    """

    ionic: float
    electronic: float
    kinetic: float
    oxygen: float
    total: float

    @property
    def gap(self) -> float:
        """Sum of the parts minus the whole: nothing but the error of the numbers [V]."""
        return self.ionic + self.electronic + self.kinetic + self.oxygen - self.total


def split_losses(cathode: PackedCathode, state: State) -> LossSplit:
    """Give the parts of the loss of one solution.

    Parameters
    ----------
    cathode : PackedCathode
        The cathode.
    state : State
        One solution.

    Returns
    -------
    LossSplit
        The parts.

    Notes
    -----
    V_c = (1/I)[∫ i₂²/κ dx + ∫ i₁²/σ dx + ∫ Q η_kin dx + ∫ Q (η − η_kin) dx], from the product
    i₂η integrated by parts; η_kin drives the same local rate at full oxygen. Equation B2 of the
    model notes (derived there). With a reverse reaction η_kin counts both directions.

    Examples
    --------
    See `aerode.physics.cathode.operating_point`.
    """
    # More nodes than the solution has: products of two polynomials are then integrated exactly.
    fine = polished(cathode, state, _QUADRATURE)
    mesh = fine.mesh
    at, matrices = fields_of(cathode, fine)
    share = matrices.ionic_share @ at.relative_rate
    weight, steps = mesh.weight, cathode.steps[mesh.node_step]
    thickness, current = cathode.total_thickness, state.current
    ionic = float(weight @ (share**2 * steps[:, IONIC]))
    electronic = float(weight @ ((steps[:, BEYOND] - share) ** 2 * steps[:, ELECTRONIC]))
    dead_ionic, dead_electronic = _dead(cathode, mesh, at.relative_rate)
    driving = kinetic_overpotential(
        cathode, steps, np.log(at.relative_rate) + np.log(current / thickness)
    )
    made = weight * at.relative_rate
    size = state.mesh.size
    coarse_at, coarse = fields_of(cathode, state)
    drop = current * float(coarse.loss @ coarse_at.relative_rate)
    return LossSplit(
        ionic=current * thickness * (ionic + dead_ionic),
        electronic=current * thickness * (electronic + dead_electronic),
        kinetic=float(made @ driving),
        oxygen=float(made @ (at.overpotential - driving)),
        total=float(state.unknowns[size]) + drop,
    )


def _dead(cathode: PackedCathode, mesh: Mesh, rate: Floats) -> tuple[float, float]:
    """∫ s²/κ and ∫ (S − s)²/σ over panels without nodes, where s stands still."""
    shares = np.zeros(mesh.width.size)
    shares[mesh.live] = mesh.width[mesh.live] * (
        rate.reshape(-1, mesh.count) @ nodes(mesh.count).weight
    )
    passed = np.cumsum(shares)
    width = np.where(mesh.live, 0.0, mesh.width)
    steps = cathode.steps[mesh.step]
    ionic = float(width @ (passed**2 * steps[:, IONIC]))
    return ionic, float(width @ ((steps[:, BEYOND] - passed) ** 2 * steps[:, ELECTRONIC]))


def kinetic_overpotential(cathode: PackedCathode, steps: Floats, log_rate: Floats) -> Floats:
    """Give the overpotential at which the electron transfer alone makes a rate at full oxygen.

    Parameters
    ----------
    cathode : PackedCathode
        The cathode.
    steps : ndarray, shape (M, 9)
        Packed properties at each place.
    log_rate : ndarray, shape (M,)
        ln of the local rate [A/m³].

    Returns
    -------
    ndarray, shape (M,)
        η_kin [V].

    Examples
    --------
    >>> whole = np.array([20.0, 0.0, 0.2, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0])
    >>> cathode = PackedCathode(np.ones((1, 9)), whole)
    >>> kinetic_overpotential(cathode, np.ones((1, 9)), np.array([3.0]))
    array([0.1])
    """
    whole = cathode.whole
    slope, reverse = float(whole[INVERSE_SLOPE]), float(whole[REVERSE])
    forward = steps[:, LOG_RATE] + np.log(steps[:, CHARGE] * available_oxygen(cathode))
    alone = (log_rate - forward) / slope
    if reverse == 0.0:
        return np.asarray(alone)
    # Q + Q_back e^{−η/b_back} = Q_0 e^{η/b}: rising in η, and no root lies below `alone`.
    back = steps[:, LOG_RATE] + np.log(whole[REFERENCE])
    low = np.asarray(alone, dtype=np.float64)
    high = np.asarray(
        np.maximum(low, 0.0) + (np.abs(back - forward) + 2.0) / slope, dtype=np.float64
    )
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        net = forward + slope * middle - np.logaddexp(log_rate, back - (reverse - slope) * middle)
        below = np.asarray(net < 0.0, dtype=np.bool_)
        low = np.asarray(np.where(below, middle, low), dtype=np.float64)
        high = np.asarray(np.where(below, high, middle), dtype=np.float64)
    return np.asarray(0.5 * (low + high))
