"""What can hurt someone: chosen by item and room, read, acknowledged with a reason, marked as read."""

from __future__ import annotations

from dataclasses import fields
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
from starlette.responses import HTMLResponse, Response

from aerode.cautions.reading import folded_keys
from aerode.errors import FieldFault, InputError
from aerode.records.electrodes import Appliance, Cell, Electrode
from aerode.records.mixes import Mix
from aerode.records.places import Room
from aerode.usecases.cautions import CautionQuestion, acknowledge, mark_read, what_can_hurt
from aerode.usecases.group_codes import CODES_SAID, is_class
from aerode.usecases.lye_words import LYE_WORDS
from aerode.usecases.usual_words import BEFORE_MAKING, BEFORE_MEASURING
from aerode.web.bench import OpenBench
from aerode.web.forms import Filled, go, new_once
from aerode.web.rendering import address, page

if TYPE_CHECKING:
    from collections.abc import Mapping

    from aerode.store.bench_file import BenchFile

__all__ = ["router"]

router = APIRouter()
_KINDS: tuple[tuple[str, str, type], ...] = (
    ("mix", "Mixes", Mix),
    ("electrode", "Electrodes", Electrode),
    ("cell", "Cells", Cell),
)
_SHOWN = 12
_TEXTS = frozenset(
    field.name for field in fields(CautionQuestion) if field.type == "str" and field.name != "scale"
)
_YES = ("capped", "fused", "charger", "class_mode")
_COUNTS = ("series", "strings")
_ASKED: dict[str, tuple[tuple[str, str, str], ...]] = {
    "mix": (
        ("area", "Wet area that stands open", "40 cm²"),
        ("weigh_loss", "What a scale saw evaporate", "1.2 g in 10 min"),
        ("plate", "It will be heated to", "150 °C"),
    ),
    "electrode": (
        ("plate", "Plate", "150 °C"),
        ("weighed_twice", "Two weighings and the time between", "12.43 g, 12.42 g, 15 min"),
        ("closed_volume", "Air it is shut into", "40 L"),
        ("retained", "Solvent still in the coat", "0.2 g"),
    ),
    "cell": (
        ("open_circuit", "Open-circuit voltage of one cell", "1.62 V ± 0.02 V"),
        ("corroded", "Aluminium lost or gas caught at rest", "12 mL in 2 h"),
        ("headspace", "Air space under the cap", "20 mL"),
        ("box", "Air in the box it stands in", "2 L"),
        ("series", "Cells in series", "4"),
        ("strings", "Strings side by side", "1"),
    ),
}  # fmt: skip
"""What can be said beside the records, by the kind of the item: the field, its words, an example."""
_TICKS = {
    "cell": (("capped", "The cell is capped"), ("fused", "There is a fuse"), ("charger", "A charger is near")),
}  # fmt: skip


@router.get("/cautions")
def choose(request: Request, bench: OpenBench, item: str = "", room: str = "") -> Response:
    """Choose what it is about, and where the work is done."""
    if item.strip():
        return go(address("cautions", item.strip(), room=room))
    groups = [
        (kind, title, [(f"{kind}:{name}", name) for name in bench.to_pick_from(cls, most=_SHOWN)])
        for kind, title, cls in _KINDS
    ]
    return page(
        request, "cautions/choose.html", stage="more", groups=groups, rooms=bench.names(Room),
        room=room, item="", several=(), making=() if any(names for *_, names in groups) else BEFORE_MAKING,
        measuring=() if any(names for *_, names in groups) else BEFORE_MEASURING,
        lye=() if any(names for *_, names in groups) else LYE_WORDS,
    )  # fmt: skip


def _question(query: Mapping[str, str], rooms: list[str]) -> CautionQuestion:
    """What was said beside the records, out of an address or a form."""
    said: dict[str, Any] = {k: v.strip() for k, v in query.items() if k in _TEXTS and v.strip()}
    if said.get("room") not in rooms:
        said.pop("room", None)
    said |= {key: True for key in _YES if query.get(key) == "yes"}
    for key in _COUNTS:
        number = query.get(key, "").strip()
        if number:
            if not (number.isdecimal() and 0 < int(number) <= 1000):
                raise InputError(f"{number!r} is no count", where=key, allowed="1 to 1000",
                                 next_step="type a whole number")  # fmt: skip
            said[key] = int(number)
    lines = [line.strip() for line in query.get("sheets", "").splitlines() if line.strip()]
    return CautionQuestion(**said, sheets=tuple(lines))


def _kept(query: Mapping[str, str]) -> dict[str, str]:
    """The part of an address or a form that asks."""
    names = {*_TEXTS, *_YES, *_COUNTS, "sheets"}
    return {k: v for k, v in query.items() if k in names and v.strip()}


def _kind_of(bench: BenchFile, item: str) -> tuple[str, list[str]]:
    """The kind of an item; or all things of that name, where there are several."""
    kind, mark, _ = item.partition(":")
    if mark and kind in _ASKED:
        return kind, []
    found = [kind for kind, _, cls in _KINDS if bench.find(cls, item) is not None]
    if len(found) > 1:
        return "", [f"{kind}:{item}" for kind in found]
    return (found[0] if found else ""), []


@router.get("/cautions/{item:path}")
def sheet(request: Request, bench: OpenBench, item: str, read: str = "") -> Response:
    """Every caution on an item, hardest first."""
    return _sheet(request, bench, item, dict(request.query_params), read=read)


def _sheet(
    request: Request,
    bench: BenchFile,
    item: str,
    query: Mapping[str, str],
    *,
    read: str = "",
    key: str = "",
    reason: str = "",
    fault: FieldFault | None = None,
    group: str = "",
) -> HTMLResponse:
    kind, several = _kind_of(bench, item)
    rooms = bench.names(Room)
    if several:
        return page(request, "cautions/choose.html", stage="more", groups=[], rooms=rooms, room="",
                    item=item, several=several)  # fmt: skip
    typed: FieldFault | None = None
    try:
        question = _question(query, rooms)
        found = what_can_hurt(bench, item, question)
    except InputError as error:
        if not _kept(query):
            raise
        typed = FieldFault(error.where, error.what, error.allowed, "")
        question = CautionQuestion()
        found = what_can_hurt(bench, item, question)
    return page(
        request,
        "cautions/sheet.html",
        status=422 if fault else 200,
        stage="more",
        item=item,
        name=item.partition(":")[2] if item.partition(":")[0] in _ASKED else item,
        kind=kind,
        sheet=found,
        folded=folded_keys(found),
        asked=_ASKED.get(kind, ()),
        ticks=(*_TICKS.get(kind, ()), ("class_mode", "Children or a class take part")),
        appliances=[one.value for one in Appliance],
        query=query,
        kept=_kept(query),
        rooms=rooms,
        typed=typed,
        key=key,
        reason=reason,
        fault=fault,
        once=new_once(),
        read=read,
        codes=_codes(bench, question),
        group=group,
    )


def _codes(bench: BenchFile, question: CautionQuestion) -> tuple[str, ...]:
    """The codes to choose from where a class is at work; none otherwise."""
    return CODES_SAID if is_class(bench, class_mode=question.class_mode, room=question.room) else ()


@router.post("/cautions/{item:path}")
def take(request: Request, bench: OpenBench, item: str, form: Filled) -> Response:
    """Keep the reason for going on in spite of a STOP; or mark the others as read."""
    sent = request.app.state.sent
    if form.once and (led := sent.already(form.once)):
        return go(led)
    kept = _kept(form.texts)
    question = _question(form.texts, bench.names(Room))
    made = request.app.state.settings.clock().isoformat(timespec="seconds")
    key, reason, group = form.text("key"), form.text("reason"), form.text("group")
    try:
        if form.text("act") == "read":
            mark_read(bench, item, made=made, question=question, group=group)
        else:
            acknowledge(bench, item, key, reason, made=made, question=question, group=group)
    except InputError as error:
        field = "group" if error.where == "group" else "reason"
        fault = FieldFault(field, error.what, error.allowed, reason)
        return _sheet(request, bench, item, form.texts, key=key or "read", reason=reason, fault=fault,
                      group=group)  # fmt: skip
    place = address("cautions", item, **kept, read=form.text("act") or "yes")
    sent.note(form.once, place)
    return go(place)
