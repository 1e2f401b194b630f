"""A wetted area as people have it: in square centimetres, or as the two sides of a rectangle."""

from __future__ import annotations

import re

from aerode import units
from aerode.errors import UnitError
from aerode.measure.area import area_from_entry
from aerode.records.marks import Entry

__all__ = ["area_entry", "sides_multiplied"]

_SIDES = re.compile(r"^(?P<one>.+?)\s*(?:[x×*]|\bby\b)\s*(?P<other>[\d.,].*)$", re.IGNORECASE)
_HOW = re.compile(r"^(?P<area>.*?)\s*\((?P<how>[^()]*)\)$")


def sides_multiplied(text: str) -> str:
    """A rectangle given by its sides as an area; any other text as it is.

    Parameters
    ----------
    text : str
        "30 x 32 mm", "3 cm by 3 cm", "9.5 cm^2".

    Returns
    -------
    str
        With the unit cm^2 where it was a rectangle. The unit behind the last side holds for the
        first one where that has none.

    Raises
    ------
    UnitError
        A side cannot be read as a length.

    Examples
    --------
    >>> sides_multiplied("30 x 32 mm"), sides_multiplied("9.5 cm^2")
    ('9.6 cm^2', '9.5 cm^2')
    """
    found = _SIDES.match(text.strip())
    if found is None:
        return text
    unit = units.read_number(found["other"])[1]
    if not unit:
        raise UnitError(
            f"{text!r} has no unit", allowed="two sides with their unit, as in 30 x 32 mm"
        )
    one = found["one"] if units.read_number(found["one"])[1] else f"{found['one']} {unit}"
    sides = [units.read(side, "cm", field="area").value for side in (one, found["other"])]
    return f"{sides[0] * sides[1]:.10g} cm^2"


def area_entry(text: str) -> Entry:
    """A typed wetted area as it is stored.

    Parameters
    ----------
    text : str
        "9.54 cm^2 ± 1.2 % (photo)", "30 x 32 mm (ruler)".

    Returns
    -------
    Entry
        The area [m^2], how it was found, and what was typed.

    Raises
    ------
    UnitError, RangeError
        It cannot be read as an area; it is not believable.

    Examples
    --------
    >>> found = area_entry("30 x 32 mm (ruler)")
    >>> round(found.value, 6), found.how
    (0.00096, 'ruler')
    """
    match = _HOW.match(text.strip())
    words, how = (match["area"], match["how"].strip()) if match else (text, "")
    typed = units.read(sides_multiplied(words), "m^2", field="area")
    entry = Entry(
        value=typed.value, standard_uncertainty=typed.standard_uncertainty, how=how, text=words
    )
    area_from_entry(entry)  # refuses what is not believable
    return entry
