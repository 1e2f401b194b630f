"""A bench file from a stranger: hostile triggers, views, columns, huge and endless content."""

from __future__ import annotations

import json
import shutil
import sqlite3
import tracemalloc
from pathlib import Path

import pytest

from aerode.errors import AerodeError, DamagedError, StoreError
from aerode.records.electrodes import Electrode
from aerode.records.materials import SolventLot
from aerode.store import digests
from aerode.store.bench_file import BenchFile
from aerode.store.strangers import LARGEST


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A closed bench with a few records, made once."""
    place = tmp_path_factory.mktemp("filled") / "shed.aerode"
    with BenchFile.create(place, title="Net shed") as bench:
        bench.put(SolventLot(name="b", substance="ethanol"))
        bench.put_all([Electrode(name=f"T{n}") for n in range(3)])
    return place


@pytest.fixture
def path(filled: Path, tmp_path: Path) -> Path:
    """A copy of it."""
    return Path(shutil.copy(filled, tmp_path / "shed.aerode"))


def _change(path: Path, *statements: str) -> None:
    connection = sqlite3.connect(path, isolation_level=None)
    for statement in statements:
        connection.execute(statement)
    connection.close()


HOSTILE = {
    "a trigger that spoils what is written": (
        ["CREATE TRIGGER helper AFTER INSERT ON revision BEGIN INSERT OR IGNORE INTO meta VALUES ('x', NEW.doc); END"],
        "the trigger helper",
    ),
    "a guard that guards nothing": (
        ["DROP TRIGGER revision_no_update",
         "CREATE TRIGGER revision_no_update BEFORE UPDATE ON revision BEGIN SELECT 1; END"],
        "the trigger revision_no_update",
    ),
    "a view in the place of a table": (
        ["ALTER TABLE current RENAME TO kept", "CREATE VIEW current AS SELECT * FROM kept"],
        "the view current",
    ),
    "a view that never ends": (
        ["ALTER TABLE meta RENAME TO kept",
         "CREATE VIEW meta AS WITH RECURSIVE n(k) AS (SELECT 1 UNION ALL SELECT k + 1 FROM n) "
         "SELECT 'format' AS key, k AS value FROM n"],
        "the view meta",
    ),
    "a computed column": (
        ["ALTER TABLE revision ADD COLUMN more TEXT GENERATED ALWAYS AS (upper(doc)) VIRTUAL"],
        "the column revision.more",
    ),
    "a virtual table": (
        ["CREATE VIRTUAL TABLE words USING fts5(text)"],
        "the virtual table words",
    ),
    "a table without its columns": (
        ["ALTER TABLE series RENAME COLUMN doc TO text"],
        "a table series without doc",
    ),
}  # fmt: skip


@pytest.mark.parametrize("read_only", [False, True], ids=["writing", "reading"])
@pytest.mark.parametrize("case", HOSTILE)
def test_what_no_bench_holds_is_refused(path: Path, case: str, read_only: bool) -> None:
    """Named and refused before anything of it runs; the file is left as it is."""
    statements, named = HOSTILE[case]
    _change(path, *statements)
    before = path.read_bytes()

    with pytest.raises(StoreError, match=named) as refused:
        BenchFile.open(path, read_only=read_only)

    assert "export" in refused.value.next_step
    assert path.read_bytes() == before


def test_a_table_of_another_program_does_no_harm(path: Path) -> None:
    """A plain table beside those of the bench is left alone."""
    _change(path, "CREATE TABLE notes (text TEXT)")

    with BenchFile.open(path) as bench:
        bench.put(Electrode(name="new"))
        assert bench.check().whole


def _forge(path: Path, doc: str, kind: str = "electrode", schema: str = "electrode/1") -> None:
    """A revision whose digest agrees, as someone writes it who knows the format."""
    columns = {"record": "f" * 32, "kind": kind, "schema": schema, "at": "2025-05-03T10:00:00.000Z",
               "who": "", "why": "", "doc": doc, "parents": "[]"}  # fmt: skip
    digest = digests.of_revision(**columns)
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute(
        "INSERT INTO revision VALUES (:digest, :record, :kind, :schema, :at, :who, :why, :doc, :parents)",
        {"digest": digest, **columns},
    )
    seq, chain = connection.execute("SELECT seq, chain FROM journal ORDER BY seq DESC").fetchone()
    connection.execute(
        "INSERT INTO journal VALUES (?, ?, ?)",
        (seq + 1, digest, digests.chain_next(chain, seq + 1, digest)),
    )
    connection.execute(
        "INSERT INTO current VALUES (?, ?, ?, ?, ?, ?)",
        ("f" * 32, digest, kind, "forged", "", seq + 1),
    )
    connection.close()


FORGED = {
    "nested without end": '{"name":"forged","note":' + "[" * 200_000 + "]" * 200_000 + "}",
    "not JSON": "{",
    "a list": '["forged"]',
    "a number that is not finite": '{"name":"forged","wetted_area":{"value":1e999}}',
    "a number of many digits": '{"name":"forged","wetted_area":{"value":' + "9" * 5000 + "}}",
    "an unknown field": '{"name":"forged","price":1}',
    "a text where a number belongs": '{"name":"forged","wetted_area":{"value":"much"}}',
}


@pytest.mark.parametrize("case", FORGED)
@pytest.mark.parametrize("kind", ["electrode", "cell"])
def test_a_forged_document_is_refused_and_named(path: Path, case: str, kind: str) -> None:
    """Digest, chain and list agree: the document itself is still looked over."""
    _forge(path, FORGED[case], kind, f"{kind}/1")

    with BenchFile.open(path, read_only=True) as bench:
        checked = bench.check()
        assert not checked.whole
        assert any("forged" in fault.name or fault.kind == kind for fault in checked.faults)
        with pytest.raises(AerodeError):
            bench.all(Electrode if kind == "electrode" else _cell())
        assert bench.get(SolventLot, "b").substance == "ethanol"


def _cell() -> type:
    from aerode.records.electrodes import Cell

    return Cell


def test_a_huge_blob_is_not_loaded(path: Path) -> None:
    """A file of 300 MB that is all zeros takes no place on disk: it is refused, not read into memory."""
    size = LARGEST + 1024
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute("INSERT INTO blob VALUES (?, 'image/jpeg', zeroblob(?))", ("a" * 64, size))
    connection.close()
    tracemalloc.start()
    with BenchFile.open(path, read_only=True) as bench:
        with pytest.raises(StoreError):
            bench.kept("a" * 64)
        checked = bench.check()
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()

    assert not checked.whole
    assert peak < 50_000_000


def test_a_packed_chunk_that_lies(path: Path) -> None:
    """A chunk whose document promises a thousand million rows, and one that points nowhere."""
    connection = sqlite3.connect(path, isolation_level=None)
    for number, said in enumerate(({"blob": "b" * 64, "rows": 10, "columns": []}, {"blob": 7, "rows": 10**9, "columns": 3})):  # fmt: skip
        doc = json.dumps({"packed": said})
        at, name = "2025-05-03T10:00:00.000Z", f"s{number}"
        digest = digests.of_series(series=name, chunk=0, at=at, doc=doc)
        connection.execute("INSERT INTO series VALUES (?, ?, 0, ?, ?)", (digest, name, at, doc))
    connection.close()

    with BenchFile.open(path, read_only=True) as bench:
        checked = bench.check()
        assert {f.name for f in checked.faults} >= {"s0, chunk 0", "s1, chunk 0"}
        for name in ("s0", "s1"):
            with pytest.raises(StoreError):
                bench.series(name)


def test_a_file_that_is_damaged_says_so(path: Path) -> None:
    """Not every page is readable: the refusal or the check says it, and no traceback."""
    content = bytearray(path.read_bytes())
    content[4096:8192] = bytes(4096)
    path.write_bytes(content)

    with pytest.raises((DamagedError, StoreError)), BenchFile.open(path) as bench:  # noqa: PT012
        assert not bench.check().whole
        bench.all(Electrode)
        raise DamagedError("found by the check")
