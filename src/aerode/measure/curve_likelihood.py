"""The likelihood of a polarization curve: in the voltage alone, with every shared error in one covariance.

The current follows from V = I (R_load || R_meter + r_lead), solved on every curve. Parameter rows
hold: voltage of the kinetic line at a reference current [V], ln b, R + b/i_L [ohm], ln i_L and
ln scatter; in these the posterior is nearest to a normal one.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from aerode.measure.curve import Curve, current_through
from aerode.measure.run_data import ReadingKind, RunData

__all__ = [
    "CurvePriors",
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
"""[A/m^2] = 1 A/cm^2, above any air electrode of this kind."""
_ASSUMED_AREA = 1e-3
"""[m^2] = 10 cm^2; stands in for the area in that bound where none is known: 10 A."""
_LEAST_SCATTER = 0.0035
"""[V]; readings by hand scatter more than the meter: contacts, drift, waiting. Common practice, no
source; with half of it the intervals of the slope hold the truth in 92 of 100 runs only."""


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

    slope_median: float = 0.038
    slope_spread: float = 0.7
    largest_limiting_current: float
    limit_fall: float = 1.25
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


def curves_of(rows: Floats, reference: float) -> tuple[Curve, Floats]:
    slope = np.exp(rows[:, 1])
    limit = np.exp(rows[:, 3])
    intercept = rows[:, 0] + slope * np.log(reference)
    resistance = np.maximum(rows[:, 2] - slope / limit, 0.0)
    return Curve(intercept, slope, resistance, limit), np.exp(rows[:, 4])


def predicted_readings(data: RunData, curve: Curve, load: Floats, lead: float) -> Floats:
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


def pilots(data: RunData, priors: CurvePriors, reference: float) -> Floats:
    """Parameter rows to start from: the best curve, and the best at the other end of i_L if it may be.

    With the currents taken as noted, everything but i_L is linear: it is scanned.
    """
    tab, seen = data.tab_points()
    top = float(seen.max())
    widest = max(priors.largest_limiting_current / top - 1.001, 1.0)
    limits = top * (1.0 + np.geomspace(2e-3, widest, 60))
    level, slope, resistance, squares = _linear_fits(tab, seen, limits, reference, priors)
    best = int(np.argmin(squares))
    apart = np.abs(np.log((limits - top) / (limits[best] - top))) > 1.5
    other = int(np.argmin(np.where(apart, squares, np.inf)))
    floor = tab.size * 0.0005**2
    lost = 0.5 * tab.size * np.log((squares[other] + floor) / (squares[best] + floor))
    k = np.array([best, other] if lost < 8.0 else [best])
    scatter = np.sqrt(squares[k] / max(seen.size - 3, 1))
    return np.column_stack(
        [
            level[k],
            np.log(slope[k]),
            resistance[k] + slope[k] / limits[k],
            np.log(limits[k]),
            np.log(np.clip(scatter, 3e-4, 0.05)),
        ]
    )


def _linear_fits(
    tab: Floats, seen: Floats, limits: Floats, reference: float, priors: CurvePriors
) -> tuple[Floats, Floats, Floats, Floats]:
    """Level at the reference current, slope, resistance and sum of squares for each limiting current."""
    shape = np.log(reference / seen) + np.log1p(-seen / limits[:, None])
    weight = 0.002 / (priors.slope_median * priors.slope_spread)  # the prior as one more reading
    design = np.zeros((limits.size, tab.size + 1, 3))
    design[:, :-1, 0] = 1.0
    design[:, :-1, 1] = shape
    design[:, -1, 1] = weight
    design[:, :-1, 2] = -seen
    wanted = np.append(tab, weight * priors.slope_median)
    free, two = _least_squares(design, wanted), _least_squares(design[:, :, :2], wanted)
    slope = np.where(free[:, 2] >= 0.0, free[:, 1], two[:, 1])
    slope = np.clip(slope, 0.3 * priors.slope_median, 4.0 * priors.slope_median)
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
    step = 1e-4

    def change(load: Floats, lead: float) -> Floats:
        return (predicted_readings(data, pilot, load, lead) - base)[0] / step

    base = predicted_readings(data, pilot, data.load, data.lead_resistance)
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


class Likelihood:
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
        slope = _current_slope(data, curves_of(pilot[None, :], reference)[0])
        own = np.square(data.noise) + np.square(slope * data.current_noise)
        covariance = np.diag(own)
        for error in shared:
            covariance = covariance + np.outer(error.effect, error.effect) * error.uncertainty**2
        eigenvalues, self.turn = np.linalg.eigh(covariance)
        self.size = np.maximum(eigenvalues, float(own.min()))

    def _residuals(self, rows: Floats) -> tuple[Floats, Floats]:
        curve, scatter = curves_of(rows, self.reference)
        possible = rows[:, 2] * curve.limiting_current >= curve.slope
        read = predicted_readings(self.data, curve, self.data.load, self.data.lead_resistance)
        turned = (self.data.voltage - read) @ self.turn
        variance = self.size + np.square(scatter)[:, None]
        return np.where(possible[:, None], turned, np.inf), variance

    def __call__(self, rows: Floats) -> Floats:
        turned, variance = self._residuals(rows)
        likelihood = -0.5 * (np.square(turned) / variance + np.log(variance)).sum(axis=1)
        slope = (rows[:, 1] - np.log(self.priors.slope_median)) / self.priors.slope_spread
        scatter = (rows[:, 4] - np.log(self.priors.scatter_median)) / self.priors.scatter_spread
        limit = self.priors.limit_fall * rows[:, 3]
        return likelihood - 0.5 * (np.square(slope) + np.square(scatter)) - limit

    def scores(self, rows: Floats) -> Floats:
        """d ln L/dy of every row in every reading, (m, n) [1/V]."""
        turned, variance = self._residuals(rows)
        finite = np.where(np.isfinite(turned), turned, 0.0)
        return -(finite / variance) @ self.turn.T
