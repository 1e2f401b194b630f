"""Water, solvents and salt solutions, point by point, against chemicals 1.5.2 and thermo 0.6.1.

Source, place and how it was read:
chemicals 1.5.2 and thermo 0.6.1 are open libraries (development only, installed and run here:
verified). In them: IAPWS-95 (density, vapour pressure) and IAPWS 2008 (viscosity) for water;
McGarry's Wagner, Perry's, VDI's and the fits to reference equations of state for solvents;
Laliberte 2009 for salt solutions. Where the library evaluates the very equation on file the
tolerance is that of arithmetic; where it is another equation the tolerance is the stated limit.
"""

from __future__ import annotations

import numpy as np
import pytest
from chemicals import MW, CAS_from_any, Pc, T_flash, Tc, iapws95_Psat, iapws95_rho, mu_IAPWS, omega
from thermo import EnthalpyVaporization, VaporPressure, VolumeLiquid
from thermo.electrochem import Laliberte_density, Laliberte_viscosity, Laliberte_viscosity_w

from aerode.cautions import lookup as lookup_for_cautions
from aerode.physics.vapour_pressure import antoine_enthalpy
from aerode.properties import density, lookup, solution, viscosity
from aerode.properties.pure import water_density, water_saturation, water_viscosity
from aerode.reference import published, substance

ATMOSPHERE = 101325.0
SOLVENTS = (
    "toluene", "ethanol", "acetone", "ethyl acetate", "2-propanol", "o-xylene", "m-xylene", "p-xylene",
    "2-butanone",
)  # fmt: skip
PRESSURE_METHODS = ("WAGNER_MCGARRY", "DIPPR_PERRY_8E", "VDI_PPDS", "HEOS_FIT")
OTHER_METHODS = ("VDI_PPDS", "HEOS_FIT")  # the density on file is Perry's own


def span(name: str, quantity: str, equation: str, points: int = 12) -> np.ndarray:
    """Temperatures over the valid range of a row, ends included [K]."""
    (held,) = (
        held
        for held in published(name, quantity, equation=equation).valid_range
        if held.variable == "temperature"
    )
    return np.linspace(held.low, held.high, points)


def volume_model(cas: str) -> VolumeLiquid:
    """The liquid molar volume of the library."""
    return VolumeLiquid(CASRN=cas, Tc=Tc(cas), Pc=Pc(cas), omega=omega(cas), MW=MW(cas))


def test_density_of_water_over_the_whole_range() -> None:
    """Kell at 0 to 95 degC against IAPWS-95: 0.013 kg/m3, its scale of 1968 and its age."""
    for kelvin in np.linspace(273.15, 368.15, 39):
        expected = iapws95_rho(kelvin, ATMOSPHERE)

        assert water_density(kelvin).value == pytest.approx(expected, abs=0.013)


def test_viscosity_of_water_over_the_whole_range() -> None:
    """Laliberte's equation for water against IAPWS 2008, whose own uncertainty is 1 %: 0.35 %."""
    for kelvin in np.linspace(273.15, 368.15, 39):
        expected = mu_IAPWS(kelvin, iapws95_rho(kelvin, ATMOSPHERE))

        assert water_viscosity(kelvin).value == pytest.approx(expected, rel=3.5e-3)


def test_vapour_pressure_of_water_over_the_whole_range() -> None:
    """Wagner and Pruss's auxiliary equation against IAPWS-95 itself: 1e-4, as that paper allows."""
    for kelvin in np.linspace(273.16, 373.15, 41):
        assert water_saturation(kelvin).value == pytest.approx(iapws95_Psat(kelvin), rel=1e-4)


@pytest.mark.parametrize("name", SOLVENTS)
def test_vapour_pressure_is_the_equation_named(name: str) -> None:
    """Antoine of Poling in the library and on file: 1e-4, the digits that were kept."""
    model = VaporPressure(CASRN=substance(name).cas[0])
    for kelvin in span(name, "vapour_pressure", "Antoine"):
        found = lookup(name, "vapour_pressure", temperature=kelvin).value

        assert found == pytest.approx(model.calculate(kelvin, "ANTOINE_POLING"), rel=1e-4)


@pytest.mark.parametrize("name", SOLVENTS)
def test_vapour_pressure_within_its_limit_of_other_equations(name: str) -> None:
    """Over the whole range within the limit on file of the middle of up to four other equations.

    The middle, since single ones disagree by more: 5780 and 6027 Pa for 2-propanol at 25 degC.
    """
    row = published(name, "vapour_pressure", equation="Antoine")
    model = VaporPressure(CASRN=substance(name).cas[0])
    methods = [word for word in PRESSURE_METHODS if word in model.all_methods]
    assert len(methods) >= 3
    assert row.uncertainty is not None
    for kelvin in span(name, "vapour_pressure", "Antoine"):
        middle = float(np.median([model.calculate(kelvin, word) for word in methods]))
        found = lookup(name, "vapour_pressure", temperature=kelvin).value

        assert found == pytest.approx(middle, rel=row.uncertainty)


@pytest.mark.parametrize("name", SOLVENTS)
def test_vapour_pressure_of_a_cold_room_errs_high(name: str) -> None:
    """-10 to 13 degC, where Poling's equation is drawn on a tenth higher: at most 7 % below the others.

    2-Butanone, within its range there, is that one; 2-propanol lies 21 % above them. More than 30 K
    below its range the value at 25 degC stands in, which is far above (the xylenes in the frost).
    """
    model = VaporPressure(CASRN=substance(name).cas[0])
    start = span(name, "vapour_pressure", "Antoine")[0]
    for kelvin in np.linspace(263.15, 286.15, 8):
        found = lookup_for_cautions.vapour_pressure(name, float(kelvin))
        assert found is not None
        for word in PRESSURE_METHODS:
            if word in model.all_methods:
                ratio = found.value / model.calculate(kelvin, word)

                assert ratio > 0.93, (word, kelvin)
                assert ratio < 1.21 or kelvin < start - 30.0, (word, kelvin)


@pytest.mark.parametrize("name", ["1-methyl-2-pyrrolidone", "d-limonene"])
def test_vapour_pressure_of_the_two_without_antoine_of_poling(name: str) -> None:
    """Landolt-Boernstein's Antoine, the only set there: 1e-4, the digits that were kept."""
    model = VaporPressure(CASRN=substance(name).cas[0])
    for kelvin in span(name, "vapour_pressure", "Antoine, natural"):
        found = lookup(name, "vapour_pressure", temperature=kelvin).value

        assert found == pytest.approx(model.calculate(kelvin, "LANDOLT"), rel=1e-4)


@pytest.mark.parametrize("name", SOLVENTS)
def test_density_over_the_whole_range(name: str) -> None:
    """Perry's equation as the library has it: 1e-4, its molar mass has more digits than ours."""
    cas = substance(name).cas[0]
    model = volume_model(cas)
    for kelvin in span(name, "density", "Perry 105"):
        expected = MW(cas) * 1e-3 / model.calculate(kelvin, "DIPPR_PERRY_8E")

        assert lookup(name, "density", temperature=kelvin).value == pytest.approx(
            expected, rel=1e-4
        )


@pytest.mark.parametrize("name", SOLVENTS)
def test_density_over_its_range_within_its_limit_of_other_equations(name: str) -> None:
    """From 250 K (or freezing) to boiling, as its row is held: the limit on file, 0.5 %."""
    _other_densities(name, 0.0, 500.0, 0.005)


def test_a_density_colder_or_boiling_is_given_with_its_range() -> None:
    """Ethanol at -60 degC, where the equations part, and toluene at 130 degC, under pressure, are told."""
    for name, kelvin in (("ethanol", 213.15), ("toluene", 403.15)):
        found = lookup(name, "density", temperature=kelvin)

        assert found.quantity.value is not None
        assert any("lies outside" in said for said in found.warnings)


def _other_densities(name: str, low: float, high: float, tolerance: float) -> None:
    cas = substance(name).cas[0]
    model = volume_model(cas)
    methods = [word for word in OTHER_METHODS if word in model.all_methods]
    kelvins = [t for t in span(name, "density", "Perry 105", 25) if low <= t <= high]
    assert methods
    assert len(kelvins) >= 5
    for kelvin in kelvins:
        found = lookup(name, "density", temperature=kelvin).value
        for word in methods:
            expected = MW(cas) * 1e-3 / model.calculate(kelvin, word)

            assert found == pytest.approx(expected, rel=tolerance), (word, kelvin)


@pytest.mark.parametrize("name", SOLVENTS)
def test_heat_of_evaporation_at_25_degrees(name: str) -> None:
    """The handbook heat against equations fitted by others: 1.2 %, of 2-propanol; others 0.8 %."""
    model = EnthalpyVaporization(CASRN=substance(name).cas[0])
    for word in ("DIPPR_PERRY_8E", *OTHER_METHODS):
        if word in model.all_methods:
            expected = model.calculate(298.15, word)

            assert lookup(name, "enthalpy_of_vaporization").value == pytest.approx(
                expected, rel=0.012
            )


@pytest.mark.parametrize("name", SOLVENTS)
def test_heat_of_evaporation_against_temperature(name: str) -> None:
    """Perry's equation as the library has it, 1e-6, and others from 0 degC to boiling: 2 %, its limit."""
    model = EnthalpyVaporization(CASRN=substance(name).cas[0])
    for kelvin in span(name, "enthalpy_of_vaporization", "Perry 106"):
        found = lookup(name, "enthalpy_of_vaporization", temperature=kelvin).value

        assert found == pytest.approx(model.calculate(kelvin, "DIPPR_PERRY_8E"), rel=1e-6)
        for word in OTHER_METHODS:
            if word in model.all_methods:
                assert found == pytest.approx(model.calculate(kelvin, word), rel=0.02), word


def test_heat_of_evaporation_of_water_against_temperature() -> None:
    """The library's fit to IAPWS-95, from 0 to 100 degC: 1 %, the limit on file."""
    model = EnthalpyVaporization(CASRN=substance("water").cas[0])
    for kelvin in span("water", "enthalpy_of_vaporization", "Perry 106"):
        found = lookup("water", "enthalpy_of_vaporization", temperature=kelvin).value

        assert found == pytest.approx(model.calculate(kelvin, "HEOS_FIT"), rel=0.01)


@pytest.mark.parametrize("name", SOLVENTS)
def test_heat_of_evaporation_from_the_slope_of_antoine(name: str) -> None:
    """d ln p / d(1/T) over the whole range to one atmosphere against Perry's heats.

    An ideal vapour makes it 1 to 3 % high at the boiling point; the slope of a fit is one digit
    worse than the fit: 4 %.
    """
    model = EnthalpyVaporization(CASRN=substance(name).cas[0])
    row = published(name, "vapour_pressure", equation="Antoine")
    for kelvin in span(name, "vapour_pressure", "Antoine"):
        if lookup(name, "vapour_pressure", temperature=kelvin).value <= ATMOSPHERE:
            slope = float(antoine_enthalpy(kelvin, *row.values[1:]))

            assert slope == pytest.approx(model.calculate(kelvin, "DIPPR_PERRY_8E"), rel=0.04)


SALTS = {"NaCl": "7647-14-5", "KOH": "1310-58-3", "NaOH": "1310-73-2"}


def strengths(salt: str, quantity: str) -> tuple[np.ndarray, np.ndarray]:
    """Temperatures [K] and mass fractions over the valid range of Laliberte's equation."""
    spans = {
        held.variable: held for held in published(salt, quantity, equation="Laliberte").valid_range
    }
    warm, strong = spans["temperature"], spans["mass_fraction"]
    # the equation for water under it starts at 0 degC and is held to 95 degC here
    high = min(warm.high, 95.0) if warm.unit == "degC" else min(warm.high, 368.15)
    low = max(warm.low, 0.0) if warm.unit == "degC" else max(warm.low, 273.15)
    offset = 273.15 if warm.unit == "degC" else 0.0
    return np.linspace(low, high, 9) + offset, np.linspace(0.0, strong.high, 12)


@pytest.mark.parametrize("salt", SALTS)
def test_density_of_solutions_over_the_whole_range(salt: str) -> None:
    """Laliberte's equation in the library and here: 1e-9, arithmetic."""
    kelvins, fractions = strengths(salt, "density")
    for kelvin in kelvins:
        for w in fractions:
            found = density(solution(salt, kelvin, mass_fraction=w)).value

            assert found == pytest.approx(Laliberte_density(kelvin, [w], [SALTS[salt]]), rel=1e-9)


def test_viscosity_of_brine_over_the_whole_range() -> None:
    """Sodium chloride has no correction: the equation to 1e-9, arithmetic."""
    kelvins, fractions = strengths("NaCl", "viscosity")
    for kelvin in kelvins:
        for w in fractions:
            found = viscosity(solution("NaCl", kelvin, mass_fraction=w)).value

            assert found == pytest.approx(
                Laliberte_viscosity(kelvin, [w], [SALTS["NaCl"]]), rel=1e-9
            )


@pytest.mark.parametrize(("salt", "tolerance"), [("KOH", 0.085), ("NaOH", 0.105)])
def test_viscosity_of_lye_over_the_whole_range(salt: str, tolerance: float) -> None:
    """Scaled to the handbook at 20 degC, so apart from the equation by what it misses there.

    That is at most 8 % for KOH (at 50 % by mass) and 10 % for NaOH (at 4 to 5 %), and half of every such
    correction stands in the uncertainty, so that two standard uncertainties hold the equation.
    """
    kelvins, fractions = strengths(salt, "viscosity")
    for kelvin in kelvins:
        for w in fractions:
            found = viscosity(solution(salt, kelvin, mass_fraction=w))
            plain = Laliberte_viscosity(kelvin, [w], [SALTS[salt]])
            spread = found.quantity.standard_uncertainty or 0.0

            assert found.value == pytest.approx(plain, rel=tolerance)
            assert abs(found.value - plain) <= 2.0 * spread


def test_the_traps_are_still_there_and_are_not_fallen_into() -> None:
    """What the libraries answer by default, beside what is on file here.

    If a later release mends one of them this fails, and the trap's test can be dropped.
    """
    assert CAS_from_any("N-methyl-2-pyrrolidone") == "18851-77-9"
    assert substance("N-methyl-2-pyrrolidone").cas == ("872-50-4",)
    for cas, wrong in (("872-50-4", 918.6), ("5989-27-5", 822.3)):
        estimate = MW(cas) * 1e-3 / volume_model(cas).T_dependent_property(298.15)

        assert estimate == pytest.approx(wrong, abs=0.1)
        assert abs(lookup(cas, "density", temperature=298.15).value - estimate) > 15.0
    for cas in ("64-17-5", "67-63-0"):
        fitted = T_flash(cas, method="Serat DIPPR (2017)")

        assert fitted is not None
        assert lookup(cas, "flash_point").value - fitted > 20.0
    weak = Laliberte_viscosity(293.15, [0.004], ["1310-73-2"])
    assert weak < Laliberte_viscosity_w(293.15)
    lye = viscosity(solution("NaOH", 293.15, mass_fraction=0.004)).value
    assert lye > water_viscosity(293.15).value
    wagner = VaporPressure(CASRN="67-63-0").calculate(298.15, "WAGNER_MCGARRY")
    assert wagner == pytest.approx(5780.0, abs=1.0)
    assert lookup("67-63-0", "vapour_pressure", temperature=298.15).value > 6000.0
