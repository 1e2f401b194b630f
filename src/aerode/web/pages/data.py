"""Data: what comes onto the bench, shown before it is taken; what leaves it; copies, check, conflicts."""

from __future__ import annotations

import secrets
import shutil
import tempfile
import threading
import weakref
from collections import OrderedDict
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any
from urllib.parse import urlencode

from fastapi import APIRouter, Request
from starlette.exceptions import HTTPException
from starlette.responses import HTMLResponse, Response, StreamingResponse

from aerode.errors import AerodeError
from aerode.records.electrodes import Electrode
from aerode.records.instruments import Instrument, Sort
from aerode.records.runs import Run
from aerode.store.bench_file import BenchFile
from aerode.usecases import bench_copies
from aerode.usecases.bench_export import export
from aerode.usecases.bench_settle import conflicts_of
from aerode.usecases.folder_examples import EXAMPLES, example_folder
from aerode.usecases.offered import Offered, Seen, look, recognise, take
from aerode.usecases.offered import Sort as FileSort
from aerode.usecases.take_table import TableQuestion
from aerode.web.bench import OpenBench, Passing, gate_of
from aerode.web.forms import Filled, go, new_once
from aerode.web.rendering import address, page

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

__all__ = ["Waiting", "router", "waiting_of"]

router = APIRouter()
_MOST_WAITING = 8
"""Files that wait to be confirmed; the oldest gives way."""
_FEW = 5
_CHUNK = 2**18
_SAID = (
    "electrode",
    "load",
    "meter",
    "decimal",
    "dates",
    "clock",
    "delimiter",
    "source",
    "note",
    "begun",
)
_LISTED = ("of", "columns", "units")
WITHHELD = (
    ("who", "names of people", "who entered what"),
    ("note", "notes", ""),
    ("price", "prices", ""),
    ("files", "photos and logs", ""),
    ("originals", "photos as they came from the camera", "the smaller copies stay"),
)


class Waiting:
    """Files that were handed in and wait to be confirmed, each in a folder of its own until then."""

    def __init__(self) -> None:
        self._root = Path(tempfile.mkdtemp(prefix="aerode-"))
        # Also where the program ends with files still waiting.
        weakref.finalize(self, shutil.rmtree, self._root, ignore_errors=True)
        self._kept: OrderedDict[str, Offered] = OrderedDict()
        self._lock = threading.Lock()

    def put(self, name: str, data: bytes) -> str:
        """Keep a file; the mark under which it waits.

        Raises
        ------
        InputError
            Nothing that is understood.
        """
        mark = secrets.token_hex(8)
        folder = self._root / mark
        folder.mkdir()
        try:
            offered = recognise(name, data, folder)
        except AerodeError:
            shutil.rmtree(folder, ignore_errors=True)
            raise
        self._keep(mark, offered)
        return mark

    def offer(self, offered: Offered) -> str:
        """Keep a file that lies somewhere already, and is left there; the mark under which it waits."""
        mark = secrets.token_hex(8)
        self._keep(mark, offered)
        return mark

    def _keep(self, mark: str, offered: Offered) -> None:
        with self._lock:
            self._kept[mark] = offered
            gone = [
                self._kept.popitem(last=False)[0] for _ in range(len(self._kept) - _MOST_WAITING)
            ]
        for old in gone:
            shutil.rmtree(self._root / old, ignore_errors=True)

    def get(self, mark: str) -> Offered:
        """The file of a mark; 404 where it waits no more."""
        with self._lock:
            if mark not in self._kept:
                raise HTTPException(404)
            return self._kept[mark]

    def drop(self, mark: str) -> None:
        """Let go of it."""
        with self._lock:
            known = self._kept.pop(mark, None) is not None
        if known:
            shutil.rmtree(self._root / mark, ignore_errors=True)


def waiting_of(request: Request) -> Waiting:
    """The files that wait to be confirmed."""
    state = request.app.state
    if not hasattr(state, "waiting"):
        state.waiting = Waiting()
    return state.waiting


@router.get("/data")
def data(request: Request, bench: OpenBench, done: str = "") -> HTMLResponse:
    """What can come in and go out, and how the bench is; after a table was taken, the way to its runs."""
    named = [name for name in request.query_params.getlist("run") if bench.find(Run, name)]
    return _page(request, bench, done=done, runs=named)


@router.get("/data/example-folder.zip")
def example(request: Request) -> Response:
    """A folder of notes to begin from: it can be handed in as it is."""
    kept = {"content-disposition": 'attachment; filename="example-folder.zip"'}
    return Response(example_folder(), media_type="application/zip", headers=kept)


def _page(
    request: Request, bench: BenchFile, *, done: str = "", refusal: AerodeError | None = None,
    runs: Sequence[str] = (),
) -> HTMLResponse:  # fmt: skip
    settings = request.app.state.settings
    copies = bench_copies.list_backups(settings.bench)
    conflicts = request.app.state.remembered.of(bench, ("conflicts",), lambda: conflicts_of(bench))
    return page(
        request, "data/data.html", status=400 if refusal else 200, stage="more", done=done,
        refusal=refusal, copies=copies, few=_FEW, conflicts=conflicts, withheld=WITHHELD,
        once=new_once(), where=settings.bench, runs=runs, examples=EXAMPLES,
    )  # fmt: skip


@router.post("/data/import")
def hand_in(request: Request, bench: OpenBench, form: Filled) -> Response:
    """Take a file in hand, and show what it would bring."""
    files = [one for one in form.files.get("file", []) if one.data]
    if not files:
        refusal = AerodeError("no file was chosen", next_step="choose one and press again")
        return _page(request, bench, refusal=refusal)
    try:
        mark = waiting_of(request).put(files[0].name, files[0].data)
    except AerodeError as refusal:
        return _page(request, bench, refusal=refusal)
    return go(address("data", "offers", mark))


def _question(texts: dict[str, str]) -> TableQuestion:
    """What is said of a table, from the fields of its form."""
    said: dict[str, Any] = {name: texts.get(name, "").strip() for name in _SAID}
    said |= {
        name: tuple(one.strip() for one in texts.get(name, "").split(";") if one.strip())
        for name in _LISTED
    }
    return TableQuestion(**said)


@router.get("/data/offers/{mark}")
def offer(request: Request, bench: OpenBench, mark: str) -> HTMLResponse:
    """What was understood of a file. Nothing is on the bench yet."""
    offered = waiting_of(request).get(mark)
    typed = {name: request.query_params.get(name, "") for name in (*_SAID, *_LISTED)}
    moment = request.app.state.settings.clock()
    seen = look(request.app.state.settings.bench, offered, _question(typed), moment=moment)
    return _offer_page(request, bench, mark, offered, typed, seen)


def _offer_page(
    request: Request, bench: BenchFile, mark: str, offered: Offered, typed: dict[str, str], seen: Seen
) -> HTMLResponse:  # fmt: skip
    meters = [i.name for i in bench.all(Instrument) if i.sort in {Sort.MULTIMETER, Sort.LOGGER}]
    return page(
        request, "data/offer.html", status=400 if seen.refusal else 200, stage="more", mark=mark,
        offered=offered, typed=typed, seen=seen, once=new_once(),
        electrodes=[(one, one) for one in bench.to_pick_from(Electrode, most=100)],
        meters=[(one, one) for one in meters], faults=list(getattr(seen.refusal, "faults", ())),
        examples=EXAMPLES if offered.sort is FileSort.NOTES else (),
    )  # fmt: skip


@router.post("/data/offers/{mark}/take")
def take_offer(request: Request, mark: str, form: Filled) -> Response:
    """Take the file, as it was shown: all of it, or nothing."""
    sent = request.app.state.sent
    if led := sent.already(form.once):
        return go(led)
    offered = waiting_of(request).get(mark)
    settings = request.app.state.settings
    visitor = request.scope["state"]["visitor"]
    who = visitor.who if visitor is not None else ""
    gate = gate_of(request)
    # A package takes the place of a bench that holds only its title: nobody else may be there then.
    with gate.alone() if offered.sort is FileSort.PACKAGE else gate.among():
        try:
            done = take(settings.bench, offered, _question(form.texts), who=who, moment=settings.clock())  # fmt: skip
        except AerodeError as refusal:
            typed = {name: form.text(name) for name in (*_SAID, *_LISTED)}
            seen = Seen(headline=refusal.what, refusal=refusal)
            with BenchFile.open(settings.bench, read_only=True) as bench:
                return _offer_page(request, bench, mark, offered, typed, seen)
    waiting_of(request).drop(mark)
    runs = [one.run for one in done.table.runs] if done.table else []
    place = (
        f"/data?{urlencode([('done', done.headline), *(('run', name) for name in runs[:_FEW])])}"
    )
    sent.note(form.once, place)
    return go(place)


@router.post("/data/offers/{mark}/leave")
def leave_offer(request: Request, mark: str) -> Response:
    """Let go of a file that was not taken."""
    waiting_of(request).drop(mark)
    return go("/data")


@router.get("/data/export.zip")
def export_all(request: Request, bench: OpenBench) -> Response:
    """The whole bench as an open Data Package."""
    withheld = [one for one in request.query_params.getlist("withhold") if one]
    out = tempfile.TemporaryFile()  # noqa: SIM115 - closed when it was sent
    try:
        export(bench, out, withhold=withheld)
    except BaseException:
        out.close()
        raise
    out.seek(0)
    day = request.app.state.settings.clock().date().isoformat()
    kept = {"content-disposition": f'attachment; filename="bench-{day}.zip"'}
    return StreamingResponse(_chunks(out), media_type="application/zip", headers=kept)


def _chunks(file: IO[bytes]) -> Iterator[bytes]:
    with file:
        while chunk := file.read(_CHUNK):
            yield chunk


@router.post("/data/backup")
def backup(request: Request, bench: OpenBench, form: Filled) -> Response:
    """Make a checked copy beside the bench."""
    sent = request.app.state.sent
    if led := sent.already(form.once):
        return go(led)
    settings = request.app.state.settings
    try:
        made = bench_copies.back_up(settings.bench, moment=settings.clock())
    except AerodeError as refusal:
        return _page(request, bench, refusal=refusal)
    place = address("data", done=made.headline)
    sent.note(form.once, place)
    return go(place)


@router.get("/data/check")
def check(request: Request, passed: Passing) -> HTMLResponse:
    """Every digest, the journal and the lists, looked over; a bench that cannot be opened too."""
    found = bench_copies.check(request.app.state.settings.bench)
    steps = " ".join(fault.next_step for fault in found.faults)
    return page(
        request, "data/check.html", stage="more", found=found, may_rebuild="--rebuild" in steps,
        may_forget="--forget-all" in steps,
    )  # fmt: skip


@router.post("/data/check/rebuild")
def rebuild(request: Request) -> Response:
    """Make the list of newest states again from the history, which is not touched."""
    with gate_of(request).alone():
        bench_copies.check(request.app.state.settings.bench, rebuild=True)
    return go("/data/check")


@router.post("/data/check/forget")
def forget(bench: OpenBench) -> Response:
    """Throw kept answers away; nothing that was entered is lost."""
    from aerode.usecases.bench_results import forget as throw_away

    throw_away(bench, stale_only=False)
    return go("/data/check")


@router.post("/data/up-to-date")
def bring_up_to_date(request: Request) -> Response:
    """Bring a bench of an earlier version to this one: a copy first, all of it or nothing."""
    settings = request.app.state.settings
    with gate_of(request).alone():
        done = bench_copies.migrate(settings.bench, moment=settings.clock())
    return go(address("data", done=done.headline))
