"""The figure of a long log: few points, every one of them read, no spike lost."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode import units
from aerode.errors import InputError
from aerode.quantities import Basis
from aerode.records.figures import Axis, Dash, Figure, Mark, Series
from aerode.records.tables import SeriesFigure
from aerode.store.series_tail import chunks_of
from aerode.store.series_thinning import thin

if TYPE_CHECKING:
    from aerode.store.bench_file import BenchFile

__all__ = ["figure_of_series"]

_AXES = {
    "voltage": ("V", "V"), "current": ("A", "mA"), "temperature": ("K", "degC"),
    "power": ("W", "mW"), "resistance": ("ohm", "ohm"), "charge": ("C", "mAh"),
}  # fmt: skip
_PIXELS = 1200
_HOURS = 7200.0
"""A log longer than this is drawn over hours [s]."""


def figure_of_series(
    bench: BenchFile,
    name: str,
    *,
    quantity: str = "",
    start: float | None = None,
    end: float | None = None,
    columns: int = _PIXELS,
) -> SeriesFigure:
    """A series drawn over time: of each column of pixels the first, least, greatest and last value.

    Parameters
    ----------
    bench : BenchFile
        Open.
    name : str
        Of the series: the run it was taken as.
    quantity : str
        Which column; the voltage by default, or the only one.
    start, end : float, optional
        The stretch to draw [s]; all of it by default.
    columns : int
        How many columns of pixels the figure has.

    Returns
    -------
    SeriesFigure

    Raises
    ------
    NotFoundError, DamagedError
        No such series, or one that does not agree with its digest.
    InputError
        No such quantity in it, or nothing in the stretch asked for.
    """
    chunks, whole = chunks_of(bench, name)
    there = [column for column in whole.ranges if column != "time"]
    chosen = quantity or ("voltage" if "voltage" in there else next(iter(there), ""))
    if chosen not in there or "time" not in whole.ranges:
        raise InputError(
            f"the series {name!r} holds no {chosen or 'values'}",
            where=bench.label,
            allowed=", ".join(there) or "a series with values",
        )
    first, last = whole.ranges["time"]
    begin, finish = first if start is None else start, last if end is None else end
    found = thin(chunks, chosen, start=begin, end=finish, columns=columns)
    if not found.rows:
        raise InputError(
            f"nothing was read between {begin:g} s and {finish:g} s",
            where=name,
            allowed=f"a stretch between {first:g} s and {last:g} s",
        )
    si, shown = _AXES.get(chosen, ("", ""))
    factor, offset = units.scale(shown, si) if si else (1.0, 0.0)
    hours = finish - begin > _HOURS
    x = tuple(float(t) / (3600.0 if hours else 1.0) for t in found.x)
    y = tuple((float(v) - offset) / factor for v in found.y)
    title = f"{chosen.replace('_', ' ').capitalize()} of {name}"
    caption = (
        f"{found.rows} readings; drawn are the first, the least, the greatest and the last of each of "
        f"{columns} stretches of time, so that no extreme is lost. Nothing is averaged."
    )
    if whole.missing.get(chosen):
        caption += f" {whole.missing[chosen]} rows of the whole series hold no value."
    low, high = min(y), max(y)
    figure = Figure(
        name="series",
        title=title,
        x=Axis(
            title="Time",
            unit="h" if hours else "s",
            low=0.0 if begin >= 0.0 and start is None else None,
        ),
        y=Axis(title=chosen.replace("_", " ").capitalize(), unit=shown),
        series=(
            Series(label=name, x=x, y=y, mark=Mark.NONE, dash=Dash.SOLID, basis=Basis.MEASURED),
        ),
        caption=caption,
        alt=f"{title}: from {y[0]:.4g} to {y[-1]:.4g} {shown}, lowest {low:.4g} {shown}, highest {high:.4g} {shown}, "
        f"over {x[-1] - x[0]:.4g} {'h' if hours else 's'}.",
    )
    return SeriesFigure(
        headline=f"{name}: {found.rows} readings drawn as {len(x)} points"[:100],
        run=name, quantity=chosen, rows=found.rows, points=len(x), figure=figure,
    )  # fmt: skip
