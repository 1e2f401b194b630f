"""The tray: readings filed in seconds, placed later."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import HTMLResponse, Response

from aerode.errors import AerodeError, RangeError, UnitError
from aerode.records.electrodes import Electrode
from aerode.records.runs import Unsorted
from aerode.usecases.log_reading import file_reading, piece_named
from aerode.usecases.run_page import tray
from aerode.usecases.tray_placing import place_reading
from aerode.web.bench import OpenBench, turn_of
from aerode.web.forms import Filled, go, new_once
from aerode.web.rendering import address, page

__all__ = ["router"]

router = APIRouter()


@router.get("/runs/quick")
def quick(request: Request, bench: OpenBench) -> HTMLResponse:
    """One field and one button: the reading is in the tray."""
    return _quick_page(request)


def _quick_page(
    request: Request, *, typed: str = "", note: str = "", error: AerodeError | None = None
) -> HTMLResponse:
    return page(
        request, "runs/quick.html", status=422 if error else 200, stage="measure", typed=typed,
        note=note, error=error, once=new_once(),
    )  # fmt: skip


@router.post("/runs/quick")
def file_it(request: Request, bench: OpenBench, form: Filled) -> Response:
    """File one reading."""
    sent = request.app.state.sent
    if form.once and (led := sent.already(form.once)):
        return go(led)
    text = form.text("reading")
    moment = request.app.state.settings.clock()
    try:
        with turn_of(request):
            filed = file_reading(bench, text.split(), note=form.text("note"), moment=moment)
    except (UnitError, RangeError) as error:
        return _quick_page(request, typed=text, note=form.text("note"), error=error)
    place = address("runs", "tray", filed=filed.tray)
    sent.note(form.once, place)
    return go(place)


@router.get("/runs/tray")
def lying(request: Request, bench: OpenBench, filed: str = "") -> HTMLResponse:
    """What lies in the tray, each with the way to place it."""
    return _tray_page(request, bench, filed=filed)


def _tray_page(
    request: Request, bench: OpenBench, *, filed: str = "", wrong: str = "", about: str = ""
) -> HTMLResponse:
    names, lying_there = bench.names(Electrode), tray(bench)
    return page(
        request, "runs/tray.html", status=422 if wrong else 200, stage="measure", tray=lying_there,
        whose={one.name: piece_named(one.text, names)[0] for one in lying_there},
        electrodes=bench.to_pick_from(Electrode), filed=filed, wrong=wrong, about=about,
    )  # fmt: skip


@router.post("/runs/tray/{name:path}")
def place(request: Request, bench: OpenBench, name: str, form: Filled) -> Response:
    """Place one reading, or take it out of the tray."""
    if form.text("act") == "drop":
        bench.withdraw(Unsorted, name, why=form.text("why") or "taken out of the tray")
        return go("/runs/tray")
    try:
        with turn_of(request):
            run = place_reading(bench, name, form.text("electrode"), load=form.text("load"))
    except AerodeError as error:
        said = f"{error.what}." + (f" Allowed: {error.allowed}." if error.allowed else "")
        return _tray_page(request, bench, wrong=said, about=name)
    return go(address("runs", run))
