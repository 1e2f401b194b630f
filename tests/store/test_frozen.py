"""A bench file of every released layout is kept, and opens without loss."""

from __future__ import annotations

import hashlib
import shutil
from pathlib import Path

import pytest

from aerode.records import KINDS
from aerode.records.adapter import canonical
from aerode.records.electrodes import Electrode
from aerode.records.runs import Run
from aerode.store.bench_file import BenchFile
from aerode.store.upgrading import upgrade

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
    with BenchFile.open(frozen) as bench:
        for kind, cls in KINDS.items():
            if kind in LATER:
                continue
            records = bench.all(cls)
            assert records, kind
            for record in records:
                assert canonical(record)


def test_it_is_whole(frozen: Path) -> None:
    """All digests and lists of the old file agree."""
    with BenchFile.open(frozen) as bench:
        assert bench.check().whole


def test_history_is_there(frozen: Path) -> None:
    """The slip, its undoing and the reasons are all kept."""
    with BenchFile.open(frozen) as bench:
        states = bench.history(Electrode, "T6")

        assert [s.why for s in states] == ["first", "looked again", "slip", "that was a slip"]
        assert bench.get(Electrode, "T6").note == "cut with the wide gasket; edge rough"


def test_it_can_be_written_and_upgraded(frozen: Path) -> None:
    """After an upgrade nothing is lost and the bench takes new states."""
    with BenchFile.open(frozen) as bench:
        before = {run.name: canonical(run) for run in bench.all(Run)}
    upgrade(frozen)
    with BenchFile.open(frozen) as bench:
        assert {run.name: canonical(run) for run in bench.all(Run)} == before
        bench.put(Electrode(name="new"), why="after the upgrade")
        assert bench.check().whole
