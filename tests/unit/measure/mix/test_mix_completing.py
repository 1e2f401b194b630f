"""Amounts and shares mixed: what follows from them, and where nothing does; figures by hand."""

from __future__ import annotations

import pytest

from aerode.errors import InputError
from aerode.measure.mix.completing import Completed, complete
from aerode.measure.mix.lots import Shelf
from aerode.records.marks import Entry, Share
from aerode.records.materials import Function, PowderLot, Solution, SolventLot
from aerode.records.mixes import WORKED_OUT, Ingredient, Portion

DRY = Entry(value=0.0, standard_uncertainty=0.0)
SHELF = Shelf.of(
    [
        *(PowderLot(name=n, substance="graphite", function=Function.CONDUCTOR, moisture=DRY) for n in ("char", "soot", "ore")),
        PowderLot(name="damp", substance="biochar", function=Function.ACTIVE_CARBON, moisture=Entry(value=0.2)),
    ],
    [
        Solution(
            name="jar", polymer="PVB", function=Function.BINDER, solids=Entry(value=0.1), plasticiser=DRY,
            liquid=(Share(of="ethanol", fraction=1.0),),
        )
    ],
    [SolventLot(name="bottle", substance="ethanol")],
)  # fmt: skip


def _of(name: str, grams: float, shelf: Ingredient = Ingredient.POWDER) -> Portion:
    return Portion(of=name, shelf=shelf, mass=Entry(value=1e-3 * grams))


def _grams(found: Completed) -> dict[str, float]:
    return {p.of: 1e3 * p.mass.value for p in found.portions if p.mass is not None}


def _shares(found: Completed) -> dict[str, float]:
    return {s.of: s.fraction for s in found.wanted}


def test_one_amount_and_shares_make_the_whole() -> None:
    """10 g beside 15 % and 5 %: 10/0.8 = 12.5 g dry; 1.875 g of a 10 % jar are 18.75 g of it."""
    found = complete([_of("char", 10)], {"jar": 0.15, "soot": 0.05}, SHELF)

    assert _grams(found) == pytest.approx({"char": 10.0, "jar": 18.75, "soot": 0.625})
    assert _shares(found) == pytest.approx({"char": 0.8, "jar": 0.15, "soot": 0.05})
    assert found.rest == ("char",)
    assert [p.mass.how for p in found.portions if p.mass] == ["", WORKED_OUT, WORKED_OUT]


def test_moisture_is_no_dry_mass() -> None:
    """10 g with 20 % water are 8 g dry: beside 20 % the whole is 10 g, and 2 g follow."""
    assert _grams(complete([_of("damp", 10)], {"soot": 0.2}, SHELF)) == pytest.approx(
        {"soot": 2.0, "damp": 10.0}
    )


def test_two_amounts_divide_what_is_left() -> None:
    """10 g and 2 g beside 20 %: 15 g dry, of which 3 g follow; they are 66.7 and 13.3 %."""
    found = complete([_of("char", 10), _of("ore", 2)], {"soot": 0.2}, SHELF)

    assert _grams(found) == pytest.approx({"char": 10.0, "ore": 2.0, "soot": 3.0})
    assert _shares(found) == pytest.approx({"soot": 0.2, "char": 2 / 3, "ore": 2 / 15})
    assert found.rest == ("char", "ore")


def test_an_amount_with_its_share_says_how_much_a_rest_is() -> None:
    """10 g that are 50 % make 20 g; 15 % are 3 g, the rest of 35 % is 7 g."""
    found = complete([_of("char", 10)], {"char": 0.5, "soot": 0.15, "ore": None}, SHELF)

    assert _grams(found) == pytest.approx({"char": 10.0, "soot": 3.0, "ore": 7.0})
    assert found.rest == ("ore",)


def test_an_amount_alone_beside_an_amount_with_its_share_and_a_rest() -> None:
    """10 g are 50 %: the whole is 20 g, 4 g are 20 %, and 30 % or 6 g are the rest."""
    found = complete([_of("char", 10), _of("soot", 4)], {"char": 0.5, "ore": None}, SHELF)

    assert _grams(found) == pytest.approx({"char": 10.0, "soot": 4.0, "ore": 6.0})
    assert _shares(found) == pytest.approx({"char": 0.5, "soot": 0.2, "ore": 0.3})


def test_what_was_worked_out_is_worked_out_again() -> None:
    """The amounts of the first time are no amounts that somebody typed."""
    first = complete([_of("char", 10)], {"soot": 0.2}, SHELF)
    second = complete(first.portions, {"soot": 0.5}, SHELF)

    assert _grams(second) == pytest.approx({"char": 10.0, "soot": 10.0})


def test_solvents_stay_as_typed_and_count_for_nothing_dry() -> None:
    """The liquid neither changes the whole nor a share."""
    found = complete([_of("char", 8), _of("bottle", 5, Ingredient.SOLVENT)], {"soot": 0.2}, SHELF)

    assert _grams(found) == pytest.approx({"char": 8.0, "soot": 2.0, "bottle": 5.0})


def test_both_for_everything_is_left_as_it_is() -> None:
    """What was weighed beside what was wanted may differ: that is told elsewhere."""
    portions = [_of("char", 10), _of("soot", 10)]

    found = complete(portions, {"char": 0.9, "soot": 0.1}, SHELF)

    assert (list(found.portions), found.rest) == (portions, ())


@pytest.mark.parametrize(
    ("portions", "shares", "what", "where"),
    [
        ([("char", 10)], {"soot": 0.7, "ore": 0.3}, "reach 100 % and leave nothing for char", "ore"),
        ([("char", 10)], {"soot": 0.7, "ore": None}, "ore is the rest and char has an amount alone", "ore"),
        ([], {"soot": 0.7, "ore": 0.2}, "add up to 90 %, not to 100 %", "ore"),
        ([("char", 10)], {"char": 0.0, "soot": 1.0}, "an amount and a share of nothing", "char"),
        ([("char", 10), ("soot", 9)], {"soot": 0.1, "ore": 0.1}, "its share of 10 % would be 1.25 g", "soot"),
        ([("char", 10), ("soot", 30)], {"char": 0.5, "ore": None}, "makes 200 % of the whole", "ore"),
        ([], {"soot": None, "ore": None}, "two shares are the rest", "ore"),
        ([], {"soot": 1.2, "ore": None}, "120 % before the rest", "ore"),
    ],
)  # fmt: skip
def test_what_makes_no_whole_is_refused(
    portions: list[tuple[str, float]], shares: dict[str, float | None], what: str, where: str
) -> None:
    """Each names the ingredient, what would be taken and what to do."""
    with pytest.raises(InputError, match=what) as refusal:
        complete([_of(*one) for one in portions], shares, SHELF)

    assert refusal.value.where == where
    assert refusal.value.allowed


def test_a_solvent_alone_says_nothing_of_the_whole() -> None:
    """5 g of ethanol into how much?"""
    with pytest.raises(InputError, match="stays open"):
        complete([_of("bottle", 5, Ingredient.SOLVENT)], {"char": 0.8, "soot": 0.2}, SHELF)
