"""The whole cell: cathode curve, gap, anode and contacts together, with its power and its losses.

Everything is per wetted geometric area of the cathode. The cathode comes as a curve of potential
over current density (`aerode.physics.cell_cathode`), from readings, a fit or the porous model.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import brentq, minimize_scalar

from aerode.errors import CannotTellError
from aerode.physics import checked_inputs, checked_scalars
from aerode.physics.anode import AnodeParameters, anode_potential, potential_of
from aerode.physics.cell_cathode import CathodeCurve
from aerode.physics.checked_inputs import Floats
from aerode.quantities import Reason

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

__all__ = [
    "CellCurve",
    "CellParameters",
    "PowerPoint",
    "VoltageParts",
    "cell_curve",
    "cell_voltage",
    "current_at_load",
    "current_at_voltage",
    "gap_resistance",
    "greatest_power",
    "linear_greatest_power",
    "voltage_parts",
]

_SCANNED = 401  # currents tried before the greatest power is closed in on; numerical
_EDGE = 1.0 - 1e-9  # as near to the limiting current as a search goes; numerical
_HUGE = 1e9  # A/m², far beyond any electrode: where a search for a current gives up; numerical


@dataclass(frozen=True, slots=True, kw_only=True)
class CellParameters:
    """One cell as it stands; potentials of both electrodes against the same reference.

    Parameters
    ----------
    cathode : CathodeCurve
        Potential over current density.
    anode : AnodeParameters
        The anode.
    gap : float
        Liquid between the faces [m].
    conductivity : float
        Of the clear electrolyte [S/m].
    contact_resistance : float
        Clips, tabs, mesh [ohm m^2].
    product_resistance : float
        A layer of sludge on the anode [ohm m^2].
    bubble_share, solids_share : float
        Shares of the gap's volume taken by gas and by solid or gel [1].
    anode_per_cathode_area : float
        Wetted anode area over wetted cathode area [1].

    Raises
    ------
    RangeError
        A value of the wrong sign.

    Examples
    --------
    See `cell_voltage`.
    """

    cathode: CathodeCurve
    anode: AnodeParameters
    gap: float
    conductivity: float
    contact_resistance: float = 0.0
    product_resistance: float = 0.0
    bubble_share: float = 0.0
    solids_share: float = 0.0
    anode_per_cathode_area: float = 1.0

    def __post_init__(self) -> None:
        checked_scalars.above_zero(
            conductivity=self.conductivity, anode_per_cathode_area=self.anode_per_cathode_area
        )
        checked_scalars.not_negative(
            gap=self.gap,
            contact_resistance=self.contact_resistance,
            product_resistance=self.product_resistance,
        )
        checked_inputs.share("bubble share", self.bubble_share)
        checked_inputs.share("solids share", self.solids_share)


def gap_resistance(
    gap: float, conductivity: float, *, bubble_share: float = 0.0, solids_share: float = 0.0
) -> float:
    """The resistance of the liquid between the faces, bubbles and solids counted.

    Parameters
    ----------
    gap : float [m]
        Distance of the faces.
    conductivity : float [S/m]
        Of the clear electrolyte.
    bubble_share, solids_share : float [1]
        Shares of its volume taken by gas and by solid.

    Returns
    -------
    float [ohm m^2]

    Raises
    ------
    RangeError
        A value of the wrong sign, or a share of 1 or more.

    Notes
    -----
    d/(kappa (1-phi_b)^1.5 (1-phi_s)^1.5), Bruggeman (1935), Ann. Phys. 24:636 (status:
    unverified, from memory); spheres that do not conduct, spread evenly.

    Examples
    --------
    >>> round(gap_resistance(3e-3, 57.0) * 1e4, 2)  # 4 mol/L KOH, in ohm cm2
    0.53
    """
    checked_scalars.not_negative(gap=gap)
    checked_scalars.above_zero(conductivity=conductivity)
    free = (1.0 - checked_inputs.share("bubble share", bubble_share)) * (
        1.0 - checked_inputs.share("solids share", solids_share)
    )
    return gap / (conductivity * float(free) ** 1.5)


def _resistance(cell: CellParameters) -> float:
    gap = gap_resistance(
        cell.gap,
        cell.conductivity,
        bubble_share=cell.bubble_share,
        solids_share=cell.solids_share,
    )
    return gap + cell.contact_resistance + cell.product_resistance


@dataclass(frozen=True, slots=True, kw_only=True)
class VoltageParts:
    """What a cell's voltage is made of at each current density; all in volts.

    Parameters
    ----------
    cathode, anode : ndarray
        Potentials of the electrodes [V].
    gap, contacts, product : ndarray
        Ohmic drops, positive [V].
    voltage : ndarray
        cathode - anode - gap - contacts - product [V].
    """

    cathode: Floats
    anode: Floats
    gap: Floats
    contacts: Floats
    product: Floats
    voltage: Floats


def voltage_parts(cell: CellParameters, current_density: ArrayLike) -> VoltageParts:
    """The voltage of a cell and what it is made of.

    Parameters
    ----------
    cell : CellParameters
        The cell.
    current_density : array_like, any shape [A/m^2]
        Zero or more, below the limit of the cathode's curve.

    Returns
    -------
    VoltageParts, same shape [V]

    Raises
    ------
    RangeError
        A current density below zero.
    CannotTellError
        A current density beyond the limit of the cathode.

    Notes
    -----
    V = E_c(i) - E_a(i/r) - i [d/(kappa (1-phi_b)^1.5 (1-phi_s)^1.5) + R_contact + R_product], with
    r the area ratio. One-dimensional: no edges, no current that spreads.

    Examples
    --------
    See `cell_voltage`.
    """
    i = checked_inputs.not_negative("current density", current_density)
    if bool((i >= cell.cathode.limit).any()):
        raise CannotTellError(
            str(Reason.BEYOND_LIMIT),
            where=f"current density {float(i.max()):g} A/m²",
            allowed=f"below {cell.cathode.limit:g} A/m²",
        )
    gap = gap_resistance(
        cell.gap, cell.conductivity, bubble_share=cell.bubble_share, solids_share=cell.solids_share
    )
    cathode = np.asarray(cell.cathode.potential(i), dtype=np.float64)
    anode = anode_potential(cell.anode, i / cell.anode_per_cathode_area)
    contacts, product = i * cell.contact_resistance, i * cell.product_resistance
    voltage = checked_inputs.finite("voltage", cathode - anode - i * gap - contacts - product)
    return VoltageParts(
        cathode=cathode,
        anode=anode,
        gap=i * gap,
        contacts=contacts,
        product=product,
        voltage=voltage,
    )


def cell_voltage(cell: CellParameters, current_density: ArrayLike) -> Floats:
    """The voltage of a cell under load.

    Parameters
    ----------
    cell : CellParameters
        The cell.
    current_density : array_like, any shape [A/m^2]
        Zero or more, below the limit of the cathode's curve.

    Returns
    -------
    ndarray, same shape [V]

    Raises
    ------
    RangeError, CannotTellError
        As `voltage_parts`.

    Notes
    -----
    See `voltage_parts`.

    Examples
    --------
    >>> from aerode.physics.anode import CorrosionWithCurrent
    >>> anode = AnodeParameters(rest_potential=-1.4, resistance=1e-4, corrosion_at_rest=0.0,
    ...     under_load=CorrosionWithCurrent(change_per_current=0.0))
    >>> cathode = CathodeCurve(potential=lambda i: 0.1 - 2e-4 * i, limit=math.inf)
    >>> cell = CellParameters(cathode=cathode, anode=anode, gap=3e-3, conductivity=30.0)
    >>> round(float(cell_voltage(cell, 1000.0)), 9)
    1.1
    """
    return voltage_parts(cell, current_density).voltage


@dataclass(frozen=True, slots=True, kw_only=True)
class CellCurve:
    """Voltage and power of a cell over its current density; a gap always has its reason.

    Parameters
    ----------
    current_density : ndarray, shape (K,)
        As asked for [A/m^2].
    voltage, power_density : ndarray, shape (K,)
        NaN exactly where `reasons` holds a reason [V], [W/m^2].
    reasons : tuple of Reason or None, length K
    """

    current_density: Floats
    voltage: Floats
    power_density: Floats
    reasons: tuple[Reason | None, ...]


def cell_curve(cell: CellParameters, current_densities: ArrayLike) -> CellCurve:
    """The polarization and power curve of a cell.

    Parameters
    ----------
    cell : CellParameters
        The cell.
    current_densities : array_like, shape (K,) [A/m^2]
        Zero or more, in any order.

    Returns
    -------
    CellCurve, shape (K,)
        Where a current lies beyond the cathode's limit, a reason stands instead of a number.

    Raises
    ------
    RangeError
        A current density below zero.

    Notes
    -----
    See `voltage_parts`; power density is V i.

    Examples
    --------
    See `cell_voltage`.
    """
    i = np.atleast_1d(checked_inputs.not_negative("current density", current_densities))
    below = i < cell.cathode.limit
    voltage = np.full(i.shape, np.nan)
    voltage[below] = cell_voltage(cell, i[below])
    reasons = tuple(None if reached else Reason.BEYOND_LIMIT for reached in below)
    return CellCurve(current_density=i, voltage=voltage, power_density=voltage * i, reasons=reasons)


def _voltage(cell: CellParameters, i: float) -> float:
    """The voltage without checks, for searches."""
    cathode = float(cell.cathode.potential(np.float64(i)))
    anode = potential_of(cell.anode, i / cell.anode_per_cathode_area)
    return cathode - anode - i * _resistance(cell)


def _search(falling: Callable[[float], float], limit: float) -> float:
    """Where a falling function of the current passes zero."""
    if falling(0.0) < 0.0:
        raise CannotTellError(str(Reason.OUT_OF_RANGE), where="above the open circuit")
    top = limit * _EDGE
    if not math.isfinite(limit):
        top = 1.0
        while falling(top) > 0.0 and top < _HUGE:
            top *= 4.0
    if falling(top) > 0.0:
        raise CannotTellError(
            str(Reason.BEYOND_LIMIT), where="the cathode's curve ends before this voltage"
        )
    return float(brentq(falling, 0.0, top, xtol=1e-13 * max(top, 1.0), rtol=1e-14))


def current_at_voltage(cell: CellParameters, voltage: float) -> float:
    """The current density a cell gives at a voltage.

    Parameters
    ----------
    cell : CellParameters
        The cell.
    voltage : float [V]
        At its tabs; 0 for the short circuit.

    Returns
    -------
    float [A/m^2]

    Raises
    ------
    CannotTellError
        A voltage above the open circuit, or below where the cathode's curve ends.

    Notes
    -----
    Bracketed root of V(i), which falls.

    Examples
    --------
    >>> from aerode.physics.anode import CorrosionWithCurrent
    >>> anode = AnodeParameters(rest_potential=-1.4, resistance=1e-4, corrosion_at_rest=0.0,
    ...     under_load=CorrosionWithCurrent(change_per_current=0.0))
    >>> cathode = CathodeCurve(potential=lambda i: 0.1 - 2e-4 * i, limit=math.inf)
    >>> cell = CellParameters(cathode=cathode, anode=anode, gap=3e-3, conductivity=30.0)
    >>> round(current_at_voltage(cell, 1.1), 9)
    1000.0
    """
    return _search(lambda i: _voltage(cell, i) - voltage, cell.cathode.limit)


def current_at_load(cell: CellParameters, load: float) -> float:
    """The current density a cell drives through a resistor.

    Parameters
    ----------
    cell : CellParameters
        The cell.
    load : float [ohm m^2]
        The resistor times the cathode's area.

    Returns
    -------
    float [A/m^2]

    Raises
    ------
    RangeError
        A load below zero.
    CannotTellError
        A load so small that the cathode's curve ends before it.

    Notes
    -----
    Bracketed root of V(i) - i R.

    Examples
    --------
    >>> from aerode.physics.anode import CorrosionWithCurrent
    >>> anode = AnodeParameters(rest_potential=-1.4, resistance=1e-4, corrosion_at_rest=0.0,
    ...     under_load=CorrosionWithCurrent(change_per_current=0.0))
    >>> cathode = CathodeCurve(potential=lambda i: 0.1 - 2e-4 * i, limit=math.inf)
    >>> cell = CellParameters(cathode=cathode, anode=anode, gap=3e-3, conductivity=30.0)
    >>> round(current_at_load(cell, 1.1e-3), 9)
    1000.0
    """
    checked_scalars.not_negative(load=load)
    return _search(lambda i: _voltage(cell, i) - i * load, cell.cathode.limit)


@dataclass(frozen=True, slots=True, kw_only=True)
class PowerPoint:
    """Where a cell gives most power.

    Parameters
    ----------
    current_density, voltage, power_density : float
        There [A/m^2], [V], [W/m^2].
    at_the_end : bool
        True where the cathode's curve ends before the power falls, so this is only a lower bound.
    """

    current_density: float
    voltage: float
    power_density: float
    at_the_end: bool


def greatest_power(cell: CellParameters) -> PowerPoint:
    """The greatest power a cell gives, and where.

    Parameters
    ----------
    cell : CellParameters
        The cell, with an open circuit above zero volt.

    Returns
    -------
    PowerPoint [W/m^2]

    Raises
    ------
    CannotTellError
        A cell that gives no power at all.

    Notes
    -----
    The span up to short circuit (or the curve's end) is scanned, then closed in on, since a curve
    with a Tafel bend and an oxygen limit may have more than one turn.

    Examples
    --------
    >>> from aerode.physics.anode import CorrosionWithCurrent
    >>> anode = AnodeParameters(rest_potential=-1.4, resistance=1e-4, corrosion_at_rest=0.0,
    ...     under_load=CorrosionWithCurrent(change_per_current=0.0))
    >>> cathode = CathodeCurve(potential=lambda i: 0.1 - 2e-4 * i, limit=math.inf)
    >>> cell = CellParameters(cathode=cathode, anode=anode, gap=3e-3, conductivity=30.0)
    >>> round(greatest_power(cell).voltage, 6)
    0.75
    """
    limit = cell.cathode.limit
    try:
        end = current_at_voltage(cell, 0.0)
    except CannotTellError:
        if _voltage(cell, 0.0) <= 0.0 or not math.isfinite(limit):
            raise
        end = limit * _EDGE
    scanned = np.linspace(0.0, end, _SCANNED)
    power = scanned * cell_voltage(cell, scanned)
    best = int(power.argmax())
    low, high = float(scanned[max(best - 1, 0)]), float(scanned[min(best + 1, _SCANNED - 1)])
    found = minimize_scalar(
        lambda i: -i * _voltage(cell, i),
        bounds=(low, high),
        method="bounded",
        options={"xatol": 1e-12 * end},
    )
    i = float(found.x)
    voltage = _voltage(cell, i)
    return PowerPoint(
        current_density=i,
        voltage=voltage,
        power_density=i * voltage,
        at_the_end=best == _SCANNED - 1,
    )


def linear_greatest_power(open_circuit: float, resistance: float) -> float:
    """The greatest power of a cell whose voltage falls along a straight line.

    Parameters
    ----------
    open_circuit : float [V]
        Where the line starts.
    resistance : float [ohm m^2]
        Its slope.

    Returns
    -------
    float [W/m^2]
        Reached at half the open circuit.

    Raises
    ------
    RangeError
        A value not above zero.

    Notes
    -----
    P = E^2/(4 R) (matched load).

    Examples
    --------
    >>> linear_greatest_power(1.5, 5e-4)
    1125.0
    """
    checked_scalars.above_zero(open_circuit=open_circuit, resistance=resistance)
    return open_circuit**2 / (4.0 * resistance)
