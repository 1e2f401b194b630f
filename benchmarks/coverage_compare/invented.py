"""Invented studies with known truth, as logarithms: recipes, builds, drift, a control that ages, shared errors.

Shares no code with the comparison: the order of measuring is its own, and so are the dice.

    y = recipe + build + drift × place (+ ageing × place, control only) + shared gain + own error
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from aerode.measure.comparison.joint import Observations

__all__ = ["Stratum", "invent", "strata"]

OWN = 0.016
"""Area and curve of each electrode, standard deviation."""
CONTROL_OWN = 0.004
"""Curve of each reading of the control; its area is the same every time."""
SHARED = 0.006
"""Meter and resistors, common to all."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stratum:
    """One kind of study.

    Parameters
    ----------
    recipes : int [1]
    builds : int [1]
        Of each recipe.
    spread : float [1]
        Standard deviation between builds.
    drift : float [1]
        Per place in the order.
    aligned : bool
        Whether the recipes were measured one after the other instead of at random.
    ageing : float or None [1]
        Ageing of the control per place; None draws it from its prior (1 %).
    control : bool
        Whether a control was read first, in the middle and last.
    ratio : float [1]
        True ratio of the second recipe over the first.
    """

    recipes: int = 2
    builds: int = 4
    spread: float = 0.10
    drift: float = 0.0
    aligned: bool = False
    ageing: float | None = None
    control: bool = True
    ratio: float = 1.0

    def __str__(self) -> str:
        order = "one after the other" if self.aligned else "random"
        return (
            f"spread {self.spread:.0%}, {self.recipes} x {self.builds}, drift {self.drift:.0%}/run, "
            f"{order}" + ("" if self.control else ", no control")
        )


def strata() -> list[Stratum]:
    """Spread 5, 10, 20 %; 2, 3, 4 builds a side; drift 0 or -3 % a run; order random or aligned."""
    return [
        Stratum(builds=n, spread=spread, drift=drift, aligned=aligned)
        for aligned in (False, True)
        for drift in (0.0, -0.03)
        for spread in (0.05, 0.10, 0.20)
        for n in (2, 3, 4)
    ]


def _sequence(stratum: Stratum, dice: Generator) -> NDArray[np.int64]:
    """Piece numbers in the order of measuring; -1 is the control."""
    size = stratum.recipes * stratum.builds
    pieces = np.arange(size) if stratum.aligned else dice.permutation(size)
    if not stratum.control:
        return pieces
    middle = (size + 1) // 2
    return np.concatenate([[-1], pieces[:middle], [-1], pieces[middle:], [-1]])


def invent(stratum: Stratum, dice: Generator) -> Observations:
    """One invented study, with the covariance its errors really have.

    Parameters
    ----------
    stratum : Stratum
    dice : numpy Generator

    Returns
    -------
    Observations
        Recipes "A", "B", ... and the control "C0".
    """
    order = _sequence(stratum, dice)
    is_control = order < 0
    recipe = np.where(is_control, -1, order // stratum.builds)
    build = stratum.spread * dice.standard_normal(stratum.recipes * stratum.builds)
    ageing = 0.01 * float(dice.standard_normal()) if stratum.ageing is None else stratum.ageing
    place = np.arange(order.size, dtype=np.float64)
    own = np.where(is_control, CONTROL_OWN, OWN)
    value = (
        np.where(is_control, ageing * place, build[order])
        + np.where(recipe == 1, np.log(stratum.ratio), 0.0)
        + stratum.drift * place
        + own * dice.standard_normal(order.size)
        + SHARED * float(dice.standard_normal())
    )
    names = tuple(
        "C0" if c else f"{chr(65 + r)}{k}"
        for c, r, k in zip(is_control, recipe, order, strict=True)
    )
    return Observations(
        value=value,
        known=np.diag(np.square(own)) + SHARED**2,
        electrode=names,
        piece=names,
        recipe=tuple(
            "C0" if c else chr(65 + int(r)) for c, r in zip(is_control, recipe, strict=True)
        ),
        order=place,
        session=("day",) * order.size,
        control=tuple(bool(c) for c in is_control),
    )


def first_builds(seen: Observations, builds: int, of: int) -> Observations:
    """The study as it stood when only so many builds of each recipe had been measured.

    Parameters
    ----------
    seen : Observations
    builds : int [1]
    of : int [1]
        Builds of each recipe in the end.

    Returns
    -------
    Observations
    """
    early = [name == "C0" or int(name[1:]) % of < builds for name in seen.electrode]
    return replace(seen).keep(np.array(early))
