"""The thickness of a piece at several places as a figure, and which places stand out."""

from __future__ import annotations

from dataclasses import dataclass
from statistics import fmean, median, stdev

from aerode.errors import InputError
from aerode.records.figures import Axis, Figure, Mark, Scale, Series, Stretch

__all__ = ["PLACES", "ThicknessMap", "thickness_map"]

PLACES = ("top left", "top right", "middle", "bottom left", "bottom right")
"""Where five readings are taken, in this order. Common practice, no source."""
_UNEVEN = 0.10  # judgement
"""Share of the middle value beyond which a place stands out: coats of a brush scatter by about a tenth."""
_CALIPERS = 5e-5  # judgement
"""Limit of error of calipers on a soft film [m]: what differs by less is not told apart. Common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ThicknessMap:
    """What the places say: a sentence, the places that stand out, a figure."""

    sentence: str
    uneven: tuple[str, ...]
    figure: Figure


def thickness_map(name: str, readings: tuple[float, ...]) -> ThicknessMap:
    """How thick a piece is, how even, and where not.

    Parameters
    ----------
    name : str
        Of the electrode.
    readings : tuple of float
        Thickness at each place, in the order in which they were read [m].

    Returns
    -------
    ThicknessMap

    Raises
    ------
    InputError
        No reading.

    Examples
    --------
    >>> found = thickness_map("T6", (0.31e-3, 0.35e-3, 0.35e-3, 0.36e-3, 0.52e-3))
    >>> found.uneven
    ('place 5: 0.52 mm, 49 % thicker than the middle of all',)
    """
    if not readings:
        raise InputError("no thickness was read", where=name, allowed="one place at least",
                         next_step="read it at five places: the corners and the middle")  # fmt: skip
    middle = median(readings)
    uneven = tuple(
        f"place {number}: {1e3 * value:.3g} mm, {100 * abs(value - middle) / middle:.0f} % "
        f"{'thicker' if value > middle else 'thinner'} than the middle of all"
        for number, value in enumerate(readings, start=1)
        if _stands_out(value, middle)
    )
    return ThicknessMap(
        sentence=_sentence(readings, uneven), uneven=uneven, figure=_figure(name, readings, uneven)
    )


def _stands_out(value: float, middle: float) -> bool:
    return middle > 0.0 and abs(value - middle) > max(_CALIPERS, _UNEVEN * middle)


def _sentence(readings: tuple[float, ...], uneven: tuple[str, ...]) -> str:
    mean = f"{1e3 * fmean(readings):.2f} mm on average"
    if len(readings) == 1:
        return f"{mean}, read at one place: how even it is cannot be told"
    scatter = f", places scatter by {1e3 * stdev(readings):.2f} mm"
    if not uneven:
        return f"{mean}{scatter}: no place stands out"
    places = "1 place stands out" if len(uneven) == 1 else f"{len(uneven)} places stand out"
    return f"{mean}{scatter}: {places}. A thin spot leaks first, a thick one cracks and dries last"


def _figure(name: str, readings: tuple[float, ...], uneven: tuple[str, ...]) -> Figure:
    middle = median(readings)
    out = [n for n, value in enumerate(readings) if _stands_out(value, middle)]
    within = [n for n in range(len(readings)) if n not in out]
    reach = max(_CALIPERS, _UNEVEN * middle)
    even = _points("within the band", within, readings, Mark.CIRCLE, 0)
    odd = _points("stands out", out, readings, Mark.DIAMOND, 1)
    listed = ", ".join(f"{1e3 * value:.3g}" for value in readings)
    return Figure(
        name="thickness",
        title=f"Thickness of {name}, place by place",
        x=Axis(title="Place", scale=Scale.NAMES, names=tuple(str(n + 1) for n in range(len(readings)))),
        y=Axis(title="Thickness", unit="mm", low=0.0),
        series=tuple(series for series in (even, odd) if series.x),
        stretches=(
            Stretch(along="y", low=1e3 * (middle - reach), high=1e3 * (middle + reach), label=""),
        ),
        caption=(
            "Places in the order they were read; bars: calipers on a soft film, ±0.05 mm. The band is a "
            "tenth around the middle of all, or the calipers' own error where that is wider."
        ),
        alt=f"Thickness at {len(readings)} places in mm: {listed}. "
        + (f"Stands out: {'; '.join(uneven)}." if uneven else "No place stands out."),
    )  # fmt: skip


def _points(
    label: str, places: list[int], readings: tuple[float, ...], mark: Mark, tone: int
) -> Series:
    values = [1e3 * readings[n] for n in places]
    return Series(
        label=label,
        x=tuple(float(n) for n in places),
        y=tuple(values),
        y_low=tuple(max(0.0, v - 1e3 * _CALIPERS) for v in values),
        y_high=tuple(v + 1e3 * _CALIPERS for v in values),
        mark=mark,
        tone=tone,
    )
