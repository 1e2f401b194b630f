"""Measure: all runs, a new one, the guided run at the bench, and what a closed run tells."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
from starlette.exceptions import HTTPException
from starlette.responses import HTMLResponse, JSONResponse, Response

from aerode.errors import (
    AerodeError,
    ConflictError,
    InputError,
    RangeError,
    RecordError,
    UnitError,
)
from aerode.measure.run_plans import next_moment
from aerode.records.electrodes import Electrode
from aerode.records.runs import Run, RunSort
from aerode.usecases import take_readings
from aerode.usecases.fit import FitQuestion
from aerode.usecases.log_foretold import was_read
from aerode.usecases.log_hours import levels_from_text
from aerode.usecases.log_long import is_log
from aerode.usecases.read_next import in_turn
from aerode.usecases.run_begin import (
    RUN_KINDS,
    RunWish,
    begin_run,
    note_conditions,
    what_each_costs,
)
from aerode.usecases.run_cautions import before_a_run
from aerode.usecases.run_cells import (
    cell_of_bench_run,
    cells_of_run,
    name_cell,
    on_file_of_run,
    taken_cell_words,
)
from aerode.usecases.run_conditions import CONDITIONS
from aerode.usecases.run_early import early_words, is_unused
from aerode.usecases.run_instruments import resistors_at_hand
from aerode.usecases.run_page import (
    CONDITION_BUYS,
    PAGE,
    condition_rows,
    listed_runs,
    meter_choices,
    reading_rows,
    run_tells,
    tray,
    under_way,
)
from aerode.usecases.run_sealed import tape_off_first
from aerode.usecases.take_moved import take_and_mend
from aerode.usecases.take_timed import correct_timed, read_again, take_as_it_stands
from aerode.web.bench import OpenBench, turn_of
from aerode.web.figure_files import figure_file, find_figure
from aerode.web.form_plans import with_named_unit
from aerode.web.forms import Filled, go, new_once
from aerode.web.pages.next_acts import sealed_way, way_of_advice
from aerode.web.rendering import address, page

if TYPE_CHECKING:
    from collections.abc import Mapping

    from aerode.records.figures import Figure
    from aerode.records.logs import LogAnswer, LogStep
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.log_before import Suspect
    from aerode.usecases.run_page import RunTells
    from aerode.usecases.take_readings import RunAtBench

__all__ = ["router"]

router = APIRouter()


@router.get("/runs")
def runs(request: Request, bench: OpenBench, skip: int = 0) -> HTMLResponse:
    """All runs, newest first, those under way on top, and the tray."""
    skip = max(0, skip)
    remembered = request.app.state.remembered
    listed = remembered.of(bench, ("runs", skip), lambda: listed_runs(bench, skip=skip))
    waiting = tray(bench)
    unfinished = [one for one in listed if one.open]
    total = remembered.of(bench, ("count of runs",), lambda: bench.count(Run))
    turn = None if skip else remembered.of(bench, ("turn",), lambda: in_turn(bench))
    reading = [one for one in unfinished if one.sort not in {"seep", "run-down"}]
    closing = [one for one in listed if one.to_close]
    if closing:
        sentence = f"{closing[0].name}: every load is read, close it"
    elif reading:
        # what was begun, then whose turn it is, before what is open only
        reading.sort(key=lambda one: (not one.taken, turn is None or one.name != turn.run))
        sentence = f"{reading[0].name} waits for its next reading"
    elif unfinished and unfinished[0].sort == "run-down":
        sentence = f"{unfinished[0].name} is being logged"
    elif unfinished:
        sentence = f"{unfinished[0].name} is under water: look at its air face"
    elif total:
        sentence = "All runs are closed" if total > 1 else "One run, and it is closed"
    else:
        sentence = "Nothing has been measured yet"
    return page(
        request, "runs/list.html", stage="measure", sentence=sentence, runs=listed, tray=waiting,
        total=total, skip=skip, older=skip + PAGE if skip + PAGE < total else 0,
        newer=max(0, skip - PAGE) if skip else None, turn=turn,
    )  # fmt: skip


_UNITS = {
    "temperature": "°C",
    "hours_wet": "h",
    "charge_before": "mAh",
    "aluminium_charge": "mAh",
    "electrolyte_age": "h",
    "gap": "mm",
    "area": "cm^2",
    "head": "cm",
}
"""The units behind the labels of these forms: a number alone is taken in them."""


def _typed(form: Any, name: str) -> str:
    return with_named_unit(form.text(name), _UNITS.get(name, ""))


@dataclass(frozen=True, slots=True)
class _Start:
    """What the form of a new run shows: texts as typed, and what is wrong with them."""

    texts: Mapping[str, str]
    faults: Mapping[str, tuple[str, str]] = field(default_factory=dict[str, tuple[str, str]])

    def text(self, name: str) -> str:
        return self.texts.get(name, "")

    def fault(self, name: str) -> str:
        what, allowed = self.faults.get(name, ("", ""))
        return f"{what}. Allowed: {allowed}." if what and allowed else f"{what}." if what else ""


@router.get("/runs/start")
def start(
    request: Request, bench: OpenBench, electrode: str = "", kind: str = "full", control: str = ""
) -> HTMLResponse:
    """The form of a new run: which electrode, how, with which meter; all else is later."""
    texts = {"electrode": electrode, "kind": kind, "control": control}
    return _start_page(request, bench, _Start(texts))


def _start_page(request: Request, bench: BenchFile, shown: _Start) -> HTMLResponse:
    known = bench.to_pick_from(Electrode)
    kind = next((one for one in RUN_KINDS if one.word == shown.text("kind")), RUN_KINDS[0])
    return page(
        request, "runs/start.html", status=422 if shown.faults else 200, stage="measure", shown=shown,
        kinds=RUN_KINDS, electrodes=known, meters=meter_choices(bench), once=new_once(),
        has_resistors=bool(resistors_at_hand(bench)), resistors=sorted(resistors_at_hand(bench)), conditions=CONDITIONS, buys=CONDITION_BUYS,
        units=_UNITS, care=before_a_run(bench, shown.text("electrode")), turn=in_turn(bench), tape=tape_off_first(bench, " ".join(shown.text("electrode").split()), kind.sort), costs=what_each_costs(resistors_at_hand(bench)),
    )  # fmt: skip


@router.post("/runs/start")
def begin(request: Request, bench: OpenBench, form: Filled) -> Response:
    """Begin the run and go to its first reading."""
    if form.once and (led := request.app.state.sent.already(form.once)):
        return go(led)
    meter, _, scale = form.text("meter").partition(" | ")
    wish = RunWish(
        electrode=form.text("electrode"), kind=form.text("kind") or "full", meter=meter,
        voltage_range=scale, resistors=form.text("resistors"), area=_typed(form, "area"),
        head=_typed(form, "head"), load=form.text("load"), control=form.text("control") == "yes",
        conditions={name: _typed(form, name) for name in CONDITIONS},
    )  # fmt: skip
    try:
        with turn_of(request):
            run = begin_run(bench, wish, clock=request.app.state.settings.clock)
    except RecordError as refusal:
        faults = {one.field: (one.what, one.allowed) for one in refusal.faults}
        return _start_page(request, bench, _Start(form.texts, faults))
    place = address("runs", run.name)
    request.app.state.sent.note(form.once, place)
    return go(place)


@dataclass(frozen=True, slots=True)
class _Problem:
    """A reading that was not taken: why, and what can be done about it with one tap."""

    typed: str
    what: str
    allowed: str = ""
    next_step: str = ""
    may_keep: bool = False
    instead: tuple[str, ...] = ()
    others: tuple[str, ...] = ()
    """Resistors that this run has not read yet, at which it would be right."""
    status: int = 422
    load: str = ""
    """The load that it was typed for."""
    pressed: str = ""
    """The act that was asked for: what was meant instead does the same."""
    waited: str = ""
    """Since the load was put on, as the page's clock showed it then [s]."""
    may_be_so: bool = False
    """It is a question that the person may answer with yes."""
    gentle: bool = False
    """It lies just outside of what was stated."""
    suspect: Suspect | None = None
    """An earlier reading that may be the wrong one of the two."""
    index: int | None = None
    """The reading that was to be corrected; None where a new one was typed."""
    timed: str = ""
    """Which of its timed readings, counted from 0; "" for the whole load."""


def _at(request: Request, bench: BenchFile, name: str) -> RunAtBench:
    at = take_readings.run_at_bench(bench, name, clock=request.app.state.settings.clock)
    at.by_hand = True
    return at


def _guided_page(
    request: Request,
    at: RunAtBench,
    *,
    problem: _Problem | None = None,
    said: str = "",
    early: str = "",
) -> HTMLResponse:
    shown = under_way(at)
    rows = condition_rows(at.run, on_file_of_run(at.bench, at.run))
    wetted = at.run.sort not in {RunSort.SEEP, RunSort.CHECK_CELL}
    return page(
        request, "runs/guided.html", status=problem.status if problem else 200, stage="measure",
        run=at.run, now=shown, once=new_once(), problem=problem, said=said, early=early,
        figures=address("figures", "runs", at.run.name), state=at.bench.state(Run, at.run.name).digest,
        unknown=[row for row in rows if row.known.value == "may differ"],
        alone=at.bench.count(Run) <= 1, in_cell=taken_cell_words(at.bench, at.run),
        turn=in_turn(at.bench) if at.run.sort is RunSort.LOADS and not shown.readings else None,
        care=before_a_run(at.bench, at.run.electrode) if wetted else None, dry=not shown.readings,
    )  # fmt: skip


_SAID = {
    "saved": "Saved.",
    "early": "",
    "changed": "Changed; what stood there before is kept beside it.",
    "back": "Taken back.",
    "put": "Put back.",
    "open": "Open again.",
    "again": "Open again: put this load on and read it once more.",
    "noted": "",
    "other": "Saved at the resistor that was on; this load is still to be read: put it on.",
    "mended": "Saved, and the reading before it was put right; its resistor is still to be read: put it on.",
    "moving": "Saved, and it had not settled: no curve uses it. Take it back below and watch it longer, or go on.",
}


@router.get("/runs/{name:path}/stream", include_in_schema=False)
async def stream(request: Request, name: str) -> Response:
    """What comes in for this run, as it comes."""
    from aerode.web.run_stream import run_stream

    return await run_stream(request, name)


@router.get("/runs/{name:path}/standing", include_in_schema=False)
def standing(request: Request, bench: OpenBench, name: str) -> JSONResponse:
    """Where this run stands, in a few words: for a window that holds no stream."""
    from aerode.web.run_stream import standing_on

    now = standing_on(bench, name)
    return JSONResponse(
        {"state": now.digest, "finished": now.finished}, headers={"cache-control": "no-store"}
    )


@router.get("/runs/{name:path}/conditions")
def conditions(request: Request, bench: OpenBench, name: str) -> HTMLResponse:
    """The conditions of a run, to be filled in."""
    now = bench.get(Run, name)
    texts = {row.field: row.text for row in condition_rows(now)} | {"cell": now.cell}
    return _conditions_page(request, bench, name, _Start(texts))


def _conditions_page(request: Request, bench: BenchFile, name: str, shown: _Start) -> HTMLResponse:
    now = bench.get(Run, name)
    return page(
        request, "runs/conditions.html", status=422 if shown.faults else 200, stage="measure",
        run=now, shown=shown, rows=condition_rows(now, on_file_of_run(bench, now)), units=_UNITS,
        cells=[cell.name for cell in cells_of_run(bench, now)], taken=cell_of_bench_run(bench, now),
    )  # fmt: skip


@router.post("/runs/{name:path}/conditions")
def change_conditions(request: Request, bench: OpenBench, name: str, form: Filled) -> Response:
    """Store the conditions."""
    typed = {key: _typed(form, key) for key in CONDITIONS if key in form.texts}
    try:
        with turn_of(request):
            note_conditions(bench, name, typed)
            if form.text("cell"):
                name_cell(bench, form.text("cell"), (name,))
    except RecordError as refusal:
        faults = {one.field: (one.what, one.allowed) for one in refusal.faults}
        return _conditions_page(request, bench, name, _Start(form.texts, faults))
    return go(address("runs", name, said="changed"))


@router.post("/runs/{name:path}/readings/{index}")
def change_reading(
    request: Request, bench: OpenBench, name: str, index: int, form: Filled
) -> Response:
    """Correct a reading, doubt it, or use it again."""
    act = form.text("act")
    with turn_of(request):
        at = _at(request, bench, name)
        try:
            if act == "doubt":
                take_readings.doubt(at, index, form.text("why"))
            elif act == "use":
                take_readings.use_again(at, index)
            else:
                _correct(at, index, form)
        except (RangeError, UnitError, ConflictError, InputError) as refusal:
            return _not_corrected(request, bench, name, index, form, refusal)
    return go(address("runs", name, said="changed"))


def _correct(at: RunAtBench, index: int, form: Any) -> LogAnswer:
    text, timed = form.text("reading"), form.text("timed")
    why = (form.text("why") or "kept as typed") if form.text("act") == "keep" else ""
    if not text:
        raise UnitError("nothing was typed here", next_step="type what it should be")
    if timed.isdecimal() and not why:
        return correct_timed(at, index, int(timed), text)
    if "timed" in form.texts and timed != "all" and not why:
        raise InputError("which of its timed readings is it", next_step="choose one, and type it again")  # fmt: skip
    return take_readings.correct(at, index, text, why=why)


def _not_corrected(
    request: Request, bench: BenchFile, name: str, index: int, form: Any, refusal: AerodeError
) -> Response:
    """The run again, with the refusal beside the reading that was to be changed, and what was typed."""
    here = _at(request, bench, name)
    timed = form.text("timed")
    problem = _Problem(
        typed=form.text("reading"), what=refusal.what, allowed=refusal.allowed,
        next_step=refusal.next_step, index=index, timed=timed,
        may_keep=isinstance(refusal, RangeError) and not timed.isdecimal(),
        status=409 if isinstance(refusal, ConflictError) else 422,
    )  # fmt: skip
    if _is_closed(here):
        return _closed_page(request, bench, here, said="", at="", problem=problem)
    return _guided_page(request, here, problem=problem)


def _is_closed(here: RunAtBench) -> bool:
    """Whether the page of a run is what it tells, not its next step."""
    return here.run.finished or not (here.run.planned_loads or here.run.sort is RunSort.SEEP)


@router.get("/runs/{name:path}")
def run(
    request: Request, bench: OpenBench, name: str, said: str = "", at: str = "", under: str = ""
) -> HTMLResponse:
    """A run under way, or what a closed one tells."""
    here = _at(request, bench, name)
    if _is_closed(here):
        return _closed_page(request, bench, here, said=_SAID.get(said, ""), at=at, under=under)
    early = early_words(here.run, here.run.readings[-1]) if said == "early" and here.run.readings else ""  # fmt: skip
    return _guided_page(request, here, said=_SAID.get(said, ""), early=early)


@router.post("/runs/{name:path}")
def act(request: Request, bench: OpenBench, name: str, form: Filled) -> Response:
    """One act at the bench; what it stores is on disk before the answer leaves."""
    sent = request.app.state.sent
    if form.once and (led := sent.already(form.once)):
        return go(led)
    with turn_of(request):
        at = _at(request, bench, name)
        try:
            answer = _do(at, form)
        except (RangeError, UnitError, ConflictError) as refusal:
            return _guided_page(request, _at(request, bench, name), problem=_problem(at, form, refusal))  # fmt: skip
    done = (
        "mended"
        if form.text("earlier")
        else "other"
        if form.text("other")
        else _of_the_last(at)
        if answer.taken
        else _DONE.get(_act_of(form), "saved")
    )
    place = address("runs", name, said="" if at.run.finished else done)
    sent.note(form.once, place)
    return go(place)


def _of_the_last(at: RunAtBench) -> str:
    """What is said when a reading was taken: of one that moved, and of one that was read early, more than that."""
    last = at.run.readings[-1]
    if is_unused(at.run, last):
        return "moving"
    return "early" if early_words(at.run, last) else "saved"


_DONE = {"back": "back", "put": "put", "reopen": "open", "again": "again", "look": "noted"}
"""What is said after an act that takes no reading."""


def _act_of(form: Any) -> str:
    """The act that was pressed; of an answer to a question, the one that was asked about."""
    return form.text("act") or form.text("pressed")


def _do(at: RunAtBench, form: Any) -> LogAnswer:
    word, text, load = _act_of(form), form.text("reading_as") or form.text("reading"), form.texts.get("load")  # fmt: skip
    waited = _seconds(form.text("waited"), at)
    at.sure = form.text("sure") == "yes"
    at.typed_first = form.text("reading") if form.text("reading_as") else ""
    if form.text("earlier"):
        place, was = form.text("earlier_place"), form.text("earlier")
        return take_and_mend(
            at, text, int(place) if place.isdecimal() else -1, "" if was == "back" else was,
            load=load, waited=waited,
        )  # fmt: skip
    if form.text("other"):
        return take_readings.take_at_other(at, text, form.text("other"), load=load, waited=waited)
    if word == "end":
        return take_as_it_stands(at, text, load=load, waited=waited)
    if word == "again":
        place = form.text("place")
        return read_again(at, int(place) if place.isdecimal() else -1)
    if word == "look":
        return take_readings.look_at_load(at, text, load=load, waited=waited)
    if word == "keep":
        return take_readings.keep_anyway(at, text, form.text("why"), load=load)
    if word == "skip":
        return take_readings.skip_load(at, form.text("why"))
    if word == "finish":
        return take_readings.finish(at)
    if word == "back":
        return take_readings.take_last_back(at)
    if word == "put":
        return take_readings.put_back(at, form.text("place"))
    if word == "reopen":
        return take_readings.reopen(at)
    if word in {"dry", "wet"}:
        return take_readings.look_at_face(at, wet=word == "wet", note=form.text("note"))
    return take_readings.take_reading(at, text, load=load, waited=waited)


def _seconds(text: str, at: RunAtBench) -> float:
    """What the page's clock showed, or its next planned moment; else our own clock."""
    try:
        shown = float(text)
    except ValueError:
        shown = -1.0
    if 0.0 <= shown < 1e6:  # a day has 86 400 s: anything longer is no waiting time
        return shown
    step = at.next_step()
    if step is not None and step.moments:
        return next_moment(step.moments, [one for one, _ in at.trace()], 0.0)
    return round(at.since(at.clock()), 1)


def _problem(at: RunAtBench, form: Any, refusal: AerodeError) -> _Problem:
    typed = form.text("reading_as") or form.text("reading")
    step = at.next_step()
    current = step is not None and step.load == ""
    believed = isinstance(refusal, RangeError)
    return _Problem(
        load=form.text("load"),
        pressed=_act_of(form) if _act_of(form) in {"look", "end", "take"} else "take",
        waited=form.text("waited"),
        may_be_so=at.asked,
        gentle=at.gentle,
        suspect=at.suspect,
        typed=typed,
        what=refusal.what,
        allowed=refusal.allowed,
        next_step=refusal.next_step,
        may_keep=believed,
        others=tuple(one for one in at.others if not at.watched and was_read(at, one) is None),
        instead=take_readings.same_number_as(
            typed,
            current=current,
            expected=step.expected_voltage if step else None,
            band=_band(step),
        )
        if believed
        else (),
        status=409 if isinstance(refusal, ConflictError) else 422,
    )


def _band(step: LogStep | None) -> tuple[float, float] | None:
    """What is said to be expected [V]; None where nothing is."""
    if step is None or step.expected_low is None or step.expected_high is None:
        return None
    return step.expected_low, step.expected_high


def _told(
    request: Request, bench: BenchFile, run_: Run, at: str, levels: tuple[float, ...] = ()
) -> RunTells:
    question = FitQuestion(at=(at,) if at else ())
    if (
        is_log(run_) and not run_.finished
    ):  # its newest rows are beside the bench: nothing to remember
        return run_tells(bench, run_, question, under=levels)
    return request.app.state.remembered.of(
        bench,
        ("run", run_.name, at, *levels),
        lambda: run_tells(bench, run_, question, under=levels),
    )


def _closed_page(
    request: Request, bench: BenchFile, here: RunAtBench, *, said: str, at: str,
    problem: _Problem | None = None, under: str = "",
) -> HTMLResponse:  # fmt: skip
    run_ = here.stored.run if here.stored is not None else bench.get(Run, here.run.name)
    remembered = request.app.state.remembered
    on_file, in_cell = remembered.of(
        bench,
        ("around run", run_.name),
        lambda: (on_file_of_run(bench, run_), cell_of_bench_run(bench, run_)),
    )
    levels, not_read = _levels(under)
    tells = _told(request, bench, run_, at, levels)
    return page(
        request, "runs/closed.html", stage="measure", run=run_, said=said, at=at,
        status=problem.status if problem else 200, problem=problem,
        tells=tells, rows=reading_rows(run_, here.resistors),
        conditions=condition_rows(run_, on_file), in_cell=in_cell,
        figures=address("figures", "runs", run_.name),
        once=new_once(), advice=_advice(tells, run_.electrode), under=under, not_read=not_read,
    )  # fmt: skip


def _levels(text: str) -> tuple[tuple[float, ...], str]:
    """The levels that were asked for [V], and what cannot be read of them."""
    try:
        return levels_from_text(text), ""
    except AerodeError as refusal:
        return (), f"{refusal.what}. Allowed: {refusal.allowed}." if refusal.allowed else f"{refusal.what}."  # fmt: skip


def _advice(tells: RunTells, electrode: str) -> list[tuple[str, tuple[str, str] | None]]:
    """What would tell more, each with its button where a page does it."""
    lines = tells.fit.advice if tells.fit is not None else ()
    told = [(line, way_of_advice(line, electrode)) for line in lines]
    row = tells.to_seal
    return [*told, (row.next_step, sealed_way(row.electrode))] if row is not None else told


@router.get("/figures/runs/{name:path}/{figure}.{ending}")
def run_figure(
    request: Request, bench: OpenBench, name: str, figure: str, ending: str, at: str = ""
) -> Response:
    """A figure of a run as a file."""
    found = bench.get(Run, name)
    drawn: list[Figure] = []
    if found.finished or not found.planned_loads:
        drawn = [*_told(request, bench, found, at).figures]
    else:
        now = under_way(_at(request, bench, name))
        drawn = [one for one in (now.curve, now.trace) if one is not None]
    if ending not in {"svg", "csv"}:
        raise HTTPException(404)
    return figure_file(find_figure(drawn, figure), ending)
