"""A porous cathode from numbers to the whole answer: curve, parts of the loss, profiles, bands."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from aerode.errors import CannotTellError
from aerode.measure.porous.figures import curve_figure, profile_figure, stack_figure
from aerode.measure.porous.streaming import RESOLUTION, Draw, count_losses, no_steps
from aerode.physics.cathode import (
    CathodeParameters,
    OperatingPoint,
    current_at_loss,
    current_at_overpotential,
    limiting_current,
    operating_point,
    to_keys,
)
from aerode.quantities import Reason
from aerode.records.figures import Figure
from aerode.records.simulations import (
    BandAt,
    CathodeProfile,
    CathodeSimulation,
    LossParts,
)

__all__ = ["Asked", "simulated_cathode"]

Floats = NDArray[np.float64]

_ENDS = (0.025, 0.975)  # by definition: a 95 % band
_LONGEST = 100  # judgement: characters of a headline
_MOST_PROFILES = 3  # judgement: more lines cannot be told apart


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """Where a curve is asked for: exactly one of the three.

    Parameters
    ----------
    currents : tuple of float [A/m^2]
    overpotentials : tuple of float [V]
        Of the electrolyte face.
    losses : tuple of float [V]
        From the collector to that face.
    """

    currents: tuple[float, ...] = ()
    overpotentials: tuple[float, ...] = ()
    losses: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class _Row:
    """One point of the answer."""

    current: float | None
    point: OperatingPoint | None
    reason: str | None
    asked: float


def simulated_cathode(
    cathode: CathodeParameters,
    asked: Asked,
    *,
    with_profiles: bool = False,
    draw: Draw | None = None,
    draws: int = 0,
    seed: int = 1,
    workers: int = 1,
    step: Callable[[str, float], None] = no_steps,
) -> CathodeSimulation:
    """The whole answer on one cathode.

    Parameters
    ----------
    cathode : CathodeParameters
        Its numbers.
    asked : Asked
        Currents, overpotentials or losses.
    with_profiles : bool
        Whether the inside is given too.
    draw : Draw, optional
        What is drawn for the bands.
    draws : int
        How many curves are drawn from them.
    seed : int
        Of the dice.
    workers : int
        Threads; the answer does not depend on them.
    step : callable
        Told what is being done and which share is done.

    Returns
    -------
    CathodeSimulation
        Where there is no steady state a reason stands instead of the numbers.
    """
    rows = _rows(cathode, asked)
    limit = limiting_current(cathode)
    points = [row.point for row in rows]
    parts = LossParts(
        ionic=tuple(None if p is None else p.losses.ionic for p in points),
        electronic=tuple(None if p is None else p.losses.electronic for p in points),
        kinetic=tuple(None if p is None else p.losses.kinetic for p in points),
        oxygen=tuple(None if p is None else p.losses.oxygen for p in points),
    )
    profiles = tuple(_profile(p) for p in points if p is not None)
    counted = _bands(cathode, rows, draw, draws, seed, workers, step)
    return CathodeSimulation(
        headline=_headline(rows),
        current_density_A_m2=tuple(row.current for row in rows),
        overpotential_V=tuple(
            (row.asked if asked.overpotentials and p is None else None)
            if p is None
            else p.face_overpotential
            for row, p in zip(rows, points, strict=True)
        ),
        loss_V=parts,
        cathode_loss_V=tuple(
            (row.asked if asked.losses and p is None else None) if p is None else p.loss
            for row, p in zip(rows, points, strict=True)
        ),
        error_estimate_V=tuple(None if p is None else p.error_estimate for p in points),
        reasons=tuple(row.reason for row in rows),
        limiting_current_A_m2=limit if math.isfinite(limit) else None,
        profile=profiles if with_profiles else (),
        bands=counted,
        draws=draws if counted else 0,
        band_resolution_V=RESOLUTION if counted else None,
        inputs=_inputs(cathode),
        figures=_figures(rows, parts, profiles, counted, limit),
        warnings=_warnings(rows),
        assumptions=(
            "steady state, one temperature, first order in oxygen; pores neither fill nor dry",
            "the cathode alone: no anode, no gap, no contacts",
        ),
    )


def _rows(cathode: CathodeParameters, asked: Asked) -> list[_Row]:
    if asked.currents:
        return [_row(cathode, i, i) for i in asked.currents]
    if asked.overpotentials:
        found = current_at_overpotential(cathode, asked.overpotentials)
        wanted = asked.overpotentials
    else:
        found, wanted = current_at_loss(cathode, asked.losses), asked.losses
    return [
        _row(cathode, float(i), v) if why is None else _Row(None, None, str(why), v)
        for i, why, v in zip(found.current_density, found.reasons, wanted, strict=True)
    ]


def _row(cathode: CathodeParameters, current: float, asked: float) -> _Row:
    try:
        return _Row(current, operating_point(cathode, current), None, asked)
    except CannotTellError as refusal:
        return _Row(current, None, refusal.what, asked)


def _profile(point: OperatingPoint) -> CathodeProfile:
    inside = point.profile

    def plain(values: Floats) -> tuple[float, ...]:
        return tuple(float(v) for v in values)

    return CathodeProfile(
        current_density_A_m2=point.current_density,
        depth_m=plain(inside.depth),
        local_rate_A_m3=plain(inside.local_rate),
        overpotential_V=plain(inside.overpotential),
        ionic_current_A_m2=plain(inside.ionic_current),
        electronic_current_A_m2=plain(inside.electronic_current),
        oxygen_mol_m3=plain(inside.oxygen),
        dissolved_oxygen_mol_m3=plain(inside.dissolved_oxygen),
        reason=None if inside.reason is None else str(inside.reason),
    )


def _bands(
    cathode: CathodeParameters,
    rows: list[_Row],
    draw: Draw | None,
    draws: int,
    seed: int,
    workers: int,
    step: Callable[[str, float], None],
) -> tuple[BandAt, ...]:
    currents = np.unique([row.current for row in rows if row.current is not None])
    if draw is None or draws < 1 or currents.size == 0:
        return ()
    counts = count_losses(
        cathode, draw, currents, draws=draws, seed=seed, workers=workers, step=step
    )
    low, middle, high = (counts.quantile(p) for p in (_ENDS[0], 0.5, _ENDS[1]))
    found: list[BandAt] = []
    for k, current in enumerate(currents):
        told = bool(counts.carried[k] > 0)
        found.append(
            BandAt(
                current_density_A_m2=float(current),
                low_V=float(low[k]) if told else None,
                median_V=float(middle[k]) if told else None,
                high_V=float(high[k]) if told else None,
                carried=float(counts.carried[k]) / counts.draws,
                reason=None if told else str(Reason.BEYOND_LIMIT),
            )
        )
    return tuple(found)


def _inputs(cathode: CathodeParameters) -> dict[str, float | str]:
    if cathode.sublayers:
        return {}
    return {
        key: value if isinstance(value, str) or math.isfinite(value) else "inf"
        for key, value in to_keys(cathode).items()
    }


def _headline(rows: list[_Row]) -> str:
    known = [row.point for row in rows if row.point is not None]
    if not known:
        why = (rows[0].reason or "").split(";")[0]
        return f"Predicted: no steady state at any of {len(rows)} points: {why}"[:_LONGEST]
    top = max(known, key=lambda p: p.current_density)
    parts = {
        "kinetics": top.losses.kinetic,
        "oxygen": top.losses.oxygen,
        "the liquid": top.losses.ionic,
        "the solid": top.losses.electronic,
    }
    most = max(parts, key=parts.__getitem__)
    density = 0.1 * top.current_density  # mA/cm², by definition
    return (
        f"Predicted: {top.loss:.3f} V lost at {density:.3g} mA/cm², most of it to {most} "
        f"({1e3 * parts[most]:.0f} mV)"
    )


def _warnings(rows: list[_Row]) -> tuple[str, ...]:
    missing = [row for row in rows if row.point is None]
    if not missing:
        return ()
    reasons = dict.fromkeys(row.reason or "" for row in missing)
    return tuple(
        f"{sum(row.reason == why for row in missing)} of {len(rows)} points: {why}"
        for why in reasons
    )


def _figures(
    rows: list[_Row],
    parts: LossParts,
    profiles: tuple[CathodeProfile, ...],
    bands: tuple[BandAt, ...],
    limit: float,
) -> tuple[Figure, ...]:
    if not profiles:
        return ()
    currents = [row.current for row in rows]
    losses = [None if row.point is None else row.point.loss for row in rows]
    curve = curve_figure(currents, losses, bands, limit=limit if math.isfinite(limit) else None)
    stack = stack_figure(
        currents,
        {
            "ionic": parts.ionic,
            "electronic": parts.electronic,
            "kinetic": parts.kinetic,
            "oxygen": parts.oxygen,
        },
    )
    ordered = sorted(profiles, key=lambda p: p.current_density_A_m2)
    chosen = {0, len(ordered) // 2, len(ordered) - 1}
    inside = profile_figure([ordered[k] for k in sorted(chosen)][:_MOST_PROFILES])
    return (curve, stack, inside) if len(profiles) > 1 else (inside,)
