"""The constants of nature: one definition, and the values of the SI."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from aerode.physics import constants

SOURCE = Path(__file__).resolve().parents[3] / "src" / "aerode"


def test_the_values_are_the_products_of_the_exact_constants() -> None:
    """Elementary charge, Avogadro and Boltzmann constant are exact in the SI (BIPM SI brochure, 9th ed., 2019, 2.2)."""
    charge, avogadro, boltzmann = 1.602176634e-19, 6.02214076e23, 1.380649e-23
    assert pytest.approx(charge * avogadro, abs=1e-5) == constants.FARADAY  # digits shown
    assert pytest.approx(boltzmann * avogadro, abs=1e-9) == constants.GAS_CONSTANT  # digits shown


@pytest.mark.parametrize("name", sorted(constants.__all__))
def test_each_is_defined_in_one_file(name: str) -> None:
    """A second definition could drift away from the first."""
    defines = re.compile(rf"^_?{name}\b[^=\n]*=\s*[\d(]", re.MULTILINE)
    files = [f for f in SOURCE.rglob("*.py") if defines.search(f.read_text(encoding="utf-8"))]
    assert [f.relative_to(SOURCE).as_posix() for f in files] == ["physics/constants.py"]
