"""What is on the bench, as records: read, stored, changed, taken off, brought back; and every earlier state."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Body, Path, Query, Request
from starlette.responses import JSONResponse, Response

from aerode.errors import (
    ChangedError,
    ConflictError,
    FieldFault,
    InputError,
    NotFoundError,
    RecordError,
)
from aerode.records import KINDS, adapter
from aerode.records.bench_answers import BenchHistory, BenchShow, SchemaNames
from aerode.records.marks import record
from aerode.usecases.believable import newly_impossible
from aerode.usecases.bench_history import history
from aerode.usecases.bench_schema import schema_names, schema_of
from aerode.usecases.bench_show import show
from aerode.usecases.entering import enter
from aerode.usecases.mix_agrees import two_mixes_fault
from aerode.usecases.mix_size import ask_of_record, refuse_large
from aerode.usecases.unlikely_mesh import LIKE_THE_MESH, ask_of_mesh
from aerode.usecases.unlikely_pot import LIKE_THE_PLAN, ask_of_pot
from aerode.usecases.what_rests import refuse_in_use, refuse_undo_in_use
from aerode.web.bench import OpenBench, turn_of
from aerode.web.json.answering import told

__all__ = ["Kind", "NameInPath", "router"]

router = APIRouter(tags=["what is on the bench"])

Kind = Annotated[str, Path(json_schema_extra={"enum": list(KINDS)})]
"""A kind of record."""

NameInPath = Annotated[str, Path(min_length=1, max_length=200)]
_Why = Annotated[str, Query(max_length=400, description="The reason, for the history")]
_Sure = Annotated[
    bool, Query(description="What is asked about is meant so: an unlikely size, weight or share")
]
_MOST = 500


@record
class RecordState:
    """A record as it stands, with the digest by which a change says what it started from."""

    schema: str = "aerode.record-state/1"
    kind: str
    name: str
    state: str
    record: dict[str, Any]


@record
class RecordList:
    """Some records of a kind, the newest first; `total` counts all."""

    schema: str = "aerode.record-list/1"
    kind: str
    total: int
    records: tuple[dict[str, Any], ...]


def _class(kind: str) -> type[Any]:
    if kind not in KINDS:
        raise NotFoundError(f"no kind of record is called {kind!r}", allowed=", ".join(KINDS))
    return KINDS[kind]


def _state(bench: OpenBench, kind: str, name: str) -> RecordState:
    now = bench.state(_class(kind), name)
    plain = adapter.write(bench.read(now))
    return RecordState(kind=kind, name=name, state=now.digest, record=plain)


@router.get("/bench", response_model=BenchShow)
def bench_shown(bench: OpenBench) -> JSONResponse:
    """Its title, how many records of each kind, and what stands in two states."""
    return told(show(bench))


@router.get("/schemas", response_model=SchemaNames)
def schemas() -> JSONResponse:
    """Every answer and every kind of record by the name of its schema."""
    return told(schema_names())


@router.get("/schemas/{name:path}", response_model=dict[str, Any])
def schema(name: NameInPath) -> JSONResponse:
    """The JSON Schema of an answer or of a kind of record; units stand beside the numbers."""
    return JSONResponse(schema_of(name))


@router.get("/records/{kind}", response_model=RecordList)
def records(
    bench: OpenBench,
    kind: Kind,
    count: Annotated[int, Query(ge=1, le=_MOST)] = 100,
    skip: Annotated[int, Query(ge=0, le=10_000_000)] = 0,
    of: Annotated[str, Query(description="Only those of this electrode, cell or mix")] = "",
) -> JSONResponse:
    """Records of a kind in SI, newest first."""
    found = bench.latest(_class(kind), count=count, skip=skip, of=of or None)
    plain = tuple(adapter.write(one) for one in found)
    return told(RecordList(kind=kind, total=bench.count(_class(kind)), records=plain))


@router.post("/records/{kind}", response_model=RecordState, status_code=201)
def enter_record(
    request: Request, bench: OpenBench, kind: Kind, texts: Annotated[dict[str, str], Body()], why: _Why = "",
    sure: _Sure = False,
) -> JSONResponse:  # fmt: skip
    """Enter a new record from texts as a person types them: `{"name": "T6", "wetted_area": "9,54 cm2 (photo)"}`."""
    with turn_of(request):
        entered = enter(bench, kind, texts, why=why, sure=sure)
    refuse_large(entered.ask, "sure=true", entered.allowed)
    if entered.record is None:
        raise RecordError("this record cannot be taken", entered.faults, where=kind)
    return told(_state(bench, kind, entered.record.name), status=201)


@router.get("/records/{kind}/{name:path}", response_model=RecordState)
def one_record(bench: OpenBench, kind: Kind, name: NameInPath) -> JSONResponse:
    """One record in SI, and its state."""
    return told(_state(bench, kind, name))


@router.put("/records/{kind}/{name:path}", response_model=RecordState)
def put_record(
    request: Request,
    bench: OpenBench,
    kind: Kind,
    name: NameInPath,
    document: Annotated[dict[str, Any], Body()],
    state: Annotated[str, Query(description="The state it started from; refused if it has changed since")] = "",
    why: _Why = "",
    sure: _Sure = False,
) -> JSONResponse:  # fmt: skip
    """Store a whole record in SI, new or in place of the one of that name; units and bounds are those of its schema."""
    cls = _class(kind)
    made: Any = adapter.read(cls, document, where=f"{kind} {name}")  # pyright: ignore[reportUnknownMemberType, reportUnknownVariableType]
    if made.name != name:
        fault = FieldFault("name", "the document and the address name two records", name, made.name)
        raise RecordError("this record cannot be taken", (fault,), where=name)
    before = bench.find(cls, name)
    if faults := newly_impossible(made, before) or two_mixes_fault(bench, made, before):
        raise RecordError("this record cannot be taken", tuple(faults), where=name)
    if not sure:
        refuse_large(ask_of_record(bench, made, before), "sure=true")
        refuse_large(ask_of_pot(bench, made, before), "sure=true", LIKE_THE_PLAN)
        refuse_large(ask_of_mesh(bench, made, before), "sure=true", LIKE_THE_MESH)
    with turn_of(request):
        if state:
            _put_onto(bench, made, state, why)
        else:
            bench.put(made, why=why)
    return told(_state(bench, kind, name))


def _put_onto(bench: OpenBench, made: Any, state: str, why: str) -> None:
    """The next state of the one it started from; refused where that is not the newest any more."""
    try:
        bench.put_onto(made, state, why=why)
    except ChangedError as refusal:
        raise ConflictError("it has changed since", where=made.name, next_step="read it again") from refusal  # fmt: skip


@router.patch("/records/{kind}/{name:path}", response_model=RecordState)
def change_record(
    request: Request,
    bench: OpenBench,
    kind: Kind,
    name: NameInPath,
    texts: Annotated[dict[str, str], Body()],
    state: Annotated[str, Query(description="The state the texts were made from")] = "",
    why: _Why = "",
    sure: _Sure = False,
) -> JSONResponse:
    """Change some fields from texts as a person types them; what others changed meanwhile is kept, or asked about."""
    with turn_of(request):
        entered = enter(bench, kind, texts, name=name, state=state, why=why, sure=sure)
    refuse_large(entered.ask, "sure=true", entered.allowed)
    if entered.clashes:
        what = "; ".join(f"{c.field} is now {c.theirs!r}" for c in entered.clashes)
        raise ConflictError(f"somebody else changed this meanwhile: {what}", where=name)
    if entered.record is None:
        raise RecordError("this change cannot be taken", entered.faults, where=name)
    return told(_state(bench, kind, entered.record.name))


@router.delete("/records/{kind}/{name:path}", status_code=204)
def withdraw_record(
    request: Request, bench: OpenBench, kind: Kind, name: NameInPath, why: _Why = ""
) -> Response:
    """Take a record off the lists; its history stays. Refused while other records rest on it."""
    with turn_of(request):
        refuse_in_use(bench, kind, name)
        bench.withdraw(_class(kind), name, why=why)
    return Response(status_code=204)


@router.post("/undo/{kind}/{name:path}", response_model=RecordState)
def undo(
    request: Request,
    bench: OpenBench,
    kind: Kind,
    name: NameInPath,
    to: Annotated[str, Query(description="The beginning of the digest to go back to")] = "",
    why: _Why = "",
) -> JSONResponse:
    """Go back to an earlier state, as a new one: nothing is lost. Refused where it would take off what others rest on."""
    with turn_of(request):
        refuse_undo_in_use(bench, kind, name, to)
        made = bench.undo(_class(kind), name, to=to, why=why)
    if made.withdrawn:
        plain = RecordState(kind=kind, name=made.name, state=made.digest, record={})
        return told(plain)
    return told(_state(bench, kind, made.name))


@router.get("/history", response_model=BenchHistory)
def states(
    bench: OpenBench,
    kind: Annotated[str, Query(json_schema_extra={"enum": ["", *KINDS]})] = "",
    name: str = "",
) -> JSONResponse:
    """Every state of everything, of a kind, or of one record, oldest first."""
    if kind:
        _class(kind)
    elif name:
        raise InputError("a name alone does not say of which kind", where="kind")
    return told(history(bench, kind, name))
