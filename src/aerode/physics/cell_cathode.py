"""Curves of a cathode's potential over its current density, from whatever is known of it.

Few fitted numbers, a table of readings, the porous model, or any function that falls.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from scipy.interpolate import PchipInterpolator

from aerode.errors import CannotTellError, RangeError
from aerode.physics import checked_inputs, checked_scalars
from aerode.physics.cathode import CathodeParameters, current_at_loss, polarization
from aerode.physics.checked_inputs import Floats
from aerode.quantities import Reason

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

__all__ = ["CathodeCurve", "lumped_cathode", "solved_cathode", "tabulated_cathode"]


@dataclass(frozen=True, slots=True, kw_only=True)
class CathodeCurve:
    """The potential of a cathode over its current density, and how far it reaches.

    Parameters
    ----------
    potential : callable, ndarray [A/m^2] -> ndarray [V]
        Falls with the current density; takes any shape.
    limit : float
        The current density at which the curve ends; may be infinite [A/m^2].

    Examples
    --------
    >>> straight = CathodeCurve(potential=lambda i: 0.1 - 1e-3 * i, limit=math.inf)
    >>> round(float(straight.potential(np.asarray(10.0))), 6)
    0.09
    """

    potential: Callable[[Any], Any]
    limit: float

    def __post_init__(self) -> None:
        if not self.limit > 0.0:
            raise RangeError("no current at all", where="limit", allowed="above 0 A/m²")


def lumped_cathode(
    *,
    open_circuit: float,
    tafel_slope: float,
    mixed_current: float,
    resistance: float,
    limit: float = math.inf,
) -> CathodeCurve:
    """A cathode curve of few numbers, as a fit to a measured curve gives them.

    Parameters
    ----------
    open_circuit : float [V]
        Potential at no current.
    tafel_slope : float [V]
        Potential per e-fold of current.
    mixed_current : float [A/m^2]
        Where the curve bends off its open circuit; the side reactions there, or exchange.
    resistance : float [ohm m^2]
        Straight part.
    limit : float [A/m^2]
        Limiting current density, or infinity.

    Returns
    -------
    CathodeCurve

    Raises
    ------
    RangeError
        A value of the wrong sign.

    Notes
    -----
    E = E_oc - b ln(1 + i/i_m) - i R + b ln(1 - i/i_L): Tafel above i_m, first order in oxygen.

    Examples
    --------
    >>> curve = lumped_cathode(open_circuit=0.1, tafel_slope=0.05, mixed_current=1.0,
    ...     resistance=0.0)
    >>> round(float(curve.potential(np.asarray(math.e - 1.0))), 6)
    0.05
    """
    checked_scalars.above_zero(tafel_slope=tafel_slope, mixed_current=mixed_current)
    checked_scalars.not_negative(resistance=resistance)

    def potential(i: Floats) -> Floats:
        loss = tafel_slope * np.log1p(i / mixed_current) + i * resistance
        return open_circuit - loss + tafel_slope * np.log1p(-i / limit)

    return CathodeCurve(potential=potential, limit=limit)


def tabulated_cathode(current_density: ArrayLike, potential: ArrayLike) -> CathodeCurve:
    """A cathode curve through given points, never wavy between them.

    Parameters
    ----------
    current_density : array_like, shape (K,) [A/m^2]
        From 0 upwards, K at least 2; the curve ends at the last.
    potential : array_like, shape (K,) [V]
        Falling.

    Returns
    -------
    CathodeCurve

    Raises
    ------
    RangeError
        A table that does not start at 0, does not rise in current or does not fall in potential.

    Notes
    -----
    Monotone cubic interpolation (Fritsch & Carlson 1980, SIAM J. Numer. Anal. 17:238; status:
    unverified, from memory). Nothing is extended beyond the last point.

    Examples
    --------
    >>> curve = tabulated_cathode([0.0, 10.0, 20.0], [0.1, 0.0, -0.1])
    >>> round(float(curve.potential(np.asarray(5.0))), 6)
    0.05
    """
    i = checked_inputs.not_negative("current density", current_density)
    e = checked_inputs.finite("potential", potential)
    if i.ndim != 1 or i.shape != e.shape or i.size < 2 or float(i[0]) != 0.0:
        raise RangeError(
            "not a table from open circuit upwards",
            where="cathode curve",
            allowed="two or more points, the first at 0 A/m²",
        )
    if bool((np.diff(i) <= 0.0).any()) or bool((np.diff(e) >= 0.0).any()):
        raise RangeError(
            "the potential does not fall from point to point",
            where="cathode curve",
            allowed="rising currents, falling potentials",
            next_step="leave out readings that had not settled, or smooth the curve first",
        )
    return CathodeCurve(potential=PchipInterpolator(i, e), limit=float(i[-1]))


def solved_cathode(
    cathode: CathodeParameters,
    *,
    equilibrium: float,
    open_circuit: float,
    greatest: float,
    points: int = 33,  # numerical
) -> CathodeCurve:
    """The curve of a porous cathode that bends into a measured open circuit.

    Parameters
    ----------
    cathode : CathodeParameters
        The porous cathode.
    equilibrium : float [V]
        Equilibrium potential of the oxygen reaction at the electrolyte face.
    open_circuit : float [V]
        Potential seen at no current, below the equilibrium.
    greatest : float [A/m^2]
        Where the curve may end; it ends earlier near the limiting current.
    points : int [1]
        Points solved, 8 or more.

    Returns
    -------
    CathodeCurve

    Raises
    ------
    RangeError
        An open circuit not below the equilibrium.
    CannotTellError
        Where the cathode cannot be solved.

    Notes
    -----
    E = E_eq - V_c(i + i_m) with V_c(i_m) = E_eq - E_oc: an open circuit below the equilibrium is a
    mixed potential, held there by a side current i_m. The loss is interpolated in ln(i + i_m).

    Examples
    --------
    >>> porous = CathodeParameters(
    ...     thickness=4e-4, ionic_conductivity=2.0, electronic_conductivity=50.0,
    ...     gas_diffusivity=2e-6, oxygen_air=8.56, air_film=0.0, henry_liquid_per_gas=0.0265,
    ...     agglomerate_radius=2e-6, agglomerate_diffusivity=5e-10, agglomerate_fraction=0.4,
    ...     film_transfer=50.0, exchange_current=50.0, reference_oxygen=0.22684,
    ...     tafel_slope=0.05138558, electrons=4.0)
    >>> curve = solved_cathode(porous, equilibrium=0.39, open_circuit=0.19, greatest=250.0)
    >>> round(float(curve.potential(np.asarray(222.154 - 0.978))), 3)  # loss 0.501 V at 222.154
    -0.111
    """
    checked_scalars.above_zero(greatest=greatest)
    if not equilibrium > open_circuit:
        raise RangeError("not below the equilibrium", where="open circuit", allowed="a lower one")
    mixed = current_at_loss(cathode, [equilibrium - open_circuit])
    if mixed.reasons[0] is not None:
        raise CannotTellError(str(mixed.reasons[0]), where="open circuit of the cathode")
    side = float(mixed.current_density[0])
    end = min(greatest + side, 0.999 * mixed.limiting_current)  # numerical: short of the limit
    if end <= side:
        raise CannotTellError(str(Reason.BEYOND_LIMIT), where="greatest current density")
    sums = np.geomspace(side, end, max(points, 8))
    losses = polarization(cathode, sums).complete()
    loss = PchipInterpolator(np.log(sums), losses)
    limit = float(sums[-1]) - side

    def potential(i: Floats) -> Floats:
        return equilibrium - loss(np.log(np.clip(i + side, side, sums[-1])))

    return CathodeCurve(potential=potential, limit=limit)
