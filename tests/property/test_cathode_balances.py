"""Balances, bounds and order that hold for every cathode, whatever its properties."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from aerode.physics.cathode import (
    CathodeParameters,
    current_at_loss,
    limiting_current,
    operating_point,
    polarization,
)
from aerode.physics.electrode_limits import film_ceiling, oxygen_ceiling

FARADAY = 96485.33212


def log_between(low: float, high: float) -> st.SearchStrategy[float]:
    """Even on a logarithmic scale."""
    return st.floats(math.log(low), math.log(high)).map(math.exp)


@st.composite
def cathodes(draw: st.DrawFn) -> CathodeParameters:
    """A cathode of the bench."""
    henry = draw(log_between(0.003, 0.03))
    thickness = draw(log_between(1e-4, 1e-3))
    return CathodeParameters(
        thickness=thickness,
        ionic_conductivity=draw(log_between(0.3, 20.0)),
        electronic_conductivity=draw(log_between(3.0, 500.0)),
        gas_diffusivity=draw(log_between(1e-8, 5e-6)),
        oxygen_air=8.56,
        air_film=5e-3,
        henry_liquid_per_gas=henry,
        agglomerate_radius=draw(log_between(1e-7, 1e-5)),
        agglomerate_diffusivity=draw(log_between(1e-10, 1e-9)),
        agglomerate_fraction=draw(st.floats(0.2, 0.6)),
        film_transfer=draw(log_between(10.0, 1e4)),
        exchange_current=draw(log_between(1e-3, 1e3)),
        reference_oxygen=henry * 8.56,
        tafel_slope=draw(st.floats(0.024, 0.061)),
        electrons=draw(st.floats(2.0, 4.0)),
        back_slope=draw(st.one_of(st.none(), st.floats(0.03, 0.2))),
        collector_depth=thickness * draw(st.sampled_from([0.0, 0.4, 1.0])),
    )


LEVELS = st.floats(-8.0, math.log(0.9))  # ln of the share of the limiting current


@settings(max_examples=40, deadline=None)
@given(cathodes(), LEVELS)
def test_parts_and_balances(cathode: CathodeParameters, level: float) -> None:
    """The parts add up; nF·N(0) = I across the air film; the currents begin and end right."""
    current = limiting_current(cathode) * math.exp(level)
    point = operating_point(cathode, current, tolerance=1e-9)
    scale = 1e-7 + 1e-7 * abs(point.loss)
    assert abs(point.losses.gap) < scale
    assert min(point.losses.ionic, point.losses.electronic, point.losses.oxygen) > -scale
    inside = point.profile
    flux = (cathode.oxygen_air - inside.oxygen[0]) * cathode.air_diffusivity / cathode.air_film
    carried = cathode.electrons * FARADAY * flux
    assert abs(carried / current - 1.0) < 1e-4 + 1e-12 * 8.56 / (
        cathode.oxygen_air - inside.oxygen[0]
    )
    assert abs(inside.ionic_current[0]) < 1e-4 * current
    assert abs(inside.ionic_current[-1] / current - 1.0) < 1e-4


@settings(max_examples=30, deadline=None)
@given(cathodes())
def test_the_loss_rises(cathode: CathodeParameters) -> None:
    """More current always costs more, and at least the Tafel slope without a reverse reaction."""
    currents = limiting_current(cathode) * np.geomspace(1e-4, 0.95, 12)
    losses = polarization(cathode, currents).complete()
    least = 0.0 if cathode.back_slope is not None else cathode.tafel_slope
    assert (np.diff(losses) > least * np.diff(np.log(currents)) - 2e-7).all()


@settings(max_examples=30, deadline=None)
@given(cathodes(), LEVELS)
def test_never_better_than_without_resistance(cathode: CathodeParameters, level: float) -> None:
    """The electrode with full oxygen everywhere and no resistance needs less; every ceiling holds."""
    limit = limiting_current(cathode)
    current = limit * math.exp(level)
    loss = polarization(cathode, [current]).complete()[0]
    k = cathode.exchange_current * math.exp(loss / cathode.tafel_slope)
    full = cathode.oxygen_air * cathode.henry_liquid_per_gas / cathode.reference_oxygen
    assert current <= k * full * cathode.thickness * (1.0 + 1e-5)
    air = oxygen_ceiling(cathode.electrons, cathode.air_diffusivity, 8.56, cathode.air_film)
    film = film_ceiling(
        cathode.electrons,
        cathode.henry_liquid_per_gas,
        8.56,
        cathode.film_transfer,
        cathode.thickness,
    )
    assert limit <= min(air, film) * (1.0 + 1e-12)


@settings(max_examples=30, deadline=None)
@given(
    cathodes(),
    LEVELS,
    st.sampled_from(["ionic_conductivity", "gas_diffusivity", "exchange_current"]),
)
def test_better_properties_never_cost(cathode: CathodeParameters, level: float, name: str) -> None:
    """Better conduction, diffusion or catalysis never raises the loss at the same current."""
    plain = replace(cathode, back_slope=None)
    current = limiting_current(plain) * math.exp(level)
    better = replace(plain, **{name: 1.5 * getattr(plain, name)})
    before = polarization(plain, [current]).complete()[0]
    after = polarization(better, [current]).complete()[0]
    assert after <= before + 1e-7


@settings(max_examples=20, deadline=None)
@given(cathodes(), st.floats(0.1, 0.7))
def test_there_and_back(cathode: CathodeParameters, loss: float) -> None:
    """The current found at a loss has that loss."""
    found = current_at_loss(cathode, [loss])
    if found.reasons[0] is None:
        again = polarization(cathode, found.current_density).complete()[0]
        assert abs(again - loss) < 1e-7
    else:
        # Only a loss below the open circuit, or one that ends at the limit, may have no current.
        assert cathode.back_slope is not None or found.reasons[0].name == "BEYOND_LIMIT"
