"""Copies and packages of a bench, as typed: what is printed, in which order, with which exit code."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from aerode.cli.console import run
from aerode.records.electrodes import Electrode
from aerode.store.bench_file import BenchFile

Typed = Callable[..., tuple[int, str, str]]


@pytest.fixture
def typed(capsys: pytest.CaptureFixture[str]) -> Typed:
    """Type `aerode bench …`; the answer is exit code, output and complaint."""

    def type_it(*arguments: str) -> tuple[int, str, str]:
        code = run(["bench", *arguments])
        said = capsys.readouterr()
        for line in said.out.splitlines() if "--json" not in arguments else ():
            assert len(line) <= 100 + len(str(Path.cwd())), line
        return code, said.out, said.err

    return type_it


@pytest.fixture
def shed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    """A bench with two electrodes in the present folder."""
    monkeypatch.chdir(tmp_path)
    with BenchFile.create("shed.aerode", title="Net shed", who="Ida") as bench:
        bench.put_all([Electrode(name="T1", note="thick"), Electrode(name="T2")])
    return "shed.aerode"


def test_backup_list_restore(typed: Typed, shed: str) -> None:
    """One line says what was done; the rule of keeping is printed; what stood there is named."""
    code, said, _ = typed("backup", "-b", shed)
    assert code == 0
    assert said.startswith("Backed up and checked: 3 states in shed-")
    assert "the newest 5" in said

    code, said, _ = typed("backup", "--list", "-b", shed)
    assert said.startswith("one backup of shed.aerode, the newest of 20")

    with BenchFile.open(shed) as bench:
        bench.put(Electrode(name="T3"))
    code, said, _ = typed("restore", "-b", shed)
    assert code == 0
    assert said.startswith("Put back and checked: 3 states from shed-")
    assert "Kept aside: shed.kept-" in said
    assert "aerode bench merge shed.kept-" in said.replace("\n  ", " ")


def test_check_names_the_newest_good_copy(typed: Typed, shed: str) -> None:
    """Exit 1, and the way out."""
    typed("backup", "-b", shed)
    Path(shed).write_bytes(b"spilled coffee")

    code, said, _ = typed("check", "-b", shed)

    assert code == 1
    assert "Newest good copy: shed.backups/shed-" in said
    assert json.loads(typed("check", "-b", shed, "--json")[1])["newest_good_copy"].endswith(
        ".aerode"
    )
    assert typed("restore", "-b", shed)[0] == 0
    assert typed("check", "-b", shed)[0] == 0


def test_migrate_where_nothing_is_to_do(typed: Typed, shed: str) -> None:
    """Said in one line."""
    code, said, _ = typed("migrate", "-b", shed)

    assert code == 0
    assert said.startswith("Nothing to do")


def test_export_and_import(typed: Typed, shed: str) -> None:
    """Out whole, in where nothing is; withheld fields are counted; nothing is written over."""
    code, said, _ = typed("export", "shed.zip", "-b", shed)
    assert (code, said.splitlines()[0]) == (0, "Exported 3 states to shed.zip")
    code, said, _ = typed("import", "shed.zip", "-b", "new.aerode")
    assert (code, said.splitlines()[0]) == (0, "Made new.aerode from the package: 3 states")
    assert typed("export", "shed.zip", "-b", shed)[0] == 1

    code, said, _ = typed("export", "part", "--withhold", "who,note", "-b", shed)
    assert "cannot be put back as a bench" in said
    assert "Withheld: who (3), note (1); marked in 3 states" in said
    code, _, complaint = typed("import", "part", "-b", "new.aerode")
    assert code == 1
    assert "not whole" in complaint


def test_an_edited_table(typed: Typed, shed: str) -> None:
    """A preview says what would change; the import says what did."""
    typed("export", "out", "-b", shed)
    table = Path("out/tables/electrodes.csv")
    table.write_text(table.read_text("utf-8").replace("thick", "thin"), "utf-8")

    code, said, _ = typed("import", str(table), "--preview", "-b", shed)
    assert said.splitlines()[0] == "Would change one record; 1 as before"
    assert "    note: thick -> thin" in said
    assert "Nothing was stored" in said
    code, said, _ = typed("import", str(table), "-b", shed)
    assert (code, said.splitlines()[0]) == (0, "Changed one record; 1 as before")
    assert "note: thick -> thin" in typed("history", "electrode", "T1", "-b", shed)[1]
