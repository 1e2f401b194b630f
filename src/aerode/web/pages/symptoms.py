"""Trouble by what is seen: likely causes, the test that splits them, and what it was, kept with the piece."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fastapi import APIRouter, Request
from starlette.responses import HTMLResponse, Response

from aerode.errors import AerodeError, NotFoundError, ReferenceDataError
from aerode.records.electrodes import Cell, Electrode
from aerode.usecases.symptom import SymptomNote, causes_in_order, keep_answer, what_it_may_be
from aerode.web.bench import OpenBench
from aerode.web.forms import Filled, go, new_once
from aerode.web.rendering import address, page

if TYPE_CHECKING:
    from aerode.store.bench_file import BenchFile

__all__ = ["router"]

router = APIRouter()
_FIELDS = ("symptom", "on", "showed", "cause", "other", "run", "note")


@router.get("/symptoms")
def symptoms(
    request: Request, bench: OpenBench, seen: str = "", on: str = "", kept: str = ""
) -> HTMLResponse:
    """What fits what is seen, best first; all of it for nothing."""
    return _page(request, bench, seen=seen, on=on, kept=kept)


@router.post("/symptoms/keep")
def keep(request: Request, bench: OpenBench, form: Filled) -> Response:
    """Keep with an electrode or a cell what the test showed, and which cause it was."""
    sent = request.app.state.sent
    if led := sent.already(form.once):
        return go(led)
    typed = {name: form.text(name) for name in _FIELDS}
    note = SymptomNote(
        symptom=typed["symptom"], on=typed["on"], showed=typed["showed"],
        cause=typed["other"] or typed["cause"], run=typed["run"], note=typed["note"],
    )  # fmt: skip
    at = request.app.state.settings.clock().isoformat(timespec="seconds")
    try:
        answer = keep_answer(bench, note, at=at)
    except AerodeError as refusal:
        return _page(
            request, bench, seen=typed["symptom"], on=typed["on"], typed=typed, refusal=refusal
        )
    place = address("symptoms", seen=typed["symptom"], on=typed["on"], kept=answer.kept)
    sent.note(form.once, place)
    return go(place)


def _page(
    request: Request,
    bench: BenchFile,
    *,
    seen: str,
    on: str,
    kept: str = "",
    typed: dict[str, str] | None = None,
    refusal: AerodeError | None = None,
) -> HTMLResponse:
    pieces = [*bench.to_pick_from(Electrode), *bench.to_pick_from(Cell)]
    unknown = ""
    try:
        answer = what_it_may_be(seen, bench, on if on in pieces else "")
    except (ReferenceDataError, NotFoundError) as told:
        answer, unknown = what_it_may_be(), told.what
    return page(
        request, "symptoms/symptoms.html", status=400 if refusal else 200, stage="more",
        answer=answer, seen=seen, on=on, pieces=[(one, one) for one in pieces], kept=kept, unknown=unknown,
        typed=typed or {"on": on, "symptom": answer.rows[0].key if seen else ""}, refusal=refusal,
        once=new_once(), whole=bool(seen) and not unknown and answer.sure, near=bool(seen) and not unknown and not answer.sure, order=causes_in_order(answer),
        piece=_electrode_of(bench, on),
    )  # fmt: skip


def _electrode_of(bench: BenchFile, on: str) -> str:
    """The electrode of this name, or that of the cell; "" where there is neither."""
    if not on or bench.find(Electrode, on) is not None:
        return on
    cell = bench.find(Cell, on)
    return cell.electrode if cell is not None else ""
