"""The table of process figures: what it refuses, and that every row says what it rests on."""

from __future__ import annotations

import pytest

from aerode.errors import ReferenceDataError
from aerode.reference import Status, bibliography
from aerode.reference.process_figures import (
    parse_process_figures,
    process_figure,
    process_rows,
    process_sources,
    process_words,
)

TEXT = """[quantity.nut_factor]
unit = "1"
means = "torque over force and diameter"

[source.a_page]
authors = ""
year = ""
title = "A page"
published_in = "somewhere"
doi = ""
kind = "web page"

[[figure]]
of = "thread"
quantity = "nut_factor"
condition = "dry"
low = 0.1
high = 0.3
source = "a_page"
how = "secondary"
"""


def test_a_good_text_is_read() -> None:
    """One row, one source added, one word."""
    rows, added, words = parse_process_figures(TEXT, {})

    assert rows[0].shown == "0.1 to 0.3"
    assert rows[0].status is Status.SECONDARY
    assert set(added) == {"a_page"}
    assert set(words) == {"nut_factor"}


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('source = "a_page"', 'source = "hearsay"', "unknown source"),
        ('source = "a_page"\n', "", "other or empty fields"),
        ('quantity = "nut_factor"', 'quantity = "luck"', "unknown quantity"),
        ("low = 0.1", "low = 0.4", "low is not below high"),
        ("low = 0.1\nhigh = 0.3\n", "", "no figure, or two"),
        ("low = 0.1", "coefficients = { a = 1.0 }\nlow = 0.1", "no figure, or two"),
        ('how = "secondary"', 'how = "heard"', "heard"),
        ("low = 0.1", "low = 'x'", "not supported|could not convert"),
        ('how = "secondary"', 'how = "secondary"\nrange = ["t=2..1 K"]', "bad range"),
        ('how = "secondary"', 'how = "secondary"\nfar = 1', "other or empty fields"),
    ],
)
def test_a_bad_row_is_refused_with_its_line(old: str, new: str, said: str) -> None:
    """Each fault is refused; file and line stand in the refusal."""
    with pytest.raises(ReferenceDataError, match=said) as refusal:
        parse_process_figures(TEXT.replace(old, new), {})

    assert "process_figures.toml, line 13" in str(refusal.value)


def test_the_same_figure_twice_is_refused() -> None:
    """The second one is named."""
    row = TEXT[TEXT.index("[[figure]]") :]

    with pytest.raises(ReferenceDataError, match="twice"):
        parse_process_figures(TEXT + "\n" + row, {})


def test_a_figure_from_memory_cannot_be_read() -> None:
    """The key from_memory goes with how = memory alone."""
    text = TEXT.replace('source = "a_page"', 'source = "from_memory"')

    with pytest.raises(ReferenceDataError, match="cannot be read as"):
        parse_process_figures(text, bibliography())


def test_every_row_of_the_package_has_source_word_and_figure() -> None:
    """Sources resolve, words have a meaning, and a row carries exactly one kind of figure."""
    for row in process_rows():
        assert row.source in bibliography() or row.source in process_sources(), row
        assert process_words()[row.quantity]
        assert bool(row.coefficients) != (
            row.value is not None or row.low is not None or row.high is not None
        )
    assert not set(process_sources()) & set(bibliography())


def test_what_is_not_on_file_is_refused_with_what_is() -> None:
    """Another condition of the same thing, and another thing."""
    with pytest.raises(ReferenceDataError, match="greased"):
        process_figure("thread", "nut_factor", "wet")
    with pytest.raises(ReferenceDataError, match="another quantity"):
        process_figure("thread", "luck")
