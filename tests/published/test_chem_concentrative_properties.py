"""Density, viscosity, freezing and strength conversions against the handbook at 20 degC.

Source: CRC Handbook of Chemistry and Physics, 102nd ed. (2021), "Concentrative properties of aqueous
solutions". How read: a public MIT-licensed copy, taken over into chem_data/. Status: verified.
The adopted density and viscosity equations (Laliberte 2009) were fitted to other data; the lye
viscosities pass through SOME of these rows by construction, so those rows are left out below.
"""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from aerode.properties import density, freezing_temperature, solution, viscosity
from aerode.reference import select

DATA = Path(__file__).parent / "chem_data"
SALTS = {
    "nacl": "sodium chloride",
    "kcl": "potassium chloride",
    "koh": "potassium hydroxide",
    "naoh": "sodium hydroxide",
}
T20 = 293.15


def rows(name: str) -> list[dict[str, float | None]]:
    """The rows of one handbook table, empty cells as None."""
    lines = (DATA / f"crc_concentrative_{name}.csv").read_text(encoding="utf-8").splitlines()
    table = csv.DictReader(line for line in lines if not line.startswith("#"))
    return [{key: float(text) if text else None for key, text in row.items()} for row in table]


def share(row: dict[str, float | None]) -> float:
    """Mass fraction of a row."""
    return (row["mass_percent"] or 0.0) / 100.0


@pytest.mark.parametrize(("name", "count"), [("nacl", 35), ("kcl", 14), ("koh", 36), ("naoh", 31)])
def test_the_data_files_are_whole(name: str, count: int) -> None:
    """Row count, and the table's own density, molality and molarity agree with each other.

    c = m rho/(1 + m M) to the three decimals printed.
    """
    mass = {"nacl": 0.058443, "kcl": 0.074551, "koh": 0.056105, "naoh": 0.039997}[name]
    found = rows(name)

    assert count == len(found)
    for row in found:
        m, c, rho = row["molality"], row["molarity"], row["density_g_cm3"]
        assert m is not None
        assert c is not None
        assert rho is not None
        assert c == pytest.approx(m * rho / (1.0 + m * mass), rel=2e-3, abs=1.5e-3)


@pytest.mark.parametrize(
    ("name", "worst"), [("nacl", 5e-4), ("kcl", 1e-3), ("koh", 7e-3), ("naoh", 3e-3)]
)
def test_density_of_solutions(name: str, worst: float) -> None:
    """Laliberte against every handbook row; tolerance: the misses stated for it (0.045, 0.66, 0.27 %; KCl 0.1 %)."""
    for row in rows(name):
        brine = solution(SALTS[name], T20, mass_fraction=share(row))

        assert density(brine).value == pytest.approx(
            1000.0 * (row["density_g_cm3"] or 0.0), rel=worst
        )


@pytest.mark.parametrize("name", ["nacl", "kcl"])
def test_viscosity_of_chlorides(name: str) -> None:
    """Laliberte against every handbook row; tolerance 1.3 %, the largest miss stated for it."""
    for row in rows(name):
        brine = solution(SALTS[name], T20, mass_fraction=share(row))

        assert viscosity(brine).value * 1e3 == pytest.approx(row["viscosity_mPa_s"], rel=0.013)


@pytest.mark.parametrize("name", ["koh", "naoh"])
def test_viscosity_of_lye_between_the_rows_it_passes_through(name: str) -> None:
    """Rows that are not nodes of the scaling agree within 2 %, a third of Laliberte's own miss."""
    salt = SALTS[name]
    nodes = {
        float(r.conditions["mass_fraction"])
        for r in select(salt, "viscosity")
        if "mass_fraction" in r.conditions
    }
    left_out = [row for row in rows(name) if round(share(row), 6) not in nodes]

    assert len(left_out) >= 15
    for row in left_out:
        brine = solution(salt, T20, mass_fraction=share(row))

        assert viscosity(brine).value * 1e3 == pytest.approx(row["viscosity_mPa_s"], rel=0.02)


@pytest.mark.parametrize("name", ["nacl", "kcl", "koh", "naoh"])
def test_freezing_between_the_rows_on_file(name: str) -> None:
    """Every handbook depression within 0.1 K: the table on file is a part of it, interpolated."""
    salt = SALTS[name]
    for row in rows(name):
        depression = row["freezing_depression_C"]
        if depression is not None:
            brine = solution(salt, T20, mass_fraction=share(row))

            assert freezing_temperature(brine).value == pytest.approx(273.15 - depression, abs=0.1)


@pytest.mark.parametrize("name", ["nacl", "kcl", "koh", "naoh"])
def test_molality_and_molarity_from_the_mass_fraction(name: str) -> None:
    """The handbook's molality within 0.3 %, its molarity within the miss of the density."""
    for row in rows(name):
        brine = solution(SALTS[name], T20, mass_fraction=share(row))

        assert brine.molality == pytest.approx(row["molality"], rel=3e-3, abs=6e-4)
        assert brine.molarity / 1e3 == pytest.approx(row["molarity"], rel=8e-3, abs=6e-4)
