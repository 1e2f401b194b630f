"""How the loss moves with each property of the cathode: exact derivatives, not differences of curves."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from aerode.errors import CannotTellError, RangeError
from aerode.physics.cathode import compiled, kernel_slopes
from aerode.physics.cathode.limit import limiting_current
from aerode.physics.cathode.packed import SUPPLY, pack
from aerode.physics.cathode.parameters import CathodeParameters, OxygenSupply
from aerode.physics.cathode.plain import trace
from aerode.physics.cathode.problem import Problem, State, loss_of
from aerode.physics.cathode.solve import TOLERANCE

__all__ = ["SENSITIVE", "Sensitivity", "plain_sensitivities", "sensitivities"]

Floats = NDArray[np.float64]

# The properties the loss can be differentiated by.
SENSITIVE = (
    "thickness",
    "ionic_conductivity",
    "electronic_conductivity",
    "gas_diffusivity",
    "oxygen_air",
    "air_film",
    "henry_liquid_per_gas",
    "agglomerate_radius",
    "agglomerate_diffusivity",
    "agglomerate_fraction",
    "film_transfer",
    "exchange_current",
    "reference_oxygen",
    "tafel_slope",
    "electrons",
    "back_slope",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sensitivity:
    """Losses and their derivatives.

    Parameters
    ----------
    names : tuple of str, length P
        The properties.
    current_density : ndarray, shape (K,)
        Per geometric area [A/m²].
    loss : ndarray, shape (K,)
        Voltage lost between collector and electrolyte face [V].
    by_logarithm : ndarray, shape (K, P)
        ∂loss/∂ln(property): the volts that one e-fold of the property would cost [V].

    Examples
    --------
    >>> Sensitivity(names=("thickness",), current_density=np.ones(1), loss=np.ones(1),
    ...     by_logarithm=np.ones((1, 1))).by_logarithm.shape
    (1, 1)
    """

    names: tuple[str, ...]
    current_density: Floats
    loss: Floats
    by_logarithm: Floats


def sensitivities(
    parameters: CathodeParameters,
    current_densities: ArrayLike,
    names: Sequence[str] = SENSITIVE[:-1],
    *,
    tolerance: float = TOLERANCE,
) -> Sensitivity:
    """Give the losses of a cathode and how each property moves them.

    Parameters
    ----------
    parameters : CathodeParameters
        A cathode without sublayers.
    current_densities : array_like, shape (K,)
        More than zero, rising [A/m²].
    names : sequence of str
        Properties out of `SENSITIVE`.
    tolerance : float
        Largest estimated error of the loss [V].

    Returns
    -------
    Sensitivity
        Losses and derivatives.

    Raises
    ------
    RangeError
        If a name is unknown, the cathode has sublayers, the currents do not rise, or the thickness
        is asked for where the collector lies inside.
    CannotTellError
        If there is no steady state at one of the currents.

    Notes
    -----
    Implicit function theorem on the discrete equations, so the derivatives are those of the numbers
    returned, up to rounding. Where the compiled solver is at hand all of them cost about half a
    curve. Source: any text on implicit functions; nothing is taken from elsewhere.

    Examples
    --------
    >>> cathode = CathodeParameters(
    ...     thickness=4e-4, ionic_conductivity=2.0, electronic_conductivity=50.0,
    ...     gas_diffusivity=2e-6, oxygen_air=8.56, air_film=0.0, henry_liquid_per_gas=0.0265,
    ...     agglomerate_radius=2e-6, agglomerate_diffusivity=5e-10, agglomerate_fraction=0.4,
    ...     film_transfer=50.0, exchange_current=50.0, reference_oxygen=0.22684,
    ...     tafel_slope=0.05138558, electrons=4.0)
    >>> moved = sensitivities(cathode, [222.154], ("exchange_current", "film_transfer"))
    >>> [round(1e3 * float(v), 1) for v in moved.by_logarithm[0]]  # mV per e-fold
    [-51.4, -7.8]
    """
    wanted = np.atleast_1d(np.asarray(current_densities, dtype=np.float64))
    _check(parameters, wanted, names)
    cathode = pack(parameters)
    if int(cathode.whole[SUPPLY]) == 2 or not compiled.available():
        return plain_sensitivities(parameters, wanted, names, tolerance=tolerance)
    losses, _, by, found = compiled.slopes(cathode, wanted, tolerance)
    if found < wanted.size:
        raise _no_state(float(wanted[found]))
    chain = _chains(parameters, tuple(names))
    return Sensitivity(
        names=tuple(names), current_density=wanted, loss=losses, by_logarithm=by @ chain
    )


def plain_sensitivities(
    parameters: CathodeParameters,
    current_densities: ArrayLike,
    names: Sequence[str],
    *,
    tolerance: float = TOLERANCE,
) -> Sensitivity:
    """Give the same as `sensitivities`, plainly: the readable twin.

    Parameters
    ----------
    parameters : CathodeParameters
        A cathode without sublayers.
    current_densities : array_like, shape (K,)
        More than zero, rising [A/m²].
    names : sequence of str
        Properties out of `SENSITIVE`.
    tolerance : float
        Largest estimated error of the loss [V].

    Returns
    -------
    Sensitivity
        Losses and derivatives.

    Raises
    ------
    RangeError
        As `sensitivities`.
    CannotTellError
        If there is no steady state at one of the currents.

    Notes
    -----
    dV/dp = ∂V/∂p − λ·∂F/∂p with (∂F/∂x)ᵀ λ = ∂V/∂x; the partial derivatives by p are central
    differences of residual and loss at fixed unknowns, good to nine digits.

    Examples
    --------
    See `sensitivities`.
    """
    wanted = np.atleast_1d(np.asarray(current_densities, dtype=np.float64))
    _check(parameters, wanted, names)
    losses, rows = np.empty(wanted.size), np.empty((wanted.size, len(names)))
    for k, state in enumerate(trace(pack(parameters), wanted, tolerance)):
        if state is None:
            raise _no_state(float(wanted[k]))
        losses[k], rows[k] = _row(parameters, state, names)
    return Sensitivity(names=tuple(names), current_density=wanted, loss=losses, by_logarithm=rows)


def _check(parameters: CathodeParameters, wanted: Floats, names: Sequence[str]) -> None:
    if parameters.sublayers:
        raise RangeError(
            "no derivatives for sublayers", where="parameters", allowed="a uniform layer"
        )
    unknown = [name for name in names if name not in SENSITIVE]
    if unknown or ("back_slope" in names and parameters.back_slope is None):
        raise RangeError(
            f"no such property: {', '.join(unknown) or 'back_slope'}",
            where="names",
            allowed=", ".join(SENSITIVE),
        )
    inside = 0.0 < parameters.collector_depth < parameters.thickness
    if inside and "thickness" in names:
        raise RangeError(
            "the thickness may not vary around a collector inside the layer",
            where="names",
            allowed="a collector at a face",
        )
    if wanted.size == 0 or not bool((wanted > 0.0).all()) or bool((np.diff(wanted) < 0.0).any()):
        raise RangeError(
            "the currents do not rise from more than zero",
            where="current_densities",
            allowed="rising, more than 0 A/m²",
        )
    limit = limiting_current(parameters)
    if float(wanted[-1]) >= limit:
        raise _no_state(float(wanted[-1]), limit)


def _no_state(current: float, limit: float = math.inf) -> CannotTellError:
    return CannotTellError(
        "no steady state at this current",
        where=f"current density {current:g} A/m²",
        allowed=f"less than {limit:g} A/m²",
        next_step="ask `polarization` for the reason, or for a smaller current",
    )


# judgement: so many cathodes are remembered
@lru_cache(maxsize=64)
def _chains(parameters: CathodeParameters, names: tuple[str, ...]) -> Floats:
    return np.array([_chain(parameters, name) for name in names]).T


def _chain(parameters: CathodeParameters, name: str) -> Floats:
    """∂(packed numbers)/∂ln(property), in the order of `kernel_slopes`."""
    k = kernel_slopes
    row = np.zeros(k.SLOPES)
    liquid = parameters.oxygen_supply is OxygenSupply.ELECTROLYTE_FACE
    slope = parameters.tafel_slope
    simple = {
        "thickness": {k.BY_THICKNESS: 1.0},
        "ionic_conductivity": {k.BY_IONIC: -1.0},
        "electronic_conductivity": {k.BY_ELECTRONIC: -1.0},
        "gas_diffusivity": {k.BY_OXYGEN: -1.0},
        "oxygen_air": {} if liquid else {k.BY_SUPPLY: 1.0},
        "air_film": {} if liquid else {k.BY_RESISTANCE: _film_share(parameters)},
        "agglomerate_radius": {k.BY_GRAIN: 2.0},
        "agglomerate_diffusivity": {k.BY_GRAIN: -1.0},
        "agglomerate_fraction": {k.BY_GRAIN: -1.0},
        "film_transfer": {k.BY_FILM: -1.0},
        "exchange_current": {k.BY_LOG_RATE: 1.0},
        "reference_oxygen": {k.BY_LOG_RATE: -1.0, k.BY_REFERENCE: 1.0},
        "electrons": {
            k.BY_LOG_RATE: -1.0,
            k.BY_OXYGEN: -1.0,
            k.BY_RESISTANCE: -1.0,
            k.BY_CHARGE: 1.0,
            k.BY_REFERENCE: 1.0,
        },
        "henry_liquid_per_gas": {k.BY_CHARGE: 1.0}
        | ({k.BY_SUPPLY: -1.0, k.BY_RESISTANCE: -1.0} if liquid else {}),
        "tafel_slope": {k.BY_SLOPE_ONE: -1.0 / slope, k.BY_REVERSE_ONE: -1.0 / slope},
        "back_slope": {k.BY_REVERSE_ONE: -1.0 / (parameters.back_slope or 1.0)},
    }
    for place, value in simple[name].items():
        row[place] = value
    return row


def _film_share(parameters: CathodeParameters) -> float:
    """The share of the still air in the resistance outside the air face."""
    film = parameters.air_film / parameters.air_diffusivity
    whole = film + parameters.backing_thickness / parameters.backing_diffusivity
    return film / whole if whole > 0.0 else 0.0


def _row(parameters: CathodeParameters, state: State, names: Sequence[str]) -> tuple[float, Floats]:
    problem = Problem(pack(parameters), state.mesh)
    x, current, size = state.unknowns, state.current, state.mesh.size
    at = problem.fields(x, current)
    slope = problem.jacobian(current, at, problem.balance(x, current, at))
    by_unknowns = np.zeros(size + 2)
    by_unknowns[:size] = current * problem.matrices.loss * at.relative_rate
    by_unknowns[size] = 1.0
    adjoint = np.linalg.solve(slope.T, by_unknowns)
    row = np.empty(len(names))
    for n, name in enumerate(names):
        step = 1e-5  # numerical: relative; a central difference is good to its square
        misfits: list[Floats] = []
        losses: list[float] = []
        for sign in (1.0, -1.0):
            other = _scaled(parameters, name, 1.0 + sign * step)
            moved = Problem(pack(other), state.mesh)
            fields = moved.fields(x, current)
            misfits.append(moved.residual(current, fields, moved.balance(x, current, fields)))
            losses.append(loss_of(pack(other), state))
        by_property = (losses[0] - losses[1]) / (2.0 * step)
        row[n] = by_property - float(adjoint @ (misfits[0] - misfits[1])) / (2.0 * step)
    return loss_of(pack(parameters), state), row


def _scaled(parameters: CathodeParameters, name: str, factor: float) -> CathodeParameters:
    value = float(getattr(parameters, name)) * factor
    changes = {name: value}
    if name == "thickness" and parameters.collector_depth > 0.0:
        changes["collector_depth"] = value
    if name == "electrons" and value > 4.0:
        # Four is the most there is; beyond it only the difference quotient looks.
        return _unchecked(parameters, changes)
    return replace(parameters, **changes)


def _unchecked(parameters: CathodeParameters, changes: dict[str, float]) -> CathodeParameters:
    other = replace(parameters)
    for name, value in changes.items():
        object.__setattr__(other, name, value)
    return other
