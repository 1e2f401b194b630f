"""A battery for a load: asked for in one form, predicted from what the electrodes gave, what can hurt first."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fastapi import APIRouter, Request
from starlette.responses import HTMLResponse, Response

from aerode.errors import AerodeError
from aerode.records.electrodes import Electrode
from aerode.records.places import Room
from aerode.usecases.newest_pieces import newest_pieces
from aerode.usecases.size import size_battery
from aerode.usecases.size_figure import option_table, size_figure
from aerode.usecases.size_load import SizeQuestion
from aerode.usecases.size_words import size_facts
from aerode.usecases.usual_words import BEFORE_MEASURING
from aerode.web.bench import OpenBench
from aerode.web.figure_files import figure_file, find_figure
from aerode.web.form_plans import with_named_unit
from aerode.web.rendering import page

if TYPE_CHECKING:
    from aerode.records.sizes import BatterySize
    from aerode.store.bench_file import BenchFile

__all__ = ["router"]

router = APIRouter()

_NOW = (
    ("power", "Power of the load while it is on, in mW", "as in 18; its label, or current times voltage", "mW"),
    ("current", "or its current, in mA", "as in 6; then its voltage is needed", "mA"),
    ("load_voltage", "Voltage of the load, in V", "as in 3", "V"),
    ("on", "Time on in a day, in h", "as in 12; all day if left out", "h"),
    ("days", "For how many days", "as in 14", "day"),
)  # fmt: skip
_LATER = (
    ("converter", "A converter between: share that it passes on, in %", "as in 75; it raises the voltage of few cells", "%"),
    ("least_input", "and the lowest voltage that it takes, in V", "as in 0.9; from its data sheet", "V"),
    ("burst", "A short burst of current at the load, in mA", "as in 60; a lamp or a radio that wakes up", "mA"),
    ("burst_time", "and how long it lasts, in ms", "as in 100", "ms"),
    ("left", "Share of the measured current to count on, in %", "60 % if left out: age, cold", "%"),
    ("chance", "Wanted chance that all cells carry it, in %", "90 % if left out", "%"),
    ("used", "Share of the aluminium that gives current, in %", "as measured, else 50 %", "%"),
    ("area", "Area of one electrode, in cm²", "as those that were read, if left out", "cm^2"),
    ("aluminium_area", "Wetted aluminium of each cell, both faces, in cm²", "twice the air electrodes, if left out", "cm^2"),
    ("lead", "Lead of each electrode, in ohm", "as measured on the pieces, if left out", "ohm"),
    ("salt", "Liquid of the battery", "that of the cells, if left out; as in NaCl, sea water", ""),
    ("box", "Free volume of the box around it, in L", "as in 5; left out where it stands in the open", "L"),
)  # fmt: skip
_FIELDS = (*_NOW, *_LATER)
_AT = {
    "power of the load": "power", "current of the load": "current", "voltage of the load": "load_voltage",
    "time on in a day": "on", "share that the converter passes on": "converter",
    "lowest voltage that the converter takes": "least_input", "burst of current at the load": "burst",
    "how long a burst lasts": "burst_time", "share of the measured current that is left: age, cold": "left",
    "chance that all cells carry it": "chance", "share of the aluminium that gives current": "used",
    "area of one electrode": "area", "lead of each electrode": "lead", "wetted aluminium of each cell": "aluminium_area",
    "free volume of the box": "box",
}  # fmt: skip
"""The words of a refusal, and the field it belongs to."""


def _typed(request: Request) -> dict[str, str]:
    names = ["recipe", "room", *(name for name, *_ in _FIELDS)]
    return {name: request.query_params.get(name, "").strip() for name in names}


def _sized(request: Request, bench: BenchFile, typed: dict[str, str]) -> BatterySize:
    """The answer, remembered until the bench changes: its figure is asked for again as a file."""
    given = {
        name: with_named_unit(typed[name], unit) for name, _, _, unit in _FIELDS if typed[name]
    }
    question = SizeQuestion(recipe=typed["recipe"], room=typed["room"], **given)
    remembered = request.app.state.remembered
    key = ("battery", *typed.values())
    return remembered.of(bench, key, lambda: size_battery(bench, question))


def _recipes(bench: BenchFile) -> list[str]:
    """Recipes to choose from: those of the electrodes, the newest first."""
    newest = newest_pieces(bench)
    pieces = [bench.get(Electrode, name) for name in newest] or bench.all(Electrode)
    return list(dict.fromkeys(one.recipe for one in pieces[::-1] if one.recipe and not one.control))


@router.get("/battery")
def battery(request: Request, bench: OpenBench) -> HTMLResponse:
    """The form; with a load in the address, the battery for it."""
    typed = _typed(request)
    answer: BatterySize | None = None
    refusal: AerodeError | None = None
    faults: dict[str, tuple[str, str]] = {}
    asked = any(typed[name] for name, *_ in _FIELDS)
    if asked:
        try:
            answer = _sized(request, bench, typed)
        except AerodeError as told:
            refusal = told
            at = _AT.get(told.where, told.where)
            if at in typed:
                faults[at] = (told.what, told.allowed)
    recipes = _recipes(bench)
    return page(
        request, "battery/battery.html", status=400 if refusal else 200, stage="more",
        typed=typed, faults=faults, answer=answer, refusal=refusal, recipes=recipes,
        rooms=[room.name for room in bench.all(Room)], now=_NOW, later=_LATER,
        labels={name: label for name, label, *_ in _FIELDS} | {"recipe": "Recipe"},
        facts=size_facts(answer) if answer else (), figure=size_figure(answer) if answer else None,
        options=option_table(answer) if answer else None,
        later_filled=any(typed[name] for name, *_ in _LATER), usual=BEFORE_MEASURING,
        query=f"?{request.url.query}" if request.url.query else "",
    )  # fmt: skip


@router.get("/figures/battery/{name}.{ending}")
def file(request: Request, bench: OpenBench, name: str, ending: str) -> Response:
    """The figure of the battery as a file."""
    answer = _sized(request, bench, _typed(request))
    return figure_file(find_figure((size_figure(answer),), name), ending)
