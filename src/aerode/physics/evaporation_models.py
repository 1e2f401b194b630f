"""Published models of how fast a liquid evaporates into moving air, one function each.

Over a dish on a bench they disagree about fivefold: none of them is the answer, the band of
`aerode.physics.evaporation` is.
"""

from __future__ import annotations

import math

from aerode.errors import RangeError
from aerode.physics.checked_scalars import above_zero
from aerode.physics.constants import ATMOSPHERE, GAS_CONSTANT

__all__ = [
    "laminar_plate_rate",
    "mass_transfer_rate",
    "open_pool_rate",
    "penetration_rate",
    "still_room_rate",
    "turbulent_pool_rate",
    "vapour_diffusivity",
]

WATER_MOLAR_MASS = 0.0180153  # kg/mol; from memory
AIR_MOLAR_MASS = 0.028965  # kg/mol; from memory
# from memory
AIR_VISCOSITY_25C = 1.56e-5  # kinematic, m^2/s, at 25 degC and 1 atm; varies with T^1.7
# poling_2001, table 11-1
_FULLER = {"C": 15.9, "H": 2.31, "O": 6.11, "N": 4.54, "F": 14.7, "Cl": 21.0, "S": 22.9}
_FULLER_RING, _FULLER_AIR, _FULLER_WATER = -18.3, 19.7, 13.1  # poling_2001, table 11-1
_TORR = 133.322368  # Pa; by definition (760 to the atmosphere)
_FOOT_PER_MINUTE = 0.3048 / 60.0  # m/s; by definition


def _saturated(molar_mass: float, vapour_pressure: float, temperature: float) -> float:
    """Mass of vapour per volume of saturated air [kg/m^3], ideal vapour."""
    return molar_mass * vapour_pressure / (GAS_CONSTANT * temperature)


def _air_viscosity(temperature: float) -> float:
    return AIR_VISCOSITY_25C * (temperature / 298.15) ** 1.7  # from memory


def vapour_diffusivity(
    atoms: dict[str, int],
    molar_mass: float,
    temperature: float,
    *,
    rings: int = 0,
    pressure: float = ATMOSPHERE,
) -> float:
    """The diffusivity of a vapour in air, estimated from its formula.

    Parameters
    ----------
    atoms : dict of int [1]
        Element to number of atoms, as `{"C": 7, "H": 8}`.
    molar_mass : float [kg/mol]
        Molar mass of the vapour.
    temperature : float [K]
        Temperature.
    rings : int [1]
        Aromatic or heterocyclic rings.
    pressure : float [Pa]
        Pressure.

    Returns
    -------
    float [m^2/s]
        Binary diffusivity in air.

    Raises
    ------
    RangeError
        An element without a diffusion volume, or a value that is not above zero.

    Notes
    -----
    Fuller, Schettler & Giddings (1966), Ind. Eng. Chem. 58(5), 19, with the volumes of Fuller,
    Ensley & Giddings (1969) as in Poling, Prausnitz & O'Connell (2001), eq. 11-4.4 and table 11-1
    (read in a public copy). Low pressure, nonpolar or mildly polar; mean error there
    about 4 %, some pairs over 10 %. Not for hydrogen-bonding pairs in dense gas.

    Examples
    --------
    >>> round(vapour_diffusivity({"C": 7, "H": 8}, 0.09214, 298.15, rings=1) * 1e4, 3)
    0.081
    """
    above_zero(molar_mass=molar_mass, temperature=temperature, pressure=pressure)
    unknown = sorted(set(atoms) - set(_FULLER))
    if unknown or not atoms:
        raise RangeError(
            f"no diffusion volume for {', '.join(unknown) or 'an empty formula'}",
            allowed=", ".join(_FULLER),
        )
    volume = sum(_FULLER[element] * count for element, count in atoms.items())
    volume = _FULLER_WATER if atoms == {"H": 2, "O": 1} else volume + rings * _FULLER_RING
    pair_mass = 2.0e3 / (1.0 / molar_mass + 1.0 / AIR_MOLAR_MASS)  # g/mol; poling_2001, eq. 11-4.4
    spread = (volume ** (1.0 / 3.0) + _FULLER_AIR ** (1.0 / 3.0)) ** 2
    # poling_2001, eq. 11-4.4
    return 1e-4 * 0.00143 * temperature**1.75 / (pressure / 1e5 * math.sqrt(pair_mass) * spread)


def still_room_rate(
    molar_mass: float,
    vapour_pressure: float,
    temperature: float,
    area: float,
    *,
    water_coefficient: float,
) -> float:
    """Evaporation with one fixed mass transfer coefficient, whatever the air does.

    Parameters
    ----------
    molar_mass : float [kg/mol]
        Molar mass of the liquid.
    vapour_pressure : float [Pa]
        Vapour pressure at the liquid's temperature.
    temperature : float [K]
        Temperature of the liquid.
    area : float [m^2]
        Wet area.
    water_coefficient : float [m/s]
        Mass transfer coefficient of water.

    Returns
    -------
    float [kg/s]
        Mass that evaporates in a time.

    Raises
    ------
    RangeError
        A value that is not above zero.

    Notes
    -----
    Q = M K A P / (R T), K = K0 (M0/M)^(1/3): the form of the process-safety texts. Cooling by
    evaporation is left out, so it errs high. Not for boiling liquids.

    Examples
    --------
    >>> round(still_room_rate(0.09214, 3800.0, 298.15, 0.01, water_coefficient=0.0083) * 6e7)
    408
    """
    above_zero(molar_mass=molar_mass, vapour_pressure=vapour_pressure, temperature=temperature,
            area=area, water_coefficient=water_coefficient)  # fmt: skip
    coefficient = water_coefficient * (WATER_MOLAR_MASS / molar_mass) ** (1.0 / 3.0)
    return coefficient * area * _saturated(molar_mass, vapour_pressure, temperature)


def open_pool_rate(
    molar_mass: float,
    vapour_pressure: float,
    temperature: float,
    area: float,
    air_speed: float,
    *,
    water_coefficient: float,
) -> float:
    """Evaporation of a pool in the open, the form used for the consequences of spills.

    Parameters
    ----------
    molar_mass : float [kg/mol]
        Molar mass of the liquid.
    vapour_pressure : float [Pa]
        Vapour pressure at the liquid's temperature.
    temperature : float [K]
        Temperature of the liquid.
    area : float [m^2]
        Wet area.
    air_speed : float [m/s]
        Air speed over it.
    water_coefficient : float [m/s]
        Mass transfer coefficient of water at 1 m/s.

    Returns
    -------
    float [kg/s]
        Mass that evaporates in a time.

    Raises
    ------
    RangeError
        A value that is not above zero.

    Notes
    -----
    Q = M K A P / (R T), K = K0 U^0.78 (M0/M)^(1/3). With K0 = 0.67 cm/s this is the formula of
    the US EPA guidance on offsite consequences, 0.284 U^0.78 M^(2/3) A P / (82.05 T) in pounds,
    minutes, square feet and mmHg (form from memory; the constant follows from K0). A turbulent
    pool of metres across; over a dish it errs low.

    Examples
    --------
    >>> rate = open_pool_rate(0.09214, 3799.7, 298.0, 0.09290, 1.5, water_coefficient=0.0067)
    >>> round(rate * 6e4, 1)
    4.2
    """
    above_zero(air_speed=air_speed)
    still = still_room_rate(
        molar_mass, vapour_pressure, temperature, area, water_coefficient=water_coefficient
    )
    return still * air_speed**0.78


def turbulent_pool_rate(
    molar_mass: float,
    vapour_pressure: float,
    temperature: float,
    area: float,
    air_speed: float,
    diffusivity: float,
) -> float:
    """Evaporation of a turbulent pool after Mackay and Matsugu.

    Parameters
    ----------
    molar_mass : float [kg/mol]
        Molar mass of the liquid.
    vapour_pressure : float [Pa]
        Vapour pressure at the liquid's temperature.
    temperature : float [K]
        Temperature of liquid and air.
    area : float [m^2]
        Wet area, taken as a disc.
    air_speed : float [m/s]
        Air speed over it.
    diffusivity : float [m^2/s]
        Diffusivity of the vapour in air.

    Returns
    -------
    float [kg/s]
        Mass that evaporates in a time.

    Raises
    ------
    RangeError
        A value that is not above zero.

    Notes
    -----
    k = 0.0048 U^(7/9) d^(-1/9) Sc^(-2/3) [m/s], Mackay & Matsugu (1973), Can. J. Chem. Eng. 51,
    434, as used by Kawamura & Mackay (1987) (read on a secondary page). Fitted to outdoor pools;
    over a dish it errs low.

    Examples
    --------
    >>> round(turbulent_pool_rate(0.09214, 3800.0, 298.15, 0.01, 0.05, 8.45e-6) * 6e7)
    34
    """
    above_zero(molar_mass=molar_mass, vapour_pressure=vapour_pressure, temperature=temperature,
            area=area, air_speed=air_speed, diffusivity=diffusivity)  # fmt: skip
    diameter = math.sqrt(4.0 * area / math.pi)
    schmidt = _air_viscosity(temperature) / diffusivity
    coefficient = (
        # Mackay and Matsugu 1973, from memory
        0.0048 * air_speed ** (7.0 / 9.0) * diameter ** (-1.0 / 9.0) * schmidt ** (-2.0 / 3.0)
    )
    return coefficient * area * _saturated(molar_mass, vapour_pressure, temperature)


def laminar_plate_rate(
    molar_mass: float,
    vapour_pressure: float,
    temperature: float,
    area: float,
    air_speed: float,
    diffusivity: float,
) -> float:
    """Evaporation from a flat wet plate in a laminar stream of air.

    Parameters
    ----------
    molar_mass : float [kg/mol]
        Molar mass of the liquid.
    vapour_pressure : float [Pa]
        Vapour pressure at the liquid's temperature.
    temperature : float [K]
        Temperature of liquid and air.
    area : float [m^2]
        Wet area, taken as a disc.
    air_speed : float [m/s]
        Air speed over it.
    diffusivity : float [m^2/s]
        Diffusivity of the vapour in air.

    Returns
    -------
    float [kg/s]
        Mass that evaporates in a time.

    Raises
    ------
    RangeError
        A value that is not above zero, or a Reynolds number past 5e5.

    Notes
    -----
    Sh = 0.664 Re^(1/2) Sc^(1/3), the boundary layer solution of every text on mass transfer; Re
    below 5e5. A rim that shelters the liquid slows it.

    Examples
    --------
    >>> round(laminar_plate_rate(0.09214, 3800.0, 298.15, 0.01, 0.05, 8.45e-6) * 6e7)
    98
    """
    above_zero(molar_mass=molar_mass, vapour_pressure=vapour_pressure, temperature=temperature,
            area=area, air_speed=air_speed, diffusivity=diffusivity)  # fmt: skip
    length = math.sqrt(4.0 * area / math.pi)
    viscosity = _air_viscosity(temperature)
    reynolds = air_speed * length / viscosity
    if reynolds > 5e5:  # laminar to there: common practice, no source
        raise RangeError(f"a Reynolds number of {reynolds:.3g} is not laminar", allowed="below 5e5")
    # boundary layer over a plate, from memory
    sherwood = 0.664 * math.sqrt(reynolds) * (viscosity / diffusivity) ** (1.0 / 3.0)
    coefficient = sherwood * diffusivity / length
    return coefficient * area * _saturated(molar_mass, vapour_pressure, temperature)


def penetration_rate(
    molar_mass: float, vapour_pressure: float, temperature: float, area: float, air_speed: float
) -> float:
    """Evaporation by the penetration model, for slow air.

    Parameters
    ----------
    molar_mass : float [kg/mol]
        Molar mass of the liquid.
    vapour_pressure : float [Pa]
        Vapour pressure at the liquid's temperature.
    temperature : float [K]
        Temperature of liquid and air.
    area : float [m^2]
        Wet area, taken as a disc.
    air_speed : float [m/s]
        Air speed over it, at most 0.51 m/s (100 feet per minute).

    Returns
    -------
    float [kg/s]
        Mass that evaporates in a time.

    Raises
    ------
    RangeError
        A value that is not above zero, or faster air.

    Notes
    -----
    G[g/s] = 8.24e-8 M^0.835 P[torr] (1/29 + 1/M)^0.25 v^0.5[ft/min] A[cm^2] /
    (T^0.05 d^0.5[cm] p^0.5[atm]), after Hummel and others as used for new chemicals by the US EPA
    (constants from memory, unverified). At 1 atm.

    Examples
    --------
    >>> round(penetration_rate(0.09214, 3800.0, 298.15, 0.01, 0.05) * 6e7)
    200
    """
    above_zero(molar_mass=molar_mass, vapour_pressure=vapour_pressure, temperature=temperature,
            area=area, air_speed=air_speed)  # fmt: skip
    speed = air_speed / _FOOT_PER_MINUTE
    if speed > 101.0:
        raise RangeError(f"air at {air_speed:g} m/s is too fast here", allowed="at most 0.51 m/s")
    mass = 1e3 * molar_mass
    diameter = 100.0 * math.sqrt(4.0 * area / math.pi)
    gathered = (1.0 / 29.0 + 1.0 / mass) ** 0.25 * math.sqrt(speed / diameter) / temperature**0.05
    return 8.24e-11 * mass**0.835 * (vapour_pressure / _TORR) * gathered * (1e4 * area)


def mass_transfer_rate(
    molar_mass: float, vapour_pressure: float, temperature: float, area: float, air_speed: float
) -> float:
    """Evaporation by the mass transfer model that goes with the penetration model, for faster air.

    Parameters
    ----------
    molar_mass : float [kg/mol]
        Molar mass of the liquid.
    vapour_pressure : float [Pa]
        Vapour pressure at the liquid's temperature.
    temperature : float [K]
        Temperature of liquid and air.
    area : float [m^2]
        Wet area, taken as a disc.
    air_speed : float [m/s]
        Air speed over it.

    Returns
    -------
    float [kg/s]
        Mass that evaporates in a time.

    Raises
    ------
    RangeError
        A value that is not above zero.

    Notes
    -----
    G[g/s] = 1.93e-7 M^0.78 P[torr] v^0.78[ft/min] A[cm^2] /
    (T^0.4 d^0.11[cm] (T^0.5 - 5.87)^(2/3)), constants from memory, unverified.

    Examples
    --------
    >>> round(mass_transfer_rate(0.09214, 3800.0, 298.15, 0.01, 0.5) * 6e7)
    624
    """
    above_zero(molar_mass=molar_mass, vapour_pressure=vapour_pressure, temperature=temperature,
            area=area, air_speed=air_speed)  # fmt: skip
    mass = 1e3 * molar_mass
    diameter = 100.0 * math.sqrt(4.0 * area / math.pi)
    below = temperature**0.4 * diameter**0.11 * (math.sqrt(temperature) - 5.87) ** (2.0 / 3.0)
    speed = air_speed / _FOOT_PER_MINUTE
    return 1.93e-10 * mass**0.78 * (vapour_pressure / _TORR) * speed**0.78 * (1e4 * area) / below
