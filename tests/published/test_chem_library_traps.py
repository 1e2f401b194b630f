"""Known traps of open libraries, each shown not to be fallen into.

Source of the traps: chemicals 1.5.2 and thermo 0.6.1 as installed and asked (verified there). Expected values:
CRC Handbook densities (1023.0 kg/m3 for 1-methyl-2-pyrrolidone at 25 degC, 841.1 for d-limonene at 20 degC),
NFPA 497 (2008) and IEC 60079-20-1 (2010) flash points, CAS registry numbers.
"""

from __future__ import annotations

import pytest

from aerode.properties import lookup, solution, viscosity
from aerode.reference import resolve, select, substance


def test_density_of_nmp_is_no_estimate() -> None:
    """An estimation method gives 918.6 kg/m3, 10 % low; the handbook gives 1023.0."""
    found = lookup("872-50-4", "density", temperature=298.15).value

    assert found == pytest.approx(1023.0, rel=1e-6)


def test_density_of_limonene_is_no_estimate() -> None:
    """An estimation method gives 822.3 kg/m3; the handbook gives 841.1 at 20 degC."""
    assert lookup("d-limonene", "density", temperature=293.15).value == pytest.approx(841.1)


@pytest.mark.parametrize("name", ["N-methyl-2-pyrrolidone", "NMP", "n-methylpyrrolidone"])
def test_the_name_of_nmp_leads_to_its_cas_number(name: str) -> None:
    """One library answers this name with CAS 18851-77-9 and a molar mass of 14.007 g/mol."""
    found = substance(name)

    assert found.cas == ("872-50-4",)
    assert found.molar_mass == pytest.approx(0.09913)


def test_alias_of_one_compound_is_not_another() -> None:
    """2-propanol, 1-propanol's neighbour by name, has its own CAS number."""
    assert resolve("67-63-0") == "2-propanol"


@pytest.mark.parametrize(
    ("name", "nfpa", "iec"),
    [("ethanol", 13.0, 12.0), ("ethyl acetate", -4.0, -4.0), ("2-propanol", 12.0, 12.0), ("acetone", -20.0, -20.0)],
)  # fmt: skip
def test_flash_points_name_their_compilation(name: str, nfpa: float, iec: float) -> None:
    """A DIPPR-type fit gives ethanol -13 degC; no row on file comes from it, and each names its list."""
    rows = select(name, "flash_point")

    assert [row.value for row in rows if row.source == "nfpa_497"] == [nfpa]
    assert [row.value for row in rows if row.source == "iec_60079_20_1"] == [iec]
    assert {row.source for row in rows} == {"nfpa_497", "iec_60079_20_1"}


def test_viscosity_of_strong_brine_is_not_that_of_a_dilute_law() -> None:
    """One library gives 1.078 mPa s for 25 % NaCl at 20 degC; the handbook says 1.902."""
    found = viscosity(solution("NaCl", 293.15, mass_fraction=0.25)).value * 1e3

    assert found == pytest.approx(1.902, rel=0.013)


def test_two_propanol_uses_antoine() -> None:
    """A Wagner fit gives 5780 Pa at 25 degC; Antoine and the handbook say 6020."""
    found = lookup("2-propanol", "vapour_pressure", temperature=298.15).value

    assert found == pytest.approx(6020.0, rel=1e-3)


def test_weak_sodium_hydroxide_is_thicker_than_water() -> None:
    """The published viscosity equation falls below water at 0.1 mol/L; the handbook does not."""
    water = lookup("water", "viscosity", temperature=293.15).value

    assert viscosity(solution("NaOH", 293.15, mass_fraction=0.005)).value / water == pytest.approx(
        1.027 / 1.002, rel=2e-3
    )
