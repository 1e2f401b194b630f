"""The likelihood of a polarization curve: in the voltage alone, with every shared error in one covariance.

The current follows from V = I (R_load || R_meter + r_lead), solved on every curve. A curve is
described by five numbers: voltage of the kinetic line at a reference current [V], ln b, R [ohm],
ln(i_L/i_0 - 1), and ln scatter; i_0 is a current that the cell has surely given.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from aerode.measure.curve import Curve, current_through
from aerode.measure.run_data import ReadingKind, RunData

__all__ = [
    "CurvePriors",
    "Frame",
    "Likelihood",
    "SharedError",
    "curves_of",
    "pilots",
    "predicted_readings",
    "priors_for",
    "shared_errors",
]

Floats = NDArray[np.float64]

_LARGEST_DENSITY = 1e4
"""[A/m^2] = 1 A/cm^2; judgement: above any air electrode of this kind."""
_ASSUMED_AREA = 1e-3
"""[m^2] = 10 cm^2; judgement: stands in for the area in that bound where none is known: 10 A."""
_LEAST_SCATTER = 0.0035
"""[V]; readings by hand scatter more than the meter: contacts, drift, waiting. Common practice, no
source; with half of it the intervals of the slope hold the truth in 92 of 100 runs only."""
_LOG_SLOPES = (math.log(1e-4), math.log(3.0))  # numerical, [V]
_LOG_SCATTERS = (math.log(1e-6), math.log(3.0))
"""Numerical: beyond these, 0.1 mV to 3 V per e-fold and 1 microvolt to 3 V, nothing is looked for."""
_STEP = 1e-4
"""Numerical: relative step, or ohm, of differences."""
_GRID = 48  # numerical
NEAREST_LIMIT = 2e-3
"""Numerical: smallest i_L/i_0 - 1 that is looked at; i_0 lies well below what was really given."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CurvePriors:
    """What is assumed before the readings.

    Parameters
    ----------
    slope_median : float [V]
        Median of b; 0.038 V per e-fold is 88 mV per decade, the middle of the 55 to 140 mV per
        decade seen on oxygen electrodes.
    slope_spread : float [1]
        Standard deviation of ln b: with 0.7 that range is the inner half.
    largest_limiting_current : float [A]
        No limiting current is above it.
    limit_fall : float [1]
        The density of ln i_L falls as i_L to the power of minus this: zero would be flat in ln i_L,
        one flat in 1/i_L, and two the information that a curve far from its limit holds. Chosen by
        coverage (`benchmarks/coverage_fit`).
    scatter_median : float [V]
        Median of the scatter of single readings.
    scatter_spread : float [1]
        Standard deviation of its logarithm.
    """

    slope_median: float = 0.038  # judgement, of the range named above
    slope_spread: float = 0.7  # judgement
    largest_limiting_current: float
    limit_fall: float = 1.25  # judgement, by coverage
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
        Standard uncertainty: relative for gains and parts, ohm for leads, 1 for what was read early.
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


@dataclass(frozen=True, slots=True)
class Frame:
    """The two currents that parameter rows refer to.

    Parameters
    ----------
    reference : float [A]
        Geometric mean of the currents.
    given : float [A]
        i_0: the largest of all currents less three times its uncertainty; every limit is above it.
    """

    reference: float
    given: float

    @classmethod
    def of(cls, data: RunData) -> Frame:
        """The frame of a run's readings."""
        _, seen = data.tab_points()
        pair = data.kind == ReadingKind.PAIR
        own = np.where(
            pair,
            data.current_noise / np.where(pair, data.current, 1.0),
            np.hypot(np.hypot(_LEAST_SCATTER, data.noise), data.early) / data.voltage,
        )
        gain = data.gain_uncertainty[np.where(pair, data.current_gain, data.gain)]
        part = np.append(data.part_uncertainty, 0.0)[data.part]
        # numerical: three standard uncertainties, and no reading so poor that nothing is left
        sure = seen * (1.0 - np.minimum(3.0 * np.sqrt(own**2 + gain**2 + part**2), 0.8))
        return cls(float(np.exp(np.log(seen).mean())), float(sure.max()))


def curves_of(numbers: Floats, frame: Frame) -> Curve:
    """The curves of rows of level, ln b, R and ln(i_L/i_0 - 1).

    Parameters
    ----------
    numbers : array (m, 4 or more) [any]
    frame : Frame

    Returns
    -------
    Curve
    """
    slope = np.exp(np.clip(numbers[:, 1], *_LOG_SLOPES))
    limit = frame.given * (1.0 + np.exp(numbers[:, 3]))
    intercept = numbers[:, 0] + slope * np.log(frame.reference)
    return Curve(intercept, slope, numbers[:, 2], limit)


def predicted_readings(data: RunData, curve: Curve, load: Floats, lead: float) -> Floats:
    """What would be read on each curve, (m, n) [V]; R may be below zero, down to half of a load."""
    total, shown = data.circuit(load, lead)
    least = -0.5 * float(total.min())
    if float(curve.resistance.min(initial=0.0)) < least:
        r = np.maximum(curve.resistance, least)
        curve = Curve(curve.intercept, curve.slope, r, curve.limiting_current)
    return current_through(curve, total) * shown


def pilots(data: RunData, priors: CurvePriors, frame: Frame) -> tuple[Floats, Floats]:
    """For every limiting current of a grid the best level, ln b and R, and how well they fit.

    With the currents taken as noted, everything but i_L is linear: the grid is scanned.

    Returns
    -------
    numbers : array (g, 4) [any]
        In the order of rising limiting currents.
    squares : array (g,) [V^2]
        Sum of squares of each.
    """
    tab, seen = data.tab_points()
    top = float(seen.max())
    widest = max(priors.largest_limiting_current / frame.given - 1.0, 1.0)
    limits = frame.given * (1.0 + np.geomspace(NEAREST_LIMIT, widest, _GRID))
    # a limit below the largest noted current cannot be scanned so; it borrows the nearest that can
    scanned = np.maximum(limits, top * 1.01)  # numerical
    level, slope, resistance, squares = _linear_fits(tab, seen, scanned, frame.reference, priors)
    numbers = np.column_stack(
        [level, np.log(slope), resistance, np.log(limits / frame.given - 1.0)]
    )
    return numbers, squares


def _linear_fits(
    tab: Floats, seen: Floats, limits: Floats, reference: float, priors: CurvePriors
) -> tuple[Floats, Floats, Floats, Floats]:
    """Level at the reference current, slope, resistance and sum of squares for each limiting current."""
    shape = np.log(reference / seen) + np.log1p(-seen / limits[:, None])
    # numerical: the prior as one more reading, as if readings scattered by 2 mV
    weight = 0.002 / (priors.slope_median * priors.slope_spread)
    design = np.zeros((limits.size, tab.size + 1, 3))
    design[:, :-1, 0] = 1.0
    design[:, :-1, 1] = shape
    design[:, -1, 1] = weight
    design[:, :-1, 2] = -seen
    wanted = np.append(tab, weight * priors.slope_median)
    free, two = _least_squares(design, wanted), _least_squares(design[:, :, :2], wanted)
    slope = np.where(free[:, 2] >= 0.0, free[:, 1], two[:, 1])
    slope = np.clip(slope, 0.3 * priors.slope_median, 4.0 * priors.slope_median)  # numerical
    least = 1e-3 * priors.slope_median / float(seen.max())
    resistance = np.maximum(free[:, 2], least)
    rest = tab - slope[:, None] * shape + resistance[:, None] * seen
    level = rest.mean(axis=1)
    return level, slope, resistance, np.square(rest - level[:, None]).sum(axis=1)


def _least_squares(design: Floats, wanted: Floats) -> Floats:
    q, r = np.linalg.qr(design)
    onto: Floats = np.asarray(np.einsum("knp,n->kp", q, wanted))
    return np.asarray(np.linalg.solve(r, onto[..., None]), dtype=np.float64)[..., 0]


def shared_errors(data: RunData, pilot: Curve) -> tuple[SharedError, ...]:
    """Each shared error with what it does to the readings, by differences on the pilot curve."""
    load, lead = data.load, data.lead_resistance
    base = predicted_readings(data, pilot, load, lead)[0]
    by_load = _by_load(data, pilot, base)
    pair = data.kind == ReadingKind.PAIR
    # a part noted too high: the true load is smaller. A pair's load is voltage over current as
    # read: a voltage shown too high makes it too high, a current shown too high too low.
    parts = [
        SharedError(name, float(u), np.where(data.part == k, -by_load, 0.0))
        for k, (name, u) in enumerate(zip(data.part_names, data.part_uncertainty, strict=True))
    ]
    gains = [
        SharedError(
            name,
            float(u),
            np.where(data.gain == k, base - np.where(pair, by_load, 0.0), 0.0)
            + np.where(pair & (data.current_gain == k), by_load, 0.0),
        )
        for k, (name, u) in enumerate(zip(data.gain_names, data.gain_uncertainty, strict=True))
    ]
    early = [SharedError(data.early_name, 1.0, data.early)] if bool(data.early.any()) else []
    more = predicted_readings(data, pilot, load, lead + _STEP)[0]
    return (
        *gains,
        *parts,
        *early,
        SharedError(data.lead_name, data.lead_uncertainty, (base - more) / _STEP),
    )


def _by_load(data: RunData, pilot: Curve, base: Floats) -> Floats:
    """What a relative change of the load does to each reading, (n,) [V]."""
    load = data.load * (1.0 + _STEP)
    return (predicted_readings(data, pilot, load, data.lead_resistance)[0] - base) / _STEP


class Likelihood:
    """Log density of rows of the five numbers; the covariance is diagonal in its own eigenvectors, made once.

    Parameters
    ----------
    data : RunData
    priors : CurvePriors

    Attributes
    ----------
    frame : Frame
    shared : tuple of SharedError
    grid : array (g, 4) [any]
        Numbers that fit best for each limiting current of a grid, in the order of rising ones.
    pilot_scatter : float [V]
        A first guess of the scatter.
    """

    def __init__(self, data: RunData, priors: CurvePriors) -> None:
        self.data, self.priors, self.frame = data, priors, Frame.of(data)
        self.grid, squares = pilots(data, priors, self.frame)
        best = int(np.argmin(squares))
        pilot = curves_of(self.grid[best : best + 1], self.frame)
        self.shared = shared_errors(data, pilot)
        base = predicted_readings(data, pilot, data.load, data.lead_resistance)[0]
        relative = data.current_noise / np.where(data.current > 0.0, data.current, 1.0)
        own = np.square(data.noise) + np.square(_by_load(data, pilot, base) * relative)
        covariance = np.diag(own)
        for error in self.shared:
            covariance = covariance + np.outer(error.effect, error.effect) * error.uncertainty**2
        eigenvalues, self._turn = np.linalg.eigh(covariance)
        self.size = np.maximum(eigenvalues, float(own.min()))
        freedom = max(data.voltage.size - 3, 1)
        # numerical: a first guess between 0.5 and 50 mV
        self.pilot_scatter = min(max(math.sqrt(float(squares[best]) / freedom), 5e-4), 0.05)

    def turned_residuals(self, numbers: Floats) -> Floats:
        """Readings less predictions in the eigenvectors of the covariance, (m, n) [V]."""
        data = self.data
        read = predicted_readings(
            data, curves_of(numbers, self.frame), data.load, data.lead_resistance
        )
        return (data.voltage - read) @ self._turn

    def __call__(self, numbers: Floats) -> Floats:
        turned = self.turned_residuals(numbers)
        variance = self.size + np.exp(2.0 * np.clip(numbers[:, 4:], *_LOG_SCATTERS))
        height = -0.5 * (np.square(turned) / variance + np.log(variance)).sum(axis=1)
        possible = numbers[:, 2] >= 0.0
        for column, (low, high) in ((1, _LOG_SLOPES), (4, _LOG_SCATTERS)):
            possible &= (numbers[:, column] > low) & (numbers[:, column] < high)
        return np.where(possible, height + self.log_prior(numbers), -np.inf)

    def log_prior(self, numbers: Floats) -> Floats:
        """ln of the prior density of each row, but for a constant, (m,) [1]."""
        priors = self.priors
        slope = (numbers[:, 1] - math.log(priors.slope_median)) / priors.slope_spread
        scatter = (numbers[:, 4] - math.log(priors.scatter_median)) / priors.scatter_spread
        # ln i_L has a density falling as i_L^-p, and d ln i_L = d place / (1 + exp(-place))
        place = numbers[:, 3]
        log_limit = np.logaddexp(0.0, place)
        limit = place - (1.0 + priors.limit_fall) * log_limit
        return limit - 0.5 * (np.square(slope) + np.square(scatter))

    def scores(self, numbers: Floats) -> Floats:
        """d ln L/dy of every row in every reading, (m, n) [1/V]."""
        variance = self.size + np.exp(2.0 * numbers[:, 4:])
        return -(self.turned_residuals(numbers) / variance) @ self._turn.T
