"""What to do next."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from aerode.measure.run_readings import TAKEN_BACK
from aerode.records.electrodes import Cell, Electrode
from aerode.records.instruments import Instrument, Sort
from aerode.records.marks import Entry, Share
from aerode.records.materials import (
    Aluminium,
    Electrolyte,
    Function,
    MeshCard,
    PowderLot,
    Solution,
)
from aerode.records.mixes import Batch, Mix
from aerode.records.places import RunOrder
from aerode.records.runs import Reading, Run, Unsorted
from aerode.store.bench_file import BenchFile
from aerode.usecases.read_next import in_turn
from aerode.usecases.what_next import Step, what_next

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[BenchFile]:
    """An empty bench."""
    with BenchFile.create(tmp_path / "shed.aerode", title="Net shed") as made:
        yield made


def test_the_steps_of_a_new_bench_in_their_order(bench: BenchFile) -> None:
    """Each thing that is entered brings the next step; none is asked for twice."""
    met = [what_next(bench).step]
    for record in (
        Instrument(name="meter", sort=Sort.MULTIMETER),
        Instrument(name="10 ohm", sort=Sort.RESISTOR, nominal_resistance=10.0),
        Instrument(name="scale", sort=Sort.SCALE, resolution=1e-5),
        PowderLot(name="char", substance="biochar", function="conductor"),  # pyright: ignore[reportArgumentType]
        PowderLot(name="black ore", substance="manganese dioxide", function=Function.CATALYST),
        Solution(name="jar", polymer="PVB", label_solids=Entry(value=0.1)),
        Mix(name="M1"),
        Batch(name="M1 pot 1", mix="M1"),
        MeshCard(name="gauze", material="nickel"),
        Electrode(name="T1", recipe="M1"),
        Aluminium(name="sheet 1"),
        Electrolyte(name="brine", salt="sodium chloride"),
        Cell(name="cell T1", electrode="T1"),
    ):
        bench.put(record)
        met.append(what_next(bench).step)

    assert met == [
        Step.METER, Step.RESISTORS, Step.SCALE, Step.POWDER, Step.CATALYST, Step.BINDER, Step.MIX, Step.POT, Step.MESH,
        Step.ELECTRODE, Step.ALUMINIUM, Step.ELECTROLYTE, Step.CELL, Step.MEASURE,
    ]  # fmt: skip


def test_the_pot_of_the_second_mix_comes_before_the_first_reading(bench: BenchFile) -> None:
    """Two recipes are fairest read together: the one without a pot is asked for, unless a run is there."""
    for record in (
        Instrument(name="meter", sort=Sort.MULTIMETER),
        Instrument(name="10 ohm", sort=Sort.RESISTOR, nominal_resistance=10.0),
        Mix(name="M1"), Mix(name="M2"), Electrode(name="T1", recipe="M1"), Aluminium(name="sheet 1"),
        Electrolyte(name="brine", salt="sodium chloride"), Cell(name="cell T1", electrode="T1"),
    ):  # fmt: skip
        bench.put(record)

    found = what_next(bench)
    assert (found.step, found.about) == (Step.POT, "M2")
    bench.put(Batch(name="M2 pot 1", mix="M2"))
    found = what_next(bench)
    assert (found.step, found.about) == (Step.ELECTRODE, "M2")
    bench.put(Run(name="T1 loads", electrode="T1", planned_loads=("open", "10 ohm")))
    assert what_next(bench).step is Step.GO_ON


def test_a_bench_that_measures_without_cells_is_not_asked_for_them(bench: BenchFile) -> None:
    """Who has runs and no cell goes on measuring: the comparison says what it lacks."""
    for record in (
        Instrument(name="meter", sort=Sort.MULTIMETER),
        Instrument(name="10 ohm", sort=Sort.RESISTOR, nominal_resistance=10.0),
        Electrode(name="T1"), Electrode(name="T2"),
        Run(name="T1 loads", electrode="T1", readings=tuple(Reading(load="10 ohm", voltage=0.5) for _ in range(3))),
    ):  # fmt: skip
        bench.put(record)

    assert what_next(bench).step is Step.MEASURE


def test_a_solution_alone_asks_for_the_powder(bench: BenchFile) -> None:
    """A binder carries no current: whatever was entered first, the other one is asked for."""
    bench.put(Instrument(name="meter", sort=Sort.MULTIMETER))
    bench.put(Instrument(name="10 ohm", sort=Sort.RESISTOR, nominal_resistance=10.0))
    bench.put(Solution(name="jar", polymer="PVB"))
    assert what_next(bench).step is Step.SCALE
    bench.put(Instrument(name="scale", sort=Sort.SCALE, resolution=1e-5))

    assert what_next(bench).step is Step.POWDER


def test_who_begins_at_the_jar_goes_on_there(bench: BenchFile) -> None:
    """Powder before meter: scale, binder, mix and electrode come first, then what measuring needs."""
    met: list[Step] = []
    for record in (
        PowderLot(name="char", substance="biochar", function=Function.CONDUCTOR),
        Instrument(name="scale", sort=Sort.SCALE, resolution=1e-5),
        Solution(name="jar", polymer="PVB", label_solids=Entry(value=0.1)),
        Mix(name="M1"),
        Batch(name="M1 pot 1", mix="M1"),
        MeshCard(name="gauze", material="nickel"),
        Electrode(name="T1"),
    ):
        bench.put(record)
        met.append(what_next(bench).step)

    assert met == [
        Step.SCALE, Step.CATALYST, Step.MIX, Step.POT, Step.MESH, Step.ELECTRODE, Step.METER,
    ]  # fmt: skip


def test_a_jar_of_unknown_solids_is_asked_about_before_the_mix(bench: BenchFile) -> None:
    """Nothing made of it can be worked out: its label will do, or another binder on the shelf."""
    bench.put_all([
        Instrument(name="scale", sort=Sort.SCALE, resolution=1e-5),
        PowderLot(name="char", substance="biochar", function=Function.CONDUCTOR),
        Solution(name="jar", polymer="PVB"),
    ])  # fmt: skip
    now = what_next(bench)

    assert (now.step, now.about) == (Step.SOLIDS, "jar")
    assert now.act == "the solids of jar (its label will do)"
    bench.put(Solution(name="jar", polymer="PVB", label_solids=Entry(value=0.1)))
    assert what_next(bench).step is Step.MIX

    bench.put(Solution(name="jar", polymer="PTFE", dispersed=True))
    bench.put(Mix(name="M1", wanted=(Share(of="char", fraction=0.9), Share(of="jar", fraction=0.1))))  # fmt: skip
    assert (what_next(bench).step, what_next(bench).about) == (Step.SOLIDS, "jar")


def test_a_run_that_was_begun_comes_first(bench: BenchFile) -> None:
    """It says how many loads are left, and keeps waiting things in sight."""
    bench.put(Electrode(name="T1"))
    read = Reading(load="open", voltage=1.2)
    bench.put(Run(name="T1 loads", electrode="T1", readings=(read,), planned_loads=("open", "10 ohm")))  # fmt: skip
    bench.put(Unsorted(name="u1", text="0.61 V"))

    found = what_next(bench)

    assert (found.step, found.about) == (Step.GO_ON, "T1 loads")
    assert found.why.startswith("1 of 2 loads still to read")

    bench.put(Run(name="T1 loads", electrode="T1", readings=(replace(read, doubt=TAKEN_BACK),), planned_loads=("open", "10 ohm")))  # fmt: skip
    assert what_next(bench).why.startswith("2 of 2 loads still to read")
    assert [one.kind for one in found.waiting] == ["run", "unsorted"]


def test_the_pots_of_the_bench_are_counted(bench: BenchFile) -> None:
    """A pot that was weighed stands on the bench as a mix does."""
    bench.put_all([Mix(name="M1"), Batch(name="M1 pot 1", mix="M1"), Batch(name="M1 pot 2", mix="M1")])  # fmt: skip

    assert what_next(bench).counts == (("mixes", 1), ("pots", 2), ("electrodes", 0), ("runs", 0))


def test_nothing_is_called_best_before_two_are_measured(bench: BenchFile) -> None:
    """One piece is no comparison."""
    bench.put(Instrument(name="meter", sort=Sort.MULTIMETER))
    bench.put(Instrument(name="10 ohm", sort=Sort.RESISTOR, nominal_resistance=10.0))
    bench.put(Electrode(name="T1"))
    read = tuple(Reading(load="10 ohm", voltage=v) for v in (0.5, 0.5, 0.5))
    bench.put(Run(name="T1 loads", electrode="T1", readings=read))

    found = what_next(bench)

    assert found.step is Step.SECOND
    assert found.best == ""
    assert found.figure is None


def test_what_most_mixes_have_is_named_where_it_lacks(bench: BenchFile) -> None:
    """It is a mention, no step of its own: a mix can do without."""
    bench.put_all([
        PowderLot(name="char", substance="biochar", function="active carbon"),  # pyright: ignore[reportArgumentType]
        Solution(name="jar", polymer="PVB", label_solids=Entry(value=0.1)), Instrument(name="scale", sort=Sort.SCALE, resolution=1e-5),
    ])  # fmt: skip
    now = what_next(bench)

    assert now.step is Step.MIX
    assert "a conductor such as carbon black and a catalyst and a solvent" in now.why
    bench.put(PowderLot(name="soot", substance="carbon black", function="conductor"))  # pyright: ignore[reportArgumentType]
    assert "carbon black" not in what_next(bench).why


_READ = tuple(Reading(load="10 ohm", voltage=0.5) for _ in range(3))


def _of_two_recipes(bench: BenchFile, *read: str) -> None:
    """A1, A2, B1, B2 entered in this order, those of `read` read in theirs."""
    bench.put(Instrument(name="meter", sort=Sort.MULTIMETER))
    bench.put(Instrument(name="10 ohm", sort=Sort.RESISTOR, nominal_resistance=10.0))
    for name in ("A1", "A2", "B1", "B2"):
        bench.put(Electrode(name=name, recipe=name[0]))
    for order, name in enumerate(read):
        bench.put(Run(name=f"{name} loads", electrode=name, session="day", order=order, readings=_READ))  # fmt: skip


@pytest.mark.parametrize(
    ("read", "following"), [(("A1",), "B1"), (("A1", "B1"), "A2"), (("A1", "B1", "A2"), "B2"), (("B1",), "A1")]
)  # fmt: skip
def test_recipes_take_turns(bench: BenchFile, read: tuple[str, ...], following: str) -> None:
    """A drift over the day must not look like a difference between recipes: the order alternates."""
    _of_two_recipes(bench, *read)

    found = what_next(bench)

    assert (found.step, found.about) == (Step.MEASURE, following)
    turn = (
        f"In turn next: {following} (recipes take turns, so that the day cannot be what differs)."
    )
    assert turn in found.why


def _open_all(bench: BenchFile, begun: str = "") -> None:
    """A run of each piece is open; that of `begun` has its first reading."""
    for order, name in enumerate(("A1", "A2", "B1", "B2")):
        rest = (Reading(load="open", voltage=1.2, waited=300.0),) if name == begun else ()
        bench.put(Run(name=f"{name} loads", electrode=name, session="day", order=order, readings=rest, planned_loads=("open", "10 ohm")))  # fmt: skip


def test_runs_that_are_open_already_wait_in_turn(bench: BenchFile) -> None:
    """Four runs opened in the order of the shelf are not to be read in it."""
    _of_two_recipes(bench)
    _open_all(bench)

    found = what_next(bench)

    assert [one.name for one in found.waiting] == ["A1 loads", "B1 loads", "A2 loads", "B2 loads"]
    assert found.about == "A1 loads"
    assert "In turn next: A1 (recipes take turns, so that the day cannot be what differs)" in found.why  # fmt: skip


def test_what_was_begun_is_finished_before_the_next_turn(bench: BenchFile) -> None:
    """A run with its first reading goes on; whose turn comes after it stands beside it."""
    _of_two_recipes(bench)
    _open_all(bench, "A2")
    found, turn = what_next(bench), in_turn(bench)

    assert found.about == "A2 loads"
    assert "Finish A2 loads first; in turn next: B1" in found.why
    assert turn is not None
    assert (turn.electrode, turn.run, turn.first) == ("B1", "B1 loads", "A2 loads")


def test_an_open_run_out_of_turn_does_not_go_first(bench: BenchFile) -> None:
    """A1 is read, A2 is only opened: B1 is measured next."""
    _of_two_recipes(bench, "A1")
    bench.put(Run(name="A2 loads", electrode="A2", session="day", planned_loads=("open", "10 ohm")))  # fmt: skip

    found = what_next(bench)

    assert (found.step, found.about) == (Step.MEASURE, "B1")


def test_pieces_of_one_recipe_have_no_turns(bench: BenchFile) -> None:
    """Where nothing can be confused, nothing is said."""
    for name in ("A1", "A2"):
        bench.put(Electrode(name=name, recipe="A"))

    assert in_turn(bench) is None


def test_the_cell_of_the_piece_whose_turn_it_is_comes_first(bench: BenchFile) -> None:
    """The cell is asked for in the order of reading too, and why stands beside it."""
    _of_two_recipes(bench, "A1")
    bench.put(Aluminium(name="sheet 1"))
    bench.put(Electrolyte(name="brine", salt="sodium chloride"))
    bench.put(Cell(name="cell A1", electrode="A1"))

    found = what_next(bench)

    assert (found.step, found.about) == (Step.CELL, "B1")
    assert "In turn next: B1 (recipes take turns" in found.why


def test_an_order_that_was_drawn_goes_first(bench: BenchFile) -> None:
    """Who drew lots for the session is not told another order."""
    _of_two_recipes(bench, "A1")
    bench.put(RunOrder(name="o", session="day", electrodes=("A1", "A2", "B2", "B1"), seed=1))

    assert what_next(bench).about == "A2"


def test_a_plastic_without_its_solvent_is_asked_about_before_the_pot(bench: BenchFile) -> None:
    """Cautions of vapour depend on it; it waits in sight until it is said, and a dispersion is not asked about."""
    share = (Share(of="char", fraction=0.9), Share(of="jar", fraction=0.1))
    for record in (
        Instrument(name="meter", sort=Sort.MULTIMETER), Instrument(name="scale", sort=Sort.SCALE, resolution=1e-5),
        PowderLot(name="char", substance="biochar", function=Function.CONDUCTOR), Solution(name="jar", polymer="PVB"),
        Mix(name="M1", wanted=share),
    ):  # fmt: skip
        bench.put(record)

    found = what_next(bench)
    assert (found.step, found.about) == (Step.SOLVENT, "jar")
    assert [(one.kind, one.name) for one in found.waiting] == [("solution", "jar")]

    bench.put(Batch(name="M1 pot 1", mix="M1"))
    assert what_next(bench).step is Step.MESH
    assert [one.name for one in what_next(bench).waiting] == ["jar"]
    bench.put(Solution(name="jar", polymer="PVB", liquid=(Share(of="ethanol", fraction=1.0),)))
    assert what_next(bench).waiting == ()
    bench.put(Solution(name="jar", polymer="PTFE", dispersed=True))
    assert what_next(bench).waiting == ()
