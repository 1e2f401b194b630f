"""The water in a solution: its activity, its vapour, the ice it makes."""

from __future__ import annotations

import math

import numpy as np

from aerode.physics import electrolyte, ion_interaction, vapour_pressure
from aerode.physics.water import ZERO_CELSIUS
from aerode.properties import pure
from aerode.properties.answers import PropertyAnswer, computed_answer, missing, si_value
from aerode.properties.solutions import Solution
from aerode.quantities import Reason
from aerode.reference import PublishedRow, ValidRange, published, select

__all__ = [
    "activity_coefficient",
    "freezing_temperature",
    "water_activity",
    "water_vapour_pressure",
]


# Judgement: what the last slope may miss for each mol/kg beyond a table, as a limit: the largest
# distance to the vapour pressures of lye to 18 and 20 mol/kg (Balej 1985, second hand; see the tests).
_BEYOND_ACTIVITY = 0.003  # of the water activity
_BEYOND_COEFFICIENT = 0.07  # relative, of the activity coefficient


def _nodes(salt: str, quantity: str) -> tuple[list[float], list[float], list[PublishedRow]]:
    """Molalities, values and rows of a salt's table at 25 degC, from its preferred source."""
    rows = [row for row in select(salt, quantity) if "molality" in row.conditions]
    rows = [row for row in rows if row.source == rows[0].source]
    pairs = sorted((_molality(row), row.value or 0.0) for row in rows)
    return [m for m, _ in pairs], [value for _, value in pairs], rows


def _table_range(molalities: list[float]) -> tuple[ValidRange, ...]:
    return (
        ValidRange("temperature", 288.15, 308.15, "K"),
        ValidRange("molality", 0.0, molalities[-1], "mol/kg"),
    )


def _widened(rows: list[PublishedRow], value: float, molality: float, step: float) -> float | None:
    """The standard uncertainty of the node at or above, wider by `step` a mol/kg beyond the last."""
    ordered = sorted(rows, key=_molality)
    last = _molality(ordered[-1])
    row = next((r for r in ordered if _molality(r) >= molality), ordered[-1])
    stated = row.standard_uncertainty(value)
    if stated is None:
        return None
    return stated + step * max(molality - last, 0.0) / math.sqrt(3.0)


def _molality(row: PublishedRow) -> float:
    return float(row.conditions["molality"])


def water_activity(brine: Solution) -> PropertyAnswer:
    """The water activity: the humidity of air that neither dries nor waters the solution.

    Parameters
    ----------
    brine : Solution
        Salt, strength and temperature.

    Returns
    -------
    PropertyAnswer
        Table at 25 degC, interpolated; its change with temperature is below 0.001 from 20 to
        25 degC for sodium chloride and not followed. Beyond the table the last slope goes on, with
        a warning and a wider uncertainty. Sea water is taken as sodium chloride of the same mass
        fraction, with a warning.

    Examples
    --------
    >>> from aerode.properties.solutions import solution
    >>> round(water_activity(solution("NaCl", 298.15, mass_fraction=0.035)).value, 4)
    0.9795
    """
    salt = "sodium chloride" if brine.practical_salinity is not None else brine.salt
    if not select(salt, "water_activity"):
        return missing("", Reason.NO_SOURCE)
    molalities, values, rows = _nodes(salt, "water_activity")
    molality = brine.molality
    value = float(electrolyte.interpolated_water_activity(molality, molalities, values))
    stand_in = ("sea water taken as sodium chloride of the same mass fraction",)
    return computed_answer(
        value,
        "",
        rows,
        brine.state | {"molality": molality},
        standard_uncertainty=_widened(rows, value, molality, _BEYOND_ACTIVITY),
        warnings=stand_in if brine.practical_salinity is not None else (),
        valid_range=_table_range(molalities),
    )


def activity_coefficient(brine: Solution) -> PropertyAnswer:
    """The mean molal activity coefficient of the salt.

    Parameters
    ----------
    brine : Solution
        Potassium or sodium hydroxide, strength and temperature.

    Returns
    -------
    PropertyAnswer
        Table at 25 degC, interpolated; below it the ion-interaction equation, which ends at 1 in
        pure water; beyond it the last slope, with a warning and a wider uncertainty. No number for
        a salt without a table.

    Examples
    --------
    >>> from aerode.properties.solutions import solution
    >>> round(activity_coefficient(solution("KOH", 298.15, molality=4.0)).value, 2)
    1.35
    >>> round(activity_coefficient(solution("KOH", 298.15, molality=0.1)).value, 2)
    0.79
    """
    if not select(brine.salt, "activity_coefficient"):
        return missing("", Reason.NO_SOURCE)
    molalities, values, rows = _nodes(brine.salt, "activity_coefficient")
    molality = brine.molality
    dilute = published(brine.salt, "ion_interaction")
    value = float(
        ion_interaction.activity_coefficient_to_nothing(
            molality, molalities, values, dilute.coefficient
        )
    )
    low = molality < molalities[0]
    spread = _BEYOND_COEFFICIENT * value
    return computed_answer(
        value,
        "",
        [dilute, *rows] if low else rows,
        brine.state | {"molality": molality},
        standard_uncertainty=_widened(rows, value, molality, spread),
        valid_range=(
            ValidRange("temperature", 288.15, 308.15, "K"),
            ValidRange("molality", 0.0, molalities[-1], "mol/kg"),
        ),
    )


def water_vapour_pressure(brine: Solution) -> PropertyAnswer:
    """The water vapour pressure over a solution.

    Parameters
    ----------
    brine : Solution
        Salt, strength and temperature.

    Returns
    -------
    PropertyAnswer [Pa]

    Examples
    --------
    >>> from aerode.properties.solutions import solution
    >>> round(water_vapour_pressure(solution("NaCl", 298.15, mass_fraction=0.035)).value)
    3105
    """
    activity, saturation = water_activity(brine), pure.water_saturation(brine.temperature)
    if activity.quantity.value is None:
        return missing("Pa", activity.quantity.reason or Reason.NO_SOURCE)
    value = float(vapour_pressure.solution_pressure(activity.value, saturation.value))
    salt = "sodium chloride" if brine.practical_salinity is not None else brine.salt
    rows = _nodes(salt, "water_activity")[2]
    spread = saturation.value * (activity.quantity.standard_uncertainty or 0.0)
    return computed_answer(
        value,
        "Pa",
        rows,
        brine.state | {"molality": brine.molality},
        standard_uncertainty=spread,
        valid_range=activity.valid_range,
        warnings=tuple(w for w in activity.warnings if "taken as" in w),
    )


def freezing_temperature(brine: Solution) -> PropertyAnswer:
    """The temperature at which the first ice forms.

    Parameters
    ----------
    brine : Solution
        Salt and strength; its temperature is compared with the answer.

    Returns
    -------
    PropertyAnswer [K]
        Handbook table, interpolated; a warning where the solution is at or below it, and where
        its strength lies beyond the table.

    Examples
    --------
    >>> from aerode.properties.solutions import solution
    >>> round(freezing_temperature(solution("NaCl", 298.15, mass_fraction=0.035)).value, 2)
    271.05
    """
    variable = "practical_salinity" if brine.practical_salinity is not None else "mass_fraction"
    at = brine.state[variable]
    rows = [r for r in select(brine.salt, "freezing_temperature") if variable in r.conditions]
    if not rows:
        return missing("K", Reason.NO_SOURCE)
    pairs = sorted((float(r.conditions[variable]), si_value(r.value or 0.0, r.unit)) for r in rows)
    nodes, values = [0.0, *(x for x, _ in pairs)], [ZERO_CELSIUS, *(y for _, y in pairs)]
    value = float(np.interp(at, nodes, values))
    if at > nodes[-1]:
        slope = (values[-1] - values[-2]) / (nodes[-1] - nodes[-2])
        value += slope * (at - nodes[-1])
    warnings: list[str] = []
    if brine.temperature <= value:
        warnings.append(f"at {brine.temperature:g} K ice forms: it freezes below {value:.2f} K")
    return computed_answer(
        value,
        "K",
        rows,
        brine.state,
        warnings=warnings,
        valid_range=(ValidRange(variable, 0.0, nodes[-1], "1"),),
    )
