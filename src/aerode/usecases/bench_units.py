"""A number in the unit that people at a bench use for one of that size: 6 h, 90 um, 0.2 mA, 1 %."""

from __future__ import annotations

import math

from aerode import units

__all__ = ["amount", "bench_unit", "on_steps"]

# SI unit → steps (from this size on [SI], unit); the first holds down to nothing. What a scale, a
# pair of calipers, a clock and a meter show. Common practice, no source.
_STEPS: dict[str, tuple[tuple[float, str], ...]] = {
    "m": ((0.0, "um"), (1e-4, "mm"), (0.1, "cm"), (1.0, "m")),
    "m^2": ((0.0, "cm^2"), (0.1, "m^2")),
    "m^3": ((0.0, "mL"), (1e-3, "L"), (1.0, "m^3")),
    "kg": ((0.0, "mg"), (1e-6, "g"), (1.0, "kg")),
    "s": ((0.0, "s"), (180.0, "min"), (3600.0, "h"), (200_000.0, "d")),
    "ohm": ((0.0, "mohm"), (0.01, "ohm"), (1e3, "kohm"), (1e6, "Mohm")),
    "V": ((0.0, "mV"), (0.05, "V")),
    "A": ((0.0, "uA"), (1e-4, "mA"), (1.0, "A")),
    "W": ((0.0, "mW"), (0.1, "W")),
    "C": ((0.0, "mAh"), (36_000.0, "Ah")),
    "kg/m^3": ((0.0, "mg/m^3"), (0.1, "g/cm^3")),
    "kg/m^2": ((0.0, "mg/cm^2"),),
    "A/m^2": ((0.0, "mA/cm^2"),),
    "m^2/kg": ((0.0, "m^2/g"),),
    "m^3/kg": ((0.0, "mL/g"),),
    "1/s": ((0.0, "h^-1"),),
    "N*m": ((0.0, "N m"),),
    "K": ((0.0, "degC"),),
    "": ((0.0, "%"),),
}
_NOTHING = {"m": "mm", "kg": "g", "ohm": "ohm", "V": "V", "A": "mA", "s": "s", "W": "W", "kg/m^3": "mg/m^3"}  # fmt: skip
"""The unit of a zero, where the first step would be odd."""


def bench_unit(value: float, unit: str) -> str:
    """The unit in which a value of this size is written.

    Parameters
    ----------
    value : float
        The number [unit].
    unit : str
        Its SI unit; "" for a share.

    Returns
    -------
    str
        A unit that `aerode.units.read` takes back.

    Examples
    --------
    >>> bench_unit(21_600.0, "s"), bench_unit(9.5e-4, "m^2"), bench_unit(60.0, "m^3")
    ('h', 'cm^2', 'm^3')
    """
    size = abs(value) * (1.0 + 1e-9)
    steps = _STEPS.get(unit)
    if steps is None:
        return unit
    if size == 0.0:
        return _NOTHING.get(unit, steps[0][1])
    return next(shown for least, shown in reversed(steps) if size >= least)


def amount(value: float, unit: str, spread: float | None = None) -> str:
    """A number as people at a bench write it; without a spread, with the digits it has.

    Parameters
    ----------
    value : float
        The number [unit].
    unit : str
        Its SI unit; "" for a share, written in per cent.
    spread : float, optional
        Its standard uncertainty [unit].

    Returns
    -------
    str
        `aerode.units.read` takes it back, to six digits.

    Examples
    --------
    >>> amount(3600.0, "s"), amount(21_600.0, "s", 600.0), amount(0.01, "")
    ('1 h', '6.00 ± 0.17 h', '1 %')
    >>> amount(9e-5, "m"), amount(1e7, "ohm"), amount(60.0, "m^3", 6.0)
    ('90 um', '10 Mohm', '60.0 ± 6.0 m^3')
    """
    shown = bench_unit(value, unit)
    factor, offset = (100.0, 0.0) if shown == "%" and not unit else units.scale(unit, shown)
    number = factor * value + offset
    if spread and math.isfinite(spread):
        return units.write(number, shown, abs(factor) * spread)
    return f"{_plain(number)} {shown}"


def on_steps(value: float, unit: str, step: float | None) -> str:
    """A number as the display showed it that goes in steps: 0.60 g and not 0.6 g.

    Parameters
    ----------
    value : float
        The number [unit].
    unit : str
        Its SI unit.
    step : float or None
        Smallest step of the display [unit]; None where it is not known.

    Returns
    -------
    str
        As `amount` gives it where the step is not known, and where the number is finer than the step.

    Examples
    --------
    >>> on_steps(6e-4, "kg", 1e-5), on_steps(6e-4, "kg", None), on_steps(6.123e-4, "kg", 1e-5)
    ('0.60 g', '0.6 g', '0.6123 g')
    >>> on_steps(1.5e-3, "kg", 5e-4), on_steps(0.012, "kg", 1e-3)
    ('1.5 g', '12 g')
    """
    shown = bench_unit(value, unit)
    factor, offset = units.scale(unit, shown)
    if not step or offset:
        return amount(value, unit)
    places = max(0, -math.floor(math.log10(factor * step) + 1e-9))  # numerical
    number = factor * value
    if abs(number - round(number, places)) > 1e-6 * max(1.0, abs(number)):  # numerical
        return amount(value, unit)
    return f"{number:.{places}f} {shown}"


def _plain(number: float) -> str:
    """Up to six digits where it ends there, four of a reckoned one; no noughts last, no power of ten."""
    text = f"{number:.6g}" if f"{number:.6g}" == f"{number:.9g}" else f"{number:.4g}"
    if "e" in text:
        text = f"{number:.{max(0, 5 - math.floor(math.log10(abs(number))))}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
