"""Polarization curves and operating points at given currents, with reasons for gaps."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from aerode.errors import CannotTellError, RangeError
from aerode.physics.cathode import compiled
from aerode.physics.cathode.adapt import error_estimate
from aerode.physics.cathode.limit import limiting_current
from aerode.physics.cathode.losses import LossSplit, split_losses
from aerode.physics.cathode.packed import PackedCathode, pack
from aerode.physics.cathode.parameters import CathodeParameters
from aerode.physics.cathode.plain import trace
from aerode.physics.cathode.problem import State, loss_of
from aerode.physics.cathode.profile import Profile, henry_of, profile_of
from aerode.physics.cathode.routes import Route, states_at, translated, why_none
from aerode.physics.constants import FARADAY
from aerode.quantities import Reason

__all__ = [
    "OperatingPoint",
    "Polarization",
    "Route",
    "operating_point",
    "polarization",
]

Floats = NDArray[np.float64]

TOLERANCE = 1e-7  # numerical: of the estimated error of a loss [V]


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
        why = why_none(cathode, rising[:below], found, tolerance) if found < below else None
        for place in order[found:below]:
            reasons[place] = why or Reason.NOT_SOLVED
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
    state = states_at(cathode, wanted, tolerance)[0] if float(wanted[0]) < limit else None
    if state is None:
        beyond = float(wanted[0]) >= limit
        raise CannotTellError(
            str(Reason.BEYOND_LIMIT if beyond else why_none(cathode, wanted, 0, tolerance)),
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


def _values(
    cathode: PackedCathode, rising: Floats, tolerance: float, route: Route
) -> tuple[Floats, Floats, int]:
    """Losses, error estimates, and for how many of the rising currents there are any."""
    if translated(cathode, route):
        losses, errors, found = compiled.values(cathode, rising, tolerance)
        if found == rising.size or route is Route.COMPILED:
            return losses, errors, found
        states = states_at(cathode, rising[found:], tolerance)
        more, their, count = _numbers(cathode, states)
        losses[found : found + count], errors[found : found + count] = more, their
        return losses, errors, found + count
    return _numbers(cathode, trace(cathode, rising, tolerance))


def _numbers(
    cathode: PackedCathode, states: tuple[State | None, ...]
) -> tuple[Floats, Floats, int]:
    """Losses, error estimates, and for how many states there are any."""
    known = [state for state in states if state is not None]
    losses = np.array([loss_of(cathode, state) for state in known])
    errors = np.array([error_estimate(cathode, state) for state in known])
    return losses, errors, len(known)
