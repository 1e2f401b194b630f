"""How hard and how long people begin with a warm press, and where a reckoned pressure lies beside it."""

from __future__ import annotations

from aerode import units
from aerode.reference.process_figures import process_figure
from aerode.usecases.process import ends_of

__all__ = ["beside_start", "usual_start"]

_OF = "warm press"


def _pressures() -> tuple[float, float]:
    return ends_of(process_figure(_OF, "starting_pressure"))


def usual_start(area: float | None = None) -> str:
    """A pressure and a time to begin with, for a layer with a binder on mesh.

    Parameters
    ----------
    area : float, optional [m^2]
        Of the piece: then the force on it is told too.

    Returns
    -------
    str
        From memory, and it says so.

    Examples
    --------
    >>> usual_start(9e-4)
    'to begin with 0.2 to 2 MPa for 2 to 5 min (180 to 1800 N on 9 cm²); from memory, no source'
    """
    low, high = _pressures()
    short, long = ends_of(process_figure(_OF, "starting_time"))
    force = (
        f" ({units.plain(low * area)} to {units.plain(high * area)} N on {1e4 * area:.3g} cm²)"
        if area
        else ""
    )
    return (
        f"to begin with {low / 1e6:g} to {high / 1e6:g} MPa for {short / 60:g} to {long / 60:g} min{force}; "
        "from memory, no source"
    )


def beside_start(low: float, high: float) -> str:
    """Where a reckoned pressure lies beside the one people begin with.

    Parameters
    ----------
    low, high : float [Pa]
        Ends of the mean pressure.

    Returns
    -------
    str

    Examples
    --------
    >>> beside_start(2.2e5, 2.2e5)
    'yours lies within that'
    >>> beside_start(5e4, 6e4)
    'yours is gentler than that'
    """
    least, most = _pressures()
    if high < least:
        return "yours is gentler than that"
    if low > most:
        return "yours is harder than that"
    return (
        "yours lies within that" if least <= low and high <= most else "yours may lie within that"
    )
