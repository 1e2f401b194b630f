"""Where a value lands on an axis, and which ticks stand there."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerode.errors import InputError
from aerode.records.figures import Axis, Scale

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["Placed", "place_axis", "tick_text"]

_SAME = 1e-9
"""Values closer than this share of their size are one value: ticks between them could not be told apart."""


@dataclass(frozen=True, slots=True)
class Placed:
    """An axis laid on a stretch of pixels, with its ticks."""

    axis: Axis
    low: float
    high: float
    start: float
    end: float
    ticks: tuple[float, ...]

    def at(self, value: float) -> float:
        """The pixel of a value."""
        low, high = self._inner(self.low), self._inner(self.high)
        return self.start + (self._inner(value) - low) / (high - low) * (self.end - self.start)

    def inside(self, value: float) -> bool:
        """True if the value is on the axis."""
        return self.low <= value <= self.high

    def _inner(self, value: float) -> float:
        if self.axis.scale is not Scale.LOG:
            return value
        return math.log10(max(value, self.low * 1e-6, 1e-300))


def place_axis(
    axis: Axis, values: Iterable[float], start: float, end: float, *, room_per_tick: float
) -> Placed:
    """Lay an axis on pixels so that all values are on it.

    Parameters
    ----------
    axis : Axis
        What the figure asks for; `low` and `high` win over the values.
    values : iterable of float
        All values to be shown, in the axis' unit.
    start, end : float
        First and last pixel.
    room_per_tick : float
        Pixels that one tick label needs.

    Raises
    ------
    InputError
        A logarithmic axis with values that are not positive, or nothing to show.
    """
    if axis.scale is Scale.NAMES:
        last = max(len(axis.names) - 1, 0)
        return Placed(axis, -0.5, last + 0.5, start, end, tuple(float(i) for i in range(last + 1)))
    shown = [v for v in values if math.isfinite(v) and (axis.scale is not Scale.LOG or v > 0)]
    if not shown and (axis.low is None or axis.high is None):
        raise InputError(
            f"the axis {axis.title!r} has nothing to show",
            allowed="finite values" + (" above zero" if axis.scale is Scale.LOG else ""),
            next_step="look at the data behind this figure",
        )
    low = axis.low if axis.low is not None else min(shown)
    high = axis.high if axis.high is not None else max(shown)
    room = max(2, int(abs(end - start) / room_per_tick))
    if axis.scale is Scale.LOG:
        return _log(axis, low, high, start, end, room)
    return _linear(axis, low, high, start, end, room)


def _linear(axis: Axis, low: float, high: float, start: float, end: float, room: int) -> Placed:
    if high - low <= _SAME * max(abs(low), abs(high)):
        pad = abs(low) * 0.1 or 1.0
        low, high = low - pad, high + pad
    raw = (high - low) / room
    power = 10.0 ** math.floor(math.log10(raw))
    step = next(m * power for m in (1.0, 2.0, 2.5, 5.0, 10.0) if m * power >= raw * 0.999)
    if axis.low is None and axis.high is None:
        spare = 0.02 * (high - low)
        low, high = low - spare, high + spare
    first = low if axis.low is not None else math.floor(low / step + 1e-9) * step
    last = high if axis.high is not None else math.ceil(high / step - 1e-9) * step
    count = math.floor((last - math.ceil(first / step - 1e-9) * step) / step + 1e-9)
    ticks = tuple(
        round(math.ceil(first / step - 1e-9) * step + k * step, 12) for k in range(count + 1)
    )
    return Placed(axis, first, last, start, end, ticks)


def _log(axis: Axis, low: float, high: float, start: float, end: float, room: int) -> Placed:
    if high <= low:
        low, high = low / 2.0, high * 2.0
    decades = math.log10(high / low)
    if axis.low is None and axis.high is None:
        low, high = low / 10 ** (0.04 * decades), high * 10 ** (0.04 * decades)
    if decades < 1.0:
        return Placed(axis, low, high, start, end, _within_a_decade(low, high, room))
    steps = (1.0, 2.0, 5.0) if decades * 3 <= room + 1 else (1.0,)
    every = max(1, math.ceil(decades / max(room, 1)))
    ticks = tuple(
        step * 10.0**k
        for k in range(math.floor(math.log10(low)), math.ceil(math.log10(high)) + 1, every)
        for step in steps
        if low * 0.999 <= step * 10.0**k <= high * 1.001
    )
    if len(ticks) < 2:
        ticks = (low, high)
    return Placed(axis, low, high, start, end, ticks)


def _within_a_decade(low: float, high: float, room: int) -> tuple[float, ...]:
    """Round numbers that are about evenly spread on a logarithmic stretch, 1 among them if it is there."""
    for digits in ((1, 1.05, 1.1, 1.15, 1.2, 1.25, 1.3, 1.35, 1.4, 1.5, 1.6, 1.7, 1.8, 1.9, 2, 2.5, 3, 4, 5, 6, 7, 7.5, 8, 8.5, 9, 9.5),
                   (1, 1.1, 1.2, 1.3, 1.4, 1.5, 1.7, 2, 2.5, 3, 4, 5, 6, 7, 8, 9),
                   (1, 1.2, 1.5, 2, 3, 5, 7, 8), (1, 1.5, 2, 3, 5, 7), (1, 2, 5), (1, 3)):  # fmt: skip
        power = math.floor(math.log10(low))
        ticks = [
            d * 10.0**k
            for k in range(power, power + 3)
            for d in digits
            if low <= d * 10.0**k <= high
        ]
        if 2 <= len(ticks) <= room + 1:
            return tuple(ticks)
    return (low, high)


def tick_text(placed: Placed, value: float) -> str:
    """The words at a tick."""
    if placed.axis.scale is Scale.NAMES:
        return placed.axis.names[int(value)]
    if value == 0:
        return "0"
    if placed.axis.scale is Scale.LOG or not (1e-4 <= abs(value) < 1e6):
        return f"{value:g}"
    steps = [abs(b - a) for a, b in zip(placed.ticks, placed.ticks[1:], strict=False)]
    step = min(steps) if steps else abs(value)
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    if abs(step * 10**decimals - round(step * 10**decimals)) > 1e-6:
        decimals += 1
    return f"{value:.{decimals}f}".replace("-", "−")
