"""The one place that reads what people type ("0,412 V", "742 mV", "250 °F", "in-lb") and writes numbers out.

Inside the program every number is a plain float in SI units; this module stands at the edge.
Reading never guesses silently: the answer says how the text was understood.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from aerode.errors import RangeError, UnitError

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = [
    "Typed",
    "band",
    "bound",
    "convert",
    "decimals_for",
    "example",
    "per_cent",
    "plain",
    "read",
    "read_number",
    "round_to",
    "same_kind",
    "scale",
    "write",
]


@dataclass(frozen=True, slots=True)
class Typed:
    """A number as it was typed and as it was understood.

    `value` and `standard_uncertainty` are in the unit that was asked for; `understood` is the
    sentence to show to the person ("742 mV, taken as 0.742 V").
    """

    value: float
    standard_uncertainty: float | None
    understood: str
    text: str


# Spellings of the bench that the unit library does not know. Common practice, no source.
_ALIASES = {
    "Ω": "ohm", "ω": "ohm", "Ohm": "ohm", "Ohms": "ohm", "kOhm": "kohm", "MOhm": "megaohm", "mOhm": "milliohm",
    "ohms": "ohm", "r": "ohm", "kω": "kohm", "kΩ": "kohm",
    "mΩ": "milliohm", "mohm": "milliohm", "Mohm": "megaohm", "MΩ": "megaohm",
    "v": "V", "volt": "V", "volts": "V", "mv": "mV", "uv": "uV", "kv": "kV",
    "a": "A", "amp": "A", "amps": "A", "ma": "mA", "ua": "uA", "µa": "uA", "mah": "mAh", "ah": "Ah",
    "w": "W", "mw": "mW", "wh": "Wh", "mwh": "mWh",
    "in-lb": "inch*force_pound", "in·lb": "inch*force_pound", "in lb": "inch*force_pound",
    "inlb": "inch*force_pound", "lb-in": "inch*force_pound", "in-lbf": "inch*force_pound",
    "ft-lb": "foot*force_pound", "ft·lb": "foot*force_pound", "ft lb": "foot*force_pound",
    "n·m": "N*m", "nm_torque": "N*m", "n m": "N*m", "n-m": "N*m",
    "in": "inch", "in.": "inch", '"': "inch", "oz": "ounce", "lb": "pound", "lbs": "pound", "lbf": "force_pound",
    "kgf": "kilogram_force", "tsp": "teaspoon", "tbsp": "tablespoon", "cups": "cup",
    "°c": "degC", "degc": "degC", "deg c": "degC", "° c": "degC", "celsius": "degC",
    "°f": "degF", "degf": "degF", "deg f": "degF", "° f": "degF", "fahrenheit": "degF",
    "percent": "%", "pct": "%", "wt%": "%", "wt %": "%", "vol%": "%", "vol %": "%",
    "g/cc": "g/cm**3", "ccm": "cm**3", "cc": "cm**3", "l": "liter", "ml": "mL", "ul": "uL", "µl": "uL",
    "hr": "hour", "hrs": "hour", "h": "hour", "mins": "minute", "min": "minute", "sec": "second", "secs": "second",
    "g/kg": "g/kg", "psu": "g/kg", "ppt": "g/kg", "°": "degree",
}  # fmt: skip
# One amount as people would type it, for each unit that is asked for.
_EXAMPLES = {
    "m^2": "9.5 cm^2", "kg": "1.23 g", "K": "23.4 °C", "m": "0.6 mm", "s": "12 min", "V": "0.742 V",
    "A": "12.9 mA", "ohm": "15 ohm", "m^3": "250 mL", "kg/m^3": "0.79 g/cm^3", "C": "3 mAh",
    "kg/m^2": "12 mg/cm^2", "N": "40 kgf", "N*m": "9 in-lb", "W": "0.25 W", "1/s": "2 h^-1",
    "cm^2": "9.5 cm^2", "S/m": "60 mS/cm", "Pa": "101 kPa", "m/s": "0.2 m/s", "mol/kg": "0.6 mol/kg",
    "mol/m^3": "0.5 mol/L", "m^2/kg": "60 m^2/g", "m^3/kg": "1.2 mL/g", "A/m^2": "2 mA/cm^2",
    "rad": "108 °",
}  # fmt: skip
_TEMPERATURES = {"c": "degC", "f": "degF", "k": "K"}
_POWER = re.compile(r"\b([a-zA-Zµ]+?)\s*(?:\^|\*\*)?([23])\b(?!\w)")
_SUPERSCRIPTS = str.maketrans({"²": "**2", "³": "**3", "·": "*", "⋅": "*", "−": "-"})
_NUMBER = re.compile(
    r"""^\s*(?P<sign>[+\-−]?)\s*
        (?P<digits>\d[\d.,]*(?:[ '\u00a0\u2009\u202f]\d{3}(?!\d)[\d.,]*)*|[.,]\d+)
        (?:\s*(?:[eE]|[x×]\s*10\s*(?:\^|\*\*))\s*(?P<exponent>[+\-−]?\d+))?""",
    re.VERBOSE,
)
_FRACTION = re.compile(
    r"^\s*(?:(?P<whole>\d+)\s+)?(?P<top>\d+)\s*/\s*(?P<bottom>\d+)(?=\s|$|[a-zA-Z])"
)
_OVER_NUMBER = re.compile(r"/\s*[\d.,]")
_PARTS = frozenset({2, 3, 4, 8, 16, 32, 64})
"""What kitchen measures and inch rules are divided into; common practice, no source."""
_PLUS_MINUS = re.compile(r"±|\+\s*/?\s*[-−]")


@lru_cache(maxsize=1)
def _registry() -> Any:
    import pint

    registry: Any = pint.UnitRegistry(  # pyright: ignore[reportUnknownVariableType]
        autoconvert_offset_to_baseunit=True, cache_folder=None
    )
    return registry


def _unit_name(text: str, target: str) -> str:
    """The unit library's spelling of a unit as people write it."""
    raw = text.strip()
    if not raw:
        return target
    if target == "K" and raw.lower().rstrip(".") in _TEMPERATURES:
        return _TEMPERATURES[raw.lower().rstrip(".")]
    for candidate in (raw, raw.lower()):
        if candidate in _ALIASES:
            return _ALIASES[candidate]
    tidy = (
        raw.translate(_SUPERSCRIPTS).replace("^", "**").replace("°C", "degC").replace("°F", "degF")
    )
    tidy = tidy.replace("Ω", "ohm").replace("Ω", "ohm").replace("µ", "u").replace("μ", "u")
    tidy = _POWER.sub(lambda m: f"{m.group(1)}**{m.group(2)}", tidy)
    parts = re.split(r"([*/()]+)", tidy)
    return "".join(
        _ALIASES.get(p.strip(), p) if p.strip() and not p.strip().isdigit() else p for p in parts
    )


@lru_cache(maxsize=512)
def _factor(unit: str, target: str) -> tuple[float, float]:
    """`(scale, offset)` with value_in_target = scale * value + offset."""
    registry = _registry()
    name = _unit_name(unit, target) if unit else "dimensionless"
    wanted = _unit_name(target, target) if target else "dimensionless"
    name, wanted = ("percent" if word == "%" else word for word in (name, wanted))
    try:
        one = registry.Quantity(1.0, name).to(wanted or "dimensionless").magnitude
        zero = registry.Quantity(0.0, name).to(wanted or "dimensionless").magnitude
    except Exception as problem:
        raise UnitError(
            f"the unit {unit!r} cannot be taken as {target or 'a plain number'}",
            allowed=f"a unit of the same kind as {target or 'a plain number or %'}",
            next_step="write the unit behind the number, as in 742 mV, 9.5 cm^2 or 250 °F",
        ) from problem
    return float(one) - float(zero), float(zero)


def scale(unit: str, target: str) -> tuple[float, float]:
    """Scale and offset from a unit to a target unit, for a whole column of a table.

    Parameters
    ----------
    unit : str
        The unit as written ("mV", "°F", "mA/cm²").
    target : str
        The unit wanted ("V", "K", "A/m^2"); "" for a plain number.

    Returns
    -------
    tuple of float
        `(scale, offset)`: value in `target` = scale * value + offset.

    Raises
    ------
    UnitError
        Unknown unit, or one of another kind.

    Examples
    --------
    >>> scale("mV", "V")
    (0.001, 0.0)
    """
    return _factor(unit, target)


def convert(value: float, unit: str, target: str) -> float:
    """One number from a unit into another of the same kind.

    >>> round(convert(250.0, "degF", "K"), 2)
    394.26
    """
    factor, offset = _factor(unit, target)
    return factor * value + offset


def example(unit: str) -> str:
    """A number with its unit, as a person would type one that is asked for in `unit`.

    >>> example("m^2"), example("1/m")
    ('9.5 cm^2', '1 1/m')
    """
    return _EXAMPLES.get(unit, f"1 {unit}")


def same_kind(unit: str, target: str) -> bool:
    """True if `unit` can be taken as `target`.

    >>> same_kind("mV", "V"), same_kind("mA", "V")
    (True, False)
    """
    try:
        _factor(unit, target)
    except UnitError:
        return False
    return True


def _plain(digits: str, text: str) -> float:
    """Digits with any of . , space ' as separators → float."""
    body = re.sub(r"[ '\u00a0\u2009\u202f]", "", digits).rstrip(".,")
    dots, commas = body.count("."), body.count(",")
    if dots and commas:
        decimal = "." if body.rfind(".") > body.rfind(",") else ","
        other = "," if decimal == "." else "."
        if body.count(decimal) > 1:
            raise UnitError(f"{text!r} has two kinds of separators and no clear decimal mark",
                            allowed="one decimal point or comma", next_step="type it again, as in 1234.5")  # fmt: skip
        body = body.replace(other, "").replace(decimal, ".")
    elif commas == 1:
        body = body.replace(",", ".")
    elif commas > 1 or dots > 1:
        mark = "," if commas else "."
        groups = body.split(mark)
        if any(len(g) != 3 for g in groups[1:]):
            raise UnitError(f"{text!r} has more than one decimal mark",
                            allowed="one decimal point or comma", next_step="type it again, as in 0.742")  # fmt: skip
        body = "".join(groups)
    return float(body)


def read_number(text: str) -> tuple[float, str]:
    """The number at the head of a text and what follows it.

    Takes `742`, `0,742`, `.742`, `1 234,5`, `1.2e-3`, `1.2 x 10^-3`, and the fractions of a spoon or
    an inch rule, `3/4` and `1 1/2`. Any other number over a number is refused: "100/47" is two.

    Parameters
    ----------
    text : str
        What was typed.

    Returns
    -------
    tuple
        `(number, rest)`, the rest stripped of spaces.

    Raises
    ------
    UnitError
        No number there, not a finite one, or a quotient of two.

    Examples
    --------
    >>> read_number("0,742 V")
    (0.742, 'V')
    >>> read_number("3/4 cup")
    (0.75, 'cup')
    """
    fraction = _FRACTION.match(text)
    if fraction:
        top, bottom = int(fraction["top"]), int(fraction["bottom"])
        rest = text[fraction.end() :].strip()
        if bottom in _PARTS and 0 < top < bottom and not rest.startswith("/"):
            return int(fraction["whole"] or 0) + top / bottom, rest
        raise _quotient(text)
    match = _NUMBER.match(text)
    if not match:
        raise UnitError(f"{text!r} does not begin with a number", allowed="a number such as 742, 0,742 or 1.2e-3",
                        next_step="type the number first, then its unit")  # fmt: skip
    exponent = (match["exponent"] or "0").replace("−", "-")
    value = (
        _plain(match["digits"], text) * 10.0 ** int(exponent)
        if abs(int(exponent)) < 300
        else math.inf
    )
    if match["sign"] in {"-", "−"}:
        value = -value
    if not math.isfinite(value):
        raise UnitError(
            f"{text!r} is not a finite number", allowed="a finite number", next_step="type it again"
        )
    rest = text[match.end() :].strip()
    if _OVER_NUMBER.match(rest):
        raise _quotient(text)
    return value, rest


def _quotient(text: str) -> UnitError:
    return UnitError(
        f"{text!r} is one number over another, and that may be two numbers",
        allowed="one number; of fractions those of a spoon or an inch rule, as in 3/4 or 1 1/2",
        next_step="type it as one number, as in 0.75",
    )


def _pick_bare(
    number: float, unit: str, bare: Sequence[str], plausible: tuple[float, float] | None
) -> str:
    """Which unit a bare number most likely carries: the first that lands in the plausible range."""
    if plausible is None:
        return bare[0]
    for candidate in bare:
        if plausible[0] <= convert(number, candidate, unit) <= plausible[1]:
            return candidate
    return bare[0]


def read(
    text: str,
    unit: str,
    *,
    bare: Sequence[str] = (),
    plausible: tuple[float, float] | None = None,
    field: str = "",
) -> Typed:
    """A typed text as a number in `unit`, with the uncertainty after ± if there is one.

    Parameters
    ----------
    text : str
        "0,412 V", "742", "9.54 cm^2 +- 1.2 %", "250 °F".
    unit : str
        The unit of the answer; "" for a plain number (per cent is understood).
    bare : sequence of str
        Units a number without one may carry, likeliest first; the first that lands in
        `plausible` is taken, and `understood` says so. Without it a number that has a dimension
        needs its unit: nothing is taken by silence.
    plausible : tuple of float, optional
        Lowest and highest believable value [unit]; outside it the text is refused.
    field : str
        The name of the field, for the refusal.

    Returns
    -------
    Typed
        Value and standard uncertainty in `unit`. What stands behind ± is taken as ONE standard
        uncertainty (GUM 2.3.1), in the unit given there, in the value's unit, or in per cent. A
        mass typed for a force is the weight of it, and `understood` says so.

    Raises
    ------
    UnitError
        No number, a unit of another kind, or none where one is needed.
    RangeError
        Outside `plausible`, with the slip that would explain it.

    Examples
    --------
    >>> read("742", "V", bare=("V", "mV"), plausible=(-0.5, 2.7)).value
    0.742
    >>> round(read("9.54 cm^2 +- 1.2 %", "cm^2").standard_uncertainty or 0.0, 5)
    0.11448
    """
    if any(word in text.lower() for word in ("nan", "inf")):
        raise UnitError(f"{text!r} is not a finite number", where=field, allowed="a finite number",
                        next_step="leave the field empty if it was not measured")  # fmt: skip
    head, *tail = _PLUS_MINUS.split(text, maxsplit=1)
    try:
        number, unit_text = read_number(head)
        spread, spread_unit = read_number(tail[0]) if tail else (None, "")
    except UnitError as error:
        raise UnitError(
            error.what, where=field, allowed=error.allowed, next_step=error.next_step
        ) from error
    if not unit_text and tail and spread_unit and (spread_unit != "%" or unit == ""):
        unit_text = spread_unit
    if unit and not unit_text and not bare:
        raise UnitError(
            f"{text!r} has no unit",
            where=field,
            allowed=f"a number with its unit, as in {example(unit)}",
            next_step="write the unit behind the number; nothing is guessed",
        )
    if unit == "N" and unit_text and same_kind(unit_text, "kg"):
        g = 9.80665  # m/s^2, standard fall, exact by definition (3rd CGPM, 1901)
        mass, said = read(text, "kg", field=field), f"{number:g} {unit_text}"
        spread = None if mass.standard_uncertainty is None else g * mass.standard_uncertainty
        return Typed(g * mass.value, spread, f"{said} is about {plain(g * mass.value, 3)} N: a weight of {said}", text)  # fmt: skip
    chosen = unit_text or _pick_bare(number, unit, bare or (unit,), plausible)
    try:
        factor, offset = _factor(chosen, unit)
        value = factor * number + offset
        spread_value = _spread(spread, spread_unit, value, factor, unit)
    except UnitError as error:
        raise UnitError(
            error.what, where=field, allowed=error.allowed, next_step=error.next_step
        ) from error
    _refuse_implausible(value, unit, plausible, text, field, number, chosen)
    said = f"{number:g} {chosen}".strip()
    understood = said if chosen == unit else f"{said}, taken as {plain(value, 6)} {unit}".strip()
    if not unit_text and (chosen != unit or bare):
        understood = f"{understood} (no unit typed)"
    return Typed(value, spread_value, understood, text)


def _spread(
    spread: float | None, spread_unit: str, value: float, factor: float, unit: str
) -> float | None:
    if spread is None:
        return None
    if spread < 0:
        raise UnitError(
            "what stands behind ± is negative",
            allowed="zero or more",
            next_step="type it without a sign",
        )
    if spread_unit == "%" and unit != "":
        return abs(value) * spread / 100.0
    if not spread_unit or (spread_unit == "%" and unit == ""):
        return spread * (abs(factor) if not spread_unit else 0.01)
    return spread * abs(_factor(spread_unit, unit)[0])


def _refuse_implausible(
    value: float,
    unit: str,
    plausible: tuple[float, float] | None,
    text: str,
    field: str,
    number: float,
    chosen: str,
) -> None:
    if plausible is None or plausible[0] <= value <= plausible[1]:
        return
    hint = "look at the meter again: range, socket, decimal mark"
    for slip, meaning in (
        (1e-3, "a thousand times smaller"),
        (1e3, "a thousand times larger"),
        (-1.0, "of the other sign"),
    ):
        if plausible[0] <= value * slip <= plausible[1]:
            hint = f"did you mean a value {meaning}? then type it with its unit"
            break
    raise RangeError(
        f"{text!r} was read as {f'{value:.6g} {unit}'.strip()}, which is not believable here",
        where=field,
        allowed=f"{plausible[0]:g} to {plausible[1]:g} {unit}".strip(),
        next_step=hint,
    )


def decimals_for(standard_uncertainty: float) -> int:
    """Decimals that keep two significant digits of the uncertainty (GUM 7.2.6).

    >>> decimals_for(0.0057), decimals_for(12.3)
    (4, 0)
    """
    if not standard_uncertainty > 0:
        return 6
    exponent = math.floor(math.log10(standard_uncertainty) + 1e-12)
    if round(standard_uncertainty / 10.0**exponent, 1) >= 10.0:
        exponent += 1
    return 1 - exponent


def round_to(value: float, standard_uncertainty: float) -> float:
    """The value, rounded to the digits its uncertainty supports."""
    return round(value, decimals_for(standard_uncertainty))


def band(value: float, low: float, high: float, *, factor: float = 1.0, sign: bool = False) -> str:
    """A value with its band, all rounded to what the width of the band supports.

    Two digits of a quarter of the width are kept, as of a standard uncertainty where the band is
    the 95 % one of a bell.

    >>> band(0.494, 0.175, 1.03, factor=1e3), band(-0.0127, -0.0419, 0.00511, factor=1e3, sign=True)
    ('490 [180, 1030]', '-13 [-42, +5]')
    """
    numbers = [factor * number for number in (value, low, high)]
    decimals = decimals_for((numbers[2] - numbers[1]) / 4.0)
    form = f"{'+' if sign else ''}.{max(0, decimals)}f"
    middle, least, most = (format(round(number, decimals) + 0.0, form) for number in numbers)
    return f"{middle} [{least}, {most}]"


def _significant(value: float, digits: int) -> str:
    if value == 0:
        return "0"
    decimals = digits - 1 - math.floor(math.log10(abs(value)))
    return f"{round(value, decimals):.{max(0, decimals)}f}"


_NOTHING = 1e-12
"""Below it a number is written as nothing: seventy zeros tell nobody more."""


def plain(value: float, digits: int = 2, *, sign: bool = False) -> str:
    """A number for people to so many significant digits: no exponent, no zeros that say nothing.

    Parameters
    ----------
    value : float
    digits : int
        Significant digits.
    sign : bool
        With a plus before what is above zero.

    Examples
    --------
    >>> plain(0.5), plain(99.7), plain(1.2e-5), plain(13200.0), plain(1.3, sign=True), plain(-0.0)
    ('0.5', '100', '0.000012', '13000', '+1.3', '0')
    """
    text = f"{value:.{digits}g}"
    if "e" in text:
        text = "0" if abs(value) < _NOTHING else _significant(value, digits)
    text = "0" if text in ("-0", "0") else text
    return f"+{text}" if sign and value > 0 and text != "0" else text


def bound(value: float, digits: int = 2) -> str:
    """A lower bound to so many significant digits, rounded towards zero: never more than is known.

    Parameters
    ----------
    value : float
        Zero or more.
    digits : int
        Significant digits.

    Examples
    --------
    >>> bound(1.26), bound(0.0999), bound(13.0), bound(1.3)
    ('1.2', '0.099', '13', '1.3')
    """
    if value <= 0.0:
        return plain(value, digits)
    step = 10.0 ** (math.floor(math.log10(value)) - digits + 1)
    return plain(math.floor(value / step * (1.0 + 1e-12)) * step, digits)  # numerical


def per_cent(share: float, digits: int = 2) -> str:
    """A share or a relative spread for people, never with an exponent.

    Parameters
    ----------
    share : float
        The part of one.
    digits : int
        Significant digits.

    Examples
    --------
    >>> per_cent(0.0123), per_cent(0.05), per_cent(1.1), per_cent(2e-7)
    ('1.2 %', '5 %', '110 %', '0.000020 %')
    """
    return f"{plain(100 * share, digits)} %"


def write(
    value: float,
    unit: str,
    standard_uncertainty: float | None = None,
    *,
    to: str = "",
    digits: int = 3,
) -> str:
    """A number for people: digits follow the uncertainty, or `digits` significant ones.

    Parameters
    ----------
    value : float
        The number [unit].
    unit : str
        Its unit.
    standard_uncertainty : float, optional
        Standard uncertainty [unit]; two significant digits of it are shown.
    to : str
        Another unit to show it in.
    digits : int
        Significant digits where there is no uncertainty.

    Examples
    --------
    >>> write(0.74213, "V", 0.0057)
    '0.7421 ± 0.0057 V'
    >>> write(9.54e-4, "m^2", 1.14e-5, to="cm^2")
    '9.54 ± 0.11 cm^2'
    """
    shown = to or unit
    if to and to != unit:
        factor, offset = _factor(unit, to)
        value = factor * value + offset
        standard_uncertainty = (
            None if standard_uncertainty is None else abs(factor) * standard_uncertainty
        )
    label = f" {shown}" if shown else ""
    if (
        standard_uncertainty is None
        or not standard_uncertainty > 0
        or not math.isfinite(standard_uncertainty)
    ):
        return f"{_significant(value, digits)}{label}"
    decimals = decimals_for(standard_uncertainty)
    places = max(0, decimals)
    return f"{round(value, decimals):.{places}f} ± {round(standard_uncertainty, decimals):.{places}f}{label}"
