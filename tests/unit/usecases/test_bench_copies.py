"""Backups, putting back and bringing up to date: nothing that was there is ever lost."""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from aerode.errors import BusyError, DamagedError, InputError, NotFoundError, StoreError
from aerode.records.electrodes import Electrode
from aerode.store.bench_file import BenchFile
from aerode.usecases import bench_copies
from aerode.usecases.bench_export import export

DAY = datetime(2025, 5, 3, 9, 0, tzinfo=UTC)


@pytest.fixture
def shed(tmp_path: Path) -> Path:
    """A bench with one electrode in two states."""
    path = tmp_path / "shed.aerode"
    with BenchFile.create(path, title="Net shed") as bench:
        bench.put(Electrode(name="T1"))
        bench.put(Electrode(name="T1", note="thin"))
    return path


def _damage(path: Path) -> None:
    with sqlite3.connect(path) as connection:
        connection.execute("DROP TRIGGER revision_no_update")
        connection.execute("UPDATE revision SET doc = replace(doc, 'thin', 'thim')")
    connection.close()


def _notes(path: Path) -> list[str]:
    with BenchFile.open(path, read_only=True) as bench:
        return [one.note for one in bench.all(Electrode)]


def test_a_backup_is_taken_while_another_program_writes(shed: Path) -> None:
    """An open transaction of a writer is not in it, and does not stop it."""
    with BenchFile.open(shed) as writer, writer.writing() as ledger:
        ledger.note(["0" * 64])
        answer = bench_copies.back_up(shed, moment=DAY)

    assert Path(answer.path).name == "shed-20250503T090000Z.aerode"
    assert answer.states == 3
    assert sorted(p.name for p in Path(answer.path).parent.iterdir()) == [Path(answer.path).name]
    with BenchFile.open(answer.path) as copy:
        assert copy.check().whole


def test_old_backups_go_by_the_rule(shed: Path) -> None:
    """Twelve backups of one day: the newest five stay, and files of other names are not touched."""
    folder = shed.with_name("shed.backups")
    folder.mkdir()
    (folder / "notes.txt").write_text("mine")
    for minute in range(12):
        answer = bench_copies.back_up(shed, moment=DAY + timedelta(minutes=minute))

    assert answer.kept == 5
    assert len(answer.removed) == 1
    listed = bench_copies.list_backups(shed)
    assert [line.at[11:16] for line in listed.backups] == [f"09:{m:02}" for m in range(11, 6, -1)]
    assert (folder / "notes.txt").exists()


def test_a_clock_that_went_back_does_not_cost_the_new_backup(shed: Path) -> None:
    """The backup just made stays, also where the rule would give it up."""
    for minute in range(6):
        bench_copies.back_up(shed, moment=DAY + timedelta(minutes=minute))
    late = bench_copies.back_up(shed, moment=DAY - timedelta(minutes=5))

    assert Path(late.path).exists()


def test_two_backups_of_one_second(shed: Path) -> None:
    """They get two names."""
    first, second = (bench_copies.back_up(shed, moment=DAY) for _ in range(2))

    assert first.path != second.path
    assert len(bench_copies.list_backups(shed).backups) == 2


def test_no_backup_of_a_damaged_bench(shed: Path) -> None:
    """The good ones stay; check names the record and the newest good copy; restore takes it."""
    good = bench_copies.back_up(shed, moment=DAY)
    spoilt = bench_copies.back_up(shed, moment=DAY + timedelta(hours=1))
    _damage(Path(spoilt.path))
    _damage(shed)

    with pytest.raises(DamagedError, match="electrode T1"):
        bench_copies.back_up(shed, moment=DAY + timedelta(hours=2))
    found = bench_copies.check(shed)
    assert "electrode T1" in found.headline
    assert found.newest_good_copy == good.path
    assert len(list(Path(good.path).parent.iterdir())) == 2

    done = bench_copies.restore(shed, moment=DAY + timedelta(hours=3))
    assert done.copy == good.path
    assert bench_copies.check(shed).whole
    assert "thim" in Path(done.kept_aside).read_bytes().decode("latin-1")


def test_what_stands_there_is_kept_aside(shed: Path) -> None:
    """States that came after the backup are counted, and lie in the file kept aside."""
    bench_copies.back_up(shed, moment=DAY)
    with BenchFile.open(shed) as bench:
        bench.put(Electrode(name="T1", note="later"))

    done = bench_copies.restore(shed, moment=DAY)

    assert _notes(shed) == ["thin"]
    assert _notes(Path(done.kept_aside)) == ["later"]
    assert done.only_aside == 1
    again = bench_copies.restore(shed, moment=DAY)
    assert again.kept_aside != done.kept_aside


def test_restored_where_the_file_is_gone(shed: Path) -> None:
    """Nothing to keep aside then; the log of the lost file does not come back to life."""
    bench_copies.back_up(shed, moment=DAY)
    shed.unlink()

    done = bench_copies.restore(shed, moment=DAY)

    assert (done.kept_aside, done.only_aside) == ("", 0)
    assert _notes(shed) == ["thin"]


def test_a_file_that_is_no_database_is_kept_aside_too(shed: Path) -> None:
    """Bytes and log as they are."""
    bench_copies.back_up(shed, moment=DAY)
    shed.write_bytes(b"spilled coffee")
    shed.with_name("shed.aerode-wal").write_bytes(b"a log")

    found = bench_copies.check(shed)
    assert not found.whole
    assert found.newest_good_copy
    done = bench_copies.restore(shed, moment=DAY)

    assert Path(done.kept_aside).read_bytes() == b"spilled coffee"
    assert Path(done.kept_aside + "-wal").read_bytes() == b"a log"
    assert done.only_aside is None
    assert _notes(shed) == ["thin"]


def test_not_under_the_hands_of_another_program(shed: Path) -> None:
    """While somebody has the bench open, nothing is put in its place."""
    bench_copies.back_up(shed, moment=DAY)
    with BenchFile.open(shed) as other:
        other.put(Electrode(name="T2"))
        with pytest.raises(BusyError, match="open"):
            bench_copies.restore(shed, moment=DAY)
        other.put(Electrode(name="T3"))

    assert len(_notes(shed)) == 3
    assert not list(shed.parent.glob("*.kept-*"))


HOLDS_IT = """
import sqlite3, sys
held = sqlite3.connect(sys.argv[1], isolation_level=None)
held.execute("PRAGMA journal_mode=WAL")
held.execute("BEGIN"); held.execute("SELECT count(*) FROM revision").fetchone()
print("open", flush=True)
sys.stdin.readline()
held.execute("COMMIT")
held.close()
"""


def test_a_program_that_slips_in_while_the_file_is_swapped(
    shed: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Another process opens the bench after it was found closed: the bench stays, nothing is mixed up."""
    bench_copies.back_up(shed, moment=DAY)
    with BenchFile.open(shed) as bench:
        bench.put(Electrode(name="T1", note="later"))
    others: list[subprocess.Popen[str]] = []
    link = os.link

    def slip_in(source: Path, target: Path) -> None:
        if ".kept-" in str(target):
            other = subprocess.Popen([sys.executable, "-c", HOLDS_IT, str(source)],
                                     stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)  # fmt: skip
            assert other.stdout is not None
            assert other.stdout.readline() == "open\n"
            others.append(other)
        link(source, target)

    monkeypatch.setattr(os, "link", slip_in)
    with pytest.raises(BusyError, match="open"):
        bench_copies.restore(shed, moment=DAY)
    for other in others:
        other.communicate("\n")

    assert others
    assert _notes(shed) == ["later"]
    assert bench_copies.check(shed).whole
    assert not list(shed.parent.glob("*.kept-*"))


def test_a_damaged_copy_is_not_put_back(shed: Path, tmp_path: Path) -> None:
    """The bench stays as it is, and no half-made file is left."""
    copy = Path(shutil.copy(shed, tmp_path / "copy.aerode"))
    _damage(copy)
    before = shed.read_bytes()

    with pytest.raises(DamagedError, match="electrode T1"):
        bench_copies.restore(shed, copy, moment=DAY)

    assert shed.read_bytes() == before
    assert {p.name for p in tmp_path.iterdir()} == {"shed.aerode", "copy.aerode"}


def test_nothing_to_put_back(shed: Path) -> None:
    """No backup and no such copy are said so."""
    with pytest.raises(NotFoundError, match="no good backup"):
        bench_copies.restore(shed)
    with pytest.raises(NotFoundError, match="no such copy"):
        bench_copies.restore(shed, "nowhere.aerode")


def test_check_of_a_foreign_file(tmp_path: Path) -> None:
    """A file that never was a bench is refused, not called damaged."""
    (tmp_path / "list.txt").write_text("bread")
    with pytest.raises(StoreError, match="another kind"):
        bench_copies.check(tmp_path / "list.txt")
    with pytest.raises(NotFoundError):
        bench_copies.check(tmp_path / "nothing")


def test_a_package_is_put_back_too(shed: Path, tmp_path: Path) -> None:
    """Identity, journal and all; what came later lies in the file kept aside. A spoilt one changes nothing."""
    with BenchFile.open(shed) as bench:
        export(bench, tmp_path / "shed.zip")
        newest = bench.newest()
        bench.put(Electrode(name="later"))

    done = bench_copies.restore(shed, tmp_path / "shed.zip", moment=DAY)
    assert done.only_aside == 1
    with BenchFile.open(shed) as bench:
        assert bench.newest() == newest
    before = shed.read_bytes()
    (tmp_path / "spoilt.zip").write_bytes((tmp_path / "shed.zip").read_bytes()[:-100])
    with pytest.raises(InputError, match="not a ZIP archive"):
        bench_copies.restore(shed, tmp_path / "spoilt.zip", moment=DAY)
    assert shed.read_bytes() == before


def test_a_backup_to_another_folder(shed: Path, tmp_path: Path) -> None:
    """As to a stick; it is listed and put back from there."""
    answer = bench_copies.back_up(shed, folder=tmp_path / "stick", moment=DAY)

    assert Path(answer.path).parent == tmp_path / "stick"
    assert bench_copies.restore(shed, folder=tmp_path / "stick").copy == answer.path
