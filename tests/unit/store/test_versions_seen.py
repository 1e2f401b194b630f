"""What a newer program wrote is found also where the bench was looked through before."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
import sqlalchemy as sa
from sqlalchemy import event

from aerode.errors import NewerFileError
from aerode.records.materials import SolventLot
from aerode.store.bench_file import BenchFile
from aerode.store.upcasts import UPCASTS, Upcasts
from aerode.store.versions_seen import VersionsSeen

NEWER = Upcasts(versions={"solvent": 3}, steps={("solvent", 2): dict})


def _soot(number: int) -> SolventLot:
    return SolventLot(name=f"bottle {number}", substance="ethanol")


def test_a_newer_document_behind_an_opening_is_found(tmp_path: Path) -> None:
    """Opened, written by a newer program, opened again: refused, and refused once more."""
    place = tmp_path / "a"
    BenchFile.create(place, title="x").close()
    with BenchFile.open(place) as bench:
        bench.put(_soot(1))
    BenchFile.open(place).close()
    with BenchFile.open(place, upcasts=NEWER) as bench:
        bench.put(_soot(2))

    for _ in range(2):
        with pytest.raises(NewerFileError, match="solvent/3"):
            BenchFile.open(place)


def test_another_file_at_the_same_place_is_read_whole(tmp_path: Path) -> None:
    """A longer bench of a newer program takes the place of one that was looked through."""
    place, other = tmp_path / "a", tmp_path / "b"
    BenchFile.create(place, title="x").close()
    BenchFile.open(place).close()
    with BenchFile.create(other, title="x", upcasts=NEWER) as bench:
        bench.put_all([_soot(1), _soot(2)])
    with BenchFile.open(other, upcasts=NEWER) as bench:
        bench.put_all([SolventLot(name="a third", substance="acetone")])
    shutil.copyfile(other, place)

    with pytest.raises(NewerFileError, match="solvent/3"):
        BenchFile.open(place)


def test_only_what_came_later_is_read(tmp_path: Path) -> None:
    """The second look asks for the lines behind the last one, and finds the one that is there."""
    asked: list[str] = []
    seen = VersionsSeen()
    with BenchFile.create(tmp_path / "a", title="x") as bench:
        bench.put_all([_soot(number) for number in range(5)])
    engine = sa.create_engine(f"sqlite:///{tmp_path / 'a'}")
    event.listen(
        engine, "before_cursor_execute", lambda *told: asked.append(f"{told[2]} {told[3]}")
    )
    with engine.connect() as connection:
        assert seen.newer(connection, "a", UPCASTS) == []
        first = [line for line in asked if "DISTINCT" in line]
        asked.clear()
        assert seen.newer(connection, "a", UPCASTS) == []
        second = [line for line in asked if "DISTINCT" in line]
    engine.dispose()
    assert "JOIN" not in first[0]
    assert "seq > ?" in second[0]
    assert "(6,)" in second[0]


def test_the_oldest_place_is_forgotten_first(tmp_path: Path) -> None:
    """At most so many places are remembered; a forgotten one is read whole again."""
    seen = VersionsSeen(most=1)
    BenchFile.create(tmp_path / "a", title="x").close()
    engine = sa.create_engine(f"sqlite:///{tmp_path / 'a'}")
    with engine.connect() as connection:
        for label in ("a", "b"):
            assert seen.newer(connection, label, UPCASTS) == []
        assert [seen.remembers(label) for label in ("a", "b")] == [False, True]
    engine.dispose()
