"""The meshes of the fast solver, as bare loops: the twin of `adapt` and of the mesh rules of `plain`.

A mesh is an array of three rows: width over thickness, step in depth, and 1 for live panels.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

COUNTS = (4, 6, 8, 12, 16, 24)  # numerical: nodes per panel
CUT_COUNT = 12
CUT_LEVEL = 3  # the table of 12 nodes
LEVELS = 6
MOST_PANELS = 48  # numerical
PANEL_ROOM = MOST_PANELS + 40  # numerical: columns of a mesh while it is made
WIDEST_RANGE = 8.0  # numerical: of ln r inside one panel
SMOOTH = 1e-9  # numerical: of the tolerance
DEAD = 1e-9  # numerical: as in `adapt`
WOKEN = 1e-6  # numerical: as in `adapt`
SAFETY = 5.0  # numerical: the last coefficients of an oscillating tail may be small by chance
EQUAL_WIDTH = 1e-6  # numerical: as in `adapt`
EARLIER = 0.4  # numerical: weight of the last coefficient but three over the last but two
FAR_AWAY = 9.0  # numerical: more than any depth, which ends at 1

# The state of a walk, in one array of whole numbers: panels, nodes per panel, level, nodes, and how
# many earlier solutions are remembered.
PANELS, COUNT, LEVEL, SIZE, KNOWN = 0, 1, 2, 3, 4


def assess(
    panels: int,
    count: int,
    mesh: Floats,
    local: Floats,
    fields: Floats,
    quality: Floats,
    slope: float,
) -> float:
    """Error estimate of the voltage; `quality` gets error, share and nothing else per panel."""
    n = count
    top = 4 * n + 3 * n * n + (n - 2) * n  # the last two rows of the Legendre matrix
    weight = 0.25 if n > 4 else 0.0  # of the two before: a coefficient may vanish by chance
    sum_, a = 0.0, 0
    for p in range(panels):
        quality[0, p], quality[1, p] = 0.0, 0.0
        if mesh[2, p] == 0.0:
            continue
        one, two, three, four, mean = 0.0, 0.0, 0.0, 0.0, 0.0
        for j in range(n):
            rate = fields[0, a + j]
            one += local[top + j] * rate
            two += local[top + n + j] * rate
            three += local[top - n + j] * rate
            four += local[top - 2 * n + j] * rate
            mean += local[n + j] * rate
        worst = max(max(abs(one), abs(two)), weight * max(abs(three), EARLIER * abs(four)))
        quality[0, p] = SAFETY * mesh[0, p] * worst * worst / (mean * slope)
        quality[1, p] = mesh[0, p] * mean
        sum_ += quality[0, p]
        a += n
    return sum_


def spans(panels: int, count: int, mesh: Floats, unknowns: Floats, quality: Floats) -> None:
    """The span of ln r inside every live panel, into `quality[2]`."""
    a = 0
    for p in range(panels):
        quality[2, p] = 0.0
        if mesh[2, p] == 0.0:
            continue
        low, high = unknowns[a], unknowns[a]
        for j in range(1, count):
            low, high = min(low, unknowns[a + j]), max(high, unknowns[a + j])
        quality[2, p] = high - low
        a += count


def live_end(panels: int, mesh: Floats, supply: int) -> float:
    """Depth at which the live panels end, away from the oxygen."""
    left, first, last = 0.0, -1.0, 0.0
    for p in range(panels):
        if mesh[2, p] != 0.0:
            if first < 0.0:
                first = left
            last = left + mesh[0, p]
        left += mesh[0, p]
    return last if supply == 0 else first


def judge(
    at: Ints, supply: int, tolerance: float, estimate: float, mesh: Floats, unknowns: Floats,
    quality: Floats,
) -> int:  # fmt: skip
    """What a solution asks of its mesh: 0 nothing, 1 a finer one, 2 dead panels woken."""
    if at[LEVEL] < LEVELS:
        return 1 if estimate > tolerance else 0
    spans(at[PANELS], at[COUNT], mesh, unknowns, quality)
    edge, dead, wide = 0.0, False, False
    for p in range(at[PANELS]):
        if mesh[2, p] == 0.0:
            dead = True
        elif supply == 0 or edge == 0.0:
            edge = quality[1, p]
        wide = wide or quality[2, p] > WIDEST_RANGE
    if dead and edge > WOKEN:
        return 2
    return 1 if wide or estimate > tolerance else 0


def far_oxygen(
    at: Ints, place: float, current: float, mesh: Floats, local: Floats, oxygen: Floats,
    unknowns: Floats,
) -> float:  # fmt: skip
    """ln of the oxygen at the node nearest to a depth."""
    best, nearest, a, left = FAR_AWAY, 0, 0, 0.0
    for p in range(at[PANELS]):
        if mesh[2, p] != 0.0:
            for i in range(at[COUNT]):
                distance = abs(left + mesh[0, p] * local[i] - place)
                if distance < best:
                    best, nearest = distance, a + i
            a += at[COUNT]
        left += mesh[0, p]
    value = 0.0
    for j in range(at[SIZE]):
        value += oxygen[nearest, j] * math.exp(unknowns[j])
    return math.log(math.exp(unknowns[at[SIZE] + 1]) + current * value)


def carry(
    old_panels: int,
    old_count: int,
    old_mesh: Floats,
    old_local: Floats,
    old: Floats,
    panels: int,
    count: int,
    mesh: Floats,
    local: Floats,
    new: Floats,
    scratch: Floats,
) -> None:
    """The unknowns on another mesh, by the polynomials of ln r; the twin of `adapt.carry`."""
    n = old_count
    leg = 4 * n + 3 * n * n
    old_size = 0
    for p in range(old_panels):
        if old_mesh[2, p] != 0.0:
            old_size += n
    # Legendre coefficients of every old panel; `new` may be `old`, so they are kept apart.
    for b in range(0, old_size, n):
        for k in range(n):
            coefficient = 0.0
            for j in range(n):
                coefficient += old_local[leg + k * n + j] * old[b + j]
            scratch[b + k] = coefficient
    face, far = old[old_size], old[old_size + 1]
    a, left = 0, 0.0
    for p in range(panels):
        if mesh[2, p] == 0.0:
            left += mesh[0, p]
            continue
        for i in range(count):
            depth = left + mesh[0, p] * local[i]
            # the live panel that holds this depth, or the nearest
            begin, edge, first, found, found_left = 0.0, 0, -1, -1, 0.0
            for q in range(old_panels):
                if old_mesh[2, q] != 0.0:
                    if first < 0 or depth >= begin:
                        first, found, found_left = q, edge, begin
                    edge += n
                begin += old_mesh[0, q]
            t = (depth - found_left) / old_mesh[0, first]
            x = 2.0 * min(1.0, max(0.0, t)) - 1.0
            before, now, value = 0.0, 1.0, 0.0
            for k in range(n):
                value += scratch[found + k] * now
                before, now = now, ((2.0 * k + 1.0) * x * now - k * before) / (k + 1.0)
            new[a] = value
            a += 1
        left += mesh[0, p]
    new[a], new[a + 1] = face, far


def next_mesh(
    panels: int, mesh: Floats, quality: Floats, supply: int, tolerance: float, joining: bool,
    forced: bool, new: Floats, marks: Floats,
) -> int:  # fmt: skip
    """Cut coarse panels, lay dead ones to rest, join smooth ones; returns the new count of panels.

    `forced` marks wherever the rate varies most, for steps that keep failing.
    """
    live, widest = 0, 0.0
    for p in range(panels):
        if mesh[2, p] != 0.0:
            live += 1
            widest = max(widest, quality[2, p])
    left, passed = 1.0, 0.0
    for p in range(panels):
        marks[0, p] = 0.0
        marks[1, p] = mesh[2, p]
        if mesh[2, p] != 0.0:
            if forced:
                marks[0, p] = 1.0 if quality[2, p] > min(3.0, 0.5 * widest) else 0.0
            elif quality[0, p] > tolerance / live or quality[2, p] > WIDEST_RANGE:
                marks[0, p] = 1.0
    if supply == 0:
        left = 0.0
        for p in range(panels - 1, -1, -1):
            left += quality[1, p]
            if not left > DEAD and not (p > 0 and quality[1, p - 1] > WOKEN):
                marks[1, p], marks[0, p] = 0.0, 0.0
    else:
        for p in range(panels):
            passed += quality[1, p]
            if not passed > DEAD and not (p + 1 < panels and quality[1, p + 1] > WOKEN):
                marks[1, p], marks[0, p] = 0.0, 0.0
    made, p = 0, 0
    begin, step = 0.0, -1.0
    while p < panels:
        if mesh[1, p] != step:
            begin, step = 0.0, mesh[1, p]
        width = mesh[0, p]
        if made + 2 > PANEL_ROOM:
            return -1
        if marks[0, p] != 0.0:
            for _ in range(2):
                new[0, made], new[1, made], new[2, made] = 0.5 * width, step, marks[1, p]
                made += 1
            begin += width
            p += 1
            continue
        pair = joining and p + 1 < panels and mesh[1, p + 1] == step and marks[0, p + 1] == 0.0
        pair = (
            pair
            and abs(mesh[0, p + 1] / width - 1.0) < EQUAL_WIDTH
            and marks[1, p] == marks[1, p + 1]
        )
        pair = pair and int(begin / width + 0.5) % 2 == 0
        if pair and marks[1, p] != 0.0:
            for q in range(p, p + 2):
                pair = pair and quality[0, q] < SMOOTH * tolerance and quality[2, q] < 1.0
        if pair:
            new[0, made], new[1, made], new[2, made] = 2.0 * width, step, marks[1, p]
            begin += 2.0 * width
            p += 2
        else:
            new[0, made], new[1, made], new[2, made] = width, step, marks[1, p]
            begin += width
            p += 1
        made += 1
    return made


def new_mesh(
    at: Ints, change: int, supply: int, tolerance: float, slope: float, judged: Floats,
    mesh: Floats, local: Floats, fields: Floats, quality: Floats, marks: Floats, other: Floats,
    planned: Ints,
) -> None:  # fmt: skip
    """Plan the next mesh into `other` and `planned`; `planned[PANELS]` is −1 where there is none.

    `change` is 1 finer, 2 woken, 3 cut wherever the rate varies most; `judged` the solution whose
    shape decides.
    """
    for k in range(5):
        planned[k] = at[k]
    for k in range(3):
        for p in range(at[PANELS]):
            other[k, p] = 1.0 if change == 2 and k == 2 else mesh[k, p]
    if change != 2:
        planned[LEVEL] = at[LEVEL] + 1
        if planned[LEVEL] < LEVELS:
            planned[COUNT] = COUNTS[planned[LEVEL]]
        else:
            planned[COUNT] = CUT_COUNT
            for i in range(at[SIZE]):
                fields[0, i] = math.exp(judged[i])
            assess(at[PANELS], at[COUNT], mesh, local, fields, quality, slope)
            spans(at[PANELS], at[COUNT], mesh, judged, quality)
            planned[PANELS] = next_mesh(
                at[PANELS], mesh, quality, supply, tolerance, at[LEVEL] >= LEVELS, change == 3,
                other, marks,
            )  # fmt: skip
    planned[SIZE] = 0
    for p in range(planned[PANELS]):
        if other[2, p] != 0.0:
            planned[SIZE] += planned[COUNT]
    if planned[SIZE] > MOST_PANELS * CUT_COUNT:
        planned[PANELS] = -1
