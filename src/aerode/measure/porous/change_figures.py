"""A change as figure records: what it does at each current, before and after, and the settings of a sweep."""

from __future__ import annotations

from collections.abc import Sequence

from aerode.measure.porous.figures import DENSITY
from aerode.quantities import Basis
from aerode.records.figures import Axis, Dash, Figure, Mark, Series, Stretch
from aerode.records.simulations import SweepPoint

__all__ = ["change_curve", "paired_curves", "sweep_figure"]

_MILLI_CM2 = 0.1  # mA/cm² in A/m², by definition
_MILLI = 1e3  # mV in V, by definition


def change_curve(
    currents: Sequence[float], rows: Sequence[tuple[float, float, float]], change: str
) -> Figure:
    """What a change does to the loss at each current, draw by draw.

    Parameters
    ----------
    currents : sequence of float [A/m^2]
    rows : sequence of (low, middle, high) [V]
        After less before, on the same draws.
    change : str
        In words.

    Returns
    -------
    Figure
    """
    x = tuple(_MILLI_CM2 * i for i in currents)
    low, middle, high = (tuple(_MILLI * row[k] for row in rows) for k in range(3))
    return Figure(
        name="what-if-change",
        title="What the change would do (predicted)",
        x=DENSITY,
        y=Axis(title="Change of the cathode loss", unit="mV"),
        series=(
            Series(label="95 % of the draws", x=x, y=middle, y_low=low, y_high=high, band=True,
                   basis=Basis.PREDICTED),
            Series(label=change, x=x, y=middle, dash=Dash.DASHED, basis=Basis.PREDICTED),
        ),
        stretches=(Stretch(along="y", low=0.0, high=0.0, label="as it is"),),
        caption="Below the line: a gain. Each draw is compared with itself as it is.",
        alt=f"Change of the cathode loss by {change} at {len(x)} current densities, with its band.",
    )  # fmt: skip


def paired_curves(
    currents: Sequence[float],
    before: Sequence[tuple[float, float, float]],
    after: Sequence[tuple[float, float, float]],
    change: str,
) -> Figure:
    """Loss over current before and after a change, each with its band.

    Parameters
    ----------
    currents : sequence of float [A/m^2]
    before, after : sequence of (low, middle, high) [V]
    change : str
        In words.

    Returns
    -------
    Figure
    """
    x = tuple(_MILLI_CM2 * i for i in currents)
    series: list[Series] = []
    for tone, (label, rows) in enumerate((("as it is", before), (change, after))):
        middle = tuple(m for _, m, _ in rows)
        # a loss below nothing is no loss: there the straight line of the kinetics does not hold
        low, high = tuple(max(a, 0.0) for a, _, _ in rows), tuple(b for _, _, b in rows)
        series.append(Series(label="", x=x, y=middle, y_low=low, y_high=high, band=True, tone=tone,
                             basis=Basis.PREDICTED))  # fmt: skip
        dash = Dash.SOLID if tone == 0 else Dash.DASHED
        series.append(
            Series(label=label, x=x, y=middle, dash=dash, tone=tone, basis=Basis.PREDICTED)
        )
    return Figure(
        name="what-if-curves",
        title="Before and after the change (predicted)",
        x=DENSITY,
        y=Axis(title="Cathode loss", unit="V", low=0.0),
        series=tuple(series),
        caption=(
            "Lines: middle of the draws; shades: 95 % of them. Both use the same draws, so the change is known "
            "better than the shades suggest: see the figure of the change."
        ),
        alt=f"Two predicted curves with wide bands: as it is, and with {change}.",
    )


def sweep_figure(
    points: Sequence[SweepPoint], varied: str, unit: str, factor: float, current: str
) -> Figure:
    """The change of the loss for each setting of what is varied.

    Parameters
    ----------
    points : sequence of SweepPoint
    varied : str
        What is varied.
    unit : str
        Unit to show it in.
    factor : float
        Shown value over SI value.
    current : str
        The current density it is asked at, in words.

    Returns
    -------
    Figure
    """
    known = [p for p in points if p.change_V.value is not None and p.change_V.interval_95]
    x = tuple(factor * p.setting for p in known)
    middle = tuple(1e3 * (p.change_V.value or 0.0) for p in known)  # mV, by definition
    ends = [p.change_V.interval_95 or (0.0, 0.0) for p in known]
    low, high = tuple(1e3 * a for a, _ in ends), tuple(1e3 * b for _, b in ends)
    return Figure(
        name="what-if-sweep",
        title=f"What another {varied} would do (predicted)",
        x=Axis(title=varied.capitalize(), unit=unit),
        y=Axis(title=f"Change of the loss at {current}", unit="mV"),
        series=(
            Series(label="95 % of the draws", x=x, y=middle, y_low=low, y_high=high, band=True,
                   basis=Basis.PREDICTED),
            Series(label="middle", x=x, y=middle, dash=Dash.SOLID, mark=Mark.CIRCLE,
                   basis=Basis.PREDICTED),
        ),
        stretches=(Stretch(along="y", low=0.0, high=0.0, label="as it is"),),
        caption="Below the line: a gain. Each setting is compared with the state as it is on the same draws.",
        alt=f"Change of the cathode loss at {len(known)} settings of the {varied}, with bands.",
    )  # fmt: skip
