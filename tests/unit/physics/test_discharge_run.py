"""A discharge: life, ends by name, each slow process, and a plain twin with fixed steps."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import simpson

from aerode.errors import CannotTellError, RangeError
from aerode.physics.anode import CorrosionWithCurrent
from aerode.physics.cathode import CathodeParameters
from aerode.physics.cell_cathode import CathodeCurve, solved_cathode
from aerode.physics.discharge import (
    Carbonation,
    ConstantCurrent,
    Contents,
    Discharge,
    DischargeParameters,
    EndConditions,
    EndReason,
    Evaporation,
    Heat,
    LoadProfile,
    LoadStep,
    Precipitation,
    Resistor,
    Wetting,
    discharge,
)
from aerode.physics.discharge.example import beacon_cell, lye_cell
from aerode.physics.discharge.loads import spans

F = 96485.33212
R = 8.314462618
DAY = 86400.0
ENDS = EndConditions(cutoff_voltage=0.1, least_water_share=0.2, greatest_solids_share=0.99)
AIR = Carbonation(
    carbon_dioxide=0.0172,
    gas_transfer=3.2e-3,
    liquid_per_gas=0.5,
    rate_constant=10.0,
    diffusivity=1.2e-9,
    area=1e-3,
)
ROOM = Evaporation(
    transfer=5e-3,
    saturation_pressure=lambda kelvin: 3169.9 * math.exp(-5292.0 * (1 / kelvin - 1 / 298.15)),
    room_vapour=0.5 * 3169.9 / (R * 298.15),
    area=1e-3,
    molality=(0.0, 2.0, 4.0, 8.0),
    activity=(1.0, 0.92, 0.82, 0.6),
    enthalpy=44000.0,
)
GEL = Precipitation(
    log_constant=1.143,
    enthalpy=-22500.0,
    reference_temperature=298.15,
    activity_ratio=2.0,
    onset_ratio=3.0,
    growth_constant=50.0,
    growth_temperature=8164.0,
    seed_area=0.1,
    area_per_solid=1.0,
)


def test_life_at_a_steady_current() -> None:
    """Aluminium lasts exactly as long as its charge over current and corrosion."""
    run = discharge(lye_cell(), ConstantCurrent(current=0.1), times=[10 * DAY], ends=ENDS)
    life = 3 * F * (2.0 / 26.9815385) / (0.1 + 50.0 * 1e-3)
    assert run.end is EndReason.ALUMINIUM_GONE
    assert run.time[-1] == pytest.approx(life, rel=1e-9)
    assert run.faradaic_efficiency == pytest.approx(2.0 / 3.0, rel=1e-9)


@pytest.mark.parametrize(("beta", "longer"), [(-0.2, True), (0.2, False)])
def test_life_with_either_sign(beta: float, longer: bool) -> None:
    """Where load protects, life is longer; where it does not, shorter; both by the formula."""
    cell = lye_cell()
    anode = replace(cell.cell.anode, under_load=CorrosionWithCurrent(change_per_current=beta))
    changed = replace(cell, cell=replace(cell.cell, anode=anode))
    run = discharge(changed, ConstantCurrent(current=0.1), times=[10 * DAY], ends=ENDS)
    life = 3 * F * (2.0 / 26.9815385) / (0.1 * (1 + beta) + 0.05)
    assert run.time[-1] == pytest.approx(life, rel=1e-9)
    assert (run.time[-1] > 143040.0) == longer


def test_a_resistor_on_a_straight_cell_draws_a_steady_current() -> None:
    """With V = E - I R and nothing drifting, I = E/(R + load) all the time."""
    cell = beacon_cell()
    straight = CathodeCurve(potential=lambda i: 0.0 - 5e-4 * i, limit=math.inf)
    steady = replace(cell.volumes, gel_over_solid=1.0, solid=1e-12)
    inner = (5e-4 + 1e-4 + 3e-3 / 5.6) / 2.1e-3
    plain = replace(
        cell,
        cell=replace(cell.cell, cathode=straight),
        volumes=steady,
        refill=0.0,
        ions=replace(cell.ions, chloride=0.0),
    )
    # Water used up makes the salt stronger; refilled as fast as it is used, nothing drifts.
    current = 0.75 / (inner + 20.0)
    refilled = replace(plain, refill=(0.5 * current + 0.5 * 2.1e-3) / F)
    run = discharge(refilled, Resistor(resistance=20.0), times=np.linspace(0, DAY, 4), ends=ENDS)
    np.testing.assert_allclose(run.current, current, rtol=1e-7)


def _twin(p: DischargeParameters, load: float, end: float, steps: int) -> NDArray[np.float64]:
    """Plain fixed-step Runge-Kutta on the amounts themselves, every rate written out again.

    Aluminium, water, hydroxide, aluminate, carbonate, charge.
    """
    start = p.contents
    area, air, room = p.cathode_area, p.carbonation, p.evaporation
    assert air is not None
    assert room is not None

    def volume(y: NDArray[np.float64]) -> float:
        v = p.volumes
        return v.water * y[1] + v.hydroxide * y[2] + v.aluminate * y[3] + v.carbonate * y[4]

    def carried(y: NDArray[np.float64]) -> float:
        cation = start.hydroxide
        return 73.5e-4 * cation + 198e-4 * y[2] + 45e-4 * y[3] + 138e-4 * y[4]

    first = np.array([start.aluminium, start.water, start.hydroxide, 0.0, 0.0, 0.0])
    fresh = carried(first) / volume(first)

    def slope(y: NDArray[np.float64]) -> NDArray[np.float64]:
        kappa = 57.0 * carried(y) / volume(y) / fresh
        low, high = 0.0, 1400.0
        for _ in range(60):  # halving: the voltage falls with the current
            i = 0.5 * (low + high)
            cathode = 0.05 - 0.04 * math.log1p(i / 0.5) - 3e-4 * i + 0.04 * math.log1p(-i / 1500.0)
            voltage = cathode + 1.45 - 1e-4 * i - i * 3e-3 / kappa
            low, high = (i, high) if voltage > i * load * area else (low, i)
        current, lost = i * area, 50.0 * area
        dissolved = (current + lost) / (3 * F)
        c = y[2] / volume(y)
        taken = air.area * air.carbon_dioxide
        taken /= 1 / air.gas_transfer + 1 / (0.5 * math.sqrt(10.0 * c * 1.2e-9))
        molality = start.hydroxide / (y[1] * 18.015e-3)
        activity = np.interp(molality, room.molality, room.activity)
        vapour = room.area * 5e-3 * (activity * 3169.9 / (R * 298.15) - room.room_vapour)
        water = -(1.5 * current + 3 * lost) / (3 * F) - vapour + taken
        hydroxide = -dissolved - 2 * taken
        return np.array([-dissolved, water, hydroxide, dissolved, taken, current])

    y, h = first, end / steps
    for _ in range(steps):
        a = slope(y)
        b = slope(y + 0.5 * h * a)
        c = slope(y + 0.5 * h * b)
        d = slope(y + h * c)
        y = y + h / 6 * (a + 2 * b + 2 * c + d)
    return y


def test_the_plain_twin_agrees() -> None:
    """Fixed Runge-Kutta steps, rates written out anew, reach the same amounts; halving the step settles."""
    p = replace(lye_cell(), carbonation=AIR, evaporation=ROOM)
    run = discharge(p, Resistor(resistance=10.0), times=[DAY], ends=ENDS, tolerance=1e-10)
    coarse, fine = _twin(p, 10.0, DAY, 8), _twin(p, 10.0, DAY, 16)
    shipped = np.array(
        [
            run.aluminium[-1],
            run.water[-1],
            run.hydroxide[-1],
            run.aluminate[-1],
            run.carbonate[-1],
            run.charge[-1],
        ]
    )
    np.testing.assert_allclose(shipped, fine, rtol=3e-8)
    np.testing.assert_allclose(coarse, fine, rtol=3e-7)
    assert run.end is EndReason.TIME_UP


Changed = Callable[[DischargeParameters], DischargeParameters]


def _short_of_water(p: DischargeParameters) -> DischargeParameters:
    return replace(p, contents=Contents(aluminium=1.0, water=1.0, hydroxide=2.0))


def _short_of_lye(p: DischargeParameters) -> DischargeParameters:
    return replace(p, contents=Contents(aluminium=1.0, water=2.6, hydroxide=0.05))


def _in_open_air(p: DischargeParameters) -> DischargeParameters:
    return replace(p, carbonation=AIR)


def _hot(p: DischargeParameters) -> DischargeParameters:
    return replace(p, heat=replace(p.heat, capacity=10.0))


def _drowning(p: DischargeParameters) -> DischargeParameters:
    return replace(p, wetting=Wetting(start=0.0, end=0.99, time_constant=0.2 * DAY))


def _as_is(p: DischargeParameters) -> DischargeParameters:
    return p


@pytest.mark.parametrize(
    ("change", "ends", "reason"),
    [
        (_as_is, ENDS, EndReason.ALUMINIUM_GONE),
        (_as_is, replace(ENDS, cutoff_voltage=1.3), EndReason.VOLTAGE_TOO_LOW),
        (_short_of_water, ENDS, EndReason.WATER_LOW),
        (_short_of_lye, ENDS, EndReason.HYDROXIDE_GONE),
        (_in_open_air, replace(ENDS, greatest_carbonate=20.0), EndReason.CARBONATE_HIGH),
        (_hot, replace(ENDS, greatest_temperature=330.0), EndReason.TOO_HOT),
        (_drowning, replace(ENDS, cutoff_voltage=-9.0), EndReason.CATHODE_GIVES_OUT),
    ],
)
def test_ends_have_names(change: Changed, ends: EndConditions, reason: EndReason) -> None:
    """Each end condition is met and named, and the last row stands at it."""
    p = change(lye_cell())
    run = discharge(p, ConstantCurrent(current=0.1), times=[DAY, 90 * DAY], ends=ends)
    assert run.end is reason
    assert run.time[-1] < 90 * DAY
    assert run.balances.worst < 1e-9


def test_gel_fills_a_small_beacon() -> None:
    """In brine the product comes out at once, and its gel can fill the cell first."""
    p = replace(beacon_cell(), contents=Contents(aluminium=0.11, water=1.0, chloride=0.01))
    ends = replace(ENDS, greatest_solids_share=0.6)
    run = discharge(p, ConstantCurrent(current=0.0267), times=[90 * DAY], ends=ends)
    assert run.end is EndReason.GEL_FULL
    assert run.solids_share[-1] == pytest.approx(0.6, abs=1e-6)
    assert run.solid[-1] == pytest.approx(0.11 - run.aluminium[-1], rel=1e-12)


def test_solid_waits_for_its_onset_then_grows() -> None:
    """No solid before the onset, growth after it, and hydroxide comes back with it."""
    times = np.linspace(0.0, 1.5 * DAY, 40)
    with_gel = replace(lye_cell(), precipitation=GEL)
    run = discharge(with_gel, ConstantCurrent(current=0.1), times=times, ends=ENDS)
    without = discharge(lye_cell(), ConstantCurrent(current=0.1), times=times, ends=ENDS)
    before = run.solid == 0.0
    assert before.any()
    assert not before.all()
    assert run.supersaturation[before].max() <= 3.0 + 1e-6
    assert np.all(np.diff(run.solid[~before]) > 0.0)
    back = run.hydroxide[-1] - without.hydroxide[-1]
    assert back == pytest.approx(run.solid[-1], rel=1e-9)


def test_peroxide_is_left_and_decays() -> None:
    """Fewer than four electrons take more oxygen and leave peroxide, which gives half of it back."""
    times = [DAY]
    load = ConstantCurrent(current=0.1)
    four = discharge(lye_cell(), load, times=times, ends=ENDS)
    two = discharge(replace(lye_cell(), electrons=2.0), load, times=times, ends=ENDS)
    assert two.oxygen_taken[-1] == pytest.approx(2 * four.oxygen_taken[-1], rel=1e-9)
    assert two.peroxide[-1] == pytest.approx(two.charge[-1] / (2 * F), rel=1e-9)
    quick = replace(lye_cell(), electrons=2.0, peroxide_decay=1.0)
    decayed = discharge(quick, load, times=times, ends=ENDS)
    assert decayed.oxygen_taken[-1] == pytest.approx(four.oxygen_taken[-1], rel=1e-4)
    assert decayed.hydroxide[-1] == pytest.approx(four.hydroxide[-1], rel=1e-4)


def test_heat_balance_and_steady_warmth() -> None:
    """A warm cell settles where what it makes equals what it passes on."""
    heat = Heat(thermoneutral=2.915, corrosion_thermoneutral=1.434, capacity=50.0, loss=0.2)
    p = replace(lye_cell(), heat=heat)
    run = discharge(p, ConstantCurrent(current=0.1), times=[0.9 * DAY, DAY], ends=ENDS)
    made = 0.1 * (2.915 - run.voltage[-1]) + 0.05 * 1.434
    assert run.temperature[-1] - 298.15 == pytest.approx(made / 0.2, rel=1e-3)


def test_corrosion_by_oxygen_gives_no_hydrogen() -> None:
    """The share of corrosion that uses oxygen is missing from the hydrogen."""
    load, times = ConstantCurrent(current=0.01), [DAY]
    water = discharge(beacon_cell(), load, times=times, ends=ENDS)
    half = replace(beacon_cell(), oxygen_corrosion_share=0.5)
    run = discharge(half, load, times=times, ends=ENDS)
    assert run.hydrogen_made[-1] == pytest.approx(0.5 * water.hydrogen_made[-1], rel=1e-9)
    assert run.aluminium[-1] == pytest.approx(water.aluminium[-1], rel=1e-12)


def test_a_profile_adds_up() -> None:
    """Nights under load and days at rest draw the nights' charge, corrosion running on."""
    night = LoadStep(duration=0.5 * DAY, load=ConstantCurrent(current=0.0267))
    day = LoadStep(duration=0.5 * DAY, load=ConstantCurrent(current=0.0))
    profile = LoadProfile(steps=(night, day), repeated=True)
    run = discharge(beacon_cell(), profile, times=np.arange(0.0, 3.1, 0.25) * DAY, ends=ENDS)
    assert run.charge[-1] == pytest.approx(3 * 0.5 * DAY * 0.0267, rel=1e-9)
    assert run.hydrogen_made[-1] == pytest.approx(0.5 * 2.1e-3 * 3 * DAY / (2 * F), rel=1e-9)
    assert run.current[1] == 0.0267
    assert run.current[3] == 0.0
    assert run.end is EndReason.TIME_UP


def test_spans_join() -> None:
    """Stretches of a profile join without gap or overlap, also after many turns."""
    step = LoadStep(duration=0.1, load=ConstantCurrent(current=1.0))
    rest = LoadStep(duration=0.2, load=ConstantCurrent(current=0.0))
    found = spans(LoadProfile(steps=(step, rest), repeated=True), 30.0)
    ends, starts = [b for _, b, _ in found[:-1]], [a for a, _, _ in found[1:]]
    assert ends == starts
    assert found[0][0] == 0.0
    assert found[-1][1] == 30.0
    assert all(b > a for a, b, _ in found)


def test_an_end_met_at_the_start() -> None:
    """A cell below its cut-off from the first moment ends there, with one row."""
    ends = replace(ENDS, cutoff_voltage=2.0)
    run = discharge(lye_cell(), ConstantCurrent(current=0.1), times=[0.0, DAY], ends=ends)
    assert run.end is EndReason.VOLTAGE_TOO_LOW
    assert run.time.tolist() == [0.0]
    assert run.faradaic_efficiency == 0.0


def test_refusals() -> None:
    """Impossible cells, times, loads and tolerances are refused by name."""
    load = ConstantCurrent(current=0.1)
    with pytest.raises(RangeError, match="times"):
        discharge(lye_cell(), load, times=[2.0, 1.0], ends=ENDS)
    with pytest.raises(RangeError, match="tolerance"):
        discharge(lye_cell(), load, times=[1.0], ends=ENDS, tolerance=1.0)
    with pytest.raises(RangeError, match="electrons"):
        replace(lye_cell(), electrons=5.0)
    with pytest.raises(RangeError, match="brine"):
        replace(beacon_cell(), carbonation=AIR)
    with pytest.raises(RangeError, match="start temperature"):
        replace(lye_cell(), start_temperature=310.0)
    with pytest.raises(RangeError, match="load profile"):
        LoadProfile(steps=())
    fast = LoadProfile(steps=(LoadStep(duration=0.1, load=load),), repeated=True)
    with pytest.raises(RangeError, match="mean current"):
        discharge(lye_cell(), fast, times=[DAY], ends=ENDS)


def test_what_cannot_be_integrated_is_said() -> None:
    """A cathode curve that gives no number ends in a refusal, not in a number."""
    broken = CathodeCurve(potential=lambda i: math.nan, limit=100.0)
    cell = replace(lye_cell(), cell=replace(lye_cell().cell, cathode=broken))
    with pytest.raises(CannotTellError, match="voltage"):
        discharge(cell, ConstantCurrent(current=0.01), times=[DAY], ends=ENDS)


def test_the_example_of_the_page_runs(capsys: pytest.CaptureFixture[str]) -> None:
    """The code on the discharge page runs and gives the charge and hydrogen that its table prints."""
    page = Path(__file__).resolve().parents[3] / "docs" / "explanation" / "discharge.md"
    code = page.read_text("utf-8").split("```python\n")[1].split("```")[0]
    seen: dict[str, object] = {}
    exec(compile(code, "discharge.md", "exec"), seen)
    run = seen["run"]
    assert isinstance(run, Discharge)
    assert run.charge[-1] / 3600.0 == pytest.approx(4.4856)
    assert run.hydrogen_made[-1] * 24.47 == pytest.approx(0.16, abs=5e-3)
    assert (run.aluminium[0] - run.aluminium[-1]) * 26.98 == pytest.approx(1.62, abs=5e-3)
    assert "time asked for" in capsys.readouterr().out


def test_charge_and_energy_are_the_areas_under_the_curves() -> None:
    """Simpson's rule over the printed current and power gives the printed charge and energy."""
    p = replace(lye_cell(), carbonation=AIR, evaporation=ROOM)
    times = np.linspace(0.0, DAY, 41)
    run = discharge(p, Resistor(resistance=10.0), times=times, ends=ENDS)
    assert simpson(run.current, x=times) == pytest.approx(run.charge[-1], rel=1e-7)
    power = run.current * run.voltage
    assert simpson(power, x=times) == pytest.approx(run.energy[-1], rel=1e-7)


def test_a_porous_cathode_discharges() -> None:
    """The curve of the porous model drives a discharge as any other does."""
    porous = CathodeParameters(
        thickness=4e-4,
        ionic_conductivity=2.0,
        electronic_conductivity=50.0,
        gas_diffusivity=2e-6,
        oxygen_air=8.56,
        air_film=0.0,
        henry_liquid_per_gas=0.0265,
        agglomerate_radius=2e-6,
        agglomerate_diffusivity=5e-10,
        agglomerate_fraction=0.4,
        film_transfer=50.0,
        exchange_current=50.0,
        reference_oxygen=0.22684,
        tafel_slope=0.05138558,
        electrons=4.0,
    )
    curve = solved_cathode(porous, equilibrium=0.39, open_circuit=0.19, greatest=200.0, points=12)
    p = replace(lye_cell(), cell=replace(lye_cell().cell, cathode=curve))
    run = discharge(p, Resistor(resistance=15.0), times=[0.0, DAY], ends=ENDS)
    assert run.end is EndReason.TIME_UP
    assert run.voltage[0] == pytest.approx(15.0 * run.current[0], rel=1e-9)
    assert run.balances.worst < 1e-9
