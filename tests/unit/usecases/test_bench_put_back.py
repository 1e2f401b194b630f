"""Putting a copy back: seen first, backed up first, refused where it cannot be done."""

from __future__ import annotations

import shutil
import sqlite3
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from aerode.errors import BusyError, DamagedError, InputError, NewerFileError, StoreError
from aerode.records.electrodes import Electrode
from aerode.records.materials import SolventLot
from aerode.store.bench_file import BenchFile
from aerode.usecases import bench_copies
from aerode.usecases.bench_export import export
from aerode.usecases.bench_put_back import look_at_copy, put_back

DAY = datetime(2026, 5, 9, 12, 0, tzinfo=UTC)
FROZEN = Path(__file__).resolve().parents[2] / "store" / "frozen"


@pytest.fixture
def shed(tmp_path: Path) -> Path:
    """A bench, a backup of it, and what came after the backup: a new state and a new record."""
    path = tmp_path / "shed.aerode"
    with BenchFile.create(path, title="Net shed", clock=lambda: DAY) as bench:
        bench.put(Electrode(name="T1"))
    bench_copies.back_up(path, moment=DAY)
    with BenchFile.open(path, clock=lambda: DAY + timedelta(hours=1), who="ann") as bench:
        bench.put(Electrode(name="T1", note="thin"))
        bench.put(SolventLot(name="bottle 2", substance="ethanol"))
        bench.append("shed log", {"time": [0.0], "voltage": [1.3]})
    return path


def _copy(bench: Path) -> Path:
    return Path(bench_copies.list_backups(bench).backups[0].path)


def _damage(path: Path) -> None:
    with sqlite3.connect(path) as connection:
        connection.execute("DROP TRIGGER revision_no_update")
        connection.execute("UPDATE revision SET doc = replace(doc, 'T1', 'T9')")
    connection.close()


def test_what_a_copy_holds_and_what_would_go(shed: Path) -> None:
    """Counts of the copy; each record that is newer here, who entered it, and whether the copy knows it."""
    copy = _copy(shed)
    before = {p: p.read_bytes() for p in (shed, copy)}
    seen = look_at_copy(str(shed), copy)

    assert seen.held.counts == {"bench": 1, "electrode": 1}
    assert seen.held.states == 2
    assert seen.same_bench
    assert (seen.lost_states, seen.lost_records, seen.lost_logs) == (2, 1, 1)
    told = {(line.kind, line.name, line.who, line.whole) for line in seen.lost}
    assert told == {("electrode", "T1", "ann", False), ("solvent", "bottle 2", "ann", True)}
    assert {p: p.read_bytes() for p in (shed, copy)} == before


def test_put_back_after_a_backup_of_the_present(shed: Path) -> None:
    """The copy stands; the backup holds all that came after, and bringing it in brings all of it back."""
    answer = put_back(str(shed), _copy(shed), moment=DAY + timedelta(hours=2))

    with BenchFile.open(shed) as bench:
        assert [one.note for one in bench.all(Electrode)] == [""]
        assert bench.check().whole
    assert answer.done.only_aside == 2
    safety = shed.with_name("shed.backups") / answer.safety
    assert look_at_copy(str(shed), safety).lost_states == 0
    put_back(str(shed), safety, moment=DAY + timedelta(hours=3))
    with BenchFile.open(shed) as bench:
        assert [one.note for one in bench.all(Electrode)] == ["thin"]
        assert bench.series("shed log")["voltage"] == [1.3]


def test_a_damaged_bench_is_kept_aside_and_replaced(shed: Path) -> None:
    """No backup can be made of it, which is no reason to leave it."""
    _damage(shed)
    seen = look_at_copy(str(shed), _copy(shed))
    answer = put_back(str(shed), _copy(shed), moment=DAY)

    assert seen.lost_states >= 0
    assert answer.safety == ""
    assert Path(answer.done.kept_aside).exists()
    assert bench_copies.check(shed).whole


def test_a_file_that_cannot_be_read_at_all(shed: Path) -> None:
    """What would go cannot be said; the copy is put back all the same."""
    copy = _copy(shed)
    shed.write_bytes(b"spilled coffee")

    assert look_at_copy(str(shed), copy).unreadable is not None
    put_back(str(shed), copy, moment=DAY)
    assert bench_copies.check(shed).whole


def test_a_package_and_the_bench_of_somebody_else(shed: Path, tmp_path: Path) -> None:
    """A package is seen and put back like a backup; another bench is said to be another one."""
    package = tmp_path / "shed.zip"
    with BenchFile.open(shed) as bench:
        export(bench, package)
    other = tmp_path / "other.aerode"
    BenchFile.create(other, title="Boat house").close()

    assert look_at_copy(str(shed), package).lost_states == 0
    seen = look_at_copy(str(shed), other)
    assert (seen.same_bench, seen.held.title) == (False, "Boat house")
    assert seen.lost_states == 4
    assert put_back(str(other), package, moment=DAY).done.states == 4


def test_another_program_has_it_open(shed: Path) -> None:
    """Refused; nothing was changed, and no backup is left over from the attempt."""
    with BenchFile.open(shed) as other:
        other.put(Electrode(name="T2"))
        with pytest.raises(BusyError, match="open"):
            put_back(str(shed), _copy(shed), moment=DAY)

    assert len(bench_copies.list_backups(shed).backups) == 1
    with BenchFile.open(shed) as bench:
        assert bench.names(Electrode) == ["T1", "T2"]


def test_what_is_never_put_back(shed: Path, tmp_path: Path) -> None:
    """A damaged copy, one of a newer version, a file of another kind, and a shared database."""
    damaged = Path(shutil.copy(_copy(shed), tmp_path / "damaged.aerode"))
    _damage(damaged)
    newer = Path(shutil.copy(_copy(shed), tmp_path / "newer.aerode"))
    with sqlite3.connect(newer) as connection:
        connection.execute("UPDATE meta SET value = '99' WHERE key = 'layout'")
    connection.close()
    letter = tmp_path / "letter.aerode"
    letter.write_text("dear harbour master")

    before = shed.read_bytes()
    for copy, refusal in ((damaged, DamagedError), (newer, NewerFileError), (letter, StoreError)):
        with pytest.raises(refusal):
            look_at_copy(str(shed), copy)
        with pytest.raises(refusal):
            put_back(str(shed), copy, moment=DAY)
    with pytest.raises(InputError, match="shared database"):
        put_back("postgresql://ann@host/shed", _copy(shed), moment=DAY)
    assert shed.read_bytes() == before
    assert len(bench_copies.list_backups(shed).backups) == 1


def test_a_copy_of_an_earlier_version_is_brought_up_to_date(shed: Path) -> None:
    """The pages could not write on it otherwise."""
    old = next(path for path in sorted(FROZEN.glob("*.aerode")) if _layout(path) == "1")
    seen = look_at_copy(str(shed), old)
    answer = put_back(str(shed), old, moment=DAY)

    assert seen.older
    assert answer.brought_up
    BenchFile.open(shed).close()


def _layout(path: Path) -> str:
    with sqlite3.connect(f"file:{path}?mode=ro&immutable=1", uri=True) as connection:
        row = connection.execute("SELECT value FROM meta WHERE key = 'layout'").fetchone()
    connection.close()
    return str(row[0])
