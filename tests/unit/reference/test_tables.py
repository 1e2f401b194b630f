"""Each table by row count, columns and column sums: a slipped digit or a lost row shows.

A sum is no proof of a figure, only of its copy: change it together with the row, on purpose.
"""

from __future__ import annotations

import pytest

from aerode import reference
from aerode.reference.loader import COLUMNS, read_text

# name: rows, then the sums of value, low, high, uncertainty, coefficients, ends of valid ranges
SUMS = {
    "aluminium": (30, 6509.133, 166.27, 1321.82, 0, 0, 0),
    "electrolyte_conductivity": (74, 2731.685185, 0, 0, 0.5328, 1656.419859, 4436.1742),
    "electrolyte_density_viscosity": (84, -133.308, 0, 0, 2.7803, 1392835.595, 6591.4602),
    "exposure_limits": (158, 38420.43, 0, 0, 0, 0, 0),
    "fire": (152, 12377.54236, 1381.042, 361.046, 0, 0, 0),
    "hazard_remarks": (25, 0, 0, 0, 0, 0, 0),
    "hazard_rules": (40, 1193.7004200000001, 39.01001, 63.01, 0, 0, 0),
    "heat_gates": (48, 6383, 2706, 3323, 0, 0, 0),
    "oxygen": (32, 52.3834909, 0.60002, 1.0000207, 0.0731, 1297.9258178, 2528.7),
    "solids": (87, 3696.923, 1458.638001, 5403.231, 5, 0, 0),
    "solvents": (99, 14327.31, 0, 0, 8.745, 46055.449399, 20504.97),
    "thermodynamics": (51, 84771.564583, 0, 0, 9.256, 0, 0),
    "water": (11, 726.9267, 0, 0, 0.0236, 2095.736542, 2575.22),
    "water_activity": (43, 36.6088, 0, 0, 0.5301, 7.9512396535, 2741.1),
}  # fmt: skip


def test_every_table_is_listed() -> None:
    """No table escapes the sums."""
    assert sorted(SUMS) == sorted(reference.table_names())


@pytest.mark.parametrize("name", sorted(SUMS))
def test_columns_stand_in_the_agreed_order(name: str) -> None:
    """The first line that is no remark holds the column names."""
    lines = [line for line in read_text(f"{name}.csv").splitlines() if not line.startswith("#")]

    assert ",".join(COLUMNS) == lines[0]


@pytest.mark.parametrize("name", sorted(SUMS))
def test_rows_and_column_sums(name: str) -> None:
    """Row count and sums of the six columns that hold numbers."""
    rows = reference.load_table(name)
    count, *sums = SUMS[name]

    assert count == len(rows)
    assert sums == pytest.approx(
        [
            sum(row.value or 0.0 for row in rows),
            sum(row.low or 0.0 for row in rows),
            sum(row.high or 0.0 for row in rows),
            sum(row.uncertainty or 0.0 for row in rows),
            sum(number for row in rows for number in row.values),
            sum(span.low + span.high for row in rows for span in row.valid_range),
        ],
        rel=1e-9,
        abs=1e-12,
    )


def test_molar_masses_fit_the_formula_where_there_is_one() -> None:
    """Each molar mass agrees with the sum over its formula to 0.02 g/mol (IUPAC masses, rounded)."""
    atoms = {
        "H": 1.008, "C": 12.011, "N": 14.007, "O": 15.999, "F": 18.998, "Na": 22.990, "Al": 26.982, "Cl": 35.45,
        "K": 39.098, "Mn": 54.938, "Fe": 55.845, "Cu": 63.546, "Ni": 58.693,
    }  # fmt: skip
    for entry in reference.substances().values():
        formula = entry.formula.rstrip("+-")
        if entry.molar_mass is None or not formula:
            continue
        formula = formula[:-1] if entry.formula in ("Al3+",) else formula

        assert entry.molar_mass * 1e3 == pytest.approx(_mass(formula, atoms), abs=0.02), entry.name


def _mass(formula: str, atoms: dict[str, float]) -> float:
    """The mass of a formula with one level of brackets."""
    import re

    total = 0.0
    for group, times, symbol, number in re.findall(
        r"\(([A-Za-z0-9]+)\)(\d*)|([A-Z][a-z]?)(\d*)", formula
    ):
        if group:
            total += _mass(group, atoms) * int(times or 1)
        else:
            total += atoms[symbol] * int(number or 1)
    return total
