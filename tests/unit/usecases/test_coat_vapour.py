"""Whose vapour is told while one piece is coated: its own where its coats were weighed, else the whole pot's."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from aerode.records.electrodes import Coat, Electrode, Layer
from aerode.records.marks import Entry, Share
from aerode.records.materials import Function, PowderLot, Solution
from aerode.records.mixes import Batch, Ingredient, Mix, Portion
from aerode.store.bench_file import BenchFile
from aerode.usecases.before_making import before_electrode
from aerode.usecases.cautions import what_can_hurt
from aerode.usecases.coat_vapour import WHOLE_POT, coat_vapour
from aerode.usecases.electrode_page import look_at_electrode

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

PORTIONS = (
    Portion(of="soot", mass=Entry(value=10e-3)),
    Portion(of="glue", shelf=Ingredient.SOLUTION, mass=Entry(value=30e-3)),
)
WET = Electrode(name="T1", layers=(Layer(batch="pot", coats=(Coat(wet_mass=1e-3), Coat(wet_mass=1e-3))),))  # fmt: skip


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[BenchFile]:
    """40 g in a pot, of which 27 g are ethanol."""
    with BenchFile.create(tmp_path / "shed.aerode", title="Net shed") as made:
        made.put_all([
            PowderLot(name="soot", substance="carbon black", function=Function.CONDUCTOR),
            Solution(name="glue", polymer="PVB", solids=Entry(value=0.1), liquid=(Share(of="ethanol", fraction=1.0),)),
            Mix(name="M", portions=PORTIONS), Batch(name="pot", mix="M", portions=PORTIONS), WET,
        ])  # fmt: skip
        yield made


def test_two_coats_of_a_gram_hold_their_share_of_the_solvent(bench: BenchFile) -> None:
    """2 g of 40 g, of which 27 g are ethanol: 1.35 g; the page of the mix keeps its 27 g."""
    found = coat_vapour(bench, WET, "M")
    (breathed,) = [one for one in found.cautions if one.key == "vapour.breathed"]
    (whole,) = [one for one in what_can_hurt(bench, "mix:M").cautions if one.key == "vapour.breathed"]  # fmt: skip

    assert breathed.headline.startswith(("1.35 g of ethanol", "1.3 g of ethanol", "1.4 g of ethanol"))  # fmt: skip
    assert whole.headline.startswith("27 g of ethanol")
    assert "2 g of wet coat" in found.said.replace("\xa0", " ")
    assert "put the lid on" in found.said
    assert look_at_electrode(bench, "T1").wet == (found,)


@pytest.mark.parametrize(
    "coats", [(), (Coat(dry_mass=2e-4),), (Coat(wet_mass=1e-3), Coat(dry_mass=2e-4)), (Coat(wet_mass=0.1),)]
)  # fmt: skip
def test_in_doubt_the_whole_pot_stands(bench: BenchFile, coats: tuple[Coat, ...]) -> None:
    """No coat, one that was not weighed wet, one heavier than its pot: nothing milder is said, and why."""
    found = coat_vapour(bench, replace(WET, layers=(Layer(batch="pot", coats=coats),)), "M")

    assert (found.cautions, found.said) == ((), f"{WHOLE_POT}.")


def test_a_pot_that_was_measured_by_volume_stands_whole(bench: BenchFile) -> None:
    """Without all masses nobody knows the share of the solvent in a gram of it."""
    by_volume = Portion(of="ethanol", shelf=Ingredient.SOLVENT, volume=Entry(value=1e-6))
    bench.put(Batch(name="pot", mix="M", portions=(*PORTIONS, by_volume)))

    assert coat_vapour(bench, WET, "M").cautions == ()


def test_the_form_of_a_piece_says_that_the_whole_pot_is_counted(bench: BenchFile) -> None:
    """Before anything is weighed: the worst case, in words, under the very figures of the pot."""
    found = before_electrode(bench, {"layers.0.batch": "pot"})

    assert found.counted == f"{WHOLE_POT}."
    assert before_electrode(bench, {}).counted == ""
