"""What a bench lacks on its way to the first mix and to the first electrode of each recipe."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.measure.comparison.entrants import recipe_of
from aerode.records.electrodes import Electrode
from aerode.records.instruments import Instrument, Sort
from aerode.records.materials import Function, MeshCard, PowderLot, Solution, SolventLot
from aerode.records.mixes import Batch, Mix
from aerode.records.runs import Run
from aerode.usecases.newest_pieces import RECENT
from aerode.usecases.off_shelf import has_scale, offered
from aerode.usecases.unsaid_solids import WHY_SOLIDS, is_unsaid, unsaid_solids
from aerode.usecases.unsaid_solvents import unsaid_solvents, why_say_it
from aerode.usecases.usual_shares import NO_ACTIVE, lacks_active_carbon
from aerode.usecases.what_step import Step

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.store.bench_file import BenchFile

__all__ = ["FAIREST", "for_a_mix", "for_an_electrode", "for_measuring", "for_the_second_recipe", "mixes_without_pot", "unused_pot", "usual_but_lacking"]  # fmt: skip

FAIREST = "Two recipes are fairest made and read together, in turns, so that the day cannot be what differs"  # fmt: skip
"""Why the second recipe is begun before the first is read; the same words wherever it is said."""

Lack = tuple[Step, str, str]
"""The step, what it is about, and why."""


def for_measuring(bench: BenchFile) -> Lack | None:
    """What a reading needs and the shelf lacks: a meter, resistors."""
    sorts = {part.sort for part in offered(bench, Instrument)}
    if Sort.MULTIMETER not in sorts and Sort.LOGGER not in sorts:
        return Step.METER, "", "Every reading names the meter it was read with: its error is in every result."  # fmt: skip
    if Sort.RESISTOR not in sorts:
        return Step.RESISTORS, "", "A resistor across the cell is the fair load; three or more of them give a curve. One line takes them all."  # fmt: skip
    return None


def for_a_mix(bench: BenchFile) -> Lack:
    """What the first mix lacks, else the mix itself: the scale first, as all that follows is weighed."""
    functions = {powder.function for powder in offered(bench, PowderLot)}
    bound = Function.BINDER in functions or bool(offered(bench, Solution))
    if not has_scale(bench):
        return Step.SCALE, "", "Binder, mesh, pot and piece are weighed on it: its smallest step says how small a mix can be and how well each weight is known."  # fmt: skip
    if not functions - {Function.BINDER}:
        return Step.POWDER, "", "Carbon first: it carries the current. From what stands on the shelf a mix can be dosed to your scale."  # fmt: skip
    if Function.CATALYST not in functions and not bound:
        surface = " The carbon here carries current but has little surface: an active carbon may be wanted too." if lacks_active_carbon(bench) else ""  # fmt: skip
        return Step.CATALYST, "", f"Most mixes have one, such as manganese dioxide. Carbon alone works too, and beside it a later piece shows what a catalyst adds. Common practice, no source.{surface}"  # fmt: skip
    if not bound:
        return Step.BINDER, "", "It holds the powder on the mesh: most often a plastic in its solvent, as it stands in the jar."  # fmt: skip
    if unsaid := _jar_of_unsaid_solids(bench):
        return Step.SOLIDS, unsaid, WHY_SOLIDS
    why = "The mix says what it dries to, what your scale can weigh, and what can hurt you."
    if lacks := usual_but_lacking(bench):
        why += f" Most mixes also have {' and '.join(lacks)}: not on the shelf yet, and a mix can do without."
    return Step.MIX, "", why


def _jar_of_unsaid_solids(bench: BenchFile) -> str:
    """A jar whose solids nobody said, where no other binder can go into the first mix; "" for none."""
    jars = offered(bench, Solution)
    binder = any(one.function is Function.BINDER for one in offered(bench, PowderLot))
    if binder or not all(is_unsaid(jar) for jar in jars):
        return ""
    return next((jar.name for jar in jars), "")


def usual_but_lacking(bench: BenchFile) -> tuple[str, ...]:
    """What most mixes have and the shelf lacks, in words; a mix can do without."""
    functions = {powder.function for powder in offered(bench, PowderLot)}
    usual = {
        "a conductor such as carbon black": Function.CONDUCTOR in functions,
        "a catalyst": Function.CATALYST in functions,
        NO_ACTIVE: not lacks_active_carbon(bench),
        "a solvent to thin it": bool(offered(bench, SolventLot)),
    }
    return tuple(words for words, there in usual.items() if not there)


def mixes_without_pot(bench: BenchFile) -> list[str]:
    """The newest mixes of which no pot was weighed and no piece made, in the order they were planned."""
    built: set[str] = set()
    for one in bench.latest(Electrode, count=RECENT):
        built |= {one.recipe, *(layer.mix for layer in one.layers)}
    mixes = bench.latest(Mix, count=RECENT)[::-1]
    return [one.name for one in mixes if one.name not in built and not bench.all(Batch, of=one.name)]  # fmt: skip


def unused_pot(bench: BenchFile, mix: str) -> str:
    """The newest pot of a mix that no layer of any electrode names; "" where every one is in use."""
    used = {layer.batch for one in bench.all(Electrode) for layer in one.layers}
    return next((pot.name for pot in bench.all(Batch, of=mix)[::-1] if pot.name not in used), "")


def for_an_electrode(bench: BenchFile) -> Lack:
    """What the first electrode lacks, in the order of the job: the pot, the mesh, else the electrode itself."""
    if not bench.count(Batch):
        mix, *others = mixes_without_pot(bench)
        if unsaid := unsaid_solvents(bench, (bench.get(Mix, mix),)):
            return Step.SOLVENT, unsaid[0], why_say_it(mix)
        if jars := unsaid_solids(bench, (bench.get(Mix, mix),)):
            return Step.SOLIDS, jars[0], WHY_SOLIDS
        then = f" {mix} was planned first, {others[0]} has its turn while the first coat dries. {FAIREST}." if len(others) == 1 else ""  # fmt: skip
        return Step.POT, mix, f"What was really weighed in goes with the pot: the electrode then knows what it is made of.{then}"  # fmt: skip
    if not offered(bench, MeshCard):
        return Step.MESH, "", "The coat is carried by it, and its mass is taken off the piece's: weigh it bare."  # fmt: skip
    mix = bench.latest(Batch, count=RECENT)[-1].mix
    return Step.ELECTRODE, mix, "With its wetted area, every reading becomes a number per area."


def for_the_second_recipe(bench: BenchFile, electrodes: Sequence[Electrode], *, meanwhile: str = "") -> Lack | None:  # fmt: skip
    """What the second of two recipes lacks; None where it lacks nothing or no second one is planned.

    Before the first reading it is asked for where two mixes are planned; later, and where there are
    more, as long as all pieces are of one recipe.

    Parameters
    ----------
    bench : BenchFile
        Open.
    electrodes : sequence of Electrode
        All that are looked at.
    meanwhile : str
        The piece that dries in the meantime; "" for none.
    """
    both_new = bench.count(Mix) == 2 and not bench.count(Run)
    if not both_new and len({recipe_of(one) for one in electrodes if not one.control}) > 1:
        return None
    unbuilt = _planned_beside(bench, electrodes)
    if not unbuilt:
        return None
    dries = f" Meanwhile {meanwhile} dries." if meanwhile else ""
    if not bench.all(Batch, of=unbuilt):
        return Step.POT, unbuilt, f"{FAIREST}: {unbuilt} has no pot yet.{dries}"
    return Step.ELECTRODE, unbuilt, f"{FAIREST}: no piece of {unbuilt} is entered yet.{dries}"


def _planned_beside(bench: BenchFile, electrodes: Sequence[Electrode]) -> str:
    """The mix whose turn it is beside what is built: one with a pot, else one planned later, else any; "" for none."""
    built = {layer.mix for one in electrodes for layer in one.layers} | {e.recipe for e in electrodes}  # fmt: skip
    mixes = bench.latest(Mix, count=RECENT)[::-1]
    left_behind = {mix.after for mix in mixes if mix.name in built}
    names = [mix.name for mix in mixes]
    first_built = min((names.index(name) for name in built if name in names), default=-1)
    open_ones = [name for name in names if name not in built | left_behind]
    potted = [name for name in open_ones if bench.all(Batch, of=name)]
    later = [name for name in open_ones if names.index(name) > first_built]
    return next(iter([*potted, *later, *open_ones]), "")
