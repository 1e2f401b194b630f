"""Entering a mix or a pot of one: rows of what and how much, with the answer while they are typed."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
from starlette.responses import HTMLResponse, Response

from aerode.records.materials import PowderLot, Solution, SolventLot
from aerode.records.mixes import Batch, Mix
from aerode.records.places import Room
from aerode.usecases.before_making import before_pot
from aerode.usecases.mix_preview import MixPreview, look_at_mix, preview_mix
from aerode.usecases.mix_preview_keep import Kept, keep_batch, keep_mix
from aerode.usecases.mix_preview_list import composition_figure
from aerode.usecases.mix_preview_plan import goes_in, planned_words
from aerode.usecases.mix_preview_rows import (
    MixRow,
    TypedMix,
    behind_amounts,
    typed_batch,
    typed_mix,
)
from aerode.usecases.mix_preview_words import mix_facts, part_rows, plain_notes
from aerode.usecases.off_shelf import offered
from aerode.usecases.pot_plan import plan_of, plan_words
from aerode.usecases.usual_shares import past_usual_share
from aerode.web.away import led_back, left, send_away, taken_up, with_back
from aerode.web.bench import OpenBench
from aerode.web.form_plans import typed_texts, with_named_unit
from aerode.web.forms import Filled, go, new_once, put_right
from aerode.web.pages.mixes import question_of
from aerode.web.pages.records import form_page
from aerode.web.rendering import address, page

if TYPE_CHECKING:
    from collections.abc import Mapping

    from aerode.records.mixes import Portion
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.before_making import BeforeMaking

__all__ = ["router"]

router = APIRouter()
_BLANK = 2
_ROWS = 60
_ROW = re.compile(r"^rows\.(\d{1,3})\.(of|amount|share)$")


def _typed(texts: Mapping[str, str]) -> TypedMix:
    """The form as it was sent."""
    rows: dict[int, MixRow] = {}
    for path, text in texts.items():
        match = _ROW.match(path)
        if match and int(match[1]) < _ROWS:
            row = rows.get(int(match[1]), MixRow())
            unit = "g" if match[2] == "amount" else ""
            rows[int(match[1])] = replace(row, **{match[2]: with_named_unit(text.strip(), unit)})
    whole = tuple(rows.get(n, MixRow()) for n in range(max(rows, default=-1) + 1))
    plain = {
        "name": "",
        "solids": "%",
        "after": "",
        "note": "",
        "mix": "",
        "made": "",
        "rested": "h",
        "holds": "",
    }
    typed = {key: with_named_unit(texts.get(key, "").strip(), unit) for key, unit in plain.items()}
    return TypedMix(rows=whole, **typed)


def _stock(bench: BenchFile) -> list[tuple[str, str]]:
    """What stands on the shelf, to pick from: the name, and what it is."""
    powders = [(one.name, one.substance) for one in offered(bench, PowderLot)]
    solutions = [(one.name, f"{one.polymer}, dissolved") for one in offered(bench, Solution)]
    solvents = [(one.name, f"{one.substance}, solvent") for one in offered(bench, SolventLot)]
    return powders + solutions + solvents


def _form(
    request: Request,
    bench: BenchFile,
    typed: TypedMix,
    *,
    kind: str,
    action: str,
    back: tuple[str, str],
    name: str = "",
    kept: Kept | None = None,
    seen: MixPreview | None = None,
    state: str = "",
    more: int = 0,
    planned: Mapping[str, str] | None = None,
    dose: Mapping[str, str] | None = None,
    before: BeforeMaking | None = None,
    room: str = "",
    meant: str = "",
) -> HTMLResponse:
    faults = kept.faults if kept else ()
    told = {f.field: (f.what, f.allowed) for f in faults}
    filled = [row for row in typed.rows if not row.blank]
    blank = 0 if kind == "batch" and planned and not more else max(_BLANK + more, 4 - len(filled))
    rows = (*typed.rows, *(MixRow() for _ in range(blank - (len(typed.rows) - len(filled)))))
    return page(
        request,
        "mixes/form.html",
        status=422
        if faults or (kept and (kept.ask or kept.two or kept.doubts))
        else 409
        if kept and kept.theirs
        else 200,
        stage="mix",
        kind=kind,
        name=name,
        typed=typed,
        rows=rows,
        action=with_back(request, action),
        back=left(request, *back),
        free=next((f"rows.{n}.of" for n, row in enumerate(rows) if row.blank), ""),
        fetched=held.chosen if (held := taken_up(request, action)) else "",
        faults=told,
        theirs=kept.theirs if kept else "",
        ask=kept.ask if kept else "",
        two=kept.two if kept else "",
        doubts=kept.doubts if kept else (),
        meant=meant,
        mark=kept.mark if kept else "",
        state=kept.state if kept else state,
        once=new_once(),
        stock=_stock(bench),
        mixes=[one for one in bench.to_pick_from(Mix) if one != name],
        rooms=bench.names(Room),
        planned=planned or {},
        dose=dose or {},
        asked=dict(request.query_params),
        before=before,
        room=room,
        **_shown(seen),
    )


def _shown(seen: MixPreview | None) -> dict[str, Any]:
    """What the preview of a mix shows."""
    found = seen.found if seen else None
    return {
        "seen": seen,
        "goes": goes_in(seen.mix) if seen and seen.mix else (),
        "parts": part_rows(found) if found else (),
        "facts": mix_facts(found) if found else (),
        "past": past_usual_share(found) if found else (),
        "assumed": plain_notes(found.assumptions) if found else (),
        "figure": composition_figure(found) if found else None,
    }


@router.post("/mixes/preview")
def preview(request: Request, bench: OpenBench, form: Filled) -> HTMLResponse:
    """What a typed mix dries to: a part of a page, nothing is stored."""
    seen = _preview(bench, form.texts)
    return page(request, "mixes/preview.html", stage="mix", alone=True, **_shown(seen))


def _preview(bench: BenchFile, texts: Mapping[str, str]) -> MixPreview:
    room = texts.get("room", "").strip()
    known = room if room in bench.names(Room) else ""
    return preview_mix(bench, _typed(texts), question_of(texts), room=known)


@router.get("/mixes/new")
def new(request: Request, bench: OpenBench) -> HTMLResponse:
    """An empty form; what stands in the address is filled in already."""
    held = taken_up(request, "/mixes/new")
    typed = _typed(held.texts if held else dict(request.query_params))
    return _form(request, bench, typed, kind="mix", action="/mixes/new", back=("/mixes", "All mixes"))  # fmt: skip


@router.post("/mixes/new")
def store_new(request: Request, bench: OpenBench, form: Filled) -> Response:
    """Store a new mix, or show what it would dry to."""
    return _taken(request, bench, form, action="/mixes/new", back=("/mixes", "All mixes"))


_DOSE = ("area", "loading", "electrodes", "spare", "scale", "solids", "mesh", "sure", "room")


def _plan(
    bench: BenchFile, name: str, query: Mapping[str, str], batch: str = ""
) -> tuple[tuple[Portion, ...], dict[str, str]]:
    """What was to be weighed of each ingredient, and its words beside the field of what was."""
    mix, kept = bench.get(Mix, name), bench.get(Batch, batch).planned if batch else ()
    said = planned_words(mix)
    if query.get("area"):
        dose = look_at_mix(bench, name, question_of(query)).found.dose
        if dose is not None:
            return plan_of(mix, dose), said | plan_words(plan_of(mix, dose), "the dose sheet")
    if kept:
        return kept, said | plan_words(kept)
    return mix.portions, said | plan_words(mix.portions, "the mix")


def _free_name(bench: BenchFile, mix: str) -> str:
    """The next name for a pot of this mix."""
    number = len(bench.all(Batch, of=mix)) + 1
    while bench.find(Batch, f"{mix} pot {number}") is not None:
        number += 1
    return f"{mix} pot {number}"


@router.get("/mixes/{name:path}/pots/new")
def new_pot(request: Request, bench: OpenBench, name: str) -> HTMLResponse:
    """A pot of a mix: one row for each ingredient of the mix, the amount as weighed."""
    query = request.query_params
    rows = tuple(MixRow(of=row.of) for row in typed_mix(bench.get(Mix, name)).rows)
    today = request.app.state.settings.clock().date().isoformat()
    typed = TypedMix(name=_free_name(bench, name), mix=name, rows=rows, made=today)
    return _pot_form(request, bench, name, typed, dose={k: query[k] for k in _DOSE if query.get(k)})


@router.post("/mixes/{name:path}/pots/new")
def store_pot(request: Request, bench: OpenBench, name: str, form: Filled) -> Response:
    """Store a pot."""
    return _pot_taken(request, bench, name, form)


@router.get("/mixes/{name:path}/pots/{batch:path}/edit")
def edit_pot(request: Request, bench: OpenBench, name: str, batch: str) -> HTMLResponse:
    """The form of a pot with what is stored now."""
    revision = bench.state(Batch, batch)
    typed = _with_every_row(bench.get(Mix, name), typed_batch(bench.read(revision)))
    return _pot_form(request, bench, name, typed, batch=batch, state=revision.digest)


def _with_every_row(mix: Mix, typed: TypedMix) -> TypedMix:
    """The form of a pot with a row for each ingredient of its mix, weighed or not."""
    there = {row.of for row in typed.rows}
    more = tuple(MixRow(of=row.of) for row in typed_mix(mix).rows if row.of not in there)
    return replace(typed, rows=typed.rows + more)


@router.post("/mixes/{name:path}/pots/{batch:path}/edit")
def store_pot_change(
    request: Request, bench: OpenBench, name: str, batch: str, form: Filled
) -> Response:
    """Store what was changed on a pot."""
    return _pot_taken(request, bench, name, form, batch=batch)


@router.get("/mixes/{name:path}/copy")
def copy(request: Request, bench: OpenBench, name: str) -> HTMLResponse:
    """A new mix grown out of this one: the same rows, to be changed."""
    typed = replace(typed_mix(bench.get(Mix, name)), name="", after=name, note="")
    back = (address("mixes", name), name)
    return _form(request, bench, typed, kind="mix", action="/mixes/new", back=back)


@router.get("/mixes/{name:path}/edit")
def edit(request: Request, bench: OpenBench, name: str) -> HTMLResponse:
    """The form with what is stored now."""
    revision = bench.state(Mix, name)
    mix = bench.read(revision)
    return _form(request, bench, typed_mix(mix), kind="mix", action=address("mixes", name, "edit"), name=name,
                 back=(address("mixes", name), name), state=revision.digest, planned=behind_amounts(mix))  # fmt: skip


@router.post("/mixes/{name:path}/edit")
def store_change(request: Request, bench: OpenBench, name: str, form: Filled) -> Response:
    """Store what was changed, or show what it would dry to."""
    back = (address("mixes", name), name)
    return _taken(request, bench, form, action=address("mixes", name, "edit"), back=back, name=name)


def _taken(
    request: Request, bench: BenchFile, form: Any, *, action: str, back: tuple[str, str], name: str = ""
) -> Response:  # fmt: skip
    typed, state = _typed(form.texts), form.text("state")
    sent = request.app.state.sent
    if form.once and (led := sent.already(form.once)):
        return go(led)
    if form.text("away") and not name:
        return send_away(request, form, place=action, title="A new mix", texts=form.texts)
    if form.text("act") == "show" or form.text("more"):
        seen = _preview(bench, form.texts) if form.text("act") == "show" else None
        return _form(request, bench, typed, kind="mix", action=action, back=back, name=name, seen=seen,
                     state=state, more=2 if form.text("more") else 0)  # fmt: skip
    kept = keep_mix(
        bench, typed, name=name, state=state, why=form.text("why"), sure=form.text("sure")
    )
    if kept.record is None:
        seen = None if kept.faults else _preview(bench, form.texts)
        return _form(request, bench, typed, kind="mix", action=action, back=back, name=name, kept=kept,
                     seen=seen)  # fmt: skip
    place = address("mixes", kept.record.name, stored="follow" if kept.told else "yes")
    place = led_back(request, place, kept.record.name)
    sent.note(form.once, place)
    return go(place)


def _pot_form(
    request: Request, bench: BenchFile, mix: str, typed: TypedMix, *, batch: str = "",
    dose: Mapping[str, str] | None = None, **more: Any,
) -> HTMLResponse:  # fmt: skip
    tail = (batch, "edit") if batch else ("new",)
    back = (address("mixes", mix, "pots", batch), batch) if batch else (address("mixes", mix), mix)
    planned = _plan(bench, mix, dose or {}, batch)[1]
    room = (dose or {}).get("room", "")
    asked = question_of(dose) if dose else None
    before = None if batch else before_pot(bench, mix, asked, room=room if room in bench.names(Room) else "")  # fmt: skip
    return _form(request, bench, typed, kind="batch", name=batch, back=back, dose=dose, planned=planned,
                 before=before, room=room, action=address("mixes", mix, "pots", *tail), **more)  # fmt: skip


def _put_right(typed: TypedMix, pressed: str) -> TypedMix:
    """The form with the weight that was meant; as it was where nothing of the kind was pressed."""
    amounts = {f"rows.{n}.amount": row.amount for n, row in enumerate(typed.rows)}
    right = amounts | put_right(pressed, amounts)
    rows = zip(typed.rows, right.values(), strict=True)
    return replace(typed, rows=tuple(replace(row, amount=amount) for row, amount in rows))


def _pot_taken(
    request: Request, bench: BenchFile, mix: str, form: Any, *, batch: str = ""
) -> Response:
    typed = _put_right(replace(_typed(form.texts), mix=mix), form.text("instead"))
    dose = {key: text for key, text in form.under("dose.").items() if key in _DOSE and text}
    sent = request.app.state.sent
    if form.once and (led := sent.already(form.once)):
        return go(led)
    if form.text("more"):
        return _pot_form(request, bench, mix, typed, batch=batch, dose=dose, more=2,
                         state=form.text("state"))  # fmt: skip
    kept = keep_batch(
        bench,
        typed,
        name=batch,
        state=form.text("state"),
        why=form.text("why"),
        sure=form.text("sure"),
        planned=_plan(bench, mix, dose, batch)[0],
        meant=form.text("meant"),
    )
    if kept.record is None:
        return _pot_form(request, bench, mix, typed, batch=batch, dose=dose, kept=kept,
                         meant="" if kept.doubts else form.text("meant"))  # fmt: skip
    place = address("mixes", mix, "pots", kept.record.name, stored="yes")
    place = led_back(request, place, kept.record.name)
    sent.note(form.once, place)
    return go(place)


@router.get("/things/mix/new")
def plain_new(request: Request) -> Response:
    """The form that shows what a mix dries to stands in the place of the plain one."""
    return go(address("mixes", "new", **dict(request.query_params)))


@router.get("/things/mix/{name:path}/edit")
def plain_edit(name: str) -> Response:
    """The same for a change."""
    return go(address("mixes", name, "edit"))


@router.get("/things/mix/{name:path}")
def plain_mix(name: str) -> Response:
    """The same for the page of a mix."""
    return go(address("mixes", name))


@router.get("/things/batch/{name:path}/edit")
def plain_pot_edit(bench: OpenBench, name: str) -> Response:
    """The form of a pot stands under its mix."""
    return go(address("mixes", bench.get(Batch, name).mix, "pots", name, "edit"))


@router.get("/things/batch/{name:path}")
def plain_pot(request: Request, bench: OpenBench, name: str) -> Response:
    """The page of a pot stands under its mix; a new one begins with the plain form, which asks for it."""
    if name == "new":
        return form_page(
            request, bench, "batch", texts=typed_texts("batch", dict(request.query_params))
        )
    return go(address("mixes", bench.get(Batch, name).mix, "pots", name))
