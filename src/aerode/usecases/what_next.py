"""What to do next on this bench, and which electrode is best so far: shown or not shown."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from aerode.errors import AerodeError
from aerode.measure import picturing, telling
from aerode.measure.comparison.unread import TooFewReadError, Why
from aerode.measure.run_readings import remaining_loads
from aerode.records.comparisons import Comparison, Verdict
from aerode.records.electrodes import Cell, Electrode
from aerode.records.instruments import Instrument, Sort
from aerode.records.materials import (
    Function,
    MeshCard,
    PowderLot,
    Solution,
    SolventLot,
)
from aerode.records.mixes import Batch, Mix
from aerode.records.runs import Run, RunSort, Unsorted
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
from aerode.usecases.off_shelf import offered
from aerode.usecases.read_next import in_turn, read_next, reading_order, to_be_read
from aerode.usecases.unsaid_solvents import SAY_IT, unsaid_solvents, why_say_it

if TYPE_CHECKING:
    from aerode.records.comparisons import NextAct
    from aerode.records.figures import Figure
    from aerode.store.bench_file import BenchFile

__all__ = ["NextStep", "Step", "Waiting", "what_next"]


class Step(StrEnum):
    """The cheapest act that brings the bench on."""

    SETTLE = "settle a record that stands in two states"
    METER = "enter the multimeter"
    RESISTORS = "enter the resistors"
    POWDER = "enter the first powder"
    BINDER = "enter the binder"
    SCALE = "enter the scale"
    MIX = "plan the first mix"
    SOLVENT = SAY_IT
    POT = "weigh the pot"
    MESH = "enter the mesh"
    ELECTRODE = "enter the first electrode"
    COAT = PieceAct.COAT.value
    WEIGH = PieceAct.WEIGH.value
    PRESS = PieceAct.PRESS.value
    ALUMINIUM = PieceAct.ALUMINIUM.value
    ELECTROLYTE = PieceAct.ELECTROLYTE.value
    CELL = PieceAct.CELL.value
    GO_ON = "go on with the run"
    READ_AGAIN = "read a load again"
    MEASURE = PieceAct.MEASURE.value
    SECOND = "make a second electrode"
    BUILD = "build one more"
    COMPARE = "look at the comparison"


_ON_A_PIECE = {Step.COAT, Step.WEIGH, Step.PRESS, Step.CELL}


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
        ("electrodes", bench.count(Electrode)),
        ("runs", bench.count(Run)),
    )
    found = _compared(bench, electrodes, runs)
    step, about, why = _step(bench, electrodes, runs, waiting, found)
    act, doing = "", None
    cause = cause_of(bench, found) if isinstance(found, Comparison) else None
    if step is Step.COMPARE and cause is not None:
        step, about = Step.CELL, cause.cure.of
    if step is Step.COMPARE and isinstance(found, Comparison):
        act, why = _named_act(found, why)
        doing = found.next_act if act else None
        if found.next_act is not None and found.next_act.build:
            step, about = Step.BUILD, found.next_act.build
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
        best, claims = (
            cause.sentence if cause else telling.plain_verdict(found),
            claims_judged(bench),
        )
        again = same_question(found, claims)
        own = () if again else (telling.held_back(found), telling.undone_by(found), telling.rests_on(found))  # fmt: skip
        beside = (telling.given_word(found), *own, telling.who_leads(found))
        caveat = " ".join(line for line in beside if line and line != best)
        best = "" if again else best
        figure = picturing.ammeter_beside_fair(found)
    return NextStep(
        step=step, about=about, act=act, piece=piece, doing=doing, why=why, best=best, caveat=caveat, figure=figure, waiting=waiting,
        counts=counts, cause=cause, unread=unread, claims=claims,
    )  # fmt: skip


def _on_the_piece(bench: BenchFile, step: Step, about: str) -> PieceNext | None:
    """The judgement on the piece that a step is about; None where it is about no piece."""
    if step is Step.CELL:
        return cell_next(bench, about)
    return next_for_piece(bench, bench.get(Electrode, about)) if step in _ON_A_PIECE else None


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
    if begun is not None and (turn is None or begun.name not in fresh or turn.run):
        if (bare := _begun_without_cell(bench, begun.name)) and begun.name in fresh:
            return Step.CELL, bare, f"{cell_next(bench, bare).why} {begun.name} is open and has no reading yet."  # fmt: skip
        why = f"{begun.what}. What was read is kept."
        return Step.GO_ON, begun.name, f"{why} {turn.words}." if turn is not None else why
    open_ones = _unmeasured(electrodes, runs)
    about, following, picked = _piece_next(bench, electrodes, runs, open_ones) if open_ones else ("", None, "")  # fmt: skip
    if following is not None and following.act in MAKING:
        return Step(following.act.value), about, f"{following.why} {picked}".strip()
    sorts = {part.sort for part in offered(bench, Instrument)}
    if not electrodes and bench.count(Mix):
        return _lacking_for_an_electrode(bench)
    if not electrodes and (bench.count(PowderLot) or bench.count(Solution)):
        return _lacking_for_a_mix(bench, sorts)  # who stands at the jar goes on there
    if Sort.MULTIMETER not in sorts and Sort.LOGGER not in sorts:
        return Step.METER, "", "Every reading names the meter it was read with: its error is in every result."  # fmt: skip
    if Sort.RESISTOR not in sorts:
        return Step.RESISTORS, "", "A resistor across the cell is the fair load; three or more of them give a curve. One line takes them all."  # fmt: skip
    if not electrodes:
        return _lacking_for_a_mix(bench, sorts)
    if following is not None:
        if following.act in {PieceAct.ALUMINIUM, PieceAct.ELECTROLYTE}:
            return Step(following.act.value), "", following.why
        if following.act is PieceAct.MEASURE and (pot := _second_pot(bench, electrodes)):
            return pot
        counted = f"{len(open_ones)} electrode{'s have' if len(open_ones) > 1 else ' has'} no run of load steps yet."  # fmt: skip
        told = f"{turn.words}." if turn is not None and turn.electrode == about else picked
        return Step(following.act.value), about, f"{following.why or counted} {told}".strip()
    if len(electrodes) < 2:
        return Step.SECOND, electrodes[0].name, "One piece cannot be better than another. A second one of the same recipe shows how much builds scatter."  # fmt: skip
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


def _lacking_for_an_electrode(bench: BenchFile) -> tuple[Step, str, str]:
    """What the first electrode lacks, in the order of the job: the pot, the mesh, else the electrode itself."""
    newest = bench.latest(Mix, count=1)[0]
    mix = newest.name
    if not bench.count(Batch):
        if unsaid := unsaid_solvents(bench, (newest,)):
            return Step.SOLVENT, unsaid[0], why_say_it(mix)
        return Step.POT, mix, "What was really weighed in goes with the pot: the electrode then knows what it is made of."  # fmt: skip
    if not offered(bench, MeshCard):
        return Step.MESH, "", "The coat is carried by it, and its mass is taken off the piece's: weigh it bare."  # fmt: skip
    return Step.ELECTRODE, "", "With its wetted area, every reading becomes a number per area."


def _piece_next(
    bench: BenchFile, electrodes: list[Electrode], runs: list[Run], open_ones: list[str]
) -> tuple[str, PieceNext, str]:
    """The piece to go on with, its next act, and why it is this one: while one dries, the next is coated."""
    known = {one.name: one for one in electrodes}
    chosen = read_next(bench, electrodes, runs, open_ones)
    following = next_for_piece(bench, known[chosen.electrode])
    if following.act is PieceAct.WEIGH:
        for name in reading_order(bench, electrodes, runs, open_ones):
            other = next_for_piece(bench, known[name])
            if other.act is PieceAct.COAT:
                return name, other, f"Meanwhile {chosen.electrode} dries."
    return chosen.electrode, following, chosen.why


def _second_pot(bench: BenchFile, electrodes: list[Electrode]) -> tuple[Step, str, str] | None:
    """The pot of the second of two recipes, where it is still to be weighed before the first reading."""
    built = {layer.mix for one in electrodes for layer in one.layers} | {e.recipe for e in electrodes}  # fmt: skip
    unbuilt = [mix.name for mix in bench.latest(Mix, count=2) if mix.name not in built and not bench.all(Batch, of=mix.name)]  # fmt: skip
    if unbuilt and bench.count(Mix) == 2 and not bench.count(Run):
        return Step.POT, unbuilt[0], "Two recipes are fairest made and read together: the second one has no pot yet."  # fmt: skip
    return None


def _lacking_for_a_mix(bench: BenchFile, sorts: set[Sort]) -> tuple[Step, str, str]:
    """What the first mix lacks, else the mix itself."""
    functions = {powder.function for powder in offered(bench, PowderLot)}
    if not functions - {Function.BINDER}:
        return Step.POWDER, "", "Carbon first: it carries the current. From what stands on the shelf a mix can be dosed to your scale."  # fmt: skip
    if Function.BINDER not in functions and not offered(bench, Solution):
        return Step.BINDER, "", "It holds the powder on the mesh: most often a plastic in its solvent, as it stands in the jar."  # fmt: skip
    if Sort.SCALE not in sorts:
        return Step.SCALE, "", "Its smallest step says how small a mix it can weigh."
    why = "The mix says what it dries to, what your scale can weigh, and what can hurt you."
    usual = {"a conductor such as carbon black": Function.CONDUCTOR in functions,
             "a catalyst": Function.CATALYST in functions, "a solvent to thin it": bool(offered(bench, SolventLot))}  # fmt: skip
    lacks = [words for words, there in usual.items() if not there]
    if lacks:
        why += f" Most mixes also have {' and '.join(lacks)}: not on the shelf yet, and a mix can do without."
    return Step.MIX, "", why


def _unmeasured(electrodes: list[Electrode], runs: list[Run]) -> list[str]:
    measured = measured_in(runs)
    return [one.name for one in electrodes if one.name not in measured and to_be_read(one)]


def _sentence(text: str) -> str:
    whole = f"{text[0].upper()}{text[1:]}"
    return whole if whole.endswith(".") else f"{whole}."
