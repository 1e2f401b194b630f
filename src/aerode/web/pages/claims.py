"""Claims: what is to be shown, said before the result, and what its builds can reach."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fastapi import APIRouter, Request
from starlette.responses import HTMLResponse, Response

from aerode.records.places import Claim
from aerode.usecases.claim import outlook_of, state_claim
from aerode.usecases.claim_form import claim_from_texts, outlook_table, point_words
from aerode.usecases.compare_view import choices
from aerode.web.bench import OpenBench
from aerode.web.forms import Filled, go, new_once
from aerode.web.rendering import address, page

if TYPE_CHECKING:
    from aerode.records.comparisons import ClaimOutlook
    from aerode.store.bench_file import BenchFile

__all__ = ["router"]

router = APIRouter()
_FIELDS = ("name", "question", "factor", "at", "margin", "builds", "looks", "spread", "note")


@router.get("/claims")
def claims(request: Request, bench: OpenBench) -> HTMLResponse:
    """All claims, newest last, with the point and the margin of each."""
    rows = [
        (one, point_words(one.at, "A/m^2" if one.response.startswith("voltage") else "V"))
        for one in bench.all(Claim)
    ]
    return page(request, "claims/claims.html", stage="compare", rows=rows)


@router.get("/claims/new")
def new(request: Request, bench: OpenBench) -> HTMLResponse:
    """The form; with fields in the address it also says what they could reach, and keeps nothing."""
    typed = {name: request.query_params.get(name, "") for name in _FIELDS}
    if not any(typed.values()):
        return _form(request, bench, typed)
    today = _today(request)
    claim, spread, faults = claim_from_texts({**typed, "name": typed["name"] or "unnamed"}, made=today)  # fmt: skip
    outlook = state_claim(bench, claim, spread=spread, keep=False) if claim else None
    return _form(request, bench, typed, faults=faults, outlook=outlook)


@router.post("/claims/new")
def state(request: Request, bench: OpenBench, form: Filled) -> Response:
    """Keep a claim with its date."""
    sent = request.app.state.sent
    if led := sent.already(form.once):
        return go(led)
    typed = {name: form.text(name) for name in _FIELDS}
    claim, spread, faults = claim_from_texts(typed, made=_today(request))
    if claim is not None and bench.find(Claim, claim.name) is not None:
        faults = {"name": (f"{claim.name} stands on the bench already", "another name")}
    if claim is None or faults:
        return _form(request, bench, typed, faults=faults)
    state_claim(bench, claim, spread=spread)
    place = address("claims", claim.name, stored="yes")
    sent.note(form.once, place)
    return go(place)


@router.get("/claims/{name:path}")
def one(request: Request, bench: OpenBench, name: str, stored: str = "") -> HTMLResponse:
    """A claim with what its builds can reach."""
    claim = bench.get(Claim, name)
    outlook = request.app.state.remembered.of(
        bench, ("outlook", name), lambda: outlook_of(bench, name)
    )
    return page(
        request, "claims/claim.html", stage="compare", claim=claim, outlook=outlook,
        table=outlook_table(outlook), point=point_words(outlook.at, outlook.at_unit),
        stored=bool(stored),
    )  # fmt: skip


def _today(request: Request) -> str:
    return request.app.state.settings.clock().date().isoformat()


def _form(
    request: Request,
    bench: BenchFile,
    typed: dict[str, str],
    *,
    faults: dict[str, tuple[str, str]] | None = None,
    outlook: ClaimOutlook | None = None,
) -> HTMLResponse:
    return page(
        request, "claims/new.html", status=422 if faults else 200, stage="compare", typed=typed,
        faults=faults or {}, factors=choices(bench).factors, outlook=outlook, once=new_once(),
        table=outlook_table(outlook) if outlook else None,
    )  # fmt: skip
