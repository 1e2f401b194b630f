"""Transport, wetting, heating, drying, pressing: what each refuses, and its plain limits."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from aerode.errors import AerodeError, CannotTellError, RangeError
from aerode.physics import drying, heating, pressing, seepage, transport, wetting

RIGHT = math.pi / 2.0
WIDE = math.radians(108.0)
AIR = {
    "diffusivity": 2.5e-5, "air_thermal_diffusivity": 2.1e-5, "air_specific_heat": 1007.0,
    "air_density": 1.18,
}  # fmt: skip
HARD = {"packing": 0.64, "contacts": 6.0, "factor": 0.64, "power": 1.5}
PORES = {"median_radius": 1e-6, "spread": 0.5, "surface_tension": 0.072}


@pytest.mark.parametrize(
    "asked",
    [
        lambda: transport.bruggeman(1.2),
        lambda: transport.bruggeman(0.5, 0.9),
        lambda: transport.hashin_shtrikman(0.5, 1.0, 2.0),
        lambda: transport.refuse_above_bound(-0.1, 0.5),
        lambda: transport.effective_gas_diffusivity(2e-5, 0.6, 0.1, slower=0.5),
        lambda: transport.effective_ionic_conductivity(5.0, 0.6, slower=0.5),
        lambda: transport.percolation(0.5, 1.0, 2.0),
        lambda: transport.knudsen_diffusivity(0.0, 298.0, 0.032),
        lambda: wetting.mixed_contact_angle([0.5], [1.0, 1.0]),
        lambda: wetting.mixed_contact_angle([0.5, 0.2], [1.0, 1.0]),
        lambda: wetting.mixed_contact_angle([1.0], [4.0]),
        lambda: wetting.covering_needed(1.0, 0.5),
        lambda: wetting.holding_pore(0.072, 1.0, 1000.0),
        lambda: wetting.water_surface_tension(700.0, 0.2358, -0.625, 1.256, 647.096),
        lambda: seepage.wicking_distance(1.0, 0.072, WIDE, 1e-6, 1e-3),
        lambda: seepage.saturation(0.0, [], 0.072),
        lambda: seepage.flooded_share(1.0, start=0.2, end=1.2, time_constant=1.0),
        lambda: seepage.falling_head_time(
            1e-14, 1e-3, 5e-4, density=1e3, tube_area=1e-4, layer_area=1e-4, head_ratio=1.0
        ),
        lambda: heating.slab_roots(0.0, 1),
        lambda: heating.slab_roots(1.0, 0),
        lambda: heating.progress_at(1.5, 0.1, 1.0),
        lambda: heating.mean_progress(-1.0, 1.0),
        lambda: heating.time_for_progress(1.0, 1.0),
        lambda: heating.to_the_plate(0.0),
        lambda: heating.warm_up_time(
            share=0.5, thickness=1e-4, conductivity=0.3, heat_capacity=1e6, resistance=1e-4, plates=3
        ),
        lambda: drying.blend_drying_time([1.0], [1.0, 2.0]),
        lambda: drying.blend_drying_time([1.0], [0.0]),
        lambda: drying.blend_left([1.0, 1.0], [0.05, 0.05], [1.0, 2.0], 1.0),
        lambda: drying.wet_bulb_temperature(298.15, 0.018, 44e3, lambda _: 3000.0, ambient=4e3, **AIR),
        lambda: drying.late_drying_time(1e-5, 1e-12, faces=3),
        lambda: drying.solvent_left(1.0, 1e-5, 1e-12, faces=0),
        lambda: drying.drying_band((2.0, 1.0, 3.0), paths=(1e-6, 1e-5), diffusivities=(1e-13, 1e-11), left=0.01),
        lambda: drying.drying_band((1.0, 2.0, 3.0), paths=(1e-5, 1e-6), diffusivities=(1e-13, 1e-11), left=0.01),
        lambda: drying.dry_over_wet_thickness(0.5, 0.8),
        lambda: drying.dry_over_wet_thickness(0.5, 1.0),
        lambda: drying.critical_cracking_thickness(1e-7, 1e9, 0.02, contact_angle=2.0, **HARD),
        lambda: drying.settled_mass(1.0, 1.0, 1.0),
        lambda: drying.settled_mass(1.20, 1.19, 1.17),
        lambda: drying.settled_mass(1.20, 1.10, 1.05, resolution=0.06),
        lambda: pressing.screw_force(1.0, mean_diameter=0.01, lead=0.03, friction=1.5),
        lambda: pressing.screw_force(1.0, mean_diameter=0.01, lead=0.002, friction=0.1, half_angle=1.2),
        lambda: pressing.mean_pressure(100.0, 0.0),
        lambda: pressing.heckel_pressure(0.2, 1e-7, 0.4),
        lambda: pressing.heckel_fit([1.0, 2.0], [0.3, 0.4]),
        lambda: pressing.heckel_fit([1.0, 1.0, 1.0], [0.3, 0.4, 0.4]),
        lambda: pressing.heckel_fit([1.0, 2.0, 3.0], [0.3, 0.4, 1.4]),
        lambda: pressing.heat_window([], []),
        lambda: pressing.weight_force(-1.0),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused(asked: Callable[[], object]) -> None:
    """Each refusal says what is allowed or what is wrong."""
    with pytest.raises(AerodeError) as refusal:
        asked()

    assert refusal.value.what
    assert isinstance(refusal.value, RangeError | CannotTellError)


def test_a_pore_that_wets_holds_nothing() -> None:
    """0 at and below 90 degrees, above it some pressure."""
    assert wetting.breakthrough_pressure(0.072, 1.0, 1e-6) == 0.0
    assert wetting.breakthrough_pressure(0.072, RIGHT, 1e-6) == pytest.approx(0.0, abs=1e-6)
    assert wetting.breakthrough_pressure(0.072, WIDE, 1e-6) > 0.0


def test_mixed_angles_at_their_ends() -> None:
    """All of one material is that material; half air under a drop makes it roll."""
    assert wetting.mixed_contact_angle([1.0], [1.2]) == pytest.approx(1.2)
    assert wetting.mixed_contact_angle([0.0, 1.0], [1.2, 1.9]) == pytest.approx(1.9)
    assert wetting.mixed_contact_angle([0.5], [1.9], air=0.5) > 1.9
    share = wetting.covering_needed(WIDE, 1.0)
    assert wetting.mixed_contact_angle([share, 1.0 - share], [WIDE, 1.0]) == pytest.approx(RIGHT)


def test_pores_fill_as_pressure_has_it() -> None:
    """Pores that wet empty under suction, pores that do not fill under pressure; 90 degrees at once."""
    wet, dry = {"contact_angle": 0.6, **PORES}, {"contact_angle": 1.9, **PORES}

    assert seepage.filled_share(0.0, **wet) == 1.0
    assert seepage.filled_share(0.0, **dry) == 0.0
    assert 0.0 < seepage.filled_share(-1e5, **wet) < 1.0
    assert seepage.filled_share(1e5, **dry) > seepage.filled_share(3e4, **dry)
    assert seepage.filled_share(1.0, **{**dry, "contact_angle": RIGHT}) == 1.0


def test_bound_for_a_pure_phase() -> None:
    """Nothing of the other phase: both bounds are the phase itself, even beside an insulator."""
    low, high = transport.hashin_shtrikman([0.0, 1.0], 2.0)

    assert low.tolist() == [0.0, 2.0]
    assert high.tolist() == pytest.approx([0.0, 2.0])


def test_no_time_no_progress() -> None:
    """At time zero the film is where it was; the shortest time told is a millionth."""
    assert heating.mean_progress(0.0, 1.0) == 0.0
    assert heating.progress_at(0.5, 0.0, 1.0) == 0.0
    assert heating.time_for_progress(1e-9, math.inf) == 1e-6


def test_a_densification_line_comes_back() -> None:
    """Coupons made from a line give its slope and intercept, and no misfit."""
    pressures = [0.0, 5e5, 1e6, 4e6]
    line = pressing.heckel_fit(
        pressures, [pressing.heckel_density(p, 2e-7, 0.35) for p in pressures]
    )

    assert line.slope == pytest.approx(2e-7)
    assert line.intercept == pytest.approx(0.35)
    assert line.misfit < 1e-12
    assert line.pressures == (0.0, 4e6)
    assert pressing.heckel_pressure(
        pressing.heckel_density(2e6, 2e-7, 0.35), 2e-7, 0.35
    ) == pytest.approx(2e6)


def test_one_unknown_polymer_closes_the_window() -> None:
    """Both ends known and apart: open. One missing figure: not open, and that end is None."""
    assert pressing.heat_window([340.0, 373.0], [423.0, 500.0]).open
    assert not pressing.heat_window([340.0, 373.0], [423.0, None]).open
    assert not pressing.heat_window([440.0], [423.0]).open
    assert pressing.heat_window([None], [423.0]).low is None


def test_fine_grains_crack_first() -> None:
    """A tenth of the radius: a thirtieth of the thickness."""
    thick = drying.critical_cracking_thickness(1e-6, 1e9, 0.0228, **HARD)
    thin = drying.critical_cracking_thickness(1e-7, 1e9, 0.0228, **HARD)

    assert thick / thin == pytest.approx(10**1.5)


def test_a_very_volatile_liquid_stops_at_the_floor() -> None:
    """Where no balance is found above 150 K, 150 K is told."""
    cold = drying.wet_bulb_temperature(298.15, 0.058, 5e6, lambda _: 1e5, **AIR)

    assert cold == 150.0
