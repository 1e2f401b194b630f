"""One cathode on one mesh at one current: residual, Jacobian and Newton's method.

Unknowns are ln r at the nodes (r = Q·L/I), the overpotential at the electrolyte face, and the
oxygen at the far face: its logarithm, so it may fall by any power of ten without a floor.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from aerode.physics.cathode.operators import Mesh, Operators, build
from aerode.physics.cathode.packed import INVERSE_SLOPE, SUPPLY, PackedCathode
from aerode.physics.cathode.rate import LocalBalance, local_balance

__all__ = ["Fields", "Problem", "State", "fields_of", "loss_of"]

Floats = NDArray[np.float64]

LARGEST_MOVE = 2.0  # of any unknown (in e-folds) in one Newton step
MOST_NEWTON = 30  # numerical: steps
SETTLED = 1e-6  # numerical: last Newton step, in e-folds; the error left is its square
_TINY = 1e-300  # numerical: keeps a quotient finite


@dataclass(frozen=True, slots=True)
class State:
    """A solution at one current.

    Parameters
    ----------
    mesh : Mesh
        The panels it was found on.
    unknowns : ndarray, shape (M + 2,)
        ln r at the nodes, overpotential at the electrolyte face [V], and the oxygen unknown.
    current : float
        Current density [A/m²].

    Examples
    --------
    >>> mesh = Mesh(np.array([1.0]), np.array([0]), np.array([True]), 4)
    >>> State(mesh, np.zeros(6), 10.0).current
    10.0
    """

    mesh: Mesh
    unknowns: Floats
    current: float


@dataclass(frozen=True, slots=True)
class Fields:
    """What stands at the nodes of a state.

    Parameters
    ----------
    relative_rate : ndarray, shape (M,)
        r = Q·L/I [1].
    overpotential : ndarray, shape (M,)
        Local overpotential [V].
    oxygen : ndarray, shape (M,)
        Oxygen in the pores, counted as gas [mol/m³].
    oxygen_unknown : float
        Oxygen at the far face [mol/m³], or with both faces the current of the oxygen that comes
        from the electrolyte [A/m²].

    Examples
    --------
    >>> Fields(np.ones(1), np.ones(1), np.ones(1), 8.5).oxygen_unknown
    8.5
    """

    relative_rate: Floats
    overpotential: Floats
    oxygen: Floats
    oxygen_unknown: float


class Problem:
    """One cathode on one mesh: residual, Jacobian, Newton."""

    def __init__(self, cathode: PackedCathode, mesh: Mesh) -> None:
        self.cathode, self.mesh = cathode, mesh
        self.matrices: Operators = build(cathode, mesh)
        self.node_step = mesh.node_step
        self.weight = mesh.weight
        self.both = int(cathode.whole[SUPPLY]) == 2
        self.scale = np.ones(mesh.size + 2)  # e-folds per unit of each unknown
        self.scale[mesh.size] = cathode.whole[INVERSE_SLOPE]

    def fields(self, unknowns: Floats, current: float) -> Fields:
        size, m = self.mesh.size, self.matrices
        rate = np.exp(unknowns[:size])
        far = float(unknowns[size + 1]) if self.both else math.exp(unknowns[size + 1])
        overpotential = unknowns[size] + current * (m.overpotential @ rate)
        oxygen = m.oxygen_start + m.oxygen_unknown * far + current * (m.oxygen @ rate)
        return Fields(rate, overpotential, oxygen, far)

    def balance(self, unknowns: Floats, current: float, at: Fields) -> LocalBalance:
        log_rate = unknowns[: self.mesh.size] + math.log(current / self.cathode.total_thickness)
        return local_balance(self.cathode, self.node_step, at.overpotential, at.oxygen, log_rate)

    def residual(self, current: float, at: Fields, local: LocalBalance) -> Floats:
        size, m = self.mesh.size, self.matrices
        misfit = np.empty(size + 2)
        misfit[:size] = local.misfit
        misfit[size] = self.weight @ at.relative_rate - 1.0
        carried = m.balance_start + m.balance_unknown * at.oxygen_unknown
        carried += current * (m.balance @ at.relative_rate + m.balance_current)
        misfit[size + 1] = carried / m.balance_target - 1.0
        return misfit

    def jacobian(self, current: float, at: Fields, local: LocalBalance) -> Floats:
        size, m = self.mesh.size, self.matrices
        slope = np.zeros((size + 2, size + 2))
        far = 1.0 if self.both else at.oxygen_unknown
        by_rate = local.by_overpotential[:, None] * m.overpotential
        by_rate += local.by_oxygen[:, None] * m.oxygen
        slope[:size, :size] = np.diag(local.driving) - current * by_rate * at.relative_rate
        slope[:size, size] = -local.by_overpotential
        slope[:size, size + 1] = -local.by_oxygen * m.oxygen_unknown * far
        slope[size, :size] = self.weight * at.relative_rate
        slope[size + 1, :size] = current * m.balance * at.relative_rate / m.balance_target
        slope[size + 1, size + 1] = m.balance_unknown * far / m.balance_target
        return slope

    def newton(self, guess: Floats, current: float) -> Floats | None:
        """The solution near a guess, or None."""
        unknowns = guess
        at = self.fields(unknowns, current)
        local = self.balance(unknowns, current, at)
        for _ in range(MOST_NEWTON):
            move = self._move(current, at, local)
            if move is None:
                return None
            sizes = np.abs(move * self.scale)
            largest = float(sizes.max())
            shrink = min(1.0, LARGEST_MOVE / max(float(sizes[:-1].max()), _TINY))
            if not self.both:  # the far oxygen hardly matters to the rest: it must not hold it up
                move[-1] = max(-2.0 * LARGEST_MOVE, min(2.0 * LARGEST_MOVE, move[-1]))
            for _ in range(10):
                trial = unknowns + shrink * move
                at = self.fields(trial, current)
                local = self.balance(trial, current, at)
                if bool(np.isfinite(local.misfit).all()):
                    break
                shrink *= 0.5
            else:
                return None
            unknowns = trial
            if largest < SETTLED:
                return unknowns
        return None

    def _move(self, current: float, at: Fields, local: LocalBalance) -> Floats | None:
        misfit = self.residual(current, at, local)
        if not bool(np.isfinite(misfit).all()):
            return None
        try:
            move = np.asarray(
                np.linalg.solve(self.jacobian(current, at, local), -misfit), dtype=np.float64
            )
        except np.linalg.LinAlgError:
            return None
        return move if bool(np.isfinite(move).all()) else None


def fields_of(cathode: PackedCathode, state: State) -> tuple[Fields, Operators]:
    """Give rate, overpotential and oxygen at the nodes of a state, and the matrices of its mesh.

    Parameters
    ----------
    cathode : PackedCathode
        The cathode.
    state : State
        One solution.

    Returns
    -------
    tuple of Fields and Operators
        The fields at the nodes and the matrices.

    Examples
    --------
    See `trace`.
    """
    problem = Problem(cathode, state.mesh)
    return problem.fields(state.unknowns, state.current), problem.matrices


def loss_of(cathode: PackedCathode, state: State) -> float:
    """Give the voltage a state loses between collector and electrolyte face.

    Parameters
    ----------
    cathode : PackedCathode
        The cathode.
    state : State
        One solution.

    Returns
    -------
    float
        V_c [V].

    Examples
    --------
    See `trace`.
    """
    matrices = build(cathode, state.mesh)
    size = state.mesh.size
    drop = state.current * float(matrices.loss @ np.exp(state.unknowns[:size]))
    return float(state.unknowns[size]) + drop
