"""Drying, dry enough, pressing, wetting, electrolyte: reckoned from what is typed, with what can hurt first."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
from starlette.exceptions import HTTPException
from starlette.responses import HTMLResponse

from aerode.errors import AerodeError
from aerode.records.electrodes import Electrode
from aerode.records.mixes import Batch, Mix
from aerode.usecases.lye_words import words_before
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
from aerode.usecases.process_words import process_facts
from aerode.web.bench import OpenBench
from aerode.web.form_plans import with_named_unit
from aerode.web.rendering import page
from aerode.web.words import with_signs

if TYPE_CHECKING:
    from collections.abc import Callable

    from aerode.records.processes import ProcessAnswer
    from aerode.store.bench_file import BenchFile

__all__ = ["ASKS", "router"]

router = APIRouter()


_UNITS = {
    "wet": "g", "solids": "%", "area": "cm^2", "temperature": "degC", "humidity": "%",
    "loading": "mg/cm^2", "thickness": "mm", "grain": "um", "coating": "g", "plate": "degC",
    "time": "min", "torque": "N m", "weights": "kg", "force": "kN", "ram": "cm^2", "start": "degC",
    "release": "mm", "share": "%", "pore": "um", "head": "cm", "mass_fraction": "%", "volume": "mL",
    "assay": "%", "stock": "%", "was": "g", "now": "g", "reading": "mS/cm", "calibration": "mS/cm",
    "calibration_temperature": "degC", "molarity": "mol/L", "molality": "mol/kg",
    "grams_per_100_ml_water": "g",
}  # fmt: skip
"""The units behind the labels."""
_SIDES = re.compile(r"[\d.,]+\s*[x×*]\s*[\d.,]+", re.IGNORECASE)
"""The sides of a rectangle without a unit: those of an area in square centimetres are in centimetres."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Field:
    """One field: its name, its label, an example; choices where only some words are taken."""

    name: str
    label: str
    example: str = ""
    choices: tuple[str, ...] = ()
    many: bool = False
    """Several, with commas between."""
    count: bool = False
    later: bool = False

    @property
    def unit(self) -> str:
        """The unit behind its label, in which a bare number is taken."""
        return "" if self.many or self.count or self.choices else _UNITS.get(self.name, "")

    @property
    def told(self) -> str:
        """Its label with that unit."""
        return with_signs(f"{self.label}, in {self.unit}") if self.unit else self.label

    @property
    def options(self) -> list[tuple[str, str]]:
        """The choices, as what is sent and what is read."""
        return [(one, one) for one in self.choices]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Ask:
    """One thing that can be reckoned."""

    title: str
    question: str
    why: str
    rest: str
    """What the fields are about that need not be filled."""
    fields: tuple[_Field, ...]
    answer: Callable[[dict[str, Any], BenchFile], ProcessAnswer]


def _f(name: str, label: str, example: str = "", **more: Any) -> _Field:
    return _Field(name=name, label=label, example=example, **more)


def _strengths(given: dict[str, Any]) -> dict[str, Any]:
    words = ("mass_fraction", "molality", "molarity", "grams_per_100_ml_water")
    strength = {word: given.pop(word) for word in words if word in given}
    return {**given, "strength": strength}


ASKS: dict[str, _Ask] = {
    "drying": _Ask(
        title="Drying",
        question="How long does the wet coat take to dry?",
        why="A band, never one number: between the slowest and the fastest published model. A weighing is better than all of them.",
        rest="The room, the air, the dry coat",
        fields=(
            _f("mix", "Mix or batch", "of the bench; else name what it is wet with"),
            _f("solvents", "Wet with", "as in ethanol, or ethanol=0.8, water=0.2", many=True),
            _f("wet", "Mass of the wet coat", "as in 1.4 g"),
            _f("solids", "Dry mass over wet mass", "as in 18 %; from the mix where one is named"),
            _f("area", "Coated area", "as in 36 cm^2"),
            _f("lost", "What a scale saw", "as in 0.2 g in 5 min: best of all"),
            _f("temperature", "Temperature of the room", "as in 18 degC", later=True),
            _f("humidity", "Relative humidity", "as in 60 %", later=True),
            _f("air", "The air over it", choices=("still", "draught", "fan"), later=True),
            _f("faces", "Faces open to the air", "1 or 2", count=True, later=True),
            _f("loading", "Dry loading", "as in 25 mg/cm^2", later=True),
            _f("thickness", "Dry thickness", "as in 0.3 mm", later=True),
            _f("coat", "The dry coat", choices=("porous", "dense"), later=True),
            _f("grain", "Finest grains", "as in 2 um: a hint on cracks", later=True),
        ),
        answer=lambda given, bench: time_to_dry(DryingQuestion(**given), bench),
    ),
    "dryness": _Ask(
        title="Dry enough",
        question="Is it dry enough to think of heat?",
        why="Two weighings and the time between tell; a third says when.",
        rest="Area, scale, several pieces",
        fields=(
            _f("weighed", "Weighed", "as in 12.43 g, 12.42 g, 15 min"),
            _f("coating", "Mass of the coating", "as in 2.1 g"),
            _f("area", "Coated area", "as in 36 cm^2", later=True),
            _f("scale", "Smallest step of the scale", "as in 0.01 g", later=True),
            _f("pieces", "Like pieces weighed together", "as in 4; coating and area are of one", count=True, later=True),
        ),
        answer=lambda given, bench: is_it_dry(DrynessQuestion(**given)),
    ),
    "pressing": _Ask(
        title="Pressing",
        question="How hard, how hot, how long?",
        why="A hot press softens plastic or wax so that it binds: warmer than its softening, below the lowest limit on file, and what is not on file is never a pass. A cold press only evens and packs the coat.",
        rest="A dial or jack, the clamps, the film, two weighings",
        fields=(
            _f("mix", "Mix or batch", "of the bench; else name the polymers"),
            _f("piece", "Piece", "of the bench: brings its mix, its area, its weighings"),
            _f("polymers", "Polymers and waxes", "as in PVB, paraffin wax", many=True),
            _f("solvents", "Was wet with", "as in ethanol", many=True),
            _f("area", "Area that carries the load", "as in 36 cm^2"),
            _f("plate", "Temperature of the plate itself", "as in 85 degC; empty for a cold press"),
            _f("time", "Under the plates", "as in 5 min; usual, from memory: 2 to 5 min"),
            _f("torque", "Torque on one clamp", "as in 4.5 N m"),
            _f("screw", "Its thread", "as in M8"),
            _f("weights", "or weights on top", "as in 20 kg; usual, from memory: 2 to 20 kg on each cm²"),
            _f("force", "or force read off a dial", "as in 2 kN", later=True),
            _f("gauge", "or the gauge of a jack", "as in 600 psi", later=True),
            _f("ram", "Area of its piston", "as in 5 cm^2", later=True),
            _f("clamps", "How many clamps alike", "as in 2", count=True, later=True),
            _f("thread", "State of the thread", choices=("dry", "greased", "not said"), later=True),
            _f("dots", "Laundry iron, in dots", "1 to 3", count=True, later=True),
            _f("plates", "Hot plates", "1 or 2", count=True, later=True),
            _f("start", "Temperature of the film before", "as in 20 degC", later=True),
            _f("thickness", "Film and mesh", "as in 0.6 mm", later=True),
            _f("release", "Release sheet", "as in 0.1 mm", later=True),
            _f("release_of", "made of", choices=("PTFE", "polyimide", "paper", "silicone"), later=True),
            _f("weighed", "Two weighings and the time between", "as in 12.43 g, 12.42 g, 15 min", later=True),
            _f("coating", "Mass of the coating", "as in 2.1 g", later=True),
        ),
        answer=lambda given, bench: press(PressQuestion(**given), bench),
    ),
    "wetting": _Ask(
        title="Wetting",
        question="Which head of water does it hold?",
        why="From what covers the surface and the widest pore that goes through.",
        rest="What it covers, the electrolyte, angles",
        fields=(
            _f("covering", "Covered with", "as in paraffin wax"),
            _f("share", "Share of the surface", "as in 40 %"),
            _f("pore", "Widest pore that goes through", "as in 5 um"),
            _f("head", "Head it shall hold", "as in 12 cm"),
            _f("base", "What it covers", "as in carbon black", later=True),
            _f("salt", "Salt of the electrolyte", "as in NaCl", later=True),
            _f("mass_fraction", "Its strength", "as in 3.5 %", later=True),
            _f("temperature", "Temperature", "as in 15 degC", later=True),
            _f("covering_angle", "Contact angle of the covering", "in degrees", later=True),
            _f("base_angle", "Contact angle of the base", "in degrees", later=True),
        ),
        answer=lambda given, bench: head_held(WettingQuestion(**given)),
    ),
    "electrolyte": _Ask(
        title="Electrolyte",
        question="What goes into the electrolyte?",
        why="From the salt or lye, or a stock; or the water that tops it up.",
        rest="Other ways to say it, a stock, topping up",
        fields=(
            _f("salt", "Salt or lye", "as in NaCl, KOH, sea water"),
            _f("volume", "How much", "as in 500 mL"),
            _f("mass_fraction", "Mass fraction", "as in 3.5 %"),
            _f("molarity", "or moles in a litre", "as in 1"),
            _f("molality", "or moles in a kilogram of water", "as in 1", later=True),
            _f("grams_per_100_ml_water", "or grams in 100 mL of water", "as in 20", later=True),
            _f("temperature", "At which it is measured out", "as in 20 degC", later=True),
            _f("assay", "Salt or lye in what is weighed", "as in 85 %", later=True),
            _f("stock", "Mass fraction of a stock to thin", "as in 30 %", later=True),
            _f("was", "To top up: it weighed when made", "as in 512 g", later=True),
            _f("now", "and weighs now", "as in 498 g", later=True),
        ),
        answer=lambda given, bench: make_up(ElectrolyteQuestion(**_strengths(given))),
    ),
    "strength": _Ask(
        title="Reading a probe",
        question="How strong is it, by a conductivity probe?",
        why="A cheap probe has its own idea of a cell; a potassium chloride solution sets it right.",
        rest="How the probe was checked",
        fields=(
            _f("salt", "Salt", "as in NaCl, sea water"),
            _f("reading", "What the probe shows", "as in 52 mS/cm"),
            _f("temperature", "Temperature of the sample", "as in 22 degC"),
            _f("calibration", "What it shows in potassium chloride", "as in 12.6 mS/cm", later=True),
            _f("calibration_molality", "of this strength", choices=("0.01", "0.1", "1"), later=True),
            _f("calibration_temperature", "at this temperature", "as in 22 degC", later=True),
        ),
        answer=lambda given, bench: read_probe(StrengthQuestion(**given)),
    ),
}  # fmt: skip
"""What can be reckoned; the fields have the names of the questions of the use-cases."""

_LEAST = {
    "dryness": ("weighed",),
    "wetting": ("covering",),
    "electrolyte": ("salt",),
    "strength": ("salt", "reading"),
}
"""What each cannot do without; the others say themselves what is missing."""


@router.get("/process")
def process(request: Request, bench: OpenBench) -> HTMLResponse:
    """All that can be reckoned."""
    return page(request, "process/process.html", stage="more", asks=ASKS)


@router.get("/process/{what}")
def ask(request: Request, bench: OpenBench, what: str) -> HTMLResponse:
    """One of them, with its form; with fields in the address, the answer."""
    if what not in ASKS:
        raise HTTPException(404)
    plan = ASKS[what]
    typed = {field.name: request.query_params.get(field.name, "").strip() for field in plan.fields}
    faults: dict[str, tuple[str, str]] = {}
    answer: ProcessAnswer | None = None
    refusal: AerodeError | None = None
    if any(typed.values()):
        given = _given(plan, typed, faults)
        faults |= {n: ("it is needed", "") for n in _LEAST.get(what, ()) if not typed[n]}
        if not faults:
            try:
                answer = plan.answer(given, bench)
            except AerodeError as told:
                refusal = told
                if told.where in typed:
                    faults[told.where] = (told.what, told.allowed)
    return page(
        request, "process/ask.html", status=400 if refusal or faults else 200, stage="more",
        words=words_before(bench, what, typed),
        what=what, plan=plan, typed=typed, faults=faults, answer=answer, refusal=refusal,
        facts=process_facts(answer, named=True) if answer else (), asks=ASKS,
        labels={field.name: field.label for field in plan.fields},
        piece=typed["piece"] if typed.get("piece") in bench.names(Electrode) else "",
        pieces=bench.names(Electrode),
        mixes=[*bench.names(Mix), *bench.names(Batch)],
        later_filled=any(typed[field.name] for field in plan.fields if field.later),
    )  # fmt: skip


def _given(plan: _Ask, typed: dict[str, str], faults: dict[str, tuple[str, str]]) -> dict[str, Any]:
    """The filled fields as the use-case takes them."""
    given: dict[str, Any] = {}
    for field in plan.fields:
        text = typed[field.name]
        if not text:
            continue
        if field.many:
            given[field.name] = tuple(one.strip() for one in text.split(",") if one.strip())
        elif field.count:
            if not (text.isascii() and text.isdigit() and len(text) < 4):
                faults[field.name] = (f"{text!r} is no count", "a whole number")
                continue
            given[field.name] = int(text)
        elif field.choices and text not in field.choices:
            faults[field.name] = (f"{text!r} is none of them", ", ".join(field.choices))
        else:
            sides = field.unit == "cm^2" and _SIDES.fullmatch(text)
            given[field.name] = f"{text} cm" if sides else with_named_unit(text, field.unit)
    return given
