"""One name for each dry part: a powder by its lot, what a jar leaves by its polymer."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from aerode.measure.mix.composition import compose
from aerode.measure.mix.dry_names import lot_names, named_shares
from aerode.records.marks import Entry
from aerode.records.mixes import Ingredient, Portion

if TYPE_CHECKING:
    from aerode.measure.mix.lots import Shelf
    from aerode.measure.mix.weighing import Scale

GRAM = 1e-3


def test_a_jar_is_told_by_its_polymer_and_two_of_one_by_their_jars(
    shelf: Shelf, scale: Scale
) -> None:
    """12.4 % solids of 10 g are 1.24 g, a quarter (26 %) of it plasticiser, beside 9.3 g of char (by hand)."""
    char = Portion(of="biochar A", mass=Entry(value=10 * GRAM))
    glue = Portion(of="PVB solution", shelf=Ingredient.SOLUTION, mass=Entry(value=10 * GRAM))
    found = compose((char, glue), shelf, scale)
    assert lot_names(found) == {"biochar A": "biochar A", "PVB solution": "PVB with plasticiser"}
    assert named_shares(found) == pytest.approx(
        {"biochar A": 9.3 / 10.54, "PVB": 1.24 * 0.74 / 10.54, "plasticiser": 1.24 * 0.26 / 10.54}, rel=1e-2
    )  # fmt: skip
    second = replace(shelf.solutions["PVB solution"], name="jar 2", plasticiser=None)
    both = replace(shelf, solutions={**shelf.solutions, "jar 2": second})
    two = compose((char, glue, replace(glue, of="jar 2")), both, scale)
    assert {"PVB (PVB solution)", "PVB (jar 2)"} <= set(named_shares(two))
