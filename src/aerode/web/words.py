"""Field names and record words as a person reads them."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from aerode.report.printed import tied, with_signs

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

__all__ = [
    "as_read",
    "many_short_rows",
    "plain_fields",
    "plain_words",
    "tied",
    "with_labels",
    "with_signs",
]

_KEPT_IN = re.compile(r", taken as [^;]*$")
_GUESSED = re.compile(r"(\d [^\d\s,;]+), taken as [^;]*\(no unit typed\)$")
_CELSIUS = re.compile(r"(\d) ?C(?=, taken as [\d.]+ K$)")
_OPTION = re.compile(r"--([a-z][a-z-]*)")


_MANY, _SHORT = 8, 46
"""Rows above which cards are too long a way on a phone; letters of a cell that still stands in a small table."""


def many_short_rows(rows: Sequence[Sequence[object]]) -> bool:
    """Whether a table has many rows of short cells: on a phone it stays a table.

    >>> many_short_rows([("T1", "1.02")] * 9), many_short_rows([("T1", "1.02")] * 3)
    (True, False)
    """
    return len(rows) > _MANY and all(len(str(cell)) <= _SHORT for row in rows for cell in row)


def plain_words(name: str) -> str:
    """The name of a field as words: the same words as on the command line, without underscores.

    >>> plain_words("wetted_area")
    'wetted area'
    """
    return name.replace("_", " ")


def as_read(text: str) -> str:
    """How a number was read, without the unit it is kept in: the person typed another one.

    >>> as_read("volume: 500 mL, taken as 0.0005 m^3"), as_read("12, taken as 12 V (no unit typed)")
    ('volume: 500 mL', '12, taken as 12 V (no unit typed)')
    >>> as_read("molarity: 4 mol/L, taken as 4000 mol/m^3 (no unit typed)")
    'molarity: 4 mol/L (no unit typed)'
    >>> as_read("temperature: 25 C, taken as 298.15 K")
    'temperature: 25 °C'
    """
    text = _CELSIUS.sub(r"\1 °C", text)
    if "no unit" in text:
        return _GUESSED.sub(r"\1 (no unit typed)", text)
    return _KEPT_IN.sub("", text)


def plain_fields(text: str, fields: Iterable[str]) -> str:
    """A sentence in which the names of fields read as words; names of records keep their marks.

    >>> plain_fields("cell_2: aluminium_area 12 cm^2", ["aluminium_area"])
    'cell_2: aluminium area 12 cm^2'
    """
    for field in fields:
        text = text.replace(field, plain_words(field))
    return text


def with_labels(text: str, labels: Mapping[str, str]) -> str:
    """A refusal in the words of the form: an option of the command line by its field's label.

    >>> with_labels("--solvent ethanol, or --mix", {"solvent": "Wet with", "mix": "Mix or batch"})
    '“Wet with” ethanol, or “Mix or batch”'
    """

    def label(option: re.Match[str]) -> str:
        name = option[1].replace("-", "_")
        said = labels.get(name) or labels.get(f"{name}s")  # one of several is asked as one
        return f"“{said}”" if said else option[1].replace("-", " ")

    return _OPTION.sub(label, text)
