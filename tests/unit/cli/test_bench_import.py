"""Importing a folder: what people type becomes records; every fault is told, nothing is half done."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from aerode.errors import InputError, RecordError
from aerode.records.electrodes import Cell, Electrode, Firmness, Outcome, Sensing
from aerode.records.instruments import Instrument
from aerode.records.marks import Known
from aerode.records.materials import Function, PowderLot, Solution
from aerode.records.mixes import Batch, Ingredient, Mix
from aerode.records.places import Bench
from aerode.records.runs import Run, Settling
from aerode.store.bench_file import BenchFile
from aerode.usecases.bench_import import import_folder

# An invented bench.
FILES = {
    "bench.toml": 'title = "Net shed"\nscale = "kitchen scale"\n',
    "powders.toml": """
[[powder]]
name = "biochar A"
substance = "bamboo biochar"
function = "active carbon"
moisture = "7 % ± 2 % (oven, 2 h)"
largest_grain = "90 um"
recovered = true

[[powder]]
name = "lamp black"
substance = "lamp black"
function = "Conductor"
true_density = "1.8 g/cm^3 (published: maker's sheet)"
price = { amount = 12.5, per_mass = "500 g", date = 2025-04-01 }
""",
    "solutions.toml": """
[[solution]]
name = "PVB"
polymer = "PVB"
liquid = "ethanol: 100 %"
[[solution.dishes]]
empty = "1.203 g"
wet = "11.41 g"
dried = "2.44 g"
""",
    "mixes.csv": (
        "name,wanted,portions\n"
        "mix 10,biochar A: 70 %; lamp black: 20 %; PVB: 10 %,"
        "biochar A: 12.4 g; lamp black: 3.1 g ± 0.02 g; solution PVB: 30 mL\n"
    ),
    "batches.csv": "name;mix;made;rested (h)\npot 1;mix 10;2025-05-01;12\n",
    "electrodes.csv": (
        "name;recipe;factors.binder;mesh;wetted area (cm²);press.plate_temperature (°C);press.firmness;"
        "press.2.plate_temperature_degF;tab.how;tab.resistance (ohm);thickness_mm;layers.mix;outcome;control\n"
        "T1;10-0;10 %;fly screen;9,54 ± 1,2 % (photo);100;firm;;crimp;0,5;0,62; 0,66;mix 10;whole;\n"
        "T2;20-0;0,2;fly screen;884 mm^2;70;firm;212;crimp;400 mohm;;mix 10;leaked;no\n"
        "C0;control;;;;;;;;;;;;yes\n"
    ).replace("0,62; 0,66", '"0,62; 0,66"'),
    "cells.csv": "name,electrode,aluminium,sensing,gap (mm)\ncell T1,T1,roof sheet,sense wire,6\n",
    "instruments.toml": """
[[instrument]]
name = "meter 1"
sort = "multimeter"
assumed = true
ranges = [
  { name = "2 V", full_scale = "2 V", count = "1 mV", of_reading = "0.5 %", counts = 2 },
  { name = "200 mA", measures = "current", full_scale = "200 mA", count = "0.1 mA", of_reading = 0.012, counts = 3, burden = "1.9 ohm" },
]
[[instrument]]
name = "R15"
sort = "resistor"
nominal_resistance = "15 ohm"
tolerance = "1 %"
[[instrument]]
name = "thermometer"
sort = "thermometer"
resolution = "0.1 °C"
limit_of_error = "1.8 °F"
""",
    "runs/T1.toml": """
cell = "cell T1"
session = "day 1"
order = 5
meter = "meter 1"
temperature = "measured 23.4 °C (thermometer)"
salinity = "31 g/kg"
aluminium = "same"
hours_wet = "may differ"
""",
    "runs/T1.csv": (
        "load;U (mV);waited (s);settling;note;score\n"
        "open;742;600;settled;;7\nR15;400;180;not settled;in a hurry;8\n"
    ),
    "notes.md": "# not for the bench\n",
}  # fmt: skip


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The invented bench on disk."""
    place = tmp_path / "shed"
    (place / "runs").mkdir(parents=True)
    for name, text in FILES.items():
        (place / name).write_text(text, encoding="utf-8")
    return place


@pytest.fixture(scope="module")
def empty(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An empty bench on disk, made once: making one waits for the disk several times."""
    path = tmp_path_factory.mktemp("empty") / "empty.aerode"
    BenchFile.create(path, title="new").close()
    return path


@pytest.fixture
def bench(empty: Path, tmp_path: Path) -> Iterator[BenchFile]:
    """An empty bench."""
    shutil.copy(empty, tmp_path / "shed.aerode")
    with BenchFile.open(tmp_path / "shed.aerode") as opened:
        yield opened


def test_everything_arrives(bench: BenchFile, folder: Path) -> None:
    """Counts by kind, what has no record of its own, and the files left alone."""
    answer = import_folder(bench, folder, who="Ida")

    assert {count.kind: count.new + count.changed for count in answer.kinds} == {
        "bench": 1, "powder": 2, "solution": 1, "mix": 1, "batch": 1, "electrode": 3, "cell": 1,
        "instrument": 3, "run": 1,
    }  # fmt: skip
    assert answer.headline.startswith("Imported shed: 14 records")
    assert set(answer.not_on_file) == {"mesh fly screen", "aluminium roof sheet"}
    assert answer.left_alone == ("notes.md",)
    assert "runs/T1.csv: 'U (mV)' is the voltage in mV" in answer.understood
    assert "runs/T1.csv: left out: score" in answer.understood
    assert {entry.why for entry in bench.history(Electrode)} == {"imported from the folder shed"}
    assert {entry.who for entry in bench.history(Electrode)} == {"Ida"}
    assert bench.check().whole


def test_shelf(bench: BenchFile, folder: Path) -> None:
    """Numbers with units, spreads and the way they were found; words in any case."""
    import_folder(bench, folder)
    char, soot = bench.all(PowderLot)
    solution = bench.get(Solution, "PVB")

    assert char.moisture is not None
    assert (char.moisture.value, char.moisture.standard_uncertainty) == pytest.approx((0.07, 0.02))
    assert (char.moisture.how, char.moisture.text) == ("oven, 2 h", "7 % ± 2 %")
    assert char.largest_grain is not None
    assert char.largest_grain.value == pytest.approx(90e-6)
    assert char.recovered
    assert soot.function is Function.CONDUCTOR
    assert soot.true_density is not None
    assert (soot.true_density.value, soot.true_density.published) == (
        pytest.approx(1800.0),
        "maker's sheet",
    )
    assert soot.price is not None
    assert (soot.price.per_mass, soot.price.date) == (0.5, "2025-04-01")
    assert [share.of for share in solution.liquid] == ["ethanol"]
    assert solution.dishes[0].dried == pytest.approx(2.44e-3)
    assert bench.all(Bench)[0].title == "Net shed"


def test_mixes(bench: BenchFile, folder: Path) -> None:
    """Shares and portions in one cell; the shelf in front of a name; mass or volume by the unit."""
    import_folder(bench, folder)
    mix = bench.get(Mix, "mix 10")

    assert [share.fraction for share in mix.wanted] == pytest.approx([0.7, 0.2, 0.1])
    powder, black, solution = mix.portions
    assert powder.mass is not None
    assert (powder.shelf, powder.mass.value) == (Ingredient.POWDER, pytest.approx(0.0124))
    assert black.mass is not None
    assert black.mass.standard_uncertainty == pytest.approx(2e-5)
    assert (solution.of, solution.shelf) == ("PVB", Ingredient.SOLUTION)
    assert solution.volume is not None
    assert solution.volume.value == pytest.approx(30e-6)
    assert bench.get(Batch, "pot 1").rested == 43200.0


def test_electrodes(bench: BenchFile, folder: Path) -> None:
    """Units in headings or cells, nested fields by dots, lists by semicolons, decimal commas."""
    import_folder(bench, folder)
    first, second, control = bench.all(Electrode)

    assert first.wetted_area is not None
    assert first.wetted_area.value == pytest.approx(9.54e-4)
    assert first.wetted_area.standard_uncertainty == pytest.approx(0.012 * 9.54e-4)
    assert first.wetted_area.how == "photo"
    assert first.factors == {"binder": "10 %"}
    assert first.thickness == pytest.approx((0.62e-3, 0.66e-3))
    assert first.layers[0].mix == "mix 10"
    assert first.press[0].firmness is Firmness.FIRM
    assert first.tab is not None
    assert first.tab.resistance is not None
    assert first.tab.resistance.value == 0.5
    assert second.wetted_area is not None
    assert second.wetted_area.value == pytest.approx(8.84e-4)
    assert [p.plate_temperature.value for p in second.press if p.plate_temperature] == pytest.approx([343.15, 373.15])  # fmt: skip
    assert second.outcome is Outcome.LEAKED
    assert (first.control, control.control) == (False, True)
    assert bench.get(Cell, "cell T1").sensing is Sensing.SENSE_WIRE


def test_instruments(bench: BenchFile, folder: Path) -> None:
    """The unit of a range follows what it measures; a thermometer's step is a difference."""
    import_folder(bench, folder)
    meter, resistor, thermometer = bench.all(Instrument)

    assert [(r.full_scale, r.count) for r in meter.ranges] == [
        (2.0, 0.001),
        (0.2, pytest.approx(1e-4)),
    ]
    assert meter.ranges[1].burden is not None
    assert meter.ranges[1].burden.value == 1.9
    assert (resistor.nominal_resistance, resistor.tolerance) == (15.0, 0.01)
    assert thermometer.resolution == pytest.approx(0.1)
    assert thermometer.limit_of_error == pytest.approx(1.0)


def test_runs(bench: BenchFile, folder: Path) -> None:
    """Fields from the TOML file, readings from the table beside it, conditions in three states."""
    import_folder(bench, folder)
    run = bench.get(Run, "T1")

    assert [(r.load, r.voltage, r.waited) for r in run.readings] == [
        ("open", pytest.approx(0.742), 600.0), ("R15", pytest.approx(0.4), 180.0),
    ]  # fmt: skip
    assert run.readings[1].settling is Settling.NOT_SETTLED
    assert run.readings[1].note == "in a hurry"
    assert run.readings[1].text == "R15; 400; 180; not settled; in a hurry; 8"
    assert run.temperature.value == pytest.approx(296.55)
    assert (run.temperature.known, run.temperature.how) == (Known.MEASURED, "thermometer")
    assert run.salinity.value == pytest.approx(0.031)
    assert (run.aluminium.known, run.hours_wet.known, run.gap.known) == (
        Known.SAME, Known.MAY_DIFFER, Known.MAY_DIFFER,
    )  # fmt: skip


def test_importing_again_changes_only_what_changed(bench: BenchFile, folder: Path) -> None:
    """The second time nothing is new; a changed row is a new state of the same electrode."""
    import_folder(bench, folder)
    before = len(bench.history())

    assert "0 records new or changed" in import_folder(bench, folder).headline
    assert len(bench.history()) == before
    text = (folder / "electrodes.csv").read_text(encoding="utf-8")
    (folder / "electrodes.csv").write_text(text.replace("leaked", "cracked"), encoding="utf-8")
    answer = import_folder(bench, folder)
    assert [(c.kind, c.changed) for c in answer.kinds if c.changed] == [("electrode", 1)]
    assert len(bench.history(Electrode, "T2")) == 2


def test_names_may_be_on_the_bench_already(bench: BenchFile, folder: Path) -> None:
    """A folder with new runs only names cells and resistors that were stored before."""
    import_folder(bench, folder)
    for file in folder.iterdir():
        if file.name != "runs":
            file.unlink()

    assert import_folder(bench, folder).kinds[0].unchanged == 1


# One spoilt place per row: file, what stands there, what is typed instead, where it is told, what is told.
SPOILT = [
    ("bench.toml", '"Net shed"', "Net shed", "bench.toml", "not TOML"),
    ("bench.toml", 'scale =', 'name = "my bench"\nscale =', "bench.toml, line 2, name", "title"),
    ("runs/T1.toml", "order = 5", 'readings = [{ voltage = "0.4 V" }]', "runs/T1.csv", "TOML file too"),
    ("powders.toml", '"active carbon"', '"active carbone"', "powders.toml, line 5, function", "conductor"),
    ("powders.toml", "7 % ± 2 %", "7", "powders.toml, line 6, moisture", "0 to 100 %, with its sign"),
    ("powders.toml", '"90 um"', "90", "powders.toml, line 7, largest_grain", "has no unit"),
    ("powders.toml", '"90 um"', '"90 mL"', "powders.toml, line 7, largest_grain", "cannot be taken as m"),
    ("powders.toml", "recovered = true", 'colour = "black"', "powders.toml, line 8, colour", "no field 'colour'"),
    ("powders.toml", "recovered = true", 'recovered = "perhaps"', "powders.toml, line 8", "yes, no"),
    ("powders.toml", "[[powder]]\nname = \"lamp", "[[powdr]]\nname = \"lamp", "powders.toml, line 10", "no kind of record"),
    ("powders.toml", "amount = 12.5", "amount = -1", "powders.toml, line 15, price", "at least 0"),
    ("solutions.toml", '"1.203 g"', '"light"', "solutions.toml, line 7, dishes.0.empty", "begin with a number"),
    ("solutions.toml", "ethanol: 100 %", "ethanol; water", "solutions.toml, line 5, liquid", "biochar A: 40 %"),
    ("mixes.csv", "biochar A: 70 %", "biochar A: 60 %", "mixes.csv, line 2", "add up to 0.9"),
    ("mixes.csv", "biochar A: 12.4 g", "biochar B: 12.4 g", "mixes.csv, line 2, column 'portions'", "biochar A"),
    ("mixes.csv", "lamp black: 3.1 g", "lamp black", "mixes.csv, line 2, column 'portions'", "12.4 g"),
    ("batches.csv", ";mix 10;", ";mix 11;", "batches.csv, line 2, column 'mix'", "mix 10"),
    ("electrodes.csv", ";outcome;", ";outcom;", "electrodes.csv, column 13", "outcome"),
    ("electrodes.csv", "wetted area (cm²)", "wetted area", "electrodes.csv, line 2, column 'wetted area'", "9.5 cm^2"),
    ("electrodes.csv", ";100;firm", ";hot;firm", "electrodes.csv, line 2, column 'press.plate_temperature (°C)'", "number"),
    ("electrodes.csv", "leaked", "burnt", "electrodes.csv, line 3, column 'outcome'", "whole, leaked"),
    ("electrodes.csv", "T2;", "T1;", "electrodes.csv, line 3, column 'name'", "stands twice"),
    ("electrodes.csv", "C0;", ";", "electrodes.csv, line 4", "name"),
    ("electrodes.csv", "whole;\n", "whole;;x\n", "electrodes.csv, line 2", "cells under"),
    ("cells.csv", "cell T1,T1", "cell T1,T9", "cells.csv, line 2, column 'electrode'", "no electrode is called 'T9'"),
    ("instruments.toml", '"2 V", count', '"2 A", count', "instruments.toml, line 6, ranges", "cannot be taken as V"),
    ("runs/T1.toml", "order = 5", 'order = "fifth"', "runs/T1.toml, line 4, order", "whole number"),
    ("runs/T1.toml", '"same"', '"the same sheet"', "runs/T1.toml, line 8, aluminium", "same, or may differ"),
    ("runs/T1.csv", "R15;400", "R15;4x x x", "runs/T1.csv, line 3, column 'U (mV)'", "cannot be taken as V"),
    ("runs/T1.csv", "R15;400", "R16;400", "runs/T1.csv, line 3", "R15"),
    ("runs/T1.csv", "not settled;", "nearly;", "runs/T1.csv, line 3, column 'settling'", "extrapolated"),
    ("runs/T1.csv", "U (mV)", "U (mA)", "runs/T1.csv", "names voltage and a unit of current"),
    ("runs/T1.csv", "score", "second voltage (V)", "runs/T1.csv", "two columns can be the voltage"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("file", "right", "wrong", "where", "told"), SPOILT,
    ids=lambda value: None,
)  # fmt: skip
def test_one_fault(
    bench: BenchFile, folder: Path, file: str, right: str, wrong: str, where: str, told: str
) -> None:
    """Told with file, line and column and what is allowed; nothing of the folder is stored."""
    text = (folder / file).read_text(encoding="utf-8")
    assert right in text
    (folder / file).write_text(text.replace(right, wrong, 1), encoding="utf-8")

    with pytest.raises(RecordError) as refused:
        import_folder(bench, folder)

    assert any(fault.field.startswith(where) for fault in refused.value.faults), refused.value
    assert told in str(refused.value)
    assert "nothing was stored" in str(refused.value)
    assert len(bench.history()) == 1


def test_all_faults_at_once(bench: BenchFile, folder: Path) -> None:
    """A person mends a folder in one go, not in twenty."""
    chosen = [row for row in SPOILT if row[0] not in {"bench.toml"} and row[3].count(",") >= 1][::3]
    wanted: set[str] = set()
    for file, right, wrong, where, told in chosen:
        text = (folder / file).read_text(encoding="utf-8")
        if right in text and told != "cells under":  # that one hides the rest of its file
            (folder / file).write_text(text.replace(right, wrong, 1), encoding="utf-8")
            wanted.add(where)

    with pytest.raises(RecordError) as refused:
        import_folder(bench, folder)

    fields = [fault.field for fault in refused.value.faults]
    assert len(wanted) >= 7
    assert all(any(field.startswith(where) for field in fields) for where in wanted)
    files = [field.partition(",")[0] for field in fields]
    assert files == sorted(files)
    assert len(bench.history()) == 1


def test_strange_files(bench: BenchFile, folder: Path) -> None:
    """A table that no kind is called after, readings without a run, a broken run file."""
    (folder / "elektrodes.csv").write_text("name\nT9\n")
    (folder / "runs" / "T7.csv").write_text("R (ohm),U (V)\n15,0.4\n")
    (folder / "runs" / "T8.toml").write_text("cell = \n")

    with pytest.raises(RecordError) as refused:
        import_folder(bench, folder)

    told = str(refused.value)
    assert (
        "elektrodes.csv: no file of a folder of notes is called like this (allowed: electrodes.csv"
        in told
    )
    assert "runs/T7.csv: no run is called 'T7'" in told
    assert "runs/T8.toml: this is not TOML" in told


def test_no_folder(bench: BenchFile, tmp_path: Path) -> None:
    """A missing folder, and one with nothing of a bench in it."""
    with pytest.raises(InputError, match="no such folder"):
        import_folder(bench, tmp_path / "gone")
    (tmp_path / "empty").mkdir()
    (tmp_path / "empty" / "notes.md").write_text("x")
    with pytest.raises(InputError, match="nothing in this folder"):
        import_folder(bench, tmp_path / "empty")


def test_times_in_a_table_of_readings(bench: BenchFile, folder: Path) -> None:
    """Dates in the table give the start of the run, and seconds since then."""
    (folder / "runs" / "T1.csv").write_text(
        "time;R (ohm);U (V);I (mA);T (°C)\n2025-05-03T14:22:00;open;0,742;;23\n2025-05-03T14:25:00;15;0,4;26,7;23\n"
    )  # fmt: skip
    import_folder(bench, folder)
    run = bench.get(Run, "T1")

    assert run.started == "2025-05-03T14:22:00"
    assert [(r.at, r.load, r.resistance) for r in run.readings] == [
        (0.0, "open", None),
        (180.0, "", 15.0),
    ]
    assert run.readings[1].current == pytest.approx(0.0267)
    assert run.readings[1].temperature == pytest.approx(296.15)


def test_a_folder_in_other_encodings(bench: BenchFile, folder: Path) -> None:
    """Tables as a spreadsheet saves them: Windows-1252, UTF-16, tab-separated."""
    for name, encoding in (("electrodes.csv", "cp1252"), ("cells.csv", "utf-16")):
        text = (folder / name).read_text(encoding="utf-8")
        (folder / name).write_bytes(text.encode(encoding))
    shutil.move(folder / "batches.csv", folder / "batches.tsv")
    text = (folder / "batches.tsv").read_text(encoding="utf-8")
    (folder / "batches.tsv").write_text(text.replace(";", "\t"), encoding="utf-8")

    import_folder(bench, folder)

    assert len(bench.all(Electrode)) == 3
    assert bench.get(Batch, "pot 1").mix == "mix 10"


def test_dates_typed_otherwise(bench: BenchFile, folder: Path) -> None:
    """A day that can only be one day is stored in ISO 8601, with what was typed kept in the note."""
    (folder / "batches.csv").write_text(
        "name;mix;made;note\npot 1;mix 10;1.5.2025;thick\npot 2;mix 10;2025-05-02;\n"
    )
    import_folder(bench, folder)
    first, second = bench.all(Batch)

    assert (first.made, first.note) == ("2025-05-01", "thick; made typed as 1.5.2025")
    assert (second.made, second.note) == ("2025-05-02", "")
    assert "0 records new or changed" in import_folder(bench, folder).headline


@pytest.mark.parametrize(
    ("typed", "allowed"), [("3/4/25", "2025-03-04 or 2025-04-03"), ("in May", "12.3.2025")]
)
def test_dates_that_are_refused(bench: BenchFile, folder: Path, typed: str, allowed: str) -> None:
    """Two readings are named; what is no day is answered with how a day is written."""
    (folder / "batches.csv").write_text(f"name;mix;made\npot 1;mix 10;{typed}\n")
    with pytest.raises(RecordError) as refused:
        import_folder(bench, folder)

    (fault,) = refused.value.faults
    assert fault.field == "batches.csv, line 2, column 'made'"
    assert allowed in fault.allowed
    assert fault.raw == typed


def test_faults_do_not_come_in_rounds(bench: BenchFile, folder: Path) -> None:
    """A field that cannot be read hides neither an unknown name, nor a missing field, nor a double beside it."""
    (folder / "cells.csv").write_text(
        "name,electrode,aluminium,sensing,gap (mm)\ncell T1,T9,roof sheet,by hand,6\ncell T1,T1,,,-2\n",
        encoding="utf-8",
    )
    (folder / "batches.csv").write_text("name;mix;made;rested (h)\n;mix 11;3/4/25;twelve\n")
    mixes = FILES["mixes.csv"].replace("biochar A: 70 %", "biochar A: seventy")
    (folder / "mixes.csv").write_text(
        mixes.replace("solution PVB", "solution PVA"), encoding="utf-8"
    )
    run = (
        FILES["runs/T1.toml"].replace("order = 5", 'order = "fifth"').replace("cell T1", "cell T7")
    )
    (folder / "runs" / "T1.toml").write_text(run, encoding="utf-8")

    with pytest.raises(RecordError) as refused:
        import_folder(bench, folder)

    told = [(fault.field, fault.what) for fault in refused.value.faults]
    for where, what in [
        ("cells.csv, line 2, column 'electrode'", "no electrode is called 'T9'"),
        ("cells.csv, line 2, column 'sensing'", "none of the words"),
        ("cells.csv, line 3, column 'name'", "stands twice"),
        ("batches.csv, line 2, column 'mix'", "no mix is called 'mix 11'"),
        ("batches.csv, line 2, column 'made'", "two ways"),
        ("batches.csv, line 2, column 'rested (h)'", "does not begin with a number"),
        ("batches.csv, line 2", "name"),
        ("mixes.csv, line 2, column 'wanted'", "does not begin with a number"),
        ("mixes.csv, line 2, column 'portions'", "no solution is called 'PVA'"),
        ("runs/T1.toml, line 4, order", "whole number"),
        ("runs/T1.toml, line 2, cell", "no cell is called 'cell T7'"),
    ]:
        assert any(f.startswith(where) and what in w for f, w in told), (where, what, told)
    assert len(told) == len(set(told))
    assert len(told) <= 12  # and no consequence of another fault beside them


def test_a_file_that_cannot_be_read_makes_no_names_unknown(bench: BenchFile, folder: Path) -> None:
    """One broken file is one fault, not one for each name that may stand in it."""
    text = (folder / "electrodes.csv").read_text(encoding="utf-8")
    (folder / "electrodes.csv").write_text(text.replace("whole;\n", "whole;;x\n"), encoding="utf-8")
    with pytest.raises(RecordError) as refused:
        import_folder(bench, folder)

    assert len(refused.value.faults) == 1
    assert "no electrode is called" not in str(refused.value)
