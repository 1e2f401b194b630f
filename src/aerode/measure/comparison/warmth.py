"""Runs that were not equally warm: what that can do to the verdict, where it is not corrected for."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from aerode import units
from aerode.measure.comparison.conditions import CONDITIONS
from aerode.measure.comparison.entrants import temperature_of
from aerode.measure.comparison.levers import (
    TEMPERATURE_COEFFICIENT_TO_ASSUME,
    chosen_levers,
    temperature_lever,
)
from aerode.measure.comparison.overturning import BELIEVABLE, smallest_change
from aerode.records.comparisons import ActAt, NextAct, TemperatureDoubt, Verdict

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from aerode.measure.comparison.joint import Observations
    from aerode.measure.comparison.questioning import Asked
    from aerode.measure.comparison.study import Values

__all__ = ["temperature_doubt", "warmth_act"]

_WINDOW = next(kind.window for kind in CONDITIONS if kind.key == "temperature")
_TO_BELIEVE = BELIEVABLE * TEMPERATURE_COEFFICIENT_TO_ASSUME
_CELSIUS = 273.15  # by definition


def temperature_doubt(
    values: Values, seen: Observations, kept: NDArray[np.bool_], asked: Asked, response: str
) -> TemperatureDoubt | None:
    """What the temperature alone can do to a verdict.

    Parameters
    ----------
    values : Values
    seen : Observations
        The readings behind the verdict.
    kept : array (n,) of bool
        Which of all runs they are.
    asked : Asked
        The question and its verdict.
    response : str
        "current density at 0.45 V".

    Returns
    -------
    TemperatureDoubt or None
        Its range is that of the pieces compared, the control apart, as in the table of conditions.
        None where they lie within 3 K (a judgement), where fewer than two have a temperature,
        or where a stated coefficient takes the difference out.
    """
    lever = temperature_lever(values)
    behind = [m.entrant for m, k in zip(values.measured, kept, strict=True) if k]
    pieces = [one for one in behind if not one.control] or behind  # as in the table of conditions
    known = [t for one in pieces if (t := temperature_of(one.run)) is not None]
    if lever is None or len(known) < 2 or max(known) - min(known) <= _WINDOW:
        return None
    low, high = min(known), max(known)
    head = (
        f"The cells were read at {low - _CELSIUS:.3g} to {high - _CELSIUS:.3g} °C, "
        "and that is not corrected for"
    )
    if asked.difference is None or asked.difference.capped:
        words = f"{head}: it may be what differs."
        return TemperatureDoubt(
            lowest=low, highest=high, per_kelvin=None, believable=True, words=words
        )
    able = chosen_levers([lever], kept)
    turned = smallest_change(able[0], seen, asked.prepared(seen)) if able else None
    if turned is None:
        words = f"{head}; no believable change per kelvin would overturn the verdict."
        return TemperatureDoubt(
            lowest=low, highest=high, per_kelvin=None, believable=False, words=words
        )
    share, after = 0.01 * turned[0], turned[1]
    believable = abs(share) <= _TO_BELIEVE
    words = f"{head}. {_said(share, after, response.partition(' at ')[0], believable=believable)}"
    return TemperatureDoubt(
        lowest=low, highest=high, per_kelvin=share, believable=believable, words=words
    )


def _said(share: float, after: Verdict, what: str, *, believable: bool) -> str:
    size = units.per_cent(abs(share))
    way = "raises" if share > 0 else "lowers"
    allowed = f"{100 * _TO_BELIEVE:.0f} %"
    if believable:
        return (
            f"If each kelvin {way} the {what} by {size}, the verdict becomes “{after}”; "
            f"up to {allowed} has to be allowed for, so the temperature could overturn it."
        )
    return (
        f"It would take {size} for each kelvin to overturn the verdict, more than the {allowed} "
        "that have to be allowed for."
    )


def warmth_act(doubt: TemperatureDoubt | None) -> NextAct | None:
    """What to do about it; None where it can do nothing to the verdict."""
    if doubt is None or not doubt.believable:
        return None
    apart = doubt.highest - doubt.lowest
    return NextAct(
        do="read both sides again at one temperature, or say how much a kelvin changes the reading",
        why=f"the cells were up to {apart:.2g} K apart, and that alone could overturn the verdict",
        at=ActAt.QUESTION,
    )
