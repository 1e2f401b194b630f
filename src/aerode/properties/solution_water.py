"""The water in a solution: its activity, its vapour, the ice it makes."""

from __future__ import annotations

import numpy as np

from aerode.physics import electrolyte, vapour_pressure
from aerode.physics.water import ZERO_CELSIUS
from aerode.properties import pure
from aerode.properties.answers import PropertyAnswer, computed_answer, missing, si_value
from aerode.properties.solutions import Solution
from aerode.quantities import Reason
from aerode.reference import PublishedRow, ValidRange, select

__all__ = [
    "activity_coefficient",
    "freezing_temperature",
    "water_activity",
    "water_vapour_pressure",
]


def _nodes(salt: str, quantity: str) -> tuple[list[float], list[float], list[PublishedRow]]:
    """Molalities, values and rows of a salt's table at 25 degC, from its preferred source."""
    rows = [row for row in select(salt, quantity) if "molality" in row.conditions]
    rows = [row for row in rows if row.source == rows[0].source]
    pairs = sorted((float(row.conditions["molality"]), row.value or 0.0) for row in rows)
    return [m for m, _ in pairs], [value for _, value in pairs], rows


def _table_range(molalities: list[float]) -> tuple[ValidRange, ...]:
    return (
        ValidRange("temperature", 288.15, 308.15, "K"),
        ValidRange("molality", 0.0, molalities[-1], "mol/kg"),
    )


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
        25 degC for sodium chloride and not followed. Sea water is taken as sodium chloride of
        the same mass fraction, with a warning.

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
        Table at 25 degC, interpolated; no number for a salt without a table.

    Examples
    --------
    >>> from aerode.properties.solutions import solution
    >>> round(activity_coefficient(solution("KOH", 298.15, molality=4.0)).value, 2)
    1.35
    """
    if not select(brine.salt, "activity_coefficient"):
        return missing("", Reason.NO_SOURCE)
    molalities, values, rows = _nodes(brine.salt, "activity_coefficient")
    molality = brine.molality
    value = float(electrolyte.interpolated_activity_coefficient(molality, molalities, values))
    return computed_answer(
        value,
        "",
        rows,
        brine.state | {"molality": molality},
        valid_range=(
            ValidRange("temperature", 288.15, 308.15, "K"),
            ValidRange("molality", molalities[0], molalities[-1], "mol/kg"),
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
