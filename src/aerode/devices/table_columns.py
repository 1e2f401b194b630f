"""One column of a table on its way from cells to numbers in SI, with what is refused on the way."""

from __future__ import annotations

import math
import statistics
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import TYPE_CHECKING

from aerode import units as unit_reader
from aerode.devices.table_headings import ROLE_UNITS, order_in, spelled
from aerode.devices.table_moments import count_form, is_moment, iso, micros_of_count, read_moment
from aerode.devices.table_numbers import (
    is_missing,
    is_number,
    is_open,
    is_overload,
    number_and_unit,
)
from aerode.devices.table_times import date_order, read_times
from aerode.errors import TableError, UnitError

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from aerode.devices.table_headings import Heading
    from aerode.devices.table_sayings import Saying
    from aerode.devices.table_text import Line

__all__ = [
    "BELIEVABLE",
    "Column",
    "ColumnReader",
    "RefusedCell",
    "decimal_shift",
    "refuse_swapped",
    "scaled",
    "shifted",
]


@dataclass(frozen=True, slots=True)
class RefusedCell:
    """A cell (or a whole row, `column` "") that was not taken, and what would be."""

    file: str
    line: int
    column: str
    raw: str
    why: str
    allowed: str = ""

    @property
    def where(self) -> str:
        """The place in words."""
        column = f", column {self.column!r}" if self.column else ""
        return f"{self.file}, line {self.line}{column}"


@dataclass(frozen=True, slots=True)
class Column:
    """One column: the heading, what it holds, its numbers in SI with None where there is none.

    `role` is "" where the heading is not understood; then `values` are as typed. `raw` keeps the
    cells as they stand ("open", a note). `place` counts columns from 1. For a time, `form` is
    "date", "clock", "elapsed", "number", or what its numbers count from, and `order` that of its
    dates.
    """

    heading: str
    place: int
    role: str
    unit: str
    si: str
    values: tuple[float | None, ...]
    raw: tuple[str, ...]
    form: str = ""
    order: str = ""
    from_zero: bool = False
    date_place: int | None = None


# What the numbers of one bench can be; wide enough for a stack of cells and a hot day.
BELIEVABLE = {"voltage": (-30.0, 30.0), "current": (-20.0, 20.0), "temperature": (230.0, 500.0)}
"""Lowest and highest value that is taken from a table without a word, in SI."""
_SINGLE_CELL = 3.0
"""No single aluminium-air cell reaches this voltage [V]."""
_SMALL_VOLTAGE = 0.003
"""A whole column below this [V] was most likely typed in V under a heading in mV."""


def decimal_shift(factor: float) -> int:
    """By how many places a factor moves the decimal mark to the left; 0 where it does not.

    >>> decimal_shift(0.001), decimal_shift(1.0), decimal_shift(60.0)
    (3, 0, 0)
    """
    if not 0.0 < factor < 0.5:
        return 0
    places = round(-math.log10(factor))
    return places if abs(10.0**places * factor - 1.0) < 1e-9 else 0


def shifted(number: float, places: int) -> float:
    """A number with its decimal mark moved to the left, rounded once: 651.9 mV is 0.6519 V.

    >>> 651.9 / 1000, shifted(651.9, 3)
    (0.6518999999999999, 0.6519)
    """
    return float(Decimal(repr(number)).scaleb(-places))


def scaled(number: float, factor: float, offset: float) -> float:
    """A number in another unit, rounded once where only the decimal mark moves."""
    places = decimal_shift(factor)
    return shifted(number, places) + offset if places else factor * number + offset


class ColumnReader:
    """One column on its way from cells to numbers, with what is refused and said on the way."""

    def __init__(
        self,
        name: str,
        place: int,
        heading: Heading,
        rows: Sequence[Line],
        mark: str,
        saying: Saying,
    ) -> None:
        self.name = name
        self.heading = heading
        self.place = place
        self.rows = rows
        self.raw = tuple(row.cell(place) for row in rows)
        self.mark = mark
        self.saying = saying
        self.told = bool(saying.units) and heading.role in saying.units
        self.order = ""
        """The order of day, month and year, once it is settled."""
        self.form = ""
        """How a time stands: see `Column`."""
        self.refused: list[RefusedCell] = []
        self.said: list[str] = []
        self.started = ""

    @property
    def where(self) -> str:
        return f"{self.name}, column {self.heading.text!r}"

    def refuse(self, index: int, why: str, allowed: str = "") -> None:
        row = self.rows[index]
        self.refused.append(
            RefusedCell(self.name, row.number, self.heading.text, self.raw[index], why, allowed)
        )

    def column(self) -> Column:
        """The column in SI."""
        role = self.heading.role
        if not role or self._holds_names():
            return self._as_typed()
        if role == "time" and self._are_moments():
            values, unit = self._moments()
        else:
            values, unit = self._numbers()
            if role == "time":
                values, unit = self._counted(values, unit)
        how = f"as {unit}" if role == "time" and " " in unit else f"in {unit}"
        self.said.append(f"{self.heading.text!r} is the {role.replace('_', ' ')} {how}")
        return Column(
            self.heading.text, self.place + 1, role, unit, ROLE_UNITS[role], tuple(values), self.raw,
            self.form, self.order, self.heading.says_elapsed, self.heading.date_place,
        )  # fmt: skip

    def _holds_names(self) -> bool:
        """True for loads that are named ("R15") and not given in ohm."""
        filled = [cell for cell in self.raw if not is_missing(cell) and not is_open(cell)]
        named = [cell for cell in filled if not is_number(cell)]
        bare = self.heading.role == "resistance" and not self.heading.unit
        return bare and 2 * len(named) > len(filled)

    def _as_typed(self) -> Column:
        """A column that is not understood: its numbers as they stand, without a unit."""
        values: list[float | None] = []
        for cell in self.raw:
            try:
                number, unit = number_and_unit(cell, self.mark)
                values.append(None if unit else number)
            except UnitError:
                values.append(None)
        if self.heading.text:
            self.said.append(f"{self.heading.text!r} is not understood, and kept as it is")
        return Column(
            self.heading.text, self.place + 1, "", self.heading.unit, "", tuple(values), self.raw
        )

    def _numbers(self) -> tuple[list[float | None], str]:
        read = [self._read(index) for index in range(len(self.raw))]
        bare = [pair[0] for pair in read if pair and not pair[1]]
        any_typed = any(pair and pair[1] for pair in read)
        unit = self.heading.unit
        if bare and not unit and not any_typed:
            unit = self._bare_unit(bare)
        values = [
            self._in_si(index, pair[0], spelled(pair[1]) or unit) if pair else None
            for index, pair in enumerate(read)
        ]
        return values, unit or "the units of its cells"

    def _read(self, index: int) -> tuple[float, str] | None:
        cell = self.raw[index]
        if is_missing(cell) or (self.heading.role == "resistance" and is_open(cell)):
            return None
        if is_overload(cell) or (
            cell.rstrip(".") in {"1", "-1", "+1"} and cell != cell.rstrip(".")
        ):
            self.refuse(index, "the meter was beyond its range", "a number read on a larger range")
            return None
        try:
            return number_and_unit(cell, self.mark)
        except UnitError as error:
            self.refuse(index, error.what, error.allowed or "a number")
            return None

    def _in_si(self, index: int, number: float, unit: str) -> float | None:
        target = ROLE_UNITS[self.heading.role]
        if not unit:
            self.refuse(
                index,
                "it has no unit, and other cells of the column have one",
                "a number with its unit",
            )
            return None
        try:
            factor, offset = unit_reader.scale(unit, target)
        except UnitError as error:
            self.refuse(index, error.what, error.allowed)
            return None
        value = scaled(number, factor, offset)
        if self.heading.role == "resistance" and value <= 0:
            self.refuse(index, "a load is more than 0 ohm", "more than 0, or the word open")
            return None
        return value

    def _bare_unit(self, numbers: Sequence[float]) -> str:
        """The unit of numbers without one, where only one can be meant."""
        role = self.heading.role
        candidates = _bare_candidates(role, numbers)
        if len(candidates) != 1:
            raise TableError(
                f"no unit is given for the {role.replace('_', ' ')} ({numbers[0]:g} …)",
                where=self.where,
                allowed=f"a heading such as {role}_{_COMMON.get(role, ROLE_UNITS[role])}",
                next_step=f"write the unit into the heading, or say it: unit {role}={_COMMON.get(role, ROLE_UNITS[role])}",
            )
        self.said.append(f"{self.heading.text!r} gives no unit: taken as {candidates[0]}")
        return candidates[0]

    def _are_moments(self) -> bool:
        if any(is_moment(cell) for cell in self.raw):
            return True
        filled = [cell for cell in self.raw if not is_missing(cell)]
        return (
            self.heading.says_date
            and bool(filled)
            and all(len(cell) >= 8 and read_moment(cell) is not None for cell in filled)
        )

    def _moments(self) -> tuple[list[float | None], str]:
        """Seconds since the first moment of the column."""
        self.order = date_order(
            self.raw, told=self.saying.dates or order_in(self.heading.text), where=self.where
        )
        times = read_times(
            self.raw, order=self.order, where=self.where, clock=self.saying.clock,
            from_zero=self.heading.says_elapsed,
        )  # fmt: skip
        for index, why, allowed in times.refused:
            self.refuse(index, why, allowed)
        self.said += times.said
        self.started = times.started
        self.form = "date" if times.started else "clock" if "day" in times.unit else "elapsed"
        return times.seconds, times.unit

    def _counted(self, values: list[float | None], unit: str) -> tuple[list[float | None], str]:
        """Numbers that count from an epoch, as seconds since the first row."""
        numbers = [value for value in values if value is not None]
        # A count of milliseconds whose heading says so has become seconds already.
        count = count_form(
            numbers, has_unit=bool(self.heading.unit), says_date=self.heading.says_date
        )
        self.form = count or "number"
        if not count:
            return values, unit
        first = micros_of_count(numbers[0], count)
        self.started = iso(first, "" if count == "serial day" else "+00:00")
        counted = [
            None if value is None else (micros_of_count(value, count) - first) / 1e6
            for value in values
        ]
        names = {"serial day": "days since 1899-12-30, as spreadsheets count"}
        return counted, names.get(count, f"{count.removeprefix('epoch ')} since 1970-01-01")

    def refuse_unbelievable(self, column: Column) -> None:
        """A whole column in a wrong unit is an error; a single slip is a refused cell."""
        numbers = [abs(value) for value in column.values if value is not None]
        limits = BELIEVABLE.get(column.role)
        if limits is None or not numbers or self.told:
            return
        middle = statistics.median(numbers)
        if middle > limits[1] or (column.role == "temperature" and middle < limits[0]):
            raise self._wrong_unit(column, middle, "a thousand times less" if middle < 1000 * limits[1] else "another range")  # fmt: skip
        if column.role == "voltage" and 0 < max(numbers) < _SMALL_VOLTAGE:
            raise self._wrong_unit(column, middle, "a thousand times more")
        for index, value in enumerate(column.values):
            if value is not None and not limits[0] <= value <= limits[1]:
                self.refuse(index, f"{value:.4g} {column.si} is not believable here",
                            f"{limits[0]:g} to {limits[1]:g} {column.si}; did the unit slip?")  # fmt: skip

    def _wrong_unit(self, column: Column, middle: float, guess: str) -> TableError:
        return TableError(
            f"the {column.role} is typically {middle:.4g} {column.si} when read in {column.unit}: "
            "this looks like a wrong unit",
            where=self.where,
            allowed=f"a {column.role} of this bench; {guess} would be one",
            next_step=f"correct the unit in the heading, or insist on it: unit {column.role}={column.unit}",
        )

    def cleaned(self, column: Column) -> Column:
        """The column without the values that were refused after all."""
        gone = {r.line for r in self.refused}
        values = tuple(
            None if row.number in gone else value
            for row, value in zip(self.rows, column.values, strict=True)
        )
        return replace(column, values=values)


_COMMON = {"current": "mA", "mass": "g", "area": "cm2", "length": "mm", "temperature": "degC"}


def _bare_candidates(role: str, numbers: Sequence[float]) -> list[str]:
    """The units that numbers without one can carry; common practice, no source."""
    largest = max(abs(number) for number in numbers)
    if role == "resistance":
        return ["ohm"]
    if role == "time":
        return ["s"]
    if role == "voltage":
        if largest <= _SINGLE_CELL:
            return ["V"]
        return ["mV"] if 30.0 < largest <= 1000 * _SINGLE_CELL else ["V", "mV"]
    if role == "temperature":
        if all(0.0 <= number < 32.0 for number in numbers):
            return ["degC"]
        return ["K"] if all(260.0 < number < 400.0 for number in numbers) else ["degC", "degF"]
    return []


def refuse_swapped(name: str, columns: Sequence[Column], mapping: Mapping[str, str | int]) -> None:
    """Voltages that look like resistances beside resistances that look like voltages."""
    by_role = {column.role: column for column in columns}
    voltage, resistance = by_role.get("voltage"), by_role.get("resistance")
    if voltage is None or resistance is None or {"voltage", "resistance"} & mapping.keys():
        return
    volts = [abs(v) for v in voltage.values if v is not None]
    ohms = [r for r in resistance.values if r is not None]
    if not volts or not ohms:
        return
    if statistics.median(volts) > _SINGLE_CELL and max(ohms) < _SINGLE_CELL:
        raise TableError(
            f"the columns look swapped: under {voltage.heading!r} stand {_few(voltage)}, "
            f"under {resistance.heading!r} {_few(resistance)}",
            where=name,
            allowed="voltages of a cell under the heading of the voltage",
            next_step=f'swap the headings, or insist: column "voltage={voltage.heading}"',
        )


def _few(column: Column) -> str:
    return ", ".join(cell for cell in column.raw[:3] if cell)
