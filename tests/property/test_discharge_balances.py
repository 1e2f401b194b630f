"""Whatever the cell: atoms, mass and charge close, and nothing runs backwards."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from aerode.physics.anode import CorrosionWithCurrent
from aerode.physics.discharge import (
    Carbonation,
    ConstantCurrent,
    DischargeParameters,
    EndConditions,
    Evaporation,
    Heat,
    LoadProfile,
    LoadStep,
    Precipitation,
    Resistor,
    Wetting,
    discharge,
)
from aerode.physics.discharge.chemistry import Electrolyte, composition, stoichiometry
from aerode.physics.discharge.example import beacon_cell, lye_cell

ENDS = EndConditions(cutoff_voltage=0.1, least_water_share=0.1, greatest_solids_share=0.95)
DAY = 86400.0


@given(electrons=st.floats(2.0, 4.0), kind=st.sampled_from(Electrolyte))
def test_every_process_is_balanced(electrons: float, kind: Electrolyte) -> None:
    """In every reaction the atoms and the charges on both sides are the same."""
    open_ends = stoichiometry(kind, electrons).T @ composition(kind)
    np.testing.assert_allclose(open_ends, 0.0, atol=1e-13)


@st.composite
def cells(draw: st.DrawFn) -> DischargeParameters:
    """Lye or brine with any mix of the slow processes."""
    lye = draw(st.booleans())
    p = lye_cell() if lye else beacon_cell()
    beta = draw(st.floats(-0.3, 0.3))
    anode = replace(
        p.cell.anode,
        corrosion_at_rest=draw(st.floats(0.0, 200.0)),
        under_load=CorrosionWithCurrent(change_per_current=beta),
    )
    room = Evaporation(
        transfer=draw(st.floats(1e-4, 1e-2)),
        saturation_pressure=lambda k: 3169.9 * math.exp(-5292.0 * (1 / k - 1 / 298.15)),
        room_vapour=draw(st.floats(0.0, 1.2)),
        area=1e-3,
        molality=(0.0, 4.0, 8.0),
        activity=(1.0, 0.82, 0.6),
        enthalpy=44000.0,
    )
    air = Carbonation(
        carbon_dioxide=0.0172,
        gas_transfer=draw(st.floats(1e-4, 1e-2)),
        liquid_per_gas=0.5,
        rate_constant=10.0,
        diffusivity=1.2e-9,
        area=1e-3,
    )
    solid = Precipitation(
        log_constant=1.143,
        enthalpy=-22500.0,
        reference_temperature=298.15,
        activity_ratio=draw(st.floats(1.0, 2.5)),
        onset_ratio=draw(st.floats(0.5, 8.0)),
        growth_constant=draw(st.floats(0.0, 500.0)),
        growth_temperature=8164.0,
        seed_area=0.1,
        area_per_solid=1.0,
    )
    return replace(
        p,
        cell=replace(p.cell, anode=anode),
        electrons=draw(st.floats(2.0, 4.0)),
        evaporation=room if draw(st.booleans()) else None,
        carbonation=air if lye and draw(st.booleans()) else None,
        precipitation=solid if lye and draw(st.booleans()) else None,
        wetting=Wetting(start=0.0, end=0.5, time_constant=DAY) if draw(st.booleans()) else None,
        heat=Heat(
            thermoneutral=2.915,
            corrosion_thermoneutral=1.434,
            capacity=draw(st.sampled_from([None, 200.0])),
            loss=0.1,
        ),
        peroxide_decay=draw(st.sampled_from([0.0, 1e-5, 1e-3])),
        oxygen_corrosion_share=draw(st.sampled_from([0.0, 0.3])),
        refill=draw(st.sampled_from([0.0, 1e-6])),
    )


PULSE = LoadProfile(
    steps=(
        LoadStep(duration=7200.0, load=Resistor(resistance=15.0)),
        LoadStep(duration=3600.0, load=ConstantCurrent(current=0.0)),
    ),
    repeated=True,
)
LOADS = st.one_of(
    st.builds(ConstantCurrent, current=st.floats(0.0, 0.5)),
    st.builds(Resistor, resistance=st.floats(2.0, 1e4)),
    st.just(PULSE),
)


@settings(max_examples=20, deadline=None)
@given(cell=cells(), load=LOADS)
def test_balances_close_at_every_time(
    cell: DischargeParameters, load: ConstantCurrent | Resistor | LoadProfile
) -> None:
    """Atoms, mass, ions and charge close to 1e-9 of what has passed, at a tolerance of only 1e-6."""
    times = np.linspace(0.0, 0.5 * DAY, 9)
    run = discharge(cell, load, times=times, ends=ENDS, tolerance=1e-6)
    assert run.balances.worst < 1e-9
    assert np.all(np.diff(run.aluminium) <= 0.0)
    assert np.all(np.diff(run.hydrogen_made) >= 0.0)
    assert np.all(np.diff(run.charge) >= 0.0)
    assert np.all(np.diff(run.solid) >= -1e-12)
    assert np.all(np.diff(run.time) > 0.0)
    assert all(
        bool(np.isfinite(getattr(run, name)).all())
        for name in ("voltage", "current", "temperature", "conductivity", "volume", "solids_share")
    )


@settings(max_examples=10, deadline=None)
@given(small=st.floats(5.0, 50.0), factor=st.floats(1.2, 5.0))
def test_a_smaller_resistor_draws_more(small: float, factor: float) -> None:
    """More charge and a lower voltage through the smaller resistor."""
    times = [0.0, 0.25 * DAY]
    heavy = discharge(beacon_cell(), Resistor(resistance=small), times=times, ends=ENDS)
    light = discharge(beacon_cell(), Resistor(resistance=small * factor), times=times, ends=ENDS)
    assert heavy.charge[-1] > light.charge[-1]
    assert heavy.voltage[0] < light.voltage[0]


@settings(max_examples=10, deadline=None)
@given(corrosion=st.floats(1.0, 200.0), current=st.floats(0.02, 0.3))
def test_corrosion_shortens_life_by_its_share(corrosion: float, current: float) -> None:
    """Life times current and corrosion together is the charge of the aluminium."""
    p = lye_cell()
    anode = replace(p.cell.anode, corrosion_at_rest=corrosion)
    p = replace(p, cell=replace(p.cell, anode=anode))
    run = discharge(p, ConstantCurrent(current=current), times=[400 * DAY], ends=ENDS)
    whole = 3 * 96485.33212 * p.contents.aluminium
    assert run.time[-1] * (current + corrosion * 1e-3) == pytest.approx(whole, rel=1e-9)
