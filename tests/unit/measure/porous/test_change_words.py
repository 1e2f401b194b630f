"""A change may be said as people say it: the model reads the same as from its own words."""

from __future__ import annotations

import pytest

from aerode.errors import InputError, RangeError, UnitError
from aerode.measure.porous.changes import read_change


@pytest.mark.parametrize(
    ("said", "same"),
    [
        ("200 um thicker", "thickness +200 um"),
        ("thicker by 0,2 mm", "thickness +0.2 mm"),
        ("a tenth thinner", "thickness -10 %"),
        ("20 % more binder", "binder +20 %"),
        ("20% less binder", "binder -20%"),
        ("twice the activity", "activity x2"),
        ("half the conduction", "conduction x0.5"),
        ("flooded by half", "saturation 50 %"),
        ("half flooded", "saturation 50 %"),
        ("Flooded 30 %", "saturation 30 %"),
        ("flooding +10 %", "saturation +10 %"),
    ],
)
def test_said_and_typed_are_the_same_change(said: str, same: str) -> None:
    """What, how much and which way agree; what was said stays beside it."""
    one, other = read_change(said), read_change(same)
    assert (one.what, one.kind) == (other.what, other.kind)
    assert one.amount == pytest.approx(other.amount, rel=1e-4)
    assert one.text == said


@pytest.mark.parametrize("said", ["20 % more catalyst", "thicker", "half of it", "flooded", ""])
def test_what_says_too_little_is_refused_in_its_own_words(said: str) -> None:
    """The refusal names what was typed, not what it was turned into."""
    with pytest.raises((InputError, UnitError), match=said or "''"):
        read_change(said)


def test_a_share_without_its_sign_is_told_how_to_write_it() -> None:
    """15 of binder is no share, 15 % is; a wetness of 300 is neither."""
    with pytest.raises(RangeError, match="cannot be") as bare:
        read_change("binder 15")
    with pytest.raises(RangeError) as never:
        read_change("saturation 300")

    assert bare.value.next_step == "with its sign: binder 15 %"
    assert read_change("binder 15 %").amount == pytest.approx(0.15)
    assert never.value.next_step == ""
