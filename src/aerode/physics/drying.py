"""How long a wet coat takes to dry: the free liquid as a band, then what the binder holds back.

Two stages. First the surface is wet and the air decides (`aerode.physics.evaporation`). Then the
last per cent has to diffuse out of the polymer, and that takes as long as it takes: only a scale
tells when it is over.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerode import units
from aerode.errors import CannotTellError, RangeError
from aerode.physics.checked_scalars import above_zero, not_negative, proper_share
from aerode.physics.constants import GAS_CONSTANT
from aerode.physics.heating import mean_progress, time_for_progress

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

__all__ = [
    "DryingBand",
    "blend_drying_time",
    "blend_left",
    "critical_cracking_thickness",
    "dry_over_wet_thickness",
    "drying_band",
    "evaporation_heat",
    "late_drying_time",
    "settled_mass",
    "solvent_left",
    "wet_bulb_temperature",
]


@dataclass(frozen=True, slots=True)
class DryingBand:
    """Times [s]: of the free liquid (low, centre, high) and of the last solvent (low, high)."""

    free_low: float
    free_centre: float
    free_high: float
    late_low: float
    late_high: float

    @property
    def low(self) -> float:
        """The shortest time that the models allow [s]."""
        return self.free_low + self.late_low

    @property
    def high(self) -> float:
        """The longest [s]."""
        return self.free_high + self.late_high


def blend_drying_time(masses: Sequence[float], rates: Sequence[float]) -> float:
    """How long a mixture of liquids takes to evaporate from a surface that stays wet.

    Parameters
    ----------
    masses : sequence of float [kg]
        Of each liquid.
    rates : sequence of float [kg/s]
        At which each would evaporate alone from that surface.

    Returns
    -------
    float [s]
        The sum of the times that each would take alone.

    Raises
    ------
    RangeError
        Lists of different length, a negative mass, or a rate that is not above zero.

    Notes
    -----
    Exact for an ideal mixture (Raoult): with x_i = n_i/n each n_i falls as exp(-r_i s), ds = dt/n,
    so t = int n ds = sum n_i/r_i. Not ideal: alcohol with water leaves as an azeotrope, and
    dissolved polymer holds the last part back.

    Examples
    --------
    >>> round(blend_drying_time([1e-3, 2e-3], [1e-6, 4e-6]), 6)
    1500.0
    """
    _paired(masses, rates)
    return sum(mass / rate for mass, rate in zip(masses, rates, strict=True))


def _paired(masses: Sequence[float], rates: Sequence[float]) -> None:
    if len(masses) != len(rates) or not masses:
        raise RangeError(
            "each liquid needs a mass and a rate", where="masses", allowed="equal lists"
        )
    for mass, rate in zip(masses, rates, strict=True):
        not_negative(mass=mass)
        above_zero(rate=rate)


def blend_left(
    masses: Sequence[float], molar_masses: Sequence[float], rates: Sequence[float], left: float
) -> tuple[float, ...]:
    """What a drying mixture consists of once so much of it is left: the slowest liquid stays last.

    Parameters
    ----------
    masses : sequence of float [kg]
        Of each liquid at the start.
    molar_masses : sequence of float [kg/mol]
        Of each.
    rates : sequence of float [kg/s]
        At which each would evaporate alone.
    left : float [1]
        Share of the whole mass that is still there, above 0 and below 1.

    Returns
    -------
    tuple of float [1]
        Mass shares of the liquids then, in the same order.

    Raises
    ------
    RangeError
        A value outside its range.

    Notes
    -----
    n_i = n_i0 exp(-r_i s) with r_i the molar rate alone, the same s for all (see
    `blend_drying_time`); s is found where the masses add up to what is left. Ideal mixture.

    Examples
    --------
    >>> [round(x, 3) for x in blend_left([1.0, 1.0], [0.058, 0.092], [4e-6, 1e-6], 0.3)]
    [0.048, 0.952]
    """
    from scipy.optimize import brentq

    _paired(masses, rates)
    proper_share(left=left)
    for mass in molar_masses:
        above_zero(molar_mass=mass)
    total = sum(masses)
    speeds = [rate / molar for rate, molar in zip(rates, molar_masses, strict=True)]

    def still(step: float) -> list[float]:
        return [m * math.exp(-speed * step) for m, speed in zip(masses, speeds, strict=True)]

    end = -math.log(left) / min(speeds)
    step = float(brentq(lambda s: sum(still(s)) - left * total, 0.0, end, xtol=end * 1e-12))
    parts = still(step)
    return tuple(part / sum(parts) for part in parts)


def evaporation_heat(pressure_at: Callable[[float], float], temperature: float) -> float:
    """The heat that evaporation takes, from the slope of the vapour pressure.

    Parameters
    ----------
    pressure_at : callable
        Vapour pressure [Pa] at a temperature [K].
    temperature : float [K]
        Temperature, well below boiling.

    Returns
    -------
    float [J/mol]

    Raises
    ------
    RangeError
        A temperature or a pressure that is not above zero.

    Notes
    -----
    R ln(p2/p1)/(1/T1 - 1/T2) over half a kelvin on each side: Clausius and Clapeyron for an ideal
    vapour; 1 to 3 % high near boiling.

    Examples
    --------
    >>> from aerode.physics.vapour_pressure import antoine_pressure
    >>> toluene = lambda t: float(antoine_pressure(t, 9.05043, 1327.62, -55.525))
    >>> round(evaporation_heat(toluene, 298.15) / 1e3, 1)
    38.4
    """
    above_zero(temperature=temperature)
    cold, warm = temperature - 0.5, temperature + 0.5
    low, high = pressure_at(cold), pressure_at(warm)
    above_zero(vapour_pressure=low)
    return GAS_CONSTANT * math.log(high / low) / (1.0 / cold - 1.0 / warm)


def wet_bulb_temperature(
    air: float,
    molar_mass: float,
    heat_of_evaporation: float,
    pressure_at: Callable[[float], float],
    *,
    diffusivity: float,
    air_thermal_diffusivity: float,
    air_specific_heat: float,
    air_density: float,
    ambient: float = 0.0,
) -> float:
    """How far a wet surface cools itself while it dries: the coldest it gets.

    Parameters
    ----------
    air : float [K]
        Temperature of the air.
    molar_mass : float [kg/mol]
        Of the liquid.
    heat_of_evaporation : float [J/mol]
        Of the liquid.
    pressure_at : callable
        Vapour pressure [Pa] at a temperature [K].
    diffusivity : float [m^2/s]
        Of the vapour in air.
    air_thermal_diffusivity : float [m^2/s]
        Of air.
    air_specific_heat : float [J/(kg K)]
        Of air.
    air_density : float [kg/m^3]
        Of air.
    ambient : float [Pa]
        Pressure of that vapour already in the air.

    Returns
    -------
    float [K]
        Between 150 K and the air. A coat on a bench or a mesh gets heat from below and stays
        warmer than this.

    Raises
    ------
    RangeError
        A value that is not above zero, or an ambient pressure above saturation.

    Notes
    -----
    T_a - T = M h/(R rho c_p Le^(2/3)) (p(T)/T - p_a/T_a), Le = alpha/D, h per mass: heat that comes
    by convection equals heat that goes with the vapour, both through the same boundary layer
    (Chilton & Colburn analogy; Incropera and others, section 6.7.2). No radiation.

    Examples
    --------
    >>> from aerode.physics.vapour_pressure import antoine_pressure
    >>> water = lambda t: float(antoine_pressure(t, 10.19621, 1730.63, -39.724))
    >>> cold = wet_bulb_temperature(
    ...     298.15, 0.018015, 44000.0, water, diffusivity=2.5e-5, air_thermal_diffusivity=2.141e-5,
    ...     air_specific_heat=1007.0, air_density=1.184)
    >>> round(cold - 273.15, 1)
    7.2
    """
    from scipy.optimize import brentq

    above_zero(air=air, molar_mass=molar_mass, heat_of_evaporation=heat_of_evaporation,
               diffusivity=diffusivity, air_thermal_diffusivity=air_thermal_diffusivity,
               air_specific_heat=air_specific_heat, air_density=air_density)  # fmt: skip
    not_negative(ambient=ambient)
    if ambient > pressure_at(air) * (1.0 + 1e-9):  # numerical
        raise RangeError(
            "more vapour in the air than it can hold", where="ambient",
            allowed=f"at most {pressure_at(air):.4g} Pa", next_step="give the humidity below 100 %",
        )  # fmt: skip
    lewis = (air_thermal_diffusivity / diffusivity) ** (2.0 / 3.0)
    scale = heat_of_evaporation / (GAS_CONSTANT * air_density * air_specific_heat * lewis)

    def warmer(kelvin: float) -> float:
        return air - kelvin - scale * (pressure_at(kelvin) / kelvin - ambient / air)

    lowest = 150.0  # K, below the freezing point of every solvent on file; numerical: a bracket
    return float(brentq(warmer, lowest, air, xtol=1e-6)) if warmer(lowest) > 0.0 else lowest


def late_drying_time(
    thickness: float,
    diffusivity: float,
    left: float = 0.01,  # judgement
    *,
    faces: int = 1,
) -> float:
    """How long the last solvent takes to diffuse out of a film of polymer.

    Parameters
    ----------
    thickness : float [m]
        Of the polymer the solvent has to cross: the whole coat where the binder fills it, the skin
        of binder around a grain where gas paths reach in.
    diffusivity : float [m^2/s]
        Of the solvent in the nearly dry polymer.
    left : float [1]
        Share of what was there that may stay.
    faces : int
        Faces it can leave by, 1 or 2.

    Returns
    -------
    float [s]

    Raises
    ------
    RangeError
        A value outside its range.

    Notes
    -----
    The exact series for a sheet (Crank 1975, equation 4.18), diffusivity constant. It is not: it
    falls a hundredfold while the polymer dries, below its glass transition the rest stays for
    weeks, and warmth inside the limits is what brings it out.

    Examples
    --------
    >>> round(late_drying_time(5e-6, 1e-13, 0.01) / 60.0, 1)
    7.4
    """
    above_zero(thickness=thickness, diffusivity=diffusivity)
    proper_share(left=left)
    if faces not in (1, 2):
        raise RangeError(f"{faces} faces", where="faces", allowed="1 or 2")
    path = thickness / faces
    return time_for_progress(1.0 - left, math.inf) * path**2 / diffusivity


def solvent_left(time: float, thickness: float, diffusivity: float, *, faces: int = 1) -> float:
    """The share of the last solvent that is still in a film of polymer after some time.

    Parameters
    ----------
    time : float [s]
        Time since the surface dried.
    thickness : float [m]
        Of the polymer.
    diffusivity : float [m^2/s]
        Of the solvent in it.
    faces : int
        Faces it can leave by, 1 or 2.

    Returns
    -------
    float [1]

    Raises
    ------
    RangeError
        A value outside its range.

    Notes
    -----
    The inverse of `late_drying_time`, with its limits.

    Examples
    --------
    >>> round(solvent_left(444.0, 5e-6, 1e-13), 3)
    0.01
    """
    not_negative(time=time)
    above_zero(thickness=thickness, diffusivity=diffusivity)
    if faces not in (1, 2):
        raise RangeError(f"{faces} faces", where="faces", allowed="1 or 2")
    return 1.0 - mean_progress(diffusivity * time * faces**2 / thickness**2, math.inf)


def drying_band(
    free: tuple[float, float, float],
    *,
    paths: tuple[float, float],
    diffusivities: tuple[float, float],
    left: float,
) -> DryingBand:
    """Both stages of drying as one band.

    Parameters
    ----------
    free : tuple of float [s]
        Shortest, likely and longest time of the free liquid.
    paths : tuple of float [m]
        Shortest and longest way through polymer.
    diffusivities : tuple of float [m^2/s]
        Lowest and highest diffusivity of the solvent in it.
    left : float [1]
        Share of the last solvent that may stay.

    Returns
    -------
    DryingBand

    Raises
    ------
    RangeError
        A band that is crossed, or a value outside its range.

    Notes
    -----
    Short way with high diffusivity, long way with low: the ends of what is not known, not an
    interval of any probability.

    Examples
    --------
    >>> band = drying_band((300.0, 900.0, 3600.0), paths=(1e-6, 1e-5), diffusivities=(1e-13, 1e-11),
    ...                    left=0.01)
    >>> round(band.low), round(band.high)
    (300, 5381)
    """
    low, centre, high = free
    if not 0.0 <= low <= centre <= high:
        raise RangeError("the times are crossed", where="free", allowed="shortest, likely, longest")
    for ends in (paths, diffusivities):
        if ends[0] > ends[1]:
            raise RangeError("a band is crossed", allowed="the lower end first")
    return DryingBand(
        low,
        centre,
        high,
        late_drying_time(paths[0], diffusivities[1], left),
        late_drying_time(paths[1], diffusivities[0], left),
    )


def dry_over_wet_thickness(solids_volume_share: float, porosity: float) -> float:
    """How far a coat sinks while it dries.

    Parameters
    ----------
    solids_volume_share : float [1]
        Volume of solids in a volume of wet coat.
    porosity : float [1]
        Void of the dry coat.

    Returns
    -------
    float [1]
        Dry thickness over wet thickness; at most 1.

    Raises
    ------
    RangeError
        A share outside 0 to 1, or a dry coat thicker than the wet one.

    Notes
    -----
    phi/(1 - eps): the solids stay, and the coat shrinks in thickness alone, since it sticks to the
    mesh. What it cannot shrink sideways is the stress that cracks it.

    Examples
    --------
    >>> round(dry_over_wet_thickness(0.1, 0.65), 3)
    0.286
    """
    proper_share(solids_volume_share=solids_volume_share)
    if not 0.0 <= porosity < 1.0:
        raise RangeError(f"a porosity of {porosity:g}", where="porosity", allowed="0 to below 1")
    ratio = solids_volume_share / (1.0 - porosity)
    if ratio > 1.0:
        raise RangeError(
            f"a wet coat with {units.per_cent(solids_volume_share)} of solids cannot dry to {units.per_cent(porosity)} void",
            where="porosity", allowed=f"at most {1.0 - solids_volume_share:.2f}",
            next_step="look again at solids and porosity",
        )  # fmt: skip
    return ratio


def critical_cracking_thickness(
    grain_radius: float,
    shear_modulus: float,
    surface_tension: float,
    *,
    packing: float,
    contacts: float,
    factor: float,
    power: float,
    contact_angle: float = 0.0,
) -> float:
    """The thickness above which a coat of hard grains without binder cracks while it dries: a hint.

    Parameters
    ----------
    grain_radius : float [m]
        Of the finest grains that make up most of the solids, or of their lumps.
    shear_modulus : float [Pa]
        Of the grains.
    surface_tension : float [N/m]
        Of the liquid that leaves last.
    packing : float [1]
        Share of solid in the wet packing at the moment it cracks, as 0.64.
    contacts : float [1]
        Neighbours of a grain, as 6.
    factor, power : float [1]
        Numbers of the model.
    contact_angle : float [rad]
        Of the liquid on the grains, below pi/2.

    Returns
    -------
    float [m]
        Grows with the grain radius to the power 3/2: fine blacks crack in thin coats, chars do not.

    Raises
    ------
    RangeError
        A value outside its range.

    Notes
    -----
    h = factor sqrt(G M phi R^3/(2 sigma)) (2 sigma/(P R))^power with the highest capillary pressure
    P = (2 sigma/R) 3 phi cos(theta)/(2 (1 - phi)): Tirumkudulu & Russel (2005), Langmuir 21:4938, as
    a coatings page prints it. Hard equal spheres, no binder: binder raises it, a skin, a draught or
    lumps lower it. Compare two coats with it; do not trust the number.

    Examples
    --------
    >>> thin = critical_cracking_thickness(1e-7, 1e9, 0.0228, packing=0.64, contacts=6.0,
    ...                                    factor=0.64, power=1.5)
    >>> round(thin * 1e6, 1)
    1.3
    """
    above_zero(grain_radius=grain_radius, shear_modulus=shear_modulus, contacts=contacts,
               surface_tension=surface_tension, factor=factor, power=power)  # fmt: skip
    proper_share(packing=packing)
    if not 0.0 <= contact_angle < math.pi / 2.0:
        raise RangeError(
            "a liquid that does not wet the grains pulls on nothing", where="contact_angle",
            allowed="0 to below pi/2",
        )  # fmt: skip
    stiff = math.sqrt(
        shear_modulus * contacts * packing * grain_radius**3 / (2.0 * surface_tension)
    )
    pull = 3.0 * packing * math.cos(contact_angle) / (2.0 * (1.0 - packing))
    return factor * stiff * pull**-power


def settled_mass(first: float, second: float, third: float, resolution: float = 0.0) -> float:
    """Where the weight of a drying piece is heading, from three weighings at equal times.

    Parameters
    ----------
    first, second, third : float [kg]
        Masses, one interval apart.
    resolution : float [kg]
        Smallest step of the scale.

    Returns
    -------
    float [kg]
        The mass it settles at if the loss goes on falling by the same factor.

    Raises
    ------
    RangeError
        A mass that is not above zero.
    CannotTellError
        The loss does not fall, or is not above what the scale can see.

    Notes
    -----
    m - d2^2/(d1 - d2) with the losses d1 and d2: Aitken's extrapolation, exact for one exponential.
    Late drying is slower than one exponential, so the true mass lies lower.

    Examples
    --------
    >>> round(settled_mass(1.20, 1.10, 1.05), 3)
    1.0
    """
    above_zero(first=first, second=second, third=third)
    not_negative(resolution=resolution)
    one, two = first - second, second - third
    if min(one, two) <= resolution or one - two <= resolution:
        raise CannotTellError(
            "the three weighings do not show a loss that slows down",
            where="weighings",
            allowed="losses above the step of the scale, the second smaller than the first",
            next_step="wait longer between the weighings, or use a finer scale",
        )
    return third - two**2 / (one - two)
