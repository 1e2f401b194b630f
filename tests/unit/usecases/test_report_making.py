"""The report holds what somebody needs to make a piece again; what nobody noted is said to be so."""

from __future__ import annotations

from types import SimpleNamespace
from typing import TYPE_CHECKING, Any

import pytest

from aerode.records.electrodes import Cell, Coat, Electrode, Layer, Press
from aerode.records.marks import Entry, Share
from aerode.records.materials import Function, PowderLot, Solution, SolventLot
from aerode.records.mixes import Batch, Ingredient, Mix, Portion
from aerode.store.bench_file import BenchFile
from aerode.usecases.report import _items  # pyright: ignore[reportPrivateUsage]
from aerode.usecases.report_making import making_section

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from aerode.records.reports import Table


def _portion(of: str, grams: float, shelf: Ingredient) -> Portion:
    return Portion(of=of, shelf=shelf, mass=Entry(value=1e-3 * grams))


def _pot(char: float, jar: float, spirit: float) -> tuple[Portion, ...]:
    return (
        _portion("char", char, Ingredient.POWDER),
        _portion("jar", jar, Ingredient.SOLUTION),
        _portion("spirit", spirit, Ingredient.SOLVENT),
    )


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[BenchFile]:
    """A mix planned for a large pot, two smaller pots of it, three pieces; of the last nothing was noted."""
    with BenchFile.create(tmp_path / "shed.aerode", title="Net shed") as made:
        made.put(PowderLot(name="char", substance="biochar", function=Function.ACTIVE_CARBON, moisture=Entry(value=0.0)))  # fmt: skip
        made.put(Solution(name="jar", polymer="polystyrene", function=Function.BINDER, solids=Entry(value=0.1)))  # fmt: skip
        made.put(SolventLot(name="spirit", substance="ethanol"))
        wanted = (Share(of="char", fraction=0.85), Share(of="jar", fraction=0.15))
        made.put(Mix(name="A", wanted=wanted, portions=_pot(17.0, 30.0, 12.0)))
        made.put(Batch(name="A pot 1", mix="A", portions=_pot(4.0, 8.0, 3.0), made="2026-05-02"))
        made.put(Batch(name="A pot 2", mix="A", portions=_pot(5.0, 9.0, 4.0), made="2026-05-03"))
        coats = (Coat(wet_mass=1e-3, dry_mass=2e-4, drying_time=7200.0), Coat(wet_mass=1e-3, dry_mass=2.5e-4))  # fmt: skip
        press = Press(means="iron", plate_temperature=Entry(value=358.15), duration=300.0, force=Entry(value=500.0))  # fmt: skip
        for name, pot in (("T1", "A pot 1"), ("T2", "A pot 2")):
            made.put(Electrode(
                name=name, recipe="A", layers=(Layer(batch=pot, coats=coats),), press=(press,), mesh="fly screen",
                wetted_area=Entry(value=9e-4, how="ruler"), thickness=(6e-4,), made="2026-05-04",
            ))  # fmt: skip
        made.put(Electrode(name="T3", recipe="A", press=(Press(),)))
        made.put(Cell(name="cell 1", electrode="T1"))
        yield made


def _compared(*names: str) -> Any:
    return SimpleNamespace(pieces=[SimpleNamespace(electrode=n, recipe="A") for n in names])


def _tables(bench: BenchFile) -> list[Table]:
    return list(making_section(bench, _compared("T1", "T2", "T3")).tables)


def test_each_recipe_has_its_dry_composition_as_wanted_and_as_weighed(bench: BenchFile) -> None:
    """4 g of char and 0.8 g out of the jar are 83.3 and 16.7 % of the dry mass; 4.8 g in 15 g are 32 %."""
    first, second = _tables(bench)[0].rows

    assert first[:2] == ("A", "A pot 1 (2026-05-02)")
    assert first[2] == "char 85 % / 83.3 %, polystyrene 15 % / 16.7 %"
    assert first[3] == "32 %"
    assert first[4] == "char 4 g, jar 8 g, spirit 3 g"
    assert second[1] == "A pot 2 (2026-05-03)"


def test_what_is_wanted_follows_from_planned_amounts(bench: BenchFile) -> None:
    """Without shares 17 g of char and 3 g out of 30 g of the jar want 85 and 15 %, as weighed 83.3 and 16.7 % (by hand)."""
    bench.put(Mix(name="A", portions=_pot(17.0, 30.0, 12.0)))
    first = _tables(bench)[0].rows[0]
    assert first[2] == "char 85 % / 83.3 %, polystyrene 15 % / 16.7 %"


def test_each_piece_has_its_masses_loading_drying_and_press(bench: BenchFile) -> None:
    """2 g wet, 0.45 g dry on 9 cm2 are 50 mg/cm2; what T3 lacks reads "not noted" in every place."""
    _, coats, built = _tables(bench)
    t1, _, t3 = (dict(zip(coats.columns, row, strict=True)) for row in coats.rows)

    assert t1["wet mass [g]"] == "2"
    assert t1["dry mass [g]"] == "0.45"
    assert t1["dry loading [mg/cm²]"] == "50"
    assert t1["drying"] == "2 h a coat"
    assert t1["made on"] == "2026-05-04"
    assert {value for key, value in t3.items() if key not in {"electrode", "recipe"}} == {"not noted"}  # fmt: skip
    press = [dict(zip(built.columns, row, strict=True))["press: by, temperature, time, force"] for row in built.rows]  # fmt: skip
    assert press[0] == "iron, 85 °C, 5 min, 500 N"
    assert press[2] == "means not noted, temperature not noted, time not noted, force not noted"
    assert "Not noted for any: tab; edge." in built.note


def test_the_cautions_of_a_report_are_for_the_largest_pot_that_was_weighed(bench: BenchFile) -> None:  # fmt: skip
    """Not for the 12 g that the mix planned; without a pot the plan stands."""
    items = dict(_items(bench, _compared("T1", "T2")))

    assert [p.mass.value for p in items["mix:A"] if p.of == "spirit" and p.mass] == [4e-3]
    assert items["cell:cell 1"] == ()
    bench.put(Electrode(name="T4", recipe="A", layers=(Layer(mix="A"),)))
    assert dict(_items(bench, _compared("T4"))) == {"mix:A": ()}


def test_the_cautions_of_a_report_hold_the_piece_that_was_pressed_hottest(bench: BenchFile) -> None:
    """What the heat of the press does to the plastic is what a repeater meets there."""
    for name, plate in (("H1", 353.15), ("H2", 373.15)):
        pressed = (Press(plate_temperature=Entry(value=plate)),)
        bench.put(Electrode(name=name, recipe="A", layers=(Layer(mix="A"),), press=pressed))
    items = dict(_items(bench, _compared("H1", "H2")))

    assert "electrode:H2" in items
    assert "electrode:H1" not in items


def test_what_is_the_same_for_all_is_a_sentence_and_no_table_of_names(bench: BenchFile) -> None:
    """Two pieces on one mesh of which nothing else was noted: no row holds more than a name."""
    for name in ("N1", "N2"):
        bench.put(Electrode(name=name, recipe="A", mesh="fly screen"))
    part = making_section(bench, _compared("N1", "N2"))

    assert part.tables == ()
    mixed, coats, built = part.lines
    assert mixed == "What each recipe is made of is not noted."
    assert coats.startswith(
        "The coat of each piece. Recipe: A for all. Not noted for any: pot; coats;"
    )
    assert built.startswith(
        "How each piece was made. Mesh: fly screen for all. Not noted for any: press"
    )
