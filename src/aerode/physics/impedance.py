"""Impedance of flat and porous electrodes and of a whole cell, each under its physical name.

Everything per geometric area [ohm m^2], for a small signal about a steady state. A capacitive
spectrum has a negative imaginary part.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from aerode.errors import RangeError
from aerode.physics import checked_inputs
from aerode.physics.checked_scalars import above_zero, not_negative

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

__all__ = [
    "CellSpectrum",
    "Complexes",
    "FlatElectrode",
    "PorousElectrode",
    "cell_impedance",
    "charge_transfer_resistance",
    "diffusion_impedance",
    "electrode_impedance",
    "porous_direct_resistance",
    "porous_impedance",
    "surface_impedance",
    "two_rail_impedance",
    "two_rail_instant_resistance",
    "two_rail_slow_resistance",
]

Complexes = NDArray[np.complex128]


def _angular(frequency: ArrayLike) -> NDArray[np.float64]:
    return 2.0 * math.pi * checked_inputs.above_zero("frequency", frequency)


def _expm1(z: Complexes) -> Complexes:
    return np.asarray(np.expm1(z), dtype=np.complex128)


def _coth(z: Complexes) -> Complexes:
    """coth for real parts of zero or more, without overflow."""
    fading = _expm1(-2.0 * z)
    return -(2.0 + fading) / fading


def _csch(z: Complexes) -> Complexes:
    return -2.0 * np.exp(-z) / _expm1(-2.0 * z)


def surface_impedance(
    frequency: ArrayLike,
    *,
    charge_transfer: float,
    capacitance: float,
    exponent: float = 1.0,
) -> Complexes:
    """The impedance of a reacting surface with its double layer.

    Parameters
    ----------
    frequency : array_like, any shape [Hz]
        Above zero.
    charge_transfer : float [ohm m^2]
        Of the reaction; infinity for a surface that only charges.
    capacitance : float [F s^(a-1)/m^2]
        Of the double layer.
    exponent : float [1]
        1 for a plain capacitor, less for a spread of time constants; 0.5 to 1.

    Returns
    -------
    ndarray, same shape [ohm m^2]

    Raises
    ------
    RangeError
        A value of the wrong sign.

    Notes
    -----
    1/Z = 1/R + (j w)^a Q. With a below 1, Q is no capacitance until a model turns it into one.

    Examples
    --------
    >>> z = surface_impedance(1.0 / (2.0 * math.pi), charge_transfer=1.0, capacitance=1.0)
    >>> complex(np.round(z, 6))
    (0.5-0.5j)
    """
    above_zero(capacitance=capacitance)
    if not charge_transfer > 0.0:
        raise RangeError("not above zero", where="charge transfer", allowed="above 0, or infinity")
    if not 0.5 <= exponent <= 1.0:
        raise RangeError(f"an exponent of {exponent:g}", where="exponent", allowed="0.5 to 1")
    omega = _angular(frequency)
    admittance = 1.0 / charge_transfer + capacitance * (1j * omega) ** exponent
    return np.asarray(1.0 / admittance, dtype=np.complex128)


def diffusion_impedance(frequency: ArrayLike, *, resistance: float, time: float) -> Complexes:
    """The impedance of oxygen that has to come through a layer from a constant supply.

    Parameters
    ----------
    frequency : array_like, any shape [Hz]
        Above zero.
    resistance : float [ohm m^2]
        At the lowest frequencies.
    time : float [s]
        Thickness squared over diffusivity.

    Returns
    -------
    ndarray, same shape [ohm m^2]

    Raises
    ------
    RangeError
        A value not above zero.

    Notes
    -----
    Z = R tanh(s)/s, s = sqrt(j w t) (finite layer, open end; Warburg's line above 1/t).

    Examples
    --------
    >>> z = diffusion_impedance(1e-9, resistance=2.0, time=1.0)
    >>> round(float(z.real), 6)
    2.0
    """
    above_zero(resistance=resistance, time=time)
    s = np.sqrt(np.asarray(1j * _angular(frequency) * time, dtype=np.complex128))
    return np.asarray(resistance / (s * _coth(s)), dtype=np.complex128)


def porous_impedance(ionic_resistance: float, surface: Complexes) -> Complexes:
    """The impedance of a porous layer with liquid resistance in its pores.

    Parameters
    ----------
    ionic_resistance : float [ohm m^2]
        Thickness over effective ionic conductivity.
    surface : ndarray of complex, any shape [ohm m^2]
        Impedance of all the inner surface together, per geometric area.

    Returns
    -------
    ndarray, same shape [ohm m^2]

    Raises
    ------
    RangeError
        A resistance not above zero.

    Notes
    -----
    Z = sqrt(R Z_s) coth sqrt(R/Z_s) (de Levie 1963, Electrochim. Acta 8:751; status: unverified,
    from memory; checked against a chain of 2000 cells). Straight, even pores, solid without
    resistance, sealed at the far end; small signal about an even state.

    Examples
    --------
    >>> blocking = surface_impedance([1e-9], charge_transfer=math.inf, capacitance=1.0)
    >>> round(float(porous_impedance(3.0, blocking)[0].real), 6)
    1.0
    """
    above_zero(ionic_resistance=ionic_resistance)
    nu = np.sqrt(ionic_resistance / np.asarray(surface, dtype=np.complex128))
    return ionic_resistance / nu * _coth(nu)


def two_rail_impedance(
    ionic_resistance: float, electronic_resistance: float, surface: Complexes
) -> Complexes:
    """The impedance of a porous layer with resistance in its liquid and in its solid.

    Parameters
    ----------
    ionic_resistance, electronic_resistance : float [ohm m^2]
        Thickness over each effective conductivity.
    surface : ndarray of complex, any shape [ohm m^2]
        Impedance of all the inner surface together.

    Returns
    -------
    ndarray, same shape [ohm m^2]
        Between the electrolyte at one face and the collector at the other.

    Raises
    ------
    RangeError
        A resistance not above zero.

    Notes
    -----
    Z = R_i R_e/(R_i+R_e) {1 + [2 + (R_i/R_e + R_e/R_i) cosh nu]/(nu sinh nu)},
    nu^2 = (R_i+R_e)/Z_s. At no frequency it is the direct-current result of Newman & Tobias
    (1962), J. Electrochem. Soc. 109:1183 (status: unverified, from memory).

    Examples
    --------
    >>> surface = surface_impedance([1e6], charge_transfer=1.0, capacitance=1.0)
    >>> round(float(two_rail_impedance(2.0, 2.0, surface)[0].real), 3)
    1.0
    """
    above_zero(ionic_resistance=ionic_resistance, electronic_resistance=electronic_resistance)
    both = ionic_resistance + electronic_resistance
    uneven = ionic_resistance / electronic_resistance + electronic_resistance / ionic_resistance
    nu = np.sqrt(both / np.asarray(surface, dtype=np.complex128))
    instant = ionic_resistance * electronic_resistance / both
    return instant * (1.0 + (2.0 * _csch(nu) + uneven * _coth(nu)) / nu)


def two_rail_instant_resistance(ionic_resistance: float, electronic_resistance: float) -> float:
    """What a porous layer shows at once, before its inner surface has charged.

    Parameters
    ----------
    ionic_resistance, electronic_resistance : float [ohm m^2]
        Thickness over each effective conductivity; the solid's may be 0.

    Returns
    -------
    float [ohm m^2]
        Both rails side by side; nothing at all for a solid without resistance.

    Raises
    ------
    RangeError
        A resistance of the wrong sign.

    Notes
    -----
    R_i R_e/(R_i + R_e) = L/(kappa + sigma), the limit of high frequency.

    Examples
    --------
    >>> two_rail_instant_resistance(2.0, 2.0)
    1.0
    """
    above_zero(ionic_resistance=ionic_resistance)
    not_negative(electronic_resistance=electronic_resistance)
    return ionic_resistance * electronic_resistance / (ionic_resistance + electronic_resistance)


def two_rail_slow_resistance(ionic_resistance: float, electronic_resistance: float) -> float:
    """What the two rails of a porous layer cost in steady, even operation.

    Parameters
    ----------
    ionic_resistance, electronic_resistance : float [ohm m^2]
        Thickness over each effective conductivity; the solid's may be 0.

    Returns
    -------
    float [ohm m^2]
        On top of the charge-transfer resistance.

    Raises
    ------
    RangeError
        A resistance of the wrong sign.

    Notes
    -----
    (R_i + R_e)/3 = L (kappa + sigma)/(3 kappa sigma): the limit of a reaction spread evenly.

    Examples
    --------
    >>> two_rail_slow_resistance(3.0, 0.0)
    1.0
    """
    above_zero(ionic_resistance=ionic_resistance)
    not_negative(electronic_resistance=electronic_resistance)
    return (ionic_resistance + electronic_resistance) / 3.0


def porous_direct_resistance(ionic_resistance: float, charge_transfer: float) -> float:
    """The direct-current resistance of a porous layer near equilibrium.

    Parameters
    ----------
    ionic_resistance : float [ohm m^2]
        Thickness over effective ionic conductivity.
    charge_transfer : float [ohm m^2]
        Of all its inner surface together.

    Returns
    -------
    float [ohm m^2]

    Raises
    ------
    RangeError
        A value not above zero.

    Notes
    -----
    R sqrt(g) coth(1/sqrt(g)), g = R_ct/R: sqrt(R R_ct) for a fast reaction, R_ct + R/3 for a slow one.

    Examples
    --------
    >>> round(porous_direct_resistance(1.0, 1.0), 5)
    1.31304
    """
    above_zero(ionic_resistance=ionic_resistance, charge_transfer=charge_transfer)
    root = math.sqrt(charge_transfer / ionic_resistance)
    return ionic_resistance * root / math.tanh(1.0 / root)


def charge_transfer_resistance(tafel_slope: float, current_density: float) -> float:
    """The charge-transfer resistance of a Tafel reaction at a current.

    Parameters
    ----------
    tafel_slope : float [V]
        Potential per e-fold of current.
    current_density : float [A/m^2]
        Where the spectrum is taken.

    Returns
    -------
    float [ohm m^2]

    Raises
    ------
    RangeError
        A value not above zero.

    Notes
    -----
    R_ct = dE/di = b/i.

    Examples
    --------
    >>> charge_transfer_resistance(0.05, 100.0)
    0.0005
    """
    above_zero(tafel_slope=tafel_slope, current_density=current_density)
    return tafel_slope / current_density


@dataclass(frozen=True, slots=True, kw_only=True)
class FlatElectrode:
    """An electrode whose surface is reached evenly: a sheet of metal.

    Parameters
    ----------
    charge_transfer : float
        Infinity for a surface that only charges [ohm m^2].
    capacitance : float
        [F s^(a-1)/m^2]
    exponent : float
        0.5 to 1 [1].
    diffusion_resistance, diffusion_time : float or None
        A layer through which the reacting species must come [ohm m^2], [s]; both or neither.

    Examples
    --------
    >>> FlatElectrode(charge_transfer=1e-3, capacitance=0.4).exponent
    1.0
    """

    charge_transfer: float
    capacitance: float
    exponent: float = 1.0
    diffusion_resistance: float | None = None
    diffusion_time: float | None = None

    def __post_init__(self) -> None:
        if (self.diffusion_resistance is None) != (self.diffusion_time is None):
            raise RangeError("one without the other", where="diffusion", allowed="both or neither")


@dataclass(frozen=True, slots=True, kw_only=True)
class PorousElectrode:
    """An electrode that works through its depth.

    Parameters
    ----------
    ionic_resistance : float
        Thickness over effective ionic conductivity [ohm m^2].
    charge_transfer : float
        Of all the inner surface, per geometric area; infinity where it only charges [ohm m^2].
    capacitance : float
        Of all the inner surface [F s^(a-1)/m^2].
    exponent : float
        0.5 to 1 [1].
    electronic_resistance : float or None
        Thickness over effective electronic conductivity; None for a solid without any [ohm m^2].
    diffusion_resistance, diffusion_time : float or None
        As for `FlatElectrode`, in the grains all through the depth.

    Examples
    --------
    >>> PorousElectrode(ionic_resistance=2e-4, charge_transfer=1e-3, capacitance=1e3).exponent
    1.0
    """

    ionic_resistance: float
    charge_transfer: float
    capacitance: float
    exponent: float = 1.0
    electronic_resistance: float | None = None
    diffusion_resistance: float | None = None
    diffusion_time: float | None = None

    def __post_init__(self) -> None:
        if (self.diffusion_resistance is None) != (self.diffusion_time is None):
            raise RangeError("one without the other", where="diffusion", allowed="both or neither")


def electrode_impedance(
    frequency: ArrayLike, electrode: FlatElectrode | PorousElectrode
) -> Complexes:
    """The impedance of one electrode.

    Parameters
    ----------
    frequency : array_like, any shape [Hz]
        Above zero.
    electrode : FlatElectrode or PorousElectrode
        What it is.

    Returns
    -------
    ndarray, same shape [ohm m^2]

    Raises
    ------
    RangeError
        A value of the wrong sign.

    Notes
    -----
    The reaction with its diffusion stands beside the double layer; see `surface_impedance`,
    `diffusion_impedance`, `porous_impedance` and `two_rail_impedance`.

    Examples
    --------
    >>> sheet = FlatElectrode(charge_transfer=1.0, capacitance=1.0)
    >>> round(float(electrode_impedance(1e-9, sheet).real), 6)
    1.0
    """
    surface = _surface(frequency, electrode)
    if isinstance(electrode, FlatElectrode):
        return surface
    if electrode.electronic_resistance is None:
        return porous_impedance(electrode.ionic_resistance, surface)
    return two_rail_impedance(electrode.ionic_resistance, electrode.electronic_resistance, surface)


def _surface(frequency: ArrayLike, electrode: FlatElectrode | PorousElectrode) -> Complexes:
    plain = surface_impedance(
        frequency,
        charge_transfer=electrode.charge_transfer,
        capacitance=electrode.capacitance,
        exponent=electrode.exponent,
    )
    if electrode.diffusion_resistance is None or electrode.diffusion_time is None:
        return plain
    coming = diffusion_impedance(
        frequency, resistance=electrode.diffusion_resistance, time=electrode.diffusion_time
    )
    charging = 1.0 / plain - 1.0 / electrode.charge_transfer
    return 1.0 / (charging + 1.0 / (electrode.charge_transfer + coming))


@dataclass(frozen=True, slots=True, kw_only=True)
class CellSpectrum:
    """A cell for its spectrum; an electrode left out is one that does not show.

    Parameters
    ----------
    series_resistance : float
        Electrolyte in the gap, contacts, leads [ohm m^2].
    cathode : FlatElectrode or PorousElectrode
    anode : FlatElectrode, PorousElectrode or None
    inductance : float
        Of the leads, times the area [H m^2].

    Examples
    --------
    >>> sheet = FlatElectrode(charge_transfer=1e-3, capacitance=0.4)
    >>> CellSpectrum(series_resistance=1e-4, cathode=sheet).inductance
    0.0
    """

    series_resistance: float
    cathode: FlatElectrode | PorousElectrode
    anode: FlatElectrode | PorousElectrode | None = None
    inductance: float = 0.0

    def __post_init__(self) -> None:
        not_negative(series_resistance=self.series_resistance, inductance=self.inductance)


def cell_impedance(frequency: ArrayLike, cell: CellSpectrum) -> Complexes:
    """The impedance of a cell between its tabs.

    Parameters
    ----------
    frequency : array_like, any shape [Hz]
        Above zero.
    cell : CellSpectrum
        What it is made of.

    Returns
    -------
    ndarray, same shape [ohm m^2]

    Raises
    ------
    RangeError
        A value of the wrong sign.

    Notes
    -----
    Series resistance, inductance and the electrodes in line.

    Examples
    --------
    >>> sheet = FlatElectrode(charge_transfer=1.0, capacitance=1.0)
    >>> cell = CellSpectrum(series_resistance=0.5, cathode=sheet, anode=sheet)
    >>> round(float(cell_impedance(1e-9, cell).real), 6)
    2.5
    """
    omega = _angular(frequency)
    whole = cell.series_resistance + 1j * omega * cell.inductance
    whole = whole + electrode_impedance(frequency, cell.cathode)
    if cell.anode is not None:
        whole = whole + electrode_impedance(frequency, cell.anode)
    return np.asarray(whole, dtype=np.complex128)
