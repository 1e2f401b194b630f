"""The conditions of a run as a person types them."""

from __future__ import annotations

from aerode import units
from aerode.measure.run_cells import SAID_SAME
from aerode.records.marks import Condition, Known
from aerode.usecases.believable import refuse_temperature

__all__ = ["CONDITIONS", "LOT", "condition"]

LOT = "lot"
"""Stands for a unit where the condition is a name: that of the lot of aluminium."""

CONDITIONS: dict[str, tuple[str, str]] = {
    "temperature": ("K", "temperature of the electrolyte, as in 21 °C"),
    "salinity": ("", "salt, as in 31 g/kg or 3.1 %"),
    "hours_wet": ("s", "time since the electrode was first wetted, as in 2 h"),
    "charge_before": ("C", "charge passed before this run, as in 20 mAh"),
    "aluminium_charge": ("C", "charge this aluminium has passed before, as in 20 mAh"),
    "electrolyte_age": ("s", "age of the electrolyte, as in 3 h"),
    "gap": ("m", "gap between electrode and aluminium, as in 4 mm"),
    "aluminium": (LOT, "lot of the aluminium, by its name, as in sheet 1"),
}
"""The conditions that a person can type: unit and example."""


def condition(text: str, unit: str, field: str, *, old: bool = False) -> Condition:
    """A condition as typed: a value with its unit, "same", or "" for may differ.

    Parameters
    ----------
    text : str
        As typed.
    unit : str
        Of the condition, from `CONDITIONS`; kelvin is the temperature of the electrolyte, and `LOT`
        makes it a name, which is known where all runs bear the same.
    field : str
        Its name, for a refusal.
    old : bool
        True for a line of an old notebook, which is kept as it stands.

    Raises
    ------
    UnitError, RangeError
        It cannot be read; no electrolyte has this temperature.

    >>> condition("same", "K", "temperature").known.value
    'same for all, not measured'
    """
    words = text.strip()
    if not words:
        return Condition()
    if words.lower() in SAID_SAME:
        return Condition(known=Known.SAME, text=words)
    if unit == LOT:
        return Condition(text=words)
    typed = units.read(words, unit, field=field)
    if unit == "K" and not old:
        refuse_temperature(typed.value, field)
    return Condition(
        known=Known.MEASURED,
        value=typed.value,
        standard_uncertainty=typed.standard_uncertainty,
        text=words,
    )
