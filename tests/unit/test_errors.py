"""Refusals: what, where, allowed, next step; and they survive a process boundary."""

from __future__ import annotations

import pickle

import pytest

from aerode import errors
from aerode.errors import AerodeError, FieldFault, RecordError


def test_a_refusal_says_all_four() -> None:
    """What, where, what is allowed and what to do next are all in the text."""
    text = str(
        AerodeError("it is too heavy", where="row 3", allowed="up to 5 g", next_step="weigh again")
    )

    assert text == "row 3: it is too heavy\nAllowed: up to 5 g\nNext: weigh again"


def test_a_record_refusal_lists_every_field() -> None:
    """No fault hides behind the first one."""
    refusal = RecordError(
        "two fields", (FieldFault("a", "missing"), FieldFault("b", "negative", "0 or more", "-1"))
    )

    assert "a: missing" in str(refusal)
    assert "b: negative (allowed: 0 or more)" in str(refusal)


@pytest.mark.parametrize("name", [n for n in dir(errors) if n.endswith("Error")])
def test_the_family_is_whole(name: str) -> None:
    """Every error here can be caught as the family and is drawn in the tree at the top."""
    kind = getattr(errors, name)

    assert issubclass(kind, AerodeError)
    assert name in (errors.__doc__ or "")


def test_it_survives_pickling() -> None:
    """A worker process can hand its refusal back whole."""
    refusal = RecordError("one field", (FieldFault("a", "missing"),), where="x", next_step="y")
    again = pickle.loads(pickle.dumps(refusal))

    assert str(again) == str(refusal)
    assert again.faults == refusal.faults
