"""The one judgement on what comes next for a piece."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from aerode.records.electrodes import Cell, Coat, Electrode, Layer, Press, RecipeState, Weighing
from aerode.records.marks import Entry
from aerode.records.materials import Aluminium, Electrolyte
from aerode.records.mixes import Mix
from aerode.records.runs import Reading, Run
from aerode.store.bench_file import BenchFile
from aerode.usecases.electrode_page import look_at_electrode
from aerode.usecases.electrode_page_next import PieceAct, next_for_piece
from aerode.usecases.what_next import Step, what_next

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

BARE = Electrode(name="T1", recipe="M", layers=(Layer(mix="M"),), mesh_mass=Entry(value=4e-4))
COATED = replace(BARE, layers=(Layer(mix="M", coats=(Coat(wet_mass=1e-3),)),))
DRY = replace(COATED, weighings=(Weighing(mass=6e-4), Weighing(mass=6e-4, after=7200.0)))
PRESSED = replace(DRY, press=(Press(firmness=None, means="plates"),))


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[BenchFile]:
    """A bench with all that a cell is made of."""
    with BenchFile.create(tmp_path / "shed.aerode", title="Net shed") as made:
        made.put(Mix(name="M"))
        made.put(Aluminium(name="sheet 1"))
        made.put(Electrolyte(name="brine", salt="sodium chloride"))
        yield made


def _act(bench: BenchFile, piece: Electrode) -> PieceAct:
    bench.put(piece)
    return next_for_piece(bench, piece).act


def _measured(bench: BenchFile, piece: Electrode) -> None:
    bench.put(piece)
    bench.put(Run(name=f"{piece.name} loads", electrode=piece.name, readings=(Reading(load="10 ohm", voltage=0.5),)))  # fmt: skip
    bench.put(Cell(name=f"cell {piece.name}", electrode=piece.name))


@pytest.mark.parametrize(
    ("piece", "act"),
    [
        (BARE, PieceAct.COAT),
        (replace(BARE, layers=()), PieceAct.COAT),
        (replace(BARE, layers=(), weighings=(Weighing(mass=4e-4),)), PieceAct.COAT),
        (COATED, PieceAct.WEIGH),
        (replace(BARE, weighings=(Weighing(mass=6e-4),)), PieceAct.WEIGH),
        (DRY, PieceAct.PRESS),
        (PRESSED, PieceAct.CELL),
        (replace(COATED, mass=Entry(value=6e-4)), PieceAct.CELL),
        (Electrode(name="T1", recipe_state=RecipeState.BOUGHT), PieceAct.CELL),
        (Electrode(name="T1", recipe="M"), PieceAct.CELL),
    ],
)
def test_from_the_mesh_to_the_cell(bench: BenchFile, piece: Electrode, act: PieceAct) -> None:
    """Bare mesh is coated, a coat weighed until it is dry, a dry piece pressed, a finished one put into a cell."""
    assert _act(bench, piece) is act


def test_the_first_page_and_the_page_of_the_piece_say_one_thing(bench: BenchFile) -> None:
    """At every stage, with no meter on the bench yet: what is made needs none."""
    for piece in (BARE, COATED, DRY):
        bench.put(piece)
        now, own = what_next(bench), look_at_electrode(bench, "T1").following
        assert (now.step.value, now.about) == (own.act.value, "T1")
        assert own.why in now.why
    assert what_next(bench).step is Step.PRESS


def test_a_finished_piece_is_pressed_where_its_fellows_are(bench: BenchFile) -> None:
    """Its mass was entered; the others of its recipe were pressed: it is, or it is said that it is not."""
    bench.put(replace(PRESSED, name="T2"))
    piece = replace(COATED, mass=Entry(value=6e-4))
    bench.put(piece)
    found = next_for_piece(bench, piece)

    assert (found.act, found.instead) == (PieceAct.PRESS, PieceAct.CELL)
    assert "Other pieces here were pressed" in found.why


def test_what_the_others_of_its_recipe_went_without_is_not_asked_for(bench: BenchFile) -> None:
    """Measured unpressed, and its coats never weighed: so are those that follow; a weighed mesh is coated all the same."""
    _measured(bench, Electrode(name="T2", recipe="M", layers=(Layer(mix="M"),)))

    assert _act(bench, DRY) is PieceAct.CELL
    assert _act(bench, replace(BARE, name="T3", mesh_mass=None)) is PieceAct.CELL
    assert _act(bench, replace(BARE, name="T4")) is PieceAct.COAT


def test_a_coat_that_may_be_wet_is_weighed_where_pieces_are_pressed(bench: BenchFile) -> None:
    """That those before it were pressed without two weighings does not make this one dry."""
    _measured(bench, replace(PRESSED, name="T2", weighings=()))

    assert _act(bench, COATED) is PieceAct.WEIGH


def test_a_piece_with_its_cell_or_its_run_is_past_the_press(bench: BenchFile) -> None:
    """Who entered its cell has said that it stays unpressed; who began its run measures it."""
    bench.put(DRY)
    bench.put(Cell(name="cell T1", electrode="T1"))
    assert next_for_piece(bench, DRY).act is PieceAct.MEASURE
    bench.put(replace(BARE, name="T2"))
    bench.put(Run(name="T2 loads", electrode="T2", planned_loads=("open", "10 ohm")))
    assert next_for_piece(bench, replace(BARE, name="T2")).act is PieceAct.MEASURE


def test_while_one_dries_the_next_is_coated(bench: BenchFile) -> None:
    """Nobody has to stand by a drying coat."""
    bench.put(COATED)
    bench.put(replace(BARE, name="T2"))
    now = what_next(bench)

    assert (now.step, now.about) == (Step.COAT, "T2")
    assert "Meanwhile T1 dries." in now.why
