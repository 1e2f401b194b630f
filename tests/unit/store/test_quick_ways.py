"""The quick ways of the store beside the slow plain ones: digests, and the newest of a kind."""

from __future__ import annotations

import hashlib
import json
import sqlite3
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy.sql.compiler import SQLCompiler

from aerode.errors import AerodeError, DamagedError
from aerode.records.electrodes import Electrode
from aerode.store import digests
from aerode.store.bench_file import BenchFile


@given(st.lists(st.one_of(st.text(), st.integers(0, 2**40))))
def test_a_digest_is_that_of_the_json_text(columns: list[str | int]) -> None:
    """Whatever the texts hold: quotes, newlines, controls, letters outside ASCII."""
    text = json.dumps(columns, ensure_ascii=False, separators=(",", ":"))

    assert digests.digest_of(columns) == hashlib.sha256(text.encode("utf-8")).hexdigest()


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A bench with twenty electrodes, one changed, one withdrawn."""
    place = tmp_path / "shed.aerode"
    with BenchFile.create(place, title="x") as bench:
        bench.put_all([Electrode(name=f"T{n}", note="on the sill · ½") for n in range(20)])
        bench.put(Electrode(name="T7", note="looked again"))
        bench.withdraw(Electrode, "T3")
    return place


def test_the_newest_are_the_last_of_all(path: Path) -> None:
    """The same records and names as the whole list turned round."""
    with BenchFile.open(path) as bench:
        every = bench.all(Electrode)[::-1]
        for count, skip in ((5, 0), (5, 5), (50, 0), (3, 18)):
            assert bench.latest(Electrode, count=count, skip=skip) == every[skip : skip + count]
        assert bench.to_pick_from(Electrode) == [one.name for one in every]


@pytest.mark.parametrize("change", ["replace(doc, 'sill', 'silk')", "CAST(X'7B22FF' AS TEXT)", "CAST(doc AS BLOB)"])  # fmt: skip
def test_a_damaged_row_is_named(path: Path, change: str) -> None:
    """A changed letter, bytes that are no text, a text that became bytes: never handed on as a record."""
    with sqlite3.connect(path) as connection:
        connection.execute("PRAGMA writable_schema=ON")
        connection.execute("UPDATE sqlite_master SET sql = replace(sql, 'STRICT', '') WHERE name = 'revision'")  # fmt: skip
        connection.execute("DROP TRIGGER revision_no_update")
    connection.close()
    with sqlite3.connect(path) as connection:
        connection.execute(f"UPDATE revision SET doc = {change} WHERE doc LIKE '%\"T9\"%'")
    connection.close()

    with BenchFile.open(path, read_only=True) as bench:
        if "BLOB" in change:
            assert bench.latest(Electrode, count=20) == bench.all(Electrode)[::-1]
            return
        with pytest.raises(DamagedError):
            bench.latest(Electrode, count=20)
        assert len(bench.to_pick_from(Electrode)) == 19


def test_a_record_that_cannot_be_read_is_named(path: Path) -> None:
    """Its digest agrees, its document is no electrode: the refusal has its name."""
    columns = {"record": "f" * 32, "kind": "electrode", "schema": "electrode/1", "at": "2025-05-03T10:00:00.000Z",
               "who": "", "why": "", "doc": '{"name":"odd","price":1}', "parents": "[]"}  # fmt: skip
    digest = digests.of_revision(**columns)
    with sqlite3.connect(path) as connection:
        connection.execute("INSERT INTO revision VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)", (digest, *columns.values()))  # fmt: skip
        connection.execute("INSERT INTO current VALUES (?, ?, 'electrode', 'odd', '', 99)", ("f" * 32, digest))  # fmt: skip
    connection.close()

    with BenchFile.open(path, read_only=True) as bench, pytest.raises(AerodeError, match="electrode odd"):  # fmt: skip
        bench.latest(Electrode, count=1)


def test_a_bench_opened_again_writes_no_statement_out_anew(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was asked of one bench file before is asked of it, and of any other, in the words found then."""

    def asked(place: Path) -> list[str]:
        with BenchFile.open(place) as bench:
            return bench.names(Electrode)

    other = path.with_name("other.aerode")
    with BenchFile.create(other, title="y") as bench:
        bench.put(Electrode(name="B1"))
    first = asked(path)
    written: list[object] = []
    compiled = SQLCompiler.__init__

    def counted(self: SQLCompiler, *given: object, **named: object) -> None:
        written.append(self)
        compiled(self, *given, **named)  # pyright: ignore[reportArgumentType]

    monkeypatch.setattr(SQLCompiler, "__init__", counted)
    assert asked(path) == first
    assert asked(other) == ["B1"]
    assert not written


def test_a_schema_that_was_sound_is_looked_at_again_once_it_is_another(path: Path) -> None:
    """A trigger of another hand is refused, though the file was opened a moment ago without it."""
    BenchFile.open(path).close()
    BenchFile.open(path).close()
    with sqlite3.connect(path) as connection:
        connection.execute("CREATE TRIGGER odd AFTER INSERT ON journal BEGIN SELECT 1; END")
    connection.close()
    with pytest.raises(AerodeError, match="the trigger odd"):
        BenchFile.open(path)
