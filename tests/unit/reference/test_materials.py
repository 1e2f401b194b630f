"""Bench functions of materials and what wets metals: refusals and look-ups."""

from __future__ import annotations

import pytest

from aerode import reference
from aerode.errors import ReferenceDataError
from aerode.reference.materials import parse_materials

USE = """[[use]]
material = "beeswax"
function = "wet-proofer"
serves = "a"
home_test = "b"
mistaken_for = "c"
must_not_replace = "d"
source = "common_practice"
"""
METAL = """
[[wetted_metal]]
metal = "copper mesh"
electrolyte = "chloride"
unloaded = "a"
loaded = "b"
effect = "c"
source = "common_practice"
"""


@pytest.mark.parametrize(
    ("old", "new", "said", "line"),
    [
        ('"beeswax"', '"bees"', "unknown substance", 1),
        ('"wet-proofer"', '"glue"', "unknown function", 1),
        ('"common_practice"\n\n', '"hearsay"\n\n', "unknown source", 1),
        ('serves = "a"', 'serves = ""', "empty fields", 1),
        ('home_test = "b"\n', "", "other or empty fields", 1),
        ('"chloride"', '"acid"', "unknown electrolyte", 10),
    ],
)
def test_a_bad_entry_is_refused_with_file_and_line(
    old: str, new: str, said: str, line: int
) -> None:
    """Each fault is refused, and the refusal names file and line."""
    text = (USE + METAL).replace(old, new)

    with pytest.raises(ReferenceDataError, match=said) as refusal:
        parse_materials(text, "try.toml", sources={"common_practice"})

    assert f"try.toml, line {line}" == refusal.value.where


def test_every_bench_function_is_served() -> None:
    """Each function has at least one material."""
    for function in reference.BENCH_FUNCTIONS:
        assert reference.bench_uses(function=function)


def test_every_mesh_has_both_electrolytes() -> None:
    """What chloride and lye do is said for each mesh on file."""
    meshes = {s.name for s in reference.substances().values() if s.kind == "mesh"}
    for mesh in meshes:
        assert {"chloride", "lye"} == {n.electrolyte for n in reference.wetted_metals(mesh)}


def test_common_practice_says_so() -> None:
    """A fact of the trade is unverified; a page that was read is secondary."""
    assert reference.bench_uses("beeswax")[0].status == "unverified"
    assert reference.wetted_metals("copper", electrolyte="chloride")[0].status == "secondary"


@pytest.mark.parametrize("word", ["burn", "flame", "char", "soot", "match", "lighter"])
def test_no_home_test_asks_for_a_flame(word: str) -> None:
    """Whoever follows "confirm it at home" never lights anything; soot on a finger is no flame."""
    told = [use.home_test.replace("it soots the finger", "") for use in reference.bench_uses()]
    assert [text for text in told if word in text] == []
