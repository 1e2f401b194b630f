"""Polarization curves, operating points and currents at a given loss, with reasons for gaps."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike, NDArray

from aerode.errors import CannotTellError, RangeError
from aerode.physics.cathode import compiled
from aerode.physics.cathode.adapt import error_estimate
from aerode.physics.cathode.compiled import available
from aerode.physics.cathode.limit import limiting_current
from aerode.physics.cathode.losses import LossSplit, split_losses
from aerode.physics.cathode.packed import (
    CHARGE,
    INVERSE_SLOPE,
    REFERENCE,
    REVERSE,
    SUPPLY,
    PackedCathode,
    pack,
)
from aerode.physics.cathode.parameters import CathodeParameters
from aerode.physics.cathode.plain import Walk, trace
from aerode.physics.cathode.problem import State, fields_of, loss_of
from aerode.physics.cathode.profile import Profile, henry_of, profile_of
from aerode.physics.cathode.start import available_oxygen, easy_current
from aerode.physics.constants import FARADAY
from aerode.quantities import Reason

__all__ = [
    "OperatingPoint",
    "Polarization",
    "Route",
    "current_at_loss",
    "current_at_overpotential",
    "operating_point",
    "polarization",
]

Floats = NDArray[np.float64]

_Voltage = Callable[[PackedCathode, State], float]

TOLERANCE = 1e-7  # numerical: of the estimated error of a loss [V]
_STEP = 5.0  # numerical: ratio of neighbouring currents on the way up to a wanted loss
# Numerical: oxygen left over oxygen supplied, below which a gap is called "used up".
_USED_UP = 1e-6
_MOST_TRIES = 60  # numerical


class Route(StrEnum):
    """How the equations are solved: whichever is at hand, plain numpy, or compiled."""

    BEST = "best"
    PLAIN = "plain"
    COMPILED = "compiled"


@dataclass(frozen=True, slots=True, kw_only=True)
class Polarization:
    """Loss against current density of one cathode; a gap always has its reason.

    Parameters
    ----------
    current_density : ndarray, shape (K,)
        Per geometric area, in the order asked for [A/m²].
    loss : ndarray, shape (K,)
        Voltage lost between collector and electrolyte face, positive; NaN exactly where
        `reasons` holds a reason [V].
    error_estimate : ndarray, shape (K,)
        Estimated error of `loss` from the calculation alone; NaN with it [V].
    reasons : tuple of Reason or None, length K
        Why there is no number, or None.
    limiting_current : float
        What the oxygen supply can carry at most; may be infinite [A/m²].

    Examples
    --------
    >>> curve = Polarization(current_density=np.array([1.0]), loss=np.array([0.3]),
    ...     error_estimate=np.array([1e-9]), reasons=(None,), limiting_current=100.0)
    >>> curve.complete()
    array([0.3])
    """

    current_density: Floats
    loss: Floats
    error_estimate: Floats
    reasons: tuple[Reason | None, ...]
    limiting_current: float

    def complete(self) -> Floats:
        """Give the losses where every one of them is known.

        Returns
        -------
        ndarray, shape (K,)
            Losses [V].

        Raises
        ------
        CannotTellError
            If any point has a reason instead of a number.

        Examples
        --------
        See the class.
        """
        for current, reason in zip(self.current_density, self.reasons, strict=True):
            if reason is not None:
                raise CannotTellError(
                    str(reason),
                    where=f"current density {float(current):g} A/m²",
                    allowed=f"less than {self.limiting_current:g} A/m²",
                    next_step="leave this current out or ask for a smaller one",
                )
        return self.loss


@dataclass(frozen=True, slots=True, kw_only=True)
class OperatingPoint:
    """One current: its loss, where the volts go, and the inside of the layer.

    Parameters
    ----------
    current_density : float
        Per geometric area [A/m²].
    loss : float
        Voltage lost between collector and electrolyte face [V].
    face_overpotential : float
        Local overpotential at the electrolyte face [V].
    error_estimate : float
        Estimated error of `loss` from the calculation alone [V].
    losses : LossSplit
        The parts of `loss`.
    profile : Profile
        What happens at each depth.

    Examples
    --------
    See `operating_point`.
    """

    current_density: float
    loss: float
    face_overpotential: float
    error_estimate: float
    losses: LossSplit
    profile: Profile


def polarization(
    parameters: CathodeParameters,
    current_densities: ArrayLike,
    *,
    tolerance: float = TOLERANCE,
    route: Route = Route.BEST,
) -> Polarization:
    """Give the loss of a cathode at each current density.

    Parameters
    ----------
    parameters : CathodeParameters
        The cathode.
    current_densities : array_like, shape (K,)
        More than zero, in any order [A/m²].
    tolerance : float
        Largest estimated error of a loss, between 1e-11 and 1e-3 [V].
    route : Route
        How to solve.

    Returns
    -------
    Polarization
        Losses with error estimates, or reasons.

    Raises
    ------
    RangeError
        If a current density is not finite and more than zero, or the tolerance is out of range.
    MissingExtraError
        If the compiled route is asked for and its library is not installed.

    Notes
    -----
    Porous air cathode in one dimension: gas diffusion with still air and backing, dissolution
    film in series with flooded grains, Tafel or Butler–Volmer kinetics, two ohmic rails
    (equations B1 of the model notes). Steady, isothermal, first order in oxygen. Not for a layer
    whose pores fill while it runs, nor for a discharge of the catalyst itself.
    Source: Newman & Tobias (1962), J. Electrochem. Soc. 109:1183; Perry, Newman & Cairns (1998),
    J. Electrochem. Soc. 145:5 (status: unverified, cited from memory; the limits are tested).

    Examples
    --------
    >>> cathode = CathodeParameters(
    ...     thickness=4e-4, ionic_conductivity=2.0, electronic_conductivity=50.0,
    ...     gas_diffusivity=2e-6, oxygen_air=8.56, air_film=0.0, henry_liquid_per_gas=0.0265,
    ...     agglomerate_radius=2e-6, agglomerate_diffusivity=5e-10, agglomerate_fraction=0.4,
    ...     film_transfer=50.0, exchange_current=50.0, reference_oxygen=0.22684,
    ...     tafel_slope=0.05138558, electrons=4.0)
    >>> curve = polarization(cathode, [222.154, 2000.0])
    >>> round(float(curve.loss[0]), 6)
    0.500938
    >>> curve.reasons[1].name
    'BEYOND_LIMIT'
    """
    wanted = _currents(current_densities)
    if not 1e-11 <= tolerance <= 1e-3:
        raise RangeError(
            f"a tolerance of {tolerance:g} V", where="tolerance", allowed="1e-11 to 1e-3 V"
        )
    cathode, limit = pack(parameters), limiting_current(parameters)
    order = wanted.argsort(kind="stable")
    rising = wanted[order]
    below = int(rising.searchsorted(limit))
    loss, error = np.full(wanted.size, np.nan), np.full(wanted.size, np.nan)
    found = 0
    if below > 0:
        values, errors, found = _values(cathode, rising[:below], tolerance, route)
        loss[order[:found]], error[order[:found]] = values[:found], errors[:found]
    reasons: list[Reason | None] = [None] * wanted.size
    if found < wanted.size:
        why = _why(cathode, rising[:below], found, tolerance) if found < below else None
        for place in order[found:below]:
            reasons[place] = why or Reason.NOT_CONVERGED
        for place in order[below:]:
            reasons[place] = Reason.BEYOND_LIMIT
    return Polarization(
        current_density=wanted,
        loss=loss,
        error_estimate=error,
        reasons=tuple(reasons),
        limiting_current=limit,
    )


def operating_point(
    parameters: CathodeParameters, current_density: float, *, tolerance: float = TOLERANCE
) -> OperatingPoint:
    """Give the loss at one current density, its parts, and the profiles through the layer.

    Parameters
    ----------
    parameters : CathodeParameters
        The cathode.
    current_density : float
        More than zero [A/m²].
    tolerance : float
        Largest estimated error of the loss [V].

    Returns
    -------
    OperatingPoint
        Loss, parts, profile.

    Raises
    ------
    RangeError
        If the current density is not finite and more than zero.
    CannotTellError
        If there is no steady state; its text is the reason.

    Notes
    -----
    See `polarization` for the model and `LossSplit` for the parts.

    Examples
    --------
    >>> cathode = CathodeParameters(
    ...     thickness=4e-4, ionic_conductivity=2.0, electronic_conductivity=50.0,
    ...     gas_diffusivity=2e-6, oxygen_air=8.56, air_film=0.0, henry_liquid_per_gas=0.0265,
    ...     agglomerate_radius=2e-6, agglomerate_diffusivity=5e-10, agglomerate_fraction=0.4,
    ...     film_transfer=50.0, exchange_current=50.0, reference_oxygen=0.22684,
    ...     tafel_slope=0.05138558, electrons=4.0)
    >>> point = operating_point(cathode, 222.154)
    >>> round(1e3 * point.losses.ionic, 2), round(1e3 * point.losses.kinetic, 2)
    (13.51, 478.93)
    """
    wanted = _currents([current_density])
    cathode, limit = pack(parameters), limiting_current(parameters)
    state = _states(cathode, wanted, tolerance)[0] if float(wanted[0]) < limit else None
    if state is None:
        beyond = float(wanted[0]) >= limit
        raise CannotTellError(
            str(Reason.BEYOND_LIMIT if beyond else Reason.NOT_CONVERGED),
            where=f"current density {current_density:g} A/m²",
            allowed=f"more than 0, less than {limit:g} A/m²",
        )
    return OperatingPoint(
        current_density=float(wanted[0]),
        loss=loss_of(cathode, state),
        face_overpotential=float(state.unknowns[state.mesh.size]),
        error_estimate=error_estimate(cathode, state),
        losses=split_losses(cathode, state),
        profile=profile_of(cathode, state, henry_of(cathode, parameters.electrons, FARADAY)),
    )


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
    The loss rises with the current, so the curve is solved at given currents and inverted by
    bracketing; solving at a given voltage directly fails near steep fronts.

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
    cathode, limit = pack(parameters), limiting_current(parameters)
    found = [_invert(cathode, float(v), limit, tolerance, of) for v in wanted]
    return Polarization(
        current_density=np.array([current for current, _, _ in found]),
        loss=wanted,
        error_estimate=np.array([error for _, error, _ in found]),
        reasons=tuple(reason for _, _, reason in found),
        limiting_current=limit,
    )


def _currents(values: ArrayLike) -> Floats:
    wanted = np.atleast_1d(np.asarray(values, dtype=np.float64))
    if wanted.ndim != 1 or wanted.size == 0:
        raise RangeError(
            "no list of current densities", where="current_densities", allowed="one or more numbers"
        )
    if not bool(np.isfinite(wanted).all()) or bool((wanted <= 0.0).any()):
        raise RangeError(
            "a current density is not more than zero",
            where="current_densities",
            allowed="finite, more than 0 A/m²",
            next_step="leave the open circuit out: this model has no loss there",
        )
    return wanted


def _translated(cathode: PackedCathode, route: Route) -> bool:
    """Whether to take the translated solver; it leaves oxygen from both faces to the plain one."""
    if route is Route.PLAIN or (route is Route.BEST and not available()):
        return False
    both = int(cathode.whole[SUPPLY]) == 2
    if both and route is Route.COMPILED:
        raise RangeError(
            "the compiled route does not know oxygen from both faces",
            where="route",
            allowed="best, plain",
        )
    return not both


def _values(
    cathode: PackedCathode, rising: Floats, tolerance: float, route: Route
) -> tuple[Floats, Floats, int]:
    """Losses, error estimates, and for how many of the rising currents there are any."""
    if _translated(cathode, route):
        return compiled.values(cathode, rising, tolerance)
    states = [state for state in trace(cathode, rising, tolerance) if state is not None]
    losses = np.array([loss_of(cathode, state) for state in states])
    errors = np.array([error_estimate(cathode, state) for state in states])
    return losses, errors, len(states)


def _states(cathode: PackedCathode, rising: Floats, tolerance: float) -> tuple[State | None, ...]:
    if _translated(cathode, Route.BEST):
        return compiled.states(cathode, rising, tolerance)
    return trace(cathode, rising, tolerance)


def _why(cathode: PackedCathode, rising: Floats, found: int, tolerance: float) -> Reason:
    """Why the currents from number `found` on have no loss."""
    wanted = float(rising[found])
    last = float(rising[found - 1]) if found > 0 else 1e-3 * wanted
    if int(cathode.whole[SUPPLY]) == 2:
        with np.errstate(all="ignore"):  # every trial is tested for being finite
            walk = Walk(cathode, tolerance, last)
            walk.to(wanted)
        return Reason.DEPLETED if walk.depleted else Reason.NOT_CONVERGED
    state = _states(cathode, np.array([last]), tolerance)[0]
    if state is None:
        return Reason.NOT_CONVERGED
    at, _ = fields_of(cathode, state)
    used_up = float(at.oxygen.min()) < _USED_UP * available_oxygen(cathode)
    return Reason.DEPLETED if used_up else Reason.NOT_CONVERGED


def _open_circuit(cathode: PackedCathode) -> float:
    """The loss as the current falls to nothing: −∞ without a reverse reaction [V]."""
    whole = cathode.whole
    reverse = float(whole[REVERSE])
    if reverse == 0.0:
        return -math.inf
    strongest = float(cathode.steps[:, CHARGE].max()) * available_oxygen(cathode)
    return math.log(float(whole[REFERENCE]) / strongest) / reverse


def _invert(
    cathode: PackedCathode, loss: float, limit: float, tolerance: float, of: _Voltage
) -> tuple[float, float, Reason | None]:
    """Current, error of the loss there, and the reason where there is none."""
    if loss <= _open_circuit(cathode):
        return math.nan, math.nan, Reason.OUT_OF_RANGE
    with np.errstate(all="ignore"):  # every trial is tested for being finite
        walk = _walk_below(cathode, loss, limit, tolerance, of)
        if walk is None:
            return math.nan, math.nan, Reason.NOT_CONVERGED
        low = state = walk.here
        while state is not None and of(cathode, state) < loss:
            low, current = state, state.current
            wanted = _STEP * current
            if limit < math.inf:
                wanted = min(wanted, limit - 0.25 * (limit - current))
            state = walk.to(wanted)
            if state is not None and limit - state.current < 1e-12 * limit:
                return math.nan, math.nan, Reason.BEYOND_LIMIT
            if state is not None and of(cathode, state) >= loss:
                return _close_in(cathode, walk, loss, low, state, tolerance, of)
    if walk.depleted:
        return math.nan, math.nan, Reason.DEPLETED
    return math.nan, math.nan, Reason.NOT_CONVERGED


def _walk_below(
    cathode: PackedCathode, loss: float, limit: float, tolerance: float, of: _Voltage
) -> Walk | None:
    """A walk that starts at a current with a loss smaller than the one wanted."""
    first = min(easy_current(cathode), 0.1 * limit)
    for _ in range(_MOST_TRIES):
        walk = Walk(cathode, tolerance, first)
        if walk.here is None:
            return None
        excess = of(cathode, walk.here) - loss
        if excess < 0.0:
            return walk
        first = walk.here.current * math.exp(-1.0 - excess * float(cathode.whole[INVERSE_SLOPE]))
    return None


def _close_in(
    cathode: PackedCathode,
    walk: Walk,
    loss: float,
    low: State,
    high: State,
    tolerance: float,
    of: _Voltage,
) -> tuple[float, float, Reason | None]:
    """Bracketed secant (Illinois) on ln I between two states."""
    a, b = math.log(low.current), math.log(high.current)
    fa, fb = of(cathode, low) - loss, of(cathode, high) - loss
    if fb <= 0.1 * tolerance:
        return high.current, fb + error_estimate(cathode, high), None
    for _ in range(_MOST_TRIES):
        x = b - fb * (b - a) / (fb - fa)
        state = walk.near(math.exp(x))
        if state is None:
            break
        f = of(cathode, state) - loss
        if abs(f) <= 0.1 * tolerance:
            return state.current, abs(f) + error_estimate(cathode, state), None
        if f > 0.0:
            b, fb, fa = x, f, 0.5 * fa
        else:
            a, fa, fb = x, f, 0.5 * fb
    return math.nan, math.nan, Reason.NOT_CONVERGED
