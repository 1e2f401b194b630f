"""How good a mesh is for a solution, and how to carry a solution to a better one."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from aerode.physics.cathode.nodes import interpolation, nodes
from aerode.physics.cathode.operators import Mesh
from aerode.physics.cathode.packed import INVERSE_SLOPE, SUPPLY, PackedCathode
from aerode.physics.cathode.problem import Problem, State

__all__ = [
    "all_live",
    "carry",
    "error_estimate",
    "joined",
    "live_end",
    "panel_errors",
    "panel_ranges",
    "panel_shares",
    "polished",
    "without_dead",
    "woken",
]

Floats = NDArray[np.float64]

DEAD = 1e-9  # numerical: share of the current below which a deep panel needs no nodes
SAFETY = 5.0  # numerical: the last coefficients of an oscillating tail may be small by chance
_POLISH_UP_TO = 100  # numerical: nodes
# Numerical: share of the current in the panel beside dead ones above which they are looked at again.
WOKEN = 1e-6
_LEAST_ERROR = 1e-12  # numerical: the estimate is not below this [V]
_EQUAL_WIDTH = 1e-6  # numerical: relative difference of two widths that count as equal


def panel_errors(cathode: PackedCathode, state: State) -> Floats:
    """Give the share of every live panel in the estimated error of the voltage.

    Parameters
    ----------
    cathode : PackedCathode
        The cathode.
    state : State
        One solution.

    Returns
    -------
    ndarray, shape (live panels,)
        Estimates [V].

    Notes
    -----
    A quantity of integrals like V_c converges twice as fast as the rate itself, so its error goes
    with the square of the last Legendre coefficients of the rate: 5·b·h·a²/mean for each panel.
    The factor covers coefficients that are small by chance (see the tests).

    Examples
    --------
    See `trace`.
    """
    mesh = state.mesh
    rate = np.exp(state.unknowns[: mesh.size]).reshape(-1, mesh.count)
    tail = np.abs(rate @ nodes(mesh.count).legendre[-4:].T)
    # Numerical: a coefficient may vanish by chance, so the two before the last two count a little.
    weights = np.array([0.1, 0.25, 1.0, 1.0]) if mesh.count > 4 else np.array([0.0, 0.0, 1.0, 1.0])
    last = (tail * weights).max(axis=1)
    mean = rate @ nodes(mesh.count).weight
    errors = SAFETY * mesh.width[mesh.live] * last**2 / mean / cathode.whole[INVERSE_SLOPE]
    return np.asarray(errors)


def error_estimate(cathode: PackedCathode, state: State) -> float:
    """Give the estimated error of the voltage of a state.

    Parameters
    ----------
    cathode : PackedCathode
        The cathode.
    state : State
        One solution.

    Returns
    -------
    float
        Estimate, not below 1e-12 [V].

    Examples
    --------
    See `trace`.
    """
    return max(float(panel_errors(cathode, state).sum()), _LEAST_ERROR)


def panel_ranges(state: State) -> Floats:
    """Give the span of ln r inside every live panel.

    Parameters
    ----------
    state : State
        The unknowns at the nodes and their mesh.

    Returns
    -------
    array (panels,) [1]
    """
    logs = state.unknowns[: state.mesh.size].reshape(-1, state.mesh.count)
    return np.asarray(np.ptp(logs, axis=1))


def panel_shares(state: State) -> Floats:
    """Give the share of the current each panel makes; nothing for dead ones.

    Parameters
    ----------
    state : State
        The unknowns at the nodes and their mesh.

    Returns
    -------
    array (panels,) [1]
    """
    mesh = state.mesh
    shares = np.zeros(mesh.width.size)
    rate = np.exp(state.unknowns[: mesh.size]).reshape(-1, mesh.count)
    shares[mesh.live] = mesh.width[mesh.live] * (rate @ nodes(mesh.count).weight)
    return shares


def without_dead(cathode: PackedCathode, state: State) -> Mesh:
    """Give the mesh of a state without nodes where less than 1e-9 of the current is left.

    Parameters
    ----------
    cathode : PackedCathode
        The cathode.
    state : State
        One solution.

    Returns
    -------
    Mesh
        The same panels; those farthest from the oxygen may be dead.

    Notes
    -----
    All oxygen for the depth beyond a panel has to pass it, so the flux left there bounds every
    rate beyond: below the last digit of the current nothing beyond can be seen. With oxygen from
    both faces no panel is ever dead.

    Examples
    --------
    See `trace`.
    """
    mesh, supply = state.mesh, int(cathode.whole[SUPPLY])
    if supply == 2:
        return mesh
    shares = panel_shares(state)
    left = np.cumsum(shares[::-1])[::-1] if supply == 0 else np.cumsum(shares)
    # beside a panel that would wake it at once, a panel stays
    beside = np.append(0.0, shares[:-1]) if supply == 0 else np.append(shares[1:], 0.0)
    return Mesh(mesh.width, mesh.step, mesh.live & ((left > DEAD) | (beside > WOKEN)), mesh.count)


def woken(cathode: PackedCathode, state: State) -> bool:
    """Tell whether the panel next to the dead ones makes so much current that they may matter.

    Parameters
    ----------
    cathode : PackedCathode
        The cathode.
    state : State
        One solution.

    Returns
    -------
    bool
        True where the dead panels have to be looked at again.

    Examples
    --------
    See `trace`.
    """
    if bool(state.mesh.live.all()):
        return False
    shares = panel_shares(state)[state.mesh.live]
    edge = shares[-1] if int(cathode.whole[SUPPLY]) == 0 else shares[0]
    return bool(edge > WOKEN)


def live_end(mesh: Mesh, supply: int) -> float:
    """Give the depth at which the live panels end, on the side away from the oxygen.

    Parameters
    ----------
    mesh : Mesh
        The mesh.
    supply : int
        0 where oxygen enters at the air face, 1 at the electrolyte face.

    Returns
    -------
    float
        Depth over thickness [1].

    Examples
    --------
    >>> live_end(Mesh(np.array([0.3, 0.7]), np.zeros(2, int), np.array([True, False]), 4), 0)
    0.3
    """
    left = mesh.left[mesh.live]
    return float(left[0]) if supply == 1 else float(left[-1] + mesh.width[mesh.live][-1])


def all_live(mesh: Mesh) -> Mesh:
    """Give the same panels, every one with nodes.

    Parameters
    ----------
    mesh : Mesh
        The mesh.

    Returns
    -------
    Mesh
        The same panels.

    Examples
    --------
    >>> bool(all_live(Mesh(np.ones(1), np.zeros(1, int), np.zeros(1, bool), 4)).live[0])
    True
    """
    return Mesh(mesh.width, mesh.step, np.ones(mesh.width.size, dtype=np.bool_), mesh.count)


def joined(
    mesh: Mesh, marked: NDArray[np.bool_], smooth: NDArray[np.bool_]
) -> tuple[Mesh, NDArray[np.bool_]]:
    """Give the mesh with smooth halves of one former panel joined again.

    Parameters
    ----------
    mesh : Mesh
        The mesh.
    marked : ndarray of bool, shape (P,)
        Panels about to be cut; they are carried along and never joined.
    smooth : ndarray of bool, shape (P,)
        Panels that may be joined.

    Returns
    -------
    tuple of Mesh and ndarray of bool
        The coarser mesh and the marks on it.

    Examples
    --------
    >>> mesh = Mesh(np.full(2, 0.5), np.zeros(2, int), np.ones(2, bool), 12)
    >>> joined(mesh, np.zeros(2, bool), np.ones(2, bool))[0].width
    array([1.])
    """
    keep: list[int] = []
    width, marks = mesh.width.copy(), marked.copy()
    start = np.array([mesh.width[mesh.step < step].sum() for step in mesh.step])
    place = np.rint((mesh.left - start) / mesh.width)
    p = 0
    while p < width.size:
        keep.append(p)
        pair = p + 1 < width.size and mesh.step[p] == mesh.step[p + 1] and place[p] % 2 == 0
        pair = pair and abs(mesh.width[p + 1] / mesh.width[p] - 1.0) < _EQUAL_WIDTH
        pair = pair and smooth[p] and smooth[p + 1] and mesh.live[p] == mesh.live[p + 1]
        if pair and not (marked[p] or marked[p + 1]):
            width[p] += width[p + 1]
            p += 1
        p += 1
    chosen = np.array(keep, dtype=np.int64)
    return Mesh(width[chosen], mesh.step[chosen], mesh.live[chosen], mesh.count), marks[chosen]


def carry(state: State, mesh: Mesh) -> Floats:
    """Give the unknowns of a state on another mesh, by the polynomials of ln r.

    Parameters
    ----------
    state : State
        The solution to carry.
    mesh : Mesh
        The mesh to carry it to.

    Returns
    -------
    ndarray, shape (M + 2,)
        Unknowns on `mesh`.

    Examples
    --------
    See `trace`.
    """
    old = state.mesh
    if old is mesh:
        return state.unknowns
    parents = np.flatnonzero(old.live)
    edges = old.left[parents]
    logs = state.unknowns[: old.size].reshape(-1, old.count)
    pieces: list[Floats] = []
    for left, width in zip(mesh.left[mesh.live], mesh.width[mesh.live], strict=True):
        depth = left + width * nodes(mesh.count).position
        parent = np.maximum((depth[:, None] >= edges).sum(axis=1) - 1, 0)
        values = np.empty(mesh.count)
        for k in range(int(parent.min()), int(parent.max()) + 1):
            inside = parent == k
            places = (depth[inside] - edges[k]) / old.width[parents[k]]
            values[inside] = interpolation(old.count, np.clip(places, 0.0, 1.0)) @ logs[k]
        pieces.append(values)
    pieces.append(state.unknowns[old.size :])
    return np.concatenate(pieces)


def polished(cathode: PackedCathode, state: State, count: int) -> State:
    """Give the same state on more nodes per panel, solved there once more.

    Parameters
    ----------
    cathode : PackedCathode
        The cathode.
    state : State
        One solution.
    count : int
        Nodes per panel wanted; never fewer than the state has.

    Returns
    -------
    State
        The finer state; where panels were cut it is only carried over, which is fine enough there.

    Examples
    --------
    See `aerode.physics.cathode.losses.split_losses`.
    """
    mesh = Mesh(state.mesh.width, state.mesh.step, state.mesh.live, max(count, state.mesh.count))
    carried = carry(state, mesh)
    if mesh.size <= _POLISH_UP_TO:
        with np.errstate(all="ignore"):  # every trial is tested for being finite
            solved = Problem(cathode, mesh).newton(carried, state.current)
        if solved is not None:
            carried = solved
    return State(mesh, carried, state.current)
