"""What is breathed against its limit: shares by volume, time-weighted averages, mixtures."""

from __future__ import annotations

from collections.abc import Sequence

from aerode.errors import RangeError
from aerode.physics.checked_scalars import above_zero, not_negative
from aerode.physics.constants import ATMOSPHERE, GAS_CONSTANT

__all__ = [
    "mass_concentration",
    "mixture_index",
    "mixture_limit",
    "mole_fraction",
    "time_weighted_average",
]


def mass_concentration(
    mole_fraction: float,
    molar_mass: float,
    temperature: float = 298.15,  # 25 degC, as limits are stated: cfr_1910_1000
    pressure: float = ATMOSPHERE,
) -> float:
    """A share by volume as mass per volume of air.

    Parameters
    ----------
    mole_fraction : float [1]
        Share by volume (1 ppm = 1e-6).
    molar_mass : float [kg/mol]
        Molar mass.
    temperature : float [K]
        Temperature of the air; limits are stated at 298.15 K.
    pressure : float [Pa]
        Pressure.

    Returns
    -------
    float [kg/m^3]

    Raises
    ------
    RangeError
        A negative share, or another value that is not above zero.

    Notes
    -----
    c = y M p / (R T), ideal gas; at 25 degC and 1 atm the 24.45 L/mol of the limit tables.

    Examples
    --------
    >>> round(mass_concentration(200e-6, 0.09214) * 1e6, 1)
    753.2
    """
    not_negative(mole_fraction=mole_fraction)
    above_zero(molar_mass=molar_mass, temperature=temperature, pressure=pressure)
    return mole_fraction * molar_mass * pressure / (GAS_CONSTANT * temperature)


def mole_fraction(
    concentration: float,
    molar_mass: float,
    temperature: float = 298.15,  # 25 degC, as limits are stated: cfr_1910_1000
    pressure: float = ATMOSPHERE,
) -> float:
    """Mass per volume of air as a share by volume; the inverse of `mass_concentration`.

    Parameters
    ----------
    concentration : float [kg/m^3]
        Mass of vapour per volume of air.
    molar_mass : float [kg/mol]
        Molar mass.
    temperature : float [K]
        Temperature of the air.
    pressure : float [Pa]
        Pressure.

    Returns
    -------
    float [1]

    Raises
    ------
    RangeError
        A negative concentration, or another value that is not above zero.

    Notes
    -----
    y = c R T / (M p), ideal gas. Above about a tenth by volume the vapour displaces air and the
    models of this module no longer hold.

    Examples
    --------
    >>> round(mole_fraction(753.2e-6, 0.09214) * 1e6)
    200
    """
    not_negative(concentration=concentration)
    above_zero(molar_mass=molar_mass, temperature=temperature, pressure=pressure)
    return concentration * GAS_CONSTANT * temperature / (molar_mass * pressure)


def time_weighted_average(
    concentrations: Sequence[float],
    durations: Sequence[float],
    window: float = 28800.0,  # 8 h: cfr_1910_1000
) -> float:
    """The time-weighted average of a day of measured or estimated stretches.

    Parameters
    ----------
    concentrations : sequence of float (n,) [any one unit]
        Concentration in each stretch.
    durations : sequence of float (n,) [s]
        How long each lasted; time that is not named counts as zero.
    window : float [s]
        Time the limit averages over.

    Returns
    -------
    float
        In the unit of the concentrations.

    Raises
    ------
    RangeError
        Lengths that differ, a negative value, or stretches longer than the window.

    Notes
    -----
    E = sum(C_i T_i) / 8 h, 29 CFR 1910.1000(d)(1)(i).

    Examples
    --------
    >>> time_weighted_average([150.0, 75.0, 50.0], [7200.0, 7200.0, 14400.0])
    81.25
    """
    above_zero(window=window)
    if len(concentrations) != len(durations):
        raise RangeError("concentrations and durations differ in number", allowed="as many of each")
    for c, t in zip(concentrations, durations, strict=True):
        not_negative(concentration=c, duration=t)
    if sum(durations) > window * (1.0 + 1e-9):  # numerical
        raise RangeError("the stretches last longer than the window", allowed="a longer window")
    return sum(c * t for c, t in zip(concentrations, durations, strict=True)) / window


def mixture_index(concentrations: Sequence[float], limits: Sequence[float | None]) -> float:
    """The sum of concentration over limit for substances that act alike; above 1 is over the limit.

    Parameters
    ----------
    concentrations : sequence of float (n,) [any]
        Concentration of each.
    limits : sequence of float (n,) [as the concentrations]
        Limit of each, in the unit of its concentration. None is refused: a substance without a
        limit is never a pass.

    Returns
    -------
    float [1]

    Raises
    ------
    RangeError
        A limit is missing or not above zero, or the lengths differ.

    Notes
    -----
    Em = sum(C_i/L_i), 29 CFR 1910.1000(d)(2)(i), which sums whatever the organ; hygienists sum
    what acts on the same organ. Do not sum hydrogen or dust with solvents.

    Examples
    --------
    >>> round(mixture_index([500.0, 45.0, 40.0], [1000.0, 200.0, 200.0]), 3)
    0.925
    """
    if len(concentrations) != len(limits):
        raise RangeError("concentrations and limits differ in number", allowed="as many of each")
    total = 0.0
    for c, limit in zip(concentrations, limits, strict=True):
        if limit is None:
            raise RangeError(
                "a substance of the mixture has no limit on file",
                allowed="a limit for every one",
                next_step="look it up in the safety data sheet; until then it is unresolved",
            )
        not_negative(concentration=c)
        above_zero(limit=limit)
        total += c / limit
    return total


def mixture_limit(concentrations: Sequence[float], limits: Sequence[float | None]) -> float:
    """The limit of a mixture as a whole, for the proportions it has in the air.

    Parameters
    ----------
    concentrations : sequence of float (n,) [any one unit]
        Concentration of each.
    limits : sequence of float (n,) [same unit]
        Limit of each.

    Returns
    -------
    float
        In that unit.

    Raises
    ------
    RangeError
        As `mixture_index`, or nothing in the air.

    Notes
    -----
    L = sum(C_i) / sum(C_i/L_i), the textbook form of the additive rule.

    Examples
    --------
    >>> round(mixture_limit([5.0, 20.0, 10.0], [10.0, 50.0, 20.0]), 6)
    25.0
    """
    index = mixture_index(concentrations, limits)
    if index == 0.0:
        raise RangeError("nothing is in the air", allowed="at least one concentration above zero")
    return sum(concentrations) / index
