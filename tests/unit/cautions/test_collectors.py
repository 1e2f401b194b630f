"""A mesh that the electrolyte attacks: which of them, in which liquid, and where nothing is said.

Expected are the words of the table of materials for each mesh and liquid, read row by row: refused is
what it says not to use in that liquid, and nothing else.
"""

from __future__ import annotations

import pytest

from aerode.cautions.collectors import ATTACKED, collector_cautions, refused_mesh
from aerode.cautions.situation import CellPlan, Situation
from aerode.records.cautions import CautionLevel

REFUSED = {
    ("mild steel", "chloride"), ("copper", "chloride"), ("copper", "lye"), ("brass", "chloride"), ("brass", "lye"),
    ("galvanised steel", "chloride"), ("galvanised steel", "lye"),
}  # fmt: skip
METALS = (
    "mild steel",
    "copper",
    "nickel",
    "stainless steel",
    "brass",
    "galvanised steel",
    "aluminium",
)


@pytest.mark.parametrize("liquid", ["chloride", "lye"])
@pytest.mark.parametrize("metal", METALS)
def test_what_the_table_refuses_is_refused_and_nothing_else(metal: str, liquid: str) -> None:
    """Plain steel in chloride alone, copper, brass and zinc in both, stainless steel and nickel in neither."""
    found = refused_mesh(metal, liquid)

    assert (found is not None) is ((metal, liquid) in REFUSED)
    if found is not None:
        row, serves = found
        assert row.electrolyte == liquid
        assert serves.startswith(("not at all", "not in chloride", "only where nothing wet"))


def test_the_words_are_those_of_this_metal_in_this_liquid() -> None:
    """Copper in salt water and copper in lye are two rows."""
    salt, lye = refused_mesh("copper", "chloride"), refused_mesh("copper", "lye")

    assert salt is not None
    assert lye is not None
    assert salt[0].effect == "blue-green liquid; copper plates on the aluminium and pits it"
    assert lye[0].unloaded == "dissolves slowly with air, blue"
    assert salt[1] == lye[1] == "only where nothing wet can reach it"


@pytest.mark.parametrize(
    ("metal", "liquid"), [("", "chloride"), ("old spoon", "chloride"), ("copper", "")]
)
def test_what_nobody_said_is_refused_to_nobody(metal: str, liquid: str) -> None:
    """No metal, none that is on file, no liquid: nothing is claimed."""
    assert refused_mesh(metal, liquid) is None


@pytest.mark.parametrize(
    ("salt", "said"),
    [
        ("sodium chloride", "mild steel in salt water"), ("sea salt", "mild steel in salt water"),
        ("Brine of the shore", "mild steel in salt water"), ("KOH", ""), ("sodium hydroxide", ""),
        ("vinegar", ""), ("", ""),
    ],
)  # fmt: skip
def test_the_liquid_is_told_by_its_salt(salt: str, said: str) -> None:
    """Chlorides by their names, lyes by theirs; plain steel holds in lye, and of vinegar nothing is said."""
    cell = CellPlan(name="A", salt=salt, collector="mild steel")
    found = collector_cautions(Situation(about=("A",), cells=(cell,)))

    assert len(found) == bool(said)
    if said:
        assert found[0].headline.startswith(
            f"{said.replace('mild steel', 'plain steel mesh')}: "
        ) or found[0].headline.startswith(f"{said}: ")


def test_copper_in_lye_names_the_lye() -> None:
    """The liquid stands in the headline."""
    (found,) = collector_cautions(
        Situation(cells=(CellPlan(name="A", salt="KOH", collector="copper"),))
    )

    assert " in lye: copper plates on the aluminium" in found.headline


def test_each_cell_has_its_own_line_with_what_it_rests_on() -> None:
    """A FIRST for each cell that is attacked, none for the one that is not, each with its source."""
    cells = tuple(
        CellPlan(name=name, salt="sodium chloride", collector=metal)
        for name, metal in (("A", "mild steel"), ("B", "stainless steel"), ("C", "copper"))
    )
    steel, copper = collector_cautions(Situation(about=("row",), cells=cells))

    assert [one.key for one in (steel, copper)] == ["collector.A", "collector.C"]
    assert {one.level for one in (steel, copper)} == {CautionLevel.FIRST}
    assert {one.hazard for one in (steel, copper)} == {ATTACKED}
    assert (steel.unverified, copper.unverified) == (True, False)
    assert "[common_practice]" in steel.source[0] or "practice" in steel.source[0].lower()
    assert "[corrosion_doctors]" in copper.source[0]
    assert len(steel.source) == len(copper.source) == 1
    assert steel.basis == (
        "wet at rest: rusts overnight; under load: protected while the current lasts; as a collector it serves not in "
        "chloride; in strong lye it stays passive"
    )
    assert steel.about == ("row",)
