"""The write-ahead log torn: whole transactions up to the tear, none in part, and the bench goes on.

A log that is damaged where nothing but a change can have damaged it is refused instead.
"""

from __future__ import annotations

import random
import shutil
import sqlite3
from pathlib import Path

import pytest

from aerode.errors import DamagedError
from aerode.records.electrodes import Electrode
from aerode.store.bench_file import BenchFile
from aerode.store.log_frames import damage_in

PAIRS = 12


@pytest.fixture(scope="module")
def torn(tmp_path_factory: pytest.TempPathFactory) -> tuple[bytes, bytes]:
    """A bench and the log beside it, with a dozen transactions of two electrodes each in the log."""
    path = tmp_path_factory.mktemp("torn") / "shed.aerode"
    BenchFile.create(path, title="x").close()
    with BenchFile.open(path) as bench:
        for n in range(PAIRS):
            bench.put_all([Electrode(name=f"T{n}"), Electrode(name=f"T{n} twin")])
        return path.read_bytes(), Path(f"{path}-wal").read_bytes()


def _found(folder: Path, bench: bytes, log: bytes) -> list[str]:
    """The names on a bench with such a log; it must be whole and take a new record."""
    for leftover in folder.glob("torn.aerode*"):
        leftover.unlink()
    path = folder / "torn.aerode"
    path.write_bytes(bench)
    Path(f"{path}-wal").write_bytes(log)
    with BenchFile.open(path) as opened:
        names = opened.names(Electrode)
        assert opened.check().whole
        opened.put(Electrode(name="after"))
        assert opened.names(Electrode) == [*names, "after"]
    return names


def _are_whole_pairs(names: list[str]) -> int:
    assert names == [f"T{n}{twin}" for n in range(len(names) // 2) for twin in ("", " twin")]
    return len(names) // 2


def _tear(folder: Path, torn: tuple[bytes, bytes], count: int, seed: int) -> None:
    bench, log = torn
    dice = random.Random(seed)
    before = 0
    for cut in sorted([0, 1, 31, 32, 33, len(log), *(dice.randrange(len(log)) for _ in range(count))]):  # fmt: skip
        pairs = _are_whole_pairs(_found(folder, bench, log[:cut]))
        assert pairs >= before, "a longer log holds less"
        before = pairs
    assert before == PAIRS


def test_cut_off_anywhere(tmp_path: Path, torn: tuple[bytes, bytes]) -> None:
    """The log ends at any byte: the transactions before it are there."""
    _tear(tmp_path, torn, 24, 1)


@pytest.mark.slow
def test_cut_off_at_hundreds_of_places(tmp_path: Path, torn: tuple[bytes, bytes]) -> None:
    """The same at 400 places."""
    _tear(tmp_path, torn, 400, 2)


def test_the_last_transaction_half_on_the_platter(
    tmp_path: Path, torn: tuple[bytes, bytes]
) -> None:
    """A power cut in the middle of the last, unacknowledged write: any sectors of it may be missing."""
    bench, log = torn
    dice = random.Random(3)
    step = 24 + 4096
    frames = (len(log) - 32) // step
    ends = [n for n in range(frames) if int.from_bytes(log[36 + n * step : 40 + n * step], "big")]  # fmt: skip
    start = 32 + (ends[-2] + 1) * step
    for _ in range(20):
        spoilt = bytearray(log)
        sectors = range(start, len(log), 512)
        for at in dice.sample(sectors, dice.randrange(2, len(sectors))):
            spoilt[at : at + 512] = bytes(min(512, len(log) - at))
        assert _are_whole_pairs(_found(tmp_path, bench, bytes(spoilt))) in (PAIRS - 1, PAIRS)


def test_a_sector_lost_before_acknowledged_writes_is_refused(
    tmp_path: Path, torn: tuple[bytes, bytes]
) -> None:
    """Zeros in the middle: what stands behind them was acknowledged, so it is not dropped in silence."""
    bench, log = torn
    path = tmp_path / "torn.aerode"
    refusals = 0
    for at in range(512, len(log) // 2, 4096 + 512):
        path.write_bytes(bench)
        spoilt = bytearray(log)
        spoilt[at : at + 512] = bytes(512)
        if spoilt == log:
            continue  # the unused part of a page
        refusals += 1
        Path(f"{path}-wal").write_bytes(spoilt)
        with pytest.raises(DamagedError, match="would be lost") as refused:
            BenchFile.open(path)
        assert "-wal" in refused.value.next_step
        assert Path(f"{path}-wal").read_bytes() == spoilt, "the evidence was changed"
    assert refusals > 10


def test_every_bit_of_a_frame_is_found(tmp_path: Path, torn: tuple[bytes, bytes]) -> None:
    """Head of the log, head of a frame, and its page: one flipped bit is one flipped bit."""
    _, log = torn
    step = 24 + 4096
    dice = random.Random(5)
    last = 32 + ((len(log) - 32) // step - 1) * step
    chosen = [*range(32), *range(last, last + 24), *(last + 24 + dice.randrange(4096) for _ in range(60))]  # fmt: skip
    for at in chosen:
        spoilt = bytearray(log)
        spoilt[at] ^= 1 << dice.randrange(8)
        place = tmp_path / "x-wal"
        place.write_bytes(spoilt)
        assert damage_in(place) is not None, at


def test_logs_that_are_nothing_to_worry_about(tmp_path: Path, torn: tuple[bytes, bytes]) -> None:
    """None, an empty one, one of zeros, a whole one, and one with the rest of an older one behind it."""
    _, log = torn
    place = tmp_path / "x-wal"
    assert damage_in(place) is None
    for content in (b"", bytes(5000), log, log[: 32 + 3 * (24 + 4096)]):
        place.write_bytes(content)
        assert damage_in(place) is None


def test_a_log_begun_anew_over_an_older_one(tmp_path: Path) -> None:
    """After the log was folded into the file it begins anew with other salts; the rest of the old one stays."""
    path = tmp_path / "shed.aerode"
    BenchFile.create(path, title="x").close()
    with BenchFile.open(path) as bench:
        bench.put_all([Electrode(name=f"T{n}", note="x" * 900) for n in range(40)])
        _fold(path)
        bench.put(Electrode(name="new"))
        log = Path(f"{path}-wal").read_bytes()
        assert damage_in(Path(f"{path}-wal")) is None
        copy = Path(shutil.copy(path, tmp_path / "copy.aerode"))
        Path(f"{copy}-wal").write_bytes(log)
    with BenchFile.open(copy) as again:
        assert again.names(Electrode)[-1] == "new"


def _fold(path: Path) -> None:
    connection = sqlite3.connect(path)
    connection.execute("PRAGMA wal_checkpoint(RESTART)")
    connection.close()
