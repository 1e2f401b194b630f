"""Which battery is chosen, and what its cells use: against Faraday's law and the shape of a power curve."""

from __future__ import annotations

import pytest

from aerode.measure.battery import Loss, Wanted, burst_part, consumption
from aerode.measure.battery_builds import past_the_top
from aerode.records.sizes import SizeOption

WANTED = Wanted(
    power=0.024, needs=0.9, on_time=168 * 3600.0, whole_time=336 * 3600.0, area=9e-4, chance=0.9, left=0.6
)  # fmt: skip
CHOSEN = SizeOption(
    cell_voltage=0.45, in_series=2, current=0.024 / 0.9, level=28.0, exceeded=25.0, electrodes=2,
    chance=0.97, aluminium=1.5e-3,
)  # fmt: skip


@pytest.mark.parametrize(
    ("levels", "past"),
    [
        ({0.1: 40.0, 0.2: 30.0, 0.3: 25.0, 0.4: 10.0}, {0.1, 0.2, 0.3}),
        ({0.2: 60.0, 0.3: 25.0, 0.4: 10.0}, set()),
        ({0.2: 10.0, 0.3: 10.0}, {0.2, 0.3}),
        ({0.4: 10.0}, set()),
    ],
)  # fmt: skip
def test_all_at_or_below_the_greatest_power_is_past_it(levels: dict[float, float], past: set[float]) -> None:  # fmt: skip
    """Power is voltage times current; where it still rises at the lowest voltage the top was not seen."""
    assert past_the_top(levels) == past


def test_a_measured_rate_counts_for_all_of_the_time_and_a_share_for_the_charge() -> None:
    """1 A/m2 on 40 cm2 for 336 h is 1.344 Ah: 0.451 g at 2.980 Ah/g (Faraday; CRC Handbook), 0.613 L at 25 degC."""
    by_rate = consumption(WANTED, CHOSEN, Loss(rate=1.0, beside=9.0), 40e-4)
    assert 1e3 * by_rate.corroded == pytest.approx(1.344 / 2.980, rel=1e-3)
    assert 1e3 * by_rate.hydrogen == pytest.approx(1.344 * 0.4564, rel=1e-3)
    by_share = consumption(WANTED, CHOSEN, Loss(rate=None, beside=1.0), 40e-4)
    assert by_share.corroded == pytest.approx(by_share.used)
    assert by_share.used == pytest.approx(by_rate.used)
    assert by_share.charge / 3600 == pytest.approx(4.48, abs=0.001)


def test_the_heat_is_what_the_voltage_leaves_of_2_986_volts() -> None:
    """Thermoneutral voltage of 4 Al + 3 O2 + 6 H2O -> 4 Al(OH)3 from tabulated enthalpies (CODATA, NBS)."""
    found = consumption(WANTED, CHOSEN, Loss(rate=None, beside=1.0), 40e-4)
    assert found.heat == pytest.approx(CHOSEN.current * (2.986 - 0.45), rel=1e-3)


def test_corrosion_heats_by_its_enthalpy() -> None:
    """Al + 3 H2O -> Al(OH)3 + 3/2 H2: 1293.1 - 3 x 285.83 = 435.6 kJ/mol (NBS tables; CODATA) over 3 F: 1.505 V."""
    found = consumption(WANTED, CHOSEN, Loss(rate=1.0, beside=9.0), 40e-4)
    assert found.heat_of_corrosion == pytest.approx(40e-4 * 435.6e3 / (3 * 96485.33), rel=1e-3)
    share = consumption(WANTED, CHOSEN, Loss(rate=None, beside=0.5), 40e-4)
    assert share.heat_of_corrosion == pytest.approx(0.5 * CHOSEN.current * 1.505, rel=1e-3)


def test_a_burst_below_the_average_needs_no_capacitor() -> None:
    """Above it the capacitor carries the difference: C = (I - mean) t / fall."""
    burst = burst_part(CHOSEN, current=0.06, duration=0.1, voltage=3.0, passed_on=0.75, power=0.024)
    assert burst.current == pytest.approx(0.06 * 3.0 / 0.75 / 0.9)
    assert burst.capacitance == pytest.approx((0.06 - 0.006) * 0.1 / 0.3)
    small = burst_part(
        CHOSEN, current=0.005, duration=0.1, voltage=3.0, passed_on=0.75, power=0.024
    )
    assert small.capacitance is None
    assert small.times < 1.0
