"""What happens at each depth: rate, overpotential, currents and oxygen."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from aerode.physics.cathode.adapt import polished
from aerode.physics.cathode.nodes import interpolation
from aerode.physics.cathode.packed import BEYOND, CHARGE, PackedCathode
from aerode.physics.cathode.problem import State, fields_of
from aerode.physics.cathode.rate import local_rate
from aerode.quantities import Reason

__all__ = ["Profile", "profile_of"]

Floats = NDArray[np.float64]

_PLACES = 16  # numerical: per panel
_BLURRED = (
    1e7  # numerical: oxygen over what of it drives the rate, from which on that has no digits
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Profile:
    """The inside of a cathode at one current, from the air face inwards.

    Parameters
    ----------
    depth : ndarray, shape (K,)
        Depth below the air face [m].
    local_rate : ndarray, shape (K,)
        Current made per volume [A/m³].
    overpotential : ndarray, shape (K,)
        Local overpotential [V].
    ionic_current, electronic_current : ndarray, shape (K,)
        Current in the liquid and in the solid; the solid's is negative on the air side of a
        collector that does not lie at the air face [A/m²].
    oxygen : ndarray, shape (K,)
        Oxygen in the pores; in filled pores the gas that would stand in equilibrium [mol/m³].
    dissolved_oxygen : ndarray, shape (K,)
        Oxygen dissolved in the liquid at that place, outside the grains [mol/m³].
    reason : Reason or None
        Why the profile does not cover the whole depth, or None where it does.

    Examples
    --------
    See `aerode.physics.cathode.operating_point`.
    """

    depth: Floats
    local_rate: Floats
    overpotential: Floats
    ionic_current: Floats
    electronic_current: Floats
    oxygen: Floats
    dissolved_oxygen: Floats
    reason: Reason | None


def profile_of(cathode: PackedCathode, state: State, henry: Floats) -> Profile:
    """Give the profile of one solution.

    Parameters
    ----------
    cathode : PackedCathode
        The cathode.
    state : State
        One solution.
    henry : ndarray, shape (S,)
        Dissolved over gaseous oxygen in each step in depth [1].

    Returns
    -------
    Profile
        Sixteen places and both edges per panel; depth where less than 1e-9 of the current is left is not shown.

    Examples
    --------
    See `aerode.physics.cathode.operating_point`.
    """
    fine = polished(cathode, state, _PLACES)
    mesh = fine.mesh
    at, matrices = fields_of(cathode, fine)
    share = matrices.ionic_share @ at.relative_rate
    thickness, current = cathode.total_thickness, state.current
    # The polynomials through the nodes reach the edges of each panel: a property that jumps there
    # is shown with both its values.
    edges = interpolation(mesh.count, np.array([0.0, 1.0]))

    def with_edges(values: Floats) -> Floats:
        rows = values.reshape(-1, mesh.count)
        ends = rows @ edges.T
        return np.concatenate([ends[:, :1], rows, ends[:, 1:]], axis=1).ravel()

    places = np.repeat(mesh.step[mesh.live], mesh.count + 2)
    ionic = with_edges(share) * current
    oxygen, overpotential = with_edges(at.oxygen), with_edges(at.overpotential)
    # The rate law at the smoother overpotential and oxygen is sharper than the polynomial of rates.
    law = local_rate(cathode, places, overpotential, oxygen)
    # Near equilibrium the law is a difference without digits.
    blurred = ~(law.by_oxygen * oxygen < _BLURRED)
    solved = np.exp(with_edges(fine.unknowns[: mesh.size])) * current / thickness
    rate = np.where(blurred, solved, np.exp(law.logarithm))
    return Profile(
        depth=with_edges(mesh.depth) * thickness,
        local_rate=rate,
        overpotential=overpotential,
        ionic_current=ionic,
        electronic_current=cathode.steps[places, BEYOND] * current - ionic,
        oxygen=oxygen,
        dissolved_oxygen=oxygen * henry[places],
        reason=None if bool(mesh.live.all()) else Reason.DEPLETED,
    )


def henry_of(cathode: PackedCathode, electrons: float, faraday: float) -> Floats:
    """Give Henry's ratio of every packed step.

    Parameters
    ----------
    cathode : PackedCathode
        The cathode.
    electrons : float
        Electrons per oxygen molecule [1].
    faraday : float
        Charge of a mole of electrons [C/mol].

    Returns
    -------
    ndarray, shape (S,)
        Dissolved over gaseous oxygen [1].

    Examples
    --------
    >>> henry_of(PackedCathode(np.full((1, 9), 8.0), np.ones(9)), 4.0, 2.0)
    array([1.])
    """
    return np.asarray(cathode.steps[:, CHARGE] / (electrons * faraday))
