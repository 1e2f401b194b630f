"""A bench file of every released layout is kept, and opens without loss."""

from __future__ import annotations

import hashlib
import shutil
import sqlite3
from pathlib import Path

import pytest

from aerode.errors import StoreError
from aerode.records import KINDS
from aerode.records.adapter import canonical
from aerode.records.attachments import Attachment
from aerode.records.electrodes import Electrode
from aerode.records.runs import Run
from aerode.store import layout
from aerode.store.bench_file import BenchFile
from aerode.store.upgrading import upgrade
from aerode.usecases.bench_copies import migrate
from aerode.usecases.bench_results import list_results

FROZEN = Path(__file__).parent / "frozen"
LATER = {"attachment"}
"""Kinds that came after the first layout was released."""
OLDER = {"schema-1.aerode": "1cddb5c3849194a409e81ccb9e5fe9f035894754f843ee87fba42f4c76b2d999"}
FILES = {
    **OLDER,
    "schema-2.aerode": "97c7bd8bc6bc4b08af0c05b22dd1bb1470d546b1c095d9a05c265a9dd77ce1d3",
}


@pytest.fixture(params=sorted(FILES))
def frozen(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """A copy of one frozen file; the committed one is never written."""
    return Path(shutil.copy(FROZEN / request.param, tmp_path / request.param))


@pytest.fixture(params=sorted(OLDER))
def older(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """A copy of one frozen file of an earlier layout."""
    return Path(shutil.copy(FROZEN / request.param, tmp_path / request.param))


@pytest.mark.parametrize("name", sorted(FILES))
def test_the_bytes_are_the_released_ones(name: str) -> None:
    """The committed file is the one that was released."""
    assert hashlib.sha256((FROZEN / name).read_bytes()).hexdigest() == FILES[name]


def test_every_kind_is_read(frozen: Path) -> None:
    """Each kind of that layout still gives records, and their texts survive."""
    with BenchFile.open(frozen, read_only=True) as bench:
        for kind, cls in KINDS.items():
            if kind in LATER and frozen.name in OLDER:
                continue
            records = bench.all(cls)
            assert records, kind
            for record in records:
                assert canonical(record)


def test_it_is_whole(frozen: Path) -> None:
    """All digests and lists of the old file agree."""
    with BenchFile.open(frozen, read_only=True) as bench:
        assert bench.check().whole


def test_history_is_there(frozen: Path) -> None:
    """The slip, its undoing and the reasons are all kept."""
    with BenchFile.open(frozen, read_only=True) as bench:
        states = bench.history(Electrode, "T6")

        assert [s.why for s in states] == ["first", "looked again", "slip", "that was a slip"]
        assert bench.get(Electrode, "T6").note == "cut with the wide gasket; edge rough"


def test_it_is_not_brought_up_to_date_in_silence(older: Path) -> None:
    """Opened for writing it is refused with the way there, and not a byte of it changes."""
    before = older.read_bytes()
    with pytest.raises(StoreError, match="aerode bench migrate"):
        BenchFile.open(older)
    assert older.read_bytes() == before


def test_the_migrated_tables_are_those_of_a_new_bench(older: Path, tmp_path: Path) -> None:
    """Column by column, with the stamp and the number of the layout."""
    migrate(older)
    BenchFile.create(tmp_path / "new.aerode", title="new").close()
    shapes: list[object] = []
    for path in (older, tmp_path / "new.aerode"):
        connection = sqlite3.connect(path)
        names = sorted(
            row[0]
            for row in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")
        )
        columns = {
            name: connection.execute(f"PRAGMA table_xinfo({name})").fetchall() for name in names
        }
        strict = connection.execute(
            "SELECT name, strict FROM pragma_table_list ORDER BY name"
        ).fetchall()
        number = connection.execute("SELECT value FROM meta WHERE key = 'layout'").fetchall()
        stamp = connection.execute("SELECT * FROM alembic_version").fetchall()
        version = connection.execute("PRAGMA user_version").fetchall()
        connection.close()
        shapes.append((columns, strict, number, stamp, version))
    assert shapes[0] == shapes[1]


def test_migrated_once(older: Path) -> None:
    """The answer names both layouts and the backup; a second time nothing is to do."""
    answer = migrate(older)
    assert (answer.layout_before, answer.layout) == (1, layout.LAYOUT)
    with BenchFile.open(answer.backup, read_only=True) as backup:
        assert backup.layout == 1
        assert backup.check().whole
    assert migrate(older).headline.startswith("Nothing to do")


def test_it_can_be_written_and_upgraded(frozen: Path) -> None:
    """After an upgrade nothing is lost and the bench takes new states."""
    with BenchFile.open(frozen, read_only=True) as bench:
        before = {run.name: canonical(run) for run in bench.all(Run)}
    upgrade(frozen)
    with BenchFile.open(frozen) as bench:
        assert {run.name: canonical(run) for run in bench.all(Run)} == before
        bench.put(Electrode(name="new"), why="after the upgrade")
        assert bench.check().whole


def test_what_came_with_the_second_layout_is_there(tmp_path: Path) -> None:
    """The attached file, the long log and the kept answer, each whole."""
    place = shutil.copy(FROZEN / "schema-2.aerode", tmp_path / "schema-2.aerode")
    with BenchFile.open(place, read_only=True) as bench:
        attached = bench.get(Attachment, "raw log of T6")
        assert bench.kept(attached.digest) == ("text/csv", b"time,volts\n0,0.742\n")
        assert bench.series("T6 run-down") == {"s": [0.0, 60.0, 120.0], "V": [0.742, None, 0.731]}
        kept = list_results(bench).results
    assert [(one.answer, one.about) for one in kept] == [("aerode.fit/1", "T6 loads")]
