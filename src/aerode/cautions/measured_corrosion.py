"""What a person measured of a cell's own corrosion, as the span of current density the rules take."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.cautions.situation import Span
from aerode.physics.hydrogen import current_from_gas, current_from_mass_loss

if TYPE_CHECKING:
    from aerode.records.marks import Entry

__all__ = ["corrosion_by_gas", "corrosion_by_mass", "corrosion_on_file"]

_COVERED = 2.0  # standard uncertainties to either side, the usual 95 %: jcgm_100
# A measuring tube read by eye, the water vapour in the gas and a little of it lost or dissolved.
_GAS_SPREAD = 0.1  # judgement


def corrosion_by_mass(lost: float, over: float, area: float, step: float = 0.0) -> Span:
    """Corrosion current density from two weighings of the aluminium.

    Parameters
    ----------
    lost : float [kg]
        Aluminium lost at rest, gel brushed off.
    over : float [s]
        Time it took.
    area : float [m^2]
        Wetted aluminium.
    step : float [kg]
        Smallest step of the scale; the difference of two readings is known to one step.

    Returns
    -------
    Span [A/m^2]

    Examples
    --------
    >>> found = corrosion_by_mass(1e-3, 3600.0, 0.01, 1e-4)
    >>> round(found.low), round(found.high)
    (268, 328)
    """
    ends = [
        current_from_mass_loss(mass, over) / area if mass > 0.0 else 0.0
        for mass in (lost - step, lost + step)
    ]
    return Span(low=ends[0], high=ends[1], how="mass lost")


def corrosion_by_gas(volume: float, over: float, area: float) -> Span:
    """Corrosion current density from the gas that a cell at rest gave off.

    Parameters
    ----------
    volume : float [m^3]
        Gas caught.
    over : float [s]
        Time it took.
    area : float [m^2]
        Wetted aluminium.

    Returns
    -------
    Span [A/m^2]
        A tenth to either side. In brine a part of the corrosion is driven by oxygen and makes no gas.

    Examples
    --------
    >>> found = corrosion_by_gas(0.4564e-3, 3600.0, 0.01)
    >>> round(found.low), round(found.high)
    (90, 110)
    """
    found = current_from_gas(volume, over) / area
    return Span(low=(1 - _GAS_SPREAD) * found, high=(1 + _GAS_SPREAD) * found, how="gas caught")


def corrosion_on_file(entry: Entry | None) -> Span | None:
    """The corrosion that a cell's record keeps, twice its standard uncertainty to either side.

    >>> from aerode.records.marks import Entry
    >>> corrosion_on_file(Entry(value=2.0, standard_uncertainty=0.5, how="24 h in the jar"))
    Span(low=1.0, high=3.0, how='24 h in the jar')
    """
    if entry is None:
        return None
    spread = _COVERED * (entry.standard_uncertainty or 0.0)
    return Span(
        low=max(0.0, entry.value - spread),
        high=entry.value + spread,
        how=entry.how or entry.published,
    )
