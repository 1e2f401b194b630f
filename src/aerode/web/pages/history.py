"""The history of a record: every state, who, when, why and what changed; the way back; two states settled."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from fastapi import APIRouter, Request
from starlette.responses import HTMLResponse, Response

from aerode.errors import AerodeError
from aerode.usecases.bench_history import history as read_history
from aerode.usecases.bench_settle import conflicts_of, settle, undo
from aerode.web.bench import OpenBench
from aerode.web.forms import Filled, go, new_once
from aerode.web.pages.records import home_of, place_of
from aerode.web.rendering import address, page

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.records.bench_answers import ShownState
    from aerode.store.bench_file import BenchFile

__all__ = ["router"]

router = APIRouter()
_MOST = 60
"""States on the page of the whole bench."""


@router.get("/history")
def all_of_it(request: Request, bench: OpenBench) -> HTMLResponse:
    """The newest states of everything."""
    states = read_history(bench, most=_MOST + 1).states[::-1]
    return page(
        request, "history/all.html", stage="more", acts=_acts(states[:_MOST]), more=len(states) > _MOST
    )  # fmt: skip


def _acts(states: Sequence[ShownState]) -> list[list[ShownState]]:
    """States that one person stored in one minute for one reason stand together."""
    return [
        list(together)
        for _, together in groupby(states, key=lambda one: (one.at[:16], one.who, one.why))
    ]


@router.get("/history/{kind}/{name:path}")
def history(
    request: Request, bench: OpenBench, kind: str, name: str, done: str = ""
) -> HTMLResponse:
    """Every state of one record."""
    return _page(request, bench, kind, name, done=done)


def _page(
    request: Request,
    bench: BenchFile,
    kind: str,
    name: str,
    *,
    done: str = "",
    refusal: AerodeError | None = None,
) -> HTMLResponse:
    states = read_history(bench, kind, name).states
    conflicts = conflicts_of(bench, kind, name)
    stage, _, _ = home_of(kind)
    return page(
        request, "history/record.html", status=400 if refusal else 200, stage=stage, kind=kind,
        name=name, states=states[::-1], conflict=conflicts[0] if conflicts else None, done=done,
        refusal=refusal, once=new_once(), back=place_of(kind, name),
        gone=states[-1].changes == ("withdrawn",),
    )  # fmt: skip


def _who(request: Request) -> str:
    visitor = request.scope["state"]["visitor"]
    return visitor.who if visitor is not None else ""


@router.post("/history/{kind}/{name:path}/undo")
def go_back(request: Request, bench: OpenBench, kind: str, name: str, form: Filled) -> Response:
    """Go back to an earlier state, as a new one: that can be undone too."""
    sent = request.app.state.sent
    if led := sent.already(form.once):
        return go(led)
    try:
        answer = undo(
            bench, kind, name, to=form.text("to"), why=form.text("why"), who=_who(request)
        )
    except AerodeError as refusal:
        return _page(request, bench, kind, name, refusal=refusal)
    place = address("history", kind, answer.state.name, done=answer.headline)
    sent.note(form.once, place)
    return go(place)


@router.post("/history/{kind}/{name:path}/settle")
def settle_states(
    request: Request, bench: OpenBench, kind: str, name: str, form: Filled
) -> Response:
    """Keep one of two newest states, field by field where wanted; both stay in the history."""
    sent = request.app.state.sent
    if led := sent.already(form.once):
        return go(led)
    keep = form.text("keep")
    chosen = form.under("field.")
    taken = {field: state for field, state in chosen.items() if state and state != keep}
    try:
        answer = settle(
            bench, kind, name, keep=keep, take=taken, rename=form.text("rename"),
            why=form.text("why"), who=_who(request),
        )  # fmt: skip
    except AerodeError as refusal:
        return _page(request, bench, kind, name, refusal=refusal)
    stands = answer.settled.name if answer.settled else name
    place = address("history", kind, stands, done=answer.headline)
    sent.note(form.once, place)
    return go(place)
