"""The next batch: the few electrodes worth building next, with what can hurt in making them first."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fastapi import APIRouter, Request
from starlette.exceptions import HTTPException
from starlette.responses import HTMLResponse, Response

from aerode.errors import AerodeError
from aerode.records.electrodes import Electrode
from aerode.records.places import Room
from aerode.usecases.compare_study import study_of
from aerode.usecases.newest_pieces import newest_pieces
from aerode.usecases.next_asked import NextQuestion, Offer, offered_factors
from aerode.usecases.next_batch import next_batch
from aerode.usecases.next_factors import MOST_FACTORS
from aerode.usecases.next_words import (
    batch_table,
    build_line,
    next_figure,
    shares_line,
)
from aerode.usecases.usual_words import BEFORE_MAKING
from aerode.web.bench import OpenBench
from aerode.web.figure_files import figure_file, find_figure
from aerode.web.pages.building import ways_to_build
from aerode.web.rendering import address, page

if TYPE_CHECKING:
    from aerode.records.next_batches import NextBatch, NextBuild
    from aerode.store.bench_file import BenchFile

__all__ = ["router"]

router = APIRouter()


def _offer(request: Request, bench: BenchFile) -> Offer:
    """What may be varied: as people entered it, and as the record tells it."""

    def found() -> Offer:
        return offered_factors(bench, study_of(bench, newest_pieces(bench)))

    return request.app.state.remembered.of(bench, ("next offer",), found)


def _count(text: str) -> int:
    return int(text) if text.isascii() and text.isdigit() and len(text) < 4 else -1


def _way(bench: BenchFile, one: NextBuild) -> tuple[str, str] | None:
    """Where it is begun: its own pot, or a copy of the nearest mix with the share to change."""
    if one.recipe:
        return next(iter(ways_to_build(bench, one.recipe)), None)
    found = next(
        (e for e in bench.all(Electrode) if e.recipe == one.near and e.layers and e.layers[0].mix),
        None,
    )
    if found is None:
        return None
    return f"Copy the mix of {one.near}", address("mixes", found.layers[0].mix, "copy")


def _asked(
    request: Request, offer: Offer
) -> tuple[dict[str, str], tuple[str, ...], NextQuestion | None, dict[str, tuple[str, str]]]:
    """The fields as typed, the factors that are ticked, the question they make, and what of them is no count."""
    sent = request.query_params
    names = [*offer.typed, *offer.recorded]
    ticked = tuple(name for name in dict.fromkeys(sent.getlist("factor")) if name in names)
    usual = tuple(offer.typed) or tuple(offer.recorded)[:MOST_FACTORS]
    typed = {name: sent.get(name, "").strip() for name in ("builds", "mixes", "at", "room")}
    typed |= {f"between.{name}": sent.get(f"between.{name}", "").strip() for name in names}
    counts = {name: _count(typed[name]) for name in ("builds", "mixes") if typed[name]}
    faults = {
        name: (f"{typed[name]!r} is no count", "a whole number, up to 24")
        for name, n in counts.items()
        if n < 1
    }
    if faults:
        return typed, ticked or usual, None, faults
    between = tuple(
        f"{name} {typed[f'between.{name}']}" for name in ticked or usual if typed[f"between.{name}"]
    )
    question = NextQuestion(
        builds=counts.get("builds", 0), mixes=counts.get("mixes", 0), at=typed["at"], between=between,
        room=typed["room"], factors=() if set(ticked) == set(usual) else ticked,
    )  # fmt: skip
    return typed, ticked or usual, question, faults


def _chosen(request: Request, bench: BenchFile, question: NextQuestion) -> NextBatch:
    """The batch, remembered until the bench changes: its figure is asked for again as a file."""
    key = (
        "next batch",
        question.builds,
        question.mixes,
        question.at,
        question.between,
        question.room,
        question.factors,
    )
    return request.app.state.remembered.of(bench, key, lambda: next_batch(bench, question))


@router.get("/figures/next/{name}.{ending}")
def file(request: Request, bench: OpenBench, name: str, ending: str) -> Response:
    """The figure of the batch as a file."""
    _, _, question, _ = _asked(request, _offer(request, bench))
    if question is None:
        raise HTTPException(404)
    return figure_file(find_figure((next_figure(_chosen(request, bench, question)),), name), ending)


@router.get("/next")
def batch(request: Request, bench: OpenBench) -> HTMLResponse:
    """The batch, with the limits as they were typed."""
    offer = _offer(request, bench)
    typed, ticked, question, faults = _asked(request, offer)
    answer: NextBatch | None = None
    refusal: AerodeError | None = None
    asked = any(typed.values()) or bool(request.query_params.getlist("factor"))
    offering = not asked and not offer.typed and bool(offer.recorded)
    if question is not None and not offering:
        try:
            answer = _chosen(request, bench, question)
        except AerodeError as told:
            refusal = told
            at = next((f for f in (told.where, f"between.{told.where}") if f in typed), "")
            if at:
                faults[at] = (told.what, told.allowed)
    return page(
        request, "next/next.html", status=400 if (refusal and asked) or faults else 200, stage="compare",
        typed=typed, faults=faults, answer=answer, refusal=refusal, offer=offer, offering=offering, ticked=ticked,
        rows=[(build_line(one, answer.best_read), shares_line(one), _way(bench, one)) for one in answer.builds] if answer else [],
        far=[(build_line(one, answer.best_read), _way(bench, one)) for one in answer.outside] if answer else [],
        to_battery=address("battery", recipe=answer.best_read) if answer else "",
        to_pot=next(iter(ways_to_build(bench, answer.best_read)), None) if answer and answer.leave else None,
        table=batch_table(answer) if answer else None, figure=next_figure(answer) if answer else None,
        query=f"?{request.url.query}" if request.url.query else "", rooms=[room.name for room in bench.all(Room)],
        labels={"builds": "Builds", "mixes": "Different recipes at most", "at": "Compared at"}, usual=BEFORE_MAKING,
    )  # fmt: skip
