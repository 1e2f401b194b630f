"""Oxygen, aluminium, thermodynamics, vapour pressure, Hansen: limits, signs, refusals."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from aerode.errors import RangeError
from aerode.physics import aluminium, oxygen, solubility, thermodynamics, vapour_pressure, water
from aerode.physics.checked_inputs import above_zero, finite, not_negative, share

SALT = {"gas_parameter": 0.0, "gas_slope": -3.34e-7, "reference_temperature": 298.15}
MASSES = {"aluminium": 26.9815e-3, "water": 18.015e-3, "oxygen": 31.998e-3, "hydroxide": 78.004e-3}


@given(
    c=st.floats(min_value=0.0, max_value=5000.0), t=st.floats(min_value=273.15, max_value=333.15)
)
def test_salt_only_drives_oxygen_out(c: float, t: float) -> None:
    """The factor is 1 without salt and falls with it."""
    factor = float(oxygen.salting_out_factor([c, c], [1.171e-4, 3.34e-5], t, **SALT))

    assert 0.0 < factor <= 1.0
    assert float(oxygen.salting_out_factor([0.0], [1e-4], t, **SALT)) == 1.0


@given(p=st.floats(min_value=60000.0, max_value=110000.0))
def test_pressure_scales_the_dry_part(p: float) -> None:
    """Standard air over water gives 1; more pressure gives more oxygen in proportion."""
    factor = float(oxygen.pressure_factor(1.0, p, 3000.0, 3000.0, 101325.0))

    assert factor == pytest.approx((p - 3000.0) / (101325.0 - 3000.0))


def test_the_two_exponents_bound_each_other() -> None:
    """In a thicker solution Stokes-Einstein is the lower bound, in water both agree."""
    low = float(oxygen.diffusivity_scaled(2e-9, 0.9e-3, 1.8e-3, 1.0))
    high = float(oxygen.diffusivity_scaled(2e-9, 0.9e-3, 1.8e-3, 0.6))

    assert low < high
    assert float(oxygen.diffusivity_scaled(2e-9, 0.9e-3, 0.9e-3, 0.6)) == pytest.approx(2e-9)


@given(charge=st.floats(min_value=0.0, max_value=1e7))
def test_mass_balance_of_the_cell_reaction(charge: float) -> None:
    """Aluminium, water and oxygen in equal hydroxide out: 4 Al + 3 O2 + 6 H2O -> 4 Al(OH)3."""
    used = aluminium.charge_balance(charge, **MASSES)
    into = used.aluminium + used.water + used.oxygen

    assert into == pytest.approx(used.hydroxide, rel=2e-4)


@given(i=st.floats(min_value=1e-6, max_value=1e4))
def test_corrosion_conversions_undo_each_other(i: float) -> None:
    """Current density to mass loss and back is the same number."""
    rate = aluminium.mass_loss_rate(i, 8.99e-3)

    assert float(aluminium.corrosion_current_density(rate, 8.99e-3)) == pytest.approx(i)


def test_more_oxygen_and_less_aluminate_raise_the_voltage() -> None:
    """Signs of the Nernst terms: oxygen and hydroxide raise, aluminate lowers the voltage."""
    base = {"hydroxide_activity": 5.0, "aluminate_activity": 0.1}
    air = float(aluminium.aluminate_emf(2.7374, 298.15, 2e4, 0.8, **base))

    assert float(aluminium.aluminate_emf(2.7374, 298.15, 1e5, 0.8, **base)) > air
    assert float(aluminium.aluminate_emf(2.7374, 298.15, 2e4, 0.8, **(base | {"aluminate_activity": 1.0}))) < air  # fmt: skip
    assert float(aluminium.aluminate_emf(2.7374, 298.15, 2e4, 0.8, **(base | {"hydroxide_activity": 9.0}))) > air  # fmt: skip
    assert float(aluminium.hydroxide_emf(2.7611, 298.15, 1e5, 1.0)) == pytest.approx(2.7611)


def test_a_decade_of_oxygen_is_worth_fifteen_millivolts() -> None:
    """2.303 RT/4F = 14.79 mV at 25 degC, whatever the product."""
    high, low = (float(aluminium.hydroxide_emf(2.7, 298.15, p, 1.0)) for p in (1e5, 1e4))

    assert (high - low) * 1e3 == pytest.approx(14.79, abs=0.01)


def test_antoine_and_its_inverse() -> None:
    """Pressure to temperature and back, for both bases."""
    for base, a, b, c in ((10.0, 9.05043, 1327.62, -55.525), (np.e, 22.47, 4698.0, -19.6)):
        p = vapour_pressure.antoine_pressure(310.0, a, b, c, base=base)

        assert float(vapour_pressure.antoine_temperature(p, a, b, c, base=base)) == pytest.approx(310.0)  # fmt: skip


def test_clausius_clapeyron_is_the_slope_of_antoine() -> None:
    """R T^2 dlnp/dT by a finite difference, the slow twin of the closed form."""
    a, b, c, t, h = 9.05043, 1327.62, -55.525, 300.0, 1e-3
    up, down = (
        np.log(float(vapour_pressure.antoine_pressure(t + s * h, a, b, c))) for s in (1, -1)
    )
    slope = thermodynamics.GAS_CONSTANT * t**2 * (up - down) / (2 * h)

    assert float(vapour_pressure.antoine_enthalpy(t, b, c)) == pytest.approx(slope, rel=1e-6)


def test_water_is_densest_near_four_degrees() -> None:
    """Kell's equation has its maximum at 3.98 degC."""
    kell = (999.83952, 16.945176, -7.9870401e-3, -46.170461e-6, 105.56302e-9, -280.54253e-12)
    t = np.linspace(273.15, 283.15, 1001)
    density = water.water_density(t, kell, 16.879850e-3)

    assert t[int(np.argmax(density))] - 273.15 == pytest.approx(3.98, abs=0.02)


def test_heat_of_a_cell_is_zero_at_the_thermoneutral_voltage() -> None:
    """P = I (E_tn - V)."""
    assert float(thermodynamics.heat_rate(2.0, 2.986, 2.986)) == 0.0


@given(
    a=st.tuples(*[st.floats(min_value=0.0, max_value=4e4)] * 3),
    b=st.tuples(*[st.floats(min_value=0.0, max_value=4e4)] * 3),
)
def test_hansen_distance_is_symmetric(a: tuple[float, ...], b: tuple[float, ...]) -> None:
    """Distance of a from b is that of b from a, and zero from itself."""
    assert solubility.hansen_distance(a, b) == solubility.hansen_distance(b, a)
    assert solubility.hansen_distance(a, a) == 0.0


def test_a_mixture_lies_between_its_solvents() -> None:
    """Equal volumes give the middle; one volume alone gives that solvent."""
    toluene, ethanol = (18.0, 1.4, 2.0), (15.8, 8.8, 19.4)

    assert solubility.mixed_parameters([toluene, ethanol], [3.0, 0.0]).tolist() == pytest.approx(toluene)  # fmt: skip
    assert solubility.mixed_parameters([toluene, ethanol], [2.0, 2.0]).tolist() == pytest.approx([16.9, 5.1, 10.7])  # fmt: skip


@pytest.mark.parametrize(
    "call",
    [
        lambda: finite("x", float("inf")),
        lambda: above_zero("x", [1.0, 0.0]),
        lambda: not_negative("x", -1e-9),
        lambda: share("x", 1.0),
        lambda: oxygen.pressure_factor(1.0, 1000.0, 3000.0, 3000.0, 101325.0),
        lambda: vapour_pressure.oxygen_partial_pressure(0.21, 1000.0, 3000.0),
        lambda: thermodynamics.reaction_property({"a": 1.0}, {}),
        lambda: thermodynamics.standard_potential(-1.0, 0.0),
        lambda: aluminium.coulombic_efficiency(0.0, 0.0),
        lambda: aluminium.charge_balance(-1.0, **MASSES),
        lambda: aluminium.aluminate_emf(
            2.7, 298.15, 2e4, 0.8, hydroxide_activity=0.0, aluminate_activity=0.1
        ),
        lambda: solubility.hansen_distance((1.0, 2.0), (1.0, 2.0, 3.0)),
        lambda: solubility.relative_energy_difference(1.0, 0.0),
        lambda: solubility.mixed_parameters([(1.0, 2.0, 3.0)], [0.0]),
        lambda: water.water_density(0.0, (1.0,), 0.0),
    ],
)
def test_what_cannot_be_is_refused(call: object) -> None:
    """Each impossible input is a RangeError that names what was wrong."""
    assert callable(call)
    with pytest.raises(RangeError) as refusal:
        call()

    assert refusal.value.what
