"""A drowned cathode uses its oxygen up in a skin at one face: start there, not from an even layer.

Dissolved oxygen falls by many powers of ten over micrometres. Walking there from an even electrode
takes many steps; an exponential on panels as wide as the skin takes a few Newton steps.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from aerode.physics.cathode.adapt import panel_errors, panel_ranges, woken
from aerode.physics.cathode.operators import Mesh
from aerode.physics.cathode.packed import (
    AIR,
    AIR_RESISTANCE,
    CHARGE,
    FILM,
    INVERSE_SLOPE,
    IONIC,
    LIQUID,
    LIQUID_RESISTANCE,
    LOG_GRAIN,
    LOG_RATE,
    OXYGEN,
    SHAPE,
    SHAPES,
    SUPPLY,
    THICKNESS,
    PackedCathode,
)
from aerode.physics.cathode.problem import Problem, State
from aerode.physics.cathode.rate import WHOLE_GRAIN
from aerode.physics.effectiveness import effectiveness

__all__ = ["skin_folds", "skin_state"]

Floats = NDArray[np.float64]

FROM = 40.0  # numerical: e-folds of oxygen in the first step above which it counts as a skin
DEPTH = 21.0  # numerical: e-folds of a skin that get nodes
COUNT = 12  # numerical: nodes per panel
WIDEST_RANGE = 8.0  # numerical: of ln r inside one panel
_LIVE = (5, 8, 11, 14)  # numerical: panels that are tried one after the other
_LOW, _HIGH = -100.0, 400.0  # numerical: ends of the search for ln k at the face
_HALVINGS = 60  # numerical


def skin_folds(cathode: PackedCathode, current: float) -> float:
    """Give how many e-folds oxygen falls inside the step it enters, if only diffusion feeds it.

    Parameters
    ----------
    cathode : PackedCathode
        The cathode.
    current : float
        Current density [A/m²].

    Returns
    -------
    float
        λh with I = nF D c λ, c the oxygen at the face; 0 where none is left there, or where oxygen
        enters at both faces [1].

    Examples
    --------
    >>> steps = np.array([[1e-3, 0.5, 0.02, 1.0, -9.0, -1e3, 0.0, 1e4, 1.0]])
    >>> whole = np.array([20.0, 0.0, 0.2, 0.0, 8.0, 0.0, 0.0, 0.0, 0.0])
    >>> skin_folds(PackedCathode(steps, whole), 8e3)
    1.0
    """
    supply = int(cathode.whole[SUPPLY])
    gas = _at_face(cathode, current)
    if supply == 2 or not gas > 0.0:
        return 0.0
    row = cathode.steps[0 if supply == 0 else -1]
    return current * float(row[OXYGEN]) / gas * float(row[THICKNESS])


def skin_state(cathode: PackedCathode, current: float, tolerance: float) -> State | None:
    """Give the solution of a cathode whose oxygen ends in a skin, or None where it does not.

    Parameters
    ----------
    cathode : PackedCathode
        The cathode.
    current : float
        Current density [A/m²].
    tolerance : float
        Largest estimated error of the voltage [V].

    Returns
    -------
    State or None
        The solution on panels as wide as the skin.

    Examples
    --------
    See `aerode.physics.cathode.plain.trace`.
    """
    folds = skin_folds(cathode, current)
    if not folds > FROM:
        return None
    for live in _LIVE:
        mesh = _mesh(cathode, folds, live)
        guess = _guess(cathode, mesh, folds, current)
        unknowns = None if guess is None else Problem(cathode, mesh).newton(guess, current)
        if unknowns is None:
            return None
        state = State(mesh, unknowns, current)
        if woken(cathode, state):
            return None
        good = float(panel_errors(cathode, state).sum()) <= tolerance
        if good and float(panel_ranges(state).max()) <= WIDEST_RANGE:
            return state
    return None


def _at_face(cathode: PackedCathode, current: float) -> float:
    whole = cathode.whole
    if int(whole[SUPPLY]) == 1:
        return float(whole[LIQUID] - current * whole[LIQUID_RESISTANCE])
    return float(whole[AIR] - current * whole[AIR_RESISTANCE])


def _mesh(cathode: PackedCathode, folds: float, live: int) -> Mesh:
    """Equal panels over the skin; all the rest dead."""
    share = cathode.steps[:, THICKNESS] / cathode.total_thickness
    first = 0 if int(cathode.whole[SUPPLY]) == 0 else share.size - 1
    skin = float(share[first]) * DEPTH / folds
    width: list[float] = []
    step: list[int] = []
    alive: list[bool] = []
    for row, whole in enumerate(float(v) for v in share):
        inside = [skin / live] * live if row == first else []
        rest = whole - skin if row == first else whole
        pieces = [*inside, rest] if first == 0 else [rest, *inside]
        lives = [True] * len(inside)
        width += pieces
        alive += [*lives, False] if first == 0 else [False, *lives]
        step += [row] * len(pieces)
    return Mesh(np.array(width), np.array(step, dtype=np.int64), np.array(alive), COUNT)


def _guess(cathode: PackedCathode, mesh: Mesh, folds: float, current: float) -> Floats | None:
    """An exponential, and the overpotential that makes it."""
    whole, total = cathode.whole, cathode.total_thickness
    supply = int(whole[SUPPLY])
    row = cathode.steps[0 if supply == 0 else -1]
    decay = folds * total / float(row[THICKNESS])
    depth = mesh.depth if supply == 0 else 1.0 - mesh.depth
    gas = _at_face(cathode, current)
    # the rate at the face is decay·I/L: what is left of the resistance is the grains'
    inner = float(row[CHARGE]) * gas / (current * decay / total) - float(row[FILM])
    if not inner > 0.0:
        return None
    low, high = _LOW, _HIGH
    shape = SHAPES[int(whole[SHAPE])]
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        modulus = math.exp(0.5 * max(middle + float(row[LOG_GRAIN]), WHOLE_GRAIN))
        reached = middle + math.log(float(effectiveness(modulus, shape)))
        low, high = (middle, high) if reached < -math.log(inner) else (low, middle)
    face = (low - float(row[LOG_RATE])) / float(whole[INVERSE_SLOPE])
    if supply == 0:
        face += current * float(cathode.steps[:, THICKNESS] @ cathode.steps[:, IONIC])
    return np.concatenate([math.log(decay) - decay * depth, [face, math.log(gas) - DEPTH]])
