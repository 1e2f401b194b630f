"""Running a discharge: stretches of unchanging load, a stiff integrator, and ends that have names."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np
from scipy.integrate import solve_ivp

from aerode.errors import CannotTellError, RangeError
from aerode.physics import checked_inputs
from aerode.physics.checked_inputs import Floats
from aerode.physics.constants import FARADAY
from aerode.physics.discharge.chemistry import Electrolyte, Process, Species
from aerode.physics.discharge.loads import ConstantCurrent, Load, Resistor, spans
from aerode.physics.discharge.parameters import DischargeParameters, EndConditions
from aerode.physics.discharge.result import Discharge, EndReason, collect
from aerode.physics.discharge.state import Bench, Moment
from aerode.quantities import Reason

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

__all__ = ["discharge"]

_ABSOLUTE = 1e-3  # absolute over relative tolerance, in units of what the cell holds; numerical
_STEP = 1e-7  # of a scaled extent, for the Jacobian; numerical
# numerical
_CROSSED = 1e-9  # how close to a boundary counts as having reached it, relative to its start

Boundary = Callable[[Moment], float]


def discharge(
    parameters: DischargeParameters,
    load: Load,
    *,
    times: ArrayLike,
    ends: EndConditions,
    tolerance: float = 1e-8,  # numerical
) -> Discharge:
    """A cell over hours and days, until the time is over or something gives out.

    Parameters
    ----------
    parameters : DischargeParameters
        The cell and what happens in it.
    load : ConstantCurrent, Resistor or LoadProfile [A], [ohm]
        What is asked of it.
    times : array_like, shape (K,) [s]
        When to look, rising, zero or more; the run ends at the last at the latest.
    ends : EndConditions
        What else ends it.
    tolerance : float [1]
        Relative tolerance of the integration, 1e-12 to 1e-4.

    Returns
    -------
    Discharge, shape (K or fewer,)
        At the times asked for up to its end, and at its end.

    Raises
    ------
    RangeError
        Times that do not rise, or a tolerance out of range.
    CannotTellError
        Where the integration does not go through.

    Notes
    -----
    How far each process has gone is integrated (Radau IIA of order 5, Hairer & Wanner 1996, as in
    scipy) between changes of load; amounts follow from one table of reactions, so masses and
    charges close to rounding. Well mixed, one temperature, areas that do not change until the
    aluminium is gone. Not for a passive film, for scale in the pores, or for product that sticks.

    Examples
    --------
    >>> from aerode.physics.discharge.example import lye_cell
    >>> ends = EndConditions(cutoff_voltage=0.5, least_water_share=0.3, greatest_solids_share=0.5)
    >>> run = discharge(lye_cell(), ConstantCurrent(current=0.1), times=[0.0, 3600.0], ends=ends)
    >>> run.end.name, round(float(run.charge[-1]), 6), run.balances.worst < 1e-9
    ('TIME_UP', 360.0, True)
    """
    wanted = _times(times)
    if not 1e-12 <= tolerance <= 1e-4:  # numerical
        raise RangeError(
            f"a tolerance of {tolerance:g}", where="tolerance", allowed="1e-12 to 1e-4"
        )
    run = _Run(Bench(parameters), ends, tolerance)
    end = run.go(load, wanted)
    return collect(run.bench, np.array(run.times), np.array(run.extents), run.moments, end)


def _times(times: ArrayLike) -> Floats:
    wanted = np.atleast_1d(checked_inputs.not_negative("times", times))
    if wanted.ndim != 1 or wanted.size == 0 or bool((np.diff(wanted) <= 0.0).any()):
        raise RangeError("not a rising list", where="times", allowed="rising times in s")
    return wanted


class _Run:
    """One run under way: what has been reached and what was seen."""

    def __init__(self, bench: Bench, ends: EndConditions, tolerance: float) -> None:
        self.bench = bench
        self.tolerance = tolerance
        self.boundaries = _boundaries(bench.parameters, ends)
        rule = bench.parameters.precipitation
        self.onset = np.inf if rule is None else rule.onset_ratio
        self.seeded = False
        self.scale = _scale(bench.parameters)
        self.times: list[float] = []
        self.extents: list[Floats] = []
        self.moments: list[Moment] = []

    def go(self, load: Load, wanted: Floats) -> EndReason:
        """Stretch after stretch until an end."""
        extents = np.zeros(len(Process))
        at = 0.0
        last: ConstantCurrent | Resistor = ConstantCurrent(current=0.0)
        for start, until, last in spans(load, float(wanted[-1])):
            at = start
            while at < until:
                moment = self.bench.moment(at, extents, last, self.seeded)
                self.seeded = self.seeded or moment.supersaturation >= self.onset
                over = self._over(moment)
                if over is not None:
                    self._see(at, extents, last)
                    return over
                at, extents, over = self._stretch(at, until, extents, last, wanted)
                if over is not None:
                    self._see(at, extents, last)
                    return over
        self._see(float(wanted[-1]), extents, last)
        return EndReason.TIME_UP

    def _over(self, moment: Moment) -> EndReason | None:
        for reason, boundary in self.boundaries:
            if boundary(moment) <= _CROSSED:
                return reason
        return None

    def _see(self, time: float, extents: Floats, load: ConstantCurrent | Resistor) -> None:
        if self.times and time <= self.times[-1]:
            del self.times[-1], self.extents[-1], self.moments[-1]
        self.times.append(time)
        self.extents.append(extents)
        self.moments.append(self.bench.moment(time, extents, load, self.seeded))

    def _stretch(
        self,
        start: float,
        until: float,
        extents: Floats,
        load: ConstantCurrent | Resistor,
        wanted: Floats,
    ) -> tuple[float, Floats, EndReason | None]:
        """On to the end of the stretch, the first solid, or an end, whichever comes first."""

        seen: dict[tuple[float, bytes], Moment] = {}

        def moment(t: float, y: Floats) -> Moment:
            # The rates and all boundaries ask for the same moment one after the other.
            key = (t, y.tobytes())
            if key not in seen:
                seen.clear()
                # Every stretch counts from 0, so a long run loses no digits.
                now = extents + self.scale * y
                seen[key] = self.bench.moment(start + t, now, load, self.seeded)
            return seen[key]

        def rates(t: float, y: Floats) -> Floats:
            return moment(t, y).rates / self.scale

        events = [_event(boundary, moment) for _, boundary in self.boundaries]
        if not self.seeded and np.isfinite(self.onset):
            events.append(_event(lambda m: self.onset - m.supersaturation, moment))
        found = solve_ivp(
            rates,
            (0.0, until - start),
            np.zeros(len(Process)),
            method="Radau",
            jac=lambda t, y: _jacobian(rates, t, y),
            rtol=self.tolerance,
            atol=_ABSOLUTE * self.tolerance,
            events=events,
            dense_output=True,
        )
        if found.status < 0 or found.sol is None or found.t_events is None:
            raise CannotTellError(
                str(Reason.NOT_CONVERGED), where=f"discharge after {start + found.t[-1]:.0f} s"
            )
        ended = found.status == 1
        reached = start + float(found.t[-1]) if ended else until
        for time in wanted[(wanted >= start) & (wanted < reached)]:
            inner = np.asarray(found.sol(time - start), dtype=np.float64)
            self._see(float(time), extents + self.scale * inner, load)
        there = extents + self.scale * found.y[:, -1]
        if not ended:
            return until, there, None
        which = next(n for n, hits in enumerate(found.t_events) if hits.size)
        if which == len(self.boundaries):
            self.seeded = True
            return reached, there, None
        return reached, there, self.boundaries[which][0]


def _jacobian(rates: Callable[[float, Floats], Floats], t: float, y: Floats) -> Floats:
    """Forward differences, with the row of the charge that of the aluminium which gives it.

    Two separately differenced rows would differ by rounding over the step, and so would charge
    and aluminium in the run. Nothing depends on charge and energy, so their columns are nothing.
    """
    here = rates(t, y)
    table = np.zeros((y.size, y.size))
    for column in range(y.size):
        if column in (Process.CHARGE, Process.ENERGY):
            continue
        moved = y.copy()
        moved[column] += _STEP
        table[:, column] = (rates(t, moved) - here) / (moved[column] - y[column])
    table[Process.CHARGE] = table[Process.DISCHARGE]
    return table


def _event(
    boundary: Boundary, moment: Callable[[float, Floats], Moment]
) -> Callable[[float, Floats], float]:
    def event(t: float, y: Floats) -> float:
        return boundary(moment(t, y))

    event.terminal = True  # pyright: ignore[reportFunctionMemberAccess]
    event.direction = -1.0  # pyright: ignore[reportFunctionMemberAccess]
    return event


def _boundaries(p: DischargeParameters, ends: EndConditions) -> list[tuple[EndReason, Boundary]]:
    """Functions that are positive while the run goes on and near 1 at its start."""
    aluminium, water = p.contents.aluminium, p.contents.water
    found: list[tuple[EndReason, Boundary]] = [
        (EndReason.ALUMINIUM_GONE, lambda m: float(m.amounts[Species.ALUMINIUM]) / aluminium),
        (EndReason.CATHODE_GIVES_OUT, lambda m: m.cathode_margin),
        (EndReason.VOLTAGE_TOO_LOW, lambda m: m.voltage - ends.cutoff_voltage),
        (
            EndReason.WATER_LOW,
            lambda m: float(m.amounts[Species.WATER]) / water - ends.least_water_share,
        ),
        (EndReason.GEL_FULL, lambda m: ends.greatest_solids_share - m.solids_share),
    ]
    if p.electrolyte is Electrolyte.LYE:
        hydroxide = p.contents.hydroxide
        found.append(
            (
                EndReason.HYDROXIDE_GONE,
                lambda m: (
                    float(m.amounts[Species.HYDROXIDE]) / hydroxide - ends.least_hydroxide_share
                ),
            )
        )
    most, hottest = ends.greatest_carbonate, ends.greatest_temperature
    if most is not None:
        found.append(
            (
                EndReason.CARBONATE_HIGH,
                lambda m: 1.0 - float(m.amounts[Species.CARBONATE]) / (m.volume * most),
            )
        )
    if hottest is not None:
        found.append((EndReason.TOO_HOT, lambda m: 1.0 - m.temperature / hottest))
    return found


def _scale(p: DischargeParameters) -> Floats:
    """What each process could turn over at most, so that one tolerance suits all."""
    scale = np.full(len(Process), p.contents.aluminium)
    scale[Process.CARBONATION] = max(p.contents.hydroxide, p.contents.aluminium)
    scale[[Process.EVAPORATION, Process.REFILL]] = p.contents.water
    charge = 3.0 * FARADAY * p.contents.aluminium
    scale[Process.CHARGE] = charge
    scale[[Process.ENERGY, Process.HEAT_MADE, Process.HEAT_PASSED_ON]] = (
        charge * p.heat.thermoneutral
    )
    return scale
