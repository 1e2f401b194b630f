"""Figures of a porous fit: both models through the readings, and what was added to what was assumed."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from aerode.measure.curve_posterior import CurvePosterior
from aerode.measure.identifiability import Spread
from aerode.measure.porous.fitting import PorousPosterior
from aerode.quantities import Basis
from aerode.records.figures import Axis, Dash, Figure, Mark, Scale, Series, Stretch
from aerode.records.simulations import PriorPosterior

__all__ = ["fit_curves", "fit_widths"]

Floats = NDArray[np.float64]

_BAND = 24  # numerical: places of a drawn curve


def fit_curves(posterior: PorousPosterior, pair: Floats, plain: CurvePosterior) -> Figure:
    """Both fits with their bands over the readings.

    Parameters
    ----------
    posterior : PorousPosterior
    pair : ndarray, shape (m, 2) [V, ohm]
        Level and resistance outside, for each of its rows.
    plain : CurvePosterior

    Returns
    -------
    Figure
    """
    model, sample = posterior.model, posterior.sample
    current: Floats = np.geomspace(float(model.seen[0]), float(model.seen[-1]), _BAND)
    volts = pair[:, :1] - model.losses(sample.samples, current) - current * pair[:, 1:]
    x = tuple(float(i) for i in 0.1 * current / model.area)  # mA/cm², by definition
    series: list[Series] = []
    for tone, (label, columns, weights) in enumerate(
        (
            ("porous model", volts, sample.weights),
            ("plain curve", np.stack([plain.voltages_or_none(float(i))[0] for i in current], axis=1), plain.weights),
        )
    ):  # fmt: skip
        rows = [
            Spread(np.nan_to_num(column), weights).middle_and_interval() for column in columns.T
        ]
        middle = tuple(m for m, _, _ in rows)
        series.append(
            Series(label="", x=x, y=middle, y_low=tuple(a for _, a, _ in rows),
                   y_high=tuple(b for _, _, b in rows), band=True, tone=tone, basis=Basis.PREDICTED)
        )  # fmt: skip
        series.append(
            Series(label=label, x=x, y=middle, dash=Dash.SOLID if tone == 0 else Dash.DOTTED,
                   tone=tone, basis=Basis.PREDICTED if tone == 0 else Basis.MEASURED)
        )  # fmt: skip
    series.append(
        Series(label="readings", x=tuple(float(i) for i in 0.1 * model.seen / model.area),
               y=tuple(float(v) for v in model.tab), mark=Mark.CIRCLE, tone=2)
    )  # fmt: skip
    return Figure(
        name="porous-fit",
        title="The run, by the porous model and by the plain curve",
        x=Axis(title="Current density", unit="mA/cm²", scale=Scale.LOG),
        y=Axis(title="Voltage at the tab", unit="V"),
        series=tuple(series),
        caption="Marks: readings. Shades: 95 % of the curves that fit them.",
        alt=f"{model.seen.size} readings with the bands of two fitted models through them.",
    )


def fit_widths(rows: tuple[PriorPosterior, ...], kept: float) -> Figure:
    """How much of each parameter's band is left after the readings.

    Parameters
    ----------
    rows : tuple of PriorPosterior
    kept : float
        Share of the width from which on a parameter counts as not found.

    Returns
    -------
    Figure
    """
    return Figure(
        name="porous-fit-widths",
        title="What the run added to what was assumed",
        x=Axis(title="Width after the readings over width before", low=0.0),
        y=Axis(title="", scale=Scale.NAMES, names=tuple(row.name for row in rows)),
        series=(
            Series(
                label="told by the run",
                x=tuple(r.width_ratio for r in rows if not r.kept_prior),
                y=tuple(float(k) for k, r in enumerate(rows) if not r.kept_prior),
                mark=Mark.CIRCLE,
            ),
            Series(
                label="as assumed beforehand",
                x=tuple(r.width_ratio for r in rows if r.kept_prior),
                y=tuple(float(k) for k, r in enumerate(rows) if r.kept_prior),
                mark=Mark.RING,
                tone=1,
                basis=Basis.ASSUMED,
            ),
        ),
        stretches=(Stretch(along="x", low=kept, high=kept, label="kept beyond this"),),
        caption="Near 1 the readings say nothing: such a parameter is given no value.",
        alt=f"One row for each of {len(rows)} parameters; {sum(r.kept_prior for r in rows)} kept what was assumed.",
    )
