"""What is asked of the weights of a pot: a slip of the decimal mark against a spoon more or less."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from aerode.records.marks import Entry, Share
from aerode.records.materials import Function, PowderLot, Solution, SolventLot
from aerode.records.mixes import Batch, Ingredient, Mix, Portion
from aerode.store.bench_file import BenchFile
from aerode.usecases.entering import enter
from aerode.usecases.mix import MixQuestion, what_it_dries_to
from aerode.usecases.unlikely_pot import ask_of_pot, doubts_of_pot

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


def _weighed(**grams: float) -> tuple[Portion, ...]:
    shelves = {"glue": Ingredient.SOLUTION, "spirit": Ingredient.SOLVENT}
    return tuple(
        Portion(of=of, shelf=shelves.get(of, Ingredient.POWDER), mass=Entry(value=1e-3 * g, text=f"{g:g} g"))
        for of, g in grams.items()
    )  # fmt: skip


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[BenchFile]:
    """A mix of 8 g char, 2 g soot and 20 g of a glue with a tenth of solids: 8 + 2 + 2 g dry."""
    with BenchFile.create(tmp_path / "shed.aerode", title="Net shed") as made:
        dry = Entry(value=0.0, standard_uncertainty=0.0)
        made.put(PowderLot(name="char", substance="biochar", function=Function.ACTIVE_CARBON, moisture=dry))  # fmt: skip
        made.put(PowderLot(name="soot", substance="carbon black", function=Function.CONDUCTOR, moisture=dry))  # fmt: skip
        made.put(Solution(name="glue", polymer="PVB", function=Function.BINDER,
                          liquid=(Share(of="ethanol", fraction=1.0),), solids=Entry(value=0.1)))  # fmt: skip
        made.put(SolventLot(name="spirit", substance="ethanol"))
        made.put(Mix(name="T5", portions=_weighed(char=8.0, soot=2.0, glue=20.0)))
        yield made


def test_a_shifted_decimal_is_asked_with_its_likely_slip(bench: BenchFile) -> None:
    """79.6 g where 8 g was planned: the same digits near the plan are 7.96 g (by hand)."""
    pot = Batch(name="p", mix="T5", portions=_weighed(char=79.6, soot=2.01, glue=20.0))
    (doubt,) = doubts_of_pot(bench, pot)
    assert (doubt.of, doubt.place, doubt.instead) == ("char", 0, "7.96 g")
    assert (
        doubt.ask
        == "char: 79.6 g is 10 times the planned 8 g. A slip, or meant? Likelier it was 7.96 g."
    )


@pytest.mark.parametrize(
    "grams",
    [
        {"char": 8.4, "soot": 1.9, "glue": 21.0},  # a spoon more or less
        {"char": 4.0, "soot": 1.0, "glue": 10.0},  # half a pot
        {"char": 8.0, "soot": 2.0, "glue": 20.0, "spirit": 5.0},  # not of the plan
    ],
)
def test_what_is_like_the_plan_is_not_asked(bench: BenchFile, grams: dict[str, float]) -> None:
    """Small deviations, a pot of another size, and what nobody planned stay silent."""
    assert ask_of_pot(bench, Batch(name="p", mix="T5", portions=_weighed(**grams))) == ""


def test_half_as_much_again_is_asked_and_offers_no_slip(bench: BenchFile) -> None:
    """No power of ten of 13 g lies near 8 g; a fifth of a small dose is within the scale."""
    (doubt,) = doubts_of_pot(bench, Batch(name="p", mix="T5", portions=_weighed(char=13.0, soot=2.0, glue=20.0)))  # fmt: skip
    assert doubt.instead == ""
    assert "1.6 times" in doubt.ask
    fine = Mix(name="S", portions=_weighed(char=8.0, soot=0.02))
    bench.put(fine)  # 0.03 g for 0.02 g: one step of a kitchen scale
    assert not ask_of_pot(bench, Batch(name="q", mix="S", portions=_weighed(char=8.0, soot=0.03)))


def test_of_shares_alone_the_weights_are_held_against_each_other(bench: BenchFile) -> None:
    """85 to 15 % dry is 8.5 g to 15 g of a tenth of solids: with 85 g one of the two is off (by hand)."""
    bench.put(Mix(name="W", wanted=(Share(of="char", fraction=0.85), Share(of="glue", fraction=0.15))))  # fmt: skip
    assert not ask_of_pot(bench, Batch(name="p", mix="W", portions=_weighed(char=8.5, glue=15.0)))
    found = doubts_of_pot(bench, Batch(name="p", mix="W", portions=_weighed(char=85.0, glue=15.0)))
    assert [one.instead for one in found] == ["8.5 g", "150 g"]


def test_every_way_in_asks_once(bench: BenchFile) -> None:
    """Nothing is stored until somebody is sure; what stands there is not asked about again."""
    texts = {"name": "p", "mix": "T5", "portions.0": "char: 79.6 g", "portions.1": "soot: 2 g"}
    texts |= {"portions.2": "solution glue: 20 g"}
    asked = enter(bench, "batch", texts)
    assert asked.record is None
    assert "10 times the planned 8 g" in asked.ask
    assert asked.allowed == "weights like those that were planned"
    assert enter(bench, "batch", texts, sure=asked.ask).record is not None
    assert enter(bench, "batch", {"note": "stirred"}, name="p").record is not None


def test_a_dry_composition_far_from_the_mix_is_told(bench: BenchFile) -> None:
    """79.6 g: 79.6/83.6 = 95.2 % char where 8/12 = 66.7 % was planned, 28.5 points more (by hand)."""
    bench.put(Batch(name="p", mix="T5", portions=_weighed(char=79.6, soot=2.0, glue=20.0)))
    (said,) = [one for one in what_it_dries_to(bench, "p", MixQuestion()).warnings if "not what was wanted" in one]  # fmt: skip
    assert "char +28.5 points" in said
    bench.put(Batch(name="q", mix="T5", portions=_weighed(char=8.01, soot=2.0, glue=20.0)))
    told = what_it_dries_to(bench, "q", MixQuestion()).warnings
    assert not any("not what was wanted" in one for one in told)
