"""At which level each look is judged, so that looking again and again does not find what is not there."""

from __future__ import annotations

from aerode.errors import RangeError

__all__ = ["UNDECLARED_LEVEL", "level_of_each_look"]

UNDECLARED_LEVEL = 0.012  # numerical, by simulation
"""Of each look where nobody wrote down beforehand how often they would look: after every pair up to 8."""

# The constant level at each of k looks that keeps the chance of any false "shown" at 5 %, the lowest
# over several timings of the looks (after every pair, after every doubling, evenly spread up to 16
# builds an arm). Found by simulation with `aerode.stats.looks.per_look_level`; a test repeats it.
_LEVELS = {1: 0.05, 2: 0.026, 3: 0.0188, 4: 0.0148, 5: 0.013, 6: 0.012}  # numerical


def level_of_each_look(looks: int | None) -> float:
    """The two-sided level at which each look is judged; 0.05 for a single look declared beforehand.

    Parameters
    ----------
    looks : int or None [1]
        How often the results will be looked at, as written down before the first; None where
        nothing was written down.

    Returns
    -------
    float [1]
        The interval that decides has the confidence 1 minus this.

    Raises
    ------
    RangeError
        Below one look.

    Notes
    -----
    Pocock (Biometrika 64 (1977) 191), with the small and growing degrees of freedom of t tests.

    Examples
    --------
    >>> level_of_each_look(1), level_of_each_look(3), level_of_each_look(None)
    (0.05, 0.0188, 0.012)
    """
    if looks is None:
        return UNDECLARED_LEVEL
    if looks < 1:
        raise RangeError(f"{looks} looks", where="looks", allowed="1 or more")
    return _LEVELS.get(looks, 0.0115 * 7.0 / max(looks, 7))  # numerical, by simulation
