"""How long a prediction will take where the fast solver is not installed: told before it starts."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

from aerode.physics.cathode import CathodeParameters, polarization
from aerode.physics.cathode.compiled import available

__all__ = ["change_curves", "fit_curves", "patience"]

_FIT = 100_000  # numerical: curves, counted as usual ones, that a fit with its left-out loads takes; timed
_RANKING = 10_000  # numerical: the same for the ranking of the inputs; timed
_TRIED = 3  # numerical
_MINUTE = 60.0  # by definition
_SHORT = 10.0  # judgement: nobody needs to be told of less [s]


def fit_curves() -> int:
    """Curves that a fit of a run takes, about.

    Returns
    -------
    int
    """
    return _FIT


def change_curves(draws: int, settings: int, *, rank: bool) -> int:
    """Curves that a change or a row of settings takes, about.

    Parameters
    ----------
    draws : int
    settings : int
        Of a sweep; 0 without one.
    rank : bool
        Whether the inputs are ranked.

    Returns
    -------
    int
    """
    # before and after, each at twice as many currents as a run has loads
    return 4 * draws * (1 + settings) + (_RANKING if rank else 0)


def patience(curves: int, clock: Callable[[], float]) -> str:
    """One line on how long so many curves take, and what to do about it; "" with the fast solver.

    Parameters
    ----------
    curves : int
    clock : callable
        Gives seconds from any start.

    Returns
    -------
    str
    """
    if available():
        return ""
    currents = (1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 70.0, 100.0)  # numerical
    marks: list[float] = []
    for _ in range(_TRIED + 1):
        polarization(_USUAL, currents)
        marks.append(clock())
    # the first one also loads what is needed
    seconds = curves * min(after - before for before, after in pairwise(marks))
    if seconds < _SHORT:
        return ""
    minutes = seconds / _MINUTE
    about = f"{minutes:.0f} minutes" if minutes >= 1.5 else f"{seconds:.0f} seconds"
    return (
        f"Without the fast solver this takes about {about}; Ctrl-C stops it and nothing is lost. "
        "Seconds instead: pip install 'aerode[fast]'"
    )


_USUAL = CathodeParameters(  # numerical: any ordinary electrode will do
    thickness=4e-4, ionic_conductivity=2.0, electronic_conductivity=50.0, gas_diffusivity=2e-6,
    oxygen_air=8.56, air_film=5e-3, henry_liquid_per_gas=0.0265, agglomerate_radius=2e-6,
    agglomerate_diffusivity=5e-10, agglomerate_fraction=0.4, film_transfer=50.0,
    exchange_current=50.0, reference_oxygen=0.22684, tafel_slope=0.0514, electrons=4.0,
)  # fmt: skip
