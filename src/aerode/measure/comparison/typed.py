"""What a person types for a comparison: the point, the margin, a share."""

from __future__ import annotations

from aerode import units
from aerode.errors import RangeError, UnitError

__all__ = ["coefficient_from_text", "margin_from_text", "point_from_text", "share_from_text"]

_LEAST_RATIO, _MOST_RATIO = 1.001, 5.0  # judgement
_BELIEVABLE_VOLTAGE = (1e-3, 2.7)  # judgement


def point_from_text(text: str) -> tuple[float | None, float | None]:
    """The common point: a voltage [V] or a current density [A/m^2], the other None.

    Parameters
    ----------
    text : str
        "0.45 V", "450 mV", "2 mA/cm^2".

    Returns
    -------
    voltage : float or None [V]
    current_density : float or None [A/m^2]

    Raises
    ------
    UnitError
        Without a unit, or with one of another kind.
    RangeError
        If it is not believable.

    Examples
    --------
    >>> point_from_text("450 mV"), point_from_text("2 mA/cm^2")
    ((0.45, None), (None, 20.0))
    """
    _, unit = units.read_number(text)
    if unit and units.same_kind(unit, "V"):
        return units.read(text, "V", plausible=_BELIEVABLE_VOLTAGE, field="at").value, None
    if unit and units.same_kind(unit, "A/m^2"):
        value = units.read(text, "A/m^2", plausible=(1e-2, 1e4), field="at").value  # judgement
        return None, round(value, 9)
    raise UnitError(
        f"{text!r} is neither a voltage nor a current density",
        where="at",
        allowed="a voltage in V or mV, or a current density in mA/cm^2",
        next_step='write it with its unit, as in "0.45 V" or "2 mA/cm^2"',
    )


def margin_from_text(text: str) -> float:
    """The smallest ratio that matters: "10 %", "1.10" and, as no ratio is so large, "10" are the same.

    Parameters
    ----------
    text : str

    Returns
    -------
    float [1]
        Above 1.

    Raises
    ------
    UnitError
        If it is no number or per cent.
    RangeError
        If it is not between 0.1 and 400 per cent.

    Examples
    --------
    >>> round(margin_from_text("10 %"), 3), margin_from_text("1.25"), round(margin_from_text("15"), 3)
    (1.1, 1.25, 1.15)
    """
    number, unit = units.read_number(text)
    if unit:
        ratio = 1.0 + units.read(text, "", field="difference").value
    else:
        ratio = 1.0 + (number if number < 1.0 else number / 100.0 if number > _MOST_RATIO else number - 1.0)  # fmt: skip
    if not _LEAST_RATIO <= ratio <= _MOST_RATIO:
        raise RangeError(
            f"{text.strip()!r} is no difference that a comparison can be asked for",
            where="margin",
            allowed="0.1 % to 400 %, as in 10 %, or as a ratio, 1.10",
        )
    return ratio


def share_from_text(text: str, field: str) -> float:
    """A share: "10 %" and "0.1" are the same [1].

    Parameters
    ----------
    text : str
    field : str
        Its name, for the refusal.

    Returns
    -------
    float [1]

    Examples
    --------
    >>> share_from_text("10 %", "spread"), share_from_text("0.1", "spread")
    (0.1, 0.1)
    """
    return round(units.read(text, "", plausible=(1e-4, 4.0), field=field).value, 12)  # judgement


def coefficient_from_text(text: str) -> tuple[float, float]:
    """A temperature coefficient with its uncertainty: "2 +- 1 %/K" as (0.02, 0.01) [1/K].

    Parameters
    ----------
    text : str

    Returns
    -------
    (float, float) [1/K]

    Raises
    ------
    UnitError
        Without ±: a coefficient enters only as a band.

    Examples
    --------
    >>> coefficient_from_text("2 +- 1 %/K")
    (0.02, 0.01)
    """
    bare = text.replace("/K", "").replace("per K", "").replace("per kelvin", "").strip()
    per_cent = "%" in bare
    typed = units.read(bare.replace("%", ""), "", field="temperature coefficient")
    if typed.standard_uncertainty is None:
        raise UnitError(
            f"{text!r} has no uncertainty: a temperature coefficient enters only as a band",
            where="temperature coefficient",
            allowed='value and standard uncertainty, as in "2 +- 1 %/K"',
        )
    scale = 0.01 if per_cent else 1.0  # by definition
    return round(typed.value * scale, 12), round(typed.standard_uncertainty * scale, 12)
