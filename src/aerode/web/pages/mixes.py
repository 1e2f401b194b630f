"""The mixes: what each dries to, how to weigh it, what can hurt in making it."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from fastapi import APIRouter, Request
from starlette.responses import HTMLResponse, Response

from aerode.errors import InputError, NotFoundError
from aerode.records.instruments import Instrument, Sort
from aerode.records.materials import MeshCard, PowderLot, Solution
from aerode.records.mixes import Batch, Mix
from aerode.records.places import Room
from aerode.usecases.before_making import before_pot
from aerode.usecases.mix import MixQuestion
from aerode.usecases.mix_preview import look_at_mix
from aerode.usecases.mix_preview_list import composition_figure, list_mixes
from aerode.usecases.mix_preview_plan import goes_in
from aerode.usecases.mix_preview_words import dose_words, mix_facts, part_rows, plain_notes
from aerode.usecases.off_shelf import offered
from aerode.usecases.unsaid_solids import WHY_SOLIDS, unsaid_solids
from aerode.usecases.unsaid_solvents import SAY_IT, unsaid_solvents, why_say_it
from aerode.usecases.usual_shares import past_usual_share
from aerode.web.bench import OpenBench
from aerode.web.figure_files import figure_file
from aerode.web.form_plans import with_named_unit
from aerode.web.pages.records import liquid_of, solids_of_jar
from aerode.web.rendering import address, page

if TYPE_CHECKING:
    from collections.abc import Mapping

    from aerode.store.bench_file import BenchFile
    from aerode.usecases.mix_preview import MixLook

__all__ = ["question_of", "router", "skipped"]

router = APIRouter()
_ON_A_PAGE = 30
_SLIP = 5.0
"""Points of a share by which a pot may miss its mix before it is asked about. Judgement."""


@router.get("/mixes")
def mixes(request: Request, bench: OpenBench, skip: str = "") -> HTMLResponse:
    """Every mix, newest first, with what it dries to."""
    past = skipped(skip)
    found = request.app.state.remembered.of(
        bench, ("mixes", past), lambda: list_mixes(bench, count=_ON_A_PAGE, skip=past)
    )
    empty = not found.total
    return page(
        request, "mixes/list.html", stage="mix", found=found,
        powders=bench.names(PowderLot) if empty else (),
        solutions=bench.names(Solution) if empty else (),
    )  # fmt: skip


def skipped(text: str) -> int:
    """How many newer ones an address leaves out; 0 where it does not say a number.

    >>> skipped("25"), skipped("-1"), skipped("9" * 40)
    (25, 0, 0)
    """
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 9 else 0


def question_of(query: Mapping[str, str]) -> MixQuestion:
    """What is asked of a mix, from the fields of a form; a bare number has the unit of its label."""
    number = query.get("electrodes", "").strip()

    def typed(name: str, unit: str) -> str:
        return with_named_unit(query.get(name, "").strip(), unit)

    return MixQuestion(
        area=typed("area", "cm^2"),
        loading=typed("loading", "mg/cm^2"),
        electrodes=int(number) if number.isdecimal() and 0 < len(number) < 5 else 1,
        spare=typed("spare", "%") or "10 %",
        scale=typed("scale", "g"),
        solids=typed("solids", "%"),
        mesh=query.get("mesh", "").strip(),
        sure=query.get("sure", "") == "yes",
    )


def _known(bench: BenchFile, cls: type, name: str) -> str:
    """The name, if something of the kind is called so; else nothing is said."""
    return name if name and bench.find(cls, name) is not None else ""


def _looked(request: Request, bench: BenchFile, name: str, batch: str = "") -> MixLook:
    query = request.query_params
    room = _known(bench, Room, query.get("room", ""))
    question = question_of(query)
    return request.app.state.remembered.of(
        bench, ("mix", name, batch, question, room),
        lambda: look_at_mix(bench, name, question, batch=batch, room=room),
    )  # fmt: skip


def _is_far(warning: str) -> bool:
    """True if what was weighed strays so far from the plan that a slip is likelier than a brush.

    >>> _is_far("weighed is not what was wanted: char +1.2 points, jar -1.2 points")
    False
    >>> _is_far("weighed is not what was wanted: char +12.0 points, jar -12.0 points")
    True
    """
    return any(abs(float(gap)) >= _SLIP for gap in re.findall(r"([-+]\d+\.\d) points", warning))


@router.get("/mixes/{name:path}/pots/{batch:path}")
def pot(request: Request, bench: OpenBench, name: str, batch: str, stored: str = "") -> HTMLResponse:  # fmt: skip
    """One pot of a mix, as it was really weighed."""
    bench.get(Batch, batch)
    return _shown(request, bench, name, batch=batch, stored=stored)


@router.get("/mixes/{name:path}/composition.{ending}")
def composition(request: Request, bench: OpenBench, name: str, ending: str) -> Response:
    """The figure as a file."""
    return figure_file(composition_figure(_looked(request, bench, name).found), ending)


@router.get("/mixes/{name:path}")
def mix(request: Request, bench: OpenBench, name: str, stored: str = "") -> HTMLResponse:
    """One mix: what it dries to, what can hurt, how to weigh it."""
    bench.get(Mix, name)
    return _shown(request, bench, name, stored=stored)


def _lacking(query: Mapping[str, str]) -> str:
    """What a dose sheet still needs, where its form was sent without area and loading."""
    if "area" not in query or query.get("area", "").strip() or query.get("loading", "").strip():
        return ""
    return "Type the area of one electrode and the dry loading: the two together say how much to weigh."


def _lacking_page(
    request: Request,
    bench: BenchFile,
    name: str,
    *,
    batch: str,
    stored: str,
    lack: InputError | NotFoundError,
) -> HTMLResponse:
    """A stored mix that cannot be worked out yet: what is missing and where it is entered; the rest as ever."""
    of_mix = bench.find(Mix, name)
    mixes = [of_mix] if of_mix else []
    record = bench.get(Batch, batch) if batch else bench.get(Mix, name)
    room = _known(bench, Room, request.query_params.get("room", ""))
    return page(
        request, "mixes/lacking.html", stage="mix", name=name, batch=batch, record=record, lack=lack, stored=bool(stored),
        before=before_pot(bench, name, room=room), room=room,
        goes=goes_in(record), pots=() if batch else bench.all(Batch, of=name),
        solids=[(one, solids_of_jar(one)) for one in unsaid_solids(bench, mixes)], why_solids=WHY_SOLIDS,
        unsaid=[(one, liquid_of(one)) for one in unsaid_solvents(bench, mixes)], say_it=SAY_IT, why_say_it=why_say_it(name),
    )  # fmt: skip


def _shown(
    request: Request, bench: BenchFile, name: str, *, batch: str = "", stored: str = ""
) -> HTMLResponse:
    record = bench.get(Batch, batch) if batch else bench.get(Mix, name)
    try:
        look = _looked(request, bench, name, batch)
    except (InputError, NotFoundError) as lack:
        return _lacking_page(request, bench, name, batch=batch, stored=stored, lack=lack)
    query = {k: v for k, v in request.query_params.items() if k != "stored"}
    of_mix = bench.find(Mix, name)
    return page(
        request,
        "mixes/mix.html",
        stage="mix",
        name=name,
        batch=batch,
        record=record,
        look=look,
        figure=composition_figure(look.found),
        goes=goes_in(record),
        parts=part_rows(look.found),
        facts=mix_facts(look.found),
        past=past_usual_share(look.found),
        assumed=plain_notes(look.found.assumptions),
        dose=dose_words(look.found.dose) if look.found.dose else None,
        pots=() if batch else bench.all(Batch, of=name),
        query=query,
        lacking=_lacking(query),
        scales=[i.name for i in offered(bench, Instrument) if i.sort is Sort.SCALE],
        meshes=[one.name for one in offered(bench, MeshCard)],
        rooms=bench.names(Room),
        stored=bool(stored),
        follow=stored == "follow",
        strayed=[one for one in look.found.warnings if batch and _is_far(one)],
        unsaid=[
            (one, liquid_of(one)) for one in unsaid_solvents(bench, [of_mix] if of_mix else [])
        ],
        say_it=SAY_IT,
        why_say_it=why_say_it(name),
        sure_at=address("mixes", name, **{**query, "sure": "yes"}) + "#dose",
        sheet_at=address("prints", "bench-sheet", name, **query),
        pot_at=address("mixes", name, "pots", "new", **query),
    )
