"""What cannot be true is refused where it is entered; what stands already stays readable."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING

import pytest

from aerode.errors import RangeError, RecordError
from aerode.records.electrodes import Electrode
from aerode.records.instruments import Instrument, Sort
from aerode.records.marks import Condition, Entry, Known
from aerode.records.materials import Dish, Solution
from aerode.records.runs import Reading, Run
from aerode.store.bench_file import BenchFile
from aerode.usecases.believable import impossible_in
from aerode.usecases.bench_import import import_folder
from aerode.usecases.electrode_page_acts import add_press, set_thickness
from aerode.usecases.entering import enter
from aerode.usecases.run_begin import RunWish, begin_run, note_conditions
from aerode.usecases.run_conditions import condition

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[BenchFile]:
    """An empty bench."""
    with BenchFile.create(tmp_path / "shed.aerode", title="Net shed") as made:
        yield made


def _clock() -> datetime:
    return datetime(2026, 5, 9, 10, 0, tzinfo=UTC)


@pytest.mark.parametrize("typed", ["210 °C", "-31 °C", "400 K", "1 K", "240 °F"])
def test_no_electrolyte_is_so_hot_or_cold(bench: BenchFile, typed: str) -> None:
    """Refused from every door, with the bounds; the run is not begun."""
    bench.put(Instrument(name="10 ohm", sort=Sort.RESISTOR, nominal_resistance=10.0))
    wish = RunWish(electrode="T1", conditions={"temperature": typed})
    with pytest.raises(RecordError) as refused:
        begin_run(bench, wish, clock=_clock)
    with pytest.raises(RangeError):
        condition(typed, "K", "temperature")

    (fault,) = refused.value.faults
    assert (fault.field, fault.allowed) == ("temperature", "-30 to 110 °C")
    assert bench.count(Run) == 0
    assert bench.count(Electrode) == 0


def test_the_temperature_of_a_reading_is_looked_at_too() -> None:
    """Of several readings the one that no electrolyte has is named by its place."""
    run = Run(
        name="r1",
        readings=(
            Reading(voltage=1.0, temperature=294.0), Reading(voltage=0.9),
            Reading(voltage=0.8, temperature=483.15, text="0.8 V"),
        ),
    )  # fmt: skip
    (fault,) = impossible_in(run)
    assert (fault.field, fault.allowed) == ("readings.2.temperature", "-30 to 110 °C")
    assert "210 °C" in fault.what


def test_the_bounds_themselves_are_taken_and_old_values_stay(bench: BenchFile) -> None:
    """-30 and 110 °C are inside; a run stored with 210 °C long ago is read and its other fields change."""
    hot = Condition(known=Known.MEASURED, value=483.15, text="210 °C")
    bench.put(Run(name="old", electrode="T1", temperature=hot))
    for typed in ("110 °C", "-30 °C", "-22 °F", "230 °F"):
        assert condition(typed, "K", "temperature").value
    assert condition("210 °C", "K", "line 3", old=True).value == pytest.approx(483.15)

    assert enter(bench, "run", {"note": "seen"}, name="old").changed == ("note",)
    assert bench.get(Run, "old").temperature == hot
    with pytest.raises(RecordError):
        note_conditions(bench, "old", {"temperature": "211 °C"})


def _dishes(*rows: tuple[str, str, str]) -> dict[str, str]:
    return {
        f"dishes.{k}.{part}": f"{text} g"
        for k, row in enumerate(rows)
        for part, text in zip(("empty", "wet", "dried"), row, strict=True)
    }


@pytest.mark.parametrize(
    ("row", "field", "said"),
    [
        (("2", "12", "12.5"), "dishes.1.dried", "dish 2 is heavier dried (12.5 g) than wet (12 g)"),
        (("2", "12", "1.9"), "dishes.1.dried", "dish 2 is lighter dried (1.9 g) than empty (2 g)"),
        (("2", "1.5", "1.6"), "dishes.1.wet", "dish 2 is no heavier with solution"),
    ],
)
def test_a_dish_that_cannot_be(
    bench: BenchFile, row: tuple[str, str, str], field: str, said: str
) -> None:
    """The row is named, and what is allowed; the good row and a dish dried to nothing are taken."""
    first = ("2", "12", "3.24")
    texts = {"name": "S", "polymer": "PVB"}
    bad = enter(bench, "solution", {**texts, **_dishes(first, row)})
    good = enter(bench, "solution", {**texts, **_dishes(first, ("2", "12", "2"))})

    assert [fault.field for fault in bad.faults] == [field]
    assert said in bad.faults[0].what
    assert good.record is not None


def test_an_impossible_dish_of_long_ago_is_read_and_others_are_added(bench: BenchFile) -> None:
    """It does not lock the record; a second one is refused."""
    old = Dish(empty=2e-3, wet=12e-3, dried=13e-3)
    bench.put(Solution(name="S", polymer="PVB", dishes=(old,)))

    assert enter(bench, "solution", {"note": "seen"}, name="S").changed == ("note",)
    assert bench.get(Solution, "S").dishes == (old,)
    more = {f.replace("dishes.0", "dishes.1"): t for f, t in _dishes(("2", "12", "14")).items()}
    assert [f.field for f in enter(bench, "solution", more, name="S").faults] == ["dishes.1.dried"]


def test_an_electrode_that_cannot_be(bench: BenchFile) -> None:
    """Lighter than its mesh, thicker than 20 mm: refused; 20 mm and a film within the weighing are taken."""
    light = enter(bench, "electrode", {"name": "T1", "mass": "1.0 g", "mesh_mass": "1.2 g"})
    thick = enter(bench, "electrode", {"name": "T1", "thickness": "0.6 mm; 21 mm"})
    near = enter(bench, "electrode", {"name": "T1", "mass": "1.19 g ± 0.01 g", "mesh_mass": "1.2 g", "thickness": "20 mm"})  # fmt: skip

    assert [fault.field for fault in light.faults] == ["mass"]
    assert "lighter than its mesh (1.2 g)" in light.faults[0].what
    assert [fault.field for fault in thick.faults] == ["thickness"]
    assert near.record is not None
    assert set_thickness(bench, "T1", ["0.6 mm", "25 mm"]).faults[0].field == "thickness.1"
    assert impossible_in(Electrode(name="T", mass=Entry(value=1e-3))) == []


def test_a_folder_names_the_file_and_line(bench: BenchFile, tmp_path: Path) -> None:
    """The import of a folder refuses the same, with the place."""
    folder = tmp_path / "folder"
    folder.mkdir()
    rows = "name,mass (g),mesh_mass (g)\nT1,1.0,0.4\nT2,0.3,0.4\n"
    (folder / "electrodes.csv").write_text(rows, encoding="utf-8")
    with pytest.raises(RecordError) as refused:
        import_folder(bench, folder)

    (fault,) = refused.value.faults
    assert "electrodes.csv, line 3" in fault.field
    assert "lighter than its mesh" in fault.what


def test_a_plate_that_no_household_press_has_is_asked_about(tmp_path: Path) -> None:
    """900 °C is refused at its field in both forms; with a kiln named it is meant so."""
    with BenchFile.create(tmp_path / "b.aerode", title="Shed") as bench:
        bench.put(Electrode(name="A1"))
        told = add_press(bench, "A1", {"plate_temperature": "900 °C"})
        assert [fault.field for fault in told.faults] == ["plate_temperature"]
        assert "hotter than any household press" in told.faults[0].what
        form = enter(bench, "electrode", {"name": "A2", "press.0.plate_temperature": "900 °C"})
        assert [fault.field for fault in form.faults] == ["press.0.plate_temperature"]
        kiln = add_press(bench, "A1", {"plate_temperature": "900 °C", "means": "a kiln"})
        assert kiln.record is not None
