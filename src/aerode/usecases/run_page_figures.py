"""The figures of one run: the curve as it grows, the voltage on its way, where the voltage goes, when a face went wet."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.measure.picturing import lowest_shown
from aerode.measure.run_readings import check_places
from aerode.quantities import Basis
from aerode.records.figures import Axis, Dash, Figure, Mark, Scale, Series, Stretch

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from aerode.measure.settling import SettledVoltage
    from aerode.records.fits import Fit
    from aerode.records.logs import LogStep
    from aerode.records.runs import Observation, Reading, Run

__all__ = ["face_looks", "growing_curve", "loss_split", "settling_trace"]


def growing_curve(
    run: Run,
    readings: Sequence[Reading],
    resistors: Mapping[str, float],
    area: float | None,
    step: LogStep | None,
) -> Figure | None:
    """The readings at loads so far, as current = voltage over resistance, and what the next one is expected to be.

    Parameters
    ----------
    run : Run
    readings : sequence of Reading
        Those that no later one replaces.
    resistors : mapping
        Name of a load and its resistance [ohm].
    area : float or None [m^2]
        Wetted area; without it the figure is in mA.
    step : LogStep or None
        What comes next.

    Returns
    -------
    Figure or None
        None while there is nothing to draw.
    """
    scale = 1e3 if area is None else 0.1 / area  # A to mA, A/m^2 to mA/cm^2: by definition
    check = [run.readings[place] for place in check_places(run)]
    points = [
        (scale * one.voltage / ohms, one.voltage, bool(one.doubt), any(one is c for c in check))
        for one in readings
        if one.voltage is not None and (ohms := _ohms(one, resistors)) is not None
    ]
    again = [
        (scale * one.voltage / ohms, one.voltage)
        for one in check
        if one.voltage is not None and not one.doubt and (ohms := _ohms(one, resistors)) is not None
    ]
    good = sorted((i, v) for i, v, doubted, checks in points if not doubted and not checks)
    series = [_marks("read", good, Mark.CIRCLE, Dash.SOLID)] if good else []
    if again:
        series.append(_marks("check, read once more", again, Mark.DIAMOND, Dash.NONE, tone=1))
    doubted = [(i, v) for i, v, wrong, _ in points if wrong]
    if doubted:
        series.append(_marks("doubted", doubted, Mark.CROSS, Dash.NONE, tone=7))
    foretold = False
    if step is not None and step.resistance and step.expected_voltage is not None:
        foretold = True
        voltage = step.expected_voltage
        series.append(
            Series(
                label=f"expected at {step.load}",
                x=(scale * voltage / step.resistance,),
                y=(voltage,),
                y_low=(step.expected_low or 0.0,),
                y_high=(step.expected_high or voltage,),
                mark=Mark.RING,
                tone=2,
                basis=Basis.PREDICTED,
            )
        )
    if not points and not series:
        return None
    rest = next((r.voltage for r in readings if r.load == "open" and r.voltage), None)
    line = () if rest is None else (Stretch(along="y", low=rest, high=rest, label="no load"),)
    unit = "mA" if area is None else "mA/cm²"
    count = "one reading" if len(good) == 1 else f"{len(good) or 'no'} readings"
    checked = " and one once more as a check" if again else ""
    return Figure(
        name="growing",
        title=f"{run.name} so far",
        x=Axis(title="Current" if area is None else "Current density", unit=unit, low=0.0),
        y=Axis(title="Voltage", unit="V", low=lowest_shown(series)),
        series=tuple(series),
        stretches=line,
        caption="Current from the voltage over the resistor, as read: nothing is corrected here."
        + (" The open mark is what to expect, not a reading." if foretold else ""),
        alt=f"{count} at loads{checked}; the voltage falls as the current rises.",
    )


def _ohms(reading: Reading, resistors: Mapping[str, float]) -> float | None:
    return reading.resistance or resistors.get(reading.load)


def _marks(
    label: str, points: Sequence[tuple[float, float]], mark: Mark, dash: Dash, tone: int = 0
) -> Series:
    return Series(
        label=label,
        x=tuple(x for x, _ in points),
        y=tuple(y for _, y in points),
        mark=mark,
        dash=dash,
        tone=tone,
    )


def settling_trace(trace: Sequence[tuple[float, float]], settled: SettledVoltage) -> Figure:
    """Timed readings at one load, and where they are going."""
    voltage, spread = settled.voltage, settled.standard_uncertainty
    goal = () if voltage is None else (Stretch(along="y", low=voltage - 2.0 * spread, high=voltage + 2.0 * spread, label="where it is going"),)  # fmt: skip
    last = trace[-1]
    return Figure(
        name="settling",
        title="Is it standing still?",
        x=Axis(title="Since this load is on", unit="s", low=0.0),
        y=Axis(title="Voltage", unit="V"),
        series=(_marks("read", trace, Mark.CIRCLE, Dash.SOLID),),
        stretches=goal,
        caption=settled.reason[:1].upper() + settled.reason[1:],
        alt=f"{len(trace)} timed readings, the last one {last[1]:.4g} V after {last[0]:.0f} s.",
    )


LOSS_WORDS = {
    "kinetics": "driving the reaction",
    "linear": "in step with the current",
    "transport": "supply running short",
    "transport beyond linear": "supply running short",
}
"""The losses of a fit in plain words; the words of its record stay as they are."""


def loss_split(fit: Fit) -> Figure | None:
    """Where the voltage goes at one current: one bar for each kind of loss, with its interval.

    A loss of which only an upper bound can be told is drawn as its bound, marked so.
    """
    drawn = [share for share in fit.losses if share.voltage.value is not None or share.voltage.interval_95]  # fmt: skip
    if not drawn or fit.losses_at is None or fit.losses_at.value is None:
        return None
    told = [(float(k), share) for k, share in enumerate(drawn) if share.voltage.value is not None]
    bounds = [(float(k), share) for k, share in enumerate(drawn) if share.voltage.value is None]
    at = f"{fit.losses_at.value:.3g} {fit.losses_at.unit.replace('^2', '²')}"
    series = [
        Series(
            label="loss with its 95 % interval",
            x=tuple(1e3 * (share.voltage.value or 0.0) for _, share in told),
            y=tuple(row for row, _ in told),
            x_low=tuple(1e3 * _ends(share.voltage)[0] for _, share in told),
            x_high=tuple(1e3 * _ends(share.voltage)[1] for _, share in told),
            mark=Mark.CIRCLE,
        )
    ]
    if bounds:
        series.append(
            Series(
                label="below this, with 95 % probability",
                x=tuple(1e3 * _ends(share.voltage)[1] for _, share in bounds),
                y=tuple(row for row, _ in bounds),
                mark=Mark.TRIANGLE,
                tone=1,
            )
        )
    names = tuple(LOSS_WORDS.get(share.loss, share.loss) for share in drawn)
    return Figure(
        name="losses",
        title=f"Where the voltage goes at {at}",
        x=Axis(title="Loss", unit="mV", low=0.0),
        y=Axis(title="", scale=Scale.NAMES, names=names),
        series=tuple(series),
        caption="Of the whole cell: the aluminium's share and the electrolyte's are in it.",
        alt=f"One row for each of {', '.join(names)}, at {at}.",
    )


def _ends(voltage: object) -> tuple[float, float]:
    interval = getattr(voltage, "interval_95", None)
    value = getattr(voltage, "value", None) or 0.0
    return interval or (value, value)


def face_looks(run: Run, observations: Sequence[Observation]) -> Figure | None:
    """The looks at the air face of a seep test, over the hours."""
    if not observations:
        return None
    dry = [(look.at / 3600.0, 0.0) for look in observations if not look.wet]
    wet = [(look.at / 3600.0, 0.0) for look in observations if look.wet]
    series = [_marks("seen dry", dry, Mark.RING, Dash.NONE)]
    if wet:
        series.append(_marks("seen wet", wet, Mark.DIAMOND, Dash.NONE, tone=7))
    last_dry = max((x for x, _ in dry), default=0.0)
    first_wet = min((x for x, _ in wet), default=None)
    span = () if first_wet is None or first_wet <= last_dry else (Stretch(along="x", low=last_dry, high=first_wet, label="it leaked in this span", hatched=True),)  # fmt: skip
    return Figure(
        name="looks",
        title=f"{run.name}: looks at the air face",
        x=Axis(title="Time under water", unit="h", low=0.0),
        y=Axis(title="", scale=Scale.NAMES, names=(run.electrode or run.name,)),
        series=tuple(series),
        stretches=span,
        caption="A leak is known only between two looks.",
        alt=f"{len(dry)} looks found it dry, {len(wet)} found it wet.",
    )
