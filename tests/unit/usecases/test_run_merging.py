"""Two writers at one run: nothing that either added is lost, and what cannot be put together is refused."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from aerode.errors import ChangedError, ConflictError
from aerode.records.electrodes import Electrode
from aerode.records.instruments import Instrument, Sort
from aerode.records.marks import Condition, Known
from aerode.records.runs import Observation, Reading, Run, RunSort
from aerode.store.bench_file import BenchFile
from aerode.usecases.entering import enter
from aerode.usecases.log_run import resume_or_start
from aerode.usecases.run_begin import note_conditions
from aerode.usecases.run_keeping import keep_run, new_run, read_run
from aerode.usecases.run_merging import is_watched, merged_run
from aerode.usecases.take_readings import (
    correct,
    doubt,
    finish,
    look_at_load,
    run_at_bench,
    skip_load,
    take_reading,
)

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

NOON = datetime(2026, 5, 9, 12, 0, tzinfo=UTC)
LOADS = ("open", "100 ohm", "33 ohm", "10 ohm")


def _r(text: str, **more: object) -> Reading:
    return Reading(load="100 ohm", voltage=0.5, text=text, **more)  # type: ignore[arg-type]


def _watched(*moments: float, load: str = "33 ohm") -> Reading:
    trace = tuple((moment, 0.4 + moment / 1000.0) for moment in moments)
    return Reading(load=load, voltage=trace[-1][1], trace=trace, text=f"{trace[-1][1]} V")


BASE = Run(name="r", planned_loads=LOADS, readings=(_r("a"), _r("b")))


def test_appended_readings_of_both_stand_one_after_the_other() -> None:
    """Theirs first; what of mine replaces a reading of mine still points to it."""
    mine = replace(
        BASE, readings=(*BASE.readings, _r("m1"), _r("m2", replaces=2), _r("m3", replaces=0))
    )
    theirs = replace(BASE, readings=(*BASE.readings, _r("t1"), _r("t2", replaces=1)))
    both = merged_run(BASE, mine, theirs)

    assert both is not None
    assert [r.text for r in both.readings] == ["a", "b", "t1", "t2", "m1", "m2", "m3"]
    assert [r.replaces for r in both.readings] == [None, None, None, 1, None, 4, 0]


def test_a_load_that_both_watched_is_one_trace() -> None:
    """Each timed reading once, in the order of time; two of one moment stand beside each other."""
    base = replace(BASE, readings=(*BASE.readings, _watched(1.0, 2.0)))
    mine = replace(BASE, readings=(*BASE.readings, _watched(1.0, 2.0, 3.0, 5.0)))
    other = replace(
        _watched(1.0, 2.0, 4.0), trace=((1.0, 0.401), (2.0, 0.402), (3.0, 0.39), (4.0, 0.404))
    )
    theirs = replace(BASE, readings=(*BASE.readings, other))
    both = merged_run(base, mine, theirs)

    assert both is not None
    assert [moment for moment, _ in both.readings[-1].trace] == [1.0, 2.0, 3.0, 3.1, 4.0, 5.0]
    assert is_watched(both.readings[-1])


def test_taken_by_one_and_watched_by_the_other() -> None:
    """It is taken, with every timed reading; taken by both it stands twice."""
    base = replace(BASE, readings=(*BASE.readings, _watched(1.0)))
    taken = replace(_watched(1.0, 6.0), waited=6.0)
    watching = replace(BASE, readings=(*BASE.readings, _watched(1.0, 2.0)))
    mine = replace(BASE, readings=(*BASE.readings, taken))
    one = merged_run(base, mine, watching)
    two = merged_run(base, watching, mine)
    again = replace(BASE, readings=(*BASE.readings, replace(taken, text="other", waited=7.0)))
    both = merged_run(base, mine, again)

    assert one is not None and two is not None and both is not None  # noqa: PT018
    assert one.readings == two.readings
    assert len(one.readings[-1].trace) == 3
    assert not is_watched(one.readings[-1])
    assert [r.text for r in both.readings[-2:]] == ["other", taken.text]


def test_a_load_that_is_watched_stays_the_last() -> None:
    """Mine is put before it; where I watch another load, theirs is closed."""
    watching = replace(BASE, readings=(*BASE.readings, _watched(1.0)))
    mine = replace(BASE, readings=(*BASE.readings, _r("m")))
    elsewhere = replace(BASE, readings=(*BASE.readings, _watched(2.0, load="10 ohm")))
    one, two = merged_run(BASE, mine, watching), merged_run(BASE, elsewhere, watching)

    assert one is not None and two is not None  # noqa: PT018
    assert [r.load for r in one.readings[-2:]] == ["100 ohm", "33 ohm"]
    assert is_watched(one.readings[-1])
    assert [is_watched(r) for r in two.readings[-2:]] == [False, True]


def test_other_fields_come_from_whoever_changed_them() -> None:
    """A condition of one, a doubt of the other, notes of both, loads that either left out, looks of both."""
    noted = Condition(known=Known.SAME, text="same")
    look = Observation(at=60.0, wet=False)
    mine = replace(
        BASE, temperature=noted, note="mine", planned_loads=("open", "100 ohm", "33 ohm"), observations=(look,)
    )  # fmt: skip
    theirs = replace(
        BASE, finished=True, note="theirs", planned_loads=("open", "33 ohm", "10 ohm"),
        readings=(replace(BASE.readings[0], doubt="clip"), BASE.readings[1]),
        observations=(replace(look, wet=True),),
    )  # fmt: skip
    both = merged_run(BASE, mine, theirs)

    assert both is not None
    assert (both.temperature, both.finished, both.note) == (noted, True, "theirs; mine")
    assert both.planned_loads == ("open", "33 ohm")
    assert both.readings[0].doubt == "clip"
    assert [one.wet for one in both.observations] == [True, False]


def test_what_a_person_has_to_look_at() -> None:
    """Two doubts of one reading, two meters, a reading that is gone."""
    first = BASE.readings[0]
    for mine, theirs in (
        (replace(BASE, meter="a"), replace(BASE, meter="b")),
        (replace(BASE, readings=(replace(first, doubt="x"), BASE.readings[1])),
         replace(BASE, readings=(replace(first, doubt="y"), BASE.readings[1]))),
        (replace(BASE, readings=BASE.readings[:1]), replace(BASE, note="x")),
        (replace(BASE, planned_loads=(*LOADS, "1 ohm")), replace(BASE, planned_loads=LOADS[:2])),
    ):  # fmt: skip
        assert merged_run(BASE, mine, theirs) is None


@given(st.lists(st.booleans(), max_size=6), st.lists(st.booleans(), max_size=6), st.integers(0, 3))
def test_nothing_appended_is_ever_lost(mine: list[bool], theirs: list[bool], known: int) -> None:
    """Whatever both append, each reading of either stands in the result exactly once, base first."""
    base = replace(BASE, readings=tuple(_r(f"b{n}") for n in range(known)))

    def appended(word: str, tails: list[bool]) -> Run:
        more = [
            _r(f"{word}{n}", replaces=known + n - 1 if back and n else None)
            for n, back in enumerate(tails)
        ]
        return replace(base, readings=(*base.readings, *more))

    own, other = appended("m", mine), appended("t", theirs)
    both = merged_run(base, own, other)

    assert both is not None
    assert both.readings[: len(other.readings)] == other.readings
    texts = [r.text for r in both.readings]
    assert texts == [*(r.text for r in other.readings), *(r.text for r in own.readings[known:])]
    for reading, before in zip(both.readings[len(other.readings) :], own.readings[known:], strict=True):  # fmt: skip
        if before.replaces is not None:
            assert reading.replaces is not None
            assert texts[reading.replaces] == own.readings[before.replaces].text


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[BenchFile]:
    """Three resistors, an electrode, and a run that has begun."""
    with BenchFile.create(tmp_path / "shed.aerode", title="Shed", clock=lambda: NOON) as made:
        for ohms in (100.0, 33.0, 10.0):
            made.put(Instrument(name=f"{ohms:g} ohm", sort=Sort.RESISTOR, nominal_resistance=ohms))
        made.put(Electrode(name="T6"))
        made.put(
            Run(name="T6 loads", electrode="T6", planned_loads=LOADS, started=NOON.isoformat())
        )
        yield made


def _later() -> datetime:
    return NOON + timedelta(minutes=10)


def test_two_doors_that_read_the_same_state(bench: BenchFile) -> None:
    """A window and a page, each with the run as it was: both readings are kept, and both see them."""
    window = run_at_bench(bench, "T6 loads", clock=_later)
    page = run_at_bench(bench, "T6 loads", clock=_later)
    take_reading(page, "742 mV", load="open")
    window.take("741 mV")
    look_at_load(page, "660 mV", load="100 ohm", waited=5.0)
    window.take("655 mV")

    run = bench.get(Run, "T6 loads")
    assert [r.text for r in run.readings] == ["742 mV", "741 mV", "655 mV", "660 mV"]
    assert window.run.readings == run.readings[:-1]
    assert window.watched == run.readings[-1]
    assert len(bench.history(Run, "T6 loads")) == 5


def test_acts_of_two_doors(bench: BenchFile) -> None:
    """A correction, a doubt, a skip, conditions and the end, each from a door that is behind."""
    ats = [run_at_bench(bench, "T6 loads", clock=_later) for _ in range(2)]
    take_reading(ats[0], "742 mV")
    take_reading(ats[0], "660 mV")
    behind = [run_at_bench(bench, "T6 loads", clock=_later) for _ in range(5)]
    correct(behind[0], 1, "661 mV")
    doubt(behind[1], 0, "clip")
    skip_load(behind[2], "burnt")
    note_conditions(bench, "T6 loads", {"temperature": "21 °C"})
    finish(behind[3])
    with pytest.raises(ConflictError, match="same thing"):
        doubt(behind[4], 0, "another reason")

    run = bench.get(Run, "T6 loads")
    assert [r.doubt for r in run.readings] == ["clip", "", ""]
    assert run.readings[2].replaces == 1
    assert run.planned_loads == LOADS[:2] + LOADS[3:]
    assert run.temperature.value == pytest.approx(294.15)
    assert run.finished


def test_two_that_begin_at_once_get_two_runs(bench: BenchFile) -> None:
    """The second name is the next free one; the readings of the two are not mixed."""
    bench.withdraw(Run, "T6 loads")
    ones = [resume_or_start(bench, "T6", sort=RunSort.LOADS, clock=_later) for _ in range(2)]
    for guided, text in zip(ones, ("742 mV", "743 mV"), strict=True):
        guided.take(text)

    assert [guided.run.name for guided in ones] == ["T6 loads", "T6 loads 2"]
    assert [bench.get(Run, guided.run.name).readings[0].text for guided in ones] == ["742 mV", "743 mV"]  # fmt: skip


def test_only_onto_the_newest_state(bench: BenchFile) -> None:
    """The store refuses a state that does not come from the newest one, and a new record of a taken name."""
    stored = read_run(bench, "T6 loads")
    bench.put_onto(replace(stored.run, note="x"), stored.state)
    with pytest.raises(ChangedError, match="changed after it was read"):
        bench.put_onto(replace(stored.run, note="y"), stored.state)
    with pytest.raises(ChangedError, match="already"):
        bench.put_onto(Run(name="T6 loads"), "")
    assert bench.get(Run, "T6 loads").note == "x"

    kept = keep_run(bench, replace(stored.run, note="y"), stored, why="")
    assert kept.run.note == "x; y"
    assert new_run(bench, Run(name="T6 loads"), why="").run.name == "T6 loads 2"


def test_a_form_that_another_program_overtakes(
    bench: BenchFile, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Between reading and storing another field was changed: both changes stand."""
    real, done = BenchFile.put_onto, []

    def overtaken(self: BenchFile, record: object, base: str, **said: str) -> object:
        if not done:
            done.append(1)
            self.put(replace(bench.get(Electrode, "T6"), recipe="A"))
        return real(self, record, base, **said)

    monkeypatch.setattr(BenchFile, "put_onto", overtaken)
    entered = enter(bench, "electrode", {"note": "thin"}, name="T6")

    assert entered.record is not None
    assert (entered.record.recipe, entered.record.note) == ("A", "thin")
    assert bench.get(Electrode, "T6") == entered.record
