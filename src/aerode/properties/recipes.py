"""Making an electrolyte up: what to weigh, what the kitchen would say, and keeping it at strength."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerode.physics import electrolyte_make_up
from aerode.properties import solution_water, solutions
from aerode.properties.solutions import Solution

if TYPE_CHECKING:
    from aerode.physics.electrolyte_make_up import Evaporated, MakeUp

__all__ = ["MakeUpSheet", "evaporated", "make_up_sheet", "top_up"]


@dataclass(frozen=True, slots=True, kw_only=True)
class MakeUpSheet:
    """A solution, what to weigh for it [kg], and its strength said in every way."""

    solution: Solution
    volume: float
    masses: MakeUp
    molality: float
    molarity: float
    salt_per_water: float
    grams_per_100_ml_water: float
    density: float
    warnings: tuple[str, ...]


def make_up_sheet(brine: Solution, volume: float, *, assay: float = 1.0) -> MakeUpSheet:
    """What to weigh for a volume of electrolyte.

    Parameters
    ----------
    brine : Solution
        Salt, strength and temperature.
    volume : float [m^3]
        Volume wanted.
    assay : float
        Salt in what is weighed; commercial potassium hydroxide is about 0.85, the rest water.

    Returns
    -------
    MakeUpSheet

    Raises
    ------
    RangeError
        A value outside its span.

    Examples
    --------
    >>> sheet = make_up_sheet(solutions.solution("NaCl", 293.15, mass_fraction=0.035), 1e-3)
    >>> round(sheet.masses.salt * 1e3, 1), round(sheet.masses.water * 1e3, 1)
    (35.8, 987.2)
    """
    rho = solutions.density(brine)
    freezing = solution_water.freezing_temperature(brine)
    return MakeUpSheet(
        solution=brine,
        volume=volume,
        masses=electrolyte_make_up.make_up(volume, brine.mass_fraction, rho.value, assay=assay),
        molality=brine.molality,
        molarity=brine.molarity,
        salt_per_water=brine.salt_per_water,
        grams_per_100_ml_water=brine.grams_per_100_ml_water,
        density=rho.value,
        warnings=(*rho.warnings, *(w for w in freezing.warnings if "freezes" in w)),
    )


def evaporated(brine: Solution, mass: float, mass_lost: float) -> tuple[Evaporated, Solution]:
    """What an open vessel holds after it has lost weight.

    Parameters
    ----------
    brine : Solution
        The solution at the start.
    mass : float [kg]
        Its mass at the start.
    mass_lost : float [kg]
        What the scale says has gone; taken as water.

    Returns
    -------
    tuple
        Mass and strength now, and the solution they make.

    Raises
    ------
    RangeError
        More lost than there was water.

    Examples
    --------
    >>> brine = solutions.solution("NaCl", 298.15, mass_fraction=0.035)
    >>> round(evaporated(brine, 0.1, 0.03)[1].mass_fraction, 4)
    0.05
    """
    now = electrolyte_make_up.after_evaporation(mass, brine.mass_fraction, mass_lost)
    after = solutions.solution(brine.salt, brine.temperature, mass_fraction=now.mass_fraction)
    return now, after


def top_up(brine: Solution, mass: float, wanted: Solution) -> float:
    """Plain water that brings a solution back to a strength.

    Parameters
    ----------
    brine : Solution
        The solution now.
    mass : float [kg]
        Its mass now.
    wanted : Solution
        The strength wanted.

    Returns
    -------
    float [kg]

    Raises
    ------
    RangeError
        A solution that is already weaker than wanted.

    Examples
    --------
    >>> now = solutions.solution("NaCl", 298.15, mass_fraction=0.05)
    >>> wanted = solutions.solution("NaCl", 298.15, mass_fraction=0.035)
    >>> round(top_up(now, 0.07, wanted), 4)
    0.03
    """
    return electrolyte_make_up.top_up_water(mass, brine.mass_fraction, wanted.mass_fraction)
