"""The engine against published lines: autoignition, fluoropolymer fume, manganese by mass, jar air.

Sources: NFPA 497 and IEC 60079-20-1 as tabulated in an open library (toluene, acetone, ethyl
acetate, 2-butanone, xylene, 2-propanol, limonene, ethanol); INRS FT 213 (NMP 245 degC); plastics
industry guide (PTFE: hazardous fume possible above 330 degC); explosion-protection rule of 80 % of
the autoignition temperature in degC (read on a testing page); atomic weights (Mn 54.938, O 15.999).
The expected ceilings and shares were worked by hand from those figures. Tolerance: 1 degC for the
rounded ceilings; 0.1 % for manganese.
"""

from __future__ import annotations

import pytest

from aerode.cautions import lookup
from aerode.cautions.engine import assess
from aerode.cautions.situation import Heating, Polymer, Situation
from aerode.physics.flammability import Headspace, headspace, saturated_share
from aerode.physics.heat_gates import surface_ceiling
from aerode.records.cautions import Caution, CautionLevel

ZERO = 273.15


def _under(celsius: float, *, solvent: str = "water", polymer: str = "") -> list[Caution]:
    heating = Heating(name="p", plate_temperature=ZERO + celsius, last_solvents=(solvent,))
    polymers = (Polymer(name=polymer, substance=polymer),) if polymer else ()
    return list(assess(Situation(polymers=polymers, heatings=(heating,))))


def test_limonene_under_a_plate_at_250_degrees() -> None:
    """237 degC, 80 % of it 190: refused, with both figures on the line."""
    found = [c for c in _under(250.0, solvent="limonene") if c.hazard == "ignition by the plate"]
    assert [c.level for c in found] == [CautionLevel.STOP]
    assert "237" in found[0].headline
    assert "190 °C" in found[0].limit


def test_ptfe_ten_kelvin_over_its_published_line() -> None:
    """330 degC by the guide: 340 without extraction is refused, 320 is not."""
    at_340 = [c for c in _under(340.0, polymer="PTFE") if c.hazard == "polymer heat"]
    at_320 = [c for c in _under(320.0, polymer="PTFE") if c.hazard == "polymer heat"]
    assert at_340[0].level is CautionLevel.STOP
    assert "stop 330 °C" in at_340[0].limit
    assert at_320[0].level is CautionLevel.FIRST


def test_manganese_dioxide_is_63_per_cent_manganese() -> None:
    """0.158 mg of manganese dioxide is 0.1 mg of manganese."""
    share = lookup.rule("mass_fraction_of_manganese", "as MnO2")
    assert share is not None
    assert share.value == pytest.approx(54.938 / (54.938 + 2 * 15.999), rel=1e-3)
    assert 0.158 * share.value == pytest.approx(0.1, rel=2e-3)


@pytest.mark.parametrize(
    ("solvent", "ceiling"),
    [
        ("toluene", 384), ("acetone", 372), ("ethyl acetate", 342), ("2-butanone", 323), ("xylene", 372),
        ("2-propanol", 319), ("limonene", 190), ("NMP", 196), ("ethanol", 290),
    ],
)  # fmt: skip
def test_the_plate_ceilings(solvent: str, ceiling: float) -> None:
    """80 % of the lower autoignition temperature on file, to the degree."""
    name = lookup.known_name(solvent)
    share = lookup.rule("autoignition_surface_share", "explosive atmosphere")
    assert name is not None
    assert share is not None
    lights = lookup.fire(name).autoignition
    assert lights is not None
    assert surface_ceiling(lights.value, share=share.value)[0] - ZERO == pytest.approx(
        ceiling, abs=0.7
    )


@pytest.mark.parametrize(
    ("solvent", "expected"),
    [
        ("toluene", Headspace.INSIDE), ("2-butanone", Headspace.INSIDE), ("ethyl acetate", Headspace.INSIDE),
        ("2-propanol", Headspace.INSIDE), ("ethanol", Headspace.INSIDE), ("acetone", Headspace.ABOVE),
        ("limonene", Headspace.BELOW), ("NMP", Headspace.BELOW),
    ],
)  # fmt: skip
def test_the_air_over_each_jar_at_25_degrees(solvent: str, expected: Headspace) -> None:
    """Most jars hold air that burns; acetone's is too rich and burns as it thins; two are too lean."""
    name = lookup.known_name(solvent)
    assert name is not None
    pressure, found = lookup.vapour_pressure(name, 298.15), lookup.fire(name)
    assert pressure is not None
    assert found.lower is not None
    assert found.upper is not None
    assert (
        headspace(saturated_share(pressure.value), found.lower.value, found.upper.value) is expected
    )


@pytest.mark.parametrize(
    ("solvent", "kilopascal"),
    [
        ("toluene", 3.79), ("acetone", 30.8), ("ethanol", 7.87), ("ethyl acetate", 12.6),
        ("2-butanone", 12.6), ("2-propanol", 6.02),
    ],
)  # fmt: skip
def test_vapour_pressures_at_25_degrees(solvent: str, kilopascal: float) -> None:
    """Handbook values at 25 degC (CRC Handbook, vapour pressure of organic liquids; from memory): 6 %."""
    found = lookup.vapour_pressure(solvent, 298.15)
    assert found is not None
    assert found.value / 1e3 == pytest.approx(kilopascal, rel=0.06)
