"""A run from any door: watched, taken, corrected, kept; what stands still, and what only looks so."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import pytest

from aerode.errors import ConflictError, InputError, RangeError
from aerode.records.electrodes import Cell, Electrode
from aerode.records.instruments import Instrument, MeterRange, Sort
from aerode.records.marks import Entry
from aerode.records.materials import Electrolyte
from aerode.records.runs import Run, Settling
from aerode.store.bench_file import BenchFile
from aerode.usecases.run_begin import RunWish, begin_run
from aerode.usecases.run_page import expected_words, listed_runs, under_way
from aerode.usecases.run_usable import usable_loads
from aerode.usecases.take_readings import (
    correct,
    doubt,
    finish,
    keep_anyway,
    look_at_load,
    put_back,
    run_at_bench,
    same_number_as,
    skip_load,
    take_last_back,
    take_reading,
    use_again,
)
from aerode.usecases.take_timed import take_as_it_stands

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
    """Taken after five seconds it is not known; after two minutes it is settled, as the plan says."""
    take_reading(_at(bench), "742", waited=5.0)
    take_reading(_at(bench), "660", waited=120.0)

    settling = [r.settling for r in bench.get(Run, "T1 loads").readings]
    assert settling == [Settling.NOT_KNOWN, Settling.SETTLED]


def test_a_hasty_reading_is_told_that_it_may_still_move(bench: BenchFile) -> None:
    """After 8 s at a load the answer says what may still come; after two minutes nothing."""
    take_reading(_at(bench), "742", waited=5.0)
    early = take_reading(_at(bench), "660", waited=8.0).headline
    late = take_reading(_at(bench), "520", waited=120.0).headline
    rows = under_way(_at(bench)).readings

    assert "read after 8 s and may still move by about 8.1 mV; the curve counts that" in early
    assert "may still move" not in late
    assert [row.settling for row in rows] == [
        "read after 5 s; the curve does not use it: without a load no current flows", "read after 8 s, may still move by about 8.1 mV", "read after 120 s",
    ]  # fmt: skip


def test_two_readings_alike_half_a_minute_apart_stand_still(bench: BenchFile) -> None:
    """One rule, told once: the page says before the first what it says after the second."""
    take_reading(_at(bench), "742", waited=200.0)
    before = under_way(_at(bench))
    look_at_load(_at(bench), "660", waited=20.0)
    one = under_way(_at(bench))
    look_at_load(_at(bench), "660", waited=50.0)
    two = under_way(_at(bench))
    taken = take_as_it_stands(_at(bench)).taken

    assert "two minutes" in before.say
    assert "two readings alike, half a minute apart" in before.say
    assert "half a minute" in one.say
    assert not one.ready
    assert "It stands still" in two.say
    assert two.ready
    assert taken[0].settling == "settled"


def test_watching_is_never_worse_than_not_watching(bench: BenchFile) -> None:
    """Two alike after 20 s are too few to tell: the curve uses them as it does one that nobody watched."""
    take_reading(_at(bench), "742", waited=200.0)
    look_at_load(_at(bench), "660", waited=10.0)
    look_at_load(_at(bench), "660", waited=30.0)
    take_as_it_stands(_at(bench))
    loads = usable_loads(bench, bench.get(Run, "T1 loads"))

    assert loads is not None
    assert (loads.count, loads.left_out) == (1, ())


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
    with pytest.raises(ConflictError, match="read meanwhile; “741” was not taken"):
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
    ("text", "expected", "meant"),
    [
        ("742", 0.7, ()), ("7420", 0.7, ("0.742 V",)), ("0,1142", 1.24, ("1.142 V",)), ("0,108 V", 1.19, ("1.08 V",)),
        ("13", 0.9, ("1.3 V",)), ("1080 V", 1.19, ("1.08 V",)), ("0,3 mV", 0.04, ("30 mV",)), ("-0,7", 0.7, ()), ("words", 0.7, ()),
    ],
)  # fmt: skip
def test_what_was_meant_is_offered_the_nearest_to_the_expectation_first(
    text: str, expected: float, meant: tuple[str, ...]
) -> None:
    """The same digits with the decimal mark or the unit where a cell has them; never what was typed."""
    assert same_number_as(text, expected=expected) == meant


def test_a_current_is_offered_in_the_units_it_may_have() -> None:
    """A bare number at the ammeter; with its unit nothing is offered."""
    assert same_number_as("69,4", current=True) == ("69,4 mA", "69,4 uA")
    assert same_number_as("69,4 A", current=True) == ()


def _cell(bench: BenchFile, electrolyte: str) -> None:
    bench.put(Cell(name="C1", electrode="T1", electrolyte=electrolyte))
    bench.put(replace(bench.get(Run, "T1 loads"), cell="C1"))


@pytest.mark.parametrize(
    ("text", "meant"),
    [("0,108 V", "1.08 V"), ("108 mV", "1.08 V"), ("0,108", "1.08 V"), ("10,8 mV", "1.08 V")],
)
def test_a_reading_far_from_what_is_expected_is_asked_about_whatever_its_unit(
    bench: BenchFile, text: str, meant: str
) -> None:
    """0.108 V at 100 ohm after 1.25 V without load, where 0.99 to 1.39 V is expected: nothing is saved, and the slip is named."""
    take_reading(_at(bench), "1.25")
    with pytest.raises(RangeError) as asked:
        take_reading(_at(bench), text)

    assert f"was it {meant}?" in asked.value.next_step
    assert "keep it" in asked.value.next_step
    assert len(bench.get(Run, "T1 loads").readings) == 1
    keep_anyway(_at(bench), text, asked.value.what)
    step = _at(bench).next_step()
    assert step is not None
    assert step.expected_voltage is not None
    assert step.expected_voltage > 0.5  # what is doubted foretells nothing


@pytest.mark.parametrize(
    ("liquid", "text", "asked"),
    [
        ("", "1.25", False), ("", "13", True), ("", "0.125 V", True), ("", "2.3", True), ("", "-0.7", True), ("", "0", True),
        ("salt water 3.5 %", "0.75", False), ("salt water 3.5 %", "1.25", True), ("KOH 4 mol/L", "1.6", False),
        ("KOH 4 mol/L", "0.75", True),
    ],
)  # fmt: skip
def test_the_reading_without_load_is_asked_about_by_its_liquid(
    bench: BenchFile, liquid: str, text: str, asked: bool
) -> None:
    """A band wide enough for salt water and lye where nothing says which; the liquid's own where it is known."""
    if liquid:
        _cell(bench, liquid)
    try:
        take_reading(_at(bench), text)
        refused = False
    except RangeError:
        refused = True

    assert refused is asked


def test_one_range_without_load_on_the_page_and_in_the_question(bench: BenchFile) -> None:
    """What is expected in salt water, a guess from the figures on file, is said alike before and in the question."""
    _cell(bench, "salt water 3.5 %")
    before = expected_words(_at(bench).next_step())
    with pytest.raises(RangeError) as asked:
        take_reading(_at(bench), "1.6")

    low, _, rest = before.partition(" to ")
    high = rest.partition(" V")[0]
    assert f"where {low} to {high} V are expected" in asked.value.what


def test_the_salt_of_an_electrolyte_says_what_it_is(bench: BenchFile) -> None:
    """The cell names an electrolyte of the shelf: its salt counts, not its name."""
    bench.put(Electrolyte(name="blue can", salt="NaOH"))
    _cell(bench, "blue can")
    step = _at(bench).next_step()

    assert step is not None
    assert step.expectation == "a guess: in lye"


def test_the_rest_is_learnt_from_the_runs_of_the_bench(bench: BenchFile) -> None:
    """Two runs rested at 1.25 V: the next electrode is told so, in the same electrolyte only."""
    take_reading(_at(bench), "1.25")
    finish(_at(bench))
    name = begin_run(bench, RunWish(electrode="T2"), clock=_clock).name
    step = _at(bench, name).next_step()
    assert step is not None
    assert step.expected_voltage == pytest.approx(1.25)
    assert step.expectation == "from one earlier run of this bench"

    bench.put(Cell(name="C2", electrode="T2", electrolyte="salt water"))
    bench.put(replace(bench.get(Run, name), cell="C2"))
    other = _at(bench, name).next_step()
    assert other is not None
    assert other.expectation == "a guess: in salt water"


def test_the_load_that_comes_back_is_expected_as_it_read_the_first_time(bench: BenchFile) -> None:
    """1.005 V once, 1.005 V again, whatever the smaller loads gave; one sentence says both."""
    for text in ("1.25", "1.10", "1.005", "0.75"):
        take_reading(_at(bench), text)
    step = _at(bench).next_step()
    assert step is not None
    assert (step.load, step.expected_voltage) == ("33 ohm", 1.005)
    assert step.expected_low == pytest.approx(0.955)
    assert "1.005 V again as the first time, give or take 0.05 V for drift" in expected_words(step)


def test_the_last_one_is_taken_back_and_put_back(bench: BenchFile) -> None:
    """Its load is asked again, no fit sees it; put back it counts; read again it is replaced and stays."""
    take_reading(_at(bench), "742")
    take_reading(_at(bench), "660")
    take_last_back(_at(bench))
    back = under_way(_at(bench))
    assert back.step is not None
    assert (back.step.load, back.back) == ("100 ohm", (1, "0.66 V at 100 ohm"))

    put_back(_at(bench))
    there = under_way(_at(bench))
    assert there.step is not None
    assert (there.step.load, there.back) == ("33 ohm", None)

    take_last_back(_at(bench))
    take_reading(_at(bench), "650")
    readings = bench.get(Run, "T1 loads").readings
    assert [(r.voltage, r.replaces) for r in readings] == [(0.742, None), (0.66, None), (0.65, 1)]
    with pytest.raises(ConflictError, match="no such reading"):
        put_back(_at(bench))
    with pytest.raises(ConflictError, match="again meanwhile"):
        use_again(_at(bench), 1)


def test_a_watched_load_taken_back_begins_again(bench: BenchFile) -> None:
    """Its timed readings stay, and are not those of the reading that is taken later."""
    take_reading(_at(bench), "742")
    look_at_load(_at(bench), "660", waited=20.0)
    take_last_back(_at(bench))

    assert _at(bench).trace() == ()
    take_reading(_at(bench), "650", waited=90.0)
    readings = bench.get(Run, "T1 loads").readings
    assert [len(r.trace) for r in readings] == [0, 1, 0]
    assert readings[2].replaces == 1


def test_the_curve_so_far_goes_by_the_current_and_the_check_stands_apart(bench: BenchFile) -> None:
    """A reading corrected late is drawn at its load; the load read once more is a mark of its own, with its word."""
    for text in ("1.25", "1.04", "1.005", "0.75"):
        take_reading(_at(bench), text)
    take_reading(_at(bench), "0.998")
    correct(_at(bench), 1, "1.10")
    correct(_at(bench), 2, "1.006")
    figure = under_way(_at(bench)).curve
    assert figure is not None
    read, check = figure.series[:2]

    assert list(read.x) == sorted(read.x)
    assert read.y == (1.10, 1.006, 0.75)
    assert check.y == (0.998,)
    assert check.label == "check, read once more"
    assert [row.again != "" for row in under_way(_at(bench)).readings] == [False] * 4 + [
        True,
        False,
        False,
    ]


def test_only_what_was_watched_is_called_settled(bench: BenchFile) -> None:
    """After 36 s nobody has said that it stands still: when it was read is all that is known."""
    take_reading(_at(bench), "742", waited=36.0)
    row = under_way(_at(bench)).readings[0]

    assert bench.get(Run, "T1 loads").readings[0].settling is Settling.NOT_KNOWN
    assert (
        row.settling
        == "read after 36 s; the curve does not use it: without a load no current flows"
    )


def test_a_large_current_is_a_plain_number(bench: BenchFile) -> None:
    """100 mA and more at 10 ohm, not 1.0e+02."""
    for text in ("1.5", "1.4", "1.3"):
        take_reading(_at(bench), text)
    now = under_way(_at(bench))

    assert "e+" not in now.expected
    assert "100 mA" in now.expected


def test_no_load_is_expected_above_what_was_read_without_one(bench: BenchFile) -> None:
    """After 1.32 V without load the band at 100 ohm ends at it, with what a usual meter leaves open at two decimals."""
    take_reading(_at(bench), "1.32")
    step = _at(bench).next_step()

    assert step is not None
    assert step.expected_high is not None
    assert 1.32 < step.expected_high < 1.35  # a guess would go to 1.46 V
    take_reading(_at(bench), "1.26")
    second = _at(bench).next_step()
    assert second is not None
    assert second.expected_voltage is not None
    assert second.expected_voltage < 1.26


def test_the_curve_so_far_names_no_marks_that_are_not_there_and_begins_at_nothing(
    bench: BenchFile,
) -> None:
    """With no reading at a load yet the legend holds the expectation alone; a band down to 0 V ends at the axis."""
    take_reading(_at(bench), "0.75")
    first = under_way(_at(bench)).curve
    assert first is not None
    assert [one.label for one in first.series] == ["expected at 100 ohm"]
    keep_anyway(_at(bench), "0.1 V", "weak")
    take_reading(_at(bench), "0.2 V")
    later = under_way(_at(bench)).curve
    assert later is not None
    assert later.y.low == 0.0
