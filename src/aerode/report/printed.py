"""Texts of records as print has them: units, minus signs, dates, numbers that stay with their sign."""

from __future__ import annotations

import re

__all__ = ["dated", "tied", "with_signs", "with_unit_signs"]

_MINUS = re.compile(r"(?<![\w.)-])-(?=\d)")
_BEHIND = re.compile(
    r"(?<=\d) (?=%|°C|(?:[mµk]?[VAWsgN]|m?Ah|[kM]?Pa|k?ohm|ppm|mol|[mckµ]?m[²³]?|K|h|min|d|mL|L)\b)"
)
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_ISO = re.compile(
    r"(?<![\w-])(\d{4})-(\d{2})-(\d{2})(?:[T ](\d{2}:\d{2})(?::\d{2}(?:\.\d+)?)?(?:Z|[+-]\d{2}:?\d{2})?)?(?![\w-])"
)


def dated(text: object) -> str:
    """A text in which each date of ISO 8601 reads as day, month, year, never parted by a line's end.

    >>> dated("made 2026-05-09").replace("\\u00a0", " ")
    'made 9 May 2026'
    >>> dated("2026-11-29T23:10:05+00:00 by Ida").replace("\\u00a0", " ")
    '29 Nov 2026, 23:10 by Ida'
    """

    def said(found: re.Match[str]) -> str:
        year, month, day, clock = found.groups()
        if not 1 <= int(month) <= 12 or not 1 <= int(day) <= 31:
            return found[0]
        date = f"{int(day)}\u00a0{_MONTHS[int(month) - 1]}\u00a0{year}"
        return f"{date}, {clock}" if clock else date

    return _ISO.sub(said, str(text))


def with_signs(text: str) -> str:
    """A text with its units as print has them.

    >>> with_signs("36 cm^2, 3 degC, 2 um")
    '36 cm², 3 °C, 2 µm'
    >>> with_signs("-4.86 mV [-10.7, 8.39] on 2026-05-09")
    '−4.86 mV [−10.7, 8.39] on 2026-05-09'
    """
    return _MINUS.sub("\N{MINUS SIGN}", with_unit_signs(text))


def with_unit_signs(text: str) -> str:
    """The same of the units alone: names of records keep their marks.

    >>> with_unit_signs("A-1, +200 um at 2 mA/cm^2")
    'A-1, +200 µm at 2 mA/cm²'
    """
    for typed, printed in (("^2", "²"), ("^3", "³"), (" degC", " °C"), (" um", " µm")):
        text = text.replace(typed, printed)
    return text


def tied(text: object) -> str:
    """A text in which no number is parted from its unit at the end of a line.

    >>> tied("10 % at 0.45 V, 70 °C, 36 cm², 1000 ppm").replace("\\u00a0", "~")
    '10~% at 0.45~V, 70~°C, 36~cm², 1000~ppm'
    """
    return _BEHIND.sub("\u00a0", str(text)).replace(" ± ", "\u00a0±\u00a0")
