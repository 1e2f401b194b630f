"""The shelf: what there is to make and measure with."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter, Request
from starlette.responses import HTMLResponse

from aerode.records import KINDS
from aerode.usecases.bench_words import shown_fields, summary
from aerode.web.bench import OpenBench
from aerode.web.rendering import page

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
        names = tuple((one.name, summary(shown_fields(one), _WIDTH)) for one in records)
        parts.append(_Part(part.kind, part.title, part.one, part.add, part.why, names))
    empty = [part.title.lower() for part in parts if not part.names]
    total = sum(len(part.names) for part in parts)
    sentence = f"{total} things stand on the shelf" if total else "The shelf is empty"
    if total and empty:
        sentence += f"; no {' and no '.join(empty[:2])} yet"
    return page(request, "shelf.html", stage="shelf", sentence=sentence, parts=parts)
