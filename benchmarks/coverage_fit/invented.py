"""Invented runs with known truth: a ladder of resistors on a cell whose curve is known, read with a meter that is a little off.

Shares no code with the fit: the current is found by bisection.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from aerode.measure.area import Area
from aerode.measure.readings import RunData, read_run
from aerode.records.instruments import Instrument, MeterRange, Sort
from aerode.records.runs import Reading, Run, Settling

__all__ = ["CELLS", "LOADS", "REACHES", "Stratum", "Truth", "strata"]

Floats = NDArray[np.float64]

LOADS = np.array([1000.0, 470.0, 220.0, 100.0, 47.0, 22.0, 10.0, 4.7, 2.2, 1.0])
"""[ohm]"""
AREA = 4e-4
"""[m^2]"""
SCATTER = 0.002
"""[V]"""
COUNT = 0.001
"""[V]"""
REACHES = (0.25, 0.50, 0.75, 0.97)
"""Largest current of the ladder over the limiting current."""


@dataclass(frozen=True, slots=True)
class Truth:
    """A cell's curve in whole-electrode units: A at 1 A [V], b [V], R [ohm], i_L [A]."""

    intercept: float
    slope: float
    resistance: float
    limiting_current: float

    def voltage(self, current: Floats) -> Floats:
        """Voltage at the tab [V]."""
        left = np.log(1.0 - current / self.limiting_current)
        return self.intercept + self.slope * (left - np.log(current)) - current * self.resistance

    def current(self, total: Floats) -> Floats:
        """Current through a total outer resistance [ohm], by bisection."""
        low = np.full(total.shape, 1e-12)
        high = np.full(total.shape, self.limiting_current * (1 - 1e-12))
        for _ in range(100):
            middle = np.sqrt(low * high)
            more = self.voltage(middle) > middle * total
            low, high = np.where(more, middle, low), np.where(more, high, middle)
        return np.sqrt(low * high)

    def current_at(self, voltage: float) -> float:
        """Current at a voltage [A], by bisection."""
        low, high = 1e-12, self.limiting_current * (1 - 1e-12)
        for _ in range(200):
            middle = float(np.sqrt(low * high))
            low, high = (
                (middle, high) if self.voltage(np.array(middle)) > voltage else (low, middle)
            )
        return float(np.sqrt(low * high))

    def largest_power(self) -> float:
        """Of the whole curve [W]."""
        current = self.limiting_current * np.linspace(1e-4, 1.0 - 1e-6, 200_001)
        return float(np.max(current * self.voltage(current)))


CELLS = {"lye": (1.10, 0.045, 8.0), "salt water": (0.62, 0.055, 15.0)}
"""A at 1 mA/cm^2 [V], b [V], R [ohm cm^2] of two cells (electrode.md D1's two cases)."""


@dataclass(frozen=True, slots=True)
class Stratum:
    """One corner of the study: which cell, how near the limit, whose resistors, how many loads.

    `box` is True where all loads come from one box whose error is one number; otherwise each
    resistor has an error of its own.
    """

    cell: str
    reach: float
    box: bool
    limit: float = 0.01
    """Of the resistors' error, as a fraction."""
    gain_limit: float = 0.005
    scatter: float = SCATTER
    rectangular: bool = False
    """Whether shared errors are rectangular within their limits, or normal with the same standard deviation."""
    loads: tuple[float, ...] = tuple(LOADS)

    @property
    def name(self) -> str:
        """For tables."""
        return f"{self.cell}, {'one box' if self.box else 'own errors'}, reach {self.reach:g}"

    def truth(self) -> Truth:
        """The cell whose limiting current makes the smallest load reach the wanted share of it."""
        level, slope, per_area = CELLS[self.cell]
        resistance = per_area * 1e-4 / AREA
        intercept = level + slope * np.log(1e-3 * AREA * 1e4)
        low, high = np.log(1e-4), np.log(1e3)
        for _ in range(100):
            middle = 0.5 * (low + high)
            trial = Truth(intercept, slope, resistance, float(np.exp(middle)))
            share = float(trial.current(np.array([min(self.loads)]))[0]) / trial.limiting_current
            low, high = (middle, high) if share > self.reach else (low, middle)
        return Truth(intercept, slope, resistance, float(np.exp(0.5 * (low + high))))

    def run(self, truth: Truth, dice: Generator) -> RunData:
        """One run: true resistors off their nominal value, the meter's gain off, scatter, whole counts."""
        loads = np.array(self.loads)
        shared = self._error(self.limit, 1 if self.box else loads.size, dice)
        gain = self._error(self.gain_limit, 1, dice)
        true_loads = loads / (1.0 + shared)
        meter = 1e7
        parallel = true_loads * meter / (true_loads + meter)
        volts = truth.current(parallel) * parallel * (1.0 + gain)
        volts = volts + self.scatter * dice.standard_normal(loads.size)
        shown = COUNT * np.round(volts / COUNT)
        return self.data(shown)

    def data(self, shown: Floats) -> RunData:
        """The readings as arrays. One box behind all loads: the records have no word for it, the arrays have."""
        readings = tuple(
            Reading(load=self._part(r), voltage=float(v), settling=Settling.SETTLED)
            for r, v in zip(self.loads, shown, strict=True)
        )
        run = Run(name="invented", meter="meter", session="day", readings=readings)
        bench = {"meter": self._meter(), **{self._part(r): self._resistor(r) for r in self.loads}}
        data = read_run(run, bench, area=Area(AREA, 0.01))
        if not self.box:
            return data
        return replace(
            data,
            part=np.zeros_like(data.part),
            part_names=("part box",),
            part_uncertainty=data.part_uncertainty[:1],
        )

    def _error(self, limit: float, count: int, dice: Generator) -> Floats:
        if self.rectangular:
            return dice.uniform(-limit, limit, count)
        return limit / np.sqrt(3.0) * dice.standard_normal(count)

    @staticmethod
    def _part(resistance: float) -> str:
        return f"{resistance:g} ohm"

    def _resistor(self, resistance: float) -> Instrument:
        return Instrument(
            name=self._part(resistance),
            sort=Sort.RESISTOR,
            nominal_resistance=float(resistance),
            tolerance=self.limit,
        )

    def _meter(self) -> Instrument:
        scale = MeterRange(
            name="2 V", full_scale=2.0, count=COUNT, of_reading=self.gain_limit, counts=2
        )
        return Instrument(name="meter", sort=Sort.MULTIMETER, ranges=(scale,))


def strata() -> list[Stratum]:
    """The published ones: two cells, four reaches, resistors of one box or each with its own error."""
    return [
        Stratum(cell=cell, reach=reach, box=box)
        for cell in CELLS
        for box in (False, True)
        for reach in REACHES
    ]
