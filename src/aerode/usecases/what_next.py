"""What to do next on this bench, and which electrode is best so far: shown or not shown."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerode.errors import AerodeError
from aerode.measure import picturing, telling
from aerode.measure.comparison.unread import TooFewReadError, Why
from aerode.measure.run_readings import remaining_loads, waits_to_be_closed
from aerode.records.comparisons import Comparison, Verdict
from aerode.records.electrodes import Cell, Electrode
from aerode.records.materials import (
    PowderLot,
    Solution,
)
from aerode.records.mixes import Batch, Mix
from aerode.records.runs import Run, RunSort, Unsorted
from aerode.usecases import what_lacks
from aerode.usecases.claims_on_file import JudgedClaim, claims_judged, same_question
from aerode.usecases.compare import compare
from aerode.usecases.condition_cures import Cause, cause_of
from aerode.usecases.electrode_page_next import (
    MAKING,
    PieceAct,
    PieceNext,
    cell_next,
    next_for_piece,
)
from aerode.usecases.newest_pieces import RECENT, measured_in, newest_pieces
from aerode.usecases.one_recipe import WHY_SECOND_MIX, builds_apart, mix_alone, room_left
from aerode.usecases.read_next import in_turn, read_next, reading_order, to_be_read
from aerode.usecases.unsaid_solvents import unsaid_solvents
from aerode.usecases.what_step import ON_A_PIECE, Step

if TYPE_CHECKING:
    from aerode.records.comparisons import NextAct
    from aerode.records.figures import Figure
    from aerode.store.bench_file import BenchFile

__all__ = ["EVERY_READ", "NextStep", "Step", "Waiting", "what_next"]

EVERY_READ = "every load is read: close it"
"""What waits with a run that was read to its end and never closed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Waiting:
    """Something begun and not finished."""

    kind: str
    name: str
    what: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NextStep:
    """The answer to "what now?"."""

    step: Step
    about: str = ""
    """The electrode, run or record it is about."""
    act: str = ""
    """What to do, where the comparison names it; "" leaves it to the words of the step."""
    why: str
    best: str = ""
    """Which is best, shown or not shown; "" where nothing was compared."""
    caveat: str = ""
    piece: PieceNext | None = None
    """The judgement on the piece that the step is about; None where the step is about no piece."""
    doing: NextAct | None = None
    """The act that the comparison names, where that is the step and nothing blocks it."""
    cause: Cause | None = None
    """What lies behind the conditions that block the comparison; None where nothing of the kind does."""
    ready: str = ""
    """A piece that may be read while this step is done or waited for; "" for none."""
    unread: TooFewReadError | None = None
    """Which electrodes could not be read, and why; None where they could or nothing was compared."""
    claims: tuple[JudgedClaim, ...] = ()
    """What was stated beforehand, with its verdict: it is told before the open comparison."""
    figure: Figure | None = None
    waiting: tuple[Waiting, ...] = ()
    counts: tuple[tuple[str, int], ...] = ()


def what_next(bench: BenchFile) -> NextStep:
    """What to do next, and what is best so far.

    Parameters
    ----------
    bench : BenchFile
        An open bench.

    Returns
    -------
    NextStep
        The step with its reason, the verdict so far in a sentence, and what waits.
    """
    electrodes = bench.latest(Electrode, count=RECENT)[::-1]
    newest = bench.latest(Run, count=4 * RECENT)[::-1]
    runs = [run for run in newest if run.sort is RunSort.LOADS]
    loads = [run for run in newest if run.sort in {RunSort.LOADS, RunSort.SEALED_FACE}]
    waiting = _waiting(bench, _in_turn(bench, electrodes, loads))
    counts = (
        ("mixes", bench.count(Mix)),
        ("pots", bench.count(Batch)),
        ("electrodes", bench.count(Electrode)),
        ("runs", bench.count(Run)),
    )
    found = _compared(bench, electrodes, runs)
    step, about, why = _step(bench, electrodes, runs, waiting, found)
    ready = _ready(bench, electrodes, runs, about) if step in ON_A_PIECE - {Step.CELL} else ""
    act, doing = _act_said(step, about, electrodes), None
    cause = cause_of(bench, found) if isinstance(found, Comparison) else None
    if step is Step.COMPARE and cause is not None:
        step, about = Step.CELL, cause.cure.of
    if step is Step.COMPARE and isinstance(found, Comparison):
        act, why = _named_act(found, why)
        doing = found.next_act if act else None
        if found.next_act is not None and found.next_act.build:
            step, about = Step.BUILD, found.next_act.build
            why += _pot_ready(bench, about)
        elif found.next_act is not None and found.next_act.measure:
            step, about = Step.MEASURE, found.next_act.measure
    piece = _on_the_piece(bench, step, about)
    why = piece.why if step is Step.CELL and piece is not None and piece.read else why
    unread = found if isinstance(found, TooFewReadError) else None
    if step is Step.COMPARE and unread is not None:
        step, about, act, why = _help_the_unread(unread)
    best, caveat, figure, claims = "", "", None, ()
    if isinstance(found, AerodeError):
        caveat = "" if unread else found.what
    elif found is not None:
        apart, claims = builds_apart(found), claims_judged(bench)
        best = cause.sentence if cause else apart or telling.plain_verdict(found)
        again = same_question(found, claims)
        own = () if again else (telling.held_back(found), telling.undone_by(found), telling.rests_on(found))  # fmt: skip
        told = (room_left(found),) if apart and not cause else (*own, telling.who_leads(found))
        beside = (telling.given_word(found), *told)
        caveat = " ".join(line for line in beside if line and line != best)
        best = "" if again else best
        figure = picturing.ammeter_beside_fair(found)
    return NextStep(
        step=step, about=about, act=act, piece=piece, doing=doing, why=why, best=best, caveat=caveat, figure=figure, waiting=waiting,
        counts=counts, cause=cause, ready=ready, unread=unread, claims=claims,
    )  # fmt: skip


def _pot_ready(bench: BenchFile, recipe: str) -> str:
    """That a pot of it was weighed already, with a space before it; "" where none waits."""
    pot = what_lacks.unused_pot(bench, recipe)
    return f" {pot} is weighed, and no piece is coated from it yet: coat one." if pot else ""


def _act_said(step: Step, about: str, electrodes: list[Electrode]) -> str:
    """The act in words of its own, where those of the step do not name the recipe it is about."""
    if step is Step.SOLIDS:
        return f"the solids of {about} (its label will do)"
    if step is Step.SECOND_MIX:
        return f"{step.value} to compare with {about}"
    return f"coat a piece of {about}" if step is Step.ELECTRODE and electrodes and about else ""


def _on_the_piece(bench: BenchFile, step: Step, about: str) -> PieceNext | None:
    """The judgement on the piece that a step is about; None where it is about no piece."""
    if step is Step.CELL:
        return cell_next(bench, about)
    return next_for_piece(bench, bench.get(Electrode, about)) if step in ON_A_PIECE else None


def _in_turn(bench: BenchFile, electrodes: list[Electrode], runs: list[Run]) -> list[Run]:
    """Those with a reading first; those that are open without one in the order in which their pieces are read."""
    begun = [run for run in runs if run.readings or run.sort is not RunSort.LOADS]
    fresh = [run for run in runs if run not in begun]
    entered = [one.name for one in electrodes]
    pieces = sorted({run.electrode for run in fresh}, key=lambda name: entered.index(name) if name in entered else -1)  # fmt: skip
    order = reading_order(bench, electrodes, begun, pieces)
    return [*begun, *sorted(fresh, key=lambda run: order.index(run.electrode))]


def _waiting(bench: BenchFile, runs: list[Run]) -> tuple[Waiting, ...]:
    found = [
        Waiting(kind=group[0].kind, name=group[0].name, what="stands in two states")
        for group in bench.conflicts()
    ]
    for run in runs:
        left = remaining_loads(run)
        if run.planned_loads and not run.finished and left:
            what = f"{len(left)} of {len(run.planned_loads)} loads still to read"
            found.append(Waiting(kind="run", name=run.name, what=what))
        elif waits_to_be_closed(run):
            found.append(Waiting(kind="run", name=run.name, what=EVERY_READ))
    found += [
        Waiting(
            kind="solution", name=name, what="dissolved in what? Cautions of its vapour hang on it"
        )
        for name in unsaid_solvents(bench, bench.latest(Mix, count=RECENT)[::-1])
    ]
    found += [
        Waiting(kind="unsorted", name=one.name, what=f"“{one.text}” is in the tray")
        for one in bench.latest(Unsorted, count=RECENT)[::-1]
        if not one.placed_in
    ]
    return tuple(found)


def _compared(bench: BenchFile, electrodes: list[Electrode], runs: list[Run]) -> Comparison | AerodeError | None:  # fmt: skip
    """The comparison as it stands, without looking for what would overturn it; or why there is none."""
    measured = measured_in(runs)
    if len([one for one in electrodes if one.name in measured and not one.control]) < 2:
        return None
    try:
        return compare(bench, newest_pieces(bench), try_changes=False, try_nearest=True)
    except AerodeError as refusal:
        return refusal


def _step(
    bench: BenchFile,
    electrodes: list[Electrode],
    runs: list[Run],
    waiting: tuple[Waiting, ...],
    found: Comparison | AerodeError | None,
) -> tuple[Step, str, str]:
    begun = next((one for one in waiting if one.kind == "run"), None)
    turn = in_turn(bench)
    fresh = {run.name for run in runs if not run.readings}
    twofold = next((one for one in waiting if one.what == "stands in two states"), None)
    if twofold is not None:
        why = "Two states were stored side by side. Nothing was lost: look at both and keep one."
        return Step.SETTLE, f"{twofold.kind} {twofold.name}", why
    read = next((one for one in waiting if one.what == EVERY_READ), None)
    if read is not None:
        return Step.CLOSE, read.name, "Every load of it is read. Close it, and see what it tells."
    if begun is not None and (turn is None or begun.name not in fresh or turn.run):
        if (bare := _begun_without_cell(bench, begun.name)) and begun.name in fresh:
            return Step.CELL, bare, f"{cell_next(bench, bare).why} {begun.name} is open and has no reading yet."  # fmt: skip
        why = f"{begun.what}. What was read is kept."
        return Step.GO_ON, begun.name, f"{why} {turn.words}." if turn is not None else why
    open_ones = _unmeasured(electrodes, runs)
    about, following, picked = _piece_next(bench, electrodes, runs, open_ones) if open_ones else ("", None, "")  # fmt: skip
    if following is not None and following.act in MAKING:
        idle = about if following.act is PieceAct.WEIGH else ""
        if idle and (second := what_lacks.for_the_second_recipe(bench, electrodes, meanwhile=idle)):
            return second
        return Step(following.act.value), about, f"{following.why} {picked}".strip()
    if not electrodes and bench.count(Mix):
        return what_lacks.for_an_electrode(bench)
    if not electrodes and (bench.count(PowderLot) or bench.count(Solution)):
        return what_lacks.for_a_mix(bench)  # who stands at the jar goes on there
    if lack := what_lacks.for_measuring(bench):
        return lack
    if not electrodes:
        return what_lacks.for_a_mix(bench)
    if following is not None:
        if following.act in {PieceAct.ALUMINIUM, PieceAct.ELECTROLYTE}:
            return Step(following.act.value), "", following.why
        second = what_lacks.for_the_second_recipe(bench, electrodes)
        if following.act is PieceAct.MEASURE and second is not None:
            return second
        counted = f"{len(open_ones)} electrode{'s have' if len(open_ones) > 1 else ' has'} no run of load steps yet."  # fmt: skip
        told = f"{turn.words}." if turn is not None and turn.electrode == about else picked
        return Step(following.act.value), about, f"{following.why or counted} {told}".strip()
    if second := what_lacks.for_the_second_recipe(bench, electrodes):
        return second
    if len(electrodes) < 2:
        return Step.SECOND, electrodes[0].name, "One piece cannot be better than another. A second one of the same recipe shows how much builds scatter."  # fmt: skip
    compared = isinstance(found, Comparison) and found.verdict is not Verdict.BLOCKED
    if compared and (mix := mix_alone(bench, electrodes)):
        return Step.SECOND_MIX, mix, WHY_SECOND_MIX
    return Step.COMPARE, "", "All electrodes are measured."


def _begun_without_cell(bench: BenchFile, name: str) -> str:
    """The piece of a run whose cell nobody entered, on a bench that enters them; "" for any other."""
    run = bench.find(Run, name)
    if run is None or run.cell or not run.electrode or not bench.count(Cell):
        return ""
    return "" if bench.all(Cell, of=run.electrode) else run.electrode


def _help_the_unread(unread: TooFewReadError) -> tuple[Step, str, str, str]:
    """Step, what it is about, the act and its reason, where too few electrodes could be read."""
    first = unread.first
    why = _sentence(f"{unread.head}: a comparison needs two")
    if first is None or first.why in {Why.OUTSIDE, Why.OTHER}:
        return Step.COMPARE, "", unread.next_step, why
    if first.why is Why.NO_RUN:
        return Step.MEASURE, first.electrode, "", why
    step = Step.GO_ON if first.why is Why.UNFINISHED else Step.READ_AGAIN
    return step, first.run, unread.next_step, why


def _named_act(found: Comparison, why: str) -> tuple[str, str]:
    """The act that the comparison names, with its reason: the same as on its own page."""
    if found.next_act is None:
        return "", why
    if found.verdict is Verdict.BLOCKED:
        return "", f"{_sentence(found.next_act.why)} {_sentence(found.next_act.do)}"
    return found.next_act.do, _sentence(found.next_act.why)


def _piece_next(
    bench: BenchFile, electrodes: list[Electrode], runs: list[Run], open_ones: list[str]
) -> tuple[str, PieceNext, str]:
    """The piece to go on with, its next act, and why it is this one.

    What is begun is made first and then all of it is read in turn; while one piece dries, the next
    is coated.
    """
    known = {one.name: one for one in electrodes}
    chosen = read_next(bench, electrodes, runs, open_ones)
    following = next_for_piece(bench, known[chosen.electrode])
    if following.act in {PieceAct.COAT, PieceAct.PRESS}:
        return chosen.electrode, following, chosen.why
    others = [(name, next_for_piece(bench, known[name])) for name in reading_order(bench, electrodes, runs, open_ones)]  # fmt: skip
    coat = next(((name, other) for name, other in others if other.act is PieceAct.COAT), None)
    if following.act is PieceAct.WEIGH:
        return (*coat, f"Meanwhile {chosen.electrode} dries.") if coat else (chosen.electrode, following, chosen.why)  # fmt: skip
    making = coat or next(((name, other) for name, other in others if other.act in MAKING), None)
    if making is None:
        return chosen.electrode, following, chosen.why
    return (*making, f"{chosen.electrode} is ready to be read; {_MADE_FIRST}.")


_MADE_FIRST = "what is begun is made first, then all are read in turn on one day"


def _ready(bench: BenchFile, electrodes: list[Electrode], runs: list[Run], about: str) -> str:
    """The first piece in turn that waits for nothing but its cell or its reading, beside one that is made."""
    open_ones = [name for name in _unmeasured(electrodes, runs) if name != about]
    known = {one.name: one for one in electrodes}
    order = reading_order(bench, electrodes, runs, open_ones)
    return next(
        (name for name in order if next_for_piece(bench, known[name]).act not in MAKING), ""
    )


def _unmeasured(electrodes: list[Electrode], runs: list[Run]) -> list[str]:
    measured = measured_in(runs)
    return [one.name for one in electrodes if one.name not in measured and to_be_read(one)]


def _sentence(text: str) -> str:
    whole = f"{text[0].upper()}{text[1:]}"
    return whole if whole.endswith(".") else f"{whole}."
