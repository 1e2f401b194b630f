"""`aerode fit` as typed and as printed."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from aerode.cli.fit import command
from aerode.errors import NotFoundError, TableError
from aerode.records.adapter import read
from aerode.records.fits import Fit
from aerode.records.runs import Reading, Run
from aerode.store.bench_file import BenchFile

TABLE = """resistance_ohm,voltage_V
open,0.81
470,0.649
220,0.597
100,0.540
47,0.467
22,0.381
10,0.270
4.7,0.168
"""


@pytest.fixture
def table(tmp_path: Path) -> str:
    """A table of seven loads and the open circuit."""
    path = tmp_path / "readings.csv"
    path.write_text(TABLE, encoding="utf-8")
    return str(path)


def typed(*arguments: str, stdin: str | None = None) -> Result:
    """Run the verb; what it refuses comes out as the error it raises."""
    return CliRunner().invoke(command, list(arguments), input=stdin, catch_exceptions=False)


def test_the_verdict_comes_first_and_all_fits_on_a_screen(table: str) -> None:
    """At most 100 characters, then at most a dozen lines in all of at most 80 columns."""
    for more in (
        [],
        ["--area", "4 cm^2"],
        ["--at", "2 mA", "--at", "5 mA", "--at", "8 mA", "--at", "90 mA"],
    ):
        printed = typed(table, *more).output.splitlines()
        assert printed[0].startswith("readings.csv: ")
        assert len(printed[0]) <= 100
        assert len(printed) <= 12
        assert max(len(line) for line in printed[1:]) <= 80


def test_json_is_the_record(table: str) -> None:
    """`schema` first, readable back as the record, finite throughout."""
    plain = json.loads(typed(table, "--area", "4 cm^2", "--json").output)
    assert next(iter(plain)) == "schema"
    answer = read(Fit, plain)
    assert answer.parameters["tafel_slope_V_decade"].value is not None


def test_without_an_area_volts_milliamperes_and_milliwatts(table: str) -> None:
    """No per-area unit is printed."""
    printed = typed(table).output
    assert "cm^2" not in printed.split("Next:")[0]
    assert " mW" in printed


def test_standard_input_and_notes(table: str) -> None:
    """- reads a pipe; --notes lists what was left out and assumed."""
    printed = typed("-", "--notes", stdin=TABLE).output
    assert printed.startswith("standard input: ")
    assert "open circuit" in printed
    assert "tolerance assumed" in printed.replace("\n  ", " ")


def test_a_run_of_the_bench(tmp_path: Path) -> None:
    """By name, from the bench file."""
    place = tmp_path / "shed.aerode"
    rows = [line.split(",") for line in TABLE.splitlines()[2:]]
    readings = tuple(Reading(resistance=float(r), voltage=float(v)) for r, v in rows)
    with BenchFile.create(place, title="shed") as store:
        store.put(Run(name="T6 run 1", electrode="T6", readings=readings))
    printed = typed("T6 run 1", "--bench", str(place)).output
    assert printed.startswith("T6: ")
    with pytest.raises(NotFoundError):
        typed("T9", "--bench", str(place))


def test_a_file_that_is_not_there_is_a_file_that_is_not_there(tmp_path: Path) -> None:
    """A name that ends in .csv is never looked up as a run."""
    with pytest.raises(TableError):
        typed(str(tmp_path / "gone.csv"))


def test_help_carries_examples() -> None:
    """Three of them."""
    printed = typed("--help").output
    assert "aerode fit readings.csv" in printed
    assert "TABLE|RUN" in printed
