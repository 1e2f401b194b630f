"""Which model foretells a run better: each load left out in turn, and foretold from all the others."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from aerode.errors import CannotTellError
from aerode.measure.curve_likelihood import predicted_readings
from aerode.measure.curve_posterior import fit_run
from aerode.measure.porous.fitting import (
    Covariance,
    PorousModel,
    PorousPosterior,
    PorousRun,
    fit_porous,
)
from aerode.measure.porous.streaming import no_steps
from aerode.measure.run_data import RunData

__all__ = ["Score", "held_out_score", "without"]

Floats = NDArray[np.float64]

_FLOOR = 1e-3
"""Least density of a reading that a model calls impossible [1/V]; judgement: one in a thousand volts."""
_FEWEST = 5  # judgement: loads below which nothing can be left out
_TWO = 2.0  # judgement: standard errors by which one must lead
_EFFECTIVE = 200.0  # numerical: enough for a mean of densities


@dataclass(frozen=True, slots=True, kw_only=True)
class Score:
    """How well both models foretell each load.

    Parameters
    ----------
    loads : tuple of float [ohm]
        Those left out, one after the other.
    porous, curve : tuple of float [ln 1/V]
        ln of the density that each model gave to what was then read.
    """

    loads: tuple[float, ...]
    porous: tuple[float, ...]
    curve: tuple[float, ...]

    @property
    def difference(self) -> float:
        """Porous less curve, over all loads [1]."""
        return sum(self.porous) - sum(self.curve)

    @property
    def uncertainty(self) -> float:
        """Standard error of the difference, from its spread over the loads [1]."""
        apart = np.array(self.porous) - np.array(self.curve)
        return float(math.sqrt(apart.size) * apart.std(ddof=1))

    @property
    def chosen(self) -> str:
        """ "porous", "curve" or "neither is shown better"."""
        if abs(self.difference) <= _TWO * self.uncertainty:
            return "neither is shown better"
        return "porous" if self.difference > 0.0 else "curve"


def without(data: RunData, left: NDArray[np.bool_]) -> RunData:
    """A run with some of its readings left out.

    Parameters
    ----------
    data : RunData
    left : ndarray of bool, shape (n,)
        Which are left out.

    Returns
    -------
    RunData
    """
    keep = ~left
    arrays = {
        name: getattr(data, name)[keep]
        for name in ("voltage", "noise", "kind", "load", "current", "current_noise", "early", "part", "gain",
                     "current_gain", "index")
    }  # fmt: skip
    warm = tuple(t for t, k in zip(data.temperature, keep, strict=True) if k)
    return replace(data, temperature=warm, **arrays)


def held_out_score(
    run: PorousRun, *, seed: int, step: Callable[[str, float], None] = no_steps
) -> Score:
    """Foretell each load from all others by both models.

    Parameters
    ----------
    run : PorousRun
    seed : int
        Of the dice.
    step : callable
        Told how far it is.

    Returns
    -------
    Score

    Raises
    ------
    CannotTellError
        Fewer than five loads.

    Notes
    -----
    Both models are fitted anew without a load (all its readings), and the readings there get the
    mean density over the curves: normal, with the scatter of each curve, the reading's own error and
    its shared ones. Errors that readings share are counted as if new, alike for both.
    """
    data = run.data
    loads = np.unique(data.load)
    if loads.size < _FEWEST:
        raise CannotTellError(
            f"{loads.size} different loads in {data.source}, and foretelling each from the others "
            f"needs {_FEWEST}",
            where=data.source, allowed=f"{_FEWEST} different loads",
        )  # fmt: skip
    porous: list[float] = []
    curve: list[float] = []
    for number, load in enumerate(loads):
        left = data.load == load
        others = without(data, left)
        dice = np.random.default_rng([seed, number])
        found = fit_porous(replace(run, data=others), dice, required=_EFFECTIVE)
        porous.append(_by_porous(found, run, left, dice))
        curve.append(_by_curve(data, others, left, dice))
        step(f"foretelling load {number + 1} of {loads.size}", (number + 1) / loads.size)
    return Score(loads=tuple(float(v) for v in loads), porous=tuple(porous), curve=tuple(curve))


def _density(off: Floats, variance: Floats, weights: Floats) -> float:
    """ln of the mean density of readings over the curves; `off` (m, k) [V]."""
    logs = -0.5 * (np.square(off) / variance + np.log(2.0 * math.pi * variance))
    each = np.exp(np.where(np.isfinite(logs), logs, -np.inf).sum(axis=1))
    return math.log(max(float(weights @ each), _FLOOR ** off.shape[1]))


def _by_porous(
    found: PorousPosterior, run: PorousRun, left: NDArray[np.bool_], dice: Generator
) -> float:
    rows, weights = found.sample.samples, found.sample.weights
    whole = PorousModel(run)  # the readings that were left out belong to it
    there = left[whole.order]
    pair = found.model.drawn_pair(rows, dice)
    off = whole.misses(rows, pair, there)
    own = np.square(whole.turn[there]) @ whole.size
    return _density(off, own + np.square(whole.scatters(rows))[:, None], weights)


def _by_curve(data: RunData, others: RunData, left: NDArray[np.bool_], dice: Generator) -> float:
    found = fit_run(others, dice)
    told = predicted_readings(data, found.curve, data.load, data.lead_resistance)[:, left]
    covariance = Covariance.of(data)
    own = (np.square(covariance.turn) @ covariance.size)[left]
    variance = own + np.square(found.scatter)[:, None]
    return _density(data.voltage[left] - told, variance, found.weights)
