"""A whole cell and its days as figure records."""

from __future__ import annotations

from collections.abc import Sequence

from aerode.quantities import Basis
from aerode.records.figures import Axis, Dash, Figure, Mark, Series, Stretch

__all__ = ["cell_figure", "discharge_figures"]

_MILLI_CM2 = 0.1  # mA/cm² in A/m², by definition
_HOUR = 3600.0  # by definition [s]


def cell_figure(
    currents: Sequence[float | None],
    voltages: Sequence[float | None],
    powers: Sequence[float | None],
) -> Figure:
    """Voltage and power of a cell over its current density.

    Parameters
    ----------
    currents : sequence of float or None [A/m^2]
    voltages : sequence of float or None [V]
    powers : sequence of float or None [W/m^2]
        Drawn as watt per hundred square centimetres, so that both fit one axis.

    Returns
    -------
    Figure
    """
    rows = sorted(
        (i, v, p)
        for i, v, p in zip(currents, voltages, powers, strict=True)
        if i is not None and v is not None and p is not None
    )
    x = tuple(_MILLI_CM2 * i for i, _, _ in rows)
    return Figure(
        name="cell-curve",
        title="Voltage and power of the cell (predicted)",
        x=Axis(title="Current density", unit="mA/cm²", low=0.0),
        y=Axis(title="Voltage in V; power in W per 100 cm²", low=0.0),
        series=(
            Series(label="voltage, V", x=x, y=tuple(v for _, v, _ in rows), dash=Dash.SOLID,
                   mark=Mark.CIRCLE, basis=Basis.PREDICTED),
            # by definition: 1 W/m² is 0.01 W on 100 cm²
            Series(label="power, W per 100 cm²", x=x, y=tuple(0.01 * p for _, _, p in rows),
                   dash=Dash.DASHED, mark=Mark.SQUARE, tone=1, basis=Basis.PREDICTED),
        ),
        caption="Predicted from the numbers entered; nothing here was measured.",
        alt=f"Voltage falls and power rises, then falls, over {len(rows)} current densities.",
    )  # fmt: skip


def discharge_figures(
    times: Sequence[float],
    voltages: Sequence[float],
    shares: dict[str, Sequence[float]],
    cutoff: float,
) -> tuple[Figure, Figure]:
    """The voltage over time, and what is left or has filled up.

    Parameters
    ----------
    times : sequence of float [s]
    voltages : sequence of float [V]
    shares : dict of str to sequence of float [1]
        What is left or filled, each between 0 and 1.
    cutoff : float [V]

    Returns
    -------
    tuple of Figure
    """
    hours = tuple(t / _HOUR for t in times)
    axis = Axis(title="Time", unit="h", low=0.0)
    voltage = Figure(
        name="discharge-voltage",
        title="Voltage of the cell (predicted)",
        x=axis,
        y=Axis(title="Voltage at the tabs", unit="V"),
        series=(
            Series(label="voltage", x=hours, y=tuple(voltages), dash=Dash.SOLID, mark=Mark.CIRCLE,
                   basis=Basis.PREDICTED),
        ),
        stretches=(Stretch(along="y", low=cutoff, high=cutoff, label="cut-off"),),
        caption="Predicted from the numbers entered; nothing here was measured.",
        alt=f"Voltage over {hours[-1]:.3g} hours, with the cut-off at {cutoff:g} V.",
    )  # fmt: skip
    inventory = Figure(
        name="discharge-contents",
        title="What is left in the cell, and what fills it (predicted)",
        x=axis,
        y=Axis(title="Share of the start, or of the volume", low=0.0),
        series=tuple(
            Series(label=name, x=hours, y=tuple(values), dash=Dash.SOLID, tone=tone,
                   basis=Basis.PREDICTED)
            for tone, (name, values) in enumerate(shares.items())
        ),
        caption="Aluminium, water and hydroxide as shares of what was there; gel as a share of the volume.",
        alt=f"{', '.join(shares)} over {hours[-1]:.3g} hours.",
    )  # fmt: skip
    return voltage, inventory
