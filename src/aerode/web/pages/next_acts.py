"""Where the next act is done: the button that begins it, or in a sentence where what it finds is put down."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.records.comparisons import ActAt
from aerode.records.runs import RunSort
from aerode.usecases.electrode_page_next import PieceAct
from aerode.usecases.run_begin import RUN_KINDS
from aerode.web.pages.building import ways_to_build
from aerode.web.rendering import address

if TYPE_CHECKING:
    from aerode.records.comparisons import NextAct
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.condition_cures import Cure
    from aerode.usecases.electrode_page_next import PieceNext

__all__ = ["place_of_cure", "place_said", "sealed_way", "way_of_advice", "way_of_piece", "ways_of_piece", "ways_to_act"]  # fmt: skip

_ON_ITS_PAGE = {
    PieceAct.COAT: ("coat", "Add a coat to {}"),
    PieceAct.WEIGH: ("weighing", "Weigh {}"),
    PieceAct.PRESS: ("press", "Press {}"),
}
"""Acts that have a form on the page of the piece: where it stands there, and the words of the button."""
_ELSEWHERE = {
    PieceAct.ALUMINIUM: ("Enter the aluminium", "/things/aluminium/new"),
    PieceAct.ELECTROLYTE: ("Enter the electrolyte", "/things/electrolyte/new"),
}


def way_of_piece(act: PieceAct, electrode: str) -> tuple[str, str]:
    """The button of the next act on a piece: words and place, the same on the first page and on its own."""
    if act in _ON_ITS_PAGE:
        at, words = _ON_ITS_PAGE[act]
        return words.format(electrode), f"{address('electrodes', electrode)}#{at}"
    if act is PieceAct.CELL:
        return f"Enter the cell of {electrode}", address("things", "cell", "new", electrode=electrode)  # fmt: skip
    if act is PieceAct.MEASURE:
        return f"Measure {electrode}", address("runs", "start", electrode=electrode)
    return _ELSEWHERE[act]


def ways_of_piece(following: PieceNext, electrode: str) -> list[tuple[str, str]]:
    """The buttons of a piece that is not measured, its next act first; the last one measures it as it is."""
    found = [way_of_piece(following.act, electrode)]
    if following.act is PieceAct.CELL and following.like:
        place = address("things", "cell", "new", electrode=electrode, like=following.like)
        found = [(f"Same as {following.like}", place), (f"Enter the cell of {electrode} afresh", found[0][1])]  # fmt: skip
    if following.instead is not None:
        words, place = way_of_piece(following.instead, electrode)
        found.append((f"No press: {words[0].lower()}{words[1:]}", place))
    _, place = way_of_piece(PieceAct.MEASURE, electrode)
    if not following.read and place not in [there for _, there in found]:
        found.append((f"Measure {electrode} as it is", place))
    return found


_PLACES: dict[ActAt, tuple[tuple[str, str], ...]] = {
    ActAt.RESISTORS: (("Open the resistors", "/shelf/resistors"),),
    ActAt.LEADS: (("Open the pieces", "/electrodes"),),
    ActAt.AREAS: (("Open the pieces", "/electrodes"),),
    ActAt.RUNS: (("Start a run", "/runs/start"),),
    ActAt.CONTROL: (("Begin a run of the control", address("runs", "start", control="yes")),),
    ActAt.QUESTION: (("Ask again", "/compare#ask"), ("Start a run", "/runs/start")),
    ActAt.BUILDS: (("Enter an electrode", "/things/electrode/new"),),
    ActAt.MIX: (("Plan a second mix", "/mixes/new"),),
}
_SAID = {
    ActAt.RESISTORS: "Open each one, and enter what it measures.",
    ActAt.LEADS: "What you find goes into the cell of each piece, as the resistance of its lead.",
    ActAt.AREAS: "What you find goes onto the page of each piece, as its wetted area.",
    ActAt.LOG: "The face stays taped while the log runs.",
}
"""Where what is found is put down, for acts that are done away from any page."""


def ways_to_act(bench: BenchFile, act: NextAct | None) -> list[tuple[str, str]]:
    """The buttons of an act, the first one first: words and places; [] where no page carries it out."""
    if act is None:
        return []
    if act.at is ActAt.LOG:
        place = address("runs", "start", electrode=act.sealed, kind=_word(RunSort.RUN_DOWN))
        return [(f"Begin a log of {act.sealed}", place)]
    if act.sealed:
        return [sealed_way(act.sealed)]
    if act.control:
        place = address("runs", "start", electrode=act.control, control="yes")
        return [(f"Begin a run of {act.control} as control", place)]
    if act.measure:
        return [(f"Measure {act.measure}", address("runs", "start", electrode=act.measure))]
    return ways_to_build(bench, act.build) if act.build else list(_PLACES.get(act.at, ()))


def sealed_way(electrode: str) -> tuple[str, str]:
    """The button that begins three loads of one electrode with its air face taped over."""
    place = address("runs", "start", electrode=electrode, kind=_word(RunSort.SEALED_FACE))
    return f"Begin three loads of {electrode} without air", place


def place_said(act: NextAct | None) -> str:
    """In a sentence where what an act finds is put down; "" where its button says it."""
    return "" if act is None else _SAID.get(act.at, "")


def place_of_cure(one: Cure) -> str:
    """Where a condition that blocks is put down: the form of its record, at its field."""
    if one.kind == "run":
        return f"{address('runs', one.name, 'conditions')}#f-{one.field}"
    if not one.name:
        return address("things", one.kind, "new", electrode=one.of)
    return f"{address('things', one.kind, one.name, 'edit')}#f-{one.field}"


def _word(sort: RunSort) -> str:
    return next(one.word for one in RUN_KINDS if one.sort is sort)


_ADVISED = (
    ("measure the resistors once", "Open the resistors", "/shelf/resistors"),
    ("add larger resistors", "Enter resistors", "/shelf/resistors"),
    ("add smaller resistors", "Enter resistors", "/shelf/resistors"),
    ("get a resistor", "Enter resistors", "/shelf/resistors"),
    ("enter the wetted area", "Open {electrode}", ""),
    ("give the area", "Open {electrode}", ""),
    ("measure down to", "Measure {electrode} again", "run"),
)
"""How each piece of advice of a fit begins, its button, and its place; "" is the form of the electrode."""


def way_of_advice(line: str, electrode: str) -> tuple[str, str] | None:
    """The button of one piece of advice that stands with a curve; None where no page carries it out."""
    for begins, words, place in _ADVISED:
        if not line.startswith(begins) or ("{electrode}" in words and not electrode):
            continue
        if place == "run":
            place = address("runs", "start", electrode=electrode)
        return words.format(electrode=electrode), place or address("things", "electrode", electrode, "edit") + "#f-wetted_area"  # fmt: skip
    return None
