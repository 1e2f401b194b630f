"""The porous cathode fitted to one run: what the readings add to what the recipe already said.

Sampled in units of the prior: every coordinate is standard normal before the readings, and the recipe's
own draws say which value belongs to it, so what keeps its prior is seen at once. The level of the cell's voltage (equilibrium and anode in one) and the
resistance outside the cathode are linear and integrated out exactly.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray
from scipy.special import expit, log_ndtr, ndtr, ndtri
from scipy.stats import truncnorm

from aerode.errors import CannotTellError
from aerode.measure.curve_likelihood import (
    Frame,
    curves_of,
    pilots,
    predicted_readings,
    priors_for,
    shared_errors,
)
from aerode.measure.porous.load_lines import Curves, Lines, followed
from aerode.measure.porous.near_limit import LimitRidge
from aerode.measure.porous.recipe import FIELDS, model_of
from aerode.measure.porous.sampling import sample_from_prior
from aerode.measure.run_data import ReadingKind, RunData
from aerode.physics.cathode import CathodeParameters, polarization_batch
from aerode.physics.cathode.batch import limits_batch
from aerode.quantities import Reason
from aerode.stats.sampling import REQUIRED_EFFECTIVE_SIZE, WeightedSample

__all__ = [
    "SAMPLED",
    "Covariance",
    "PorousModel",
    "PorousPosterior",
    "PorousRun",
    "fit_porous",
    "rest_resistance",
]

Floats = NDArray[np.float64]
Columns = dict[str, Floats]

SAMPLED = (
    "tafel_slope",
    "exchange_current",
    "ionic_conductivity",
    "electronic_conductivity",
    "film_transfer",
    "agglomerate_radius",
    "electrons",
)
"""Fields that the readings may tell something about; the others stay at the recipe's middle."""
_WITH_RADIUS = {"agglomerate_fraction": -0.5, "agglomerate_diffusivity": -0.5}
"""By definition of Thiele's modulus, R (k/(f D))^(1/2): what share and diffusivity of the grains leave open goes with the radius."""
_LEVEL, _LEVEL_SPREAD = 1.3, 0.5
"""Equilibrium of oxygen less the anode's potential: 0.8 to 2.1 V in salt water and lye; judgement [V]."""
_REST_SPREAD = 2.0  # judgement: of the resistance outside, over its middle; never below 0
_CONTACTS = 5e-4  # judgement: contacts and the straight part of the anode [ohm m²]
_TIGHT = 1e-3  # numerical: a field narrower than this in the logarithm is not sampled
FEWEST_LOADS = 4
"""Different loads that a run must have for this model."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PorousRun:
    """A run with what was known of its cathode before: what every porous fit starts from.

    Parameters
    ----------
    data : RunData
        With a wetted area.
    columns : mapping of str to ndarray, shape (m,) [SI]
        The recipe's draws (`recipe_columns`): they make the prior.
    rest : float [ohm]
        Middle of the resistance outside the cathode.
    """

    data: RunData
    columns: Mapping[str, Floats]
    rest: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Covariance:
    """What the readings have in common, and each one's own.

    Parameters
    ----------
    size : ndarray, shape (n,) [V^2]
        Variances along the turned readings, scatter of single readings not counted.
    turn : ndarray, shape (n, n) [1]
        Readings to turned ones.
    """

    size: Floats
    turn: Floats

    @classmethod
    def of(cls, data: RunData) -> Covariance:
        """From a run.

        Parameters
        ----------
        data : RunData

        Returns
        -------
        Covariance
        """
        priors, frame = priors_for(data), Frame.of(data)
        grid, squares = pilots(data, priors, frame)
        best = int(np.argmin(squares))
        pilot = curves_of(grid[best : best + 1], frame)
        own = np.square(data.noise)
        if bool((data.kind == ReadingKind.PAIR).any()):
            step = 1e-4  # numerical
            base = predicted_readings(data, pilot, data.load, data.lead_resistance)[0]
            moved = predicted_readings(data, pilot, data.load * (1 + step), data.lead_resistance)[0]
            relative = data.current_noise / np.where(data.current > 0.0, data.current, 1.0)
            own = own + np.square((moved - base) / step * relative)
        whole = np.diag(own)
        for error in shared_errors(data, pilot):
            whole = whole + np.outer(error.effect, error.effect) * error.uncertainty**2
        size, turn = np.linalg.eigh(whole)
        return cls(size=np.maximum(size, float(own.min())), turn=np.asarray(turn))


class PorousModel:
    """Log density of rows in units of the prior, and what stands behind it.

    Parameters
    ----------
    run : PorousRun
    """

    def __init__(self, run: PorousRun) -> None:
        data, columns = run.data, run.columns
        if data.area is None:
            raise CannotTellError(str(Reason.AREA_MISSING), where=data.source)
        self.data, self.area = data, data.area.value
        self.base: CathodeParameters = model_of(columns)
        tab, seen = data.tab_points()
        self.order: NDArray[np.intp] = np.argsort(seen, kind="stable")
        self.seen: Floats = seen[self.order]
        self.tab: Floats = tab[self.order]
        if (there := data.different_loads) < FEWEST_LOADS:
            raise CannotTellError(
                f"{there or 'no'} usable load{'' if there == 1 else 's'} in {data.source}, "
                f"and the porous model needs at least {FEWEST_LOADS} different ones",
                where=data.source, allowed=f"{FEWEST_LOADS} different loads",
                next_step="measure more resistors, about four a decade, from large to small",
            )  # fmt: skip
        covariance = Covariance.of(data)
        total, shown = data.circuit(data.load, data.lead_resistance)
        self.lines = Lines(seen=self.seen, total=total[self.order], shown=shown[self.order])
        self.size, self.turn = covariance.size, covariance.turn[self.order]
        self.priors = _priors(columns)
        self.names = tuple(n for n in SAMPLED if n == "electrons" or n in self.priors)
        self.rest = run.rest
        usual = priors_for(data)
        self.scatter = (math.log(usual.scatter_median), usual.scatter_spread)

    @staticmethod
    def priors_outside(
        rest: float,
    ) -> tuple[tuple[float, float, float], tuple[float, float, float]]:
        """Ends of the 95 % band and standard deviation before the readings, of level and resistance."""
        spread = _REST_SPREAD * rest
        cut = truncnorm(-1.0 / _REST_SPREAD, np.inf, rest, spread)
        low, high = (float(v) for v in cut.ppf([0.025, 0.975]))  # by definition
        reach = 1.96 * _LEVEL_SPREAD  # by definition
        return (_LEVEL - reach, _LEVEL + reach, _LEVEL_SPREAD), (low, high, float(cut.std()))

    @property
    def size_of_row(self) -> int:
        """Coordinates: the sampled fields and the scatter."""
        return len(self.names) + 1

    def columns(self, rows: Floats) -> Columns:
        """Fields of the cathode for rows of coordinates, shape (m,) each."""
        made: Columns = {}
        for k, name in enumerate(self.names):
            if name == "electrons":
                made[name] = 2.0 + 2.0 * ndtr(rows[:, k])
            else:
                made[name] = np.exp(np.interp(rows[:, k], _PLACES, self.priors[name]))
        return made

    @property
    def beside(self) -> dict[str, float]:
        """Fields whose spread is counted with another one's: they stay at the middle wherever that one is used."""
        return {name: float(getattr(self.base, name)) for name in _WITH_RADIUS}

    def scatters(self, rows: Floats) -> Floats:
        """Of single readings, shape (m,) [V]."""
        return np.exp(self.scatter[0] + self.scatter[1] * rows[:, -1])

    def losses(self, rows: Floats, currents: Floats) -> Floats:
        """Cathode losses at currents of the electrode, (m, k) [V]; NaN beyond a limit."""
        density = currents / self.area
        return polarization_batch(self.base, self.columns(rows), density).loss

    def linear(self, rows: Floats) -> Linear:
        """Level and outer resistance given each row, with what is left of the readings.

        Each curve is followed to where it meets its load lines; there the readings are straight
        functions of both.
        """
        count = rows.shape[0]
        height = np.full(count, -math.inf)
        found = Linear(np.zeros((count, 2)), np.zeros((count, 2, 2)), height)
        with np.errstate(all="ignore"):  # rows beyond a limit carry NaN and get no weight
            for these, curves in self._curves(rows, self.lines):
                found.put(these, self._along(rows[these], curves))
        return found

    def ridge(self) -> LimitRidge | None:
        """Where the limit may have been nearly reached; None where the film is not sampled."""
        if _FILM not in self.names:
            return None
        top = float(self.seen[-1]) / self.area

        def logs(rows: Floats) -> Floats:
            return np.log(limits_batch(self.base, self.columns(rows)) / top)

        return LimitRidge(logs, self.names.index(_FILM), self.size_of_row, _FAR)

    def misses(self, rows: Floats, pair: Floats, there: NDArray[np.bool_] | None = None) -> Floats:
        """Readings (some, where `there`) less what would be read at given levels and outer resistances, (m, k) [V]."""
        some = slice(None) if there is None else there
        lines, tab = self.lines.some(some), self.tab[some]
        off = np.full((rows.shape[0], tab.size), np.nan)
        with np.errstate(all="ignore"):
            for these, curves in self._curves(rows, lines):
                level, rest = pair[these, :1], pair[these, 1:]
                place = curves.crossed(level, rest, curves.start, _STEPS)
                off[these] = (tab / lines.total - curves.limit * expit(place)) * lines.shown
        return off

    def _curves(self, rows: Floats, lines: Lines) -> Iterator[tuple[NDArray[np.intp], Curves]]:
        """The curves of rows, in groups."""
        columns = self.columns(rows)

        def losses(currents: Floats, these: NDArray[np.intp]) -> Floats:
            some = {name: values[these] for name, values in columns.items()}
            density = currents / self.area
            return polarization_batch(self.base, some, density, tolerance=_TOLERANCE).loss

        return followed(lines, limits_batch(self.base, columns) * self.area, losses)

    def _along(self, rows: Floats, curves: Curves) -> Linear:
        """Level and outer resistance, found where the readings are and then where they should be."""
        place = curves.start
        found = self._at(rows, curves, np.full((rows.shape[0], 1), self.rest), place)
        for steps in _FOLLOWED:
            level, rest = found.mean[:, :1], np.maximum(found.mean[:, 1:], 0.0)
            place = curves.crossed(level, rest, place, steps)
            found = self._at(rows, curves, rest, place)
        return found

    def _at(self, rows: Floats, curves: Curves, rest: Floats, place: Floats) -> Linear:
        """Level and outer resistance from the tangents of the curves at some places."""
        base, effects = curves.effects(rest, place)
        return self._left(rows, self.tab / self.lines.total * self.lines.shown - base, effects)

    def _left(self, rows: Floats, driven: Floats, effects: Floats) -> Linear:
        """Level and outer resistance from readings less what they do not explain, (m, n)."""
        variance = self.size + np.square(self.scatters(rows))[:, None]
        return _linear(driven @ self.turn, variance, effects @ self.turn, self.rest)

    def drawn_pair(self, rows: Floats, rng: Generator) -> Floats:
        """One level [V] and outer resistance [ohm] for each row, from their own posterior, (m, 2)."""
        found = self.linear(rows)
        known = np.isfinite(found.height)  # rows that cannot carry the currents have no weight
        spread = np.sqrt(found.covariance[:, 1, 1])
        shares: Floats = np.asarray(rng.random(len(rows)))
        below: Floats = np.asarray(ndtr(-found.mean[:, 1] / spread))
        inside = np.clip(below + (1.0 - below) * shares, _EDGE, 1.0 - _EDGE)
        outside: Floats = found.mean[:, 1] + spread * np.asarray(ndtri(inside))
        slope = found.covariance[:, 0, 1] / found.covariance[:, 1, 1]
        left = found.covariance[:, 0, 0] - slope * found.covariance[:, 0, 1]
        level: Floats = found.mean[:, 0] + slope * (outside - found.mean[:, 1])
        level = level + np.sqrt(np.maximum(left, 0.0)) * np.asarray(rng.standard_normal(len(rows)))
        pair = np.stack([level, np.maximum(outside, 0.0)], axis=1)
        return np.where(known[:, None], pair, np.array([_LEVEL, self.rest]))

    def __call__(self, rows: Floats) -> Floats:
        height = np.full(rows.shape[0], -np.inf)
        near = np.abs(rows).max(axis=1) < _FAR
        inside = rows[near]
        if not inside.size:  # of a ridge that no film reaches, every row lies far out
            return height
        found = self.linear(inside).height - 0.5 * np.square(inside).sum(axis=1)
        height[near] = np.where(np.isfinite(found), found, -np.inf)
        return height


@dataclass(frozen=True, slots=True)
class Linear:
    """What is linear, given the rest: a level [V] and an outer resistance [ohm], normal but cut at 0.

    `mean` (m, 2) and `covariance` (m, 2, 2) are of the uncut pair; `height` (m,) is ln of the readings'
    density with both integrated out, the resistance from 0 up.
    """

    mean: Floats
    covariance: Floats
    height: Floats

    def put(self, there: NDArray[np.intp], other: Linear) -> None:
        """Take the rows of another one in place of some."""
        self.mean[there], self.covariance[there] = other.mean, other.covariance
        self.height[there] = other.height


def _linear(driven: Floats, variance: Floats, effects: Floats, rest: float) -> Linear:
    """Normal readings driven = effects·(level, resistance) + errors, and the pair's own prior.

    `effects` is (2, n) for all rows or (m, 2, n).
    """
    spread = np.array([_LEVEL_SPREAD, _REST_SPREAD * rest])
    prior, centre = np.diag(spread**-2.0), np.array([_LEVEL, rest])
    weighed = effects / variance[:, None, :]  # (m, 2, n)
    precision: Floats = np.asarray(weighed @ np.swapaxes(effects, -1, -2) + prior)
    onto: Floats = np.asarray((weighed @ driven[:, :, None])[..., 0] + prior @ centre)
    covariance: Floats = np.asarray(np.linalg.inv(precision), dtype=np.float64)
    mean: Floats = np.asarray((covariance @ onto[:, :, None])[..., 0])
    square = (np.square(driven) / variance).sum(axis=1) + float(centre @ prior @ centre)
    square = square - (mean * onto).sum(axis=1)
    width = np.log(variance).sum(axis=1) + np.log(np.linalg.det(precision))
    above: Floats = np.asarray(log_ndtr(mean[:, 1] / np.sqrt(covariance[:, 1, 1])))
    height: Floats = np.asarray(-0.5 * (square + width) + above)
    return Linear(mean, covariance, height)


_EDGE = 1e-12  # numerical
_FILM = "film_transfer"
_TOLERANCE = 1e-5  # numerical: of a loss [V]; a hundredth of what a meter shows
_FOLLOWED = (3, 2, 1)  # numerical: Newton steps to the crossings before each further straight fit
_STEPS = 8  # numerical: Newton steps to the crossings at once
_FAR = 3.5  # numerical: standard deviations of a prior beyond which nothing is looked for
_TOLD = 2.5  # numerical: standard deviations beyond which a thousand draws tell no value
_PLACES: Floats = np.linspace(-_FAR - 0.5, _FAR + 0.5, 65)  # numerical


def _priors(columns: Mapping[str, Floats]) -> dict[str, Floats]:
    """Logarithms of the sampled fields at `_PLACES`, for those that vary: quantiles of the recipe's draws."""
    logs: dict[str, Floats] = {name: np.log(columns[name]) for name in FIELDS}
    for name, power in _WITH_RADIUS.items():
        middle = float(np.median(logs[name]))
        logs["agglomerate_radius"] = logs["agglomerate_radius"] + power * (logs[name] - middle)
    told = np.abs(_PLACES) <= _TOLD
    inside, steps = _PLACES[told], np.diff(_PLACES[told])
    found: dict[str, Floats] = {}
    for name in SAMPLED:
        if name == "electrons" or not float(logs[name].std()) > _TIGHT:
            continue
        values = np.asarray(np.quantile(logs[name], ndtr(inside)), dtype=np.float64)
        below = (values[_RISE] - values[0]) / (_RISE * steps[0])
        above = (values[-1] - values[-1 - _RISE]) / (_RISE * steps[0])
        out = np.interp(_PLACES, inside, values)
        out = out + np.minimum(_PLACES - inside[0], 0.0) * max(below, _LEAST_RISE)
        found[name] = out + np.maximum(_PLACES - inside[-1], 0.0) * max(above, _LEAST_RISE)
    return found


_RISE = (
    2  # numerical: places over which a quantile's rise is carried on beyond the last that is told
)
_LEAST_RISE = 1e-6  # numerical: a field never stands still


@dataclass(frozen=True, slots=True, kw_only=True)
class PorousPosterior:
    """Weighted porous cathodes that fit one run.

    Parameters
    ----------
    model : PorousModel
    sample : WeightedSample
        Rows in units of the prior; its `reason` says why there are no intervals, where there are none.
    """

    model: PorousModel
    sample: WeightedSample

    def columns(self, count: int, rng: Generator) -> Columns:
        """Fields of equally weighted cathodes, for what a change would do.

        Parameters
        ----------
        count : int
        rng : numpy.random.Generator

        Returns
        -------
        dict of str to ndarray, shape (count,) [SI]
        """
        return self.model.columns(self.sample.resample(count, rng))


def rest_resistance(gap: float | None, conductivity: float, area: float) -> float:
    """The middle of what lies outside the cathode: gap, contacts, the anode's straight part.

    Parameters
    ----------
    gap : float or None [m]
    conductivity : float [S/m]
    area : float [m^2]

    Returns
    -------
    float [ohm]
    """
    usual = 3e-3 if gap is None else gap  # judgement: 3 mm where nobody measured
    return (usual / conductivity + _CONTACTS) / area


def fit_porous(
    run: PorousRun, rng: Generator, *, required: float = REQUIRED_EFFECTIVE_SIZE
) -> PorousPosterior:
    """The posterior of the porous model from one run.

    Parameters
    ----------
    run : PorousRun
    rng : numpy.random.Generator
        The dice.
    required : float
        Effective samples wanted.

    Returns
    -------
    PorousPosterior

    Raises
    ------
    CannotTellError
        No area, or fewer than four loads.

    Notes
    -----
    Errors run along load lines: each drawn curve is followed to where it meets them. Shared errors as in the plain fit. The
    cathode's equilibrium, the anode and all constant potentials are one level, N(1.3, 0.5) V, and the
    resistance outside is normal and not below zero: both are integrated out in closed form. Not for the open circuit, which is a mixed potential.
    """
    model = PorousModel(run)
    sample = sample_from_prior(
        model, model.size_of_row, rng, required=required, ridge=model.ridge()
    )
    # rows without weight may lie so far out that no cathode is possible there
    near = sample.weights > 0.0
    sample = replace(sample, samples=sample.samples[near], weights=sample.weights[near])
    return PorousPosterior(model=model, sample=sample)
