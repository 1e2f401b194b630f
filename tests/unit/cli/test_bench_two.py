"""Two benches and two states, as typed: what is shown, and the next step that is printed works."""

from __future__ import annotations

import shlex
import shutil
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from aerode.cli.console import run
from aerode.records.electrodes import Cell, Electrode
from aerode.store.bench_file import BenchFile

Typed = Callable[..., tuple[int, str, str]]


@pytest.fixture
def typed(capsys: pytest.CaptureFixture[str]) -> Typed:
    """Type `aerode bench …`; the answer is exit code, output and complaint."""

    def type_it(*arguments: str) -> tuple[int, str, str]:
        code = run(["bench", *arguments])
        said = capsys.readouterr()
        assert all(len(line) <= 100 for line in said.out.splitlines())
        return code, said.out, said.err

    return type_it


@pytest.fixture
def shed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    """A bench and `laptop.aerode`, a copy of it that was changed elsewhere, in the present folder."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("AERODE_BENCH", "shed.aerode")
    with BenchFile.create("shed.aerode", title="Net shed", who="Ida") as bench:
        bench.put_all([Electrode(name="T 1"), Electrode(name="T2")])
    shutil.copy("shed.aerode", "laptop.aerode")
    for path, who, note in (("shed.aerode", "Ida", "thin"), ("laptop.aerode", "Jon", "thick")):
        with BenchFile.open(path, who=who) as bench:
            bench.put(replace(bench.get(Electrode, "T 1"), note=note), why="looked")
    return "shed.aerode"


def test_merge_and_settle(typed: Typed, shed: str) -> None:
    """The conflict with both states and the field; the line that is printed ends it."""
    code, said, _ = typed("merge", "laptop.aerode")
    text = said.splitlines()
    assert code == 0
    assert text[0] == "Took in one new state of one record; 1 to be settled"
    assert "electrode T 1: 2 newest states" in text
    assert "by Jon (looked)" in said
    assert any(line in text for line in ("    note: thin | thick", "    note: thick | thin"))
    assert typed("settle")[1].splitlines()[0] == "One is to be settled"

    step = shlex.split(text[-1].removeprefix("Next: aerode bench "))
    code, said, _ = typed(*step)
    assert code == 0
    assert said.splitlines()[0].endswith("; 0 left")
    assert typed("settle")[1] == "None are to be settled\n"
    assert typed("show", "electrode", "T 1")[0] == 0


def test_settle_wants_a_record(typed: Typed, shed: str) -> None:
    """Exit 2 for wrong usage."""
    assert typed("settle", "--keep", "ab")[0] == 2
    assert typed("settle", "electrode", "T2", "--keep", "ab", "--take", "note")[0] == 2
    assert typed("settle", "electrode", "T2", "--keep", "ab")[0] == 1


def test_diff(typed: Typed, shed: str) -> None:
    """Of two states, and of two benches."""
    code, said, _ = typed("diff", "electrode", "T 1")
    assert (code, said.splitlines()[0]) == (0, "electrode T 1: one field differs")
    assert "  note: nothing -> thin" in said.splitlines()
    code, said, _ = typed("diff", "--with", "laptop.aerode")
    assert said.splitlines()[0] == "Records: 1 differ"
    assert "  note: thin -> thick" in said.splitlines()
    assert "1 only here, 1 only there" in said
    assert typed("diff")[0] == 2


def test_undo(typed: Typed, shed: str) -> None:
    """What is undone is said."""
    code, said, _ = typed("undo", "electrode", "T 1", "--why", "a slip")
    assert code == 0
    assert said.splitlines() == [
        "Undone: electrode T 1 stands as it did",
        "  note taken out: thin",
    ]
    assert "(a slip)" in typed("history", "electrode", "T 1")[1]


def test_undo_takes_nothing_off_that_others_rest_on(typed: Typed, shed: str) -> None:
    """Refused in the words of a removal, and the cell goes first; a look at the lists finds both still there."""
    with BenchFile.open(shed) as bench:
        bench.put(Cell(name="jar", electrode="T2"))
    code, _, complaint = typed("undo", "electrode", "T2")
    assert code == 1
    assert "cell jar rests on T2" in complaint
    assert "take off what rests on it first" in complaint
    assert typed("show", "electrode", "T2")[0] == 0
    assert typed("undo", "cell", "jar")[0] == 0
    assert typed("undo", "electrode", "T2")[0] == 0
