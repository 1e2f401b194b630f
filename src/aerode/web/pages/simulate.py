"""What if: a change to an electrode or a mix of the bench, predicted with its band; never measured."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

from fastapi import APIRouter, Request
from starlette.responses import HTMLResponse, Response

from aerode.errors import AerodeError, InputError
from aerode.records.electrodes import Electrode
from aerode.records.mixes import Mix
from aerode.usecases.simulate_bench import can_be_asked
from aerode.usecases.simulate_change import ChangeQuestion, simulate_change
from aerode.usecases.simulate_words import changeable, loss_in_words, simulation_tables
from aerode.web.bench import OpenBench
from aerode.web.figure_files import figure_file, find_figure
from aerode.web.form_plans import with_named_unit
from aerode.web.rendering import page
from aerode.web.words import with_signs

if TYPE_CHECKING:
    from aerode.records.simulations import Simulation
    from aerode.store.bench_file import BenchFile

__all__ = ["router"]

router = APIRouter()
_ROWS = (1, 2, 3)
_OFFERED = 100
"""Pieces and mixes to choose from, the newest of each."""
_LOOKED_AT = 20
"""Of the newest electrodes, how many are looked at for one that can be asked about."""
_LIVE_DRAWS = 500
"""Enough for the figure while somebody types; the ranking takes the use-case's own number."""
_TEXTS = ("item", "vary", "low", "high", "steps", "at", "electrolyte", "temperature", "known")
_OPTIONS = {
    "--at": "at", "--vary": "vary", "--from": "low", "--to": "high", "--from, --to": "low",
    "--known": "known", "--electrolyte": "electrolyte", "--temperature": "temperature",
}  # fmt: skip
_MOST_STEPS = 12


def _typed(request: Request) -> dict[str, str]:
    sent = request.query_params
    typed = {name: sent.get(name, "").strip() for name in _TEXTS}
    for k in _ROWS:
        typed |= {f"{part}{k}": sent.get(f"{part}{k}", "").strip() for part in ("what", "how")}
    return typed


def _question(typed: dict[str, str], *, rank: bool) -> ChangeQuestion:
    units = dict(changeable())

    def of(field: str, what: str) -> str:
        return with_named_unit(typed[field], units.get(typed[what], ""))

    changes = tuple(f"{typed[f'what{k}']} {of(f'how{k}', f'what{k}')}" for k in _ROWS if typed[f"how{k}"])  # fmt: skip
    steps = typed["steps"] or "6"
    if not (steps.isascii() and steps.isdigit() and 2 <= int(steps[:4]) <= _MOST_STEPS):
        raise InputError(f"{steps!r} settings", where="steps", allowed=f"2 to {_MOST_STEPS}")
    known = tuple(one.strip() for one in typed["known"].split(";") if one.strip())
    more: dict[str, Any] = {} if rank else {"draws": _LIVE_DRAWS}
    return ChangeQuestion(
        changes=changes, vary=typed["vary"], low=of("low", "vary"), high=of("high", "vary"),
        steps=int(steps), at=with_named_unit(typed["at"], "mA/cm^2"),
        electrolyte=typed["electrolyte"],
        temperature=with_named_unit(typed["temperature"], "degC"), known=known, rank=rank, **more,
    )  # fmt: skip


def _found(request: Request, bench: BenchFile, typed: dict[str, str], *, rank: bool) -> Simulation:
    question = _question(typed, rank=rank)
    key = ("simulate", *typed.values(), rank)
    return request.app.state.remembered.of(
        bench, key, lambda: simulate_change(bench, typed["item"], question)
    )


def _is_asked(typed: dict[str, str]) -> bool:
    changed = any(typed[f"how{k}"] for k in _ROWS)
    return bool(typed["item"]) and (
        changed or bool(typed["vary"] and typed["low"] and typed["high"])
    )


_LABELS = {
    "item": "Electrode or mix", "at": "At the current density", "electrolyte": "Electrolyte",
    "temperature": "Temperature", "known": "Known better than the bench says",
    "steps": "How many settings", "low": "From", "high": "To", "vary": "Of what",
}  # fmt: skip
"""The fields that a refusal may lead to, by their labels."""
_WORDS = {
    "conduction": "how well the layer conducts", "activity": "how fast the catalyst works",
    "tortuosity": "how winding the pores are", "saturation": "share of the voids that is wet",
    "porosity": "share of voids", "binder": "share of binder", "conductor": "share of conductor",
    "grain": "radius of the wet grains", "film": "passage through the film of water",
    "still air": "layer of still air",
}  # fmt: skip
"""What a word of the model means to somebody who meets it for the first time."""


def _changed_words(name: str, unit: str) -> str:
    told = f"{name}: {_WORDS[name]}" if name in _WORDS else name
    return with_signs(f"{told}, in {unit}") if unit else told


def _first(bench: BenchFile, electrodes: list[str], mixes: list[str]) -> str:
    """What stands in the field before anybody chose: the newest electrode that has a recipe, else a mix."""
    able = (one for one in electrodes[:_LOOKED_AT] if can_be_asked(bench, one))
    return next(able, (mixes or electrodes or [""])[0])


@router.get("/simulate")
def simulate(request: Request, bench: OpenBench, rank: str = "") -> HTMLResponse:
    """The form, and what the change would do."""
    typed = _typed(request)
    found: Simulation | None = None
    refusal: AerodeError | None = None
    faults: dict[str, tuple[str, str]] = {}
    ready = request.app.state.settings.ready
    waiting = ready.standing() if ready is not None and _is_asked(typed) else None
    if _is_asked(typed) and waiting is None:
        try:
            found = _found(request, bench, typed, rank=bool(rank))
        except AerodeError as told:
            refusal = told
            field = _OPTIONS.get(told.where, told.where)
            if field in typed:
                faults[field] = (told.what, told.allowed)
    pieces = bench.to_pick_from(Electrode, most=_OFFERED)
    mixes = bench.to_pick_from(Mix, most=_OFFERED)
    items = [(one, one) for one in pieces] + [(one, f"mix {one}") for one in mixes]
    query = urlencode([(name, text) for name, text in typed.items() if text])
    return page(
        request, "simulate/simulate.html", status=400 if refusal else 202 if waiting else 200, stage="more",
        waiting=waiting,
        typed={**typed, "item": typed["item"] or _first(bench, pieces, mixes)},
        found=found, refusal=refusal, faults=faults, labels=_LABELS, items=items, rows=_ROWS, query=f"?{query}",
        whats=[(name, _changed_words(name, unit)) for name, unit in changeable()],
        loss=loss_in_words(found) if found else "",
        tables=simulation_tables(found) if found else (), ranked=bool(rank),
        said=[line.replace("--", "") for line in found.warnings] if found else [],
    )  # fmt: skip


@router.get("/figures/simulate/{name}.{ending}")
def file(request: Request, bench: OpenBench, name: str, ending: str) -> Response:
    """A figure of the prediction as a file."""
    found = _found(request, bench, _typed(request), rank=False)
    return figure_file(find_figure(found.figures, name), ending)
