"""Writes that fail, files that are not ours or newer, folders that may not be written."""

from __future__ import annotations

import shutil
import sqlite3
import subprocess
import sys
import tempfile
import textwrap
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa
from sqlalchemy import event

from aerode.errors import (
    AerodeError,
    BusyError,
    NewerFileError,
    NotFoundError,
    StoreError,
)
from aerode.records.electrodes import Electrode
from aerode.records.materials import SolventLot
from aerode.store.bench_file import BenchFile


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A closed bench with one bottle on it, made once."""
    place = tmp_path_factory.mktemp("filled") / "shed.aerode"
    with BenchFile.create(place, title="Net shed") as bench:
        bench.put(SolventLot(name="b", substance="ethanol"))
    return place


@pytest.fixture
def path(filled: Path, tmp_path: Path) -> Path:
    """A copy of it."""
    return Path(shutil.copy(filled, tmp_path / "shed.aerode"))


class DiskFailure(Exception):
    """Stands for whatever goes wrong below the program."""


@pytest.mark.parametrize("nth", range(1, 9))
def test_a_failure_at_the_nth_statement_leaves_the_bench_as_it_was(path: Path, nth: int) -> None:
    """Whichever statement of a write fails, nothing of it is seen, and the next write works."""
    count = 0

    def fail(*args: Any) -> None:
        nonlocal count
        count += 1
        if count == nth:
            raise DiskFailure

    records = [SolventLot(name="b", substance="water"), Electrode(name="T1")]
    with BenchFile.open(path) as bench:
        before = bench.history()
        event.listen(sa.engine.Engine, "before_cursor_execute", fail)
        try:
            failed = False
            bench.put_all(records)
        except DiskFailure:
            failed = True
        finally:
            event.remove(sa.engine.Engine, "before_cursor_execute", fail)

        assert failed == (bench.history() == before)
        assert failed == (nth <= 8)
        bench.put_all(records)
        assert bench.get(SolventLot, "b").substance == "water"
        assert bench.check().whole


def test_a_failing_commit_is_no_answer(path: Path) -> None:
    """The last step, after all statements have gone through."""

    def fail(connection: sa.Connection) -> None:
        raise DiskFailure

    with BenchFile.open(path) as bench:
        event.listen(sa.engine.Engine, "commit", fail)
        try:
            with pytest.raises(DiskFailure):
                bench.put(Electrode(name="T1"))
        finally:
            event.remove(sa.engine.Engine, "commit", fail)
        assert bench.find(Electrode, "T1") is None
        assert bench.check().whole


def test_a_database_that_refuses_a_row_refuses_all(path: Path) -> None:
    """The database raises in the middle of a batch: the rows before it are taken back."""
    with BenchFile.open(path) as bench:
        event.listen(bench._engine, "connect", _trap)  # pyright: ignore[reportPrivateUsage]
        bench._engine.dispose()  # pyright: ignore[reportPrivateUsage]
        with pytest.raises(StoreError, match="nothing of this was stored"):
            bench.put_all([Electrode(name=f"T{n}") for n in range(5)])
        assert bench.all(Electrode) == []
        assert bench.check().whole


def _trap(connection: sqlite3.Connection, _: Any) -> None:
    connection.execute(
        "CREATE TEMP TRIGGER trap BEFORE INSERT ON main.revision WHEN NEW.doc LIKE '%T3%' "
        "BEGIN SELECT RAISE(ABORT, 'trap'); END"
    )


def test_a_full_disk(path: Path) -> None:
    """The file may not grow: refused in plain words, everything before is there."""
    with BenchFile.open(path) as bench:
        event.listen(bench._engine, "connect", _no_room)  # pyright: ignore[reportPrivateUsage]
        bench._engine.dispose()  # pyright: ignore[reportPrivateUsage]
        with pytest.raises(StoreError, match="disk is full"):
            bench.put_all([Electrode(name=f"T{n}", note="x" * 200) for n in range(500)])
    with BenchFile.open(path) as bench:
        assert bench.all(Electrode) == []
        assert bench.check().whole


def _no_room(connection: sqlite3.Connection, _: Any) -> None:
    pages = connection.execute("PRAGMA page_count").fetchone()[0]
    connection.execute(f"PRAGMA max_page_count={pages}")


def test_a_busy_bench(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Another writer holds the lock: the wait is bounded, reading goes on, later it works."""
    monkeypatch.setattr("aerode.store.connecting.BUSY_WAIT", 0.01)
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")

    with BenchFile.open(path) as bench:
        with pytest.raises(BusyError, match="another program"):
            bench.put(Electrode(name="T1"))
        assert bench.get(SolventLot, "b").substance == "ethanol"
        other.execute("ROLLBACK")
        bench.put(Electrode(name="T1"))
    other.close()


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"", "a file of another kind"),
        (b"electrode;V\nT1;0,4\n", "a file of another kind"),
        (b"SQLite format 3\x00" + b"\x00" * 84, "another program's database"),
    ],
)
def test_a_foreign_file_is_left_alone(tmp_path: Path, content: bytes, message: str) -> None:
    """Refused, and not a byte of it or beside it changes."""
    (tmp_path / "notes").write_bytes(content)

    with pytest.raises(StoreError, match=message):
        BenchFile.open(tmp_path / "notes")

    assert content == (tmp_path / "notes").read_bytes()
    assert [path.name for path in tmp_path.iterdir()] == ["notes"]


def test_another_database_is_left_alone(tmp_path: Path) -> None:
    """Also a real database, even one that carries our application id but no bench."""
    for name, application in (("other.db", 0), ("empty.db", int.from_bytes(b"AERD", "big"))):
        with sqlite3.connect(tmp_path / name) as connection:
            connection.execute("CREATE TABLE meta (key TEXT, value TEXT)")
            connection.execute(f"PRAGMA application_id={application}")
        connection.close()
        with pytest.raises(StoreError, match="not a bench file"):
            BenchFile.open(tmp_path / name)
    with pytest.raises(StoreError, match="a folder"):
        BenchFile.open(tmp_path)


def test_a_file_of_a_newer_layout(path: Path) -> None:
    """Refused for writing, offered for reading; what is known is still read."""
    with sqlite3.connect(path) as connection:
        connection.execute("UPDATE meta SET value = '999' WHERE key = 'layout'")
    connection.close()

    with pytest.raises(NewerFileError, match="reading only"):
        BenchFile.open(path)
    with BenchFile.open(path, read_only=True) as bench:
        assert bench.get(SolventLot, "b").substance == "ethanol"


def test_a_truncated_file(path: Path) -> None:
    """Half of a file is refused or found damaged, never read as if it were all."""
    whole = path.read_bytes()
    for part in (whole[: len(whole) // 2], whole[:5000], whole[:200]):
        path.write_bytes(part)
        with pytest.raises(AerodeError), BenchFile.open(path, read_only=True) as bench:  # noqa: PT012
            assert not bench.check().whole
            raise AerodeError("found damaged")


def test_a_folder_that_is_not_there(tmp_path: Path) -> None:
    """Making a bench in a missing folder says that it cannot be opened."""
    with pytest.raises(NotFoundError, match="cannot be opened"):
        BenchFile.create(tmp_path / "missing" / "a.aerode", title="x")


READER = """
    import os, sys
    from pathlib import Path
    from aerode.errors import AerodeError
    from aerode.records.electrodes import Electrode
    from aerode.records.materials import SolventLot
    from aerode.store.bench_file import BenchFile

    path, own = Path(sys.argv[1]), Path(sys.argv[2])
    with BenchFile.create(own, title="x") as bench:  # everything is imported after this
        bench.put(SolventLot(name="b", substance="water"))
        bench.get(SolventLot, "b"), bench.check()
    if os.geteuid() == 0:
        os.setgid(65534)
        os.setuid(65534)
    assert not os.access(path.parent, os.W_OK)
    with BenchFile.open(path, read_only=True) as bench:
        print(bench.get(SolventLot, "b").substance, bench.check().whole)
    for act in (
        lambda: BenchFile.open(path).put(Electrode(name="T1")),
        lambda: BenchFile.create(path.with_name("new.aerode"), title="x"),
    ):
        try:
            act()
        except AerodeError as error:
            print(type(error).__name__, error.where)
    print(sorted(one.name for one in path.parent.iterdir()))
"""


def test_a_folder_that_may_not_be_written(path: Path) -> None:
    """Reading works without a file beside it; writing and creating are refused with the place."""
    with tempfile.TemporaryDirectory() as outer:
        Path(outer).chmod(0o755)
        folder = Path(outer) / "attic"
        folder.mkdir()
        shutil.copy(path, folder / "shed.aerode")
        (folder / "shed.aerode").chmod(0o444)
        folder.chmod(0o555)
        command = [sys.executable, "-c", textwrap.dedent(READER), str(folder / "shed.aerode")]
        ran = subprocess.run(
            [*command, str(path.with_name("own.aerode"))],
            capture_output=True, text=True, check=False,
        )  # fmt: skip
        folder.chmod(0o755)
    assert ran.returncode == 0, ran.stderr
    said = ran.stdout.splitlines()

    assert said[0] == "ethanol True"
    assert sum(str(folder) in line for line in said) == 2
    assert said[-1] == "['shed.aerode']"
