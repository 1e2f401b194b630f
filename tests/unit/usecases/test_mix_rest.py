"""A share that is the rest stays the rest: through forms, texts, folders and the history."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from aerode.records.marks import Entry, Share
from aerode.records.materials import Function, PowderLot, Solution
from aerode.records.mixes import Mix
from aerode.store.bench_file import BenchFile
from aerode.store.package_in import take_in_package
from aerode.usecases.bench_export import export
from aerode.usecases.bench_import import import_folder
from aerode.usecases.bench_write_folder import write_folder
from aerode.usecases.entering import enter, texts_of
from aerode.usecases.mix import new_mix
from aerode.usecases.mix_preview_keep import keep_mix
from aerode.usecases.mix_preview_plan import goes_in, planned_words
from aerode.usecases.mix_preview_rows import MixRow, TypedMix, read_mix, typed_mix

if TYPE_CHECKING:
    from collections.abc import Generator
    from pathlib import Path

SHELF = (
    PowderLot(name="char", substance="biochar", function=Function.ACTIVE_CARBON, moisture=Entry(value=0.0)),
    PowderLot(name="soot", substance="carbon black", function=Function.CONDUCTOR, moisture=Entry(value=0.0)),
    Solution(
        name="jar", polymer="PVB", function=Function.BINDER, solids=Entry(value=0.1), plasticiser=Entry(value=0.0),
        liquid=(Share(of="ethanol", fraction=1.0),),
    ),
)  # fmt: skip


@pytest.fixture
def bench(tmp_path: Path) -> Generator[BenchFile]:
    """A shelf of two dry powders and a binder of 10 % solids."""
    with BenchFile.create(tmp_path / "b.aerode", title="Shed") as made:
        made.put_all(SHELF)
        yield made


def _grams(mix: Mix | None) -> dict[str, float]:
    assert mix is not None
    return {p.of: round(1e3 * p.mass.value, 9) for p in mix.portions if p.mass is not None}


def _shares(mix: Mix) -> dict[str, float]:
    return {s.of: round(s.fraction, 9) for s in mix.wanted}


def test_a_rest_gives_way_in_a_copy(bench: BenchFile) -> None:
    """15 % become 20 %, and the rest of 85 % becomes 80 % without anybody's arithmetic."""
    new_mix(bench, "T5", wanted=["char=rest", "jar=15 %"])
    form = typed_mix(bench.get(Mix, "T5"))
    assert form.rows == (MixRow(of="char", share="rest"), MixRow(of="jar", share="15 %"))

    changed = replace(form, name="T6", rows=(form.rows[0], replace(form.rows[1], share="20 %")))
    assert keep_mix(bench, changed).record is not None

    assert _shares(bench.get(Mix, "T6")) == {"char": 0.8, "jar": 0.2}
    assert bench.get(Mix, "T6").rest == ("char",)


def test_an_amount_and_a_share_in_a_form_and_its_copy(bench: BenchFile) -> None:
    """8.5 g beside 15 %: 1.5 g dry are 15 g of the jar; in the copy 10 g and 20 % make 2.5 g dry."""
    rows = (MixRow(of="char", amount="8.5 g"), MixRow(of="jar", share="15 %"))
    stored = keep_mix(bench, TypedMix(name="T5", rows=rows)).record
    assert isinstance(stored, Mix)
    assert _grams(stored) == {"char": 8.5, "jar": 15.0}

    form = typed_mix(stored)
    assert form.rows == (MixRow(of="char", amount="8.5 g", share="rest"), MixRow(of="jar", share="15 %"))  # fmt: skip
    changed = replace(form, rows=(MixRow(of="char", amount="10 g", share="rest"), MixRow(of="jar", share="20 %")))  # fmt: skip
    assert _grams(read_mix(bench, changed).mix) == {"char": 10.0, "jar": 25.0}


def test_two_amounts_show_no_share_in_the_form(bench: BenchFile) -> None:
    """They divide what the share leaves; a changed share asks for no arithmetic."""
    new_mix(bench, "T5", portions=["char=6 g", "soot=2 g"], wanted=["jar=20 %"])
    form = typed_mix(bench.get(Mix, "T5"))

    assert {(row.of, row.amount, row.share) for row in form.rows} == {
        ("char", "6 g", ""), ("soot", "2 g", ""), ("jar", "", "20 %"),
    }  # fmt: skip
    rows = tuple(replace(r, share="50 %") if r.of == "jar" else r for r in form.rows)
    assert _grams(read_mix(bench, replace(form, rows=rows)).mix) == {"char": 6.0, "soot": 2.0, "jar": 80.0}  # fmt: skip


def test_what_follows_is_told_as_such(bench: BenchFile) -> None:
    """The amount that nobody typed is marked, and the form of a pot says it."""
    new_mix(bench, "T5", portions=["char=8.5 g"], wanted=["jar=15 %"])
    mix = bench.get(Mix, "T5")

    assert [(one.of, one.amount, one.follows) for one in goes_in(mix)] == [
        ("char", "8.5 g", False), ("jar", "15 g", True),
    ]  # fmt: skip
    assert planned_words(mix) == {"char": "the mix says 8.5 g", "jar": "the mix says 15 g"}


def test_a_fault_stands_at_its_row(bench: BenchFile) -> None:
    """Shares that leave nothing for an amount, and a rest that leaves the whole open."""
    for share, what in (("100 %", "leave nothing for char"), ("rest", "stays open")):
        rows = (MixRow(of="char", amount="8.5 g"), MixRow(of="jar", share=share))
        (fault,) = read_mix(bench, TypedMix(rows=rows)).faults
        assert fault.field == "rows.1.share"
        assert what in fault.what
        assert fault.allowed


def test_the_texts_of_a_mix_say_rest(bench: BenchFile) -> None:
    """From the record to texts, changed as a text, and back."""
    new_mix(bench, "T5", wanted=["char=rest", "jar=15 %"])
    texts = texts_of(bench.get(Mix, "T5"))
    assert texts["wanted"] == "char: rest; jar: 15 %"

    entered = enter(bench, "mix", {"wanted": "char: rest; jar: 25 %"}, name="T5")
    assert isinstance(entered.record, Mix)
    assert (_shares(entered.record), entered.record.rest) == ({"char": 0.75, "jar": 0.25}, ("char",))  # fmt: skip
    plain = enter(bench, "mix", {"wanted": "char: 70 %; jar: 30 %"}, name="T5")
    assert isinstance(plain.record, Mix)
    assert plain.record.rest == ()


def test_texts_with_amounts_and_shares(bench: BenchFile) -> None:
    """As a program sends them: the amount that follows is worked out, again after a change."""
    sent = {"name": "T5", "portions.0": "char: 8.5 g", "wanted": "jar: 15 %"}
    entered = enter(bench, "mix", sent)
    assert _grams(entered.record) == {"char": 8.5, "jar": 15.0}

    again = enter(bench, "mix", {"wanted": "char: rest; jar: 50 %"}, name="T5")
    assert _grams(again.record) == {"char": 8.5, "jar": 85.0}
    refused = enter(bench, "mix", {"wanted": "jar: 100 %"}, name="T5")
    assert [fault.field for fault in refused.faults] == ["wanted"]


def test_other_fields_change_without_touching_the_shares(bench: BenchFile) -> None:
    """A note changes nothing of what was worked out."""
    new_mix(bench, "T5", portions=["char=8.5 g"], wanted=["jar=15 %"])
    before = bench.get(Mix, "T5")
    enter(bench, "mix", {"note": "stirred long"}, name="T5")

    assert bench.get(Mix, "T5") == replace(before, note="stirred long")


def test_out_as_a_folder_and_in_again(bench: BenchFile, tmp_path: Path) -> None:
    """TOML keeps the rest, and takes the word in a text."""
    new_mix(bench, "T5", wanted=["char=rest", "jar=15 %"])
    folder = tmp_path / "folder"
    folder.mkdir()
    write_folder([*SHELF, bench.get(Mix, "T5")], folder)
    with (folder / "mixes.toml").open("a") as file:
        file.write('\n[[mix]]\nname = "T6"\nwanted = ["char: rest", "jar: 20 %"]\n')
    with BenchFile.create(tmp_path / "c.aerode", title="x") as other:
        import_folder(other, folder)
        assert other.get(Mix, "T5") == bench.get(Mix, "T5")
        assert (_shares(other.get(Mix, "T6")), other.get(Mix, "T6").rest) == ({"char": 0.8, "jar": 0.2}, ("char",))  # fmt: skip


def test_out_as_a_package_and_in_again(bench: BenchFile, tmp_path: Path) -> None:
    """The package carries the rest as it carries every field."""
    new_mix(bench, "T5", portions=["char=8.5 g"], wanted=["jar=15 %"])
    export(bench, tmp_path / "p.zip")
    with BenchFile.create(tmp_path / "d.aerode", title="x") as other:
        take_in_package(other, tmp_path / "p.zip")
        assert other.get(Mix, "T5") == bench.get(Mix, "T5")
