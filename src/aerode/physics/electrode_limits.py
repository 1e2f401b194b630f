"""Closed forms for limiting cases of a porous electrode: quick scales, and yardsticks for the solver.

Each holds only in the limit it names. Depth 0 is the face of the collector (the air face); the
other face is the electrolyte's. Overpotential is positive where it drives reduction.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from aerode.errors import CannotTellError, RangeError
from aerode.physics.constants import FARADAY
from aerode.physics.effectiveness import Shape, effectiveness

__all__ = [
    "TafelRails",
    "cottrell_current",
    "diffusion_settling_time",
    "film_ceiling",
    "flooded_slab_current",
    "flooded_slab_strong_current",
    "linear_rails_profile",
    "linear_rails_resistance",
    "oxygen_ceiling",
    "reaction_depth",
    "tab_effectiveness",
    "tafel_rails",
    "thickness_ratio",
]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class TafelRails:
    """A Tafel electrode with two ohmic rails and oxygen everywhere.

    Parameters
    ----------
    theta : float
        The parameter of the solution, between 0 and π [1].
    face_overpotential : float
        Overpotential at the electrolyte face [V].
    slope_ratio : float
        d(overpotential at the face)/d ln I over the Tafel slope: 1 when even, 2 when the reaction
        crowds at a face [1].
    crowding : float
        Rate at the electrolyte face over the mean rate [1].

    Examples
    --------
    >>> TafelRails(0.5, 0.3, 1.2, 1.1).slope_ratio
    1.2
    """

    theta: float
    face_overpotential: float
    slope_ratio: float
    crowding: float


def reaction_depth(ionic_conductivity: float, tafel_slope: float, current_density: float) -> float:
    """Give the depth behind the electrolyte face in which most of the current is made.

    Parameters
    ----------
    ionic_conductivity : float
        Effective conductivity of the liquid in the layer [S/m].
    tafel_slope : float
        Overpotential per e-fold of current [V].
    current_density : float
        Per geometric area [A/m²].

    Returns
    -------
    float
        κ b/I [m].

    Notes
    -----
    Order of magnitude for an ionically limited electrode with good solid conduction.
    Newman & Tobias (1962), J. Electrochem. Soc. 109:1183 (status: unverified, from memory).

    Examples
    --------
    >>> round(reaction_depth(2.0, 0.0514, 100.0), 6)
    0.001028
    """
    return ionic_conductivity * tafel_slope / current_density


def thickness_ratio(thickness: float, depth: float) -> float:
    """Give how many reaction depths a layer is thick: below 0.3 even, above 3 front only.

    Parameters
    ----------
    thickness : float
        Thickness of the layer [m].
    depth : float
        Reaction depth from `reaction_depth` [m].

    Returns
    -------
    float
        δ = L/depth [1].

    Examples
    --------
    >>> thickness_ratio(4e-4, 1e-3)
    0.4
    """
    return thickness / depth


def oxygen_ceiling(
    electrons: float, diffusivity: float, concentration: float, distance: float
) -> float:
    """Give the current at which oxygen diffusion across a distance is all used.

    Parameters
    ----------
    electrons : float
        Electrons per oxygen molecule [1].
    diffusivity : float
        Diffusivity along the distance [m²/s].
    concentration : float
        Oxygen at its start, in the same phase [mol/m³].
    distance : float
        Length of the path [m].

    Returns
    -------
    float
        nF D c/distance [A/m²].

    Notes
    -----
    Fick's first law with nothing left at the end. For a drowned layer use dissolved oxygen.

    Examples
    --------
    >>> round(0.1 * oxygen_ceiling(4.0, 1.9e-9 * 0.6**1.5, 0.212, 5e-4), 4)  # mA/cm²
    0.0144
    """
    return electrons * FARADAY * diffusivity * concentration / distance


def film_ceiling(
    electrons: float,
    henry_liquid_per_gas: float,
    oxygen: float,
    film_transfer: float,
    thickness: float,
) -> float:
    """Give the current at which the wet film passes all the oxygen it can.

    Parameters
    ----------
    electrons : float
        Electrons per oxygen molecule [1].
    henry_liquid_per_gas : float
        Dissolved over gaseous concentration [1].
    oxygen : float
        Oxygen in the pores [mol/m³].
    film_transfer : float
        Transfer coefficient per layer volume [1/s].
    thickness : float
        Thickness of the layer [m].

    Returns
    -------
    float
        nF H c k_f L [A/m²].

    Examples
    --------
    >>> round(film_ceiling(4.0, 0.0265, 8.56, 50.0, 4e-4))
    1751
    """
    return electrons * FARADAY * henry_liquid_per_gas * oxygen * film_transfer * thickness


def flooded_slab_current(
    electrons: float,
    oxygen: float,
    diffusivity: float,
    thickness: float,
    rate_constant: ArrayLike,
) -> Floats:
    """Give the current of a filled layer without ohmic loss, oxygen dissolving at one face.

    Parameters
    ----------
    electrons : float
        Electrons per oxygen molecule [1].
    oxygen : float
        Dissolved oxygen at that face [mol/m³].
    diffusivity : float
        Effective diffusivity of dissolved oxygen in the layer [m²/s].
    thickness : float
        Thickness of the layer [m].
    rate_constant : array_like
        First-order rate constant per layer volume, (a i0/(nF c_ref)) e^{η/b} [1/s].

    Returns
    -------
    ndarray
        nF c √(D k) tanh(L √(k/D)), same shape as `rate_constant` [A/m²].

    Notes
    -----
    Thiele (1939), Ind. Eng. Chem. 31:916, slab (status: unverified, cited from memory).

    Examples
    --------
    >>> k = 50.0 / (4 * FARADAY * 0.212) * math.exp(0.1 / 0.05138558)
    >>> round(0.1 * float(flooded_slab_current(4.0, 0.212, 8e-10, 4e-4, k)), 8)  # mA/cm²
    0.01102386
    """
    rate = np.asarray(rate_constant, dtype=np.float64)
    strength = electrons * FARADAY * oxygen * np.sqrt(diffusivity * rate)
    return np.asarray(strength * np.tanh(thickness * np.sqrt(rate / diffusivity)))


def flooded_slab_strong_current(
    electrons: float, oxygen: float, diffusivity: float, rate_constant: ArrayLike
) -> Floats:
    """Give the current of a thick or fast filled layer, where only a skin at the face works.

    Parameters
    ----------
    electrons, oxygen, diffusivity : float
        As for `flooded_slab_current` [1], [mol/m³], [m²/s].
    rate_constant : array_like
        First-order rate constant per layer volume [1/s].

    Returns
    -------
    ndarray
        nF c √(D k): its slope is exactly twice the Tafel slope [A/m²].

    Examples
    --------
    >>> round(float(flooded_slab_strong_current(4.0, 0.212, 8e-10, 1.0)), 4)
    2.3142
    """
    rate = np.asarray(rate_constant, dtype=np.float64)
    return np.asarray(electrons * FARADAY * oxygen * np.sqrt(diffusivity * rate))


def linear_rails_resistance(
    thickness: float,
    ionic_conductivity: float,
    electronic_conductivity: float,
    local_conductance: float,
) -> float:
    """Give the resistance of a porous electrode near equilibrium, liquid and solid counted.

    Parameters
    ----------
    thickness : float
        Thickness of the layer [m].
    ionic_conductivity, electronic_conductivity : float
        Effective conductivities [S/m].
    local_conductance : float
        Local current per volume and volt, a i0 F/(RT) for a balanced one-step reaction [S/m³].

    Returns
    -------
    float
        Collector at one face, electrolyte at the other [Ω·m²].

    Notes
    -----
    R = L/(κ+σ)·{1 + [2 + (σ/κ + κ/σ) cosh ν]/(ν sinh ν)}, ν² = L² g (1/κ + 1/σ).
    Euler & Nonnenmacher (1960), Electrochim. Acta 2:268; Newman & Tobias (1962), J. Electrochem.
    Soc. 109:1183 (status: unverified, cited from memory; derived again). Small signals only.

    Examples
    --------
    >>> round(linear_rails_resistance(5e-4, 2.0, 50.0, 1e6), 10)
    0.0020860276
    """
    nu = thickness * math.sqrt(
        local_conductance * (1.0 / ionic_conductivity + 1.0 / electronic_conductivity)
    )
    ratio = electronic_conductivity / ionic_conductivity
    # [2 + r cosh ν]/sinh ν written with e^{−ν}, so that a thick layer cannot overflow.
    decay = math.exp(-nu)
    sinh, cosh = 0.5 * (1.0 - decay**2), 0.5 * (1.0 + decay**2)
    bracket = 1.0 + (2.0 * decay + (ratio + 1.0 / ratio) * cosh) / (nu * sinh)
    return thickness / (ionic_conductivity + electronic_conductivity) * bracket


def linear_rails_profile(
    position: ArrayLike,
    thickness: float,
    ionic_conductivity: float,
    electronic_conductivity: float,
    local_conductance: float,
) -> Floats:
    """Give the local over the mean rate of a porous electrode near equilibrium.

    Parameters
    ----------
    position : array_like
        Depth over thickness, 0 at the collector, 1 at the electrolyte [1].
    thickness, ionic_conductivity, electronic_conductivity, local_conductance : float
        As for `linear_rails_resistance` [m], [S/m], [S/m], [S/m³].

    Returns
    -------
    ndarray
        j L/I, same shape as `position` [1].

    Notes
    -----
    ν[σ cosh(νx/L) + κ cosh(ν(1 − x/L))]/[(σ + κ) sinh ν]; sources as `linear_rails_resistance`.

    Examples
    --------
    >>> linear_rails_profile([0.0, 1.0], 5e-4, 2.0, 50.0, 1e6).round(4)
    array([0.9811, 1.0405])
    """
    x = np.asarray(position, dtype=np.float64)
    kappa, sigma = ionic_conductivity, electronic_conductivity
    nu = thickness * math.sqrt(local_conductance * (1.0 / kappa + 1.0 / sigma))
    top = sigma * np.cosh(nu * x) + kappa * np.cosh(nu * (1.0 - x))
    return np.asarray(nu * top / ((sigma + kappa) * math.sinh(nu)))


def tafel_rails(
    current_density: float,
    thickness: float,
    ionic_conductivity: float,
    electronic_conductivity: float,
    exchange_current: float,
    tafel_slope: float,
) -> TafelRails:
    """Give the exact state of a Tafel electrode with two rails and oxygen everywhere.

    Parameters
    ----------
    current_density : float
        Per geometric area [A/m²].
    thickness : float
        Thickness of the layer [m].
    ionic_conductivity, electronic_conductivity : float
        Effective conductivities; the electronic one may be infinite [S/m].
    exchange_current : float
        Exchange current per layer volume at the oxygen that prevails [A/m³].
    tafel_slope : float
        Overpotential per e-fold of local current. Where the grains limit everywhere, put in twice
        the kinetic slope and the exchange current that goes with it [V].

    Returns
    -------
    TafelRails
        Overpotential at the electrolyte face, slope, crowding.

    Raises
    ------
    RangeError
        If a number is not more than zero.
    CannotTellError
        If the equation for θ could not be bracketed.

    Notes
    -----
    θ = atan(δ₁/2θ) + atan(δ₂/2θ), δ₁ = IL/(σb), δ₂ = IL/(κb), K = a i0 L²(1/κ + 1/σ)/b,
    η(L)/b = ln(2θ²/K) + ln[1 + (δ₂/2θ)²]. With σ → ∞ it is
    Newman's δ = 2θ tan θ. Newman & Tobias (1962), J. Electrochem. Soc. 109:1183 (status:
    unverified, from memory; derived again). No oxygen gradient, no reverse reaction.

    Examples
    --------
    >>> state = tafel_rails(45.4013, 4e-4, 2.0, 50.0, 50.0, 0.05138558)
    >>> round(state.face_overpotential, 5), round(state.theta, 5)
    (0.4, 0.29907)
    """
    numbers = (current_density, thickness, ionic_conductivity, electronic_conductivity)
    if min(*numbers, exchange_current, tafel_slope) <= 0.0:
        raise RangeError(
            "a value is not more than zero", where="tafel_rails", allowed="more than 0"
        )
    solid = current_density * thickness / (electronic_conductivity * tafel_slope)
    liquid = current_density * thickness / (ionic_conductivity * tafel_slope)
    theta = _theta(solid, liquid)
    rails = 1.0 / ionic_conductivity + 1.0 / electronic_conductivity
    strength = exchange_current * thickness**2 * rails / tafel_slope
    tilt = liquid / (2.0 * theta)
    face = tafel_slope * (math.log(2.0 * theta**2 / strength) + math.log1p(tilt**2))
    return TafelRails(
        theta=theta,
        face_overpotential=face,
        slope_ratio=_slope_ratio(theta, solid, liquid),
        crowding=2.0 * theta**2 * (1.0 + tilt**2) / (solid + liquid),
    )


def _theta(solid: float, liquid: float) -> float:
    """The root between 0 and π of θ = atan(δ₁/2θ) + atan(δ₂/2θ): falling right side, rising left."""
    low, high = 0.0, math.pi
    for _ in range(200):  # numerical
        middle = 0.5 * (low + high)
        right = math.atan2(solid, 2.0 * middle) + math.atan2(liquid, 2.0 * middle)
        low, high = (middle, high) if right > middle else (low, middle)
        if high - low <= 4e-16 * high:  # numerical
            return 0.5 * (low + high)
    raise CannotTellError("the state of the two rails was not found", where="tafel_rails")


def _slope_ratio(theta: float, solid: float, liquid: float) -> float:
    """d ln of the face rate / d ln I, from the derivative of the implicit equation for θ."""
    # f(θ, I) = θ − Σ atan(δ_k/2θ) = 0; each δ is proportional to I.
    parts = [2.0 * theta * d / (4.0 * theta**2 + d**2) for d in (solid, liquid)]
    by_log_current = sum(parts) / (1.0 + sum(parts) / theta)  # dθ/d ln I
    log_theta = by_log_current / theta
    square = (liquid / (2.0 * theta)) ** 2
    return 2.0 * log_theta + 2.0 * square * (1.0 - log_theta) / (1.0 + square)


def cottrell_current(
    electrons: float, concentration: float, diffusivity: float, time: ArrayLike
) -> Floats:
    """Give the diffusion current after a step to a potential that uses all that arrives.

    Parameters
    ----------
    electrons : float
        Electrons per molecule [1].
    concentration : float
        In the bulk [mol/m³].
    diffusivity : float
        In the still liquid [m²/s].
    time : array_like
        Since the step, more than zero [s].

    Returns
    -------
    ndarray
        nF c √(D/(π t)) [A/m²].

    Notes
    -----
    Cottrell (1903), Z. phys. Chem. 42:385 (status: unverified, from memory). A plane face and
    semi-infinite still liquid.

    Examples
    --------
    >>> round(float(cottrell_current(4.0, 0.25, 2e-9, 1.0)), 4)
    2.4345
    """
    t = np.asarray(time, dtype=np.float64)
    return np.asarray(electrons * FARADAY * concentration * np.sqrt(diffusivity / (math.pi * t)))


def diffusion_settling_time(thickness: float, diffusivity: float) -> float:
    """Give the time constant with which oxygen in a filled layer settles.

    Parameters
    ----------
    thickness : float
        Thickness of the layer [m].
    diffusivity : float
        Effective diffusivity of dissolved oxygen [m²/s].

    Returns
    -------
    float
        L²/(π² D) [s].

    Notes
    -----
    Slowest mode of a slab held at both faces; four times that for a slab fed from one face.
    Crank, The Mathematics of Diffusion (status: unverified, from memory).

    Examples
    --------
    >>> round(diffusion_settling_time(5e-4, 9e-10), 1)
    28.1
    """
    return thickness**2 / (math.pi**2 * diffusivity)


def tab_effectiveness(length: float, sheet_resistance: float, area_resistance: float) -> float:
    """Give the share of the current that a tall electrode keeps when it is fed from one edge.

    Parameters
    ----------
    length : float
        Distance from the tab edge to the far edge [m].
    sheet_resistance : float
        Of the collector, ohms per square [Ω].
    area_resistance : float
        Of the cell, resistance times area [Ω·m²].

    Returns
    -------
    float
        tanh(mH)/(mH), m² = sheet_resistance/area_resistance [1].

    Notes
    -----
    The fin equation, the same function as the slab's effectiveness factor. Linear cell only.
    For small mH the extra area resistance is sheet_resistance·H²/3.

    Examples
    --------
    >>> round(tab_effectiveness(0.05, 0.4, 1e-3), 5)
    0.76159
    """
    modulus = length * math.sqrt(sheet_resistance / area_resistance)
    return float(effectiveness(modulus, Shape.SLAB))
