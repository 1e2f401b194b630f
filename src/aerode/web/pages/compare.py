"""Compare: the verdict first, then what it rests on; what would overturn it by a second request."""

from __future__ import annotations

import secrets
from dataclasses import replace
from typing import TYPE_CHECKING
from urllib.parse import urlencode

from fastapi import APIRouter, Request
from starlette.responses import HTMLResponse, Response

from aerode.errors import AerodeError
from aerode.records.electrodes import Electrode
from aerode.records.places import RunOrder
from aerode.usecases.compare_view import (
    Asked,
    CompareView,
    asked_from_texts,
    choices,
    doubts,
    figures_of,
    view,
)
from aerode.usecases.run_order import run_order
from aerode.web.bench import OpenBench
from aerode.web.figure_files import figure_file, find_figure
from aerode.web.forms import Filled, go, new_once
from aerode.web.rendering import address, page

if TYPE_CHECKING:
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.compare_view import Choices

__all__ = ["asked_of", "report_query", "router", "seen"]

router = APIRouter()
_OFFERED = 100
"""Electrodes to choose from when an order is drawn, the newest."""
_TYPED = ("at", "by", "margin", "claim", "per_kelvin", "spread")


def asked_of(request: Request) -> tuple[Asked, dict[str, tuple[str, str]], dict[str, str]]:
    """The question in the address, what of it cannot be read, and the fields as typed."""
    sent = request.query_params
    typed = {name: sent.get(name, "") for name in _TYPED}
    ticked = [name for name in sent.getlist("electrode") if name]
    asked, faults = asked_from_texts(typed, ticked, [s for s in sent.getlist("same") if s])
    return asked, faults, typed


def seen(request: Request, bench: BenchFile, asked: Asked) -> CompareView:
    """The comparison, remembered until the bench changes."""
    remembered = request.app.state.remembered
    return remembered.of(bench, ("compare", *asked.key), lambda: view(bench, asked))


def report_query(asked: Asked, room: str = "") -> str:
    """The question as it stands in an address: what the report does not take is left out."""
    told = [("at", asked.at), ("by", asked.by), ("claim", asked.claim), ("room", room)]
    told += [("electrode", name) for name in asked.electrodes]
    told += [("same", name) for name in asked.same]
    filled = [(key, value) for key, value in told if value]
    return f"?{urlencode(filled)}" if filled else ""


def _query(request: Request) -> str:
    return f"?{request.url.query}" if request.url.query else ""


@router.get("/compare")
def compare(request: Request, bench: OpenBench) -> HTMLResponse:
    """Which is better, by how much, shown or not shown."""
    asked, faults, typed = asked_of(request)
    shown, refusal, title = None, None, "Nothing has been compared yet"
    possible = request.app.state.remembered.of(bench, ("choices",), lambda: choices(bench))
    if faults:
        title = "This cannot be compared yet"
    elif possible.electrodes:
        try:
            shown = seen(request, bench, asked)
        except AerodeError as told:
            refusal, title = told, "There is no verdict yet"
    if request.url.query and shown:
        request.app.state.last_asked.note(request, report_query(asked))
    lead = shown.lead if shown else None
    two = shown.two if shown else None
    verdicts = next((p for p in shown.sections if p.name == "verdicts"), None) if shown else None
    return page(
        request,
        "compare/compare.html",
        status=422 if faults else 200,
        stage="compare",
        shown=shown,
        part_without_lines=replace(verdicts, lines=()) if verdicts else None,
        two=two,
        drawn=[figure.name for figure in (lead, two) if figure],
        refusal=refusal,
        title=title,
        all=possible,
        asked=asked,
        faults=faults,
        typed=typed,
        query=_query(request),
        pressed=bool(request.query_params.get("pressed")),
        all_same=_all_same(asked, typed, shown, possible),
    )


def _all_same(
    asked: Asked, typed: dict[str, str], shown: CompareView | None, possible: Choices
) -> str:
    """The same question with every blocking condition said to have been the same for all."""
    blocked = {line.condition for line in shown.blocking} if shown else set[str]()
    named = [value for value, words, _ in possible.condition_words if words in blocked]
    told = [(name, text) for name, text in typed.items() if text]
    told += [("electrode", name) for name in asked.electrodes]
    told += [("same", name) for name in dict.fromkeys((*asked.same, *named))]
    return f"/compare?{urlencode(told)}"


@router.get("/compare/overturn")
def overturn(request: Request, bench: OpenBench) -> HTMLResponse:
    """What would overturn the verdict; the slow part, asked for by itself."""
    asked, _, _ = asked_of(request)
    why = "There is no verdict yet that an input could overturn: nothing was changed and tried."
    try:
        part = request.app.state.remembered.of(
            bench, ("doubts", *asked.key), lambda: doubts(bench, asked)
        )
    except AerodeError as refusal:
        part, why = None, f"{refusal.what[0].upper()}{refusal.what[1:]}."
    return page(
        request, "compare/overturn.html", stage="compare", part=part, why=why,
        back=f"/compare{_query(request)}",
    )  # fmt: skip


@router.get("/figures/compare/{name}.{ending}")
def file(request: Request, bench: OpenBench, name: str, ending: str) -> Response:
    """A figure of the comparison as a file."""
    asked, _, _ = asked_of(request)
    return figure_file(find_figure(figures_of(seen(request, bench, asked)), name), ending)


@router.get("/compare/order")
def order(request: Request, bench: OpenBench, drawn: str = "") -> HTMLResponse:
    """The orders of measuring that were drawn, and the form to draw one."""
    return _order_page(request, bench, drawn=drawn)


def _order_page(
    request: Request,
    bench: BenchFile,
    *,
    drawn: str = "",
    typed: dict[str, str] | None = None,
    ticked: tuple[str, ...] = (),
    refusal: AerodeError | None = None,
) -> HTMLResponse:
    orders = bench.all(RunOrder)
    newest = bench.latest(Electrode, count=_OFFERED)[::-1]
    known = [e.name for e in newest]
    control = next((e.name for e in newest if e.control), "")
    today = request.app.state.settings.clock().date().isoformat()
    return page(
        request, "compare/order.html", status=400 if refusal else 200, stage="compare",
        orders=orders[::-1], shown=next((o for o in orders if o.name == drawn), None), known=known,
        control=control, typed={"session": today, "control": control, **(typed or {})},
        ticked=ticked, refusal=refusal, once=new_once(),
    )  # fmt: skip


@router.post("/compare/order")
def draw_order(request: Request, bench: OpenBench, form: Filled) -> Response:
    """Draw the order of a session, control first, in the middle and last, and keep it."""
    sent = request.app.state.sent
    if led := sent.already(form.once):
        return go(led)
    today = request.app.state.settings.clock().date().isoformat()
    typed = {"session": form.text("session") or today, "control": form.text("control")}
    ticked = tuple(form.many.get("electrode", []))
    try:
        made = run_order(
            bench, ticked, session=typed["session"], seed=secrets.randbelow(1_000_000),
            control=typed["control"], made=today,
        )  # fmt: skip
    except AerodeError as refusal:
        return _order_page(request, bench, typed=typed, ticked=ticked, refusal=refusal)
    place = address("compare", "order", drawn=made.name)
    sent.note(form.once, place)
    return go(place)
