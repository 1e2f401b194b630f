"""What a comparison looks at: the electrodes asked for, their runs, and what else the bench knows of them."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from aerode.errors import AerodeError
from aerode.measure.comparison.entrants import Entrant, recipe_of, session_of
from aerode.measure.comparison.joint import Observations
from aerode.measure.comparison.unread import too_few_read
from aerode.measure.comparison.values import (
    Measured,
    Response,
    SharedInput,
    TemperatureCoefficient,
    area_of,
    gather_inputs,
    lead_is_known,
    lead_to_take,
    measure_run,
)
from aerode.measure.curve_posterior import FEWEST_READINGS
from aerode.measure.meters import resistor
from aerode.measure.readings import read_run
from aerode.measure.run_cells import CellOfRun, cell_of_run
from aerode.records.electrodes import Cell, Electrode
from aerode.records.instruments import Instrument
from aerode.records.materials import Electrolyte, PowderLot, Solution
from aerode.records.mixes import Batch, Mix
from aerode.records.runs import Reading, Run, RunSort

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

__all__ = ["Study", "Values", "common_voltage", "measure_study", "voltages_read"]


FEWEST_LOADS = 3
"""Judgement: fewer loads than this are a point or two, and no curve."""

OF_A_LOAD = frozenset({RunSort.LOADS, RunSort.RUN_DOWN})
"""Sorts of run that draw charge: a piece that had none of them is fresh."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Study:
    """The electrodes asked for, the controls, and the records of the bench that bear on them."""

    electrodes: tuple[Electrode, ...]
    controls: tuple[Electrode, ...] = ()
    runs: tuple[Run, ...] = ()
    cells: Mapping[str, Cell] = field(default_factory=dict[str, Cell])
    instruments: Mapping[str, Instrument] = field(default_factory=dict[str, Instrument])
    mixes: Mapping[str, Mix] = field(default_factory=dict[str, Mix])
    batches: Mapping[str, Batch] = field(default_factory=dict[str, Batch])
    powders: Mapping[str, PowderLot] = field(default_factory=dict[str, PowderLot])
    solutions: Mapping[str, Solution] = field(default_factory=dict[str, Solution])
    electrolytes: Mapping[str, Electrolyte] = field(default_factory=dict[str, Electrolyte])
    blanks: tuple[Electrode, ...] = ()
    entered: Mapping[str, str] = field(default_factory=dict[str, str])
    """Cell to the moment it was first stored, where an electrode has several."""
    logged: Mapping[str, float] = field(default_factory=dict[str, float])
    """Run to the charge that its log drew [C]."""

    def runs_of(self, electrode: Electrode, *sorts: RunSort) -> tuple[Run, ...]:
        """The runs of one electrode, of these sorts, in their order."""
        return tuple(
            run
            for run in self.runs
            if self.electrode_name(run) == electrode.name and run.sort in sorts
        )

    def runs_of_piece(self, electrode: Electrode) -> tuple[Run, ...]:
        """All runs of the piece of matter, in whatever state it was."""
        known = {
            e.name
            for e in (*self.electrodes, *self.controls, *self.blanks)
            if e.piece == electrode.piece
        }
        return tuple(run for run in self.runs if self.electrode_name(run) in known)

    def electrode_name(self, run: Run) -> str:
        """The electrode of a run, by its own word or by its cell's."""
        if run.electrode or run.cell not in self.cells:
            return run.electrode
        return self.cells[run.cell].electrode

    def cell_of(self, run: Run) -> CellOfRun:
        """The cell a run was taken in, and why it is that one."""
        return cell_of_run(run, self.cells.values(), self.entered)

    def entrants(self) -> tuple[Entrant, ...]:
        """The runs of load steps of the electrodes asked for and of the controls, in order of measuring.

        Readings of a control count only where they share a session with an electrode asked for.
        """
        asked = {e.name: e for e in self.electrodes}
        every = asked | {e.name: e for e in self.controls}
        found = [
            Entrant(
                run=run,
                electrode=every[name],
                cell=(found_in := self.cell_of(run)).cell,
                cell_how=found_in.how,
                electrolyte=None
                if found_in.cell is None
                else self.electrolytes.get(found_in.cell.electrolyte),
            )
            for run in self.runs
            if run.sort is RunSort.LOADS
            and (name := self.electrode_name(run)) in every
            and _makes_a_curve(run)
        ]
        sessions = {session_of(e.run) for e in found if e.electrode.name in asked}
        kept = [e for e in found if session_of(e.run) in sessions]
        places = {id(e): k for k, e in enumerate(kept)}
        return tuple(
            sorted(
                kept,
                key=lambda e: (
                    session_of(e.run),
                    e.run.order if e.run.order is not None else places[id(e)],
                ),
            )
        )

    def first_use(self) -> frozenset[str]:
        """Runs in the session in which their piece was first loaded on this bench: it was fresh that day."""
        pieces = {e.name: e.piece for e in (*self.electrodes, *self.controls, *self.blanks)}
        first: dict[str, str] = {}
        fresh: set[str] = set()
        for run in self.runs:
            if run.sort not in OF_A_LOAD:
                continue
            name = self.electrode_name(run)
            session = session_of(run)
            if first.setdefault(pieces.get(name, name), session) == session:
                fresh.add(run.name)
        return frozenset(fresh)

    def load_of(self, reading: Reading) -> float | None:
        """The resistor behind a reading [ohm]; None for open circuit or an unknown load."""
        if reading.load == "open":
            return None
        part = resistor(reading.load, reading.resistance, self.instruments, unnamed="the bench")
        return None if part is None else part.resistance


@dataclass(frozen=True, slots=True, kw_only=True)
class Values:
    """The fair values of all runs, the inputs they share, and what could not be read."""

    measured: tuple[Measured, ...]
    response: Response
    inputs: tuple[SharedInput, ...]
    order: NDArray[np.float64]
    left_out: Mapping[str, str]
    """Run to reason."""
    order_assumed: bool

    def known(self, better: Mapping[str, float] | None = None) -> NDArray[np.float64]:
        """Covariance of the measurement errors, (n, n); `better` scales the uncertainty of sorts of input."""
        factors = better or {}
        own = factors.get("own", 1.0)
        total = np.diag(np.square([own * m.own for m in self.measured]))
        for entry in self.inputs:
            scaled = entry.slope * entry.uncertainty * factors.get(entry.sort, 1.0)
            total += np.outer(scaled, scaled)
        return total

    def observations(self, better: Mapping[str, float] | None = None) -> Observations:
        """The same as arrays for the joint model."""
        entrants = [m.entrant for m in self.measured]
        return Observations(
            value=np.array([m.log_value for m in self.measured]),
            known=self.known(better),
            electrode=tuple(e.electrode.name for e in entrants),
            piece=tuple(e.electrode.piece for e in entrants),
            recipe=tuple(recipe_of(e.electrode) for e in entrants),
            order=self.order,
            session=tuple(session_of(e.run) for e in entrants),
            control=tuple(e.control for e in entrants),
        )


def measure_study(
    study: Study,
    response: Response,
    *,
    temperature: TemperatureCoefficient | None = None,
    seed: int = 1,
) -> Values:
    """Every run of a study brought to the common point.

    Parameters
    ----------
    study : Study
    response : Response
    temperature : TemperatureCoefficient, optional
    seed : int [1]

    Returns
    -------
    Values
        A run that cannot be read there is left out with its reason.
    """
    entrants = study.entrants()
    areas = [a.value for e in entrants if not e.control and (a := area_of(e)) is not None]
    mean_area = float(np.mean(areas)) if areas else None
    some_known = any(lead_is_known(e) for e in entrants)
    measured: list[Measured] = []
    left_out: dict[str, str] = {}
    for k, entrant in enumerate(entrants):
        try:
            measured.append(
                measure_run(
                    entrant,
                    study.instruments,
                    response,
                    mean_area=mean_area,
                    temperature=temperature,
                    lead=lead_to_take(entrant, some_known=some_known),
                    seed=seed + k,
                )
            )
        except AerodeError as refusal:
            left_out[entrant.run.name] = refusal.what
    order, assumed = _places(measured)
    inputs = gather_inputs(measured, per_area=response.per_area, temperature=temperature)
    return Values(
        measured=tuple(measured),
        response=response,
        inputs=inputs,
        order=order,
        left_out=left_out,
        order_assumed=assumed,
    )


def _places(measured: Sequence[Measured]) -> tuple[NDArray[np.float64], bool]:
    """Place of each run in its session; where a session lacks a note, the order of entry."""
    sessions: dict[str, list[int]] = {}
    for k, one in enumerate(measured):
        sessions.setdefault(session_of(one.entrant.run), []).append(k)
    order, assumed = np.zeros(len(measured)), False
    for places in sessions.values():
        noted = [measured[k].entrant.run.order for k in places]
        if any(n is None for n in noted):
            assumed = assumed or len(places) > 1
            noted = list(range(len(places)))
        for k, place in zip(places, noted, strict=True):
            order[k] = float(place if place is not None else 0)
    return order, assumed


def voltages_read(study: Study) -> tuple[float, float]:
    """The voltages at the tab that were read on all electrodes of a study.

    Parameters
    ----------
    study : Study

    Returns
    -------
    low, high : float [V]

    Raises
    ------
    TooFewReadError
        If no electrode (of several: fewer than two) makes a curve, or the runs share no voltage.
    """
    spans: list[tuple[float, float]] = []
    able: set[str] = set()
    for entrant in study.entrants():
        data = read_run(
            entrant.run, study.instruments, electrode=entrant.electrode, cell=entrant.cell
        )
        tab, _ = data.tab_points()
        if tab.size >= FEWEST_READINGS:
            spans.append((float(tab.min()), float(tab.max())))
            able.add(entrant.electrode.name)
    low = max((span[0] for span in spans), default=1.0)
    high = min((span[1] for span in spans), default=0.0)
    if low >= high or (
        len(study.electrodes) > 1 and len([e for e in study.electrodes if e.name in able]) < 2
    ):
        raise too_few_read(study, None, {})
    return low, high


def common_voltage(study: Study) -> float:
    """A voltage in the middle of what was measured on all, to five hundredths of a volt where that fits.

    Parameters
    ----------
    study : Study

    Returns
    -------
    float [V]

    Raises
    ------
    TooFewReadError
        If fewer than two electrodes make a curve, or the runs share no voltage.
    """
    low, high = voltages_read(study)
    middle = 0.5 * (low + high)
    tidy = round(middle / 0.05) * 0.05  # judgement: rounded for people
    return tidy if low <= tidy <= high else middle


def _makes_a_curve(run: Run) -> bool:
    """Whether a run has enough loads for a curve; an old line or an empty run is no reason to block."""
    replaced = {r.replaces for r in run.readings if r.replaces is not None}
    usable = [
        r
        for k, r in enumerate(run.readings)
        if k not in replaced and not r.doubt and r.load != "open"
    ]
    return len(usable) >= FEWEST_LOADS
