"""The parts of a bench sheet, each from the records and answers it rests on."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from aerode.cautions.comparing import plain
from aerode.cautions.policy import (
    CONSTANT_WEIGHT_INTERVAL,
    CONSTANT_WEIGHT_PER_AREA,
    CONSTANT_WEIGHT_SHARE,
)
from aerode.errors import AerodeError
from aerode.physics.heat_gates import long_enough
from aerode.physics.water import ZERO_CELSIUS
from aerode.records.bench_sheets import SheetPart, SheetStep, SheetWeight
from aerode.records.mixes import Ingredient
from aerode.records.reports import Table
from aerode.usecases.mix_preview_words import MASTERBATCH_DUST, dose_digits, on_scale
from aerode.usecases.process import shown_time
from aerode.usecases.process_drying import DryingQuestion, time_to_dry
from aerode.usecases.process_pressing import COLD_PRESS, PressQuestion, press
from aerode.usecases.usual_words import powders_first

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.measure.mix.weighing import Scale
    from aerode.records.doses import DoseSheet, Masterbatch, MixAnswer
    from aerode.records.processes import ProcessAnswer
    from aerode.store.bench_file import BenchFile

__all__ = ["coat", "dry", "press_part", "put_away", "stir", "weigh"]

_MOST_ROWS = 24
"""Pieces that a sheet has rows for; more of them share a second sheet."""


def _grams(value: float, decimals: int) -> str:
    return f"{value:.{decimals}f} g"


def _per_cent(value: float) -> str:
    if value > 1.0:
        return ">100 %"
    return "<0.1 %" if value < 5e-4 else f"{100 * value:.{0 if value >= 0.1 else 1}f} %"


def weigh(dose: DoseSheet) -> SheetPart:
    """What to weigh, rounded to the scale, and the masterbatches for what it cannot weigh."""
    decimals = dose_digits(dose)
    weights = tuple(
        SheetWeight(
            of=line.of,
            amount_g=line.amount_g,
            amount="–" if put.grams is None else _grams(put.grams, decimals),
            volume=""
            if line.volume_mL is None or put.how != line.how
            else f"{plain(line.volume_mL, 3)} mL",
            uncertainty=_per_cent(put.relative_uncertainty),
            note=put.how,
        )
        for line in dose.lines
        for put in (on_scale(line, dose),)
    )
    steps = tuple(_masterbatch(batch, decimals) for batch in dose.masterbatches)
    lines = [*(f"Short on the shelf: {said}" for said in dose.stock_short)]
    if dose.scale_cannot and not dose.masterbatches:
        lines.append(f"This scale cannot weigh {', '.join(dose.scale_cannot)}.")
    if dose.enough_for_electrodes:
        lines.append(
            f"Or mix for {dose.enough_for_electrodes} electrodes at once: then each dose is weighed to "
            f"±{100 * dose.weighable_within:g} %."
        )
    return SheetPart(name="weigh", title="Weigh", weights=weights, steps=steps, lines=tuple(lines))


def _masterbatch(batch: Masterbatch, decimals: int) -> SheetStep:
    parts = " + ".join(f"{_grams(g, decimals)} {name}" for name, g in batch.parts_g.items())
    left = (
        f"then {_grams(batch.carrier_left_g, decimals)} more {batch.carrier}"
        if batch.carrier_left_g > 0
        else f"and no more {batch.carrier}"
    )
    return SheetStep(
        act=f"Masterbatch for {', '.join(batch.of)}: {parts}. {MASTERBATCH_DUST} Take "
        f"{_grams(batch.take_g, decimals)} of it, {left}.",
        blanks=("taken, g",),
    )


def stir(dose: DoseSheet) -> SheetPart:
    """From the weighed things to one pot. Common practice, no source."""

    def names(kind: Ingredient) -> str:
        return ", ".join(line.of for line in dose.lines if line.shelf == kind.value)

    powders, solutions, solvents = (
        names(k) for k in (Ingredient.POWDER, Ingredient.SOLUTION, Ingredient.SOLVENT)
    )
    wetting = solvents or solutions
    steps: list[SheetStep] = []
    if powders and wetting:
        steps.append(SheetStep(act=powders_first(powders, wetting)))
    if solutions:
        steps.append(
            SheetStep(act=f"Add {solutions}; lid on; shake or stir until no lump is left.",
                      blanks=("clock",))
        )  # fmt: skip
    if solvents:
        steps.append(SheetStep(act=f"Thin with the rest of {solvents}; stir.", blanks=("clock",)))
    steps.append(SheetStep(act="Stir again before each dip of the brush: powders settle."))
    return SheetPart(name="stir", title="Stir", steps=tuple(steps))


def coat(dose: DoseSheet) -> SheetPart:
    """How much wet mix each piece takes, and a row for each to weigh it by."""
    wet = dose.loading_mg_cm2 * dose.area_cm2 / 1000.0 / dose.solids_fraction
    dried = dose.loading_mg_cm2 * dose.area_cm2 / 1000.0
    steps = (
        SheetStep(act="Write a name on each mesh and weigh it bare."),
        SheetStep(
            act=f"Each piece takes {plain(wet, 3)} g of the wet mix in all, in thin coats: weigh it just before and "
            "just after each coat, add up what each one added, and let each go dull before the next."
        ),
    )
    rows = tuple(("", "", "", "", "") for _ in range(min(dose.electrodes, _MOST_ROWS)))
    table = Table(
        caption=f"Each piece: what its coats add when put on sums to {plain(wet, 3)} g; once dry it weighs its mesh "
        f"and {plain(dried, 3)} g",
        columns=("piece", "mesh, g", "added wet, g", "clock", "coats"),
        rows=rows,
    )
    return SheetPart(name="coat", title="Coat", steps=steps, tables=(table,))


def _drying(
    bench: BenchFile, found: MixAnswer, dose: DoseSheet, warmth: str
) -> ProcessAnswer | None:
    try:
        question = DryingQuestion(
            mix=found.mix, loading=f"{dose.loading_mg_cm2:.6g} mg/cm^2", area=f"{dose.area_cm2:.6g} cm^2",
            temperature=warmth,
        )  # fmt: skip
        return time_to_dry(question, bench)
    except AerodeError:  # a liquid that is not on file: then the weighings alone tell
        return None


def dry(
    bench: BenchFile, found: MixAnswer, dose: DoseSheet, scale: Scale, warmth: str
) -> SheetPart:
    """How long it takes, and the two weighings that have to agree before any heat."""
    answer = _drying(bench, found, dose, warmth)
    times = answer.drying.free if answer is not None and answer.drying is not None else None
    known = times is not None and times.low is not None and times.high is not None
    told = (
        f"In moving air, no heat: {shown_time(times.low)} to {shown_time(times.high)} until no liquid "
        "is seen."
        if known and times is not None and times.low is not None and times.high is not None
        else "In moving air, no heat. How long it takes cannot be told: its liquid is not on file."
    )
    piece = dose.loading_mg_cm2 * dose.area_cm2 * 1e-6
    allowed = max(CONSTANT_WEIGHT_SHARE * piece, CONSTANT_WEIGHT_PER_AREA * dose.area_cm2 * 1e-4)
    together = max(1, math.ceil(scale.resolution / allowed - 1e-9))
    waited = CONSTANT_WEIGHT_INTERVAL
    if together > dose.electrodes:  # not enough pieces for this scale: a longer wait does the same
        together, waited = 1, long_enough(allowed, scale.resolution, waited)
    minutes = math.ceil(waited / 60 - 1e-9)
    each = (
        "each piece"
        if together == 1
        else f"{together} pieces together (the scale shows {1e3 * scale.resolution:g} g, one piece may lose "
        f"{1e6 * allowed:.2g} mg)"
    )
    # what the display may show less: two rounded readings may hide one step more
    shown = math.floor((allowed * together - scale.resolution) / scale.resolution + 1e-9)
    rule = (
        f"at most {1e6 * shown * scale.resolution:.3g} mg less"
        if shown > 0
        else "no change on the scale"
    )
    rows = tuple(("",) * 6 for _ in range(min(math.ceil(dose.electrodes / together), _MOST_ROWS)))
    table = Table(
        caption=f"Dry enough to heat: {rule} after {minutes:g} min or more",
        columns=("piece", "first, g", "clock", "second, g", "clock", "lost, mg"),
        rows=rows,
    )
    steps = (
        SheetStep(act=told, blanks=("room, °C", "clock")),
        SheetStep(
            act=f"Weigh {each}, wait at least {minutes:g} min, weigh again. Still losing: wait, and weigh "
            "twice again. A skin can lock solvent in all the same."
        ),
    )
    return SheetPart(name="dry", title="Dry", steps=steps, tables=(table,))


def _window(bench: BenchFile, found: MixAnswer, sheets: Sequence[str]) -> tuple[str, str]:
    """The plate temperatures between which it can be pressed, in words, and what is to be minded."""
    try:
        answer = press(PressQuestion(mix=found.mix, sheets=tuple(sheets)), bench)
    except AerodeError as problem:
        return "", f"No heat: {problem.what}."
    low, high = answer.window_low, answer.window_high
    if high is None:
        return "", "No heat: no line on file tells how far it may go."
    top = f"{high - ZERO_CELSIUS:.0f} °C"
    said = f"below {top}" if low is None else f"between {low - ZERO_CELSIUS:.0f} and {top}"
    ruled = [w.polymer for w in answer.window if "house rule" in w.note]
    rule = f"No published line for {', '.join(ruled)}: a house rule stands in for its data sheet."
    return said, rule if ruled else ""


def press_part(bench: BenchFile, found: MixAnswer, plate: str, sheets: Sequence[str]) -> SheetPart:
    """Press cold, or hot between softening and the lines on file, only what is dry."""
    window, note = _window(bench, found, sheets)
    gate = "Only pieces whose two weighings agree."
    pieces = ("force or turns", "minutes", "thickness at three places, mm")
    if not plate.strip() or not window:
        act = (
            f"Press cold, without heat, between two flat plates with a release sheet: {COLD_PRESS}."
        )
        refused = (note,) if note and not window else ()  # a rule on heat is idle without heat
        return SheetPart(
            name="press", title="Press", steps=(SheetStep(act=act, gate=gate, blanks=pieces),),
            lines=refused,
        )  # fmt: skip
    act = f"Plates planned at {plate.strip()}; they may be {window}, read on the plate itself."
    steps = (
        SheetStep(act=act, gate=gate, blanks=("plate, °C",)),
        SheetStep(
            act="Release sheet, press, let it cool under pressure. Stop at the first smoke or smell.",
            blanks=pieces,
        ),
    )
    return SheetPart(name="press", title="Press", steps=steps, lines=(note,) if note else ())


def put_away() -> SheetPart:
    """What is left when the pieces are done. Common practice, no source."""
    steps = (
        SheetStep(
            act="Lids on. Leftovers and rags into a closed metal can, labelled; not the drain."
        ),
        SheetStep(act="Wipe the table wet, wash hands, air the room."),
        SheetStep(
            act="Enter the weights and clocks of this sheet on the bench, with the pieces that failed."
        ),
    )
    return SheetPart(name="put away", title="Put away", steps=steps)
