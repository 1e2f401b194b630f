"""Where a bench lies: a disk that is really full, read-only files, locks, network shares."""

from __future__ import annotations

import json
import shutil
import sqlite3
import subprocess
import sys
import textwrap
from pathlib import Path

import pytest

from aerode.errors import BusyError, StoreError
from aerode.records.electrodes import Electrode
from aerode.store import shares
from aerode.store.bench_file import BenchFile


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A closed bench with an electrode on it, made once."""
    place = tmp_path_factory.mktemp("filled") / "shed.aerode"
    with BenchFile.create(place, title="Net shed") as bench:
        bench.put(Electrode(name="T0"))
    return place


@pytest.fixture
def path(filled: Path, tmp_path: Path) -> Path:
    """A copy of it."""
    return Path(shutil.copy(filled, tmp_path / "shed.aerode"))


FILLING = """
    import json, resource, signal, sys
    from pathlib import Path
    from aerode.errors import AerodeError
    from aerode.records.electrodes import Electrode
    from aerode.records.runs import Run
    from aerode.store.bench_file import BenchFile
    from aerode.store.series import put_logged
    from aerode.store.series_spool import SeriesSpool

    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)  # a file that may not grow answers like a full disk
    path, hard = Path(sys.argv[1]), resource.getrlimit(resource.RLIMIT_FSIZE)[1]
    told, refused = [], []
    with BenchFile.open(path) as bench:
        for n, limit in enumerate(range(60_000, 190_000, 3_000)):
            resource.setrlimit(resource.RLIMIT_FSIZE, (limit, hard))
            try:
                bench.put_all([Electrode(name=f"T{n}.{k}", note="x" * 300) for k in range(4)])
                told += [f"T{n}.{k}" for k in range(4)]
            except AerodeError as error:
                refused.append(type(error).__name__)
    resource.setrlimit(resource.RLIMIT_FSIZE, (40_000, hard))
    try:
        with SeriesSpool(1000) as spool:
            spool.add({"a": [0.1 * k % 0.7 + 1e-13 * k for k in range(90_000)]})
        spooled = "taken"
    except AerodeError as error:
        spooled = error.what
    resource.setrlimit(resource.RLIMIT_FSIZE, (hard, hard))
    with BenchFile.open(path) as bench:
        bench.put(Electrode(name="after"))
        there, whole = bench.names(Electrode), bench.check().whole
    print(json.dumps({"told": told, "refused": refused, "there": there, "whole": whole, "spooled": spooled}))
"""


def test_a_disk_that_fills_up(path: Path) -> None:
    """The file may grow to a limit that rises step by step: batches go in whole or not at all."""
    ran = subprocess.run(
        [sys.executable, "-c", textwrap.dedent(FILLING), str(path)],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert ran.returncode == 0, ran.stderr
    answer = json.loads(ran.stdout)

    assert answer["refused"]
    assert set(answer["refused"]) == {"StoreError"}
    assert answer["told"]
    assert set(answer["told"]) <= set(answer["there"])
    batches = {name.split(".")[0] for name in answer["there"] if "." in name}
    assert len(answer["there"]) == 4 * len(batches) + 2, "a batch is there in part"
    assert answer["whole"]
    assert "wait to be confirmed cannot be written" in answer["spooled"]


def test_a_file_held_by_another_program(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """One that locks the whole file: reading and writing are refused after a bounded wait, then work."""
    monkeypatch.setattr("aerode.store.connecting.BUSY_WAIT", 0.01)
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("PRAGMA locking_mode=EXCLUSIVE")
    other.execute("BEGIN EXCLUSIVE")

    for read_only in (False, True):
        with pytest.raises(BusyError):
            BenchFile.open(path, read_only=read_only)
    other.execute("ROLLBACK")
    other.close()
    with BenchFile.open(path) as bench:
        bench.put(Electrode(name="T1"))


MOUNTS = """\
/dev/sda1 / ext4 rw,relatime 0 0
tmpfs /tmp tmpfs rw 0 0
nas:/benches /lab nfs4 rw,vers=4.2 0 0
//box/club /media/club\\040share cifs rw 0 0
anna@host:/home /home/anna/far fuse.sshfs rw 0 0
/dev/sdb1 /lab/local ext4 rw 0 0
"""


@pytest.mark.parametrize(
    ("folder", "kind"),
    [
        ("/lab", "nfs4"), ("/lab/a/b", "nfs4"), ("/lab/local/a", ""), ("/laboratory", ""),
        ("/media/club share/x", "cifs"), ("/home/anna/far", "fuse.sshfs"), ("/home/anna", ""),
        ("/tmp/x", ""), ("/", ""),
    ],
)  # fmt: skip
def test_a_network_share_is_known(folder: str, kind: str) -> None:
    """By the file system of the nearest mount above the folder."""
    assert kind == shares._mounted(folder, MOUNTS)  # pyright: ignore[reportPrivateUsage]


def test_a_network_share_is_refused_with_a_reason(
    path: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """For making and for writing; reading what lies there is possible."""
    mounts = tmp_path / "mounts"
    mounts.write_text(f"nas:/x {path.parent.resolve()} nfs4 rw 0 0\n/dev/sda1 / ext4 rw 0 0\n")
    monkeypatch.setattr(shares, "_MOUNTS", mounts)

    for act in (
        lambda: BenchFile.open(path),
        lambda: BenchFile.create(tmp_path / "new.aerode", title="x"),
    ):
        with pytest.raises(StoreError, match=r"network share \(nfs4\)") as refused:
            act()
        assert "disk of this machine" in refused.value.allowed
        assert "PostgreSQL" in refused.value.next_step
    assert not (tmp_path / "new.aerode").exists()
    with BenchFile.open(path, read_only=True) as bench:
        assert bench.names(Electrode) == ["T0"]


def test_a_machine_that_does_not_tell(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Without a list of mounts nothing is refused: the log then shows whether the place can keep one."""
    monkeypatch.setattr(shares, "_MOUNTS", tmp_path / "missing")
    assert shares.share_of(tmp_path / "a.aerode") == ""


def test_a_path_on_another_machine_is_a_share_on_windows() -> None:
    """Two backslashes in front."""
    assert shares._share_on_windows(r"\\box\club\a.aerode")  # pyright: ignore[reportPrivateUsage]
