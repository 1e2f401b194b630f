"""The least that scalar arithmetic must take for a curve, measured on this machine in this run.

Counted: every Newton step of a few of the same curves, by the untranslated loops, with its number of
nodes. Measured: two exponentials and one logarithm for a node, and one elimination of a system of
that size, in loops that do nothing else: the floor. Beside it, not in it, the products that fill that
system. What the solver does besides (the grain's table, judging its error, moving to a finer mesh)
is in neither, so no scalar solver of this method can be faster.
"""

from __future__ import annotations

import math
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numba
import numpy as np

from aerode.physics.cathode import CathodeParameters, compiled, kernel_equations, kernel_walk
from aerode.physics.cathode.kernel_mesh import CUT_COUNT, MOST_PANELS
from aerode.physics.cathode.kernel_slopes import SLOPES
from aerode.physics.cathode.packed import SHAPE, SHAPES, pack
from aerode.physics.cathode.tables import node_tables, share_table

Floats = np.ndarray
LOOPS, REPEATS = 20_000, 7


@dataclass(frozen=True, slots=True)
class Floor:
    """Seconds a curve that the bare arithmetic takes, and how much there is of it.

    Parameters
    ----------
    functions, elimination, filling : float [s]
        Exponentials with logarithms, eliminations, and the products that fill the systems.
    steps, nodes : float [1]
        Newton steps a point, nodes a step.
    """

    functions: float
    elimination: float
    filling: float
    steps: float
    nodes: float

    @property
    def total(self) -> float:
        """Functions and elimination [s]."""
        return self.functions + self.elimination


def _functions(values: Floats, loops: int) -> float:
    total = 0.0
    for _ in range(loops):
        for i in range(values.size):
            first = math.exp(values[i])
            second = math.exp(-0.3 * values[i])
            total += math.log(first + second)
    return total


def _solved(matrix: Floats, work: Floats, loops: int, eliminate: Any) -> float:
    total = 0.0
    for _ in range(loops):
        for i in range(matrix.shape[0]):
            for j in range(matrix.shape[1]):
                work[i, j] = matrix[i, j]
        eliminate(matrix.shape[0], work)
        total += work[0, matrix.shape[0]]
    return total


def _copied(matrix: Floats, work: Floats, loops: int) -> float:
    total = 0.0
    for _ in range(loops):
        for i in range(matrix.shape[0]):
            for j in range(matrix.shape[1]):
                work[i, j] = matrix[i, j]
        total += work[loops % matrix.shape[0], 0]
    return total


def _filled(first: Floats, second: Floats, rate: Floats, work: Floats, loops: int) -> float:
    total = 0.0
    n = rate.size
    for loop in range(loops):
        for i in range(n):
            a, b = 0.0, 0.0
            for j in range(n):
                a += first[i, j] * rate[j]
                b += second[i, j] * rate[j]
            for j in range(n):
                work[i, j] = -(a * first[i, j] + b * second[i, j]) * rate[j]
        total += work[loop % n, 0]
    return total


def _plain(order: int, system: Floats) -> bool:
    """The textbook's elimination, one column at a time, without any exchange."""
    for k in range(order):
        inverse = 1.0 / system[k, k]
        for i in range(k + 1, order):
            factor = system[i, k] * inverse
            for j in range(k + 1, order + 1):
                system[i, j] -= factor * system[k, j]
    for i in range(order - 1, -1, -1):
        value = system[i, order]
        for j in range(i + 1, order):
            value -= system[i, j] * system[j, order]
        system[i, order] = value / system[i, i]
    return True


def _best(task: Callable[..., object], *arrays: Floats, extra: object = None) -> float:
    """Seconds of CPU for one of the loops, the best of several."""
    more = () if extra is None else (extra,)
    task(*arrays, 1, *more)  # translated before it is timed
    lowest = math.inf
    for _ in range(REPEATS):
        begin = time.process_time()
        task(*arrays, LOOPS, *more)
        lowest = min(lowest, time.process_time() - begin)
    return lowest / LOOPS


def counted(cathodes: list[CathodeParameters], currents: list[Floats]) -> Counter[int]:
    """Newton steps of the curves by their number of nodes, from the untranslated loops.

    Parameters
    ----------
    cathodes : list of CathodeParameters
    currents : list of ndarray, shape (K,) each [A/m²]

    Returns
    -------
    Counter of int to int
        Nodes to eliminations.
    """
    seen: Counter[int] = Counter()
    shipped = kernel_equations.eliminate

    def watched(order: int, system: Floats) -> bool:
        seen[int(order) - 2] += 1
        return shipped(order, system)

    kernel_equations.eliminate = watched
    try:
        for cathode, line in zip(cathodes, currents, strict=True):
            _walked(cathode, line)
    finally:
        kernel_equations.eliminate = shipped
    return seen


def _walked(cathode: CathodeParameters, currents: Floats) -> None:
    packed, (tables, offsets) = pack(cathode), node_tables()
    shares = share_table(SHAPES[int(packed.whole[SHAPE])])
    room = MOST_PANELS * CUT_COUNT
    kernel_walk.walk(
        packed.steps, packed.whole, currents, 1e-7, tables, offsets, shares, room,
        np.empty(currents.size), np.empty(currents.size), np.empty((0, 3, 1)), np.empty((0, 1)),
        np.empty((0, 2), np.int64), np.empty((0, SLOPES)),
    )  # fmt: skip


def measured(cathodes: list[CathodeParameters], currents: list[Floats]) -> Floor:
    """The floor of a curve, over some of the curves of a batch.

    Parameters
    ----------
    cathodes : list of CathodeParameters
    currents : list of ndarray, shape (K,) each [A/m²]

    Returns
    -------
    Floor
    """
    seen = counted(cathodes, currents)
    steps, points = sum(seen.values()), sum(line.size for line in currents)
    loops = _Loops()
    spent = {n: np.array(loops.seconds(n)) * times for n, times in seen.items()}
    functions, elimination, filling = (float(v) for v in sum(spent.values()) / len(cathodes))
    return Floor(
        functions=functions,
        elimination=elimination,
        filling=filling,
        steps=steps / points,
        nodes=sum(n * times for n, times in seen.items()) / steps,
    )


class _Loops:
    """The bare loops, translated."""

    def __init__(self) -> None:
        self.functions, self.copied = numba.njit(_functions), numba.njit(_copied)
        self.solved, self.filled = numba.njit(_solved), numba.njit(_filled)
        self.ways = [compiled.kernels()["eliminate"], numba.njit(_plain, error_model="numpy")]

    def seconds(self, nodes: int) -> tuple[float, float, float]:
        """Functions, the better elimination, and filling, for one Newton step on so many nodes."""
        values, matrix = np.linspace(-3.0, 3.0, nodes), np.eye(nodes + 2, nodes + 3) + 0.01
        work, square = np.empty_like(matrix), np.full((nodes, nodes), 0.1)
        bare = _best(self.copied, matrix, work)
        eliminations = [_best(self.solved, matrix, work, extra=way) for way in self.ways]
        return (
            _best(self.functions, values),
            max(0.0, min(eliminations) - bare),
            _best(self.filled, square, 0.5 * square, values, work),
        )
