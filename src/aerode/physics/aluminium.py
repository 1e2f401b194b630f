"""The aluminium anode: charge, water and oxygen it takes, corrosion conversions, its voltage with air.

Hydrogen volumes stand in `aerode.physics.hydrogen`; figures of published anodes in the reference
table `aluminium`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from aerode.physics.checked_inputs import Floats, above_zero, finite, not_negative
from aerode.physics.constants import FARADAY
from aerode.physics.thermodynamics import nernst_potential, water_activity_term

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

__all__ = [
    "CELL_ELECTRONS",
    "ELECTRONS",
    "Balance",
    "aluminate_emf",
    "capacity",
    "charge_balance",
    "corrosion_current_density",
    "coulombic_efficiency",
    "equivalent_weight",
    "hydroxide_budget",
    "hydroxide_emf",
    "mass_loss_rate",
    "penetration_rate",
    "polarization_resistance_current",
]

ELECTRONS = 3  # per aluminium atom: Al -> Al3+ + 3 e
CELL_ELECTRONS = 12  # per 4 Al + 3 O2 + 6 H2O -> 4 Al(OH)3


def capacity(molar_mass: float) -> float:
    """The charge in a kilogram of aluminium.

    Parameters
    ----------
    molar_mass : float [kg/mol]
        Molar mass of aluminium.

    Returns
    -------
    float [C/kg]

    Raises
    ------
    RangeError
        A molar mass not above zero.

    Notes
    -----
    q = 3 F/M (Faraday).

    Examples
    --------
    >>> round(capacity(26.9815e-3) / 3.6e6, 4)
    2.98
    """
    return ELECTRONS * FARADAY / float(above_zero("molar mass", molar_mass))


@dataclass(frozen=True, slots=True, kw_only=True)
class Balance:
    """What a charge drawn from aluminium takes and makes, all in [kg]; no corrosion counted."""

    aluminium: float
    water: float
    oxygen: float
    hydroxide: float


def charge_balance(
    charge: float, *, aluminium: float, water: float, oxygen: float, hydroxide: float
) -> Balance:
    """Aluminium, water and oxygen used and solid made by a charge.

    Parameters
    ----------
    charge : float [C]
        Charge drawn.
    aluminium, water, oxygen, hydroxide : float [kg/mol]
        Molar masses of Al, H2O, O2 and Al(OH)3.

    Returns
    -------
    Balance
        Masses [kg]; the solid dry, as it leaves the liquid it holds far more water.

    Raises
    ------
    RangeError
        A negative charge, or a molar mass not above zero.

    Notes
    -----
    4 Al + 3 O2 + 6 H2O -> 4 Al(OH)3, twelve electrons.

    Examples
    --------
    >>> masses = {"aluminium": 26.9815e-3, "water": 18.015e-3, "oxygen": 31.998e-3}
    >>> used = charge_balance(capacity(26.9815e-3) * 1e-3, hydroxide=78.004e-3, **masses)
    >>> round(used.water * 1e3, 3), round(used.hydroxide * 1e3, 3)
    (1.002, 2.891)
    """
    reactions = float(not_negative("charge", charge)) / (CELL_ELECTRONS * FARADAY)
    return Balance(
        aluminium=4.0 * reactions * float(above_zero("molar mass of Al", aluminium)),
        water=6.0 * reactions * float(above_zero("molar mass of water", water)),
        oxygen=3.0 * reactions * float(above_zero("molar mass of oxygen", oxygen)),
        hydroxide=4.0 * reactions * float(above_zero("molar mass of hydroxide", hydroxide)),
    )


def equivalent_weight(molar_mass: float, electrons: float) -> float:
    """Mass of metal per mole of electrons.

    Parameters
    ----------
    molar_mass : float [kg/mol]
        Molar mass of the metal.
    electrons : float
        Electrons per atom.

    Returns
    -------
    float [kg/mol]

    Raises
    ------
    RangeError
        A value not above zero.

    Notes
    -----
    EW = M/n (astm_g102; section 4, the number from memory).

    Examples
    --------
    >>> round(equivalent_weight(26.9815e-3, 3) * 1e3, 4)
    8.9938
    """
    return float(above_zero("molar mass", molar_mass)) / float(above_zero("electrons", electrons))


def mass_loss_rate(current_density: ArrayLike, equivalent: float) -> Floats:
    """The mass that a corrosion current density takes off an area.

    Parameters
    ----------
    current_density : array_like [A/m^2], any shape
        Corrosion current density.
    equivalent : float [kg/mol]
        Equivalent weight.

    Returns
    -------
    ndarray, same shape [kg/(m^2 s)]

    Raises
    ------
    RangeError
        A negative current density, or an equivalent not above zero.

    Notes
    -----
    MR = i EW/F, re-derived here from Faraday's law (astm_g102; the numbers of its eq. 8 and
    K2 = 8.954e-3, in its units, are from memory).

    Examples
    --------
    >>> round(float(mass_loss_rate(10.0, 8.9938e-3)) * 0.1 * 3.6e6, 4)  # 1 mA/cm2 in mg/(cm2 h)
    0.3356
    """
    i = not_negative("current density", current_density)
    return i * float(above_zero("equivalent weight", equivalent)) / FARADAY


def penetration_rate(current_density: ArrayLike, equivalent: float, density: float) -> Floats:
    """The speed at which even corrosion eats into the metal.

    Parameters
    ----------
    current_density : array_like [A/m^2], any shape
        Corrosion current density.
    equivalent : float [kg/mol]
        Equivalent weight.
    density : float [kg/m^3]
        Density of the metal.

    Returns
    -------
    ndarray, same shape [m/s]
        Even attack; pits go far deeper.

    Raises
    ------
    RangeError
        A negative current density, or another value not above zero.

    Notes
    -----
    CR = i EW/(F rho), re-derived here from Faraday's law (astm_g102; the numbers of its eq. 6 and
    K1 = 3.27e-3 mm g/(uA cm y) are from memory).

    Examples
    --------
    >>> year = 365.25 * 86400.0
    >>> round(float(penetration_rate(0.01, 8.9938e-3, 2700.0)) * year * 1e3, 5)  # 1 uA/cm2
    0.01089
    """
    return mass_loss_rate(current_density, equivalent) / float(above_zero("density", density))


def corrosion_current_density(mass_loss: ArrayLike, equivalent: float) -> Floats:
    """The corrosion current density behind a weighed mass loss.

    Parameters
    ----------
    mass_loss : array_like [kg/(m^2 s)], any shape
        Mass lost per area and time, products removed.
    equivalent : float [kg/mol]
        Equivalent weight.

    Returns
    -------
    ndarray, same shape [A/m^2]

    Raises
    ------
    RangeError
        A negative mass loss, or an equivalent not above zero.

    Notes
    -----
    Inverse of `mass_loss_rate`. In neutral brine part of it uses oxygen, so less hydrogen comes.

    Examples
    --------
    >>> round(float(corrosion_current_density(1e-2 / 3600.0, 8.9938e-3)) / 10.0, 3)  # 1 mg/cm2/h
    2.98
    """
    rate = not_negative("mass loss", mass_loss)
    return rate * FARADAY / float(above_zero("equivalent weight", equivalent))


def polarization_resistance_current(
    resistance: float, anodic_slope: float, cathodic_slope: float
) -> float:
    """The corrosion current density from a polarization resistance.

    Parameters
    ----------
    resistance : float [ohm m^2]
        Slope of voltage over current density at the rest potential.
    anodic_slope, cathodic_slope : float [V]
        Tafel slopes per decade, both positive.

    Returns
    -------
    float [A/m^2]

    Raises
    ------
    RangeError
        A value not above zero.

    Notes
    -----
    i = B/R_p, B = b_a b_c/(ln(10)(b_a + b_c)) (astm_g59; eq. 3, the number from memory).

    Examples
    --------
    >>> round(polarization_resistance_current(1.0, 0.12, 0.12), 5)
    0.02606
    """
    ba = float(above_zero("anodic slope", anodic_slope))
    bc = float(above_zero("cathodic slope", cathodic_slope))
    constant = ba * bc / (np.log(10.0) * (ba + bc))
    return float(constant / float(above_zero("resistance", resistance)))


def coulombic_efficiency(current: ArrayLike, hydrogen_current: ArrayLike) -> Floats:
    """The share of the aluminium used that becomes current.

    Parameters
    ----------
    current : array_like [A]
        Current drawn.
    hydrogen_current : array_like [A]
        Hydrogen-equivalent current of corrosion at that load.

    Returns
    -------
    ndarray

    Raises
    ------
    RangeError
        A negative current, or both zero.

    Notes
    -----
    i/(i + i_H2). In chloride i_H2 rises with i, in strong lye it mostly falls: measure it.

    Examples
    --------
    >>> float(coulombic_efficiency(3.0, 1.0))
    0.75
    """
    i = not_negative("current", current)
    return i / above_zero("current and corrosion", i + not_negative("corrosion", hydrogen_current))


def hydroxide_emf(
    potential: ArrayLike,
    temperature: ArrayLike,
    oxygen_pressure: ArrayLike,
    water_activity: ArrayLike,
) -> Floats:
    """The equilibrium voltage of aluminium and air when the product is solid hydroxide.

    Parameters
    ----------
    potential : array_like [V]
        Standard cell voltage at the temperature, for the solid meant.
    temperature : array_like [K]
        Temperature.
    oxygen_pressure : array_like [Pa]
        Oxygen partial pressure.
    water_activity : array_like
        Water activity of the electrolyte.

    Returns
    -------
    ndarray [V]
        An upper bound that no bench cell shows; never a denominator for an efficiency in brine,
        where the two faces do not share one pH.

    Raises
    ------
    RangeError
        A value not above zero.

    Notes
    -----
    E = E0 - (R T/12 F) ln[1/(p^3 a_w^6)] for 4 Al + 3 O2 + 6 H2O -> 4 Al(OH)3 (Nernst).

    Examples
    --------
    >>> round(float(hydroxide_emf(2.7611, 298.15, 20577.0, 0.9795)), 3)
    2.751
    """
    log_quotient = water_activity_term(oxygen_pressure, water_activity)
    return nernst_potential(potential, CELL_ELECTRONS, temperature, log_quotient)


def aluminate_emf(
    potential: ArrayLike,
    temperature: ArrayLike,
    oxygen_pressure: ArrayLike,
    water_activity: ArrayLike,
    *,
    hydroxide_activity: ArrayLike,
    aluminate_activity: ArrayLike,
) -> Floats:
    """The equilibrium voltage of aluminium and air in lye, product dissolved as aluminate.

    Parameters
    ----------
    potential : array_like [V]
        Standard cell voltage at the temperature.
    temperature : array_like [K]
        Temperature.
    oxygen_pressure : array_like [Pa]
        Oxygen partial pressure.
    water_activity : array_like
        Water activity.
    hydroxide_activity : array_like
        Molality of OH- times its activity coefficient.
    aluminate_activity : array_like
        Activity of Al(OH)4-.

    Returns
    -------
    ndarray [V]

    Raises
    ------
    RangeError
        A value not above zero.

    Notes
    -----
    E = E0 - (R T/12 F) ln[a_Al^4/(p^3 a_w^6 a_OH^4)] for 4 Al + 3 O2 + 6 H2O + 4 OH- -> 4 Al(OH)4-.

    Examples
    --------
    >>> lye = {"hydroxide_activity": 5.68, "aluminate_activity": 0.1}
    >>> round(float(aluminate_emf(2.7374, 298.15, 20690.0, 0.81, **lye)), 3)
    2.759
    """
    log_quotient = (
        water_activity_term(oxygen_pressure, water_activity)
        + 4.0 * np.log(above_zero("aluminate activity", aluminate_activity))
        - 4.0 * np.log(above_zero("hydroxide activity", hydroxide_activity))
    )
    return nernst_potential(potential, CELL_ELECTRONS, temperature, log_quotient)


def hydroxide_budget(
    hydroxide: float,
    temperature: float,
    *,
    log_constant: float,
    enthalpy: float,
    gas_constant: float,
    reference_temperature: float,
) -> tuple[float, float]:
    """How much aluminium lye can hold: at gibbsite saturation, and when free hydroxide is gone.

    Parameters
    ----------
    hydroxide : float [mol]
        Hydroxide at the start.
    temperature : float [K]
        Temperature.
    log_constant : float
        Decadic logarithm of K for Al(OH)4- = Al(OH)3 + OH- at the reference temperature.
    enthalpy : float [J/mol]
        Enthalpy of that reaction.
    gas_constant : float [J/(mol K)]
        Molar gas constant.
    reference_temperature : float [K]
        Temperature of `log_constant`.

    Returns
    -------
    tuple of float [mol]
        Aluminium at saturation with gibbsite, and at the end of free hydroxide. Saturation is
        the dilute limit and slow to come: liquors go well past it.

    Raises
    ------
    RangeError
        A value of the wrong sign.

    Notes
    -----
    K = [OH-]/[Al(OH)4-] with equal activity coefficients, n_Al = n_OH/(1 + K); van 't Hoff for
    K(T) (wesolowski_1992).

    Examples
    --------
    >>> k = {"log_constant": 1.143, "enthalpy": -22500.0, "gas_constant": 8.314462618}
    >>> held, end = hydroxide_budget(0.4, 298.15, reference_temperature=298.15, **k)
    >>> round(held * 26.9815, 2), round(end * 26.9815, 1)
    (0.72, 10.8)
    """
    free = float(not_negative("hydroxide", hydroxide))
    kelvin = float(above_zero("temperature", temperature))
    shift = -float(finite("enthalpy", enthalpy)) / (gas_constant * np.log(10.0))
    log_k = log_constant + shift * (1.0 / kelvin - 1.0 / reference_temperature)
    return free / (1.0 + 10.0 ** float(log_k)), free
