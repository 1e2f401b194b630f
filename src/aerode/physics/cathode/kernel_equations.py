"""The equations of the fast solver on one mesh, as bare loops: the twin of `operators` and `problem`.

Nothing here imports a compiler; `compiled` translates it. What differs from the plain twin: Newton
stops at 3e-4 e-folds, after which the error is a few times its square; and the grain's share of the
rate comes from a table (`tables`), with its exact asymptotes.

The balance at a node is written as ln of the oxygen there against ln of what it must be, that of
equilibrium and what drives the rate: their difference, all that is left near equilibrium, has no digits.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from aerode.physics.cathode.packed import (
    AIR,
    AIR_RESISTANCE,
    BEYOND,
    CHARGE,
    ELECTRONIC,
    FILM,
    INVERSE_SLOPE,
    IONIC,
    LIQUID,
    LIQUID_RESISTANCE,
    LOG_GRAIN,
    LOG_RATE,
    OXYGEN,
    REFERENCE,
    REVERSE,
    SHAPE,
)

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Unsigned = np.unsignedinteger[Any]

STOP = 3e-4  # numerical: e-folds of the last Newton step
SMALLEST_ERROR = 1e-10  # numerical: the table of the grain's share is good to this [V]
MOST_NEWTON = 16  # numerical: steps
LARGE = 40  # numerical: unknowns from which on rows are always exchanged
SMALL_PIVOT = 1e-2  # numerical: share of its row below which a pivot makes rows be exchanged
LARGEST_MOVE = 2.0
# Numerical: ends of the table in ln φ, and its steps per unit.
TABLE_LOW, TABLE_HIGH, TABLE_STEPS = -8.0, 8.0, 64.0
LEAST_LOG = -300.0  # numerical: ln φ below which φ² is nothing
LARGEST_LOG = 650.0  # numerical: ln of a rate from which exp runs over


def build(
    panels: int,
    count: int,
    mesh: Floats,
    steps: Floats,
    total: float,
    supply: int,
    local: Floats,
    overpotential: Floats,
    oxygen: Floats,
    rows: Floats,
    nodal: Floats,
    scratch: Floats,
) -> int:
    """Fill the matrices of a mesh; the twin of `operators.build`. Returns the number of nodes.

    `mesh` holds width, step and live per panel; `rows` weight, balance and loss per node; `nodal`
    ln k0, grain, film and charge per node; `scratch` sums over panels.
    """
    n = count
    position, weight = 0, n
    right_left, right_right, left_left = 2 * n, 2 * n + n * n, 2 * n + 2 * n * n
    first, last = 2 * n + 3 * n * n, 3 * n + 3 * n * n
    behind, before_solid, before_oxygen = 0.0, 0.0, 0.0
    for p in range(panels - 1, -1, -1):
        row = int(mesh[1, p])
        liquid = steps[row, IONIC] + (1.0 - steps[row, BEYOND]) * steps[row, ELECTRONIC]
        scratch[0, p] = liquid
        scratch[1, p] = behind
        behind += liquid * mesh[0, p]
    for p in range(panels):
        row = int(mesh[1, p])
        solid = steps[row, BEYOND] * steps[row, ELECTRONIC]
        scratch[2, p], scratch[3, p] = solid, before_solid
        scratch[4, p], scratch[5, p] = steps[row, OXYGEN], before_oxygen
        before_solid += solid * mesh[0, p]
        before_oxygen += steps[row, OXYGEN] * mesh[0, p]
    a = 0
    for p in range(panels):
        if mesh[2, p] == 0.0:
            continue
        row = int(mesh[1, p])
        wp, liquid, behind = mesh[0, p], scratch[0, p], scratch[1, p]
        solid, here_solid = scratch[2, p], scratch[3, p]
        gas, here_gas = scratch[4, p], scratch[5, p]
        for i in range(n):
            passing = wp * local[weight + i]
            rows[0, a + i] = passing
            rows[2, a + i] = total * (here_solid * passing + solid * wp * wp * local[first + i])
            if supply == 0:
                rows[1, a + i] = total * (here_gas * passing + gas * wp * wp * local[first + i])
            else:
                beyond = before_oxygen - here_gas - gas * wp
                rows[1, a + i] = total * (beyond * passing + gas * wp * wp * local[last + i])
            nodal[0, a + i] = steps[row, LOG_RATE]
            nodal[1, a + i] = steps[row, LOG_GRAIN]
            nodal[2, a + i] = steps[row, FILM]
            nodal[3, a + i] = steps[row, CHARGE]
        b = 0
        for q in range(panels):
            if mesh[2, q] == 0.0:
                continue
            wq = mesh[0, q]
            for i in range(n):
                ahead = wp * (1.0 - local[position + i])
                inside = wp * local[position + i]
                for j in range(n):
                    passing = wq * local[weight + j]
                    if p == q:
                        gain = liquid * wp * wp * local[right_left + i * n + j] + behind * passing
                        drop = solid * wp * wp * local[right_right + i * n + j]
                        if supply == 0:
                            used = gas * wp * wp * local[right_right + i * n + j]
                        else:
                            used = gas * wp * wp * local[left_left + i * n + j]
                    elif p < q:
                        gain = scratch[0, q] * wq * wq * local[last + j] + scratch[1, q] * passing
                        drop = (solid * (ahead - wp) + scratch[3, q] - here_solid) * passing
                        drop += scratch[2, q] * wq * wq * local[first + j]
                        used = 0.0
                        if supply == 0:
                            used = (gas * (ahead - wp) + scratch[5, q] - here_gas) * passing
                            used += scratch[4, q] * wq * wq * local[first + j]
                    else:
                        gain = (liquid * ahead + behind) * passing
                        drop, used = 0.0, 0.0
                        if supply == 1:
                            used = gas * inside + here_gas - scratch[5, q] - scratch[4, q] * wq
                            used = used * passing + scratch[4, q] * wq * wq * local[last + j]
                    overpotential[a + i, b + j] = total * (drop - gain)
                    oxygen[a + i, b + j] = total * used
            b += n
        a += n
    return a


def grain_share(log_modulus: float, shape: int, table: Floats) -> tuple[float, float]:
    """ln E and d ln E/d ln φ at ln φ: cubic table inside, exact asymptotes outside."""
    if log_modulus < TABLE_LOW:
        # numerical: 3/5, 1/2 and 1/3 of φ² are the first terms of the exact series of -ln E
        curvature = 0.6 if shape == 0 else (0.5 if shape == 1 else 1.0 / 3.0)
        small = curvature * math.exp(2.0 * log_modulus) if log_modulus > LEAST_LOG else 0.0
        return -small, -2.0 * small
    if log_modulus >= TABLE_HIGH:
        if shape == 2:
            return -log_modulus, -1.0
        u = math.exp(-log_modulus) / (3.0 if shape == 0 else 4.0)
        more = 0.0 if shape == 0 else 0.5 * u * u
        rest = 1.0 - u - more
        return math.log(rest) - log_modulus, (u + 2.0 * more) / rest - 1.0
    place = (log_modulus - TABLE_LOW) * TABLE_STEPS
    k = int(place)
    t = place - k
    c1, c2, c3 = table[k, 1], table[k, 2], table[k, 3]
    return table[k, 0] + t * (c1 + t * (c2 + t * c3)), TABLE_STEPS * (
        c1 + t * (2.0 * c2 + t * 3.0 * c3)
    )


def assemble(
    size: int,
    unknowns: Floats,
    current: float,
    total: float,
    whole: Floats,
    supply: int,
    table: Floats,
    overpotential: Floats,
    oxygen: Floats,
    rows: Floats,
    nodal: Floats,
    fields: Floats,
    system: Floats,
) -> bool:
    """Residual and Jacobian at the unknowns; False where the rate law has no value.

    The residual of a node is ln of the oxygen needed over the oxygen there. `fields` holds r, c, minus
    its derivatives by η and c, the share of the grains in the resistance, d ln E/d ln φ, η, and the share
    of the oxygen needed that drives the rate, per node. The last column of `system` is minus the residual.
    """
    slope, reverse, reference = whole[INVERSE_SLOPE], whole[REVERSE], whole[REFERENCE]
    shape = int(whole[SHAPE])
    target, resistance = whole[AIR], whole[AIR_RESISTANCE]
    if supply == 1:
        target, resistance = whole[LIQUID], whole[LIQUID_RESISTANCE]
    face, far = unknowns[size], math.exp(unknowns[size + 1])
    shift = math.log(total / current)
    n = np.uint64(size)
    for i in range(n):
        fields[0, i] = math.exp(unknowns[i])
    for i in range(n):
        eta, gas = 0.0, 0.0
        for j in range(n):
            eta += overpotential[i, j] * fields[0, j]
            gas += oxygen[i, j] * fields[0, j]
        eta = face + current * eta
        gas = far + current * gas
        log_rate = nodal[0, i] + eta * slope
        if not abs(log_rate) < LARGEST_LOG:
            return False
        log_share, share_slope = grain_share(0.5 * (log_rate + nodal[1, i]), shape, table)
        inner = math.exp(-log_rate - log_share)
        series = inner + nodal[2, i]
        if not gas > 0.0:
            return False
        part = inner / series
        by_eta, driving = part * slope * (1.0 + 0.5 * share_slope), 1.0
        short = math.log(nodal[3, i] * gas / series) + shift - unknowns[i]
        if reverse > 0.0:
            needed = fields[0, i] * series / math.exp(shift)
            back = reference * math.exp(-eta * reverse)
            driving = needed / (needed + back)
            by_eta = driving * by_eta + (1.0 - driving) * reverse
            if not math.isfinite(needed + back) or not needed + back > 0.0:
                return False
            short = math.log(nodal[3, i] * gas / (needed + back))
        by_gas = 1.0 / gas
        fields[1, i], fields[2, i], fields[3, i] = gas, by_eta, by_gas
        fields[4, i], fields[5, i], fields[6, i], fields[7, i] = part, share_slope, eta, driving
        system[i, size + 2] = short
        a, b = current * by_eta, current * by_gas
        for j in range(n):
            system[i, j] = -(a * overpotential[i, j] + b * oxygen[i, j]) * fields[0, j]
        system[i, i] += driving
        system[i, size] = -by_eta
        system[i, size + 1] = -by_gas * far
    made, used = 0.0, 0.0
    for j in range(n):
        part = rows[0, j] * fields[0, j]
        made += part
        system[size, j] = part
        part = current * rows[1, j] * fields[0, j]
        used += part
        system[size + 1, j] = part / target
    system[size, size], system[size, size + 1] = 0.0, 0.0
    system[size, size + 2] = 1.0 - made
    system[size + 1, size], system[size + 1, size + 1] = 0.0, far / target
    system[size + 1, size + 2] = 1.0 - (far + used + current * resistance) / target
    return True


def exchange(k: Unsigned, n: Unsigned, system: Floats) -> bool:
    """Bring the row with the largest entry of a column to its diagonal; False if all are nothing."""
    one = np.uint64(1)
    pivot, largest = k, abs(system[k, k])
    for i in range(k + one, n):
        if abs(system[i, k]) > largest:
            pivot, largest = i, abs(system[i, k])
    if not largest > 0.0:
        return False
    if pivot != k:
        for j in range(k, n + one):
            system[k, j], system[pivot, j] = system[pivot, j], system[k, j]
    return True


def eliminate(order: int, system: Floats) -> bool:
    """Solve in place; the answer replaces the last column.

    Two columns at a time: on these small systems the loop around a row costs as much as the row.
    Rows are exchanged always in large systems, and in small ones only where a diagonal is small,
    because theirs is one plus something. Unsigned indices spare a test at every access.
    """
    one, two, n = np.uint64(1), np.uint64(2), np.uint64(order)
    careful = order > LARGE
    k = np.uint64(0)
    while k < n:
        if (careful or not abs(system[k, k]) > SMALL_PIVOT) and not exchange(k, n, system):
            return False
        inverse, factor = 1.0 / system[k, k], 0.0
        single = careful or k + one >= n
        if not single:
            factor = system[k + one, k] * inverse
            second = system[k + one, k + one] - factor * system[k, k + one]
            single = not abs(second) > SMALL_PIVOT
        if single:
            for i in range(k + one, n):
                factor = system[i, k] * inverse
                for j in range(k + one, n + one):
                    system[i, j] -= factor * system[k, j]
            k += one
            continue
        for j in range(k + one, n + one):
            system[k + one, j] -= factor * system[k, j]
        beside, inverse_second = system[k, k + one], 1.0 / system[k + one, k + one]
        for i in range(k + two, n):
            first = system[i, k] * inverse
            other = (system[i, k + one] - first * beside) * inverse_second
            for j in range(k + two, n + one):
                system[i, j] -= first * system[k, j] + other * system[k + one, j]
        k += two
    for back in range(n):
        i = n - one - back
        value = system[i, n]
        for j in range(i + one, n):
            value -= system[i, j] * system[j, n]
        system[i, n] = value / system[i, i]
    return True


def newton(
    size: int,
    unknowns: Floats,
    current: float,
    total: float,
    whole: Floats,
    supply: int,
    table: Floats,
    overpotential: Floats,
    oxygen: Floats,
    rows: Floats,
    nodal: Floats,
    fields: Floats,
    system: Floats,
    trial: Floats,
) -> int:
    """Newton's method in place; the number of steps, or −1.

    Leaves r in `fields[0]` and the size of the last step in `trial[0]`.
    """
    slope = whole[INVERSE_SLOPE]
    arguments_ok = assemble(
        size, unknowns, current, total, whole, supply, table,
        overpotential, oxygen, rows, nodal, fields, system,
    )  # fmt: skip
    if not arguments_ok:
        return -1
    for step in range(1, MOST_NEWTON + 1):
        if not eliminate(size + 2, system):
            return -1
        largest = abs(system[size, size + 2]) * slope
        for i in range(size):
            largest = max(largest, abs(system[i, size + 2]))
        far = system[size + 1, size + 2]
        if not (math.isfinite(largest) and math.isfinite(far)):
            return -1
        far = max(-2.0 * LARGEST_MOVE, min(2.0 * LARGEST_MOVE, far))
        if largest < STOP and abs(far) < STOP:
            for i in range(size):
                move = system[i, size + 2]
                unknowns[i] += move
                fields[0, i] *= 1.0 + move * (1.0 + 0.5 * move)
            unknowns[size] += system[size, size + 2]
            unknowns[size + 1] += far
            trial[0] = max(largest, abs(far))
            return step
        shrink = min(1.0, LARGEST_MOVE / largest) if largest > 0.0 else 1.0
        for i in range(size + 1):
            trial[i] = system[i, size + 2]
        trial[size + 1] = far
        good = False
        for _ in range(10):
            for i in range(size + 2):
                unknowns[i] += shrink * trial[i]
            good = assemble(
                size, unknowns, current, total, whole, supply, table,
                overpotential, oxygen, rows, nodal, fields, system,
            )  # fmt: skip
            if good:
                break
            for i in range(size + 2):
                unknowns[i] -= shrink * trial[i]
            shrink *= 0.5
        if not good:
            return -1
    return -1
