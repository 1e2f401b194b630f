"""Standard potentials, cell voltages and heats of aluminium and air.

Sources: NBS tables and CRC aqueous ions (as in thermo 0.6.1), Wesolowski 1992 for gibbsite; handbook
potentials from memory (unverified): 0.401, 1.229, -0.828, -1.676 V (Bard, Parsons, Jordan), slopes -1.68
and -0.846 mV/K. The worked voltages were derived from the same formation properties by another hand; those of
the amorphous solid with -1138 kJ/mol, carried here to the -1139.5 on file (phreeqc.dat, log K 10.8 against 8.11):
1.5 kJ/mol over 3 F, 5.2 mV more.
"""

from __future__ import annotations

import pytest

from aerode.physics.aluminium import aluminate_emf, hydroxide_budget
from aerode.properties import cell_emf, couple_potential, solution, standard_emf, thermoneutral
from aerode.reference import published, select


@pytest.mark.parametrize(
    ("couple", "expected", "tolerance"),
    [
        ("O2/OH-", 0.401, 0.001), ("O2/H2O", 1.229, 0.001), ("H2O/H2", -0.828, 0.001),
        ("Al3+/Al", -1.676, 0.001), ("Al(OH)4-/Al", -2.328, 0.012), ("amorphous/Al", -2.31, 0.012),
    ],
)  # fmt: skip
def test_handbook_potentials(couple: str, expected: float, tolerance: float) -> None:
    """To the printed digit; 12 mV for the aluminates, where handbooks differ by 18 mV."""
    assert couple_potential(couple).value == pytest.approx(expected, abs=tolerance)


@pytest.mark.parametrize(
    ("couple", "slope"),
    [
        ("O2/OH-", -1.682), ("O2/H2O", -0.846), ("H2O/H2", -0.836), ("Al3+/Al", 0.532),
        ("Al(OH)4-/Al", -1.083), ("gibbsite/Al", -0.927),
    ],
)  # fmt: skip
def test_temperature_slopes_against_hydrogen(couple: str, slope: float) -> None:
    """In mV/K, to the third decimal of the worked values."""
    found = couple_potential(couple, 308.15).value - couple_potential(couple).value

    assert found * 100.0 == pytest.approx(slope, abs=1e-3)


@pytest.mark.parametrize(
    ("product", "expected"), [("aluminate", 2.7374), ("gibbsite", 2.7611), ("amorphous", 2.7079)]
)
def test_standard_cell_voltages(product: str, expected: float) -> None:
    """To 0.1 mV."""
    assert standard_emf(product).value == pytest.approx(expected, abs=1e-4)


@pytest.mark.parametrize(("product", "expected"), [("gibbsite", 2.986), ("aluminate", 2.915)])
def test_thermoneutral_voltages(product: str, expected: float) -> None:
    """To 1 mV."""
    assert thermoneutral(product).value == pytest.approx(expected, abs=1e-3)


@pytest.mark.parametrize(("product", "expected"), [("gibbsite", 2.7506), ("amorphous", 2.6975)])
def test_voltage_in_three_and_a_half_per_cent_brine(product: str, expected: float) -> None:
    """Activity 0.9795, air at 101 325 Pa saturated over the brine: to 0.2 mV."""
    brine = solution("NaCl", 298.15, mass_fraction=0.035)

    assert cell_emf(brine, product).value == pytest.approx(expected, abs=2e-4)


@pytest.mark.parametrize(("product", "expected"), [("gibbsite", 2.7490), ("amorphous", 2.6958)])
def test_voltage_in_four_molal_brine(product: str, expected: float) -> None:
    """To 0.3 mV."""
    brine = solution("NaCl", 298.15, molality=4.0)

    assert cell_emf(brine, product).value == pytest.approx(expected, abs=3e-4)


@pytest.mark.parametrize(("activity", "expected"), [(0.1, 2.7592), (1.0, 2.7395), (0.01, 2.7789)])
def test_voltage_in_four_molar_lye(activity: float, expected: float) -> None:
    """OH- activity 5.68, water activity 0.81, oxygen 0.2069 bar, as the worked case states: 0.2 mV."""
    found = aluminate_emf(
        standard_emf("aluminate").value,
        298.15,
        20690.0,
        0.81,
        hydroxide_activity=5.68,
        aluminate_activity=activity,
    )

    assert float(found) == pytest.approx(expected, abs=2e-4)


def test_lye_from_the_tables_on_file_is_near_the_worked_case() -> None:
    """4 mol/L KOH looked up whole: within 2 mV, the worked case rounds its activity coefficient."""
    lye = solution("KOH", 298.15, molarity=4000.0)

    assert cell_emf(lye, "aluminate").value == pytest.approx(2.7592, abs=2e-3)


@pytest.mark.parametrize(("celsius", "grams"), [(25.0, 0.7), (60.0, 1.7)])
def test_hydroxide_budget_of_100_ml_of_four_molar_lye(celsius: float, grams: float) -> None:
    """Wesolowski 1992: gibbsite saturation of 0.4 mol OH-; the end of free hydroxide is 10.8 g."""
    held, end = hydroxide_budget(
        0.4,
        273.15 + celsius,
        log_constant=1.143,
        enthalpy=-22500.0,
        gas_constant=8.314462618,
        reference_temperature=298.15,
    )

    assert held * 26.9815 == pytest.approx(grams, abs=0.06)
    assert end * 26.9815 == pytest.approx(10.8, abs=0.05)


def test_heats_of_corrosion_follow_from_the_formation_enthalpies() -> None:
    """Al + 3 H2O -> Al(OH)3 + 1.5 H2 gives 435.6 kJ/mol, with lye to aluminate 415.0 kJ/mol."""
    h = {
        name: published(name, "enthalpy_of_formation").value or 0.0
        for name in ("gibbsite", "water", "aluminate ion", "hydroxide ion")
    }
    brine = h["gibbsite"] - 3.0 * h["water"]
    lye = h["aluminate ion"] - h["hydroxide ion"] - 3.0 * h["water"]
    on_file = [row.value for row in select("aluminium", "enthalpy_of_reaction")]

    assert on_file == pytest.approx([brine, lye], abs=0.1)


@pytest.mark.parametrize(("name", "expected"), [("NaOH", -44.51), ("KOH", -57.61)])
def test_heat_of_solution_of_lye(name: str, expected: float) -> None:
    """CRC enthalpies of solution of electrolytes in kJ/mol (from memory, unverified), within 0.3."""
    (row,) = select(name, "enthalpy_of_reaction")

    assert row.value == pytest.approx(expected, abs=0.3)
