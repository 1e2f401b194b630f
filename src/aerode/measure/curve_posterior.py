"""The posterior of a polarization curve from one run: weighted curves, and what each shared error does to them.

The likelihood is in the voltage alone: the current follows from V = I (R_load || R_meter + r_lead),
solved on every curve. Gains, resistors and leads are shared errors, marginalised through one
linearised covariance. No model is chosen: the limiting current stays an unknown up to 1 A/cm^2.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.random import Generator
from numpy.typing import ArrayLike, NDArray

from aerode.errors import CannotTellError
from aerode.measure.curve import Curve, log_current_at_voltage, voltage_of_each
from aerode.measure.curve_likelihood import (
    CurvePriors,
    Likelihood,
    SharedError,
    curves_of,
    predicted_readings,
    priors_for,
)
from aerode.measure.curve_ridge import Ridge
from aerode.measure.run_data import RunData
from aerode.quantities import Reason
from aerode.stats.sampling import WeightedSample, sample_posterior

__all__ = ["CurvePosterior", "CurvePriors", "SharedError", "fit_run", "priors_for"]

Floats = NDArray[np.float64]

FEWEST_READINGS = 3
_REACHED = 0.95
"""Judgement: share of the curves that must reach a current at which a voltage is told."""
_BEYOND = 0.05
"""Judgement: share of the span of voltages by which a question may lie outside what was measured."""


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
        The weights, and the rows as they were sampled (`aerode.measure.curve_ridge`). Its
        `reason` says why there are no intervals, where there are none.
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

    def tells_voltage_at(self, current: float) -> bool:
        """Whether a voltage can be told at a current: measured thereabouts, and reached by the curves.

        Parameters
        ----------
        current : float [A]

        Returns
        -------
        bool
        """
        reached = self.weights[self.curve.limiting_current > current].sum()
        return self.covers_current(current) and float(reached) >= _REACHED

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
        return log_current_at_voltage(self.curve, [voltage])[:, 0]

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

    def voltages_or_none(
        self, current: float, spread: ArrayLike = 1.0
    ) -> tuple[Floats, NDArray[np.bool_]]:
        """The voltage at a current on every curve, and which curves reach that current at all.

        Parameters
        ----------
        current : float [A]
            Above zero; it need not lie inside what was measured.
        spread : float or array (m,) [1]
            Factor on the current for each curve, where the current itself is uncertain.

        Returns
        -------
        voltage : array (m,) [V]
            Zero on curves whose limiting current is smaller: they give no voltage there.
        reached : array (m,) of bool
        """
        own = np.broadcast_to(current * np.asarray(spread, dtype=np.float64), self.weights.shape)
        reached = self.curve.limiting_current > own * (1.0 + 1e-9)  # numerical
        allowed = np.where(reached, own, 0.5 * self.curve.limiting_current)
        return np.where(reached, voltage_of_each(self.curve, allowed), 0.0), reached

    def voltages_at(self, current: float, spread: ArrayLike = 1.0) -> tuple[Floats, Floats]:
        """The voltage at a current inside what was measured, on every curve that reaches it.

        Parameters
        ----------
        current : float [A]
        spread : float or array (m,) [1]
            Factor on the current for each curve, where the current itself is uncertain.

        Returns
        -------
        voltage : array (k,) [V]
        weights : array (k,) [1]
            Summing to one.

        Raises
        ------
        CannotTellError
            Outside what was measured, or where more than one curve in twenty cannot give it.
        """
        if not self.covers_current(current):
            raise self._outside("current", f"{current * 1e3:.4g} mA")
        volts, reached = self.voltages_or_none(current, spread)
        share = float(self.weights[reached].sum())
        if share < _REACHED:
            raise CannotTellError(str(Reason.BEYOND_LIMIT), where=f"current {current * 1e3:.4g} mA")
        return volts[reached], self.weights[reached] / share

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

    def expected_readings(self) -> Floats:
        """The weighted mean of what the curves would show at each reading, shared errors at zero.

        Returns
        -------
        array (n,) [V]
        """
        return self.weights @ predicted_readings(
            self.data, self.curve, self.data.load, self.data.lead_resistance
        )

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
    draws: int = 2000,  # numerical
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
    linear in R. Priors: A and R ≥ 0 flat; ln b normal about 88 mV per decade, standard deviation
    0.7; ln scatter normal about 3.5 mV, standard deviation 1, with the rounding of one count as a
    floor below it; the density of ln i_L falls as i_L^-1.25 up to 1 A/cm². A flat one in ln i_L puts
    so much weight on limits that were never approached that R and i_L held the truth in 75 to 85 of
    100 runs with i_max/i_L = 0.75; this one keeps 93 to 97 from 0.25 to 0.97
    (`benchmarks/coverage_fit`). Shared errors enter the covariance linearised at a pilot curve.
    Sampled by `aerode.stats.sampling`. Not for curves that bend twice, or whose readings had not
    settled.

    Examples
    --------
    >>> from aerode.measure.readings import read_run
    >>> from aerode.records.runs import Reading, Run
    >>> loads = (470.0, 220.0, 100.0, 47.0, 22.0, 10.0, 4.7, 2.2)
    >>> from aerode.measure.curve import current_through
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
    likelihood = Likelihood(data, priors)
    ridge = Ridge(likelihood)
    sample = sample_posterior(
        ridge,
        Ridge.START,
        rng,
        scale=1.0,
        lower=Ridge.LOWER,
        upper=Ridge.UPPER,
        draws=draws,
    )
    numbers = ridge.numbers(sample.samples)
    return CurvePosterior(
        data=data,
        priors=priors,
        sample=sample,
        curve=curves_of(numbers, likelihood.frame),
        scatter=np.exp(numbers[:, 4]),
        shared=likelihood.shared,
        scores=likelihood.scores(numbers),
    )


def _enough(data: RunData) -> None:
    different = data.different_loads
    if different >= FEWEST_READINGS:
        return
    said = "no usable reading" if different == 0 else f"{different} usable load"
    refused = "; ".join(f"reading {p.index + 1}: {p.why_not}" for p in data.refused[:3])
    raise CannotTellError(
        f"{said}{'s' if different > 1 else ''} on {data.source}: a curve needs at least "
        f"{FEWEST_READINGS} different ones" + (f" ({refused})" if refused else ""),
        where=data.source,
        allowed=f"{FEWEST_READINGS} or more different loads; 8 to 12 show the losses apart",
        next_step="measure more resistors, about four a decade, from large to small",
    )
