"""Every input of the comparison as a lever: what the values become if it is otherwise than noted."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from aerode.measure.comparison.entrants import temperature_of
from aerode.measure.comparison.joint import disturbances
from aerode.measure.comparison.overturning import Lever
from aerode.measure.comparison.values import lead_shift
from aerode.records.electrodes import Sensing

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from aerode.measure.comparison.joint import Observations, Priors
    from aerode.measure.comparison.study import Values
    from aerode.measure.comparison.values import SharedInput

    Move = Callable[[float], NDArray[np.float64]]

__all__ = ["TEMPERATURE_COEFFICIENT_TO_ASSUME", "chosen_levers", "levers_of", "temperature_lever"]

PER_CENT = 0.01  # by definition
TEMPERATURE_COEFFICIENT_TO_ASSUME = 0.02
"""[1/K] standard uncertainty of a coefficient that nobody stated: a judgement, from apparent activation
energies of 30 to 60 kJ/mol at a fixed voltage less what a shared cell resistance damps."""
_LARGEST_LEAD = 5.0  # judgement


def _logarithmic(slope: NDArray[np.float64]) -> Move:
    return lambda change: slope * np.log1p(PER_CENT * change)


def _straight(slope: NDArray[np.float64], scale: float) -> Move:
    return lambda change: slope * (scale * change)


def _of_lead(entry: SharedInput, values: Values) -> Lever:
    """A tab or lead as a lever: every curve behind it is read again at the common point."""
    mine = [k for k, m in enumerate(values.measured) if m.fit.data.lead_name == entry.name]

    def moved(change: float) -> NDArray[np.float64]:
        shift = np.zeros(len(values.measured))
        for k in mine:
            one = values.measured[k]
            if one.fit.data.sensing is Sensing.CLIPS:
                shift[k] = lead_shift(one, values.response, change)
            else:
                shift[k] = entry.slope[k] * change
        return shift

    noted = min((values.measured[k].fit.data.lead_resistance for k in mine), default=0.0)
    return Lever(
        name=entry.name,
        unit="ohm",
        uncertainty=entry.uncertainty,
        moved=moved,
        low=-noted if noted > 0 else -2.0 * entry.uncertainty,
        high=_LARGEST_LEAD,
    )


def _of_input(entry: SharedInput) -> Lever:
    """A shared input as a lever, in the unit people use."""
    if entry.sort in ("area", "area scale"):
        return Lever(
            name=entry.name,
            unit="%",
            uncertainty=entry.uncertainty / PER_CENT,
            moved=_logarithmic(entry.slope),
            low=-50.0,  # judgement
            high=100.0,  # judgement
        )
    # A gain that shows too high has to be taken out again; a part noted too low has to go up.
    sign, words = (-1.0, "shows too high") if entry.sort == "gain" else (1.0, "larger than noted")
    unit = "%/K" if entry.sort == "temperature coefficient" else "%"
    name = entry.name if unit == "%/K" else f"{entry.name.split(' ', 1)[1]} {words}"
    return Lever(
        name=name,
        unit=unit,
        uncertainty=entry.uncertainty / PER_CENT,
        moved=_straight(entry.slope, sign * PER_CENT),
        low=-30.0,  # judgement
        high=30.0,  # judgement
    )


def _of_ageing(seen: Observations, priors: Priors) -> list[Lever]:
    return [
        Lever(
            name=f"{part.name} (control)",
            unit="%/run",
            uncertainty=part.standard_deviation / PER_CENT,
            moved=_straight(-part.column, PER_CENT),
            low=-20.0,  # judgement
            high=20.0,  # judgement
        )
        for part in disturbances(seen, priors)
        if part.name.startswith("ageing ") and part.standard_deviation > 0
    ]


def temperature_lever(values: Values) -> Lever | None:
    """The change per kelvin that nobody stated, as a lever; None where it can move nothing.

    A run without a temperature is taken to be as warm as the mean of the others.

    Parameters
    ----------
    values : Values

    Returns
    -------
    Lever or None
        None with a stated coefficient, or where the runs were equally warm as far as is known.
    """
    read = [temperature_of(m.entrant.run) for m in values.measured]
    known = [t for t in read if t is not None]
    stated = any(m.steps.get("temperature") for m in values.measured)
    if stated or not known or max(known) - min(known) < 0.5:  # judgement
        return None
    mean = float(np.mean(known))
    away = np.array([0.0 if t is None else t - mean for t in read])
    return Lever(
        name="temperature: change per kelvin (none stated)",
        unit="%/K",
        uncertainty=TEMPERATURE_COEFFICIENT_TO_ASSUME / PER_CENT,
        moved=_straight(-away, PER_CENT),
        low=-20.0,  # judgement
        high=20.0,  # judgement
    )


def levers_of(values: Values, seen: Observations, priors: Priors) -> tuple[Lever, ...]:
    """Every input that could be otherwise: areas, leads, gains, resistors, ageing, temperature.

    Parameters
    ----------
    values : Values
    seen : Observations
        The same runs in the same order.
    priors : Priors

    Returns
    -------
    tuple of Lever
    """
    shared = [
        _of_lead(entry, values) if entry.sort == "lead" else _of_input(entry)
        for entry in values.inputs
    ]
    warmth = temperature_lever(values)
    return (*shared, *_of_ageing(seen, priors), *([] if warmth is None else [warmth]))


def chosen_levers(levers: Sequence[Lever], kept: NDArray[np.bool_]) -> tuple[Lever, ...]:
    """The same levers for only some of the runs.

    Parameters
    ----------
    levers : sequence of Lever
    kept : array (n,) of bool
        Which runs are left.

    Returns
    -------
    tuple of Lever
        Those that still move something.
    """
    at = np.flatnonzero(kept)

    def narrowed(move: Move) -> Move:
        return lambda change: move(change)[at]

    return tuple(
        replace(lever, moved=narrowed(lever.moved))
        for lever in levers
        if np.any(np.abs(lever.moved(1.0)[at]) > 0)
    )
