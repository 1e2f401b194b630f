"""The posterior of a polarization curve from one run: weighted curves, and what each shared error does to them.

The likelihood is in the voltage alone: the current follows from V = I (R_load || R_meter + r_lead),
solved on every curve. Gains, resistors and leads are shared errors, marginalised through one
linearised covariance. The limiting current is never dropped: it stays an unknown up to 1 A/cm^2.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.random import Generator
from numpy.typing import ArrayLike, NDArray

from aerode.errors import CannotTellError
from aerode.measure.curve import Curve, current_at_voltage, current_through, voltage_at_current
from aerode.measure.run_data import ReadingKind, RunData
from aerode.quantities import Reason
from aerode.stats.sampling import WeightedSample, sample_posterior

__all__ = ["CurvePosterior", "CurvePriors", "SharedError", "fit_run", "priors_for"]

Floats = NDArray[np.float64]

FEWEST_READINGS = 3
_LARGEST_DENSITY = 1e4
"""[A/m^2] = 1 A/cm^2, above any air electrode of this kind."""
_ASSUMED_AREA = 1e-3
"""[m^2] = 10 cm^2; stands in for the area in that bound where none is known: 10 A."""
_LEAST_SCATTER = 0.0005
_BEYOND = 0.05
"""Share of the span of voltages by which a question may lie outside what was measured."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CurvePriors:
    """What is assumed before the readings.

    Parameters
    ----------
    slope_median : float [V]
        Median of b; 0.038 V per e-fold is 88 mV per decade, the middle of the 55 to 140 mV per
        decade seen on oxygen electrodes.
    slope_spread : float [1]
        Standard deviation of ln b: with 0.7 that range is the inner half and a bit.
    largest_limiting_current : float [A]
        ln i_L is uniform up to here.
    scatter_median : float [V]
        Median of the scatter of single readings.
    scatter_spread : float [1]
        Standard deviation of its logarithm.
    """

    slope_median: float = 0.038
    slope_spread: float = 0.7
    largest_limiting_current: float
    scatter_median: float
    scatter_spread: float = 1.0


@dataclass(frozen=True, slots=True)
class SharedError:
    """One error that several readings have in common, and may have with those of other runs.

    Parameters
    ----------
    name : str
        Errors of the same name are the same error.
    uncertainty : float [1 or ohm]
        Standard uncertainty: relative for gains and parts, ohm for leads.
    effect : array (n,) [V or V/ohm]
        What an error of +1 (noted or shown too high by so much) does to each reading.
    """

    name: str
    uncertainty: float
    effect: Floats


def priors_for(data: RunData) -> CurvePriors:
    """The priors that belong to a run.

    Parameters
    ----------
    data : RunData
        Its area sets the largest limiting current: 1 A/cm². Without one ten square centimetres
        stand in for it, and a hundred times the largest current where that is more.

    Returns
    -------
    CurvePriors
    """
    if data.area is not None:
        largest = _LARGEST_DENSITY * data.area.value
    else:
        largest = max(_LARGEST_DENSITY * _ASSUMED_AREA, 100.0 * float(data.tab_points()[1].max()))
    return CurvePriors(
        largest_limiting_current=largest,
        scatter_median=max(data.expected_scatter, _LEAST_SCATTER),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class CurvePosterior:
    """Weighted curves that fit one run.

    Parameters
    ----------
    data : RunData
        What it rests on.
    priors : CurvePriors
        What was assumed beforehand.
    sample : WeightedSample
        Columns: voltage of the kinetic line at `reference_current` [V], ln b, R + b/i_L [ohm],
        ln i_L, ln scatter. Its `reason` says why there are no intervals, where there are none.
    reference_current : float [A]
        Geometric mean of the currents.
    curve : Curve
        The m curves.
    scatter : array (m,) [V]
        Scatter of single readings on each curve.
    shared : tuple of SharedError
        Errors shared by readings.
    scores : array (m, n) [1/V]
        Slope of each curve's log likelihood in each reading.
    """

    data: RunData
    priors: CurvePriors
    sample: WeightedSample
    reference_current: float
    curve: Curve
    scatter: Floats
    shared: tuple[SharedError, ...]
    scores: Floats = field(repr=False)

    @property
    def weights(self) -> Floats:
        """Weights of the curves, summing to one, shape (m,) [1]."""
        return self.sample.weights

    @property
    def effective_sample_size(self) -> float:
        """How many plain samples the weighted ones are worth."""
        return self.sample.effective_sample_size

    @property
    def reason(self) -> str | None:
        """Why there are no intervals; None where there are."""
        return None if self.sample.reason is None else str(self.sample.reason)

    @property
    def resistance_apparent(self) -> Floats:
        """R + b/i_L of each curve: the slope at small currents beside the kinetics, (m,) [ohm]."""
        return self.curve.resistance + self.curve.slope / self.curve.limiting_current

    def covers_voltage(self, voltage: float) -> bool:
        """Whether a voltage at the tab lies in the measured range, or just outside it.

        Parameters
        ----------
        voltage : float [V]

        Returns
        -------
        bool
        """
        tab, _ = self.data.tab_points()
        margin = _BEYOND * float(np.ptp(tab))
        return float(tab.min()) - margin <= voltage <= float(tab.max()) + margin

    def covers_current(self, current: float) -> bool:
        """Whether a current lies in the measured range, or just outside it.

        Parameters
        ----------
        current : float [A]

        Returns
        -------
        bool
        """
        _, seen = self.data.tab_points()
        return (
            float(seen.min()) / (1.0 + 2 * _BEYOND)
            <= current
            <= float(seen.max()) * (1.0 + _BEYOND)
        )

    def log_currents_at(self, voltage: float) -> Floats:
        """ln of the current at a voltage at the tab, on every curve.

        Parameters
        ----------
        voltage : float [V]

        Returns
        -------
        array (m,) [ln A]

        Raises
        ------
        CannotTellError
            Outside what was measured.
        """
        if not self.covers_voltage(voltage):
            raise self._outside("voltage", f"{voltage:g} V")
        return np.log(current_at_voltage(self.curve, [voltage])[:, 0])

    def log_current_at_voltage(self, voltage: float) -> tuple[float, float]:
        """Mean and standard deviation of ln of the current at a voltage at the tab.

        Parameters
        ----------
        voltage : float [V]

        Returns
        -------
        mean : float [ln A]
        standard_deviation : float [1]
            All errors together, shared ones too.

        Raises
        ------
        CannotTellError
            Outside what was measured, or where the sample is poor.
        """
        q = self.log_currents_at(voltage)
        return float(self.sample.mean(q)), float(self.sample.standard_deviation(q))

    def voltages_at(self, current: float) -> tuple[Floats, Floats]:
        """The voltage at a current on every curve that reaches it.

        Parameters
        ----------
        current : float [A]

        Returns
        -------
        voltage : array (k,) [V]
        weights : array (k,) [1]
            Summing to one.

        Raises
        ------
        CannotTellError
            Outside what was measured, or beyond the limiting current.
        """
        if not self.covers_current(current):
            raise self._outside("current", f"{current * 1e3:.4g} mA")
        reached = self.curve.limiting_current > current * (1.0 + 1e-9)
        share = float(self.weights[reached].sum())
        if share < 0.5:
            raise CannotTellError(str(Reason.BEYOND_LIMIT), where=f"current {current * 1e3:.4g} mA")
        kept = Curve(
            self.curve.intercept[reached],
            self.curve.slope[reached],
            self.curve.resistance[reached],
            self.curve.limiting_current[reached],
        )
        return voltage_at_current(kept, [current])[:, 0], self.weights[reached] / share

    def voltage_at_current(self, current: float) -> tuple[float, float]:
        """Mean and standard deviation of the voltage at the tab at a current.

        Parameters
        ----------
        current : float [A]

        Returns
        -------
        mean : float [V]
        standard_deviation : float [V]

        Raises
        ------
        CannotTellError
            Outside what was measured, beyond the limiting current, or where the sample is poor.
        """
        self.sample.mean()
        v, w = self.voltages_at(current)
        mean = float(w @ v)
        return mean, float(np.sqrt(w @ np.square(v - mean)))

    def _outside(self, what: str, asked: str) -> CannotTellError:
        tab, seen = self.data.tab_points()
        allowed = (
            f"{float(tab.min()):.3f} to {float(tab.max()):.3f} V"
            if what == "voltage"
            else f"{float(seen.min()) * 1e3:.3g} to {float(seen.max()) * 1e3:.3g} mA"
        )
        return CannotTellError(
            str(Reason.OUT_OF_RANGE), where=f"{what} {asked} on {self.data.source}", allowed=allowed
        )

    def reading_response(self, q: ArrayLike) -> Floats:
        """By how much the posterior mean of a quantity moves per volt of each reading.

        Parameters
        ----------
        q : array (m,) [any]
            The quantity on each curve.

        Returns
        -------
        array (n,) [any/V]

        Notes
        -----
        d E[q]/dy = Cov(q, d ln L/dy) over the posterior: exact for a fixed covariance, and no
        linearisation of the curve.
        """
        values = np.asarray(q, dtype=np.float64)
        centred = values - self.weights @ values
        return (self.weights * centred) @ self.scores

    def sensitivities_to_shared(self, voltage: float) -> dict[str, float]:
        """By how much ln of the current at a voltage moves with each shared error.

        Parameters
        ----------
        voltage : float [V]
            At the tab.

        Returns
        -------
        dict
            Name of the error → d ln I(V) per unit of it: relative for the gain of a meter range
            (shown too high) and for each resistor or burden (noted too high), per ohm for the lead
            (noted too high). Names equal in two runs are one error in both.

        Raises
        ------
        CannotTellError
            Outside what was measured.
        """
        response = self.reading_response(self.log_currents_at(voltage))
        return {error.name: float(response @ error.effect) for error in self.shared}

    @property
    def shared_uncertainties(self) -> dict[str, float]:
        """Standard uncertainty of each shared error: relative, or ohm for leads."""
        return {error.name: error.uncertainty for error in self.shared}

    def independent_sd(self, voltage: float) -> float:
        """Standard deviation of ln of the current at a voltage that this run shares with no other.

        Parameters
        ----------
        voltage : float [V]
            At the tab.

        Returns
        -------
        float [1]
            The whole variance less what the shared errors make of it, and at least what the scatter
            of this run's readings makes.

        Raises
        ------
        CannotTellError
            Outside what was measured, or where the sample is poor.
        """
        q = self.log_currents_at(voltage)
        response = self.reading_response(q)
        shared = sum((float(response @ e.effect) * e.uncertainty) ** 2 for e in self.shared)
        scatter = float(self.sample.mean(np.square(self.scatter)))
        own = float(np.square(response) @ (np.square(self.data.noise) + scatter))
        return float(np.sqrt(max(float(self.sample.standard_deviation(q)) ** 2 - shared, own)))


def fit_run(
    data: RunData,
    rng: Generator,
    *,
    priors: CurvePriors | None = None,
    draws: int = 2000,
) -> CurvePosterior:
    """Every polarization curve that a run allows, weighted.

    Parameters
    ----------
    data : RunData
        The usable readings.
    rng : numpy.random.Generator
        The dice.
    priors : CurvePriors, optional
        Those of `priors_for` otherwise.
    draws : int [1]
        Weighted curves to keep.

    Returns
    -------
    CurvePosterior
        With a `reason` where the sample is too poor for intervals.

    Raises
    ------
    CannotTellError
        With fewer than three usable readings, or all of them at one load.

    Notes
    -----
    V = A - b ln i - i R + b ln(1 - i/i_L): first-order kinetics on one electrode area, everything
    linear in R. Priors: A and R ≥ 0 flat, ln b normal, ln i_L uniform up to 1 A/cm², ln scatter
    normal about the counts part of the meter's limit; the rounding of one count is a floor below
    the scatter. Shared errors enter the covariance linearised at a pilot curve. Sampled by
    `aerode.stats.sampling`. Not for curves that bend twice, or whose readings had not settled.

    Examples
    --------
    >>> from aerode.measure.readings import read_run
    >>> from aerode.records.runs import Reading, Run
    >>> loads = (470.0, 220.0, 100.0, 47.0, 22.0, 10.0, 4.7, 2.2)
    >>> curve = Curve.of(0.30, 0.055, 3.75, 0.06)
    >>> volts = current_through(curve, loads)[0] * loads
    >>> run = Run(name="A", readings=tuple(
    ...     Reading(resistance=r, voltage=round(float(v), 3)) for r, v in zip(loads, volts)))
    >>> data = read_run(run, {}, resistor_tolerance=0.01)
    >>> fit = fit_run(data, np.random.default_rng(1))
    >>> mean, sd = fit.voltage_at_current(0.020)
    >>> fit.reason is None, abs(mean - 0.4179) < 0.004, sd < 0.004
    (True, True, True)
    """
    _enough(data)
    priors = priors if priors is not None else priors_for(data)
    _, seen = data.tab_points()
    reference = float(np.exp(np.log(seen).mean()))
    pilots = _pilots(data, priors, reference)
    shared = _shared_errors(data, _curve_of(pilots[:1], reference)[0])
    likelihood = _Likelihood(data, priors, shared, reference, pilots[0])
    sample = sample_posterior(
        likelihood,
        pilots,
        rng,
        scale=[0.02, 0.3, 0.3, 0.5, 0.3],
        lower=[-np.inf, -np.inf, 0.0, np.log(0.5 * float(seen.max())), -np.inf],
        upper=[np.inf, np.inf, np.inf, np.log(priors.largest_limiting_current), np.inf],
        draws=draws,
    )
    curve, scatter = _curve_of(sample.samples, reference)
    return CurvePosterior(
        data=data,
        priors=priors,
        sample=sample,
        reference_current=reference,
        curve=curve,
        scatter=scatter,
        shared=shared,
        scores=likelihood.scores(sample.samples),
    )


def _enough(data: RunData) -> None:
    _, seen = data.tab_points()
    different = np.unique(np.round(np.log(seen), 2)).size
    if seen.size >= FEWEST_READINGS and different >= FEWEST_READINGS:
        return
    said = "no usable reading" if seen.size == 0 else f"{different} usable load"
    refused = "; ".join(f"reading {p.index + 1}: {p.why_not}" for p in data.refused[:3])
    raise CannotTellError(
        f"{said}{'s' if different > 1 else ''} on {data.source}: a curve needs at least "
        f"{FEWEST_READINGS} different ones" + (f" ({refused})" if refused else ""),
        where=data.source,
        allowed=f"{FEWEST_READINGS} or more different loads; 8 to 12 show the losses apart",
        next_step="measure more resistors, about four a decade, from large to small",
    )


def _curve_of(rows: Floats, reference: float) -> tuple[Curve, Floats]:
    slope = np.exp(rows[:, 1])
    limit = np.exp(rows[:, 3])
    intercept = rows[:, 0] + slope * np.log(reference)
    resistance = np.maximum(rows[:, 2] - slope / limit, 0.0)
    return Curve(intercept, slope, resistance, limit), np.exp(rows[:, 4])


def _predicted(data: RunData, curve: Curve, load: Floats, lead: float) -> Floats:
    """What would be read on each curve, (m, n) [V]; a pair's current is taken as noted."""
    total, shown = data.circuit(load, lead)
    pair = data.kind == ReadingKind.PAIR
    read = current_through(curve, np.where(pair, 1.0, total)) * shown
    if not pair.any():
        return read
    drop = lead if data.sensing.value == "clips" else 0.0
    used = np.minimum(data.current / curve.limiting_current[:, None], 1.0 - 1e-9)
    kinetic = curve.slope[:, None] * (np.log1p(-used) - np.log(np.where(pair, data.current, 1.0)))
    at_tab = curve.intercept[:, None] + kinetic - data.current * curve.resistance[:, None]
    return np.where(pair, at_tab - data.current * drop, read)


def _pilots(data: RunData, priors: CurvePriors, reference: float) -> Floats:
    """Two parameter rows to start from: the best curve of all, and the best at the other end of i_L.

    With the currents taken as noted, everything but i_L is linear: it is scanned.
    """
    tab, seen = data.tab_points()
    top = float(seen.max())
    limits = top * (
        1.0 + np.geomspace(2e-3, max(priors.largest_limiting_current / top - 1.001, 1.0), 60)
    )
    shape = np.log(reference / seen) + np.log1p(-seen / limits[:, None])
    fits = np.array(
        [
            _linear_fit(tab, seen, column, limit, priors)
            for column, limit in zip(shape, limits, strict=True)
        ]
    )
    best = int(np.argmin(fits[:, 3]))
    apart = np.abs(np.log((limits - top) / (limits[best] - top))) > 1.5
    other = int(np.argmin(np.where(apart, fits[:, 3], np.inf)))
    freedom = max(seen.size - 3, 1)
    rows = [
        [
            fits[k, 0],
            np.log(fits[k, 1]),
            fits[k, 2] + fits[k, 1] / limits[k],
            np.log(limits[k]),
            np.log(np.clip(np.sqrt(fits[k, 3] / freedom), 3e-4, 0.05)),
        ]
        for k in (best, other)
    ]
    return np.array(rows)


def _linear_fit(
    tab: Floats, seen: Floats, shape: Floats, limit: float, priors: CurvePriors
) -> tuple[float, float, float, float]:
    """Voltage at the reference current, slope, resistance and sum of squares for one limiting current."""
    weight = 0.002 / (priors.slope_median * priors.slope_spread)
    prior = [0.0, weight, 0.0]
    design = np.vstack([np.column_stack([np.ones_like(seen), shape, -seen]), prior])
    wanted = np.append(tab, weight * priors.slope_median)
    level, slope, resistance = np.linalg.lstsq(design, wanted, rcond=None)[0]
    if resistance < 0.0:
        resistance = 0.0
        level, slope = np.linalg.lstsq(design[:, :2], wanted, rcond=None)[0]
    slope = float(np.clip(slope, 0.3 * priors.slope_median, 4.0 * priors.slope_median))
    rest = tab - slope * shape + resistance * seen
    level = float(rest.mean())
    floor = 1e-3 * priors.slope_median / float(seen.max())
    return level, slope, max(float(resistance), floor), float(np.square(rest - level).sum())


def _shared_errors(data: RunData, pilot: Curve) -> tuple[SharedError, ...]:
    """Each shared error with what it does to the readings, by differences on the pilot curve."""
    step = 1e-4

    def change(load: Floats, lead: float) -> Floats:
        return (_predicted(data, pilot, load, lead) - base)[0] / step

    base = _predicted(data, pilot, data.load, data.lead_resistance)
    pair = data.kind == ReadingKind.PAIR
    parts = [
        # noted too high by a relative step: the true load is smaller by it
        SharedError(
            name,
            float(u),
            -change(
                np.where(data.part == k, data.load * (1 + step), data.load), data.lead_resistance
            ),
        )
        for k, (name, u) in enumerate(zip(data.part_names, data.part_uncertainty, strict=True))
    ]
    slope = _current_slope(data, pilot)
    gains = [
        SharedError(
            name,
            float(u),
            np.where(data.gain == k, base[0], 0.0)
            + np.where(pair & (data.current_gain == k), -slope * data.current, 0.0),
        )
        for k, (name, u) in enumerate(zip(data.gain_names, data.gain_uncertainty, strict=True))
    ]
    lead = SharedError(
        data.lead_name, data.lead_uncertainty, -change(data.load, data.lead_resistance + step)
    )
    return (*gains, *parts, lead)


def _current_slope(data: RunData, pilot: Curve) -> Floats:
    """dV/dI of the pilot curve at the current of each reading, (n,) [ohm]."""
    _, seen = data.tab_points()
    left = np.maximum(1.0 - seen / pilot.limiting_current, 1e-3)
    b, limit, r = pilot.slope, pilot.limiting_current, pilot.resistance
    return -b / seen - b / (limit * left) - r


class _Likelihood:
    """Log density of parameter rows; the covariance is diagonal in its own eigenvectors, made once."""

    def __init__(
        self,
        data: RunData,
        priors: CurvePriors,
        shared: tuple[SharedError, ...],
        reference: float,
        pilot: Floats,
    ) -> None:
        self.data, self.priors, self.reference = data, priors, reference
        slope = _current_slope(data, _curve_of(pilot[None, :], reference)[0])
        own = np.square(data.noise) + np.square(slope * data.current_noise)
        covariance = np.diag(own)
        for error in shared:
            covariance = covariance + np.outer(error.effect, error.effect) * error.uncertainty**2
        eigenvalues, self.turn = np.linalg.eigh(covariance)
        self.size = np.maximum(eigenvalues, float(own.min()))

    def _residuals(self, rows: Floats) -> tuple[Floats, Floats]:
        curve, scatter = _curve_of(rows, self.reference)
        possible = rows[:, 2] * curve.limiting_current >= curve.slope
        read = _predicted(self.data, curve, self.data.load, self.data.lead_resistance)
        turned = (self.data.voltage - read) @ self.turn
        variance = self.size + np.square(scatter)[:, None]
        return np.where(possible[:, None], turned, np.inf), variance

    def __call__(self, rows: Floats) -> Floats:
        turned, variance = self._residuals(rows)
        likelihood = -0.5 * (np.square(turned) / variance + np.log(variance)).sum(axis=1)
        slope = (rows[:, 1] - np.log(self.priors.slope_median)) / self.priors.slope_spread
        scatter = (rows[:, 4] - np.log(self.priors.scatter_median)) / self.priors.scatter_spread
        return likelihood - 0.5 * (np.square(slope) + np.square(scatter))

    def scores(self, rows: Floats) -> Floats:
        """d ln L/dy of every row in every reading, (m, n) [1/V]."""
        turned, variance = self._residuals(rows)
        finite = np.where(np.isfinite(turned), turned, 0.0)
        return -(finite / variance) @ self.turn.T
