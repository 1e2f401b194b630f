"""From the local rates to currents, overpotential and oxygen: fixed matrices for one mesh.

The layer is cut into panels with N Gauss–Legendre nodes each. With the relative rate
r = Q·L/I at all M nodes, everything the equations need is linear in r:

    overpotential at the nodes    η = η_L + I·E r          (η_L: at the electrolyte face)
    oxygen at the nodes           c = α + β·u + I·(C r)    (u: oxygen at the far face, or a flux)
    share of the ionic current    s = A r                  (from 0 at the air face to 1)

Integrals run away from the face where a quantity is smallest, so that oxygen that has fallen by
many powers of ten is a sum of positive terms and never the difference of two large ones.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from aerode.physics.cathode.nodes import Nodes, nodes
from aerode.physics.cathode.packed import (
    AIR,
    AIR_RESISTANCE,
    BEYOND,
    ELECTRONIC,
    IONIC,
    LIQUID,
    LIQUID_RESISTANCE,
    OXYGEN,
    SUPPLY,
    THICKNESS,
    PackedCathode,
)

__all__ = ["Mesh", "Operators", "base_mesh", "build", "refine"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Mesh:
    """Panels from the air face to the electrolyte face.

    Parameters
    ----------
    width : ndarray, shape (P,)
        Width of each panel over the thickness of the layer [1].
    step : ndarray of int, shape (P,)
        The step in depth each panel lies in.
    live : ndarray of bool, shape (P,)
        False for panels so deep that less than 1e-9 of the current is left for them: they carry
        current and oxygen on but have no nodes.
    count : int
        Nodes per live panel.

    Examples
    --------
    >>> Mesh(np.array([1.0]), np.array([0]), np.array([True]), 8).size
    8
    """

    width: Floats
    step: Ints
    live: Flags
    count: int

    @property
    def size(self) -> int:
        """Number of nodes in all."""
        return int(self.live.sum()) * self.count

    @property
    def left(self) -> Floats:
        """Depth of the left edge of every panel over the thickness, shape (P,) [1]."""
        return np.cumsum(self.width) - self.width

    @property
    def depth(self) -> Floats:
        """Depth of every node over the thickness, shape (M,) [1]."""
        left, width = self.left[self.live], self.width[self.live]
        return (left[:, None] + width[:, None] * nodes(self.count).position).ravel()

    @property
    def weight(self) -> Floats:
        """Quadrature weight of every node, shape (M,), summing to 1 without dead panels [1]."""
        return (self.width[self.live][:, None] * nodes(self.count).weight).ravel()

    @property
    def node_step(self) -> Ints:
        """The step in depth of every node, shape (M,)."""
        return np.repeat(self.step[self.live], self.count)


@dataclass(frozen=True, slots=True)
class Operators:
    """The matrices of one mesh.

    Parameters
    ----------
    mesh : Mesh
        The panels.
    ionic_share : ndarray, shape (M, M)
        s = ionic_share @ r, the share of the current already in the liquid.
    overpotential : ndarray, shape (M, M)
        E in η = η_L + I·E r [V·m²/A].
    oxygen : ndarray, shape (M, M)
        C in c = α + β u + I·C r [mol·m²/(m³·A)].
    oxygen_start, oxygen_unknown : ndarray, shape (M,)
        α [mol/m³] and β [1].
    balance : ndarray, shape (M,)
        Row of the condition at the face where oxygen enters [mol·m²/(m³·A)].
    balance_start, balance_unknown, balance_current, balance_target : float
        That condition: start + unknown·u + I·(balance·r + current) = target.
    loss : ndarray, shape (M,)
        V_c = η_L + I·(loss·r): the drop in the solid between collector and electrolyte face.

    Examples
    --------
    >>> from aerode.physics.cathode.packed import PackedCathode
    >>> steps = np.array([[1e-3, 0.5, 0.02, 1.0, 0.0, -1e3, 0.0, 1e4, 1.0]])
    >>> whole = np.array([20.0, 0.0, 0.2, 0.0, 8.5, 0.0, 0.0, 0.0, 0.0])
    >>> cathode = PackedCathode(steps, whole)
    >>> build(cathode, base_mesh(cathode, 4)).overpotential.shape
    (4, 4)
    """

    mesh: Mesh
    ionic_share: Floats
    overpotential: Floats
    oxygen: Floats
    oxygen_start: Floats
    oxygen_unknown: Floats
    balance: Floats
    balance_start: float
    balance_unknown: float
    balance_current: float
    balance_target: float
    loss: Floats


def base_mesh(cathode: PackedCathode, count: int) -> Mesh:
    """Give the coarsest mesh: one panel per step in depth.

    Parameters
    ----------
    cathode : PackedCathode
        The cathode.
    count : int
        Nodes per panel.

    Returns
    -------
    Mesh
        One panel per step.

    Examples
    --------
    >>> cathode = PackedCathode(np.ones((2, 9)), np.ones(9))
    >>> base_mesh(cathode, 8).width
    array([0.5, 0.5])
    """
    thickness = cathode.steps[:, THICKNESS]
    steps = np.arange(thickness.size)
    return Mesh(thickness / thickness.sum(), steps, np.ones(steps.size, dtype=np.bool_), count)


def refine(mesh: Mesh, marked: Flags, count: int) -> Mesh:
    """Give the mesh with every marked panel cut in half.

    Parameters
    ----------
    mesh : Mesh
        The mesh to refine.
    marked : ndarray of bool, shape (P,)
        The panels to cut.
    count : int
        Nodes per panel of the new mesh.

    Returns
    -------
    Mesh
        The finer mesh.

    Examples
    --------
    >>> mesh = Mesh(np.array([1.0]), np.array([0]), np.array([True]), 8)
    >>> refine(mesh, np.array([True]), 12).width
    array([0.5, 0.5])
    """
    pieces = np.where(marked, 2, 1)
    width = np.repeat(mesh.width / pieces, pieces)
    return Mesh(width, np.repeat(mesh.step, pieces), np.repeat(mesh.live, pieces), count)


def build(cathode: PackedCathode, mesh: Mesh) -> Operators:
    """Give the matrices that turn local rates into currents, overpotential and oxygen.

    Parameters
    ----------
    cathode : PackedCathode
        The cathode.
    mesh : Mesh
        The panels.

    Returns
    -------
    Operators
        The matrices.

    Notes
    -----
    di₂/dx = Q, i₁ = S·I − i₂ with S = 1 beyond the collector and 0 before it,
    dη/dx = i₂/κ − i₁/σ, N = N(L) + (I − i₂)/(nF), dc/dx = −N/D. Equations B1 of the model notes;
    Newman & Tobias (1962), J. Electrochem. Soc. 109:1183 for the two rails (status: unverified).

    Examples
    --------
    >>> steps = np.array([[1e-3, 0.5, 0.02, 1.0, 0.0, -1e3, 0.0, 1e4, 1.0]])
    >>> whole = np.array([20.0, 0.0, 0.2, 0.0, 8.5, 0.0, 0.0, 0.0, 0.0])
    >>> cathode = PackedCathode(steps, whole)
    >>> matrices = build(cathode, base_mesh(cathode, 4))
    >>> (matrices.ionic_share @ np.ones(4) - matrices.mesh.depth).round(12).max()
    np.float64(0.0)
    """
    local = nodes(mesh.count)
    thickness = cathode.total_thickness
    steps = cathode.steps[mesh.step]
    beyond = steps[:, BEYOND]
    liquid = steps[:, IONIC] + (1.0 - beyond) * steps[:, ELECTRONIC]
    solid = beyond * steps[:, ELECTRONIC]
    gain, _ = _of_share(mesh, local, liquid)
    drop, drop_all = _of_rest(mesh, local, solid)
    return Operators(
        mesh,
        _share(mesh, local),
        thickness * (drop - gain),
        *_oxygen(cathode, mesh, local, steps[:, OXYGEN]),
        loss=thickness * drop_all,
    )


def _live(mesh: Mesh) -> list[tuple[int, slice]]:
    """Every live panel with its rows (and columns)."""
    numbers = np.flatnonzero(mesh.live)
    return [(int(p), slice(k * mesh.count, (k + 1) * mesh.count)) for k, p in enumerate(numbers)]


def _share(mesh: Mesh, local: Nodes) -> Floats:
    """∫ from the air face to each node."""
    matrix = np.zeros((mesh.size, mesh.size))
    panels = _live(mesh)
    for p, rows in panels:
        for q, columns in panels:
            if q < p:
                matrix[rows, columns] = mesh.width[q] * local.weight
            elif q == p:
                matrix[rows, columns] = mesh.width[p] * local.from_left
    return matrix


def _of_share(mesh: Mesh, local: Nodes, factor: Floats) -> tuple[Floats, Floats]:
    """∫ factor·s from each node, and from the air face, to the electrolyte face; s the left share."""
    width, panels = mesh.width, _live(mesh)
    matrix, row = np.zeros((mesh.size, mesh.size)), np.zeros(mesh.size)
    after = np.cumsum((factor * width)[::-1])[::-1] - factor * width  # ∫ factor over later panels
    for q, columns in panels:
        passing = width[q] * local.weight
        own = factor[q] * width[q] ** 2
        row[columns] = own * local.last_moment + after[q] * passing
        for p, rows in panels:
            if p < q:
                matrix[rows, columns] = row[columns]
            elif p == q:
                matrix[rows, columns] = own * local.right_left + after[q] * passing
            else:
                left = factor[p] * width[p] * (1.0 - local.position) + after[p]
                matrix[rows, columns] = np.outer(left, passing)
    return matrix, row


def _of_rest(mesh: Mesh, local: Nodes, factor: Floats) -> tuple[Floats, Floats]:
    """∫ factor·(1 − s) from each node, and from the air face, to the electrolyte face."""
    width, panels = mesh.width, _live(mesh)
    matrix, row = np.zeros((mesh.size, mesh.size)), np.zeros(mesh.size)
    before = np.cumsum(factor * width) - factor * width
    for q, columns in panels:
        passing = width[q] * local.weight
        own = factor[q] * width[q] ** 2
        row[columns] = before[q] * passing + own * local.first_moment
        matrix[columns, columns] = own * local.right_right
        for p, rows in panels:
            if p < q:
                ahead = factor[p] * width[p] * (1.0 - local.position)
                ahead = ahead + before[q] - before[p] - factor[p] * width[p]
                matrix[rows, columns] = np.outer(ahead, passing) + own * local.first_moment
    return matrix, row


def _of_share_left(mesh: Mesh, local: Nodes, factor: Floats) -> tuple[Floats, Floats]:
    """∫ factor·s from the air face to each node, and over the whole layer."""
    width, panels = mesh.width, _live(mesh)
    matrix = np.zeros((mesh.size, mesh.size))
    _, row = _of_share(mesh, local, factor)
    before = np.cumsum(factor * width) - factor * width
    for q, columns in panels:
        passing = width[q] * local.weight
        own = factor[q] * width[q] ** 2
        matrix[columns, columns] = own * local.left_left
        for p, rows in panels:
            if p > q:
                into = factor[p] * width[p] * local.position
                into = into + before[p] - before[q] - factor[q] * width[q]
                matrix[rows, columns] = np.outer(into, passing) + own * local.last_moment
    return matrix, row


def _oxygen(
    cathode: PackedCathode, mesh: Mesh, local: Nodes, factor: Floats
) -> tuple[Floats, Floats, Floats, Floats, float, float, float, float]:
    """C, α, β and the condition at the face where oxygen enters; see `Operators`."""
    whole, thickness = cathode.whole, cathode.total_thickness
    supply = int(whole[SUPPLY])
    none, all_ = np.zeros(mesh.size), np.ones(mesh.size)
    if supply == 1:
        matrix, row = _of_share_left(mesh, local, factor)
        end = (0.0, 1.0, float(whole[LIQUID_RESISTANCE]), float(whole[LIQUID]))
        return thickness * matrix, none, all_, thickness * row, *end
    matrix, row = _of_rest(mesh, local, factor)
    if supply == 0:
        end = (0.0, 1.0, float(whole[AIR_RESISTANCE]), float(whole[AIR]))
        return thickness * matrix, none, all_, thickness * row, *end
    # Both faces: u is the current carried by oxygen from the electrolyte, c_L = c_B − u·R_B.
    path, path_all = _plain(mesh, local, thickness * factor)
    start = np.full(mesh.size, whole[LIQUID])
    resistance = float(whole[LIQUID_RESISTANCE])
    own = -(resistance + path_all + float(whole[AIR_RESISTANCE]))
    end = (float(whole[LIQUID]), own, float(whole[AIR_RESISTANCE]), float(whole[AIR]))
    return thickness * matrix, start, -(resistance + path), thickness * row, *end


def _plain(mesh: Mesh, local: Nodes, factor: Floats) -> tuple[Floats, float]:
    """∫ factor from each node to the electrolyte face, and over the whole layer."""
    after = np.cumsum((factor * mesh.width)[::-1])[::-1] - factor * mesh.width
    inside = np.outer(factor * mesh.width, 1.0 - local.position) + after[:, None]
    return inside[mesh.live].ravel(), float((factor * mesh.width).sum())
