"""Currents at given voltages: the curve is solved at given currents and turned round."""

from __future__ import annotations

import copy
import math
from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike

from aerode.errors import RangeError
from aerode.physics.cathode import compiled
from aerode.physics.cathode.adapt import error_estimate
from aerode.physics.cathode.limit import limiting_current
from aerode.physics.cathode.packed import (
    CHARGE,
    INVERSE_SLOPE,
    REFERENCE,
    REVERSE,
    PackedCathode,
    pack,
)
from aerode.physics.cathode.parameters import CathodeParameters
from aerode.physics.cathode.plain import Walk
from aerode.physics.cathode.problem import State, loss_of
from aerode.physics.cathode.routes import Route, states_at, translated, why_none
from aerode.physics.cathode.solve import TOLERANCE, Polarization
from aerode.physics.cathode.start import available_oxygen, easy_current
from aerode.quantities import Reason

__all__ = ["current_at_loss", "current_at_overpotential"]

_Voltage = Callable[[PackedCathode, State], float]

_STEP = 5.0  # numerical: ratio of neighbouring currents on the way up to a wanted voltage
_NEAREST = 1e-12  # numerical: of the limiting current; nearer to it nothing is looked for
_NARROWEST = 1e-3  # numerical: of ln I, between a current with a solution and one without
_LEAPS = 3  # numerical: currents tried past one without a solution
_MOST_TRIES = 80  # numerical: currents, down to a bracket or inside it
_CLOSE = 0.1  # numerical: of the tolerance, a voltage that is as asked
_LAST_DIGITS = 1e-14  # numerical: of a current
_SAME = 1e-14  # numerical: of ln I, a bracket with no number inside


def current_at_loss(
    parameters: CathodeParameters,
    losses: ArrayLike,
    *,
    tolerance: float = TOLERANCE,
) -> Polarization:
    """Give the current density at which a cathode loses a given voltage.

    Parameters
    ----------
    parameters : CathodeParameters
        The cathode.
    losses : array_like, shape (K,)
        Voltage between collector and electrolyte face, positive where it drives current [V].
    tolerance : float
        Largest error of the loss at the current found [V].

    Returns
    -------
    Polarization
        `loss` holds what was asked for, `current_density` the answer, NaN exactly where `reasons`
        holds a reason.

    Raises
    ------
    RangeError
        If a loss is not finite.

    Notes
    -----
    The loss rises with the current, so the curve is solved at given currents, each as `polarization`
    solves it, and inverted by bracketing; solving at a given voltage directly fails near steep
    fronts.

    Examples
    --------
    >>> cathode = CathodeParameters(
    ...     thickness=4e-4, ionic_conductivity=2.0, electronic_conductivity=50.0,
    ...     gas_diffusivity=2e-6, oxygen_air=8.56, air_film=0.0, henry_liquid_per_gas=0.0265,
    ...     agglomerate_radius=2e-6, agglomerate_diffusivity=5e-10, agglomerate_fraction=0.4,
    ...     film_transfer=50.0, exchange_current=50.0, reference_oxygen=0.22684,
    ...     tafel_slope=0.05138558, electrons=4.0)
    >>> found = current_at_loss(cathode, [0.500938])
    >>> round(float(found.current_density[0]), 2)
    222.15
    """
    return _inverted(parameters, losses, loss_of, tolerance)


def current_at_overpotential(
    parameters: CathodeParameters,
    overpotentials: ArrayLike,
    *,
    tolerance: float = TOLERANCE,
) -> Polarization:
    """Give the current density at which the electrolyte face stands at a given overpotential.

    Parameters
    ----------
    parameters : CathodeParameters
        The cathode.
    overpotentials : array_like, shape (K,)
        Local overpotential at the electrolyte face, positive where it drives current [V].
    tolerance : float
        Largest error of the overpotential at the current found [V].

    Returns
    -------
    Polarization
        `loss` holds the overpotential asked for, `current_density` the answer, NaN exactly where
        `reasons` holds a reason.

    Raises
    ------
    RangeError
        If an overpotential is not finite.

    Notes
    -----
    As `current_at_loss`, without the drop in the solid between collector and electrolyte face. That
    overpotential is what a reference electrode at the face would show, once the solid's drop is taken
    off.

    Examples
    --------
    >>> cathode = CathodeParameters(
    ...     thickness=4e-4, ionic_conductivity=2.0, electronic_conductivity=50.0,
    ...     gas_diffusivity=2e-6, oxygen_air=8.56, air_film=0.0, henry_liquid_per_gas=0.0265,
    ...     agglomerate_radius=2e-6, agglomerate_diffusivity=5e-10, agglomerate_fraction=0.4,
    ...     film_transfer=50.0, exchange_current=50.0, reference_oxygen=0.22684,
    ...     tafel_slope=0.05138558, electrons=4.0)
    >>> found = current_at_overpotential(cathode, [0.5])
    >>> round(float(found.current_density[0]), 3)
    222.154
    """
    return _inverted(parameters, overpotentials, _face_of, tolerance)


def _face_of(cathode: PackedCathode, state: State) -> float:
    """The overpotential at the electrolyte face of a state [V]."""
    return float(state.unknowns[state.mesh.size])


def _inverted(
    parameters: CathodeParameters, asked: ArrayLike, of: _Voltage, tolerance: float
) -> Polarization:
    """The currents at which a voltage of the state, rising with the current, is as asked."""
    wanted = np.atleast_1d(np.asarray(asked, dtype=np.float64))
    if not bool(np.isfinite(wanted).all()):
        raise RangeError("a loss is not finite", where="losses", allowed="finite voltages")
    curve = _Curve(pack(parameters), limiting_current(parameters), tolerance, of)
    with np.errstate(all="ignore"):  # every trial is tested for being finite
        found = [_invert(curve, float(v)) for v in wanted]
    return Polarization(
        current_density=np.array([current for current, _, _ in found]),
        loss=wanted,
        error_estimate=np.array([error for _, error, _ in found]),
        reasons=tuple(reason for _, _, reason in found),
        limiting_current=curve.limit,
    )


class _Curve:
    """One curve that is solved at any current, in any order.

    The translated solver is quick enough to begin anew each time, so it gives to the last digit
    what `polarization` gives. The plain one walks on from the nearest current below that it knows.
    """

    def __init__(
        self, cathode: PackedCathode, limit: float, tolerance: float, of: _Voltage
    ) -> None:
        self.cathode, self.limit, self.tolerance, self.of = cathode, limit, tolerance, of
        self.anew = translated(cathode, Route.BEST)
        self.walks: list[Walk] = []

    def at(self, current: float, *, patient: bool = False) -> State | None:
        """The state at a current, or None; patient: after the quick solver the plain one is asked."""
        if self.anew:
            solve = states_at if patient else compiled.states
            return solve(self.cathode, np.array([current]), self.tolerance)[0]
        here = self._begin(current)
        state = None if here.here is None else here.to(current)
        if here.here is not None:
            self.walks.append(here)
        return state

    def _begin(self, current: float) -> Walk:
        below = [w for w in self.walks if w.here is not None and w.here.current <= current]
        if below:
            # A walk never changes what it holds, it takes new ones: its copy may go on alone.
            return copy.copy(max(below, key=_stands_at))
        return Walk(self.cathode, self.tolerance, current)

    def voltage(self, state: State) -> float:
        """The voltage that is asked about [V]."""
        return self.of(self.cathode, state)

    def place(self, current: float) -> float:
        """ln(I/(1 − I/I_lim)): against it the curve is gentle at both ends."""
        return math.log(current) - math.log1p(-current / self.limit)

    def current(self, place: float) -> float:
        """The current at a place [A/m²]."""
        return 1.0 / (math.exp(-place) + 1.0 / self.limit)

    def rounding(self, state: State) -> float:
        """How much the voltage may change with the last digits of the current [V]."""
        left = 1.0 - state.current / self.limit
        return _LAST_DIGITS / left / float(self.cathode.whole[INVERSE_SLOPE])


def _stands_at(walk: Walk) -> float:
    return -math.inf if walk.here is None else walk.here.current


def _open_circuit(cathode: PackedCathode) -> float:
    """The loss as the current falls to nothing: −∞ without a reverse reaction [V]."""
    whole = cathode.whole
    reverse = float(whole[REVERSE])
    if reverse == 0.0:
        return -math.inf
    strongest = float(cathode.steps[:, CHARGE].max()) * available_oxygen(cathode)
    return math.log(float(whole[REFERENCE]) / strongest) / reverse


def _invert(curve: _Curve, asked: float) -> tuple[float, float, Reason | None]:
    """Current, error of the voltage there, and the reason where there is none."""
    if asked <= _open_circuit(curve.cathode):
        return math.nan, math.nan, Reason.OUT_OF_RANGE
    low = _below(curve, asked)
    if isinstance(low, Reason):
        return math.nan, math.nan, low
    high = _above(curve, asked, low)
    if isinstance(high, Reason):
        return math.nan, math.nan, high
    return _close_in(curve, asked, *high)


def _below(curve: _Curve, asked: float) -> State | Reason:
    """A state with a voltage smaller than the one asked for, or the reason why there is none."""
    current = min(easy_current(curve.cathode), 0.1 * curve.limit)
    folds = float(curve.cathode.whole[INVERSE_SLOPE])
    none, some = 0.0, math.inf  # the largest current without a solution, the smallest with one
    for _ in range(_MOST_TRIES):
        state = curve.at(current)
        if state is None:
            none = current
        else:
            excess = curve.voltage(state) - asked
            if excess < 0.0:
                return state
            some, current = current, current * math.exp(-1.0 - excess * folds)
        if some == math.inf or some < (1.0 + _NARROWEST) * none:
            break
        if current <= none:
            current = math.sqrt(none * some)
    return why_none(curve.cathode, np.array([none or current]), 0, curve.tolerance)


def _above(curve: _Curve, asked: float, low: State) -> tuple[State, State] | Reason:
    """Two states with the voltage between theirs, or the reason why nothing reaches it."""
    none = math.inf  # the smallest current known to have no solution
    while True:
        current = min(_STEP * low.current, curve.limit - 0.25 * (curve.limit - low.current))
        if none < math.inf:
            current = min(current, math.sqrt(low.current * none))
        if curve.limit - current < _NEAREST * curve.limit:
            return Reason.BEYOND_LIMIT
        state = curve.at(current)
        if state is None:
            beyond = _over_the_gap(curve, asked, current) if none == math.inf else None
            if beyond is not None:
                return low, beyond
            none = current
            if math.log(none / low.current) < _NARROWEST:
                pair = np.array([low.current, none])
                return why_none(curve.cathode, pair, 1, curve.tolerance)
        elif curve.voltage(state) >= asked:
            return low, state
        else:
            low = state


def _over_the_gap(curve: _Curve, asked: float, current: float) -> State | None:
    """A state past a current without one; only the solver that begins anew can reach it."""
    for _ in range(_LEAPS if curve.anew else 0):
        current = min(_STEP * current, 0.5 * (current + curve.limit))
        state = curve.at(current)
        if state is not None and curve.voltage(state) >= asked:
            return state
    return None


def _close_in(
    curve: _Curve, asked: float, low: State, high: State
) -> tuple[float, float, Reason | None]:
    """Bracketed secant between two states; an end that stays twice counts half (Illinois)."""
    a, b = curve.place(low.current), curve.place(high.current)
    fa, fb = curve.voltage(low) - asked, curve.voltage(high) - asked
    best, miss = (high, fb) if fb < -fa else (low, -fa)
    before = 0.0
    for _ in range(_MOST_TRIES):
        if miss <= _CLOSE * curve.tolerance or b - a < _SAME * max(1.0, abs(a)):
            break
        x = b - fb * (b - a) / (fb - fa)
        state = curve.at(curve.current(x), patient=True)
        if state is None:
            break
        f = curve.voltage(state) - asked
        if abs(f) < miss:
            best, miss = state, abs(f)
        if f > 0.0:
            b, fb, fa = x, f, 0.5 * fa if before > 0.0 else fa
        else:
            a, fa, fb = x, f, 0.5 * fb if before < 0.0 else fb
        before = f
    if miss > curve.tolerance + curve.rounding(best):
        return math.nan, math.nan, Reason.NOT_SOLVED
    return best.current, miss + error_estimate(curve.cathode, best), None
