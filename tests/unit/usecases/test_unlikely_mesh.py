"""What is asked of the bare mesh and the weighings of a piece, and told of those that stand."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from aerode.records.electrodes import Coat, Electrode, Layer, Weighing
from aerode.records.marks import Entry, Share
from aerode.records.materials import Function, MeshCard, PowderLot, Solution
from aerode.records.mixes import Ingredient, Mix, Portion
from aerode.store.bench_file import BenchFile
from aerode.usecases.electrode_page import look_at_electrode
from aerode.usecases.electrode_page_acts import add_weighing
from aerode.usecases.entering import enter
from aerode.usecases.unlikely_mesh import ask_of_mesh, doubts_of_piece
from aerode.usecases.weighed_dry import dry_mass_of

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

NOW = "2026-05-02T10:00:00"
COAT = Layer(mix="M", coats=(Coat(wet_mass=6.0e-4),))
PIECE = Electrode(
    name="A-1", mesh="screen", layers=(COAT,), wetted_area=Entry(value=9e-4),
    mesh_mass=Entry(value=5.1e-4, text="0.51 g"),
)  # fmt: skip


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[BenchFile]:
    """A mix of 8 g char and 20 g of a glue of a tenth solids: 10 g dry of 28 g, 35.7 % solids."""
    with BenchFile.create(tmp_path / "shed.aerode", title="Net shed") as made:
        dry = Entry(value=0.0, standard_uncertainty=0.0)
        made.put(PowderLot(name="char", substance="biochar", function=Function.CONDUCTOR, moisture=dry))  # fmt: skip
        made.put(Solution(name="glue", polymer="PVB", function=Function.BINDER,
                          liquid=(Share(of="ethanol", fraction=1.0),), solids=Entry(value=0.1)))  # fmt: skip
        char = Portion(of="char", mass=Entry(value=8e-3))
        glue = Portion(of="glue", shelf=Ingredient.SOLUTION, mass=Entry(value=20e-3))
        made.put(Mix(name="M", portions=(char, glue)))
        made.put(MeshCard(name="screen", material="stainless steel"))
        yield made


def _texts(mesh_mass: str) -> dict[str, str]:
    return {"name": "A-1", "mesh": "screen", "wetted_area": "9 cm^2", "mesh_mass": mesh_mass}


@pytest.mark.parametrize(("typed", "meant"), [("5.1 g", ("0.51 g",)), ("0.15 g", ()), ("0.051 g", ("0.51 g",))])  # fmt: skip
def test_a_bare_mesh_unlike_its_card_is_asked(bench: BenchFile, typed: str, meant: tuple[str, ...]) -> None:  # fmt: skip
    """9 cm² at 55 mg/cm² are 0.495 g (by hand): 0.51 g and a tab of half as much again are silent."""
    bench.put(MeshCard(name="screen", material="stainless steel", mass_per_area=Entry(value=0.55)))
    asked = enter(bench, "electrode", _texts(typed))
    assert asked.record is None
    assert "9 cm² of screen at 55 mg/cm² are about 0.5 g" in asked.ask
    assert tuple(text for _, text in asked.instead) == meant
    assert enter(bench, "electrode", _texts("0.51 g")).record is not None
    assert enter(bench, "electrode", _texts("0.75 g"), name="A-1").record is not None
    assert enter(bench, "electrode", {**_texts(typed), "name": "A-2"}, sure=True).record is not None
    assert enter(bench, "electrode", {"note": "bent"}, name="A-2").record is not None


def test_a_bare_mesh_unlike_its_sisters_is_asked(bench: BenchFile) -> None:
    """Without a mass on the card the other pieces of the mesh tell: 0.51 g on 9 cm²."""
    for name in ("B-1", "B-2"):
        bench.put(replace(PIECE, name=name))
    asked = enter(bench, "electrode", _texts("5.1 g"))
    assert "that of B-1, B-2 is about 0.51 g for its area" in asked.ask.replace(" and ", ", ")
    assert asked.instead == (("mesh_mass", "0.51 g"),)
    large = {**_texts("1.02 g"), "wetted_area": "18 cm^2"}  # twice the area, twice the mesh
    assert enter(bench, "electrode", large).record is not None


def test_a_piece_lighter_than_its_mesh_is_asked_and_told(bench: BenchFile) -> None:
    """5.1 g for 0.51 g, then 0.76 g on the scale: no weighing of it is stored unasked, no loading shown."""
    bench.put(replace(PIECE, mesh_mass=Entry(value=5.1e-3, text="5.1 g")))
    asked = add_weighing(bench, "A-1", {"mass": "0.76 g"}, at=NOW)
    assert asked.record is None
    assert "less than its own bare mesh (5.1 g)" in asked.ask
    assert "Likelier the mesh was 0.51 g." in asked.ask  # 0.76 g less 0.214 g of solids is 0.546 g
    assert not bench.get(Electrode, "A-1").weighings
    assert add_weighing(bench, "A-1", {"mass": "0.76 g", "sure": asked.ask}, at=NOW).record
    look = look_at_electrode(bench, "A-1")
    assert "less than its own bare mesh" in look.at_odds[0]
    facts = {fact.term: fact for fact in look.facts}
    assert facts["Dry loading"].said == "not known"
    assert "less than its own bare mesh (5.1 g)" in facts["Dry loading"].note
    assert facts["Bare mesh alone"].said == "5.1 g"


def test_more_dry_than_was_put_on_wet_is_no_loading(bench: BenchFile) -> None:
    """0.76 g less 0.15 g is 0.61 g of 0.60 g wet: refused in every place that asks for the dry mass."""
    pair = (Weighing(mass=7.6e-4), Weighing(mass=7.6e-4, after=3600.0))
    slipped = replace(PIECE, mesh_mass=Entry(value=1.5e-4, text="0.15 g"), weighings=pair)
    bench.put(slipped)
    look = look_at_electrode(bench, "A-1")
    facts = {fact.term: fact for fact in look.facts}
    assert facts["Dry loading"].said == "not known"
    assert "0.61 g dry, and only 0.6 g was put on wet" in facts["Dry loading"].note
    assert any("0.61 g dry" in text for text in look.at_odds)
    assert dry_mass_of(slipped) is None
    right = replace(slipped, mesh_mass=Entry(value=5.4e-4))
    assert dry_mass_of(right) == pytest.approx(2.2e-4)
    assert not doubts_of_piece(bench, right)


def test_a_coat_far_from_its_wet_mass_is_told(bench: BenchFile) -> None:
    """0.60 g at 35.7 % solids leave 0.214 g: 0.41 g is asked about, 0.25 g is silent (by hand)."""
    far = replace(PIECE, mesh_mass=Entry(value=3.5e-4), mass=Entry(value=7.6e-4))
    assert "0.6 g wet at 35.7 % solids leave about 0.21 g" in ask_of_mesh(bench, far)
    assert not ask_of_mesh(bench, replace(far, mesh_mass=Entry(value=5.1e-4)))
    assert not ask_of_mesh(bench, far, far)  # it stood there already
    wet = replace(PIECE, weighings=(Weighing(mass=1.0e-3),))  # still wet: 0.49 g of 0.60 g
    assert not ask_of_mesh(bench, wet)
