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
from aerode.records.electrodes import Electrode
from aerode.records.runs import Run
from aerode.store import layout
from aerode.store.bench_file import BenchFile
from aerode.store.upgrading import upgrade
from aerode.usecases.bench_copies import migrate

FROZEN = Path(__file__).parent / "frozen"
LATER = {"attachment"}
"""Kinds that came after the first layout was released."""
FILES = {"schema-1.aerode": "1cddb5c3849194a409e81ccb9e5fe9f035894754f843ee87fba42f4c76b2d999"}


@pytest.fixture(params=sorted(FILES))
def frozen(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """A copy of one frozen file; the committed one is never written."""
    return Path(shutil.copy(FROZEN / request.param, tmp_path / request.param))


@pytest.mark.parametrize("name", sorted(FILES))
def test_the_bytes_are_the_released_ones(name: str) -> None:
    """The committed file is the one that was released."""
    assert hashlib.sha256((FROZEN / name).read_bytes()).hexdigest() == FILES[name]


def test_every_kind_is_read(frozen: Path) -> None:
    """Each kind of that layout still gives records, and their texts survive."""
    with BenchFile.open(frozen, read_only=True) as bench:
        for kind, cls in KINDS.items():
            if kind in LATER:
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


def test_it_is_not_brought_up_to_date_in_silence(frozen: Path) -> None:
    """Opened for writing it is refused with the way there, and not a byte of it changes."""
    before = frozen.read_bytes()
    with pytest.raises(StoreError, match="aerode bench migrate"):
        BenchFile.open(frozen)
    assert frozen.read_bytes() == before


def test_the_migrated_tables_are_those_of_a_new_bench(frozen: Path, tmp_path: Path) -> None:
    """Column by column, with the stamp and the number of the layout."""
    migrate(frozen)
    BenchFile.create(tmp_path / "new.aerode", title="new").close()
    shapes: list[object] = []
    for path in (frozen, tmp_path / "new.aerode"):
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


def test_migrated_once(frozen: Path) -> None:
    """The answer names both layouts and the backup; a second time nothing is to do."""
    answer = migrate(frozen)
    assert (answer.layout_before, answer.layout) == (1, layout.LAYOUT)
    with BenchFile.open(answer.backup, read_only=True) as backup:
        assert backup.layout == 1
        assert backup.check().whole
    assert migrate(frozen).headline.startswith("Nothing to do")


def test_it_can_be_written_and_upgraded(frozen: Path) -> None:
    """After an upgrade nothing is lost and the bench takes new states."""
    with BenchFile.open(frozen, read_only=True) as bench:
        before = {run.name: canonical(run) for run in bench.all(Run)}
    upgrade(frozen)
    with BenchFile.open(frozen) as bench:
        assert {run.name: canonical(run) for run in bench.all(Run)} == before
        bench.put(Electrode(name="new"), why="after the upgrade")
        assert bench.check().whole
