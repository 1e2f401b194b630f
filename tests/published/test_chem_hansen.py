"""Relative energy differences of polymers and solvents.

Source: Hansen parameters from tables A.1 and A.2 of the Hansen handbook (solvents and the early polystyrene set:
two public copies agree; PVB and PVDF spheres from memory, unverified). The quotients were worked out by another hand
from the same parameters and Ra2 = 4 dD2 + dP2 + dH2.
"""

from __future__ import annotations

import pytest

from aerode.errors import ReferenceDataError
from aerode.properties import Hint, solubility_hint

SOLVENTS = (
    "toluene",
    "acetone",
    "ethyl acetate",
    "2-propanol",
    "limonene",
    "o-xylene",
    "NMP",
    "MEK",
)
EXPECTED = {
    "polystyrene": (0.65, 1.01, 0.90, 1.29, 0.72, 0.67, 0.76, 0.87),
    "PVB": (1.08, 0.99, 0.77, 0.64, 0.90, 1.00, 0.93, 0.99),
    "PVDF": (3.3, 1.15, 1.90, 2.18, 2.90, 3.24, 0.88, 1.54),
}


@pytest.mark.parametrize("polymer", sorted(EXPECTED))
def test_relative_energy_differences(polymer: str) -> None:
    """To half of the last digit noted, plus rounding of the parameters."""
    for solvent, expected in zip(SOLVENTS, EXPECTED[polymer], strict=True):
        found = solubility_hint(solvent, polymer).relative_energy_differences[0]

        assert found == pytest.approx(expected, abs=0.05 if expected > 3 else 0.011)


def test_what_every_maker_knows() -> None:
    """Toluene dissolves polystyrene, NMP PVDF; nothing dissolves PTFE (common practice, no source)."""
    assert solubility_hint("toluene", "polystyrene").hint is not Hint.UNLIKELY
    assert solubility_hint("NMP", "PVDF").hint is not Hint.UNLIKELY
    assert solubility_hint("limonene", "PTFE").hint is Hint.INSOLUBLE
    assert solubility_hint("toluene", "PVDF").hint is Hint.UNLIKELY


def test_an_isomer_without_a_row_leads_to_the_mixture() -> None:
    """The handbook table, as in chemicals 1.5.2, has mixed, o- and p-xylene but no m-xylene."""
    with pytest.raises(ReferenceDataError, match="no Hansen parameters of m-xylene") as refusal:
        solubility_hint("m-xylene", "polystyrene")

    assert "ask for xylenes" in str(refusal.value)
