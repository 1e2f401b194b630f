"""A pot that cannot be is refused, one that is unlikely is asked about, at every door."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING

import pytest

from aerode.errors import InputError, RecordError
from aerode.records.marks import Entry, Share
from aerode.records.materials import Function, PowderLot, Solution, SolventLot
from aerode.records.mixes import Batch, Ingredient, Mix, Portion
from aerode.store.bench_file import BenchFile
from aerode.usecases.bench_sheet import SheetQuestion, bench_sheet
from aerode.usecases.entering import enter
from aerode.usecases.mix import MixQuestion, mix_with_cautions, new_mix
from aerode.usecases.mix_preview import look_at_mix
from aerode.usecases.mix_preview_keep import keep_batch, keep_mix
from aerode.usecases.mix_preview_rows import MixRow, TypedMix
from aerode.usecases.mix_size import ask_of_record

if TYPE_CHECKING:
    from collections.abc import Generator
    from pathlib import Path

NOON = datetime(2026, 5, 9, 12, tzinfo=UTC)
MUCH = TypedMix(
    name="big", rows=(MixRow(of="char", amount="400 g"), MixRow(of="bottle", amount="2 L"))
)
LARGE = MixQuestion(area="1000 cm^2", loading="100 mg/cm^2", electrodes=10)


@pytest.fixture
def bench(tmp_path: Path) -> Generator[BenchFile]:
    """A dry powder, a binder of 10 % solids in ethanol, a bottle, and a small mix."""
    dry = Entry(value=0.0)
    with BenchFile.create(tmp_path / "b.aerode", title="Shed", clock=lambda: NOON) as made:
        made.put_all([
            PowderLot(name="char", substance="biochar", function=Function.ACTIVE_CARBON, moisture=dry),
            Solution(
                name="jar", polymer="PVB", function=Function.BINDER, solids=Entry(value=0.1), plasticiser=dry,
                liquid=(Share(of="ethanol", fraction=1.0),),
            ),
            SolventLot(name="bottle", substance="ethanol"),
            Mix(name="T5", wanted=(Share(of="char", fraction=0.85), Share(of="jar", fraction=0.15))),
        ])  # fmt: skip
        yield made


def test_the_question_names_vapour_and_dust(bench: BenchFile) -> None:
    """1 kg of ethanol at 46.07 g/mol and 25 °C is 0.531 m³ of vapour (by hand, 24.47 L/mol); over the
    cautious lower limit on file, 3.1 %, that is 17 m³ of air.
    """
    portions = (
        Portion(of="bottle", shelf=Ingredient.SOLVENT, mass=Entry(value=1.0)),
        Portion(of="char", mass=Entry(value=0.4)),
    )
    asked = ask_of_record(bench, Batch(name="p", mix="m", portions=portions))

    assert "1.4 kg at once is a lot" in asked
    assert (
        "1 kg of ethanol dries to 0.53 m³ of vapour, which brings 17 m³ of air to what can burn (3.1 %)"
        in asked
    )
    assert "400 g of dry powder raises dust" in asked


def test_half_a_kilogram_is_not_asked_about(bench: BenchFile) -> None:
    """The bound itself passes; a gram more does not."""
    for grams, asks in ((500.0, False), (501.0, True)):
        mix = Mix(name="m", portions=(Portion(of="char", mass=Entry(value=1e-3 * grams)),))
        assert bool(ask_of_record(bench, mix)) is asks


def test_a_form_asks_and_takes_a_yes_for_that_size_only(bench: BenchFile) -> None:
    """Nothing is stored before; a yes to one size is none to another."""
    for keep, cls, typed in (
        (keep_mix, Mix, MUCH),
        (keep_batch, Batch, TypedMix(name="pot", mix="T5", rows=MUCH.rows)),
    ):
        kept = keep(bench, typed)
        assert kept.record is None
        assert kept.mark == "1979 g"  # 400 g, and 2 L at 0.789 g/mL (published)
        assert bench.find(cls, typed.name) is None
        assert keep(bench, typed, sure="1000 g").record is None
        assert keep(bench, typed, sure=kept.mark).record is not None
        assert (
            keep(bench, typed, name=typed.name, why="again").record is not None
        )  # nothing changed


def test_what_nobody_stirs_is_refused_at_its_row(bench: BenchFile) -> None:
    """25 kg is no pot, and no yes helps."""
    rows = (MixRow(of="jar", amount="10 g"), MixRow(of="char", amount="25 kg"))
    kept = keep_mix(bench, TypedMix(name="big", rows=rows), sure="25010 g")

    assert [(fault.field, fault.allowed[:17]) for fault in kept.faults] == [("rows.1.amount", "at most 20 kg in ")]  # fmt: skip
    with pytest.raises(RecordError, match="stirred by hand"):
        new_mix(bench, "big", portions=["char=25 kg"], sure=True)


def test_texts_of_a_program_are_asked_about_too(bench: BenchFile) -> None:
    """`sure` stores what was refused without it."""
    sent = {"name": "big", "portions.0": "char: 2 kg"}
    assert "2 kg at once" in enter(bench, "mix", sent).ask
    assert bench.find(Mix, "big") is None
    assert enter(bench, "mix", sent, sure=True).record is not None


def test_a_new_mix_of_the_command_line_is_asked_about(bench: BenchFile) -> None:
    """The refusal names the word that says yes."""
    with pytest.raises(InputError, match="a lot for a table") as refusal:
        new_mix(bench, "big", portions=["char=2 kg"])
    assert "--sure" in refusal.value.allowed
    new_mix(bench, "big", portions=["char=2 kg"], sure=True)


def test_a_large_dose_is_held_back_at_every_door(bench: BenchFile) -> None:
    """10 pieces of 1000 cm² at 100 mg/cm²: a kilogram dry."""
    look = look_at_mix(bench, "T5", LARGE)
    assert look.found.dose is None
    assert "of vapour" in look.ask
    for refused in (
        lambda: mix_with_cautions(bench, "T5", LARGE),
        lambda: bench_sheet(bench, "T5", SheetQuestion(mix=LARGE), moment=NOON),
    ):
        with pytest.raises(InputError) as refusal:
            refused()
        assert refusal.value.where == "sure"


def test_a_small_dose_is_not_asked_about(bench: BenchFile) -> None:
    """9 cm² at 25 mg/cm² for a class of thirty."""
    look = look_at_mix(bench, "T5", MixQuestion(area="9 cm^2", loading="25 mg/cm^2", electrodes=30))
    assert (look.ask, look.found.dose is None) == ("", False)
