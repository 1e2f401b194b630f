"""The published checksum: computed again by other programs, and it holds against later states."""

from __future__ import annotations

import shutil
import sqlite3
import subprocess
from dataclasses import replace
from pathlib import Path

import pytest

from aerode.cli.console import run
from aerode.errors import DamagedError, InputError, StoreError
from aerode.records.electrodes import Electrode
from aerode.records.materials import SolventLot
from aerode.records.places import Claim
from aerode.records.runs import Reading, Run
from aerode.store.bench_file import BenchFile
from aerode.usecases.bench_digest import digest
from aerode.usecases.bench_export import export
from aerode.usecases.bench_package import import_package


@pytest.fixture
def shed(tmp_path: Path) -> Path:
    """A claim, its data, and a bottle that does not count."""
    path = tmp_path / "shed.aerode"
    with BenchFile.create(path, title="Net shed") as bench:
        bench.put_all([Claim(name="less binder", question="?"), Electrode(name="T1")])
        bench.put(Run(name="r1", electrode="T1", readings=(Reading(voltage=0.7),)))
        bench.append("log", {"at": [1.0]})
        bench.put(SolventLot(name="b", substance="ethanol"))
        bench.keep(b"raw log", media="text/plain")
    return path


def test_computed_by_other_programs(shed: Path, tmp_path: Path) -> None:
    """The question put to the database by a bare reader, through the system's own sha256sum."""
    with BenchFile.open(shed, read_only=True) as bench:
        answer = digest(bench, list_to=tmp_path / "list.txt")
    connection = sqlite3.connect(shed)
    rows = "".join(f"{row[0]}\n" for row in connection.execute(answer.sql))
    connection.close()

    assert rows == (tmp_path / "list.txt").read_text("ascii")
    tool = shutil.which("sha256sum") or shutil.which("shasum")
    assert tool
    options = ["-a", "256"] if tool.endswith("shasum") else []
    done = subprocess.run(
        [tool, *options, tmp_path / "list.txt"], capture_output=True, text=True, check=True
    )
    assert done.stdout.split()[0] == answer.checksum
    assert answer.counts == {
        "claim": 1, "electrode": 1, "files": 1, "run": 1, "series chunks": 1
    }  # fmt: skip
    assert answer.headline == f"{answer.checksum} (5 entries)"


def test_it_holds_against_later_states(shed: Path, tmp_path: Path) -> None:
    """The old list is all there; the old line gives the old checksum; the new checksum is another."""
    with BenchFile.open(shed) as bench:
        old = digest(bench, list_to=tmp_path / "list.txt")
        bench.put(replace(bench.get(Run, "r1"), note="later"))
        new = digest(bench)
        assert new.checksum != old.checksum
        assert digest(bench, line=old.line, against=old.checksum).agrees
        assert digest(bench, against=tmp_path / "list.txt").agrees
        assert digest(bench, against=old.checksum).agrees is False
        export(bench, tmp_path / "out.zip")
    import_package(tmp_path / "again.aerode", tmp_path / "out.zip")
    with BenchFile.open(tmp_path / "again.aerode") as bench:
        assert digest(bench).checksum == new.checksum


def test_a_changed_claim_is_found_out(shed: Path, tmp_path: Path) -> None:
    """A bench on which the margin was made smaller after the fact does not hold the old list."""
    with BenchFile.open(shed) as bench:
        digest(bench, list_to=tmp_path / "list.txt")
    with BenchFile.create(tmp_path / "forged.aerode", title="Net shed") as forged:
        forged.put(Claim(name="less binder", question="?", margin=1.01))
        answer = digest(forged, against=tmp_path / "list.txt")
    assert answer.agrees is False
    assert len(answer.missing) == 5


def test_refusals(shed: Path, tmp_path: Path) -> None:
    """A damaged row, a line that is not there, a list that is none, a file that would be lost."""
    (tmp_path / "mine.txt").write_text("mine")
    with BenchFile.open(shed) as bench:
        with pytest.raises(InputError, match="no line 99"):
            digest(bench, line=99)
        with pytest.raises(InputError, match="no list of digests"):
            digest(bench, against=tmp_path / "mine.txt")
        with pytest.raises(InputError, match="cannot be read"):
            digest(bench, against=tmp_path / "nowhere.txt")
        with pytest.raises(StoreError, match="there already"):
            digest(bench, list_to=tmp_path / "mine.txt")
    connection = sqlite3.connect(shed)
    connection.execute("DROP TRIGGER revision_no_update")
    connection.execute("UPDATE revision SET doc = replace(doc, '0.7', '0.8')")
    connection.commit()
    connection.close()
    with BenchFile.open(shed) as bench, pytest.raises(DamagedError, match="r1"):
        digest(bench)


def test_as_typed(shed: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The checksum is the first word; exit 1 where an earlier one does not agree."""
    assert run(["bench", "digest", "--list", str(tmp_path / "l.txt"), "-b", str(shed)]) == 0
    said = capsys.readouterr().out.splitlines()
    assert len(said[0].split()[0]) == 64
    assert all(len(line) <= 80 for line in said[1:])
    assert run(["bench", "digest", "--against", str(tmp_path / "l.txt"), "-b", str(shed)]) == 0
    assert run(["bench", "digest", "--against", "0" * 64, "-b", str(shed)]) == 1
