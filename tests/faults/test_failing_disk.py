"""The n-th write or sync fails, for every n; the power fails there; what was acknowledged is there."""

from __future__ import annotations

import random
import shutil
from pathlib import Path

import pytest
from failing_disk import FULL, IOERR_FSYNC, IOERR_WRITE, READONLY, Disk, failing_disk

from aerode.errors import StoreError
from aerode.records.electrodes import Electrode
from aerode.records.materials import SolventLot
from aerode.records.runs import Reading, Run
from aerode.store.bench_file import BenchFile
from aerode.store.series import put_logged, read_chunks
from aerode.store.series_spool import SeriesSpool


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A closed bench with a run and two readings, made once."""
    place = tmp_path_factory.mktemp("filled") / "shed.aerode"
    with BenchFile.create(place, title="Net shed") as bench:
        bench.put(SolventLot(name="b", substance="ethanol"))
        bench.put(Run(name="r", readings=(Reading(voltage=0.7), Reading(voltage=0.6))))
    return place


def _acts(bench: BenchFile, told: list[str]) -> None:
    """A session: readings one by one, a batch, a correction, a log, each acknowledged when it returns."""
    for n in range(3):
        run = bench.get(Run, "r")
        grown = Run(name="r", readings=(*run.readings, Reading(voltage=0.5 - n / 100)))
        bench.put(grown)
        told.append(f"reading {len(grown.readings)}")
    bench.put_all([Electrode(name=f"T{n}") for n in range(4)])
    told.append("batch")
    bench.put(SolventLot(name="b", substance="water"))
    told.append("correction")
    with SeriesSpool(50) as spool:
        spool.add({"time": [float(n) for n in range(120)], "voltage": [0.7] * 120})
        put_logged(bench, [Run(name="day")], {"day": spool.chunks()})
    told.append("log")


def _is_as_told(path: Path, told: list[str]) -> None:
    """Everything acknowledged is there; the act that failed is there whole or not at all."""
    with BenchFile.open(path) as bench:
        assert bench.check().whole
        count = len(bench.get(Run, "r").readings)
        acknowledged = max([2, *(int(t.split()[1]) for t in told if t.startswith("reading"))])
        assert acknowledged <= count <= acknowledged + 1
        pieces = bench.names(Electrode)
        assert pieces in ([], ["T0", "T1", "T2", "T3"])
        assert pieces or "batch" not in told
        water = bench.get(SolventLot, "b").substance == "water"
        assert water or "correction" not in told
        day = bench.find(Run, "day")
        assert day is not None or "log" not in told
        if day is not None:
            assert sum(chunk["time"].size for chunk in read_chunks(bench, "day")) == 120
        bench.put(Electrode(name="after"))
        assert bench.check().whole


def _session(path: Path, disk: Disk) -> list[str]:
    """What was acknowledged until the disk failed, or all of it."""
    told: list[str] = []
    try:
        with BenchFile.open(path) as bench:
            _acts(bench, told)
    except StoreError:
        assert disk.failed
    return told


def _operations(filled: Path, folder: Path) -> list[str]:
    """What is done to the disk in a session, one after the other."""
    path = Path(shutil.copy(filled, folder / "count.aerode"))
    with failing_disk(folder) as disk:
        assert len(_session(path, disk)) == 6
        return list(disk.kinds)


def _places(filled: Path, folder: Path, *, every: bool) -> list[int]:
    """All operations, or a tenth of the writes and half of the syncs."""
    kinds = _operations(filled, folder)
    assert len(kinds) > 40
    if every:
        return list(range(1, len(kinds) + 1))
    syncs = [n for n, kind in enumerate(kinds, 1) if kind == "sync"]
    others = [n for n, kind in enumerate(kinds, 1) if kind != "sync"]
    return sorted([*syncs[::2], *others[::10]])


def _refuse_each(filled: Path, tmp_path: Path, *, code: int, lasting: bool, every: bool) -> None:
    seen: set[str] = set()
    for n in _places(filled, tmp_path, every=every):
        folder = tmp_path / f"{n}"
        folder.mkdir()
        path = Path(shutil.copy(filled, folder / "shed.aerode"))
        with failing_disk(folder) as disk:
            disk.arm(n, lasting=lasting, code=code)
            told = _session(path, disk)
            assert disk.failed
            seen.add(disk.kinds[n - 1])
        _is_as_told(path, told)
        shutil.rmtree(folder)
    assert {"write", "sync"} <= seen


def _cut_power_at_each(filled: Path, tmp_path: Path, *, dice: int | None, every: bool) -> None:
    for n in _places(filled, tmp_path, every=every):
        folder, found = tmp_path / f"{n}", tmp_path / f"{n} found"
        folder.mkdir()
        found.mkdir()
        path = Path(shutil.copy(filled, folder / "shed.aerode"))
        with failing_disk(folder) as disk:
            disk.arm(n, lasting=True)
            told = _session(path, disk)
            disk.after_power_cut(found, None if dice is None else random.Random(1000 * dice + n))
        _is_as_told(found / "shed.aerode", told)
        shutil.rmtree(folder)
        shutil.rmtree(found)


@pytest.mark.parametrize("lasting", [False, True], ids=["once", "from then on"])
def test_a_write_or_sync_fails(filled: Path, tmp_path: Path, lasting: bool) -> None:
    """Whichever operation is refused, nothing acknowledged is lost and nothing is there in part."""
    _refuse_each(filled, tmp_path, code=0, lasting=lasting, every=False)


def test_the_power_fails(filled: Path, tmp_path: Path) -> None:
    """Only what was synced is sure to be on the platter: that holds all that was acknowledged."""
    _cut_power_at_each(filled, tmp_path, dice=1, every=False)


@pytest.mark.slow
@pytest.mark.parametrize("lasting", [False, True], ids=["once", "from then on"])
@pytest.mark.parametrize("code", [0, FULL, READONLY], ids=["it fails", "it is full", "it turns read-only"])  # fmt: skip
def test_every_write_and_sync_fails(filled: Path, tmp_path: Path, code: int, lasting: bool) -> None:
    """The same for every single operation, and for each way in which a disk refuses."""
    _refuse_each(filled, tmp_path, code=code, lasting=lasting, every=True)


@pytest.mark.slow
@pytest.mark.parametrize("dice", [None, 1, 2, 3], ids=["all of it lost", "some", "other", "more"])
def test_the_power_fails_at_every_operation(filled: Path, tmp_path: Path, dice: int | None) -> None:
    """The same for every single operation: nothing unsynced survives, or any sectors of it do."""
    _cut_power_at_each(filled, tmp_path, dice=dice, every=True)


@pytest.mark.parametrize(
    "code",
    [IOERR_WRITE, *(pytest.param(code, marks=pytest.mark.slow) for code in (IOERR_FSYNC, FULL))],
)
def test_making_a_bench_on_a_failing_disk(tmp_path: Path, code: int) -> None:
    """A bench that could not be made whole does not appear, and nothing is left beside its place."""
    n, made = 0, False
    while not made:
        n += 1 if code != IOERR_WRITE else 2
        folder = tmp_path / f"{n}"
        folder.mkdir()
        with failing_disk(folder) as disk:
            disk.arm(n, lasting=True, code=code)
            try:
                BenchFile.create(folder / "shed.aerode", title="x").close()
                made = True
            except StoreError:
                assert disk.failed
        if (folder / "shed.aerode").exists():
            with BenchFile.open(folder / "shed.aerode") as bench:
                assert bench.check().whole
        else:
            assert list(folder.iterdir()) == []
    assert n > 10


def test_the_failing_disk_fails() -> None:
    """The instrument itself: a write that is to fail does, and the count is of what was done."""
    disk = Disk(Path("/nowhere"))
    disk.arm(2)
    assert [disk.passes("write", 778) for _ in range(3)] == [0, 778, 0]
    disk.arm(2, lasting=True, code=FULL)
    assert [disk.passes("sync", 1034) for _ in range(3)] == [0, FULL, FULL]
