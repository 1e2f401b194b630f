"""A table, a long log or a notebook from a file: shown first, taken whole, known again."""

from __future__ import annotations

import math
from datetime import UTC, datetime
from pathlib import Path

import pytest

from aerode.errors import InputError, NotFoundError, RecordError, TableError
from aerode.records.electrodes import Cell, Electrode
from aerode.records.instruments import Instrument, Sort
from aerode.records.marks import Condition, Known
from aerode.records.runs import Run, RunPlan, RunSort
from aerode.store.bench_file import BenchFile
from aerode.store.series import outline, read_chunks
from aerode.store.series_habits import habits
from aerode.usecases.take_notebook import NotebookTaking, understand_notebook
from aerode.usecases.take_table import TableQuestion, TableTaking, new_checksum, understand_table
from aerode.usecases.take_table_figure import figure_of_series

HABITS = Path(__file__).parents[1] / "devices" / "habits"
NOW = datetime(2025, 6, 1, 12, tzinfo=UTC)


@pytest.fixture
def bench(tmp_path: Path) -> BenchFile:
    """Three electrodes, a cell, two resistors."""
    made = BenchFile.create(tmp_path / "shed.aerode", title="x")
    made.put_all([Electrode(name=name) for name in ("T6", "T7", "T8")])
    made.put(Cell(name="cell T6", electrode="T6"))
    made.put_all([Instrument(name=f"R{r:g}", sort=Sort.RESISTOR, nominal_resistance=r) for r in (15.0, 47.0)])  # fmt: skip
    return made


def _understand(bench: BenchFile, file: Path, **said: object) -> TableTaking:
    return understand_table(bench, file, TableQuestion(**said), moment=NOW)  # pyright: ignore[reportArgumentType]


def _write(folder: Path, text: str, name: str = "log.csv") -> Path:
    place = folder / name
    place.write_text(text, "utf-8")
    return place


def test_nothing_is_stored_before_it_is_confirmed(bench: BenchFile) -> None:
    """The preview names columns, refused cells and what would become of it; the bench stays as it was."""
    before = bench.history()
    taking = _understand(bench, HABITS / "01_meter_software.csv", electrode="T6")

    preview = taking.preview
    assert not preview.confirmed
    assert [(c.heading, c.quantity, c.unit, c.taken) for c in preview.columns] == [
        ("No.", "", "", 0), ("Time", "time", "time of day", 4),
        ("DC Voltage [V]", "voltage", "V", 3), ("Note", "", "", 0),
    ]  # fmt: skip
    assert [(r.line, r.column, r.raw) for r in preview.refused] == [(11, "DC Voltage [V]", "OL")]
    assert preview.refused_for == {"the meter was beyond its range": 1}
    assert [(r.run, r.readings, r.duration) for r in preview.runs] == [
        ("T6 log 2025-05-03", 3, 3.0)
    ]
    assert bench.history() == before
    assert habits(bench) == []


def test_it_is_taken_whole(bench: BenchFile) -> None:
    """Run, readings with their times and load, start, cell, conditions, the checksum of the file."""
    file = HABITS / "01_meter_software.csv"
    same = {"temperature": Condition(known=Known.SAME)}
    taking = _understand(bench, file, electrode="T6", load="R15", meter="meter 1", conditions=same, note="by the window")  # fmt: skip
    answer = taking.take(bench)
    run = bench.get(Run, "T6 log 2025-05-03")

    assert answer.confirmed
    assert (run.cell, run.electrode, run.sort, run.meter) == ("cell T6", "T6", RunSort.RUN_DOWN, "meter 1")  # fmt: skip
    assert (run.session, run.started, run.finished) == ("2025-05-03", "2025-05-03T14:22:00", True)
    assert run.temperature.known is Known.SAME
    assert [(r.load, r.voltage, r.at) for r in run.readings] == [("R15", 0.7421, 0.0), ("R15", 0.7419, 1.0), ("R15", 0.7415, 3.0)]  # fmt: skip
    assert run.note.startswith("by the window; from 01_meter_software.csv, SHA-256 ")
    with pytest.raises(InputError, match="taken before, as T6 log 2025-05-03"):
        new_checksum(bench, file)
    with pytest.raises(InputError, match="taken before"):
        _understand(bench, file, electrode="T7")


def test_load_steps_from_a_table(bench: BenchFile, tmp_path: Path) -> None:
    """A table of loads becomes a run of load steps; what is no resistor of the bench is left out by line."""
    text = "load;U (mV);settling;waited (s)\nopen;742;;\nR15;612;settled;600\nR99;500;;\n47 ohm;;;\nR47;655;nearly;\n"
    taking = _understand(bench, _write(tmp_path, text), electrode="T6")
    taking.take(bench)
    run = bench.get(Run, "T6 loads 2025-06-01")

    assert run.sort is RunSort.LOADS
    assert [(r.load, r.voltage, r.waited) for r in run.readings] == [("open", 0.742, None), ("R15", 0.612, 600.0), ("R47", 0.655, None)]  # fmt: skip
    assert any("R99" in why for why in taking.preview.refused_for)


def test_a_doubtful_voltage_is_kept_and_doubted(bench: BenchFile, tmp_path: Path) -> None:
    """A negative one says what it usually means."""
    taking = _understand(bench, _write(tmp_path, "t (s),U (V)\n0,0.7\n1,-0.6\n"), electrode="T6")

    assert "leads swapped" in taking.preview.runs[0].doubt
    taking.take(bench)
    assert [bool(r.doubt) for r in bench.get(Run, "T6 log 2025-06-01").readings] == [False, True]


def test_each_column_goes_to_its_electrode(bench: BenchFile) -> None:
    """By the names in the headings, by what a person says, or it is asked for."""
    file = HABITS / "34_pieces_as_headings.csv"
    taking = _understand(bench, file)
    assert [(r.electrode, r.readings) for r in taking.preview.runs] == [("T6", 3), ("T7", 3), ("T8", 1)]  # fmt: skip

    taking = _understand(bench, file, of=("T7=T6 (mV)",))
    assert [(r.electrode, r.readings) for r in taking.preview.runs] == [("T7", 3)]

    with pytest.raises(InputError, match="3 columns can be the voltage of T6"):
        _understand(bench, file, electrode="T6")
    with pytest.raises(NotFoundError, match="T9"):
        _understand(bench, file, of=("T9=T6 (mV)",))
    with pytest.raises(InputError, match="does not say what is what"):
        _understand(bench, file, of=("T6",))
    with pytest.raises(InputError, match="nothing tells whose readings stand under 'DC Voltage"):
        _understand(bench, HABITS / "01_meter_software.csv")


def test_every_electrode_up_to_a_dozen_is_offered(bench: BenchFile) -> None:
    """The control that was entered ninth is among them; of more than twelve the rest is counted."""
    bench.put_all([Electrode(name=name) for name in ("T1", "T2", "T3", "T4", "T5", "C0")])
    with pytest.raises(InputError) as refused:
        _understand(bench, HABITS / "01_meter_software.csv")
    assert set(refused.value.allowed.split(", ")) == {"C0", *(f"T{k}" for k in range(1, 9))}
    bench.put_all([Electrode(name=f"U{k}") for k in range(5)])
    with pytest.raises(InputError) as refused:
        _understand(bench, HABITS / "01_meter_software.csv")
    names, _, left = refused.value.allowed.partition(" and ")
    assert (len(names.split(", ")), left) == (12, "2 more")


def test_blocks_and_channels(bench: BenchFile) -> None:
    """Blocks become a run each; voltage and temperature of one cell come together again."""
    taking = _understand(bench, HABITS / "17_blocks.csv", of=("T6=Cell A", "T7=Cell B"))
    assert [(r.electrode, r.part, r.readings) for r in taking.preview.runs] == [("T6", "Cell A", 2), ("T7", "Cell B", 3)]  # fmt: skip
    taking = _understand(bench, HABITS / "21_channel_and_voltage.csv", of=("T6=1", "T7=2"))
    assert [(r.electrode, r.readings) for r in taking.preview.runs] == [("T6", 2), ("T7", 2)]


def test_a_doubt_names_the_option_that_ends_it(bench: BenchFile) -> None:
    """In the words of the command line."""
    with pytest.raises(TableError, match="2025-05-03 or 2025-03-05") as asked:
        _understand(bench, HABITS / "04_ambiguous_date.csv", electrode="T6")
    assert "--dates d/m/y" in asked.value.next_step
    with pytest.raises(TableError, match="no unit") as asked:
        _understand(bench, HABITS / "08_serial_plotter.txt", electrode="T6")
    assert "--unit current=" in asked.value.next_step


def test_a_habit_is_known_again(bench: BenchFile, tmp_path: Path) -> None:
    """What was said once goes for the next file with the same headings; what is said now goes first."""
    said = "date,time,U\n03/05/2025,10:00:00,7.42\n03/05/2025,10:00:10,7.41\n"
    question = {"electrode": "T6", "dates": "m/d/y", "units": ("voltage=mV",), "source": "logger A"}
    _understand(bench, _write(tmp_path, said, "a.csv"), **question).take(bench)
    assert [h.source for h in habits(bench)] == ["logger A"]

    later = _write(tmp_path, said.replace("03/05", "04/05"), "b.csv")
    taking = _understand(bench, later, electrode="T6")
    assert taking.preview.remembered == "logger A, 2025-06-01"
    assert taking.preview.runs[0].started == "2025-04-05T10:00:00"
    assert taking.preview.columns[-1].high == pytest.approx(0.00742)

    taking = _understand(bench, later, electrode="T6", dates="d/m/y")
    assert taking.preview.runs[0].started == "2025-05-04T10:00:00"
    taking.take(bench)
    assert [h.dates for h in habits(bench)] == ["d/m/y", "m/d/y"]

    other = _write(tmp_path, said.replace("U\n", "V cell\n"), "c.csv")
    with pytest.raises(TableError, match=r"no unit|2025-05-03"):
        _understand(bench, other, electrode="T6")


def _long(folder: Path, rows: int = 60_000, *, pieces: str = "U (mV)") -> Path:
    lines = [f"t (s),{pieces},T (°C)"]
    for n in range(rows):
        volts = ",".join(f"{700 + 10 * math.sin(n / 5000 + k):.1f}" for k in range(pieces.count(",") + 1))  # fmt: skip
        lines.append(f"{n / 10:.1f},{volts},21.5")
    lines[777] = lines[777].replace("21.5", "OL")
    lines[5000] = "*** lid open ***"
    lines.append("3.0,700.0" + ",21.5" * (1 + pieces.count(",")))
    return _write(folder, "\n".join([*lines, "# padding" * 130_000]) + "\n")


def test_a_long_log_becomes_a_series(bench: BenchFile, tmp_path: Path) -> None:
    """Read as a stream, shown with its counts, stored with its run in one transaction, drawn."""
    shares: list[float] = []
    file = _long(tmp_path)
    taking = understand_table(bench, file, TableQuestion(electrode="T6", load="15 ohm"), moment=NOW, progress=shares.append)  # fmt: skip
    preview = taking.preview

    assert shares == sorted(shares)
    assert shares[-1] == 1.0
    assert (preview.rows, preview.rows_refused, preview.cells_refused) == (59_999, 1, 2)
    assert preview.refused_for == {
        "the meter was beyond its range": 1, "there is no value in this row": 1,
        "the clock has gone backwards here": 1,
    }  # fmt: skip
    shown = preview.runs[0]
    assert (shown.series, shown.rows, shown.duration) == ("T6 log 2025-06-01", 59_999, 5999.9)
    assert bench.names(Run) == []

    taking.take(bench)
    taking.close()
    run = bench.get(Run, "T6 log 2025-06-01")
    assert (run.readings, run.sort) == ((), RunSort.RUN_DOWN)
    assert "load 15 ohm" in run.note
    said = outline(bench, run.name)
    assert said.rows == 59_999
    assert sorted(said.ranges) == ["temperature", "time", "voltage"]
    assert next(read_chunks(bench, run.name))["voltage"][0] == 0.7
    assert bench.check().whole

    answer = figure_of_series(bench, run.name, columns=300)
    drawn = answer.figure.series[0]
    assert answer.rows == 59_999
    assert len(drawn.x) == answer.points <= 1200
    assert (min(drawn.y), max(drawn.y)) == said.ranges["voltage"]
    assert "no extreme is lost" in answer.figure.caption
    assert figure_of_series(bench, run.name, quantity="temperature", start=10.0, end=20.0).figure.y.unit == "degC"  # fmt: skip
    with pytest.raises(InputError, match="holds no current"):
        figure_of_series(bench, run.name, quantity="current")
    with pytest.raises(InputError, match="nothing was read between"):
        figure_of_series(bench, run.name, start=1e6, end=2e6)


def test_a_long_log_of_several_pieces(bench: BenchFile, tmp_path: Path) -> None:
    """One series for each electrode, the temperature with both."""
    taking = _understand(bench, _long(tmp_path, 40_000, pieces="T6 (mV),T7 (mV)"))
    taking.take(bench)
    taking.close()

    for name in ("T6 log 2025-06-01", "T7 log 2025-06-01"):
        assert outline(bench, name).rows == 39_999
        assert set(outline(bench, name).ranges) == {"time", "voltage", "temperature"}


def test_a_table_of_many_rows_is_a_series_too(bench: BenchFile, tmp_path: Path) -> None:
    """Between a table of readings and a long log; without a time it is neither."""
    rows = "".join(f"{n},0.7{n % 10}\n" for n in range(800))
    taking = _understand(bench, _write(tmp_path, f"t (s),U (V)\n{rows}3,0.7\n"), electrode="T6")
    assert (taking.preview.runs[0].rows, taking.preview.cells_refused) == (800, 1)
    taking.close()
    with pytest.raises(TableError, match="without a time"):
        _understand(bench, _write(tmp_path, f"n,U (V)\n{rows}"), electrode="T6")


def test_what_cannot_be_read(bench: BenchFile, tmp_path: Path) -> None:
    """A missing file, one without a voltage."""
    with pytest.raises(TableError, match="cannot be read"):
        _understand(bench, tmp_path / "gone.csv", electrode="T6")
    with pytest.raises(TableError, match="as the voltage"):
        _understand(bench, _write(tmp_path, "t (s),T (°C)\n0,21\n"), electrode="T6")


NOTEBOOK = """\
electrode;date;voltage;resistor;temp (°C);salt;note
T6;12.3.2025;0,42 V;15 ohm;21;31 g/kg;first try
T7;;612 mV;;;;page torn
T6;14.3.2025;0,39 V;R15;?;same;
T6;12.3.2025;0,40 V;15 ohm;;;again
T8;1.2.2025;742 V;offen;;;
T8;2.2.2025;-0,3 V;47 ohm;;;
"""


def _notebook(bench: BenchFile, file: Path, **said: object) -> NotebookTaking:
    question = TableQuestion(**said)  # pyright: ignore[reportArgumentType]
    return understand_notebook(bench, file, question, checksum="c" * 64)


def test_old_notebook_lines_come_in_whole(bench: BenchFile, tmp_path: Path) -> None:
    """One run for each line, with what was noted; what was not noted stays not known."""
    text = NOTEBOOK.replace("742 V", "0,742 V")
    taking = _notebook(bench, _write(tmp_path, text))
    assert bench.names(Run) == []
    taking.take(bench)
    runs = {run.name: run for run in bench.all(Run)}

    assert list(runs) == ["T6 retro 2025-03-12", "T7 retro", "T6 retro 2025-03-14", "T6 retro 2025-03-12 2",
                          "T8 retro 2025-02-01", "T8 retro 2025-02-02"]  # fmt: skip
    first = runs["T6 retro 2025-03-12"]
    assert (first.plan, first.session, first.cell, first.finished) == (RunPlan.RETRO, "2025-03-12", "cell T6", True)  # fmt: skip
    assert (first.readings[0].voltage, first.readings[0].resistance) == (0.42, 15.0)
    assert first.temperature.value == pytest.approx(294.15)
    assert first.salinity.value == pytest.approx(0.031)
    assert first.hours_wet.known is Known.MAY_DIFFER
    assert (runs["T7 retro"].session, runs["T7 retro"].readings[0].voltage) == ("", 0.612)
    assert runs["T6 retro 2025-03-14"].readings[0].load == "R15"
    assert runs["T6 retro 2025-03-14"].salinity.known is Known.SAME
    assert runs["T6 retro 2025-03-14"].temperature.known is Known.MAY_DIFFER
    assert runs["T8 retro 2025-02-01"].readings[0].load == "open"
    assert "leads swapped" in runs["T8 retro 2025-02-02"].readings[0].doubt
    assert "page torn" in runs["T7 retro"].note
    assert [c.quantity for c in taking.preview.columns] == ["electrode", "time", "voltage", "resistance", "temperature", "salinity", "note"]  # fmt: skip


def test_lines_that_cannot_be_taken_are_all_named(bench: BenchFile, tmp_path: Path) -> None:
    """A slip in a name, a strange resistor, no reading, a voltage beyond belief: nothing is taken in part."""
    text = (
        NOTEBOOK
        + "T66;3.3.2025;0,4 V;15 ohm;;;\nT6;4.3.2025;;15 ohm;;;\nT6;5.3.2025;0,4 V;15 ohm;warm;;\nT7;x;0,4 V;;;;\n"
    )
    with pytest.raises(RecordError, match="nothing was stored") as refused:
        _notebook(bench, _write(tmp_path, text))

    told = str(refused.value)
    for line, word in ((6, "not believable"), (8, "'T66'"), (9, "no reading"), (10, "temp"), (11, "'x'")):  # fmt: skip
        assert any(f"line {line}" in part and word in part for part in told.splitlines()), (line, told)  # fmt: skip
    assert "T6" in next(f.allowed for f in refused.value.faults if "T66" in f.what)
    assert bench.names(Run) == []


def test_a_notebook_of_one_electrode(bench: BenchFile, tmp_path: Path) -> None:
    """The electrode is named for all lines; currents are an ammeter's; dates that read in two ways are asked for."""
    file = _write(tmp_path, "date,I (mA)\n03/05/2025,120\n04/05/2025,110\n")
    with pytest.raises(TableError, match="2025-05-03 or 2025-03-05"):
        _notebook(bench, file, electrode="T6")
    taking = _notebook(bench, file, electrode="T6", dates="d/m/y")
    assert [(r.name, r.sort, r.readings[0].current) for r in taking.runs] == [
        ("T6 retro 2025-05-03", RunSort.SHORT_CIRCUIT, 0.12),
        ("T6 retro 2025-05-04", RunSort.SHORT_CIRCUIT, 0.11),
    ]
    with pytest.raises(TableError, match="as the voltage"):
        _notebook(bench, _write(tmp_path, "date,T (°C)\n3.5.2025,21\n"), electrode="T6")
