"""The first page: what to do next, and which electrode is best, shown or not shown."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fastapi import APIRouter, Request
from starlette.responses import HTMLResponse

from aerode.records.electrodes import Electrode
from aerode.records.mixes import Batch, Mix
from aerode.usecases.electrode_page_next import PieceAct
from aerode.usecases.newest_pieces import RECENT
from aerode.usecases.run_repeats import repeats_apart_lately
from aerode.usecases.usual_shares import NO_ACTIVE, lacks_active_carbon
from aerode.usecases.what_lacks import mixes_without_pot, usual_but_lacking
from aerode.usecases.what_next import NextStep, Step, what_next
from aerode.web.bench import OpenBench
from aerode.web.pages.building import first_of, one_like, ways_to_build
from aerode.web.pages.next_acts import (
    place_of_cure,
    place_said,
    way_of_piece,
    ways_of_piece,
    ways_to_act,
)
from aerode.web.pages.records import liquid_of, solids_of_jar
from aerode.web.pages.unread import unread_with_places
from aerode.web.rendering import address, page

if TYPE_CHECKING:
    from aerode.store.bench_file import BenchFile

__all__ = ["router"]

router = APIRouter()

_MORE = (
    ("Cautions", "what can hurt someone, before the act", "/cautions"),
    (
        "Something is wrong",
        "what is seen, its likely causes, the test that splits them",
        "/symptoms",
    ),
    ("What if", "a thicker, drier, more conductive electrode", "/simulate"),
    ("Next batch", "the few electrodes worth building next", "/next"),
    ("Battery", "cells, electrodes, aluminium and hydrogen for a load", "/battery"),
    ("Process", "drying, dry enough, pressing, wetting, electrolyte", "/process"),
    ("Figures", "of any substance, with source and range; what serves for what", "/properties"),
    ("Claims", "say what you want to show before you measure", "/claims"),
    ("Report", "one page with the verdict and all it rests on", "/report"),
    ("Data", "import, export, backup, check, history", "/data"),
    ("Class", "a lesson that fits the minutes you have", "/class"),
    ("Who is in", "this computer, a phone, loggers", "/visitors"),
)


@router.get("/")
def home(request: Request, bench: OpenBench) -> HTMLResponse:
    """The answer to "what now?"."""
    remembered = request.app.state.remembered
    now = remembered.of(bench, ("what next",), lambda: what_next(bench))
    words, place = _act(bench, now)
    waiting = [(one.name, one.what, _place(one.kind, one.name)) for one in now.waiting]
    counts = [
        (_ONE[word] if count == 1 else word, count, _LISTS[word])
        for word, count in now.counts if count
    ]  # fmt: skip
    return page(
        request, "home.html", stage="now", now=now, words=words, act=place, waiting=waiting,
        counts=counts, meanwhile=_meanwhile(bench, now), more=_more(bench, now), where=place_said(now.doing),
        apart=[(name, said, _place("run", name)) for name, said in repeats_apart_lately(bench)],
        unread=unread_with_places(now.unread), empty=not any(count for _, count in now.counts),
    )  # fmt: skip


_USUAL = {
    "a conductor such as carbon black": ("Enter a conductor", address("things", "powder", "new", function="conductor")),
    "a catalyst": ("Enter a catalyst", address("things", "powder", "new", function="catalyst")),
    NO_ACTIVE: ("Enter an active carbon", address("things", "powder", "new", function="active carbon")),
    "a solvent to thin it": ("Enter a solvent", "/things/solvent/new"),
}  # fmt: skip
"""Where what most mixes have and the shelf lacks is entered."""
_ONE = {"mixes": "mix", "pots": "pot", "electrodes": "electrode", "runs": "run"}
_LISTS = {"mixes": "/mixes", "pots": "/mixes", "electrodes": "/electrodes", "runs": "/runs"}


def _meanwhile(bench: BenchFile, now: NextStep) -> tuple[str, str]:
    """Where to go who will not wait for this step; ("", "") where nothing can be done without it."""
    if now.step is Step.MESH:
        return "Enter the electrode without it", _first(bench, "")
    if now.step is Step.SOLIDS and not bench.count(Mix):
        return "Plan the mix without it", "/mixes/new"
    if now.step in {Step.SOLVENT, Step.SOLIDS}:
        mix = next(iter(mixes_without_pot(bench)), "")
        return "Weigh the pot without it", address("mixes", mix, "pots", "new")
    can_wait = (Step.ALUMINIUM, Step.ELECTROLYTE, Step.POT, Step.ELECTRODE)
    if now.step in can_wait and bench.count(Electrode):
        return "Measure without it", "/runs/start"
    return "", ""


def _more(bench: BenchFile, now: NextStep) -> list[tuple[str, str]]:
    """The quiet buttons beside the first one of the step."""
    if now.step is Step.CATALYST:
        more = [_USUAL[NO_ACTIVE]] if lacks_active_carbon(bench) else []
        return [("No catalyst: on to the binder", "/things/solution/new"), *more]
    if now.step is Step.MIX:
        return [_USUAL[words] for words in usual_but_lacking(bench)]
    if now.step is Step.POT and not bench.count(Batch):
        others = [mix for mix in mixes_without_pot(bench) if mix != now.about][-2:]
        return [(f"The pot of {mix} first", address("mixes", mix, "pots", "new")) for mix in others]
    if now.step is Step.SECOND_MIX:
        return [("See the comparison", "/compare")]
    if now.step is Step.BUILD:
        return ways_to_build(bench, now.about)[1:]
    if now.piece is not None:
        meanwhile = [(f"Measure {now.ready} meanwhile", address("runs", "start", electrode=now.ready))] if now.ready else []  # fmt: skip
        return ways_of_piece(now.piece, now.about)[1:] + meanwhile + _of_the_cause(now)
    return ways_to_act(bench, now.doing)[1:] if now.step is Step.COMPARE else _of_the_cause(now)


def _of_the_cause(now: NextStep) -> list[tuple[str, str]]:
    """Where a block is put right, where the step is about something else; beside it all that blocks."""
    if now.cause is None:
        return []
    cure = now.cause.cure
    if now.step is Step.CELL and now.about == cure.of:
        return [("See what blocks", "/compare")]
    return [(cure.words, place_of_cure(cure))]


def _place(kind: str, name: str) -> str:
    places = {"run": address("runs", name), "unsorted": "/runs/tray", "solution": liquid_of(name)}
    return places.get(kind, address("history", kind, name))


def _act(bench: BenchFile, now: NextStep) -> tuple[str, str]:
    """The words on the button, and where it leads."""
    if now.piece is not None:
        return ways_of_piece(now.piece, now.about)[0]
    if now.step.value in set(PieceAct):
        return way_of_piece(PieceAct(now.step.value), now.about)
    kind, _, name = now.about.partition(" ")
    acts = {
        Step.SETTLE: ("Look at both", address("history", kind, name or kind)),
        Step.METER: (
            "Enter the multimeter",
            address("things", "instrument", "new", sort="multimeter"),
        ),
        Step.RESISTORS: ("Enter the resistors", "/shelf/resistors"),
        Step.POWDER: ("Enter a powder", "/things/powder/new"),
        Step.CATALYST: (
            "Enter a catalyst",
            address("things", "powder", "new", function="catalyst"),
        ),
        Step.BINDER: ("Enter a solution", "/things/solution/new"),
        Step.SCALE: ("Enter the scale", address("things", "instrument", "new", sort="scale")),
        Step.MIX: ("Plan a mix", "/mixes/new"),
        Step.SOLVENT: (f"Say it of {now.about}", liquid_of(now.about)),
        Step.SOLIDS: ("Say the solids", solids_of_jar(now.about)),
        Step.POT: ("Weigh the pot", address("mixes", now.about, "pots", "new")),
        Step.MESH: ("Enter the mesh", "/things/mesh/new"),
        Step.BUILD: ways_to_build(bench, now.about)[0] if now.step is Step.BUILD else ("", ""),
        Step.ELECTRODE: (
            f"Enter an electrode of {now.about}" if now.about else "Enter an electrode",
            _first(bench, now.about),
        ),
        Step.GO_ON: (f"Go on reading {now.about}", address("runs", now.about)),
        Step.CLOSE: (f"Go to {now.about}, and close it", address("runs", now.about)),
        Step.READ_AGAIN: (f"Go to {now.about}", address("runs", now.about)),
        Step.SECOND: ("Enter the second one", _second(bench, now.about)),
        Step.SECOND_MIX: ("Plan a second mix", address("mixes", now.about, "copy")),
        Step.COMPARE: next(iter(ways_to_act(bench, now.doing)), ("See the comparison", "/compare")),
    }
    return acts[now.step]


def _first(bench: BenchFile, mix: str) -> str:
    """The form of an electrode of a mix and its newest pot; "" takes the mix of the first pot."""
    mix = mix or next((pot.mix for pot in bench.latest(Batch, count=RECENT)[::-1]), "")
    if not mix:
        return "/things/electrode/new"
    return first_of(bench, mix)


def _second(bench: BenchFile, first: str) -> str:
    """The form of one more electrode of the recipe, layers, mesh and area of the first one."""
    found = bench.find(Electrode, first) if first else None
    if found is None:
        return "/things/electrode/new"
    return one_like(found)


@router.get("/more")
def more(request: Request, bench: OpenBench) -> HTMLResponse:
    """All places that are not stages."""
    return page(request, "more.html", stage="more", ways=_MORE)
