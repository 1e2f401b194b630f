"""The usable readings of one run as arrays, with the circuit they were taken in and the errors they share."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

from aerode.measure.area import Area
from aerode.records.electrodes import Sensing

__all__ = ["Point", "ReadingKind", "RunData"]

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]
_ALIKE = 0.01
"""Loads closer than one per cent are one load: judgement, as a carbon film resistor is known no better."""


class ReadingKind(IntEnum):
    """Which way a point of the curve was found."""

    LOAD = 0
    """A voltage over a known resistor."""
    AMMETER = 1
    """A current through an ammeter across the cell: the meter's burden is the load."""
    PAIR = 2
    """A voltage and a current, each read by a meter."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """One reading of the run as it was taken in.

    Voltages [V], current [A], resistance [ohm]; `tab_voltage` is at the electrode's tab. Standard
    uncertainties hold the shared errors too. `why_not` is "" where it is used.
    """

    index: int
    load: str
    load_resistance: float | None
    voltage: float | None
    voltage_uncertainty: float | None
    current: float | None
    current_uncertainty: float | None
    tab_voltage: float | None
    why_not: str = ""
    text: str = ""

    @property
    def used(self) -> bool:
        """Whether it enters the fit."""
        return not self.why_not


@dataclass(frozen=True, slots=True, kw_only=True)
class RunData:
    """The usable readings of one run as arrays, in the order in which they were taken.

    Parameters
    ----------
    source : str
        The run or file.
    electrode : str
        The electrode's name, "" where it has none.
    voltage : array (n,) [V]
        As read; for an ammeter across the cell, its current times its burden.
    noise : array (n,) [V]
        Standard uncertainty that belongs to one reading alone: one count's rounding, and the
        extrapolation of a reading that had not settled. The scatter of the readings comes on top.
    early : array (n,) [V]
        What each may still move by, where it was read early and nobody watched it stand still; 0
        otherwise. All move the same way: it is one error of the whole run (`early_name`).
    expected_scatter : float [V]
        Scatter to expect from the counts part of the meter's limit of error.
    kind : array (n,) [1]
        `ReadingKind` of each.
    load : array (n,) [ohm]
        Resistance of the load; the burden for an ammeter; voltage over current for a pair.
    current : array (n,) [A]
        The current read, for a pair; zero otherwise.
    current_noise : array (n,) [A]
        Standard uncertainty of that current, of one reading alone; zero otherwise.
    part : array (n,) [1]
        Index into `part_names` of the physical resistor or burden; -1 for a pair.
    part_names : tuple of k str
    part_uncertainty : array (k,) [1]
        Relative standard uncertainty of each part.
    gain : array (n,) [1]
        Index into `gain_names` of the meter range whose gain is in the reading.
    current_gain : array (n,) [1]
        The same for the current of a pair; -1 otherwise.
    gain_names : tuple of g str
    gain_uncertainty : array (g,) [1]
        Relative standard uncertainty of each gain.
    input_resistance : float [ohm]
        Of the voltmeter, always parallel to the load.
    lead_name : str
        Names the lead and contact that the cell's current passes.
    lead_resistance : float [ohm]
    lead_uncertainty : float [ohm]
        Standard uncertainty.
    sensing : Sensing
        Whether the voltage is read at the electrode or at the clips that carry the current.
    temperature : tuple of n (float or None) [K]
    open_circuit_voltage : float or None [V]
        The last one read; never part of the fit.
    area : Area or None
        Wetted area, where known.
    points : tuple of Point
        Every reading of the run, used or not.
    index : array (n,) [1]
        Place of each array entry in the run's readings.
    assumptions : tuple of str
        What was taken for want of better knowledge, a sentence each.
    warnings : tuple of str
        What the person should look at.
    """

    source: str
    electrode: str
    voltage: Floats
    noise: Floats
    early: Floats
    expected_scatter: float
    kind: Whole
    load: Floats
    current: Floats
    current_noise: Floats
    part: Whole
    part_names: tuple[str, ...]
    part_uncertainty: Floats
    gain: Whole
    current_gain: Whole
    gain_names: tuple[str, ...]
    gain_uncertainty: Floats
    input_resistance: float
    lead_name: str
    lead_resistance: float
    lead_uncertainty: float
    sensing: Sensing
    temperature: tuple[float | None, ...]
    open_circuit_voltage: float | None
    area: Area | None
    points: tuple[Point, ...]
    index: Whole
    assumptions: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()

    @property
    def early_name(self) -> str:
        """Names what early readings of this run have in common."""
        return f"early readings of {self.source}"

    @property
    def refused(self) -> tuple[Point, ...]:
        """The readings that do not enter, each with its reason."""
        return tuple(p for p in self.points if not p.used)

    @property
    def different_loads(self) -> int:
        """How many different loads can be used: the one count of every page and of every fit.

        The closing check reads a load a second time and makes it no further one, however far the cell
        has drifted meanwhile; two resistors of one value are one load.
        """
        ranked = np.sort(np.log(np.maximum(self.load, 1e-12)))  # numerical: a pair may read 0 V
        return int(ranked.size and 1 + np.count_nonzero(np.diff(ranked) > _ALIKE))

    def circuit(self, load: Floats, lead: float) -> tuple[Floats, Floats]:
        """What stands outside the electrode's tab, for loads and a lead that may differ from the noted ones.

        Parameters
        ----------
        load : array (n,) [ohm]
        lead : float [ohm]

        Returns
        -------
        total : array (n,) [ohm]
            Voltage at the tab over current through the cell.
        shown : array (n,) [ohm]
            Voltage read over current through the cell.

        Notes
        -----
        At the clips: the reading is over load and meter in parallel, the lead lies between it and
        the tab. With a sense wire: the meter is across the tab, lead and load are in series. For an
        ammeter the reading is current times the *noted* burden, whatever the burden is. A pair is
        taken as a load of voltage over current: on a load line both errors stay small where the
        curve is steep, which they would not at a given current.
        """
        clips = self.sensing is Sensing.CLIPS
        meter = self.input_resistance
        loaded = load if clips else load + lead
        parallel = loaded * meter / (loaded + meter)
        across, pair = self.kind == ReadingKind.AMMETER, self.kind == ReadingKind.PAIR
        behind = lead if clips else 0.0
        total = np.where(across, load + lead, np.where(pair, load, parallel) + behind)
        return total, np.where(across, self.load, np.where(pair, load, parallel))

    def tab_points(self) -> tuple[Floats, Floats]:
        """Voltage at the tab and current of every used reading, as noted.

        Returns
        -------
        voltage : array (n,) [V]
        current : array (n,) [A]
        """
        total, shown = self.circuit(self.load, self.lead_resistance)
        current = self.voltage / shown
        return current * total, current
