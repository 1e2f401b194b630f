"""Hydrogen from aluminium and from cells: how much, how fast, how much air, how much pressure.

The rate is always a current (the hydrogen-equivalent current): from a mass loss, from a gas volume,
or from an assumed corrosion current density, which the caller has to name as such.
"""

from __future__ import annotations

import math

from aerode.errors import RangeError
from aerode.physics.checked_scalars import above_zero, not_negative
from aerode.physics.constants import ATMOSPHERE, FARADAY, GAS_CONSTANT

__all__ = [
    "aluminium_charge",
    "corrosion_current",
    "current_from_gas",
    "current_from_mass_loss",
    "dilution_flow",
    "hydrogen_mass",
    "hydrogen_volume",
    "pressure_rise",
    "safety_factor_flow",
    "steady_share",
    "time_to_share_closed",
]

HYDROGEN_MOLAR_MASS = 2.01588e-3  # kg/mol; standard atomic weights, from memory
ALUMINIUM_MOLAR_MASS = 26.9815385e-3  # kg/mol; standard atomic weight, from memory
ALUMINIUM_ELECTRONS = 3
HYDROGEN_ELECTRONS = 2


def hydrogen_mass(charge: float) -> float:
    """The mass of hydrogen that a charge makes.

    Parameters
    ----------
    charge : float [C]
        Charge that reduces water.

    Returns
    -------
    float [kg]

    Raises
    ------
    RangeError
        A negative charge.

    Notes
    -----
    m = Q M / (2 F), Faraday.

    Examples
    --------
    >>> round(hydrogen_mass(3600.0) * 1e3, 5)
    0.03761
    """
    not_negative(charge=charge)
    return charge * HYDROGEN_MOLAR_MASS / (HYDROGEN_ELECTRONS * FARADAY)


def hydrogen_volume(
    charge: float,
    temperature: float = 298.15,  # judgement: a room of 25 degC
    pressure: float = ATMOSPHERE,
) -> float:
    """The dry volume of hydrogen that a charge makes.

    Parameters
    ----------
    charge : float [C]
        Charge that reduces water (a current in A gives m^3/s).
    temperature : float [K]
        Temperature of the gas.
    pressure : float [Pa]
        Pressure.

    Returns
    -------
    float [m^3]

    Raises
    ------
    RangeError
        A negative charge, or another value not above zero.

    Notes
    -----
    V = Q R T / (2 F p), ideal gas; 0.42 L/Ah in the battery room standard is the value at 0 degC.

    Examples
    --------
    >>> round(hydrogen_volume(3600.0, 273.15) * 1e3, 4), round(hydrogen_volume(3600.0) * 1e3, 4)
    (0.4181, 0.4564)
    """
    not_negative(charge=charge)
    above_zero(temperature=temperature, pressure=pressure)
    return charge * GAS_CONSTANT * temperature / (HYDROGEN_ELECTRONS * FARADAY * pressure)


def aluminium_charge(mass: float) -> float:
    """The charge that a mass of aluminium stands for, in a cell or in hydrogen.

    Parameters
    ----------
    mass : float [kg]
        Aluminium dissolved.

    Returns
    -------
    float [C]

    Raises
    ------
    RangeError
        A negative mass.

    Notes
    -----
    Q = 3 F m / M. All of it as hydrogen: 2 Al + 6 H2O -> 2 Al(OH)3 + 3 H2.

    Examples
    --------
    >>> round(hydrogen_volume(aluminium_charge(1e-3)) * 1e3, 3)
    1.36
    """
    not_negative(mass=mass)
    return ALUMINIUM_ELECTRONS * FARADAY * mass / ALUMINIUM_MOLAR_MASS


def corrosion_current(current_density: float, area: float, cells: int = 1) -> float:
    """The hydrogen-equivalent current of wetted aluminium.

    Parameters
    ----------
    current_density : float [A/m^2]
        Corrosion current density.
    area : float [m^2]
        Wetted aluminium of one cell.
    cells : int [1]
        Number of cells; each makes its own gas, in series or not.

    Returns
    -------
    float [A]

    Raises
    ------
    RangeError
        A negative value, or fewer than one cell.

    Examples
    --------
    >>> round(corrosion_current(100.0, 0.005, 6), 6)
    3.0
    """
    not_negative(current_density=current_density, area=area)
    if cells < 1:
        raise RangeError(f"{cells} cells", allowed="1 or more")
    return cells * current_density * area


def current_from_mass_loss(mass_lost: float, time: float, discharge: float = 0.0) -> float:
    """The hydrogen-equivalent current that a loss of aluminium shows.

    Parameters
    ----------
    mass_lost : float [kg]
        Aluminium lost, gel brushed off.
    time : float [s]
        Time it took.
    discharge : float [C]
        Charge that was drawn from the cell meanwhile.

    Returns
    -------
    float [A]

    Raises
    ------
    RangeError
        No time, a negative value, or more charge drawn than the loss can give.

    Notes
    -----
    I = (3 F m / M - Q) / t: what was lost and not drawn went into hydrogen.

    Examples
    --------
    >>> round(current_from_mass_loss(1e-3, 3600.0), 3)
    2.98
    """
    not_negative(discharge=discharge)
    above_zero(time=time)
    excess = aluminium_charge(mass_lost) - discharge
    if excess < 0.0:
        raise RangeError(
            "more charge was drawn than this loss of aluminium can give",
            allowed="a larger loss or a smaller charge",
            next_step="weigh the aluminium again, dry and free of gel",
        )
    return excess / time


def current_from_gas(
    volume: float,
    time: float,
    temperature: float = 298.15,  # judgement: a room of 25 degC
    pressure: float = ATMOSPHERE,
    water_vapour_pressure: float = 0.0,
) -> float:
    """The hydrogen-equivalent current that a volume of caught gas shows.

    Parameters
    ----------
    volume : float [m^3]
        Gas caught over water or brine.
    time : float [s]
        Time it took.
    temperature : float [K]
        Temperature of the gas.
    pressure : float [Pa]
        Pressure of the gas.
    water_vapour_pressure : float [Pa]
        Water vapour in it.

    Returns
    -------
    float [A]

    Raises
    ------
    RangeError
        A value that is not above zero, or vapour above the pressure.

    Notes
    -----
    I = 2 F (p - pw) V / (R T t), ideal gas.

    Examples
    --------
    >>> round(current_from_gas(0.4564e-3, 3600.0), 3)
    1.0
    """
    above_zero(time=time, temperature=temperature, pressure=pressure)
    not_negative(volume=volume, water_vapour_pressure=water_vapour_pressure)
    if water_vapour_pressure >= pressure:
        raise RangeError("the water vapour is above the pressure", allowed="less vapour")
    moles = (pressure - water_vapour_pressure) * volume / (GAS_CONSTANT * temperature)
    return HYDROGEN_ELECTRONS * FARADAY * moles / time


def dilution_flow(
    current: float,
    share: float,
    temperature: float = 298.15,  # judgement: a room of 25 degC
) -> float:
    """The fresh air that keeps the hydrogen of a current below a share by volume.

    Parameters
    ----------
    current : float [A]
        Hydrogen-equivalent current of everything in the space.
    share : float [1]
        Share of hydrogen to stay below, as 0.01 (a quarter of the lower limit).
    temperature : float [K]
        Temperature of the gas.

    Returns
    -------
    float [m^3/s]

    Raises
    ------
    RangeError
        A negative current or a share outside 0 to 1.

    Notes
    -----
    Q = v (1 - c)/c with v the volume of hydrogen in a time, exact for a well-mixed space. Under a
    lid or a ceiling hydrogen gathers first.

    Examples
    --------
    >>> round(dilution_flow(3.0, 0.01) * 3600, 5)
    0.13556
    """
    if not 0.0 < share < 1.0:
        raise RangeError(f"a share of {share}", allowed="between 0 and 1")
    return hydrogen_volume(current, temperature) * (1.0 - share) / share


def safety_factor_flow(
    current: float, *, volume_per_charge: float, dilution: float, safety_factor: float
) -> float:
    """The fresh air of the battery room formula, with the gas current of the cells put in.

    Parameters
    ----------
    current : float [A]
        Gas current of all cells together: n I_gas C in a battery room, the hydrogen-equivalent
        current for aluminium cells.
    volume_per_charge : float [m^3/C]
        Hydrogen for each coulomb.
    dilution : float [1]
        Dilution to the lower flammable limit.
    safety_factor : float [1]
        General safety factor.

    Returns
    -------
    float [m^3/s]

    Raises
    ------
    RangeError
        A negative current, or another value not above zero.

    Notes
    -----
    Q = v q s n I_gas C_rt, EN 50272-2/-3 and EN IEC 62485-2/-3 (read on public calculation pages):
    v = 24, q = 0.42e-3 m^3/Ah, s = 5, hence 0.05 m^3/h for each ampere.

    Examples
    --------
    >>> q = safety_factor_flow(1.0, volume_per_charge=0.42e-3 / 3600, dilution=24.0, safety_factor=5.0)
    >>> round(q * 3600, 4)
    0.0504
    """
    not_negative(current=current)
    above_zero(volume_per_charge=volume_per_charge, dilution=dilution, safety_factor=safety_factor)
    return dilution * volume_per_charge * safety_factor * current


def steady_share(
    current: float,
    flow: float,
    temperature: float = 298.15,  # judgement: a room of 25 degC
) -> float:
    """The share of hydrogen that a space with fresh air ends at.

    Parameters
    ----------
    current : float [A]
        Hydrogen-equivalent current.
    flow : float [m^3/s]
        Fresh air.
    temperature : float [K]
        Temperature of the gas.

    Returns
    -------
    float [1]
        1 where there is no fresh air.

    Raises
    ------
    RangeError
        A negative value.

    Notes
    -----
    c = v/(v + Q), the inverse of `dilution_flow`.

    Examples
    --------
    >>> round(steady_share(3.0, dilution_flow(3.0, 0.01)), 6)
    0.01
    """
    not_negative(flow=flow)
    rate = hydrogen_volume(current, temperature)
    return rate / (rate + flow) if rate > 0.0 else 0.0


def time_to_share_closed(
    current: float,
    share: float,
    volume: float,
    temperature: float = 298.15,  # judgement: a room of 25 degC
) -> float:
    """How long a box without fresh air takes to reach a share of hydrogen.

    Parameters
    ----------
    current : float [A]
        Hydrogen-equivalent current, above zero.
    share : float [1]
        Share of hydrogen, as 0.01.
    volume : float [m^3]
        Free volume of the box.
    temperature : float [K]
        Temperature of the gas.

    Returns
    -------
    float [s]

    Raises
    ------
    RangeError
        A value that is not above zero, or a share outside 0 to 1.

    Notes
    -----
    The gas pushes mixed air out at constant pressure: c = 1 - exp(-v t / V).

    Examples
    --------
    >>> round(time_to_share_closed(0.01, 0.01, 0.001) / 60)
    132
    """
    above_zero(current=current, volume=volume)
    if not 0.0 < share < 1.0:
        raise RangeError(f"a share of {share}", allowed="between 0 and 1")
    return -volume * math.log1p(-share) / hydrogen_volume(current, temperature)


def pressure_rise(
    charge: float,
    headspace: float,
    temperature: float = 298.15,  # judgement: a room of 25 degC
) -> float:
    """The pressure that hydrogen adds in a capped container.

    Parameters
    ----------
    charge : float [C]
        Charge that makes hydrogen, `aluminium_charge` of all the aluminium for the worst case.
    headspace : float [m^3]
        Gas space.
    temperature : float [K]
        Temperature of the gas.

    Returns
    -------
    float [Pa]

    Raises
    ------
    RangeError
        A negative charge, or another value not above zero.

    Notes
    -----
    dp = n R T / V, ideal gas; a container that warms up adds more.

    Examples
    --------
    >>> round(pressure_rise(aluminium_charge(1e-3), 0.5e-3) / 1e3, 1)
    275.6
    """
    not_negative(charge=charge)
    above_zero(headspace=headspace, temperature=temperature)
    return charge / (HYDROGEN_ELECTRONS * FARADAY) * GAS_CONSTANT * temperature / headspace
