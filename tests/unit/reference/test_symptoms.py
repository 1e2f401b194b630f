"""The table of symptoms: at least twenty, each with causes, a test and its minutes; found by any words."""

from __future__ import annotations

import pytest

from aerode.errors import ReferenceDataError
from aerode.reference import Status
from aerode.reference.symptoms import (
    find_symptoms,
    parse_symptoms,
    surely_fits,
    symptom_row,
    symptom_rows,
)

ROW = """[[symptom]]
key = "k"
seen = "s"
words = "w"
causes = ["a", "b"]
test = "t"
tells = ["x", "y"]
minutes = 3
keep = "p"
hazard = ""
source = "common_practice"
"""


def test_twenty_rows_and_more_all_marked_as_practice() -> None:
    """No row pretends to a source it has not."""
    assert len(symptom_rows()) >= 20
    assert {row.status for row in symptom_rows()} == {Status.UNVERIFIED}
    assert all(len(row.causes) == len(row.tells) >= 2 for row in symptom_rows())


@pytest.mark.parametrize("key", [row.key for row in symptom_rows()])
def test_every_row_is_found_by_its_key_and_by_what_is_seen(key: str) -> None:
    """The key finds the row alone; its own sentence finds it among the first."""
    assert [row.key for row in find_symptoms(key)] == [key]
    assert symptom_row(key) in find_symptoms(symptom_row(key).seen)


@pytest.mark.parametrize(
    ("said", "key"),
    [
        ("the meter shows minus 0.6 V", "negative voltage"),
        ("my coat has mud cracks", "cracks after drying"),
        ("drops of water on the air side, it leaks", "leak: wet air face"),
        ("it smells of vinegar when I press it", "smell at the press"),
        ("white jelly between the plates", "white gel"),
        ("it works with the air side taped over", "same with the air face taped"),
        ("bubles at the aluminum with no load", "bubbles at the aluminium, no load"),
    ],
)
def test_plain_words_find_the_row(said: str, key: str) -> None:
    """As people say it, slips of spelling included."""
    assert find_symptoms(said)[0].key == key


def test_nothing_fits_nonsense() -> None:
    """Words that no row holds find none."""
    assert find_symptoms("purple elephants") == ()


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('["x", "y"]', '["x"]', "do not pair"),
        ('["a", "b"]', '["a"]', "do not pair"),
        ("minutes = 3", "minutes = 3000", "3000 minutes"),
        ('source = "common_practice"', 'source = "gossip"', "unknown source"),
        ('keep = "p"\n', "", "other or empty fields"),
        ('seen = "s"', 'seen = ""', "other or empty fields"),
    ],
)
def test_a_bad_row_is_refused(old: str, new: str, said: str) -> None:
    """Each fault with file and line."""
    with pytest.raises(ReferenceDataError, match=said) as refusal:
        parse_symptoms(ROW.replace(old, new), "try.toml", sources={"common_practice"})

    assert "try.toml, line 1" in str(refusal.value)


def test_a_key_twice_is_refused() -> None:
    """The second one is named."""
    with pytest.raises(ReferenceDataError, match="stands twice"):
        parse_symptoms(ROW + ROW, "try.toml", sources={"common_practice"})


def test_an_unknown_key_names_near_ones() -> None:
    """A slip in the key."""
    with pytest.raises(ReferenceDataError, match="white gel"):
        symptom_row("white jel")


@pytest.mark.parametrize(
    ("said", "key"),
    [
        ("it is leaking", "leak: wet air face"),
        ("water drips through", "leak: wet air face"),
        ("reading wobbles", "reading jumps"),
        ("wobbly", "reading jumps"),
        ("the voltage drops when I connect the motor", "collapses at the first load"),
        ("it dies after an hour", "falls over hours, stays down"),
        ("stinks of vinegar", "smell at the press"),
        ("fizzing", "bubbles at the aluminium, no load"),
        ("flaking off", "film peels after pressing"),
        ("my electrode is broken", "cracks after drying"),
        ("leek", "leak: wet air face"),
        ("drips", "leak: wet air face"),
        ("a puddle below it", "leak: wet air face"),
        ("wet underneath", "leak: wet air face"),
        ("rust", "blue or brown liquid"),
        ("smels", "smell at the press"),
        ("it gets hot", "cell gets hot"),
        ("fizz", "bubbles at the aluminium, no load"),
        ("stops after an hour", "falls over hours, stays down"),
        ("doesn't work", "zero volts"),
        ("cracs", "cracks after drying"),
        ("it leaks, drops under the cell", "leak: wet air face"),
        ("drops on the table below the cell", "leak: wet air face"),
        ("the cell leaks when it stands", "leak: wet air face"),
        ("the voltage drops under load", "falls in minutes, recovers at rest"),
        ("wet air face on my cell", "leak: wet air face"),
        ("my cell has a white gel in the liquid", "white gel"),
        ("the cell is warm", "cell gets hot"),
    ],
)
def test_other_endings_and_other_words_find_it(said: str, key: str) -> None:
    """Leaking, leaky and dripping are one thing; rare words count more than "voltage"."""
    assert find_symptoms(said)[0].key == key


def test_the_row_of_leaks_is_found_in_the_list_and_under_its_former_name() -> None:
    """The word that people say stands in front; what was kept under the name without it still finds its row."""
    row = symptom_row("wet air face")

    assert row.key.startswith("leak: ")
    assert find_symptoms("wet air face") == (row,)


@pytest.mark.parametrize(
    ("said", "key"),
    [
        ("my foil has holes", "holes in the aluminium"),
        ("my pieces are all different", "good piece, bad twin"),
        ("the pieces are not alike", "good piece, bad twin"),
        ("pinholes in the coat", "cracks after drying"),
        ("it leeks", "leak: wet air face"),
        ("the voltage falls when loaded", "collapses at the first load"),
    ],
)
def test_everyday_words_fit_surely(said: str, key: str) -> None:
    """As people say it; "all" is not nearly "fall", and a foil is no film."""
    rows = find_symptoms(said)
    assert rows[0].key == key
    assert surely_fits(said, rows)


@pytest.mark.parametrize(
    "said",
    ["purple smell", "bubbles", "voltage", "each one gives another number", "my lamp does not light", "smells of bleach"],
)  # fmt: skip
def test_what_comes_only_near_is_not_told_as_the_answer(said: str) -> None:
    """Half of the words unknown, two rows alike, or a word that stands everywhere: offered, not told."""
    rows = find_symptoms(said)
    assert rows
    assert not surely_fits(said, rows)
    assert not surely_fits("anything", ())


@pytest.mark.parametrize(
    ("said", "key"),
    [
        ("the black stuff came off the mesh", "film peels after pressing"),
        ("the black layer peeled off the mesh", "film peels after pressing"),
        ("black flakes fall off the electrode", "film peels after pressing"),
        ("the coating comes off when I touch it", "film peels after pressing"),
        ("the black stuff falls off the mesh", "film peels after pressing"),
        ("black powder fell off after drying", "film peels after pressing"),
        ("the layer came loose from the wire", "film peels after pressing"),
        ("the black coat is coming away from the screen", "film peels after pressing"),
        ("the black layer detached", "film peels after pressing"),
        ("bits of the black film drop off the mesh", "film peels after pressing"),
        ("the paint peels", "film peels after pressing"),
        ("it flakes", "film peels after pressing"),
        ("the carbon rubs off on my fingers", "black liquid"),
        ("the water turned black", "black liquid"),
        ("black stuff in the water", "black liquid"),
    ],
)
def test_the_verb_tells_what_happened_to_the_black_layer(said: str, key: str) -> None:
    """What came off, peeled, flakes or falls off is a layer that leaves its mesh; what rubs off or colours is not."""
    rows = find_symptoms(said)
    assert rows[0].key == key
    assert surely_fits(said, rows)


@pytest.mark.parametrize("said", ["the clip fell off", "the lead came off", "the voltage drops off under load"])  # fmt: skip
def test_other_things_that_come_off_are_no_layer(said: str) -> None:
    """A clip is not told as a film that peels."""
    rows = find_symptoms(said)
    assert rows[0].key != "film peels after pressing" or not surely_fits(said, rows)
