"""Predictions as figure records: the curve with its band, the stack of losses, the inside of a layer."""

from __future__ import annotations

from collections.abc import Sequence

from aerode.quantities import Basis
from aerode.records.figures import Axis, Dash, Figure, Mark, Scale, Series, Stretch
from aerode.records.simulations import BandAt, CathodeProfile

__all__ = ["DENSITY", "curve_figure", "profile_figure", "stack_figure"]

_PARTS = ("electronic", "ionic", "oxygen", "kinetic")  # from the bottom: small ones stay visible
_MILLI_CM2 = 0.1  # mA/cm² in A/m², by definition
_MICRO = 1e6  # µm in m, by definition
DENSITY = Axis(title="Current density", unit="mA/cm²", scale=Scale.LOG)
"""The axis of all figures over current density."""
_MOST_PLACES = 120  # numerical: more places of a profile cannot be seen


def _at_the_end(label: str, count: int) -> tuple[str, ...]:
    """A label at the last of some points: predicted lines are all dashed alike."""
    return (*("" for _ in range(count - 1)), label) if count else ()


def _known(x: Sequence[float | None], y: Sequence[float | None]) -> list[tuple[float, float]]:
    return sorted((a, b) for a, b in zip(x, y, strict=True) if a is not None and b is not None)


def curve_figure(
    currents: Sequence[float | None],
    losses: Sequence[float | None],
    bands: Sequence[BandAt] = (),
    *,
    limit: float | None = None,
) -> Figure:
    """Cathode loss over current density, with its band where inputs were drawn.

    Parameters
    ----------
    currents : sequence of float or None [A/m^2]
    losses : sequence of float or None [V]
    bands : sequence of BandAt
    limit : float or None [A/m^2]
        Limiting current density.

    Returns
    -------
    Figure
    """
    points = _known(currents, losses)
    series: list[Series] = []
    known = [b for b in bands if None not in (b.low_V, b.high_V, b.median_V)]
    if known:
        x = tuple(_MILLI_CM2 * b.current_density_A_m2 for b in known)
        series.append(
            Series(
                label="95 % of the draws",
                x=x,
                y=tuple(b.median_V or 0.0 for b in known),
                y_low=tuple(b.low_V or 0.0 for b in known),
                y_high=tuple(b.high_V or 0.0 for b in known),
                band=True,
                basis=Basis.PREDICTED,
            )
        )
    series.append(
        Series(
            label="as entered",
            x=tuple(_MILLI_CM2 * a for a, _ in points),
            y=tuple(b for _, b in points),
            dash=Dash.SOLID,
            mark=Mark.CIRCLE if len(points) < 30 else Mark.NONE,  # judgement: more marks touch
            basis=Basis.PREDICTED,
        )
    )
    seen = max((a for a, _ in points), default=0.0)
    near = limit is not None and limit < 3.0 * seen
    at = _MILLI_CM2 * (limit or 0.0)
    return Figure(
        name="cathode-curve",
        title="What the cathode loses (predicted)",
        x=DENSITY,
        y=Axis(title="Cathode loss", unit="V"),
        series=tuple(series),
        stretches=(Stretch(along="x", low=at, high=at, label="oxygen limit"),) if near else (),
        caption="Predicted from the numbers entered; nothing here was measured.",
        alt=f"Loss of the cathode over current density at {len(points)} currents; it rises throughout.",
    )


def stack_figure(
    currents: Sequence[float | None], parts: dict[str, Sequence[float | None]]
) -> Figure:
    """Where the volts go at each current: four parts on top of each other.

    Parameters
    ----------
    currents : sequence of float or None [A/m^2]
    parts : dict of str to sequence of float or None [V]
        `kinetic`, `oxygen`, `ionic`, `electronic`.

    Returns
    -------
    Figure
    """
    rows = sorted(
        (i, [float(parts[name][k] or 0.0) for name in _PARTS])
        for k, i in enumerate(currents)
        if i is not None and all(parts[name][k] is not None for name in _PARTS)
    )
    x = tuple(_MILLI_CM2 * i for i, _ in rows)
    below = tuple(0.0 for _ in rows)
    series: list[Series] = []
    for number, name in enumerate(_PARTS):
        above = tuple(b + values[number] for b, (_, values) in zip(below, rows, strict=True))
        last = f"{name} {1e3 * rows[-1][1][number]:.3g} mV" if rows else name  # by definition
        series.append(
            Series(
                label=name,
                x=x,
                y=above,
                y_low=below,
                y_high=above,
                band=True,
                dash=Dash.SOLID,
                tone=number,
                basis=Basis.PREDICTED,
                point_labels=_at_the_end(last, len(x)),
            )
        )
        below = above
    largest = ""
    if rows:
        values = rows[-1][1]
        largest = _PARTS[max(range(len(values)), key=values.__getitem__)]
    return Figure(
        name="cathode-losses",
        title="Where the volts go (predicted)",
        x=DENSITY,
        y=Axis(title="Cathode loss", unit="V", low=0.0),
        series=tuple(series),
        caption="Each layer is one part; the top is the whole loss. The split does not depend on an order.",
        alt=f"Four parts of the loss on top of each other; at the largest current the {largest} part is the largest.",
    )


def profile_figure(profiles: Sequence[CathodeProfile]) -> Figure:
    """How the work is shared out through the depth of the layer.

    Parameters
    ----------
    profiles : sequence of CathodeProfile

    Returns
    -------
    Figure
    """
    series: list[Series] = []
    for tone, one in enumerate(profiles):
        every = max(1, len(one.depth_m) // _MOST_PLACES)
        mean = one.current_density_A_m2 / (one.depth_m[-1] or 1.0)
        x = tuple(_MICRO * d for d in one.depth_m[::every])
        y = tuple(r / mean for r in one.local_rate_A_m3[::every])
        series.append(
            Series(
                label=(said := f"{_MILLI_CM2 * one.current_density_A_m2:.3g} mA/cm²"),
                x=x,
                y=y,
                dash=Dash.SOLID,
                tone=tone,
                basis=Basis.PREDICTED,
                point_labels=_at_the_end(said, len(x)),
            )
        )
    return Figure(
        name="cathode-depth",
        title="Which depth of the layer works (predicted)",
        x=Axis(title="Depth below the air face", unit="µm", low=0.0),
        y=Axis(title="Local rate over the mean", low=0.0),
        series=tuple(series),
        caption="1 everywhere: the whole layer works. A line that climbs at one side: the rest is idle.",
        alt=f"Local rate over depth at {len(series)} currents, each over its mean.",
    )
