"""A run from any door: watched, taken, corrected, kept; what stands still, and what only looks so."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import pytest

from aerode.errors import ConflictError, InputError, RangeError
from aerode.records.electrodes import Electrode
from aerode.records.instruments import Instrument, MeterRange, Sort
from aerode.records.marks import Entry
from aerode.records.runs import Run, Settling
from aerode.store.bench_file import BenchFile
from aerode.usecases.run_begin import RunWish, begin_run
from aerode.usecases.run_page import listed_runs, under_way
from aerode.usecases.take_readings import (
    correct,
    doubt,
    finish,
    keep_anyway,
    look_at_load,
    run_at_bench,
    same_number_as,
    skip_load,
    take_reading,
)

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from aerode.usecases.take_readings import RunAtBench

NOW = [datetime(2026, 5, 9, 10, 0, tzinfo=UTC)]


def _clock() -> datetime:
    return NOW[0]


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[BenchFile]:
    """An electrode of known area, a meter with a range of amperes, three resistors; a run begun."""
    NOW[0] = datetime(2026, 5, 9, 10, 0, tzinfo=UTC)
    amperes = MeterRange(name="200 mA", measures="current", full_scale=0.2, count=1e-4, of_reading=0.012, counts=3.0)  # fmt: skip
    with BenchFile.create(tmp_path / "b.aerode", title="b") as made:
        made.put(Electrode(name="T1", wetted_area=Entry(value=1e-3)))
        made.put(Instrument(name="meter", sort=Sort.MULTIMETER, ranges=(amperes,)))
        for ohms in (100.0, 33.0, 10.0):
            made.put(Instrument(name=f"{ohms:g} ohm", sort=Sort.RESISTOR, nominal_resistance=ohms))
        begin_run(made, RunWish(electrode="T1"), clock=_clock)
        yield made


def _at(bench: BenchFile, name: str = "T1 loads") -> RunAtBench:
    return run_at_bench(bench, name, clock=_clock)


def test_the_time_at_a_load_counts_from_the_reading_before(bench: BenchFile) -> None:
    """Half a minute after the run began, and again after each reading; a watched load keeps its own."""
    NOW[0] += timedelta(seconds=30)
    assert _at(bench).since(NOW[0]) == pytest.approx(30.0)
    take_reading(_at(bench), "742", waited=30.0)
    NOW[0] += timedelta(seconds=20)
    assert _at(bench).since(NOW[0]) == pytest.approx(20.0)
    look_at_load(_at(bench), "660", waited=20.0)
    NOW[0] += timedelta(seconds=40)
    assert _at(bench).since(NOW[0]) == pytest.approx(60.0)


def test_a_hasty_reading_is_not_called_settled(bench: BenchFile) -> None:
    """Taken after five seconds it is not known; after a minute it is settled, as the plan says."""
    take_reading(_at(bench), "742", waited=5.0)
    take_reading(_at(bench), "660", waited=60.0)

    settling = [r.settling for r in bench.get(Run, "T1 loads").readings]
    assert settling == [Settling.NOT_KNOWN, Settling.SETTLED]


def test_alike_for_a_moment_is_not_still(bench: BenchFile) -> None:
    """Four equal readings within two seconds say nothing; over a minute they do."""
    for k in range(4):
        look_at_load(_at(bench), "742", waited=0.5 * k)
    brief = under_way(_at(bench))
    look_at_load(_at(bench), "742", waited=60.0)
    longer = under_way(_at(bench))

    assert not brief.ready
    assert "watch it" in brief.say
    assert longer.ready


def test_a_load_that_was_read_meanwhile_is_refused(bench: BenchFile) -> None:
    """The form of another tab named the load before."""
    take_reading(_at(bench), "742", load="open")
    with pytest.raises(ConflictError, match="already"):
        take_reading(_at(bench), "741", load="open")


def test_wrong_sockets_and_strange_currents_are_refused(bench: BenchFile) -> None:
    """On the 200 mA range 250 mA is an overload; I must be near V/R."""
    wish = RunWish(electrode="T1", kind="ammeter", meter="meter", voltage_range="200 mA")
    name = begin_run(bench, wish, clock=_clock).name
    with pytest.raises(RangeError, match="range"):
        take_reading(_at(bench, name), "250 mA")
    take_reading(_at(bench), "742")
    with pytest.raises(RangeError, match="V/R"):
        take_reading(_at(bench), "660 mV 66 mA")
    assert len(bench.get(Run, "T1 loads").readings) == 1


def test_a_correction_while_a_load_is_watched_keeps_it_watched(bench: BenchFile) -> None:
    """The watched reading stays the last, and is taken with its whole trace."""
    take_reading(_at(bench), "724")
    look_at_load(_at(bench), "660", waited=20.0)
    correct(_at(bench), 0, "742")
    doubt(_at(bench), 0, "typed wrong")
    look_at_load(_at(bench), "661", waited=50.0)

    readings = bench.get(Run, "T1 loads").readings
    assert [r.load for r in readings] == ["open", "open", "100 ohm"]
    assert readings[1].replaces == 0
    assert len(readings[2].trace) == 2
    with pytest.raises(InputError, match="replaced already"):
        correct(_at(bench), 0, "743")
    with pytest.raises(InputError, match="no reading 9"):
        doubt(_at(bench), 8, "")


def test_closing_and_leaving_out_lose_nothing_that_was_watched(bench: BenchFile) -> None:
    """What was seen of a load stays, doubted where it was left out, with its wait where the run was closed."""
    look_at_load(_at(bench), "742", waited=20.0)
    skip_load(_at(bench), "lead broke")
    look_at_load(_at(bench), "660", waited=20.0)
    finish(_at(bench))

    run = bench.get(Run, "T1 loads")
    assert [r.doubt for r in run.readings] == ["lead broke", ""]
    assert run.readings[1].waited == 20.0
    assert run.finished
    assert not listed_runs(bench)[0].open


def test_what_cannot_be_is_kept_on_request_and_used_by_nothing(bench: BenchFile) -> None:
    """The number as typed, its reason beside it; the next load comes."""
    keep_anyway(_at(bench), "61 V", "too much")
    reading = bench.get(Run, "T1 loads").readings[0]

    assert (reading.voltage, reading.doubt) == (61.0, "too much")
    step = _at(bench).next_step()
    assert step is not None
    assert step.load == "100 ohm"


@pytest.mark.parametrize(
    ("text", "current", "meant"),
    [("742", False, ("742 mV",)), ("5", False, ("5 mV", "5 V")), ("0,7 V", False, ()), ("words", False, ()), ("69,4", True, ("69,4 mA", "69,4 uA"))],
)  # fmt: skip
def test_a_bare_number_is_offered_with_the_units_it_may_have(
    text: str, current: bool, meant: tuple[str, ...]
) -> None:
    """Likeliest first, only what a cell can give."""
    assert same_number_as(text, current=current) == meant
