"""A lesson that fits the minutes given: what a class can do with what is on the bench, and what it must not.

All minutes are common practice, no source: what a group of beginners takes, with a little to spare.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, TypeVar

from aerode.errors import AerodeError, RangeError
from aerode.records.cautions import CautionLevel
from aerode.records.electrodes import Cell, Electrode, Outcome, RecipeState
from aerode.records.instruments import Instrument, Sort
from aerode.records.mixes import Mix
from aerode.usecases.cautions import CautionQuestion, what_can_hurt
from aerode.usecases.group_codes import CODES
from aerode.usecases.usual_words import (
    IN_A_CLASS,
    not_said_by,
    powders_first,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.records.cautions import Caution
    from aerode.store.bench_file import BenchFile

__all__ = [
    "BASIS",
    "Goal",
    "LessonPlan",
    "LessonQuestion",
    "LessonStep",
    "NotForAClass",
    "PlannedStep",
    "fit_to_minutes",
    "group_codes",
    "plan_lesson",
]

T = TypeVar("T")

BASIS = "common practice, no source"
"""What every number of minutes here rests on."""
_SHORTEST, _LONGEST = 15, 240
_FEWEST_LOADS = 3
"""Points that a curve needs to bend: two make a straight line (plain mathematics)."""


class Goal(StrEnum):
    """What the class is to do."""

    MEASURE = "measure ready electrodes"
    MAKE = "make electrodes"


@dataclass(frozen=True, slots=True, kw_only=True)
class LessonStep:
    """One step before it is placed; `rank` 0 cannot be left out, others come in by their rank."""

    key: str
    title: str
    do: str
    minutes: int
    who: str = "groups"
    rank: int = 0
    turns: bool = False
    """Whether groups take turns where there are fewer meters than groups."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedStep:
    """One step in its place: from which minute, how long."""

    begins: int
    minutes: int
    step: LessonStep


@dataclass(frozen=True, slots=True, kw_only=True)
class LessonQuestion:
    """What a teacher says: minutes, groups, what the class is to do."""

    minutes: int = 45
    groups: int = 6
    goal: Goal = Goal.MEASURE
    tools: int = 0
    """Meters, or scales, that are at hand; 0 for those of the bench."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NotForAClass:
    """A mix or a cell of the bench that is refused for a class, with the reason and the way out."""

    item: str
    what: str
    do: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LessonPlan:
    """The lesson: its steps in their places, and everything around them."""

    headline: str
    question: LessonQuestion
    fits: bool
    would_fit: tuple[str, ...]
    """Where it does not fit: each change that alone makes it fit."""
    steps: tuple[PlannedStep, ...]
    spare: int
    left_out: tuple[LessonStep, ...]
    codes: tuple[str, ...]
    electrodes: tuple[str, ...]
    """Whole electrodes of the bench that a class may measure, one for each group as far as they go."""
    loads: tuple[str, ...]
    rounds: int
    """How many turns it takes until every group has had a meter."""
    lacking: tuple[str, ...]
    refused: tuple[NotForAClass, ...]
    cautions: tuple[Caution, ...]
    """What is read aloud before anything is touched, from the records of this bench."""
    usual: tuple[str, ...]
    """What is read aloud in any case."""
    basis: str = BASIS


def _steps_to_measure(loads: int, most: int) -> tuple[LessonStep, ...]:
    return (
        LessonStep(key="opening", title="What can hurt, and what is asked", minutes=5, who="teacher",
                   do="Read the cautions aloud. Goggles on. Say the question, and that nobody knows the answer."),
        LessonStep(key="codes", title="Codes", minutes=2,
                   do="Each group gets its code and writes it on its cell. No names anywhere."),
        LessonStep(key="guess", title="Guess, and write it down", minutes=4, rank=2,
                   do="Which electrode will give most, and by how much? Written down before the first reading."),
        LessonStep(key="assemble", title="Put the cell together", minutes=8,
                   do="Rub the aluminium bright, set both plates in the salt water without touching, air face out."),
        LessonStep(key="soak", title="Let it wet", minutes=5,
                   do="Wait until the open voltage stands still. Meanwhile trace the wetted area on squared paper."),
        LessonStep(key="loads", title=f"Read {loads} loads", minutes=3 * loads, turns=True,
                   do="Clip a resistor on, wait a minute and a half, read, write, take it off. Largest first."),
        LessonStep(key="more loads", title="Read two more loads", minutes=6, rank=4 if most > loads else 99,
                   turns=True, do="The same with two resistors between those that were read."),
        LessonStep(key="again", title="Read the first load again", minutes=3, rank=1, turns=True,
                   do="The same resistor as at first: what has changed is drift, not recipe."),
        LessonStep(key="ammeter", title="Put the ammeter across", minutes=3, rank=3, turns=True,
                   do="One reading, quickly. It is read at the meter's own resistance: is the order the same?"),
        LessonStep(key="exchange", title="Measure another group's cell", minutes=3 * loads, rank=5, turns=True,
                   do="Change places and read the same loads: does the number belong to the cell or to the hand?"),
        LessonStep(key="look", title="Look at it together", minutes=8, who="teacher",
                   do="All curves on the wall. What is shown, what is not shown, and what would settle it?"),
        LessonStep(key="clean", title="Clear up", minutes=6,
                   do="Cells apart, aluminium rinsed and dried, salt water down the drain, hands washed."),
    )  # fmt: skip


def _steps_to_make() -> tuple[LessonStep, ...]:
    return (
        LessonStep(key="opening", title="What can hurt, and what is made", minutes=5, who="teacher",
                   do="Read the cautions aloud. Windows open, no flame, goggles and gloves on."),
        LessonStep(key="dose", title="Work out the dose by hand", minutes=8, rank=3,
                   do="From the dry shares to grams of each, then look at the bench sheet: the same?"),
        LessonStep(key="weigh", title="Weigh", minutes=12, rank=1, turns=True,
                   do="Powders under a lid, each weighing written down. Left out: the teacher weighs beforehand."),
        LessonStep(key="mix", title="Mix", minutes=8,
                   do=f"{powders_first('', 'the liquid')} Then the rest; stir until no lump is left. Never dry "
                   "powder into the liquid: it raises dust and static."),
        LessonStep(key="coat", title="Coat", minutes=12,
                   do="Spread over the mesh to the mark, both edges alike. One pass, then leave it."),
        LessonStep(key="label", title="Label and weigh wet", minutes=5, turns=True,
                   do="Code and number on the tab; weigh the wet piece and write the moment down."),
        LessonStep(key="second weighing", title="Weigh again", minutes=4, rank=2, turns=True,
                   do="The same piece some minutes later: how fast does it dry?"),
        LessonStep(key="second coat", title="Coat a second piece", minutes=12, rank=4,
                   do="From the same pot: only two separately made pieces show how much builds scatter."),
        LessonStep(key="dry", title="Set them to dry", minutes=3, who="teacher",
                   do="Outdoors or in a fume hood, until the next lesson. No oven, no iron, no hair dryer."),
        LessonStep(key="clean", title="Clear up", minutes=8,
                   do="Wet rags and leftovers into a closed metal can. Not the drain. Hands washed."),
    )  # fmt: skip


def group_codes(count: int) -> tuple[str, ...]:
    """So many codes, the same ones each time.

    >>> group_codes(3)
    ('gull', 'eel', 'cod')
    """
    return CODES[:count]


def fit_to_minutes(
    steps: Sequence[LessonStep], minutes: int, rounds: int = 1
) -> tuple[tuple[PlannedStep, ...], tuple[LessonStep, ...], int]:
    """The steps that fit, in their order: all that cannot be left out, then the others by their rank.

    Parameters
    ----------
    steps : sequence of LessonStep
        In the order of the lesson.
    minutes : int
        Of the whole lesson [min].
    rounds : int
        Turns that a step with turns takes.

    Returns
    -------
    planned : tuple of PlannedStep
    left_out : tuple of LessonStep
        Best first.
    spare : int
        Minutes left over; below zero where even what is needed does not fit.

    Examples
    --------
    >>> need = LessonStep(key="a", title="A", do="", minutes=20)
    >>> more = LessonStep(key="b", title="B", do="", minutes=10, rank=1)
    >>> [p.step.key for p in fit_to_minutes([need, more], 30)[0]], fit_to_minutes([need, more], 25)[2]
    (['a', 'b'], 5)
    """

    def takes(step: LessonStep) -> int:
        return step.minutes * (rounds if step.turns else 1)

    spare = minutes - sum(takes(step) for step in steps if step.rank == 0)
    kept = {step.key for step in steps if step.rank == 0}
    wanted = sorted((s for s in steps if 0 < s.rank < 99), key=lambda s: s.rank)
    for step in wanted:
        if takes(step) <= spare:
            kept.add(step.key)
            spare -= takes(step)
    planned: list[PlannedStep] = []
    at = 0
    for step in steps:
        if step.key in kept:
            planned.append(PlannedStep(begins=at, minutes=takes(step), step=step))
            at += takes(step)
    return tuple(planned), tuple(s for s in wanted if s.key not in kept), spare


def _spread(loads: Sequence[Instrument], count: int) -> list[Instrument]:
    """So many resistors from the largest to the smallest, evenly in the logarithm, ends included."""
    known = sorted(loads, key=lambda r: -(r.nominal_resistance or 0.0))
    if len(known) <= count:
        return known
    last = len(known) - 1
    return [known[round(k * last / (count - 1))] for k in range(count)]


_LOOKED_AT = 24
"""Pieces, cells and mixes a lesson is planned with, the newest."""


def _newest(bench: BenchFile, cls: type[T]) -> list[T]:
    """In the order in which they were stored."""
    return bench.latest(cls, count=_LOOKED_AT)[::-1]


def _refusals(bench: BenchFile, items: Sequence[str]) -> tuple[list[NotForAClass], list[Caution]]:
    """What the cautions refuse for a class outright, and what else is read aloud."""
    refused: list[NotForAClass] = []
    aloud: dict[tuple[str, str], Caution] = {}
    for item in items:
        try:
            sheet = what_can_hurt(bench, item, CautionQuestion(class_mode=True))
        except AerodeError as reason:
            refused.append(NotForAClass(item=item, what=f"cannot be judged: {reason.what}", do=reason.next_step))  # fmt: skip
            continue
        stops = [c for c in sheet.cautions if c.level is CautionLevel.STOP]
        refused += [NotForAClass(item=item, what=c.headline, do=c.do) for c in stops]
        if not stops:
            aloud |= {
                (c.hazard, c.do): c
                for c in sheet.cautions
                if c.level is CautionLevel.FIRST or c.hazard == "hydrogen"
            }
    return refused, list(aloud.values())


def plan_lesson(bench: BenchFile, question: LessonQuestion) -> LessonPlan:
    """What a class can do in the minutes given, with what is on the bench.

    Parameters
    ----------
    bench : BenchFile
    question : LessonQuestion

    Returns
    -------
    LessonPlan
        Whatever the cautions refuse for a class (lye, aromatic solvents, heated fluoropolymers and
        the like) is named and stays out of the lesson.

    Raises
    ------
    RangeError
        Minutes outside 15 to 240, or groups outside 1 to 16.
    """
    if not _SHORTEST <= question.minutes <= _LONGEST:
        raise RangeError(f"{question.minutes} minutes", where="minutes", allowed=f"{_SHORTEST} to {_LONGEST}")  # fmt: skip
    if not 1 <= question.groups <= len(CODES):
        raise RangeError(f"{question.groups} groups", where="groups", allowed=f"1 to {len(CODES)}")
    tools = bench.all(Instrument)
    meters = [t for t in tools if t.sort in {Sort.MULTIMETER, Sort.LOGGER}]
    resistors = [t for t in tools if t.sort is Sort.RESISTOR and t.nominal_resistance]
    scales = [t for t in tools if t.sort is Sort.SCALE]
    measuring = question.goal is Goal.MEASURE
    items = [f"cell:{c.name}" for c in _newest(bench, Cell)] if measuring else [f"mix:{m.name}" for m in _newest(bench, Mix)]  # fmt: skip
    refused, aloud = _refusals(bench, items)
    shared = question.tools or (len(meters) if measuring else len(scales))
    rounds = math.ceil(question.groups / max(shared, 1))
    loads = [r.name for r in _spread(resistors, _FEWEST_LOADS)]
    steps = _steps_to_measure(max(len(loads), _FEWEST_LOADS), len(resistors)) if measuring else _steps_to_make()  # fmt: skip
    planned, left_out, spare = fit_to_minutes(steps, question.minutes, rounds)
    would_fit = _would_fit(steps, question, shared) if spare < 0 else ()
    electrodes = _for_a_class(bench, {one.item.removeprefix("cell:") for one in refused})
    lacking = _lacking(question, shared, len(loads), len(electrodes), items, refused)  # fmt: skip
    fits = spare >= 0
    return LessonPlan(
        headline=_headline(question, spare, would_fit, len(planned), refused, items),
        question=question,
        fits=fits,
        would_fit=would_fit,
        steps=planned,
        spare=max(spare, 0),
        left_out=left_out,
        codes=group_codes(question.groups),
        electrodes=tuple(electrodes),
        loads=tuple(loads),
        rounds=rounds,
        lacking=tuple(lacking),
        refused=tuple(refused),
        cautions=tuple(aloud),
        usual=IN_A_CLASS if measuring else not_said_by({one.hazard for one in aloud}),
    )


def _for_a_class(bench: BenchFile, refused_cells: set[str]) -> list[str]:
    """Whole electrodes that stand in no cell that is refused."""
    out = {cell.electrode for cell in _newest(bench, Cell) if cell.name in refused_cells}
    return [
        e.name
        for e in _newest(bench, Electrode)
        if e.outcome is Outcome.WHOLE
        and e.recipe_state is not RecipeState.BARE_MESH
        and e.name not in out
    ]


def _lacking(
    question: LessonQuestion, tools: int, loads: int, electrodes: int,
    items: Sequence[str], refused: Sequence[NotForAClass],
) -> list[str]:  # fmt: skip
    """What has to be there before the lesson can be held as planned."""
    said: list[str] = []
    if question.goal is Goal.MAKE:
        if not items:
            said.append("a mix: plan one first")
        elif len({one.item for one in refused}) == len(items):
            said.append("a mix that a class may touch")
        if not tools:
            said.append("a scale")
        return said
    if not tools:
        said.append("a multimeter")
    if loads < _FEWEST_LOADS:
        said.append(f"{_FEWEST_LOADS - loads} more resistors")
    if electrodes < question.groups:
        said.append(f"{question.groups - electrodes} more whole electrodes, or larger groups")
    return said


def _would_fit(
    steps: Sequence[LessonStep], question: LessonQuestion, tools: int
) -> tuple[str, ...]:
    """More tools, fewer groups, more minutes: the least of each that makes it fit."""
    tool = "meters" if question.goal is Goal.MEASURE else "scales"

    def spare(groups: int, shared: int, minutes: int) -> int:
        return fit_to_minutes(steps, minutes, math.ceil(groups / max(shared, 1)))[2]

    said: list[str] = []
    groups, minutes = question.groups, question.minutes
    more = next((n for n in range(tools + 1, groups + 1) if spare(groups, n, minutes) >= 0), None)
    if more is not None:
        said.append(f"{more} {tool}")
    fewer = next((n for n in range(groups - 1, 0, -1) if spare(n, tools, minutes) >= 0), None)
    if fewer is not None:
        said.append(f"{fewer} group{'s' if fewer > 1 else ''}")
    said.append(f"{minutes - spare(groups, tools, minutes)} minutes")
    return tuple(said)


def _headline(
    question: LessonQuestion, spare: int, would_fit: Sequence[str], steps: int,
    refused: Sequence[NotForAClass], items: Sequence[str],
) -> str:  # fmt: skip
    if question.goal is Goal.MAKE and items and len({r.item for r in refused}) == len(items):
        return "None of the mixes on this bench is for a class"
    if would_fit:
        return f"It does not fit into {question.minutes} minutes. It fits with {', or '.join(would_fit)}"
    what = "Measuring" if question.goal is Goal.MEASURE else "Making"
    left = f", {spare} to spare" if spare else ""
    return f"{what} fits into {question.minutes} minutes: {steps} steps{left}"
