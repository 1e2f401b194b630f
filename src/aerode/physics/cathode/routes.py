"""Which solver answers, and why it did not: shared by given currents and given voltages."""

from __future__ import annotations

import math
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from aerode.errors import RangeError
from aerode.physics.cathode import compiled
from aerode.physics.cathode.limit import packed_limiting_current
from aerode.physics.cathode.packed import AIR, LIQUID, REVERSE, SUPPLY, PackedCathode
from aerode.physics.cathode.plain import Walk, trace
from aerode.physics.cathode.problem import State, fields_of
from aerode.physics.cathode.start import available_oxygen
from aerode.quantities import Reason

__all__ = ["Route", "states_at", "translated", "why_none"]

Floats = NDArray[np.float64]

# Numerical: oxygen left over oxygen supplied, below which a gap is called "used up".
_USED_UP = 1e-6
# Numerical: of a current without a solution, where one is first looked for, and halvings of ln I from there.
_FAR_BELOW, _HALVINGS = 1e-3, 8
# Numerical: of the limiting current; so near to it rounding decides whether there is a solution.
NEAR_LIMIT = 1e-6


class Route(StrEnum):
    """How the equations are solved: whichever is at hand, plain numpy, or compiled."""

    BEST = "best"
    PLAIN = "plain"
    COMPILED = "compiled"


def translated(cathode: PackedCathode, route: Route) -> bool:
    """Tell whether the translated solver answers; it leaves oxygen from both faces to the plain one.

    Parameters
    ----------
    cathode : PackedCathode
        The cathode.
    route : Route
        What was asked for.

    Returns
    -------
    bool
        False for the plain solver.

    Raises
    ------
    RangeError
        If the compiled route is asked for and oxygen comes from both faces.

    Examples
    --------
    >>> cathode = PackedCathode(np.ones((1, 9)), np.array([20.0, 0, 1, 2, 8.5, 0, 8.5, 0, 0]))
    >>> translated(cathode, Route.BEST)
    False
    """
    if route is Route.PLAIN or (route is Route.BEST and not compiled.available()):
        return False
    both = int(cathode.whole[SUPPLY]) == 2
    if both and route is Route.COMPILED:
        raise RangeError(
            "the compiled route does not know oxygen from both faces",
            where="route",
            allowed="best, plain",
        )
    return not both


def states_at(cathode: PackedCathode, rising: Floats, tolerance: float) -> tuple[State | None, ...]:
    """Give the solution at every current of a rising list, or None where there is none.

    Parameters
    ----------
    cathode : PackedCathode
        The cathode.
    rising : ndarray, shape (K,)
        Current densities [A/m²].
    tolerance : float
        Largest estimated error of the loss [V].

    Returns
    -------
    tuple of State or None
        One per current; after the first None all are None.

    Examples
    --------
    See `aerode.physics.cathode.plain.trace`.
    """
    if not translated(cathode, Route.BEST):
        return trace(cathode, rising, tolerance)
    found = compiled.states(cathode, rising, tolerance)
    known = sum(state is not None for state in found)
    if known == rising.size or why_none(cathode, rising, known, tolerance) is not Reason.NOT_SOLVED:
        return found
    # The plain solver is slow and walks another way: it finds some that the other one misses.
    return (*found[:known], *trace(cathode, rising[known:], tolerance))


def why_none(cathode: PackedCathode, rising: Floats, found: int, tolerance: float) -> Reason:
    """Give the reason why the currents of a rising list have no loss from one of them on.

    Parameters
    ----------
    cathode : PackedCathode
        The cathode.
    rising : ndarray, shape (K,)
        Current densities [A/m²].
    found : int
        How many of them have a loss.
    tolerance : float
        Largest estimated error of the loss [V].

    Returns
    -------
    Reason
        `BEYOND_LIMIT` within a millionth of the limiting current, `DEPLETED` where oxygen is used
        up inside close below this current, `RUNS_BACK` where unequal oxygen at the two faces drives part of the layer
        backwards, else `NOT_SOLVED`.

    Examples
    --------
    See `aerode.physics.cathode.polarization`.
    """
    wanted = float(rising[found])
    if wanted > (1.0 - NEAR_LIMIT) * packed_limiting_current(cathode):
        return Reason.BEYOND_LIMIT
    if int(cathode.whole[SUPPLY]) == 2:
        return _why_none_of_both(cathode, float(rising[max(found - 1, 0)]), wanted, tolerance)
    if float(cathode.whole[REVERSE]) > 0.0:
        # near equilibrium little oxygen is left where nothing is used up
        return Reason.NOT_SOLVED
    state = _nearest(cathode, float(rising[found - 1]) if found > 0 else None, wanted, tolerance)
    if state is None:
        return Reason.NOT_SOLVED
    at, _ = fields_of(cathode, state)
    used_up = float(at.oxygen.min()) < _USED_UP * available_oxygen(cathode)
    return Reason.DEPLETED if used_up else Reason.NOT_SOLVED


def _nearest(
    cathode: PackedCathode, known: float | None, wanted: float, tolerance: float
) -> State | None:
    """A solution close below a current that has none: from a known one upward, or from far below."""
    below = known or _FAR_BELOW * wanted
    state, above = _quick(cathode, below, tolerance), wanted
    for _ in range(_HALVINGS if state is not None else 0):
        middle = math.sqrt(below * above)
        found = _quick(cathode, middle, tolerance)
        if found is None:
            above = middle
        else:
            below, state = middle, found
    return state


def _quick(cathode: PackedCathode, current: float, tolerance: float) -> State | None:
    """The solution at one current from one solver alone."""
    one = np.array([current])
    if translated(cathode, Route.BEST):
        return compiled.states(cathode, one, tolerance)[0]
    return trace(cathode, one, tolerance)[0]


def _why_none_of_both(
    cathode: PackedCathode, last: float, wanted: float, tolerance: float
) -> Reason:
    """Oxygen from both faces: used up in the middle, or driving one face against the other."""
    with np.errstate(all="ignore"):  # every trial is tested for being finite
        walk = Walk(cathode, tolerance, last)
        begun = walk.here is not None
        walk.to(wanted)
    if walk.depleted:
        return Reason.DEPLETED
    whole = cathode.whole
    unequal = float(whole[REVERSE]) > 0.0 and whole[AIR] != whole[LIQUID]
    return Reason.RUNS_BACK if unequal and not begun else Reason.NOT_SOLVED
