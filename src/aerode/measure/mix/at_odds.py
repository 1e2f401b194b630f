"""Weights of one piece that cannot all be true: lighter than its mesh, more dry than was put on wet."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from aerode.records.electrodes import Electrode

__all__ = ["at_odds", "film_weighed", "wet_total", "whole_masses"]


def whole_masses(electrode: Electrode) -> tuple[float, ...]:
    """What the scale showed of the whole piece by itself, coated [kg]: as finished, and while it dried."""
    coats = [coat for layer in electrode.layers for coat in layer.coats]
    told = [*electrode.weighings, *(one for coat in coats for one in coat.weighings)]
    own = [electrode.mass.value] if electrode.mass is not None else []
    return (*own, *(one.mass for one in told if one.pieces == 1))


def film_weighed(electrode: Electrode) -> float | None:
    """The finished piece less its mesh [kg]; None where one of the two was not weighed."""
    if electrode.mass is None or electrode.mesh_mass is None:
        return None
    return electrode.mass.value - electrode.mesh_mass.value


def wet_total(electrode: Electrode) -> float | None:
    """All coats as they were put on [kg]; None where the wet mass of one was not noted."""
    coats = [coat.wet_mass for layer in electrode.layers for coat in layer.coats]
    known = [mass for mass in coats if mass]
    return sum(known) if known and len(known) == len(coats) else None


def at_odds(electrode: Electrode, *, solids: float | None = None, net: float = 0.0) -> str:
    """Why no loading may be told from the weights of a piece; "" where they agree.

    Parameters
    ----------
    electrode : Electrode
        Its `mass` is that of the dry piece.
    solids : float, optional
        Dry over wet mass of its mix [1].
    net : float
        Standard uncertainty of a net mass on its scale [kg].

    Returns
    -------
    str
        Two standard uncertainties are left to the scale; a coat that is all solids may weigh dry what
        it weighed wet.

    Examples
    --------
    >>> from aerode.records.electrodes import Coat, Electrode, Layer, Weighing
    >>> from aerode.records.marks import Entry
    >>> heavy = Electrode(name="T1", mesh_mass=Entry(value=5.1e-3), weighings=(Weighing(mass=7.6e-4),))
    >>> at_odds(heavy)
    'the piece weighed 0.76 g, less than its own bare mesh (5.1 g): one of the two is a slip'
    >>> coat = Layer(coats=(Coat(wet_mass=6.0e-4),))
    >>> wet = Electrode(name="T1", mass=Entry(value=7.6e-4), mesh_mass=Entry(value=1.5e-4), layers=(coat,))
    >>> at_odds(wet, solids=0.35)
    'the piece less its mesh is 0.61 g dry, and only 0.6 g was put on wet: one of the weights is a slip'
    """
    if electrode.mesh_mass is None:
        return ""
    mesh = electrode.mesh_mass.value
    lightest = min(whole_masses(electrode), default=math.inf)
    if lightest < mesh - 2.0 * max(net, _typed_spread(electrode)):
        return (
            f"the piece weighed {_grams(lightest)}, less than its own bare mesh ({_grams(mesh)}): one of the "
            "two is a slip"
        )
    film, wet = film_weighed(electrode), wet_total(electrode)
    if film is None or wet is None or film <= wet:
        return ""
    if solids is not None and film - wet * solids <= 2.0 * net:
        return ""  # the scale alone explains it
    return (
        f"the piece less its mesh is {_grams(film)} dry, and only {_grams(wet)} was put on wet: one of the "
        "weights is a slip"
    )


def _typed_spread(electrode: Electrode) -> float:
    """Standard uncertainty of the difference as it was typed [kg]; 0 where none was."""
    both = (electrode.mass, electrode.mesh_mass)
    return math.hypot(*(one.standard_uncertainty or 0.0 for one in both if one is not None))


def _grams(mass: float) -> str:
    return f"{1e3 * mass:.4g} g"
