"""What a bench knows of an electrode or a mix, gathered for the porous model."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from aerode import properties, units
from aerode.errors import CannotTellError, ConflictError, InputError, NotFoundError
from aerode.measure.mix.answer import dried
from aerode.measure.mix.porosity import film_of
from aerode.measure.mix.published import density_on_file
from aerode.measure.mix.weighing import Scale
from aerode.measure.porous.recipe import Layer, layer_of, model_of, recipe_columns, recipe_draw
from aerode.quantities import Reason
from aerode.records.electrodes import Cell, Electrode, LayerRole, RecipeState
from aerode.records.marks import Known
from aerode.records.materials import Electrolyte, MeshCard
from aerode.records.mixes import Batch, Mix
from aerode.records.runs import Run, RunSort
from aerode.usecases.mix import shelf_of
from aerode.usecases.process import Desk
from aerode.usecases.simulate_typed import known_of
from aerode.usecases.weighed_dry import with_dry_weight

if TYPE_CHECKING:
    from aerode.properties import Solution
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.simulate_cathode import Recipe

__all__ = ["Item", "can_be_asked", "item_of", "recipe_of", "solution_of"]

_SCALE = "0.01 g"
_ROOM = 298.15  # by definition: 25 °C


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """An electrode or a mix of the bench, ready for the model.

    Parameters
    ----------
    layer : Layer
    electrode : Electrode or None
    cell : Cell or None
        The first one it stands in.
    runs : tuple of Run
        Its runs of load steps.
    """

    layer: Layer
    electrode: Electrode | None
    cell: Cell | None
    runs: tuple[Run, ...]


def item_of(
    bench: BenchFile,
    name: str,
    *,
    electrolyte: str = "",
    temperature: str = "",
    known: tuple[str, ...] = (),
    desk: Desk | None = None,
) -> Item:
    """Gather an item of the bench.

    Parameters
    ----------
    bench : BenchFile
        Open.
    name : str
        Of an electrode or a mix.
    electrolyte : str
        One of the bench, or "KOH 4 mol/L"; that of its cell, or the only one there is, if left out.
    temperature : str
        25 degC, or that of its run, if left out.
    known : tuple of str
        What is known better than the bench says: "saturation = 30 to 60 %".
    desk : Desk, optional
        Keeps how each typed text was understood.

    Returns
    -------
    Item

    Raises
    ------
    NotFoundError
        No such item; near names are given.
    CannotTellError
        Its recipe is not known.
    InputError
        No electrolyte, or something typed that cannot be read.
    """
    at = desk or Desk()
    electrode = bench.find(Electrode, name)
    mix = _mix_of(bench, electrode) if electrode is not None else bench.find(Mix, name)
    if mix is None:
        bench.get(Electrode, name)  # refuses with the nearest names
        raise NotFoundError(f"no electrode and no mix {name!r}", where=name)
    cell = next((c for c in bench.all(Cell) if c.electrode == name), None)
    runs = tuple(
        r for r in bench.all(Run) if r.sort is RunSort.LOADS and electrode is not None
        and (r.electrode == name or (cell is not None and r.cell == cell.name))
    )  # fmt: skip
    kelvin, said = _temperature(temperature, runs, at)
    liquid, more = solution_of(bench, electrolyte, cell, kelvin, at)
    composition = dried(mix, shelf_of(bench), Scale.from_text(_SCALE))
    film = None
    if electrode is not None:
        card = bench.find(MeshCard, electrode.mesh) if electrode.mesh else None
        metal = density_on_file(card.material) if card is not None else None
        film = film_of(
            with_dry_weight(electrode), composition, Scale.from_text(_SCALE), mesh=card, mesh_density=metal,
        )  # fmt: skip
    layer = layer_of(
        name, composition, liquid, electrode=electrode, film=film, said=known_of(known, at)
    )
    layer = replace(layer, assumptions=(*said, *more, *layer.assumptions))
    return Item(layer=layer, electrode=electrode, cell=cell, runs=runs)


def can_be_asked(bench: BenchFile, electrode: str) -> bool:
    """Whether an electrode has an active layer of a known mix, without which no model of it can be made.

    Parameters
    ----------
    bench : BenchFile
        Open.
    electrode : str

    Returns
    -------
    bool
    """
    try:
        found = bench.find(Electrode, electrode)
    except ConflictError:  # two states: to be settled first
        return False
    if found is None or found.recipe_state is RecipeState.BOUGHT:
        return False
    return any(layer.role is LayerRole.ACTIVE and layer.mix for layer in found.layers)


def recipe_of(layer: Layer) -> Recipe:
    """An item of the bench for a table of numbers: its middle, its draw, and what was assumed.

    Parameters
    ----------
    layer : Layer

    Returns
    -------
    Recipe
    """
    said = (f"what the table leaves out is {layer.kind} {layer.item}", *layer.assumptions)
    return model_of(recipe_columns(layer)), recipe_draw(layer), said


def _mix_of(bench: BenchFile, electrode: Electrode) -> Mix:
    """The mix of the active layer, as it was really weighed where a batch is named."""
    if electrode.recipe_state is RecipeState.BOUGHT:
        raise CannotTellError(str(Reason.RECIPE_UNKNOWN), where=electrode.name)
    active = [layer for layer in electrode.layers if layer.role is LayerRole.ACTIVE and layer.mix]
    if not active:
        raise CannotTellError(
            str(Reason.RECIPE_UNKNOWN), where=electrode.name,
            next_step="enter the mix of its active layer, or name a mix instead",
        )  # fmt: skip
    mix = bench.get(Mix, active[-1].mix)
    batch = bench.find(Batch, active[-1].batch) if active[-1].batch else None
    if batch is None or not batch.portions:
        return mix
    return Mix(name=batch.name, portions=batch.portions, wanted=mix.wanted)


def _temperature(typed: str, runs: tuple[Run, ...], desk: Desk) -> tuple[float, tuple[str, ...]]:
    kelvin = desk.with_unit(typed, "K", "--temperature", "25 degC")
    if kelvin is not None:
        return kelvin, ()
    for run in reversed(runs):
        if run.temperature.known is Known.MEASURED and run.temperature.value is not None:
            return run.temperature.value, (f"temperature of {run.name}",)
    return _ROOM, ("25 degC taken: --temperature says otherwise",)


def solution_of(
    bench: BenchFile, typed: str, cell: Cell | None, kelvin: float, desk: Desk
) -> tuple[Solution, tuple[str, ...]]:
    """The electrolyte of an item.

    Parameters
    ----------
    bench : BenchFile
        Open.
    typed : str
        A name of the bench, or salt and strength: "KOH 4 mol/L", "NaCl 3.5 %".
    cell : Cell or None
    kelvin : float [K]
    desk : Desk

    Returns
    -------
    tuple of Solution and of str
        The solution, and what had to be assumed.

    Raises
    ------
    InputError
        None is named and the bench holds none or several, or the text cannot be read.
    """
    shelf = {one.name: one for one in bench.all(Electrolyte)}
    name = typed or ("" if cell is None else cell.electrolyte)
    if not name and len(shelf) == 1:
        name = next(iter(shelf))
    if name in shelf:
        return _of_shelf(shelf[name], kelvin)
    if not typed:
        raise InputError(
            "which electrolyte?", where="--electrolyte",
            allowed=", ".join(shelf) or 'salt and strength, as in "KOH 4 mol/L" or "NaCl 3.5 %"',
            next_step="name one of the bench, or type salt and strength",
        )  # fmt: skip
    return _typed_solution(typed, kelvin, desk), ()


def _of_shelf(one: Electrolyte, kelvin: float) -> tuple[Solution, tuple[str, ...]]:
    if one.mass_fraction is None:
        raise InputError(
            f"the strength of {one.name!r} is not entered", where="--electrolyte",
            allowed='its mass fraction, or typed salt and strength, as in "NaCl 3.5 %"',
            next_step="enter its mass fraction, or name the strength here",
        )  # fmt: skip
    salt = "sea water" if "sea" in one.salt.casefold() else one.salt
    said = () if salt == one.salt else (f"{one.name}: {one.salt} taken as sea water",)
    return properties.solution(salt, kelvin, mass_fraction=one.mass_fraction.value), said


def _typed_solution(typed: str, kelvin: float, desk: Desk) -> Solution:
    for cut in range(len(typed.split()) - 1, 0, -1):
        salt, amount = " ".join(typed.split()[:cut]), " ".join(typed.split()[cut:])
        if not amount[:1].isdigit():
            continue
        _, unit = units.read_number(amount)
        if unit and units.same_kind(unit, "mol/m^3"):
            strength = {"molarity": desk.typed(amount, "mol/m^3", "--electrolyte").value}
        elif unit and units.same_kind(unit, "mol/kg"):
            strength = {"molality": desk.typed(amount, "mol/kg", "--electrolyte").value}
        else:
            strength = {
                "mass_fraction": desk.typed(amount, "", "--electrolyte", plausible=(0.0, 0.6)).value
            }
        return properties.solution(salt, kelvin, **strength)
    raise InputError(
        f"{typed!r} is no salt with its strength", where="--electrolyte",
        allowed='as in "KOH 4 mol/L", "NaCl 3.5 %", "sea water 3.1 %"',
    )  # fmt: skip
