"""Exact derivatives of the loss in the fast solver, as bare loops.

The solution x of F(x, p) = 0 moves with a property p by dx/dp = −(∂F/∂x)⁻¹ ∂F/∂p. Only one number
is wanted of x, the loss V, so the transposed system is solved once, (∂F/∂x)ᵀ λ = ∂V/∂x, and every
property then costs one sum: dV/dp = ∂V/∂p − λ·∂F/∂p.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from aerode.physics.cathode.kernel_equations import assemble, eliminate
from aerode.physics.cathode.packed import (
    AIR,
    AIR_RESISTANCE,
    LIQUID,
    LIQUID_RESISTANCE,
    REVERSE,
)

Floats = NDArray[np.float64]

# What the derivatives are taken by: logarithms of the packed numbers, all steps together, except
# the two that end in ONE, which are taken by the number itself.
BY_IONIC = 0
BY_ELECTRONIC = 1
BY_OXYGEN = 2
BY_LOG_RATE = 3
BY_GRAIN = 4
BY_FILM = 5
BY_CHARGE = 6
BY_SLOPE_ONE = 7
BY_REVERSE_ONE = 8
BY_REFERENCE = 9
BY_SUPPLY = 10
BY_RESISTANCE = 11
BY_THICKNESS = 12
SLOPES = BY_THICKNESS + 1


def slopes_of_loss(
    size: int,
    unknowns: Floats,
    current: float,
    total: float,
    whole: Floats,
    supply: int,
    table: Floats,
    overpotential: Floats,
    ionic_part: Floats,
    oxygen: Floats,
    rows: Floats,
    nodal: Floats,
    fields: Floats,
    system: Floats,
    slopes: Floats,
) -> bool:
    """Fill `slopes` with the derivatives of the loss at a solution; False where there are none.

    `ionic_part` is the matrix of the overpotential with the solid's resistance left out.
    """
    good = assemble(
        size, unknowns, current, total, whole, supply, table, overpotential, oxygen, rows, nodal,
        fields, system,
    )  # fmt: skip
    if not good:
        return False
    one, n, order = np.uint64(1), np.uint64(size), np.uint64(size + 2)
    for i in range(order):
        for j in range(i + one, order):
            system[i, j], system[j, i] = system[j, i], system[i, j]
    drop = 0.0
    for j in range(n):
        part = current * rows[2, j] * fields[0, j]
        system[j, order] = part
        drop += part
    system[n, order], system[n + one, order] = 1.0, 0.0
    if not eliminate(size + 2, system):
        return False
    for k in range(SLOPES):
        slopes[k] = 0.0
    reverse, used = whole[REVERSE], 0.0
    for i in range(n):
        weight = system[
            i, order
        ]  # F_i holds ln of needed over present oxygen: ∂V/∂p gains −λ_i ∂F_i/∂p
        driving = weight * fields[7, i]
        eta, ionic, gas = 0.0, 0.0, 0.0
        for j in range(n):
            eta += overpotential[i, j] * fields[0, j]
            ionic += ionic_part[i, j] * fields[0, j]
            gas += oxygen[i, j] * fields[0, j]
        by_eta = weight * fields[2, i] * current
        by_gas = weight * fields[3, i] * current * gas
        slopes[BY_IONIC] += by_eta * ionic
        slopes[BY_ELECTRONIC] += by_eta * (eta - ionic)
        slopes[BY_OXYGEN] += by_gas
        slopes[BY_THICKNESS] += driving + by_eta * eta + by_gas
        inner, share = fields[4, i], fields[5, i]
        by_rate = driving * inner * (1.0 + 0.5 * share)
        slopes[BY_LOG_RATE] += by_rate
        slopes[BY_GRAIN] += 0.5 * driving * inner * share
        slopes[BY_FILM] -= driving * (1.0 - inner)
        slopes[BY_CHARGE] += weight
        slopes[BY_SLOPE_ONE] += by_rate * fields[6, i]
        if reverse > 0.0:
            slopes[BY_REVERSE_ONE] += (weight - driving) * fields[6, i]
            slopes[BY_REFERENCE] -= weight - driving
        used += current * rows[1, i] * fields[0, i]
    # the row of the face where oxygen enters, and the drop in the solid
    target, resistance = whole[AIR], whole[AIR_RESISTANCE]
    if supply == 1:
        target, resistance = whole[LIQUID], whole[LIQUID_RESISTANCE]
    weight = system[n + one, order]
    slopes[BY_OXYGEN] -= weight * used / target
    slopes[BY_THICKNESS] -= weight * used / target
    slopes[BY_RESISTANCE] -= weight * current * resistance / target
    slopes[BY_SUPPLY] += weight
    slopes[BY_ELECTRONIC] += drop
    slopes[BY_THICKNESS] += drop
    return True
