"""A mix while it is typed: the same answer as once it is stored, and nothing lost on the way to the form."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING

import pytest

from aerode.records.electrodes import Coat, Electrode, Layer
from aerode.records.marks import Entry, Share
from aerode.records.materials import Function, PowderLot, Solution, SolventLot
from aerode.records.mixes import Batch, Ingredient, Mix, Portion
from aerode.store.bench_file import BenchFile
from aerode.usecases.mix import MixQuestion
from aerode.usecases.mix_preview import look_at_mix, preview_mix
from aerode.usecases.mix_preview_keep import keep_batch, keep_mix
from aerode.usecases.mix_preview_list import composition_figure, list_mixes
from aerode.usecases.mix_preview_rows import MixRow, TypedMix, read_mix, typed_batch, typed_mix
from aerode.usecases.mix_preview_words import dose_words, mix_facts, part_rows

if TYPE_CHECKING:
    from collections.abc import Generator
    from pathlib import Path

NOON = datetime(2026, 5, 9, 12, 0, tzinfo=UTC)
ROWS = (
    MixRow(of="char A", amount="8,5 g"),
    MixRow(),
    MixRow(of="jar 1", amount="15 g ± 0.02 g (kitchen scale)"),
    MixRow(of="bottle", amount="3 mL"),
)


@pytest.fixture
def bench(tmp_path: Path) -> Generator[BenchFile]:
    """A shelf with a dry powder, a binder of known solids in ethanol, and a bottle."""
    with BenchFile.create(tmp_path / "b.aerode", title="Shed", clock=lambda: NOON) as made:
        exact = Entry(value=0.0, standard_uncertainty=0.0)
        made.put(
            PowderLot(
                name="char A", substance="biochar", function=Function.ACTIVE_CARBON, moisture=exact
            )
        )
        made.put(
            Solution(
                name="jar 1", polymer="PVB", function=Function.BINDER, solids=Entry(value=0.1),
                plasticiser=exact, liquid=(Share(of="ethanol", fraction=1.0),),
            )
        )  # fmt: skip
        made.put(SolventLot(name="bottle", substance="ethanol"))
        yield made


def test_the_answer_is_the_same_before_and_after(bench: BenchFile) -> None:
    """What the preview says is what the stored mix says, cautions and all."""
    typed = TypedMix(name="T5", rows=ROWS)
    before = preview_mix(bench, typed)
    assert keep_mix(bench, typed).record is not None
    after = look_at_mix(bench, "T5", MixQuestion())

    assert before.found == after.found
    assert before.sheet == after.sheet


def test_eighty_five_and_fifteen(bench: BenchFile) -> None:
    """8.5 g of dry powder and 15 g of a 10 % solution dry to 85 and 15 % of 10 g (by hand)."""
    found = preview_mix(bench, TypedMix(rows=ROWS)).found

    assert found is not None
    shares = {part.of: part.mass_fraction.value for part in found.dry}
    assert shares == pytest.approx({"char A": 0.85, "jar 1": 0.15})
    assert {row.name: row.by_mass.split(" ±")[0] for row in part_rows(found)} == {
        "char A": "85.00", "PVB": "15.00",
    }  # fmt: skip


def test_a_form_gives_back_what_it_was_made_from(bench: BenchFile) -> None:
    """From the record to the texts and back: equal, with every digit of what was stored."""
    portions = (
        Portion(
            of="char A", mass=Entry(value=0.0085123456, standard_uncertainty=1e-5, how="scale")
        ),
        Portion(of="bottle", shelf=Ingredient.SOLVENT, volume=Entry(value=3e-6, text="3 mL")),
    )
    wanted = (Share(of="char A", fraction=0.8512), Share(of="jar 1", fraction=0.1488))
    mix = Mix(
        name="T5", portions=portions, wanted=wanted, solids_fraction=Entry(value=0.18, text="18 %")
    )
    assert read_mix(bench, typed_mix(mix), mix).mix == mix

    batch = Batch(name="pot", mix="T5", portions=portions, rested=43200.0, made="2026-05-09")
    bench.put_all([mix, batch])
    newest = bench.newest()
    assert keep_batch(bench, typed_batch(batch), name="pot").record == batch
    assert keep_mix(bench, typed_mix(mix), name="T5").record == mix
    assert bench.newest() == newest


def test_every_fault_names_its_field(bench: BenchFile) -> None:
    """A missing name, no amount, an unknown parent and too much of the whole."""
    rows = (MixRow(amount="3 g"), MixRow(of="char A"), MixRow(of="jar 1", share="120 %"))
    told = {fault.field for fault in read_mix(bench, TypedMix(rows=rows, after="T0")).faults}

    assert told == {"rows.0.of", "rows.1.amount", "rows.2.share", "after"}
    assert [fault.field for fault in read_mix(bench, TypedMix()).faults] == ["rows"]


def test_a_preview_that_cannot_be_worked_out_says_why(bench: BenchFile) -> None:
    """A powder by volume has no known bulk density: refused in words, not by a crash."""
    seen = preview_mix(bench, TypedMix(rows=(MixRow(of="char A", amount="30 mL"),)))

    assert seen.found is None
    assert "char A" in seen.refusal


def test_a_new_name_keeps_the_history(bench: BenchFile) -> None:
    """A renamed mix is the same record under another name; a taken name is refused."""
    keep_mix(bench, TypedMix(name="T5", rows=ROWS))
    keep_mix(bench, TypedMix(name="T6", rows=ROWS))
    before = bench.state(Mix, "T5").record
    taken = keep_mix(bench, TypedMix(name="T6", rows=ROWS), name="T5")
    assert [fault.field for fault in taken.faults] == ["name"]

    keep_mix(bench, TypedMix(name="T7", rows=ROWS), name="T5", why="label torn")
    assert bench.state(Mix, "T7").record == before


def test_the_list_tells_what_cannot_be_worked_out(bench: BenchFile) -> None:
    """A mix whose powder left the shelf stays on the list, with the reason."""
    bench.put(Mix(name="old", portions=(Portion(of="gone", mass=Entry(value=1e-3)),)))
    keep_mix(bench, TypedMix(name="T5", rows=ROWS))
    newest, oldest = list_mixes(bench).lines

    assert newest.dries_to == "85 % char A, 15 % PVB"
    assert "cannot be worked out" in oldest.dries_to


def test_weights_are_written_to_the_step_of_the_scale(bench: BenchFile) -> None:
    """On a scale of 0.01 g every weight has two decimals; what is too little for it is said."""
    keep_mix(bench, TypedMix(name="T5", rows=ROWS))
    question = MixQuestion(area="9 cm^2", loading="25 mg/cm^2", scale="0.01 g")
    look = look_at_mix(bench, "T5", question)

    assert look.found.dose is not None
    words = dose_words(look.found.dose)
    assert all(row.grams == "–" or len(row.grams.partition(".")[2]) == 2 for row in words.rows)
    assert "1 electrode of 9 cm²" in words.head
    for told in words.masterbatches:  # before any of it is taken
        assert told.index("closed jar") < told.index("Take ")
    facts = {fact.term: fact.said for fact in mix_facts(look.found)}
    assert facts["Solids, wet"].startswith(("38", "39"))  # 10 g of 8.5 + 15 + 3 mL * 0.79 g/mL


@pytest.mark.parametrize("text", ["0.3", "0,3", "1"])
def test_a_bare_share_that_may_mean_two_things_is_asked_about(bench: BenchFile, text: str) -> None:
    """0.3 in a field of per cent may be 0.3 % or 30 %: both are offered, neither is taken for granted."""
    rows = (MixRow(of="char A", share=text), MixRow(of="jar 1", share="rest"))
    fault = read_mix(bench, TypedMix(name="T5", rows=rows)).faults[0]
    value = float(text.replace(",", "."))

    assert fault.field == "rows.0.share"
    assert f"{value:g} % or {100 * value:g} %" in (fault.allowed or "")
    for said in (f"{value:g} %", f"{100 * value:g} %"):
        taken = (MixRow(of="char A", share=said), MixRow(of="jar 1", share="rest"))
        told = [one.field for one in read_mix(bench, TypedMix(name="T5", rows=taken)).faults]
        assert "rows.0.share" not in told


def test_the_figure_holds_both_shares(bench: BenchFile) -> None:
    """One row for each part, mass above volume, with intervals around the points."""
    found = preview_mix(bench, TypedMix(rows=ROWS)).found
    assert found is not None
    figure = composition_figure(found)

    assert figure.y.names == ("char A", "PVB")
    mass = figure.series[0]
    assert mass.x == pytest.approx((85.0, 15.0))
    assert all(low < x < high for low, x, high in zip(mass.x_low, mass.x, mass.x_high, strict=True))
    assert "85 % by mass" in figure.alt


def test_films_of_what_was_made_are_told(bench: BenchFile) -> None:
    """An electrode of the mix stands with its mix; the preview of a new mix knows none."""
    keep_mix(bench, TypedMix(name="T5", rows=ROWS))
    layer = Layer(mix="T5", coats=(Coat(dry_mass=0.24e-3),))
    bench.put(
        Electrode(name="E1", layers=(layer,), wetted_area=Entry(value=9.5e-4), thickness=(6e-4,))
    )

    assert [film.electrode for film in look_at_mix(bench, "T5", MixQuestion()).found.films] == [
        "E1"
    ]


def test_a_weight_is_written_to_the_step_even_where_it_ends_in_nought(bench: BenchFile) -> None:
    """1.60 g on a scale of 0.01 g, not 1.6: the last digit is what is read."""
    keep_mix(bench, TypedMix(name="T5", rows=(MixRow(of="char A", share="100 %"),)))
    asked = MixQuestion(
        area="10 cm^2", loading="16 mg/cm^2", electrodes=10, spare="0 %", scale="0.01 g"
    )
    dose = look_at_mix(bench, "T5", asked).found.dose

    assert dose is not None
    assert [row.grams for row in dose_words(dose).rows] == ["1.60"]


def test_the_large_number_is_what_is_put_on_the_scale(bench: BenchFile) -> None:
    """What the masterbatch brings is not weighed again: take and rest are the dose of the carrier."""
    bench.put(PowderLot(name="soot", substance="carbon black", function=Function.CONDUCTOR))
    rows = (
        MixRow(of="char A", share="rest"), MixRow(of="soot", share="3 %"), MixRow(of="jar 1", share="20 %"),
    )  # fmt: skip
    keep_mix(bench, TypedMix(name="T5", rows=rows))
    question = MixQuestion(area="9 cm^2", loading="25 mg/cm^2", scale="0.01 g", electrodes=10)
    dose = look_at_mix(bench, "T5", question).found.dose
    assert dose is not None
    (batch,) = dose.masterbatches
    told = {row.of: row for row in dose_words(dose).rows}

    assert told["soot"].grams == "–"
    assert told["char A"].grams == f"{batch.carrier_left_g:.2f}"
    whole = next(line.amount_g for line in dose.lines if line.of == "char A")
    assert told["char A"].how == f"and {whole - batch.carrier_left_g:.2f} g in masterbatch"
    assert told["masterbatch"].grams == f"{batch.take_g:.2f}"


def test_the_spread_of_a_dose_says_what_it_is(bench: BenchFile) -> None:
    """GUM 4.3.7 by hand: sqrt(2 (0.01/√12)² + (0.02/√3)²) g = 0.012 g of a scale of 0.01 g."""
    keep_mix(bench, TypedMix(name="T5", rows=ROWS))
    question = MixQuestion(area="9 cm^2", loading="25 mg/cm^2", scale="0.01 g")
    dose = look_at_mix(bench, "T5", question).found.dose
    assert dose is not None

    assert "one standard uncertainty of a weighing, 0.012 g" in dose_words(dose).spread


def test_a_name_that_is_not_on_the_shelf_is_told_once(bench: BenchFile) -> None:
    """At the name, and not again at its share."""
    rows = (MixRow(of="char B", share="20 %"), MixRow(of="jar 1", share="rest"))

    assert [f.field for f in read_mix(bench, TypedMix(rows=rows)).faults] == ["rows.0.of"]
