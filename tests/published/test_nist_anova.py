"""NIST StRD analysis of variance: SiRstv, AtmWtAg, SmLs01, SmLs04 and SmLs07.

Source, place and how it was read:
Certified tables are read from the published files in `data/`. SmLs04 has 7 and SmLs07 13 constant
leading digits ("higher difficulty").
Tolerance: what the numbers lose when they are stored as 64-bit floating point. A reading of 10¹² + 0.4
has a spacing of 1.2 × 10⁻⁴, so F of SmLs07 cannot be had to better than about 4 digits from stored
readings; with the constant digits taken off in decimal arithmetic before storing, all must
give 12. AtmWtAg: nine digits (spacing 1.4 × 10⁻¹⁴ on a spread of 1.5 × 10⁻⁵).
"""

from __future__ import annotations

import runpy
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest

from aerode.stats.anova import OneWayTable, one_way

read = runpy.run_path(str(Path(__file__).parent / "data" / "strd.py"))["read"]

DIGITS = {"SiRstv": 12, "AtmWtAg": 9, "SmLs01": 13, "SmLs04": 9, "SmLs07": 4}


def table_of(name: str, offset: str = "0") -> OneWayTable:
    """The one-way table of a set, the offset taken off in decimal arithmetic."""
    published = read(name)
    rows = [line.split() for line in published.lines[60:] if line.split()]
    groups: dict[str, list[float]] = {}
    for treatment, response in rows:
        groups.setdefault(treatment, []).append(float(Decimal(response) - Decimal(offset)))
    return one_way(list(groups.values()))


@pytest.mark.parametrize("name", sorted(DIGITS))
def test_certified_table(name: str) -> None:
    """F, both sums of squares, R² and the residual standard deviation."""
    published, found = read(name), table_of(name)
    between, within = published.numbers("Between"), published.numbers("Within")
    relative = 0.5 * 10.0 ** -DIGITS[name]
    assert found.f == pytest.approx(between[-1], rel=relative)
    assert found.between_degrees_of_freedom == between[-4]
    assert found.within_degrees_of_freedom == within[-3]
    assert found.between_sum == pytest.approx(between[-3], rel=max(2 * relative, 1e-8))
    assert found.within_sum == pytest.approx(within[-2], rel=max(2 * relative, 1e-8))
    assert found.squared_correlation == pytest.approx(
        published.numbers("Certified R-Squared")[0], rel=max(relative, 1e-12)
    )


@pytest.mark.parametrize(("name", "offset"), [("SmLs04", "1000000"), ("SmLs07", "1000000000000")])
def test_f_is_exact_once_the_constant_digits_are_off(name: str, offset: str) -> None:
    """F = 21 to twelve digits: nothing is lost by the program itself."""
    assert table_of(name, offset).f == pytest.approx(21.0, rel=1e-12)


def test_naive_sums_would_fail() -> None:
    """The calculator formula Σy² − (Σy)²/n gives no right digit on SmLs07: why it is not used."""
    y = read("SmLs07").table[:, 1]
    total = float(np.sum(y * y) - np.sum(y) ** 2 / y.size)
    assert abs(total / 3.48 - 1) > 0.5
