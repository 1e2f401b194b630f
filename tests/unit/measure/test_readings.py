"""From a run to arrays: circuits, shared errors by name, and every reading accounted for."""

from __future__ import annotations

import numpy as np
import pytest

from aerode.measure.area import Area
from aerode.measure.readings import read_run
from aerode.measure.run_data import ReadingKind
from aerode.records.electrodes import Cell, Electrode, Sensing, Tab
from aerode.records.instruments import Instrument, MeterRange, Sort
from aerode.records.marks import Condition, Entry, Known
from aerode.records.runs import Reading, Run, Settling

BENCH = {
    "yellow": Instrument(
        name="yellow",
        sort=Sort.MULTIMETER,
        ranges=(
            MeterRange(name="2 V", full_scale=2.0, count=1e-3, of_reading=0.005, counts=2, input_resistance=1e6),
            MeterRange(
                name="200 mA", measures="current", full_scale=0.2, count=1e-4, of_reading=0.012, counts=3,
                burden=Entry(value=1.9, standard_uncertainty=0.05),
            ),
        ),
    ),
    "R15": Instrument(name="R15", sort=Sort.RESISTOR, nominal_resistance=15.0, tolerance=0.01, power_rating=0.25),
    "R10k": Instrument(name="R10k", sort=Sort.RESISTOR, nominal_resistance=1e4, tolerance=0.01),
}  # fmt: skip


def run_of(*readings: Reading, **more: object) -> Run:
    """A run with the yellow meter."""
    return Run(name="run 1", meter="yellow", readings=readings, **more)  # type: ignore[arg-type]


def test_the_meter_is_parallel_to_the_load() -> None:
    """1 megohm across 10 kohm: one per cent more current than V/R."""
    data = read_run(run_of(Reading(load="R10k", voltage=0.7)), BENCH, area=Area(1e-5, 0.01))
    _, current = data.tab_points()
    assert current[0] == pytest.approx(0.7 / 1e4 + 0.7 / 1e6, rel=1e-12)


def test_clips_see_less_than_the_tab() -> None:
    """The lead lies between the clips and the tab: V + I r, the current as read."""
    cell = Cell(
        name="c", electrode="e", lead_resistance=Entry(value=0.5, standard_uncertainty=0.05)
    )
    data = read_run(run_of(Reading(load="R15", voltage=0.4)), BENCH, cell=cell)
    volts, current = data.tab_points()
    assert current[0] == pytest.approx(0.4 / 15 + 0.4 / 1e6, rel=1e-12)
    assert volts[0] == pytest.approx(0.4 + 0.5 * current[0], rel=1e-12)
    assert data.lead_uncertainty == 0.05


def test_a_sense_wire_sees_the_tab_and_the_lead_limits_the_current() -> None:
    """0.1 ohm in series with 1 ohm: ignoring it would overstate the current by ten per cent."""
    cell = Cell(
        name="c", electrode="e", sensing=Sensing.SENSE_WIRE,
        lead_resistance=Entry(value=0.1, standard_uncertainty=0.01),
    )  # fmt: skip
    data = read_run(run_of(Reading(resistance=1.0, voltage=0.5)), BENCH, cell=cell)
    volts, current = data.tab_points()
    assert volts[0] == pytest.approx(0.5, rel=1e-12)
    assert current[0] == pytest.approx(0.5 / 1.1, rel=1e-5)


def test_the_tab_counts_as_lead_where_no_lead_was_measured() -> None:
    """The joint of the electrode is in the path of the current."""
    electrode = Electrode(
        name="e", tab=Tab(how="crimp", resistance=Entry(value=1.4, standard_uncertainty=0.03))
    )
    data = read_run(run_of(Reading(load="R15", voltage=0.4)), BENCH, electrode=electrode)
    assert (data.lead_resistance, data.lead_uncertainty) == (1.4, 0.03)


def test_unknown_leads_are_said() -> None:
    """At the clips they count as the cell's own; with a sense wire a span is assumed."""
    clips = read_run(run_of(Reading(load="R15", voltage=0.4)), BENCH)
    assert clips.lead_resistance == 0.0
    assert any("counts as part of the cell" in a for a in clips.assumptions)
    cell = Cell(name="c", electrode="e", sensing=Sensing.SENSE_WIRE)
    sense = read_run(run_of(Reading(load="R15", voltage=0.4)), BENCH, cell=cell)
    assert sense.lead_uncertainty == pytest.approx(0.4 / 12**0.5)
    assert any("0.1 to 0.5 ohm" in a for a in sense.assumptions)


def test_an_ammeter_across_the_cell_is_a_load_of_its_burden() -> None:
    """Ohm's law with a linear source: 0.8 V, 10 ohm inside, 1.9 ohm burden: 67.2 mA at 0.128 V."""
    shown = 0.8 / (10.0 + 1.9)
    data = read_run(run_of(Reading(current=round(shown, 4), current_range="200 mA")), BENCH)
    volts, current = data.tab_points()
    assert data.kind.tolist() == [ReadingKind.AMMETER]
    assert current[0] == pytest.approx(shown, abs=5e-5)
    assert volts[0] == pytest.approx(0.8 - 10.0 * shown, abs=1e-4)
    assert data.part_names == ("burden yellow / 200 mA",)
    assert data.part_uncertainty[0] == pytest.approx(0.05 / 1.9)


def test_a_voltage_and_a_current_are_a_pair() -> None:
    """Both as read; nothing is parallel to anything."""
    data = read_run(run_of(Reading(voltage=0.4, current=0.0267, current_range="200 mA")), BENCH)
    assert data.kind.tolist() == [ReadingKind.PAIR]
    assert [float(x[0]) for x in data.tab_points()] == [0.4, 0.0267]
    assert data.current_noise[0] > 0


def test_v_and_v_over_r_are_one_datum() -> None:
    """With load and current both noted and in agreement, the voltage and the load enter."""
    reading = Reading(load="R15", voltage=0.400, current=0.0267, current_range="200 mA")
    data = read_run(run_of(reading), BENCH)
    assert data.kind.tolist() == [ReadingKind.LOAD]


def test_shared_errors_bear_the_names_of_things() -> None:
    """One meter range is one gain, one resistor one part, whatever the number of readings."""
    readings = [Reading(load="R15", voltage=v) for v in (0.40, 0.41)]
    data = read_run(
        run_of(*readings, Reading(load="R10k", voltage=0.7)), BENCH, area=Area(1e-5, 0.01)
    )
    assert data.gain_names == ("gain yellow / 2 V",)
    assert data.part_names == ("part R15", "part R10k")
    assert data.part.tolist() == [0, 0, 1]
    assert data.part_uncertainty == pytest.approx([0.01 / 3**0.5] * 2)
    assert data.gain_uncertainty == pytest.approx([0.005 / 3**0.5])


def test_unnamed_resistors_belong_to_their_session() -> None:
    """The 47 ohm of one day is one part; that of another day is another."""

    def names(session: str) -> tuple[str, ...]:
        return read_run(
            run_of(Reading(resistance=47.0, voltage=0.4), session=session), BENCH
        ).part_names

    assert names("monday") == names("monday")
    assert names("monday") != names("friday")


@pytest.mark.parametrize(
    ("reading", "why"),
    [
        (Reading(load="open", voltage=0.74), "open circuit"),
        (Reading(load="R15", voltage=-0.4), "leads swapped"),
        (Reading(load="R15", voltage=400.0), "400 mV"),
        (Reading(load="R15", voltage=2.0), "overload"),
        (Reading(load="R15", voltage=0.4, current=26.7), "A for mA"),
        (Reading(load="R15", voltage=0.4, current=0.04, current_range="200 mA"), "I is not V/R"),
        (Reading(current=69.4, current_range="200 mA"), "A for mA"),
        (Reading(load="R15", voltage=0.4, settling=Settling.NOT_SETTLED), "not settled"),
        (Reading(load="R15", voltage=0.4, trace=((0, 0.5), (60, 0.45), (120, 0.42))), "still moving"),
        (Reading(load="R15", voltage=0.4, doubt="clip fell off"), "clip fell off"),
        (Reading(voltage=0.4), "without its load"),
        (Reading(load="R15"), "no number"),
        (Reading(load="R10k", voltage=0.7), "nearly open circuit"),
    ],
)  # fmt: skip
def test_readings_that_do_not_enter_say_why(reading: Reading, why: str) -> None:
    """Each is kept among the points with its reason."""
    data = read_run(run_of(reading), BENCH, area=Area(9e-4, 0.01))
    assert data.voltage.size == 0
    assert why in data.refused[0].why_not


def test_a_corrected_slip_takes_the_place_of_the_first() -> None:
    """The new reading enters, the old one says by which it was replaced."""
    wrong = Reading(load="R15", voltage=4.0, text="4.0")
    right = Reading(load="R15", voltage=0.40, replaces=0)
    data = read_run(run_of(wrong, right), BENCH)
    assert data.voltage.tolist() == [0.40]
    assert data.refused[0].why_not == "replaced by reading 2"


@pytest.mark.parametrize("settling", [Settling.NOT_SETTLED, Settling.EXTRAPOLATED])
def test_a_moving_reading_enters_extrapolated_and_blurred(settling: Settling) -> None:
    """The settled value and not the last one read, with the uncertainty of the extrapolation on top of the count's."""
    trace = tuple((float(t), round(0.40 + 0.1 * np.exp(-t / 45), 3)) for t in range(0, 150, 15))
    data = read_run(
        run_of(Reading(load="R15", voltage=0.42, trace=trace, settling=settling)), BENCH
    )
    assert data.voltage[0] == pytest.approx(0.40, abs=0.003)
    assert data.noise[0] > 0.001 / 12**0.5


def test_one_slip_among_good_readings_is_found_without_a_load() -> None:
    """Amperes typed for milliamperes in a column of currents."""
    pairs = [(0.6, 0.001), (0.55, 0.002), (0.45, 5.0), (0.40, 0.010), (0.3, 0.02)]
    data = read_run(run_of(*[Reading(voltage=v, current=i) for v, i in pairs]), BENCH)
    assert [p.index for p in data.refused] == [2]
    assert "A for mA" in data.refused[0].why_not


def test_points_carry_their_uncertainty() -> None:
    """u(I)/I from voltage and resistor: 0.5 % + 2 counts, and 1 %."""
    data = read_run(run_of(Reading(load="R15", voltage=0.400)), BENCH)
    point = data.points[0]
    volts = np.sqrt((0.005 * 0.4) ** 2 / 3 + 0.002**2 / 3 + 0.001**2 / 12)
    assert point.voltage_uncertainty == pytest.approx(volts, rel=1e-9)
    assert point.current_uncertainty == pytest.approx(
        (point.current or 0) * np.hypot(volts / 0.4, 0.01 / 3**0.5), rel=1e-9
    )


def test_hot_resistors_and_hysteresis_are_warned_of() -> None:
    """0.25 W rating at 0.15 W; and the same load read twice, 30 mV apart."""
    hot = read_run(run_of(Reading(load="R15", voltage=1.5)), BENCH)
    assert any("heat" in w for w in hot.warnings)
    twice = read_run(
        run_of(Reading(load="R15", voltage=0.40), Reading(load="R15", voltage=0.43)), BENCH
    )
    assert any("differ by 30 mV" in w for w in twice.warnings)


def test_the_temperature_of_a_reading_goes_before_that_of_the_run() -> None:
    """One reading has its own, the other takes the run's."""
    data = read_run(
        run_of(
            Reading(load="R15", voltage=0.4, temperature=300.0),
            Reading(load="R15", voltage=0.4),
            temperature=Condition(known=Known.MEASURED, value=295.0),
        ),
        BENCH,
    )
    assert data.temperature == (300.0, 295.0)


def test_open_circuit_is_remembered_and_kept_out() -> None:
    """The last open-circuit voltage, beside the points."""
    data = read_run(
        run_of(Reading(load="open", voltage=0.61), Reading(load="open", voltage=0.74), Reading(load="R15", voltage=0.4)),
        BENCH,
    )  # fmt: skip
    assert data.open_circuit_voltage == 0.74
    assert data.voltage.tolist() == [0.4]
