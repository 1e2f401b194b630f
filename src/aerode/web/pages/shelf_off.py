"""A thing taken off the shelf from its own page, with what to mind; and put back."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
from starlette.exceptions import HTTPException
from starlette.responses import HTMLResponse, Response

from aerode.errors import InputError, RecordError
from aerode.records import KINDS
from aerode.records.marks import Left
from aerode.usecases.off_shelf import LEAVES, MISTAKE, disposal_words, put_back, take_off, users_of
from aerode.web.bench import OpenBench, turn_of
from aerode.web.forms import Filled, go, new_once
from aerode.web.pages.shelf import SHELF
from aerode.web.rendering import address, page

if TYPE_CHECKING:
    from aerode.store.bench_file import BenchFile

__all__ = ["router"]

router = APIRouter()
_KINDS = {part.kind for part in SHELF}


def _form(
    request: Request, bench: BenchFile, kind: str, name: str, *, typed: dict[str, str] | None = None,
    faults: dict[str, tuple[str, str]] | None = None,
) -> HTMLResponse:  # fmt: skip
    if kind not in _KINDS:
        raise HTTPException(404)
    cls: type[Any] = KINDS[kind]
    record = bench.get(cls, name)
    ways = [*([one.value for one in Left] if kind in LEAVES else []), MISTAKE]
    today = request.app.state.settings.clock().date().isoformat()
    return page(
        request, "shelf/off.html", status=422 if faults else 200, stage="shelf", kind=kind, name=name,
        ways=ways, mistake=MISTAKE, minded=disposal_words(record), users=users_of(bench, kind, name),
        typed={"on": today, **(typed or {})}, faults=faults or {}, once=new_once(),
    )  # fmt: skip


@router.get("/shelf/off/{kind}/{name:path}")
def ask(request: Request, bench: OpenBench, kind: str, name: str) -> HTMLResponse:
    """How it left, when, and what to mind before."""
    return _form(request, bench, kind, name)


@router.post("/shelf/off/{kind}/{name:path}")
def off(request: Request, bench: OpenBench, kind: str, name: str, form: Filled) -> Response:
    """Take it off; what was made with it keeps its figures."""
    if kind not in _KINDS:
        raise HTTPException(404)
    sent = request.app.state.sent
    if form.once and (led := sent.already(form.once)):
        return go(led)
    typed = {field: form.text(field) for field in ("how", "on", "note")}
    try:
        with turn_of(request):
            take_off(bench, kind, name, typed["how"], on=typed["on"], note=typed["note"])
    except RecordError as refusal:
        faults = {one.field: (one.what, one.allowed) for one in refusal.faults}
        return _form(request, bench, kind, name, typed=typed, faults=faults)
    except InputError as refusal:
        return _form(request, bench, kind, name, typed=typed, faults={"how": (refusal.what, refusal.next_step)})  # fmt: skip
    withdrawn = typed["how"] == MISTAKE
    place = address("history", kind, name) if withdrawn else address("things", kind, name)
    sent.note(form.once, place)
    return go(place)


@router.post("/shelf/back/{kind}/{name:path}")
def back(request: Request, bench: OpenBench, kind: str, name: str) -> Response:
    """Put it back, as a new state."""
    if kind not in _KINDS:
        raise HTTPException(404)
    with turn_of(request):
        put_back(bench, kind, name)
    return go(address("things", kind, name))
