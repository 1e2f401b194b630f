"""Amounts and shares that are two different mixes: what came along follows, what was weighed is asked about."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from aerode.records.marks import Entry, Share
from aerode.records.materials import Function, PowderLot, Solution, SolventLot
from aerode.records.mixes import Ingredient, Mix, Portion
from aerode.store.bench_file import BenchFile
from aerode.usecases.mix import MixQuestion, what_it_dries_to
from aerode.usecases.mix_preview import preview_mix
from aerode.usecases.mix_preview_keep import keep_mix
from aerode.usecases.mix_preview_rows import MixRow, TypedMix, read_mix, typed_mix

if TYPE_CHECKING:
    from collections.abc import Generator
    from pathlib import Path

DRY = Entry(value=0.0, standard_uncertainty=0.0)


def _weighed(of: str, grams: float, shelf: Ingredient = Ingredient.POWDER) -> Portion:
    entry = Entry(value=1e-3 * grams, standard_uncertainty=1.2e-5, text=f"{grams:.3f} g ± 0.012 g", how="kitchen scale")  # fmt: skip
    return Portion(of=of, shelf=shelf, mass=entry)


@pytest.fixture
def bench(tmp_path: Path) -> Generator[BenchFile]:
    """Char 65, soot 20 and binder 15 of 10 g dry, all weighed, with a solvent."""
    with BenchFile.create(tmp_path / "b.aerode", title="Shed") as made:
        made.put_all([
            PowderLot(name="char", substance="biochar", function=Function.ACTIVE_CARBON, moisture=DRY),
            PowderLot(name="soot", substance="carbon black", function=Function.CONDUCTOR, moisture=DRY),
            Solution(
                name="jar", polymer="PVB", function=Function.BINDER, plasticiser=DRY,
                solids=Entry(value=0.1, standard_uncertainty=0.001), liquid=(Share(of="ethanol", fraction=1.0),),
            ),
            SolventLot(name="bottle", substance="ethanol"),
            Mix(
                name="T5",
                portions=(
                    _weighed("char", 6.5), _weighed("soot", 2.0), _weighed("jar", 15.0, Ingredient.SOLUTION),
                    Portion(of="bottle", shelf=Ingredient.SOLVENT, mass=Entry(value=3e-3, text="3 g")),
                ),
                wanted=(Share(of="char", fraction=0.65), Share(of="soot", fraction=0.20), Share(of="jar", fraction=0.15)),
            ),
        ])  # fmt: skip
        yield made


def _copy(bench: BenchFile, **changed: str) -> TypedMix:
    form = replace(typed_mix(bench.get(Mix, "T5")), name="T6", after="T5")
    return replace(
        form, rows=tuple(replace(r, share=changed.get(r.of, r.share)) for r in form.rows)
    )


def _grams(mix: Mix) -> dict[str, float]:
    return {p.of: round(1e3 * p.mass.value, 6) for p in mix.portions if p.mass is not None}


def test_the_amounts_of_a_copy_follow_a_changed_share(bench: BenchFile) -> None:
    """Char 6.5 g is 60 %: 10.8333 g dry, so 2.1667 g of soot and 21.667 g of the jar (by hand)."""
    kept = keep_mix(bench, _copy(bench, jar="20 %", char="rest"))

    assert isinstance(kept.record, Mix)
    assert kept.told == "the amounts follow the new shares; that of char stays"
    assert _grams(kept.record) == {"char": 6.5, "soot": 2.166667, "jar": 21.666667, "bottle": 3.0}


def test_headline_and_dose_are_one_mix(bench: BenchFile) -> None:
    """What the copy dries to is what its dose sheet weighs: a fifth of the dry coat is binder."""
    keep_mix(bench, _copy(bench, jar="20 %", char="rest"))
    found = what_it_dries_to(bench, "T6", MixQuestion(area="9 cm^2", loading="25 mg/cm^2", scale="0.01 g"))  # fmt: skip

    assert found.dose is not None
    dry = {part.of: part.mass_fraction.value for part in found.dry}
    assert dry == pytest.approx({"char": 0.60, "soot": 0.20, "jar": 0.20})
    grams = {line.of: line.amount_g for line in found.dose.lines}
    solids = grams["char"] + grams["soot"] + 0.1 * grams["jar"]
    assert 0.1 * grams["jar"] / solids == pytest.approx(0.20, abs=0.005)
    assert not [one for one in found.warnings if "not what was wanted" in one]


def test_a_copy_that_nobody_changed_keeps_its_amounts(bench: BenchFile) -> None:
    """Nothing is worked out where the shares are as they were."""
    kept = keep_mix(bench, _copy(bench))

    assert isinstance(kept.record, Mix)
    assert (kept.told, kept.two) == ("", "")
    assert _grams(kept.record) == {"char": 6.5, "soot": 2.0, "jar": 15.0, "bottle": 3.0}


def test_a_changed_mix_asks_which_holds(bench: BenchFile) -> None:
    """What was weighed is not replaced unasked; either answer gives one mix."""
    form = replace(_copy(bench, jar="20 %", char="60 %"), name="T5", after="")
    state = bench.state(Mix, "T5").digest
    asked = keep_mix(bench, form, name="T5", state=state)
    assert asked.record is None
    assert "jar is 15 % of the dry coat by the amounts, and 20 % by its share" in asked.two
    assert preview_mix(bench, form).ask == asked.two

    shares = read_mix(bench, replace(form, holds="shares"), bench.get(Mix, "T5")).mix
    assert shares is not None
    assert _grams(shares)["jar"] == pytest.approx(21.666667)
    amounts = keep_mix(bench, replace(form, holds="amounts"), name="T5", state=state).record
    assert isinstance(amounts, Mix)
    assert (_grams(amounts)["jar"], amounts.wanted) == (15.0, ())


def test_amounts_and_shares_typed_anew_in_a_copy_are_asked_about(bench: BenchFile) -> None:
    """Who changes amounts too may mean either."""
    form = _copy(bench, jar="20 %", char="rest")
    rows = tuple(replace(r, amount="30 g") if r.of == "jar" else r for r in form.rows)

    assert keep_mix(bench, replace(form, rows=rows)).two


def test_weighing_astray_is_not_asked_about(bench: BenchFile) -> None:
    """Two points off a wanted share is a brush, told beside the mix; ten points are asked about."""

    def new(amount: str) -> TypedMix:
        return TypedMix(name="T7", rows=(
            MixRow(of="char", amount="8.0 g", share="80 %"), MixRow(of="soot", amount=amount, share="20 %"),
        ))  # fmt: skip

    assert "soot is 38" in keep_mix(bench, new("5.0 g")).two
    assert keep_mix(bench, new("2.2 g")).record is not None


def test_shares_over_the_whole_mark_the_changed_row(bench: BenchFile) -> None:
    """Five points too many stand at the row that grew, with the two ways out."""
    (fault,) = read_mix(bench, _copy(bench, soot="25 %")).faults

    assert fault.field == "rows.1.share"
    assert fault.what == "the shares add up to 105 %"
    assert fault.allowed == "100 % together: take 5 off another, or type “rest” in one"


def test_the_box_holds_the_amount_alone(bench: BenchFile) -> None:
    """How well it is known would be cut off on a phone; untouched it is kept."""
    mix = bench.get(Mix, "T5")
    form = typed_mix(mix)

    assert [row.amount for row in form.rows] == ["6.500 g", "2.000 g", "15.000 g", "3 g"]
    assert read_mix(bench, replace(form, note="again"), mix).mix == replace(mix, note="again")
