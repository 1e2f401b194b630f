"""Upgrading an older layout: backup first, all or nothing, documents untouched."""

from __future__ import annotations

import sqlite3
import textwrap
from pathlib import Path

import pytest

from aerode.errors import StoreError
from aerode.records.materials import SolventLot
from aerode.store.bench_file import BenchFile
from aerode.store.upgrading import upgrade

STEP = """
    from alembic import op

    revision = "0003"
    down_revision = "0002"


    def upgrade() -> None:
        op.execute("CREATE TABLE shelf (place TEXT NOT NULL) STRICT")
        op.execute("{last}")
"""


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A bench of the present layout, which is the older one for the invented next step."""
    place = tmp_path / "shed.aerode"
    with BenchFile.create(place, title="Net shed") as bench:
        bench.put(SolventLot(name="b", substance="ethanol"))
    return place


def _step(folder: Path, last: str) -> Path:
    (folder / "steps").mkdir()
    text = textwrap.dedent(STEP).replace("{last}", last)
    (folder / "steps" / "layout_0003.py").write_text(text)
    return folder / "steps"


def _shelf(path: Path) -> bool:
    connection = sqlite3.connect(path)
    found = connection.execute("SELECT 1 FROM sqlite_master WHERE name = 'shelf'").fetchall()
    connection.close()
    return bool(found)


def test_a_step_is_taken_after_a_backup(path: Path, tmp_path: Path) -> None:
    """The new table is there, the records are the same, the backup is the file from before."""
    with BenchFile.open(path) as bench:
        before = bench.history()

    backup = upgrade(path, more=[_step(tmp_path, "INSERT INTO shelf VALUES ('window')")])

    assert _shelf(path)
    assert not _shelf(backup.path)
    for one in (path, backup.path):
        with BenchFile.open(one, read_only=True) as bench:
            assert before == bench.history()
    with BenchFile.open(backup.path) as bench:
        assert bench.check().whole


def test_a_step_that_fails_takes_everything_back(path: Path, tmp_path: Path) -> None:
    """Also the tables that the step had made by then."""
    steps = _step(tmp_path, "INSERT INTO shelf VALUES (NULL)")

    with pytest.raises(StoreError, match="cannot be used"):
        upgrade(path, more=[steps])

    assert not _shelf(path)
    with BenchFile.open(path) as bench:
        assert bench.check().whole


def test_nothing_to_do(path: Path) -> None:
    """At the newest layout the file stays as it is; a second backup gets a second name."""
    first, second = upgrade(path), upgrade(path)

    assert first != second
    with BenchFile.open(path) as bench:
        assert bench.check().whole


def test_no_room_for_a_backup(path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Then nothing is begun."""
    monkeypatch.setattr(
        "aerode.store.backups.shutil.disk_usage", lambda _: type("Usage", (), {"free": 10})()
    )
    with pytest.raises(StoreError, match="no room"):
        upgrade(path)
    assert list((tmp_path / "shed.backups").iterdir()) == []
