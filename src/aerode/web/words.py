"""Field names and record words as a person reads them."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

__all__ = ["plain_fields", "plain_words", "tied", "with_labels", "with_signs"]

_OPTION = re.compile(r"--([a-z][a-z-]*)")
_MINUS = re.compile(r"(?<![\w.)-])-(?=\d)")


def plain_words(name: str) -> str:
    """The name of a field as words: the same words as on the command line, without underscores.

    >>> plain_words("wetted_area")
    'wetted area'
    """
    return name.replace("_", " ")


def with_signs(text: str) -> str:
    """A text with its units as print has them.

    >>> with_signs("36 cm^2, 3 degC, 2 um")
    '36 cm², 3 °C, 2 µm'
    >>> with_signs("-4.86 mV [-10.7, 8.39] on 2026-05-09")
    '−4.86 mV [−10.7, 8.39] on 2026-05-09'
    """
    for typed, printed in (("^2", "²"), ("^3", "³"), (" degC", " °C"), (" um", " µm")):
        text = text.replace(typed, printed)
    return _MINUS.sub("\N{MINUS SIGN}", text)


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


def tied(text: object) -> str:
    """A text in which no number is parted from its per cent sign at the end of a line.

    >>> tied("10 % to 20 %") == "10\\u00a0% to 20\\u00a0%"
    True
    """
    return str(text).replace(" %", "\u00a0%")
