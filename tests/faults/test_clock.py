"""The clock of the machine goes backwards: nothing is lost, and the order is that of writing."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

from aerode.records.electrodes import Electrode
from aerode.records.instruments import Instrument, Sort
from aerode.records.runs import Run
from aerode.store.bench_file import BenchFile
from aerode.usecases.log_run import resume_or_start


class Clock:
    """Goes back a day at every second look."""

    def __init__(self) -> None:
        self.at = datetime(2025, 10, 26, 2, 59, tzinfo=UTC)
        self.looks = 0

    def __call__(self) -> datetime:
        self.looks += 1
        self.at += timedelta(days=-1) if self.looks % 2 else timedelta(seconds=1)
        return self.at


def test_history_is_in_the_order_of_writing(tmp_path: Path) -> None:
    """States whose moments go backwards stand in the order in which they were written."""
    with BenchFile.create(tmp_path / "a.aerode", title="x", clock=Clock()) as bench:
        for n in range(6):
            bench.put(Electrode(name="T1", note=f"state {n}"), why=f"{n}")
        moments = [state.at for state in bench.history(Electrode, "T1")]

        assert [state.why for state in bench.history(Electrode, "T1")] == [*"012345"]
        assert moments != sorted(moments)
        assert bench.get(Electrode, "T1").note == "state 5"
        assert bench.undo(Electrode, "T1").doc.count("state 4") == 1
        assert bench.check().whole


def test_two_copies_with_wrong_clocks_are_merged(tmp_path: Path) -> None:
    """Which state came from which is in the states, not in their moments."""
    with BenchFile.create(tmp_path / "a.aerode", title="x", clock=Clock()) as bench:
        bench.put(Electrode(name="T1"))
        bench.put(Electrode(name="T1", note="later, and earlier by the clock"))
        states = bench.history()
    with BenchFile.create(tmp_path / "b.aerode", title="y", clock=Clock()) as other:
        other.take_in([s for s in reversed(states) if s.kind == "electrode"])

        assert other.get(Electrode, "T1").note.startswith("later")
        assert other.conflicts() == []
        assert other.check().whole


def test_a_guided_run_goes_on(tmp_path: Path) -> None:
    """Readings keep their order, and no time since the start is below zero."""
    with BenchFile.create(tmp_path / "a.aerode", title="x", clock=Clock()) as bench:
        bench.put(Electrode(name="T1"))
        bench.put(Instrument(name="R15", sort=Sort.RESISTOR, nominal_resistance=15.0))
        guided = resume_or_start(bench, "T1", clock=Clock())
        for text in ("0.742 V", "0.4 V"):
            guided.take(text)
        run = bench.get(Run, guided.run.name)

    assert [reading.voltage for reading in run.readings] == [0.742, 0.4]
    assert all(reading.at is not None and reading.at >= 0 for reading in run.readings)
