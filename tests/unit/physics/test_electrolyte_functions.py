"""Electrolyte equations: limits, refusals, round trips, and slow plain twins."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from aerode.errors import RangeError
from aerode.physics import electrolyte, electrolyte_conductivity, electrolyte_make_up
from aerode.physics import electrolyte_concentration as concentration

NACL = (
    -0.00324112223655149,
    0.0636354335906616,
    1.01371399467365,
    0.0145951015210159,
    3317.34854426537,
)
MU = (16.221788633396, 1.32293086770011, 1.48485985010431, 0.00746912559657377, 30.7802007540575, 2.05826852322558)  # fmt: skip
MCC = (67.03, 2.196, 0.008967, 44.55, 1.762, 0.00726, 1.3)
SHARES = st.floats(min_value=0.0, max_value=0.9)


@given(w=SHARES, mass=st.floats(min_value=0.01, max_value=0.3))
def test_molality_and_back(w: float, mass: float) -> None:
    """Mass fraction to molality and back is the same number."""
    m = concentration.molality_from_mass_fraction(w, mass)

    assert float(concentration.mass_fraction_from_molality(m, mass)) == pytest.approx(w, abs=1e-12)


@given(w=SHARES)
def test_salt_per_water_and_back(w: float) -> None:
    """Mass fraction to salt per water and back is the same number."""
    s = concentration.salt_per_water_from_mass_fraction(w)

    assert float(concentration.mass_fraction_from_salt_per_water(s)) == pytest.approx(w, abs=1e-12)


@given(w=st.floats(min_value=0.001, max_value=0.25), lost=st.floats(min_value=0.0, max_value=0.5))
def test_evaporation_keeps_the_salt_and_top_up_undoes_it(w: float, lost: float) -> None:
    """The salt stays, and the water that went is exactly what brings the strength back."""
    gone = lost * (1.0 - w)
    now = electrolyte_make_up.after_evaporation(1.0, w, gone)

    assert now.mass * now.mass_fraction == pytest.approx(w)
    assert electrolyte_make_up.top_up_water(now.mass, now.mass_fraction, w) == pytest.approx(
        gone, abs=1e-12
    )


@given(
    w=st.floats(min_value=0.0, max_value=0.3),
    volume=st.floats(min_value=1e-5, max_value=1.0),
    assay=st.floats(min_value=0.5, max_value=1.0),
)
def test_make_up_balances(w: float, volume: float, assay: float) -> None:
    """What is weighed adds up to the solution, and the salt in it is the mass fraction."""
    sheet = electrolyte_make_up.make_up(volume, w, 1100.0, assay=assay)

    assert sheet.salt_as_weighed + sheet.water == pytest.approx(sheet.solution)
    assert sheet.salt / sheet.solution == pytest.approx(w)


@given(
    stock=st.floats(min_value=0.05, max_value=0.5), part=st.floats(min_value=0.01, max_value=1.0)
)
def test_dilution_balances(stock: float, part: float) -> None:
    """Stock and water add up, and so does the salt."""
    taken, water = electrolyte_make_up.dilution_masses(2.0, stock * part, stock)

    assert taken + water == pytest.approx(2.0)
    assert taken * stock == pytest.approx(2.0 * stock * part)


@given(c=st.floats(min_value=0.0, max_value=5400.0))
def test_molarity_to_mass_fraction_agrees_with_bisection(c: float) -> None:
    """The slow twin: halving the span in which w rho(w)/M passes the molarity."""

    def density(w: float) -> float:
        return 997.0 + 720.0 * w + 200.0 * w**2

    low, high = 0.0, 0.9
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if middle * density(middle) / 0.058 < c else (low, middle)

    found = concentration.mass_fraction_from_molarity(c, 0.058, density)

    assert found == pytest.approx(low, abs=1e-11)


def test_no_salt_is_water() -> None:
    """At zero salt density and viscosity are those of water."""
    v = electrolyte.salt_apparent_volume(0.0, 298.15, NACL)
    mu = electrolyte.salt_viscosity(0.0, 298.15, MU)

    assert float(electrolyte.solution_density([0.0], 997.0, [v])) == pytest.approx(997.0)
    assert float(electrolyte.solution_viscosity([0.0], 0.89e-3, [mu])) == pytest.approx(0.89e-3)


def test_two_salts_mix_as_one_split_in_two() -> None:
    """A salt written as two halves gives the same density and viscosity."""
    v = float(electrolyte.salt_apparent_volume(0.1, 298.15, NACL))
    mu = float(electrolyte.salt_viscosity(0.1, 298.15, MU))

    assert electrolyte.solution_density([0.05, 0.05], 997.0, [v, v]) == pytest.approx(
        electrolyte.solution_density([0.1], 997.0, [v])
    )
    assert electrolyte.solution_viscosity([0.05, 0.05], 0.89e-3, [mu, mu]) == pytest.approx(
        electrolyte.solution_viscosity([0.1], 0.89e-3, [mu])
    )


def test_arrays_agree_with_a_plain_loop() -> None:
    """The slow twin: Laliberte written out in plain floats, one point at a time."""
    w = np.linspace(0.0, 0.26, 14)
    fast = electrolyte.salt_apparent_volume(w, 303.15, NACL)
    c0, c1, c2, c3, c4 = NACL
    t = 303.15 - 273.15
    slow = [(x + c2 + c3 * t) / ((c0 * x + c1) * math.exp(1e-6 * (t + c4) ** 2)) for x in w]

    assert fast == pytest.approx(slow, rel=1e-12)


def test_the_temperature_ratio_is_continuous_where_the_blend_begins() -> None:
    """Both sides of the start molality give the same ratio, and the end gives the limiting one."""
    span = {"reference_temperature": 293.15, "start_molality": 1.0, "end_molality": 6.15}
    below, above, end = (
        float(electrolyte_conductivity.temperature_ratio(m, 313.15, MCC, **span))
        for m in (1.0, 1.0 + 1e-9, 6.15)
    )
    limiting = electrolyte_conductivity.molar_conductivity_mccleskey(0.0, [313.15, 293.15], MCC)

    assert below == pytest.approx(above, rel=1e-8)
    assert end == pytest.approx(float(limiting[0] / limiting[1]))


def test_water_activity_falls_and_starts_at_one() -> None:
    """The interpolation starts at 1, falls, and passes through the nodes."""
    nodes, values = [0.5, 1.0, 2.0], [0.9835, 0.9668, 0.9314]
    m = np.linspace(0.0, 2.0, 41)
    found = electrolyte.interpolated_water_activity(m, nodes, values)

    assert found[0] == 1.0
    assert np.all(np.diff(found) < 0.0)
    assert electrolyte.interpolated_water_activity(nodes, nodes, values) == pytest.approx(values)


def test_a_conductivity_that_turns_round_is_refused() -> None:
    """A curve with a maximum inside the span has two answers: the refusal says so."""
    with pytest.raises(RangeError, match="two answers"):
        electrolyte_conductivity.concentration_at_conductivity(
            0.5, lambda x: x * (2.0 - x), 0.0, 2.0
        )


def test_a_reading_beyond_the_span_is_refused() -> None:
    """A reading that the curve does not reach is refused with the span of readings."""
    with pytest.raises(RangeError, match="not reached"):
        electrolyte_conductivity.concentration_at_conductivity(9.0, lambda x: x, 0.0, 1.0)


@pytest.mark.parametrize(
    "call",
    [
        lambda: concentration.molality_from_mass_fraction(1.0, 0.058),
        lambda: concentration.molality_from_mass_fraction(3.5, 0.058),
        lambda: concentration.molality_from_mass_fraction(float("nan"), 0.058),
        lambda: concentration.mass_fraction_from_molality(-1.0, 0.058),
        lambda: electrolyte_make_up.make_up(1e-3, 0.5, 1000.0, assay=0.4),
        lambda: electrolyte_make_up.make_up(1e-3, 0.5, 1000.0, assay=1.5),
        lambda: electrolyte_make_up.dilution_masses(1.0, 0.2, 0.1),
        lambda: electrolyte_make_up.after_evaporation(1.0, 0.1, 0.95),
        lambda: electrolyte_make_up.top_up_water(1.0, 0.03, 0.05),
        lambda: concentration.mass_fraction_from_molarity(9e9, 0.058, lambda w: 998.0 + 700.0 * w),
        lambda: electrolyte.salt_apparent_volume(0.1, -5.0, NACL),
        lambda: electrolyte.solution_density([0.6, 0.6], 997.0, [1e-3, 1e-3]),
        lambda: electrolyte.solution_viscosity([0.6, 0.6], 1e-3, [1e-3, 1e-3]),
        lambda: electrolyte_conductivity.cell_constant(1.0, 0.0),
    ],
)
def test_what_cannot_be_is_refused(call: object) -> None:
    """Shares that are per cent, negative values, impossible balances: each is a clear refusal."""
    assert callable(call)
    with pytest.raises(RangeError):
        call()
