"""The whole answer on a change: what it would do, with its band, what it hangs on, and the figures."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from aerode import units
from aerode.errors import CannotTellError, MissingExtraError
from aerode.measure.porous.bands import shown
from aerode.measure.porous.change_figures import change_curve, paired_curves, sweep_figure
from aerode.measure.porous.changes import CHANGEABLE, Change, setting
from aerode.measure.porous.ranking import ranked
from aerode.measure.porous.recipe import Layer
from aerode.measure.porous.streaming import no_steps
from aerode.measure.porous.what_if import (
    Calibration,
    Effect,
    Pair,
    effect_of,
    pair_of,
    split_at,
    sweep,
)
from aerode.physics.cathode.compiled import available
from aerode.records.figures import Figure
from aerode.records.results import Estimate
from aerode.records.simulations import InputRank, Simulation, SweepPoint

__all__ = ["Sweep", "simulated"]

Floats = NDArray[np.float64]

_LONGEST = 100  # judgement: characters of a headline
_MOSTLY = 0.8  # judgement
_ALL = 0.95  # judgement: fewer draws that carry the current are worth a warning
_ENDS = (0.025, 0.5, 0.975)  # by definition
_HALF = 0.5
_FIRST, _SWEEP = 0.1, 0.6  # judgement: shares of the whole time
_PER_CENT = 100.0  # by definition
_MILLI = 1e3  # mV in V, by definition
_NOT_IN_IT = {
    "binder": "what it does to wetting, cracks and sticking is not computed",
    "conductor": "what it does to wetting and to the surface that works is not computed",
    "thickness": "that thick coats crack or dry slowly is not computed",
    "saturation": "how to reach it is not computed; it drifts over hours to weeks",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Sweep:
    """Settings of one thing to go through.

    Parameters
    ----------
    what : str
        A key of `CHANGEABLE`.
    settings : tuple of float [its unit]
    """

    what: str
    settings: tuple[float, ...]


def simulated(
    layer: Layer,
    changes: tuple[Change, ...],
    current: float,
    *,
    vary: Sweep | None = None,
    draws: int = 2000,  # numerical
    seed: int = 1,
    rank: bool = True,
    calibration: Calibration | None = None,
    step: Callable[[str, float], None] = no_steps,
) -> Simulation:
    """What changes to an item would do.

    Parameters
    ----------
    layer : Layer
        What is known of it.
    changes : tuple of Change
        One after the other; may be empty with `vary`.
    current : float [A/m^2]
        Current density asked for.
    vary : Sweep, optional
        Settings to go through, each from the state as it is.
    draws : int
    seed : int
        Of the dice: equal seeds give equal answers.
    rank : bool
        Whether the inputs are ranked.
    calibration : Calibration, optional
        Fitted numbers.
    step : callable
        Told how far it is.

    Returns
    -------
    Simulation

    Raises
    ------
    RangeError, CannotTellError
        A change that cannot be.
    """
    step("before and after", 0.0)
    pair = pair_of(layer, changes, current, draws=draws, seed=seed, calibration=calibration)
    effect = effect_of(pair)
    parts = split_at(pair, current)
    points: tuple[SweepPoint, ...] = ()
    if vary is not None:
        points = sweep(
            layer, vary.what, vary.settings, current, draws=draws, seed=seed,
            calibration=calibration, step=lambda what, share: step(what, _FIRST + _SWEEP * share),
        )  # fmt: skip
    step("ranking what is not known", 0.7)  # judgement: about so far
    looked_at = changes or ((setting(vary.what, vary.settings[-1]),) if vary is not None else ())
    ranking, note = _ranking(layer, looked_at, current, seed) if rank else ((), "not asked for")
    step("done", 1.0)
    said = ", ".join(one.text for one in changes)
    density = 0.1 * current  # mA/cm², by definition
    return Simulation(
        headline=_headline(layer.item, said, effect, points, density),
        item=layer.item,
        kind=layer.kind,
        change=said or (f"another {vary.what}" if vary is not None else ""),
        understood=tuple(f"{one.understood}: {CHANGEABLE[one.what].means}" for one in changes)
        or tuple(f"{v.what}: {CHANGEABLE[v.what].means}" for v in ([vary] if vary else [])),
        current_density_mA_cm2=density,
        loss_before_V=effect.before,
        loss_after_V=effect.after,
        change_V=effect.change,
        ratio=effect.ratio,
        helps=effect.helps,
        carried_before=effect.carried_before,
        carried_after=effect.carried_after,
        losses_before_V=parts[0],
        losses_after_V=parts[1],
        sweep=points,
        ranking=ranking,
        ranking_note=note,
        inputs=shown(layer.bands),
        calibrated_by="" if calibration is None else calibration.run,
        draws=draws,
        seed=seed,
        figures=_figures(pair, said, points, vary, density),
        warnings=_warnings(
            effect,
            points,
            calibration,
            tuple(c.what for c in changes) + ((vary.what,) if vary else ()),
        ),
        assumptions=_assumptions(layer, calibration),
    )


def _ranking(
    layer: Layer, changes: tuple[Change, ...], current: float, seed: int
) -> tuple[tuple[InputRank, ...], str]:
    said = ", ".join(one.text for one in changes)
    try:
        return ranked(layer, changes, current, seed=seed), f"of what {said} does, before any fit"
    except MissingExtraError as missing:
        return (), f"{missing.what}: {missing.next_step}"


def _headline(
    item: str, said: str, effect: Effect, points: tuple[SweepPoint, ...], density: float
) -> str:
    if not said:
        return _sweep_headline(item, points, density)[:_LONGEST]
    change = effect.change
    if change.value is None or change.interval_95 is None:
        return f"Predicted: {item}, {said}: this current is beyond what it can carry"[:_LONGEST]
    head = f"Predicted, {_word(effect.helps, effect.change, effect.ratio)}: {item}, {said}:"
    volts = f"{_millivolts(change.value, change.interval_95)} of loss at {density:.3g} mA/cm²"
    ratio = effect.ratio
    if ratio.value is None or ratio.interval_95 is None:
        return f"{head} {volts}"[:_LONGEST]
    times = f"times {units.band(ratio.value, *ratio.interval_95, factor=1.0)}"
    wanted = (
        f"{head} current at the same loss {times}; {volts}",
        f"{head} current at the same loss {times}",
        f"{head} current {times}",
    )
    return next((text for text in wanted if len(text) <= _LONGEST), wanted[-1])[:_LONGEST]


def _millivolts(value: float, interval: tuple[float, float]) -> str:
    """ "-13 mV [-42, +5]"."""
    middle, _, band = units.band(value, *interval, factor=_MILLI, sign=True).partition(" ")
    return f"{middle} mV {band}"


def _word(helps: float, change: Estimate, ratio: Estimate) -> str:
    """A gain or a loss only where no band, as it is shown, holds what changes nothing."""
    if change.interval_95 == (0.0, 0.0):
        return "no change"
    volts = _side(change, 0.0, _MILLI)
    times = -volts if ratio.interval_95 is None else _side(ratio, 1.0, 1.0)
    if volts < 0 < times:
        return "a gain"
    if times < 0 < volts:
        return "a loss"
    if helps >= _MOSTLY:
        return "rather a gain"
    if helps <= 1.0 - _MOSTLY:
        return "rather a loss"
    return "may go either way"


def _side(one: Estimate, nothing: float, factor: float) -> int:
    """1 where the band as it is shown lies above what changes nothing, -1 below, 0 where it holds it."""
    if one.interval_95 is None:
        return 0
    low, high = (factor * end for end in one.interval_95)
    decimals = units.decimals_for((high - low) / 4.0)  # as `units.band` rounds
    low, high = round(low, decimals), round(high, decimals)
    return 1 if low > factor * nothing else -1 if high < factor * nothing else 0


def _sweep_headline(item: str, points: tuple[SweepPoint, ...], density: float) -> str:
    told = [p for p in points if p.change_V.value is not None]
    if not told:
        raise CannotTellError(
            "none of these settings can carry this current", where=item,
            allowed="a smaller current density", next_step='ask for less, as in --at "1 mA/cm^2"',
        )  # fmt: skip
    best = min(told, key=lambda p: p.change_V.value or 0.0)
    change = _millivolts(best.change_V.value or 0.0, best.change_V.interval_95 or (0.0, 0.0))
    return (
        f"Predicted, {_word(best.helps, best.change_V, best.ratio)}: {item}, least loss near {best.text}: {change} "
        f"at {density:.3g} mA/cm²"
    )


def _rows(losses: Floats) -> list[tuple[float, float, float] | None]:
    """Ends and middle at each current; None where fewer than half of the draws carry it."""
    found: list[tuple[float, float, float] | None] = []
    for column in losses.T:
        known = column[np.isfinite(column)]
        if known.size < _HALF * column.size:
            found.append(None)
            continue
        low, middle, high = (float(v) for v in np.quantile(known, _ENDS))
        found.append((low, middle, high))
    return found


def _figures(
    pair: Pair, said: str, points: tuple[SweepPoint, ...], vary: Sweep | None, density: float
) -> tuple[Figure, ...]:
    found: list[Figure] = []
    if said:
        each = (_rows(pair.before), _rows(pair.after), _rows(pair.after - pair.before))
        rows = [
            (float(i), b, a, d)
            for i, b, a, d in zip(pair.currents, *each, strict=True)
            if b is not None and a is not None and d is not None
        ]
        if len(rows) > 1:
            currents, before, after, change = zip(*rows, strict=True)
            found += [
                change_curve(currents, change, said),
                paired_curves(currents, before, after, said),
            ]
    if vary is not None and len(points) > 1:
        known = CHANGEABLE[vary.what]
        factor = _PER_CENT if known.shown == "%" else units.convert(1.0, known.unit, known.shown)
        found.append(sweep_figure(points, vary.what, known.shown, factor, f"{density:.3g} mA/cm²"))
    return tuple(found)


def _warnings(
    effect: Effect,
    points: tuple[SweepPoint, ...],
    calibration: Calibration | None,
    changed: tuple[str, ...],
) -> tuple[str, ...]:
    said = [f"{what}: {_NOT_IN_IT[what]}" for what in dict.fromkeys(changed) if what in _NOT_IN_IT]
    if calibration is None:
        said.append(
            "kinetics, wetting and wet film are wide bands from memory: measure a run of this electrode "
            "and the band narrows"
        )
    if not available():
        said.append(
            "the fast solver is not installed, so this took long: pip install 'aerode[fast]'"
        )
    least = min((effect.carried_before, effect.carried_after, *(p.carried for p in points)))
    if least < _ALL:
        said.append(
            f"in {100 * (1 - least):.0f} % of the draws the cathode cannot carry this current; "
            "the change is told from the others"
        )
    return tuple(said)


def _assumptions(layer: Layer, calibration: Calibration | None) -> tuple[str, ...]:
    fitted = () if calibration is None else (
        f"fitted beforehand to {calibration.run}: {', '.join(calibration.columns)}; what the change does to "
        "them comes from the recipe",
    )  # fmt: skip
    return (
        f"electrolyte {layer.liquid} at {layer.temperature - 273.15:.3g} degC",  # by definition
        "loss of the cathode alone; gap, anode and the alkaline face of the cathode stay as they are",
        "steady state; a mix or an electrode that floods, dries or ages is not this one any more",
        *fitted,
        *layer.assumptions,
    )
