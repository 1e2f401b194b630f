"""Compare: the verdict first, then what it rests on; what would overturn it by a second request."""

from __future__ import annotations

import secrets
from dataclasses import replace
from typing import TYPE_CHECKING
from urllib.parse import urlencode

from fastapi import APIRouter, Request
from starlette.responses import HTMLResponse, Response

from aerode.errors import AerodeError
from aerode.measure.telling import NOTHING_TRIED
from aerode.records.electrodes import Electrode
from aerode.records.places import RunOrder
from aerode.usecases.compare_view import (
    Asked,
    CompareView,
    asked_from_texts,
    choices,
    compared,
    doubts,
    figures_of,
    view,
)
from aerode.usecases.electrode_page_next import cell_next
from aerode.usecases.given_word import REST, keep_word, take_back_word
from aerode.usecases.run_cells import name_cell
from aerode.usecases.run_order import proposed_control, run_order
from aerode.web.bench import OpenBench, turn_of
from aerode.web.figure_files import figure_file, find_figure
from aerode.web.forms import Filled, go, new_once
from aerode.web.pages.next_acts import place_of_cure, place_said, ways_of_piece, ways_to_act
from aerode.web.pages.unread import unread_with_places, way_out
from aerode.web.rendering import address, page

if TYPE_CHECKING:
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.condition_cures import Cure

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
        unread=unread_with_places(refusal),
        way=way_out(refusal),
        title=title,
        all=possible,
        asked=asked,
        faults=faults,
        typed=typed,
        query=_query(request),
        doubts=_doubts_query(request, shown),
        ways=ways_to_act(bench, shown.comparison.next_act) if shown else [],
        where=place_said(shown.comparison.next_act) if shown else "",
        ways_later=[
            next(iter(ways_to_act(bench, one)), None) for one in shown.comparison.later_acts
        ]
        if shown
        else [],
        cures=_places_of(shown.cures) if shown else {},
        cause=_ways_of_cause(bench, shown) if shown else [],
        said=_SAID.get(request.query_params.get("said", ""), ""),
        pressed=bool(request.query_params.get("pressed")),
    )


def _doubts_query(request: Request, shown: CompareView | None) -> str:
    """Of which question the doubts are looked for: of the claim that leads where nothing else is told."""
    if shown is not None and shown.claims and not shown.open_too:
        return f"?{urlencode([('claim', shown.claims[0].name)])}"
    return _query(request)


_SAID = {
    "kept": "Kept on the bench, in the history of each run, as somebody's word. It holds until it is taken back or measured.",
    "back": "Taken back: it may differ again.",
}


def _places_of(cures: dict[str, tuple[Cure, ...]]) -> dict[str, list[tuple[str, str]]]:
    """For each condition that blocks, what to press and the field it leads to; each place stands once."""
    told: set[str] = set()
    found: dict[str, list[tuple[str, str]]] = {}
    for key, those in cures.items():
        places = [(one.words, place_of_cure(one)) for one in those]
        found[key] = [(words, place) for words, place in places if place not in told]
        told |= {place for _, place in places}
    return found


def _ways_of_cause(bench: BenchFile, shown: CompareView) -> list[tuple[str, str]]:
    """The buttons of the one cause behind what blocks: the same as on the first page."""
    return ways_of_piece(cell_next(bench, shown.cause.cure.of), shown.cause.cure.of) if shown.cause else []  # fmt: skip


@router.post("/compare/same")
def keep_same(request: Request, bench: OpenBench, form: Filled) -> Response:
    """Keep on the bench what somebody says was the same for all; or take it back."""
    typed = {name: form.text(name) for name in _TYPED}
    ticked = [name for name in form.many.get("electrode", []) if name]
    asked, _ = asked_from_texts(typed, ticked)
    back, keys = form.text("back"), [key for key in form.many.get("same", []) if key]
    query = [(name, text) for name, text in typed.items() if text]
    query += [("electrode", name) for name in ticked]
    if not back and not keys:
        return go(f"/compare?{urlencode([*query, ('pressed', 'yes')])}")
    visitor = request.scope["state"].get("visitor")
    who = visitor.who if visitor is not None else ""
    with turn_of(request):
        found = compared(bench, asked, try_changes=False)
        if back:
            take_back_word(bench, found, [back], who=who)
        else:
            open_keys = {line.key for line in found.conditions if line.blocks}
            if open_keys & set(keys) or REST in keys:
                keep_word(bench, found, keys, moment=request.app.state.settings.clock(), who=who)
    return go(f"/compare?{urlencode([*query, ('said', 'back' if back else 'kept')])}")


@router.post("/cell-runs")
def put_in_cell(request: Request, bench: OpenBench, form: Filled) -> Response:
    """These runs were in this cell: yes."""
    cell, runs = form.text("cell"), [name for name in form.many.get("run", []) if name]
    with turn_of(request):
        name_cell(bench, cell, runs)
    if form.text("back") == "run" and runs:
        return go(address("runs", runs[0], said="changed"))
    return go(address("things", "cell", cell, said="named"))


@router.get("/compare/overturn")
def overturn(request: Request, bench: OpenBench) -> HTMLResponse:
    """What would overturn the verdict; the slow part, asked for by itself."""
    asked, _, _ = asked_of(request)
    why = NOTHING_TRIED
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
    kept = next((e.name for e in newest if e.control), "")
    proposed = "" if kept else _proposed_control(request, bench, known)
    control = kept or proposed
    today = request.app.state.settings.clock().date().isoformat()
    return page(
        request, "compare/order.html", status=400 if refusal else 200, stage="compare",
        orders=orders[::-1], shown=next((o for o in orders if o.name == drawn), None), known=known,
        control=control, proposed=proposed, typed={"session": today, "control": control, **(typed or {})},
        ticked=ticked, refusal=refusal, once=new_once(),
    )  # fmt: skip


def _proposed_control(request: Request, bench: BenchFile, known: list[str]) -> str:
    """The piece that the comparison would keep as control; "" where two others would not be left."""
    if len(known) < 3:
        return ""
    try:
        return proposed_control(seen(request, bench, Asked()).comparison, known)
    except AerodeError:
        return ""


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
