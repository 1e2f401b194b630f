"""Mixes of a folder told by amounts and shares: taken where they agree, refused with both figures where not."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from aerode.errors import RecordError
from aerode.records.mixes import WORKED_OUT, Mix
from aerode.store.bench_file import BenchFile
from aerode.usecases.bench_import import import_folder

if TYPE_CHECKING:
    from collections.abc import Generator
    from pathlib import Path

SHELF = """
[[powder]]
name = "char"
substance = "biochar"
function = "active carbon"
moisture = "0 %"
[[powder]]
name = "soot"
substance = "carbon black"
function = "conductor"
moisture = "0 %"
[[solution]]
name = "glue"
polymer = "PVB"
solids = "10 %"
plasticiser = "0 %"
"""
"""8 g of char, 1 g of soot and 10 g of glue are 10 g dry: 80, 10 and 10 %, by hand."""


@pytest.fixture
def bench(tmp_path: Path) -> Generator[BenchFile]:
    """An empty bench: the lots come with the mixes."""
    with BenchFile.create(tmp_path / "b.aerode", title="Shed") as made:
        yield made


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with its shelf and no mix yet."""
    place = tmp_path / "notes"
    place.mkdir()
    (place / "powders.toml").write_text(SHELF)
    return place


def _mix(folder: Path, portions: str, wanted: str) -> None:
    text = f'[[mix]]\nname = "M"\nportions = "{portions}"\nwanted = "{wanted}"\n'
    (folder / "mixes.toml").write_text(text)


def _grams(mix: Mix) -> dict[str, float]:
    return {p.of: round(1e3 * p.mass.value, 6) for p in mix.portions if p.mass is not None}


@pytest.mark.parametrize(
    ("portions", "wanted"),
    [
        ("char: 8 g", "soot: 10 %; glue: 10 %"),
        ("char: 8 g; soot: 1 g", "soot: 10 %; glue: 10 %"),
        ("char: 8 g; solution glue: 10 g", "char: rest; soot: 10 %; glue: 10 %"),
        ("char: 8 g; soot: 1 g; solution glue: 10 g", "soot: 10 %"),
    ],
)
def test_what_is_left_out_follows(bench: BenchFile, folder: Path, portions: str, wanted: str) -> None:  # fmt: skip
    """Some amounts and some shares make one mix, as on the page; a second import changes nothing."""
    _mix(folder, portions, wanted)
    import_folder(bench, folder)
    made = bench.get(Mix, "M")
    assert _grams(made) == {"char": 8.0, "soot": 1.0, "glue": 10.0}
    assert {s.of: round(s.fraction, 9) for s in made.wanted} == {"char": 0.8, "soot": 0.1, "glue": 0.1}  # fmt: skip
    told = [p.of for p in made.portions if p.mass is not None and p.mass.how == WORKED_OUT]
    assert all(of not in portions for of in told)
    assert "0 records new or changed" in import_folder(bench, folder).headline


def test_both_of_each_are_taken_within_what_is_weighed(bench: BenchFile, folder: Path) -> None:
    """78 % wanted and 80 % weighed is a brush: both are kept as they were typed."""
    _mix(folder, "char: 8 g; soot: 1 g; solution glue: 10 g", "char: 78 %; soot: 12 %; glue: 10 %")
    import_folder(bench, folder)
    assert bench.get(Mix, "M").wanted[0].fraction == pytest.approx(0.78)


@pytest.mark.parametrize(
    ("portions", "wanted", "told"),
    [
        ("char: 8 g; soot: 1 g; solution glue: 10 g", "char: 60 %; soot: 30 %; glue: 10 %",
         "char is 80 % of the dry coat by the amounts, and 60 % by its share"),
        ("char: 8 g; soot: 1 g; solution glue: 10 g", "soot: 30 %",
         "soot is 10 % of the dry coat by the amounts, and 30 % by its share"),
        ("char: 8 g; soot: 4 g", "soot: 10 %; glue: 10 %",
         "the amount of soot is 4 g dry, and its share of 10 % would be 1 g"),
    ],
)  # fmt: skip
def test_two_mixes_in_one_are_refused_with_both_figures(
    bench: BenchFile, folder: Path, portions: str, wanted: str, told: str
) -> None:
    """The sentence names what the amounts say and what the share says, at its line; nothing is stored."""
    _mix(folder, portions, wanted)
    with pytest.raises(RecordError) as refused:
        import_folder(bench, folder)
    (fault,) = refused.value.faults
    assert told in fault.what
    assert fault.field.startswith("mixes.toml, line 4, wanted")
    assert "where" in fault.allowed
    assert bench.count(Mix) == 0


def test_a_name_that_nobody_knows_is_told_once(bench: BenchFile, folder: Path) -> None:
    """What cannot be worked out for want of a lot is refused by the name of the lot alone."""
    _mix(folder, "char: 8 g; chalk: 2 g", "soot: 10 %")
    with pytest.raises(RecordError) as refused:
        import_folder(bench, folder)
    assert [fault.what for fault in refused.value.faults] == ["no powder is called 'chalk'"]
