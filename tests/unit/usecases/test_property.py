"""Asking for a property: SI value, range, source, status; lists; what serves."""

from __future__ import annotations

import pytest

from aerode import properties
from aerode.errors import InputError, RangeError, ReferenceDataError
from aerode.records.adapter import read, write_whole
from aerode.records.properties import PropertySheet
from aerode.usecases.property import PropertyQuestion, property_of
from aerode.usecases.property_lists import what_can_be_asked, what_serves
from aerode.usecases.property_words import WORKED_OUT, known_words

BRINE = {"mass_fraction": "3.5 %"}


def _ask(quantity: str, of: str, **more: object) -> PropertySheet:
    said = {"strength": {}, **more}
    return property_of(PropertyQuestion(quantity=quantity, of=of, **said))  # type: ignore[arg-type]


def test_a_solution_property_carries_everything() -> None:
    """Value in SI, uncertainty, source, range with where it was asked, status, how it was read."""
    sheet = _ask("conductivity", "NaCl", strength=BRINE, temperature="15 degC")

    assert sheet.value == pytest.approx(4.53, rel=0.01)
    assert sheet.unit == "S/m"
    assert sheet.standard_uncertainty is not None
    assert sheet.source == "nacl_fit"
    assert sheet.source_text
    assert sheet.status == "verified"
    assert {r.variable: r.holds for r in sheet.range} == {
        "temperature": True,
        "mass_fraction": True,
    }
    assert sheet.understood[0].startswith("mass fraction: 3.5 %")
    assert read(PropertySheet, write_whole(sheet)) == sheet


def test_outside_the_range_it_warns_with_the_range_and_does_not_clip() -> None:
    """50 and 60 degC differ, and both name 313.15 K."""
    at_50 = _ask("conductivity", "NaCl", strength=BRINE, temperature="50 degC")
    at_60 = _ask("conductivity", "NaCl", strength=BRINE, temperature="60 degC")

    assert at_60.value is not None
    assert at_50.value is not None
    assert at_60.value > at_50.value
    assert any("313.15" in w for w in at_60.warnings)
    assert "OUTSIDE" in at_60.headline
    assert not next(r for r in at_60.range if r.variable == "temperature").holds


def test_strengths_agree_whichever_way_they_are_said() -> None:
    """0.621 mol/kg is 3.5 %; a bare molarity is in mol/L."""
    by_mass = _ask("density", "NaCl", strength=BRINE, temperature="25 degC").value
    by_molality = _ask("density", "NaCl", strength={"molality": "0.62061"}, temperature="25 degC")
    lye = _ask("density", "KOH", strength={"molarity": "4"}, temperature="25 degC")

    assert by_molality.value == pytest.approx(by_mass, rel=1e-5)
    assert lye.value == pytest.approx(1176.1, abs=0.5)


def test_room_temperature_is_taken_and_said() -> None:
    """Where a temperature is needed and none was given; not where it is not."""
    assert any("25 degC is taken" in w for w in _ask("density", "water").warnings)
    assert not any("is taken" in w for w in _ask("flash_point", "toluene").warnings)


def test_spaces_hyphens_and_slips_in_the_word() -> None:
    """ "flash point" is flash_point; a slip names near words."""
    assert _ask("Flash Point", "toluene").quantity == "flash_point"
    with pytest.raises(ReferenceDataError, match="conductivity"):
        _ask("coductivity", "NaCl")


def test_nothing_on_file_is_no_number() -> None:
    """None with a reason, never zero."""
    sheet = _ask("flash_point", "beeswax")

    assert sheet.value is None
    assert sheet.reason
    assert "no number on file" in sheet.headline


def test_a_bound_is_told_as_a_bound() -> None:
    """No middle is invented."""
    sheet = _ask("sole_plate_temperature", "iron")

    assert sheet.value is None
    assert "at most 383.15 K" in sheet.headline
    assert len(sheet.others) == 3


def test_a_set_of_numbers_is_told_whole() -> None:
    """Hansen parameters are three numbers, not one."""
    sheet = _ask("hansen_parameters", "toluene")

    assert sheet.value is None
    assert sheet.coefficients == {"dispersion": 18.0, "polar": 1.4, "hydrogen_bonding": 2.0}


def test_conditions_and_sources_pick_a_row() -> None:
    """One body's limit; one compilation's flash point; in the unit of the body for people."""
    limit = _ask("exposure_limit", "toluene", conditions=("body=NIOSH REL", "kind=TWA"))
    flash = _ask("flash_point", "toluene", source="iec_60079_20_1")

    assert limit.value == pytest.approx(1e-4)
    assert "100 ppm" in limit.headline
    assert flash.source == "iec_60079_20_1"


@pytest.mark.parametrize(
    ("quantity", "of", "more", "value", "rel"),
    [
        # handbook and stoichiometry, as in the tests of the published cases
        ("oxygen_solubility", "NaCl", {"strength": {"mass_fraction": "0"}, "temperature": "25 degC"}, 0.2582, 1e-3),
        ("theoretical_capacity", "aluminium", {}, 2.97998 * 3600e3, 1e-4),
        ("couple_potential", "O2/OH-", {}, 0.401, 1e-3),
        ("thermoneutral_voltage", "gibbsite", {}, 2.986, 1e-3),
        ("calibration_conductivity", "KCl", {"strength": {"molality": "0.1"}, "temperature": "25 degC"}, 1.28246, 1e-6),
        ("conductivity", "KCl", {"strength": {"molality": "0.1"}, "temperature": "25 degC"}, 1.28246, 1e-6),
        ("emf", "KOH", {"strength": {"molarity": "4"}, "temperature": "25 degC"}, 2.759, 1e-3),
        ("surface_tension", "water", {"temperature": "25 degC"}, 0.0720, 1e-3),
        ("surface_tension", "acetone", {}, 0.0237, 1e-3),
        ("oxygen_pressure", "air", {"temperature": "25 degC"}, 20564.0, 1e-3),
    ],
)  # fmt: skip
def test_worked_out_quantities(
    quantity: str, of: str, more: dict[str, object], value: float, rel: float
) -> None:
    """Each word beyond the tables gives the figure of its published case."""
    assert _ask(quantity, of, **more).value == pytest.approx(value, rel=rel)


def test_pressure_moves_oxygen() -> None:
    """At 90 kPa there is less of it, by the pressure less the vapour."""
    low = _ask(
        "oxygen_solubility", "NaCl", strength=BRINE, temperature="25 degC", pressure="90 kPa"
    )
    high = _ask("oxygen_solubility", "NaCl", strength=BRINE, temperature="25 degC")

    assert low.value is not None
    assert high.value is not None
    assert low.value / high.value == pytest.approx((90.0 - 3.11) / (101.325 - 3.11), rel=1e-3)


def test_the_uncertainty_of_the_oxygen_pressure_is_in_pascal() -> None:
    """1e-4 of 0.2095 over sqrt(3): 2.8e-4 of the value."""
    sheet = _ask("oxygen_pressure", "air", temperature="25 degC")

    assert sheet.value is not None
    assert sheet.standard_uncertainty == pytest.approx(sheet.value * 1e-4 / 3**0.5 / 0.2095)


def test_solubility_is_a_hint() -> None:
    """One solvent gives the hint; a blend its distance, and that it changes as it dries; PTFE never."""
    one = _ask("solubility", "polystyrene", solvents=("toluene",))
    blend = _ask("solubility", "PVB", solvents=("ethanol=0.8", "water=0.2"))
    never = _ask("solubility", "PTFE", solvents=("limonene",))

    assert "likely to dissolve (a hint)" in one.headline
    assert blend.value is not None
    assert blend.value > _ask("solubility", "PVB", solvents=("ethanol",)).value  # type: ignore[operator]
    assert any("quick liquid leaves first" in w for w in blend.warnings)
    assert "does not dissolve" in never.headline
    with pytest.raises(RangeError, match="which solvent"):
        _ask("solubility", "PVB")


def test_lye_is_no_sea_water_and_says_so() -> None:
    """Surface tension of lye: outside the salinity, and taken as sea salt."""
    sheet = _ask("surface_tension", "KOH", strength={"molarity": "4"}, temperature="25 degC")

    assert any("taken as sea salt" in w for w in sheet.warnings)
    assert "OUTSIDE" in sheet.headline


def test_lists() -> None:
    """All; those of a substance; those with a quantity; process figures too."""
    everything, lye = what_can_be_asked(), what_can_be_asked(of="KOH")
    flash, nut = what_can_be_asked("flash_point"), what_can_be_asked("nut_factor")

    assert set(WORKED_OUT) <= set(everything.quantities) == set(known_words())
    assert lye.substances[0].name == "potassium hydroxide"
    assert "conductivity" in lye.quantities
    assert "toluene" in {s.name for s in flash.substances}
    assert [s.name for s in nut.substances] == ["thread"]


def test_what_serves_and_what_wets_it() -> None:
    """Collectors carry what chloride and lye do; an unknown function names near ones."""
    copper = what_serves("collector", "copper").uses[0]

    assert {w.electrolyte for w in copper.wetted} == {"chloride", "lye"}
    assert "conductor" in {u.function for u in what_serves("conductor").uses}
    assert what_serves("", "lamp black").uses
    with pytest.raises(InputError, match="conductor"):
        what_serves("condctor")


@pytest.mark.parametrize(
    ("quantity", "of", "more"),
    [
        ("calibration_conductivity", "KCl", {}),
        ("theoretical_capacity", "zinc", {}),
        ("theoretical_capacity", "copper", {}),
        ("emf", "NaCl", {}),
        ("surface_tension", "NMP", {}),
        ("nut_factor", "water", {}),
        ("density", "NaCl", {"strength": {"mass_fraction": "3.5"}}),
        ("couple_potential", "unobtainium", {}),
    ],
)
def test_what_cannot_be_answered_is_refused(
    quantity: str, of: str, more: dict[str, object]
) -> None:
    """With what is allowed, or what to do."""
    with pytest.raises((InputError, ReferenceDataError)) as refusal:
        _ask(quantity, of, **more)

    assert refusal.value.what


def test_the_distance_of_a_blend_is_the_hint_of_that_blend() -> None:
    """The number asked for is that of the mixed liquid, and each liquid alone is told beside it."""
    found = _ask("solubility", "PVB", solvents=("toluene=0.6", "ethanol=0.4"))
    hint = properties.solubility_hint({"toluene": 0.6, "ethanol": 0.4}, "PVB")

    assert found.value == pytest.approx(hint.relative_energy_differences[0], rel=1e-12)
    assert found.warnings[0] == f"{hint.solvent}: {hint.hint.value}"
    assert any(said.startswith("toluene alone") for said in found.warnings)
    assert any("two layers" in said for said in found.warnings)
