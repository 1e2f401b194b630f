"""The page on the bench folder: its examples can be imported as they stand there."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from aerode.records.electrodes import Electrode
from aerode.records.materials import PowderLot, Solution
from aerode.records.runs import Run
from aerode.store.bench_file import BenchFile
from aerode.usecases.bench_fields import plain_record
from aerode.usecases.bench_folder import STEMS
from aerode.usecases.bench_import import import_folder

PAGE = (Path(__file__).resolve().parents[3] / "docs/how-to/bench-folder.md").read_text("utf-8")


def _blocks() -> list[str]:
    """The indented blocks of the page."""
    found = re.findall(r"(?:^ {4}.*\n(?:\n(?= {4}))?)+", PAGE, re.MULTILINE)
    return [re.sub(r"^ {4}", "", block, flags=re.MULTILINE) for block in found]


def _block(start: str) -> str:
    return next(block for block in _blocks() if block.startswith(start))


def test_the_examples_import(tmp_path: Path) -> None:
    """Table, TOML, run and readings of the page, with what they name."""
    folder = tmp_path / "my-folder"
    (folder / "runs").mkdir(parents=True)
    run, readings = _block('cell = "cell T1"').split("\n\n")
    (folder / "electrodes.csv").write_text(_block("name;recipe"), encoding="utf-8")
    (folder / "powders.toml").write_text(_block("[[powder]]"), encoding="utf-8")
    (folder / "runs/T1.toml").write_text(run, encoding="utf-8")
    (folder / "runs/T1.csv").write_text(readings, encoding="utf-8")
    (folder / "cells.csv").write_text("name,electrode\ncell T1,T1\n")
    (folder / "instruments.csv").write_text("name,sort\nR15,resistor\nmeter 1,multimeter\n")

    with BenchFile.create(tmp_path / "shed.aerode", title="Net shed") as bench:
        import_folder(bench, folder)
        assert [one.name for one in bench.all(Electrode)] == ["T1", "T2"]
        assert len(bench.get(Electrode, "T1").thickness) == 3
        assert bench.get(PowderLot, "biochar A").price is not None
        assert len(bench.get(Solution, "PVB").dishes) == 1
        assert [r.load for r in bench.get(Run, "T1").readings] == ["open", "R15"]


@pytest.mark.parametrize("stem", STEMS)
def test_every_file_is_described(stem: str) -> None:
    """Each file name that is taken stands on the page."""
    assert f"`{stem}`" in PAGE or f"`{stem}.toml`" in PAGE


def test_the_written_values_are_taken() -> None:
    """Every way of writing an area or a condition that the page shows."""
    areas = [t for t in re.findall(r"`([^`]*cm\^2[^`]*)`", PAGE) if re.match(r"[\d.]+ (cm|±)", t)]
    assert len(areas) >= 4
    for text in areas:
        assert plain_record(Electrode, {"name": "T", "wetted_area": text})[1] == [], text
    for text in ("measured 23.4 °C", "23.4 °C (phone)", "same", "may differ"):
        assert f"`{text}`" in PAGE
        assert plain_record(Run, {"name": "r", "temperature": text})[1] == []
