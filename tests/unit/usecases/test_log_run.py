"""A guided run: the next load named, each reading on disk at once, nothing erased."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import pytest

from aerode.errors import InputError, NotFoundError, RangeError, UnitError
from aerode.records.electrodes import Cell, Electrode
from aerode.records.instruments import Instrument, Sort
from aerode.records.marks import Known
from aerode.records.runs import Reading, Run, RunPlan, RunSort, Settling, Unsorted
from aerode.store.bench_file import BenchFile
from aerode.usecases.log_reading import file_reading, understand
from aerode.usecases.log_retro import log_retro
from aerode.usecases.log_run import GuidedRun, resume_or_start
from aerode.usecases.run_conditions import condition

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

START = datetime(2026, 5, 9, 10, 0, tzinfo=UTC)


class Clock:
    """A clock that goes on by half a minute each time it is read."""

    def __init__(self) -> None:
        self.moment = START

    def __call__(self) -> datetime:
        self.moment += timedelta(seconds=30)
        return self.moment


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[BenchFile]:
    """A bench with one electrode and four resistors."""
    with BenchFile.create(tmp_path / "b.aerode", title="test") as made:
        made.put_all(
            [
                Electrode(name="E1"),
                Cell(name="cell 1", electrode="E1"),
                *(
                    Instrument(
                        name=f"{r:g} ohm",
                        sort=Sort.RESISTOR,
                        nominal_resistance=r,
                        power_rating=0.02,
                    )
                    for r in (100.0, 33.0, 10.0, 4.7)
                ),
            ]
        )
        yield made


def _begin(bench: BenchFile, plan: RunPlan = RunPlan.FULL) -> GuidedRun:
    return resume_or_start(bench, "E1", plan=plan, clock=Clock())


def test_loads_go_from_rest_to_the_smallest_resistor(bench: BenchFile) -> None:
    """Open circuit first, falling resistors, and the middle one again at the end."""
    assert _begin(bench).run.planned_loads == (
        "open",
        "100 ohm",
        "33 ohm",
        "10 ohm",
        "4.7 ohm",
        "33 ohm",
    )


@pytest.mark.parametrize("text", ["742", "0,742", "742 mV", ".742", "0.742 V"])
def test_one_voltage_typed_in_many_ways(bench: BenchFile, text: str) -> None:
    """All the ways people write 0.742 V are one reading."""
    answer = _begin(bench).take(text)

    assert answer.taken[0].voltage == pytest.approx(0.742)
    assert answer.next_step is not None
    assert answer.next_step.load == "100 ohm"


def test_each_reading_is_on_disk_before_the_next(bench: BenchFile) -> None:
    """A second look at the file sees the reading as soon as it was acknowledged."""
    guided = _begin(bench)
    guided.take("0.74")
    guided.take("0.69")

    assert [r.voltage for r in bench.get(Run, guided.run.name).readings] == [0.74, 0.69]


def test_an_interrupted_run_goes_on(bench: BenchFile) -> None:
    """The same line after Ctrl-C takes up the run where it stopped."""
    first = _begin(bench)
    first.take("0.74")

    again = _begin(bench)

    assert again.resumed
    assert again.run.name == first.run.name
    assert again.remaining()[0] == "100 ohm"


def test_the_last_one_again_erases_nothing(bench: BenchFile) -> None:
    """A retaken reading stands beside the first, which stays in the run and in the history."""
    guided = _begin(bench)
    guided.take("0.74")
    guided.take("0.61")
    guided.retake("0.66")

    readings = bench.get(Run, guided.run.name).readings
    assert [r.voltage for r in readings] == [0.74, 0.61, 0.66]
    assert readings[2].replaces == 1
    assert guided.remaining()[0] == "33 ohm"


@pytest.mark.parametrize(
    ("text", "says"),
    [("-0.3", "swapped"), ("742 V", "was it 0.742 V?"), ("0", "short"), ("0.99", "without load")],
)
def test_an_impossible_reading_is_refused_and_not_saved(
    bench: BenchFile, text: str, says: str
) -> None:
    """Swapped leads, a slip of the unit, a short, and more than at rest are refused with what they mean."""
    guided = _begin(bench)
    guided.take("0.74")

    with pytest.raises((RangeError, UnitError)) as refusal:
        guided.take(text)

    assert says in str(refusal.value)
    assert len(bench.get(Run, guided.run.name).readings) == 1


def test_expectation_follows_the_readings(bench: BenchFile) -> None:
    """After two loads the third is foretold from them: a cell of 0.7 V and 5 ohm gives 0.467 V at 10 ohm."""
    guided = _begin(bench)
    for load in (None, 100.0, 33.0):
        guided.take(f"{0.7 if load is None else 0.7 * load / (load + 5.0):.4f}")

    step = guided.next_step()
    assert step is not None
    assert step.expected_voltage == pytest.approx(0.7 * 10 / 15, abs=1e-3)
    assert step.expected_current == pytest.approx(0.7 / 15, abs=1e-4)
    assert "warms" in step.warning


def test_short_plan_reads_at_set_times_and_extrapolates(bench: BenchFile) -> None:
    """Three loads with timed readings; a voltage still on its way is marked extrapolated."""
    guided = _begin(bench, RunPlan.SHORT)
    guided.take("0.74")
    step = guided.next_step()
    assert step is not None
    trace = [(t, 0.60 + 0.05 * 2.0 ** (-t / 40.0)) for t in step.moments]
    guided.take("0.602 V", trace=trace)

    reading = bench.get(Run, guided.run.name).readings[-1]
    assert guided.run.planned_loads == ("open", "100 ohm", "33 ohm", "4.7 ohm")
    assert reading.settling is Settling.EXTRAPOLATED
    assert len(reading.trace) == len(step.moments)


def test_skipping_takes_one_load_out(bench: BenchFile) -> None:
    """A skipped load is left out, and the run says so."""
    guided = _begin(bench)
    guided.take("0.74")
    guided.skip("burnt")

    assert guided.remaining()[0] == "33 ohm"
    assert "burnt" in bench.get(Run, guided.run.name).note


def test_a_bench_without_resistors_says_what_is_missing(tmp_path: Path) -> None:
    """No resistor: a refusal that says where to enter them."""
    with BenchFile.create(tmp_path / "c.aerode", title="bare") as bare:
        bare.put(Electrode(name="E1"))
        with pytest.raises(InputError, match="no resistor"):
            _begin(bare)


def test_an_unknown_electrode_is_refused(bench: BenchFile) -> None:
    """The name is checked before anything is stored."""
    with pytest.raises(NotFoundError, match="E9"):
        resume_or_start(bench, "E9", clock=Clock())


def test_a_closed_run_is_not_taken_up_again(bench: BenchFile) -> None:
    """After finishing, the same line starts a new run under a new name."""
    first = _begin(bench)
    first.take("0.74")
    first.finish()

    second = _begin(bench)

    assert not second.resumed
    assert second.run.name == "E1 loads 2"


def test_conditions_as_typed() -> None:
    """A value with a unit is measured, the word same is same for all, nothing may differ."""
    assert condition("21 °C", "K", "temperature").value == pytest.approx(294.15)
    assert condition("same", "K", "temperature").known is Known.SAME
    assert condition("", "K", "temperature").known is Known.MAY_DIFFER


def test_an_old_line_becomes_a_run(bench: BenchFile) -> None:
    """One notebook line is a run of its own, its wait not known."""
    log_retro(
        bench, "E1", ("0,42", "V", "15", "ohm"), date="2025-03-12", note="page 3", moment=START
    )
    run = bench.get(Run, "E1 retro 2025-03-12")

    assert run.plan is RunPlan.RETRO
    assert run.readings == (
        Reading(voltage=0.42, resistance=15.0, settling=Settling.NOT_KNOWN, text="0,42 V 15 ohm"),
    )


def test_the_tray_keeps_what_was_typed(bench: BenchFile) -> None:
    """A bare reading is filed with its words, even a doubtful one."""
    filed = file_reading(bench, ("0.742", "V", "15", "ohm"), note="v12", moment=START)
    doubtful = file_reading(bench, ("-0.2", "V"), note="", moment=START)

    entry = bench.get(Unsorted, filed.tray)
    assert (entry.voltage, entry.resistance, entry.note) == (0.742, 15.0, "v12")
    assert "swapped" in doubtful.taken[0].doubt
    assert doubtful.tray != filed.tray


@pytest.mark.parametrize(
    ("text", "voltage", "current", "resistance"),
    [
        ("0,742 V 15 ohm", 0.742, None, 15.0),
        ("742mV 15R", 0.742, None, 15.0),
        ("15 ohm .742", 0.742, None, 15.0),
        ("26.7 mA 0.4 V", 0.4, 0.0267, None),
        ("742", 0.742, None, None),
    ],
)
def test_a_line_is_understood(
    text: str, voltage: float, current: float | None, resistance: float | None
) -> None:
    """Voltage, current and resistor are told apart by their units, in any order."""
    found = understand(text)

    assert found.voltage == pytest.approx(voltage)
    assert found.current == (None if current is None else pytest.approx(current))
    assert found.resistance == (None if resistance is None else pytest.approx(resistance))


@pytest.mark.parametrize("text", ["12 g", "0.7 V 0.6 V", "15 ohm"])
def test_a_line_without_a_clear_reading_is_refused(text: str) -> None:
    """A mass, two voltages, or a resistor alone are no reading."""
    with pytest.raises(UnitError):
        understand(text)


def test_ammeter_reading_needs_a_believable_current(bench: BenchFile) -> None:
    """The ammeter's number is stored as a current, and a slip of the unit is refused."""
    guided = resume_or_start(bench, "E1", sort=RunSort.SHORT_CIRCUIT, clock=Clock())
    with pytest.raises(RangeError, match="mA"):
        guided.take("69.4 A")
    guided.take("69.4 mA")

    assert bench.get(Run, guided.run.name).readings[0].current == pytest.approx(0.0694)
