"""Field names and record words as a person reads them."""

from __future__ import annotations

__all__ = ["plain_words", "tied", "with_signs"]


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
    """
    for typed, printed in (("^2", "²"), ("^3", "³"), (" degC", " °C"), (" um", " µm")):
        text = text.replace(typed, printed)
    return text


def tied(text: object) -> str:
    """A text in which no number is parted from its per cent sign at the end of a line.

    >>> tied("10 % to 20 %") == "10\\u00a0% to 20\\u00a0%"
    True
    """
    return str(text).replace(" %", "\u00a0%")
