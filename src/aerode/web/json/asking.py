"""Questions to the bench, answered with the records that the command line prints."""

from __future__ import annotations

from typing import Annotated, Any

import pydantic
from fastapi import APIRouter, Body, Depends, Query, Request
from starlette.responses import JSONResponse

from aerode.records.cautions import CautionSheet
from aerode.records.comparisons import ClaimOutlook, Comparison
from aerode.records.doses import MixAnswer
from aerode.records.figures import Figure
from aerode.records.marks import record
from aerode.records.next_batches import NextBatch
from aerode.records.places import Claim
from aerode.records.processes import ProcessAnswer
from aerode.records.properties import PropertyList, PropertySheet
from aerode.records.reports import Report
from aerode.records.simulations import CathodeSimulation, CellSimulation, DischargeSimulation
from aerode.records.sizes import BatterySize
from aerode.records.symptoms import SymptomAnswer
from aerode.usecases import symptom as symptoms
from aerode.usecases.caution_question import CautionQuestion
from aerode.usecases.cautions import acknowledge, what_can_hurt
from aerode.usecases.claim import outlook_of, state_claim
from aerode.usecases.compare import compare
from aerode.usecases.given_word import keep_word, take_back_word
from aerode.usecases.mix import MixQuestion, mix_with_cautions
from aerode.usecases.next_asked import NextQuestion
from aerode.usecases.next_batch import next_batch
from aerode.usecases.process_drying import DryingQuestion, time_to_dry
from aerode.usecases.process_dryness import DrynessQuestion, is_it_dry
from aerode.usecases.process_electrolyte import (
    ElectrolyteQuestion,
    StrengthQuestion,
    make_up,
    read_probe,
)
from aerode.usecases.process_pressing import PressQuestion, press
from aerode.usecases.process_wetting import WettingQuestion, head_held
from aerode.usecases.property import PropertyQuestion, property_of
from aerode.usecases.property_lists import what_can_be_asked
from aerode.usecases.report import compare_and_report
from aerode.usecases.run_cells import name_cell
from aerode.usecases.simulate_cathode import simulate_cathode
from aerode.usecases.simulate_cell import simulate_cell
from aerode.usecases.simulate_discharge import simulate_discharge
from aerode.usecases.size import size_battery
from aerode.usecases.size_load import SizeQuestion
from aerode.usecases.symptom import SymptomNote
from aerode.usecases.what_next import what_next
from aerode.web.bench import OpenBench, turn_of
from aerode.web.json.answering import body_of, query_of, settings_of, told
from aerode.web.json.records import NameInPath

__all__ = ["router"]

router = APIRouter(tags=["questions"])


@record
class WaitingTold:
    """Something begun and not finished."""

    kind: str
    name: str
    what: str


@record
class NextTold:
    """What to do next, and what is best so far: shown or not shown."""

    schema: str = "aerode.what-next/1"
    step: str
    about: str
    act: str
    why: str
    best: str
    caveat: str
    waiting: tuple[WaitingTold, ...]
    counts: dict[str, int]
    figure: Figure | None


@router.get("/next", response_model=NextTold)
def next_step(request: Request, bench: OpenBench) -> JSONResponse:
    """The cheapest act that brings the bench on."""
    now = request.app.state.remembered.of(bench, ("what next",), lambda: what_next(bench))
    waiting = tuple(WaitingTold(kind=w.kind, name=w.name, what=w.what) for w in now.waiting)
    answer = NextTold(
        step=str(now.step), about=now.about, act=now.act, why=now.why, best=now.best, caveat=now.caveat,
        waiting=waiting, counts=dict(now.counts), figure=now.figure,
    )  # fmt: skip
    return told(answer)


@router.get("/mixes/{name:path}/answer", response_model=MixAnswer)
def mix_answer(
    bench: OpenBench,
    name: NameInPath,
    question: Annotated[MixQuestion, Depends(query_of(MixQuestion))],
    room: str = "",
) -> JSONResponse:
    """What a mix dries to; with an area and a loading, its dose sheet. Cautions come with it."""
    return told(mix_with_cautions(bench, name, question, room=room)[0])


@router.get("/cautions/{item:path}", response_model=CautionSheet)
def cautions(
    bench: OpenBench,
    item: NameInPath,
    question: Annotated[CautionQuestion, Depends(query_of(CautionQuestion))],
) -> JSONResponse:
    """What can hurt someone with a mix, an electrode or a cell, hardest first."""
    return told(what_can_hurt(bench, item, question))


@router.post("/cautions/{item:path}/acknowledgements", response_model=CautionSheet)
def acknowledge_caution(
    request: Request,
    bench: OpenBench,
    item: NameInPath,
    key: Annotated[str, Body()],
    reason: Annotated[str, Body()] = "",
    group: Annotated[
        str, Body(max_length=20, description="Its code, where a class is at work")
    ] = "",
) -> JSONResponse:
    """Put a reason for going on into the history; a STOP stays a STOP."""
    made = settings_of(request).clock().isoformat(timespec="seconds")
    with turn_of(request):
        return told(acknowledge(bench, item, key, reason, made=made, group=group))


@router.get("/compare", response_model=Comparison)
def compared(
    request: Request,
    bench: OpenBench,
    electrode: Annotated[tuple[str, ...], Query(max_length=200)] = (),
    at_voltage: Annotated[float | None, Query(description="[V]", ge=0.0, le=2.7)] = None,
    at_current_density: Annotated[float | None, Query(description="[A/m^2]", gt=0.0, le=1e5)] = None,
    by: str = "",
    claim: str = "",
    margin: Annotated[float | None, Query(gt=1.0, le=100.0)] = None,
    same: Annotated[tuple[str, ...], Query(max_length=20)] = (),
    try_changes: bool = True,
    seed: Annotated[int, Query(ge=0, le=2**32 - 1)] = 1,
) -> JSONResponse:  # fmt: skip
    """Which is better, shown or not shown, and what would overturn it."""
    key = ("json compare", electrode, at_voltage, at_current_density, by, claim, margin, same, try_changes, seed)  # fmt: skip
    found = request.app.state.remembered.of(
        bench, key,
        lambda: compare(
            bench, electrode, at_voltage=at_voltage, at_current_density=at_current_density, by=by,
            claim=claim, margin=margin, same=same, try_changes=try_changes, seed=seed,
        ),
    )  # fmt: skip
    return told(found)


class _Word(pydantic.BaseModel):
    """What was the same for all though nobody measured it, kept on the bench; or taken back."""

    model_config = pydantic.ConfigDict(extra="forbid")

    electrode: Annotated[tuple[str, ...], pydantic.Field(max_length=200)] = ()
    same: Annotated[tuple[str, ...], pydantic.Field(max_length=20)] = ()
    take_back: Annotated[tuple[str, ...], pydantic.Field(max_length=20)] = ()


@router.post("/compare/same", response_model=Comparison)
def keep_same(request: Request, bench: OpenBench, word: _Word) -> JSONResponse:
    """Keep on the bench what was the same for all, or take it back; the comparison as it stands then."""
    visitor = request.scope["state"].get("visitor")
    who = visitor.who if visitor is not None else ""
    with turn_of(request):
        if word.take_back:
            found = compare(bench, word.electrode, try_changes=False)
            take_back_word(bench, found, word.take_back, who=who)
        if word.same:
            found = compare(bench, word.electrode, try_changes=False)
            keep_word(bench, found, word.same, moment=settings_of(request).clock(), who=who)
    return told(compare(bench, word.electrode, try_changes=False))


class _InCell(pydantic.BaseModel):
    """Runs that were in a cell."""

    model_config = pydantic.ConfigDict(extra="forbid")

    runs: Annotated[tuple[str, ...], pydantic.Field(max_length=200)]


@router.post("/cells/{name:path}/runs", response_model=_InCell)
def put_in_cell(
    request: Request, bench: OpenBench, name: NameInPath, those: _InCell
) -> JSONResponse:
    """Put down that these runs were in this cell; the answer names those that were changed."""
    with turn_of(request):
        return JSONResponse({"runs": list(name_cell(bench, name, those.runs))})


@router.get("/claims/{name:path}", response_model=ClaimOutlook)
def claim_outlook(bench: OpenBench, name: NameInPath) -> JSONResponse:
    """What a claim can show with its builds."""
    return told(outlook_of(bench, name))


@router.post("/claims", response_model=ClaimOutlook)
def write_claim(
    request: Request, bench: OpenBench, claim: Annotated[dict[str, Any], Body()]
) -> JSONResponse:
    """Write a claim down before the result, and see which verdicts its builds can reach."""
    from aerode.records import adapter

    made = adapter.read(Claim, claim, where="claim")
    with turn_of(request):
        return told(state_claim(bench, made))


@router.get("/report", response_model=Report)
def report(
    request: Request,
    bench: OpenBench,
    electrode: Annotated[tuple[str, ...], Query(max_length=200)] = (),
    at: str = "",
    by: str = "",
    claim: str = "",
    room: str = "",
    same: Annotated[tuple[str, ...], Query(max_length=20)] = (),
) -> JSONResponse:  # fmt: skip
    """The one page as a record: its sentences, tables and figures."""
    key = ("json report", electrode, at, by, claim, room, same)
    moment = settings_of(request).clock()
    found = request.app.state.remembered.of(
        bench, key,
        lambda: compare_and_report(
            bench, electrode, at=at, by=by, claim=claim, room=room, same=same, moment=moment,
            step=lambda what, share: None,
        ),
    )  # fmt: skip
    return told(found)


@router.get("/symptoms", response_model=SymptomAnswer)
def symptom(bench: OpenBench, text: str = "", on: str = "") -> JSONResponse:
    """What is seen, its likely causes, the test that splits them."""
    return told(symptoms.what_it_may_be(text, bench, on))


@router.post("/symptoms", response_model=SymptomAnswer)
def keep_symptom(
    request: Request, bench: OpenBench, note: Annotated[SymptomNote, Depends(body_of(SymptomNote))]
) -> JSONResponse:
    """Keep with a piece what the test showed."""
    at = settings_of(request).clock().isoformat(timespec="seconds")
    with turn_of(request):
        return told(symptoms.keep_answer(bench, note, at=at))


@router.get("/properties", response_model=PropertyList)
def properties(quantity: str = "", of: str = "") -> JSONResponse:
    """The quantities and substances on file."""
    return told(what_can_be_asked(quantity, of))


@router.post("/ask/property", response_model=PropertySheet)
def property_sheet(
    question: Annotated[PropertyQuestion, Depends(body_of(PropertyQuestion))],
) -> JSONResponse:
    """One reference figure with its uncertainty, range and source."""
    return told(property_of(question))


@router.post("/ask/drying", response_model=ProcessAnswer)
def drying(
    bench: OpenBench, question: Annotated[DryingQuestion, Depends(body_of(DryingQuestion))]
) -> JSONResponse:
    """How long a wet coat takes to dry: a band."""
    return told(time_to_dry(question, bench))


@router.post("/ask/dryness", response_model=ProcessAnswer)
def dryness(question: Annotated[DrynessQuestion, Depends(body_of(DrynessQuestion))]) -> JSONResponse:  # fmt: skip
    """Whether two weighings say that a coat is dry enough to think of heat."""
    return told(is_it_dry(question))


@router.post("/ask/pressing", response_model=ProcessAnswer)
def pressing(
    bench: OpenBench, question: Annotated[PressQuestion, Depends(body_of(PressQuestion))]
) -> JSONResponse:
    """Force, pressure and plate temperature of a press."""
    return told(press(question, bench))


@router.post("/ask/wetting", response_model=ProcessAnswer)
def wetting(question: Annotated[WettingQuestion, Depends(body_of(WettingQuestion))]) -> JSONResponse:  # fmt: skip
    """What head of water a wet-proofed layer holds."""
    return told(head_held(question))


@router.post("/ask/electrolyte", response_model=ProcessAnswer)
def electrolyte(
    question: Annotated[ElectrolyteQuestion, Depends(body_of(ElectrolyteQuestion))],
) -> JSONResponse:
    """How to make an electrolyte up, or top it up."""
    return told(make_up(question))


@router.post("/ask/strength", response_model=ProcessAnswer)
def strength(
    question: Annotated[StrengthQuestion, Depends(body_of(StrengthQuestion))],
) -> JSONResponse:
    """How strong a solution is, from what a probe reads."""
    return told(read_probe(question))


@router.post("/ask/next", response_model=NextBatch)
def next_builds(
    bench: OpenBench, question: Annotated[NextQuestion, Depends(body_of(NextQuestion))]
) -> JSONResponse:
    """The few electrodes worth building next."""
    return told(next_batch(bench, question))


@router.post("/ask/battery", response_model=BatterySize)
def battery(
    bench: OpenBench, question: Annotated[SizeQuestion, Depends(body_of(SizeQuestion))]
) -> JSONResponse:
    """A battery for a load, from what the electrodes of a recipe gave."""
    return told(size_battery(bench, question))


_Table = Annotated[dict[str, Any], Body(description="The keys of an input file of `aerode simulate`")]  # fmt: skip


@router.post("/ask/cathode", response_model=CathodeSimulation)
def cathode(table: _Table, draws: Annotated[int | None, Query(ge=2, le=2000)] = None) -> JSONResponse:  # fmt: skip
    """A cathode predicted from numbers, with bands."""
    return told(simulate_cathode(table, draws=draws))


@router.post("/ask/cell", response_model=CellSimulation)
def cell(table: _Table) -> JSONResponse:
    """A cell predicted from numbers."""
    return told(simulate_cell(table))


@router.post("/ask/discharge", response_model=DischargeSimulation)
def discharge(table: _Table) -> JSONResponse:
    """A discharge predicted from numbers."""
    return told(simulate_discharge(table))
