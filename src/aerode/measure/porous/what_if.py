"""What a change would do: the same draws before and after, so that what is not known cancels where it can."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from aerode.errors import CannotTellError, RangeError
from aerode.measure.porous.bands import drawn
from aerode.measure.porous.changes import CHANGEABLE, Change, changed, setting
from aerode.measure.porous.recipe import FIELDS, Layer, model_columns, model_of
from aerode.measure.porous.streaming import no_steps
from aerode.physics.cathode import operating_point, polarization_batch
from aerode.quantities import Basis, Reason
from aerode.records.results import Estimate
from aerode.records.simulations import SweepPoint

__all__ = ["Calibration", "Effect", "Pair", "effect_of", "pair_of", "split_at", "sweep"]

Floats = NDArray[np.float64]
Columns = dict[str, Floats]

_ENDS = (0.025, 0.5, 0.975)  # by definition: ends and middle of a 95 % band
_SPAN = (1 / 30, 3.0)  # judgement: the currents drawn, over the one asked for
_PLACES = 15  # numerical
_MIDDLE = 20  # numerical: draws in the middle over which the parts of the loss are averaged
_FEWEST = 50  # judgement: fewer draws that can carry the current tell nothing


@dataclass(frozen=True, slots=True, kw_only=True)
class Calibration:
    """Model numbers that were fitted to a run beforehand.

    Parameters
    ----------
    run : str
        The run.
    columns : dict of str to ndarray, shape (m,) [SI]
        Fields of `CathodeParameters`, drawn from the fit; others keep the recipe's.
    """

    run: str
    columns: Columns


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """Losses before and after on the same draws.

    Parameters
    ----------
    currents : ndarray, shape (K,) [A/m^2]
        Rising; `asked` is one of them.
    asked : int
        Place of the current density that was asked for.
    before, after : ndarray, shape (m, K) [V]
        NaN where a draw cannot carry the current.
    columns_before, columns_after : dict of str to ndarray, shape (m,)
        The model's numbers.
    """

    currents: Floats
    asked: int
    before: Floats
    after: Floats
    columns_before: Columns
    columns_after: Columns


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """What a change does at the asked current density; all predicted."""

    before: Estimate
    after: Estimate
    change: Estimate
    ratio: Estimate
    helps: float
    carried_before: float
    carried_after: float


class _Draws:
    """The draws that before and after share."""

    def __init__(
        self, layer: Layer, draws: int, seed: int, calibration: Calibration | None
    ) -> None:
        if draws < 2 * _FEWEST:
            raise RangeError(f"{draws} draws", where="--draws", allowed=f"{2 * _FEWEST} or more")
        dice = np.random.default_rng(seed)
        count = len(layer.bands)
        # one draw in each of `draws` strips of every input (Latin hypercube: McKay, Beckman &
        # Conover 1979, Technometrics 21:239; from memory)
        strips = np.array([dice.permutation(draws) for _ in range(count)]).T
        self.values = drawn(layer.bands, (strips + dice.random((draws, count))) / draws)
        self.layer, self.calibration = layer, calibration
        self.rows = None
        if calibration is not None:
            size = next(iter(calibration.columns.values())).size
            self.rows = dice.integers(0, size, draws)

    def columns(self, changes: tuple[Change, ...]) -> Columns:
        """The model's numbers after changes; fitted ones are moved by the ratio that the recipe gives."""
        after = changed(self.values, self.layer, changes)
        made = model_columns(after, self.values)
        if self.calibration is None:
            return made
        plain = model_columns(self.values, self.values)
        for name, fitted in self.calibration.columns.items():
            made[name] = fitted[self.rows] * (made[name] / plain[name])
        made["electrons"] = np.clip(made["electrons"], 1.0, 4.0)
        return made


def _losses(columns: Columns, currents: Floats) -> Floats:
    base = model_of(columns)
    batch = polarization_batch(base, {name: columns[name] for name in FIELDS}, currents)
    return batch.loss


def pair_of(
    layer: Layer,
    changes: tuple[Change, ...],
    current: float,
    *,
    draws: int,
    seed: int,
    calibration: Calibration | None = None,
) -> Pair:
    """The losses before and after changes.

    Parameters
    ----------
    layer : Layer
        What is known of the item.
    changes : tuple of Change
        One after the other.
    current : float [A/m^2]
        Current density asked for.
    draws : int
    seed : int
        Of the dice.
    calibration : Calibration, optional
        Fitted numbers.

    Returns
    -------
    Pair

    Raises
    ------
    RangeError, CannotTellError
        As `changed`.
    """
    source = _Draws(layer, draws, seed, calibration)
    currents = np.unique(np.append(current * np.geomspace(*_SPAN, _PLACES), current))
    before, after = source.columns(()), source.columns(changes)
    return Pair(
        currents=currents,
        asked=int(np.searchsorted(currents, current)),
        before=_losses(before, currents),
        after=_losses(after, currents),
        columns_before=before,
        columns_after=after,
    )


def predicted(values: Floats, unit: str, meaning: str = "") -> Estimate:
    """Median, standard deviation and 95 % interval of draws, marked as predicted.

    Parameters
    ----------
    values : ndarray, shape (m,) [unit]
    unit : str
    meaning : str

    Returns
    -------
    Estimate
        A reason where fewer than 50 draws are left.
    """
    if values.size < _FEWEST:
        return Estimate(value=None, unit=unit, identifiable=False, meaning=meaning,
                        reason=str(Reason.BEYOND_LIMIT), basis=Basis.PREDICTED)  # fmt: skip
    low, middle, high = (float(v) for v in np.quantile(values, _ENDS))
    return Estimate(
        value=middle, unit=unit, standard_uncertainty=float(values.std()), interval_95=(low, high),
        meaning=meaning, basis=Basis.PREDICTED,
    )  # fmt: skip


def effect_of(pair: Pair) -> Effect:
    """What a change does at the asked current density.

    Parameters
    ----------
    pair : Pair

    Returns
    -------
    Effect
    """
    before, after = pair.before[:, pair.asked], pair.after[:, pair.asked]
    first, then = np.isfinite(before), np.isfinite(after)
    both = first & then
    change = after[both] - before[both]
    gains = int((change < 0.0).sum()) + int((then & ~first).sum())
    told = int((first | then).sum())
    return Effect(
        before=predicted(before[first], "V", "cathode loss as it is"),
        after=predicted(after[then], "V", "cathode loss after the change"),
        change=predicted(change, "V", "after less before, on the same draws; below zero is a gain"),
        ratio=predicted(_ratios(pair)[first], "", "current at the same loss, after over before"),
        helps=gains / told if told else 0.0,
        carried_before=float(first.mean()),
        carried_after=float(then.mean()),
    )


def _ratios(pair: Pair) -> Floats:
    """Current after over before at the loss that each draw had before, shape (m,)."""
    wanted = pair.before[:, pair.asked][:, None]
    curve = np.where(np.isfinite(pair.after), pair.after, np.inf)
    logs = np.log(pair.currents)
    k = np.clip((curve < wanted).sum(axis=1), 1, logs.size - 1)
    low, high = (np.take_along_axis(curve, at[:, None], axis=1)[:, 0] for at in (k - 1, k))
    with np.errstate(invalid="ignore"):
        part = np.where(np.isfinite(high), (wanted[:, 0] - low) / (high - low), 0.0)
    at = logs[k - 1] + np.clip(part, 0.0, 1.0) * (logs[k] - logs[k - 1])
    return np.asarray(np.exp(at - logs[pair.asked]))


def sweep(
    layer: Layer,
    what: str,
    settings: tuple[float, ...],
    current: float,
    *,
    draws: int,
    seed: int,
    calibration: Calibration | None = None,
    step: Callable[[str, float], None] = no_steps,
) -> tuple[SweepPoint, ...]:
    """What each of several settings would do, each against the state as it is.

    Parameters
    ----------
    layer : Layer
    what : str
        A key of `CHANGEABLE`.
    settings : tuple of float [its unit]
    current : float [A/m^2]
    draws : int
    seed : int
    calibration : Calibration, optional
    step : callable
        Told how far it is.

    Returns
    -------
    tuple of SweepPoint

    Raises
    ------
    RangeError, CannotTellError
        As `changed`.
    """
    known = CHANGEABLE[what]
    found: list[SweepPoint] = []
    for number, value in enumerate(settings):
        if not known.low <= value <= known.high:
            raise RangeError(
                f"{what} {value:g} {known.unit} cannot be", where="--vary",
                allowed=f"{known.low:g} to {known.high:g} {known.unit}",
            )  # fmt: skip
        change = setting(what, value)
        pair = pair_of(layer, (change,), current, draws=draws, seed=seed, calibration=calibration)
        effect = effect_of(pair)
        found.append(
            SweepPoint(
                setting=value, text=change.text, change_V=effect.change, ratio=effect.ratio,
                carried=effect.carried_after, helps=effect.helps,
            )
        )  # fmt: skip
        step(f"{what}: {number + 1} of {len(settings)}", (number + 1) / len(settings))
    return tuple(found)


def split_at(pair: Pair, current: float) -> tuple[dict[str, float], dict[str, float]]:
    """Where the volts go before and after, as the mean over the draws in the middle.

    The middles of the parts, each taken for itself, do not add up to the middle of the whole; means
    over the same draws do. The draws are those nearest to the middle of the loss before and of the
    change, by their ranks.

    Parameters
    ----------
    pair : Pair
    current : float [A/m^2]
        The one asked for.

    Returns
    -------
    before, after : dict of str to float [V]
        Both empty where too few draws carry the current.
    """
    before, after = pair.before[:, pair.asked], pair.after[:, pair.asked]
    both = np.flatnonzero(np.isfinite(before) & np.isfinite(after))
    if both.size < _FEWEST:
        return {}, {}
    off = _from_the_middle(before[both]) + _from_the_middle(after[both] - before[both])
    chosen = both[np.argsort(off, kind="stable")[:_MIDDLE]]
    first = _parts(pair.columns_before, chosen, current)
    then = _parts(pair.columns_after, chosen, current)
    return (first, then) if first and then else ({}, {})


def _from_the_middle(values: Floats) -> Floats:
    """How far each is from the middle one, by rank, as a share of all: 0 to 0.5."""
    ranks = np.argsort(np.argsort(values, kind="stable"), kind="stable")
    return np.abs((ranks + 0.5) / values.size - 0.5)


def _parts(columns: Columns, rows: NDArray[np.intp], current: float) -> dict[str, float]:
    """The mean parts of the loss over some draws [V]; empty where one of them was not solved."""
    try:
        found = [
            operating_point(
                model_of({name: values[k : k + 1] for name, values in columns.items()}), current
            ).losses
            for k in rows
        ]
    except CannotTellError:
        return {}
    return {
        name: float(np.mean([getattr(one, name) for one in found]))
        for name in ("ionic", "electronic", "kinetic", "oxygen")
    }
