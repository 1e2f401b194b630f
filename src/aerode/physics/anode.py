"""The aluminium anode under load: its potential, and the corrosion that runs beside the current.

Whether corrosion rises or falls when current is drawn is a property of metal and electrolyte. The
sign is an argument here and has no default: measure mass loss or hydrogen at rest and under load.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from aerode.errors import RangeError
from aerode.physics import checked_inputs, checked_scalars
from aerode.physics.checked_inputs import Floats
from aerode.physics.constants import GAS_CONSTANT

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

__all__ = [
    "AnodeParameters",
    "CorrosionWithCurrent",
    "CorrosionWithPotential",
    "anode_potential",
    "corrosion_current",
    "faradaic_efficiency",
    "potential_of",
    "rest_corrosion",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class CorrosionWithCurrent:
    """Corrosion that changes in proportion to the current drawn.

    Parameters
    ----------
    change_per_current : float
        Corrosion gained per current drawn; negative where drawing current protects [1].

    Examples
    --------
    >>> CorrosionWithCurrent(change_per_current=-0.05).change_per_current
    -0.05
    """

    change_per_current: float

    def __post_init__(self) -> None:
        if not -1.0 < self.change_per_current < 10.0:  # judgement: a slip beyond it
            raise RangeError(
                f"corrosion changes by {self.change_per_current:g} of the current",
                where="change per current",
                allowed="between -1 and 10",
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class CorrosionWithPotential:
    """Corrosion by a hydrogen reaction that slows down as the anode's potential rises.

    Parameters
    ----------
    hydrogen_slope : float
        Potential per e-fold of the hydrogen reaction, more than zero [V].

    Examples
    --------
    >>> CorrosionWithPotential(hydrogen_slope=0.05).hydrogen_slope
    0.05
    """

    hydrogen_slope: float

    def __post_init__(self) -> None:
        checked_scalars.above_zero(hydrogen_slope=self.hydrogen_slope)


@dataclass(frozen=True, slots=True, kw_only=True)
class AnodeParameters:
    """One aluminium anode in one electrolyte; per anode area, currents positive when drawn.

    Parameters
    ----------
    rest_potential : float
        Mixed potential at rest, against the same reference as the cathode [V].
    resistance : float
        Straight part of its polarization [ohm m^2].
    corrosion_at_rest : float
        Hydrogen-equivalent corrosion at rest, at the reference hydroxide and temperature [A/m^2].
    under_load : CorrosionWithCurrent or CorrosionWithPotential
        What drawing current does to corrosion.
    tafel_slope, exchange_current : float or None
        An activation part on top of the straight one: potential per e-fold [V] and exchange
        current density [A/m^2]; both or neither.
    hydroxide_order : float
        Corrosion goes with this power of the hydroxide concentration; 0 switches it off [1].
    reference_hydroxide : float or None
        Hydroxide concentration of `corrosion_at_rest`; needed with an order [mol/m^3].
    activation_energy : float
        Of corrosion; 0 switches its temperature dependence off [J/mol].
    reference_temperature : float or None
        Temperature of `corrosion_at_rest`; needed with an activation energy [K].

    Raises
    ------
    RangeError
        A value of the wrong sign, or one of a pair without the other.

    Examples
    --------
    >>> plain = AnodeParameters(rest_potential=-1.45, resistance=5e-5, corrosion_at_rest=100.0,
    ...     under_load=CorrosionWithCurrent(change_per_current=0.0))
    >>> plain.tafel_slope is None
    True
    """

    rest_potential: float
    resistance: float
    corrosion_at_rest: float
    under_load: CorrosionWithCurrent | CorrosionWithPotential
    tafel_slope: float | None = None
    exchange_current: float | None = None
    hydroxide_order: float = 0.0
    reference_hydroxide: float | None = None
    activation_energy: float = 0.0
    reference_temperature: float | None = None

    def __post_init__(self) -> None:
        if not math.isfinite(self.rest_potential):
            raise RangeError("not finite", where="rest potential", allowed="a voltage")
        checked_scalars.not_negative(
            resistance=self.resistance,
            corrosion_at_rest=self.corrosion_at_rest,
            hydroxide_order=self.hydroxide_order,
            activation_energy=self.activation_energy,
        )
        _both("tafel_slope", self.tafel_slope, "exchange_current", self.exchange_current)
        _needed("hydroxide_order", self.hydroxide_order, self.reference_hydroxide)
        _needed("activation_energy", self.activation_energy, self.reference_temperature)


def _both(name: str, value: float | None, other: str, beside: float | None) -> None:
    if (value is None) != (beside is None):
        raise RangeError(
            "one is given without the other", where=f"{name}, {other}", allowed="both or neither"
        )
    if value is not None and beside is not None:
        checked_scalars.above_zero(**{name: value, other: beside})


def _needed(name: str, value: float, reference: float | None) -> None:
    if value > 0.0 and reference is None:
        raise RangeError(
            "given without the state it refers to",
            where=name.replace("_", " "),
            allowed="together with its reference",
        )
    if reference is not None:
        checked_scalars.above_zero(**{f"reference_of_{name}": reference})


def anode_potential(anode: AnodeParameters, current_density: ArrayLike) -> Floats:
    """The potential of the anode under load.

    Parameters
    ----------
    anode : AnodeParameters
        The anode.
    current_density : array_like, any shape [A/m^2]
        Drawn, per anode area; zero or more.

    Returns
    -------
    ndarray, same shape [V]
        Against the reference of the rest potential; it rises with the current.

    Raises
    ------
    RangeError
        A current density below zero or not finite.

    Notes
    -----
    E = E_rest + i R + b asinh(i/(2 i0)). The straight part alone describes aluminium in hot lye
    over its active region; the asinh (symmetric Butler-Volmer) keeps the rest potential at i = 0.
    Not for a passive film that breaks late, nor near the transport limit of the product.

    Examples
    --------
    >>> anode = AnodeParameters(rest_potential=-1.45, resistance=1e-4, corrosion_at_rest=0.0,
    ...     under_load=CorrosionWithCurrent(change_per_current=0.0))
    >>> float(anode_potential(anode, 500.0))
    -1.4
    """
    return _potential(anode, checked_inputs.not_negative("current density", current_density))


def _potential(anode: AnodeParameters, i: Floats) -> Floats:
    potential = anode.rest_potential + i * anode.resistance
    if anode.tafel_slope is not None and anode.exchange_current is not None:
        potential = potential + anode.tafel_slope * np.arcsinh(0.5 * i / anode.exchange_current)
    return np.asarray(potential, dtype=np.float64)


def potential_of(anode: AnodeParameters, current_density: float) -> float:
    """The potential of the anode at one current density, unchecked: for the inside of a search.

    Parameters
    ----------
    anode : AnodeParameters
        The anode.
    current_density : float [A/m^2]
        Drawn, per anode area.

    Returns
    -------
    float [V]

    Notes
    -----
    As `anode_potential`, without its tests of the argument.

    Examples
    --------
    >>> anode = AnodeParameters(rest_potential=-1.45, resistance=1e-4, corrosion_at_rest=0.0,
    ...     under_load=CorrosionWithCurrent(change_per_current=0.0))
    >>> potential_of(anode, 500.0)
    -1.4
    """
    potential = anode.rest_potential + current_density * anode.resistance
    if anode.tafel_slope is not None and anode.exchange_current is not None:
        potential += anode.tafel_slope * math.asinh(0.5 * current_density / anode.exchange_current)
    return potential


def rest_corrosion(
    anode: AnodeParameters, *, hydroxide: float | None = None, temperature: float | None = None
) -> float:
    """The corrosion of the anode at rest, in another strength of lye or at another temperature.

    Parameters
    ----------
    anode : AnodeParameters
        The anode.
    hydroxide : float or None [mol/m^3]
        Free hydroxide; needed where the anode has a hydroxide order.
    temperature : float or None [K]
        Temperature; needed where the anode has an activation energy.

    Returns
    -------
    float [A/m^2]
        Hydrogen-equivalent.

    Raises
    ------
    RangeError
        A state that is needed and missing, or not above zero.

    Notes
    -----
    i_H = i_H0 (c/c0)^p exp[-(E_a/R)(1/T - 1/T0)] (power law and Arrhenius; both empirical).

    Examples
    --------
    >>> anode = AnodeParameters(rest_potential=-1.45, resistance=1e-4, corrosion_at_rest=100.0,
    ...     under_load=CorrosionWithCurrent(change_per_current=0.0),
    ...     hydroxide_order=0.5, reference_hydroxide=4000.0)
    >>> rest_corrosion(anode, hydroxide=1000.0)
    50.0
    """
    rate = anode.corrosion_at_rest
    if anode.hydroxide_order > 0.0 and anode.reference_hydroxide is not None:
        strength = _given("hydroxide", hydroxide) / anode.reference_hydroxide
        rate *= strength**anode.hydroxide_order
    if anode.activation_energy > 0.0 and anode.reference_temperature is not None:
        inverse = 1.0 / _given("temperature", temperature) - 1.0 / anode.reference_temperature
        rate *= math.exp(-anode.activation_energy / GAS_CONSTANT * inverse)
    return rate


def _given(name: str, value: float | None) -> float:
    if value is None:
        raise RangeError("needed and not given", where=name, allowed="a number above zero")
    checked_scalars.above_zero(**{name: value})
    return value


def corrosion_current(
    anode: AnodeParameters,
    current_density: ArrayLike,
    *,
    hydroxide: float | None = None,
    temperature: float | None = None,
) -> Floats:
    """The corrosion that runs beside a drawn current.

    Parameters
    ----------
    anode : AnodeParameters
        The anode.
    current_density : array_like, any shape [A/m^2]
        Drawn, per anode area.
    hydroxide, temperature : float or None [mol/m^3], [K]
        State of the electrolyte, see `rest_corrosion`.

    Returns
    -------
    ndarray, same shape [A/m^2]
        Hydrogen-equivalent, never below zero.

    Raises
    ------
    RangeError
        A current density below zero, or a missing state.

    Notes
    -----
    i_H = i_H(rest) + beta i, cut off at zero; or i_H = i_H(rest) exp[-(E(i) - E_rest)/b_H], the
    hydrogen branch of a mixed potential (Wagner & Traud 1938, status: unverified, from memory).
    In chloride beta is found above zero, in strong lye mostly below.

    Examples
    --------
    >>> anode = AnodeParameters(rest_potential=-0.75, resistance=1e-3, corrosion_at_rest=0.2,
    ...     under_load=CorrosionWithCurrent(change_per_current=0.1))
    >>> float(corrosion_current(anode, 10.0))
    1.2
    """
    i = checked_inputs.not_negative("current density", current_density)
    at_rest = rest_corrosion(anode, hydroxide=hydroxide, temperature=temperature)
    law = anode.under_load
    if isinstance(law, CorrosionWithCurrent):
        return np.maximum(at_rest + law.change_per_current * i, 0.0)
    raised = _potential(anode, i) - anode.rest_potential
    return np.asarray(at_rest * np.exp(-raised / law.hydrogen_slope), dtype=np.float64)


def faradaic_efficiency(
    anode: AnodeParameters,
    current_density: ArrayLike,
    *,
    hydroxide: float | None = None,
    temperature: float | None = None,
) -> Floats:
    """The share of the aluminium used up that becomes current.

    Parameters
    ----------
    anode : AnodeParameters
        The anode.
    current_density : array_like, any shape [A/m^2]
        Drawn, per anode area; above zero.
    hydroxide, temperature : float or None [mol/m^3], [K]
        State of the electrolyte, see `rest_corrosion`.

    Returns
    -------
    ndarray, same shape [1]

    Raises
    ------
    RangeError
        A current density not above zero, or a missing state.

    Notes
    -----
    i/(i + i_H).

    Examples
    --------
    >>> anode = AnodeParameters(rest_potential=-1.45, resistance=1e-4, corrosion_at_rest=100.0,
    ...     under_load=CorrosionWithCurrent(change_per_current=0.0))
    >>> float(faradaic_efficiency(anode, 300.0))
    0.75
    """
    i = checked_inputs.above_zero("current density", current_density)
    lost = corrosion_current(anode, i, hydroxide=hydroxide, temperature=temperature)
    return np.asarray(i / (i + lost), dtype=np.float64)
