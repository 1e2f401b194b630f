"""The page "set up your own bench": its files import as they stand, and its commands do what it says."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest

from aerode.cli.console import run
from aerode.records.electrodes import Cell, Electrode
from aerode.records.instruments import Instrument, Sort
from aerode.records.mixes import Batch, Mix
from aerode.records.places import Room
from aerode.store.bench_file import BenchFile

ROOT = Path(__file__).resolve().parents[2]
PAGE = (ROOT / "docs/how-to/own-bench.md").read_text("utf-8")
INSTALL = (ROOT / "docs/how-to/install.md").read_text("utf-8")


def _files() -> dict[str, str]:
    """Each file of the page: its name alone on a line, then an indented block."""
    found = re.findall(r"^`([\w.]+\.(?:toml|csv))`\n\n((?:(?: {4}.*)?\n)+)", PAGE, re.MULTILINE)
    return {
        name: re.sub(r"^ {4}", "", block, flags=re.MULTILINE).strip() + "\n"
        for name, block in found
    }


def _commands() -> list[list[str]]:
    return [shlex.split(line)[1:] for line in re.findall(r"^ {4}(aerode .*)$", PAGE, re.MULTILINE)]


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder of the page, and the commands run beside it."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "my-bench").mkdir()
    for name, text in _files().items():
        (tmp_path / "my-bench" / name).write_text(text, encoding="utf-8")
    return tmp_path


def test_every_file_and_command_of_the_page_is_found() -> None:
    """The page is read as a person would: nine files and more, and the commands in their order."""
    assert set(_files()) == {
        "bench.toml", "instruments.toml", "instruments.csv", "powders.csv", "solutions.toml", "mixes.csv",
        "batches.csv", "electrodes.csv", "cells.csv", "rooms.toml",
    }  # fmt: skip
    assert [words[:2] for words in _commands()][:2] == [["bench", "new"], ["bench", "import"]]
    assert len(_commands()) == 8


def test_all_commands_do_what_the_page_says(
    place: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """One after the other, none is refused."""
    for words in _commands():
        code = run(words)
        told = capsys.readouterr()
        assert code == 0, (words, told.out, told.err)
    with BenchFile.open(place / "bench.aerode", read_only=True) as bench:
        assert len([i for i in bench.all(Instrument) if i.sort is Sort.RESISTOR]) == 5
        assert [b.made for b in bench.all(Batch)] == ["2025-05-03", "2025-05-03", "2025-05-10"]
        assert len(bench.all(Cell)) == 5
        assert bench.get(Room, "shed").volume is not None
        assert bench.get(Mix, "binder 15").wanted
        pieces = {e.name: e for e in bench.all(Electrode)}
    assert pieces["T1 washed"].piece == pieces["T1"].piece == "T1"
    assert pieces["T3"].piece != pieces["T1"].piece
    assert pieces["T3"].recipe == pieces["T1"].recipe
    assert pieces["C0"].control


def test_a_shared_build_of_two_recipes_is_refused_as_the_page_says(
    place: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Same build, other recipe: told with the place."""
    file = place / "my-bench" / "electrodes.csv"
    text = file.read_text(encoding="utf-8").replace(
        "T1 washed,T1,b10,10 %", "T1 washed,T1,b20,20 %"
    )
    file.write_text(text, encoding="utf-8")
    assert run(["bench", "new", "bench.aerode", "--title", "x"]) == 0
    assert run(["bench", "import", "my-bench"]) == 1
    assert "share build 'T1' but differ in recipe" in " ".join(capsys.readouterr().err.split())


def test_installing_is_told_for_the_three_systems() -> None:
    """Lines for each system, and every extra that the project has and a user may want."""
    for system in ("## Windows", "## macOS", "## Linux"):
        assert system in INSTALL
    assert r".venv\Scripts\python -m pip install ." in INSTALL
    assert ".venv/bin/python -m pip install ." in INSTALL
    declared = (ROOT / "pyproject.toml").read_text("utf-8")
    for extra in re.findall(r'"\.\[(\w+)\]"', INSTALL):
        assert re.search(rf"^{extra} = \[", declared, re.MULTILINE), extra
