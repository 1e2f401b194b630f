"""The numbers of a curve as rows: each with how it stands, or why it cannot be told."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerode import units

if TYPE_CHECKING:
    from aerode.records.fits import Fit
    from aerode.records.results import Estimate

__all__ = ["ToldRow", "told_rows"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ToldRow:
    """One quantity of a fit: its value in words, or why it cannot be told."""

    what: str
    value: str
    how: str
    told: bool
    first: bool
    """Among the few that are asked for first."""


_PARAMETERS = {
    "tafel_slope_V_decade": "slope per tenfold current",
    "area_specific_resistance_ohm_cm2": "resistance times area",
    "resistance_ohm": "resistance",
    "limiting_current_density_mA_cm2": "limiting current density",
    "limiting_current_mA": "limiting current",
    "peak_power_density_mW_cm2": "peak power density",
    "peak_power_mW": "peak power",
    "intercept_V": "voltage carried back to one unit of current",
    "scatter_V": "scatter of the readings",
}


_FIRST = {
    True: {"area_specific_resistance_ohm_cm2", "limiting_current_density_mA_cm2", "peak_power_density_mW_cm2"},
    False: {"resistance_ohm", "limiting_current_mA", "peak_power_mW"},
}  # fmt: skip


def told_rows(fit: Fit, at: tuple[str, ...]) -> tuple[ToldRow, ...]:
    """The rows of a fit.

    Parameters
    ----------
    fit : Fit
    at : tuple of str
        What was asked for, as typed: it stands among the first rows.
    """
    per_area = fit.wetted_area_cm2.value is not None
    asked = [
        (
            f"voltage at {units.plain(one.current.value, 3)} {_unit(one.current)}",
            one.voltage,
            bool(at),
        )
        for one in fit.voltage_at
        if one.current.value is not None
    ]
    named = [
        (_PARAMETERS.get(key, key.replace("_", " ")), one, key in _FIRST[per_area])
        for key, one in fit.parameters.items()
    ]
    return tuple(
        ToldRow(
            what=what, value=_estimate(one), told=one.value is not None, first=first,
            how=one.meaning if one.value is not None else one.reason or "",
        )
        for what, one, first in (*asked, *named)
    )  # fmt: skip


def _unit(one: Estimate) -> str:
    return one.unit.replace("^2", "²")


def _estimate(one: Estimate) -> str:
    if one.value is not None:
        return f"{units.write(one.value, '', one.standard_uncertainty)} {_unit(one)}".strip()
    if one.lower_bound is not None:
        return f"above {units.bound(one.lower_bound)} {_unit(one)}"
    return "cannot be told"
