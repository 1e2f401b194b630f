"""A column of moments as seconds since its first row: midnight passed, clocks set back, restarts."""

from __future__ import annotations

import statistics
from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from aerode.devices.table_moments import DAY, SECOND, iso, read_moment
from aerode.devices.table_numbers import is_missing
from aerode.errors import TableError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from aerode.devices.table_moments import Moment

__all__ = ["Course", "Times", "date_order", "read_times", "settle_order"]

_HALF_DAY = DAY // 2
_FORM = "moments of one form, such as 2025-05-03T14:22:01, 03.05.2025 14:22 or h:mm:ss"


@dataclass(slots=True)
class Times:
    """Seconds since the first row, None where there is no moment; `started` in ISO 8601."""

    seconds: list[float | None]
    started: str = ""
    unit: str = "date and time"
    said: list[str] = field(default_factory=list[str])
    refused: list[tuple[int, str, str]] = field(default_factory=list[tuple[int, str, str]])
    """Row (from 0), why, and what would be taken."""


def date_order(cells: Sequence[str], *, told: str, where: str) -> str:
    """The order of day, month and year in a column: as told, or as its dates give it.

    Returns
    -------
    str
        "" where every date reads in one way only.

    Raises
    ------
    TableError
        Nothing tells which number is the day; or some dates are of one order and some of another.
    """
    if told:
        return told
    forms: Counter[str] = Counter()
    doubtful = ""
    clocks = dated = 0
    for cell in cells:
        moment = read_moment(cell)
        if moment is not None:
            dated += moment.dated
            clocks += not moment.dated
        if moment is None or not moment.form.endswith("/year"):
            continue
        if moment.other is None:
            forms[moment.form] += moment.form != "day/month/year" or _tells(cell)
        elif not doubtful:
            doubtful = cell
    if clocks > dated:
        return ""  # a date among times of day is refused anyhow
    return settle_order(
        forms["day/month/year"] > 0, forms["month/day/year"] > 0, doubtful, where=where
    )


def _tells(cell: str) -> bool:
    """False for 05/05/2025, which is one day in either order."""
    return read_moment(cell, "m/d/y") is None


def settle_order(day_first: bool, month_first: bool, doubtful: str, *, where: str) -> str:
    """The order of dates with slashes, from what was seen of them."""
    if day_first and month_first:
        raise TableError(
            "some dates begin with the day and some with the month",
            where=where,
            allowed="one order of day, month and year in one column",
            next_step="mend them, or say which order counts: dates d/m/y",
        )
    if day_first or month_first:
        return "d/m/y" if day_first else "m/d/y"
    if not doubtful:
        return ""
    one, other = (read_moment(doubtful, order) for order in ("d/m/y", "m/d/y"))
    assert one is not None
    assert other is not None
    raise TableError(
        f"{doubtful!r} may be {iso(one.micros)[:10]} or {iso(other.micros)[:10]}",
        where=where,
        allowed="a date that reads in one way only, such as 2025-05-03",
        next_step="say which number is the day: dates d/m/y or dates m/d/y",
    )


class Course:
    """Turns moments into seconds since the first one, row after row, as long as the clock runs.

    A time of day that falls back by more than half a day has passed midnight. Anything else that
    goes backwards is refused until the clock has caught up, or goes on from there (`clock`).
    """

    def __init__(
        self, *, dated: bool, wraps: int = 0, clock: str = "", zero: int | None = None
    ) -> None:
        self.dated = dated
        self.clock = clock
        self.first = zero
        self.last: int | None = None
        self.midnights = 0
        self.restarts = 0
        self._wraps = wraps
        self._shift = 0
        self._step = 0

    def at(self, micros: int) -> int | None:
        """Microseconds since the first moment; None where the clock goes backwards."""
        moment = micros + self._shift
        if self.last is not None and moment < self.last:
            moment = self._backwards(moment)
            if moment is None:
                return None
        elif self.last is not None and moment > self.last:
            self._step = moment - self.last
        if self.first is None:
            self.first = moment
        self.last = moment
        return moment - self.first

    def many(self, micros: NDArray[np.int64]) -> tuple[NDArray[np.int64], NDArray[np.bool_]]:
        """The same for many rows: microseconds since the first moment, and which rows are taken."""
        moments = micros + self._shift
        steps = np.diff(moments, prepend=moments[:1] if self.last is None else self.last)
        if (steps >= 0).all():
            if self.first is None:
                self.first = int(moments[0])
            rising = steps[steps > 0]
            self._step = int(rising[-1]) if rising.size else self._step
            self.last = int(moments[-1])
            return moments - self.first, np.ones(moments.size, dtype=bool)
        placed = [self.at(int(moment)) for moment in micros]
        kept = np.array([one is not None for one in placed], dtype=bool)
        return np.array([one or 0 for one in placed], dtype=np.int64), kept

    def _backwards(self, moment: int) -> int | None:
        assert self.last is not None
        fall = self.last - moment
        around = self._wraps or (0 if self.dated else DAY)
        if around and 2 * fall > around:
            self._shift += around
            self.midnights += 1
            return moment + around
        if self.clock != "go on":
            return None
        self.restarts += 1
        self._shift += fall + self._step
        return self.last + self._step


def read_times(
    cells: Sequence[str], *, order: str, where: str, clock: str = "", from_zero: bool = False
) -> Times:
    """A column of moments as seconds since its first row.

    Parameters
    ----------
    cells : sequence of str
        As they stand.
    order : str
        What `date_order` gave.
    where : str
        The place, for the refusal.
    clock : str
        What to do where the clock goes backwards; see `aerode.devices.table_sayings.CLOCKS`.
    from_zero : bool
        The heading says that the time is elapsed: it counts from zero and not from the first row.
    """
    moments = [None if is_missing(cell) else read_moment(cell, order) for cell in cells]
    times = Times([None] * len(cells))
    there = [moment for moment in moments if moment is not None]
    dated = statistics.mode([moment.dated for moment in there])
    elapsed = not dated and any(m.form in {"elapsed time", "minutes:seconds"} for m in there)
    zero = 0 if from_zero and not dated else None
    course = Course(dated=dated or elapsed, clock=clock, zero=zero)
    back: list[int] = []
    for index, (cell, moment) in enumerate(zip(cells, moments, strict=True)):
        if moment is None or moment.dated != dated:
            if not is_missing(cell):
                times.refused.append((index, "it is not a moment like the others of the column", _FORM))  # fmt: skip
            continue
        micros = course.at(moment.micros)
        if micros is None:
            back.append(index)
        else:
            times.seconds[index] = micros / SECOND
    times.refused += [
        (index, "the clock has gone backwards here", "moments in their order; or say clock='go on'")
        for index in back
    ]
    first = next(moment for moment in there if moment.dated == dated)
    _say(times, first, course, dated, elapsed)
    return times


def _say(times: Times, first: Moment, course: Course, dated: bool, elapsed: bool) -> None:
    if dated:
        times.started = iso(first.micros, first.zone)
        times.said.append(f"dates are read as {first.form}")
    else:
        times.unit = "hours, minutes and seconds" if elapsed else "time of day"
        if first.form == "minutes:seconds":
            times.unit = "minutes and seconds"
    if course.midnights:
        count = f", {course.midnights} times" if course.midnights > 1 else ""
        times.said.append(f"the time passes midnight{count}")
    if course.restarts:
        times.said.append(f"the clock goes backwards {course.restarts} times: the run goes on with the step it had")  # fmt: skip
