"""Put a copy in the place of the bench: chosen, looked at, confirmed by typing, done while nobody else is in."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from fastapi import APIRouter, Request
from starlette.exceptions import HTTPException
from starlette.responses import HTMLResponse, Response

from aerode.errors import AerodeError, BusyError
from aerode.store.connecting import place_of
from aerode.usecases.bench_copies import list_backups
from aerode.usecases.bench_put_back import MOST_LINES, look_at_copy, put_back
from aerode.usecases.offered import Offered, Sort
from aerode.web.bench import Passing, Remembered, gate_of, turn_of
from aerode.web.forms import Filled, go, new_once
from aerode.web.guard.doors import Role
from aerode.web.json.runs import Counted
from aerode.web.pages.data import waiting_of
from aerode.web.rendering import address, page

if TYPE_CHECKING:
    from collections.abc import Mapping

    from aerode.records.bench_copies import BackupLine
    from aerode.usecases.bench_put_back import CopySeen

__all__ = ["router"]

# No page here needs the bench to be whole: a damaged one is what a copy is put back for.
router = APIRouter()


def _file_name(request: Request) -> str:
    """The name of the bench file, which has to be typed; "" where the bench is no file."""
    path = place_of(request.app.state.settings.bench).path
    return path.name if path is not None else ""


def _may(request: Request) -> bool:
    visitor = request.scope["state"]["visitor"]
    return visitor is not None and visitor.role is Role.OWNER


@router.get("/data/restore")
def choose(request: Request) -> HTMLResponse:
    """The copies that are there, newest first, and the way to hand one in."""
    return _choice(request)


def _choice(request: Request, *, refusal: AerodeError | None = None) -> HTMLResponse:
    copies = list_backups(request.app.state.settings.bench)
    lines = [(Path(one.path).name, one, _size(one)) for one in copies.backups]
    return page(
        request, "data/restore.html", status=400 if refusal else 200, stage="more", copies=copies,
        lines=lines, refusal=refusal, may=_may(request), file=_file_name(request),
    )  # fmt: skip


def _size(line: BackupLine) -> str:
    try:
        return f"{Path(line.path).stat().st_size / 1e6:.2g} MB"
    except OSError:
        return "gone meanwhile"


@router.post("/data/restore/file")
def hand_in(request: Request, form: Filled) -> Response:
    """Take a copy in hand that somebody kept elsewhere."""
    files = [one for one in form.files.get("file", []) if one.data]
    try:
        if not files:
            raise AerodeError("no file was chosen", next_step="choose one and press again")
        mark = waiting_of(request).put(files[0].name, files[0].data)
        if waiting_of(request).get(mark).sort not in {Sort.BENCH, Sort.PACKAGE}:
            waiting_of(request).drop(mark)
            raise AerodeError(
                f"{files[0].name} is no whole bench", allowed="a bench file, or an exported package",
                next_step="bring anything else in under Data; it is added to what is there",
            )  # fmt: skip
    except AerodeError as refusal:
        return _choice(request, refusal=refusal)
    return go(address("data", "restore", "look", file=mark))


def _copy(request: Request, texts: Mapping[str, str]) -> tuple[Path, str, str]:
    """The copy that is meant, its name, and when it was made; 404 where it is not there any more."""
    if mark := texts.get("file", ""):
        offered = waiting_of(request).get(mark)
        return offered.place, offered.name, ""
    for one in list_backups(request.app.state.settings.bench).backups:
        if Path(one.path).name == texts.get("backup", ""):
            return Path(one.path), Path(one.path).name, one.at
    raise HTTPException(404)


@router.get("/data/restore/look")
def look(request: Request, passed: Passing) -> HTMLResponse:
    """What a copy holds, and what would go. Nothing is changed."""
    return _look(request, request.query_params)


def _look(
    request: Request, texts: Mapping[str, str], *, typed: str = "", wrong: str = "",
    refusal: AerodeError | None = None, status: int = 200,
) -> HTMLResponse:  # fmt: skip
    path, name, made = _copy(request, texts)
    seen: CopySeen | None = None
    try:
        seen = look_at_copy(request.app.state.settings.bench, path, made=made)
    except AerodeError as told:
        refusal, status = refusal or told, max(status, 400)
    return page(
        request, "data/put_back.html", status=status, stage="more", seen=seen, name=name, made=made,
        refusal=refusal, backup=texts.get("backup", ""), file=texts.get("file", ""), typed=typed,
        wrong=wrong, word=_file_name(request), may=_may(request), once=new_once(), most=MOST_LINES,
    )  # fmt: skip


@router.post("/data/restore/do")
def do(request: Request, form: Filled) -> Response:
    """Put it back: a backup first, and nobody else at the bench meanwhile."""
    state = request.app.state
    if led := state.sent.already(form.once):
        return go(led)
    path, _, _ = _copy(request, form.texts)
    typed, word = form.text("word"), _file_name(request)
    if not word or typed.casefold() not in {word.casefold(), Path(word).stem.casefold()}:
        with gate_of(request).among():
            return _look(request, form.texts, typed=typed, wrong=f"type {word}", status=422)
    try:
        with gate_of(request).alone(), turn_of(request):
            done = put_back(state.settings.bench, path, moment=state.settings.clock())
            state.remembered, state.counted = Remembered(), Counted()
    except AerodeError as refusal:
        status = 503 if isinstance(refusal, BusyError) else 400
        with gate_of(request).among():
            return _look(request, form.texts, typed=typed, refusal=refusal, status=status)
    if form.text("file"):
        waiting_of(request).drop(form.text("file"))
    said = done.done.headline + (f". The bench as it stood before is kept as the copy {done.safety}" if done.safety else f". What stood there before could not be read whole; it is kept as it was: {Path(done.done.kept_aside).name}" if done.done.kept_aside else "")  # fmt: skip
    place = address("data", done=said)
    state.sent.note(form.once, place)
    return go(place)


@router.post("/data/restore/bring")
def bring(request: Request, form: Filled) -> Response:
    """Offer to bring a backup in instead: what is missing comes back, and nothing goes."""
    path, name, _ = _copy(request, form.texts)
    if form.text("file"):
        return go(address("data", "offers", form.text("file")))
    return go(address("data", "offers", waiting_of(request).offer(Offered(name, Sort.BENCH, path))))
