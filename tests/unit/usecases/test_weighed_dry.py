"""A piece whose two weighings agree holds a known dry mass, wherever a dry mass is asked for."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from aerode.errors import CannotTellError
from aerode.measure.comparison.air_table import air_or_battery_rows
from aerode.records.electrodes import Cell, Electrode, Layer, Weighing
from aerode.records.marks import Entry, Share
from aerode.records.materials import Electrolyte, Function, PowderLot
from aerode.records.mixes import Ingredient, Mix, Portion
from aerode.records.runs import Reading, Run
from aerode.store.bench_file import BenchFile
from aerode.usecases import simulate_bench
from aerode.usecases.compare_study import study_of
from aerode.usecases.next_pots import coated_mass
from aerode.usecases.weighed_dry import dry_mass_of

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

PAIR = (Weighing(mass=6.0e-4), Weighing(mass=6.0e-4, after=3600.0))


def _piece(*weighings: Weighing) -> Electrode:
    return Electrode(
        name="T1", recipe="r", layers=(Layer(mix="m"),), wetted_area=Entry(value=1e-3),
        mesh_mass=Entry(value=3.6e-4), weighings=weighings,
    )  # fmt: skip


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[BenchFile]:
    """A piece of manganese dioxide on a mesh of 0.36 g, dried until the scale showed 0.60 g twice."""
    with BenchFile.create(tmp_path / "one.aerode", title="One") as made:
        made.put(PowderLot(name="brown powder", substance="manganese dioxide", function=Function.CATALYST))  # fmt: skip
        portion = Portion(of="brown powder", shelf=Ingredient.POWDER, mass=Entry(value=1e-3))
        made.put(Mix(name="m", wanted=(Share(of="brown powder", fraction=1.0),), portions=(portion,)))  # fmt: skip
        made.put(Electrolyte(name="brine", salt="sea salt", mass_fraction=Entry(value=0.035)))
        made.put(_piece(*PAIR))
        made.put(Cell(name="cell T1", electrode="T1", electrolyte="brine"))
        reading = Reading(resistance=10.0, voltage=0.4, waited=200.0)
        made.put(Run(name="air", electrode="T1", session="1", readings=(reading,)))
        yield made


def test_what_an_electrode_may_hold_is_told_from_its_constant_weight(bench: BenchFile) -> None:
    """0.24 g of MnO2 to MnOOH: 0.24 / 86.94 x 96485 C = 266 C, 74.0 mAh on 10 cm2 [CIAAW 2021, CODATA 2018]."""
    (row,) = air_or_battery_rows(study_of(bench, ("T1",)))
    assert row.stored_charge.value == pytest.approx(7.40, rel=2e-3)
    assert "not entered" not in row.detail

    bench.put(_piece(PAIR[0]))  # one weighing is no constant weight
    (row,) = air_or_battery_rows(study_of(bench, ("T1",)))
    assert row.stored_charge.value is None
    assert "the dry mass of its layer not entered" in row.detail


def test_the_mass_of_the_next_batch_and_of_the_model_is_the_weighed_one(
    bench: BenchFile, monkeypatch: pytest.MonkeyPatch
) -> None:
    """0.60 g less 0.36 g; nothing is known of a piece that was weighed once."""
    assert coated_mass([_piece(*PAIR), _piece(PAIR[0])]) == pytest.approx(2.4e-4)
    assert dry_mass_of(_piece(PAIR[0])) is None

    asked: dict[str, Any] = {}

    def kept(*_: Any, film: Any, **__: Any) -> Any:
        asked["film"] = film
        raise CannotTellError("nothing in this mix conducts")

    monkeypatch.setattr(simulate_bench, "layer_of", kept)
    with pytest.raises(CannotTellError):
        simulate_bench.item_of(bench, "T1")
    assert asked["film"].loading_mg_cm2.value == pytest.approx(24.0, rel=1e-6)
