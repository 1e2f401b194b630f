"""The shelf: what there is to make and measure with."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
from starlette.responses import HTMLResponse, Response

from aerode.errors import RecordError
from aerode.records import KINDS
from aerode.records.instruments import Sort
from aerode.usecases.bench_words import shown_fields, summary
from aerode.usecases.off_shelf import gone_words, is_gone
from aerode.usecases.resistors_entered import enter_resistors
from aerode.usecases.run_instruments import resistors_at_hand
from aerode.web.bench import OpenBench, turn_of
from aerode.web.forms import Filled, go, new_once
from aerode.web.rendering import address, page

if TYPE_CHECKING:
    from collections.abc import Iterable

    from aerode.store.bench_file import BenchFile

__all__ = ["SHELF", "router"]

router = APIRouter()
_WIDTH = 70
_MOST = 200
"""Cards of one kind on the page, the newest ones."""


@dataclass(frozen=True, slots=True)
class _Part:
    kind: str
    title: str
    one: str
    add: str
    why: str
    names: tuple[tuple[str, str], ...] = ()
    gone: tuple[tuple[str, str], ...] = ()
    """What stood here once, with how it left."""
    resistors: tuple[str, ...] = ()
    """Names of the resistors, the largest first: one card for all of them."""


SHELF: tuple[_Part, ...] = (
    _Part("instrument", "Instruments", "instrument", "meter, resistor, scale",
          "Start with the multimeter, then each resistor, then the scale."),
    _Part("powder", "Powders", "powder", "carbon, catalyst", "Carbon first: it carries the current."),
    _Part("solution", "Solutions", "solution", "a plastic in its solvent", "The binder, as it stands in the jar."),
    _Part("solvent", "Solvents", "solvent", "a bottle", "What thins the mix."),
    _Part("mesh", "Mesh", "mesh", "what carries the coat", "The metal that collects the current."),
    _Part("aluminium", "Aluminium", "aluminium", "foil, sheet, can", "The other side of the cell."),
    _Part("electrolyte", "Electrolyte", "electrolyte", "salt water, lye", "What wets the cell."),
    _Part("room", "Rooms", "room", "where the work is done", "Says what vapour does to the air you breathe."),
)  # fmt: skip


@router.get("/shelf")
def shelf(request: Request, bench: OpenBench) -> HTMLResponse:
    """Everything on the shelf, one card each."""
    parts: list[_Part] = []
    for part in SHELF:
        cls: type[Any] = KINDS[part.kind]
        records = bench.latest(cls, count=_MOST)[::-1]
        loads = _resistors(records) if part.kind == "instrument" else ()
        names = tuple(
            (one.name, summary(shown_fields(one), _WIDTH))
            for one in records
            if not is_gone(one) and one.name not in loads
        )
        gone = tuple((one.name, gone_words(one)) for one in records if is_gone(one))
        parts.append(replace(part, names=names, gone=gone, resistors=loads))
    empty = [
        part.title.lower() for part in parts if not (part.names or part.resistors or part.gone)
    ]
    left = [part.title.lower() for part in parts if part.gone and not part.names]
    total = sum(len(part.names) + len(part.resistors) for part in parts)
    stands = "1 thing stands" if total == 1 else f"{total} things stand"
    sentence = f"{stands} on the shelf" if total else "The shelf is empty"
    if total and empty:
        sentence += f"; no {' and no '.join(empty[:2])} yet"
    if total and left:
        sentence += f"; no {' and no '.join(left[:2])} any more"
    return page(request, "shelf.html", stage="shelf", sentence=sentence, parts=parts)


def _resistors(records: Iterable[Any]) -> tuple[str, ...]:
    """The resistors that stand there, the largest first."""
    there = [one for one in records if one.sort is Sort.RESISTOR and not is_gone(one)]
    return tuple(
        one.name for one in sorted(there, key=lambda one: -(one.nominal_resistance or 0.0))
    )


_ASKED = ("values", "tolerance", "power_rating")


def _resistors_page(
    request: Request,
    bench: BenchFile,
    *,
    typed: dict[str, str] | None = None,
    faults: dict[str, tuple[str, str]] | None = None,
    said: str = "",
) -> HTMLResponse:
    there = sorted(resistors_at_hand(bench).items(), key=lambda one: -one[1])
    return page(
        request, "shelf/resistors.html", status=422 if faults else 200, stage="shelf",
        there=[name for name, _ in there], typed=typed or {}, faults=faults or {}, said=said,
        once=new_once(),
    )  # fmt: skip


@router.get("/shelf/resistors")
def resistors(request: Request, bench: OpenBench, made: str = "", known: str = "") -> HTMLResponse:
    """The form that takes several resistors in one line."""
    told = [words for count, words in (
        (made, f"{made} entered"), (known, f"{known} stood here already"),
    ) if count.isascii() and count.isdigit() and int(count[:3])]  # fmt: skip
    said = f"{'; '.join(told)}." if told else ""
    return _resistors_page(request, bench, said=said)


@router.post("/shelf/resistors")
def store_resistors(request: Request, bench: OpenBench, form: Filled) -> Response:
    """Store all resistors of the line."""
    sent = request.app.state.sent
    if form.once and (led := sent.already(form.once)):
        return go(led)
    typed = {name: form.text(name) for name in _ASKED}
    try:
        with turn_of(request):
            entered = enter_resistors(bench, **typed)
    except RecordError as refusal:
        faults = {one.field: (one.what, one.allowed) for one in refusal.faults}
        return _resistors_page(request, bench, typed=form.texts, faults=faults)
    place = address("shelf", "resistors", made=len(entered.made), known=len(entered.known))
    sent.note(form.once, place)
    return go(place)
