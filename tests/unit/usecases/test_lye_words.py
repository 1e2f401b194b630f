"""The usual words stand before lye is weighed and before a dish of solvent is dried."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from aerode.records.materials import Electrolyte
from aerode.store.bench_file import BenchFile
from aerode.usecases.lye_words import (
    LYE_WORDS,
    WET_SOLVENT_WORDS,
    is_lye,
    words_before,
    words_before_wetting,
)
from aerode.usecases.usual_words import BEFORE_MEASURING

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[BenchFile]:
    """Salt water only."""
    with BenchFile.create(tmp_path / "shed.aerode", title="Net shed") as made:
        made.put(Electrolyte(name="brine", salt="NaCl"))
        yield made


@pytest.mark.parametrize(
    ("salt", "lye"),
    [
        ("KOH", True), ("caustic soda", True), ("1310-58-3", True), ("KOH, flakes", True), ("drain cleaner", True),
        ("NaCl", False), ("sea water", False), ("lyes of the sea", False), ("", False),
    ],
)  # fmt: skip
def test_lye_is_known_by_any_of_its_names(salt: str, lye: bool) -> None:
    """By name, alias, CAS number, or a word beside others."""
    assert is_lye(salt) is lye


def test_the_words_on_lye_name_every_act() -> None:
    """Goggles, water first, heat, aluminium, the vessel."""
    told = " ".join(LYE_WORDS)
    for word in ("goggles", "gloves", "never water onto lye", "heats up", "aluminium", "Plastic"):
        assert word in told


def test_an_electrolyte_is_lye_until_it_is_said_to_be_salt(bench: BenchFile) -> None:
    """Not yet typed or lye: the words; salt: none."""
    assert words_before(bench, "electrolyte", {}) == LYE_WORDS
    assert words_before(bench, "electrolyte", {"salt": "NaOH"}) == LYE_WORDS
    assert words_before(bench, "electrolyte", {"salt": "NaCl"}) == ()


def test_a_cell_of_lye_says_them(bench: BenchFile) -> None:
    """By its electrolyte; where none is said, if there is lye on the bench."""
    assert words_before(bench, "cell", {}) == ()
    bench.put(Electrolyte(name="strong", salt="KOH"))
    assert words_before(bench, "cell", {}) == LYE_WORDS
    assert words_before(bench, "cell", {"electrolyte": "strong"}) == LYE_WORDS
    assert words_before(bench, "cell", {"electrolyte": "brine"}) == ()


def test_a_cell_is_told_of_hydrogen_before_it_is_wetted(bench: BenchFile) -> None:
    """Whatever fills it; of lye once, in these words or in those on lye."""
    assert words_before_wetting(bench, {}) == BEFORE_MEASURING
    salt = words_before_wetting(bench, {"electrolyte": "brine"})
    assert salt == (BEFORE_MEASURING[0], BEFORE_MEASURING[2])
    bench.put(Electrolyte(name="strong", salt="KOH"))
    assert words_before_wetting(bench, {}) == salt


def test_a_solution_says_how_its_dishes_are_dried(bench: BenchFile) -> None:
    """Vapour and fire; other kinds say nothing."""
    assert words_before(bench, "solution", {}) == WET_SOLVENT_WORDS
    assert "no flame" in WET_SOLVENT_WORDS[0]
    assert words_before(bench, "powder", {}) == ()
