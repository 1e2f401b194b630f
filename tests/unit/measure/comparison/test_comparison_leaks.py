"""Leaks: between which looks, what is not known, and the exact share."""

from __future__ import annotations

import pytest
from scipy.stats import binomtest

from aerode.errors import RangeError
from aerode.measure.comparison.leaks import (
    leak_line,
    leak_lines,
    leak_share,
    leak_share_in_words,
)
from aerode.records.electrodes import Electrode, Outcome
from aerode.records.runs import Observation, Run, RunSort


def seep(*looks: tuple[float, bool], head: float | None = 0.12) -> Run:
    """A seep run with looks at hours, wet or dry."""
    return Run(
        name="s",
        sort=RunSort.SEEP,
        head=head,
        observations=tuple(Observation(at=h * 3600.0, wet=wet) for h, wet in looks),
    )


@pytest.mark.parametrize(
    ("looks", "last_dry", "first_wet", "words"),
    [
        (((2, False), (11, False), (24, True)), 11.0, 24.0, "between 11 h and 24 h"),
        (((11, False), (48, False)), 48.0, None, "dry to the last look"),
        (((3, True),), None, 3.0, "wet at the first look"),
        (((24, True), (2, False), (30, False)), 2.0, 24.0, "between 2 h and 24 h"),
        ((), None, None, "nobody looked"),
    ],
)
def test_a_leak_lies_between_the_last_dry_and_the_first_wet_look(looks, last_dry, first_wet, words):
    """Interval, right and left censoring, looks in any order; dry after wet is not taken back."""
    line = leak_line("T", seep(*looks))
    assert (line.last_dry, line.first_wet) == (last_dry, first_wet)
    assert words in line.detail


def test_the_height_of_water_stands_in_the_line_where_it_is_known():
    """A leak without its head cannot be compared."""
    assert "12 cm of water" in leak_line("T", seep((1, False))).detail
    assert "cm" not in leak_line("T", seep((1, False), head=None)).detail


def test_an_electrode_entered_as_leaked_stays_in_the_list_without_a_seep_run():
    """Failed electrodes are not forgotten, and one with a seep run is not listed twice."""
    leaked = Electrode(name="T9", outcome=Outcome.LEAKED)
    other = Run(name="l", sort=RunSort.LOADS)
    lines = leak_lines([(leaked, other), (leaked, other), (Electrode(name="T1"), seep((1, False)))])
    assert [line.electrode for line in lines] == ["T1", "T9"]
    assert len(leak_lines([(leaked, seep((1, True)))])) == 1


@pytest.mark.parametrize(("leaked", "of"), [(0, 8), (1, 8), (4, 8), (8, 8), (3, 29)])
def test_the_limits_of_the_share_are_the_exact_binomial_ones(leaked, of):
    """Against the exact test of the general statistics library; one-sided at the ends."""
    low, high = leak_share(leaked, of)
    level = 0.90 if leaked in (0, of) else 0.95
    exact = binomtest(leaked, of).proportion_ci(level, method="exact")
    assert low == pytest.approx(exact.low, abs=1e-12)
    assert high == pytest.approx(exact.high, abs=1e-12)


def test_impossible_counts_are_refused():
    """More leaks than pieces is a slip."""
    for leaked, of in ((2, 1), (-1, 3), (0, 0)):
        with pytest.raises(RangeError):
            leak_share(leaked, of)


def test_the_sentence_on_the_share_names_counts_and_limits():
    """1 of 8 in words; nothing at all where nobody looked."""
    lines = [
        leak_line("T1", seep((1, False), (2, True))),
        *(leak_line(f"T{k}", seep((48, False))) for k in range(2, 9)),
    ]
    assert (
        leak_share_in_words(lines)
        == "1 of 8 leaked while watched; 0.32 to 53 % of such pieces would (95 % limits)"
    )
    assert leak_share_in_words([]) == ""
