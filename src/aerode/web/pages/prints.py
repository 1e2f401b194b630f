"""What goes to the printer: labels, the card of a run, the bench sheet."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
from markupsafe import Markup
from starlette.responses import HTMLResponse, Response

from aerode.errors import FieldFault, InputError, StoppedError
from aerode.records.electrodes import Electrode
from aerode.records.mixes import Mix
from aerode.records.places import Room
from aerode.records.runs import RunPlan
from aerode.report.sheet_page import sheet_html
from aerode.report.square_code import code_svg
from aerode.usecases.bench_sheet import SheetQuestion, acknowledge_for_sheet, bench_sheet
from aerode.usecases.group_codes import CODES_SAID, is_class
from aerode.usecases.labels import labels_for
from aerode.usecases.mix_preview import cautions_of_sheet
from aerode.usecases.resistor_card import card_of_run, card_to_start
from aerode.usecases.run_cautions import before_a_run
from aerode.usecases.usual_words import BEFORE_MEASURING
from aerode.web.bench import OpenBench
from aerode.web.form_plans import with_named_unit
from aerode.web.forms import Filled, go, new_once
from aerode.web.pages.mixes import question_of
from aerode.web.rendering import address, own_page, page

if TYPE_CHECKING:
    from collections.abc import Mapping

    from aerode.records.cautions import CautionSheet
    from aerode.store.bench_file import BenchFile

__all__ = ["router"]

router = APIRouter()
_OFFERED = 60
_ON_A_SHEET = 24
_SHEET = (
    "area",
    "loading",
    "electrodes",
    "spare",
    "scale",
    "solids",
    "room",
    "plate",
    "sheets",
    "class_mode",
    "sure",
)


@router.get("/prints/labels")
def labels(request: Request, bench: OpenBench, first: str = "1", cut: str = "") -> HTMLResponse:
    """Labels for the electrodes that were ticked, on a sheet of A4."""
    ticked = [name for name in request.query_params.getlist("electrode") if name]
    offered = list(dict.fromkeys((*ticked, *bench.to_pick_from(Electrode, most=_OFFERED))))
    place = int(first) if first.isdecimal() and 1 <= int(first) <= _ON_A_SHEET else 1
    made = [
        (one, Markup(code_svg(one.says))) for one in labels_for(bench, ticked)
    ]  # our own drawing
    blanks: list[Any] = [None] * (place - 1)
    cells = [*blanks, *made] if made else []
    sheets = [cells[k : k + _ON_A_SHEET] for k in range(0, len(cells), _ON_A_SHEET)]
    return page(
        request, "prints/labels.html", stage="make", sheets=sheets, count=len(made), ticked=ticked,
        offered=offered, first=place, cut=cut == "yes", places=_ON_A_SHEET,
    )  # fmt: skip


@router.get("/prints/resistors")
def resistors(
    request: Request, bench: OpenBench, electrode: str = "", run: str = "", plan: str = ""
) -> HTMLResponse:
    """The card of a run, or of one that is about to begin."""
    names = bench.to_pick_from(Electrode, most=_OFFERED)
    chosen = RunPlan.SHORT if plan == RunPlan.SHORT.value else RunPlan.FULL
    card = None
    if run:
        card = card_of_run(bench, run)
    elif electrode:
        card = card_to_start(bench, electrode, chosen)
    code = Markup(code_svg(card.says)) if card else ""  # our own drawing
    return page(
        request, "prints/resistors.html", stage="measure", card=card, code=code, names=names,
        electrode=electrode, plan=chosen.value, plans=[RunPlan.FULL.value, RunPlan.SHORT.value],
        care=before_a_run(bench, card.electrode).cautions if card else (), usual=BEFORE_MEASURING,
    )  # fmt: skip


def _sheet_question(bench: BenchFile, query: Mapping[str, str]) -> SheetQuestion:
    room = query.get("room", "").strip()
    lines = [line.strip() for line in query.get("sheets", "").splitlines() if line.strip()]
    return SheetQuestion(
        mix=question_of(query),
        room=room if room in bench.names(Room) else "",
        plate=with_named_unit(query.get("plate", "").strip(), "°C"),
        sheets=tuple(lines),
        class_mode=query.get("class_mode") == "yes",
    )


def _kept(query: Mapping[str, str]) -> dict[str, str]:
    return {key: query[key] for key in _SHEET if query.get(key, "").strip()}


@router.get("/prints/bench-sheet/{name:path}")
def sheet(request: Request, bench: OpenBench, name: str, read: str = "") -> HTMLResponse:
    """Ask for a bench sheet, and acknowledge what stops it."""
    return _sheet(request, bench, name, dict(request.query_params), read=read)


def _sheet(
    request: Request, bench: BenchFile, name: str, query: Mapping[str, str], *, read: str = "",
    key: str = "", reason: str = "", fault: FieldFault | None = None, group: str = "",
) -> HTMLResponse:  # fmt: skip
    bench.get(Mix, name)
    found: CautionSheet | None = None
    typed: InputError | None = None
    if query.get("area", "").strip() or query.get("loading", "").strip():
        try:
            found = cautions_of_sheet(bench, name, _sheet_question(bench, query))
        except InputError as error:
            typed = error
    kept = _kept(query)
    return page(
        request,
        "prints/bench_sheet.html",
        status=422 if fault else 200,
        stage="mix",
        name=name,
        query=query,
        kept=kept,
        sheet=found,
        typed=typed,
        rooms=bench.names(Room),
        whole=address("prints", "sheet", name, **kept),
        pot_at=address("mixes", name, "pots", "new", **kept),
        sure_at=address("prints", "bench-sheet", name, **{**kept, "sure": "yes"}),
        once=new_once(),
        read=read,
        key=key,
        reason=reason,
        fault=fault,
        codes=_codes(bench, query),
        group=group,
    )


def _codes(bench: BenchFile, query: Mapping[str, str]) -> tuple[str, ...]:
    """The codes to choose from where a class is at work; none otherwise."""
    asked = _sheet_question(bench, query)
    return CODES_SAID if is_class(bench, class_mode=asked.class_mode, room=asked.room) else ()


@router.post("/prints/bench-sheet/{name:path}")
def acknowledge(request: Request, bench: OpenBench, name: str, form: Filled) -> Response:
    """Keep the reason for printing in spite of a STOP, with the figure of this very sheet."""
    sent = request.app.state.sent
    if form.once and (led := sent.already(form.once)):
        return go(led)
    question = _sheet_question(bench, form.texts)
    key, reason, group = form.text("key"), form.text("reason"), form.text("group")
    made = request.app.state.settings.clock().isoformat(timespec="seconds")
    try:
        acknowledge_for_sheet(bench, name, question, key, reason, made=made, group=group)
    except InputError as error:
        field = "group" if error.where == "group" else "reason"
        fault = FieldFault(field, error.what, error.allowed, reason)
        return _sheet(request, bench, name, form.texts, key=key, reason=reason, fault=fault, group=group)  # fmt: skip
    place = address("prints", "bench-sheet", name, **_kept(form.texts), read="yes")
    sent.note(form.once, place)
    return go(place)


@router.get("/prints/sheet/{name:path}")
def whole(request: Request, bench: OpenBench, name: str) -> Response:
    """The bench sheet itself, as the command line writes it; back to the STOP where one waits."""
    query = dict(request.query_params)
    question = _sheet_question(bench, query)
    moment = request.app.state.settings.clock()
    try:
        made = sheet_html(bench_sheet(bench, name, question, moment=moment))
    except (StoppedError, InputError):
        return go(address("prints", "bench-sheet", name, **_kept(query)))
    return own_page(made, back=address("prints", "bench-sheet", name, **_kept(query)))
