"""One run as a person sees it: under way with its next step, or closed with what it tells; and all runs in a list."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from aerode import units
from aerode.errors import AerodeError
from aerode.measure.picturing import polarization_curves
from aerode.measure.run_plans import AGAIN, OPEN, minutes, next_moment
from aerode.measure.run_readings import (
    check_places,
    remaining_loads,
    standing_readings,
    taken_readings,
    waits_to_be_closed,
)
from aerode.measure.settling import STANDS_STILL, settled_voltage
from aerode.records.electrodes import Electrode
from aerode.records.instruments import Instrument
from aerode.records.marks import Known
from aerode.records.runs import Run, RunSort, Settling, Unsorted
from aerode.usecases.bench_words import written_value
from aerode.usecases.fit import FitQuestion, fit_bench_run
from aerode.usecases.log_charge import drawn_words
from aerode.usecases.log_foretold import said_of_sister
from aerode.usecases.log_hours import hours_words
from aerode.usecases.log_long import is_log, load_of, log_stands
from aerode.usecases.log_run import AMMETER
from aerode.usecases.run_conditions import CONDITIONS, LOT
from aerode.usecases.run_early import by_plan, if_taken_now, is_unused, still_to_come
from aerode.usecases.run_instruments import resistors_of
from aerode.usecases.run_page_figures import (
    face_looks,
    growing_curve,
    loss_split,
    settling_trace,
)
from aerode.usecases.run_page_told import ToldRow, told_rows
from aerode.usecases.run_sealed import (
    TAPE_FIRST,
    found_without_air,
    still_to_seal,
    tape_off_at_close,
    tape_off_first,
    without_air_words,
)
from aerode.usecases.run_usable import usable_loads
from aerode.usecases.take_table_figure import figure_of_series

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from aerode.records.comparisons import AirOrBattery
    from aerode.records.figures import Figure
    from aerode.records.fits import Fit
    from aerode.records.logs import LogStep
    from aerode.records.runs import Reading
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.run_at_bench import RunAtBench
    from aerode.usecases.run_cells import OnFile
    from aerode.usecases.run_usable import LeftOut, UsableLoads

__all__ = [
    "PAGE",
    "ConditionRow",
    "ListedRun",
    "ReadingRow",
    "RunTells",
    "UnderWay",
    "condition_rows",
    "expected_words",
    "listed_runs",
    "load_words",
    "meter_choices",
    "reading_rows",
    "run_tells",
    "tray",
    "under_way",
]

_STEADY_WORDS = f"Take it after two minutes, or sooner once it stands still: {STANDS_STILL}"
"""When a reading may be taken: the waiting time of `aerode.measure.run_plans`, or the rule of `aerode.measure.settling`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ListedRun:
    """One line of the list of runs."""

    name: str
    electrode: str
    sort: str
    started: str
    taken: int
    left: int
    open: bool
    to_close: bool = False
    """Every load is read, and nobody closed it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingRow:
    """One reading as a row: as typed, as understood, and what is held against it."""

    index: int
    load: str
    typed: str
    voltage: str
    current: str
    settling: str
    doubt: str
    replaced_by: int | None
    again: str = ""
    """Why this load was read a second time; "" where it was not."""
    timed: tuple[str, ...] = ()
    """Its timed readings in words, in order, where it has several."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ConditionRow:
    """One condition of a run: how it is known, and the text that a form shows."""

    field: str
    words: str
    known: Known
    chip: str
    """How it is known, in a word or two."""
    text: str
    example: str
    buys: str
    on_file: OnFile | None = None
    """The other record that tells it, where the run itself does not."""


@dataclass(frozen=True, slots=True, kw_only=True)
class UnderWay:
    """A run that is open, at its next step."""

    run: Run
    step: LogStep | None
    asks_current: bool
    load_words: str
    expected: str
    ready: bool
    """Whether the reading may be taken now, as far as the timed readings tell."""
    say: str
    since: float
    """Seconds since the load was put on."""
    next_moment: float | None
    """When this load is read next [s], later than now; None where one settled reading is wanted."""
    minutes_left: float
    minutes_after: float
    """Of them those of the loads after this one."""
    here: float
    """What this load usually takes [s]."""
    taken: int
    planned: int
    readings: tuple[ReadingRow, ...]
    curve: Figure | None
    trace: Figure | None
    moments: tuple[int, ...] = ()
    """The planned moments of this load that wait for a reading [s]."""
    last_noted: float = 0.0
    """When this load was read last [s]."""
    still_moves: bool = False
    """Every planned moment is past and it has not settled."""
    noted: int = 0
    """Timed readings of the load that is on."""
    if_taken: str = ""
    """What it costs to take what is noted so far, before it stands still."""
    usable: UsableLoads | None = None
    """What the loads are worth, once every one is read."""
    last: str = ""
    """The last reading, in words, where it can be taken back."""
    beside: str = ""
    """What another piece of the recipe read at this load, where this run foretells far from it."""
    back: tuple[int, str] | None = None
    """The place of a reading of this load that was taken back and can be put back, and its words."""
    first: str = ""
    """What is done before anything is read: a tape that the run before left on the air face."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RunTells:
    """What a closed run tells: the fit and its figures, or why there is none."""

    sentence: str
    refusal: str = ""
    next_step: str = ""
    fit: Fit | None = None
    rows: tuple[ToldRow, ...] = ()
    figures: tuple[Figure, ...] = ()
    again: tuple[LeftOut, ...] = ()
    """Loads to read once more, where a curve lacks them."""
    hours: tuple[str, ...] = ()
    """Of a log when its voltage fell under a level, then what that rests on."""
    to_seal: AirOrBattery | None = None
    """Why nobody can tell yet whether air feeds its electrode; None where it is told."""
    act: str = ""
    """What is done at the piece now: its tape comes off."""


PAGE = 60
"""Runs on one page of the list."""


def listed_runs(bench: BenchFile, *, skip: int = 0) -> list[ListedRun]:
    """A page of runs, newest first; those still open stand on top."""
    runs = [_listed(run) for run in bench.latest(Run, count=PAGE, skip=skip)]
    return sorted(runs, key=lambda one: not (one.open or one.to_close))


def _listed(run: Run) -> ListedRun:
    taken, left = taken_readings(run), remaining_loads(run)
    begun = bool(run.planned_loads) or run.sort is RunSort.SEEP or is_log(run)
    return ListedRun(
        name=run.name,
        electrode=run.electrode,
        sort=str(run.sort),
        started=run.started,
        taken=len(run.observations) if run.sort is RunSort.SEEP else len(taken),
        left=len(left),
        open=begun and not run.finished and (bool(left) or _still_dry(run) or is_log(run)),
        to_close=waits_to_be_closed(run) and not is_log(run),
    )


def _still_dry(run: Run) -> bool:
    """A seep test goes on until somebody has seen it wet."""
    return run.sort is RunSort.SEEP and not any(look.wet for look in run.observations)


def tray(bench: BenchFile) -> list[Unsorted]:
    """The readings that nobody has placed yet, the newest first."""
    return [one for one in bench.latest(Unsorted, count=MOST_IN_TRAY) if not one.placed_in]


MOST_IN_TRAY = 200
"""Readings of the tray that are looked through; older ones are found in the history."""


def load_words(load: str, *, sort: RunSort = RunSort.LOADS) -> str:
    """A load as a person says it."""
    if load == OPEN:
        return "no load"
    return load or ("ammeter" if sort is RunSort.SHORT_CIRCUIT else "no load named")


def reading_rows(run: Run, resistors: Mapping[str, float]) -> tuple[ReadingRow, ...]:
    """Every reading of a run, those that were replaced too, in the order they were taken."""
    later = {r.replaces: k for k, r in enumerate(run.readings) if r.replaces is not None}
    closing = check_places(run)
    return tuple(
        ReadingRow(
            index=k,
            load=load_words(r.load, sort=run.sort) if not r.resistance else units.write(r.resistance, "ohm"),
            typed=r.text,
            voltage="" if r.voltage is None else f"{units.plain(r.voltage, 4)} V",
            current=_current_words(r, resistors),
            settling=_settling_words(run, r),
            again=AGAIN if k in closing else "",
            timed=tuple(f"at {t:.0f} s: {units.plain(v, 4)} V" for t, v in r.trace),
            doubt=r.doubt,
            replaced_by=later.get(k),
        )
        for k, r in enumerate(run.readings)
    )  # fmt: skip


def _current_words(reading: Reading, resistors: Mapping[str, float]) -> str:
    if reading.current is not None:
        return f"{units.plain(1e3 * reading.current, 4)} mA, read"
    ohms = reading.resistance or resistors.get(reading.load)
    if reading.voltage is None or ohms is None:
        return ""
    return f"{units.plain(1e3 * reading.voltage / ohms, 3)} mA"


_UNUSED_AT_REST = "the curve does not use it: without a load no current flows"
_SETTLING_WORDS = {Settling.EXTRAPOLATED: "on its way, and used where it was going"}


def _settling_words(run: Run, reading: Reading) -> str:
    if reading.trace and reading.waited is None:
        return f"still watched, {len(reading.trace)} timed"
    waited = f" after {reading.waited:.0f} s" if reading.waited is not None else ""
    if (
        run.sort is RunSort.LOADS
        and reading.load == "open"
        and not reading.trace
        and reading.settling is Settling.NOT_KNOWN
    ):
        return f"read{waited}; {_UNUSED_AT_REST}" if waited else _UNUSED_AT_REST
    if volts := still_to_come(run, reading):
        return f"read{waited}, may still move by about {volts}"
    if reading.trace and reading.settling is Settling.NOT_SETTLED and not is_unused(run, reading):
        return f"read{waited}"
    if reading.trace and reading.settling is not Settling.NOT_KNOWN:
        return f"{_SETTLING_WORDS.get(reading.settling, reading.settling)}{waited}"
    if reading.settling is Settling.NOT_SETTLED:
        return f"not settled, read{waited}" if waited else "not settled"
    return f"read{waited}" if waited else ""


def condition_rows(
    run: Run, on_file: Mapping[str, OnFile] | None = None
) -> tuple[ConditionRow, ...]:
    """The conditions that a person can type, each with what is known of it and what knowing it buys.

    Parameters
    ----------
    run : Run
    on_file : mapping, optional
        What other records tell of conditions that the run leaves open, as `on_file_of_run` gives it:
        such a condition counts as known, and the row says where it is from.
    """
    rows: list[ConditionRow] = []
    for name, (unit, example) in CONDITIONS.items():
        now = getattr(run, name)
        told = (on_file or {}).get(name)
        lot = unit == LOT and now.known is Known.MAY_DIFFER and bool(now.text)
        words = (
            f"lot {now.text}" if lot else written_value(now, type(now), "" if unit == LOT else unit)
        )
        text = "same" if now.known is Known.SAME else now.text or (words if now.known is Known.MEASURED else "")  # fmt: skip
        rows.append(
            ConditionRow(
                field=name, words=told.words if told else words,
                known=told.known if told else Known.MEASURED if lot else now.known,
                chip="on the bench" if told else "named" if lot else now.known.value,
                text=text, example=example, buys=CONDITION_BUYS[name], on_file=told,
            )
        )  # fmt: skip
    return tuple(rows)


CONDITION_BUYS = {
    "temperature": "a comparison across a warming room: without it two days cannot be compared",
    "salinity": "the electrolyte's own resistance, and a comparison with another bucket of it",
    "hours_wet": "a way to tell ageing from a difference between recipes",
    "charge_before": "a way to tell a worn electrode from a worse one",
    "aluminium_charge": "a way to tell worn aluminium from a worse electrode",
    "electrolyte_age": "a way to tell an electrolyte that has gelled from a worse electrode",
    "gap": "the share of the resistance that is water, not electrode",
    "aluminium": "a way to tell another sheet of aluminium from another electrode",
}
"""What each condition buys when it is known, fit to stand after "Buys "; it stands beside its field."""


def under_way(at: RunAtBench) -> UnderWay:
    """A run that is open: what to read next, what to expect, when it may be read.

    Parameters
    ----------
    at : RunAtBench
        As `run_at_bench` gives it.
    """
    step = at.next_step()
    shown = _with_watched(at)
    moment = at.clock()
    ready, say, trace = _settled(at, step)
    if at.run.sort is RunSort.SEEP:
        curve = face_looks(at.run, at.run.observations)
    else:
        foretold = None if at.run.sort is RunSort.SEALED_FACE else step  # what air would give
        curve = growing_curve(at.run, at.current_readings(), at.resistors, _area(at.bench, at.run), foretold)  # fmt: skip
    sealed = at.run.sort is RunSort.SEALED_FACE
    expected = without_air_words(at.bench, at.run, step) if sealed else expected_words(step)
    left, since, trace_now = at.remaining(), at.since(moment), at.trace()
    here, after = minutes(at.run.plan, tuple(left[:1])), minutes(at.run.plan, tuple(left[1:]))
    planned = step.moments if step is not None else ()
    noted = tuple(one for one, _ in trace_now)
    return UnderWay(
        run=at.run,
        step=step,
        asks_current=step is not None and step.load == AMMETER,
        load_words=load_words(step.load, sort=at.run.sort) if step else "",
        expected=expected,
        ready=ready,
        say=say,
        since=since,
        next_moment=next_moment(planned, noted, since) if planned else None,
        moments=tuple(round(one) for one in planned[len(noted) :]),
        last_noted=noted[-1] if noted else 0.0,
        still_moves=len(noted) >= len(planned) > 0,
        noted=len(noted),
        if_taken="" if ready or at.watched is None else if_taken_now(at.run, at.watched),
        usable=usable_loads(at.bench, at.run) if step is None else None,
        minutes_left=after + max(0.0, here - since / 60.0),
        minutes_after=after,
        here=60.0 * here,
        taken=len(at.run.planned_loads) - len(left),
        planned=len(at.run.planned_loads),
        readings=reading_rows(shown, at.resistors),
        last=_last_words(at),
        back=_back_words(at, step),
        first=""
        if shown.readings or shown.observations
        else tape_off_first(at.bench, at.run.electrode, at.run.sort, run=at.run.name),
        beside=said_of_sister(at, step.load) if step is not None and not sealed else "",
        curve=curve,
        trace=trace,
    )


def _last_words(at: RunAtBench) -> str:
    """The last reading that stands, as words for a button; "" where there is none."""
    if at.watched is not None:
        return f"what was watched at {load_words(at.watched.load)}"
    place = at.last_taken()
    return "" if place is None else _in_words(at.run.readings[place], at.run.sort)


def _back_words(at: RunAtBench, step: LogStep | None) -> tuple[int, str] | None:
    place = at.back_at(step.load) if step is not None else None
    return None if place is None else (place, _in_words(at.run.readings[place], at.run.sort))


def _in_words(reading: Reading, sort: RunSort) -> str:
    if reading.voltage is not None:
        return f"{units.plain(reading.voltage, 4)} V at {load_words(reading.load, sort=sort)}"
    return f"{units.plain(1e3 * (reading.current or 0.0), 4)} mA at the ammeter"


def _with_watched(at: RunAtBench) -> Run:
    if at.watched is None:
        return at.run
    return replace(at.run, readings=(*at.run.readings, at.watched))


def _area(bench: BenchFile, run: Run) -> float | None:
    piece = bench.find(Electrode, run.electrode) if run.electrode else None
    area = piece.wetted_area if piece is not None else None
    return area.value if area is not None and area.value > 0.0 else None


CHECKS = "the same load once more checks what the run itself has changed"


def expected_words(step: LogStep | None) -> str:
    """What the meter should show at this step, in words; "" where nothing can be said."""
    if step is None or step.expected_voltage is None or step.load == AMMETER:
        return ""
    if step.again and step.expected_low is not None:
        near = step.expected_voltage - step.expected_low
        return f"{step.expected_voltage:.3f} V again as the first time, give or take {near:.2f} V for drift: {CHECKS}"  # fmt: skip
    if step.load == OPEN and step.expectation.startswith("a guess"):
        return f"{step.expected_low:.2f} to {step.expected_high:.2f} V, {step.expectation}"
    said = f"{step.expected_voltage:.2f} V"
    if step.expected_low is not None and step.expected_high is not None:
        said += f" ({step.expected_low:.2f} to {step.expected_high:.2f})"
    if step.expected_current:
        said += f", {units.plain(1e3 * step.expected_current)} mA"
    return said


def _settled(at: RunAtBench, step: LogStep | None) -> tuple[bool, str, Figure | None]:
    """Whether the reading may be taken now, in words, with the trace."""
    if step is None or step.load == AMMETER:
        return True, "", None
    trace = at.trace()
    if not trace:
        if step.moments:
            return False, f"Read it {', '.join(f'{m:.0f}' for m in step.moments)} s after the load is on.", None  # fmt: skip
        first = at.run.sort is RunSort.SEALED_FACE and not at.run.readings
        return False, f"{TAPE_FIRST}. {_STEADY_WORDS}." if first else f"{_STEADY_WORDS}.", None
    found = settled_voltage(trace)
    if step.moments:
        found = replace(found, reason=by_plan(found.reason))
    picture = settling_trace(trace, found)
    noted = f"Noted {units.plain(trace[-1][1], 4)} V at {trace[-1][0]:.0f} s."
    if found.voltage is not None and not found.extrapolated:
        return True, f"{noted} It stands still: take the reading now.", picture
    if found.voltage is not None:
        band = units.write(found.voltage, "V", found.standard_uncertainty)
        return True, f"{noted} It is on its way to {band}: it may be taken now, and that is where the curve puts it.", picture  # fmt: skip
    ends = " The load is not done: note it again, or leave it so, and no curve uses it." if len(trace) >= len(step.moments) > 0 else ""  # fmt: skip
    return False, f"{noted} {found.reason[:1].upper()}{found.reason[1:]}.{ends}", picture


def run_tells(
    bench: BenchFile, run: Run, question: FitQuestion, *, under: Sequence[float] = ()
) -> RunTells:
    """What a closed run tells, or why it tells nothing yet.

    Parameters
    ----------
    bench : BenchFile
        Open.
    run : Run
        One of its runs.
    question : FitQuestion
        Where the voltage is wanted, and what else goes before what the bench says.
    under : sequence of float [V]
        Of a log: the levels under which its fall is asked for; none for the usual ones.
    """
    if run.sort is RunSort.SEEP:
        return _seep(run)
    if run.sort is RunSort.SHORT_CIRCUIT:
        return _ammeter(run)
    if is_log(run):
        return _logged(bench, run, under)
    if run.sort is RunSort.SEALED_FACE:
        return _sealed(bench, run)
    try:
        found = fit_bench_run(bench, run.name, question)
    except AerodeError as refusal:
        drawn = growing_curve(
            run, standing_readings(run), resistors_of(bench), _area(bench, run), None
        )
        loads = usable_loads(bench, run)
        again = loads.again if loads is not None and not loads.enough else ()
        names = " and ".join(dict.fromkeys(one.load for one in again))
        return RunTells(
            sentence="This run does not make a curve yet",
            refusal=str(refusal.what),
            next_step=f"read {names} again: nothing is lost by it" if again else refusal.next_step,
            figures=() if drawn is None else (drawn,),
            again=again,
        )
    losses = loss_split(found)
    curves = (polarization_curves([found], ()),) if found.curve is not None else ()
    return RunTells(
        sentence=found.headline,
        fit=found,
        rows=told_rows(found, question.at),
        to_seal=still_to_seal(bench, run.electrode)
        if run.electrode and run.sort is RunSort.LOADS
        else None,
        figures=(*curves, *(() if losses is None else (losses,))),
    )


def _logged(bench: BenchFile, run: Run, under: Sequence[float]) -> RunTells:
    """A log of hours: what it holds by now, and its figure."""
    said = log_stands(bench, run).headline.removesuffix(".")
    load = load_of(run)
    said += f", {load_words(load)}" if load == OPEN else f", at {load}" if load else ""
    try:
        drawn = figure_of_series(bench, run.name).figure
    except AerodeError:
        return RunTells(
            sentence=said,
            next_step="" if run.finished else "make a key for the logger, and let it post",
            act=""
            if run.finished
            else tape_off_first(bench, run.electrode, run.sort, run=run.name),
        )
    seen = drawn.alt.partition(": ")[2].rpartition(", over")[0]  # how long is said already
    told = ". ".join((f"{said}; {seen}", *(f"{one[0].upper()}{one[1:]}" for one in drawn_words(bench, run))))  # fmt: skip
    return RunTells(sentence=told, figures=(drawn,), hours=hours_words(bench, run, under))


def _seep(run: Run) -> RunTells:
    wet = [look.at for look in run.observations if look.wet]
    dry = [look.at for look in run.observations if not look.wet]
    drawn = face_looks(run, run.observations)
    figures = () if drawn is None else (drawn,)
    if wet:
        before = max((at for at in dry if at < min(wet)), default=0.0)
        said = f"It leaked between {units.plain(before / 3600.0, 3)} and {units.plain(min(wet) / 3600.0, 3)} h"
    elif dry:
        said = f"Still dry after {units.plain(max(dry) / 3600.0, 3)} h; when it would leak is not known"
    else:
        said = "Nobody has looked at the air face yet"
    return RunTells(sentence=said, figures=figures)


def _sealed(bench: BenchFile, run: Run) -> RunTells:
    """What the taped air face found; a curve of it would describe no electrode."""
    said, step = found_without_air(bench, run)
    resistors, area = resistors_of(bench), _area(bench, run)
    drawn = growing_curve(run, standing_readings(run), resistors, area, None)
    figures = () if drawn is None else (drawn,)
    return RunTells(sentence=said, next_step=step, act=tape_off_at_close(bench, run), figures=figures)  # fmt: skip


def _ammeter(run: Run) -> RunTells:
    read = [r for r in standing_readings(run) if r.current is not None and not r.doubt]
    if not read:
        return RunTells(sentence="No current was read in this run")
    shown = 1e3 * (read[-1].current or 0.0)
    said = f"The ammeter showed {units.plain(shown, 4)} mA"
    return RunTells(
        sentence=said,
        refusal="Its own resistance was the load, so this is one point of the cell at an unknown load, and no power.",
        next_step="for a fair comparison read the voltage over resistors",
    )


def meter_choices(bench: BenchFile) -> list[tuple[str, str]]:
    """Meters with their ranges, as pairs of (meter, range)."""
    found: list[tuple[str, str]] = []
    for part in bench.all(Instrument):
        if part.gone is None and part.sort.value in {"multimeter", "logger"}:
            found += [(part.name, one.name) for one in part.ranges] or [(part.name, "")]
    return found
