"""Time that does not stand in one column: date and time apart, rows that count, a start noted above."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING

from aerode import units
from aerode.devices.table_columns import Column
from aerode.devices.table_moments import iso, read_moment
from aerode.devices.table_text import Line
from aerode.errors import UnitError

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from aerode.devices.table_headings import Heading

__all__ = ["joined_moments", "started_in", "time_by_counting"]

_START = ("start", "begin", "beginn", "recorded", "aufzeichnung", "début", "date", "datum")
_INTERVAL = (
    "interval",
    "intervall",
    "abtast",
    "sample time",
    "sampling time",
    "période",
    "period",
    "schrittweite",
)
_RATE = ("rate", "frequency", "frequenz", "fréquence")
_COUNTERS = {"no", "nr", "n°", "#", "index", "sample", "samples", "point", "row", "count", "id",
             "scan", "record", "lfd", "messung", "number", "numéro", "n"}  # fmt: skip


def joined_moments(
    rows: list[Line], headings: list[Heading]
) -> tuple[list[Line], list[Heading], list[str]]:
    """A column of dates and one of times become one column of moments, in the place of the second.

    Nothing changes where the columns do not hold a date and a time of day.
    """
    times = [n for n, heading in enumerate(headings) if heading.role == "time"]
    if len(times) < 2:
        return rows, headings, []
    dates = [n for n in times if _mostly(rows, n, dated=True)]
    clocks = [n for n in times if n not in dates and _mostly(rows, n, dated=False)]
    if len(dates) != 1 or len(clocks) != 1:
        return rows, headings, []
    date, clock = dates[0], clocks[0]
    joined = [
        Line(row.number, tuple(
            f"{row.cell(date)} {row.cell(clock)}".strip() if n == clock else cell
            for n, cell in enumerate([*row.cells, *([""] * (len(headings) - len(row.cells)))])
        ))
        for row in rows
    ]  # fmt: skip
    said = f"{headings[date].text!r} and {headings[clock].text!r} together are the time"
    new = [
        replace(h, text="", role="")
        if n == date
        else replace(h, says_date=True, date_place=date)
        if n == clock
        else h
        for n, h in enumerate(headings)
    ]
    return joined, new, [said]


def _mostly(rows: Sequence[Line], place: int, *, dated: bool) -> bool:
    moments = [read_moment(row.cell(place)) for row in rows[:200] if row.cell(place)]
    fitting = [
        m for m in moments if m is not None and m.dated is dated and _is_bare(m.micros, dated)
    ]
    return bool(moments) and 2 * len(fitting) > len(moments)


def _is_bare(micros: int, dated: bool) -> bool:
    """A date joined to a time has no time of its own."""
    return not dated or micros % 86_400_000_000 == 0


def time_by_counting(
    columns: Sequence[Column], facts: Mapping[str, str]
) -> tuple[list[Column], list[str]]:
    """A time column from the interval noted above, where rows are only counted."""
    if any(column.role == "time" for column in columns):
        return [], []
    interval = _interval(facts)
    if interval is None:
        return [], []
    step, said = interval
    rows = len(columns[0].values)
    counter = next((c for c in columns if _is_counter(c)), None)
    numbers = counter.values if counter else tuple(float(n) for n in range(rows))
    first = next((n for n in numbers if n is not None), 0.0)
    values = tuple(None if n is None else (n - first) * step for n in numbers)
    column = Column("", len(columns) + 1, "time", "s", "s", values, ("",) * rows)
    by = f"{counter.heading!r}" if counter else "the number of the row"
    return [column], [f"the time is {by} times {said}"]


def _is_counter(column: Column) -> bool:
    word = column.heading.strip().rstrip(".:").casefold()
    numbers = [value for value in column.values if value is not None]
    rising = all(b - a >= 1.0 for a, b in pairwise(numbers))
    return word in _COUNTERS and len(numbers) > 1 and rising


def _interval(facts: Mapping[str, str]) -> tuple[float, str] | None:
    for key, value in facts.items():
        for words, unit in ((_INTERVAL, "s"), (_RATE, "Hz")):
            if not any(word in key for word in words):
                continue
            try:
                number, typed = units.read_number(value)
                bracket = re.search(r"[(\[]\s*([^)\]]+?)\s*[)\]]", key)
                typed = typed or (bracket[1] if bracket else unit)
                if units.same_kind(typed, unit) and number > 0:
                    amount = units.convert(number, typed, unit)
                    return (amount if unit == "s" else 1.0 / amount), f"{value} ({key})"
            except UnitError:
                continue
    return None


def started_in(facts: Mapping[str, str], order: str) -> str:
    """When the run began, as noted above the headings; "" where it reads in two ways or not at all."""
    for key, value in facts.items():
        if not any(word in key for word in _START):
            continue
        moment = read_moment(value, order)
        if moment is None or not moment.dated or moment.other is not None:
            continue
        time = next((facts[k] for k in ("time", "start time", "zeit", "uhrzeit", "startzeit") if k in facts and k != key), "")  # fmt: skip
        both = read_moment(f"{value} {time}", order) if time else None
        chosen = both if both is not None and both.dated else moment
        return iso(chosen.micros, chosen.zone)
    return ""
