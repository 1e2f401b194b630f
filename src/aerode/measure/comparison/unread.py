"""Which electrodes of a comparison could not be read, why not, and what would help each of them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from aerode.errors import CannotTellError
from aerode.measure.curve_posterior import FEWEST_READINGS
from aerode.measure.readings import read_run
from aerode.measure.run_readings import remaining_loads
from aerode.quantities import Reason
from aerode.records.runs import RunSort

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from aerode.measure.comparison.study import Study
    from aerode.measure.comparison.values import Response
    from aerode.measure.run_data import RunData
    from aerode.records.electrodes import Electrode
    from aerode.records.runs import Run

__all__ = ["TooFewReadError", "Unread", "Why", "too_few_read", "unread_of"]

_OUT_OF_RANGE, _BEYOND_LIMIT = str(Reason.OUT_OF_RANGE), str(Reason.BEYOND_LIMIT)
_NAMED = 4
"""Electrodes that the one sentence names; all are in `unread`."""


class Why(StrEnum):
    """Why an electrode could not be read: what helps follows from it."""

    UNFINISHED = "its run is not finished"
    FEW_LOADS = "its run makes no curve"
    NO_RUN = "it has no run of load steps"
    OUTSIDE = "the point lies outside what was measured"
    OTHER = "another reason"


@dataclass(frozen=True, slots=True, kw_only=True)
class Unread:
    """One electrode that could not be read."""

    electrode: str
    run: str
    """The run that came furthest; "" where there is none."""
    why: Why
    reason: str
    """In words, as a clause about the electrode."""
    step: str
    """What helps it."""


class TooFewReadError(CannotTellError):
    """Fewer than two electrodes could be read, so nothing can be compared.

    Parameters
    ----------
    head : str
        How many could be read.
    unread : sequence of Unread
        Each that could not, with its reason.
    next_step : str
        What follows from the reasons.
    first : Unread or None
        The one whom the next step helps.
    """

    def __init__(
        self, head: str, unread: Sequence[Unread], *, next_step: str, first: Unread | None = None
    ) -> None:
        self.head = head
        self.first = first
        self.unread = tuple(unread)
        said = "; ".join(f"{one.electrode}: {one.reason}" for one in self.unread[:_NAMED])
        more = len(self.unread) - _NAMED
        tail = f"; and {more} more" if more > 0 else ""
        super().__init__(f"{head}. {said}{tail}", where="electrodes", next_step=next_step)


def too_few_read(
    study: Study, response: Response | None, left_out: Mapping[str, str]
) -> TooFewReadError:
    """The refusal where fewer than two electrodes could be read: each with its reason, and what follows.

    Parameters
    ----------
    study : Study
    response : Response or None
        The point; None where none was found that suits all.
    left_out : mapping of run to reason
        Runs that make a curve and could not be read at the point.

    Returns
    -------
    TooFewReadError
        The next step is that of the electrode that needs least: a run to finish, a load to read again,
        a run to begin; only where nothing but the point is in the way, another point.
    """
    found = unread_of(study, response, left_out)
    read, total = len(study.electrodes) - len(found), len(study.electrodes)
    first = min(found, key=lambda one: list(Why).index(one.why), default=None)
    unfinished = [one for one in found if one.why is Why.UNFINISHED]
    if len(unfinished) > 1:
        step = f"finish the runs {_listed([one.run for one in unfinished])}"
    else:
        step = first.step if first is not None else "measure a second electrode"
    return TooFewReadError(
        f"{read} of {total} electrodes could be read", found, next_step=step, first=first
    )


def unread_of(
    study: Study, response: Response | None, left_out: Mapping[str, str]
) -> tuple[Unread, ...]:
    """Each electrode asked for that could not be read, with its reason and what helps it.

    Parameters
    ----------
    study : Study
    response : Response or None
    left_out : mapping of run to reason

    Returns
    -------
    tuple of Unread
        In the order in which the electrodes stand.
    """
    curves = {e.name: _curves(study, e) for e in study.electrodes}
    suits = _suits_all(list(curves.values()), response)
    apart = response is None and sum(bool(own) for own in curves.values()) > 1  # no common voltage
    found = (
        _unread(study, e, curves[e.name], response, left_out, suits, apart)
        for e in study.electrodes
    )
    return tuple(one for one in found if one is not None)


def _unread(
    study: Study,
    electrode: Electrode,
    curves: Sequence[RunData],
    response: Response | None,
    left_out: Mapping[str, str],
    suits: str,
    apart: bool,
) -> Unread | None:
    """Why this one could not be read; None where it could."""
    name = electrode.name
    runs = study.runs_of(electrode, RunSort.LOADS)
    if curves:
        refused = [one for one in curves if one.source in left_out]
        if not apart and len(refused) < len(curves):
            return None
        run = (refused or list(curves))[-1]
        span = f"{_tidy(_span(run, response)[0])} to {_tidy(_span(run, response)[1])} {_unit(response)}"
        why = left_out.get(run.source, _OUT_OF_RANGE)
        if why not in {_OUT_OF_RANGE, _BEYOND_LIMIT}:
            step = f"look at the run {run.source}"
            return Unread(electrode=name, run=run.source, why=Why.OTHER, reason=why, step=step)
        said = f"{span}; beyond its limiting current" if why == _BEYOND_LIMIT else span
        return Unread(
            electrode=name, run=run.source, why=Why.OUTSIDE, reason=f"measured {said}", step=suits
        )
    if not runs:
        return Unread(
            electrode=name, run="", why=Why.NO_RUN, reason="no run of load steps yet",
            step=f"measure {name}: {FEWEST_READINGS} loads or more",
        )  # fmt: skip
    return _no_curve(study, electrode, max(runs, key=lambda run: _data(study, run, electrode).different_loads))  # fmt: skip


def _no_curve(study: Study, electrode: Electrode, run: Run) -> Unread:
    """An electrode whose best run has too few loads."""
    left = len(remaining_loads(run))
    data = _data(study, run, electrode)
    have = data.different_loads
    loads = f"{have or 'no'} usable load{'' if have == 1 else 's'}, a curve needs {FEWEST_READINGS}"
    if left and not run.finished:
        of = f"{left} of {len(run.planned_loads)} loads are still to read"
        return Unread(
            electrode=electrode.name, run=run.name, why=Why.UNFINISHED,
            reason=f"its run {run.name} is not finished: {of}", step=f"finish the run {run.name}",
        )  # fmt: skip
    standing = {p.load for p in data.points if p.used}
    bad = {
        p.load: p.why_not.split(":")[0].split(";")[0]
        for p in data.points
        if p.why_not and p.load not in {"", "open", *standing} and not p.why_not.startswith("replaced")
    }  # fmt: skip
    why = "".join(f"; {load}: {said}" for load, said in list(bad.items())[:_NAMED])
    again = _listed(list(bad)[:_NAMED])
    step = f"read {again} again in {run.name}" if bad else f"measure {electrode.name} with more loads: another resistor for each"  # fmt: skip
    return Unread(
        electrode=electrode.name, run=run.name, why=Why.FEW_LOADS,
        reason=f"its run {run.name} has {loads}{why}", step=step,
    )  # fmt: skip


def _data(study: Study, run: Run, electrode: Electrode) -> RunData:
    return read_run(run, study.instruments, electrode=electrode, cell=study.cell_of(run).cell)


def _curves(study: Study, electrode: Electrode) -> list[RunData]:
    every = [_data(study, run, electrode) for run in study.runs_of(electrode, RunSort.LOADS)]
    return [data for data in every if data.different_loads >= FEWEST_READINGS]


def _span(data: RunData, response: Response | None) -> tuple[float, float]:
    """What was measured: voltages [V], or current densities [mA/cm^2] where that is the question."""
    tab, seen = data.tab_points()
    if response is None or response.voltage is not None:
        return float(tab.min()), float(tab.max())
    area = data.area.value if data.area is not None else math.nan
    return float(seen.min()) / area * 0.1, float(seen.max()) / area * 0.1


def _unit(response: Response | None) -> str:
    return "V" if response is None or response.voltage is not None else "mA/cm²"


def _tidy(value: float) -> str:
    return f"{value:.2f}" if value < 10.0 else f"{value:.3g}"  # judgement: digits shown


def _suits_all(curves: Sequence[Sequence[RunData]], response: Response | None) -> str:
    """The step where only the point is in the way: a range that suits every electrode with a curve."""
    spans = [_span(own[-1], response) for own in curves if own]
    low, high = max((s[0] for s in spans), default=1.0), min((s[1] for s in spans), default=0.0)
    low, high = math.ceil(low * 100.0) / 100.0, math.floor(high * 100.0) / 100.0  # inside, as shown
    what = "voltage" if _unit(response) == "V" else "current density"
    if len(spans) < 2 or not low < high:
        return f"measure the same resistors on all: no {what} was reached by every one"
    return f"choose a {what} from {_tidy(low)} to {_tidy(high)} {_unit(response)}: that suits all that make a curve"


def _listed(names: Sequence[str]) -> str:
    if len(names) < 2:
        return "".join(names)
    return ", ".join(names[:-1]) + f" and {names[-1]}"
