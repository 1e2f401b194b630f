"""Looking at a bench file never lets go of a lock on it: other programs still see that it is open."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
from typing import TYPE_CHECKING

import pytest

from aerode.records.electrodes import Electrode
from aerode.store import file_heads
from aerode.store.bench_file import BenchFile
from aerode.store.file_heads import head_of

if TYPE_CHECKING:
    from pathlib import Path

PROBE = """
import fcntl, sys
with open(sys.argv[1], "r+b") as file:
    try:
        fcntl.lockf(file, fcntl.LOCK_EX | fcntl.LOCK_NB, 510, 0x40000002)
    except OSError:
        print("open")
    else:
        print("closed")
"""
"""Another process asks for the bytes by which SQLite says that somebody reads a database."""


def _seen(path: Path) -> str:
    done = subprocess.run([sys.executable, "-c", PROBE, str(path)], capture_output=True, text=True, check=True)  # fmt: skip
    return done.stdout.strip()


@pytest.mark.skipif(os.name == "nt", reason="locks belong to the handle there")
def test_a_second_opening_does_not_drop_the_lock_of_the_first(tmp_path: Path) -> None:
    """Two requests of one program: the other one opens, looks and closes while the first is at work."""
    path = tmp_path / "shed.aerode"
    BenchFile.create(path, title="x").close()
    with BenchFile.open(path) as first:
        first.put(Electrode(name="T1"))
        assert _seen(path) == "open"
        BenchFile.open(path).close()
        other = threading.Thread(target=lambda: BenchFile.open(path, read_only=True).close())
        other.start()
        other.join()
        assert _seen(path) == "open"
        first.put(Electrode(name="T2"))
    assert _seen(path) == "closed"


def test_the_head_is_that_of_the_file_that_bears_the_name_now(tmp_path: Path) -> None:
    """Replaced, grown, cut short or gone: never the head of an earlier file; and no handle is kept for nothing."""
    path, other = tmp_path / "a", tmp_path / "b"
    path.write_bytes(b"first" * 50)
    assert head_of(path) == (b"first" * 20)
    other.write_bytes(b"second")
    other.replace(path)
    assert head_of(path) == b"second"
    path.write_bytes(b"third")
    assert head_of(path) == b"third"
    path.unlink()
    with pytest.raises(FileNotFoundError):
        head_of(path)
    kept = [handle for handle in file_heads._handles.values() if os.fstat(handle).st_nlink == 0]
    assert kept == []


def test_only_so_many_handles_are_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The file looked at longest ago gives way."""
    monkeypatch.setattr(file_heads, "_MOST", 3)
    monkeypatch.setattr(file_heads, "_handles", type(file_heads._handles)())
    for n in range(6):
        place = tmp_path / str(n)
        place.write_bytes(str(n).encode())
        assert head_of(place) == str(n).encode()

    assert len(file_heads._handles) <= 3
    for handle in file_heads._handles.values():
        os.close(handle)
