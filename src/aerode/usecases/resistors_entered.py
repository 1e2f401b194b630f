"""Enter several resistors at once: one line of values, one tolerance for all."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerode import units
from aerode.errors import AerodeError, FieldFault, InputError, RecordError, UnitError
from aerode.records.instruments import Instrument, Sort

if TYPE_CHECKING:
    from collections.abc import Container

    from aerode.store.bench_file import BenchFile

__all__ = ["ResistorsEntered", "enter_resistors", "resistors_from_text"]

_EXAMPLE = "the values printed on them, as in 100, 47, 33, 22 ohm"
_CODE = re.compile(r"^(?P<whole>\d+(?:\.\d+)?)(?P<letter>[RrKkM])(?P<part>\d*)$")
_MOST = 40
"""Of one line: more is a slip of the hand."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ResistorsEntered:
    """Which were entered, and which the bench had already."""

    made: tuple[str, ...]
    known: tuple[str, ...] = ()


def resistors_from_text(
    text: str,
    there: Container[str] = (),
    *,
    tolerance: float | None = None,
    power_rating: float | None = None,
) -> list[Instrument]:
    """The resistors of one line, without those that the bench has already.

    Parameters
    ----------
    text : str
        Values with commas, semicolons, strokes ("100/47") or blanks between; a unit holds for all bare values before
        it, and without any unit they are ohms.
    there : container of str
        Names that are taken.
    tolerance : float, optional [1]
        Limit of error of each, as a fraction.
    power_rating : float, optional [W]
        Of each.

    Returns
    -------
    list of Instrument
        One for each value, named by it.

    Raises
    ------
    UnitError
        A value cannot be read as a resistance.
    InputError
        A resistance is not above zero; there are too many.

    Examples
    --------
    >>> [one.name for one in resistors_from_text("100, 47; 4,7 ohm 1 kohm", {"47 ohm"})]
    ['100 ohm', '4.7 ohm', '1000 ohm']
    """
    made: list[Instrument] = []
    for value in _values(text):
        if value <= 0.0:
            raise InputError(f"{value:g} ohm is no resistance", allowed="more than 0 ohm")
        name = f"{value:g} ohm"
        if name not in there and all(one.name != name for one in made):
            made.append(
                Instrument(name=name, sort=Sort.RESISTOR, nominal_resistance=value,
                           tolerance=tolerance, power_rating=power_rating)
            )  # fmt: skip
    return made


def _values(text: str) -> list[float]:
    """The values in ohm."""
    words = [
        word for word in text.replace(";", " ").replace("/", " ").replace(", ", " ").split() if word
    ]
    found: list[tuple[str, str]] = []
    for word in words:
        bare = word.strip(",")
        if any(letter.isdigit() for letter in bare):
            found += [(part, "") for part in _parted(bare)]
        elif found and not found[-1][1]:
            found[-1] = (found[-1][0], bare)
    if len(found) > _MOST:
        raise InputError(f"{len(found)} resistors in one line", allowed=f"at most {_MOST}")
    values: list[float] = []
    for place, (number, _) in enumerate(found):
        try:
            _, own = units.read_number(number)
            full = number if own else f"{number} {_unit_of(found, place)}"
            values.append(units.read(full, "ohm", field="resistors").value)
        except UnitError as error:
            which = f"{number!r}, number {place + 1} of {len(found)}: " if len(found) > 1 else ""
            raise UnitError(
                f"{which}{error.what}", where=error.where, allowed=error.allowed, next_step=error.next_step
            ) from error  # fmt: skip
    return values


def _unit_of(found: list[tuple[str, str]], place: int) -> str:
    """The next unit behind a bare value; ohm where none follows, unless another unit stood before it."""
    behind = next((unit for _, unit in found[place:] if unit), "")
    if behind:
        return behind
    before = next((unit for _, unit in reversed(found[:place]) if unit), "ohm")
    if before.casefold() not in {"ohm", "ohms", "ω", "Ω"}:
        raise InputError(
            f"{found[place][0]} has no unit of its own, and {before} stands before it",
            allowed=f"{found[place][0]} ohm, or {found[place][0]} {before}",
        )
    return "ohm"


def _parted(word: str) -> list[str]:
    """ "100,47,22" is three numbers, "4,7" one with a decimal comma, "4k7" one in the code of parts."""
    parts = word.split(",")
    if len(parts) > 2:
        return [_decoded(part) for part in parts if part]
    if len(parts) == 2 and len(parts[0]) > 1 and len(parts[1]) > 1:
        raise InputError(
            f"{word!r} may be one value or two", allowed="a blank behind the comma of a list, as in 100, 47 ohm",
        )  # fmt: skip
    return [_decoded(word)]


def _decoded(word: str) -> str:
    """A value in the code that is printed on parts, IEC 60062: R, k and M stand for the point."""
    found = _CODE.match(word)
    if found is None:
        return word
    unit = {"R": "ohm", "K": "kohm", "M": "Mohm"}[found["letter"].upper()]
    return f"{found['whole']}.{found['part'] or '0'} {unit}".replace(".0 ", " ")


def enter_resistors(
    bench: BenchFile, values: str, *, tolerance: str = "", power_rating: str = ""
) -> ResistorsEntered:
    """Enter all resistors of one line, as typed.

    Parameters
    ----------
    bench : BenchFile
        Open for writing.
    values : str
        "100, 47, 33, 22 ohm".
    tolerance : str
        "5 %" or "5": of each; "" where it is not known.
    power_rating : str
        "0.25 W" or "0.25": of each; "" where it is not known.

    Returns
    -------
    ResistorsEntered
        The names that were stored and those that were there already.

    Raises
    ------
    RecordError
        With one fault for each field that cannot be taken; nothing is stored then.
    """
    faults: list[FieldFault] = []

    def read(name: str, text: str, unit: str, bare: str, most: float) -> float | None:
        if not text.strip():
            return None
        try:
            words = text.strip()
            if not units.read_number(words)[1]:
                words = f"{words} {bare}"
            return units.read(words, unit, plausible=(0.0, most), field=name).value
        except AerodeError as error:
            faults.append(FieldFault(name, error.what, error.allowed, text))
            return None

    error_limit = read("tolerance", tolerance, "", "%", 0.5)
    rating = read("power_rating", power_rating, "W", "W", 1000.0)
    wanted: list[Instrument] = []
    try:
        wanted = resistors_from_text(values, tolerance=error_limit, power_rating=rating)
        if not wanted:
            faults.append(FieldFault("values", "no value stands here", _EXAMPLE, values))
    except AerodeError as error:
        faults.append(FieldFault("values", error.what, error.allowed or _EXAMPLE, values))
    if faults:
        raise RecordError(
            "the resistors cannot be taken yet", tuple(faults),
            next_step="mend what is marked; nothing was stored",
        )  # fmt: skip
    taken = {one.name for one in bench.all(Instrument)}
    fresh = [one for one in wanted if one.name not in taken]
    if fresh:
        bench.put_all(fresh, why="resistors entered together")
    return ResistorsEntered(
        made=tuple(one.name for one in fresh),
        known=tuple(one.name for one in wanted if one.name in taken),
    )
