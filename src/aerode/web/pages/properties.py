"""Ask for a figure of a substance with its source, range and status; or for what serves for what."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fastapi import APIRouter, Request
from starlette.responses import HTMLResponse

from aerode.errors import AerodeError
from aerode.usecases.property import PropertyQuestion, property_of
from aerode.usecases.property_facts import property_facts
from aerode.usecases.property_lists import what_can_be_asked, what_serves
from aerode.usecases.source_words import named_source
from aerode.web.bench import OpenBench
from aerode.web.rendering import page

if TYPE_CHECKING:
    from aerode.records.properties import PropertySheet, PropertyUses

__all__ = ["router"]

router = APIRouter()

_STRENGTHS = (
    ("mass_fraction", "mass fraction", "as in 3.5 %"),
    ("molality", "moles per kilogram of water", "as in 1"),
    ("molarity", "moles per litre", "as in 1"),
    ("grams_per_100_ml_water", "grams in 100 mL of water", "as in 20"),
    ("practical_salinity", "practical salinity", "as in 35"),
)
_FIELDS = (
    "quantity", "of", "temperature", "pressure", "source", "product", "unit", "serves", "liquids",
    *(name for name, _, _ in _STRENGTHS),
)  # fmt: skip
_LATER = ("pressure", "source", "unit", "liquids", *(name for name, _, _ in _STRENGTHS[1:]))


def _asked(typed: dict[str, str]) -> PropertySheet:
    given = {name: typed[name] for name, _, _ in _STRENGTHS if typed[name]}
    return property_of(
        PropertyQuestion(
            quantity=typed["quantity"], of=typed["of"], temperature=typed["temperature"],
            pressure=typed["pressure"], strength=given, source=typed["source"],
            product=typed["product"], unit=typed["unit"],
            solvents=tuple(one.strip() for one in typed["liquids"].split(",") if one.strip()),
        )
    )  # fmt: skip


@router.get("/properties")
def properties(request: Request, bench: OpenBench) -> HTMLResponse:
    """A figure with all that stands behind it; or what can be asked."""
    typed = {name: request.query_params.get(name, "").strip() for name in _FIELDS}
    sheet: PropertySheet | None = None
    uses: PropertyUses | None = None
    refusal: AerodeError | None = None
    listed = what_can_be_asked()
    try:
        if typed["serves"]:
            uses = what_serves(typed["serves"], typed["of"])
        elif typed["quantity"] and typed["of"]:
            sheet = _asked(typed)
        elif typed["quantity"] or typed["of"]:
            listed = what_can_be_asked(typed["quantity"], typed["of"])
    except AerodeError as told:
        refusal = told
    whole = what_can_be_asked()
    sources = dict.fromkeys(o.source for o in sheet.others) if sheet else {}
    if typed["source"]:
        sources |= {typed["source"]: None}
    return page(
        request, "properties/properties.html", status=400 if refusal else 200, stage="more",
        typed=typed, sheet=sheet, facts=property_facts(sheet, named=True) if sheet else (), uses=uses,
        refusal=refusal, listed=listed, quantities=whole.quantities, strengths=_STRENGTHS,
        substances=[one.name for one in whole.substances],
        sources=[(key, named_source(key)) for key in sources],
        more_filled=any(typed[name] for name in _LATER),
        functions=[(one, one) for one in whole.functions],
    )  # fmt: skip
