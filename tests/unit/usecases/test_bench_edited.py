"""Tables of a package that were edited outside: only what was edited becomes a new state."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from aerode.errors import InputError, RecordError
from aerode.records import KINDS
from aerode.records.electrodes import Coat, Electrode, Layer
from aerode.records.marks import Condition, Entry, Known
from aerode.records.materials import SolventLot
from aerode.records.runs import Reading, Run
from aerode.store.bench_file import BenchFile
from aerode.usecases.bench_bring import bring
from aerode.usecases.bench_edited import import_tables
from aerode.usecases.bench_export import export
from aerode.usecases.bench_tables import tables_of

Edit = Callable[[list[list[str]]], Any]


@pytest.fixture
def shed(tmp_path: Path) -> Path:
    """A small bench, and its package beside it."""
    path = tmp_path / "shed.aerode"
    with BenchFile.create(path, title="Net shed") as bench:
        bench.put_all(
            [
                Electrode(
                    name="T1",
                    wetted_area=Entry(value=9.58e-4, standard_uncertainty=1e-5, text="9.58 cm^2"),
                    layers=(Layer(coats=(Coat(note="a"), Coat(note="b"))), Layer(mix="M1")),
                    factors={"binder": 0.1, "press": "cold"},
                    thickness=(0.0006, 0.00071999999999),
                ),
                Electrode(name="=T2", note="two\nlines", control=True),
                Run(
                    name="r1",
                    readings=(Reading(voltage=0.7), Reading(voltage=0.65), Reading(voltage=0.6)),
                    temperature=Condition(known=Known.MEASURED, value=295.15),
                ),
            ]
        )
        export(bench, tmp_path / "out")
    return path


def _edit(shed: Path, table: str, change: Edit, dialect: Any = "excel") -> Path:
    """A table of the package with a change in it, saved as some program would."""
    path = shed.parent / "out/tables" / f"{table}.csv"
    rows = list(csv.reader(io.StringIO(path.read_text("utf-8"), newline="")))
    change(rows)
    text = io.StringIO(newline="")
    csv.writer(text, dialect).writerows(rows)
    path.write_text(text.getvalue(), "utf-8", newline="")
    return path


def _set(row: int, heading: str, cell: str) -> Edit:
    def change(rows: list[list[str]]) -> None:
        rows[row][rows[0].index(heading)] = cell

    return change


def _states(shed: Path) -> int:
    with BenchFile.open(shed, read_only=True) as bench:
        return len(bench.history())


def test_nothing_edited(shed: Path) -> None:
    """All tables taken in again as they are: no new state."""
    before = _states(shed)
    answer = bring(shed, shed.parent / "out/tables")

    assert answer.headline == "Nothing was edited in it"
    assert _states(shed) == before


def test_one_cell(shed: Path) -> None:
    """The answer says before and after; a preview stores nothing; the rest of the record stays."""
    path = _edit(shed, "electrodes", _set(1, "wetted_area (m^2)", "9.7 cm^2"))
    before = _states(shed)

    preview = bring(shed, path, preview=True)
    assert _states(shed) == before
    answer = bring(shed, path)

    assert [(c.field, c.before, c.after) for c in answer.changed[0].changes] == [
        ("wetted_area (m^2)", "0.000958", "9.7 cm^2")
    ]
    assert preview.changed == answer.changed
    with BenchFile.open(shed) as bench:
        entry = bench.get(Electrode, "T1").wetted_area
        assert entry == Entry(
            value=pytest.approx(9.7e-4), standard_uncertainty=1e-5, text="9.7 cm^2"
        )
        assert len(bench.get(Electrode, "T1").layers) == 2
        assert bench.history(Electrode, "T1")[-1].why == "edited in electrodes.csv"
        assert bench.check().whole
    assert bring(shed, path).headline == "Nothing was edited in it"


def test_saved_by_a_spreadsheet_of_another_land(shed: Path) -> None:
    """Semicolons, decimal commas, fewer digits shown: a number that was not edited is the same one."""

    class Land(csv.excel):
        delimiter = ";"

    def change(rows: list[list[str]]) -> None:
        place = rows[0].index("wetted_area (m^2)")
        rows[1][place] = "0,00095800000"
        rows[1][rows[0].index("wetted_area.standard_uncertainty (m^2)")] = "2E-05"

    answer = bring(shed, _edit(shed, "electrodes", change, Land()))

    assert [c.field for c in answer.changed[0].changes] == [
        "wetted_area.standard_uncertainty (m^2)"
    ]


def test_an_empty_cell_and_a_filled_one(shed: Path) -> None:
    """Empty takes a value away whole; a filled one makes a condition measured."""
    bring(shed, _edit(shed, "electrodes", _set(1, "wetted_area (m^2)", "")))
    bring(shed, _edit(shed, "runs", _set(1, "temperature (K)", "23 °C")))

    with BenchFile.open(shed) as bench:
        assert bench.get(Electrode, "T1").wetted_area is None
        assert bench.get(Run, "r1").temperature.value == pytest.approx(296.15)


def test_a_line_out_and_a_line_in(shed: Path) -> None:
    """The second reading is taken out, a new one comes after the last; the order is the counters'."""

    def change(rows: list[list[str]]) -> None:
        del rows[2]
        new = dict(zip(rows[0], rows[1], strict=True)) | {"readings.line": "9", "voltage (V)": "0,5", "from_state": ""}  # fmt: skip
        rows.append([new[heading] for heading in rows[0]])

    answer = bring(shed, _edit(shed, "runs-readings", change))

    assert "taken out" in {change.after for change in answer.changed[0].changes}
    with BenchFile.open(shed) as bench:
        assert [r.voltage for r in bench.get(Run, "r1").readings] == [0.7, 0.6, 0.5]


def test_a_list_inside_a_list(shed: Path) -> None:
    """Of the first layer's coats one is edited and one gone; the layer without coats stays."""

    def change(rows: list[list[str]]) -> None:
        rows[1][rows[0].index("note")] = "-c"
        del rows[2]

    bring(shed, _edit(shed, "electrodes-layers-coats", change))

    with BenchFile.open(shed) as bench:
        layers = bench.get(Electrode, "T1").layers
        assert [coat.note for coat in layers[0].coats] == ["-c"]
        assert layers[1].mix == "M1"


def test_a_new_row_is_a_new_record(shed: Path) -> None:
    """Without a state, under a name that is free; a second one of the name is refused."""

    def change(rows: list[list[str]]) -> None:
        rows.append(["" for _ in rows[0]])
        rows[-1][rows[0].index("name")] = "T3"
        rows[-1][rows[0].index("factors")] = '{"binder":0.2}'

    path = _edit(shed, "electrodes", change)
    answer = bring(shed, path)
    assert [(one.name, one.new) for one in answer.changed] == [("T3", True)]
    with BenchFile.open(shed) as bench:
        assert bench.get(Electrode, "T3").factors == {"binder": 0.2}
    with pytest.raises(RecordError, match="stands twice"):
        bring(shed, _edit(shed, "electrodes", lambda rows: rows.append(rows[-1])))


def test_a_new_name_is_a_rename(shed: Path) -> None:
    """The identity stays, and a taken name is refused."""
    bring(shed, _edit(shed, "electrodes", _set(2, "name", "T2")))
    with BenchFile.open(shed) as bench:
        assert bench.names(Electrode) == ["T1", "T2"]
        assert len(bench.history(Electrode, "T2")) == 2
    with pytest.raises(Exception, match="belongs to another"):
        bring(shed, _edit(shed, "electrodes", _set(2, "name", "T1")))


def test_changed_on_the_bench_too(shed: Path) -> None:
    """Other fields: both changes are kept. The same field: two states, to be settled."""
    with BenchFile.open(shed) as bench:
        t1 = bench.get(Electrode, "T1")
        bench.put(Electrode(**{**vars(t1), "note": "from the bench"}))

    bring(shed, _edit(shed, "electrodes", _set(1, "outcome", "leaked")))
    with BenchFile.open(shed) as bench:
        assert (bench.get(Electrode, "T1").note, bench.get(Electrode, "T1").outcome.value) == ("from the bench", "leaked")  # fmt: skip
        bench.put(Electrode(**{**vars(bench.get(Electrode, "T1")), "outcome": "cracked"}))

    path = _edit(shed, "electrodes", _set(1, "outcome", "peeled"))
    answer = bring(shed, path)
    assert answer.changed[0].conflict
    assert "to be settled" in answer.headline
    with BenchFile.open(shed) as bench:
        assert [len(group) for group in bench.conflicts()] == [2]
        assert bench.check().whole
    before = _states(shed)
    assert bring(shed, path).headline == "Nothing was edited in it"
    assert _states(shed) == before


def test_edited_twice(shed: Path) -> None:
    """Import, edit another cell of the same file, import: no conflict with one's own change."""
    bring(shed, _edit(shed, "electrodes", _set(1, "outcome", "leaked")))
    answer = bring(shed, _edit(shed, "electrodes", _set(1, "control", "yes")))

    assert not answer.changed[0].conflict
    with BenchFile.open(shed) as bench:
        assert (bench.get(Electrode, "T1").control, bench.get(Electrode, "T1").outcome.value) == (True, "leaked")  # fmt: skip


@pytest.mark.parametrize(
    ("table", "edit", "words"),
    [
        ("electrodes", _set(1, "wetted_area (m^2)", "much"), "a number in m"),
        ("electrodes", _set(1, "wetted_area (m^2)", "9 V"), "column 'wetted_area"),
        ("electrodes", _set(1, "outcome", "burnt"), "outcome"),
        ("electrodes", _set(1, "factors", "{"), "pairs such as"),
        ("electrodes", _set(1, "control", "perhaps"), "true or false"),
        ("electrodes", _set(0, "outcome", "outcom"), "no such column"),
        ("electrodes", _set(1, "from_state", "0" * 64), "no revision"),
        ("electrodes", _set(1, "name", ""), "name"),
        ("runs-readings", _set(1, "readings.line", "0"), "counted from 1"),
        ("runs-readings", _set(1, "voltage (V)", "inf"), "voltage"),
    ],
)
def test_what_cannot_be_taken(shed: Path, table: str, edit: Edit, words: str) -> None:
    """Named with file, line and column; nothing is stored, of the other rows neither."""
    path = _edit(shed, table, edit)
    if table == "electrodes":
        path = _edit(shed, table, _set(2, "note", "edited"))
    before = _states(shed)

    with pytest.raises(RecordError, match=words) as refusal:
        bring(shed, path)

    assert table in str(refusal.value)
    assert _states(shed) == before


def test_of_another_kind(shed: Path) -> None:
    """A state of an electrode does not stand for a run."""
    with BenchFile.open(shed) as bench:
        state = bench.state(Electrode, "T1").digest
    with pytest.raises(RecordError, match="a state of electrode 'T1'"):
        bring(shed, _edit(shed, "runs", _set(1, "from_state", state)))


def test_what_is_no_table_of_a_package(shed: Path, tmp_path: Path) -> None:
    """A hand-written table is still taken as one; a preview of it is refused with the way round."""
    (tmp_path / "solvents.csv").write_text("name,substance\nb,ethanol\n")
    with pytest.raises(InputError, match="no preview"):
        bring(shed, tmp_path / "solvents.csv", preview=True)
    bring(shed, tmp_path / "solvents.csv")
    with BenchFile.open(shed) as bench:
        assert bench.get(SolventLot, "b").substance == "ethanol"
        (tmp_path / "things.csv").write_text("name,from_state\n")
        with pytest.raises(InputError, match="no table of a package"):
            import_tables(bench, [tmp_path / "things.csv"])


@pytest.mark.parametrize("kind", KINDS)
def test_headings_are_told_apart(kind: str) -> None:
    """No table of any kind has two columns of one heading."""
    for table in tables_of(kind):
        headings = [
            kind,
            *table.counters,
            *(column.heading for column in table.columns),
            "from_state",
        ]
        if not table.lists:
            headings.remove(kind)
        assert len(headings) == len(set(headings)), table.name


@pytest.mark.parametrize("preview", [True, False])
def test_a_cell_that_cannot_be_true_is_refused_in_the_preview_too(
    shed: Path, preview: bool
) -> None:
    """210 °C for an electrolyte: the line is named, nothing is stored."""
    before = _states(shed)
    path = _edit(shed, "runs", _set(1, "temperature (K)", "483.15"))
    with BenchFile.open(shed) as bench, pytest.raises(RecordError, match=r"no temperature of an"):
        import_tables(bench, [path], preview=preview)

    assert _states(shed) == before
