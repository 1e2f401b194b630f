"""Runs over the JSON interface: begun, read by a person's program or a microcontroller, closed, fitted."""

from __future__ import annotations

import threading
from collections import OrderedDict
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated, Any

import pydantic
from fastapi import APIRouter, Body, Depends, Path, Query, Request
from starlette.responses import JSONResponse, Response

from aerode.records.figures import Figure
from aerode.records.fits import Fit
from aerode.records.logs import LogAnswer
from aerode.records.marks import record
from aerode.records.runs import Run
from aerode.usecases import take_readings
from aerode.usecases.fit import FitQuestion, fit_bench_run
from aerode.usecases.log_long import is_log
from aerode.usecases.log_reading import file_reading
from aerode.usecases.run_begin import RunWish, begin_run, note_conditions
from aerode.usecases.run_page import listed_runs, run_tells, under_way
from aerode.usecases.take_posted import PostedReading, take_posted
from aerode.usecases.tray_placing import place_reading
from aerode.web.bench import OpenBench, turn_of
from aerode.web.json.answering import body_of, query_of, settings_of, told
from aerode.web.json.records import NameInPath

if TYPE_CHECKING:
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.take_readings import RunAtBench

__all__ = ["Counted", "router"]

router = APIRouter(tags=["runs and readings"])

_MOST_AT_ONCE = 1000


@record
class RunLine:
    """One run of the list."""

    name: str
    electrode: str
    sort: str
    started: str
    taken: int
    left: int
    open: bool


@record
class RunList:
    """Some runs, those still open first, then the newest."""

    schema: str = "aerode.run-list/1"
    total: int
    runs: tuple[RunLine, ...]


class _Posted(pydantic.BaseModel):
    """One reading in SI. `count` is the sender's own counter: what was sent twice is taken once."""

    model_config = pydantic.ConfigDict(extra="forbid", allow_inf_nan=False)

    count: Annotated[int, pydantic.Field(ge=0, le=2**53)] | None = None
    voltage: Annotated[float, pydantic.Field(ge=-1000.0, le=1000.0)] | None = None
    current: Annotated[float, pydantic.Field(ge=-1000.0, le=1000.0)] | None = None
    waited: Annotated[float, pydantic.Field(ge=0.0, le=1e6)] | None = None
    load: Annotated[str, pydantic.Field(max_length=80)] | None = None
    take: bool = False
    keep_doubtful: bool = False


class Counted:
    """Counters that a sender has used already, for a while: a message sent again is known as such."""

    def __init__(self, most: int = 20_000) -> None:
        self._most = most
        self._seen: OrderedDict[tuple[str, str, int], None] = OrderedDict()
        self._lock = threading.Lock()

    def fresh(self, sender: str, run: str, posted: list[_Posted]) -> list[_Posted]:
        """Those that were not sent before, nor twice in this message."""
        with self._lock:
            found: list[_Posted] = []
            here: set[int] = set()
            for one in posted:
                if one.count is not None and (one.count in here or (sender, run, one.count) in self._seen):  # fmt: skip
                    continue
                here.update(() if one.count is None else (one.count,))
                found.append(one)
            return found

    def note(self, sender: str, run: str, posted: list[_Posted]) -> None:
        """They are on disk."""
        with self._lock:
            for one in posted:
                if one.count is not None:
                    self._seen[(sender, run, one.count)] = None
            while len(self._seen) > self._most:
                self._seen.popitem(last=False)


def _at(request: Request, bench: BenchFile, name: str) -> RunAtBench:
    return take_readings.run_at_bench(bench, name, clock=settings_of(request).clock)


def _sender(request: Request) -> str:
    state = request.scope["state"]
    key, visitor = state.get("key"), state.get("visitor")
    return f"key {key.number}" if key is not None else f"visitor {visitor.number}"


@router.get("/runs", response_model=RunList)
def runs(bench: OpenBench, skip: Annotated[int, Query(ge=0, le=10_000_000)] = 0) -> JSONResponse:
    """Runs, sixty at a time."""
    lines = tuple(
        RunLine(
            name=one.name, electrode=one.electrode, sort=one.sort, started=one.started, taken=one.taken,
            left=one.left, open=one.open,
        )
        for one in listed_runs(bench, skip=skip)
    )  # fmt: skip
    return told(RunList(total=bench.count(Run), runs=lines))


@router.post("/runs", response_model=LogAnswer, status_code=201)
def begin(
    request: Request, bench: OpenBench, wish: Annotated[RunWish, Depends(body_of(RunWish))]
) -> JSONResponse:
    """Begin a run, or go on with one that is open; an electrode or resistors named here are entered with it."""
    with turn_of(request):
        run = begin_run(bench, wish, clock=settings_of(request).clock)
        return told(_at(request, bench, run.name).standing(), status=201)


@router.get("/runs/{name:path}/standing", response_model=LogAnswer)
def standing(request: Request, bench: OpenBench, name: NameInPath) -> JSONResponse:
    """Where a run stands: the next load, what to expect there, what is left."""
    return told(_at(request, bench, name).standing())


@router.post("/runs/{name:path}/readings", response_model=LogAnswer)
def post_readings(
    request: Request,
    bench: OpenBench,
    name: NameInPath,
    readings: Annotated[list[_Posted], Body(min_length=1, max_length=_MOST_AT_ONCE, embed=True)],
) -> JSONResponse:
    """Readings off a logger, in order; each is watched, or taken where it says so. A key of this run is enough."""
    counted: Counted = request.app.state.counted
    sender = _sender(request)
    with turn_of(request):
        fresh = counted.fresh(sender, name, readings)
        at = _at(request, bench, name)
        wanted = [PostedReading(**one.model_dump(exclude={"count"})) for one in fresh]

        def stored(count: int) -> None:
            counted.note(sender, name, fresh[:count])

        answer = take_posted(at, wanted, stored=stored)
    return told(answer)


@router.post("/runs/{name:path}/readings/{index}/correction", response_model=LogAnswer)
def correct(
    request: Request,
    bench: OpenBench,
    name: NameInPath,
    index: Annotated[int, Path(ge=0, le=1_000_000)],
    text: Annotated[str, Body(embed=True, max_length=200)],
) -> JSONResponse:
    """Put another reading in the place of one that was typed wrong; the first stays beside it."""
    with turn_of(request):
        return told(take_readings.correct(_at(request, bench, name), index, text))


@router.post("/runs/{name:path}/readings/{index}/doubt", response_model=LogAnswer)
def doubt(
    request: Request,
    bench: OpenBench,
    name: NameInPath,
    index: Annotated[int, Path(ge=0, le=1_000_000)],
    why: Annotated[str, Body(embed=True, max_length=400)] = "",
    doubted: Annotated[bool, Body(embed=True)] = True,
) -> JSONResponse:
    """Doubt a reading, or take the doubt off it."""
    with turn_of(request):
        at = _at(request, bench, name)
        return told(take_readings.doubt(at, index, why) if doubted else take_readings.use_again(at, index))  # fmt: skip


class _Act(StrEnum):
    SKIP = "skip"
    BACK = "back"
    PUT = "put"
    FINISH = "finish"
    REOPEN = "reopen"
    DRY = "dry"
    WET = "wet"


@router.post("/runs/{name:path}/acts/{act}", response_model=LogAnswer)
def act(
    request: Request,
    bench: OpenBench,
    name: NameInPath,
    act: _Act,
    note: Annotated[str, Body(embed=True, max_length=400)] = "",
) -> JSONResponse:
    """Leave the next load out, take the last reading back or put it back, close the run, open it again, or note a look at the air face of a seep test."""
    with turn_of(request):
        at = _at(request, bench, name)
        if act is _Act.SKIP:
            return told(take_readings.skip_load(at, note))
        if act is _Act.BACK:
            return told(take_readings.take_last_back(at))
        if act is _Act.PUT:
            return told(take_readings.put_back(at))
        if act is _Act.FINISH:
            return told(take_readings.finish(at))
        if act is _Act.REOPEN:
            return told(take_readings.reopen(at))
        return told(take_readings.look_at_face(at, wet=act is _Act.WET, note=note))


@router.put("/runs/{name:path}/conditions", response_model=LogAnswer)
def conditions(
    request: Request, bench: OpenBench, name: NameInPath, texts: Annotated[dict[str, str], Body()]
) -> JSONResponse:
    """Conditions as typed: a value with its unit, "same", or "" where it may differ."""
    with turn_of(request):
        note_conditions(bench, name, texts)
        return told(_at(request, bench, name).standing())


@router.get("/runs/{name:path}/fit", response_model=Fit)
def fit(
    request: Request,
    bench: OpenBench,
    name: NameInPath,
    question: Annotated[FitQuestion, Depends(query_of(FitQuestion, frozenset({"columns", "units"})))],
) -> JSONResponse:  # fmt: skip
    """A fair curve from the readings, and what it can and cannot tell."""
    key = ("json fit", name, question)
    found = request.app.state.remembered.of(
        bench, key, lambda: fit_bench_run(bench, name, question)
    )
    return told(found)


@record
class FigureList:
    """The figures of a run as it stands."""

    schema: str = "aerode.figure-list/1"
    figures: tuple[Figure, ...]


@router.get("/runs/{name:path}/figures", response_model=FigureList)
def figures(request: Request, bench: OpenBench, name: NameInPath) -> JSONResponse:
    """The figures of a run: the curve as it grows, or the fitted one with where the voltage goes."""
    at = _at(request, bench, name)
    if is_log(at.run) and not at.run.finished:
        drawn = run_tells(bench, at.run, FitQuestion()).figures
    elif at.run.finished or not at.run.planned_loads:
        drawn: Any = request.app.state.remembered.of(
            bench, ("run", name, ""), lambda: run_tells(bench, bench.get(Run, name), FitQuestion())
        ).figures
    else:
        now = under_way(at)
        drawn = tuple(one for one in (now.curve, now.trace) if one is not None)
    return told(FigureList(figures=tuple(drawn)))


@router.get("/runs/{name:path}/stream", response_class=Response)
async def stream(request: Request, name: NameInPath) -> Response:
    """What comes in for this run, as server-sent events, until it is closed."""
    from aerode.web.run_stream import run_stream

    return await run_stream(request, name)


@router.post("/tray", response_model=LogAnswer, status_code=201)
def file_it(
    request: Request,
    bench: OpenBench,
    reading: Annotated[str, Body(max_length=200)],
    note: Annotated[str, Body(max_length=400)] = "",
) -> JSONResponse:
    """File one reading in the tray, to be placed later."""
    moment = settings_of(request).clock()
    with turn_of(request):
        return told(file_reading(bench, reading.split(), note=note, moment=moment), status=201)


@router.post("/tray/{name:path}/place", response_model=LogAnswer)
def place(
    request: Request,
    bench: OpenBench,
    name: NameInPath,
    electrode: Annotated[str, Body(max_length=80)],
    load: Annotated[str, Body(max_length=80)] = "",
) -> JSONResponse:
    """Make a run of its own of a reading in the tray."""
    with turn_of(request):
        run = place_reading(bench, name, electrode, load=load)
    return told(LogAnswer(headline=f"Placed as {run}.", run=run, tray=name, finished=True))
