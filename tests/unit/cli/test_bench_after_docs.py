"""The page on looking after a bench: its lines can be typed as they stand there, in their order."""

from __future__ import annotations

import re
import shlex
import shutil
from dataclasses import replace
from pathlib import Path

import pytest
from PIL import Image

from aerode.cli.bench import command
from aerode.cli.console import run
from aerode.records.electrodes import Electrode
from aerode.records.instruments import Instrument
from aerode.records.materials import PowderLot, Solution, SolventLot
from aerode.records.places import Bench, Room
from aerode.store.bench_file import BenchFile
from aerode.store.rotation import RULE
from aerode.virtual.tern_sound import draw

ROOT = Path(__file__).resolve().parents[3]
PAGE = (ROOT / "docs/how-to/look-after-your-bench.md").read_text("utf-8")
LINES = re.findall(r"^ {4}aerode (.+)$", PAGE, re.MULTILINE)


def test_every_line_can_be_typed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """On the invented bench, with a laptop that changed T3 too; each line ends with exit code 0."""
    monkeypatch.chdir(tmp_path)
    with BenchFile.create("shed.aerode", title="Net shed") as bench:
        bench.put_all([one for one in draw(1).records if not isinstance(one, Bench)])
        bench.put(replace(bench.get(Electrode, "T2"), note="thin"))
    shutil.copy("shed.aerode", "laptop.aerode")
    with BenchFile.create("mine.aerode", title="Garage") as bench:
        shelf = (PowderLot, Solution, SolventLot, Room, Instrument)
        bench.put_all([one for one in draw(2).records if isinstance(one, shelf)])
    for path in ("shed.aerode", "laptop.aerode"):
        with BenchFile.open(path) as bench:
            bench.put(replace(bench.get(Electrode, "T3"), note=path))
    Image.new("RGB", (8, 8)).save("leak.jpg")
    for line in LINES:
        words = shlex.split(line.replace("/media/stick", str(tmp_path / "stick")))
        if "--keep" in words:
            words = _with_states(words)
        assert run(words) == 0, (line, capsys.readouterr())


def _with_states(words: list[str]) -> list[str]:
    """The line with digests of this bench in the place of those of the page."""
    with BenchFile.open("shed.aerode", read_only=True) as bench:
        first, second = (entry.digest for entry in bench.conflicts()[0])
    return [word.replace("4f2a", first).replace("91bc", second) for word in words]


def test_every_verb_of_the_bench_has_its_page() -> None:
    """Each stands in a how-to page."""
    pages = "".join(path.read_text("utf-8") for path in (ROOT / "docs/how-to").glob("*.md"))
    for verb in command.commands:
        if verb != "history":
            assert f"aerode bench {verb}" in pages, verb


def test_the_rule_of_keeping_is_the_one_in_use() -> None:
    """The page on the bench file says what the program does."""
    page = " ".join((ROOT / "docs/explanation/bench-file.md").read_text("utf-8").split())
    numbers = re.findall(r"\d+", RULE)
    assert "Kept are the newest {}, the last one of each of the newest {} days, {} weeks and {} months".format(*numbers) in page  # fmt: skip
