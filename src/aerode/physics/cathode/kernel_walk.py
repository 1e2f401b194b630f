"""The walk of the fast solver along the curve, as bare loops: the twin of `plain` and `start`.

What differs from the plain twin, and why:

* the predictor is a polynomial of order up to 4 in ln I through the last solutions, so that one
  Newton step per current is enough nearly always;
* more nodes are taken before they are needed, when the tail of the rate grows towards the limit;
* a drowned cathode, whose oxygen falls by many powers of ten in a skin, starts from an exponential
  on panels that shrink with that skin.

Oxygen from both faces at once is left to the plain twin.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from aerode.physics.cathode.kernel_equations import (
    SMALLEST_ERROR,
    build,
    grain_share,
    newton,
)
from aerode.physics.cathode.kernel_mesh import (
    COUNT,
    COUNTS,
    CUT_COUNT,
    CUT_LEVEL,
    KNOWN,
    LEVEL,
    LEVELS,
    MOST_PANELS,
    PANEL_ROOM,
    PANELS,
    SIZE,
    assess,
    carry,
    far_oxygen,
    judge,
    live_end,
    new_mesh,
)
from aerode.physics.cathode.kernel_slopes import SLOPES, slopes_of_loss
from aerode.physics.cathode.packed import (
    AIR,
    AIR_RESISTANCE,
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
    SUPPLY,
    THICKNESS,
)

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

HISTORY = 5
SHORT_RATIO = 0.6  # numerical: as in `plain`
SMALLEST_RATIO = 1e-4  # numerical: as in `plain`
FRONT_FROM = 40.0  # numerical: e-folds of oxygen in the first step above which it counts as a skin
FRONT_DEPTH = 21.0  # numerical: e-folds of a skin that get nodes
FRONT_ROOM = 14 * CUT_COUNT  # numerical: the most panels of a skin
FRONT_LOW, FRONT_HIGH = -100.0, 400.0  # numerical: ends of the search for ln k at the face
FRONT_HALVINGS = 60  # numerical
EASY_DROP = 0.3  # numerical: e-folds of ohmic drop that count as little
EASY_REACH = 500.0  # numerical: e-folds of overpotential on both sides of nothing
EASY_STEPS = 80  # numerical
EASY_MISS = 1e-6  # numerical: of ln of the mean rate
TINY = 1e-300  # numerical: keeps a quotient finite
LEAST_ERROR = 1e-12  # numerical: as in `adapt`
PAST = 1.0 + 1e-12  # numerical: rounding of ln I
REACHED = 1.0 + 1e-14  # numerical: rounding of I
MOST_MESHES = 60  # numerical: meshes between two solutions, after which the walk gives up
GROWTH = 1.7  # numerical: of the next step after one that went well


def begin(steps: Floats, whole: Floats, first: float, table: Floats, start: Floats) -> bool:
    """An easy current, at most `first`, and the even overpotential there, into `start`.

    The twin of `start.easy_current` and `start.uniform_guess`.
    """
    supply, slope, shape = int(whole[SUPPLY]), whole[INVERSE_SLOPE], int(whole[SHAPE])
    total, ohmic, path = 0.0, 0.0, 0.0
    for s in range(steps.shape[0]):
        total += steps[s, THICKNESS]
        ohmic += steps[s, THICKNESS] * (steps[s, IONIC] + steps[s, ELECTRONIC])
        path += steps[s, THICKNESS] * steps[s, OXYGEN]
    path += whole[LIQUID_RESISTANCE] if supply == 1 else whole[AIR_RESISTANCE]
    gas = whole[LIQUID] if supply == 1 else whole[AIR]
    start[0] = min(first, min(EASY_DROP / (slope * ohmic + TINY), 0.1 * gas / path))
    low, high = -EASY_REACH / slope, EASY_REACH / slope
    eta = 0.0
    for _ in range(EASY_STEPS):
        made, by_eta = 0.0, 0.0
        for s in range(steps.shape[0]):
            log_rate = steps[s, LOG_RATE] + eta * slope
            share, share_slope = grain_share(0.5 * (log_rate + steps[s, LOG_GRAIN]), shape, table)
            inner = math.exp(-log_rate - share)
            series = inner + steps[s, FILM]
            back = 0.0
            if whole[REVERSE] > 0.0:
                back = whole[REFERENCE] * math.exp(-eta * whole[REVERSE])
            net = steps[s, CHARGE] * gas - back
            if net > 0.0:
                rate = steps[s, THICKNESS] * net / series
                made += rate
                part = inner / series * slope * (1.0 + 0.5 * share_slope)
                by_eta += rate * (part + whole[REVERSE] * back / net)
        miss = math.log(made / start[0]) if made > 0.0 else -math.inf
        if abs(miss) < EASY_MISS:
            start[1] = eta
            return True
        if miss < 0.0:
            low = eta
        else:
            high = eta
        moved = 0.5 * (low + high)
        if made > 0.0 and by_eta > 0.0:
            step = eta - miss * made / by_eta
            if low < step < high:
                moved = step
        eta = moved
    return False


def base_mesh(steps: Floats, total: float, at: Ints, mesh: Floats) -> None:
    """One panel per step in depth, the fewest nodes, nothing remembered."""
    at[PANELS], at[COUNT], at[LEVEL], at[KNOWN] = steps.shape[0], COUNTS[0], 0, 0
    for p in range(at[PANELS]):
        mesh[0, p], mesh[1, p], mesh[2, p] = steps[p, THICKNESS] / total, float(p), 1.0


def even_guess(
    size: int, start: Floats, whole: Floats, supply: int, table: Floats, rows: Floats,
    nodal: Floats, unknowns: Floats,
) -> None:  # fmt: skip
    """The unknowns of an electrode without resistance at `start` (current, overpotential)."""
    mean = 0.0
    gas = whole[AIR] if supply == 0 else whole[LIQUID]
    back = 0.0
    if whole[REVERSE] > 0.0:
        back = whole[REFERENCE] * math.exp(-start[1] * whole[REVERSE])
    for i in range(size):
        log_rate = nodal[0, i] + start[1] * whole[INVERSE_SLOPE]
        share, _ = grain_share(0.5 * (log_rate + nodal[1, i]), int(whole[SHAPE]), table)
        series = math.exp(-log_rate - share) + nodal[2, i]
        rate = max(nodal[3, i] * gas - back, 1e-12 * nodal[3, i] * gas) / series
        unknowns[i] = math.log(rate)
        mean += rows[0, i] * rate
    for i in range(size):
        unknowns[i] -= math.log(mean)
    unknowns[size] = start[1]
    unknowns[size + 1] = math.log(whole[AIR] if supply == 0 else whole[LIQUID])


def lift(size: int, current: float, overpotential: Floats, unknowns: Floats) -> None:
    """Raise the overpotential until no place would run backwards with the guessed rates."""
    lowest = 0.0
    for i in range(size):
        drop = 0.0
        for j in range(size):
            drop += overpotential[i, j] * math.exp(unknowns[j])
        lowest = min(lowest, drop)
    unknowns[size] -= 2.0 * current * lowest


def front(steps: Floats, whole: Floats, current: float) -> float:
    """How many e-folds oxygen falls inside the step it enters, if only diffusion feeds it.

    A drowned cathode uses its oxygen up in a skin. With c the oxygen at the face, the current
    I = nF D c λ gives the decay λ, and λ times the thickness is returned (0 where c is none left).
    """
    supply, row = int(whole[SUPPLY]), 0
    gas, resistance = whole[AIR], whole[AIR_RESISTANCE]
    if supply == 1:
        row = steps.shape[0] - 1
        gas, resistance = whole[LIQUID], whole[LIQUID_RESISTANCE]
    gas -= current * resistance
    if not gas > 0.0:
        return 0.0
    return current * steps[row, OXYGEN] / gas * steps[row, THICKNESS]


def front_mesh(
    steps: Floats, total: float, supply: int, folds: float, fine: int, at: Ints, mesh: Floats
) -> None:
    """Panels that shrink with the skin: 21 e-folds of it live, all behind it dead."""
    live = 5 + 3 * fine
    panels = 0
    for position in range(steps.shape[0]):
        row = position
        width = steps[row, THICKNESS] / total
        if row == (0 if supply == 0 else steps.shape[0] - 1):
            skin = width * FRONT_DEPTH / folds
            for k in range(live + 1):
                inside = k < live if supply == 0 else k > 0
                mesh[0, panels] = skin / live if inside else width - skin
                mesh[1, panels], mesh[2, panels] = float(row), 1.0 if inside else 0.0
                panels += 1
        else:
            mesh[0, panels], mesh[1, panels], mesh[2, panels] = width, float(row), 0.0
            panels += 1
    at[PANELS], at[COUNT], at[LEVEL] = panels, CUT_COUNT, LEVELS


def front_guess(
    steps: Floats, whole: Floats, total: float, folds: float, current: float, table: Floats,
    at: Ints, mesh: Floats, local: Floats, unknowns: Floats,
) -> None:  # fmt: skip
    """An exponential skin and the overpotential that makes it."""
    supply = int(whole[SUPPLY])
    row = 0 if supply == 0 else steps.shape[0] - 1
    decay = folds * total / steps[row, THICKNESS]
    a, left = 0, 0.0
    for p in range(at[PANELS]):
        if mesh[2, p] != 0.0:
            for i in range(at[COUNT]):
                depth = left + mesh[0, p] * local[i]
                unknowns[a] = math.log(decay) - decay * (depth if supply == 0 else 1.0 - depth)
                a += 1
        left += mesh[0, p]
    gas = whole[AIR] - current * whole[AIR_RESISTANCE]
    if supply == 1:
        gas = whole[LIQUID] - current * whole[LIQUID_RESISTANCE]
    # the rate at the face is decay·I/L: invert the rate law there by bisection on ln k
    wanted = steps[row, CHARGE] * gas / (current * decay / total) - steps[row, FILM]
    at[SIZE] = a
    low, high = FRONT_LOW, FRONT_HIGH
    for _ in range(FRONT_HALVINGS):
        middle = 0.5 * (low + high)
        share, _ = grain_share(0.5 * (middle + steps[row, LOG_GRAIN]), int(whole[SHAPE]), table)
        if wanted > 0.0 and middle + share < -math.log(wanted):
            low = middle
        else:
            high = middle
    unknowns[a] = (low - steps[row, LOG_RATE]) / whole[INVERSE_SLOPE]
    if supply == 0:
        for s in range(steps.shape[0]):
            unknowns[a] += current * steps[s, THICKNESS] * steps[s, IONIC]
    unknowns[a + 1] = math.log(gas) - FRONT_DEPTH


def predict(
    size: int, order: int, target: float, logs: Floats, history: Floats, unknowns: Floats
) -> None:
    """The polynomial through the last solutions in ln I, at `target`."""
    for i in range(size + 2):
        unknowns[i] = 0.0
    for a in range(order):
        factor = 1.0
        for b in range(order):
            if b != a:
                factor *= (target - logs[b]) / (logs[a] - logs[b])
        for i in range(size + 2):
            unknowns[i] += factor * history[a, i]


def remember(at: Ints, target: float, logs: Floats, history: Floats, unknowns: Floats) -> None:
    """Put a solution at the head of the history."""
    size = at[SIZE]
    for a in range(min(at[KNOWN], HISTORY - 1), 0, -1):
        logs[a] = logs[a - 1]
        for i in range(size + 2):
            history[a, i] = history[a - 1, i]
    logs[0] = target
    for i in range(size + 2):
        history[0, i] = unknowns[i]
    at[KNOWN] = min(at[KNOWN] + 1, HISTORY)


def walk(
    steps: Floats,
    whole: Floats,
    currents: Floats,
    tolerance: float,
    tables: Floats,
    offsets: Ints,
    shares: Floats,
    capacity: int,
    losses: Floats,
    errors: Floats,
    kept_mesh: Floats,
    kept_unknowns: Floats,
    kept_shape: Ints,
    slopes: Floats,
) -> int:
    """Losses at rising currents; the twin of `plain.trace`.

    Parameters
    ----------
    steps, whole : ndarray
        The packed cathode.
    currents : ndarray, shape (K,)
        Rising [A/m²].
    tolerance : float
        Largest estimated error of the voltage [V].
    tables, offsets, shares : ndarray
        From `tables`.
    capacity : int
        Room for nodes.
    losses, errors : ndarray, shape (K,)
        Filled as far as solutions are found [V].
    kept_mesh, kept_unknowns, kept_shape : ndarray, shapes (K, 3, 88), (K, capacity + 2), (K, 2)
        Receive mesh, unknowns, and panels with nodes per panel; with no rows nothing is kept.
    slopes : ndarray, shape (K, 13)
        Receives derivatives of the loss, see `kernel_slopes`; with no rows none are found.

    Returns
    -------
    int
        How many were found; −1 where the room was too small.

    Examples
    --------
    See `compiled`.
    """
    supply, slope = int(whole[SUPPLY]), whole[INVERSE_SLOPE]
    total = 0.0
    for s in range(steps.shape[0]):
        total += steps[s, THICKNESS]
    overpotential, oxygen = np.empty((capacity, capacity)), np.empty((capacity, capacity))
    system = np.empty((capacity + 2, capacity + 3))
    rows, nodal, fields = np.empty((3, capacity)), np.empty((4, capacity)), np.empty((8, capacity))
    trial, unknowns = np.empty(capacity + 2), np.empty(capacity + 2)
    history, logs = np.empty((HISTORY, capacity + 2)), np.empty(HISTORY)
    most = PANEL_ROOM
    mesh, other = np.empty((3, most)), np.empty((3, most))
    quality, marks, sums = np.empty((3, most)), np.empty((2, most)), np.empty((6, most))
    at, planned = np.zeros(5, np.int64), np.zeros(5, np.int64)
    base_mesh(steps, total, at, mesh)
    local = tables[offsets[0] : offsets[1]]
    at[SIZE] = build(
        at[PANELS], at[COUNT], mesh, steps, total, supply, local, overpotential, oxygen, rows,
        nodal, sums,
    )  # fmt: skip
    # For derivatives only: the same matrices with the resistance of the solid left out.
    room = capacity if slopes.shape[0] > 0 else 0
    ionic_part, spare = np.empty((room, room)), np.empty((room, room))
    spare_rows, spare_nodal = np.empty((3, room)), np.empty((4, room))
    liquid_only, fresh = steps.copy(), True
    for s in range(steps.shape[0]):
        liquid_only[s, ELECTRONIC] = 0.0

    done, failed, lifted, guessed, turned = 0, 0, False, False, 0
    skin, skin_allowed, fine = False, True, 0
    start = np.empty(2)
    if not begin(steps, whole, currents[0], shares, start):
        return 0
    here, before, ratio = math.log(start[0]), 0.0, 2.0
    target, current = here, start[0]
    error, error_before = 0.0, 0.0
    while done < currents.shape[0]:
        change, solved = 0, False
        # Where to go, and what to expect there.
        folds = front(steps, whole, currents[done]) if skin_allowed else 0.0
        if folds > FRONT_FROM:
            if capacity < FRONT_ROOM:
                return -1
            if not skin:
                at[KNOWN], skin, guessed = 0, True, False
            target, current = math.log(currents[done]), currents[done]
            local = tables[offsets[CUT_LEVEL] : offsets[CUT_LEVEL + 1]]
            front_mesh(steps, total, supply, folds, fine, at, mesh)
            front_guess(steps, whole, total, folds, current, shares, at, mesh, local, unknowns)
            fresh = True
            build(
                at[PANELS], at[COUNT], mesh, steps, total, supply, local, overpotential, oxygen,
                rows, nodal, sums,
            )  # fmt: skip
            if at[KNOWN] > 0:
                predict(at[SIZE], at[KNOWN], target, logs, history, unknowns)
        elif at[KNOWN] == 0 and not guessed:
            even_guess(at[SIZE], start, whole, supply, shares, rows, nodal, unknowns)
            if lifted:
                lift(at[SIZE], start[0], overpotential, unknowns)
        elif not guessed:
            goal = math.log(currents[done])
            target, current = goal, currents[done]
            if goal - here > ratio * PAST:
                target = here + ratio
                current = math.exp(target)
            order = min(at[KNOWN], HISTORY if failed == 0 else 2)
            predict(at[SIZE], order, target, logs, history, unknowns)
            if error_before > 0.0 and failed == 0 and at[LEVEL] < LEVELS - 1 and here > before:
                growth = (math.log(error) - math.log(error_before)) / (here - before)
                if math.log(error) + growth * (target - here) > math.log(tolerance):
                    change = 1
        guessed = False
        # Solve, and look whether the mesh was good enough.
        estimate = 0.0
        if change == 0:
            used = newton(
                at[SIZE], unknowns, current, total, whole, supply, shares, overpotential, oxygen,
                rows, nodal, fields, system, trial,
            )  # fmt: skip
            solved = used > 0
            if solved:
                estimate = assess(at[PANELS], at[COUNT], mesh, local, fields, quality, slope)
                change = judge(at, supply, tolerance, estimate, mesh, unknowns, quality)
            if skin:
                if solved and change == 0:
                    pass
                elif solved and change == 1 and fine < 3:
                    fine += 1
                    at[KNOWN] = 0
                    continue
                elif not solved and at[KNOWN] > 0:
                    at[KNOWN] = 0  # once more from the exponential
                    continue
                else:
                    # not a skin after all: begin again from an even electrode
                    skin, skin_allowed, failed, lifted, guessed = False, False, 0, False, False
                    base_mesh(steps, total, at, mesh)
                    local = tables[offsets[0] : offsets[1]]
                    fresh = True
                    at[SIZE] = build(
                        at[PANELS], at[COUNT], mesh, steps, total, supply, local, overpotential,
                        oxygen, rows, nodal, sums,
                    )  # fmt: skip
                    here, ratio = math.log(start[0]), 2.0
                    target, current = here, start[0]
                    continue
            elif solved:
                pass
            elif at[KNOWN] == 0:
                if lifted:
                    if at[LEVEL] >= LEVELS - 1:
                        return done
                    change = 1
                lifted = not lifted
                if change == 0:
                    continue
            else:
                failed += 1
                ratio = 0.5 * min(ratio, math.log(currents[done]) - here)
                if ratio < SMALLEST_RATIO:
                    return done
                if not (failed % 2 == 0 and ratio < SHORT_RATIO):
                    continue
                change = 3
        if solved and change == 0:
            error_before, before = error, here
            error, here = max(estimate, LEAST_ERROR), target
            remember(at, target, logs, history, unknowns)
            ratio, failed, turned = min(GROWTH * ratio, 2.0), 0, 0
            while done < currents.shape[0] and currents[done] <= current * REACHED:
                drop = 0.0
                for i in range(at[SIZE]):
                    drop += rows[2, i] * fields[0, i]
                losses[done] = unknowns[at[SIZE]] + current * drop
                # what Newton left is a few times the square of its last step
                left = 4.0 * trial[0] * trial[0] / slope
                errors[done] = max(error + left, SMALLEST_ERROR)
                if done < slopes.shape[0]:
                    if fresh:
                        build(
                            at[PANELS], at[COUNT], mesh, liquid_only, total, supply, local,
                            ionic_part, spare, spare_rows, spare_nodal, sums,
                        )  # fmt: skip
                        fresh = False
                    if not slopes_of_loss(
                        at[SIZE], unknowns, current, total, whole, supply, shares, overpotential,
                        ionic_part, oxygen, rows, nodal, fields, system, slopes[done],
                    ):  # fmt: skip
                        return done
                if done < kept_shape.shape[0]:
                    kept_shape[done, 0], kept_shape[done, 1] = at[PANELS], at[COUNT]
                    for i in range(at[SIZE] + 2):
                        kept_unknowns[done, i] = unknowns[i]
                    for k in range(3):
                        for p in range(at[PANELS]):
                            kept_mesh[done, k, p] = mesh[k, p]
                done += 1
            continue
        # Another mesh; the solutions so far are carried over.
        turned += 1
        if turned > MOST_MESHES:
            return done
        judged = unknowns if solved else history[0]
        new_mesh(
            at, change, supply, tolerance, slope, judged, mesh, local, fields, quality, marks,
            other, planned,
        )  # fmt: skip
        if planned[PANELS] < 0:
            if solved:
                return done
            continue
        if planned[SIZE] > capacity:
            return -1
        new_local = local
        if planned[COUNT] != at[COUNT]:
            row = min(planned[LEVEL], LEVELS)
            row = CUT_LEVEL if row == LEVELS else row
            new_local = tables[offsets[row] : offsets[row + 1]]
        end = live_end(planned[PANELS], other, supply)
        moved = live_end(at[PANELS], mesh, supply) != end
        far = 0.0
        if moved:
            planned[KNOWN] = min(at[KNOWN], 1)
            reached = current if solved else math.exp(here)
            far = far_oxygen(at, end, reached, mesh, local, oxygen, judged)
        for a in range(planned[KNOWN]):
            carry(
                at[PANELS], at[COUNT], mesh, local, history[a],
                planned[PANELS], planned[COUNT], other, new_local, history[a], trial,
            )  # fmt: skip
        if solved:
            carry(
                at[PANELS], at[COUNT], mesh, local, unknowns,
                planned[PANELS], planned[COUNT], other, new_local, unknowns, trial,
            )  # fmt: skip
            guessed = True
        if moved:
            history[0, planned[SIZE] + 1] = far
            unknowns[planned[SIZE] + 1] = far
        error = error_before = 0.0  # nothing is known yet of this mesh
        for k in range(5):
            at[k] = planned[k]
        for k in range(3):
            for p in range(at[PANELS]):
                mesh[k, p] = other[k, p]
        local, fresh = new_local, True
        build(
            at[PANELS], at[COUNT], mesh, steps, total, supply, local, overpotential, oxygen, rows,
            nodal, sums,
        )  # fmt: skip
    return done


def walk_many(
    all_steps: Floats,
    all_whole: Floats,
    currents: Floats,
    tolerance: float,
    tables: Floats,
    offsets: Ints,
    shares: Floats,
    begin_set: int,
    end_set: int,
    losses: Floats,
    errors: Floats,
    found: Ints,
    slopes: Floats,
) -> None:
    """Curves of many cathodes, one after the other; see `walk`.

    Parameters
    ----------
    all_steps, all_whole : ndarray, shapes (M, S, 9), (M, 9)
        Packed cathodes with equally many steps in depth.
    currents : ndarray, shape (M, K)
        Rising in each row [A/m²].
    tolerance, tables, offsets : float, ndarray, ndarray
        As for `walk`.
    shares : ndarray, shape (3, 1025, 4)
        Table of each shape.
    begin_set, end_set : int
        Which cathodes to do.
    losses, errors : ndarray, shape (M, K)
        Filled as far as solutions are found [V].
    found : ndarray of int, shape (M,)
        In: how many of the currents to try, those below the limit. Out: how many were found.
    slopes : ndarray, shape (M, K, 13) or (0, 0, 13)
        Receives derivatives where it has rows.

    Examples
    --------
    See `batch`.
    """
    nothing, none, no_shape = np.empty((0, 3, 1)), np.empty((0, 1)), np.empty((0, 2), np.int64)
    no_slopes = np.empty((0, SLOPES))
    for m in range(begin_set, end_set):
        wanted = found[m]
        if wanted == 0:
            continue
        table = shares[int(all_whole[m, SHAPE])]
        gradient = slopes[m, :wanted] if slopes.shape[0] > m else no_slopes
        for room in (24 * all_steps.shape[1], MOST_PANELS * CUT_COUNT):
            found[m] = walk(
                all_steps[m], all_whole[m], currents[m, :wanted], tolerance, tables, offsets,
                table, room, losses[m], errors[m], nothing, none, no_shape, gradient,
            )  # fmt: skip
            if found[m] >= 0:
                break
