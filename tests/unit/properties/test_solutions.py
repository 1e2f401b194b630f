"""Solutions: every way of saying the strength, marks that travel, warnings on ice and range."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from aerode.errors import CannotTellError, RangeError, ReferenceDataError
from aerode.properties import (
    Hint,
    activity_coefficient,
    air_oxygen_pressure,
    anode_bands,
    calibration_conductivity,
    calibration_factor,
    cell_emf,
    conductivity,
    couple_potential,
    density,
    evaporated,
    freezing_temperature,
    lookup,
    make_up_sheet,
    oxygen_diffusivity,
    oxygen_solubility,
    second_opinion,
    solubility_hint,
    solution,
    standard_emf,
    strength_from_conductivity,
    top_up,
    viscosity,
    water_activity,
    water_vapour_pressure,
)
from aerode.reference import Status


@settings(max_examples=20, deadline=None)
@given(
    w=st.floats(min_value=0.005, max_value=0.24),
    salt=st.sampled_from(["NaCl", "KOH", "NaOH"]),
    t=st.floats(min_value=285.0, max_value=310.0),
)
def test_every_way_of_saying_the_strength_agrees(w: float, salt: str, t: float) -> None:
    """Mass fraction to each other measure and back."""
    brine = solution(salt, t, mass_fraction=w)
    ways = {
        "molality": brine.molality,
        "molarity": brine.molarity,
        "salt_per_water": brine.salt_per_water,
        "grams_per_100_ml_water": brine.grams_per_100_ml_water,
    }
    for word, value in ways.items():
        again = solution(salt, t, **{word: value})

        assert again.mass_fraction == pytest.approx(w, rel=1e-9), word


@settings(max_examples=15, deadline=None)
@given(w=st.floats(min_value=0.01, max_value=0.24), t=st.floats(min_value=280.0, max_value=312.0))
def test_conductivity_and_back(w: float, t: float) -> None:
    """The strength behind the conductivity of a brine is its strength."""
    reading = conductivity(solution("NaCl", t, mass_fraction=w)).value

    assert strength_from_conductivity("NaCl", reading, t).mass_fraction == pytest.approx(
        w, rel=1e-6
    )


def test_strong_lye_reads_like_weak_lye() -> None:
    """The weak side is answered; a reading above the maximum is refused."""
    weak = strength_from_conductivity("KOH", 40.0, 298.15)

    assert weak.mass_fraction < 0.15
    with pytest.raises(RangeError, match="not reached"):
        strength_from_conductivity("KOH", 90.0, 298.15)


def test_sea_water_by_its_conductivity() -> None:
    """53.07 mS/cm at 25 degC is a practical salinity of 35, and a mass fraction of 0.0352."""
    water = strength_from_conductivity("sea water", 5.3071, 298.15)

    assert water.practical_salinity == pytest.approx(35.0, abs=0.001)
    assert water.mass_fraction == pytest.approx(0.035165, abs=1e-6)


def test_ice_is_warned_of() -> None:
    """At -5 degC 3.5 % brine has frozen, 10 % has not; beyond the table the range is named."""
    weak = freezing_temperature(solution("NaCl", 268.15, mass_fraction=0.035))
    strong = freezing_temperature(solution("NaCl", 268.15, mass_fraction=0.10))
    beyond = freezing_temperature(solution("KOH", 298.15, mass_fraction=0.2))

    assert any("ice forms" in said for said in weak.warnings)
    assert not strong.warnings
    assert any("lies outside" in said for said in beyond.warnings)


def test_the_mark_of_the_weakest_figure_travels() -> None:
    """Weak NaOH rests on verified rows, strong NaOH on a table from memory."""
    weak = conductivity(solution("NaOH", 298.15, mass_fraction=0.02))
    strong = conductivity(solution("NaOH", 298.15, mass_fraction=0.2))

    assert weak.status is Status.VERIFIED
    assert strong.status is Status.UNVERIFIED
    assert any("from memory" in said for said in strong.warnings)


def test_the_sodium_hydroxide_curve_has_no_step_where_its_tables_meet() -> None:
    """Just below and just above 1 mol/kg the conductivity is the same to 0.1 %."""
    below, above = (
        conductivity(solution("NaOH", 298.15, molality=m)).value for m in (1.0, 1.0 + 1e-6)
    )

    assert above == pytest.approx(below, rel=1e-3)


def test_what_is_not_on_file_has_no_number() -> None:
    """No conductivity equation and no activity for KCl, no second opinion for KOH."""
    kcl = solution("KCl", 298.15, mass_fraction=0.05)
    koh = solution("KOH", 298.15, mass_fraction=0.05)

    assert conductivity(kcl).quantity.value is None
    assert water_activity(kcl).quantity.value is None
    assert water_vapour_pressure(kcl).quantity.value is None
    assert activity_coefficient(kcl).quantity.value is None
    assert second_opinion(koh).quantity.value is None


def test_only_salts_on_file_make_solutions() -> None:
    """Ammonium chloride is known as a hazard, not as a solution."""
    with pytest.raises(RangeError, match="no solutions"):
        solution("NH4Cl", 298.15, mass_fraction=0.1)


def test_calibration_between_and_beyond_its_temperatures() -> None:
    """Between two temperatures it lies between; beyond the table there is no number, and the reason says so."""
    between = calibration_conductivity(0.1, 295.65)
    beyond = calibration_conductivity(0.1, 333.15)
    cold = calibration_conductivity(1.0, 263.15)

    assert 1.16159 < between.value < 1.28246
    for outside in (beyond, cold):
        assert outside.quantity.value is None
        assert "lies outside" in (outside.quantity.reason or "")
        assert any("lies outside" in said for said in outside.warnings)
    assert "273.15 to 323.15 K" in beyond.warnings[0]
    with pytest.raises(CannotTellError, match="lies outside"):
        calibration_factor(1.2, 0.01, 333.15)
    with pytest.raises(RangeError, match="no calibration solution"):
        calibration_conductivity(0.2, 298.15)


def test_a_make_up_sheet_says_it_in_every_way() -> None:
    """A litre of 4 mol/L KOH from 85 % flakes: 224.4 g pure, 264.0 g as weighed."""
    sheet = make_up_sheet(solution("KOH", 293.15, molarity=4000.0), 1e-3, assay=0.85)

    assert sheet.masses.salt * 1e3 == pytest.approx(224.4, abs=0.2)
    assert sheet.masses.salt_as_weighed * 1e3 == pytest.approx(264.0, abs=0.3)
    assert sheet.molarity == pytest.approx(4000.0, rel=1e-3)
    assert sheet.masses.solution == pytest.approx(sheet.density * 1e-3)


def test_evaporation_and_top_up_by_weight() -> None:
    """20 g of water lost from 100 g of 3.5 % brine: 4.375 %, and 20 g of water bring it back."""
    brine = solution("NaCl", 298.15, mass_fraction=0.035)
    now, stronger = evaporated(brine, 0.1, 0.02)

    assert stronger.mass_fraction == pytest.approx(0.04375)
    assert top_up(stronger, now.mass, brine) == pytest.approx(0.02)


def test_oxygen_bands_hold_their_value() -> None:
    """Diffusivity lies in its band, solubility falls with salt and with altitude."""
    brine = solution("NaCl", 298.15, mass_fraction=0.1)
    found = oxygen_diffusivity(brine)

    assert found.quantity.interval_95 is not None
    assert found.quantity.interval_95[0] < found.value < found.quantity.interval_95[1]
    fresh = oxygen_solubility(solution("NaCl", 298.15, mass_fraction=0.0)).value
    assert oxygen_solubility(brine).value < fresh
    assert oxygen_solubility(brine, pressure=80000.0).value < oxygen_solubility(brine).value


def test_oxygen_without_a_water_activity_uses_water() -> None:
    """KCl has no activity table: the vapour of water stands in, and a number comes."""
    assert oxygen_solubility(solution("KCl", 298.15, mass_fraction=0.05)).value > 0.2


def test_dry_air_holds_more_oxygen() -> None:
    """0.2095 of 101 325 Pa in dry air, less over water."""
    assert air_oxygen_pressure(298.15, water_pressure=0.0).value == pytest.approx(21227.6, abs=0.1)
    assert air_oxygen_pressure(298.15).value < 21227.6


def test_the_voltage_of_a_solid_product_has_the_status_of_its_rows() -> None:
    """Gibbsite was read, the amorphous solid is computed from it: both count as verified."""
    brine = solution("NaCl", 298.15, mass_fraction=0.035)

    assert standard_emf("amorphous").status is Status.VERIFIED
    assert cell_emf(brine, "amorphous").status is Status.VERIFIED
    assert cell_emf(brine, "gibbsite").status is Status.VERIFIED


def test_a_warmer_cell_has_a_lower_voltage() -> None:
    """dE/dT of the whole cell is negative for each product on file."""
    for product in ("gibbsite", "amorphous", "aluminate"):
        assert standard_emf(product, 323.15).value < standard_emf(product).value


@pytest.mark.parametrize(
    "call",
    [
        lambda: standard_emf("bayerite"),
        lambda: couple_potential("Mg/Mg2+"),
        lambda: cell_emf(solution("NaCl", 298.15, mass_fraction=0.1), "aluminate"),
    ],
)
def test_products_and_couples_that_are_not_on_file_are_refused(call: object) -> None:
    """The refusal lists those that are."""
    assert callable(call)
    with pytest.raises(RangeError):
        call()


def test_anode_bands_are_ranges_with_conditions() -> None:
    """Uninhibited corrosion in 4 mol/L lye: 10 to 100 mA/cm2, from memory."""
    bands = {a.condition: a for a in anode_bands("corrosion_current_density")}
    lye = bands["electrolyte=4 mol/L lye, 25 degC"]

    assert lye.quantity.interval_95 == pytest.approx((100.0, 1000.0))
    assert lye.status is Status.UNVERIFIED


def test_density_of_each_salt_rises_with_strength() -> None:
    """Property of every salt with an equation."""
    for salt in ("NaCl", "KOH", "NaOH"):
        values = [density(solution(salt, 298.15, mass_fraction=w / 100)).value for w in range(26)]

        assert values == sorted(values)


def test_sets_that_disagree_tell_nothing() -> None:
    """Two spheres of polystyrene, one in and one out: "cannot tell"."""
    hint = solubility_hint("acetone", "polystyrene")

    assert len(hint.relative_energy_differences) == 2
    assert hint.hint is Hint.CANNOT_TELL
    assert hint.status is Status.SECONDARY


def test_strong_sodium_hydroxide_is_not_clipped() -> None:
    """The table ends at 40 %: at 45 % there is no number, and the last value is not kept."""
    inside = conductivity(solution("NaOH", 298.15, mass_fraction=0.40))
    outside = conductivity(solution("NaOH", 298.15, mass_fraction=0.45))

    assert inside.value > 0.0
    assert outside.quantity.value is None
    assert "0 to 0.4" in (outside.quantity.reason or "")
    with pytest.raises(CannotTellError, match="lies outside"):
        strength_from_conductivity("NaOH", 15.0, 298.15, below=0.48)


def test_viscosity_beyond_the_handbook_says_so() -> None:
    """The last handbook row of NaOH is 40 %, the equation holds to 56 %."""
    warned = viscosity(solution("NaOH", 298.15, mass_fraction=0.45)).warnings
    silent = viscosity(solution("NaOH", 298.15, mass_fraction=0.39)).warnings

    assert any("no handbook row" in said for said in warned)
    assert not any("no handbook row" in said for said in silent)


def test_oxygen_pressure_carries_the_uncertainty_of_the_mole_fraction() -> None:
    """u(p) = u(x) (P - p_water): 0.0001/sqrt(3) of 101325 Pa is 5.85 Pa in dry air."""
    dry = air_oxygen_pressure(298.15, water_pressure=0.0).quantity

    assert dry.standard_uncertainty == pytest.approx(1e-4 / 3**0.5 * 101325.0, rel=1e-9)


def test_a_blend_by_volume_lies_between_its_liquids() -> None:
    """One part in a blend of one is that liquid; half and half lies nearer than the worse one."""
    toluene = solubility_hint("toluene", "PVB").relative_energy_differences[0]
    ethanol = solubility_hint("ethanol", "PVB").relative_energy_differences[0]
    both = solubility_hint({"toluene": 1.0, "ethanol": 1.0}, "PVB")

    assert solubility_hint({"toluene": 3.0}, "PVB").relative_energy_differences[0] == toluene
    assert both.relative_energy_differences[0] < min(toluene, ethanol)
    assert any("quick liquid" in said for said in both.warnings)


def test_a_blend_by_mass_uses_the_densities() -> None:
    """Masses in the ratio of the densities are equal volumes."""
    masses = {
        name: lookup(name, "density", temperature=293.15).value for name in ("toluene", "acetone")
    }
    by_mass = solubility_hint(masses, "PVB", shares="mass")
    by_volume = solubility_hint({"toluene": 1.0, "acetone": 1.0}, "PVB")

    assert by_mass.relative_energy_differences == pytest.approx(
        by_volume.relative_energy_differences, rel=1e-12
    )
    assert by_mass.solvent == "toluene 50 % + acetone 50 % by volume"


def test_a_blend_of_nothing_is_refused_and_crystals_stay() -> None:
    """No volume, a negative one, no parameters; PTFE in any blend stays whole."""
    with pytest.raises(RangeError, match="sum of the shares"):
        solubility_hint({"toluene": 0.0, "acetone": 0.0}, "PVB")
    with pytest.raises(RangeError, match="shares of the blend"):
        solubility_hint({"toluene": 1.0, "acetone": -1.0}, "PVB")
    with pytest.raises(ReferenceDataError, match="no Hansen parameters"):
        solubility_hint({"toluene": 1.0, "sodium chloride": 1.0}, "PVB")
    blend = solubility_hint({"limonene": 1.0, "toluene": 1.0}, "PTFE")
    assert blend.hint is Hint.INSOLUBLE
