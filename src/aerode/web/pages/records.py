"""One record of the bench: seen, entered, changed."""

from __future__ import annotations

from dataclasses import is_dataclass
from typing import TYPE_CHECKING, Any, get_args, get_origin

from fastapi import APIRouter, Request
from starlette.exceptions import HTTPException
from starlette.responses import HTMLResponse, Response

from aerode.errors import AerodeError
from aerode.records import KINDS
from aerode.records.electrodes import Cell
from aerode.usecases.before_making import before_electrode, before_pot
from aerode.usecases.bench_fields import field_hints, peeled
from aerode.usecases.bench_show import show_one
from aerode.usecases.bench_words import summary
from aerode.usecases.cautions import what_can_hurt
from aerode.usecases.claimed_factors import claimed_factors, factors_of_mix
from aerode.usecases.entering import Entered, enter, texts_of
from aerode.usecases.likeliest_coat import likeliest_coat
from aerode.usecases.lye_words import words_before, words_before_wetting
from aerode.usecases.off_shelf import LEAVES, gone_words, has_scale, offered_names
from aerode.usecases.on_file import names_for, on_file
from aerode.usecases.run_cells import counted_without_answer, runs_without_cell
from aerode.usecases.shelf_page import shelf_words
from aerode.web.away import led_back, left, send_away, taken_up, with_back
from aerode.web.bench import OpenBench
from aerode.web.form_plans import asked, known_of, labels_of, picks_of, plan_of, typed_texts
from aerode.web.form_plans_data import PLANS
from aerode.web.forms import Filled, go, new_once, put_right
from aerode.web.pages.building import cell_like
from aerode.web.rendering import address, page
from aerode.web.words import plain_fields

if TYPE_CHECKING:
    from aerode.records.cautions import CautionSheet
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.before_making import BeforeMaking

__all__ = ["HOMES", "form_page", "home_of", "liquid_of", "router"]

router = APIRouter()

HOMES: dict[str, tuple[str, str, str]] = {
    "mix": ("mix", "/mixes", "All mixes"),
    "batch": ("make", "/electrodes", "All electrodes"),
    "electrode": ("make", "/electrodes", "All electrodes"),
    "cell": ("make", "/electrodes", "All electrodes"),
    "run": ("measure", "/runs", "All runs"),
    "claim": ("compare", "/compare", "Compare"),
}
"""Kind → its stage, the list it stands in, and that list's name; all others stand on the shelf."""

OWN_PAGES = {"mix": "mixes", "electrode": "electrodes", "run": "runs"}
"""Kinds that have a page of their own instead of the plain one."""


_WEIGHED = {"solution", "batch", "electrode"}
"""Kinds whose form asks for what a scale shows."""


def home_of(kind: str) -> tuple[str, str, str]:
    """Stage, list and name of the list of a kind."""
    return HOMES.get(kind, ("shelf", "/shelf", "The shelf"))


def place_of(kind: str, name: str, **query: object) -> str:
    """The page of a record."""
    if kind in OWN_PAGES:
        return address(OWN_PAGES[kind], name, **query)
    return address("things", kind, name, **query)


def liquid_of(solution: str) -> str:
    """The field of a solution that says what it is dissolved in."""
    return f"{address('things', 'solution', solution, 'edit')}#f-liquid"


def solids_of_jar(solution: str) -> str:
    """The field of a solution that says how much solid it holds, as on its label."""
    return f"{address('things', 'solution', solution, 'edit')}#f-label_solids"


def _known(kind: str) -> None:
    if kind not in PLANS:
        raise HTTPException(404)


def form_page(
    request: Request,
    bench: BenchFile,
    kind: str,
    *,
    name: str = "",
    texts: dict[str, str],
    entered: Entered | None = None,
    state: str = "",
    why: str = "",
    more_rows: dict[str, int] | None = None,
    like: str = "",
    filled: tuple[str, ...] = (),
) -> HTMLResponse:
    """The form of a record, empty, filled, or with what could not be taken."""
    faults = {f.field: (f.what, f.allowed) for f in (entered.faults if entered else ())}
    theirs = {c.field: c.theirs for c in (entered.clashes if entered else ())}
    stage, back, back_words = home_of(kind)
    if name:
        back, back_words = place_of(kind, name), name
    action = _own_place(kind, name)
    back, back_words = left(request, back, back_words)
    held = taken_up(request, action)
    claimed = [f"factors.{one}" for one in claimed_factors(bench)] if kind == "electrode" else []
    texts = dict.fromkeys(claimed, "") | texts
    groups = asked(kind, texts, faults=faults, theirs=theirs, more_rows=more_rows,
                   in_view=frozenset(claimed))  # fmt: skip
    wanted = {ask.of for group in plan_of(kind).groups for ask in group.asks if ask.of}
    options = {
        of: [n for word in of.split() for n in offered_names(bench, KINDS[word])] for of in wanted
    }
    options |= {what: list(names_for(what)) for what in known_of(kind)}
    return page(
        request,
        "records/form.html",
        status=422 if faults or (entered and entered.ask) else 409 if theirs else 200,
        ask=entered.ask if entered else "",
        instead=[(path, text, texts.get(path, "")) for path, text in entered.instead]
        if entered
        else (),
        stage=stage,
        title=f"Change {name}" if name else plan_of(kind).question,
        kind=kind,
        name=name,
        action=with_back(request, action),
        fetched=held.chosen if held else "",
        back=back,
        back_words=back_words,
        groups=groups,
        faults=faults,
        labels=labels_of(groups),
        clashes=theirs,
        options=options,
        once=new_once(),
        state=entered.state if entered else state,
        why=why,
        like=like,
        filled=filled,
        words=words_before(bench, kind, texts),
        wetting=words_before_wetting(bench, texts) if kind == "cell" else (),
        before=_before(bench, kind, texts, made=bool(name)),
        no_scale=kind in _WEIGHED and not has_scale(bench),
    )


def _own_place(kind: str, name: str) -> str:
    """Where the form of a record stands and is sent."""
    return address("things", kind, name, "edit") if name else address("things", kind, "new")


def _before(
    bench: BenchFile, kind: str, texts: dict[str, str], *, made: bool
) -> BeforeMaking | None:
    """What to read before a pot is weighed or a piece made, as far as the form tells of what."""
    if kind == "batch" and not made:
        return before_pot(bench, texts.get("mix", "").strip())
    return before_electrode(bench, texts, made=made) if kind == "electrode" else None


@router.get("/things/{kind}/new")
def new(request: Request, bench: OpenBench, kind: str) -> HTMLResponse:
    """An empty form; what stands in the address is filled in already."""
    _known(kind)
    if held := taken_up(request, _own_place(kind, "")):
        return form_page(request, bench, kind, texts=dict(held.texts))
    texts = typed_texts(kind, dict(request.query_params))
    like = bench.find(Cell, request.query_params.get("like", "")) if kind == "cell" else None
    texts = _likeliest(bench, kind, texts) | (cell_like(like) if like else {}) | texts
    coat = likeliest_coat(bench, texts if kind == "electrode" else {})
    return form_page(request, bench, kind, texts=texts | coat.texts, like=like.name if like else "",
                     filled=coat.said)  # fmt: skip


def _likeliest(bench: BenchFile, kind: str, texts: dict[str, str]) -> dict[str, str]:
    """What a new cell is likeliest called and made of: the aluminium and the electrolyte of which one stands there.

    Of a new electrode, what its mix says of the factors that claims are about.
    """
    if kind == "electrode":
        return factors_of_mix(bench, texts)
    if kind != "cell":
        return {}
    there = {word: offered_names(bench, KINDS[word]) for word in ("aluminium", "electrolyte")}
    found = {word: names[0] for word, names in there.items() if len(names) == 1}
    name = f"cell {texts.get('electrode', '')}"
    return found if name == "cell " or bench.find(Cell, name) else found | {"name": name}


@router.post("/things/{kind}/new")
def store_new(request: Request, bench: OpenBench, kind: str, form: Filled) -> Response:
    """Store a new record."""
    _known(kind)
    return _save(request, bench, kind, "", form)


@router.get("/things/{kind}/{name}/edit")
def edit(request: Request, bench: OpenBench, kind: str, name: str) -> HTMLResponse:
    """The form with what is stored now."""
    _known(kind)
    state = bench.state(KINDS[kind], name)
    if held := taken_up(request, _own_place(kind, name)):
        return form_page(request, bench, kind, name=name, texts=dict(held.texts), state=held.state, why=held.why)  # fmt: skip
    texts = texts_of(bench.read(state))
    return form_page(request, bench, kind, name=name, texts=texts, state=state.digest)


@router.post("/things/{kind}/{name}/edit")
def store_change(
    request: Request, bench: OpenBench, kind: str, name: str, form: Filled
) -> Response:
    """Store what was changed."""
    _known(kind)
    return _save(request, bench, kind, name, form)


def _save(request: Request, bench: BenchFile, kind: str, name: str, form: Any) -> Response:
    typed = typed_texts(kind, form.texts)
    typed |= put_right(form.text("instead"), typed)
    sent = request.app.state.sent
    if form.once and (led := sent.already(form.once)):
        return go(led)
    if form.text("away"):
        title = f"Change {name}" if name else plan_of(kind).question
        return send_away(request, form, place=_own_place(kind, name), title=title, texts=typed)
    if form.text("more"):
        stem = form.text("more")
        more = {stem: 2}
        return form_page(request, bench, kind, name=name, texts=typed, state=form.text("state"),
                         why=form.text("why"), more_rows=more)  # fmt: skip
    entered = enter(
        bench, kind, typed, name=name, state=form.text("state"), picks=picks_of(kind, typed),
        why=form.text("why"), sure=form.text("sure"),
    )  # fmt: skip
    if entered.record is None:
        return form_page(request, bench, kind, name=name, texts=typed, entered=entered,
                         why=form.text("why"))  # fmt: skip
    place = led_back(
        request, place_of(kind, entered.record.name, stored="yes"), entered.record.name
    )
    sent.note(form.once, place)
    return go(place)


def _lists_of(cls: type) -> set[str]:
    """The fields that hold several things, each on a line of its own."""
    return {
        name
        for name, hint in field_hints(cls).items()
        if get_origin(base := peeled(hint)[0]) is tuple and is_dataclass(get_args(base)[0])
    }


def _sheet(bench: BenchFile, cell: str) -> CautionSheet | None:
    """What can hurt with a cell; None where it cannot be judged: then the usual words stand alone."""
    try:
        return what_can_hurt(bench, f"cell:{cell}")
    except AerodeError:
        return None


@router.get("/things/{kind}/{name}")
def seen(
    request: Request, bench: OpenBench, kind: str, name: str, stored: str = "", said: str = ""
) -> HTMLResponse:
    """A record with all its filled fields."""
    _known(kind)
    found = show_one(bench, kind, name)
    record = bench.read(bench.state(KINDS[kind], name))
    told = tuple(one for one in found.fields if one.field != "gone")
    stage, back, back_words = home_of(kind)
    return page(
        request, "records/record.html", stage=stage, kind=kind, name=name, facts=found.fields,
        sentence=plain_fields(summary(told, 120), [one.field for one in told])
        or "Only its name is known.",
        back=back, back_words=back_words, stored=bool(stored),
        told=on_file(record), shelf=shelf_words(bench, record),
        words=words_before(bench, kind, texts_of(record)) if kind in {"electrolyte", "cell"} else (),
        listed=_lists_of(KINDS[kind]),
        wetting=words_before_wetting(bench, texts_of(record)) if kind == "cell" else (),
        sheet=_sheet(bench, name) if kind == "cell" else None,
        nameless=runs_without_cell(bench, record) if isinstance(record, Cell) else (), named=bool(said),
        counted=counted_without_answer(bench, record) if isinstance(record, Cell) else "",
        gone=gone_words(record), leaves=kind in LEAVES or kind == "room",
    )  # fmt: skip
