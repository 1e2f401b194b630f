"""Making a solution up, thinning it, and what evaporation and topping up do to it."""

from __future__ import annotations

from dataclasses import dataclass

from aerode.errors import RangeError
from aerode.physics.checked_inputs import above_zero, not_negative, share

__all__ = [
    "Evaporated",
    "MakeUp",
    "after_evaporation",
    "dilution_masses",
    "make_up",
    "top_up_water",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class MakeUp:
    """What to weigh for a solution: all masses in [kg]."""

    salt: float
    salt_as_weighed: float
    water: float
    solution: float


def make_up(volume: float, mass_fraction: float, density: float, *, assay: float = 1.0) -> MakeUp:
    """What to weigh to get a volume of solution.

    Parameters
    ----------
    volume : float [m^3]
        Volume wanted.
    mass_fraction : float
        Salt over solution.
    density : float [kg/m^3]
        Density of the solution.
    assay : float
        Salt in what is weighed (85 % potassium hydroxide: 0.85); the rest is taken as water.

    Returns
    -------
    MakeUp
        Pure salt, what to weigh, water to add, and their sum [kg].

    Raises
    ------
    RangeError
        A value outside its span, or an assay below the mass fraction wanted.

    Notes
    -----
    Mass balance. Weigh, do not fill up: volumes do not add.

    Examples
    --------
    >>> sheet = make_up(1e-3, 0.035, 1023.2)
    >>> round(sheet.salt * 1e3, 2), round(sheet.water * 1e3, 1)
    (35.81, 987.4)
    """
    w = float(share("mass fraction", mass_fraction))
    pure = float(above_zero("assay", assay))
    if not w <= pure <= 1.0:
        raise RangeError(
            f"an assay of {pure:g}",
            where="assay",
            allowed=f"{w:g} to 1",
            next_step="take a stronger stock, or a weaker solution",
        )
    solution = float(above_zero("volume", volume)) * float(above_zero("density", density))
    salt = w * solution
    return MakeUp(
        salt=salt,
        salt_as_weighed=salt / pure,
        water=solution - salt / pure,
        solution=solution,
    )


def dilution_masses(
    wanted_mass: float, wanted_fraction: float, stock_fraction: float
) -> tuple[float, float]:
    """How much stock and how much water make a weaker solution.

    Parameters
    ----------
    wanted_mass : float [kg]
        Mass of the weaker solution.
    wanted_fraction : float
        Its mass fraction.
    stock_fraction : float
        Mass fraction of the stock.

    Returns
    -------
    tuple of float
        Stock and water [kg].

    Raises
    ------
    RangeError
        A stock weaker than what is wanted.

    Notes
    -----
    Mass balance of the salt. Lye: add the stock to cold water, never the other way round.

    Examples
    --------
    >>> [round(x, 4) for x in dilution_masses(1.0, 0.035, 0.25)]
    [0.14, 0.86]
    """
    mass = float(above_zero("mass", wanted_mass))
    wanted = float(share("wanted fraction", wanted_fraction))
    stock = float(above_zero("stock fraction", stock_fraction))
    if wanted > stock or stock >= 1.0:
        raise RangeError(
            f"a stock of {stock:g} for {wanted:g}",
            where="stock_fraction",
            allowed="a stock at least as strong as what is wanted, below 1",
            next_step="weigh dry salt instead",
        )
    taken = mass * wanted / stock
    return taken, mass - taken


@dataclass(frozen=True, slots=True, kw_only=True)
class Evaporated:
    """A solution after some of its water has gone: mass [kg] and mass fraction."""

    mass: float
    mass_fraction: float


def after_evaporation(mass: float, mass_fraction: float, water_lost: float) -> Evaporated:
    """What is left after water has gone and the salt has stayed.

    Parameters
    ----------
    mass : float [kg]
        Mass of solution at the start.
    mass_fraction : float
        Mass fraction at the start.
    water_lost : float [kg]
        Water gone; a mass loss of the open vessel is all water.

    Returns
    -------
    Evaporated
        Mass [kg] and mass fraction now.

    Raises
    ------
    RangeError
        More water lost than there was.

    Notes
    -----
    w' = w m/(m - lost). Salt that crept out is not counted.

    Examples
    --------
    >>> round(after_evaporation(0.1, 0.035, 0.03).mass_fraction, 4)
    0.05
    """
    start = float(above_zero("mass", mass))
    w = float(share("mass fraction", mass_fraction))
    lost = float(not_negative("water lost", water_lost))
    if lost >= start * (1.0 - w):
        raise RangeError(
            f"{lost:g} kg of water from {start * (1.0 - w):g} kg",
            where="water_lost",
            allowed="less water than was there",
            next_step="weigh again, the tare included",
        )
    return Evaporated(mass=start - lost, mass_fraction=w * start / (start - lost))


def top_up_water(mass: float, mass_fraction: float, wanted_fraction: float) -> float:
    """Plain water that brings a solution back to its strength.

    Parameters
    ----------
    mass : float [kg]
        Mass of solution now.
    mass_fraction : float
        Its mass fraction now.
    wanted_fraction : float
        Mass fraction wanted.

    Returns
    -------
    float [kg]
        Water to add. Topping up with brine instead would make the cell stronger each time.

    Raises
    ------
    RangeError
        A solution that is already weaker than wanted.

    Notes
    -----
    water = m (w/w_wanted - 1).

    Examples
    --------
    >>> round(top_up_water(0.07, 0.05, 0.035), 4)
    0.03
    """
    start = float(above_zero("mass", mass))
    now = float(share("mass fraction", mass_fraction))
    wanted = float(above_zero("wanted fraction", wanted_fraction))
    if now < wanted:
        raise RangeError(
            f"the solution ({now:g}) is weaker than wanted ({wanted:g})",
            where="mass_fraction",
            allowed=f"at least {wanted:g}",
            next_step="add salt, not water",
        )
    return start * (now / wanted - 1.0)
