"""The limiting current: where every further volt buys nothing because oxygen cannot come faster."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from aerode.physics.cathode.packed import (
    AIR,
    AIR_RESISTANCE,
    CHARGE,
    FILM,
    LIQUID,
    LIQUID_RESISTANCE,
    OXYGEN,
    SUPPLY,
    THICKNESS,
    PackedCathode,
    pack,
)
from aerode.physics.cathode.parameters import CathodeParameters

__all__ = ["limiting_current", "packed_limiting_current"]


@dataclass(frozen=True, slots=True)
class _Side:
    """Oxygen fed from one side into a stack of steps that leads to a known exit."""

    conductance: float  # current density per concentration at the fed face [A·m/mol]
    passed: float  # concentration at the exit over that at the fed face [1]


# judgement: so many cathodes are remembered
@lru_cache(maxsize=512)
def limiting_current(parameters: CathodeParameters) -> float:
    """Give the largest steady current density the oxygen supply of a cathode can carry.

    Parameters
    ----------
    parameters : CathodeParameters
        The cathode.

    Returns
    -------
    float
        The limit; infinite where oxygen stands unhindered at a face that reacts without a film
        [A/m²].

    Notes
    -----
    At unbounded overpotential every grain works at its skin alone, so only the wet film limits:
    Q = nF H k_f c, a linear diffusion problem that is solved exactly, step by step:
    G = D'λ(G_r + D'λ tanh λh)/(D'λ + G_r tanh λh), D' = nF D, λ² = H k_f/D (Thiele's slab with a
    leaking end). Ohmic losses do not enter. The limit is approached, never reached, and says
    nothing about whether the overpotential near it is practical.

    Examples
    --------
    >>> cathode = CathodeParameters(
    ...     thickness=4e-4, ionic_conductivity=2.0, electronic_conductivity=50.0,
    ...     gas_diffusivity=2e-6, oxygen_air=8.56, air_film=5e-3, henry_liquid_per_gas=0.0265,
    ...     agglomerate_radius=2e-6, agglomerate_diffusivity=5e-10, agglomerate_fraction=0.4,
    ...     film_transfer=float("inf"), exchange_current=50.0, reference_oxygen=0.22684,
    ...     tafel_slope=0.05138558, electrons=4.0)
    >>> round(limiting_current(cathode))  # nF D c/δ: still air alone
    13545
    """
    return packed_limiting_current(pack(parameters))


def packed_limiting_current(cathode: PackedCathode) -> float:
    """Give the limiting current of a packed cathode.

    Parameters
    ----------
    cathode : PackedCathode
        The arrays of the cathode.

    Returns
    -------
    float
        The limit, or infinity [A/m²].

    Examples
    --------
    >>> import numpy as np
    >>> steps = np.array([[1e-3, 0.5, 0.02, 1.0, 0.0, -1e3, 0.0, 1e4, 1.0]])
    >>> whole = np.array([20.0, 0.0, 0.2, 0.0, 8.5, 0.01, 0.0, 0.0, 0.0])
    >>> round(packed_limiting_current(PackedCathode(steps, whole)), 6)
    850.0
    """
    whole = cathode.whole
    supply = int(whole[SUPPLY])
    rows = [[float(value) for value in row] for row in cathode.steps]
    air, liquid = float(whole[AIR_RESISTANCE]), float(whole[LIQUID_RESISTANCE])
    if supply == 0:
        return float(whole[AIR]) * _fed(rows, air, math.inf).conductance
    if supply == 1:
        return float(whole[LIQUID]) * _fed(rows[::-1], liquid, math.inf).conductance
    return float(whole[AIR]) * _kept(rows, air, liquid) + float(whole[LIQUID]) * _kept(
        rows[::-1], liquid, air
    )


def _kept(rows: list[list[float]], entry: float, exit_: float) -> float:
    """Current that reacts inside when oxygen is fed at one face and the other leads out."""
    side = _fed(rows, entry, exit_)
    if side.conductance == math.inf:
        return math.inf
    lost = side.passed / exit_ if exit_ > 0.0 else 0.0
    if exit_ == 0.0:
        lost = side.passed  # `passed` then holds the current that leaves, see `_through`
    return side.conductance - lost


def _fed(rows: list[list[float]], entry: float, exit_: float) -> _Side:
    """Conductance of entry resistance and steps in series; rows run from the fed face."""
    onward = 0.0 if exit_ == math.inf else (math.inf if exit_ == 0.0 else 1.0 / exit_)
    passed = 1.0
    for row in reversed(rows):
        onward, share = _through(row, onward)
        passed *= share
    if onward == math.inf:
        return _Side(1.0 / entry if entry > 0.0 else math.inf, 0.0)
    outside = 1.0 / (1.0 + entry * onward)
    return _Side(onward * outside, passed * outside)


def _through(row: list[float], onward: float) -> tuple[float, float]:
    """Conductance into one step that leads on to `onward`, and exit over entry concentration.

    Where the exit is held at nothing (`onward` infinite) the second value is the current that
    leaves, per entry concentration.
    """
    width, resistance = row[THICKNESS], row[OXYGEN]
    if row[FILM] == 0.0:
        return math.inf, 0.0
    ratio = math.sqrt(row[CHARGE] / row[FILM] * resistance)  # λ
    own = ratio / resistance  # nF D λ
    x = ratio * width
    tanh = math.tanh(x)
    inverse_cosh = 2.0 * math.exp(-x) / (1.0 + math.exp(-2.0 * x))
    if onward == math.inf:
        return own / tanh, own * inverse_cosh / tanh
    into = own * (onward + own * tanh) / (own + onward * tanh)
    return into, inverse_cosh / (1.0 + onward / own * tanh)
