"""The readable solver: plain numpy, the reference of the compiled one and its stand-in.

Current is prescribed and raised step by step; potential control alone fails too often.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from aerode.physics.cathode.adapt import (
    all_live,
    carry,
    joined,
    live_end,
    panel_errors,
    panel_ranges,
    without_dead,
    woken,
)
from aerode.physics.cathode.operators import Mesh, base_mesh, refine
from aerode.physics.cathode.packed import SUPPLY, PackedCathode
from aerode.physics.cathode.problem import Problem, State, fields_of
from aerode.physics.cathode.skin import skin_state
from aerode.physics.cathode.start import available_oxygen, easy_current, uniform_guess

__all__ = ["Walk", "trace"]

Floats = NDArray[np.float64]

COUNTS = (4, 6, 8, 12, 16, 24)  # numerical: nodes per panel before panels are cut
CUT_COUNT = 12  # nodes per panel once panels are cut
MOST_PANELS = 48  # numerical
WIDEST_RANGE = 8.0  # numerical: of ln r inside one panel once panels are cut
SMOOTH = 1e-9  # numerical: of the tolerance; panels with less error may be joined again
# Numerical: of ln I between two currents, below which failing steps get a finer mesh.
SHORT_RATIO = 0.6
# Numerical: of the oxygen supplied; where it comes from both faces, the least resolved.
LEAST_OF_BOTH = 1e-8
# Numerical: steps that failed on the way to one current, after which the walk gives up.
MOST_FAILURES = 60
MOST_MESHES = 60  # numerical: meshes on the way to one solution, after which the walk gives up
SMALLEST_RATIO = 1e-4  # numerical: of ln I between two currents, below which the walk gives up
_REACHED = 1.0 - 1e-14  # numerical: rounding of I
_GROWTH = 1.7  # numerical: of the next step after one that went well
_TINY = 1e-300  # numerical: keeps a logarithm finite


def trace(cathode: PackedCathode, currents: Floats, tolerance: float) -> tuple[State | None, ...]:
    """Give the solution at every current of a rising list, or None where there is none.

    Parameters
    ----------
    cathode : PackedCathode
        The cathode.
    currents : ndarray, shape (K,)
        Current densities, rising [A/m²].
    tolerance : float
        Largest estimated error of the voltage [V].

    Returns
    -------
    tuple of State or None
        One per current; after the first None all are None.

    Notes
    -----
    Continuation in ln I with a secant predictor; a failed step is halved. More nodes (4 to 24),
    then halved panels of 12, wherever the tail of the rate is too long.

    Examples
    --------
    >>> from aerode.physics.cathode.problem import loss_of
    >>> steps = np.array([[1e-3, 0.5, 0.02, 1e-3, -9.0, -1e3, 0.0, 1e4, 1.0]])
    >>> whole = np.array([20.0, 0.0, 0.2, 0.0, 8.5, 0.01, 0.0, 0.0, 0.0])
    >>> cathode = PackedCathode(steps, whole)
    >>> states = trace(cathode, np.array([10.0]), 1e-8)
    >>> round(loss_of(cathode, states[0]), 4) if states[0] else None
    0.3453
    """
    found: list[State | None] = []
    with np.errstate(all="ignore"):  # every trial is tested for being finite
        walk = Walk(cathode, tolerance, float(currents[0]))
        for current in currents:
            state = walk.to(float(current)) if not found or found[-1] is not None else None
            found.append(state)
    return tuple(found)


class Walk:
    """A walk along the curve, upwards in current from one that is easy.

    Parameters
    ----------
    cathode : PackedCathode
        The cathode.
    tolerance : float
        Largest estimated error of the voltage [V].
    first : float
        The lowest current that will be asked for [A/m²].

    Examples
    --------
    See `trace`.
    """

    def __init__(self, cathode: PackedCathode, tolerance: float, first: float) -> None:
        self.cathode, self.tolerance = cathode, tolerance
        self.level = 0
        self.problem = Problem(cathode, base_mesh(cathode, COUNTS[0]))
        self.before: State | None = None
        self.depleted = False  # ended because oxygen from both faces is used up in the middle
        self.here = self._settle(first)

    def _settle(self, first: float) -> State | None:
        """The first state: on the coarsest mesh that holds one."""
        current = min(first, easy_current(self.cathode))
        for _ in range(len(COUNTS) + 2):
            guess = uniform_guess(self.cathode, self.problem.mesh, current)
            if guess is None:
                return None
            state = self._solve(guess, current) or self._solve(
                self._lifted(guess, current), current
            )
            if state is not None:
                return state
            self._finer(np.ones(int(self.problem.mesh.live.sum()), dtype=np.bool_))
        return None

    def _lifted(self, guess: Floats, current: float) -> Floats:
        """Near equilibrium even a tiny current is uneven: raise the guess until none runs back."""
        size = self.problem.mesh.size
        drop = current * (self.problem.matrices.overpotential @ np.exp(guess[:size]))
        lifted = guess.copy()
        lifted[size] -= 2.0 * min(float(drop.min()), 0.0)
        return lifted

    def to(self, target: float) -> State | None:
        """The state at a current above the present one, in as many steps as it takes."""
        skin = skin_state(self.cathode, target, self.tolerance)
        if skin is not None:
            return skin  # `here` stays behind: nothing further on needs it
        ratio, failed = 2.0, 0
        while self.here is not None and self.here.current < target * _REACHED:
            left = math.log(target / self.here.current)
            current = target if left <= ratio else self.here.current * math.exp(ratio)
            state = self._solve(self._predict(current), current)
            if state is not None:
                self.before, self.here = self.here, state
                if self.problem.both and self._used_up(state):
                    self.here, self.depleted = None, True
                ratio = min(_GROWTH * ratio, 2.0)
            else:
                ratio = 0.5 * min(ratio, left)
                failed += 1
                # Every second failure the mesh is blamed instead of the step alone.
                if failed % 2 == 0 and ratio < SHORT_RATIO:
                    self._finer_here()
                if ratio < SMALLEST_RATIO or failed > MOST_FAILURES:
                    self.here = None
        return self.here

    def _used_up(self, state: State) -> bool:
        """With two faces oxygen in the middle is a difference, and here its digits are gone."""
        at, _ = fields_of(self.cathode, state)
        return float(at.oxygen.min()) < LEAST_OF_BOTH * available_oxygen(self.cathode)

    def _finer_here(self) -> bool:
        """A finer mesh before a step that keeps failing, wherever the rate varies most."""
        assert self.here is not None
        state = State(self.problem.mesh, self._on_mesh(self.here), self.here.current)
        ranges = panel_ranges(state)
        return self._finer(np.asarray(ranges > min(3.0, 0.5 * float(ranges.max()))), state)

    def _predict(self, current: float) -> Floats:
        assert self.here is not None
        now = self._on_mesh(self.here)
        if self.before is None:
            return now
        then = self._on_mesh(self.before)
        forward = math.log(current / self.here.current)
        behind = math.log(self.here.current / self.before.current)
        return now + (now - then) * forward / behind

    def _on_mesh(self, state: State) -> Floats:
        carried = carry(state, self.problem.mesh)
        if self.problem.mesh is not state.mesh and not self.problem.both:
            self._move_far_end(state, carried)
        return carried

    def _move_far_end(self, state: State, carried: Floats) -> None:
        """The oxygen unknown belongs to the end of the live panels; that end may have moved."""
        supply = int(self.cathode.whole[SUPPLY])
        old, new = (live_end(mesh, supply) for mesh in (state.mesh, self.problem.mesh))
        if old == new:
            return
        at, _ = fields_of(self.cathode, state)
        nearest = int(np.abs(state.mesh.depth - new).argmin())
        carried[-1] = math.log(max(float(at.oxygen[nearest]), _TINY))

    def _solve(self, guess: Floats, current: float) -> State | None:
        """Newton on the present mesh, then on finer ones until the estimate is small enough."""
        for _ in range(MOST_MESHES):
            unknowns = self.problem.newton(guess, current)
            if unknowns is None:
                return None
            state = State(self.problem.mesh, unknowns, current)
            if woken(self.cathode, state):
                self._take(all_live(state.mesh))
            else:
                coarse = self._coarse(state)
                if not bool(coarse.any()):
                    return state
                if not self._finer(coarse, state):
                    return None
            guess = self._on_mesh(state)
        return None

    def _coarse(self, state: State) -> NDArray[np.bool_]:
        errors = panel_errors(self.cathode, state)
        coarse = np.asarray(errors > self.tolerance / errors.size)
        if self.level >= len(COUNTS):
            coarse |= panel_ranges(state) > WIDEST_RANGE
        return coarse

    def _finer(self, coarse: NDArray[np.bool_], state: State | None = None) -> bool:
        """The next mesh: more nodes, or the marked panels cut in half; False where it ends."""
        self.level += 1
        mesh = self.problem.mesh
        if self.level < len(COUNTS):
            finer = Mesh(mesh.width, mesh.step, mesh.live, COUNTS[self.level])
        else:
            marked = np.zeros(mesh.width.size, dtype=np.bool_)
            marked[mesh.live] = coarse
            kept = mesh
            if state is not None:
                kept = without_dead(self.cathode, state)
                if self.level > len(COUNTS):
                    kept, marked = joined(kept, marked, self._smooth(state))
            finer = refine(kept, marked & kept.live, CUT_COUNT)
        if finer.size > MOST_PANELS * CUT_COUNT:
            return False
        self._take(finer)
        return True

    def _smooth(self, state: State) -> NDArray[np.bool_]:
        """The panels so even that two of them can be one: a front has moved on."""
        smooth = ~state.mesh.live
        even = panel_errors(self.cathode, state) < SMOOTH * self.tolerance
        smooth[state.mesh.live] = even & (panel_ranges(state) < 1.0)
        return smooth

    def _take(self, mesh: Mesh) -> None:
        self.problem = Problem(self.cathode, mesh)
