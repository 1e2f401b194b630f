"""The table of pieces: what the ammeter said, the fair value, and what each correction did to it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from aerode.measure.comparison.entrants import first_states, recipe_of
from aerode.measure.impossible import impossible_current
from aerode.records.comparisons import Correction, Piece, RefusedReading
from aerode.records.electrodes import Outcome
from aerode.records.results import Estimate
from aerode.records.runs import RunSort
from aerode.stats.contrasts import t_quantile

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from aerode.measure.comparison.joint import JointFit
    from aerode.measure.comparison.study import Study, Values
    from aerode.measure.comparison.values import Measured, Response
    from aerode.records.electrodes import Electrode
    from aerode.records.runs import Run

__all__ = ["ammeter_reading", "piece_rows", "refused_readings", "value_scale"]

_WHAT = {
    "meter": "voltmeter's own current",
    "lead": "tab and lead (read at the tab, not the clips)",
    "area": "own wetted area instead of the mean",
    "temperature": "brought to the reference temperature",
}


def value_scale(response: Response) -> tuple[float, str]:
    """Shown value over SI value, and its unit.

    >>> from aerode.measure.comparison.values import Response
    >>> value_scale(Response(voltage=0.45))
    (0.1, 'mA/cm^2')
    """
    if response.current_density is not None:
        return 1.0, "V"
    return (0.1, "mA/cm^2") if response.per_area else (1000.0, "mA")  # units, by definition


def ammeter_reading(study: Study, electrode: Electrode) -> float | None:
    """What the ammeter across the cell showed last [mA]; never a performance.

    Parameters
    ----------
    study : Study
    electrode : Electrode [record]

    Returns
    -------
    float or None [mA]
    """
    shown: float | None = None
    for run in study.runs_of(electrode, RunSort.SHORT_CIRCUIT):
        replaced = {reading.replaces for reading in run.readings}
        for index, reading in enumerate(run.readings):
            if reading.current is not None and not reading.doubt and index not in replaced:
                shown = 1000.0 * abs(reading.current)
    return shown


def piece_rows(
    study: Study, values: Values, joint: JointFit | None, response: Response
) -> tuple[Piece, ...]:
    """One row for each electrode asked for and each control, the failed ones too.

    Parameters
    ----------
    study : Study
    values : Values
    joint : JointFit or None
        The fit of the pieces; None where nothing could be read.
    response : Response

    Returns
    -------
    tuple of Piece
    """
    fair = _levels(joint)
    meters = {e.name: ammeter_reading(study, e) for e in study.electrodes}
    fair_ranks = _ranks({e.name: fair[e.name][0] for e in study.electrodes if e.name in fair})
    meter_ranks = _ranks({name: mA for name, mA in meters.items() if mA is not None})
    states = first_states(study.electrodes)
    asked = {e.name for e in study.electrodes}
    rows: list[Piece] = []
    for electrode in (*study.electrodes, *(c for c in study.controls if c.name not in asked)):
        mine = [m for m in values.measured if m.entrant.electrode.name == electrode.name]
        order = [int(values.order[k]) for k, m in enumerate(values.measured) if m in mine]
        rows.append(
            Piece(
                electrode=electrode.name,
                recipe=recipe_of(electrode),
                build=electrode.piece,
                runs=tuple(m.entrant.run.name for m in mine),
                fair=_fair(electrode.name, fair, response, study, values),
                ammeter_mA=meters.get(electrode.name),
                ammeter_rank=meter_ranks.get(electrode.name),
                fair_rank=fair_ranks.get(electrode.name),
                corrections=_corrections(mine, fair.get(electrode.name)),
                order=order[0] if order else None,
                control=electrode.control or any(m.entrant.control for m in mine),
                outcome=str(electrode.outcome),
                left_out=_left_out(electrode, study, values, states),
                factors=dict(electrode.factors),
            )
        )
    return tuple(rows)


def _levels(joint: JointFit | None) -> dict[str, tuple[float, float]]:
    """Level and standard deviation of each electrode, on the log scale."""
    if joint is None:
        return {}
    spread = np.sqrt(np.diagonal(joint.fit.covariance))
    return {
        name: (float(level), float(sd))
        for name, level, sd in zip(joint.names, joint.fit.coefficients, spread, strict=True)
    }


def _ranks(found: Mapping[str, float]) -> dict[str, int]:
    ordered = sorted(found, key=lambda name: -found[name])
    return {name: place for place, name in enumerate(ordered, start=1)}


def _fair(
    name: str,
    fair: Mapping[str, tuple[float, float]],
    response: Response,
    study: Study,
    values: Values,
) -> Estimate:
    scale, unit = value_scale(response)
    if name not in fair:
        return Estimate(
            value=None,
            unit=unit,
            identifiable=False,
            reason=_why_none(name, study, values),
        )
    level, sd = fair[name]
    # the usual level: judgement
    centre, reach = scale * math.exp(level), t_quantile(0.975, math.inf) * sd
    return Estimate(
        value=centre,
        unit=unit,
        standard_uncertainty=centre * sd,
        interval_95=(centre * math.exp(-reach), centre * math.exp(reach)),
        meaning="whole cell, brought to the middle of its session; shared errors counted",
    )


def _why_none(name: str, study: Study, values: Values) -> str:
    mine = [run for run in study.runs if study.electrode_name(run) == name]
    reasons = [values.left_out[run.name] for run in mine if run.name in values.left_out]
    return reasons[0] if reasons else "no run of load steps"


def _left_out(electrode: Electrode, study: Study, values: Values, states: Mapping[str, str]) -> str:
    read = any(m.entrant.electrode.name == electrode.name for m in values.measured)
    if not read:
        failed = "" if electrode.outcome is Outcome.WHOLE else f"{electrode.outcome}: "
        return failed + _why_none(electrode.name, study, values)
    first = states.get(electrode.piece)
    if first is not None and first != electrode.name:
        return f"a later state of {first}: no replicate, left out of the recipes"
    return ""


def _corrections(
    mine: Sequence[Measured], fair: tuple[float, float] | None
) -> tuple[Correction, ...]:
    """Each correction as a ratio after to before, over the runs of one electrode (geometric mean)."""
    if not mine or fair is None:
        return ()
    lines: list[Correction] = []
    for key, words in _WHAT.items():
        steps = [m.steps[key] for m in mine if key in m.steps]
        if steps:
            ratio = math.exp(sum(math.log(s) for s in steps) / len(steps))
            lines.append(Correction(what=key, ratio=ratio, detail=words))
    read = sum(m.log_value for m in mine) / len(mine)
    lines.append(
        Correction(
            what="drift",
            ratio=math.exp(fair[0] - read),
            detail="from its place in the order to the middle of the session",
        )
    )
    return tuple(lines)


def refused_readings(study: Study, values: Values) -> tuple[RefusedReading, ...]:
    """Readings that were kept but not used, each with its reason; open circuit is no point of a curve.

    Parameters
    ----------
    study : Study
    values : Values

    Returns
    -------
    tuple of RefusedReading
        Of the runs of load steps, and slips of the ammeter that a later reading replaces.
    """
    lines = [
        RefusedReading(
            run=m.entrant.run.name,
            index=point.index,
            text=point.text or (f"{point.voltage:g} V" if point.voltage is not None else ""),
            why=point.why_not,
        )
        for m in values.measured
        for point in m.fit.data.refused
        if point.load != "open"
    ]
    for electrode in study.electrodes:
        for run in study.runs_of(electrode, RunSort.SHORT_CIRCUIT):
            lines += _replaced(run, study)
    return tuple(lines)


def _replaced(run: Run, study: Study) -> list[RefusedReading]:
    """Ammeter readings that a later one replaces, with the slip that each shows."""
    lines: list[RefusedReading] = []
    for later, reading in enumerate(run.readings):
        if reading.replaces is None:
            continue
        slip = run.readings[reading.replaces]
        scales = {r.name: r.full_scale for m in study.instruments.values() for r in m.ranges}
        seen = impossible_current(slip.current or 0.0, scales.get(slip.current_range, math.inf))
        why = f"{seen or reading.note or 'taken again'}; reading {later + 1} stands"
        lines.append(RefusedReading(run=run.name, index=reading.replaces, text=slip.text, why=why))
    return lines
