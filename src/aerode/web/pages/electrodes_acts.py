"""What is done to an electrode, as forms of its page: each act is one short form and one sending."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
from starlette.responses import HTMLResponse, Response

from aerode.errors import FieldFault, InputError
from aerode.records.electrodes import Electrode
from aerode.usecases.before_making import BeforeMaking, before_electrode, before_press
from aerode.usecases.bench_attach import attach_photos
from aerode.usecases.electrode_page_acts import (
    Acted,
    add_coat,
    add_press,
    add_weighing,
    later_state,
    set_outcome,
    set_thickness,
)
from aerode.web.bench import OpenBench
from aerode.web.form_plans import typed_texts, with_named_unit
from aerode.web.forms import Filled, go
from aerode.web.pages.electrodes import UNITS, electrode_page
from aerode.web.rendering import address, page

if TYPE_CHECKING:
    from collections.abc import Callable

    from aerode.store.bench_file import BenchFile

__all__ = ["router"]

router = APIRouter()
_THICKNESSES = 40


def _now(request: Request) -> str:
    """The moment, to the second, with its time zone."""
    return request.app.state.settings.clock().isoformat(timespec="seconds")


def _with_unit(field: str, text: str) -> str:
    """The text of a field with the unit of its label, where a number stands alone."""
    return with_named_unit(text.strip(), UNITS.get(field, ""))


def _done(
    request: Request,
    bench: BenchFile,
    name: str,
    form: Any,
    act: str,
    do: Callable[[dict[str, str]], Acted],
) -> Response:
    """Do it once; lead back to its place on the page, or show what could not be taken."""
    sent = request.app.state.sent
    if form.once and (led := sent.already(form.once)):
        return go(led)
    typed = {path: _with_unit(f"{act}.{path}", text) for path, text in form.under(f"{act}.").items()}  # fmt: skip
    acted = do({**typed, "sure": form.text("sure"), "mesh": form.text("mesh")})
    if acted.record is None:
        return electrode_page(
            request, bench, name, act=act, texts=form.texts, faults=acted.faults, ask=acted.ask,
            mesh=acted.mesh,
        )  # fmt: skip
    place = f"{address('electrodes', acted.record.name, stored=act)}#{act}"
    sent.note(form.once, place)
    return go(place)


@router.post("/electrodes/before")
def before(
    request: Request, bench: OpenBench, form: Filled, of: str = "", made: str = ""
) -> HTMLResponse:
    """What can hurt in making the piece that is being typed: a part of a page, nothing is stored."""
    if of:
        typed = {k: _with_unit(f"press.{k}", v) for k, v in form.under("press.").items()}
        found = BeforeMaking(past=before_press(bench, bench.get(Electrode, of), typed))
    else:
        texts = typed_texts("electrode", form.texts)
        found = before_electrode(bench, texts, made=bool(made))
    return page(request, "electrodes/before_part.html", stage="make", before=found, room="")


@router.post("/electrodes/{name:path}/coats")
def coat(request: Request, bench: OpenBench, name: str, form: Filled) -> Response:
    """One more coat."""
    at = _now(request)
    return _done(request, bench, name, form, "coat", lambda texts: add_coat(bench, name, texts, at=at))  # fmt: skip


@router.post("/electrodes/{name:path}/weighings")
def weighing(request: Request, bench: OpenBench, name: str, form: Filled) -> Response:
    """One weighing of the whole piece while it dries."""
    at = _now(request)
    return _done(request, bench, name, form, "weighing",
                 lambda texts: add_weighing(bench, name, texts, at=at))  # fmt: skip


@router.post("/electrodes/{name:path}/presses")
def press(request: Request, bench: OpenBench, name: str, form: Filled) -> Response:
    """One more pressing."""
    return _done(request, bench, name, form, "press", lambda texts: add_press(bench, name, texts))


@router.post("/electrodes/{name:path}/thickness")
def thickness(request: Request, bench: OpenBench, name: str, form: Filled) -> Response:
    """The thickness at several places."""
    stem = "thickness.thickness"
    readings = [_with_unit(stem, form.text(f"{stem}.{place}")) for place in range(_THICKNESSES)]
    return _done(request, bench, name, form, "thickness", lambda _: set_thickness(bench, name, readings))  # fmt: skip


@router.post("/electrodes/{name:path}/outcome")
def outcome(request: Request, bench: OpenBench, name: str, form: Filled) -> Response:
    """What became of it."""
    return _done(request, bench, name, form, "outcome",
                 lambda texts: set_outcome(bench, name, texts.get("outcome", ""), texts.get("seen", "")))  # fmt: skip


@router.post("/electrodes/{name:path}/states")
def state(request: Request, bench: OpenBench, name: str, form: Filled) -> Response:
    """A later state of the same piece, under a name of its own."""
    at = _now(request)
    return _done(request, bench, name, form, "later", lambda texts: later_state(
        bench, name, new=texts.get("new", ""), state=texts.get("state", ""),
        rinsed=texts.get("rinsed", "") == "yes", note=texts.get("note", ""), at=at,
    ))  # fmt: skip


@router.post("/electrodes/{name:path}/photos")
def photos(request: Request, bench: OpenBench, name: str, form: Filled) -> Response:
    """Photos of it."""
    pixels = request.app.state.settings.limits.pixels

    def keep(_: dict[str, str]) -> Acted:
        files = [(upload.name, upload.data) for upload in form.files.get("photo.files", [])]
        try:
            attach_photos(bench, name, files, pixels=pixels)
            return Acted(record=bench.get(Electrode, name))
        except InputError as error:
            return Acted(faults=(FieldFault("files", error.what, error.allowed, ""),))

    return _done(request, bench, name, form, "photo", keep)
