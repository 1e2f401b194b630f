"""Tables as loggers, meters, spreadsheets and microcontrollers write them, and what must be understood.

Every file in `habits/` was made up for this test in the style its JSON twin names under `about`.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from aerode.devices.table_blocks import read_tables
from aerode.devices.tables import Saying, Table, read_table
from aerode.errors import TableError

HABITS = Path(__file__).parent / "habits"
FILES = sorted(path for path in HABITS.iterdir() if path.suffix != ".json")


def _wanted(path: Path) -> dict[str, Any]:
    return json.loads(path.with_suffix(".json").read_text("utf-8"))


@pytest.mark.parametrize("path", FILES, ids=[path.stem for path in FILES])
def test_a_file_is_understood(path: Path) -> None:
    """Every series, value, start, line number and refused cell is as noted beside the file."""
    wanted = _wanted(path)
    tables = read_tables(path, saying=Saying(**wanted.get("say", {})))

    assert len(tables) == len(wanted["tables"])
    for table, want in zip(tables, wanted["tables"], strict=True):
        _agrees(table, want)


def _agrees(table: Table, want: dict[str, Any]) -> None:
    assert table.part == want.get("part", "")
    assert table.started == want.get("started", "")
    assert [[r.line, r.column] for r in table.refused] == want.get("refused", [])
    if "lines" in want:
        assert list(table.lines) == want["lines"]
    columns = dict(want["columns"])
    several = columns.pop("columns_of", {})
    for role, values in columns.items():
        assert list(table.column(role).values) == pytest.approx(values, abs=2e-3 if role == "time" else 1e-9)  # fmt: skip
    for role, lists in several.items():
        found = [list(c.values) for c in table.columns if c.role == role]
        assert found == [pytest.approx(values, abs=1e-9) for values in lists]
    understood = {column.role for column in table.columns} - {""}
    assert understood == {*columns, *several}, "a column was taken for something it is not"
    text = " | ".join(table.understood)
    assert all(said in text for said in want.get("said", [])), text


def test_there_are_enough_habits() -> None:
    """At least 25, each with its note, and none of them twice."""
    assert len(FILES) >= 25
    notes = [_wanted(path)["about"] for path in FILES]
    assert len(set(notes)) == len(notes)
    assert all(notes)


def test_the_doubt_is_asked_for() -> None:
    """The file that needs a word is refused without it, and the refusal says which word."""
    with pytest.raises(TableError, match="2025-05-03 or 2025-03-05") as asked:
        read_tables(HABITS / "04_ambiguous_date.csv")
    assert "dates " in asked.value.next_step


def test_several_series_are_not_read_as_one() -> None:
    """The reader of one table refuses the second block by its lines, and never mixes it in."""
    table = read_table(HABITS / "18_restarts.csv")

    assert table.column("time").values == (0.0, 1.0, 0.0, 1.0)
    assert len(read_tables(HABITS / "18_restarts.csv")) == 2


@pytest.mark.parametrize("said", [{"dates": "y/d/m"}, {"clock": "later"}, {"decimal": ";"}])
def test_a_word_that_means_nothing_is_refused(said: dict[str, str]) -> None:
    """What can be said is listed."""
    with pytest.raises(TableError, match="is no") as refused:
        Saying(**said)  # pyright: ignore[reportArgumentType]
    assert refused.value.allowed
